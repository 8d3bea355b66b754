//! SKUs that are changed at the simulated storefront as its configuration declares it, whatever goes wrong meanwhile: what
//! an answer says is held against what was done.
//!
//! Start reading at [`Shop`].

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::sync::Arc;
use std::time::Duration;

use everyline::configuration::Settings;
use everyline::live::world::Told;
use intake::source::action::{Asked, Found, OfferKey, Seen, SkuChanger};
use intake::source::declare::Origin;
use intake::source::http::{Client, Limits, World as Surroundings};
use intake::source::poll::Reader;
use model::Sku;
use secrecy::SecretString;
use simshop::live::{Fault, Plan, RetryAfter, Serving, Source, World};

/// The storefront of a world, with what changes SKUs there.
struct Shop {
    world: World,
    _serving: Serving,
    changer: SkuChanger,
}

impl Shop {
    async fn new(limits: Limits) -> Self {
        let world = World::new(11, Plan::new());
        let serving = world.serve().await.unwrap();
        let settings = Settings::parse(&world.configuration(&serving), "everyline.toml").unwrap();
        let Origin::Service(service) = &settings.sources["till"].origin else { panic!("it is asked") };
        let secret = SecretString::from(world.secrets()[0].1.clone());
        let told: Arc<dyn Surroundings> = Arc::new(Told::new(world.now()));
        let client = Client::new(service, Some(secret), limits, told).unwrap();
        let reader = Reader {
            shop: "kittiwake".into(),
            source: "till".into(),
            service: (**service).clone(),
            client,
            digest_key: b"a key of the tests".to_vec(),
        };
        Self { world, _serving: serving, changer: SkuChanger::new(reader).unwrap() }
    }

    /// Every offer of the storefront, and its SKU.
    fn offers(&self) -> Vec<(OfferKey, Option<Sku>)> {
        let offers = self.world.truth().book.offers.unwrap().into_iter();
        offers
            .map(|offer| (OfferKey { listing_id: offer.listing_id, options: offer.options }, offer.sku))
            .collect()
    }

    async fn found(&mut self, offer: &OfferKey) -> Found {
        match self.changer.read(offer).await.unwrap() {
            Seen::Found(found) => found,
            other => panic!("{offer:?}: {other:?}"),
        }
    }
}

#[tokio::test]
async fn each_offer_of_the_storefront_is_read_and_changed_alone() {
    let mut shop = Shop::new(Limits::default()).await;
    let before = shop.offers();
    assert!(before.len() > 50);
    for (number, (offer, sku)) in before.iter().enumerate() {
        let found = shop.found(offer).await;
        assert_eq!(&found.sku, sku);
        if number % 10 == 0 {
            let new = Sku::new(format!("NEW/{number} \"ä\""));
            assert_eq!(shop.changer.change(offer, &found, new.as_ref()).await, Ok(Asked::Confirmed));
            assert_eq!(shop.found(offer).await.sku, new);
        }
    }
    let after = shop.offers();
    let changed = before.iter().zip(&after).enumerate().filter(|(_, (before, after))| before != after);
    let changed: Vec<usize> = changed.map(|(number, _)| number).collect();
    let want: Vec<usize> = (0..before.len()).step_by(10).collect();
    assert_eq!(changed, want);
    let (offer, _) = &before[0];
    let found = shop.found(offer).await;
    assert_eq!(shop.changer.change(offer, &found, None).await, Ok(Asked::Confirmed));
    assert_eq!(shop.found(offer).await.sku, None);
    let elsewhere = OfferKey { listing_id: "no such page".into(), options: offer.options.clone() };
    assert_eq!(shop.changer.read(&elsewhere).await, Ok(Seen::Missing));
}

/// What a change is said to have come to, and how often it was made, under each fault.
#[tokio::test]
async fn no_fault_makes_a_change_twice_or_says_of_one_what_is_not_so() {
    let sku = Source::Till.endpoint("sku");
    let late = Duration::from_secs(20);
    for (fault, meaning, made) in [
        (Fault::Dropped, "not known", 0),
        (Fault::LostAfter, "not known", 1),
        (Fault::Broken, "not known", 0),
        (Fault::BrokenAfter, "not known", 1),
        (Fault::Unavailable, "not known", 0),
        (Fault::Delayed(late), "not known", 0),
        (Fault::DelayedAfter(late), "not known", 1),
        (Fault::Cut, "not known", 1),
        (Fault::OtherSku, "otherwise", 1),
        (Fault::Html, "otherwise", 0),
        (Fault::TooManyRequests(RetryAfter::Seconds(2)), "confirmed", 1),
    ] {
        let mut shop = Shop::new(Limits { answer: Duration::from_millis(400), ..Limits::default() }).await;
        let (offer, old) = shop.offers().swap_remove(3);
        let found = shop.found(&offer).await;
        shop.world.switch_on_for(sku, 1, fault);
        let came = shop.changer.change(&offer, &found, Sku::new("NEW").as_ref()).await.unwrap();
        let is = match came {
            Asked::Confirmed => "confirmed",
            Asked::Otherwise(_) => "otherwise",
            Asked::Refused(_) => "refused",
            Asked::NotKnown(_) => "not known",
        };
        assert_eq!(is, meaning, "{fault:?}");
        assert_eq!(shop.world.sku_changes().len(), made, "{fault:?}");
        let asked = if is == "confirmed" { 2 } else { 1 };
        assert_eq!(shop.world.requests(sku), asked, "{fault:?}");
        let want = if made == 1 { Sku::new("NEW") } else { old };
        assert_eq!(shop.found(&offer).await.sku, want, "{fault:?}: reading it again tells");
    }
}
