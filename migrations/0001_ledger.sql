-- What was read of the sources, how it changed, what was found, and what the owner said of it.
-- Times are RFC 3339 in UTC with nine digits of a second, so that they sort as texts; a day is 'begin/end'.
-- Amounts are decimal texts. Options are a JSON object with sorted names; `options_key` and `sku_key` are the same
-- without case and needless spaces, as options and SKUs are compared.

CREATE TABLE orders (
    shop TEXT NOT NULL, order_id TEXT NOT NULL,
    placed_at TEXT NOT NULL, paid_at TEXT, status TEXT NOT NULL, currency TEXT, promised_by TEXT,
    ship_to_country TEXT, ship_to_digest TEXT, updated_at TEXT,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, order_id)
);

CREATE TABLE order_lines (
    shop TEXT NOT NULL, order_id TEXT NOT NULL, line_id TEXT NOT NULL,
    listing_id TEXT, sku TEXT, title TEXT, options TEXT, quantity BIGINT NOT NULL,
    cancelled_quantity BIGINT NOT NULL, unit_price TEXT, updated_at TEXT,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, order_id, line_id)
);

CREATE TABLE offers (
    shop TEXT NOT NULL, listing_id TEXT NOT NULL, options_key TEXT NOT NULL, options TEXT NOT NULL,
    sku TEXT, title TEXT, price TEXT, currency TEXT, buyable BOOLEAN NOT NULL,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, listing_id, options_key)
);

CREATE TABLE variants (
    shop TEXT NOT NULL, supplier TEXT NOT NULL, variant_id TEXT NOT NULL,
    sku TEXT, product TEXT, options TEXT, unit_cost TEXT, currency TEXT, available BOOLEAN NOT NULL,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, supplier, variant_id)
);

CREATE TABLE listing_products (
    shop TEXT NOT NULL, listing_id TEXT NOT NULL, supplier TEXT NOT NULL, product TEXT NOT NULL,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, listing_id, supplier, product)
);

-- An empty text stands for what a link is not for, so that it can be a part of the key.
CREATE TABLE links (
    shop TEXT NOT NULL, listing_id TEXT NOT NULL, sku_key TEXT NOT NULL, sku TEXT NOT NULL,
    options_key TEXT NOT NULL, options TEXT NOT NULL, supplier TEXT NOT NULL, variant_id TEXT NOT NULL,
    units BIGINT NOT NULL, in_force BOOLEAN NOT NULL,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, listing_id, sku_key, options_key, supplier, variant_id)
);

CREATE TABLE submissions (
    shop TEXT NOT NULL, supplier TEXT NOT NULL, submission_id TEXT NOT NULL,
    order_ref TEXT, status TEXT NOT NULL, received_at TEXT NOT NULL, replaces TEXT, updated_at TEXT,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, supplier, submission_id)
);

CREATE TABLE submission_lines (
    shop TEXT NOT NULL, supplier TEXT NOT NULL, submission_id TEXT NOT NULL, line_id TEXT NOT NULL,
    order_ref TEXT, order_line_ref TEXT, variant_id TEXT, sku TEXT, quantity BIGINT NOT NULL, status TEXT,
    unit_cost TEXT, updated_at TEXT,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, supplier, submission_id, line_id)
);

CREATE TABLE parcels (
    shop TEXT NOT NULL, supplier TEXT NOT NULL, parcel_id TEXT NOT NULL,
    submission_id TEXT NOT NULL, dispatched_at TEXT NOT NULL, carrier TEXT, tracking_number TEXT,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, supplier, parcel_id)
);

CREATE INDEX parcels_of_submission ON parcels (shop, supplier, submission_id);

CREATE TABLE parcel_lines (
    shop TEXT NOT NULL, supplier TEXT NOT NULL, parcel_id TEXT NOT NULL, submission_line_id TEXT NOT NULL,
    quantity BIGINT NOT NULL,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, supplier, parcel_id, submission_line_id)
);

-- An empty submission_line_id stands for all lines of the submission.
CREATE TABLE ties (
    shop TEXT NOT NULL, order_id TEXT NOT NULL, line_id TEXT NOT NULL, supplier TEXT NOT NULL,
    submission_id TEXT NOT NULL, submission_line_id TEXT NOT NULL,
    source TEXT NOT NULL, request TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL,
    PRIMARY KEY (shop, order_id, line_id, supplier, submission_id, submission_line_id)
);

-- Each change that was seen, in the order in which it was. `row_key` is a JSON list of ids; `was` and `became` are
-- null where there was, or is, nothing.
CREATE TABLE changes (
    number INTEGER PRIMARY KEY, shop TEXT NOT NULL, noun TEXT NOT NULL, row_key TEXT NOT NULL,
    field TEXT NOT NULL, was TEXT, became TEXT, seen_at TEXT NOT NULL, source TEXT NOT NULL
);
CREATE INDEX changes_of_row ON changes (shop, noun, row_key);

-- How far each request of each source was read, and how it went.
CREATE TABLE marks (
    shop TEXT NOT NULL, source TEXT NOT NULL, request TEXT NOT NULL,
    mark TEXT NOT NULL, read_up_to TEXT,
    PRIMARY KEY (shop, source, request)
);

CREATE TABLE askings (
    shop TEXT NOT NULL, source TEXT NOT NULL, request TEXT NOT NULL,
    asked_at TEXT NOT NULL, answered_at TEXT, failing_since TEXT, trouble TEXT, kind TEXT,
    next_at TEXT, counted_there BIGINT, counted_here BIGINT,
    PRIMARY KEY (shop, source, request)
);

-- A finding stands while `settled_at` is null. `body` is its JSON as it was last seen.
CREATE TABLE findings (
    shop TEXT NOT NULL, id TEXT NOT NULL,
    finding_check TEXT NOT NULL, order_id TEXT, supplier TEXT, submission_id TEXT, act_before TEXT,
    evidence_digest TEXT NOT NULL, body TEXT NOT NULL,
    first_seen TEXT NOT NULL, reopened_at TEXT, last_seen TEXT NOT NULL, settled_at TEXT,
    PRIMARY KEY (shop, id)
);
CREATE INDEX findings_of_order ON findings (shop, order_id);

-- What the owner put aside: until a moment, or until the evidence is another than it was.
CREATE TABLE set_asides (
    shop TEXT NOT NULL, id TEXT NOT NULL, note TEXT NOT NULL, until TEXT, evidence_digest TEXT NOT NULL,
    set_at TEXT NOT NULL,
    PRIMARY KEY (shop, id),
    FOREIGN KEY (shop, id) REFERENCES findings (shop, id) ON DELETE CASCADE
);

-- When the shop was judged first, and last, and for which moment.
CREATE TABLE rounds (
    shop TEXT NOT NULL, first_at TEXT NOT NULL, last_at TEXT NOT NULL, as_of TEXT NOT NULL,
    PRIMARY KEY (shop)
);
