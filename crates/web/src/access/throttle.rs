//! How often somebody may try a password.
//!
//! Five times at once; then each wrong one doubles the wait, from a second to five minutes, by the address that it comes
//! from. Each try counts before the password is looked at, so that many at once gain nothing. Must not know passwords. Start
//! reading at [`Throttle`].

use std::collections::HashMap;
use std::net::{IpAddr, Ipv4Addr};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use tokio::time::Instant;

/// Tries that are free.
const FREE: u32 = 5;

/// The longest wait.
const LONGEST: Duration = Duration::from_secs(300);

/// How long a wrong try is remembered.
const REMEMBERED: Duration = Duration::from_secs(15 * 60);

/// The most addresses that are remembered; where there are more, all wait as one.
const MOST: usize = 1_000;

/// Who tried, how often.
#[derive(Default, Debug)]
pub struct Throttle(Mutex<HashMap<IpAddr, (u32, Instant)>>);

impl Throttle {
    /// Counts a try; an error is how long to wait before the next.
    pub fn try_one(&self, peer: Option<IpAddr>) -> Result<(), Duration> {
        let now = Instant::now();
        let mut tries = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        tries.retain(|_, (_, last)| now - *last < REMEMBERED);
        let place = self::place(peer);
        let place = if tries.len() < MOST || tries.contains_key(&place) { place } else { self::place(None) };
        let (number, last) = tries.entry(place).or_insert((0, now));
        if let Some(doubled) = number.checked_sub(FREE) {
            let wait = Duration::from_secs(1 << doubled.min(16)).min(LONGEST);
            let waited = now - *last;
            if waited < wait {
                return Err(wait - waited);
            }
        }
        *number += 1;
        *last = now;
        Ok(())
    }

    /// Forgets the tries of somebody who knew the password.
    pub fn forget(&self, peer: Option<IpAddr>) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&place(peer));
    }
}

/// Somebody with an IPv6 address usually has 2^64 of them (RFC 6177, section 2).
fn place(peer: Option<IpAddr>) -> IpAddr {
    match peer.map(|peer| peer.to_canonical()) {
        Some(IpAddr::V6(address)) => {
            let mut bytes = address.octets();
            bytes[8..].fill(0);
            IpAddr::V6(bytes.into())
        }
        Some(address) => address,
        None => IpAddr::V4(Ipv4Addr::UNSPECIFIED),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test(start_paused = true)]
    async fn wrong_passwords_are_tried_ever_more_slowly_by_one_address_and_freely_by_another() {
        let throttle = Throttle::default();
        let one = Some("192.0.2.1".parse().unwrap());
        for _ in 0..FREE {
            throttle.try_one(one).unwrap();
        }
        for seconds in [1, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300] {
            let wait = throttle.try_one(one).unwrap_err();
            assert_eq!(wait, Duration::from_secs(seconds));
            throttle.try_one(Some("192.0.2.2".parse().unwrap())).ok();
            tokio::time::advance(wait).await;
            throttle.try_one(one).unwrap();
        }
        throttle.forget(one);
        throttle.try_one(one).unwrap();
        let near = |last: &str| Some(format!("2001:db8::{last}").parse().unwrap());
        for last in ["1", "2", "3", "4", "5"] {
            throttle.try_one(near(last)).unwrap();
        }
        throttle.try_one(near("6")).unwrap_err();
    }
}
