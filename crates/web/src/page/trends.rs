//! How it has gone over the weeks: orders, findings, fill rates, repairs, and how long suppliers took.
//!
//! Beside each picture stand its figures, so that nothing needs the picture. Must not know how anything is counted. Start
//! reading at [`show`]; `pictures` says what is drawn.

mod pictures;

use axum::http::Method;
use digest::compose::SHARES_MEAN;
use digest::count;
use maud::{Markup, Render, html};

use super::frame::Page;
use crate::asked::{Parameter, Takes};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{DayRead, OrdersOfDay, Pace, SupplierOverWeeks, Trends, Week, check_name, trends};
use crate::visit::Visit;

/// Over how many weeks can be looked, as it is asked for. The second is usual.
const WEEKS: [&str; 3] = ["4", "12", "52"];

const ASKED: &[Parameter] = &[
    Parameter::may("shop", Takes::Text(200), "only of this shop"),
    Parameter::may(
        "weeks",
        Takes::Word(|| WEEKS.to_vec()),
        "over how many weeks, which end with yesterday; 12 where it is not said",
    ),
];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::page("/trends", show).with(ASKED),
        Route::json(
            Method::GET,
            "/api/trends",
            "Orders by day; findings, fill rates, repairs and how long suppliers took by week.",
            get,
        )
        .with(ASKED)
        .answers::<Trends>(),
    ]
}

async fn view(visit: &Visit) -> Result<Trends, Problem> {
    let shop = visit.asked.text("shop").map(|_| visit.shop()).transpose()?;
    let counted = visit.desk().counted().await?;
    let (shops, now, weeks) = (visit.desk().shops(), visit.now(), asked_weeks(visit));
    let made = tokio::task::spawn_blocking(move || trends(&shops, &counted, shop.as_ref(), weeks, now)).await;
    made.map_err(|_| crate::desk::Fault::Trouble { why: "the figures could not be made".to_owned() }.into())
}

fn asked_weeks(visit: &Visit) -> u32 {
    visit.asked.of("weeks").unwrap_or(12)
}

fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&view(&visit).await?) })
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let view = view(&visit).await?;
        let shops = visit.desk().shops();
        let body = html! {
            h1 { "Trends" @if let Some(shop) = &view.shop { " of " bdi { (shop) } } }
            nav.ranges aria-label="Over how long" {
                @for weeks in WEEKS {
                    @let is_shown = weeks == view.weeks.to_string();
                    a href=(format!("/trends{}", visit.asked.address(&[("weeks", Some(weeks))])))
                        aria-current=[is_shown.then_some("true")] { (weeks) " weeks" }
                }
            }
            @if shops.len() > 1 {
                nav.ranges aria-label="Of which shop" {
                    a href=(format!("/trends{}", visit.asked.address(&[("shop", None)])))
                        aria-current=[view.shop.is_none().then_some("true")] { "All shops" }
                    @for shop in &shops {
                        @let name = shop.id.as_str();
                        a href=(format!("/trends{}", visit.asked.address(&[("shop", Some(name))])))
                            aria-current=[(view.shop.as_deref() == Some(name)).then_some("true")] { bdi { (name) } }
                    }
                }
            }
            div #trends data-live { (all(&view)) }
        };
        let title = "Trends".to_owned();
        Ok(Reply::Page(Box::new(Page { title, place: Some("/trends"), is_live: true, body })))
    })
}

fn all(view: &Trends) -> Markup {
    html! {
        @if !view.not_counted.is_empty() {
            div.doubt {
                p {
                    strong { "Not all is known: " }
                    @if view.counted.is_none() {
                        "nothing has been counted yet. That is done after each round; look again in a moment."
                    } @else {
                        @for (place, shop) in view.not_counted.iter().enumerate() { @if place > 0 { ", " } bdi { (shop) } }
                        " has not been counted yet, and is not in the figures."
                    }
                }
            }
        }
        @if let Some(counted) = &view.counted {
            @if view.days.is_empty() {
                div.empty {
                    p.lead { "No whole day has passed of which an order is known." }
                    p { "Come back tomorrow: each figure here is of whole days, up to yesterday." (today(view)) }
                }
            } @else {
                p.lead { (in_a_sentence(view)) }
                p.small {
                    "Counted " (counted) ". Days are those of "
                    @match view.zone { Some(zone) => { (zone) " time" } None => "each shop's own zone" }
                    "; a week is seven of them, and the last one ends with yesterday, as in the digest." (today(view))
                }
                (orders(view)) (rates(view)) (repairs(view)) (findings(view)) (suppliers(view))
            }
        }
    }
}

fn today(view: &Trends) -> Markup {
    html! { " Today so far: " (count(view.today_so_far, "order", "orders")) "." }
}

fn in_a_sentence(view: &Trends) -> String {
    let orders: u64 = view.days.iter().map(|day| day.orders).sum();
    let mut said = format!(
        "{} in {} up to yesterday",
        count(orders, "order", "orders"),
        count(view.days.len() as u64, "day", "days")
    );
    if let Some(per_cent) = view.in_all.orders_in_full.per_cent {
        said += &format!("; {per_cent} % of those that count are in full");
    }
    said + "."
}

/// A thing that is told: its heading, what it means, its picture, and its figures.
fn section(key: &str, heading: &str, means: &Markup, picture: Option<&Markup>, figures: &Markup) -> Markup {
    let all = html! {
        (means)
        @if let Some(picture) = picture { (picture) } @else { (too_little()) }
        (details(key, heading, picture.is_none(), figures))
    };
    framed(key, heading, &all)
}

/// Where there is no picture.
fn too_little() -> Markup {
    html! { p.small { "Too little is known yet for a picture: it needs two points. The figures are below." } }
}

/// The figures as a table: folded away beside a picture, open where there is none.
fn details(key: &str, of: &str, is_open: bool, figures: &Markup) -> Markup {
    html! {
        details data-keep=(format!("{key}-figures")) open[is_open] {
            summary { "The figures" }
            div.grid-box role="region" tabindex="0" aria-label=(format!("The figures: {of}")) { table.figures { (figures) } }
        }
    }
}

fn orders(view: &Trends) -> Markup {
    let lacking = view.days.iter().filter(|day| day.read == DayRead::NotRead).count() as u64;
    let later = view.days.iter().filter(|day| day.read == DayRead::Later).count() as u64;
    let means = html! {
        p.small {
            "When they were placed, also those that are cancelled or not paid."
            @if lacking > 0 {
                " Of " (count(lacking, "day", "days")) " not all is known: the storefront has not been read that far; there the \
                 line is broken."
            }
            @if later > 0 {
                " On " (count(later, "day", "days")) " the storefront did not answer; these orders were read later."
            }
        }
    };
    let figures = html! {
        tr {
            th scope="col" { "Day" } th scope="col" { "Orders" } th scope="col" { "Cancelled or unpaid" }
            th scope="col" { "Read" }
        }
        @for day in view.days.iter().rev() {
            tr {
                th scope="row" { (day.said) } td.number { (day.orders) } td.number { (day.not_live) } td { (read(day)) }
            }
        }
    };
    section("orders", "Orders by day", &means, pictures::orders(view).as_ref(), &figures)
}

fn read(day: &OrdersOfDay) -> &'static str {
    match day.read {
        DayRead::Whole => "that day",
        DayRead::Later => "later",
        DayRead::NotRead => "not to its end",
    }
}

/// The rows of a table of weeks, the newest first, and one of all together.
fn by_week(
    view: &Trends,
    head: &[impl Render],
    row: impl Fn(usize, &Week) -> Markup,
    in_all: &Markup,
) -> Markup {
    html! {
        tr { th scope="col" { "Week" } @for name in head { th scope="col" { (name) } } }
        tr.sum { th scope="row" { "All together" } (in_all) }
        @for (place, week) in view.by_week.iter().enumerate().rev() {
            tr { th scope="row" { (week.said) } (row(place, week)) }
        }
    }
}

fn rates(view: &Trends) -> Markup {
    let names = view.in_all.shares().map(|(name, _)| name);
    if view.in_all.orders_in_full.of == 0 {
        let means = html! {
            p { "None of these orders counts yet: those that are cancelled, unpaid, or from long before everyline first looked, do not." }
        };
        return framed("rates", "Orders in full", &means);
    }
    let means = html! {
        p.small { (SHARES_MEAN) " By the week in which the order was placed, as things stand now." }
        ul.sums {
            @for (name, of) in view.in_all.shares() { li { (name) ": " b { (of.said) } } }
        }
    };
    let row = |_, week: &Week| {
        html! { @for (_, of) in week.went.shares() { td.number { (of.said) } } }
    };
    let in_all = html! { @for (_, of) in view.in_all.shares() { td.number { (of.said) } } };
    let full: [pictures::ShareOfWeek; 2] =
        [("orders", |week| &week.went.orders_in_full), ("lines", |week| &week.went.lines_in_full)];
    let right: [pictures::ShareOfWeek; 2] =
        [("no fault", |week| &week.went.perfect_orders), ("on time", |week| &week.went.on_time_in_full)];
    let drawn = [
        pictures::shares(view, "full", "Orders and order lines in full, by week", full),
        pictures::shares(view, "right", "Orders without a fault, and on time and in full, by week", right),
    ];
    let drawn: Vec<Markup> = drawn.into_iter().flatten().collect();
    let picture = (!drawn.is_empty()).then(|| html! { div.pair { @for one in &drawn { (one) } } });
    section("rates", "Orders in full", &means, picture.as_ref(), &by_week(view, &names, row, &in_all))
}

/// A thing that is told, under its heading.
fn framed(key: &str, heading: &str, all: &Markup) -> Markup {
    html! {
        section.trend aria-labelledby=(format!("{key}-of")) { h2 id=(format!("{key}-of")) { (heading) } (all) }
    }
}

fn repairs(view: &Trends) -> Markup {
    let Some(median) = &view.in_all.median_repair else {
        return framed("repairs", "Put right", &html! { p { "Nothing had to be put right." } });
    };
    let means = html! {
        p.small {
            "Findings about orders that are gone: from when each was found until its cause was. "
            @if view.in_all.repairs == 1 { "One in these weeks, after " (median) "." }
            @else { (view.in_all.repairs) " in these weeks, half of them within " (median) "." }
        }
    };
    let cells = |repairs: u64, median: Option<&crate::view::Words>| {
        html! { td.number { (repairs) } td.number { @match median { Some(median) => (median), None => "none" } } }
    };
    let row = |_, week: &Week| cells(week.went.repairs, week.went.median_repair.as_ref());
    let in_all = cells(view.in_all.repairs, Some(median));
    let figures = by_week(view, &["Put right", "Half of them within"], row, &in_all);
    section("repairs", "Put right", &means, pictures::repairs(view).as_ref(), &figures)
}

fn findings(view: &Trends) -> Markup {
    let is_ever_watched = view.by_week.iter().any(|week| week.found.is_some());
    if view.checks.is_empty() {
        let words = if is_ever_watched {
            "Nothing was found in these weeks."
        } else {
            "Nothing was looked for in these weeks yet: everyline has not watched for a whole day."
        };
        return framed("findings", "Found", &html! { p { (words) } });
    }
    let before = view.by_week.iter().filter(|week| week.found.is_none()).count() as u64;
    let means = html! {
        p.small {
            "Each finding in the week in which it was found first."
            @if before > 0 { " " (count(before, "week is", "weeks are")) " from before everyline watched." }
        }
    };
    let names: Vec<String> = view.checks.iter().map(|check| check_name(check.check.word())).collect();
    let row = |place: usize, _: &Week| {
        html! {
            @for check in &view.checks {
                td.number {
                    @match check.found.get(place) { Some(Some(found)) => (found), _ => "not watched" }
                }
            }
        }
    };
    let in_all = html! { @for check in &view.checks { td.number { (check.in_all) } } };
    let rows = pictures::findings(view);
    section("findings", "Found", &means, Some(&rows), &by_week(view, &names, row, &in_all))
}

fn suppliers(view: &Trends) -> Markup {
    let all = html! {
            @if view.suppliers.is_empty() {
                p { "No supplier order was received in these weeks." }
            } @else {
                p.small {
                    "From when a supplier had the order until its first parcel went, in days of the calendar, by the week in \
                     which it had it. Orders that still wait are counted for as long as they have waited, so that a week is not \
                     made to look quick by what has not gone yet; where too many wait, it says so, and the picture is shaded."
                }
                @if (view.suppliers.len() as u64) < view.suppliers_in_all {
                    p.limit { "Showing " (view.suppliers.len()) " of " (view.suppliers_in_all) " suppliers." }
                }
                div.suppliers {
                    @for (place, supplier) in view.suppliers.iter().enumerate() { (supplier_of(view, place, supplier)) }
                }
            }
    };
    framed("suppliers", "How long suppliers took", &all)
}

fn supplier_of(view: &Trends, place: usize, supplier: &SupplierOverWeeks) -> Markup {
    let of = &supplier.in_all;
    let names = ["Half within", "Nine of ten within", "Gone", "Still open"];
    let row =
        |place: usize, _: &Week| html! { @if let Some(of) = supplier.weeks.get(place) { (sending(of)) } };
    let figures = by_week(view, &names, row, &sending(of));
    let key = format!("supplier-{place}");
    let picture = pictures::supplier(view, &key, supplier);
    html! {
        article.trend data-key=(format!("supplier-{}", supplier.supplier.plain())) {
            h3 { (supplier.supplier) }
            p.facts {
                span { "half within " b { (days(of, of.half_within_hours)) } }
                span { "nine of ten within " b { (days(of, of.nine_of_ten_within_hours)) } }
                span { (of.gone) " gone, " b { (of.open) " still open" } }
                @if of.undated > 0 { span { "of " (of.undated) " it does not say when they went" } }
            }
            @if let Some(picture) = &picture { (picture) } @else { (too_little()) }
            (details(&key, &digest::clean(supplier.supplier.as_str()), picture.is_none(), &figures))
        }
    }
}

fn sending(of: &Pace) -> Markup {
    html! {
        td.number { (days(of, of.half_within_hours)) } td.number { (days(of, of.nine_of_ten_within_hours)) }
        td.number { (of.gone) } td.number { (of.open) }
    }
}

/// `2.5 days`; where it is not known, why.
fn days(of: &Pace, hours: Option<u32>) -> String {
    match hours {
        // Rounded up: nobody is promised what was not so.
        Some(hours) => {
            let tenths = (u64::from(hours) * 10).div_ceil(24);
            format!("{}.{} days", tenths / 10, tenths % 10)
        }
        None if of.is_empty() => "none".to_owned(),
        None if of.open == 0 => "not said".to_owned(),
        None => "not known yet".to_owned(),
    }
}
