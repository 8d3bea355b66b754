-- The SKUs that everyline was told to change at a storefront, and what became of each. Rows are only ever added.

-- Each run: of which source, who told it, when, and why; with `puts_back`, which run it puts back.
CREATE TABLE sku_runs (
    shop TEXT NOT NULL, number BIGINT NOT NULL, source TEXT NOT NULL, begun_at TEXT NOT NULL, made_by TEXT NOT NULL,
    why TEXT, puts_back BIGINT,
    PRIMARY KEY (shop, number),
    FOREIGN KEY (shop, puts_back) REFERENCES sku_runs (shop, number)
);

-- What a run is to change: the SKU that has to stand at an offer before, and the one that is to stand there after. Null
-- where there is none.
CREATE TABLE sku_changes (
    shop TEXT NOT NULL, number BIGINT NOT NULL, place BIGINT NOT NULL, listing_id TEXT NOT NULL,
    options_key TEXT NOT NULL, options TEXT NOT NULL, old_sku TEXT, new_sku TEXT,
    PRIMARY KEY (shop, number, place), UNIQUE (shop, number, listing_id, options_key),
    FOREIGN KEY (shop, number) REFERENCES sku_runs (shop, number)
);

-- How far a change is. One without a step is planned. 'asked' is written before the request leaves; 'confirmed',
-- 'refused' and 'elsewhere' are the end of it, 'not-known' is not. `seen_sku` is what stood at the offer, where `was_seen`.
CREATE TABLE sku_change_steps (
    shop TEXT NOT NULL, number BIGINT NOT NULL, place BIGINT NOT NULL, step BIGINT NOT NULL,
    state TEXT NOT NULL, noted_at TEXT NOT NULL, was_seen BOOLEAN NOT NULL, seen_sku TEXT, why TEXT,
    PRIMARY KEY (shop, number, place, step),
    FOREIGN KEY (shop, number, place) REFERENCES sku_changes (shop, number, place)
);

CREATE INDEX sku_changes_by_offer ON sku_changes (shop, listing_id, options_key);
