//! Tells an address that a round went well, so that somebody notices when none does any more.
//!
//! Must not know what a round is. Start reading at [`Heartbeat::beat`].

use std::time::Duration;

use chrono::{DateTime, Utc};

use super::web::{Answer, Web};
use super::{Unfit, WebAddress, WebLimits};

/// How an address is asked.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub enum Asking {
    /// By GET.
    #[default]
    Get,
    /// By POST, with nothing in it.
    Post,
}

/// What came of it. Nothing hangs on one: the next round brings the next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Beat {
    /// It was heard.
    Heard,
    /// It was not, for this reason: a sentence for the owner, without a full stop.
    Unheard {
        /// Why.
        why: String,
    },
}

/// An address that is told that all is well.
#[derive(Clone, Debug)]
pub struct Heartbeat {
    web: Web,
    address: WebAddress,
    asking: Asking,
}

impl Heartbeat {
    /// So long a round waits for it.
    const LIMITS: WebLimits = WebLimits { connect: Duration::from_secs(5), whole: Duration::from_secs(10) };

    /// Tells this address.
    ///
    /// # Errors
    /// [`Unfit::NotPrepared`].
    pub fn new(address: WebAddress, asking: Asking) -> Result<Self, Unfit> {
        Ok(Self { web: Web::new(Self::LIMITS)?, address, asking })
    }

    /// It with other time-outs.
    ///
    /// # Errors
    /// [`Unfit::NotPrepared`].
    pub fn within(self, limits: WebLimits) -> Result<Self, Unfit> {
        Ok(Self { web: Web::new(limits)?, ..self })
    }

    /// Tells it once.
    pub async fn beat(&self) -> Beat {
        let url = self.address.url().clone();
        let request = match self.asking {
            Asking::Get => self.web.http().get(url),
            Asking::Post => self.web.http().post(url),
        };
        let host = self.address.host();
        // What it says of coming again is not looked at, so that the time does not matter.
        let why = match self.web.ask(request, DateTime::<Utc>::UNIX_EPOCH).await {
            Answer::Status { code: 200..=299, .. } => return Beat::Heard,
            Answer::Status { code: code @ 300..=399, .. } => {
                format!("{host} sends it on to another address ({code}), which is not followed")
            }
            Answer::Status { code, .. } => format!("{host} does not take it ({code})"),
            Answer::None(why) => format!("{host} {why}"),
            Answer::Certificate(why) => format!("the certificate of {host} is not to be trusted: {why}"),
        };
        Beat::Unheard { why }
    }
}
