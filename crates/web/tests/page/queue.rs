//! The queue: what it shows, how it is narrowed, and how something is set aside.

use model::finding::Reason;
use model::{Check, Finding};

use crate::desk::{Browser, Kitchen, round, source};
use crate::samples::{self, apron, busy_day, one_of_each, part_sent, tote};

fn findings(page: &str) -> usize {
    page.matches("<article").count()
}

#[tokio::test]
async fn the_queue_shows_what_is_to_be_done_by_time_left_with_the_words_of_the_digest() {
    let browser = Browser::of(Kitchen::of(vec![("kitchen", busy_day())]));
    let page = browser.get("/queue").await;
    assert_eq!(page.status, 200);
    assert_eq!(page.header("content-type"), "text/html; charset=utf-8");
    let text = page.text();
    let first = text.find("To put right now").unwrap();
    let groups = ["To put right now", "Past the cut-off", "To watch"].map(|group| text.rfind(group).unwrap());
    assert!(groups.is_sorted(), "{groups:?}");
    assert!(first < groups[0]);
    let busy = busy_day();
    let all: Vec<&Finding> = busy.findings.iter().collect();
    let things = digest::things(&all, samples::utc(samples::AS_OF), crate::desk::ZONE);
    assert_eq!(findings(&page.body), things.len());
    for thing in &things {
        for words in [&thing.head, &thing.todo] {
            let words = digest::clean(words.as_str()).replace('`', "");
            let shown = text.replace("&quot;", "\"").replace("&amp;", "&").replace("&lt;", "<");
            assert!(shown.contains(&words), "{words}\nis not in\n{shown}");
        }
    }
    assert!(text.contains("Showing 1 to"));
    assert!(text.contains("Nothing can be ticked"));
}

#[tokio::test]
async fn a_page_says_by_which_change_it_was_made_so_that_none_is_missed_before_it_listens() {
    let browser = Browser::of(Kitchen::of(vec![("kitchen", busy_day())]));
    assert!(browser.get("/queue").await.body.contains("<body data-events=\"/events\" data-seen=\"0\">"));
    browser.desk.changes.send_modify(|number| *number += 1);
    assert!(browser.get("/queue").await.body.contains("data-seen=\"1\""));
    assert!(!browser.get("/nowhere").await.body.contains("data-seen"));
}

#[tokio::test]
async fn orders_with_one_cause_stand_together_under_it() {
    let browser = Browser::of(Kitchen::with(vec![
        part_sent("KK-1", vec![apron(1, Reason::NoLink)]),
        part_sent("KK-2", vec![apron(1, Reason::NoLink)]),
    ]));
    let page = browser.get("/").await;
    assert_eq!(findings(&page.body), 1);
    assert!(page.text().contains("nobody makes it in 2 orders"));
    for order in ["KK-1", "KK-2"] {
        assert!(page.body.contains(&format!("href=\"/orders/{order}\"")), "{order}");
    }
    assert_eq!(page.body.matches("action=\"/set-aside\"").count(), 2);
}

#[tokio::test]
async fn many_orders_of_one_cause_are_counted_and_all_of_them_can_be_shown() {
    let many = (0..30).map(|number| part_sent(&format!("KK-{number}"), vec![apron(1, Reason::NoLink)]));
    let browser = Browser::of(Kitchen::with(many.collect()));
    let page = browser.get("/queue").await;
    assert!(page.text().contains("Showing 20 of 30 orders."), "{}", page.text());
    let (_, link) = page.body.split_once("href=\"/queue?finding=").unwrap();
    let id = link.split('"').next().unwrap();
    let whole = browser.get(&format!("/queue?finding={id}")).await;
    assert_eq!(whole.body.matches("action=\"/set-aside\"").count(), 30);
    assert!(!whole.text().contains("Showing 20 of 30"));
}

#[tokio::test]
async fn each_filter_narrows_to_what_it_counts() {
    let mut second = samples::outcome(vec![part_sent("ZZ-1", vec![tote(1, Some(Reason::NotSent))])]);
    second.findings[0].first_seen = samples::utc("2026-11-01T00:00:00Z");
    let browser = Browser::of(Kitchen::of(vec![("kitchen", busy_day()), ("second", second)]));
    let queue = browser.get("/api/queue").await.json();
    let all = queue["findings"].as_u64().unwrap();
    let mut tried = 0;
    for filter in queue["filters"].as_array().unwrap() {
        let name = filter["name"].as_str().unwrap();
        for choice in filter["choices"].as_array().unwrap() {
            let value = choice["value"].as_str().unwrap();
            let narrowed = browser.get(&format!("/api/queue?{name}={value}")).await.json();
            assert_eq!(narrowed["fitting"], choice["findings"], "{name}={value}");
            assert_eq!(narrowed["findings"].as_u64(), Some(all));
            let page = browser.get(&format!("/queue?{name}={value}")).await;
            assert_eq!(page.status, 200, "{name}={value}");
            assert!(page.body.contains(&format!("<option value=\"{value}\" selected>")), "{name}={value}");
            tried += 1;
        }
    }
    assert!(tried > 25, "{tried}");
    let of_second = browser.get("/api/queue?shop=second").await.json();
    assert_eq!(of_second["tasks"][0]["shop"], "second");
    assert_eq!(of_second["tasks"][0]["concerned"][0]["page"], "/orders/ZZ-1?shop=second");
    let old = browser.get("/api/queue?age=older").await.json();
    assert_eq!(old["tasks"][0]["concerned"][0]["order_id"], "ZZ-1");
    let none = browser.get("/queue?check=late&supplier=nobody").await;
    assert!(none.text().contains("Nothing of that is to be done."));
}

#[tokio::test]
async fn a_long_list_comes_in_pages_that_say_how_much_there_is() {
    let many = (0..120).map(|number| samples::late(&format!("KK-{number:03}"), 1, 0));
    let browser = Browser::of(Kitchen::with(many.collect()));
    let mut seen = std::collections::BTreeSet::new();
    for (page, said) in
        [(1, "Showing 1 to 50 of 120"), (2, "Showing 51 to 100 of 120"), (3, "Showing 101 to 120 of 120")]
    {
        let got = browser.get(&format!("/queue?page={page}")).await;
        assert!(got.text().contains(said), "{said}");
        let json = browser.get(&format!("/api/queue?page={page}")).await.json();
        let tasks = json["tasks"].as_array().unwrap();
        seen.extend(tasks.iter().map(|task| task["concerned"][0]["order_id"].as_str().unwrap().to_owned()));
    }
    assert_eq!(seen.len(), 120);
    let beyond = browser.get("/queue?page=99").await;
    assert!(beyond.text().contains("Showing 101 to 120"), "the last page stands for those beyond it");
}

#[tokio::test]
async fn nothing_is_to_be_done_only_where_all_was_read_and_judged() {
    let clear = Browser::of(Kitchen::with(Vec::new()));
    let page = clear.get("/queue").await.text();
    assert!(page.contains("Nothing is to be done."));
    assert!(page.contains("120 orders with 241 lines were checked."));

    let kitchen = Kitchen::with(Vec::new());
    let mut behind = (*kitchen.rounds.lock().unwrap()[0]).clone();
    behind.sources[1] = source("alder-print", true);
    *kitchen.rounds.lock().unwrap() = vec![std::sync::Arc::new(behind)];
    let page = Browser::of(kitchen).get("/queue").await.text();
    assert!(!page.contains("Nothing is to be done."));
    assert!(page.contains("Nothing is known yet that is to be done."));
    assert!(page.contains("Not all is known: not everything could be read."), "{page}");
    assert!(page.contains("alder-print was last read as it stood today 09:30."), "{page}");

    let kitchen = Kitchen::with(Vec::new());
    kitchen.rounds.lock().unwrap().clear();
    let page = Browser::of(kitchen).get("/queue").await.text();
    assert!(page.contains("it has not been looked at yet"), "{page}");
    assert!(!page.contains("Nothing is to be done."));
}

#[tokio::test]
async fn a_finding_of_a_source_that_is_set_aside_leaves_doubt() {
    let stale = samples::source(Check::SourceStale, "the connection was refused");
    let id = stale.id.as_str().to_owned();
    let mut browser = Browser::of(Kitchen::with(vec![stale]));
    let stamp = browser.open("/queue").await.stamp();
    let form = format!("stamp={stamp}&shop=kitchen&finding={id}&note=known&back=%2Fqueue");
    assert_eq!(browser.post("/set-aside", &form).await.status, 303);
    let page = browser.get("/queue").await.text();
    assert!(page.contains("Nothing is known yet that is to be done."), "{page}");
}

#[tokio::test]
async fn something_is_set_aside_with_a_note_shown_on_its_own_page_and_taken_back() {
    let mut browser = Browser::of(Kitchen::with(one_of_each()));
    let page = browser.open("/queue?check=late").await;
    let id = one_of_each().iter().find(|one| one.check == Check::Late).unwrap().id.to_string();
    let stamp = page.stamp();
    let form = format!(
        "stamp={stamp}&shop=kitchen&finding={id}&note=agreed+with+them&until=2026-12-01&back=%2Fqueue%3Fcheck%3Dlate"
    );
    let done = browser.post("/set-aside", &form).await;
    assert_eq!((done.status.as_u16(), done.header("location")), (303, "/queue?check=late&said=set-aside"));
    let kept = browser.desk.asides.lock().unwrap()["kitchen"][&id].clone();
    assert_eq!(kept.note, "agreed with them");
    assert_eq!(kept.until, Some(samples::utc("2026-12-01T23:00:00Z")), "the end of the day in Berlin");

    let after = browser.get(done.header("location")).await;
    assert!(after.text().contains("Set aside. It stands on the page"));
    assert!(after.text().contains("Nothing of that is to be done."));
    let asides = browser.get("/set-aside").await;
    assert!(asides.text().contains("Set aside until 2 Dec 00:00: agreed with them"), "{}", asides.text());
    let json = browser.get("/api/set-aside").await.json();
    assert_eq!(json["tasks"][0]["note"], "agreed with them");
    assert_eq!(json["tasks"][0]["concerned"][0]["finding"], id);

    let back = browser.post("/take-back", &format!("stamp={stamp}&shop=kitchen&finding={id}")).await;
    assert_eq!((back.status.as_u16(), back.header("location")), (303, "/set-aside?said=taken-back"));
    assert!(browser.desk.asides.lock().unwrap()["kitchen"].is_empty());
    assert_eq!(browser.post("/take-back", &format!("stamp={stamp}&finding={id}")).await.status, 404);
}

#[tokio::test]
async fn a_note_that_says_nothing_and_a_time_that_has_passed_are_refused_with_words() {
    let mut browser = Browser::of(Kitchen::with(one_of_each()));
    let stamp = browser.open("/queue").await.stamp();
    let id = one_of_each()[0].id.to_string();
    for (more, status, said) in [
        ("note=", 422, "The note is empty."),
        ("note=+++", 422, "The note is empty."),
        ("note=a&until=2026-11-24", 422, "That time has passed already."),
        ("note=a&until=soon", 422, "The time \"soon\" is none."),
        ("note=a&untill=2026-12-01", 400, "is no parameter of this address"),
    ] {
        let form = format!("stamp={stamp}&shop=kitchen&finding={id}&{more}");
        let got = browser.post("/set-aside", &form).await;
        assert_eq!(got.status, status, "{more}");
        let text = got.text().replace("&quot;", "\"");
        assert!(text.contains(said), "{more}: {text}");
    }
    let long = format!("stamp={stamp}&shop=kitchen&finding={id}&note={}", "x".repeat(501));
    assert_eq!(browser.post("/set-aside", &long).await.status, 422);
    assert!(browser.desk.asides.lock().unwrap().is_empty());
    let elsewhere = format!("stamp={stamp}&shop=kitchen&finding={id}&note=a&back=%2F%2Fevil.example");
    assert_eq!(browser.post("/set-aside", &elsewhere).await.header("location"), "/queue?said=set-aside");
}

#[tokio::test]
async fn hostile_titles_options_and_notes_are_harmless_on_every_page() {
    const HOSTILE: &str = "<script>alert(1)</script>\"'>\u{202e}x\u{1b}[2J\u{0}\u{2066}סינר";
    let mut line = apron(1, Reason::NoLink);
    line.title = Some(HOSTILE.to_owned());
    line.options = Some(samples::options(HOSTILE, "</article>"));
    let mut finding = part_sent(HOSTILE, vec![line]);
    finding.supplier = Some(HOSTILE.into());
    let id = finding.id.to_string();
    let kitchen = Kitchen::with(vec![finding]);
    kitchen
        .asides
        .lock()
        .unwrap()
        .entry("kitchen".to_owned())
        .or_default()
        .insert("another".to_owned(), web::Aside { note: HOSTILE.to_owned(), until: None });
    let browser = Browser::of(kitchen);
    let queue = browser.get("/queue").await;
    let aside = web::Aside { note: HOSTILE.to_owned(), until: None };
    browser.desk.asides.lock().unwrap().entry("kitchen".to_owned()).or_default().insert(id, aside);
    let asides = browser.get("/set-aside").await;
    assert!(asides.text().contains("alert(1)"), "the note is shown");
    for page in [queue, asides] {
        assert_eq!(page.body.matches("<script").count(), 1, "ours alone");
        for c in page.body.chars() {
            let is_hidden =
                matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}');
            assert!(!is_hidden && (!c.is_control() || c == '\n'), "{c:?}");
        }
    }
}

#[tokio::test]
async fn a_page_tells_of_each_change_and_ends_with_the_program() {
    use http_body_util::BodyExt as _;
    use tower::ServiceExt as _;
    let (stopping, stop) = tokio::sync::watch::channel(false);
    let desk = std::sync::Arc::new(Kitchen::with(Vec::new()));
    let access =
        web::Access::checked("127.0.0.1:8765".parse().unwrap(), &web::access::Wanted::default()).unwrap();
    let router = web::service(web::App::new(std::sync::Arc::clone(&desk) as _, access, stop));
    let request =
        axum::http::Request::get("/events").header("host", "localhost").body(axum::body::Body::empty());
    let answer = router.oneshot(request.unwrap()).await.unwrap();
    assert_eq!(answer.headers()["content-type"], "text/event-stream");
    let mut body = answer.into_body();
    let mut next = async || {
        let frame = body.frame().await?.unwrap();
        Some(String::from_utf8(frame.into_data().unwrap().to_vec()).unwrap())
    };
    assert_eq!(next().await.unwrap(), "event: changed\nid: 0\ndata: 0\n\n");
    desk.changes.send_modify(|number| *number += 1);
    assert_eq!(next().await.unwrap(), "event: changed\nid: 1\ndata: 1\n\n");
    stopping.send(true).unwrap();
    assert_eq!(next().await, None);
}

#[tokio::test]
async fn a_cut_off_that_passed_since_the_round_is_told_as_passed() {
    let mut finding = part_sent("KK-1", vec![apron(1, Reason::NoLink)]);
    finding.act_before = Some(samples::utc("2026-11-25T11:49:00Z"));
    let kitchen = Kitchen::with(Vec::new());
    *kitchen.rounds.lock().unwrap() = vec![round("kitchen", samples::outcome(vec![finding.clone()]))];
    let json = Browser::of(kitchen).get("/api/queue").await.json();
    let told = digest::standing_at(&finding, crate::desk::now()).into_owned();
    assert_ne!(told.act_before, finding.act_before);
    assert_eq!(json["tasks"][0]["urgency"], digest::Urgency::at(&told, crate::desk::now()).word());
}

#[test]
fn what_was_put_in_order_holds_until_something_is_another_than_it_was() {
    use std::collections::BTreeMap;
    use std::sync::Arc;

    use chrono::TimeDelta;
    use web::view::{Board, Filter, QueueAsked, Urgency, queue};

    let now = samples::utc(samples::AS_OF);
    let soon = now + TimeDelta::minutes(10);
    let mut first = part_sent("KK-1", vec![apron(1, Reason::NoLink)]);
    first.act_before = Some(soon);
    if let model::finding::Evidence::Gap(gap) = &mut first.evidence {
        for sent in &mut gap.submissions {
            sent.cut_off = Some(soon);
        }
    }
    let id = first.id.as_str().to_owned();
    let outcome = samples::outcome(vec![first, part_sent("KK-2", vec![tote(1, Some(Reason::NoLink))])]);
    let shops = vec![crate::desk::shop("kitchen")];
    let made = |of: &model::Outcome| round("kitchen", of.clone());
    let (one, other) = (made(&outcome), made(&outcome));
    let none = BTreeMap::new();
    let aside = web::Aside { note: "asked the printer".to_owned(), until: None };
    let with_aside = BTreeMap::from([(id, aside)]);

    let board = Board::of(Arc::clone(&one), none.clone(), now);
    let until = soon - TimeDelta::seconds(1);
    assert!(board.holds(&one, &none, now) && board.holds(&one, &none, until));
    assert!(!board.holds(&one, &none, soon), "a cut-off passed");
    assert!(!board.holds(&one, &none, now - TimeDelta::seconds(1)), "the clock was set back");
    assert!(!board.holds(&one, &with_aside, now), "something was set aside");
    assert!(!board.holds(&other, &none, now), "another round came");

    let urgent = |board: Board, at| {
        let queue = queue(&shops, &[Arc::new(board)], &QueueAsked::default(), at);
        let is_urgency = |filter: &&Filter| filter.name == "urgency";
        let choices = queue.filters.iter().find(is_urgency).unwrap().choices.iter();
        let counts: Vec<(String, u64)> =
            choices.map(|choice| (choice.value.clone(), choice.findings)).collect();
        (counts, queue.tasks.first().map(|task| task.urgency), queue.set_aside)
    };
    let counts = |now, repair| {
        [("now", now), ("repair", repair), ("watch", 0)]
            .map(|(word, number): (&str, u64)| (word.to_owned(), number))
            .to_vec()
    };
    assert_eq!(urgent(board, until), (counts(2, 0), Some(Urgency::Now), 0));
    let later = Board::of(Arc::clone(&one), none, soon);
    assert_eq!(urgent(later, soon), (counts(1, 1), Some(Urgency::Now), 0));
    let later = Board::of(one, with_aside, soon);
    assert_eq!(urgent(later, soon), (counts(1, 0), Some(Urgency::Now), 1));
}
