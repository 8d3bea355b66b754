//! A notation for tiny books, one row a line, written and read: what fails in a random book is printed in it
//! and can be pasted into a test.
//!
//! ```text
//! order A paid=-90m
//! line A/1 sku=K1 quantity=2 reads=apron,S,moss
//! variant alder/V1 sku=K1 reads=apron,S,moss
//! link to=alder/V1 listing=L1 options=Size:S units=2 intended
//! said-link to=alder/V2 sku=K1
//! submission alder/S1 ref=A at=-80m status=making cutoff=+60m
//! sent alder/S1/1 line=1 variant=V1
//! ```
//!
//! Times are minutes (`m`), seconds (`s`) or hours (`h`) from as-of, or a day such as `2026-11-24`. A blank
//! inside an id or a value is written `~`. A table exists where it has a row, or where `given TABLE` says so; orders
//! have no table to miss.

use std::fmt::{self, Write};
use std::str::FromStr;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use model::book::{
    LinkRow, LinkScope, Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine,
    SubmissionStatus, Tie, Variant,
};
use model::money::parse_amount;
use model::reading::Reading;
use model::rules::{Graces, ReferenceForm};
use model::{Currency, Money, Options, OrderId, Sku, When};
use regex::Regex;

use super::case::{Case, after, as_of};

/// A moment as it is written: `-60m`.
pub fn moment(moment: DateTime<Utc>) -> String {
    span(moment.signed_duration_since(as_of()))
}

fn span(span: TimeDelta) -> String {
    let seconds = span.num_seconds();
    if seconds % 60 == 0 { format!("{:+}m", seconds / 60) } else { format!("{seconds:+}s") }
}

fn when(when: When) -> String {
    if when.begins() == when.ends() { moment(when.begins()) } else { when.begins().date_naive().to_string() }
}

/// Options as they are written: `Colour:moss,Size:S`, or `none` where there are no options.
pub fn options(options: &Options) -> String {
    let pairs: Vec<String> = options.iter().map(|(name, value)| format!("{name}:{value}")).collect();
    if pairs.is_empty() { "none".into() } else { pairs.join(",") }
}

fn reading(reading: &Reading) -> String {
    let said = [&reading.product_type, &reading.size, &reading.colour, &reading.age_group];
    let mut said: Vec<&str> = said.into_iter().map(|said| said.as_deref().unwrap_or("-")).collect();
    while said.last() == Some(&"-") {
        said.pop();
    }
    said.join(",")
}

fn order_status(status: OrderStatus) -> &'static str {
    match status {
        OrderStatus::Unpaid => "unpaid",
        OrderStatus::Open => "open",
        OrderStatus::Dispatched => "dispatched",
        OrderStatus::Cancelled => "cancelled",
    }
}

fn status(status: SubmissionStatus) -> &'static str {
    match status {
        SubmissionStatus::Received => "received",
        SubmissionStatus::Held => "held",
        SubmissionStatus::Making => "making",
        SubmissionStatus::Dispatched => "dispatched",
        SubmissionStatus::Cancelled => "cancelled",
        SubmissionStatus::Rejected => "rejected",
    }
}

/// A text as it is written inside a row.
pub fn without_blanks(text: &str) -> String {
    text.replace(' ', "~")
}

/// One row being written.
struct Row(String);

impl Row {
    fn new(start: String) -> Self {
        Self(start)
    }

    /// A row of a table, by the ids that name it.
    fn of(kind: &str, ids: &[&str]) -> Self {
        Self(format!("{kind} {}", without_blanks(&ids.join("/"))))
    }

    fn with(mut self, name: &str, value: Option<impl fmt::Display>) -> Self {
        if let Some(value) = value {
            write!(self.0, " {name}={}", without_blanks(&value.to_string())).expect("writing to a string");
        }
        self
    }

    fn unless(self, usual: bool, name: &str, value: impl fmt::Display) -> Self {
        self.with(name, (!usual).then_some(value))
    }

    fn flag(mut self, set: bool, name: &str) -> Self {
        if set {
            self.0.push(' ');
            self.0.push_str(name);
        }
        self
    }
}

impl fmt::Display for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let book = &self.book;
        let mut rows: Vec<Row> = rules(self);
        rows.extend(book.not_judged.iter().map(|order| Row::of("not-judged", &[order.as_str()])));
        rows.extend(book.orders.iter().map(order));
        rows.extend(book.order_lines.iter().zip(&self.readings.order_lines).map(order_line));
        rows.extend(given("offers", book.offers.as_ref()));
        rows.extend(book.offers.iter().flatten().zip(&self.readings.offers).map(offer));
        rows.extend(given("variants", book.variants.as_ref()));
        rows.extend(book.variants.iter().flatten().zip(&self.readings.variants).map(variant));
        rows.extend(given("links", book.links.as_ref()));
        rows.extend(book.links.iter().flatten().map(|row| link("link", row)));
        rows.extend(book.owner_links.iter().map(|row| link("said-link", row)));
        rows.extend(given("submissions", book.submissions.as_ref()));
        rows.extend(book.submissions.iter().flatten().zip(&self.cut_offs).map(submission));
        rows.extend(given("submission-lines", book.submission_lines.as_ref()));
        rows.extend(book.submission_lines.iter().flatten().map(submission_line));
        rows.extend(given("parcels", book.parcels.as_ref()));
        rows.extend(book.parcels.iter().flatten().map(|row| {
            Row::of("parcel", &[row.supplier.as_str(), row.parcel_id.as_str()])
                .with("of", Some(&row.submission_id))
                .with("at", Some(when(row.dispatched_at)))
        }));
        rows.extend(given("parcel-lines", book.parcel_lines.as_ref()));
        rows.extend(book.parcel_lines.iter().flatten().map(|row| {
            Row::of(
                "packed",
                &[row.supplier.as_str(), row.parcel_id.as_str(), row.submission_line_id.as_str()],
            )
            .unless(row.quantity == 1, "quantity", row.quantity)
        }));
        rows.extend(given("ties", book.ties.as_ref()));
        rows.extend(book.ties.iter().flatten().map(|row| {
            let line = row.submission_line_id.as_ref().map(|line| format!("/{line}")).unwrap_or_default();
            let tie = Row::of("tie", &[row.order_id.as_str(), row.line_id.as_str()]);
            Row::new(format!("{} {}/{}{line}", tie.0, row.supplier, row.submission_id))
        }));
        rows.iter().try_for_each(|row| writeln!(f, "{}", row.0))
    }
}

fn given<T>(name: &str, table: Option<&Vec<T>>) -> Option<Row> {
    table.is_some_and(Vec::is_empty).then(|| Row::new(format!("given {name}")))
}

fn rules(case: &Case) -> Vec<Row> {
    let rules = &case.rules;
    let mut rows = Vec::new();
    if rules.graces != Graces::default() {
        rows.push(graces("graces".into(), &rules.graces));
    }
    for (supplier, of) in &rules.supplier_graces {
        rows.push(graces(format!("graces of={supplier}"), of));
    }
    let references = [(None, &rules.references)].into_iter();
    let of_suppliers = rules.supplier_references.iter().map(|(supplier, form)| (Some(supplier), form));
    for (supplier, form) in references.chain(of_suppliers) {
        let written = Row::new("references".into())
            .with("of", supplier)
            .unless(form.prefix.is_empty(), "prefix", &form.prefix)
            .unless(form.suffix.is_empty(), "suffix", &form.suffix)
            .with("pattern", form.pattern.as_ref());
        if written.0 != "references" {
            rows.push(written);
        }
    }
    rows.extend(rules.samples.iter().map(|pattern| Row::new(format!("samples {pattern}"))));
    let fees = &rules.fees;
    if !fees.percent_of_price.is_zero() {
        rows.push(Row::new(format!("fee percent={}", fees.percent_of_price)));
    }
    for fee in &fees.per_unit {
        let row = Row::new(format!("fee unit={}", fee.amount()));
        rows.push(row.with("currency", Some(fee.currency())));
    }
    for (name, from) in [("report_from", rules.report_from), ("since", rules.since), ("until", rules.until)] {
        rows.extend(from.map(|from| Row::new(format!("{name} {}", moment(from)))));
    }
    rows
}

fn graces(start: String, graces: &Graces) -> Row {
    let usual = Graces::default();
    Row::new(start)
        .unless(graces.submit == usual.submit, "submit", span(graces.submit))
        .unless(graces.stray == usual.stray, "stray", span(graces.stray))
        .unless(graces.hold == usual.hold, "hold", span(graces.hold))
        .unless(graces.start == usual.start, "start", span(graces.start))
        .unless(graces.parcel_gap == usual.parcel_gap, "parcel_gap", span(graces.parcel_gap))
        .unless(graces.mark == usual.mark, "mark", span(graces.mark))
}

fn order(row: &Order) -> Row {
    Row::of("order", &[row.order_id.as_str()])
        .unless(row.status == OrderStatus::Open, "status", order_status(row.status))
        .with("placed", Some(when(row.placed_at)))
        .with("paid", row.paid_at.map(when))
        .with("promised", row.promised_by.map(when))
        .with("currency", row.currency)
}

fn order_line((row, says): (&OrderLine, &Reading)) -> Row {
    let says = reading(says);
    Row::of("line", &[row.order_id.as_str(), row.line_id.as_str()])
        .with("listing", row.listing_id.as_ref())
        .with("options", row.options.as_ref().map(options))
        .with("sku", row.sku.as_ref())
        .unless(row.quantity == 1, "quantity", row.quantity)
        .unless(row.cancelled_quantity == 0, "cancelled", row.cancelled_quantity)
        .with("price", row.unit_price)
        .unless(says.is_empty(), "reads", says)
}

fn offer((row, says): (&Offer, &Reading)) -> Row {
    let says = reading(says);
    Row::of("offer", &[row.listing_id.as_str()])
        .with("options", Some(options(&row.options)))
        .with("sku", row.sku.as_ref())
        .with("price", row.price)
        .with("currency", row.currency)
        .unless(says.is_empty(), "reads", says)
        .flag(!row.buyable, "not-buyable")
}

fn variant((row, says): (&Variant, &Reading)) -> Row {
    let says = reading(says);
    Row::of("variant", &[row.supplier.as_str(), row.variant_id.as_str()])
        .with("sku", row.sku.as_ref())
        .with("product", row.product.as_ref())
        .with("cost", row.unit_cost)
        .with("currency", row.currency)
        .unless(says.is_empty(), "reads", says)
        .flag(!row.available, "not-available")
}

fn link(noun: &str, row: &LinkRow) -> Row {
    let to = match &row.variant_id {
        Some(variant) => format!("{}/{variant}", row.supplier),
        None => row.supplier.to_string(),
    };
    let start = Row::new(format!("{noun} to={to}"));
    let start = match &row.scope {
        LinkScope::Offer(listing, chosen) => {
            start.with("listing", Some(listing)).with("options", Some(options(chosen)))
        }
        LinkScope::Sku(sku) => start.with("sku", Some(sku)),
        LinkScope::Listing(listing) => start.with("listing", Some(listing)),
    };
    start.unless(row.units == 1, "units", row.units).flag(!row.in_force, "intended")
}

fn submission((row, cut_off): (&Submission, &Option<DateTime<Utc>>)) -> Row {
    Row::of("submission", &[row.supplier.as_str(), row.submission_id.as_str()])
        .with("ref", row.order_ref.as_ref())
        .unless(row.status == SubmissionStatus::Received, "status", status(row.status))
        .with("at", Some(when(row.received_at)))
        .with("replaces", row.replaces.as_ref())
        .with("updated", row.updated_at.map(when))
        .with("cutoff", cut_off.map(moment))
}

fn submission_line(row: &SubmissionLine) -> Row {
    Row::of("sent", &[row.supplier.as_str(), row.submission_id.as_str(), row.line_id.as_str()])
        .with("ref", row.order_ref.as_ref())
        .with("line", row.order_line_ref.as_ref())
        .with("variant", row.variant_id.as_ref())
        .with("sku", row.sku.as_ref())
        .unless(row.quantity == 1, "quantity", row.quantity)
        .with("status", row.status.map(status))
        .with("updated", row.updated_at.map(when))
        .with("cost", row.unit_cost)
}

/// One row being read.
struct Words<'a> {
    line: &'a str,
    words: Vec<&'a str>,
}

impl<'a> Words<'a> {
    fn new(line: &'a str) -> Self {
        Self { line, words: line.split(' ').filter(|word| !word.is_empty()).collect() }
    }

    /// Takes the word at the front.
    fn first(&mut self) -> &'a str {
        assert!(!self.words.is_empty(), "a word is missing in {:?}", self.line);
        self.words.remove(0)
    }

    /// Takes the word at the front apart into ids.
    fn ids<const N: usize>(&mut self) -> [String; N] {
        let ids: Vec<String> = self.first().split('/').map(|id| id.replace('~', " ")).collect();
        ids.try_into().unwrap_or_else(|_| panic!("{N} ids expected in {:?}", self.line))
    }

    fn text(&mut self, name: &str) -> Option<String> {
        let at =
            self.words.iter().position(|word| word.split_once('=').is_some_and(|(key, _)| key == name))?;
        let (_, value) = self.words.remove(at).split_once('=')?;
        Some(value.replace('~', " "))
    }

    fn parsed<T: FromStr>(&mut self, name: &str) -> Option<T> {
        let text = self.text(name)?;
        Some(text.parse().unwrap_or_else(|_| panic!("{text:?} is no {name} in {:?}", self.line)))
    }

    fn flag(&mut self, name: &str) -> bool {
        let at = self.words.iter().position(|word| *word == name);
        at.map(|at| self.words.remove(at)).is_some()
    }

    fn when(&mut self, name: &str) -> Option<When> {
        let text = self.text(name)?;
        Some(match text.parse::<NaiveDate>() {
            Ok(day) => When::day(day, Tz::UTC).expect("a day of the calendar"),
            Err(_) => When::at(read_moment(&text)),
        })
    }

    fn span(&mut self, name: &str, usual: TimeDelta) -> TimeDelta {
        self.text(name).map_or(usual, |text| read_moment(&text).signed_duration_since(as_of()))
    }

    fn options(&mut self) -> Option<Options> {
        let text = self.text("options")?;
        let pairs = text.split(',').filter(|pair| *pair != "none");
        let pairs = pairs.map(|pair| pair.split_once(':').expect("an option is name:value"));
        Some(Options::from_pairs(pairs).expect("each name has one value"))
    }

    fn reading(&mut self) -> Reading {
        let text = self.text("reads").unwrap_or_default();
        let mut said = text.split(',').map(|word| (!matches!(word, "" | "-")).then(|| word.to_owned()));
        let mut next = || said.next().flatten();
        Reading {
            product_type: next(),
            size: next(),
            colour: next(),
            age_group: next(),
            left_over: Vec::new(),
        }
    }

    fn status(&mut self) -> Option<SubmissionStatus> {
        let word = self.text("status")?;
        let all = [
            SubmissionStatus::Received,
            SubmissionStatus::Held,
            SubmissionStatus::Making,
            SubmissionStatus::Dispatched,
            SubmissionStatus::Cancelled,
            SubmissionStatus::Rejected,
        ];
        let found = all.into_iter().find(|of| status(*of) == word);
        Some(found.unwrap_or_else(|| panic!("no status in {:?}", self.line)))
    }

    fn end(self) {
        assert!(self.words.is_empty(), "{:?} not understood in {:?}", self.words, self.line);
    }
}

fn read_moment(text: &str) -> DateTime<Utc> {
    let (number, unit) = text.split_at(text.len() - 1);
    let number: i64 = number.parse().unwrap_or_else(|_| panic!("{text:?} is no time"));
    after(match unit {
        "h" => number * 3600,
        "m" => number * 60,
        "s" => number,
        _ => panic!("{text:?} is no time"),
    })
}

/// Reads a book. Where `placed` is not given, an order was placed when it was paid, else two hours ago; a
/// submission was received an hour ago.
pub fn case(text: &str) -> Case {
    let mut case = Case::default();
    for line in text.lines().map(|line| line.trim_matches(' ')).filter(|line| !line.is_empty()) {
        let mut words = Words::new(line);
        let kind = words.first();
        read_row(&mut case, kind, &mut words);
        words.end();
    }
    case
}

fn read_row(case: &mut Case, kind: &str, words: &mut Words<'_>) {
    let book = &mut case.book;
    match kind {
        "graces" | "references" | "samples" | "fee" | "report_from" | "since" | "until" => {
            read_rule(case, kind, words);
        }
        "not-judged" => {
            let [order] = words.ids();
            book.not_judged.insert(OrderId::new(order));
        }
        "given" => match words.first() {
            "offers" => book.offers = Some(Vec::new()),
            "variants" => book.variants = Some(Vec::new()),
            "links" => book.links = Some(Vec::new()),
            "submissions" => book.submissions = Some(Vec::new()),
            "submission-lines" => book.submission_lines = Some(Vec::new()),
            "parcels" => book.parcels = Some(Vec::new()),
            "parcel-lines" => book.parcel_lines = Some(Vec::new()),
            "ties" => book.ties = Some(Vec::new()),
            table => panic!("{table:?} is no table"),
        },
        "order" => book.orders.push(read_order(words)),
        "line" => {
            let [order, line] = words.ids();
            case.readings.order_lines.push(words.reading());
            book.order_lines.push(OrderLine {
                order_id: order.as_str().into(),
                line_id: line.as_str().into(),
                listing_id: words.text("listing").map(|id| id.as_str().into()),
                sku: words.text("sku").and_then(Sku::new),
                title: None,
                options: words.options(),
                quantity: words.parsed("quantity").unwrap_or(1),
                cancelled_quantity: words.parsed("cancelled").unwrap_or(0),
                unit_price: words.text("price").and_then(|amount| parse_amount(&amount)),
                updated_at: None,
            });
        }
        "offer" => {
            case.readings.offers.push(words.reading());
            let [listing] = words.ids();
            book.offers.get_or_insert_default().push(Offer {
                listing_id: listing.as_str().into(),
                sku: words.text("sku").and_then(Sku::new),
                title: None,
                options: words.options().unwrap_or_default(),
                price: words.text("price").and_then(|amount| parse_amount(&amount)),
                currency: words.parsed("currency"),
                buyable: !words.flag("not-buyable"),
            });
        }
        "variant" => {
            let [supplier, variant] = words.ids();
            case.readings.variants.push(words.reading());
            book.variants.get_or_insert_default().push(Variant {
                supplier: supplier.as_str().into(),
                variant_id: variant.as_str().into(),
                sku: words.text("sku").and_then(Sku::new),
                product: words.text("product"),
                options: None,
                unit_cost: words.text("cost").and_then(|amount| parse_amount(&amount)),
                currency: words.parsed("currency"),
                available: !words.flag("not-available"),
            });
        }
        "link" => book.links.get_or_insert_default().push(read_link(words)),
        "said-link" => book.owner_links.push(read_link(words)),
        "submission" => {
            case.cut_offs.push(words.text("cutoff").map(|text| read_moment(&text)));
            let [supplier, submission] = words.ids();
            book.submissions.get_or_insert_default().push(Submission {
                supplier: supplier.as_str().into(),
                submission_id: submission.as_str().into(),
                order_ref: words.text("ref"),
                status: words.status().unwrap_or(SubmissionStatus::Received),
                received_at: words.when("at").unwrap_or(When::at(after(-3600))),
                replaces: words.text("replaces"),
                updated_at: words.when("updated"),
            });
        }
        "sent" => {
            let [supplier, submission, line] = words.ids();
            book.submission_lines.get_or_insert_default().push(SubmissionLine {
                supplier: supplier.as_str().into(),
                submission_id: submission.as_str().into(),
                line_id: line.as_str().into(),
                order_ref: words.text("ref"),
                order_line_ref: words.text("line").map(|id| id.as_str().into()),
                variant_id: words.text("variant").map(|id| id.as_str().into()),
                sku: words.text("sku").and_then(Sku::new),
                quantity: words.parsed("quantity").unwrap_or(1),
                status: words.status(),
                unit_cost: words.text("cost").and_then(|amount| parse_amount(&amount)),
                updated_at: words.when("updated"),
            });
        }
        "parcel" => {
            let [supplier, parcel] = words.ids();
            book.parcels.get_or_insert_default().push(Parcel {
                supplier: supplier.as_str().into(),
                parcel_id: parcel.as_str().into(),
                submission_id: words.text("of").expect("a parcel is of a submission").as_str().into(),
                dispatched_at: words.when("at").expect("a parcel was dispatched at a time"),
                carrier: None,
                tracking_number: None,
            });
        }
        "packed" => {
            let [supplier, parcel, line] = words.ids();
            book.parcel_lines.get_or_insert_default().push(ParcelLine {
                supplier: supplier.as_str().into(),
                parcel_id: parcel.as_str().into(),
                submission_line_id: line.as_str().into(),
                quantity: words.parsed("quantity").unwrap_or(1),
            });
        }
        "tie" => {
            let [order, line] = words.ids();
            let sent: Vec<&str> = words.first().split('/').collect();
            book.ties.get_or_insert_default().push(Tie {
                order_id: order.as_str().into(),
                line_id: line.as_str().into(),
                supplier: sent[0].into(),
                submission_id: sent[1].into(),
                submission_line_id: sent.get(2).map(|line| (*line).into()),
            });
        }
        _ => panic!("{kind:?} is no kind of row"),
    }
}

fn read_rule(case: &mut Case, kind: &str, words: &mut Words<'_>) {
    let rules = &mut case.rules;
    match kind {
        "graces" => {
            let usual = Graces::default();
            let graces = Graces {
                submit: words.span("submit", usual.submit),
                stray: words.span("stray", usual.stray),
                hold: words.span("hold", usual.hold),
                start: words.span("start", usual.start),
                parcel_gap: words.span("parcel_gap", usual.parcel_gap),
                mark: words.span("mark", usual.mark),
            };
            match words.text("of") {
                Some(supplier) => {
                    rules.supplier_graces.insert(supplier.as_str().into(), graces);
                }
                None => rules.graces = graces,
            }
        }
        "references" => {
            let prefix = words.text("prefix").unwrap_or_default();
            let suffix = words.text("suffix").unwrap_or_default();
            let pattern = words.parsed("pattern");
            let form = ReferenceForm { prefix, suffix, pattern };
            match words.text("of") {
                Some(supplier) => {
                    rules.supplier_references.insert(supplier.as_str().into(), form);
                }
                None => rules.references = form,
            }
        }
        "samples" => rules.samples.push(Regex::new(words.first()).expect("a pattern")),
        "fee" => {
            if let Some(percent) = words.text("percent") {
                rules.fees.percent_of_price = parse_amount(&percent).expect("a number");
            }
            if let Some(amount) = words.text("unit") {
                let currency: Currency = words.parsed("currency").expect("a fee has a currency");
                let amount = parse_amount(&amount).expect("a number");
                rules.fees.per_unit.push(Money::new(amount, currency));
            }
        }
        "report_from" => rules.report_from = Some(read_moment(words.first())),
        "since" => rules.since = Some(read_moment(words.first())),
        _ => rules.until = Some(read_moment(words.first())),
    }
}

fn read_order(words: &mut Words<'_>) -> Order {
    let [order] = words.ids();
    let paid_at = words.when("paid");
    let status = match words.text("status").as_deref() {
        Some("unpaid") => OrderStatus::Unpaid,
        Some("dispatched") => OrderStatus::Dispatched,
        Some("cancelled") => OrderStatus::Cancelled,
        Some("open") | None => OrderStatus::Open,
        Some(status) => panic!("{status:?} is no status of an order"),
    };
    Order {
        order_id: order.as_str().into(),
        placed_at: words.when("placed").or(paid_at).unwrap_or(When::at(after(-2 * 3600))),
        paid_at,
        status,
        currency: words.parsed("currency"),
        promised_by: words.when("promised"),
        ship_to_country: None,
        ship_to_digest: None,
        updated_at: None,
    }
}

fn read_link(words: &mut Words<'_>) -> LinkRow {
    let to = words.text("to").expect("a link leads to something");
    let (supplier, variant) = to.split_once('/').map_or((to.as_str(), None), |(s, v)| (s, Some(v)));
    let listing = words.text("listing");
    let scope = match (listing, words.options(), words.text("sku").and_then(Sku::new)) {
        (Some(listing), Some(options), None) => LinkScope::Offer(listing.as_str().into(), options),
        (None, None, Some(sku)) => LinkScope::Sku(sku),
        (Some(listing), None, None) => LinkScope::Listing(listing.as_str().into()),
        _ => panic!("a link is for listing and options, or a SKU, or a listing"),
    };
    LinkRow {
        scope,
        supplier: supplier.into(),
        variant_id: variant.map(Into::into),
        units: words.parsed("units").unwrap_or(1),
        in_force: !words.flag("intended"),
    }
}
