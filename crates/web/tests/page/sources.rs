//! How each source is read, and what is to be sent.

use digest::Clock;
use web::view::{
    DayOfAsking, DayState, Moment, Outbox, SourceRequest, Sources as View, SourcesOfShop, Undelivered, Words,
};
use web::{Answer, Sources};

use crate::desk::{Browser, Kitchen, ZONE, now};

impl Sources for Kitchen {
    fn sources(&self) -> Answer<'_, View> {
        Box::pin(async {
            web::Desk::is_there(self).await?;
            Ok(self.sources.lock().unwrap().clone())
        })
    }
}

/// No source at all.
pub fn none() -> View {
    View { shops: Vec::new(), outbox: Outbox::default() }
}

fn moment() -> Moment {
    Moment::new(now(), &Clock::of_a_reader(ZONE, now()))
}

fn request(name: &str, text: &str, is_behind: bool) -> SourceRequest {
    let day = |day: &str, state, asked, answered, records, gap_hours| DayOfAsking {
        day: day.to_owned(),
        said: Words::ours(day),
        state,
        asked,
        answered,
        records,
        gap_hours,
    };
    SourceRequest {
        source: name.to_owned(),
        request: "orders".to_owned(),
        is_folder: false,
        read_up_to: Some(moment()),
        behind_by: Some(Words::ours("3 min ago")),
        is_behind,
        stale_after: Words::ours("1 h"),
        asked: Some(moment()),
        next: Some(moment()),
        every: Words::ours("2 min"),
        trouble: is_behind.then(|| Words::outside(text)),
        failing_since: is_behind.then(moment),
        answered: is_behind.then(moment),
        counted_there: is_behind.then_some(41),
        counted_here: is_behind.then_some(40),
        days: vec![
            day("2026-11-22", DayState::NotAsked, 0, 0, 0, 0),
            day("2026-11-23", DayState::Whole, 720, 720, 112, 0),
            day("2026-11-24", DayState::Gaps, 600, 590, 90, 3),
            day("2026-11-25", DayState::Silent, 12, 0, 0, 2),
        ],
        records_a_day: Some(101),
    }
}

/// Two sources, one of which is behind for this reason, and two messages.
pub fn sources(text: &str) -> View {
    let message = |is_given_up: bool| Undelivered {
        what: Words::ours("the digest of Wed 25 Nov"),
        recipient: Words::outside(text),
        written: moment(),
        next: (!is_given_up).then(moment),
        given_up: is_given_up.then(moment),
        tries: 3,
        trouble: is_given_up.then(|| Words::outside(text)),
    };
    View {
        shops: vec![SourcesOfShop {
            shop: "kitchen".to_owned(),
            zone: "Europe/Berlin",
            compared: Some(moment()),
            as_of: Some(moment()),
            requests: vec![request("till", text, false), request("alder-print", text, true)],
            waits: web::view::WaitsToBeSent::default(),
        }],
        outbox: Outbox { has_recipients: true, messages: vec![message(false), message(true)], in_all: 5 },
    }
}

fn with(sources: View) -> Browser {
    let browser = Browser::of(Kitchen::with(Vec::new()));
    *browser.desk.sources.lock().unwrap() = sources;
    browser
}

#[tokio::test]
async fn a_source_says_up_to_when_it_was_read_what_is_the_matter_and_how_its_last_days_were() {
    let page = with(sources("it did not answer")).get("/sources").await;
    assert_eq!(page.status, 200);
    let text = page.text();
    for said in [
        "Not every source is read up to now: 1 of 2 requests are behind.",
        "till, orders",
        "Up to date read as it stood today 12:50, 3 min ago; it counts as up to date for 1 h",
        "Behind read as it stood",
        "about 101 new or changed rows a day",
        "every 2 min",
        "It fails since today 12:50: it did not answer.",
        "It counts 41 records itself, and 40 were read.",
        "2026-11-24: with gaps, 590 of 600 times answered, 90 rows",
        "2026-11-22: not asked",
        "Given up today 12:50: the digest of Wed 25 Nov to it did not answer",
        "Waits: the digest of Wed 25 Nov",
        "It was not tried yet.",
        "Showing 2 of 5.",
    ] {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
    // Each day has a shape of its own.
    for state in ["whole", "gaps", "silent", "not-asked"] {
        assert!(page.body.contains(&format!("<li class=\"{state}\"><svg")), "{state}");
    }
    assert!(page.body.contains("<title>1 behind - Sources - everyline</title>"), "{}", page.body);
}

#[tokio::test]
async fn without_sources_and_recipients_it_says_so() {
    let text = with(none()).get("/sources").await.text();
    assert!(text.contains("No source is declared."));
    assert!(text.contains("Nobody is told anything: no recipient is configured."));
    let quiet = View { outbox: Outbox { has_recipients: true, ..Outbox::default() }, ..none() };
    assert!(with(quiet).get("/sources").await.text().contains("Nothing waits, and nothing was given up"));
}

#[tokio::test]
async fn hostile_texts_of_a_source_are_harmless() {
    let hostile = "</main><script>alert(1)</script>\u{202e}\u{1b}[2J";
    let mut view = sources(hostile);
    view.shops[0].requests[0].source = hostile.to_owned();
    view.shops[0].requests[0].request = hostile.to_owned();
    let page = with(view).get("/sources").await;
    assert_eq!(page.body.matches("<script").count(), 1);
    assert_eq!(page.body.matches("</main>").count(), 1);
    assert!(!page.body.contains('\u{202e}') && !page.body.contains('\u{1b}'));
}

#[tokio::test]
async fn a_ledger_that_cannot_be_used_is_said() {
    let broken = Browser::of(Kitchen { is_broken: true, ..Kitchen::with(Vec::new()) });
    let page = broken.get("/sources").await;
    assert_eq!(page.status, 500);
    assert!(page.text().contains("The ledger could not be used."));
}
