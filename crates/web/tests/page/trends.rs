//! How it has gone: the page, its JSON, hostile names, little to show, several shops, and what cannot be asked.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{Days, NaiveDate, TimeDelta};
use model::Check;
use model::rates::{Rates, Share};
use model::waits::Waits;
use web::view::{Counted, CountedDay, DayRead};
use web::{Answer, Trends};

use crate::desk::{Browser, Got, Kitchen, now, shop};
use crate::samples::outcome;

impl Trends for Kitchen {
    fn counted(&self) -> Answer<'_, Vec<Arc<Counted>>> {
        Box::pin(async {
            web::Desk::is_there(self).await?;
            Ok(self.counted.lock().unwrap().clone())
        })
    }
}

/// A day on which nothing happened.
fn quiet(day: NaiveDate) -> CountedDay {
    CountedDay {
        day,
        orders: 0,
        not_live: 0,
        rates: Rates::default(),
        found: BTreeMap::new(),
        waits: BTreeMap::new(),
        read: DayRead::Whole,
    }
}

fn share(good: u64, of: u64) -> Share {
    Share { good, of }
}

/// So many days, each with as many orders as its place from the end and a little of everything else; the supplier's name is
/// this.
pub fn counted(name: &str, days: u64, supplier: &str) -> Counted {
    let today = now().with_timezone(&crate::desk::ZONE).date_naive();
    let day = |back: u64| {
        let mut waits = Waits::default();
        waits.add_over(TimeDelta::hours(30));
        waits.add_over(TimeDelta::hours(50));
        if back < 3 {
            waits.add_open(TimeDelta::hours(24));
        }
        CountedDay {
            orders: back,
            not_live: u64::from(back == 2),
            rates: Rates {
                orders_in_full: share(back - 1, back),
                lines_in_full: share(2 * back - 1, 2 * back),
                perfect: share(back - 1, back),
                on_time_in_full: share(0, 0),
                repairs: vec![TimeDelta::minutes(60 * i64::try_from(back).unwrap())],
            },
            found: BTreeMap::from([(Check::PartSent, 1), (Check::Late, u64::from(back == 9))]),
            waits: BTreeMap::from([(supplier.to_owned(), waits)]),
            ..quiet(today - Days::new(back))
        }
    };
    Counted {
        shop: shop(name),
        at: now(),
        watched_from: Some(today - Days::new(days)),
        days: (1..=days).rev().map(day).collect(),
        today,
        today_so_far: 7,
    }
}

fn with(counted: Vec<Counted>) -> Browser {
    let names = counted.iter().map(|one| one.shop.id.to_string()).collect::<Vec<_>>();
    let names = if names.is_empty() { vec!["kitchen".to_owned()] } else { names };
    let kitchen = Kitchen::of(names.iter().map(|name| (name.as_str(), outcome(Vec::new()))).collect());
    *kitchen.counted.lock().unwrap() = counted.into_iter().map(Arc::new).collect();
    Browser::of(kitchen)
}

fn says(got: &Got, all: &[&str]) {
    assert_eq!(got.status, 200);
    let text = got.text();
    for said in all {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
}

#[tokio::test]
async fn the_page_tells_orders_shares_repairs_findings_and_suppliers_with_their_figures() {
    let browser = with(vec![counted("kitchen", 28, "alder-print")]);
    let page = browser.get("/trends?weeks=4").await;
    says(
        &page,
        &[
            // 1 + 2 + … + 28 orders, of each day all but one in full.
            "406 orders in 28 days up to yesterday; 93 % of those that count are in full.",
            "Today so far: 7 orders.",
            "Orders in full: 378 of 406, 93 %",
            "Order lines in full: 784 of 812, 96 %",
            "On time and in full: none yet",
            "28 in these weeks, half of them within 14 h 30 min.",
            "part sent",
            "late",
            "2 still open",
            "Half within",
            "alder-print",
        ],
    );
    assert!(
        page.body.contains("<a href=\"/trends?weeks=4\" aria-current=\"true\">4 weeks</a>"),
        "{}",
        page.body
    );
    let view = browser.get("/api/trends?weeks=4").await.json();
    assert_eq!((view["weeks"].as_u64(), view["days"].as_array().unwrap().len()), (Some(4), 28));
    assert_eq!(view["by_week"].as_array().unwrap().len(), 4);
    assert_eq!(view["by_week"][3]["went"]["orders_in_full"]["of"], 28, "1 + 2 + … + 7");
    assert_eq!(view["by_week"][3]["went"]["median_repair_minutes"], 240);
    assert_eq!(view["in_all"]["orders_in_full"]["said"], "378 of 406, 93 %");
    assert_eq!(view["checks"][0]["check"], "part-sent");
    assert_eq!(view["checks"][0]["found"], serde_json::json!([7, 7, 7, 7]));
    assert_eq!(view["checks"][1]["found"], serde_json::json!([0, 0, 1, 0]));
    let sending = &view["suppliers"][0]["in_all"];
    assert_eq!((sending["gone"].as_u64(), sending["open"].as_u64()), (Some(56), Some(2)));
    // Of the two that wait nothing is seen beyond 24 hours, so 28 of the 56 others went within 30.
    assert_eq!(
        (&sending["half_within_hours"], &sending["nine_of_ten_within_hours"]),
        (&30.into(), &50.into())
    );
}

#[tokio::test]
async fn a_week_is_seven_days_that_end_with_yesterday_and_the_first_may_be_short() {
    let view = with(vec![counted("kitchen", 10, "alder-print")]).get("/api/trends").await.json();
    let weeks = view["by_week"].as_array().unwrap();
    let days: Vec<(&str, &str, u64)> = weeks
        .iter()
        .map(|week| {
            (week["from"].as_str().unwrap(), week["to"].as_str().unwrap(), week["days"].as_u64().unwrap())
        })
        .collect();
    assert_eq!(days, [("2026-11-15", "2026-11-17", 3), ("2026-11-18", "2026-11-24", 7)]);
    assert_eq!(view["weeks"], 12, "usual");
    assert_eq!(weeks[1]["said"], "18 Nov to 24 Nov");
}

#[tokio::test]
async fn little_or_nothing_is_said_in_words_instead_of_drawn() {
    let nothing = with(Vec::new()).get("/trends").await;
    says(&nothing, &["nothing has been counted yet"]);
    assert!(!nothing.body.contains("<section class=\"trend\""));
    let young = Counted { days: Vec::new(), ..counted("kitchen", 1, "alder-print") };
    says(&with(vec![young]).get("/trends").await, &["No whole day has passed", "Today so far: 7 orders."]);
    let day = quiet(NaiveDate::from_ymd_opt(2026, 11, 24).unwrap());
    let idle = Counted { days: vec![day], watched_from: None, ..counted("kitchen", 1, "alder-print") };
    let page = with(vec![idle]).get("/trends").await;
    says(
        &page,
        &[
            "0 orders in 1 day up to yesterday.",
            "None of these orders counts yet",
            "Nothing had to be put right.",
            "everyline has not watched for a whole day",
            "No supplier order was received in these weeks.",
        ],
    );
}

#[tokio::test]
async fn days_that_are_not_known_are_gaps_and_weeks_before_the_watch_are_not_zero() {
    let mut counted = counted("kitchen", 21, "alder-print");
    counted.days[20].read = DayRead::NotRead;
    counted.days[19].read = DayRead::Later;
    counted.days.iter_mut().take(14).for_each(|day| day.found.clear());
    counted.watched_from = Some(counted.days[14].day);
    let browser = with(vec![counted]);
    says(
        &browser.get("/trends?weeks=4").await,
        &[
            "Of 1 day not all is known",
            "On 1 day the storefront did not answer",
            "2 weeks are from before everyline watched",
            "not to its end",
        ],
    );
    let view = browser.get("/api/trends?weeks=4").await.json();
    assert_eq!(view["checks"][0]["found"], serde_json::json!([null, null, 7]));
    let weeks: Vec<_> = view["by_week"].as_array().unwrap().iter().map(|week| &week["found"]).collect();
    assert_eq!(weeks, [&serde_json::Value::Null, &serde_json::Value::Null, &7.into()]);
    assert_eq!((&view["days"][19]["read"], &view["days"][20]["read"]), (&"later".into(), &"not-read".into()));
}

#[tokio::test]
async fn a_supplier_of_which_too_much_waits_is_not_told_as_quick() {
    let mut counted = counted("kitchen", 7, "alder-print");
    for day in &mut counted.days {
        let mut waits = Waits::default();
        waits.add_over(TimeDelta::hours(10));
        (0..3).for_each(|_| waits.add_open(TimeDelta::hours(40)));
        waits.undated = 1;
        day.waits = BTreeMap::from([("alder-print".to_owned(), waits)]);
    }
    let browser = with(vec![counted]);
    says(
        &browser.get("/trends").await,
        &["half within not known yet", "21 still open", "of 7 it does not say when"],
    );
    let view = browser.get("/api/trends").await.json();
    let sending = &view["suppliers"][0]["in_all"];
    assert_eq!(
        (&sending["half_within_hours"], sending["open"].as_u64()),
        (&serde_json::Value::Null, Some(21))
    );
}

#[tokio::test]
async fn hostile_names_are_harmless() {
    let hostile = "</main><script>alert(1)</script>\u{202e}\u{1b}[2J\"' style=\"x";
    let page = with(vec![counted("kitchen", 28, hostile)]).get("/trends").await;
    assert_eq!(page.body.matches("<script").count(), 1);
    assert_eq!(page.body.matches("</main>").count(), 1);
    assert!(
        !page.body.contains('\u{202e}') && !page.body.contains('\u{1b}') && !page.body.contains(" style=\"")
    );
}

#[tokio::test]
async fn several_shops_are_told_together_or_one_by_one() {
    let browser = with(vec![counted("anchor", 14, "alder-print"), counted("kitchen", 7, "birch-works")]);
    let all = browser.get("/api/trends").await.json();
    assert_eq!((&all["shop"], all["days"].as_array().unwrap().len()), (&serde_json::Value::Null, 14));
    assert_eq!(all["days"][13]["orders"], 2, "one of each");
    assert_eq!(all["by_week"][1]["went"]["orders_in_full"]["of"], 56);
    assert_eq!(all["suppliers"].as_array().unwrap().len(), 2);
    let one = browser.get("/api/trends?shop=kitchen").await.json();
    assert_eq!((&one["shop"], one["days"].as_array().unwrap().len()), (&"kitchen".into(), 7));
    assert_eq!(one["suppliers"][0]["supplier"], "birch-works");
    let page = browser.get("/trends?shop=kitchen&weeks=4").await;
    says(&page, &["Trends of kitchen", "All shops"]);
    assert!(page.body.contains("href=\"/trends?shop=kitchen&amp;weeks=52\""), "{}", page.body);
    browser.desk.counted.lock().unwrap().pop();
    says(&browser.get("/trends").await, &["kitchen has not been counted yet, and is not in the figures."]);
}

#[tokio::test]
async fn what_cannot_be_asked_is_refused() {
    let browser = with(vec![counted("kitchen", 28, "alder-print")]);
    let wrong = ["weeks=5", "weeks=012", "weeks=4&weeks=12", "shop=%00", "week=4"];
    for (asked, status) in wrong.map(|asked| (asked, 400)).into_iter().chain([("shop=nobody", 404)]) {
        assert_eq!(browser.get(&format!("/trends?{asked}")).await.status, status, "{asked}");
        assert_eq!(browser.get(&format!("/api/trends?{asked}")).await.status, status, "{asked}");
    }
    let broken = Browser::of(Kitchen { is_broken: true, ..Kitchen::with(Vec::new()) });
    assert_eq!(broken.get("/trends").await.status, 500);
}

/// A year of a shop that grows, with a sale in November, days that were not read, and a supplier that became slow.
fn a_year() -> Counted {
    let mut year = counted("kitchen", 364, "alder-print");
    for (place, day) in year.days.iter_mut().enumerate() {
        let number = u64::try_from(place).unwrap();
        let chance = |most: u64| (number * 7_919 + number * number * 31) % most;
        let weekly = [6, 5, 5, 6, 8, 12, 10][place % 7];
        let sale = if place > 345 { (place as u64 - 345) * 3 } else { 0 };
        let orders = 8 + number / 20 + weekly + chance(9) + sale;
        day.orders = orders;
        day.not_live = chance(3);
        let short = u64::from(chance(5) == 0) + u64::from(sale > 30);
        day.rates = Rates {
            orders_in_full: share(orders - short, orders),
            lines_in_full: share(2 * orders - short, 2 * orders),
            perfect: share(orders - short - chance(2), orders),
            on_time_in_full: share(orders - short - chance(3), orders),
            repairs: (0..short)
                .map(|one| TimeDelta::minutes(i64::try_from(40 + 35 * chance(9) + one).unwrap()))
                .collect(),
        };
        day.found = [
            (Check::PartSent, short),
            (Check::Late, u64::from(chance(11) == 0)),
            (Check::WrongVariant, u64::from(chance(17) == 0)),
            (Check::Held, u64::from(chance(29) == 0)),
        ]
        .into_iter()
        .filter(|(_, found)| *found > 0)
        .collect();
        day.waits.clear();
        for (supplier, usual, slow) in [("alder-print", 40, 0), ("birch-works", 60, number / 5)] {
            let mut waits = Waits::default();
            for one in 0..orders / 2 {
                let hours = i64::try_from(usual + slow + (one * 37 + chance(50)) % 70).unwrap();
                let seen = (364 - i64::try_from(place).unwrap()) * 24 - 12;
                match hours <= seen {
                    true => waits.add_over(TimeDelta::hours(hours)),
                    false => waits.add_open(TimeDelta::hours(seen)),
                }
            }
            day.waits.insert(supplier.to_owned(), waits);
        }
        if (200..206).contains(&place) {
            (day.read, day.orders) = (DayRead::NotRead, 0);
        }
    }
    year.watched_from = Some(year.days[20].day);
    year.days.iter_mut().take(20).for_each(|day| day.found.clear());
    year
}

/// Also writes the pages to look at, into the folder for files of tests.
#[tokio::test]
async fn a_year_is_drawn_with_what_is_not_known_left_open() {
    let browser = with(vec![a_year()]);
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("trends");
    std::fs::create_dir_all(&folder).unwrap();
    for weeks in ["4", "12", "52"] {
        let page = browser.get(&format!("/trends?weeks={weeks}")).await;
        assert_eq!(page.status, 200);
        let style = browser
            .get(page.body.split("stylesheet\" href=\"").nth(1).unwrap().split('"').next().unwrap())
            .await;
        let look = page
            .body
            .replace("<link rel=\"stylesheet\"", &format!("<style>{}</style><link rel=\"none\"", style.body));
        std::fs::write(folder.join(format!("{weeks}.html")), look).unwrap();
        let svgs = page.body.matches("<svg class=\"plot\"").count();
        assert_eq!(svgs, 6, "orders, two of shares, repairs, two suppliers");
        assert_eq!(page.body.matches("<svg class=\"bars\"").count(), 4);
        assert_eq!(page.body.matches("role=\"img\"").count(), 10);
        for svg in page.body.split("<svg class=\"plot\"").skip(1) {
            let (svg, _) = svg.split_once("</svg>").unwrap();
            assert!(svg.contains("<title ") && svg.contains("<desc "), "{svg}");
            // No letter stands outside the picture: 0.6 of their height is as wide as letters are.
            for text in svg.split("<text ").skip(1) {
                let number = |name: &str| -> f64 {
                    text.split(&format!(" {name}=\""))
                        .nth(1)
                        .or_else(|| text.split(&format!("{name}=\"")).nth(1))
                        .unwrap()
                        .split('"')
                        .next()
                        .unwrap()
                        .parse()
                        .unwrap()
                };
                let said = text.split(">\n").nth(1).unwrap().split('\n').next().unwrap();
                let width = said.chars().count() as f64 * 34.0 * 0.6;
                let x = number("x");
                let (from, to) = if text.contains("text-anchor=\"end\"") {
                    (x - width, x)
                } else if text.contains("text-anchor=\"middle\"") {
                    (x - width / 2.0, x + width / 2.0)
                } else {
                    (x, x + width)
                };
                assert!(from >= 0.0 && to <= 1_080.0, "{said} stands from {from} to {to}");
            }
        }
    }
    let page = browser.get("/trends?weeks=52").await;
    // The days that were not read are a band, and the line is in two pieces.
    assert_eq!(page.body.matches("fill=\"#000007\"").count(), 6 + gaps_of_suppliers(&page.body));
    assert!(page.text().contains("Of 6 days not all is known"));
    assert!(page.text().contains("2 weeks are from before everyline watched"));
}

/// Bands of weeks in the pictures of suppliers.
fn gaps_of_suppliers(page: &str) -> usize {
    page.split("<svg class=\"plot\"").skip(5).map(|svg| svg.matches("fill=\"#000007\"").count()).sum()
}
