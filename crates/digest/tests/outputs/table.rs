//! The table: read as the owner reads it, at two widths; and what must hold whatever the shop typed.

use crate::samples::{
    AS_OF, apron, busy_day, line, many, one_of_each, options, outcome, over_sent, part, part_sent, tote, utc,
};
use crate::{ZONE, is_everyday};
use chrono::TimeDelta;
use digest::{NARROWEST, ROWS_PER_GROUP, View, table};
use model::finding::{NamedLine, Reason};
use model::outcome::{Notice, Topic, Totals};
use model::{Check, Finding, Outcome};
use proptest::prelude::*;
use unicode_width::UnicodeWidthStr;

fn view(width: usize) -> View {
    View { width, zone: ZONE, ..View::default() }
}

/// Without the escapes that set colour.
fn without_colour(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        plain += before;
        rest = after.split_once('m').unwrap().1;
    }
    plain + rest
}

fn check_layout(outcome: &Outcome, view: &View) {
    let text = table(outcome, view);
    for line in text.lines() {
        assert!(line.width() <= view.width.max(NARROWEST), "wider than {}: {line:?}", view.width);
        assert!(!line.contains(char::is_control), "{line:?}");
        assert_eq!(line, line.trim_end());
    }
    assert!(text.ends_with('\n') && !text.contains("\n\n\n"));
    let coloured = table(outcome, &View { colour: true, ..view.clone() });
    assert_eq!(without_colour(&coloured), text);
}

#[test]
fn a_busy_day_reads_well_in_80_columns() {
    insta::assert_snapshot!("busy_day_80", table(&busy_day(), &view(80)));
}

#[test]
fn a_busy_day_reads_well_in_120_columns() {
    insta::assert_snapshot!("busy_day_120", table(&busy_day(), &view(120)));
}

/// Source: IANA time zone database, rule EU: summer time ends on 2026-10-25 at 01:00 UTC.
#[test]
fn in_an_hour_that_the_clock_shows_twice_the_deadline_says_which_and_keeps_its_column() {
    let as_of = utc("2026-10-24T11:50:00Z");
    let by = |order_id, hour: &str| Finding {
        act_before: Some(utc(&format!("2026-10-25T{hour}:30:00Z"))),
        ..part_sent(order_id, vec![apron(1, Reason::NoLink)])
    };
    let mut alone = by("KK-9", "00");
    alone.lines[0].listing_id = None;
    let day = Outcome { as_of, ..outcome(vec![by("KK-7", "00"), by("KK-8", "01"), alone]) };
    for width in [NARROWEST, 80, 120] {
        check_layout(&day, &view(width));
    }
    let text = table(&day, &view(120));
    assert!(text.contains("tomorrow 02:30 CET  ") && text.contains("tomorrow 02:30 CEST  "), "{text}");
    assert!(
        text.contains("tomorrow 02:30  ") && text.lines().any(|line| line.starts_with("CEST  ")),
        "{text}"
    );
}

#[test]
fn a_day_with_nothing_wrong_says_so_with_the_same_proof() {
    let totals = Totals { covered: 304, covered_wrongly: 0, uncovered: 2, ..outcome(Vec::new()).totals };
    insta::assert_snapshot!("nothing_wrong", table(&Outcome { totals, ..outcome(Vec::new()) }, &view(80)));
}

#[test]
fn a_day_that_was_not_read_whole_says_so_loudly() {
    let mut day = outcome(vec![part_sent("KK-1007", vec![apron(1, Reason::NoLink)])]);
    day.rows_skipped = 3;
    day.not_judged = (1..=30).map(|number| format!("KK-{number}").as_str().into()).collect();
    day.notices = vec![Notice { topic: Topic::SkippedRow, count: 3, text: "3 rows were left out".into() }];
    insta::assert_snapshot!("not_complete", table(&day, &view(80)));
}

#[test]
fn the_headline_says_what_is_worst_and_whether_it_can_still_be_put_right() {
    let ahead = |order_id| part_sent(order_id, vec![apron(1, Reason::NoLink)]);
    let past = |order_id| Finding { act_before: None, cutoff_passed: true, ..ahead(order_id) };
    let unknown = |order_id| Finding { act_before: None, ..ahead(order_id) };
    for (findings, want) in [
        (vec![ahead("1")], "1 order goes out incomplete; it can still be put right, by 15:00 today."),
        (vec![past("1")], "1 order goes out incomplete; it is past the cut-off."),
        (vec![unknown("1"), unknown("2")], "2 orders go out incomplete."),
        (
            vec![ahead("1"), ahead("2")],
            "2 orders go out incomplete; 2 can still be put right, the first by 15:00 today.",
        ),
        (vec![past("1"), past("2")], "2 orders go out incomplete; all are past the cut-off."),
        (
            vec![ahead("1"), past("2"), unknown("3"), unknown("4")],
            "4 orders go out incomplete; 1 can still be put right, by 15:00 today, 1 is past the cut-off and 2 \
             have no known cut-off.",
        ),
        (
            vec![ahead("1"), over_sent("1", Vec::new())],
            "1 order goes out incomplete; it can still be put right, by 15:00 today; 1 other thing needs a look.",
        ),
        (one_of_each().split_off(8), "1 order went out in part only; 11 other things need a look."),
        (one_of_each()[15..16].to_vec(), "1 item sells at a loss."),
        (one_of_each().split_off(16), "1 order goes to an old address; 3 other things need a look."),
        (one_of_each().split_off(19), "1 source answers otherwise than declared."),
    ] {
        let text = table(&outcome(findings), &view(200));
        assert_eq!(text.lines().next().unwrap(), want);
    }
}

#[test]
fn nothing_to_check_and_a_part_of_the_checks_are_said() {
    let empty = Outcome { totals: Totals::default(), ..outcome(Vec::new()) };
    assert!(
        table(&empty, &view(80)).starts_with("Nothing wrong was found, but there was no order to check.\n")
    );
    let asked = View { checks: vec![Check::Late], ..view(80) };
    let text = table(&outcome(Vec::new()), &asked);
    assert!(text.starts_with("Nothing wrong was found of what was asked for in 120 orders;"), "{text}");
    assert!(text.contains("Only this was asked for, anything else is left out: late.\n"), "{text}");
}

#[test]
fn sums_that_do_not_agree_are_said_loudly() {
    let mut day = outcome(Vec::new());
    assert!(!table(&day, &view(80)).contains("ADD UP"));
    day.totals.uncovered += 1;
    assert!(
        table(&day, &view(80)).contains("THESE DO NOT ADD UP: 311 are accounted for, 310 were bought.\n")
    );
}

#[test]
fn what_must_be_done_first_stands_first() {
    let minutes = [300, 20, 4000, 75];
    let findings = minutes.map(|minutes| Finding {
        act_before: Some(utc(AS_OF) + TimeDelta::minutes(minutes)),
        ..part_sent(&format!("KK-{minutes}"), vec![tote(1, Some(Reason::NotSent))])
    });
    let text = table(&outcome(findings.to_vec()), &view(80));
    let places =
        ["20 min left", "1 h 15 min left", "5 h left", "2 days 18 h left"].map(|left| text.find(left));
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{text}");
}

#[test]
fn orders_with_one_cause_stand_under_it_and_a_shared_placeholder_sku_is_no_cause() {
    let bought = |sku: &str, listing: &str, size: &str| NamedLine {
        sku: model::Sku::new(sku),
        listing_id: Some(listing.into()),
        ..line("1", "Otter apron", options(size, "moss"), 1, Some(Reason::NoLink))
    };
    for (first, second, together) in [
        (bought("", "L-1", "L"), bought("", "L-1", "l "), true),
        (bought("A", "L-1", "L"), bought("B", "L-1", "L"), true),
        (bought("A", "L-1", "L"), bought("a", "L-2", "L"), true),
        (bought("A", "L-1", "L"), bought("A", "L-1", "S"), false),
        (bought("", "L-1", "L"), bought("", "L-2", "L"), false),
    ] {
        let findings = vec![part_sent("KK-1", vec![first]), part_sent("KK-2", vec![second])];
        let text = table(&outcome(findings), &view(80));
        assert_eq!(text.contains("nobody makes it in 2 orders"), together, "{text}");
        assert!(text.contains("KK-1") && text.contains("KK-2"), "{text}");
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("You pack it yourself? Say so once."), "{text}");
    }
}

#[test]
fn orders_whose_links_lead_to_different_things_have_no_common_cause() {
    let broken = |variant_id| NamedLine {
        needs: vec![part("alder-print", variant_id, 1)],
        ..tote(1, Some(Reason::BrokenLink))
    };
    let intended = |variant_id| NamedLine {
        intended: vec![part("alder-print", variant_id, 1)],
        ..tote(1, Some(Reason::NoLink))
    };
    for (first, second, together) in [
        (broken("AP-77"), broken("AP-77"), true),
        (broken("AP-77"), broken("AP-78"), false),
        (intended("AP-40"), intended("AP-40"), true),
        (intended("AP-40"), intended("AP-41"), false),
    ] {
        let findings = vec![part_sent("KK-1", vec![first]), part_sent("KK-2", vec![second])];
        let text = table(&outcome(findings), &view(80));
        assert_eq!(text.contains("\n2 orders "), together, "{text}");
    }
}

#[test]
fn a_limit_hides_nothing_unsaid() {
    let many_causes: Vec<Finding> = (0..120)
        .map(|number| part_sent(&format!("KK-{number:03}"), vec![tote(1, Some(Reason::NotSent))]))
        .collect();
    let one_cause: Vec<Finding> = (0..120)
        .map(|number| part_sent(&format!("KK-{number:03}"), vec![apron(1, Reason::NoLink)]))
        .collect();
    let shown = |findings: &[Finding], limit| {
        let text = table(&outcome(findings.to_vec()), &View { limit, ..view(80) });
        let orders =
            findings.iter().filter(|finding| text.contains(finding.order_id.as_ref().unwrap().as_str()));
        (orders.count(), text)
    };
    let (number, text) = shown(&many_causes, Some(ROWS_PER_GROUP));
    assert_eq!(number, 50);
    assert!(text.contains("Showing 50 of 120, the most urgent first;"), "{text}");
    let (number, text) = shown(&one_cause, Some(ROWS_PER_GROUP));
    assert_eq!(number, 10);
    assert!(text.contains("and 110 more orders") && text.contains("Showing 10 of 120,"), "{text}");
    let (_, text) = shown(&one_cause[..11], Some(ROWS_PER_GROUP));
    assert!(text.contains("and 1 more order\n"), "{text}");
    for findings in [many_causes, one_cause] {
        let (number, text) = shown(&findings, None);
        assert_eq!(number, 120);
        assert!(!text.contains("Showing"), "{text}");
    }
}

#[test]
fn every_finding_and_every_line_that_nobody_makes_is_somewhere() {
    let day = busy_day();
    let text = table(&day, &View { limit: None, ..view(80) }).replace("\n                   ", " ");
    for finding in &day.findings {
        let subject = finding.order_id.as_ref().map(|id| id.as_str());
        let subject = subject.or(finding.submission_id.as_ref().map(|id| id.as_str())).unwrap_or("L-");
        assert!(text.contains(subject) && text.contains(finding.check.word()), "{}", finding.check);
    }
    assert!(text.contains("also: nobody makes 1\u{a0}x \"Puffin tote bag\" (plum)"), "{text}");
}

#[test]
fn only_everyday_words_are_used_and_every_width_holds() {
    let all = outcome(many().into_iter().map(|(_, finding)| finding).collect());
    for outcome in [busy_day(), all, outcome(Vec::new())] {
        assert!(is_everyday(&table(&outcome, &view(80))), "{}", table(&outcome, &view(80)));
        for width in [0, 40, 60, 61, 79, 80, 81, 100, 119, 120, 200, 1000] {
            for limit in [None, Some(1), Some(3), Some(ROWS_PER_GROUP)] {
                check_layout(&outcome, &View { limit, ..view(width) });
            }
        }
    }
}

proptest! {
    #[test]
    fn whatever_the_shop_typed_no_line_is_too_wide_and_nothing_drives_the_terminal(
        order_id in any::<String>(),
        title in any::<String>(),
        value in any::<String>(),
        notice in any::<String>(),
        width in 60_usize..140,
    ) {
        let typed = |units| NamedLine {
            title: Some(title.clone()),
            options: Some(options(&value, "moss")),
            ..apron(units, Reason::NoLink)
        };
        let mut day = outcome(vec![
            part_sent(&order_id, vec![typed(1)]),
            part_sent("KK-2", vec![typed(2), tote(1, Some(Reason::Short))]),
            over_sent(&title, vec![typed(1)]),
        ]);
        day.notices = vec![Notice { topic: Topic::UnknownFile, count: 1, text: notice }];
        day.not_judged = vec![order_id.as_str().into()];
        check_layout(&day, &view(width));
    }

    #[test]
    fn emoji_marks_and_wide_letters_keep_the_width(
        title in "[a1 ❤\u{fe0f}\u{200d}👩🍳🏽\u{301}围ﷺلا🇩🇪\u{20e3}#]{0,80}",
        width in 60_usize..90,
    ) {
        let named = NamedLine { title: Some(title.clone()), ..apron(1, Reason::NoLink) };
        let mut day = outcome(vec![part_sent(&title, vec![named])]);
        day.notices = vec![Notice { topic: Topic::UnknownFile, count: 1, text: title }];
        check_layout(&day, &view(width));
    }
}
