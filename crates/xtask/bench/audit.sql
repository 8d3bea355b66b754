-- The audit of a book of the simulated shop, for DuckDB: rows summed per order and variant.
--
-- It is written as a person would who wants it fast. It is measured beside everyline, and judges by a simpler
-- rule. Must not read everyline's answer.
--
-- The rule knows no line references: another variant than the one bought is one missing and one too many
-- (everyline: wrong-variant), and a line without a link stays missing where somebody took care of it by hand.
-- A reference is one order, never a list. Ties are not read, and offers are not checked.
--
-- Run in the book's folder, with the variable `as_of` set. What the book's everyline.toml says stands where
-- it is used: spans, the zone, how suppliers write an order's number. Start reading at `pair`: what an order
-- needs of a variant, and what was sent of it. The answer is the table `finding`.

SET TimeZone = 'Europe/Oslo';

-- Which variants a line needs. Variants and links get numbers, so that the large tables carry little text; 0
-- is a variant that nobody knows, -1 stands for what a line without a link needs.

CREATE TYPE supplier AS ENUM (SELECT DISTINCT supplier FROM read_csv('variants.csv', all_varchar = true));
CREATE TYPE status AS ENUM (
    'unpaid', 'open', 'received', 'held', 'making', 'dispatched', 'cancelled', 'rejected'
);

CREATE TEMP TABLE variant AS
SELECT
    row_number() OVER ()::INTEGER AS variant, supplier::supplier AS supplier, variant_id,
    lower(coalesce(sku, variant_id)) AS sku
FROM read_csv('variants.csv', all_varchar = true);

CREATE TEMP TABLE link_row AS
WITH
    scoped AS (
        SELECT
            CASE
                WHEN listing_id IS NOT NULL AND options IS NOT NULL THEN 'offer'
                WHEN row.sku IS NOT NULL THEN 'sku'
                ELSE 'listing'
            END AS scope,
            CASE WHEN scope <> 'sku' THEN listing_id END AS listing_id,
            CASE WHEN scope = 'sku' THEN lower(row.sku) END AS sku,
            CASE WHEN scope = 'offer' THEN options END AS options,
            row.supplier, variant, units::INTEGER AS units, in_force::BOOLEAN AS in_force
        FROM read_csv('links.csv', all_varchar = true) AS row
        LEFT JOIN variant ON variant.supplier::VARCHAR = row.supplier AND variant.variant_id = row.variant_id
        UNION ALL
        SELECT 'variant', NULL, sku, NULL, supplier::VARCHAR, variant, 1, true FROM variant
    )
SELECT dense_rank() OVER (ORDER BY scope, listing_id, sku, options)::INTEGER AS link, * FROM scoped;

CREATE TEMP TABLE link AS
SELECT
    link, scope, listing_id, sku, options,
    CASE
        WHEN scope = 'variant' AND count(*) > 1 THEN 'ambiguous-link'
        WHEN bool_or(supplier <> 'own' AND variant IS NULL) THEN 'broken-link'
        WHEN NOT bool_and(in_force) THEN 'no-link'
    END AS reason
FROM link_row
GROUP BY link, scope, listing_id, sku, options;

CREATE TEMP TABLE part AS
SELECT
    link, variant, units, reason,
    CASE supplier WHEN 'cairn-print' THEN INTERVAL 3 HOUR ELSE INTERVAL 1 HOUR END AS submit_grace
FROM link_row
JOIN link USING (link)
WHERE supplier <> 'own' AND coalesce(reason, 'no-link') = 'no-link'
UNION ALL
SELECT link, -1, 1, reason, NULL FROM link WHERE reason IN ('ambiguous-link', 'broken-link')
UNION ALL
SELECT 0, -1, 1, 'no-link', NULL;

CREATE TEMP TABLE line AS
SELECT
    order_id, line_id, quantity - cancelled_quantity AS demand, cancelled_quantity AS cancelled,
    coalesce(by_offer.link, by_sku.link, by_listing.link, link_of_variant, 0) AS link
FROM read_csv('order_lines.csv', header = true, columns = {
    order_id: 'VARCHAR', line_id: 'VARCHAR', listing_id: 'VARCHAR', sku: 'VARCHAR', title: 'VARCHAR',
    options: 'VARCHAR', quantity: 'INTEGER', cancelled_quantity: 'INTEGER', unit_price: 'VARCHAR',
    updated_at: 'VARCHAR'
}) AS line
LEFT JOIN (FROM link WHERE scope = 'offer') AS by_offer
    ON by_offer.listing_id = line.listing_id AND by_offer.options = line.options
LEFT JOIN (FROM link WHERE scope = 'listing') AS by_listing ON by_listing.listing_id = line.listing_id
LEFT JOIN (
    SELECT
        sku, max(link) FILTER (scope = 'sku') AS link, max(link) FILTER (scope = 'variant') AS link_of_variant
    FROM link
    WHERE scope IN ('sku', 'variant')
    GROUP BY sku
) AS by_sku ON by_sku.sku = lower(line.sku);

-- What the suppliers were asked to make, and what of it has left.

CREATE TEMP TABLE submission AS
SELECT
    supplier, submission_id, order_ref, status, received_at, replaces,
    coalesce(updated_at, received_at) AS changed_at
FROM read_csv('submissions.csv', header = true, columns = {
    supplier: 'supplier', submission_id: 'VARCHAR', order_ref: 'VARCHAR', status: 'status',
    received_at: 'TIMESTAMPTZ', replaces: 'VARCHAR', updated_at: 'TIMESTAMPTZ'
})
WHERE received_at <= getvariable('as_of');

CREATE TEMP TABLE sent_line AS
WITH
    parcelled AS (
        SELECT
            supplier, submission_id, submission_line_id AS line_id, sum(quantity)::INTEGER AS gone,
            min(dispatched_at) AS first_at, max(dispatched_at) AS last_at
        FROM read_csv('parcel_lines.csv', header = true, columns = {
            supplier: 'supplier', parcel_id: 'VARCHAR', submission_line_id: 'VARCHAR', quantity: 'INTEGER'
        }) AS parcel_line
        JOIN read_csv('parcels.csv', header = true, columns = {
            supplier: 'supplier', parcel_id: 'VARCHAR', submission_id: 'VARCHAR',
            dispatched_at: 'TIMESTAMPTZ', carrier: 'VARCHAR', tracking_number: 'VARCHAR'
        }) AS parcel USING (supplier, parcel_id)
        WHERE dispatched_at <= getvariable('as_of')
        GROUP BY supplier, submission_id, line_id
    ),
    referred AS (
        SELECT
            row.supplier, row.submission_id, line_id, quantity, row.status AS line_status,
            coalesce(by_id.variant, by_sku.variant, 0) AS variant,
            coalesce(row.order_ref, submission.order_ref) AS reference,
            CASE
                WHEN row.supplier = 'brook-print' AND starts_with(reference, 'BP/') THEN reference[4:]
                WHEN row.supplier = 'cairn-print' AND suffix(reference, '@kittiwake') THEN reference[:-11]
                ELSE reference
            END AS order_id,
            CASE WHEN submission.status = 'dispatched' THEN quantity ELSE 0 END AS gone_untold,
            CASE WHEN submission.status = 'dispatched' THEN changed_at END AS changed_at
        FROM read_csv('submission_lines.csv', header = true, columns = {
            supplier: 'supplier', submission_id: 'VARCHAR', line_id: 'VARCHAR', order_ref: 'VARCHAR',
            order_line_ref: 'VARCHAR', variant_id: 'VARCHAR', sku: 'VARCHAR', quantity: 'INTEGER',
            status: 'status', unit_cost: 'VARCHAR', updated_at: 'VARCHAR'
        }) AS row
        JOIN submission USING (supplier, submission_id)
        LEFT JOIN variant AS by_id ON by_id.supplier = row.supplier AND by_id.variant_id = row.variant_id
        LEFT JOIN variant AS by_sku
            ON by_sku.supplier = row.supplier AND by_sku.sku = lower(row.sku) AND row.variant_id IS NULL
        WHERE
            replaces IS NULL
            AND submission.status NOT IN ('cancelled', 'rejected')
            AND (row.status IS NULL OR row.status NOT IN ('cancelled', 'rejected'))
    )
SELECT
    supplier, submission_id, line_id, order_id, variant, quantity, line_status,
    coalesce(gone, gone_untold) AS gone, coalesce(first_at, changed_at) AS first_at,
    coalesce(last_at, changed_at) AS last_at
FROM referred
LEFT JOIN parcelled USING (supplier, submission_id, line_id);

-- What orders need of variants, and what was sent. Most of it is even, and nothing more is done with that.

-- Sums of integers are 128 bits wide; those of doubles are as exact for such numbers, and faster.
CREATE TEMP TABLE pair AS
SELECT
    order_id, variant, sum(need::DOUBLE)::INTEGER AS need, sum(sent::DOUBLE)::INTEGER AS sent,
    sum(gone::DOUBLE)::INTEGER AS gone
FROM (
    SELECT order_id, variant, demand * units AS need, 0 AS sent, 0 AS gone FROM line JOIN part USING (link)
    UNION ALL
    SELECT order_id, variant, 0, quantity, gone FROM sent_line
)
GROUP BY order_id, variant;

CREATE TEMP TABLE orders AS
SELECT
    order_id, status, promised_by, placed_at, coalesce(paid_at, placed_at) AS waiting_since,
    status IN ('open', 'dispatched') AND coalesce(paid_at <= getvariable('as_of'), true) AS live
FROM read_csv('orders.csv', header = true, columns = {
    order_id: 'VARCHAR', placed_at: 'TIMESTAMPTZ', paid_at: 'TIMESTAMPTZ', status: 'status',
    currency: 'VARCHAR', promised_by: 'DATE', ship_to_country: 'VARCHAR', ship_to_digest: 'VARCHAR',
    updated_at: 'VARCHAR'
})
WHERE placed_at <= getvariable('as_of');

CREATE TEMP TABLE uneven AS
SELECT
    pair.order_id, pair.variant, CASE WHEN live THEN need ELSE 0 END AS need, sent, gone,
    CASE WHEN status = 'cancelled' THEN sent ELSE coalesce(cancelled, 0) END AS explained,
    status, live, promised_by, waiting_since
FROM pair
LEFT JOIN orders USING (order_id)
LEFT JOIN (
    SELECT order_id, variant, sum(cancelled * units)::INTEGER AS cancelled
    FROM line
    JOIN part USING (link)
    WHERE cancelled > 0
    GROUP BY order_id, variant
) AS cancelled ON cancelled.order_id = pair.order_id AND cancelled.variant = pair.variant
WHERE need <> sent OR gone < need OR orders.status <> 'dispatched' OR NOT live;

-- Nobody makes it, or it has not left: the lines concerned. The first lines get what was sent.

CREATE TEMP TABLE short_line AS
WITH
    drawn AS (
        SELECT
            order_id, line_id, demand, units, reason, submit_grace, waiting_since, promised_by,
            demand * units AS need,
            sum(demand * units) OVER (PARTITION BY order_id, variant ORDER BY line_id, link) AS needed_so_far,
            least(greatest(needed_so_far - sent, 0), demand * units) AS missing,
            least(greatest(needed_so_far - gone, 0), demand * units) AS to_come
        FROM line
        JOIN part USING (link)
        JOIN uneven USING (order_id, variant)
        WHERE live AND demand > 0 AND (uneven.need > sent OR uneven.need > gone)
    )
SELECT
    order_id, line_id, waiting_since, promised_by, max(reason) AS reason, max(submit_grace) AS submit_grace,
    max(ceil(missing / units))::INTEGER AS missing, max(ceil(to_come / units))::INTEGER AS to_come,
    sum(need - missing) AS tied
FROM drawn
GROUP BY order_id, line_id, waiting_since, promised_by;

CREATE TEMP TABLE short_order AS
SELECT
    order_id, sum(least(need, sent)) AS tied, bool_and(gone >= need) AS all_gone,
    sum(least(need, gone)) > 0 AS some_gone
FROM pair
SEMI JOIN (SELECT order_id FROM uneven WHERE live) USING (order_id)
GROUP BY order_id
HAVING sum(need) > 0;

CREATE TEMP TABLE left_at AS
SELECT
    order_id, min(first_at) AS first_at, max(last_at) AS last_at
FROM sent_line
SEMI JOIN short_order USING (order_id)
GROUP BY order_id;

-- More was sent than is needed: what came last is too much.

CREATE TEMP TABLE surplus AS
WITH
    drawn AS (
        SELECT
            order_id, supplier, submission_id, line_id, quantity, explained, live,
            sum(quantity) OVER (
                PARTITION BY order_id, uneven.variant ORDER BY supplier, submission_id, line_id
            ) AS sent_so_far,
            greatest(sent_so_far - need, 0) AS surplus_so_far,
            least(surplus_so_far, quantity) AS units,
            least(units, greatest(explained - (surplus_so_far - units), 0)) AS units_explained
        FROM sent_line
        JOIN uneven USING (order_id, variant)
        WHERE sent > need AND (live OR status = 'cancelled')
    )
SELECT 'over-sent' AS "check", order_id, supplier, submission_id, line_id, units - units_explained AS units
FROM drawn WHERE live AND units > units_explained
UNION ALL
SELECT 'sent-after-cancel', order_id, supplier, submission_id, line_id, units_explained
FROM drawn WHERE units_explained > 0;

-- The answer: a line without a link is named at once, a linked one once it had its time.

CREATE TEMP TABLE finding AS
WITH
    waiting AS (
        SELECT
            *, reason IS NOT NULL AS unlinked,
            bool_or(reason IS NULL) OVER (PARTITION BY order_id) AS some_linked,
            bool_or(reason IS NOT NULL) OVER (PARTITION BY order_id) AS some_unlinked,
            waiting_since + coalesce(submit_grace, INTERVAL 0 HOUR) < getvariable('as_of') AS line_is_due,
            bool_and(line_is_due) OVER (PARTITION BY order_id) AS order_is_due
        FROM short_line
        JOIN (SELECT order_id, tied AS tied_of_order FROM short_order) USING (order_id)
        WHERE missing > 0
    ),
    missing AS (
        SELECT
            CASE
                WHEN tied_of_order > 0 THEN 'part-sent'
                WHEN some_linked AND some_unlinked AND NOT order_is_due THEN 'part-sent'
                ELSE 'unsent-order'
            END AS "check",
            order_id, line_id, missing AS units,
            coalesce(reason, CASE WHEN tied = 0 THEN 'not-sent' ELSE 'short' END) AS reason
        FROM waiting
        WHERE unlinked OR CASE WHEN tied_of_order > 0 THEN line_is_due ELSE order_is_due END
    ),
    to_come AS (
        SELECT 'late' AS "check", order_id, line_id, to_come AS units
        FROM short_line
        WHERE promised_by < getvariable('as_of')::DATE AND to_come > 0
        UNION ALL
        SELECT 'part-dispatched', order_id, line_id, to_come - missing
        FROM short_line
        JOIN short_order USING (order_id)
        JOIN left_at USING (order_id)
        WHERE some_gone AND to_come > missing AND first_at + INTERVAL 36 HOUR < getvariable('as_of')
    ),
    of_submission AS (
        SELECT
            CASE WHEN status = 'held' THEN 'held' ELSE 'not-started' END AS "check", supplier, submission_id
        FROM (
            SELECT supplier, submission_id, status, received_at, changed_at FROM submission
            UNION ALL
            SELECT supplier, submission_id, line_status, received_at, submission.changed_at
            FROM sent_line
            JOIN submission USING (supplier, submission_id)
            WHERE line_status IN ('held', 'received')
        )
        WHERE
            (status = 'held' AND changed_at + INTERVAL 12 HOUR < getvariable('as_of'))
            OR (status = 'received' AND received_at + INTERVAL 48 HOUR < getvariable('as_of'))
        UNION
        SELECT 'stray-submission', supplier, submission_id
        FROM (
            SELECT DISTINCT supplier, submission_id
            FROM sent_line
            JOIN (SELECT DISTINCT order_id FROM uneven WHERE status IS NULL) AS unknown
                ON unknown.order_id IS NOT DISTINCT FROM sent_line.order_id
            WHERE NOT coalesce(starts_with(sent_line.order_id, 'SAMPLE-'), false)
        )
        JOIN submission USING (supplier, submission_id)
        WHERE
            received_at + INTERVAL 1 HOUR < getvariable('as_of')
            AND received_at >= (SELECT min(placed_at) FROM orders)
    )
SELECT
    "check", order_id, NULL AS supplier, NULL AS submission_id,
    list({line_id: line_id, units: units, reason: reason} ORDER BY line_id) AS lines,
    [] AS submission_lines
FROM (FROM missing UNION ALL BY NAME FROM to_come)
GROUP BY "check", order_id
UNION ALL
SELECT
    "check", order_id, supplier, submission_id, [],
    list({line_id: line_id, units: units} ORDER BY line_id)
FROM surplus
GROUP BY "check", order_id, supplier, submission_id
UNION ALL
SELECT "check", NULL, supplier, submission_id, [], [] FROM of_submission
UNION ALL
SELECT 'dispatch-unmarked', order_id, NULL, NULL, [], []
FROM orders
JOIN short_order USING (order_id)
JOIN left_at USING (order_id)
WHERE status = 'open' AND all_gone AND last_at + INTERVAL 24 HOUR < getvariable('as_of')
ORDER BY "check", order_id, supplier, submission_id;
