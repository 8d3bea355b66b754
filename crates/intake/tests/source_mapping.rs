//! What is read out of answers: every kind of field, good and bad; several shapes of answers; what never comes out.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use chrono_tz::Tz;
use intake::source::declare::{Declaration, Origin, Service};
use intake::source::mapping::{Mapped, Misfit, ParentRow};
use model::batch::Whole;
use model::book::{Offer, OrderLine};
use model::{Options, When};
use rust_decimal::Decimal;
use serde_json::Value;

const KEY: &[u8] = b"a key of Kittiwake Kitchen";

fn service(text: &str) -> Service {
    let declaration: Declaration = toml::from_str(text).unwrap();
    match declaration.check(Tz::Europe__Oslo).map_err(|error| error.to_string()).unwrap().origin {
        Origin::Service(service) => *service,
        Origin::Folder(folder) | Origin::Exports(folder, _) => panic!("{}", folder.display()),
    }
}

fn storefront(requests: &str) -> Service {
    service(&format!("role = \"storefront\"\naddress = \"https://till.example/\"\n{requests}"))
}

fn supplier(requests: &str) -> Service {
    service(&format!(
        "role = \"supplier\"\nsupplier = \"alder-print\"\naddress = \"https://alder.example/\"\n{requests}"
    ))
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn read(service: &Service, request: &str, body: &str) -> Result<Mapped, Box<Misfit>> {
    let request = service.requests.iter().find(|known| known.name == request).unwrap();
    request.rows(&json(body), None, KEY)
}

/// Offers of which one field is declared, and one offer in which this stands; the others are right.
fn offer(field: &str, record: &str) -> Result<Offer, String> {
    let mut fields = vec![r#"listing_id = "$.page""#, r#"options = { columns = { Size = "$.size" } }"#];
    fields.retain(|known| !field.starts_with(known.split(' ').next().unwrap()));
    let till = storefront(&format!(
        "[requests.offers]\npath = \"offers\"\n[requests.offers.tables.offers]\nat = \"$[*]\"\n\
         [requests.offers.tables.offers.fields]\n{}\n{field}\n",
        fields.join("\n")
    ));
    let mapped = read(&till, "offers", &format!(r#"[{{"page":"apron",{record}}}]"#));
    let mapped = mapped.map_err(|misfit| misfit.to_string())?;
    Ok(mapped.rows.offers.unwrap().remove(0))
}

/// Likewise, an order.
fn order(field: &str, record: &str) -> Result<model::book::Order, String> {
    let mut fields = vec![r#"order_id = "$.number""#, r#"status = "$.state""#, r#"placed_at = "$.made""#];
    fields.retain(|known| !field.starts_with(known.split(' ').next().unwrap()));
    let till = storefront(&format!(
        "[requests.orders]\npath = \"orders\"\n[requests.orders.tables.orders]\nat = \"$[*]\"\n\
         [requests.orders.tables.orders.fields]\n{}\n{field}\n",
        fields.join("\n")
    ));
    let mut members = vec![r#""number":"1001""#, r#""state":"open""#, r#""made":"2026-11-24""#];
    members.retain(|known| !record.contains(known.split(':').next().unwrap()));
    members.push(record);
    let mapped = read(&till, "orders", &format!("[{{{}}}]", members.join(",")));
    let mapped = mapped.map_err(|misfit| misfit.to_string())?;
    Ok(mapped.rows.orders.into_iter().next().unwrap())
}

const HINT: &str = "Compare the answer with requests.orders.tables.orders.fields.";
const END: &str = ", and correct that, or have the source mend its answer.";

#[test]
fn ids_are_texts_or_whole_numbers() {
    for (record, want) in [
        (r#""number":"A-7""#, "A-7"),
        (r#""number":1001"#, "1001"),
        (r#""number":18446744073709551615"#, "18446744073709551615"),
        (r#""number":9007199254740993"#, "9007199254740993"),
    ] {
        assert_eq!(order(r#"order_id = "$.number""#, record).unwrap().order_id.as_str(), want);
    }
    for (record, found, expected) in [
        (
            r#""number":1001.5"#,
            "a number with a fraction, or one too large to be read exactly, stands there",
            "an id: a text, or a whole number up to 18446744073709551615",
        ),
        (
            r#""number":18446744073709551616"#,
            "a number with a fraction, or one too large to be read exactly, stands there",
            "an id: a text, or a whole number up to 18446744073709551615",
        ),
        (
            r#""number":{"a":"Jorun"}"#,
            "an object or a list stands there",
            "one value: a string, a number, true, false or null",
        ),
        (r#""number":null"#, "nothing is given", "an id"),
        (r#""number":"""#, "nothing is given", "an id"),
    ] {
        let misfit = order(r#"order_id = "$.number""#, record).unwrap_err();
        let want = format!(
            "orders, record 1, field order_id at $.number: {found}; expected {expected}. {HINT}order_id{END}"
        );
        assert_eq!(misfit, want, "{record}");
    }
    let two = order(r#"order_id = "$..number""#, r#""number":"7","more":{"number":"8"}"#).unwrap_err();
    assert_eq!(
        two,
        "orders, record 1, field order_id at $..number: 2 values stand there; expected one value. Make the path find one value."
    );
}

#[test]
fn a_pattern_takes_its_first_group_and_tells_nothing_of_other_texts() {
    let field = r#"order_id = { at = "$.number", pattern = "^KK-(\\d+)$" }"#;
    assert_eq!(order(field, r#""number":"KK-1001""#).unwrap().order_id.as_str(), "1001");
    assert_eq!(
        order(field, r#""number":"for Jorun, 12 Long Lane""#).unwrap_err(),
        format!(
            "orders, record 1, field order_id at $.number: a text that looks like \"aaa Aaaaa, 99 Aaaa Aaaa\" does not match; \
             expected a text that matches ^KK-(\\d+)$. {HINT}order_id{END}"
        )
    );
}

#[test]
fn words_are_exchanged_and_unknown_ones_do_not_fit() {
    let field = r#"status = { at = "$.state", words = { new = "unpaid", "paid in full" = "open", true = "cancelled", 3 = "dispatched" } }"#;
    for (record, want) in [
        (r#""state":"new""#, "Unpaid"),
        (r#""state":"paid in full""#, "Open"),
        (r#""state":true"#, "Cancelled"),
        (r#""state":3"#, "Dispatched"),
    ] {
        assert_eq!(format!("{:?}", order(field, record).unwrap().status), want);
    }
    assert_eq!(
        order(field, r#""state":"New\u0000""#).unwrap_err(),
        "orders, record 1 (order_id \"1001\"), field status at $.state: \"New\\0\" is not one of the words of the mapping; \
         expected one of 3, new, paid in full, true. Add it to the words of the field, with what it means."
    );
    assert_eq!(
        order(r#"status = "$.state""#, r#""state":"posted""#).unwrap_err(),
        format!(
            "orders, record 1 (order_id \"1001\"), field status at $.state: \"posted\" is not one of the known words; expected \
             unpaid, open, dispatched or cancelled. {HINT}status{END}"
        )
    );
    assert!(
        order(field, r#""state":null"#).unwrap_err().contains("field status at $.state: nothing is given")
    );
}

#[test]
fn booleans_are_true_or_false_or_come_through_words() {
    let words = r#"buyable = { at = "$.state", words = { live = "true", gone = "false" } }"#;
    for (field, record, want) in [
        (r#"buyable = "$.live""#, r#""live":true"#, Ok(true)),
        (r#"buyable = "$.live""#, r#""live":false"#, Ok(false)),
        (r#"buyable = "$.live""#, r#""live":"FALSE""#, Ok(false)),
        (r#"buyable = "$.live""#, r#""live":null"#, Ok(true)),
        (r#"buyable = { always = false }"#, r#""x":1"#, Ok(false)),
        (words, r#""state":"gone""#, Ok(false)),
        (
            r#"buyable = "$.live""#,
            r#""live":1"#,
            Err(r#""1" is neither true nor false; expected true or false"#),
        ),
        (
            words,
            r#""state":"lost""#,
            Err(r#""lost" is not one of the words of the mapping; expected one of gone, live"#),
        ),
    ] {
        match (offer(field, record), want) {
            (Ok(offer), want) => assert_eq!(Ok(offer.buyable), want, "{record}"),
            (Err(misfit), Err(want)) => assert!(misfit.contains(want), "{misfit}"),
            (Err(misfit), Ok(_)) => panic!("{misfit}"),
        }
    }
}

/// Source of the digits: ISO 4217 as of 2026-01-01: EUR 2, JPY 0, KWD 3, CLF 4.
#[test]
fn money_is_exact_as_a_decimal_and_in_minor_units() {
    const MINOR: &str = "price = { at = \"$.price\", money = \"minor\" }\ncurrency = \"$.currency\"";
    const DECIMAL: &str = r#"price = "$.price""#;
    const MINOR_3: &str = r#"price = { at = "$.price", money = "minor-3" }"#;
    for (field, record, want) in [
        (DECIMAL, r#""price":24.10"#, Ok("24.10")),
        (DECIMAL, r#""price":0.07"#, Ok("0.07")),
        (DECIMAL, r#""price":1e2"#, Ok("100")),
        (DECIMAL, r#""price":"24.10""#, Ok("24.10")),
        (DECIMAL, r#""price":"24.1234567890123456789""#, Ok("24.1234567890123456789")),
        (DECIMAL, r#""price":24"#, Ok("24")),
        (r#"price = { always = "1.50" }"#, r#""x":1"#, Ok("1.50")),
        (r#"price = { at = "$.price", pattern = "^€ ?(.+)$" }"#, r#""price":"€ 24.10""#, Ok("24.10")),
        (MINOR, r#""price":2410,"currency":"EUR""#, Ok("24.10")),
        (MINOR, r#""price":"5","currency":"EUR""#, Ok("0.05")),
        (MINOR, r#""price":2410,"currency":"JPY""#, Ok("2410")),
        (MINOR, r#""price":2410,"currency":"KWD""#, Ok("2.410")),
        (MINOR, r#""price":2410,"currency":"CLF""#, Ok("0.2410")),
        (MINOR_3, r#""price":2410"#, Ok("2.410")),
        (
            DECIMAL,
            r#""price":"24,10""#,
            Err(r#""24,10" is not an amount; expected a decimal amount such as 24.00, zero or more"#),
        ),
        (
            DECIMAL,
            r#""price":-1"#,
            Err(r#""-1" is under zero; expected a decimal amount such as 24.00, zero or more"#),
        ),
        (DECIMAL, r#""price":true"#, Err(r#""true" is not an amount; expected"#)),
        (DECIMAL, r#""price":{"cents":2410}"#, Err("an object or a list stands there; expected one value")),
        (
            DECIMAL,
            r#""price":0.12345678901234567"#,
            Err(
                "0.12345678901234566 is a number of more digits than can be read exactly; expected an amount as a text, or a number of at most 15 digits",
            ),
        ),
        (
            MINOR,
            r#""price":24.5,"currency":"EUR""#,
            Err(
                r#""24.5" is not a whole number of minor units; expected an amount in minor units, such as 2410"#,
            ),
        ),
        (
            MINOR,
            r#""price":2410,"currency":null"#,
            Err(
                "field price at $.price: the currency, whose minor units these are, is not known; expected a currency code of ISO 4217, such as EUR",
            ),
        ),
        (
            MINOR,
            r#""price":2410,"currency":"Euro""#,
            Err(
                r#"field currency at $.currency: "Euro" is not a currency code; expected a currency code of ISO 4217, such as EUR"#,
            ),
        ),
    ] {
        match (offer(field, record), want) {
            (Ok(offer), want) => {
                assert_eq!(Ok(offer.price.unwrap()), want.map(|want| want.parse().unwrap()), "{record}")
            }
            (Err(misfit), Err(want)) => assert!(misfit.contains(want), "{misfit}"),
            (Err(misfit), Ok(_)) => panic!("{misfit}"),
        }
    }
    assert_eq!(offer(MINOR, r#""price":null"#).unwrap().price, None);
}

#[test]
fn times_are_read_in_each_form() {
    let oslo = |text: &str| When::parse(text, Tz::Europe__Oslo).unwrap();
    for (field, record, want) in [
        (r#"placed_at = "$.made""#, r#""made":"2026-11-24T09:30:00+01:00""#, oslo("2026-11-24T08:30:00Z")),
        (r#"placed_at = "$.made""#, r#""made":"2026-11-24""#, oslo("2026-11-24")),
        (
            r#"placed_at = { at = "$.made", zone = "America/Los_Angeles" }"#,
            r#""made":"2026-11-24""#,
            When::parse("2026-11-24", Tz::America__Los_Angeles).unwrap(),
        ),
        (
            r#"placed_at = { at = "$.made", time = "epoch_seconds" }"#,
            r#""made":1795509000"#,
            oslo("2026-11-24T08:30:00Z"),
        ),
        (
            r#"placed_at = { at = "$.made", time = "epoch_seconds" }"#,
            r#""made":"1795509000""#,
            oslo("2026-11-24T08:30:00Z"),
        ),
        (
            r#"placed_at = { at = "$.made", time = "epoch_seconds" }"#,
            r#""made":1795509000.5"#,
            oslo("2026-11-24T08:30:00.5Z"),
        ),
        (
            r#"placed_at = { at = "$.made", time = "epoch_milliseconds" }"#,
            r#""made":1795509000000"#,
            oslo("2026-11-24T08:30:00Z"),
        ),
        (
            r#"placed_at = { at = "$.made", time = "%d.%m.%Y %H:%M", zone = "Europe/Oslo" }"#,
            r#""made":"24.11.2026 09:30""#,
            oslo("2026-11-24T08:30:00Z"),
        ),
        (r#"placed_at = { at = "$.made", time = "%d.%m.%Y" }"#, r#""made":"24.11.2026""#, oslo("2026-11-24")),
    ] {
        assert_eq!(order(field, record).unwrap().placed_at, want, "{field} {record}");
    }
    for (field, record, want) in [
        (
            r#"placed_at = "$.made""#,
            r#""made":"24 Nov""#,
            r#""24 Nov" is not a time; expected a time such as 2026-11-25T09:30:00+01:00 (RFC 3339 with offset), or a date such as 2026-11-25"#,
        ),
        (
            r#"placed_at = "$.made""#,
            r#""made":1795509000"#,
            r#""1795509000" is not a time; expected a time such as"#,
        ),
        (
            r#"placed_at = { at = "$.made", time = "epoch_seconds" }"#,
            r#""made":1795509000000"#,
            r#""1795509000000" is after the year 9999; expected seconds since 1970-01-01T00:00:00Z, such as 1795595400"#,
        ),
        (
            r#"placed_at = { at = "$.made", time = "epoch_seconds" }"#,
            r#""made":0"#,
            "field placed_at at $.made: nothing is given",
        ),
        (
            r#"placed_at = { at = "$.made", time = "%d.%m.%Y %H:%M", zone = "Europe/Oslo" }"#,
            r#""made":"2026-11-24""#,
            r#""2026-11-24" is not a time in that form; expected a time in the form %d.%m.%Y %H:%M, such as "24.11.2026 08:30""#,
        ),
    ] {
        let misfit = order(field, record).unwrap_err();
        assert!(misfit.contains(want), "{misfit}");
    }
}

#[test]
fn options_are_kept_by_name_whatever_their_shape() {
    const PAIRS: &str = r#"options = { pairs_at = "$.choices[*]", name = "$.name", value = "$.value", keep = ["Size", "Colour"] }"#;
    const OBJECT: &str = r#"options = { object_at = "$.choices", keep = ["Size", "Colour"] }"#;
    const COLUMNS: &str = r#"options = { columns = { Size = "$.size", Colour = "$.colour" } }"#;
    for (field, record, want) in [
        (
            PAIRS,
            r#""choices":[{"name":"SIZE ","value":"L"},{"name":"Name on it","value":"Jorun"},{"name":"Colour","value":7}]"#,
            Ok(vec![("Size", "L"), ("Colour", "7")]),
        ),
        (PAIRS, r#""choices":[]"#, Ok(vec![])),
        (OBJECT, r#""choices":{"Size":null,"Colour":"moss"}"#, Ok(vec![("Colour", "moss")])),
        (
            PAIRS,
            r#""choices":[{"name":"Name on it","value":{"text":"Jorun"}},{"value":"Jorun"}]"#,
            Ok(vec![]),
        ),
        (
            PAIRS,
            r#""choices":[{"name":"Size","value":"L"},{"name":"size","value":"l"}]"#,
            Ok(vec![("Size", "L")]),
        ),
        (
            PAIRS,
            r#""choices":[{"name":"Size","value":"L"},{"name":"Size","value":"M"}]"#,
            Err(
                r#"field options at $.choices[*]: the option "Size" has two values, "L" and "M"; expected one value for each option"#,
            ),
        ),
        (
            PAIRS,
            r#""choices":[{"name":"Size","value":["L"]}]"#,
            Err("field options at $.choices[*]: an object or a list stands there; expected one value"),
        ),
        (
            PAIRS,
            r#""choices":[{"name":["Jorun"],"value":"L"}]"#,
            Err(
                "field options at $.choices[*]: the name of an option is an object or a list; expected a text",
            ),
        ),
        (
            OBJECT,
            r#""choices":{"colour":"Moss","size":"L","note":"for Jorun"}"#,
            Ok(vec![("Size", "L"), ("Colour", "Moss")]),
        ),
        (OBJECT, r#""choices":{}"#, Ok(vec![])),
        (OBJECT, r#""choices":null"#, Ok(vec![])),
        (
            OBJECT,
            r#""choices":["L"]"#,
            Err("field options at $.choices: what stands there is no object; expected an object of options"),
        ),
        (COLUMNS, r#""size":"L","colour":null"#, Ok(vec![("Size", "L")])),
        (COLUMNS, r#""x":1"#, Ok(vec![])),
        (
            COLUMNS,
            r#""size":{"a":1}"#,
            Err("field options: an object or a list stands there; expected one value"),
        ),
    ] {
        match (offer(field, record), want) {
            (Ok(offer), Ok(want)) => {
                assert_eq!(offer.options, Options::from_pairs(want).unwrap(), "{field} {record}")
            }
            (Err(misfit), Err(want)) => assert!(misfit.contains(want), "{misfit}"),
            (got, want) => panic!("{field} {record}: {got:?}, not {want:?}"),
        }
    }
}

#[test]
fn fields_may_stand_in_a_record_around_others() {
    let till = storefront(
        r#"
[requests.offers]
path = "offers"
[requests.offers.tables.offers]
at = "$.shelves.*.pages[*].choices[*]"
[requests.offers.tables.offers.fields]
listing_id = { own_key = true, around = 2 }
title = { at = "$.page", around = 1 }
sku = "$.code"
currency = { at = "$.money", around = 3 }
price = "$.price"
options = { columns = { Size = "$.size" } }
"#,
    );
    let mapped = read(
        &till,
        "offers",
        r#"{"money":"NOK","shelves":{"kitchen":{"pages":[
            {"page":"apron","choices":[{"code":"A-S","size":"S","price":"240"},{"code":"A-L","size":"L","price":"250"}]},
            {"page":"tote","choices":[]}]},
          "hall":{"pages":[{"page":"mat","choices":[{"code":"M","price":"90"}]}]}}}"#,
    );
    let offers = mapped.unwrap().rows.offers.unwrap();
    let said: Vec<String> = offers
        .iter()
        .map(|offer| {
            let sku = offer.sku.as_ref().unwrap().as_str();
            let (title, currency) = (offer.title.as_deref().unwrap(), offer.currency.unwrap());
            format!("{} {sku} {title} {currency}", offer.listing_id)
        })
        .collect();
    assert_eq!(said, ["hall M mat NOK", "kitchen A-L apron NOK", "kitchen A-S apron NOK"]);
}

#[test]
fn a_record_further_out_than_any_does_not_fit() {
    let why = offer(r#"title = { at = "$.page", around = 3 }"#, r#""size":"S""#).unwrap_err();
    assert!(why.contains("there is no record 3 lists further out"), "{why}");
}

#[test]
fn a_day_and_a_time_of_day_in_two_places_are_one_moment() {
    let field =
        r#"placed_at = { at = "$.day", and_at = "$.clock", time = "%d.%m.%Y %H:%M", zone = "Europe/Oslo" }"#;
    let order_of = |clock: &str| order(field, &format!(r#""made":"x","day":"24.11.2026"{clock}"#));
    let placed = order_of(r#","clock":"09:30""#).unwrap().placed_at;
    assert_eq!(placed, When::parse("2026-11-24T09:30:00+01:00", Tz::UTC).unwrap());
    // A day alone is not read as its beginning: the form says that there is a time.
    let why = order_of("").unwrap_err();
    assert!(why.contains("24.11.2026") && why.contains("placed_at"), "{why}");
}

#[test]
fn the_digest_of_an_address_is_the_same_for_the_same_address() {
    const FIELD: &str = r#"ship_to_digest = { digest_of = ["$.to.street", "$.to.lines[*]", "$.to.place"] }"#;
    let digest = |record: &str| order(FIELD, record).unwrap().ship_to_digest;
    let one = digest(r#""to":{"street":"Long Lane 12","place":"Kittiwake Bay"}"#);
    assert_eq!(one.as_ref().unwrap().len(), 32);
    assert_eq!(digest(r#""to":{"street":"LONG LANE  12","lines":[],"place":" kittiwake bay"}"#), one);
    assert_ne!(
        digest(r#""to":{"street":"Long Lane 12","lines":["Back door"],"place":"Kittiwake Bay"}"#),
        one
    );
    assert_eq!(digest(r#""to":{"street":null}"#), None);
    assert_eq!(digest(r#""to":null"#), None);
    assert_eq!(
        order(FIELD, r#""to":{"street":{"name":"Long Lane"}}"#).unwrap_err(),
        format!(
            "orders, record 1 (order_id \"1001\"), field ship_to_digest: an object or a list stands at $.to.street; expected a \
             text that is a part of the address. {HINT}ship_to_digest{END}"
        )
    );
}

#[test]
fn texts_skus_and_quantities_are_checked_as_in_exchange_files() {
    let till = storefront(
        r#"
        [requests.lines]
        path = "lines"
        [requests.lines.tables.order_lines]
        at = "$[*]"
        [requests.lines.tables.order_lines.fields]
        order_id = "$.order"
        line_id = "$.id"
        quantity = "$.count"
        cancelled_quantity = "$.off"
        title = "$.title"
        sku = "$.sku"
        "#,
    );
    let line = |record: &str| -> Result<OrderLine, String> {
        let mapped = read(&till, "lines", &format!(r#"[{{"order":7,"id":1,{record}}}]"#));
        Ok(mapped.map_err(|misfit| misfit.to_string())?.rows.order_lines.remove(0))
    };
    let right = line(r#""count":"2","off":1,"title":"Apron","sku":"KK 1","note":"for Jorun""#).unwrap();
    assert_eq!((right.quantity, right.cancelled_quantity, right.title.as_deref()), (2, 1, Some("Apron")));
    assert_eq!((right.options, right.sku.unwrap().as_str()), (None, "KK 1"));
    for (record, want) in [
        (
            r#""count":2.5"#,
            r#"field quantity at $.count: "2.5" is not a whole number; expected a whole number from 0 to 1000000"#,
        ),
        (
            r#""count":-1"#,
            r#"field quantity at $.count: "-1" is under zero; expected a whole number from 0 to 1000000"#,
        ),
        (r#""count":1000001"#, r#""1000001" is too large"#),
        (r#""off":1"#, "field quantity at $.count: nothing is given"),
        (
            r#""count":1,"off":2"#,
            "field cancelled_quantity at $.off: 2 is over the quantity, 1; expected at most the quantity of the line",
        ),
        (r#""count":1,"title":["Apron"]"#, "field title at $.title: an object or a list stands there"),
    ] {
        let misfit = line(record).unwrap_err();
        assert!(misfit.starts_with(r#"order_lines, record 1 (order_id "7", line_id "1"), "#), "{misfit}");
        assert!(misfit.contains(want), "{misfit}");
    }
}

const TILL: &str = r#"
[requests.orders]
path = "orders"
pages = { by = "cursor", at = "$.more", ask = "after" }
count = "$.in_all"
[requests.orders.tables.orders]
at = "$.orders[*]"
[requests.orders.tables.orders.fields]
order_id = "$.number"
status = "$.state"
placed_at = "$.made"
updated_at = "$.changed"
currency = "$.currency"
ship_to_country = "$.to.country"
ship_to_digest = { digest_of = ["$.to.street", "$.to.place"] }
[requests.orders.tables.order_lines]
within = "orders"
at = "$.lines[*]"
[requests.orders.tables.order_lines.fields]
line_id = "$.id"
title = "$.title"
quantity = "$.count"
unit_price = { at = "$.each", money = "minor" }
options = { pairs_at = "$.choices[*]", name = "$.name", value = "$.value", keep = ["Size"] }
"#;

const TWO_ORDERS: &str = r#"{
  "in_all": 41, "more": "c-2",
  "orders": [
    {"number": 1002, "state": "open", "made": "2026-11-24T09:30:00Z", "changed": "2026-11-24T10:00:00Z", "currency": "JPY",
     "buyer": {"name": "Jorun Fiske", "mail": "jorun@post.example"}, "note": "ring twice",
     "to": {"name": "Jorun Fiske", "street": "Long Lane 12", "place": "Kittiwake Bay", "country": "NO"},
     "lines": [{"id": 1, "title": "Apron", "count": 2, "each": 2400, "wish": "no tag please",
                "choices": [{"name": "Size", "value": "L"}, {"name": "Words on it", "value": "Best of Jorun"}]},
               {"id": 2, "title": "Mug", "count": 1, "each": 900, "choices": []}]},
    {"number": 1001, "state": "cancelled", "made": "2026-11-23T09:30:00Z", "changed": "2026-11-24T10:00:00Z",
     "currency": "EUR", "to": null, "lines": []},
    {"number": 1003, "state": "unpaid", "made": "2026-11-24T09:50:00Z", "changed": "2026-11-24T09:50:00Z", "currency": "EUR"}
  ]}"#;

#[test]
fn lines_within_their_orders_are_all_of_them() {
    let mapped = read(&storefront(TILL), "orders", TWO_ORDERS).unwrap();
    let ids: Vec<&str> = mapped.rows.orders.iter().map(|order| order.order_id.as_str()).collect();
    assert_eq!(ids, ["1001", "1002", "1003"]);
    let lines: Vec<_> = mapped
        .rows
        .order_lines
        .iter()
        .map(|line| (line.order_id.as_str(), line.line_id.as_str(), line.quantity, line.unit_price.unwrap()))
        .collect();
    assert_eq!(lines, [("1002", "1", 2, Decimal::from(2400)), ("1002", "2", 1, Decimal::from(900))]);
    assert_eq!(mapped.rows.order_lines[0].options, Some(Options::from_pairs([("Size", "L")]).unwrap()));
    assert_eq!(mapped.rows.order_lines[1].options, Some(Options::new()));
    // Of 1003 no list came: its lines are not known.
    assert_eq!(mapped.whole, [Whole::Order("1001".into()), Whole::Order("1002".into())]);
    assert_eq!((mapped.records, mapped.source_count, mapped.next.as_deref()), (3, Some(41), Some("c-2")));
    let latest = mapped.latest.unwrap();
    assert_eq!(latest.at.to_rfc3339(), "2026-11-24T10:00:00+00:00");
    assert_eq!(latest.keys, [r#"order_id "1001""#, r#"order_id "1002""#]);
    assert!(mapped.rows.offers.is_none() && mapped.rows.submissions.is_none() && mapped.parents.is_empty());
}

#[test]
fn nothing_that_is_not_mapped_comes_out() {
    let private = [
        "Jorun",
        "Fiske",
        "post.example",
        "ring twice",
        "Long Lane",
        "Kittiwake Bay",
        "no tag",
        "Best of",
        "Words on it",
    ];
    let mapped = format!("{:?}", read(&storefront(TILL), "orders", TWO_ORDERS).unwrap());
    for text in private {
        assert!(!mapped.to_lowercase().contains(&text.to_lowercase()), "{text} is in {mapped}");
    }
    let good = json(TWO_ORDERS);
    // Every value of the answer in turn is replaced by one that may not fit.
    let mut pointers = Vec::new();
    pointers_of(&good, String::new(), &mut pointers);
    assert!(pointers.len() > 50);
    let till = storefront(TILL);
    let mut misfits = 0;
    for pointer in pointers {
        for wrong in
            [r#"{"name":"Jorun Fiske"}"#, r#"["Jorun Fiske","Long Lane 12"]"#, "12.5", "true", "null", "-3"]
        {
            let mut body = good.clone();
            *body.pointer_mut(&pointer).unwrap() = json(wrong);
            let said = match till.requests[0].rows(&body, None, KEY) {
                Ok(mapped) => format!("{mapped:?}"),
                Err(misfit) => {
                    misfits += 1;
                    format!("{misfit} {misfit:?}")
                }
            };
            for text in private {
                assert!(
                    !said.to_lowercase().contains(&text.to_lowercase()),
                    "{pointer} {wrong}: {text} is in {said}"
                );
            }
        }
    }
    assert!(misfits > 50, "{misfits}");
}

fn pointers_of(value: &Value, at: String, pointers: &mut Vec<String>) {
    pointers.push(at.clone());
    match value {
        Value::Object(object) => {
            object.iter().for_each(|(name, value)| pointers_of(value, format!("{at}/{name}"), pointers))
        }
        Value::Array(list) => {
            list.iter()
                .enumerate()
                .for_each(|(index, value)| pointers_of(value, format!("{at}/{index}"), pointers));
        }
        _ => {}
    }
}

#[test]
fn an_answer_without_its_list_is_no_answer_without_records() {
    let till = storefront(TILL);
    assert_eq!(read(&till, "orders", r#"{"orders":[]}"#).unwrap().records, 0);
    assert_eq!(read(&till, "orders", r#"{"orders":null}"#).unwrap().records, 0);
    let end = "expected a list of records, empty where there are none. Compare the answer with requests.orders.tables.orders.at, \
               and correct that, or have the source mend its answer.";
    for (body, want) in [
        (r#"{"error":"down for repair"}"#, format!("orders: nothing stands at $.orders; {end}")),
        (r#"{"orders":"none"}"#, format!("orders: what stands at $.orders is no list; {end}")),
        (r#""down""#, format!("orders: nothing stands at $.orders; {end}")),
    ] {
        assert_eq!(read(&till, "orders", body).unwrap_err().to_string(), want);
    }
    let lines = r#"{"orders":[{"number":7,"state":"open","made":"2026-11-24","lines":"two"}]}"#;
    assert_eq!(
        read(&till, "orders", lines).unwrap_err().to_string(),
        "order_lines, record 1: what stands at $.lines is no list; expected a list of records, empty where there are none. Compare \
         the answer with requests.orders.tables.order_lines, and correct that, or have the source mend its answer."
    );
}

#[test]
fn a_misfit_within_a_record_names_both() {
    let body = r#"{"orders":[{"number":7,"state":"open","made":"2026-11-24","lines":[]},
        {"number":8,"state":"open","made":"2026-11-24","lines":[{"id":1,"count":1},{"id":2,"count":"two"}]}]}"#;
    let misfit = read(&storefront(TILL), "orders", body).unwrap_err();
    assert_eq!((misfit.table, &misfit.records[..]), (Some("order_lines"), &[2, 2][..]));
    assert_eq!(misfit.key.as_deref(), Some(r#"order_id "8", line_id "2""#));
    assert_eq!(misfit.declared, "requests.orders.tables.order_lines.fields.quantity");
    assert!(
        misfit.to_string().starts_with(
            r#"order_lines, record 2 in record 2 (order_id "8", line_id "2"), field quantity at $.count: "two" is not a whole number; "#
        ),
        "{misfit}"
    );
}

#[test]
fn the_count_and_the_next_page_stand_where_they_are_declared() {
    let till = storefront(TILL);
    let page = |rest: &str| read(&till, "orders", &format!(r#"{{"orders":[]{rest}}}"#));
    for (rest, count, next) in [
        ("", None, None),
        (r#","in_all":"12","more":"""#, Some(12), None),
        (r#","in_all":0,"more":false"#, Some(0), None),
        (r#","in_all":null,"more":17"#, None, Some("17")),
    ] {
        let mapped = page(rest).unwrap();
        assert_eq!((mapped.source_count, mapped.next.as_deref()), (count, next), "{rest}");
    }
    for (rest, want) in [
        (
            r#","in_all":"many""#,
            r#"page at $.in_all: "many" is no whole number; expected the number of all records, a whole number. Compare the answer with requests.orders.count"#,
        ),
        (r#","in_all":-1"#, r#"page at $.in_all: "-1" is no whole number"#),
        (
            r#","in_all":[1]"#,
            "page at $.in_all: an object or a list stands there; expected the number of all records",
        ),
        (
            r#","more":{"after":"x"}"#,
            "page at $.more: an object or a list stands there; expected where the next page is, or null. Compare the answer with requests.orders.pages.at",
        ),
        (r#","more":true"#, "page at $.more: true stands there"),
    ] {
        let misfit = page(rest).unwrap_err().to_string();
        assert!(misfit.starts_with(want), "{misfit}");
    }
}

#[test]
fn a_record_that_repeats_counts_once_and_the_later_state_stands_with_its_lines() {
    let till = storefront(TILL);
    let order = |changed: &str, state: &str, lines: &str| {
        format!(
            r#"{{"number":7,"state":"{state}","made":"2026-11-24","changed":"{changed}","lines":[{lines}]}}"#
        )
    };
    let page = |orders: &[String]| read(&till, "orders", &format!(r#"{{"orders":[{}]}}"#, orders.join(",")));
    let early = order("2026-11-24T10:00:00Z", "open", r#"{"id":1,"count":1},{"id":2,"count":2}"#);
    let late = order("2026-11-24T11:00:00Z", "cancelled", r#"{"id":1,"count":3}"#);
    for orders in [[early.clone(), late.clone()], [late.clone(), early.clone()]] {
        let mapped = page(&orders).unwrap();
        assert_eq!(format!("{:?}", mapped.rows.orders[0].status), "Cancelled");
        let lines: Vec<_> =
            mapped.rows.order_lines.iter().map(|line| (line.line_id.as_str(), line.quantity)).collect();
        assert_eq!(lines, [("1", 3)]);
        assert_eq!(mapped.whole, [Whole::Order("7".into())]);
        assert_eq!(mapped.records, 2);
    }
    let twice = page(&[early.clone(), early.clone()]).unwrap();
    assert_eq!((twice.rows.orders.len(), twice.rows.order_lines.len()), (1, 2));
    let other = order("2026-11-24T10:00:00Z", "cancelled", "");
    assert_eq!(
        page(&[early.clone(), other]).unwrap_err().to_string(),
        "orders, record 1: records 1 and 2 say different things of order_id \"7\"; expected one row, or an updated_at in each of \
         them, of which one is the latest. Compare the answer with requests.orders.tables.orders, and correct that, or have the \
         source mend its answer."
    );
    let same_but_lines = order("2026-11-24T10:00:00Z", "open", r#"{"id":1,"count":9}"#);
    let misfit = page(&[early, same_but_lines]).unwrap_err();
    assert!(
        misfit.found.starts_with(r#"records 1 and 2 say different things of order_id "7", line_id "1""#),
        "{misfit}"
    );
}

const ALDER: &str = r#"
[requests.jobs]
path = "jobs"
[requests.jobs.tables.submissions]
at = "$[*]"
[requests.jobs.tables.submissions.fields]
submission_id = "$.job"
order_ref = "$.for_order"
status = { at = "$.state", words = { new = "received", left = "dispatched" } }
received_at = "$.received"
updated_at = "$.changed"
[requests.pieces]
path = "jobs/{submission_id}/pieces"
for_each = "submissions"
pages = { by = "number", ask = "page" }
[requests.pieces.tables.submission_lines]
at = "$.pieces[*]"
[requests.pieces.tables.submission_lines.fields]
submission_id = "$.job"
line_id = "$.piece"
quantity = "$.count"
unit_cost = "$.cost"
"#;

#[test]
fn lines_that_are_asked_for_one_by_one_belong_to_what_was_asked_for() {
    let alder = supplier(ALDER);
    let jobs = r#"[{"job":"J-1","for_order":"1001","state":"new","received":"2026-11-24T10:00:00Z","changed":"2026-11-24T10:00:00Z"},
        {"job":"J-2","for_order":"1002","state":"left","received":"2026-11-24T10:00:00Z","changed":"2026-11-24T11:00:00Z"}]"#;
    let mapped = read(&alder, "jobs", jobs).unwrap();
    let of = |id| ParentRow::new("submissions", [("submission_id", id), ("supplier", "alder-print")]);
    assert_eq!(mapped.parents, [of("J-1"), of("J-2")]);
    assert!(mapped.whole.is_empty());
    let pieces = alder.requests.iter().find(|request| request.name == "pieces").unwrap();
    assert_eq!(
        alder.url(pieces, Some(&mapped.parents[0])).unwrap().as_str(),
        "https://alder.example/jobs/J-1/pieces"
    );

    let ask = |body: &str| pieces.rows(&json(body), Some(&of("J-1")), KEY);
    let mut all = ask(r#"{"pieces":[{"job":"J-1","piece":1,"count":1,"cost":7.35}]}"#).unwrap();
    // Where the answer does not say of what it is, it is of what was asked for.
    all.join(ask(r#"{"pieces":[{"piece":2,"count":4,"cost":null}]}"#).unwrap());
    let lines: Vec<_> = all
        .rows
        .submission_lines
        .iter()
        .flatten()
        .map(|line| {
            (line.supplier.as_str(), line.submission_id.as_str(), line.line_id.as_str(), line.quantity)
        })
        .collect();
    assert_eq!(lines, [("alder-print", "J-1", "1", 1), ("alder-print", "J-1", "2", 4)]);
    assert_eq!(all.whole, [Whole::Submission("alder-print".into(), "J-1".into())]);
    assert_eq!(all.records, 2);
    assert_eq!(ask(r#"{"pieces":[]}"#).unwrap().whole, all.whole);
    assert_eq!(
        ask(r#"{"pieces":[{"job":"J-2","piece":1,"count":1}]}"#).unwrap_err().to_string(),
        "submission_lines, record 1 (supplier \"alder-print\", submission_id \"J-2\", line_id \"1\"), field submission_id at $.job: \
         \"J-2\" stands there, and what was asked for is \"J-1\"; expected the record that was asked for. Compare the answer with \
         requests.pieces.tables.submission_lines.fields.submission_id, and correct that, or have the source mend its answer."
    );
}

#[test]
fn order_lines_that_are_asked_for_one_by_one_have_the_currency_of_their_order() {
    let till = storefront(
        r#"
        [requests.orders]
        path = "orders"
        [requests.orders.tables.orders]
        at = "$[*]"
        fields = { order_id = "$.number", status = "$.state", placed_at = "$.made", currency = "$.currency" }
        [requests.lines]
        path = "lines"
        query = { order = "{order_id}" }
        for_each = "orders"
        [requests.lines.tables.order_lines]
        at = "$[*]"
        fields = { line_id = "$.id", quantity = "$.count", unit_price = { at = "$.each", money = "minor" } }
        "#,
    );
    let orders = r#"[{"number":7,"state":"open","made":"2026-11-24","currency":"KWD"}]"#;
    let parents = read(&till, "orders", orders).unwrap().parents;
    let lines = till.requests.iter().find(|request| request.name == "lines").unwrap();
    assert_eq!(till.url(lines, Some(&parents[0])).unwrap().as_str(), "https://till.example/lines?order=7");
    let mapped = lines.rows(&json(r#"[{"id":1,"count":1,"each":2500}]"#), Some(&parents[0]), KEY).unwrap();
    assert_eq!(mapped.rows.order_lines[0].unit_price, Some("2.500".parse().unwrap()));
    let without = ParentRow::new("orders", [("order_id", "7")]);
    let misfit = lines.rows(&json(r#"[{"id":1,"count":1,"each":2500}]"#), Some(&without), KEY).unwrap_err();
    assert!(
        misfit.to_string().contains("the currency, whose minor units these are, is not known"),
        "{misfit}"
    );
}

#[test]
fn parcels_within_their_submissions_are_all_of_them() {
    let brook = supplier(
        r#"
        [requests.list]
        path = "list"
        [requests.list.tables.submissions]
        at = "$.result.rows[*]"
        fields = { submission_id = "$.no", status = "$.status", received_at = { at = "$.in", time = "epoch_milliseconds" } }
        [requests.list.tables.submission_lines]
        within = "submissions"
        at = "$.lines[*]"
        fields = { line_id = "$.row", sku = "$.code", quantity = "$.pieces" }
        [requests.list.tables.parcels]
        within = "submissions"
        at = "$.parcels[*]"
        fields = { parcel_id = "$.no", dispatched_at = { at = "$.out", time = "epoch_milliseconds" } }
        [requests.list.tables.parcel_lines]
        within = "parcels"
        at = "$.holds[*]"
        fields = { submission_line_id = "$.row", quantity = "$.pieces" }
        "#,
    );
    let body = r#"{"result":{"rows":[
        {"no":31,"status":"dispatched","in":1795509000000,"lines":[{"row":1,"code":"B-1","pieces":2}],
         "parcels":[{"no":"P1","out":1795595400000,"holds":[{"row":1,"pieces":1}]},{"no":"P2","out":1795595400000}]},
        {"no":32,"status":"making","in":1795509000000,"lines":[{"row":1,"code":"B-2","pieces":1}],"parcels":null}]}}"#;
    let mapped = read(&brook, "list", body).unwrap();
    let parcels: Vec<_> = mapped
        .rows
        .parcels
        .iter()
        .flatten()
        .map(|parcel| (parcel.parcel_id.as_str(), parcel.submission_id.as_str(), parcel.supplier.as_str()))
        .collect();
    assert_eq!(parcels, [("P1", "31", "alder-print"), ("P2", "31", "alder-print")]);
    let lines = mapped.rows.parcel_lines.unwrap();
    assert_eq!(
        (lines.len(), lines[0].parcel_id.as_str(), lines[0].submission_line_id.as_str()),
        (1, "P1", "1")
    );
    let of = |id: &str| ("alder-print".into(), id.into());
    let (supplier_31, submission_31) = of("31");
    assert_eq!(
        mapped.whole,
        [
            Whole::Submission("alder-print".into(), "31".into()),
            Whole::Submission("alder-print".into(), "32".into()),
            Whole::ParcelsOf(supplier_31, submission_31),
            Whole::Parcel("alder-print".into(), "P1".into()),
        ]
    );
    assert_eq!(mapped.rows.submission_lines.unwrap().len(), 2);
    assert!(mapped.rows.orders.is_empty() && mapped.rows.variants.is_none() && mapped.latest.is_none());
}

#[test]
fn a_link_is_for_a_listing_or_a_sku_and_ties_stand_by_themselves() {
    let till = storefront(
        r#"
        [requests.links]
        path = "links"
        [requests.links.tables.links]
        at = "$.links[*]"
        fields = { listing_id = "$.page", supplier = { at = "$.maker", words = { A = "alder-print", us = "own" } }, variant_id = "$.good", options = { object_at = "$.choices", keep = ["Size"] }, units = "$.of_each" }
        [requests.links.tables.ties]
        at = "$.by_hand[*]"
        fields = { order_id = "$.o", line_id = "$.l", supplier = { always = "alder-print" }, submission_id = "$.s" }
        "#,
    );
    let body = r#"{"links":[{"page":1,"maker":"A","good":"v1","choices":{"Size":"L"}},{"page":2,"maker":"us"},
        {"page":3,"maker":"A","good":"v3","choices":{},"of_each":2}],"by_hand":[{"o":1,"l":1,"s":"J-1"}]}"#;
    let mapped = read(&till, "links", body).unwrap();
    let scopes: Vec<String> =
        mapped.rows.links.iter().flatten().map(|link| format!("{:?} {}", link.scope, link.units)).collect();
    assert_eq!(
        scopes,
        [
            r#"Offer(ListingId("1"), {"Size": "L"}) 1"#,
            r#"Listing(ListingId("2")) 1"#,
            r#"Offer(ListingId("3"), {}) 2"#,
        ]
    );
    assert_eq!(mapped.rows.ties.unwrap().len(), 1);
    let wrong = r#"{"links":[{"maker":"A","good":"v1"}],"by_hand":[]}"#;
    let misfit = read(&till, "links", wrong).unwrap_err().to_string();
    assert!(
        misfit.contains("neither listing_id nor sku is given; expected what the link is for"),
        "{misfit}"
    );
    let units = r#"{"links":[{"page":1,"maker":"A","good":"v1","of_each":0}],"by_hand":[]}"#;
    let misfit = read(&till, "links", units).unwrap_err().to_string();
    assert!(misfit.contains(r#"field units at $.of_each: "0" is under one"#), "{misfit}");
}
