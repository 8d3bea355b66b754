//! Exports whose names say nothing, since no word of them is in any list: what their values alone tell.
//!
//! The words are made up. Start reading at [`rows_of_a_supplier`].

use std::fmt::Write as _;

use intake::propose::{How, ProposedRole};

use super::cases::{check, of_supplier, proposed};

/// Of job number so much, from 1 to 20: 14 are gone, 3 are printed, 3 have only come in.
fn rows_of_a_supplier() -> Vec<[String; 14]> {
    let mut rows = Vec::new();
    for job in 1..=20_u32 {
        let came = format!("2026-11-{job:02} 08:{:02}", 10 + job);
        let due = format!("2026-11-{:02}", job + 4);
        let printed = if job <= 17 { format!("2026-11-{job:02} 16:{:02}", 10 + job) } else { String::new() };
        let is_gone = job <= 14;
        let gone = format!("2026-11-{:02} 11:{:02}", job + 2, 10 + job);
        let word = if is_gone {
            "vralt"
        } else if job <= 17 {
            "quomp"
        } else {
            "zirb"
        };
        let last = if is_gone {
            &gone
        } else if job <= 17 {
            &printed
        } else {
            &came
        };
        for line in 1..=1 + job % 3 {
            let count = 1 + (job + line) % 3;
            let box_of = |text: String| if is_gone { text } else { String::new() };
            rows.push([
                format!("Q{}", 7000 + job),
                came.clone(),
                due.clone(),
                word.to_owned(),
                line.to_string(),
                format!("ty{}-{line}", job % 5),
                count.to_string(),
                format!("{}.50", 4 + job % 5),
                format!("{}.{}", count * (4 + job % 5) + count / 2, if count % 2 == 1 { "50" } else { "00" }),
                printed.clone(),
                // Of a job of three lines, the last goes by itself.
                box_of(format!("KX{}", 300 + 2 * job + u32::from(line == 3))),
                box_of(if line == 3 { gone.replace(" 11:", " 15:") } else { gone.clone() }),
                last.clone(),
                box_of(["Otter Post", "Heron Vans"][job as usize % 2].to_owned()),
            ]);
            let row = rows.len() - 1;
            if is_gone && job % 3 == 2 {
                rows[row][12] = gone.replace(" 11:", " 15:");
            }
        }
    }
    rows
}

const NAMES: [&str; 14] = [
    "braf", "glen", "drou", "smif", "plon", "trosk", "kweb", "hulg", "nard", "wexo", "jomp", "vusk", "fleb",
    "crin",
];

fn what_is_told() -> [(&'static str, &'static str); 9] {
    [
        ("submissions.submission_id", "braf"),
        ("submissions.received_at", "glen"),
        ("submissions.status", "smif"),
        ("submissions.updated_at", "fleb"),
        ("submission_lines.line_id", "plon"),
        ("submission_lines.quantity", "kweb"),
        ("submission_lines.unit_cost", "hulg"),
        ("parcels.parcel_id", "jomp"),
        ("parcels.dispatched_at", "vusk"),
    ]
}

#[test]
fn rows_of_a_supplier_are_read_by_their_values_and_nothing_is_sure_that_no_name_says() {
    let mut text = NAMES.join(",");
    for row in rows_of_a_supplier() {
        let _ = write!(text, "\n{}", row.join(","));
    }
    let fields = of_supplier("grost.csv", &text);
    check(&fields, &what_is_told());
    assert_eq!(fields["submissions.status"].unknown_words, ["quomp", "vralt", "zirb"]);
    assert_eq!(fields["submissions.submission_id"].how, How::Likely);
}

#[test]
fn rows_in_a_document_are_put_together_as_those_of_a_table_are() {
    let rows: Vec<serde_json::Value> = rows_of_a_supplier()
        .into_iter()
        .map(|row| {
            let value = |text: String| if text.is_empty() { serde_json::Value::Null } else { text.into() };
            NAMES.into_iter().map(str::to_owned).zip(row.map(value)).collect::<serde_json::Map<_, _>>().into()
        })
        .collect();
    let text = serde_json::json!({ "blor": rows, "snib": null }).to_string();
    let fields = of_supplier("grost.json", &text);
    let places = what_is_told().map(|(key, name)| (key, format!("$.blor[*].{name}")));
    check(&fields, &places.each_ref().map(|(key, place)| (*key, place.as_str())));
}

#[test]
fn the_times_of_an_order_are_told_by_how_they_follow_each_other() {
    let mut text = String::from("gorp,laft,mude,snek,hibo,dwin,zook,unst,quem,spav\n");
    for order in 1..=20 {
        let placed = format!("2026-11-{order:02} 08:{:02}", 10 + order);
        let paid = format!("2026-11-{order:02} 08:{:02}", 13 + order + order % 5);
        let last =
            if order <= 14 { format!("2026-11-{:02} 1{}:15", order + 2, order % 4) } else { paid.clone() };
        let word = if order <= 14 { "vralt" } else { "zirb" };
        let promised = format!("2026-11-{:02}", order + 6);
        for line in 1..=1 + order % 2 {
            let _ = writeln!(
                text,
                "T{},{placed},{paid},{last},{word},{promised},te-{}{line},{},{}.00,{}.00",
                400 + order,
                order % 4,
                1 + line % 2,
                5 + order % 4 + line,
                (5 + order % 4 + line) * (1 + line % 2)
            );
        }
    }
    let fields = proposed("frub.csv", &text, ProposedRole::Storefront);
    check(
        &fields,
        &[
            ("orders.order_id", "gorp"),
            ("orders.placed_at", "laft"),
            ("orders.paid_at", "mude"),
            ("orders.updated_at", "snek"),
            ("orders.status", "hibo"),
            ("orders.promised_by", "dwin"),
            ("order_lines.quantity", "unst"),
            ("order_lines.unit_price", "quem"),
        ],
    );
}

#[test]
fn a_time_of_day_belongs_to_the_only_day_that_the_same_records_have() {
    let mut text = String::from(
        "Auftrag,Ihre Bestellung,Eingegangen am,Wunschtermin,Status,Versandt am,Frulp,Sendungsnummer\n",
    );
    for job in 1..=12 {
        let gone = match job {
            1..=9 => format!("Versandt,{:02}.11.2026,1{}:30,HD40{job}7735", job + 3, job % 5),
            _ => "Eingegangen,,,".to_owned(),
        };
        let _ = writeln!(text, "A{job:03},W-{job}5,{job:02}.11.2026 08:30,{:02}.11.2026,{gone}", job + 4);
    }
    let fields = of_supplier("auftraege.csv", &text);
    check(&fields, &[("parcels.dispatched_at", "Versandt am, Frulp")]);
}

#[test]
fn choices_of_offers_are_those_that_tell_the_offers_of_a_listing_apart() {
    let mut offers = Vec::new();
    let mut orders = Vec::new();
    for listing in 1..=3 {
        for (blim, one) in ["oak", "ash"].into_iter().enumerate() {
            for (frub, other) in ["kel", "mar", "tov"].into_iter().enumerate() {
                let sku = format!("li{listing}-{blim}{frub}");
                offers.push(format!(
                    r#"{{"listing": "L{listing}0", "title": "Heron {listing}", "sku": "{sku}", "hasp": {{"blim": "{one}", "frub": "{other}"}},
                    "price": "1{listing}.50"}}"#
                ));
                let number = orders.len() + 1;
                orders.push(format!(
                    r#"{{"order_no": "W{number}00", "placed_at": "2026-11-{number:02}T08:30:00Z", "status": "paid",
                    "items": [{{"listing": "L{listing}0", "sku": "{sku}", "quantity": 1}}]}}"#
                ));
            }
        }
    }
    let text = format!(r#"{{"orders": [{}], "offers": [{}]}}"#, orders.join(","), offers.join(","));
    let fields = proposed("shop.json", &text, ProposedRole::Storefront);
    assert!(fields["offers.options"].toml.as_deref().unwrap().contains(r#"keep = ["blim", "frub"]"#));
    assert_eq!(fields["offers.options"].how, How::Likely);
}
