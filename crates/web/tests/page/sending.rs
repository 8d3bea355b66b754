//! Sending: what is shown before, what is confirmed, what became of it, and how it is put back.

use std::sync::Mutex;

use digest::Clock;
use model::ShopId;
use serde_json::json;
use web::access::{Role, Wanted};
use web::view::{
    Moment, NotSent, SendListing, SendOffer, SendPlan, SendProgress, SendWay, Sends, SentInShort, SentOffer,
    SentRun, SentState, SentTally, WaitsToBeSent, Words, listing_page, sent_page,
};
use web::{Answer, Begun, Confirmed, Fault, Sending, ToSend};

use crate::desk::{Browser, Kitchen, ZONE, now};

/// What the desk has to send, and what it was told.
#[derive(Default)]
pub struct Counter {
    pub plan: Mutex<Option<SendPlan>>,
    pub asked: Mutex<Vec<ToSend>>,
    pub confirmed: Mutex<Vec<Confirmed>>,
    pub sends: Mutex<Option<Sends>>,
    pub sent: Mutex<Option<SentRun>>,
}

impl Sending for Kitchen {
    fn plan_to_send<'a>(&'a self, _: &'a ShopId, what: &'a ToSend) -> Answer<'a, SendPlan> {
        Box::pin(async {
            self.counter.asked.lock().unwrap().push(what.clone());
            Ok(self.counter.plan.lock().unwrap().clone().unwrap_or_else(|| plan("Otter apron")))
        })
    }

    fn table_to_send<'a>(&'a self, _: &'a ShopId, what: &'a ToSend) -> Answer<'a, String> {
        Box::pin(async {
            self.counter.asked.lock().unwrap().push(what.clone());
            Ok("listing_id,sku\r\nL-1,AP-9\r\n".to_owned())
        })
    }

    /// As the program does it: a plan is done once, and nothing but what was shown.
    fn send<'a>(&'a self, _: &'a ShopId, confirmed: &'a Confirmed) -> Answer<'a, Begun> {
        Box::pin(async {
            let mut all = self.counter.confirmed.lock().unwrap();
            if all.iter().any(|one| one.shown == confirmed.shown) {
                return Ok(Begun::Run(3));
            }
            let plan = self.counter.plan.lock().unwrap().clone().unwrap_or_else(|| plan("Otter apron"));
            if plan.shown.as_ref() != Some(&confirmed.shown) {
                return Ok(Begun::Otherwise);
            }
            all.push(confirmed.clone());
            Ok(if plan.offers == 0 { Begun::Looking } else { Begun::Run(3) })
        })
    }

    fn sends<'a>(&'a self, _: &'a ShopId, _: u64) -> Answer<'a, Sends> {
        Box::pin(async {
            Ok(self.counter.sends.lock().unwrap().clone().unwrap_or_else(|| sends("Otter apron")))
        })
    }

    fn sent<'a>(&'a self, _: &'a ShopId, run: i64) -> Answer<'a, SentRun> {
        Box::pin(async move {
            let sent = self.counter.sent.lock().unwrap().clone().unwrap_or_else(|| sent("Otter apron"));
            (sent.of.run == run).then_some(sent).ok_or_else(|| Fault::NotThere {
                what: format!("there is no run {run}"),
                todo: "look at what was sent".to_owned(),
            })
        })
    }
}

fn moment() -> Moment {
    Moment::new(now(), &Clock::of_a_reader(ZONE, now()))
}

/// Two offers that would be changed, and one that is left out; each text of which is this one.
pub fn plan(text: &str) -> SendPlan {
    let words = || Words::outside(text);
    let offer = |old: Option<&str>| SendOffer {
        options: words(),
        old_sku: old.map(Words::outside),
        new_sku: Some(Words::outside("AP-9")),
        note: None,
    };
    SendPlan {
        shop: "kitchen".to_owned(),
        listing: None,
        puts_back: None,
        source: Some("till".to_owned()),
        choose: Vec::new(),
        way: SendWay::Asked,
        doubt: None,
        listings: vec![SendListing {
            listing_id: "L-1".into(),
            title: words(),
            page: listing_page("kitchen", &"L-1".into()),
            offers: vec![offer(Some(text)), offer(None)],
        }],
        offers: 2,
        more: 0,
        not_sent: vec![NotSent {
            listing_id: Some("L-2".into()),
            title: words(),
            options: words(),
            why: Words::ours("It is a set, and one SKU names one thing."),
        }],
        not_sent_in_all: 1,
        in_force: 4,
        not_read_yet: 1,
        own_stock: 1,
        in_doubt: 0,
        never_asked: 0,
        looked_at: None,
        shown: Some("shown-2".to_owned()),
        every: Some(Words::ours("2 min")),
        running: None,
    }
}

fn in_short(run: i64, is_running: bool) -> SentInShort {
    SentInShort {
        run,
        page: sent_page("kitchen", run),
        source: "till".to_owned(),
        at: moment(),
        by: Words::ours("the page"),
        why: None,
        puts_back: None,
        put_back_by: None,
        is_running,
        tally: SentTally { offers: 7, done: 2, not_done: 1, otherwise: 1, not_known: 1, left: 2 },
    }
}

/// A run with an offer in each state.
pub fn sent(text: &str) -> SentRun {
    let states = [
        SentState::Done,
        SentState::NotDone,
        SentState::Otherwise,
        SentState::NotKnown,
        SentState::Left,
        SentState::Asked,
        SentState::Waits,
    ];
    let offers = states.map(|state| SentOffer {
        listing_id: "L-1".into(),
        title: Words::outside(text),
        options: Words::outside(text),
        old_sku: None,
        new_sku: Some(Words::outside(text)),
        state,
        why: Some(Words::outside(text)),
        at: Some(moment()),
    });
    SentRun {
        shop: "kitchen".to_owned(),
        of: in_short(3, false),
        left_because: Some(Words::ours("It ended before its end.")),
        offers: offers.to_vec(),
        can_be_put_back: true,
        every: Some(Words::ours("2 min")),
    }
}

/// Two runs, the last of which is over.
pub fn sends(text: &str) -> Sends {
    Sends {
        shop: "kitchen".to_owned(),
        running: None,
        trouble: Some(Words::ours("links were changed meanwhile")),
        looked_at: sent(text).offers[..1].to_vec(),
        in_doubt: 1,
        runs: vec![
            SentInShort { puts_back: Some(2), ..in_short(3, false) },
            SentInShort { put_back_by: Some(3), ..in_short(2, false) },
        ],
        in_all: 2,
        page: 1,
        pages: 1,
    }
}

fn browser() -> Browser {
    Browser::of(Kitchen::with(Vec::new()))
}

#[tokio::test]
async fn what_would_be_changed_is_shown_with_both_skus_before_there_is_anything_to_press() {
    let browser = browser();
    let page = browser.get("/send?listing=L-1").await;
    assert_eq!(page.status, 200);
    let text = page.text();
    for said in [
        "2 offers to change, 1 left out, 4 that have the right SKU already, 1 that you pack yourself.",
        "Nothing has been changed by looking at this page.",
        "from Otter apron → to AP-9",
        "from no SKU → to AP-9",
        "It is a set, and one SKU names one thing.",
        "Change these 2 SKUs at the storefront",
    ] {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
    let (before, form) = page.body.split_once("action=\"/send\"").unwrap();
    assert!(before.contains("AP-9"), "the plan stands before the form");
    assert!(form.contains("name=\"shown\" value=\"shown-2\""));
    assert!(!page.body.contains("data-live"), "what is about to be confirmed does not change under the hand");
    let asked = browser.desk.counter.asked.lock().unwrap().clone();
    assert_eq!(asked, [ToSend { listing: Some("L-1".into()), ..ToSend::default() }]);
    assert_eq!(browser.desk.counter.confirmed.lock().unwrap().len(), 0, "looking confirms nothing");
}

#[tokio::test]
async fn what_is_confirmed_is_what_was_shown_and_is_done_once() {
    let mut browser = browser();
    let stamp = browser.open("/send?listing=L-1").await.stamp();
    let form = format!("stamp={stamp}&shop=kitchen&listing=L-1&source=till&shown=shown-2");
    for _ in 0..2 {
        let got = browser.post("/send", &form).await;
        assert_eq!((got.status.as_u16(), got.header("location")), (303, "/sent/kitchen/3"));
    }
    let confirmed = browser.desk.counter.confirmed.lock().unwrap().clone();
    let what = ToSend { listing: Some("L-1".into()), source: Some("till".to_owned()), ..ToSend::default() };
    assert_eq!(
        confirmed,
        [Confirmed { what, shown: "shown-2".to_owned(), by: "the page".to_owned() }],
        "two presses are one"
    );
}

#[tokio::test]
async fn a_plan_that_is_another_by_now_does_nothing_and_is_shown_anew() {
    let mut browser = browser();
    let stamp = browser.open("/send").await.stamp();
    let got = browser.post("/send", &format!("stamp={stamp}&back=2&shown=stale")).await;
    assert_eq!(got.header("location"), "/send?shop=kitchen&back=2&said=otherwise");
    assert_eq!(browser.desk.counter.confirmed.lock().unwrap().len(), 0);
    let text = browser.get(got.header("location")).await.text();
    assert!(
        text.contains("Nothing was done: what would be changed is no longer what you were shown."),
        "{text}"
    );
    assert_eq!(
        browser.post("/send", &format!("stamp={stamp}")).await.status,
        400,
        "nothing shown, nothing done"
    );
    let without = browser.post("/send", "shown=shown-2").await;
    assert_eq!(without.status, 403, "a form that is not ours");
    assert_eq!(browser.desk.counter.confirmed.lock().unwrap().len(), 0);
}

#[tokio::test]
async fn whoever_may_only_look_sees_the_plan_and_sends_nothing() {
    let token = "a-token-for-looking-only-0123456789";
    let wanted = Wanted { tokens: vec![(Role::Look, token.to_owned())], ..Wanted::default() };
    let browser = Browser::with(Kitchen::with(Vec::new()), "127.0.0.1:8765", &wanted);
    let bearer = format!("Bearer {token}");
    let page = browser.ask("GET", "/send", &[("authorization", &bearer)], "").await;
    assert!(page.text().contains("You may look."), "{}", page.text());
    assert!(!page.body.contains("action=\"/send\""));
    let kind = ("content-type", "application/x-www-form-urlencoded");
    let got = browser.ask("POST", "/send", &[("authorization", &bearer), kind], "shown=shown-2").await;
    assert_eq!(got.status, 403);
    assert_eq!(browser.desk.counter.confirmed.lock().unwrap().len(), 0);
    let sent = browser.ask("GET", "/sent/kitchen/3", &[("authorization", &bearer)], "").await;
    assert!(sent.text().contains("2 done") && !sent.text().contains("Put it back"), "{}", sent.text());
}

#[tokio::test]
async fn a_storefront_that_cannot_be_asked_gets_its_table() {
    let browser = browser();
    *browser.desk.counter.plan.lock().unwrap() =
        Some(SendPlan { way: SendWay::Table, shown: None, ..plan("Otter apron") });
    let page = browser.get("/send?listing=L-1").await;
    assert!(page.text().contains("Source till does not declare how a SKU is changed"), "{}", page.text());
    assert!(!page.body.contains("action=\"/send\""));
    let link = "/send/table?shop=kitchen&amp;listing=L-1&amp;source=till";
    assert!(page.body.contains(&format!("href=\"{link}\"")), "{}", page.body);
    let table = browser.get(&link.replace("&amp;", "&")).await;
    assert_eq!(table.header("content-type"), "text/csv; charset=utf-8");
    assert_eq!(table.header("content-disposition"), "attachment; filename=\"skus.csv\"");
    assert_eq!(table.body, "listing_id,sku\r\nL-1,AP-9\r\n");
}

#[tokio::test]
async fn what_is_in_doubt_is_looked_at_and_several_sources_are_asked_about() {
    let mut browser = browser();
    let nothing = SendPlan { listings: Vec::new(), offers: 0, in_doubt: 2, ..plan("x") };
    *browser.desk.counter.plan.lock().unwrap() = Some(nothing.clone());
    let page = browser.open("/send").await;
    assert!(page.text().contains("Of 2 changes of an earlier run it is not known"), "{}", page.text());
    assert!(page.text().contains("Look what became of it"));
    let form = format!("stamp={}&shown=shown-2", page.stamp());
    assert_eq!(browser.post("/send", &form).await.header("location"), "/sent?shop=kitchen");
    let choose = vec!["till".to_owned(), "stall".to_owned()];
    *browser.desk.counter.plan.lock().unwrap() =
        Some(SendPlan { choose, source: None, shown: None, in_doubt: 0, ..nothing });
    let page = browser.get("/send").await;
    assert!(page.body.contains("href=\"/send?shop=kitchen&amp;source=stall\""), "{}", page.body);
}

#[tokio::test]
async fn a_run_tells_what_became_of_each_offer_and_leads_to_what_puts_it_back() {
    let browser = browser();
    let page = browser.get("/sent/kitchen/3").await;
    let text = page.text();
    for said in [
        "2 done, 1 not done, 1 otherwise than planned, 1 not known, 2 left as they were.",
        "It ended before its end.",
        "In force once till has been read again, which is done every 2 min.",
        "left as it was",
        "being asked",
        "Have it looked at",
        "Put it back…",
    ] {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
    assert!(page.body.contains("href=\"/send?shop=kitchen&amp;back=3\""), "{}", page.body);
    assert!(page.body.contains("id=\"sent\" data-live") && page.body.contains("data-events=\"/events\""));
    assert_eq!(browser.get("/sent/kitchen/9").await.status, 404);
    let history = browser.get("/sent").await;
    for said in
        ["Showing 2 of 2 runs", "puts run 2 back", "put back by run 3", "Links were changed meanwhile."]
    {
        let said = said.to_lowercase();
        assert!(history.text().to_lowercase().contains(&said), "{said}\nis not in\n{}", history.text());
    }
}

#[tokio::test]
async fn while_it_goes_on_the_page_says_how_far_it_is_also_without_a_script() {
    let browser = browser();
    *browser.desk.counter.sent.lock().unwrap() =
        Some(SentRun { of: in_short(3, true), can_be_put_back: false, ..sent("Otter apron") });
    let page = browser.get("/sent/kitchen/3").await;
    let text = page.text();
    assert!(text.contains("It goes on: 5 of 7 offers done with."), "{text}");
    assert!(page.body.contains("<progress max=\"7\" value=\"5\">"));
    assert!(page.body.contains("<a href=\"/sent/kitchen/3\">Load this page again to see how far it is</a>"));
    assert!(!text.contains("Put it back"));
    let running = Some(SendProgress { run: Some(3), looked_at: 5, offers: 7 });
    *browser.desk.counter.sends.lock().unwrap() = Some(Sends { running: running.clone(), ..sends("x") });
    assert!(browser.get("/sent").await.text().contains("Run 3 goes on now: 5 of 7 offers done with."));
    let waits = WaitsToBeSent { offers: 4, in_doubt: 1, running };
    browser.desk.sources.lock().unwrap().shops = crate::sources::sources("x").shops;
    browser.desk.sources.lock().unwrap().shops[0].waits = waits;
    let sources = browser.get("/sources").await.text();
    for said in
        ["Waits to be sent to the storefront", "Run 3 goes on now", "4 offers have a link", "Of 1 change"]
    {
        assert!(sources.contains(said), "{said}\nis not in\n{sources}");
    }
}

#[tokio::test]
async fn hostile_texts_are_harmless_on_all_pages_of_sending() {
    let browser = browser();
    let hostile = "<script>\u{202e}\"'&\u{1b}[2J";
    *browser.desk.counter.plan.lock().unwrap() = Some(plan(hostile));
    *browser.desk.counter.sent.lock().unwrap() = Some(sent(hostile));
    *browser.desk.counter.sends.lock().unwrap() = Some(sends(hostile));
    for path in ["/send", "/sent", "/sent/kitchen/3"] {
        let page = browser.get(path).await;
        assert_eq!(page.status, 200, "{path}");
        assert!(page.body.contains("&lt;script&gt;"), "{path}");
        assert!(!page.body.contains("<script>") && !page.body.contains('\u{202e}'), "{path}");
    }
    let json = browser.get("/api/send").await.json();
    assert_eq!(json["listings"][0]["offers"][1]["old_sku"], json!(null));
    assert_eq!(json["shown"], "shown-2");
}
