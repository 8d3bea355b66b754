//! Rows beside rows: keys, rows that belong to others, and the orders that a row which is left out names.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod common;

use chrono_tz::Tz;
use common::{bad_rows, not_judged, notices, read, try_read, whole, whole_with};
use model::Rules;
use model::rules::ReferenceForm;

const ORDERS_HEADER: &str = "order_id,placed_at,status,updated_at\n";

#[test]
fn a_whole_folder_has_nothing_to_say() {
    let folder = read(&whole());
    assert_eq!((bad_rows(&folder), notices(&folder), not_judged(&folder)), (vec![], vec![], vec![]));
    assert_eq!((folder.rows_read, folder.rows_skipped, folder.bad_row_count), (8, 0, 0));
}

#[test]
fn identical_rows_count_once_also_where_they_are_spelled_differently() {
    let rows = [
        "1001,1,ap-l,\"{\"\"Size\"\":\"\"L\"\"}\",2,24.0",
        "1001,1,AP-L,\"{\"\"size\"\":\"\"l\"\"}\",2,24.00",
        "1001,1, AP-L,\"{\"\"SIZE\"\":\"\"L\"\"}\",02,24",
    ];
    let mut spellings = Vec::new();
    for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0]] {
        let mut content = "order_id,line_id,sku,options,quantity,unit_price\n".to_owned();
        order.iter().for_each(|row| content += &format!("{}\n", rows[*row]));
        let folder = read(&whole_with(&[("order_lines.csv", &content)]));
        assert_eq!((bad_rows(&folder), notices(&folder)), (vec![], vec![]));
        assert_eq!((folder.book.order_lines.len(), folder.rows_read, folder.rows_skipped), (1, 10, 0));
        spellings.push(format!("{:?}", folder.book.order_lines));
    }
    assert!(spellings.iter().all(|spelling| *spelling == spellings[0]), "{spellings:?}");
}

#[test]
fn the_row_with_the_later_change_stands_and_a_notice_says_so() {
    let content = format!(
        "{ORDERS_HEADER}1001,2026-11-24,open,2026-11-24T10:00:00Z\n\
         1001,2026-11-24,cancelled,2026-11-24T12:00:00+01:00\n1001,2026-11-24,unpaid,2026-11-24\n"
    );
    let folder = read(&whole_with(&[("orders.csv", &content)]));
    assert_eq!(format!("{:?}", folder.book.orders[0].status), "Cancelled");
    assert_eq!(
        notices(&folder),
        ["orders.csv: 2 rows gave way to a later one for the same thing (by updated_at)"]
    );
    assert_eq!((folder.notices[0].count, folder.rows_skipped), (2, 0));
}

#[test]
fn rows_between_which_updated_at_does_not_decide_are_bad_rows() {
    let want = |lines: &str| {
        format!(
            "lines {lines} say different things of order_id \"1001\"; expected one row, or an updated_at in each of \
             them, of which one is the latest. Remove those that are wrong or out of date."
        )
    };
    for (rows, lines) in [
        // None has one; one has none; two have the latest; a day begins when it begins.
        (vec!["open,", "cancelled,"], "2 and 3"),
        (vec!["open,", "cancelled,2026-11-24"], "2 and 3"),
        (vec!["open,2026-11-25", "cancelled,2026-11-25", "unpaid,2026-11-24"], "2, 3 and 4"),
        (vec!["open,2026-11-25", "cancelled,2026-11-25T00:00:00Z"], "2 and 3"),
        (vec!["open,", "open,", "cancelled,"], "2, 3 and 4"),
        (vec!["open,"; 5].into_iter().chain(["cancelled,"; 2]).collect(), "2, 3, 4, 5, 6 and 2 more"),
    ] {
        let mut content = ORDERS_HEADER.to_owned();
        rows.iter().for_each(|row| content += &format!("1001,2026-11-24,{row}\n"));
        let folder = read(&whole_with(&[("orders.csv", &content)]));
        let found: Vec<String> =
            (0..rows.len()).map(|row| format!("orders.csv, line {}: {}", row + 2, want(lines))).collect();
        assert_eq!(bad_rows(&folder), found);
        assert!(folder.book.orders.is_empty());
        // The order's line and its tie go with it; the submission stands.
        assert_eq!((folder.rows_skipped, not_judged(&folder)), (rows.len() as u64 + 2, vec!["1001"]));
        assert_eq!(folder.book.submission_lines.as_ref().map(Vec::len), Some(1));
    }
    // Identical rows of which both have the latest change are one.
    let content = format!(
        "{ORDERS_HEADER}1001,2026-11-24,open,2026-11-25\n1001,2026-11-24,open,2026-11-25\n\
         1001,2026-11-24,unpaid,2026-11-24\n"
    );
    let folder = read(&whole_with(&[("orders.csv", &content)]));
    assert_eq!((bad_rows(&folder), folder.notices[0].count), (vec![], 1));
}

#[test]
fn in_tables_without_updated_at_different_rows_of_one_key_are_bad_rows() {
    for (file, content, key) in [
        ("offers.csv", "listing_id,option.Size,price\nL1,L,1\nL1,l,2\n", "listing_id \"L1\", options \"L\""),
        (
            "variants.csv",
            "supplier,variant_id,sku\nalder-print,V1,A\nalder-print,V1,B\n",
            "supplier \"alder-print\", variant_id \"V1\"",
        ),
        (
            "links.csv",
            "listing_id,sku,supplier,variant_id,units\nL1,ap-l,alder-print,V1,1\nL1,AP-L,alder-print,V1,2\n",
            "listing_id \"L1\", sku \"ap-l\", supplier \"alder-print\", variant_id \"V1\"",
        ),
        (
            "parcel_lines.csv",
            "supplier,parcel_id,submission_line_id,quantity\nalder-print,P1,1,1\nalder-print,P1,1,2\n",
            "supplier \"alder-print\", parcel_id \"P1\", submission_line_id \"1\"",
        ),
    ] {
        let folder = read(&whole_with(&[(file, content)]));
        let want = |line: u32| {
            format!(
                "{file}, line {line}: lines 2 and 3 say different things of {key}; expected one row. Remove those \
                 that are wrong or out of date."
            )
        };
        assert_eq!(bad_rows(&folder), [want(2), want(3)]);
    }
}

#[test]
fn several_links_of_one_scope_are_the_parts_of_a_set() {
    let content =
        "sku,supplier,variant_id,units\nSET,alder-print,V1,1\nSET,alder-print,V2,2\nset,brook-print,V1,1\n";
    let folder = read(&whole_with(&[("links.csv", content)]));
    assert_eq!((bad_rows(&folder), folder.book.links.map(|links| links.len())), (vec![], Some(3)));
}

/// Leaves out one row of the whole folder.
fn without(file: &'static str) -> intake::Folder {
    let header = |text: &'static str| text.split_inclusive('\n').next().unwrap();
    let files =
        whole().into_iter().map(|(name, text)| (name, if name == file { header(text) } else { text }));
    read(&files.collect::<Vec<_>>())
}

#[test]
fn a_row_that_belongs_to_a_missing_row_is_a_bad_row() {
    let days = "A missing row usually means that the exports cover different days: export all tables for the same \
                days.";
    for (missing, what, rows) in [
        ("orders.csv", "order \"1001\"", vec!["order_lines.csv, line 2, column order_id"]),
        ("order_lines.csv", "order line \"1\" of order \"1001\"", vec!["ties.csv, line 2, column line_id"]),
        (
            "submissions.csv",
            "submission \"S1\" of supplier \"alder-print\"",
            vec![
                "submission_lines.csv, line 2, column submission_id",
                "parcels.csv, line 2, column submission_id",
                "ties.csv, line 2, column submission_id",
            ],
        ),
        (
            "submission_lines.csv",
            "submission line \"1\" of submission \"S1\" of supplier \"alder-print\"",
            vec!["parcel_lines.csv, line 2, column submission_line_id"],
        ),
        (
            "parcels.csv",
            "parcel \"P1\" of supplier \"alder-print\"",
            vec!["parcel_lines.csv, line 2, column parcel_id"],
        ),
    ] {
        let folder = without(missing);
        let want: Vec<String> = rows
            .iter()
            .map(|row| {
                format!(
                    "{row}: there is no {what} in {missing}; expected one that stands in {missing}. {days}"
                )
            })
            .collect();
        assert_eq!(bad_rows(&folder), want);
        // Which submission a missing parcel was of is not known.
        let named: &[&str] = if missing == "parcels.csv" { &[] } else { &["1001"] };
        assert_eq!(not_judged(&folder), named, "{missing}");
    }
    let ties = "order_id,line_id,supplier,submission_id,submission_line_id\n1001,1,alder-print,S1,9\n";
    let folder = read(&whole_with(&[("ties.csv", ties)]));
    assert_eq!(
        bad_rows(&folder),
        [format!(
            "ties.csv, line 2, column submission_line_id: there is no submission line \"9\" of submission \"S1\" of \
             supplier \"alder-print\" in submission_lines.csv; expected one that stands in submission_lines.csv. \
             {days}"
        )]
    );
}

#[test]
fn a_tie_to_a_line_of_a_table_that_was_not_given_is_a_bad_row() {
    let folder = read(&[
        ("orders.csv", common::ORDERS),
        ("order_lines.csv", common::ORDER_LINES),
        ("submissions.csv", common::SUBMISSIONS),
        ("ties.csv", "order_id,line_id,supplier,submission_id,submission_line_id\n1001,1,alder-print,S1,1\n"),
    ]);
    assert_eq!(
        bad_rows(&folder),
        [
            "ties.csv, line 2, column submission_line_id: there is no submission line \"1\" of submission \"S1\" of \
          supplier \"alder-print\": the table submission_lines was not given; expected one that stands in \
          submission_lines. Export submission_lines into the folder."
        ]
    );
    assert_eq!(
        notices(&folder),
        [
            "submissions were given without submission_lines: what was sent is not known; export submission_lines for \
          the same days"
        ]
    );
}

#[test]
fn what_belongs_to_a_bad_row_goes_with_it_in_silence_and_is_counted() {
    for (file, content, rows_skipped) in [
        ("orders.csv", "order_id,placed_at,status\n1001,soon,open\n", 3),
        ("order_lines.csv", "order_id,line_id,quantity\n1001,1,x\n", 2),
        (
            "submissions.csv",
            "supplier,submission_id,order_ref,status,received_at\nalder-print,S1,1001,x,y\n",
            5,
        ),
        ("submission_lines.csv", "supplier,submission_id,line_id,quantity\nalder-print,S1,1,x\n", 2),
        ("parcels.csv", "supplier,parcel_id,submission_id,dispatched_at\nalder-print,P1,S1,x\n", 2),
        // A cell too many: the key is looked for from both ends.
        ("orders.csv", "order_id,placed_at,status\n1001,2026-11-24,10:00,open\n", 3),
        ("orders.csv", "placed_at,status,order_id\n2026-11-24,10:00,open,1001\n", 3),
        // A slip behind the key.
        ("orders.csv", "order_id,placed_at,status\n1001,2026-11-24,\"open\n", 3),
    ] {
        let folder = read(&whole_with(&[(file, content)]));
        assert_eq!(folder.bad_row_count, 1, "{file}: {:?}", bad_rows(&folder));
        assert_eq!((folder.rows_skipped, not_judged(&folder)), (rows_skipped, vec!["1001"]), "{file}");
        assert!(folder.notices.is_empty(), "{:?}", folder.notices);
    }
}

#[test]
fn where_a_key_cannot_be_read_the_hint_points_there() {
    let folder = read(&whole_with(&[("orders.csv", "order_id,placed_at,status\n,2026-11-24,open\n")]));
    assert_eq!(
        folder.bad_rows[1].to_string(),
        "order_lines.csv, line 2, column order_id: there is no order \"1001\" in orders.csv; expected one that \
         stands in orders.csv. It may be one of the rows of orders.csv that could not be read: mend those first."
    );
    assert_eq!(
        notices(&folder),
        [
            "of 1 row that was left out it cannot be told which orders are named: an order may be judged although a \
          row of it is missing"
        ]
    );
}

#[test]
fn a_bad_row_beside_a_good_one_of_the_same_key_leaves_the_good_one_and_the_order_is_not_judged() {
    let folder = read(&whole_with(&[(
        "orders.csv",
        "order_id,placed_at,status\n1001,2026-11-24,open\n1001,2026-11-24,gone\n",
    )]));
    assert_eq!((folder.book.orders.len(), folder.book.order_lines.len()), (1, 1));
    assert_eq!((folder.rows_skipped, not_judged(&folder)), (1, vec!["1001"]));
}

/// Several orders, of which submissions speak in several ways.
fn orders_and_submissions<'a>(files: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut all = vec![
        (
            "orders.csv",
            "order_id,placed_at,status\nA,2026-11-24,open\nB,2026-11-24,open\nC,2026-11-24,open\nD,2026-11-24,open\n",
        ),
        ("order_lines.csv", "order_id,line_id,quantity\nA,1,1\nB,1,1\nC,1,1\nD,1,1\n"),
        (
            "submissions.csv",
            "supplier,submission_id,order_ref,status,received_at\nalder-print,S1,KK-A;KK-B,making,2026-11-24\n\
             brook-print,S1,D,making,2026-11-24\n",
        ),
        (
            "submission_lines.csv",
            "supplier,submission_id,line_id,order_ref,quantity\nalder-print,S1,1,,1\nalder-print,S1,2,KK-C,1\n\
             brook-print,S1,1,,1\n",
        ),
    ];
    all.retain(|(name, _)| files.iter().all(|(other, _)| name != other));
    all.extend(files);
    all
}

fn rules() -> Rules {
    let alder = ReferenceForm { prefix: "KK-".into(), ..ReferenceForm::default() };
    Rules { supplier_references: [("alder-print".into(), alder)].into(), ..Rules::default() }
}

#[test]
fn every_order_that_a_row_which_is_left_out_names_is_not_judged() {
    let parcels = "supplier,parcel_id,submission_id,dispatched_at\nalder-print,P1,S1,2026-11-25\n";
    let line_header = "supplier,submission_id,line_id,order_ref,quantity\n";
    let submission_header = "supplier,submission_id,order_ref,status,received_at\n";
    // Files in place of those above, the orders not judged, the rows of which that cannot be told.
    type Case<'a> = (&'a [(&'a str, String)], &'a [&'a str], usize);
    let cases: &[Case<'_>] = &[
        (&[], &[], 0),
        // A submission: its references, and those of its lines.
        (
            &[("submissions.csv", format!("{submission_header}alder-print,S1,KK-A;KK-B,x,2026-11-24\nbrook-print,S1,D,making,2026-11-24\n"))],
            &["A", "B", "C"],
            0,
        ),
        // A line with a reference of its own: that; without: its submission's.
        (
            &[("submission_lines.csv", format!("{line_header}alder-print,S1,1,,1\nalder-print,S1,2,KK-C,x\n"))],
            &["C"],
            0,
        ),
        (
            &[("submission_lines.csv", format!("{line_header}alder-print,S1,1,,x\nalder-print,S1,2,KK-C,1\n"))],
            &["A", "B"],
            0,
        ),
        // A reference that names no known order names none.
        (&[("submission_lines.csv", format!("{line_header}alder-print,S1,1,KK-Z,x\n"))], &[], 0),
        // Where the supplier cannot be read, references in every form are looked for.
        (&[("submission_lines.csv", format!("{line_header},S1,1,KK-A,1\n,S1,2,D,1\n"))], &["A", "D"], 0),
        // Where it belongs to no submission and has no reference, it cannot be told.
        (&[("submission_lines.csv", format!("{line_header}alder-print,S9,1,,1\n"))], &[], 1),
        // A parcel, and a line of one: the orders of the submission.
        (&[("parcels.csv", parcels.replace("2026-11-25", "x"))], &["A", "B", "C"], 0),
        (
            &[
                ("parcels.csv", parcels.into()),
                ("parcel_lines.csv", "supplier,parcel_id,submission_line_id,quantity\nalder-print,P1,1,x\n".into()),
            ],
            &["A", "B", "C"],
            0,
        ),
        (
            &[
                ("parcels.csv", parcels.into()),
                ("parcel_lines.csv", "supplier,parcel_id,submission_line_id,quantity\nalder-print,P9,1,1\n".into()),
            ],
            &[],
            1,
        ),
        // A tie: its order, and those that its submission names without it.
        (&[("ties.csv", "order_id,line_id,supplier,submission_id\nA,9,brook-print,S1\n".into())], &["A", "D"], 0),
        // A line to which a tie leads: the tie's order too.
        (
            &[
                ("submission_lines.csv", format!("{line_header}brook-print,S1,1,,1\nbrook-print,S1,2,,x\n")),
                ("ties.csv", "order_id,line_id,supplier,submission_id,submission_line_id\nA,1,brook-print,S1,\nB,1,brook-print,S1,1\nC,1,brook-print,S1,2\n".into()),
            ],
            &["A", "C", "D"],
            0,
        ),
        // An order of which only its lines are there is not judged, and is known to references.
        (
            &[
                ("order_lines.csv", "order_id,line_id,quantity\nE,1,1\n".into()),
                ("submission_lines.csv", format!("{line_header}brook-print,S1,1,E,x\n")),
            ],
            &["E"],
            0,
        ),
        // Shifted cells: an order is named where one of that id is known.
        (&[("order_lines.csv", "order_id,line_id,quantity\nA,1,1,1\n".into())], &["A"], 0),
        (&[("order_lines.csv", "order_id,line_id,quantity\nZ,1\n".into())], &[], 1),
        // Two objects on one line: the second may name any order.
        (
            &[("ties.jsonl", "{\"order_id\":\"A\",\"line_id\":\"1\"}{\"order_id\":\"B\"}".into())],
            &["A"],
            1,
        ),
        (&[("ties.jsonl", "{\"order_id\":\"A\",\"line_id\":\"1".into())], &["A"], 0),
        (&[("ties.jsonl", "{\"order_id\":\"A\",\"order_id\":\"B\"}".into())], &[], 1),
        // Nobody knows which variant it was.
        (&[("variants.csv", "supplier,variant_id\nalder-print,\n".into())], &[], 1),
        // Rows that name no order.
        (&[("listing_products.csv", "listing_id,supplier,product\nL1,,Apron\n".into())], &[], 0),
    ];
    for (files, want, untold) in cases {
        let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let folder = try_read(&orders_and_submissions(&files), Tz::UTC, &rules()).unwrap();
        assert_eq!(not_judged(&folder), *want, "{files:?}");
        let said: usize = notices(&folder)
            .iter()
            .filter_map(|text| text.strip_prefix("of ")?.split(' ').next()?.parse::<usize>().ok())
            .sum();
        assert_eq!(said, *untold, "{files:?}");
    }
}

#[test]
fn rows_left_out_that_name_no_order_are_said_by_table() {
    let folder = read(&whole_with(&[(
        "links.csv",
        "sku,supplier,variant_id\nAP-L,alder-print,\nAP-M,alder-print,V2\n",
    )]));
    assert_eq!(
        notices(&folder),
        [
            "links.csv: 1 row was left out, naming no order: what is said of any offer may be wrong where it rests on \
          them"
        ]
    );
}

#[test]
fn bad_rows_come_by_table_and_line() {
    let folder = read(&whole_with(&[
        (
            "orders.csv",
            "order_id,placed_at,status\n1,x,open\n2,2026-11-24,open\n2,2026-11-24,unpaid\n3,x,open\n",
        ),
        ("order_lines.csv", "order_id,line_id,quantity\n4,1,1\n2,1,x\n"),
    ]));
    let places: Vec<(&str, u64)> = folder.bad_rows.iter().map(|row| (row.file.as_str(), row.line)).collect();
    assert_eq!(
        places,
        [
            ("orders.csv", 2),
            ("orders.csv", 3),
            ("orders.csv", 4),
            ("orders.csv", 5),
            ("order_lines.csv", 2),
            ("order_lines.csv", 3),
            ("ties.csv", 2)
        ]
    );
}

/// Too slow to pass unnoticed, were the ties looked through anew for each row.
#[test]
fn many_bad_lines_of_a_submission_with_many_ties_leave_all_its_orders_unjudged() {
    const ORDERS: usize = 20_000;
    let mut orders = "order_id,placed_at,status\n".to_owned();
    let mut order_lines = "order_id,line_id,quantity\n".to_owned();
    let mut lines = "supplier,submission_id,line_id,quantity\n".to_owned();
    let mut ties = "order_id,line_id,supplier,submission_id\n".to_owned();
    for order in 0..ORDERS {
        orders += &format!("{order},2026-11-24,open\n");
        order_lines += &format!("{order},1,1\n");
        lines += &format!("alder-print,S1,{order},many\n");
        ties += &format!("{order},1,alder-print,S1\n");
    }
    let submissions = "supplier,submission_id,status,received_at\nalder-print,S1,received,2026-11-24\n";
    let folder = read(&[
        ("orders.csv", orders.as_str()),
        ("order_lines.csv", &order_lines),
        ("submissions.csv", submissions),
        ("submission_lines.csv", &lines),
        ("ties.csv", &ties),
    ]);
    assert_eq!((folder.bad_row_count, not_judged(&folder).len()), (ORDERS as u64, ORDERS));
}

/// A set of which one part's row is left out would look whole, and a link of lower rank could answer instead.
#[test]
fn a_links_row_that_is_left_out_leaves_the_orders_that_it_may_be_for_unjudged() {
    let tables = |links: &str| {
        vec![
            (
                "orders.csv",
                "order_id,placed_at,status\n1,2026-11-25,open\n2,2026-11-25,open\n3,2026-11-25,open\n4,2026-11-25,open\n".to_owned(),
            ),
            (
                "order_lines.csv",
                "order_id,line_id,listing_id,sku,quantity\n1,1,L1,A,1\n2,1,L2,b ,1\n3,1,L2,C,1\n4,1,,,1\n".to_owned(),
            ),
            ("links.csv", format!("listing_id,sku,supplier,variant_id,units\n{links}")),
        ]
    };
    let named = |links: &str| {
        let tables = tables(links);
        let tables: Vec<(&str, &str)> = tables.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let folder = read(&tables);
        not_judged(&folder).into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(named("L1,,press,V1,two\n"), ["1"]);
    assert_eq!(named(",B,press,V1,two\n"), ["2"]);
    assert_eq!(named("L2,,press,V1,1\nL2,,press,V1,2\n"), ["2", "3"]);
    assert!(named("L2,,press,V1,1\n").is_empty());
}

/// Its lines would look unlinked, or linked to another variant with the same SKU, and what was sent of it like nothing.
#[test]
fn a_variant_that_is_left_out_leaves_the_orders_that_may_lead_to_it_unjudged() {
    let named = |variants: &str| {
        let orders: String = (1..=7).map(|order| format!("{order},2026-11-25,open\n")).collect();
        let tables = [
            ("orders.csv", format!("order_id,placed_at,status\n{orders}")),
            (
                "order_lines.csv",
                "order_id,line_id,listing_id,sku,quantity\n1,1,,a,1\n2,1,,V1,1\n3,1,L1,,1\n4,1,,K,1\n5,1,,B,1\n\
                 6,1,,B,1\n7,1,,B,1\n"
                    .to_owned(),
            ),
            ("links.csv", "listing_id,sku,supplier,variant_id\nL1,,press,V1\n,K,press,V1\n".to_owned()),
            (
                "submissions.csv",
                "supplier,submission_id,order_ref,status,received_at\npress,S5,5,received,2026-11-25\n\
                 press,S6,6,received,2026-11-25\n"
                    .to_owned(),
            ),
            (
                "submission_lines.csv",
                "supplier,submission_id,line_id,variant_id,sku,quantity\npress,S5,1,V1,,1\npress,S6,1,,A,1\n"
                    .to_owned(),
            ),
            ("variants.csv", format!("supplier,variant_id,sku,available\npress,V2,B,true\n{variants}")),
        ];
        let tables: Vec<(&str, &str)> = tables.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let folder = read(&tables);
        let told = folder.notices.iter().all(|notice| !notice.text.contains("it cannot be told"));
        (not_judged(&folder).into_iter().map(str::to_owned).collect::<Vec<_>>().join(" "), told)
    };
    assert_eq!(named("press,V1,A,maybe\n"), ("1 2 3 4 5 6".to_owned(), true));
    assert_eq!(named("press,V1,A,true\npress,V1,A,false\n"), ("1 2 3 4 5 6".to_owned(), true));
    assert_eq!(named("press,,A,true\n"), ("1 6".to_owned(), false));
    assert_eq!(named("press,V1,A,true\n"), (String::new(), true));
}
