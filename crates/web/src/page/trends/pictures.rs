//! Which pictures the page of trends shows, made of the same view as its figures.
//!
//! Must not know SVG. Start reading at [`orders`].

use maud::{Markup, html};

use crate::page::plot::{Curve, Line, bars, curve, places, steps};
use crate::view::{CheckOverWeeks, DayRead, Of, SupplierOverWeeks, Trends, Week, check_name};

/// Where the figures of a picture are, for whoever does not see it.
const BELOW: &str = "The figures stand in a table below.";

/// Orders by day.
pub fn orders(view: &Trends) -> Option<Markup> {
    let days = &view.days;
    let is_gap = |place: usize| days[place].read == DayRead::NotRead;
    let values: Vec<Option<f64>> =
        days.iter().map(|day| (day.read != DayRead::NotRead).then_some(day.orders as f64)).collect();
    let names: Vec<String> = days.iter().map(|day| short(&day.day)).collect();
    let most = values.iter().flatten().fold(0.0_f64, |most, value| most.max(*value));
    let last = values.iter().flatten().next_back()?;
    let named = steps(most);
    curve(&Curve {
        key: "orders",
        title: "Orders by day".to_owned(),
        told: format!(
            "From {} to {}: at most {most} orders a day, {last} on the last. {BELOW}",
            names.first()?,
            names.last()?
        ),
        lines: vec![Line {
            name: format!("{last} orders"),
            hollow: (0..days.len()).filter(|place| days[*place].read == DayRead::Later).collect(),
            values,
        }],
        gaps: (0..days.len()).map(is_gap).collect(),
        heights: 0.0..named.last().copied()?,
        named: named.into_iter().map(|height| (height, height.to_string())).collect(),
        places: places(&names),
    })
}

/// A share of the orders of a week, by what its line is called.
pub type ShareOfWeek = (&'static str, fn(&Week) -> &Of);

/// Two shares of the orders of each week.
pub fn shares(view: &Trends, key: &str, title: &str, [one, other]: [ShareOfWeek; 2]) -> Option<Markup> {
    let of = |(name, share): ShareOfWeek| {
        let values: Vec<Option<f64>> = view.by_week.iter().map(|week| exact(share(week))).collect();
        let said = view.by_week.iter().rev().find_map(|week| share(week).per_cent)?;
        Some(Line { name: format!("{name} {said} %"), values, hollow: Vec::new() })
    };
    let lines: Vec<Line> = [of(one), of(other)].into_iter().flatten().collect();
    let least = lines
        .iter()
        .flat_map(|line| &line.values)
        .flatten()
        .fold(100.0_f64, |least, value| least.min(*value));
    let floor = ((least / 10.0).floor() * 10.0).clamp(0.0, 90.0);
    let told: Vec<&str> = lines.iter().map(|line| line.name.as_str()).collect();
    let named = [floor, f64::midpoint(floor, 100.0), 100.0];
    curve(&Curve {
        key,
        title: title.to_owned(),
        told: format!("By week; in the last one {}. The scale begins at {floor} %. {BELOW}", told.join(", ")),
        lines,
        gaps: Vec::new(),
        heights: floor..100.0,
        named: named.map(|height| (height, format!("{height} %"))).into(),
        places: places(&weeks(view)),
    })
}

fn exact(of: &Of) -> Option<f64> {
    (of.of > 0).then(|| of.good as f64 * 100.0 / of.of as f64)
}

/// How long putting right took, by week.
pub fn repairs(view: &Trends) -> Option<Markup> {
    let minutes: Vec<Option<f64>> = view
        .by_week
        .iter()
        .map(|week| week.went.median_repair_minutes.map(|minutes| minutes as f64))
        .collect();
    let of = spans(&[&minutes]);
    let values = of.of(&minutes);
    let last = values.iter().flatten().next_back()?;
    curve(&Curve {
        key: "repairs",
        title: "Half of what was put right, within how long".to_owned(),
        told: format!("By week; in the last one within {} {}. {BELOW}", tenths(*last), of.unit),
        lines: vec![Line {
            name: format!("half: {} {}", tenths(*last), of.short),
            values,
            hollow: Vec::new(),
        }],
        gaps: Vec::new(),
        heights: 0.0..of.named.last()?.0,
        places: places(&weeks(view)),
        named: of.named,
    })
}

/// How long a supplier took, by week.
pub fn supplier(view: &Trends, key: &str, supplier: &SupplierOverWeeks) -> Option<Markup> {
    let minutes = |hours: Option<u32>| hours.map(|hours| f64::from(hours) * 60.0);
    let half: Vec<Option<f64>> = supplier.weeks.iter().map(|week| minutes(week.half_within_hours)).collect();
    let nine: Vec<Option<f64>> =
        supplier.weeks.iter().map(|week| minutes(week.nine_of_ten_within_hours)).collect();
    let of = spans(&[&half, &nine]);
    let line = |name: &str, minutes: &[Option<f64>]| {
        let values = of.of(minutes);
        let last = values.iter().flatten().next_back()?;
        Some(Line { name: format!("{name}: {} {}", tenths(*last), of.short), values, hollow: Vec::new() })
    };
    let lines: Vec<Line> = [line("half", &half), line("9 in 10", &nine)].into_iter().flatten().collect();
    let told: Vec<&str> = lines.iter().map(|line| line.name.as_str()).collect();
    let is_gap = |week: &crate::view::Pace| !week.is_empty() && week.nine_of_ten_within_hours.is_none();
    let gaps: Vec<bool> = supplier.weeks.iter().map(is_gap).collect();
    let open = if gaps.contains(&true) { " Weeks of which too much is still open are shaded." } else { "" };
    curve(&Curve {
        key,
        title: "Until the first parcel, by week".to_owned(),
        told: format!("In the last week that is known, {}.{open} {BELOW}", told.join(", ")),
        lines,
        gaps,
        heights: 0.0..of.named.last()?.0,
        places: places(&weeks(view)),
        named: of.named,
    })
}

/// What each check found, one row of bars below the other, all to one scale.
pub fn findings(view: &Trends) -> Markup {
    let most = view.checks.iter().flat_map(|check| &check.found).flatten().copied().max().unwrap_or(0);
    let row = |check: &CheckOverWeeks| {
        let told: Vec<String> = check
            .found
            .iter()
            .map(|found| found.map_or_else(|| "not watched".to_owned(), |found| found.to_string()))
            .collect();
        let key = format!("found-{}", check.check.word());
        let title = format!("{} by week", check_name(check.check.word()));
        bars(
            &key,
            &title,
            &format!("From the oldest week to the last: {}.", told.join(", ")),
            &check.found,
            most,
        )
    };
    html! {
        ul.found-rows {
            @for check in &view.checks {
                li {
                    span.check { (check_name(check.check.word())) }
                    @if let Some(row) = row(check) { (row) }
                    span { b { (check.in_all) } }
                }
            }
        }
        p.small { "Each bar is a week, the last one ends with yesterday; the highest is " (most) "." }
    }
}

/// Rounded up, as in the table: nobody is told to be quicker than they were.
fn tenths(value: f64) -> String {
    format!("{:.1}", (value * 10.0 - 1e-9).ceil() / 10.0)
}

/// Spans in a unit that fits them.
struct Spans {
    unit: &'static str,
    short: &'static str,
    minutes: f64,
    named: Vec<(f64, String)>,
}

impl Spans {
    fn of(&self, minutes: &[Option<f64>]) -> Vec<Option<f64>> {
        minutes.iter().map(|value| value.map(|value| value / self.minutes)).collect()
    }
}

fn spans(all: &[&[Option<f64>]]) -> Spans {
    let most =
        all.iter().flat_map(|values| values.iter()).flatten().fold(0.0_f64, |most, value| most.max(*value));
    let (unit, short, minutes) = match most {
        ..180.0 => ("minutes", "min", 1.0),
        ..2_880.0 => ("hours", "h", 60.0),
        _ => ("days", "d", 1_440.0),
    };
    let named =
        steps(most / minutes).into_iter().map(|height| (height, format!("{height} {short}"))).collect();
    Spans { unit, short, minutes, named }
}

/// What weeks are called below a picture: by their last day.
fn weeks(view: &Trends) -> Vec<String> {
    view.by_week.iter().map(|week| short(&week.to)).collect()
}

/// `27 Nov` of `2026-11-27`.
fn short(day: &str) -> String {
    day.parse::<chrono::NaiveDate>().map_or_else(|_| day.to_owned(), |day| day.format("%-d %b").to_string())
}
