"""The audit of a book of the simulated shop, for Polars: rows summed per order and variant.

It is written as a person would who wants it fast. It is measured beside everyline, and judges by the same
simpler rule as audit.sql, which says where the two differ. Must not read everyline's answer. What the book's
everyline.toml says stands where it is used: spans, the zone, how suppliers write an order's number. Start
reading at `main`.

Runs on the streaming engine: for this audit it is faster than the in-memory one, and smaller.

    POLARS_MAX_THREADS=2 python audit_polars.py BOOK AS_OF ANSWER
"""

import sys
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import polars as pl
from polars import col, lit, when

ZONE = ZoneInfo("Europe/Oslo")
SUBMISSION_STATUS = pl.Enum(["received", "held", "making", "dispatched", "cancelled", "rejected"])
ORDER_STATUS = pl.Enum(["unpaid", "open", "dispatched", "cancelled"])
DEAD = ["cancelled", "rejected"]

# Variants and links have numbers, so that the large tables carry little text. These two are no variant: one
# that nobody knows, and what a line without a link needs.
UNKNOWN, UNLINKED = 0, -1


def moment(name):
    """A column of times, all in UTC, as the files have them."""
    return col(name).str.to_datetime("%Y-%m-%dT%H:%M:%SZ", time_zone="UTC", time_unit="ms")


def scan(folder, table, **types):
    """A table of the book with the columns asked for; with all of them, as text, where none is named."""
    lazy = pl.scan_csv(folder / f"{table}.csv", infer_schema=False, schema_overrides=types)
    return lazy.select(*types) if types else lazy


def catalogue(folder):
    """Variants by number, links by number, and the parts of links."""
    variants = (
        scan(folder, "variants")
        .with_row_index("variant", offset=1)
        .select(
            col("variant").cast(pl.Int32),
            "supplier",
            "variant_id",
            pl.coalesce("sku", "variant_id").str.to_lowercase().alias("sku"),
        )
        .collect()
    )
    of_offer = col("listing_id").is_not_null() & col("options").is_not_null()
    of_sku = ~of_offer & col("sku").is_not_null()
    rows = (
        scan(folder, "links")
        .join(variants.lazy().drop("sku"), on=["supplier", "variant_id"], how="left")
        .select(
            when(of_offer)
            .then(lit("offer"))
            .when(of_sku)
            .then(lit("sku"))
            .otherwise(lit("listing"))
            .alias("scope"),
            when(~of_sku).then("listing_id").alias("listing_id"),
            when(of_sku).then(col("sku").str.to_lowercase()).alias("sku"),
            when(of_offer).then("options").alias("options"),
            "supplier",
            "variant",
            col("units").cast(pl.Int32),
            (col("in_force") == "true").alias("in_force"),
        )
        .collect()
    )
    of_variants = variants.select(
        lit("variant").alias("scope"),
        "sku",
        "supplier",
        "variant",
        units=lit(1, pl.Int32),
        in_force=lit(True),
    )
    rows = pl.concat([rows, of_variants], how="diagonal").with_columns(
        link=pl.struct("scope", "listing_id", "sku", "options").rank("dense").cast(pl.Int32)
    )
    links = rows.group_by("link", "scope", "listing_id", "sku", "options").agg(
        when((col("scope").first() == "variant") & (pl.len() > 1))
        .then(lit("ambiguous-link"))
        .when(((col("supplier") != "own") & col("variant").is_null()).any())
        .then(lit("broken-link"))
        .when(~col("in_force").all())
        .then(lit("no-link"))
        .alias("reason")
    )
    usable = rows.join(links.select("link", "reason"), on="link").filter(
        col("supplier") != "own", col("reason").fill_null("no-link") == "no-link"
    )
    hours = when(col("supplier") == "cairn-print").then(3).otherwise(1)
    parts = pl.concat(
        [
            usable.select("link", "variant", "units", "reason", submit_grace=pl.duration(hours=hours)),
            links.filter(col("reason").is_in(["ambiguous-link", "broken-link"])).select(
                "link", "reason", variant=lit(UNLINKED, pl.Int32), units=lit(1, pl.Int32)
            ),
            pl.DataFrame({"link": [0], "variant": [UNLINKED], "units": [1], "reason": ["no-link"]}).cast(
                {"link": pl.Int32, "variant": pl.Int32, "units": pl.Int32}
            ),
        ],
        how="diagonal",
    )
    return variants, links, parts


def read_lines(folder, links):
    """Every order line with its link. The first that answers: offer, SKU, listing, a variant's SKU."""

    def scoped(scope, name, *keys):
        return links.lazy().filter(col("scope") == scope).select(*keys, col("link").alias(name))

    by_sku = scoped("sku", "by_sku", "sku").join(
        scoped("variant", "by_variant", "sku"), on="sku", how="full", coalesce=True
    )
    return (
        scan(
            folder,
            "order_lines",
            order_id=pl.String,
            line_id=pl.String,
            listing_id=pl.String,
            sku=pl.String,
            options=pl.String,
            quantity=pl.Int32,
            cancelled_quantity=pl.Int32,
        )
        .with_columns(col("sku").str.to_lowercase())
        .join(scoped("offer", "by_offer", "listing_id", "options"), on=["listing_id", "options"], how="left")
        .join(scoped("listing", "by_listing", "listing_id"), on="listing_id", how="left")
        .join(by_sku, on="sku", how="left")
        .select(
            "order_id",
            "line_id",
            demand=col("quantity") - col("cancelled_quantity"),
            cancelled="cancelled_quantity",
            link=pl.coalesce("by_offer", "by_sku", "by_listing", "by_variant", lit(0, pl.Int32)),
        )
    )


def read_submissions(folder, supplier, as_of):
    """The submissions that exist, with the time of their last change."""
    return (
        scan(
            folder,
            "submissions",
            supplier=supplier,
            submission_id=pl.String,
            order_ref=pl.String,
            status=SUBMISSION_STATUS,
            received_at=pl.String,
            replaces=pl.String,
            updated_at=pl.String,
        )
        .with_columns(moment("received_at"), moment("updated_at"))
        .filter(col("received_at") <= as_of)
        .with_columns(changed_at=pl.coalesce("updated_at", "received_at"))
        .drop("updated_at")
    )


def read_sent(folder, supplier, variants, submissions, as_of):
    """What the suppliers were asked to make, for which order, and what of it has left."""
    parcels = (
        scan(
            folder,
            "parcels",
            supplier=supplier,
            parcel_id=pl.String,
            submission_id=pl.String,
            dispatched_at=pl.String,
        )
        .with_columns(moment("dispatched_at"))
        .filter(col("dispatched_at") <= as_of)
    )
    parcelled = (
        scan(
            folder,
            "parcel_lines",
            supplier=supplier,
            parcel_id=pl.String,
            submission_line_id=pl.String,
            quantity=pl.Int32,
        )
        .join(parcels, on=["supplier", "parcel_id"])
        .group_by("supplier", "submission_id", line_id="submission_line_id")
        .agg(
            gone=col("quantity").sum(),
            first_at=col("dispatched_at").min(),
            last_at=col("dispatched_at").max(),
        )
    )
    known = variants.lazy().with_columns(col("supplier").cast(supplier))
    by_id = known.select("supplier", "variant_id", "variant")
    by_sku = known.unique("sku", keep="none").select("supplier", "sku", by_sku="variant")
    dispatched = col("submission_status") == "dispatched"
    reference = pl.coalesce("order_ref", "submission_ref")
    return (
        scan(
            folder,
            "submission_lines",
            supplier=supplier,
            submission_id=pl.String,
            line_id=pl.String,
            order_ref=pl.String,
            variant_id=pl.String,
            sku=pl.String,
            quantity=pl.Int32,
            status=SUBMISSION_STATUS,
        )
        .filter(col("status").is_null() | ~col("status").is_in(DEAD))
        .with_columns(when(col("variant_id").is_null()).then(col("sku").str.to_lowercase()).alias("sku"))
        .join(by_id, on=["supplier", "variant_id"], how="left")
        .join(by_sku, on=["supplier", "sku"], how="left")
        .join(
            submissions.filter(col("replaces").is_null() & ~col("status").is_in(DEAD)).select(
                "supplier",
                "submission_id",
                "changed_at",
                submission_ref="order_ref",
                submission_status="status",
            ),
            on=["supplier", "submission_id"],
        )
        .join(parcelled, on=["supplier", "submission_id", "line_id"], how="left")
        .select(
            "supplier",
            "submission_id",
            "line_id",
            "quantity",
            line_status="status",
            order_id=when(col("supplier") == "brook-print")
            .then(reference.str.strip_prefix("BP/"))
            .when(col("supplier") == "cairn-print")
            .then(reference.str.strip_suffix("@kittiwake"))
            .otherwise(reference),
            variant=pl.coalesce("variant", "by_sku", lit(UNKNOWN, pl.Int32)),
            gone=pl.coalesce("gone", when(dispatched).then("quantity").otherwise(0)),
            first_at=pl.coalesce("first_at", when(dispatched).then("changed_at")),
            last_at=pl.coalesce("last_at", when(dispatched).then("changed_at")),
        )
    )


def read_orders(folder, as_of):
    """The orders that exist; live are those of which something is owed."""
    return (
        scan(
            folder,
            "orders",
            order_id=pl.String,
            placed_at=pl.String,
            paid_at=pl.String,
            status=ORDER_STATUS,
            promised_by=pl.String,
        )
        .with_columns(moment("placed_at"), moment("paid_at"), col("promised_by").str.to_date("%Y-%m-%d"))
        .filter(col("placed_at") <= as_of)
        .select(
            "order_id",
            "status",
            "promised_by",
            "placed_at",
            waiting_since=pl.coalesce("paid_at", "placed_at"),
            live=col("status").is_in(["open", "dispatched"]) & (col("paid_at") <= as_of).fill_null(True),
        )
    )


def within(units, of):
    """So many units of one row, given how many the rows up to it have."""
    return pl.min_horizontal(pl.max_horizontal(units, lit(0)), of)


def short_lines(lines, parts, uneven):
    """Lines of which something is missing or has not left. The first lines get what was sent."""
    need = col("demand") * col("units")
    needed_so_far = need.cum_sum().over("order_id", "variant", order_by=["line_id", "link"])
    return (
        lines.filter(col("demand") > 0)
        .join(parts.lazy(), on="link")
        .join(
            uneven.lazy()
            .filter("live", (col("need") > col("sent")) | (col("need") > col("gone")))
            .drop("need"),
            on=["order_id", "variant"],
        )
        .with_columns(
            need=need,
            missing=within(needed_so_far - col("sent"), need),
            to_come=within(needed_so_far - col("gone"), need),
        )
        .group_by("order_id", "line_id", "waiting_since", "promised_by")
        .agg(
            col("reason").max(),
            col("submit_grace").max(),
            missing=(-(-col("missing") // col("units"))).max(),
            to_come=(-(-col("to_come") // col("units"))).max(),
            tied=(col("need") - col("missing")).sum(),
        )
        .collect()
    )


def missing_lines(short, orders, as_of):
    """`part-sent` and `unsent-order`. A line without a link is named at once, a linked one in its time."""
    of_order = "order_id"
    unlinked = col("reason").is_not_null()
    line_is_due = col("waiting_since") + col("submit_grace").fill_null(timedelta()) < as_of
    order_is_due = line_is_due.all().over(of_order)
    mixed = unlinked.any().over(of_order) & unlinked.not_().any().over(of_order)
    something = col("tied_of_order") > 0
    return (
        short.filter(col("missing") > 0)
        .join(orders.select("order_id", tied_of_order="tied"), on="order_id")
        .with_columns(
            check=when(something | (mixed & ~order_is_due))
            .then(lit("part-sent"))
            .otherwise(lit("unsent-order")),
            named=unlinked | when(something).then(line_is_due).otherwise(order_is_due),
        )
        .filter("named")
        .select(
            "check",
            "order_id",
            "line_id",
            units="missing",
            reason=pl.coalesce(
                "reason", when(col("tied") == 0).then(lit("not-sent")).otherwise(lit("short"))
            ),
        )
    )


def surplus_lines(sent, uneven):
    """`over-sent` and `sent-after-cancel`: what came last is too much."""
    sent_so_far = (
        col("quantity")
        .cum_sum()
        .over("order_id", "variant", order_by=["supplier", "submission_id", "line_id"])
    )
    surplus_so_far = pl.max_horizontal(sent_so_far - col("need"), lit(0))
    drawn = (
        sent.drop("gone")
        .join(
            uneven.lazy().filter(col("sent") > col("need"), col("live") | (col("status") == "cancelled")),
            on=["order_id", "variant"],
        )
        .with_columns(surplus_so_far=surplus_so_far)
        .with_columns(units=pl.min_horizontal("surplus_so_far", "quantity"))
        .with_columns(after=within(col("explained") - (col("surplus_so_far") - col("units")), col("units")))
        .collect()
    )
    keys = ["order_id", "supplier", "submission_id", "line_id"]
    return pl.concat(
        [
            drawn.filter(col("live"), col("units") > col("after")).select(
                lit("over-sent").alias("check"), *keys, units=col("units") - col("after")
            ),
            drawn.filter(col("after") > 0).select(
                lit("sent-after-cancel").alias("check"), *keys, units="after"
            ),
        ]
    )


def of_submissions(submissions, sent, uneven, first_placed_at, as_of):
    """`held`, `not-started` and `stray-submission`."""
    keys = ["supplier", "submission_id"]
    told = ["supplier", "submission_id", "status", "received_at", "changed_at"]
    of_lines = (
        sent.filter(col("line_status").is_in(["held", "received"]))
        .select(*keys, "line_status")
        .join(submissions, on=keys)
        .select(*keys, "received_at", "changed_at", status="line_status")
        .select(told)
    )
    held = (col("status") == "held") & (col("changed_at") + timedelta(hours=12) < as_of)
    not_started = (col("status") == "received") & (col("received_at") + timedelta(hours=48) < as_of)
    waiting = (
        pl.concat([submissions.select(told), of_lines])
        .filter(held | not_started)
        .select(
            when(col("status") == "held").then(lit("held")).otherwise(lit("not-started")).alias("check"),
            *keys,
        )
    )
    unknown = uneven.lazy().filter(col("status").is_null()).select("order_id").unique()
    stray = (
        sent.filter(~col("order_id").str.starts_with("SAMPLE-").fill_null(False))
        .join(unknown, on="order_id", how="semi", nulls_equal=True)
        .select(keys)
        .unique()
        .join(submissions, on=keys)
        .filter(col("received_at") + timedelta(hours=1) < as_of, col("received_at") >= first_placed_at)
        .select(lit("stray-submission").alias("check"), *keys)
    )
    return pl.concat([waiting, stray]).unique().collect()


def main(folder, as_of, answer):
    """Sums what is needed and what was sent per order and variant, and looks closer where they differ."""
    pl.Config.set_engine_affinity("streaming")
    variants, links, parts = catalogue(folder)
    supplier = pl.Enum(variants["supplier"].unique().sort())

    lines, submissions, orders = pl.collect_all(
        [read_lines(folder, links), read_submissions(folder, supplier, as_of), read_orders(folder, as_of)]
    )
    sent = read_sent(folder, supplier, variants, submissions.lazy(), as_of).collect()

    pair = (
        pl.concat(
            [
                lines.lazy()
                .join(parts.lazy(), on="link")
                .select(
                    "order_id",
                    "variant",
                    need=col("demand") * col("units"),
                    sent=lit(0, pl.Int32),
                    gone=lit(0, pl.Int32),
                ),
                sent.lazy().select(
                    "order_id", "variant", need=lit(0, pl.Int32), sent="quantity", gone="gone"
                ),
            ]
        )
        .group_by("order_id", "variant")
        .agg(col("need").sum(), col("sent").sum(), col("gone").sum())
        .collect()
    )
    cancelled = (
        lines.lazy()
        .filter(col("cancelled") > 0)
        .join(parts.lazy(), on="link")
        .group_by("order_id", "variant")
        .agg(cancelled=(col("cancelled") * col("units")).sum())
    )
    uneven = (
        pair.lazy()
        .join(orders.lazy().drop("placed_at"), on="order_id", how="left")
        .filter(
            (col("need") != col("sent"))
            | (col("gone") < col("need"))
            | (col("status") != "dispatched")
            | ~col("live")
        )
        .join(cancelled, on=["order_id", "variant"], how="left")
        .with_columns(
            need=when("live").then("need").otherwise(0),
            explained=when(col("status") == "cancelled")
            .then("sent")
            .otherwise(col("cancelled").fill_null(0)),
        )
        .collect()
    )

    short = short_lines(lines.lazy(), parts, uneven)
    least = pl.min_horizontal
    short_orders = (
        pair.lazy()
        .join(uneven.lazy().filter("live").select("order_id").unique(), on="order_id", how="semi")
        .group_by("order_id")
        .agg(
            needed=col("need").sum(),
            tied=least("need", "sent").sum(),
            all_gone=(col("gone") >= col("need")).all(),
            some_gone=least("need", "gone").sum() > 0,
        )
        .filter(col("needed") > 0)
        .collect()
    )
    left_at = (
        sent.lazy()
        .join(short_orders.lazy(), on="order_id", how="semi")
        .group_by("order_id")
        .agg(col("first_at").min(), col("last_at").max())
        .collect()
    )

    late = short.filter(col("promised_by") < as_of.astimezone(ZONE).date(), col("to_come") > 0).select(
        lit("late").alias("check"), "order_id", "line_id", units="to_come"
    )
    part_dispatched = (
        short.filter(col("to_come") > col("missing"))
        .join(short_orders.filter("some_gone"), on="order_id", how="semi")
        .join(left_at.filter(col("first_at") + timedelta(hours=36) < as_of), on="order_id", how="semi")
        .select(
            lit("part-dispatched").alias("check"),
            "order_id",
            "line_id",
            units=col("to_come") - col("missing"),
        )
    )
    of_orders = (
        pl.concat([missing_lines(short, short_orders, as_of), late, part_dispatched], how="diagonal")
        .sort("line_id")
        .group_by("check", "order_id", maintain_order=True)
        .agg(lines=pl.struct("line_id", "units", "reason"))
    )
    unmarked = (
        orders.filter(col("status") == "open")
        .join(short_orders.filter("all_gone"), on="order_id", how="semi")
        .join(left_at.filter(col("last_at") + timedelta(hours=24) < as_of), on="order_id", how="semi")
        .select(lit("dispatch-unmarked").alias("check"), "order_id")
    )
    surplus = (
        surplus_lines(sent.lazy(), uneven)
        .sort("line_id")
        .group_by("check", "order_id", "supplier", "submission_id", maintain_order=True)
        .agg(submission_lines=pl.struct("line_id", "units"))
    )
    told = of_submissions(submissions.lazy(), sent.lazy(), uneven, orders["placed_at"].min(), as_of)
    pl.concat([of_orders, unmarked, surplus, told], how="diagonal").sort(
        "check", "order_id", "supplier", "submission_id"
    ).write_ndjson(answer)


if __name__ == "__main__":
    main(Path(sys.argv[1]), datetime.fromisoformat(sys.argv[2]), sys.argv[3])
