-- How each request of a source was asked in each hour (its beginning): how often, how often it answered as it should, and how
-- many rows came that were new or another than before. Hours of long ago are forgotten.
CREATE TABLE asking_hours (
    shop TEXT NOT NULL, source TEXT NOT NULL, request TEXT NOT NULL, hour TEXT NOT NULL,
    asked BIGINT NOT NULL, answered BIGINT NOT NULL, records BIGINT NOT NULL,
    PRIMARY KEY (shop, source, request, hour)
);
