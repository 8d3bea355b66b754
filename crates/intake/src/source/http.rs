//! Asking a source over HTTP, on one origin, within limits, patiently: GET, and a change where one is declared.
//!
//! [`Client::get`] answers the JSON of one address, or says in a [`Trouble`] why there is none. Whether an answer is
//! another than expected, and which page comes next, is for others to say. No error holds an address, a query, a header
//! line or a body: any of them may hold a secret or what belongs to a customer. Must not know: declared requests, rows
//! or marks. Start reading at [`Client::get`];
//! `client::change` asks for a change, once; `link` reads the header line of RFC 8288, `few` lets only so many requests
//! through.

mod client;
mod few;
mod link;
mod rate;
mod trouble;
mod wait;

use std::pin::Pin;
use std::time::Duration;

use chrono::{DateTime, Utc};

pub use client::{Answer, Client, ClientError, Json, Validators};
pub(crate) use client::{Change, Told, Unsure, busy, connection, json, not_answered, read_body};
pub use few::Few;
pub use link::{LinkError, next_link};
pub use trouble::Trouble;

/// What comes from outside: the time, chance, and waiting.
///
/// Time-outs are apart from it: they run by the runtime's own clock.
pub trait World: Send + Sync {
    /// The time by the clock of this machine.
    fn now(&self) -> DateTime<Utc>;
    /// A number from 0 up to, and without, 1; every call another.
    fn random(&self) -> f64;
    /// Lets so much time pass.
    fn sleep(&self, span: Duration) -> Pin<Box<dyn Future<Output = ()> + Send + '_>>;
    /// Whether one more request may be sent, of any kind and to whomever; asked before each, and counted as sent where
    /// it may. As many as are wanted, where nothing else is said.
    fn may_ask(&self) -> bool {
        true
    }
}

/// How long, how large and how often. A limit that is met is an error that says so.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Limits {
    /// Until there is a connection. A service that takes longer is down or behind a wall.
    pub connect: Duration,
    /// From asking to the last byte. Slow services sort thousands of records before the first byte; more than a minute
    /// is cut off by what commonly stands in front of them (common practice, no published source).
    pub answer: Duration,
    /// Of one answer, unpacked. A page of a hundred orders has about a megabyte; reading this much takes about ten times
    /// as much memory, which a machine of 512 MB can give.
    pub bytes: usize,
    /// How often one thing is asked, the first time included.
    pub tries: u32,
    /// The first wait between two tries; each is twice the one before.
    pub first_wait: Duration,
    /// The longest wait that is chosen here.
    pub longest_wait: Duration,
    /// The longest wait that a source may ask for and is waited out; where it asks for more, the poll ends, and says
    /// until when.
    pub longest_retry_after: Duration,
    /// Redirections that are followed for one answer.
    pub redirects: u32,
    /// Pages of one pass. A hundred records each are two million.
    pub pages: u64,
    /// Pages for one row of another request: they are held in memory together.
    pub pages_of_row: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            connect: Duration::from_secs(10),
            answer: Duration::from_secs(60),
            bytes: 16 * 1024 * 1024,
            tries: 5,
            first_wait: Duration::from_secs(1),
            longest_wait: Duration::from_secs(30),
            longest_retry_after: Duration::from_secs(120),
            redirects: 5,
            pages: 20_000,
            pages_of_row: 100,
        }
    }
}
