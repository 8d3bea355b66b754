//! Who is signed in, by a cookie; and what a form has to bring along so that it is known to be ours.
//!
//! Kept in memory alone: after a start everybody signs in again. Must not know passwords. Start reading at [`Sessions`].

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use axum::http::{HeaderMap, HeaderValue, header};
use hmac::{Hmac, KeyInit as _, Mac as _};
use sha2::{Digest, Sha256};
use tokio::time::Instant;

use super::{Role, Unfit};

/// Bytes of chance in a cookie.
const CHANCE: usize = 32;

/// How long somebody stays signed in who does nothing.
const IDLE: Duration = Duration::from_secs(7 * 24 * 60 * 60);

/// How long at all.
const LONGEST: Duration = Duration::from_secs(30 * 24 * 60 * 60);

/// The most sessions at once: a shop has a few people with a few browsers each. The one that did nothing for longest ends.
const MOST: usize = 200;

/// A cookie to set.
#[derive(Clone, Debug)]
pub struct NewCookie {
    /// Its value.
    pub value: String,
    /// The header line.
    pub line: HeaderValue,
}

struct Session {
    role: Role,
    began: Instant,
    last: Instant,
}

/// Who is signed in.
pub struct Sessions {
    name: String,
    is_secure: bool,
    secret: [u8; CHANCE],
    /// By the digest of the cookie's value.
    all: Mutex<HashMap<[u8; 32], Session>>,
}

impl std::fmt::Debug for Sessions {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Sessions([secret])")
    }
}

impl Sessions {
    /// Nobody is signed in. Cookies do not tell ports apart, so the name does.
    pub fn new(port: u16, is_secure: bool) -> Result<Self, Unfit> {
        let mut secret = [0; CHANCE];
        getrandom::fill(&mut secret).map_err(|error| Unfit::NoChance(error.to_string()))?;
        // Such a name is taken by browsers only from a secure origin, for the whole of it (RFC 6265bis, section 4.1.3.2).
        let prefix = if is_secure { "__Host-" } else { "" };
        Ok(Self { name: format!("{prefix}everyline-{port}"), is_secure, secret, all: Mutex::default() })
    }

    /// The value of our cookie in a request.
    pub fn cookie_in(&self, headers: &HeaderMap) -> Option<String> {
        let lines = headers.get_all(header::COOKIE).into_iter().filter_map(|line| line.to_str().ok());
        let mut pairs = lines.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
        let (_, value) = pairs.find(|(name, _)| *name == self.name)?;
        let is_ours = value.len() == data_encoding::BASE32_NOPAD.encode_len(CHANCE)
            && value.bytes().all(|byte| byte.is_ascii_alphanumeric());
        is_ours.then(|| value.to_owned())
    }

    /// What somebody with this cookie may do; `None` where they are not signed in.
    pub fn role(&self, cookie: &str) -> Option<Role> {
        let now = Instant::now();
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, session| now - session.last < IDLE && now - session.began < LONGEST);
        let session = all.get_mut(&key(cookie))?;
        session.last = now;
        Some(session.role)
    }

    /// Signs somebody in under a new cookie.
    pub fn begin(&self, role: Role) -> Option<NewCookie> {
        let cookie = self.new_cookie()?;
        let now = Instant::now();
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= MOST
            && let Some(oldest) = all.iter().min_by_key(|(_, session)| session.last).map(|(key, _)| *key)
        {
            all.remove(&oldest);
        }
        all.insert(key(&cookie.value), Session { role, began: now, last: now });
        Some(cookie)
    }

    /// Signs somebody out.
    pub fn end(&self, cookie: &str) {
        self.all.lock().unwrap_or_else(PoisonError::into_inner).remove(&key(cookie));
    }

    /// A cookie for somebody who has none; `None` where the system gives no chance.
    pub fn new_cookie(&self) -> Option<NewCookie> {
        let mut chance = [0; CHANCE];
        getrandom::fill(&mut chance).ok()?;
        self.cookie(data_encoding::BASE32_NOPAD.encode(&chance), "")
    }

    /// A cookie that takes ours away.
    pub fn no_cookie(&self) -> NewCookie {
        let taken = self.cookie(String::new(), "; Max-Age=0");
        taken.unwrap_or(NewCookie { value: String::new(), line: HeaderValue::from_static("") })
    }

    /// It is kept by the browser until that is closed, is seen by no script, and is sent by our own pages alone.
    fn cookie(&self, value: String, more: &str) -> Option<NewCookie> {
        let secure = if self.is_secure { "; Secure" } else { "" };
        let line = format!("{}={value}; Path=/; HttpOnly; SameSite=Strict{secure}{more}", self.name);
        Some(NewCookie { value, line: HeaderValue::from_str(&line).ok()? })
    }

    /// What a form has to bring along that was made for whoever has this cookie: nobody else can know it.
    pub fn stamp(&self, cookie: &str) -> String {
        let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(&self.secret) else { return String::new() };
        mac.update(b"form ");
        mac.update(cookie.as_bytes());
        data_encoding::BASE32_NOPAD.encode(&mac.finalize().into_bytes())
    }
}

fn key(cookie: &str) -> [u8; 32] {
    Sha256::digest(cookie.as_bytes()).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test(start_paused = true)]
    async fn somebody_stays_signed_in_for_a_week_without_doing_anything_and_a_month_at_most() {
        let sessions = Sessions::new(8765, false).unwrap();
        let cookie = sessions.begin(Role::Look).unwrap();
        assert_eq!(sessions.role(&cookie.value), Some(Role::Look));
        for _ in 0..4 {
            tokio::time::advance(IDLE - Duration::from_secs(1)).await;
            assert_eq!(sessions.role(&cookie.value), Some(Role::Look));
        }
        tokio::time::advance(IDLE - Duration::from_secs(1)).await;
        assert_eq!(sessions.role(&cookie.value), None, "after a month");
        let cookie = sessions.begin(Role::Act).unwrap();
        tokio::time::advance(IDLE).await;
        assert_eq!(sessions.role(&cookie.value), None, "after a week");
    }

    #[test]
    fn a_cookie_is_for_our_pages_alone() {
        let plain = Sessions::new(8765, false).unwrap().new_cookie().unwrap();
        assert!(plain.line.to_str().unwrap().ends_with("; Path=/; HttpOnly; SameSite=Strict"));
        let secure = Sessions::new(8765, true).unwrap().new_cookie().unwrap();
        assert!(secure.line.to_str().unwrap().starts_with("__Host-everyline-8765="));
        assert!(secure.line.to_str().unwrap().ends_with("; Secure"));
    }

    #[test]
    fn no_more_sessions_are_kept_than_there_is_room_for() {
        let sessions = Sessions::new(8765, false).unwrap();
        for _ in 0..MOST + 5 {
            sessions.begin(Role::Look).unwrap();
        }
        assert_eq!(sessions.all.lock().unwrap().len(), MOST);
    }
}
