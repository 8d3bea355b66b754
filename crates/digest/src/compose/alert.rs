//! The alert: what cannot wait for the next digest, all of one burst in one message.
//!
//! Must not know when it is sent. Start reading at [`alert`].

use std::borrow::Cow;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::{Finding, ShopId};

use super::document::Document;
use super::items::{Found, Writer};
use super::limits::{self, Limits};
use super::pages::Pages;
use super::subject::Lead;
use super::{Composed, data, subject};
use crate::moment::Clock;
use crate::urgency::{Urgency, standing_at};
use crate::words::count;

/// What cannot wait.
#[derive(Clone, Debug)]
pub struct Alert {
    /// When it is composed.
    pub now: DateTime<Utc>,
    /// In which zone times are told.
    pub zone: Tz,
    /// The findings, each with its shop where there are several.
    pub findings: Vec<(Option<ShopId>, Finding)>,
    /// How many of them were told before, and say something else now.
    pub again: u64,
    /// How many of them waited, since no more messages went out within the hour.
    pub held_back: u64,
    /// Where the pages are.
    pub pages: Option<Pages>,
}

/// The alert as a message.
pub fn alert(alert: &Alert) -> Composed {
    // They were judged a while before.
    let standing: Vec<Cow<'_, Finding>> =
        alert.findings.iter().map(|(_, finding)| standing_at(finding, alert.now)).collect();
    let shops = alert.findings.iter().map(|(shop, _)| shop.as_ref().map(ShopId::as_str));
    let found: Vec<Found<'_>> = shops.zip(standing.iter().map(AsRef::as_ref)).collect();
    let findings: Vec<&Finding> = found.iter().map(|(_, finding)| *finding).collect();
    let data = data::of_alert(alert, &findings);
    let composed = limits::within(|limits| composed(alert, &found, limits));
    Composed { data, ..composed }
}

/// The same without what is for programs.
fn composed(alert: &Alert, found: &[Found<'_>], limits: Limits) -> Composed {
    let clock = Clock::of_a_reader(alert.zone, alert.now);
    let findings: Vec<&Finding> = found.iter().map(|(_, finding)| *finding).collect();
    let writer = Writer {
        now: alert.now,
        zone: alert.zone,
        pages: alert.pages.as_ref(),
        explains: false,
        orders_per_cause: limits.orders_per_cause,
    };
    let lead = subject::of_findings(&findings, &clock, alert.now);
    let lead = lead.unwrap_or_else(|| Lead::new("Nothing is left that cannot wait"));
    let mut document = Document::default();
    document.title("everyline, what cannot wait until the morning");
    document.lead(lead.sentence());
    if alert.again > 0 {
        let again =
            count(alert.again, "of these was told before, and is", "of these were told before, and are");
        document.text(format!("{again} different now."));
    }
    if alert.held_back > 0 {
        document.text(format!(
            "{} waited, so that you get no more messages within an hour than you asked for.",
            alert.held_back
        ));
    }
    let mut room = limits.alert;
    for urgency in Urgency::ALL {
        let own = writer.of_urgency(found, urgency);
        let told = writer.items(&mut document, urgency, &own, room);
        room = room.saturating_sub(told.min(room));
        if told < own.len() {
            document.text(format!("And {} more; {}.", own.len() - told, writer.where_all_are()));
        }
    }
    document.text("The rest is in the next digest.");
    Composed::new(lead.subject(None), &document)
}
