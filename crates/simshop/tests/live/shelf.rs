//! One offer at the till: it is read again, and its SKU changed, with and without faults.
//!
//! Start reading at [`Shelf`].

use std::io;
use std::net::SocketAddr;
use std::time::Duration;

use model::book::Offer;
use model::{Options, Sku};
use serde_json::{Map, Value, json};
use simshop::live::{Fault, Plan, RetryAfter, Serving, SkuChange, Source, World};

use crate::http::{Answer, get, put};
use crate::sign_in;

/// A world, and an offer in it.
struct Shelf {
    world: World,
    _serving: Serving,
    till: SocketAddr,
    headers: Vec<(String, String)>,
    offer: Offer,
    number: String,
}

fn choices(options: &Options) -> Value {
    let object: Map<String, Value> =
        options.iter().map(|(name, value)| (name.to_owned(), json!(value))).collect();
    Value::Object(object)
}

fn escaped(text: &str) -> String {
    text.bytes().map(|byte| format!("%{byte:02X}")).collect()
}

impl Shelf {
    async fn new(plan: Plan) -> Self {
        let world = World::new(7, plan);
        let serving = world.serve().await.unwrap();
        let offer =
            world.truth().book.offers.unwrap().into_iter().find(|offer| offer.options.len() > 1).unwrap();
        let headers =
            vec![sign_in(&world, Source::Till), ("Content-Type".to_owned(), "application/json".to_owned())];
        let till = serving.till;
        let mut shelf = Self { world, _serving: serving, till, headers, offer, number: String::new() };
        let answer = shelf.read().await.unwrap();
        assert_eq!(answer.status, 200);
        shelf.number = answer.json().unwrap()["offer"]["number"].as_str().unwrap().to_owned();
        shelf
    }

    async fn read(&self) -> io::Result<Answer> {
        self.read_of(self.offer.listing_id.as_str(), &choices(&self.offer.options).to_string()).await
    }

    async fn read_of(&self, page: &str, choices: &str) -> io::Result<Answer> {
        let path = format!("/shop/offer?page={}&choices={}", escaped(page), escaped(choices));
        get(self.till, &path, &self.headers).await
    }

    fn body(&self, sku: Value) -> Value {
        json!({ "page": self.offer.listing_id.as_str(), "choices": choices(&self.offer.options), "sku": sku })
    }

    async fn change(&self, sku: Value) -> io::Result<Answer> {
        self.send(&self.number, &self.headers, &self.body(sku).to_string()).await
    }

    async fn send(&self, number: &str, headers: &[(String, String)], body: &str) -> io::Result<Answer> {
        put(self.till, &format!("/shop/offers/{number}/sku"), headers, body).await
    }

    /// The SKU that it has in truth.
    fn sku(&self) -> Option<Sku> {
        let offers = self.world.truth().book.offers.unwrap();
        let is_it =
            |offer: &&Offer| offer.listing_id == self.offer.listing_id && offer.options == self.offer.options;
        offers.iter().find(is_it).unwrap().sku.clone()
    }

    /// What was changed: from what, to what.
    fn changes(&self) -> Vec<(Option<String>, Option<String>)> {
        let text = |sku: Option<Sku>| sku.map(|sku| sku.as_str().to_owned());
        let changes =
            self.world.sku_changes().into_iter().map(|SkuChange { listing_id, options, from, to }| {
                assert_eq!((&listing_id, &options), (&self.offer.listing_id, &self.offer.options));
                (text(from), text(to))
            });
        changes.collect()
    }
}

#[tokio::test]
async fn a_change_is_in_the_answer_in_the_truth_and_on_the_list_and_nothing_else_is_changed() {
    let shelf = Shelf::new(Plan::new()).await;
    let before = shelf.world.truth().book.offers.unwrap();
    let old = shelf.sku().map(|sku| sku.as_str().to_owned());
    for (sku, want) in
        [(json!("NEW 1"), Some("NEW 1")), (json!("Ä/\"2\""), Some("Ä/\"2\"")), (Value::Null, None)]
    {
        let answer = shelf.change(sku.clone()).await.unwrap();
        assert_eq!((answer.status, &answer.json().unwrap()["offer"]["sku"]), (200, &sku));
        assert_eq!(shelf.read().await.unwrap().json().unwrap()["offer"]["sku"], sku);
        assert_eq!(shelf.sku().as_ref().map(Sku::as_str), want);
    }
    let text = |text: &str| Some(text.to_owned());
    let want = [(old, text("NEW 1")), (text("NEW 1"), text("Ä/\"2\"")), (text("Ä/\"2\""), None)];
    assert_eq!(shelf.changes(), want);
    let after = shelf.world.truth().book.offers.unwrap();
    let others = before.iter().zip(&after).filter(|(before, after)| before != after).count();
    assert_eq!((before.len(), others), (after.len(), 1));
}

#[tokio::test]
async fn a_change_that_is_asked_wrongly_is_refused_and_changes_nothing() {
    let shelf = Shelf::new(Plan::new()).await;
    let good = shelf.body(json!("NEW"));
    let with = |name: &str, value: Value| {
        let mut body = good.clone();
        body[name] = value;
        body.to_string()
    };
    let mut less = good.clone();
    less.as_object_mut().unwrap().remove("sku");
    let number = shelf.number.as_str();
    for (number, body, status) in [
        (number, String::new(), 400),
        (number, "{".to_owned(), 400),
        (number, less.to_string(), 400),
        (number, with("price", json!(1)), 400),
        (number, with("sku", json!(5)), 400),
        (number, with("choices", json!([])), 400),
        (number, with("sku", json!("")), 422),
        (number, with("sku", json!(" NEW")), 422),
        (number, with("sku", json!("x".repeat(61))), 422),
        (number, with("page", json!("another")), 409),
        (number, with("choices", json!({})), 409),
        ("of-9999", good.to_string(), 404),
        ("another", good.to_string(), 404),
    ] {
        let answer = shelf.send(number, &shelf.headers, &body).await.unwrap();
        assert_eq!(answer.status, status, "{body}");
    }
    let [sign_in, kind] = [&shelf.headers[0], &shelf.headers[1]];
    let plain = ("Content-Type".to_owned(), "text/plain".to_owned());
    let body = good.to_string();
    let answer = shelf.send(number, &[sign_in.clone(), plain], &body).await.unwrap();
    assert_eq!(answer.status, 415);
    assert_eq!(shelf.send(number, std::slice::from_ref(kind), &body).await.unwrap().status, 401);
    assert_eq!((shelf.changes(), shelf.sku()), (vec![], shelf.offer.sku.clone()));

    for (page, choices, status) in [
        ("another", choices(&shelf.offer.options).to_string(), 404),
        (shelf.offer.listing_id.as_str(), "{}".to_owned(), 404),
        (shelf.offer.listing_id.as_str(), "M".to_owned(), 400),
    ] {
        assert_eq!(shelf.read_of(page, &choices).await.unwrap().status, status, "{page} {choices}");
    }
}

/// Each fault: what whoever asks sees of it, and whether the change was made.
#[tokio::test]
async fn each_fault_of_a_change_says_whether_it_was_made() {
    let sku = Source::Till.endpoint("sku");
    let slow = Duration::from_millis(30);
    for (fault, seen, is_made) in [
        (Fault::Dropped, "nothing", false),
        (Fault::LostAfter, "nothing", true),
        (Fault::Broken, "status 500", false),
        (Fault::BrokenAfter, "status 500", true),
        (Fault::Unavailable, "status 503", false),
        (Fault::TooManyRequests(RetryAfter::Seconds(3)), "status 429", false),
        (Fault::Delayed(slow), "the SKU", true),
        (Fault::DelayedAfter(slow), "the SKU", true),
        (Fault::Cut, "no JSON", true),
        (Fault::OtherSku, "another SKU", true),
        (Fault::Html, "no JSON", false),
    ] {
        let shelf = Shelf::new(Plan::new().after(sku, 0, 1, fault)).await;
        let saw = match shelf.change(json!("NEW")).await {
            Err(_) => "nothing".to_owned(),
            Ok(answer) if answer.status != 200 => format!("status {}", answer.status),
            Ok(answer) => match answer.json() {
                None => "no JSON".to_owned(),
                Some(body) if body["offer"]["sku"] == "NEW" => "the SKU".to_owned(),
                Some(_) => "another SKU".to_owned(),
            },
        };
        assert_eq!(saw, seen, "{fault:?}");
        assert_eq!(shelf.changes().len(), usize::from(is_made), "{fault:?}");
        let want = if is_made { Sku::new("NEW") } else { shelf.offer.sku.clone() };
        assert_eq!(shelf.sku(), want, "{fault:?}");
        // The next one meets no fault.
        assert_eq!(shelf.change(json!("LATER")).await.unwrap().status, 200);
        assert_eq!(shelf.world.requests(sku), 2);
    }
}
