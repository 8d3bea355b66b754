-- What is to be sent to whom, and how sending it went; and which findings somebody has been told at once.

-- A message is written once. A further try carries the same `id`, by which a receiver knows it again. `content` is its
-- JSON. It waits while `sent_at` and `given_up_at` are null.
CREATE TABLE messages (
    id TEXT NOT NULL, kind TEXT NOT NULL, recipient TEXT NOT NULL, day TEXT,
    written_at TEXT NOT NULL, content TEXT NOT NULL,
    next_at TEXT NOT NULL, tries BIGINT NOT NULL, tried_at TEXT, trouble TEXT,
    sent_at TEXT, given_up_at TEXT,
    PRIMARY KEY (id)
);
-- One digest a day for each recipient.
CREATE UNIQUE INDEX digests_of_day ON messages (recipient, day) WHERE kind = 'digest';
CREATE INDEX messages_by_moment ON messages (recipient, kind, written_at);

-- A finding that somebody is to be told at once, with what it said then; `message` is null until it stands in one.
CREATE TABLE alerts (
    recipient TEXT NOT NULL, shop TEXT NOT NULL, finding TEXT NOT NULL,
    said TEXT NOT NULL, is_again BOOLEAN NOT NULL, wanted_at TEXT NOT NULL, message TEXT,
    PRIMARY KEY (recipient, shop, finding),
    FOREIGN KEY (shop, finding) REFERENCES findings (shop, id) ON DELETE CASCADE
);
