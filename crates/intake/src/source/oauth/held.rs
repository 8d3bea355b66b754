//! Has an access token ready for each request: from memory, from the file, or from the token address.
//!
//! Within a process one at a time looks for a token, and so do processes that share a file: whoever waited finds what the one
//! before it has had. New tokens are on the disk before the access token is handed out. Must not know what it is for. Start
//! reading at [`TokenHolder::bearer`].

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use reqwest::header::HeaderValue;
use secrecy::{ExposeSecret, SecretString};
use tokio::time::Instant;

use super::address::TokenAddress;
use super::file::{TokenFile, Tokens};
use super::{Granted, Lost, Missed, TokenTrouble};
use crate::source::declare::{Grant, OAuth};
use crate::source::http::{ClientError, Limits, World};

/// How long before its end an access token is renewed: a request may be under way for as long.
const BEFORE_ITS_END: Duration = Duration::from_secs(60);

/// Of one that does not last long, no more than this part of its time: it would be renewed for every request.
const PART_OF_ITS_TIME: u32 = 4;

/// How many tokens are remembered that must not be kept anywhere: those in use, and those that they came in the place of.
const REMEMBERED: usize = 8;

/// How much longer than an answer may take somebody waits for another who renews the tokens.
const LONGER_THAN_AN_ANSWER: Duration = Duration::from_secs(10);

/// What has tokens, and renews them.
pub(crate) struct TokenHolder {
    address: TokenAddress,
    /// `None` of client credentials, which are asked for anew by every process.
    file: Option<TokenFile>,
    state: tokio::sync::Mutex<State>,
    had: Mutex<VecDeque<SecretString>>,
}

#[derive(Default)]
struct State {
    access: Option<Access>,
    /// What was had and is not on the disk yet.
    unkept: Option<Tokens>,
}

/// An access token in use.
struct Access {
    tokens: Tokens,
    /// When it came into use here, by a clock that nobody sets; the other clock counts while the machine sleeps.
    since: Instant,
}

/// An access token as the header line has it.
#[derive(Clone)]
pub(crate) struct Bearer(SecretString);

impl Bearer {
    /// The value of `Authorization`, marked as secret. Source: RFC 6750, section 2.1.
    pub(crate) fn header(&self) -> HeaderValue {
        let text = SecretString::from(format!("Bearer {}", self.0.expose_secret()));
        // What may not stand there was refused when it came; one of a file that somebody changed is not sent.
        let mut value = HeaderValue::from_str(text.expose_secret())
            .unwrap_or_else(|_| HeaderValue::from_static("Bearer"));
        value.set_sensitive(true);
        value
    }
}

impl TokenHolder {
    pub(crate) fn new(
        oauth: &OAuth,
        secret: Option<SecretString>,
        limits: Limits,
        world: Arc<dyn World>,
    ) -> Result<Self, ClientError> {
        let file = match &oauth.grant {
            Grant::ClientCredentials => None,
            Grant::AuthorizationCode { tokens, .. } => {
                Some(TokenFile::new(tokens.as_ref().ok_or(ClientError::NoTokenFile)?))
            }
        };
        let address = TokenAddress::new(oauth, secret, limits, world)?;
        Ok(Self { address, file, state: tokio::sync::Mutex::default(), had: Mutex::default() })
    }

    /// Whether somebody has to sign in.
    pub(crate) fn needs_somebody(&self) -> bool {
        self.address.oauth().needs_somebody()
    }

    /// The tokens that were had, the latest of them.
    pub(crate) fn had(&self) -> Vec<SecretString> {
        self.had.lock().unwrap_or_else(PoisonError::into_inner).iter().cloned().collect()
    }

    /// An access token that is good by what is known; `refused` is one that the source did not take.
    pub(crate) async fn bearer(&self, refused: Option<&Bearer>) -> Result<Bearer, Missed> {
        let mut state = self.state.lock().await;
        let is_good = |tokens: &Tokens, elapsed| {
            let was_refused = refused.is_some_and(|Bearer(token)| is_same(token, &tokens.granted.access));
            !was_refused && !is_due(tokens, self.address.world().now(), elapsed)
        };
        if let Some(access) = &state.access
            && is_good(&access.tokens, access.since.elapsed())
        {
            return Ok(Bearer(access.tokens.granted.access.clone()));
        }
        let tokens = match &self.file {
            None => self.by_itself().await?,
            Some(file) => self.of_file(file, &mut state.unkept, &is_good).await?,
        };
        let bearer = Bearer(tokens.granted.access.clone());
        state.access = Some(Access { tokens, since: Instant::now() });
        Ok(bearer)
    }

    /// Source: RFC 6749, section 4.4.2.
    async fn by_itself(&self) -> Result<Tokens, Missed> {
        let scope = self.address.oauth().scope.as_deref().map(|scope| ("scope", scope));
        let form: Vec<_> = [("grant_type", "client_credentials")].into_iter().chain(scope).collect();
        let granted = self.address.ask(&form).await?;
        let tokens = Tokens { granted, had_at: self.address.world().now() };
        self.remember(&tokens);
        Ok(tokens)
    }

    async fn of_file(
        &self,
        file: &TokenFile,
        unkept: &mut Option<Tokens>,
        is_good: &(dyn Fn(&Tokens, Duration) -> bool + Sync),
    ) -> Result<Tokens, Missed> {
        let oauth = self.address.oauth();
        let locked = file.lock(self.address.limits().answer + LONGER_THAN_AN_ANSWER).await?;
        // What could not be written is all that there is: the token that is in the file was used up for it.
        let known = match unkept.take() {
            Some(tokens) => {
                if let Err(trouble) = locked.prepare().and_then(|prepared| prepared.keep(oauth, &tokens)) {
                    *unkept = Some(tokens);
                    return Err(trouble.into());
                }
                tokens
            }
            None => locked.read(oauth)?,
        };
        self.remember(&known);
        if is_good(&known, Duration::ZERO) {
            return Ok(known);
        }
        let refresh = known.granted.refresh.clone().ok_or(Lost::NotRenewable)?;
        let prepared = locked.prepare()?;
        // Source: RFC 6749, section 6. Without a scope it is the one that was granted.
        let form = [("grant_type", "refresh_token"), ("refresh_token", refresh.expose_secret())];
        let granted = self.address.ask(&form).await?;
        // Between the answer and the disk nothing is waited for.
        let granted = Granted { refresh: granted.refresh.or(Some(refresh)), ..granted };
        let tokens = Tokens { granted, had_at: self.address.world().now() };
        self.remember(&tokens);
        if let Err(trouble) = prepared.keep(oauth, &tokens) {
            *unkept = Some(tokens);
            return Err(trouble.into());
        }
        Ok(tokens)
    }

    fn remember(&self, tokens: &Tokens) {
        let mut had = self.had.lock().unwrap_or_else(PoisonError::into_inner);
        for token in [Some(&tokens.granted.access), tokens.granted.refresh.as_ref()].into_iter().flatten() {
            if had.iter().all(|known| !is_same(known, token)) {
                had.push_back(token.clone());
            }
        }
        while had.len() > REMEMBERED {
            had.pop_front();
        }
    }
}

/// Signs in with a code, in the place of whatever is in the file.
pub(super) async fn keep_first(
    address: &TokenAddress,
    file: &TokenFile,
    form: &[(&str, &str)],
) -> Result<bool, Missed> {
    let locked = file.lock(address.limits().answer + LONGER_THAN_AN_ANSWER).await?;
    let prepared = locked.prepare()?;
    let granted = address.ask(form).await?;
    let is_renewable = granted.refresh.is_some();
    let tokens = Tokens { granted, had_at: address.world().now() };
    prepared.keep(address.oauth(), &tokens).map_err(|trouble: TokenTrouble| Missed::from(trouble))?;
    Ok(is_renewable)
}

fn is_same(one: &SecretString, other: &SecretString) -> bool {
    one.expose_secret() == other.expose_secret()
}

/// Whether an access token is to be renewed: it ends shortly, by the clock of this machine, or because it has been in use here
/// for so long (`elapsed`) that it would whatever that clock says. Where the clock is behind when it was had, nobody knows.
fn is_due(tokens: &Tokens, now: DateTime<Utc>, elapsed: Duration) -> bool {
    let Some(lasts) = tokens.granted.lasts else { return false };
    let good_for = lasts.saturating_sub(BEFORE_ITS_END.min(lasts / PART_OF_ITS_TIME));
    let age = now - tokens.had_at;
    age < TimeDelta::zero() || age.to_std().is_ok_and(|age| age >= good_for) || elapsed >= good_for
}

/// Shows no token.
impl std::fmt::Debug for TokenHolder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TokenHolder").field("file", &self.file).finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lasting(seconds: Option<u64>) -> Tokens {
        let granted = Granted {
            access: SecretString::from("moss"),
            refresh: None,
            lasts: seconds.map(Duration::from_secs),
        };
        Tokens { granted, had_at: DateTime::UNIX_EPOCH }
    }

    #[test]
    fn a_token_is_renewed_shortly_before_its_end_by_whichever_clock_comes_first() {
        let due = |lasts, now, elapsed| {
            let now = DateTime::UNIX_EPOCH + TimeDelta::seconds(now);
            is_due(&lasting(lasts), now, Duration::from_secs(elapsed))
        };
        for (lasts, now, elapsed, want) in [
            (Some(3_600), 0, 0, false),
            (Some(3_600), 3_539, 3_539, false),
            (Some(3_600), 3_540, 0, true),
            (Some(3_600), 0, 3_540, true),
            // One of a minute is good for three quarters of it.
            (Some(60), 44, 44, false),
            (Some(60), 45, 45, true),
            // The clock was set back.
            (Some(3_600), -1, 0, true),
            // Nobody said how long it lasts.
            (None, 400_000_000, 400_000_000, false),
            (None, -1, 0, false),
        ] {
            assert_eq!(due(lasts, now, elapsed), want, "{lasts:?} {now} {elapsed}");
        }
    }

    #[test]
    fn a_token_is_not_shown() {
        let bearer = Bearer(SecretString::from("moss"));
        assert_eq!(bearer.header(), "Bearer moss");
        assert_eq!(format!("{:?}", bearer.header()), "Sensitive");
        assert!(!format!("{:?}", lasting(None)).contains("moss"));
    }
}
