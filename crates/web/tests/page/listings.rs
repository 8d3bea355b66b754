//! Listings, one of them as grids, and what is accepted there.

use std::sync::{Arc, Mutex};

use chrono::TimeDelta;
use digest::Clock;
use model::{ListingId, ShopId};
use serde_json::json;
use web::access::{Role, Wanted};
use web::view::{
    GoodGrid, GridCell, GridRow, LinkChange, LinkState, LinkTally, Listing, ListingFinding, ListingInShort,
    Moment, OfferLink, Proposal, ProposalStatus, Proposed, Sending, Shelf, Words, listing_page,
};
use web::{Accepted, Answer, Fault, Listings};

use crate::desk::{Browser, Got, Kitchen, ZONE, now};

/// What the desk has of links, and what it was told.
#[derive(Default)]
pub struct Links {
    pub shelf: Mutex<Vec<ListingInShort>>,
    pub listing: Mutex<Option<Listing>>,
    pub accepted: Mutex<Vec<Accepted>>,
    pub undone: Mutex<Vec<(i64, String)>>,
}

impl Listings for Kitchen {
    fn shelf<'a>(&'a self, _: &'a ShopId) -> Answer<'a, Arc<Shelf>> {
        Box::pin(async {
            let listings = self.links.shelf.lock().unwrap().clone();
            Ok(Arc::new(Shelf { as_of: moment(), doubt: None, listings }))
        })
    }

    fn listing<'a>(&'a self, _: &'a ShopId, listing: &'a ListingId) -> Answer<'a, Listing> {
        Box::pin(async move {
            let found = self.links.listing.lock().unwrap().clone();
            found.filter(|found| found.listing_id == *listing).ok_or_else(|| Fault::NotThere {
                what: format!("no listing {:?} has been read", listing.as_str()),
                todo: "look for it in the list of listings".to_owned(),
            })
        })
    }

    fn accept<'a>(
        &'a self,
        shop: &'a ShopId,
        listing: &'a ListingId,
        accepted: &'a Accepted,
    ) -> Answer<'a, i64> {
        Box::pin(async move {
            let known = self.listing(shop, listing).await?;
            let shown = match &accepted.offer {
                Some(key) => {
                    known.offers.iter().find(|offer| offer.key == *key).and_then(|offer| offer.shown.clone())
                }
                None => known.proposed.map(|proposed| proposed.shown),
            };
            if shown.as_ref() != Some(&accepted.shown) {
                return Err(Fault::Refused {
                    why: "nothing was kept".to_owned(),
                    todo: "look at what is proposed now".to_owned(),
                });
            }
            self.links.accepted.lock().unwrap().push(accepted.clone());
            Ok(7)
        })
    }

    fn undo<'a>(&'a self, _: &'a ShopId, _: &'a ListingId, change: i64, by: &'a str) -> Answer<'a, ()> {
        Box::pin(async move {
            self.links.undone.lock().unwrap().push((change, by.to_owned()));
            Ok(())
        })
    }
}

fn moment() -> Moment {
    Moment::new(now(), &Clock::of_a_reader(ZONE, now()))
}

fn offer(key: &str, text: &str, state: LinkState) -> OfferLink {
    let is_open = state == LinkState::Unlinked;
    OfferLink {
        key: key.to_owned(),
        options: Words::outside(text),
        sku: Some(Words::outside(text)),
        sold: 3,
        state,
        leads_to: if is_open { Vec::new() } else { vec![Words::outside(text)] },
        intended: if state == LinkState::Intended { vec![Words::outside(text)] } else { Vec::new() },
        why: vec![Words::outside(text)],
        proposal: is_open.then(|| Proposal {
            status: ProposalStatus::Proposed,
            variants: vec![Words::outside(text)],
            why: vec![Words::outside(text)],
            not_made_now: true,
            command: Some("everyline links set alder-print:AP-9 --listing L-1".to_owned()),
        }),
        shown: is_open.then(|| format!("shown-{key}")),
    }
}

/// A listing with an offer in each state, each text of which is this one.
pub fn listing(id: &str, text: &str) -> Listing {
    let words = || Words::outside(text);
    let mut tally = LinkTally::default();
    let offers = LinkState::ALL.map(|state| {
        tally.add(state);
        offer(state.word(), text, state)
    });
    let cell =
        |state: LinkState| Some(GridCell { state, offers: vec![state.word().to_owned()], words: words() });
    let row = |states: &[Option<LinkState>]| GridRow {
        colour: Some(words()),
        cells: states.iter().map(|state| state.and_then(cell)).collect(),
    };
    let [first, second, third, fourth, fifth, sixth, seventh] = LinkState::ALL.map(Some);
    Listing {
        shop: "kitchen".to_owned(),
        listing_id: id.into(),
        title: words(),
        as_of: moment(),
        doubt: None,
        sold: 21,
        sold_without: 9,
        tally,
        findings: vec![ListingFinding { check: model::Check::OfferUnlinked, words: words() }],
        grids: vec![
            GoodGrid {
                good: Some(words()),
                sizes: vec![Some(Words::ours("S")), Some(Words::ours("M")), Some(Words::ours("L"))],
                rows: vec![row(&[first, second, third]), row(&[fourth, fifth, sixth])],
            },
            GoodGrid {
                good: None,
                sizes: vec![None],
                rows: vec![GridRow { colour: None, ..row(&[seventh]) }],
            },
        ],
        offers_in_all: offers.len() as u64,
        offers: offers.to_vec(),
        proposed: Some(Proposed { offers: 2, shown: "shown-all".to_owned() }),
        last_change: Some(LinkChange {
            number: 6,
            by: words(),
            at: moment(),
            why: Some(words()),
            links: 2,
            others: 1,
        }),
        sending: Some(Sending {
            offers: 2,
            sent: 1,
            command: Some("everyline links send --listing=L-1".to_owned()),
        }),
    }
}

fn with(listing: Listing) -> Browser {
    let browser = Browser::of(Kitchen::with(Vec::new()));
    *browser.desk.links.listing.lock().unwrap() = Some(listing);
    browser
}

fn in_short(id: &str, title: &str) -> ListingInShort {
    ListingInShort {
        listing_id: id.into(),
        title: Words::outside(title),
        page: listing_page("kitchen", &id.into()),
        sold: 12,
        sold_without: 4,
        tally: LinkTally { offers: 5, linked: 3, unlinked: 2, ..LinkTally::default() },
    }
}

#[tokio::test]
async fn listings_stand_with_what_is_to_be_done_of_them_and_each_leads_to_its_page() {
    let browser = Browser::of(Kitchen::with(Vec::new()));
    *browser.desk.links.shelf.lock().unwrap() = vec![in_short("L/1?", "Otter apron"), in_short("L-2", "")];
    let page = browser.get("/listings").await;
    assert_eq!(page.status, 200);
    let text = page.text();
    for said in [
        "10 offers in 2 listings; with 4 of them something is to be done.",
        "Showing 1 to 2 of 2",
        "Otter apron",
        "Without a title",
        "4 of these without a link in force",
        "2 no link",
        "3 linked",
    ] {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
    assert!(!text.contains("dead end"), "a state that none is in is not named");
    assert!(page.body.contains("href=\"/listings/kitchen/L%2F1%3F\""));
    assert!(page.body.contains("<a href=\"/listings\" aria-current=\"page\">"));
    let json = browser.get("/api/listings").await.json();
    assert_eq!((&json["in_all"], &json["tally"]["unlinked"]), (&json!(2), &json!(4)));
}

#[tokio::test]
async fn a_long_list_is_paged_and_says_so() {
    let browser = Browser::of(Kitchen::with(Vec::new()));
    let many = (0..120).map(|number| in_short(&format!("L-{number}"), "Otter apron"));
    *browser.desk.links.shelf.lock().unwrap() = many.collect();
    let page = browser.get("/listings?page=3").await;
    assert!(page.text().contains("Showing 101 to 120 of 120"));
    assert!(page.body.contains("rel=\"prev\" href=\"/listings?page=2\""));
    assert_eq!(page.body.matches("<h2>").count(), 20);
    assert_eq!(browser.get("/listings?page=0").await.status, 400);
}

#[tokio::test]
async fn where_there_are_several_shops_one_is_chosen() {
    let none = || crate::samples::outcome(Vec::new());
    let browser = Browser::of(Kitchen::of(vec![("kitchen", none()), ("second", none())]));
    let page = browser.get("/listings").await;
    assert!(page.body.contains("href=\"/listings?shop=second\""));
    assert_eq!(browser.get("/listings?shop=second").await.status, 200);
    assert_eq!(browser.get("/api/listings").await.status, 400);
}

#[tokio::test]
async fn a_listing_is_a_grid_in_shapes_and_words_and_each_place_leads_to_its_offer() {
    let page = with(listing("L-1", "Otter apron")).get("/listings/kitchen/L-1").await;
    assert_eq!(page.status, 200);
    let text = page.text();
    for state in LinkState::ALL {
        let word = state.word();
        let place = format!("<a class=\"cell is-{word}\" href=\"#offer-{word}\"");
        assert!(page.body.contains(&place), "{place}");
        assert!(page.body.contains(&format!("id=\"offer-{word}\"")), "{word}");
        assert!(text.contains(state.name()) && text.contains(state.means()), "{word}");
    }
    for said in [
        "21 sold",
        "9 of these without a link in force",
        "What it is could not be read",
        "any size",
        "any colour",
        "Proposed: ",
        "Link it so",
        "Accept all 2 proposals",
        "Change 6, by Otter apron, today 12:50: 2 links of this listing and 1 thing elsewhere; Otter apron.",
        "everyline links send --listing=L-1",
        "offer unlinked",
    ] {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
    let single = Listing {
        proposed: Some(Proposed { offers: 1, shown: "shown-unlinked".to_owned() }),
        ..listing("L-1", "Otter apron")
    };
    let single = with(single).get("/listings/kitchen/L-1").await;
    assert_eq!(single.body.matches("action=\"/listings/accept\"").count(), 1, "one proposal has one button");
    let none = with(listing("L-1", "")).get("/listings/kitchen/L-1").await;
    assert!(none.text().contains("Listing L-1") && none.text().contains("Nothing to choose"));
    assert_eq!(with(listing("L-1", "")).get("/listings/kitchen/L-2").await.status, 404);
    assert_eq!(with(listing("L-1", "")).get("/listings/third/L-1").await.status, 404);
}

#[tokio::test]
async fn no_two_elements_of_a_listing_have_one_id_and_each_label_is_there() {
    let page = with(listing("L-1", "Otter apron")).get("/listings/kitchen/L-1").await;
    let ids: Vec<&str> =
        page.body.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let unique: std::collections::BTreeSet<&&str> = ids.iter().collect();
    assert_eq!(unique.len(), ids.len(), "{ids:?}");
    for label in page.body.split("aria-labelledby=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
        assert!(ids.contains(&label), "{label}");
    }
}

#[tokio::test]
async fn hostile_texts_of_a_listing_are_harmless() {
    let hostile = "</main><script>alert(1)</script>\" onfocus=\"x\u{202e}\u{1b}[2J\u{7}";
    let browser = with(listing("L<b>\"", hostile));
    *browser.desk.links.shelf.lock().unwrap() = vec![in_short("L<b>\"", hostile)];
    for path in ["/listings", "/listings/kitchen/L%3Cb%3E%22"] {
        let page = browser.get(path).await;
        assert_eq!(page.status, 200);
        assert_eq!(page.body.matches("<script").count(), 1, "{path}");
        assert_eq!(page.body.matches("</main>").count(), 1, "{path}");
        assert!(!page.body.contains("\" onfocus=\"") && !page.body.contains("<b>\""), "{path}");
        assert!(!page.body.contains('\u{202e}') && !page.body.contains('\u{1b}'), "{path}");
    }
    let json = browser.get("/api/listings/kitchen/L%3Cb%3E%22").await;
    assert!(!json.body.contains("\\u001b") && !json.body.contains('\u{1b}'));
}

async fn opened(browser: &mut Browser) -> String {
    browser.open("/listings/kitchen/L-1").await.stamp()
}

fn place(got: &Got) -> (u16, &str) {
    (got.status.as_u16(), got.header("location"))
}

#[tokio::test]
async fn a_proposal_is_accepted_by_itself_or_with_all_others_and_signed_by_the_page() {
    let mut browser = with(listing("L-1", "Otter apron"));
    let stamp = opened(&mut browser).await;
    let form = |rest: &str| format!("stamp={stamp}&shop=kitchen&listing=L-1&{rest}");
    let one = browser.post("/listings/accept", &form("offer=unlinked&shown=shown-unlinked")).await;
    assert_eq!(place(&one), (303, "/listings/kitchen/L-1?said=accepted"), "{}", one.body);
    let all = browser.post("/listings/accept", &form("shown=shown-all")).await;
    assert_eq!(place(&all), (303, "/listings/kitchen/L-1?said=accepted"));
    let said = browser.get("/listings/kitchen/L-1?said=accepted").await;
    assert!(said.text().contains("Kept as what you intend. Nothing was changed at the storefront yet"));
    let accepted = |offer: Option<&str>, shown: &str| Accepted {
        offer: offer.map(str::to_owned),
        shown: shown.to_owned(),
        by: "the page".to_owned(),
    };
    let wanted = [accepted(Some("unlinked"), "shown-unlinked"), accepted(None, "shown-all")];
    assert_eq!(*browser.desk.links.accepted.lock().unwrap(), wanted);
}

#[tokio::test]
async fn what_was_not_shown_is_not_accepted() {
    let mut browser = with(listing("L-1", "Otter apron"));
    let stamp = opened(&mut browser).await;
    for (rest, status) in [
        ("&listing=L-1&shown=shown-of-yesterday", 422),
        ("&listing=L-1&offer=unlinked&shown=shown-all", 422),
        ("&listing=L-1&offer=linked&shown=shown-linked", 422),
        ("&listing=L-9&shown=shown-all", 404),
        ("&listing=L-1", 400),
        ("&shown=shown-all", 400),
    ] {
        let got = browser.post("/listings/accept", &format!("stamp={stamp}&shop=kitchen{rest}")).await;
        assert_eq!(got.status, status, "{rest}");
    }
    let forged = browser.post("/listings/accept", "stamp=x&shop=kitchen&listing=L-1&shown=shown-all").await;
    assert_eq!(forged.status, 403);
    assert!(browser.desk.links.accepted.lock().unwrap().is_empty());
}

#[tokio::test]
async fn the_last_change_is_taken_back() {
    let mut browser = with(listing("L-1", "Otter apron"));
    let stamp = opened(&mut browser).await;
    let got =
        browser.post("/listings/undo", &format!("stamp={stamp}&shop=kitchen&listing=L-1&change=6")).await;
    assert_eq!(place(&got), (303, "/listings/kitchen/L-1?said=undone"));
    assert_eq!(*browser.desk.links.undone.lock().unwrap(), [(6, "the page".to_owned())]);
    let said = browser.get("/listings/kitchen/L-1?said=undone").await;
    assert!(said.text().contains("what stood before stands again"));
}

#[tokio::test]
async fn programs_accept_and_take_back_by_json_and_are_named() {
    let token = "a-token-of-more-than-24-characters";
    let kitchen = Kitchen::with(Vec::new());
    *kitchen.links.listing.lock().unwrap() = Some(listing("L-1", "Otter apron"));
    let wanted = Wanted { tokens: vec![(Role::Act, token.to_owned())], ..Wanted::default() };
    let browser = Browser::with(kitchen, "127.0.0.1:8765", &wanted);
    let bearer = format!("Bearer {token}");
    let headers = [("authorization", bearer.as_str()), ("content-type", "application/json")];
    let place = "/api/listings/kitchen/L-1";
    let got = browser.ask("POST", &format!("{place}/accept"), &headers, r#"{"shown":"shown-all"}"#).await;
    assert_eq!((got.status.as_u16(), got.json()), (200, json!({ "change": 7 })));
    let got = browser.ask("POST", &format!("{place}/undo"), &headers, r#"{"change":7}"#).await;
    assert_eq!(got.status, 204);
    assert_eq!(browser.desk.links.accepted.lock().unwrap()[0].by, "a program, by the page");
    for body in [r#"{"shown":"shown-all","all":true}"#, "{}", "[]"] {
        let got = browser.ask("POST", &format!("{place}/accept"), &headers, body).await;
        assert_eq!(got.status, 400, "{body}");
    }
    assert_eq!(browser.ask("GET", place, &[], "").await.status, 401);
}

#[tokio::test]
async fn whoever_may_only_look_sees_no_form_and_changes_nothing() {
    let token = "a-token-of-more-than-24-characters";
    let kitchen = Kitchen::with(Vec::new());
    *kitchen.links.listing.lock().unwrap() = Some(listing("L-1", "Otter apron"));
    let wanted = Wanted { tokens: vec![(Role::Look, token.to_owned())], ..Wanted::default() };
    let browser = Browser::with(kitchen, "127.0.0.1:8765", &wanted);
    let bearer = format!("Bearer {token}");
    let headers = [("authorization", bearer.as_str()), ("content-type", "application/json")];
    let page = browser.ask("GET", "/listings/kitchen/L-1", &headers, "").await;
    assert_eq!(page.status, 200);
    assert!(!page.body.contains("<form") && page.text().contains("Proposed: "));
    let got =
        browser.ask("POST", "/api/listings/kitchen/L-1/accept", &headers, r#"{"shown":"shown-all"}"#).await;
    assert_eq!(got.status, 403);
    assert!(browser.desk.links.accepted.lock().unwrap().is_empty());
}

#[tokio::test]
async fn a_listing_says_as_of_when_it_stands_so() {
    let later = Listing {
        as_of: Moment::new(now() - TimeDelta::days(3), &Clock::of_a_reader(ZONE, now())),
        doubt: Some(Words::ours("not all was read")),
        ..listing("L-1", "Otter apron")
    };
    let page = with(later).get("/listings/kitchen/L-1").await;
    assert!(page.text().contains("as things stood 22 Nov 12:50"), "{}", page.text());
    assert!(page.text().contains("Not all is known: not all was read."));
}
