-- What the owner says of where offers, SKUs and listings lead, and of which product a good is. Apart from what sources
-- bring, so that no reading of a source writes over it or removes it.

-- Each change, in the order in which they were made: who made it, when, and why; with `undoes`, which one it takes back.
-- Rows are only ever added, here and in `link_change_steps`.
CREATE TABLE link_changes (
    shop TEXT NOT NULL, number BIGINT NOT NULL, made_at TEXT NOT NULL, made_by TEXT NOT NULL, why TEXT, undoes BIGINT,
    PRIMARY KEY (shop, number),
    FOREIGN KEY (shop, undoes) REFERENCES link_changes (shop, number)
);

-- What a change made of one link or rule: `was` and `became` are its JSON, null where there was, or is, none. `subject` is
-- a JSON list that names it, as it is compared: "offer", listing and options; "sku" and SKU; "listing" and listing; "good",
-- product type, age group and words.
CREATE TABLE link_change_steps (
    shop TEXT NOT NULL, number BIGINT NOT NULL, subject TEXT NOT NULL, was TEXT, became TEXT,
    PRIMARY KEY (shop, number, subject),
    FOREIGN KEY (shop, number) REFERENCES link_changes (shop, number)
);

-- What stands now: of each subject the `became` of its last step, and the number of that change.
CREATE TABLE owner_words (
    shop TEXT NOT NULL, subject TEXT NOT NULL, said TEXT NOT NULL, number BIGINT NOT NULL,
    PRIMARY KEY (shop, subject),
    FOREIGN KEY (shop, number) REFERENCES link_changes (shop, number)
);
