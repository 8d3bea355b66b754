//! What everyline has to be told to read the three servers.
//!
//! Must not know what they answer at a given moment. Start reading at [`of`].

use super::server::{ALDER_USER, Serving};

/// The environment variables that hold the secrets.
pub(super) const TILL_SECRET: &str = "KITTIWAKE_TILL_TOKEN";
pub(super) const ALDER_SECRET: &str = "KITTIWAKE_ALDER_PASSWORD";
pub(super) const BROOK_SECRET: &str = "KITTIWAKE_BROOK_KEY";

/// Zone, suppliers and sources, in TOML.
pub(super) fn of(serving: &Serving) -> String {
    let Serving { till, alder, brook, .. } = serving;
    format!(
        r#"# Kittiwake Kitchen, an invented shop, with its storefront and its two suppliers on loopback.

zone = "Europe/Oslo"

[suppliers.alder-print]
zone = "Europe/Dublin"
cut_off = {{ daily = "16:00", working_days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] }}

[suppliers.brook-print]
cut_off = {{ after_receipt = "24 h" }}
references = {{ prefix = "BP/" }}

[sources.till]
role = "storefront"
address = "http://{till}/shop/"
every = "60 s"
at_most = "100 per second"
headers = {{ Accept = "application/json" }}
sign_in = {{ header = "Authorization", before = "Bearer ", secret = {{ environment = "{TILL_SECRET}" }} }}

[sources.till.requests.orders]
path = "orders"
pages = {{ by = "cursor", at = "$.more.cursor", ask = "after", size_ask = "limit", size = 40 }}
changes = {{ ask = "changed_from", form = "epoch_seconds", overlap = "5 min" }}
count = "$.in_all"

[sources.till.requests.orders.tables.orders]
at = "$.orders[*]"
[sources.till.requests.orders.tables.orders.fields]
order_id = "$.number"
status = {{ at = "$.state", words = {{ "waiting for money" = "unpaid", settled = "open", "on its way" = "dispatched", "called off" = "cancelled" }} }}
placed_at = {{ at = "$.made", time = "epoch_seconds" }}
paid_at = {{ at = "$.paid", time = "epoch_seconds" }}
updated_at = {{ at = "$.changed", time = "epoch_seconds" }}
promised_by = {{ at = "$.send_by", time = "epoch_seconds" }}
currency = "$.currency"
ship_to_country = "$.deliver_to.country"
ship_to_digest = {{ digest_of = ["$.deliver_to.street", "$.deliver_to.place"] }}

[sources.till.requests.orders.tables.order_lines]
within = "orders"
at = "$.lines[*]"
[sources.till.requests.orders.tables.order_lines.fields]
line_id = "$.id"
listing_id = "$.page"
sku = "$.sku"
title = "$.title"
options = {{ pairs_at = "$.choices[*]", name = "$.name", value = "$.value", keep = ["Item", "Size", "Colour", "Mug"] }}
quantity = "$.count"
cancelled_quantity = "$.called_off"
unit_price = {{ at = "$.each", money = "minor" }}
updated_at = {{ at = "$.changed", time = "epoch_seconds" }}

[sources.till.requests.offers]
path = "offers"
pages = {{ by = "cursor", at = "$.more.cursor", ask = "after", size_ask = "limit", size = 25 }}
count = "$.in_all"

[sources.till.requests.offers.tables.offers]
at = "$.offers[*]"
[sources.till.requests.offers.tables.offers.fields]
listing_id = "$.page"
title = "$.title"
options = {{ pairs_at = "$.choices[*]", name = "$.name", value = "$.value", keep = ["Item", "Size", "Colour", "Mug"] }}
sku = "$.sku"
price = {{ at = "$.price", money = "minor" }}
currency = "$.currency"
buyable = "$.for_sale"

[sources.till.change_sku]
method = "PUT"
path = "offers/{{record.number}}/sku"
body = {{ page = "{{listing_id}}", choices = "{{options}}", sku = "{{sku}}" }}
record = {{ number = "$.number" }}
answer = [{{ at = "$.offer.number", is = "{{record.number}}" }}, {{ at = "$.offer.sku", is = "{{sku}}" }}]

[sources.till.change_sku.read]
path = "offer"
query = {{ page = "{{listing_id}}", choices = "{{options}}" }}
at = "$.offer"

[sources.alder]
role = "supplier"
supplier = "alder-print"
address = "http://{alder}/v/"
every = "60 s"
at_most = "200 per second"
sign_in = {{ user = "{ALDER_USER}", secret = {{ environment = "{ALDER_SECRET}" }} }}

[sources.alder.requests.jobs]
path = "jobs"
pages = {{ by = "link", size_ask = "per_page", size = 25 }}
changes = {{ ask = "changed_since", form = "rfc3339", overlap = "5 min" }}
count_header = "X-Records"

[sources.alder.requests.jobs.tables.submissions]
at = "$[*]"
[sources.alder.requests.jobs.tables.submissions.fields]
submission_id = "$.job"
order_ref = "$.for_order"
status = {{ at = "$.state", words = {{ new = "received", waits = "held", "in work" = "making", left = "dispatched", stopped = "cancelled", refused = "rejected" }} }}
received_at = "$.received"
updated_at = "$.changed"
replaces = "$.instead_of"

[sources.alder.requests.pieces]
path = "jobs/{{submission_id}}/pieces"
for_each = "submissions"

[sources.alder.requests.pieces.tables.submission_lines]
at = "$.pieces[*]"
[sources.alder.requests.pieces.tables.submission_lines.fields]
submission_id = "$.job"
line_id = "$.piece"
order_line_ref = "$.for_line"
variant_id = "$.article"
sku = "$.sku"
quantity = "$.count"
unit_cost = "$.cost"

[sources.alder.requests.parcels]
path = "parcels"
pages = {{ by = "link", size_ask = "per_page", size = 25 }}
changes = {{ ask = "changed_since", form = "rfc3339", overlap = "5 min" }}
count_header = "X-Records"

[sources.alder.requests.parcels.tables.parcels]
at = "$[*]"
[sources.alder.requests.parcels.tables.parcels.fields]
parcel_id = "$.parcel"
submission_id = "$.job"
dispatched_at = "$.left"
carrier = "$.carrier"
tracking_number = "$.track"

[sources.alder.requests.parcels.tables.parcel_lines]
within = "parcels"
at = "$.contents[*]"
[sources.alder.requests.parcels.tables.parcel_lines.fields]
submission_line_id = "$.piece"
quantity = "$.count"

[sources.alder.requests.articles]
path = "articles"
pages = {{ by = "link", size_ask = "per_page", size = 20 }}
count_header = "X-Records"

[sources.alder.requests.articles.tables.variants]
at = "$[*]"
[sources.alder.requests.articles.tables.variants.fields]
variant_id = "$.article"
sku = "$.sku"
product = "$.product"
options = {{ columns = {{ Size = "$.size", Colour = "$.colour" }} }}
unit_cost = "$.cost"
currency = "$.currency"
available = "$.available"

[sources.brook]
role = "supplier"
supplier = "brook-print"
address = "http://{brook}/list/"
every = "60 s"
at_most = "100 per second"
sign_in = {{ header = "X-Press-Key", secret = {{ environment = "{BROOK_SECRET}" }} }}

[sources.brook.requests.submissions]
path = "submissions"
pages = {{ by = "offset", ask = "skip", size_ask = "take", size = 30 }}
changes = {{ ask = "touched_from", form = "epoch_milliseconds", overlap = "5 min" }}
count = "$.result.all"

[sources.brook.requests.submissions.tables.submissions]
at = "$.result.rows[*]"
[sources.brook.requests.submissions.tables.submissions.fields]
submission_id = "$.no"
order_ref = "$.reference"
status = {{ at = "$.status", words = {{ QUEUE = "received", PARKED = "held", PRESS = "making", OUT = "dispatched", DROPPED = "cancelled", "NOT POSSIBLE" = "rejected" }} }}
received_at = {{ at = "$.in", time = "epoch_milliseconds" }}
updated_at = {{ at = "$.touched", time = "epoch_milliseconds" }}
replaces = "$.again_for"

[sources.brook.requests.submissions.tables.submission_lines]
within = "submissions"
at = "$.lines[*]"
[sources.brook.requests.submissions.tables.submission_lines.fields]
line_id = "$.row"
sku = "$.code"
quantity = "$.pieces"
unit_cost = "$.unit"

[sources.brook.requests.submissions.tables.parcels]
within = "submissions"
at = "$.parcels[*]"
[sources.brook.requests.submissions.tables.parcels.fields]
parcel_id = "$.no"
dispatched_at = {{ at = "$.out", time = "epoch_milliseconds" }}
carrier = "$.by"
tracking_number = "$.code"

[sources.brook.requests.submissions.tables.parcel_lines]
within = "parcels"
at = "$.holds[*]"
[sources.brook.requests.submissions.tables.parcel_lines.fields]
submission_line_id = "$.row"
quantity = "$.pieces"

[sources.brook.requests.goods]
path = "goods"
pages = {{ by = "offset", ask = "skip", size_ask = "take", size = 30 }}
count = "$.result.all"

[sources.brook.requests.goods.tables.variants]
at = "$.result.rows[*]"
[sources.brook.requests.goods.tables.variants.fields]
variant_id = "$.no"
sku = "$.code"
product = "$.good"
options = {{ object_at = "$.traits", keep = ["shade", "volume"] }}
unit_cost = "$.unit"
currency = "$.currency"
available = {{ at = "$.stock", words = {{ in = "true", out = "false" }} }}
"#
    )
}
