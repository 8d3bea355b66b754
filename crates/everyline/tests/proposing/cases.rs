//! Single habits of exports, each in a small sample: where a field is found, and whether that is called sure.
//!
//! Invented shops and suppliers. Start reading at [`proposed`].

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;

use intake::propose::{Answers, How, ProposedField, ProposedRole};

use super::{Ask, ask};

/// The fields of a proposal for one file, by table and column.
pub fn proposed(name: &str, text: &str, role: ProposedRole) -> BTreeMap<String, ProposedField> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(name);
    fs::write(&file, text).unwrap();
    let files = [file];
    let out = folder.path().join("map.toml");
    let asking =
        Ask { files: &files, role, zone: Some("Europe/Vienna"), beside: None, named_in: &[], out: &out };
    let proposal = ask(&asking, Answers::default());
    proposal.fields().map(|field| (format!("{}.{}", field.table, field.column), field.clone())).collect()
}

pub fn of_supplier(name: &str, text: &str) -> BTreeMap<String, ProposedField> {
    proposed(name, text, ProposedRole::Supplier("inkwell-barn".to_owned()))
}

pub fn check(fields: &BTreeMap<String, ProposedField>, want: &[(&str, &str)]) {
    for (key, place) in want {
        let found = fields.get(*key).map(|field| field.places.join(", "));
        assert_eq!(found.as_deref(), Some(*place), "{key}: {:?}", fields.keys().collect::<Vec<_>>());
    }
}

#[test]
fn parcels_within_lines_are_found_and_what_of_the_line_is_in_each() {
    let jobs: Vec<String> = (1..9)
        .map(|job| {
            format!(
                r#"{{"job_no": "J{job}00", "your_order": "W-{job}5", "status": "sent",
                "received_at": "2026-11-0{job}T08:30:00Z", "items": [
                {{"line_no": 1, "product_code": "TE{job}1", "quantity": 3, "sent": [
                {{"parcel": "P{job}07", "quantity": 2, "sent_on": "2026-11-1{job}T10:00:00Z", "carrier": "Otter Post"}},
                {{"parcel": "P{job}08", "quantity": 1, "sent_on": "2026-11-1{job}T16:00:00Z", "carrier": "Heron Vans"}}]}},
                {{"line_no": 2, "product_code": "MU{job}4", "quantity": 1, "sent": [
                {{"parcel": "P{job}08", "quantity": 1, "sent_on": "2026-11-1{job}T16:00:00Z", "carrier": "Heron Vans"}}]}}]}}"#
            )
        })
        .collect();
    let fields = of_supplier("jobs.json", &format!(r#"{{"jobs": [{}]}}"#, jobs.join(",")));
    check(
        &fields,
        &[
            ("parcels.parcel_id", "$.jobs[*].items[*].sent[*].parcel"),
            ("parcels.dispatched_at", "$.jobs[*].items[*].sent[*].sent_on"),
            ("parcels.carrier", "$.jobs[*].items[*].sent[*].carrier"),
            ("parcel_lines.quantity", "$.jobs[*].items[*].sent[*].quantity"),
            ("parcel_lines.submission_line_id", "$.jobs[*].items[*].line_no"),
        ],
    );
}

#[test]
fn parcels_within_dispatches_have_the_carrier_around_them() {
    let jobs: Vec<String> = (1..9)
        .map(|job| {
            format!(
                r#"{{"auftragsnummer": "A{job}00", "kundenreferenz": "W-{job}5", "status": "verschickt",
                "eingegangen_am": "2026-11-0{job}T08:30:00Z",
                "positionen": [{{"position": 1, "artikelnummer": "TE{job}1", "menge": 3}}],
                "versand": [{{"versanddienst": "Otterpost", "pakete": [{{"paket": "P{job}07",
                "verschickt_am": "2026-11-1{job}T10:00:00Z", "inhalt": [{{"position": 1, "menge": 3}}]}}]}}]}}"#
            )
        })
        .collect();
    let fields = of_supplier("auftraege.json", &format!(r#"{{"auftraege": [{}]}}"#, jobs.join(",")));
    check(
        &fields,
        &[
            ("parcels.parcel_id", "$.auftraege[*].versand[*].pakete[*].paket"),
            ("parcels.dispatched_at", "$.auftraege[*].versand[*].pakete[*].verschickt_am"),
            ("parcels.carrier", "$.auftraege[*].versand[*].versanddienst"),
            ("parcel_lines.quantity", "$.auftraege[*].versand[*].pakete[*].inhalt[*].menge"),
        ],
    );
}

/// One row a line, and a line that went in two boxes stands twice.
fn rows_with_boxes() -> String {
    let mut rows = String::from(
        "Docket,Your order,Date in,Docket status,Line,Prod code,Size,Colour,Ordered,Unit price,Box,Packed in box,Date out,Carrier\n",
    );
    for docket in 1..13 {
        let about = format!("SP{docket:03},W-{docket}5,2026-11-{docket:02} 08:30,Gone");
        let day = docket + 10;
        let _ = writeln!(
            rows,
            "{about},1,TE{docket:02},L,moss,1,8.50,B{docket:03}-1,1,2026-11-{day} 10:00,Otter Post"
        );
        if docket == 3 {
            for (part, packed) in [(1, 2), (2, 1)] {
                let _ = writeln!(
                    rows,
                    "{about},2,MU{docket:02},S,sand,3,4.50,B{docket:03}-{part},{packed},2026-11-{day} 1{}:00,Otter Post",
                    part - 1
                );
            }
        } else {
            let _ = writeln!(rows, "{about},2,MU{docket:02},S,sand,2,4.50,,,,");
        }
    }
    rows
}

#[test]
fn parcels_beside_lines_are_found_where_they_are_named() {
    let fields = of_supplier("dockets.csv", &rows_with_boxes());
    check(
        &fields,
        &[
            ("submissions.submission_id", "Docket"),
            ("submission_lines.line_id", "Line"),
            ("parcels.parcel_id", "Box"),
            ("parcels.dispatched_at", "Date out"),
            ("parcels.carrier", "Carrier"),
            ("parcel_lines.quantity", "Packed in box"),
            ("parcel_lines.submission_line_id", "Line"),
        ],
    );
}

#[test]
fn a_day_and_the_time_of_day_behind_it_are_one_moment() {
    let mut rows =
        String::from("Bon;Votre commande;Reçu le;Heure;Délai;Statut;Poste;Code produit;Quantité\n");
    for bon in 1..13 {
        for poste in 1..3 {
            let _ = writeln!(
                rows,
                "BT{bon:03};W-{bon}5;{bon:02}.10.2026;1{poste}:30;{}.10.2026;Expédié;{poste};TS{bon}{poste};1",
                bon + 14
            );
        }
    }
    let rows = rows.replace(";12:30;", ";11:30;");
    let fields = of_supplier("bons.csv", &rows);
    check(&fields, &[("submissions.received_at", "Reçu le, Heure")]);
}

#[test]
fn of_two_names_of_an_order_none_is_sure() {
    let orders: Vec<String> = (1..9)
        .map(|order| {
            format!(
                r#"{{"id": 90{order}1, "public_no": "W10{order}", "placed_at": "2026-11-0{order}T08:30:00Z",
                "status": "paid", "items": [{{"line_id": {order}, "sku": "TE-{order}1", "quantity": 1}}]}}"#
            )
        })
        .collect();
    let text = format!(r#"{{"orders": [{}]}}"#, orders.join(","));
    let fields = proposed("orders.json", &text, ProposedRole::Storefront);
    assert_eq!(fields["orders.order_id"].how, How::Likely);
}
