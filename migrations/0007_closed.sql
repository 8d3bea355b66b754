-- Orders that are over for good, with what was sent for them, are not judged again until one of their rows changes. `closed`
-- is the number of the group with which a row is closed; 0 while it is open. Open rows are found without a look at the others.
ALTER TABLE orders ADD COLUMN closed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE order_lines ADD COLUMN closed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE submissions ADD COLUMN closed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE submission_lines ADD COLUMN closed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE parcels ADD COLUMN closed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE parcel_lines ADD COLUMN closed BIGINT NOT NULL DEFAULT 0;
CREATE INDEX orders_open ON orders (shop) WHERE closed = 0;
CREATE INDEX order_lines_open ON order_lines (shop) WHERE closed = 0;
CREATE INDEX submissions_open ON submissions (shop) WHERE closed = 0;
CREATE INDEX submission_lines_open ON submission_lines (shop) WHERE closed = 0;
CREATE INDEX parcels_open ON parcels (shop) WHERE closed = 0;
CREATE INDEX parcel_lines_open ON parcel_lines (shop) WHERE closed = 0;

-- What belongs to a group: `orders` is a JSON list of ids, `submissions` one of pairs of supplier and id. `settled` is what
-- the group adds to the sums of the shop, as JSON.
CREATE TABLE closed_groups (
    shop TEXT NOT NULL, number BIGINT NOT NULL, orders TEXT NOT NULL, submissions TEXT NOT NULL, settled TEXT NOT NULL,
    PRIMARY KEY (shop, number)
);

-- What references of closed submissions could also mean, should an order of this id ever come.
CREATE TABLE closed_words (
    shop TEXT NOT NULL, word TEXT NOT NULL, number BIGINT NOT NULL,
    PRIMARY KEY (shop, word, number)
);
CREATE INDEX closed_words_of_group ON closed_words (shop, number);

-- By what a shop's groups were closed, and what they add together. `rows_version` counts the changes of its rows.
CREATE TABLE closed_shops (
    shop TEXT NOT NULL, basis TEXT NOT NULL, last_number BIGINT NOT NULL, settled TEXT NOT NULL,
    PRIMARY KEY (shop)
);
CREATE TABLE rows_versions (
    shop TEXT NOT NULL, version BIGINT NOT NULL,
    PRIMARY KEY (shop)
);

-- What a round asks, without a look at all that was.
CREATE INDEX submissions_by_moment ON submissions (shop, received_at);
CREATE INDEX changes_of_address ON changes (shop, number)
    WHERE noun = 'order' AND field = 'ship_to_digest' AND was IS NOT NULL AND became IS NOT NULL;
CREATE INDEX findings_standing ON findings (shop) WHERE settled_at IS NULL;
