//! One order with all its sides.

use crate::desk::{Browser, Kitchen, order};
use crate::samples::one_of_each;

#[tokio::test]
async fn an_order_shows_what_was_bought_beside_what_was_sent_and_the_gap_in_words_and_shape() {
    let browser = Browser::of(Kitchen::with(one_of_each()).with_order(order("KK-1007", "Otter apron")));
    let page = browser.get("/orders/KK-1007").await;
    assert_eq!(page.status, 200);
    let text = page.text();
    for said in [
        "Order KK-1007",
        "1 of 2 items is being made; nobody makes 1.",
        "2 h left to have something changed at alder-print, until today 12:50",
        "Nobody makes it",
        "1\u{a0}× ordered nowhere",
        "The supplier says that it cannot make it now: choose another, or tell the customer.",
        "Look at it in its listing, and link it there",
        "Made as bought",
        "Wrong item",
        "NOT WHAT WAS BOUGHT",
        "Not sent yet",
        "It could be linked to: ",
        "everyline links set alder-print:AP-9 --listing L-1",
        "Showing the last 1 of 7 changes.",
        "alder-print P-1",
    ] {
        assert!(text.contains(said), "{said}\nis not in\n{text}");
    }
    // Without colour the gap is told by its shape and its words.
    assert_eq!(page.body.matches("class=\"gap is-missing\"").count(), 1);
    assert!(page.body.contains("action=\"/set-aside\""));
}

#[tokio::test]
async fn hostile_texts_of_an_order_are_harmless() {
    let hostile = "</main><script>alert(1)</script>\u{202e}\u{1b}[2J\u{7}";
    let browser = Browser::of(Kitchen::with(Vec::new()).with_order(order("KK/..<b>\u{202e}", hostile)));
    let page = browser.get("/orders/KK%2F..%3Cb%3E%E2%80%AE").await;
    assert_eq!(page.status, 200);
    assert_eq!(page.body.matches("<script").count(), 1);
    assert_eq!(page.body.matches("</main>").count(), 1);
    assert!(!page.body.contains('\u{202e}') && !page.body.contains('\u{1b}'));
    let json = browser.get("/api/orders/KK%2F..%3Cb%3E%E2%80%AE").await;
    assert!(!json.body.contains("\\u001b") && !json.body.contains('\u{1b}'));
}

#[tokio::test]
async fn the_links_of_the_digest_lead_to_the_pages_of_orders() {
    for id in ["KK-1007", "1001", "A/B", "a b?c#d", "100%", "é", "..x"] {
        let browser = Browser::of(Kitchen::with(Vec::new()).with_order(order(id, "Otter apron")));
        let page = browser.get(&digest::compose::order_page(None, id)).await;
        assert_eq!(page.status, 200, "{id}");
        let page = browser.get(&digest::compose::order_page(Some("kitchen"), id)).await;
        assert_eq!(page.status, 200, "{id} of a shop");
    }
}

#[tokio::test]
async fn an_order_that_is_not_there_and_one_of_no_shop_are_said() {
    let browser = Browser::of(Kitchen::of(vec![
        ("kitchen", crate::samples::outcome(Vec::new())),
        ("second", crate::samples::outcome(Vec::new())),
    ]));
    let missing = browser.get("/orders/KK-1?shop=kitchen").await;
    assert_eq!(missing.status, 404);
    assert!(missing.text().contains("give its id as the storefront writes it"));
    for (path, status, said) in [
        ("/orders/KK-1", 400, "there are several shops; say which with shop: kitchen, second"),
        ("/orders/KK-1?shop=third", 404, "there is no such shop; known are: kitchen, second"),
    ] {
        let got = browser.get(&format!("/api{path}")).await;
        assert_eq!(got.status, status);
        assert_eq!(got.json()["detail"], format!("{said}."));
    }
}
