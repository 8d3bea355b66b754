-- Orders by when they were placed, so that those of a day are found without a look at all others.
CREATE INDEX orders_by_moment ON orders (shop, placed_at);
