//! The sentences: read as the owner reads them, and free of what the owner should not meet.

use std::fmt::Write;

use crate::samples::{apron, many, part_sent, utc};
use crate::{ZONE, is_everyday};
use digest::say;
use model::Finding;
use model::finding::{NamedLine, Reason};

#[test]
fn every_finding_is_said_in_one_plain_sentence() {
    let mut said = String::new();
    for (name, finding) in many() {
        writeln!(said, "{name}\n    {}", say(&finding, ZONE)).unwrap();
    }
    insta::assert_snapshot!("sentences", said);
}

#[test]
fn a_sentence_has_one_end_and_only_everyday_words() {
    for (name, finding) in many() {
        let said = say(&finding, ZONE);
        assert!(said.ends_with('.') && said.matches(". ").count() == 0, "{name}: {said}");
        assert!(said.starts_with(char::is_uppercase), "{name}: {said}");
        assert!(is_everyday(&said), "{name}: {said}");
        assert!(!said.contains("  ") && !said.contains(['\n', '\u{a0}']), "{name}: {said}");
    }
}

#[test]
fn times_are_told_in_the_shops_zone_with_the_year_where_it_is_another() {
    let finding = |act_before| Finding {
        act_before: Some(utc(act_before)),
        ..part_sent("KK-1007", vec![apron(1, Reason::NoLink)])
    };
    for (act_before, zone, want) in [
        ("2026-11-27T13:00:00Z", ZONE, "before 14:00 on 27 Nov ("),
        ("2026-11-27T13:00:00Z", chrono_tz::Tz::America__New_York, "before 08:00 on 27 Nov ("),
        ("2026-12-31T23:30:00Z", ZONE, "before 00:30 on 1 Jan 2027 ("),
    ] {
        let said = say(&finding(act_before), zone);
        assert!(said.contains(want), "{said}");
    }
}

#[test]
fn no_text_of_the_shop_can_drive_a_terminal_or_flood_a_sentence() {
    let hostile = NamedLine {
        title: Some(format!("\u{1b}]0;owned\u{7}\u{9b}2J{}", "very long ".repeat(1000))),
        ..apron(1, Reason::NoLink)
    };
    let finding = part_sent("KK\u{1b}[31m\r\n-1", vec![hostile]);
    let said = say(&finding, ZONE);
    assert!(!said.contains(char::is_control), "{said:?}");
    assert!(said.len() < 500, "{said}");
}
