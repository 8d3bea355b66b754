//! What cannot wait for the next digest, and when it may go out.
//!
//! Pure. Must not know how an alert is worded, sent or kept. Start reading at [`wanted`]; [`going`] is the second half.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use ledger::{PendingAlert, WantedAlert};
use model::{Finding, Outcome, ShopId};

use super::schedule;
use crate::configuration::Recipient;

/// How long a burst is waited for, from its first finding, so that it is one message.
const BURST: TimeDelta = TimeDelta::seconds(60);

/// With less time left than this, nothing is waited for.
const PRESSING: TimeDelta = TimeDelta::minutes(15);

/// What waited longer than this is said to have been held back.
pub const HELD_BACK_AFTER: TimeDelta = TimeDelta::minutes(20);

/// How long ahead is looked for somebody who gets no digest.
const WITHOUT_DIGEST: TimeDelta = TimeDelta::hours(24);

/// What each recipient is to be told at once of a shop: what it wants, and what cannot wait for its next digest.
pub fn wanted(
    recipients: &BTreeMap<String, Recipient>,
    shop: &ShopId,
    outcome: &Outcome,
    now: DateTime<Utc>,
) -> Vec<WantedAlert> {
    let mut wanted = Vec::new();
    for (name, recipient) in recipients {
        if !recipient.alerts || !recipient.wants_shop(shop) {
            continue;
        }
        let next = match recipient.digest {
            true => schedule::next(recipient.at, recipient.zone, now),
            false => now + WITHOUT_DIGEST,
        };
        let own = outcome
            .findings
            .iter()
            .filter(|finding| recipient.wants(finding, now) && digest::cannot_wait(finding, now, next));
        wanted.extend(own.map(|finding| WantedAlert {
            recipient: name.clone(),
            finding: finding.id.as_str().to_owned(),
            said: said(finding),
        }));
    }
    wanted
}

/// What a finding says to whoever has to act: which lines, how many units, which supplier's lines. How far a supplier is, or
/// which source lags, makes it no other.
fn said(finding: &Finding) -> String {
    let mut lines: Vec<String> =
        finding.lines.iter().map(|line| format!("{:?} {}", line.line_id.as_str(), line.units)).collect();
    lines.extend(
        finding
            .submission_lines
            .iter()
            .map(|line| format!("supplier {:?} {}", line.line_id.as_str(), line.units)),
    );
    lines.sort();
    lines.join("; ")
}

/// Which of those that wait go out now, in one message: all, but for what can wait for the end of the recipient's quiet
/// hours; none while a burst is still coming in, or where enough went out within the hour.
pub fn going<'p>(
    recipient: &Recipient,
    pending: &'p [PendingAlert],
    written_within_the_hour: usize,
    now: DateTime<Utc>,
) -> Vec<&'p PendingAlert> {
    if written_within_the_hour >= usize::try_from(recipient.alerts_an_hour).unwrap_or(usize::MAX) {
        return Vec::new();
    }
    let quiet_until = recipient.quiet.and_then(|quiet| quiet_until(quiet, recipient.zone, now));
    let going: Vec<&PendingAlert> = pending
        .iter()
        .filter(|alert| {
            quiet_until.is_none_or(|until| alert.act_before.is_some_and(|act_before| act_before <= until))
        })
        .collect();
    let is_pressing =
        going.iter().any(|alert| alert.act_before.is_some_and(|act_before| act_before - now < PRESSING));
    let is_whole = going.iter().any(|alert| now - alert.wanted_at >= BURST);
    if is_pressing || is_whole { going } else { Vec::new() }
}

/// When the quiet hours end, within which a moment lies.
fn quiet_until((from, to): (NaiveTime, NaiveTime), zone: Tz, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let today = now.with_timezone(&zone).date_naive();
    // They may have begun the evening before.
    [today.pred_opt(), Some(today)].into_iter().flatten().find_map(|day| {
        let begins = schedule::moment(day, from, zone)?;
        let last_day = if to > from { day } else { day.succ_opt()? };
        let ends = schedule::moment(last_day, to, zone)?;
        (begins <= now && now < ends).then_some(ends)
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use digest::Urgency;

    use super::*;
    use crate::configuration::Way;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    fn recipient(quiet: Option<(&str, &str)>) -> Recipient {
        let time = |text: &str| NaiveTime::parse_from_str(text, "%H:%M").unwrap();
        Recipient {
            way: Way::Mail("owner@shop.example".to_owned()),
            shops: None,
            checks: BTreeSet::new(),
            least: Urgency::Watch,
            digest: true,
            alerts: true,
            at: time("07:00"),
            zone: Tz::Europe__Oslo,
            quiet: quiet.map(|(from, to)| (time(from), time(to))),
            alerts_an_hour: 2,
        }
    }

    fn pending(wanted_at: &str, act_before: Option<&str>) -> PendingAlert {
        PendingAlert {
            shop: "kittiwake".to_owned(),
            finding: "a".to_owned(),
            body: String::new(),
            act_before: act_before.map(utc),
            wanted_at: utc(wanted_at),
            is_again: false,
        }
    }

    fn go(recipient: &Recipient, pending: &[PendingAlert], written: usize, now: &str) -> usize {
        going(recipient, pending, written, utc(now)).len()
    }

    #[test]
    fn a_burst_is_one_message_unless_time_is_short() {
        let plain = recipient(None);
        let burst = [pending("2026-11-25T12:00:00Z", None), pending("2026-11-25T12:00:40Z", None)];
        assert_eq!(go(&plain, &burst, 0, "2026-11-25T12:00:59Z"), 0);
        assert_eq!(go(&plain, &burst, 0, "2026-11-25T12:01:00Z"), 2);
        let short = [pending("2026-11-25T12:00:00Z", Some("2026-11-25T12:10:00Z"))];
        assert_eq!(go(&plain, &short, 0, "2026-11-25T12:00:01Z"), 1);
    }

    #[test]
    fn no_more_messages_go_out_within_an_hour_than_were_asked_for() {
        let one = [pending("2026-11-25T12:00:00Z", None)];
        for (written, want) in [(0, 1), (1, 1), (2, 0), (3, 0)] {
            assert_eq!(go(&recipient(None), &one, written, "2026-11-25T13:00:00Z"), want);
        }
    }

    #[test]
    fn in_quiet_hours_only_that_goes_out_which_cannot_wait_for_their_end() {
        // 22:00 to 06:30 in Oslo are 21:00 to 05:30 UTC in winter.
        let quiet = recipient(Some(("22:00", "06:30")));
        let all = [
            pending("2026-11-25T10:00:00Z", Some("2026-11-26T05:00:00Z")),
            pending("2026-11-25T10:00:00Z", Some("2026-11-26T05:31:00Z")),
            pending("2026-11-25T10:00:00Z", None),
        ];
        for (now, want) in [
            ("2026-11-25T20:59:00Z", 3),
            ("2026-11-25T21:00:00Z", 1),
            ("2026-11-26T05:29:00Z", 1),
            ("2026-11-26T05:30:00Z", 3),
        ] {
            assert_eq!(go(&quiet, &all, 0, now), want, "{now}");
        }
        let noon = recipient(Some(("12:00", "13:00")));
        assert_eq!(go(&noon, &all, 0, "2026-11-25T11:30:00Z"), 0);
        assert_eq!(go(&noon, &all, 0, "2026-11-25T12:00:00Z"), 3);
    }
}
