//! The digest and the alert as somebody gets them: what stands in them, that text and HTML say the same, that nothing hostile
//! comes through, and that all is never said to be well where that is not known.
//!
//! Start reading at [`morning`].

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

#[path = "../outputs/samples.rs"]
#[allow(dead_code, reason = "the other tests use the others")]
mod samples;

use chrono::{NaiveDate, TimeDelta};
use chrono_tz::Tz;
use digest::compose::{
    Alert, Aside, Composed, Measured, Morning, Pages, Settled, ShopMorning, SourceRead, Undelivered, alert,
    digest,
};
use model::rates::{Rates, Share};
use model::{Check, Finding, Outcome};
use proptest::prelude::*;
use samples::{AS_OF, apron, busy_day, one_of_each, outcome, part_sent, utc};

const ZONE: Tz = Tz::Europe__Berlin;

/// Words of the code that no owner should have to learn.
const NOT_EVERYDAY: [&str; 12] = [
    "as-of",
    "ledger",
    "demand",
    "covered",
    "submission",
    "own stock",
    "in_force",
    "variant_id",
    "webhook",
    "null",
    "uncovered",
    "json",
];

fn source(name: &str, is_behind: bool) -> SourceRead {
    SourceRead {
        source: name.to_owned(),
        read_up_to: Some(utc(AS_OF) - if is_behind { TimeDelta::hours(9) } else { TimeDelta::minutes(3) }),
        is_behind,
        is_doubted: false,
        trouble: is_behind.then(|| "it did not answer".to_owned()),
        counted: None,
    }
}

fn settled(check: Check, order_id: &str) -> Settled {
    Settled {
        check,
        order_id: Some(order_id.into()),
        submission_id: None,
        supplier: None,
        listing_id: None,
        source: None,
    }
}

fn measured(weeks: u32) -> Measured {
    let rates = Rates {
        orders_in_full: Share { good: 1_204, of: 1_210 },
        lines_in_full: Share { good: 2_410, of: 2_418 },
        perfect: Share { good: 1_120, of: 1_210 },
        on_time_in_full: Share { good: 0, of: 0 },
        repairs: vec![TimeDelta::minutes(190); 31],
    };
    Measured { weeks, rates }
}

fn shop(name: Option<&str>, outcome: Outcome) -> ShopMorning {
    ShopMorning {
        shop: name.map(Into::into),
        outcome,
        set_aside: Vec::new(),
        settled: Vec::new(),
        sources: vec![source("till", false), source("alder-print", false)],
        measured: vec![measured(4), measured(12)],
    }
}

fn morning(shops: Vec<ShopMorning>) -> Morning {
    Morning {
        day: utc(AS_OF).with_timezone(&ZONE).date_naive(),
        zone: ZONE,
        now: utc(AS_OF),
        shops,
        pages: Pages::parse("http://shop.example:8080/"),
        taken_in: Vec::new(),
        undelivered: Vec::new(),
        is_part: false,
    }
}

fn busy() -> Morning {
    let mut busy = shop(None, busy_day());
    busy.settled = vec![settled(Check::PartSent, "KK-0970"), settled(Check::Late, "KK-0960")];
    busy.sources[0].is_doubted = true;
    let aside = samples::loss_making();
    busy.set_aside =
        vec![Aside { finding: aside, note: "new price from Monday".to_owned(), until: Some(utc(AS_OF)) }];
    Morning {
        taken_in: vec![NaiveDate::from_ymd_opt(2026, 11, 23).unwrap()],
        undelivered: vec![Undelivered {
            what: "an alert".to_owned(),
            recipient: "workshop".to_owned(),
            since: utc(AS_OF) - TimeDelta::hours(5),
            why: "the mail server does not know this address".to_owned(),
            is_given_up: true,
        }],
        ..morning(vec![busy])
    }
}

/// Begin and end a text with a direction of its own. Source: UAX #9, section 2.4.
const ISOLATES: [char; 2] = ['\u{2068}', '\u{2069}'];

/// The words of the text, without addresses, rules and bars.
fn words_of_text(text: &str) -> Vec<String> {
    let is_word =
        |word: &&str| !word.starts_with("http://") && !word.chars().all(|letter| "-|#.[]".contains(letter));
    let text = text.replace(ISOLATES, "");
    text.split_whitespace().filter(is_word).map(str::to_uppercase).collect()
}

/// The words that a browser shows of the page's body.
fn words_of_html(html: &str) -> Vec<String> {
    let body = html.split_once("<body>").unwrap().1;
    let body = body.replace("<bdi>", "").replace("</bdi>", "");
    let mut shown = String::new();
    let mut is_tag = false;
    for letter in body.chars() {
        match letter {
            '<' => is_tag = true,
            '>' if is_tag => {
                is_tag = false;
                shown.push(' ');
            }
            letter if !is_tag => shown.push(letter),
            _ => {}
        }
    }
    let shown = shown.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    shown
        .split_whitespace()
        .filter(|word| !word.starts_with("http://") && !word.chars().all(|letter| "-|#.".contains(letter)))
        .map(str::to_uppercase)
        .collect()
}

fn check(composed: &Composed) {
    let Composed { subject, text, html, .. } = composed;
    assert_eq!(words_of_text(text).join(" "), words_of_html(html).join(" "));
    assert!(subject.chars().count() <= 70 && !subject.is_empty(), "{subject}");
    assert!(!subject.contains('…'), "{subject}");
    for line in text.lines().filter(|line| !line.contains("http://")) {
        assert!(unicode_width(line) <= 72, "{line}");
        assert_eq!(line.trim_end(), line);
    }
    for line in text.lines() {
        let turns: String = line.chars().filter(|letter| ISOLATES.contains(letter)).collect();
        assert_eq!(turns.replace("\u{2068}\u{2069}", ""), "", "{line:?}");
    }
    assert!(!html.contains(ISOLATES) && html.matches("<bdi>").count() == html.matches("</bdi>").count());
    for part in [text, html] {
        let is_bad = |letter: char| {
            letter != '\n' && letter.is_control()
                || matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}' | '\u{2067}')
        };
        assert!(!part.contains(is_bad));
    }
    for forbidden in ["<script", "<img", "<link", "<iframe", "javascript:", "src="] {
        assert!(!html.to_lowercase().contains(forbidden), "{forbidden}");
    }
    assert!(!subject.contains(char::is_control), "{subject:?}");
    check_sizes(composed);
}

/// Some mail programs cut a mail off at about 100 kB (common practice, no published source). A webhook's body is a megabyte
/// at most, see `deliver::Webhook`.
fn check_sizes(composed: &Composed) {
    for (part, most) in
        [(&composed.html, 98_000), (&composed.text, 98_000), (&composed.data.to_string(), 512 * 1024)]
    {
        assert!(part.len() <= most, "{} bytes", part.len());
    }
}

/// What is shown, without blanks and what rules, bars and quotations are made of, for texts whose words are broken anywhere.
fn bare(words: &[String]) -> String {
    words.concat().replace(['-', '|', '#', '.', '\u{a0}'], "")
}

fn unicode_width(line: &str) -> usize {
    unicode_width::UnicodeWidthStr::width(line)
}

/// Writes it where it can be looked at.
fn kept(name: &str, composed: &Composed) {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    std::fs::write(folder.join(format!("{name}.html")), &composed.html).unwrap();
    std::fs::write(folder.join(format!("{name}.txt")), &composed.text).unwrap();
}

fn with_subject(composed: &Composed) -> String {
    format!("Subject: {}\n\n{}", composed.subject, composed.text)
}

#[test]
fn a_busy_morning_says_first_what_can_still_be_put_right() {
    let composed = digest(&busy());
    check(&composed);
    kept("busy", &composed);
    insta::assert_snapshot!("busy", with_subject(&composed));
    let place = |words: &str| composed.text.find(words).unwrap_or_else(|| panic!("no {words}"));
    assert!(place("TO PUT RIGHT NOW") < place("PAST THE CUT-OFF"));
    assert!(place("PAST THE CUT-OFF") < place("TO WATCH"));
    assert!(place("TO WATCH") < place("SET ASIDE BY YOU"));
    assert!(place("SET ASIDE BY YOU") < place("WHAT WAS CHECKED"));
}

#[test]
fn a_morning_with_nothing_wrong_says_so_with_the_same_proof() {
    let mut clear = outcome(Vec::new());
    (clear.totals.covered, clear.totals.covered_wrongly) = (294, 0);
    let composed = digest(&morning(vec![shop(None, clear)]));
    check(&composed);
    kept("clear", &composed);
    insta::assert_snapshot!("clear", with_subject(&composed));
    assert!(composed.subject.starts_with("All is well"));
    let busy = digest(&busy());
    for proof in ["WHAT WAS CHECKED", "WHAT IT WAS READ FROM", "HOW IT HAS GONE"] {
        assert!(composed.text.contains(proof) && busy.text.contains(proof));
    }
}

/// The canary of the all-clear: each thing that is not known, by itself, forbids it.
#[test]
fn all_is_never_well_where_something_is_not_known() {
    let clear = || shop(None, outcome(Vec::new()));
    let is_well = |shop: ShopMorning| {
        let composed = digest(&morning(vec![shop]));
        check(&composed);
        let said = with_subject(&composed).to_lowercase();
        let is_well = said.contains("all is well:");
        assert_eq!(is_well, composed.data["is_known"] == true);
        assert_ne!(is_well, composed.subject.contains("Not known yet"), "{said}");
        is_well
    };
    assert!(is_well(clear()));
    assert!(!is_well(ShopMorning { sources: vec![source("till", false), source("b", true)], ..clear() }));
    let mut counted = source("till", false);
    counted.counted = Some((12, 11));
    assert!(!is_well(ShopMorning { sources: vec![counted], ..clear() }));
    let skipped = Outcome { rows_skipped: 1, ..outcome(Vec::new()) };
    assert!(!is_well(ShopMorning { outcome: skipped, ..clear() }));
    let not_judged = Outcome { not_judged: vec!["KK-1".into()], ..outcome(Vec::new()) };
    assert!(!is_well(ShopMorning { outcome: not_judged, ..clear() }));
    let never = SourceRead { read_up_to: None, ..source("till", false) };
    assert!(!is_well(ShopMorning { sources: vec![source("b", false), never], ..clear() }));
    assert!(!is_well(ShopMorning { sources: Vec::new(), ..clear() }));
    let doubted = SourceRead { is_doubted: true, ..source("till", false) };
    assert!(!is_well(ShopMorning { sources: vec![doubted], ..clear() }));
    let mut sums = outcome(Vec::new());
    sums.totals.covered -= 1;
    assert!(!is_well(ShopMorning { outcome: sums, ..clear() }));
    for check in [Check::SourceStale, Check::SourceGap, Check::SourceChanged] {
        let finding = one_of_each().into_iter().find(|finding| finding.check == check).unwrap();
        let aside = Aside { finding: finding.clone(), note: "they know".to_owned(), until: None };
        assert!(!is_well(ShopMorning { set_aside: vec![aside], ..clear() }), "{check} set aside");
        assert!(!is_well(ShopMorning { outcome: outcome(vec![finding]), ..clear() }), "{check}");
    }
    let none = digest(&morning(Vec::new()));
    assert!(none.subject.starts_with("Not known yet: there is no source"), "{}", none.subject);
}

#[test]
fn a_shop_that_is_not_known_is_not_among_those_with_nothing_wrong() {
    let mut unread = shop(Some("puffin"), outcome(Vec::new()));
    unread.sources.clear();
    let composed = digest(&morning(vec![shop(Some("kittiwake"), outcome(Vec::new())), unread]));
    check(&composed);
    assert!(composed.text.contains("Nothing wrong: kittiwake."));
    assert!(composed.text.contains("- puffin: there is no source to read from."), "{}", composed.text);
    assert!(composed.text.contains("puffin has no source"));
}

#[test]
fn where_a_source_is_behind_what_is_found_is_said_and_that_not_all_is_known() {
    let mut behind =
        shop(None, outcome(vec![part_sent("KK-1001", vec![apron(1, model::finding::Reason::NoLink)])]));
    behind.sources[1] = source("alder-print", true);
    let composed = digest(&morning(vec![behind]));
    check(&composed);
    insta::assert_snapshot!("behind", with_subject(&composed));
}

#[test]
fn of_several_shops_each_is_named_and_those_with_nothing_wrong_are_one_line() {
    let quiet = (0..47).map(|number| shop(Some(&format!("shop-{number:02}")), outcome(Vec::new())));
    let mut shops: Vec<ShopMorning> = quiet.collect();
    shops.push(shop(Some("kittiwake"), busy_day()));
    shops.push(shop(Some("puffin"), outcome(vec![samples::late("P-7", 1, 0)])));
    let composed = digest(&morning(shops));
    check(&composed);
    kept("shops", &composed);
    let line = composed.text.lines().find(|line| line.starts_with("- puffin")).unwrap();
    assert_eq!(line, "- puffin: 1 to watch.");
    assert!(composed.text.contains("Nothing wrong: shop-00, shop-01"));
    assert!(composed.html.contains("/orders/P-7?shop=puffin"));
}

#[test]
fn how_it_has_gone_is_one_table_of_all_shops_together() {
    let of = |weeks, good, of, hours: &[i64]| Measured {
        weeks,
        rates: Rates {
            orders_in_full: Share { good, of },
            repairs: hours.iter().map(|hours| TimeDelta::hours(*hours)).collect(),
            ..Rates::default()
        },
    };
    let with = |name, measured| ShopMorning { measured, ..shop(Some(name), outcome(Vec::new())) };
    let composed = digest(&morning(vec![
        with("kittiwake", vec![of(4, 8, 10, &[1]), of(12, 99, 100, &[1, 1, 1])]),
        with("puffin", vec![of(4, 1, 2, &[]), of(12, 0, 20, &[8, 9])]),
        with("razorbill", Vec::new()),
    ]));
    check(&composed);
    let lines: Vec<&str> = composed.text.lines().collect();
    let at = lines.iter().position(|line| line.starts_with("HOW IT HAS GONE - in 2 of 3 shops")).unwrap();
    assert_eq!(lines[at + 3], "                        Last 4 weeks            Last 12 weeks");
    assert_eq!(lines[at + 4], "Orders in full          [###############.....]  [################....]");
    assert_eq!(lines[at + 5], "                        9 of 12, 75 %           99 of 120, 82 %");
    assert_eq!(lines[at + 7], "                        none yet                none yet");
    assert_eq!(composed.text.matches("HOW IT HAS GONE").count(), 1);
    let text = composed.text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("1 in the last 4 weeks, after 1 h; 5 in the last 12 weeks, half of them within 1 h."),
        "{text}"
    );
    // A bar is drawn by its attributes where styles are left out.
    assert!(composed.html.contains("width=\"75%\" height=\"10\" bgcolor="), "{}", composed.html);
}

#[test]
fn what_settled_is_named_the_worst_first_and_the_rest_is_counted() {
    let mut shop = shop(None, outcome(Vec::new()));
    let none = || Settled { order_id: None, ..settled(Check::Held, "") };
    shop.settled = vec![
        Settled { check: Check::SourceStale, source: Some("till".into()), ..none() },
        Settled { check: Check::OfferUnlinked, listing_id: Some("L-1".into()), ..none() },
        Settled { submission_id: Some("A-7".into()), supplier: Some("alder-print".into()), ..none() },
        settled(Check::Late, "KK-5"),
        settled(Check::PartSent, "KK-4"),
    ];
    let composed = digest(&morning(vec![shop.clone()]));
    check(&composed);
    let at = composed.text.find("SETTLED SINCE THE LAST DIGEST - 5 findings").unwrap();
    let list: Vec<&str> = composed.text[at..].lines().skip(3).take(6).collect();
    assert_eq!(
        list,
        [
            "- Order KK-4: it would have gone out incomplete.",
            "- Supplier order A-7 of alder-print: it was on hold.",
            "- Order KK-5: it was late.",
            "- Listing L-1: it sold what was not linked.",
            "- Source till: it had not been read for too long.",
            "",
        ]
    );
    assert_eq!(composed.data["shops"][0]["settled"][4]["order_id"], "KK-4");
    shop.settled.extend((0..38).map(|number| settled(Check::SourceGap, &format!("{number}"))));
    let composed = digest(&morning(vec![shop]));
    check(&composed);
    assert!(
        composed.text.contains("And 38 more.") && !composed.text.contains("counted otherwise"),
        "{}",
        composed.text
    );
}

#[test]
fn a_long_list_is_cut_and_says_how_many_more_there_are_and_where() {
    let many: Vec<Finding> = (0..400)
        .map(|number| {
            let mut finding = part_sent(
                &format!("KK-{number}"),
                vec![samples::line(
                    "1",
                    &format!("Design {number}"),
                    samples::options("L", "moss"),
                    1,
                    Some(model::finding::Reason::NoLink),
                )],
            );
            // Each is an offer of its own.
            finding.lines[0].listing_id = Some(format!("L-{number}").as_str().into());
            finding.lines[0].sku = None;
            finding
        })
        .collect();
    let composed = digest(&morning(vec![shop(None, outcome(many.clone()))]));
    check(&composed);
    let said = |composed: &Composed, words: &str| {
        let text = composed.text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(words), "{text}");
    };
    said(&composed, "And 375 more; all of them are at http://shop.example:8080.");
    let composed = alert(&an_alert(many));
    check(&composed);
    said(&composed, "And 380 more");
    assert!(composed.subject.starts_with("400 orders go out incomplete"));
}

/// Judged at 12:50, when the cut-off at 15:00 was ahead.
#[test]
fn a_cut_off_that_passes_before_the_message_is_composed_is_told_as_past() {
    use digest::Urgency;
    let finding = part_sent("KK-9", vec![apron(1, model::finding::Reason::NotSent)]);
    let by = finding.act_before.unwrap();
    for (now, want, section) in [
        (by - TimeDelta::seconds(1), Urgency::Now, "TO PUT RIGHT NOW - 1 finding"),
        (by, Urgency::Repair, "PAST THE CUT-OFF - 1 finding"),
        (by + TimeDelta::minutes(5), Urgency::Repair, "PAST THE CUT-OFF - 1 finding"),
    ] {
        let is_ahead = want == Urgency::Now;
        assert_eq!(Urgency::at(&finding, now), want);
        let told = digest(&Morning { now, ..morning(vec![shop(None, outcome(vec![finding.clone()]))]) });
        check(&told);
        assert!(told.text.contains(section), "{}", told.text);
        let alerted = alert(&Alert { now, ..an_alert(vec![finding.clone()]) });
        check(&alerted);
        for composed in [told, alerted] {
            assert_eq!(composed.subject.contains("act by 15:00 today"), is_ahead, "{}", composed.subject);
            assert_eq!(composed.subject.contains("past the cut-off"), !is_ahead, "{}", composed.subject);
            assert_eq!(composed.text.contains("the cut-off has passed"), !is_ahead, "{}", composed.text);
            assert!(!composed.text.contains("no time left"), "{}", composed.text);
            let finding = composed.data["findings"].get(0).or(composed.data["shops"][0]["findings"].get(0));
            assert_eq!(finding.unwrap()["cutoff_passed"], !is_ahead);
        }
    }
}

/// Source: product.md 5: 'the earliest cut-off, still ahead, of the order's live submissions at the suppliers of the lines
/// named (at all its suppliers, where a named line has no link)'; one that is being made has passed its own.
#[test]
fn where_another_cut_off_is_still_ahead_that_one_counts() {
    use model::book::SubmissionStatus;
    use model::finding::{Evidence, NamedLine, Reason};
    let by = utc("2026-11-25T14:00:00Z");
    let later = by + TimeDelta::hours(3);
    let at = |supplier: &str, status, cut_off| model::finding::NamedSubmission {
        supplier: supplier.into(),
        cut_off,
        ..samples::submission("A-9", status)
    };
    let received = SubmissionStatus::Received;
    let (not_sent, no_link) = (apron(1, Reason::NotSent), apron(1, Reason::NoLink));
    // What cannot be made now is linked all the same, and what came before its link is not.
    let not_made = NamedLine { not_made_now: not_sent.needs.clone(), ..not_sent.clone() };
    let came_before =
        NamedLine { intended: not_sent.needs.clone(), came_before_link: true, ..no_link.clone() };
    for (line, other, want) in [
        (&not_sent, at("alder-print", received, Some(later)), "act by 18:00 today"),
        (&not_sent, at("brook-print", received, Some(later)), "past the cut-off"),
        (&not_made, at("brook-print", received, Some(later)), "past the cut-off"),
        (&came_before, at("brook-print", received, Some(later)), "act by 18:00 today"),
        (&no_link, at("brook-print", received, Some(later)), "act by 18:00 today"),
        (&no_link, at("brook-print", SubmissionStatus::Making, Some(later)), "past the cut-off"),
        (&no_link, at("brook-print", received, None), "goes out incomplete"),
    ] {
        let mut finding = part_sent("KK-9", vec![line.clone()]);
        if let Evidence::Gap(gap) = &mut finding.evidence {
            gap.submissions = vec![at("alder-print", received, Some(by)), other];
        }
        let composed = digest(&Morning { now: by, ..morning(vec![shop(None, outcome(vec![finding]))]) });
        assert!(composed.subject.contains(want), "{}", composed.subject);
        let is_past = want == "past the cut-off";
        assert_eq!(composed.text.contains("PAST THE CUT-OFF"), is_past, "{}", composed.text);
    }
}

/// Texts that are long in one way or another: in columns, in bytes, in HTML, in JSON.
fn long_texts() -> [String; 6] {
    [
        "x".repeat(10_000),
        "字".repeat(5_000),
        "\"<&>".repeat(2_000),
        format!("a{}", "\u{301}".repeat(10_000)),
        "\u{1d54f}\u{20e3}".repeat(3_000),
        "a b ".repeat(2_000),
    ]
}

/// A shop in which all that can be long is.
fn long_shop(number: usize, long: &str) -> ShopMorning {
    let finding = |index: usize, past: bool| {
        let id = format!("{index}{}", long.get(..1_000).unwrap_or(long));
        let line =
            samples::line("1", long, samples::options(long, long), 1, Some(model::finding::Reason::NoLink));
        let line =
            model::finding::NamedLine { listing_id: Some(format!("L{}", index / 3).as_str().into()), ..line };
        let finding = part_sent(&id, vec![line]);
        let act_before = finding.act_before.filter(|_| !past);
        Finding { act_before, cutoff_passed: past, ..finding }
    };
    let mut shop = shop(
        Some(&format!("shop-{number}")),
        outcome((0..40).map(|index| finding(index, index > 20)).collect()),
    );
    shop.outcome.notices =
        vec![
            model::outcome::Notice { topic: model::outcome::Topic::Sample, count: 1, text: long.to_owned() };
            20
        ];
    let read = |index: usize| SourceRead {
        source: format!("{index}"),
        trouble: Some(long.to_owned()),
        ..source("", true)
    };
    shop.sources = (0..50).map(read).collect();
    let aside = |index| Aside { finding: finding(index, false), note: long.to_owned(), until: None };
    shop.set_aside = (0..20).map(aside).collect();
    shop.settled = vec![settled(Check::Late, long); 20];
    shop
}

#[test]
fn however_much_there_is_a_message_is_as_small_as_mail_programs_show() {
    for long in long_texts() {
        for shops in [1, 5] {
            let mut long_morning = morning((0..shops).map(|number| long_shop(number, &long)).collect());
            long_morning.undelivered = vec![
                Undelivered {
                    what: "an alert".to_owned(),
                    recipient: "workshop".to_owned(),
                    since: utc(AS_OF),
                    why: long.clone(),
                    is_given_up: false,
                };
                30
            ];
            let findings: Vec<Finding> =
                long_morning.shops.iter().flat_map(|shop| shop.outcome.findings.clone()).collect();
            let number = findings.len();
            for composed in [digest(&long_morning), alert(&an_alert(findings))] {
                check_sizes(&composed);
                assert_eq!(bare(&words_of_text(&composed.text)), bare(&words_of_html(&composed.html)));
                let text = composed.text.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(text.contains(" more; "), "what is left out is said: {text}");
                let of = |value: &serde_json::Value| {
                    value["findings"].as_array().map_or(0, Vec::len)
                        + value["findings_left_out"].as_u64().unwrap_or(0) as usize
                };
                let shops = composed.data["shops"].as_array();
                let told: usize = of(&composed.data) + shops.into_iter().flatten().map(of).sum::<usize>();
                assert_eq!(told, number);
            }
        }
    }
}

fn an_alert(findings: Vec<Finding>) -> Alert {
    Alert {
        now: utc(AS_OF),
        zone: ZONE,
        findings: findings.into_iter().map(|finding| (None, finding)).collect(),
        again: 0,
        held_back: 0,
        pages: None,
    }
}

#[test]
fn an_alert_says_what_by_when_and_what_to_do() {
    let now = busy_day()
        .findings
        .into_iter()
        .filter(|finding| digest::Urgency::at(finding, utc(AS_OF)) == digest::Urgency::Now);
    let composed = alert(&Alert { again: 1, held_back: 2, ..an_alert(now.collect()) });
    check(&composed);
    kept("alert", &composed);
    insta::assert_snapshot!("alert", with_subject(&composed));
}

#[test]
fn nobody_has_to_know_a_programmers_word() {
    let all = shop(None, outcome(one_of_each()));
    for composed in [digest(&morning(vec![all])), digest(&busy()), alert(&an_alert(one_of_each()))] {
        check(&composed);
        let mut said = with_subject(&composed).to_lowercase();
        for check in Check::ALL {
            said = said.replace(check.word(), "");
        }
        for word in NOT_EVERYDAY {
            assert!(!said.contains(word), "{word}: {said}");
        }
    }
}

#[test]
fn a_text_for_the_customer_comes_with_what_is_past_its_cut_off() {
    let mut past = part_sent("KK-9", vec![apron(1, model::finding::Reason::NotSent)]);
    past.cutoff_passed = true;
    past.act_before = None;
    let composed = digest(&morning(vec![shop(None, outcome(vec![past]))]));
    check(&composed);
    let text = composed.text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("A text that you may send to the customer:"), "{text}");
    assert!(text.contains("Hello, your order KK-9 will reach you in two parcels"), "{text}");
    assert_eq!(text.matches("a second supplier order").count(), 1, "{text}");
    assert!(!text.contains("second parcel"), "{text}");
}

#[test]
fn a_text_for_several_customers_has_a_place_for_the_number_and_is_true_of_each() {
    let past = |mut finding: Finding| {
        (finding.cutoff_passed, finding.act_before) = (true, None);
        finding
    };
    let lines = || vec![apron(1, model::finding::Reason::NoLink)];
    let in_part = |id: &str| past(part_sent(id, lines()));
    let unsent = |id: &str| past(samples::unsent_order(id, lines()));
    let what = "\"Otter apron\" (moss, Large)";
    for (findings, want) in [
        (
            vec![in_part("A"), in_part("B")],
            format!("Hello, your order [order number] will reach you in two parcels: {what} will"),
        ),
        (
            vec![unsent("A"), unsent("B")],
            format!("Hello, your order [order number] takes longer than we meant it to: {what}"),
        ),
        (vec![in_part("A"), unsent("B")], format!("Hello, {what} of your order [order number] takes longer")),
    ] {
        let composed = digest(&morning(vec![shop(None, outcome(findings))]));
        check(&composed);
        let text = composed.text.replace("  | ", "").split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(&want), "{text}");
        assert!(text.contains("put the number of each where [order number] stands"), "{text}");
    }
}

/// Source: UAX #9: without isolates, digits and marks beside letters that run from right to left change places with them.
#[test]
fn what_runs_from_right_to_left_is_isolated_in_text_and_html() {
    let title = "סינר מטבח 12 (לוטרה) עם כיסים רחבים ורצועות";
    let mut finding = part_sent("סדר-7", vec![apron(1, model::finding::Reason::NoLink)]);
    finding.lines[0].title = Some(title.to_owned());
    finding.lines[0].options = Some(samples::options("גדול", "moss"));
    let mut shop = shop(None, outcome(vec![finding.clone()]));
    shop.set_aside = vec![Aside { finding, note: "ספק חדש".to_owned(), until: None }];
    shop.sources[0].trouble = Some("אין תשובה".to_owned());
    let composed = digest(&morning(vec![shop]));
    check(&composed);
    for isolated in [title, "סדר-7", "ספק חדש", "אין תשובה"] {
        assert!(composed.html.contains(&format!("<bdi>{isolated}</bdi>")), "{isolated}: {}", composed.html);
    }
    // In the text, nothing that runs from right to left stands outside of isolates.
    for line in composed.text.lines().filter(|line| !line.contains("http://")) {
        let outside: String = line
            .split('\u{2068}')
            .map(|piece| piece.split_once('\u{2069}').map_or(piece, |(_, outside)| outside))
            .collect();
        assert!(!outside.contains(|letter: char| ('\u{590}'..='\u{8ff}').contains(&letter)), "{line:?}");
    }
    let say = composed.data["shops"][0]["findings"][0]["say"].as_str().unwrap().to_owned();
    assert!(say.contains(title) && !say.contains(ISOLATES), "{say}");
}

#[test]
fn a_number_and_its_x_stand_on_one_line() {
    for composed in [digest(&busy()), digest(&morning(vec![shop(None, outcome(one_of_each()))]))] {
        for line in composed.text.lines() {
            assert!(!line.trim_start().starts_with("x "), "{line}");
        }
        assert!(composed.html.contains("1\u{a0}x "));
    }
}

fn hostile() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("<script>alert(1)</script>".to_owned()),
        Just("Subject: x\r\nBcc: y@example.com\r\n\r\n".to_owned()),
        Just("\u{202e}gnp.exe \u{0}\u{7} \u{2028}".to_owned()),
        Just("\u{2068}\u{2069}\u{2069}\u{5d0}\u{2068} \u{2067}".to_owned()),
        Just("\"><a href=javascript:alert(1)>".to_owned()),
        Just("x".repeat(10_000)),
        Just("字".repeat(5_000)),
        "\\PC{0,40}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn hostile_texts_are_harmless(title in hostile(), order in hostile(), note in hostile(), trouble in hostile()) {
        let order = if order.trim().is_empty() { "x".to_owned() } else { order };
        let line = samples::line("1", &title, samples::options(&note, "moss"), 1, Some(model::finding::Reason::NoLink));
        let mut bad = shop(Some("kittiwake"), outcome(vec![part_sent(&order, vec![line])]));
        bad.sources[0].trouble = Some(trouble.clone());
        bad.set_aside = vec![Aside { finding: part_sent("KK-2", Vec::new()), note: note.clone(), until: None }];
        let mut morning = morning(vec![bad]);
        morning.undelivered = vec![Undelivered {
            what: "an alert".to_owned(), recipient: "workshop".to_owned(), since: utc(AS_OF), why: trouble, is_given_up: false,
        }];
        let composed = digest(&morning);
        prop_assert!(!composed.subject.contains(['\r', '\n']));
        for part in [&composed.text, &composed.html] {
            prop_assert!(!part.contains(|letter: char| letter != '\n' && letter.is_control()));
            let turns = part.contains(['\u{202e}', '\u{2028}']);
            prop_assert!(!turns);
        }
        for line in composed.text.lines() {
            let turns: String = line.chars().filter(|letter| ISOLATES.contains(letter)).collect();
            prop_assert_eq!(turns.replace("\u{2068}\u{2069}", ""), "");
        }
        // A tag that is not ours would have to begin with a bracket.
        prop_assert!(!composed.html.contains("<script"));
        prop_assert!(!composed.html.contains("<a href=java"));
        check_sizes(&composed);
    }
}
