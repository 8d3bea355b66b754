//! Single values: times, amounts, currencies, options, SKUs and references.
//!
//! Must not know tables. The first bytes choose a zone, a form of references and a day; the rest is text, of which the
//! lines are names and values in turn, and ids of orders.

#![no_main]

use std::collections::BTreeSet;
use std::sync::LazyLock;

use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use chrono_tz::{TZ_VARIANTS, Tz};
use libfuzzer_sys::fuzz_target;
use model::money::parse_amount;
use model::rules::ReferenceForm;
use model::text::fold;
use model::{Currency, Options, Sku, When};
use regex::Regex;

fuzz_target!(|input: &[u8]| {
    let Some((choices, rest)) = input.split_first_chunk::<4>() else { return };
    let [zone, form, day_low, day_high] = choices.map(usize::from);
    let zone = TZ_VARIANTS[(zone + 256 * (form / 64)) % TZ_VARIANTS.len()];
    let text = String::from_utf8_lossy(rest);
    let lines: Vec<&str> = text.split('\n').collect();
    let form = &FORMS[form % FORMS.len()];
    day(day_low + 256 * day_high, zone);
    for line in &lines {
        time(line, zone);
        amount(line);
        folded(line);
        if let Ok(currency) = line.parse::<Currency>() {
            assert_eq!(currency.code(), *line);
            assert!(currency.digits() <= 4);
        }
        reference(line, form, &lines);
    }
    options(&lines);
});

/// A day is over where the next one begins, and none is longer than two days and an hour.
fn day(number: usize, zone: Tz) {
    // From 1895 on, when some clocks still showed the sun's time.
    let first = NaiveDate::from_ymd_opt(1895, 1, 1).expect("a date");
    let Some(day) = first.checked_add_days(Days::new(number as u64)) else { return };
    let next = day.succ_opt().expect("the calendar goes on");
    let when = |day: NaiveDate| When::parse(&day.to_string(), zone).expect("a day of this century is a time");
    assert_eq!(when(day).ends(), when(next).begins(), "{day} in {zone}");
    check_span(when(day));
}

fn check_span(when: When) {
    let span = when.ends().signed_duration_since(when.begins());
    assert!((TimeDelta::zero()..=TimeDelta::hours(49)).contains(&span), "{when:?}");
    assert!(!when.is_over(TimeDelta::zero(), when.ends()));
    // The calendar goes on behind every year that four digits can write.
    let later = when.ends() + TimeDelta::nanoseconds(1);
    assert!(when.is_over(TimeDelta::zero(), later));
}

/// A moment is written as it is read again.
fn time(text: &str, zone: Tz) {
    let Ok(when) = When::parse(text, zone) else { return };
    assert!(WRITTEN.is_match(text), "{text:?} is read as {when:?}");
    check_span(when);
    if text.len() == 10 {
        return;
    }
    assert_eq!(when.begins(), when.ends());
    let written = when.begins().to_rfc3339();
    // A moment of such a year has no form in RFC 3339.
    if !written.starts_with(['+', '-']) {
        assert_eq!(When::parse(&written, zone), Ok(when));
    }
    let judge: DateTime<Utc> = text.parse::<DateTime<Utc>>().expect("chrono reads it too");
    assert_eq!(judge, when.begins());
}

/// A date, or a moment; the letters in any case, and a blank in place of the first.
/// Source: RFC 3339, section 5.6, with its notes.
static WRITTEN: LazyLock<Regex> = LazyLock::new(|| {
    let (date, time) = (r"[0-9]{4}-[0-9]{2}-[0-9]{2}", r"[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]+)?");
    let offset = "(?:[Zz]|[+-][0-9]{2}:[0-9]{2})";
    Regex::new(&format!("^{date}(?:[Tt ]{time}{offset})?$")).expect("a pattern")
});

/// An amount is exactly the digits that stand there.
fn amount(text: &str) {
    let Some(amount) = parse_amount(text) else { return };
    assert_eq!(parse_amount(&amount.to_string()), Some(amount));
    assert_eq!(plain(text), plain(&amount.to_string()), "{text}");
}

/// Digits without what does not count: zeros in front, zeros behind the point, the sign of nothing.
fn plain(text: &str) -> String {
    let (sign, digits) = text.strip_prefix('-').map_or(("", text), |digits| ("-", digits));
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let (whole, fraction) = (whole.trim_start_matches('0'), fraction.trim_end_matches('0'));
    let sign = if whole.is_empty() && fraction.is_empty() { "" } else { sign };
    format!("{sign}{whole}.{fraction}")
}

fn folded(text: &str) {
    let once = fold(text);
    assert_eq!(fold(&once), once, "{text:?}");
    assert!(!once.contains("  ") && once.trim() == once);
    let sku = Sku::new(text);
    assert_eq!(sku.is_none(), once.is_empty());
    assert_eq!(sku, Sku::new(once));
}

/// The order of options is nothing, and nor is how they are typed.
fn options(lines: &[&str]) {
    let pairs: Vec<(&str, &str)> = lines.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect();
    let options = Options::from_pairs(pairs.iter().copied());
    let turned = Options::from_pairs(pairs.iter().rev().copied());
    assert_eq!(options.is_ok(), turned.is_ok());
    let Ok(options) = options else { return };
    assert_eq!(Ok(&options), turned.as_ref());
    let typed_otherwise = Options::from_pairs(pairs.iter().map(|(name, value)| (fold(name), fold(value))));
    assert_eq!(Ok(&options), typed_otherwise.as_ref());
    let names: BTreeSet<&str> = options.folded().map(|(name, _)| name).collect();
    assert_eq!(names.len(), options.len());
    let known: BTreeSet<(&str, &str)> = pairs.iter().copied().collect();
    assert!(options.iter().all(|pair| known.contains(&pair)));
}

/// The orders that a reference means are among those that it may mean.
fn reference(reference: &str, form: &ReferenceForm, known: &[&str]) {
    let candidates = form.candidates(reference);
    let may_be = |orders: &[&str]| {
        assert!(orders.iter().all(|order| candidates.contains(order)), "{reference:?}: {orders:?}");
        let different: BTreeSet<&&str> = orders.iter().collect();
        assert_eq!(different.len(), orders.len());
    };
    let of_known = form.orders(reference, |id| known.contains(&id));
    may_be(&of_known);
    assert!(of_known.iter().all(|order| known.contains(order)));
    // Each candidate by itself, so that no way of reading a reference hides another.
    for only in &candidates {
        let orders = form.orders(reference, |id| id == *only);
        may_be(&orders);
        assert!(orders.iter().all(|order| order == only));
    }
    may_be(&form.orders(reference, |id| id != form.cut(reference)));
    if form.is_plain(reference) {
        assert!(candidates.iter().all(|id| *id == form.cut(reference)), "{reference:?}: {candidates:?}");
    }
}

static FORMS: LazyLock<Vec<ReferenceForm>> = LazyLock::new(|| {
    let form = |prefix: &str, suffix: &str, pattern: &str| ReferenceForm {
        prefix: prefix.to_owned(),
        suffix: suffix.to_owned(),
        pattern: (!pattern.is_empty()).then(|| Regex::new(pattern).expect("a pattern")),
    };
    vec![
        form("", "", ""),
        form("KK-", "", ""),
        form("", "@kk", ""),
        form("a", "a", ""),
        form(" ", ";", ""),
        form("", "", r"order (?P<order>\d+)"),
        form("", "", r"(\d*)"),
        form("", "", "."),
        form("KK-", "/1", "^(?:BP/)?(.*)$"),
        form("", "", "a|(b)"),
    ]
});
