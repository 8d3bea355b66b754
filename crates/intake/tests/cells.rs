//! What cells mean, table by table, and what is said of those that mean nothing.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod common;

use chrono_tz::Tz;
use common::{ORDERS, bad_rows, not_judged, notices, read, try_read, whole, whole_with};
use model::book::{LinkScope, OrderStatus, SubmissionStatus};
use model::money::parse_amount;
use model::{Options, Rules, Sku, When};

fn at(text: &str) -> When {
    When::parse(text, Tz::Europe__Berlin).unwrap()
}

fn options(pairs: &[(&str, &str)]) -> Options {
    Options::from_pairs(pairs.iter().copied()).unwrap()
}

#[test]
fn every_column_of_every_table_is_read() {
    let files = whole_with(&[
        (
            "orders.csv",
            "order_id,placed_at,paid_at,status,currency,promised_by,ship_to_country,ship_to_digest,updated_at\n\
             1001,2026-11-24T09:00:00+01:00,2026-11-24T09:01:00+01:00,open,EUR,2026-11-28,NO,d1,2026-11-24\n",
        ),
        (
            "order_lines.csv",
            "order_id,line_id,listing_id,sku,title,options,quantity,cancelled_quantity,unit_price,updated_at\n\
             1001,1,L1,AP-L,Terns,\"{\"\"Size\"\":\"\"L\"\"}\",3,1,24.10,2026-11-24\n",
        ),
        (
            "offers.csv",
            "listing_id,sku,title,options,price,currency,buyable\nL1,AP-L,Terns,{},24.10,EUR,FALSE\n",
        ),
        (
            "variants.csv",
            "supplier,variant_id,sku,product,options,unit_cost,currency,available\n\
             alder-print,V1,AP-L,Apron,\"{\"\"Size\"\":\"\"L\"\"}\",9.50,EUR,false\n",
        ),
        ("listing_products.csv", "listing_id,supplier,product\nL1,alder-print,Apron\n"),
        (
            "links.csv",
            "listing_id,sku,options,supplier,variant_id,units,in_force\nL1,AP-L,{},alder-print,V1,2,False\n",
        ),
        (
            "submissions.csv",
            "supplier,submission_id,order_ref,status,received_at,replaces,updated_at\n\
             alder-print,S1,1001;1002,making,2026-11-24,S0,2026-11-25\n",
        ),
        (
            "submission_lines.csv",
            "supplier,submission_id,line_id,order_ref,order_line_ref,variant_id,sku,quantity,status,unit_cost,\
             updated_at\nalder-print,S1,1,1001,7,V1,AP-L,4,Held,9.50,2026-11-25\n",
        ),
        (
            "parcels.csv",
            "supplier,parcel_id,submission_id,dispatched_at,carrier,tracking_number\n\
             alder-print,P1,S1,2026-11-25,Fulmar Post,T1\n",
        ),
        ("ties.csv", "order_id,line_id,supplier,submission_id,submission_line_id\n1001,1,alder-print,S1,1\n"),
    ]);
    let folder = try_read(&files, Tz::Europe__Berlin, &Rules::default()).unwrap();
    assert_eq!((bad_rows(&folder), notices(&folder), folder.rows_read), (vec![], vec![], 11));
    let book = &folder.book;

    let order = &book.orders[0];
    assert_eq!(order.placed_at, at("2026-11-24T08:00:00Z"));
    assert_eq!(order.paid_at, Some(at("2026-11-24T08:01:00Z")));
    assert_eq!(order.status, OrderStatus::Open);
    assert_eq!(order.currency, Some("EUR".parse().unwrap()));
    let promised_by = order.promised_by.unwrap();
    assert_eq!(
        promised_by.ends(),
        at("2026-11-28T23:00:00Z").begins(),
        "the end of the day in the shop's zone"
    );
    assert_eq!((order.ship_to_country.as_deref(), order.ship_to_digest.as_deref()), (Some("NO"), Some("d1")));
    assert_eq!(order.updated_at, Some(at("2026-11-24")));

    let line = &book.order_lines[0];
    assert_eq!((line.order_id.as_str(), line.line_id.as_str()), ("1001", "1"));
    assert_eq!(line.listing_id, Some("L1".into()));
    assert_eq!((&line.sku, line.title.as_deref()), (&Sku::new("AP-L"), Some("Terns")));
    assert_eq!(line.options, Some(options(&[("Size", "L")])));
    assert_eq!((line.quantity, line.cancelled_quantity), (3, 1));
    assert_eq!((line.unit_price, line.updated_at), (parse_amount("24.10"), Some(at("2026-11-24"))));

    let offer = &book.offers.as_ref().unwrap()[0];
    assert_eq!((&offer.options, offer.price, offer.buyable), (&Options::new(), parse_amount("24.10"), false));
    let variant = &book.variants.as_ref().unwrap()[0];
    assert_eq!(variant.options, Some(options(&[("Size", "L")])));
    assert_eq!((variant.product.as_deref(), variant.unit_cost), (Some("Apron"), parse_amount("9.5")));
    assert!(!variant.available);
    assert_eq!(book.listing_products.as_ref().unwrap()[0].product, "Apron");

    let link = &book.links.as_ref().unwrap()[0];
    assert_eq!(link.scope, LinkScope::Offer("L1".into(), Options::new()));
    assert_eq!((link.variant_id.clone(), link.units, link.in_force), (Some("V1".into()), 2, false));

    let submission = &book.submissions.as_ref().unwrap()[0];
    assert_eq!(
        (submission.order_ref.as_deref(), submission.replaces.as_deref()),
        (Some("1001;1002"), Some("S0"))
    );
    assert_eq!((submission.status, submission.received_at), (SubmissionStatus::Making, at("2026-11-24")));
    let line = &book.submission_lines.as_ref().unwrap()[0];
    assert_eq!((line.order_ref.as_deref(), line.order_line_ref.clone()), (Some("1001"), Some("7".into())));
    assert_eq!((line.variant_id.clone(), line.quantity), (Some("V1".into()), 4));
    assert_eq!((line.status, line.unit_cost), (Some(SubmissionStatus::Held), parse_amount("9.50")));
    let parcel = &book.parcels.as_ref().unwrap()[0];
    assert_eq!(parcel.carrier.as_deref(), Some("Fulmar Post"));
    assert_eq!((parcel.tracking_number.as_deref(), parcel.dispatched_at), (Some("T1"), at("2026-11-25")));
    assert_eq!(book.parcel_lines.as_ref().unwrap()[0].quantity, 2);
    assert_eq!(book.ties.as_ref().unwrap()[0].submission_line_id, Some("1".into()));
}

#[test]
fn empty_cells_are_not_known_and_defaults_hold() {
    let folder = read(&whole_with(&[
        (
            "order_lines.csv",
            "order_id,line_id,listing_id,sku,title,options,quantity,cancelled_quantity,unit_price,updated_at\n\
             1001,1,,,,,0,,,\n",
        ),
        ("offers.csv", "listing_id,options,buyable\nL1,{},\n"),
        ("variants.csv", "supplier,variant_id,available\nalder-print,V1,\n"),
        ("links.csv", "listing_id,sku,options,supplier,variant_id,units,in_force\nL1,,,alder-print,V1,,\n"),
    ]));
    assert_eq!(bad_rows(&folder), [""; 0]);
    let line = &folder.book.order_lines[0];
    assert_eq!((&line.listing_id, &line.sku, &line.title, &line.options), (&None, &None, &None, &None));
    assert_eq!(
        (line.quantity, line.cancelled_quantity, line.unit_price, line.updated_at),
        (0, 0, None, None)
    );
    let link = &folder.book.links.as_ref().unwrap()[0];
    assert_eq!((&link.scope, link.units, link.in_force), (&LinkScope::Listing("L1".into()), 1, true));
    assert!(folder.book.offers.as_ref().unwrap()[0].buyable);
    assert!(folder.book.variants.as_ref().unwrap()[0].available);
}

#[test]
fn a_table_that_is_not_given_is_none_and_an_empty_one_is_not() {
    let folder = read(&[
        ("orders.jsonl", ""),
        ("order_lines.csv", "order_id,line_id,quantity"),
        ("links.csv", "supplier\r\n"),
    ]);
    assert!(folder.book.orders.is_empty() && folder.book.variants.is_none());
    assert_eq!(folder.book.links.as_ref().map(Vec::len), Some(0));
}

#[test]
fn ids_are_taken_to_the_byte() {
    let folder = read(&whole_with(&[("orders.csv", "order_id,placed_at,status\n 1001 ,2026-11-24,open\n")]));
    assert_eq!(folder.book.orders[0].order_id.as_str(), " 1001 ");
    assert_eq!(folder.book.order_lines.len(), 0, "the line's order 1001 is another one");
}

/// One row of one table with one thing wrong, and what is said of it.
fn check(file: &str, content: &str, want: &str) {
    let folder = read(&whole_with(&[(file, content)]));
    let found: Vec<String> = bad_rows(&folder).into_iter().filter(|row| row.starts_with(file)).collect();
    assert_eq!(found, [want]);
}

#[test]
fn an_order_that_cannot_be_read_is_told_by_column() {
    let header = "order_id,placed_at,paid_at,status,currency,promised_by";
    let time =
        "a time such as 2026-11-25T09:30:00+01:00 (RFC 3339 with offset), or a date such as 2026-11-25";
    for (row, want) in [
        (
            ",2026-11-24,,open,,",
            "column order_id: nothing is given; expected an id. Fill it in: a row cannot be read without it.".into(),
        ),
        (
            "1001,,,open,,",
            format!(
                "column placed_at: nothing is given; expected {time}. Fill it in: a row cannot be read without it."
            ),
        ),
        (
            "1001,2026-11-24 09:00,,open,,",
            format!("column placed_at: \"2026-11-24 09:00\" is not a time; expected {time}. Correct the cell."),
        ),
        (
            "1001,2026-11-24,soon,open,,",
            format!(
                "column paid_at: \"soon\" is not a time; expected {time}. Correct the cell, or leave it empty if it \
                 is not known."
            ),
        ),
        (
            "1001,2026-11-24,,shipped,,",
            "column status: \"shipped\" is not one of the known words; expected unpaid, open, dispatched or \
             cancelled. Correct the cell."
                .into(),
        ),
        (
            "1001,2026-11-24,,,,",
            "column status: nothing is given; expected unpaid, open, dispatched or cancelled. Fill it in: a row \
             cannot be read without it."
                .into(),
        ),
        (
            "1001,2026-11-24,,open,euro,",
            "column currency: \"euro\" is not a currency code; expected a currency code of ISO 4217, such as EUR. \
             Correct the cell, or leave it empty if it is not known."
                .into(),
        ),
    ] {
        check("orders.csv", &format!("{header}\n{row}\n"), &format!("orders.csv, line 2, {want}"));
    }
    check(
        "orders.csv",
        &format!("{header}\n,,,,,\n"),
        "orders.csv, line 2: the row says nothing in any known column; expected a row with its required columns \
         filled in. Delete the row.",
    );
    check(
        "orders.csv",
        &format!("{header}\n1001,2026-11-24,,open,\n"),
        "orders.csv, line 2: the row has 5 cells; expected 6 cells, as many as the header has. Look for a comma too \
         many or too few; a cell with a comma in it stands in quotes.",
    );
    check(
        "orders.csv",
        &format!("{header}\n1001\n"),
        "orders.csv, line 2: the row has 1 cell; expected 6 cells, as many as the header has. Look for a comma too \
         many or too few; a cell with a comma in it stands in quotes.",
    );
}

#[test]
fn quantities_and_amounts_out_of_range_are_told() {
    let whole_number = "expected a whole number from 0 to 1000000. Correct the cell";
    let amount = "expected a decimal amount such as 24.00, zero or more. Correct the cell, or leave it empty if it is \
                  not known.";
    let unknown = ", or leave it empty if it is not known.";
    for (row, want) in [
        ("two,,", format!("column quantity: \"two\" is not a whole number; {whole_number}.")),
        ("-1,,", format!("column quantity: \"-1\" is under zero; {whole_number}.")),
        ("1000001,,", format!("column quantity: \"1000001\" is too large; {whole_number}.")),
        ("1.0,,", format!("column quantity: \"1.0\" is not a whole number; {whole_number}.")),
        ("2,-1,", format!("column cancelled_quantity: \"-1\" is under zero; {whole_number}{unknown}")),
        (
            "2,3,",
            "column cancelled_quantity: 3 is over the quantity, 2; expected at most the quantity of the line. \
             Correct one of the two: `quantity` is what was bought, before anything was cancelled."
                .into(),
        ),
        ("2,,\"1,50\"", format!("column unit_price: \"1,50\" is not an amount; {amount}")),
        ("2,,-0.01", format!("column unit_price: \"-0.01\" is under zero; {amount}")),
    ] {
        let content = format!("order_id,line_id,quantity,cancelled_quantity,unit_price\n1001,1,{row}\n");
        check("order_lines.csv", &content, &format!("order_lines.csv, line 2, {want}"));
    }
    let units =
        "expected a whole number from 1 to 1000. Correct the cell, or leave it empty if it is not known.";
    for (value, problem) in [("0", "is under one"), ("-1", "is under zero"), ("1001", "is too large")] {
        check(
            "links.csv",
            &format!("sku,supplier,variant_id,units\nAP-L,alder-print,V1,{value}\n"),
            &format!("links.csv, line 2, column units: \"{value}\" {problem}; {units}"),
        );
    }
    for (file, content, column) in [
        ("offers.csv", "listing_id,options,price\nL1,{},-1\n", "price"),
        ("variants.csv", "supplier,variant_id,unit_cost\nalder-print,V1,-1\n", "unit_cost"),
        (
            "submission_lines.csv",
            "supplier,submission_id,line_id,quantity,unit_cost\nalder-print,S1,1,1,-1\n",
            "unit_cost",
        ),
    ] {
        check(file, content, &format!("{file}, line 2, column {column}: \"-1\" is under zero; {amount}"));
    }
}

#[test]
fn booleans_and_status_words_are_read_in_any_case_and_nothing_else_is() {
    check(
        "links.csv",
        "sku,supplier,variant_id,in_force\nAP-L,alder-print,V1,yes\n",
        "links.csv, line 2, column in_force: \"yes\" is neither true nor false; expected true or false. Correct the \
         cell, or leave it empty if it is not known.",
    );
    check(
        "submissions.csv",
        "supplier,submission_id,status,received_at\nalder-print,S1,done,2026-11-24\n",
        "submissions.csv, line 2, column status: \"done\" is not one of the known words; expected received, held, \
         making, dispatched, cancelled or rejected. Correct the cell.",
    );
    let words = ["received", "HELD", "Making", "dispatched", "cancelled", "rejected"];
    let mut content = "supplier,submission_id,status,received_at\n".to_owned();
    for word in words {
        content += &format!("alder-print,{word},{word},2026-11-24\n");
    }
    let folder = read(&whole_with(&[
        ("submissions.csv", &content),
        ("submission_lines.jsonl", ""),
        ("parcels.jsonl", ""),
        ("parcel_lines.jsonl", ""),
        ("ties.jsonl", ""),
    ]));
    let mut read: Vec<_> = folder.book.submissions.iter().flatten().map(|row| row.status).collect();
    read.sort();
    use SubmissionStatus::*;
    assert_eq!(read, [Received, Held, Making, Dispatched, Cancelled, Rejected]);
}

#[test]
fn a_link_is_for_an_offer_a_sku_or_a_listing_and_for_nothing_else() {
    let header = "listing_id,sku,options,supplier,variant_id";
    let size_l = || options(&[("Size", "L")]);
    for (row, want) in [
        ("L1,AP-L,\"{\"\"Size\"\":\"\"L\"\"}\",b,V1", LinkScope::Offer("L1".into(), size_l())),
        ("L1,AP-L,,b,V1", LinkScope::Sku(Sku::new("AP-L").unwrap())),
        (",AP-L,\"{\"\"Size\"\":\"\"L\"\"}\",b,V1", LinkScope::Sku(Sku::new("AP-L").unwrap())),
        ("L1,,,b,V1", LinkScope::Listing("L1".into())),
        ("L1,,{},b,V1", LinkScope::Offer("L1".into(), Options::new())),
    ] {
        let content = format!("{header}\n{row}\n");
        let folder = read(&whole_with(&[("links.csv", &content)]));
        assert_eq!(folder.book.links.unwrap()[0].scope, want, "{row}");
    }
    check(
        "links.csv",
        &format!("{header}\n,,\"{{\"\"Size\"\":\"\"L\"\"}}\",alder-print,V1\n"),
        "links.csv, line 2: neither listing_id nor sku is given; expected what the link is for: listing_id with \
         options, or sku, or listing_id alone. Fill in one of them.",
    );
    check(
        "links.csv",
        &format!("{header}\nL1,,,alder-print,\n"),
        "links.csv, line 2, column variant_id: nothing is given; expected the id of a variant of supplier \
         \"alder-print\". Fill it in, or write own as the supplier if the shop packs it itself.",
    );
    let folder = read(&whole_with(&[("links.csv", &format!("{header}\nL1,,,own,\nL2,,,own,V9\n"))]));
    let links = folder.book.links.unwrap();
    assert!(links.iter().all(|link| link.supplier.is_own() && link.variant_id.is_none()));
    assert_eq!(links.len(), 2);
}

#[test]
fn options_stand_in_an_object_in_columns_of_their_own_or_in_both() {
    let both = [("Size", "L"), ("Colour", "Moss")];
    for (header, cells, want) in [
        ("options", "\"{\"\"Size\"\":\"\"L\"\",\"\"Colour\"\":\"\"Moss\"\"}\"", Some(both.as_slice())),
        ("option.Size,option.Colour", "L,Moss", Some(&both)),
        ("options,option.Colour", "\"{\"\"Size\"\":\"\"L\"\"}\",Moss", Some(&both)),
        ("options,option.Size,option.Colour", ",L,Moss", Some(&both)),
        ("options,option.size", "\"{\"\"Size\"\":\"\"L\"\"}\",\"l \"", Some(&[("Size", "L")])),
        ("option.Size,option.Colour", "L,", Some(&[("Size", "L")])),
        ("options", "", None),
        ("options", "{}", Some(&[])),
        (
            "options",
            "\"{\"\"Depth\"\":24.10,\"\"Gift\"\":true,\"\"Note\"\":null}\"",
            Some(&[("Depth", "24.10"), ("Gift", "true")]),
        ),
    ] {
        for (file, ids, columns) in [
            ("order_lines.csv", "1001,1,2", "order_id,line_id,quantity"),
            ("variants.csv", "alder-print,V1", "supplier,variant_id"),
        ] {
            let content = format!("{columns},{header}\n{ids},{cells}\n");
            let folder = read(&whole_with(&[(file, &content)]));
            let read = match file {
                "variants.csv" => folder.book.variants.as_ref().unwrap()[0].options.clone(),
                _ => folder.book.order_lines[0].options.clone(),
            };
            assert_eq!(read, want.map(options), "{header}: {cells}");
        }
    }
}

#[test]
fn options_that_contradict_each_other_or_are_no_object_are_told() {
    let object = "expected a JSON object of option names and values, such as {\"Size\":\"L\"}. Correct the cell; in \
                  CSV, write each quote inside it twice.";
    for (header, cells, want) in [
        (
            "options,option.Size",
            "\"{\"\"Size\"\":\"\"L\"\"}\",M",
            "column option.Size: the option \"Size\" has two values, \"L\" and \"M\"; expected one value for each \
             option. Remove the value that is wrong."
                .to_owned(),
        ),
        (
            "options",
            "\"{\"\"Size\"\":\"\"L\"\",\"\"size\"\":\"\"M\"\"}\"",
            "column options: the option \"size\" has two values, \"L\" and \"M\"; expected one value for each \
             option. Remove the value that is wrong."
                .to_owned(),
        ),
        ("options", "Size: L", format!("column options: \"Size: L\" is not a JSON object; {object}")),
        ("options", "{Size:L}", format!("column options: \"{{Size:L}}\" is not a JSON object; {object}")),
        ("options", "[1]", format!("column options: \"[1]\" is not a JSON object; {object}")),
        (
            "options",
            "\"{\"\"Size\"\":[\"\"L\"\"]}\"",
            "column options: the value of the option \"Size\" is an object or a list; expected a string, a number, \
             true, false or null for each option. Give each option one value."
                .to_owned(),
        ),
    ] {
        let content = format!("order_id,line_id,quantity,{header}\n1001,1,2,{cells}\n");
        check("order_lines.csv", &content, &format!("order_lines.csv, line 2, {want}"));
    }
}

#[test]
fn empty_option_columns_say_nothing_of_a_variant_and_of_an_order_line_that_there_was_nothing_to_choose() {
    for (content, want) in [
        ("order_id,line_id,quantity,option.Size,option.Colour\n1001,1,2,,\n", Some(Options::new())),
        ("order_id,line_id,quantity,options,option.Size\n1001,1,2,,\n", Some(Options::new())),
        ("order_id,line_id,quantity,options\n1001,1,2,\n", None),
        ("order_id,line_id,quantity\n1001,1,2\n", None),
    ] {
        let folder = read(&whole_with(&[("order_lines.csv", content)]));
        assert_eq!(folder.book.order_lines[0].options, want, "{content}");
    }
    let folder = read(&whole_with(&[("variants.csv", "supplier,variant_id,option.Size\nalder-print,V1,\n")]));
    assert_eq!(folder.book.variants.unwrap()[0].options, None);
}

#[test]
fn an_offer_must_say_its_options_and_empty_option_columns_say_that_there_are_none() {
    for (file, content) in [
        ("offers.csv", "listing_id,options\nL1,{}\n"),
        ("offers.csv", "listing_id,option.Size\nL1,\n"),
        ("offers.csv", "listing_id,options,option.Size\nL1,,\n"),
        ("offers.jsonl", "{\"listing_id\":\"L1\",\"options\":{}}"),
        ("offers.jsonl", "{\"listing_id\":\"L1\",\"option.Size\":null}"),
    ] {
        let folder = read(&whole_with(&[(file, content)]));
        assert_eq!(bad_rows(&folder), [""; 0]);
        assert!(folder.book.offers.unwrap()[0].options.is_empty(), "{content}");
    }
    let want = "column options: nothing is given; expected a JSON object of option names and values, such as \
                {\"Size\":\"L\"}. Fill it in; write {} where there is nothing to choose.";
    check("offers.csv", "listing_id,options\nL1,\n", &format!("offers.csv, line 2, {want}"));
    check("offers.jsonl", "{\"listing_id\":\"L1\"}", &format!("offers.jsonl, line 1, {want}"));
}

#[test]
fn unknown_columns_are_ignored_and_named_in_one_notice_a_file() {
    let folder = read(&whole_with(&[
        (
            "orders.csv",
            "order_id,customer,Paid At,placed_at,status,option.Size\n1001,x,y,2026-11-24,open,L\n",
        ),
        (
            "order_lines.jsonl",
            "{\"order_id\":\"1001\",\"line_id\":\"1\",\"quantity\":1,\"qantity\":2}\n\
             {\"order_id\":\"1001\",\"line_id\":\"2\",\"quantity\":1,\"qantity\":2}\n",
        ),
    ]));
    assert_eq!(
        notices(&folder),
        [
            "order_lines.jsonl: 1 column is not known, and ignored: \"qantity\" (did you mean quantity?)",
            "orders.csv: 3 columns are not known, and ignored: \"Paid At\" (did you mean paid_at?), \"customer\", \
             \"option.Size\""
        ]
    );
    assert_eq!(bad_rows(&folder), [""; 0]);
}

#[test]
fn files_that_may_hold_a_table_under_another_name_are_named_and_others_are_not() {
    let folder = read(&whole_with(&[
        ("submission-line.csv", ""),
        ("customers.xlsx", ""),
        ("variants.json", ""),
        ("read me.txt", ""),
        ("logo.png", ""),
    ]));
    assert_eq!(
        notices(&folder),
        ["3 files in the folder are no table that is known, and not read: \"customers.xlsx\", \
          \"submission-line.csv\" (did you mean submission_lines.csv or submission_lines.jsonl?), \
          \"variants.json\" (did you mean variants.csv or variants.jsonl?)"]
    );
}

#[test]
fn bytes_that_are_not_utf_8_are_told_by_column_and_do_no_harm_in_a_column_that_is_ignored() {
    let mut files: Vec<(&str, Vec<u8>)> =
        whole().into_iter().map(|(name, text)| (name, text.as_bytes().to_vec())).collect();
    files[1].1 = b"order_id,line_id,title,quantity,note\n1001,1,Gr\xfcn,2,\n1001,2,,2,Gr\xfcn\n".to_vec();
    let folder = read(&files);
    assert_eq!(
        bad_rows(&folder),
        [
            "order_lines.csv, line 2, column title: its bytes are not UTF-8; expected text in UTF-8. Export or save the \
          table again as UTF-8."
        ]
    );
    assert_eq!((folder.book.order_lines.len(), not_judged(&folder)), (1, vec!["1001"]));

    files[1] = (
        "order_lines.jsonl",
        b"{\"order_id\":\"1001\",\"line_id\":\"1\",\"quantity\":2,\"title\":\"Gr\xfcn\"}\n\
          {\"order_id\":\"1001\",\"line_id\":\"2\",\"quantity\":2,\"note\":\"Gr\xfcn\"}\n"
            .to_vec(),
    );
    let folder = read(&files);
    assert_eq!(folder.bad_rows[0].column.as_deref(), Some("title"));
    assert_eq!((folder.bad_row_count, not_judged(&folder)), (1, vec!["1001"]));
    // The tie to line 1 goes with it.
    assert_eq!((folder.book.order_lines.len(), folder.rows_skipped), (1, 2));
}

#[test]
fn the_line_of_a_row_is_the_physical_line_on_which_it_begins() {
    let content =
        "order_id,line_id,title,quantity\r\n\r\n1001,1,\"Terns,\r\n\"\"moss\"\"\",2\r\n1001,2,,x\r\n";
    let folder = read(&whole_with(&[("order_lines.csv", content)]));
    assert_eq!(folder.book.order_lines[0].title.as_deref(), Some("Terns,\r\n\"moss\""));
    assert_eq!(folder.bad_rows[0].line, 5);
}

#[test]
fn a_byte_order_mark_of_utf_8_is_dropped_in_both_forms() {
    let orders = format!("\u{feff}{ORDERS}");
    let lines = "\u{feff}{\"order_id\":\"1001\",\"line_id\":\"1\",\"quantity\":2}";
    let folder = read(&whole_with(&[("orders.csv", &orders), ("order_lines.jsonl", lines)]));
    assert_eq!((bad_rows(&folder), notices(&folder)), (vec![], vec![]));
}

#[test]
fn quotes_that_are_slips_are_told_with_their_column_and_cost_one_row() {
    let closed = "expected a quoted cell with its closing quote before a comma or the end of the line.";
    let content = "order_id,line_id,title,quantity\n1001,1,\"Large \"apron\"\",2\n1001,2,\"Terns,2\n1001,3,5\" tern,2\n";
    let folder = read(&whole_with(&[
        ("order_lines.csv", content),
        ("parcels.jsonl", ""),
        ("parcel_lines.jsonl", ""),
        ("ties.jsonl", ""),
    ]));
    assert_eq!(
        bad_rows(&folder),
        [
            format!(
                "order_lines.csv, line 2, column title: text follows the closing quote of the cell that begins \
                 here; {closed} Write each quote inside a quoted cell twice, and close each quote that opens a cell."
            ),
            format!(
                "order_lines.csv, line 3, column title: text follows the closing quote of the cell that begins \
                 here; {closed} Write each quote inside a quoted cell twice, and close each quote that opens a cell."
            ),
        ]
    );
    assert_eq!(folder.book.order_lines[0].title.as_deref(), Some("5\" tern"));
    assert_eq!(not_judged(&folder), ["1001"]);
}

#[test]
fn lines_that_are_not_one_json_object_are_told() {
    let one = "expected one JSON object on the line. Write one object a line, with no list around them and no comma \
               between them.";
    for (line, want) in [
        ("[", format!("the line is not a JSON object; {one}")),
        ("{},", format!("text follows the JSON object; {one}")),
        (
            "{\"order_id\":\"1001\",\"line",
            "the line ends in the middle of its JSON object; expected one JSON object on the line. Write each \
             object on one line; if this is the last line, the file was cut off: export it again."
                .into(),
        ),
        (
            "{\"order_id\":1001,}",
            "the line is not JSON from about its byte 18 on; expected one JSON object on the line. Correct the \
             line, or export the table again."
                .into(),
        ),
    ] {
        check("order_lines.jsonl", line, &format!("order_lines.jsonl, line 1: {want}"));
    }
    for (object, want) in [
        (
            "\"line_id\":\"1\",\"line_id\":\"1\"",
            "column line_id: the name \"line_id\" stands twice in the object; expected each name once. Remove the \
             one that is wrong.",
        ),
        (
            "\"line_id\":[1]",
            "column line_id: an object or a list stands there; expected one value: a string, a number, true, false \
             or null. Give one value, or leave it out if it is not known.",
        ),
        (
            "\"line_id\":\"\\ud800\"",
            "column line_id: its escapes do not stand for any text; expected a JSON string. Correct the \\u escapes \
             of the string.",
        ),
        (
            "\"line_id\":null",
            "column line_id: nothing is given; expected an id. Fill it in: a row cannot be read without it.",
        ),
    ] {
        let line = format!("{{\"order_id\":\"1001\",\"quantity\":1,{object}}}\n");
        check("order_lines.jsonl", &line, &format!("order_lines.jsonl, line 1, {want}"));
    }
}

#[test]
fn numbers_in_json_keep_the_text_in_which_they_are_written() {
    let folder = read(&[
        (
            "orders.jsonl",
            "{\"order_id\":12345678901234567890123,\"placed_at\":\"2026-11-24\",\"status\":\"open\"}",
        ),
        (
            "order_lines.jsonl",
            " \n{\"order_id\":12345678901234567890123,\"line_id\":1.10,\"quantity\":2,\"unit_price\":24.10,\
              \"options\":{\"Depth\":2.50}}\n\n",
        ),
        ("links.jsonl", "{\"sku\":7,\"supplier\":\"alder-print\",\"variant_id\":true,\"in_force\":false}"),
    ]);
    assert_eq!(bad_rows(&folder), [""; 0]);
    let line = &folder.book.order_lines[0];
    assert_eq!((line.order_id.as_str(), line.line_id.as_str()), ("12345678901234567890123", "1.10"));
    assert_eq!(line.unit_price.unwrap().to_string(), "24.10");
    assert_eq!(line.options, Some(options(&[("Depth", "2.50")])));
    let link = &folder.book.links.unwrap()[0];
    assert_eq!((link.variant_id.clone(), link.in_force), (Some("true".into()), false));
}
