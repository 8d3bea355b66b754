//! Time, chance and waiting: of this machine, and as a caller tells them.
//!
//! Start reading at [`Machine`].

use std::future::Future;
use std::pin::Pin;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use chrono::{DateTime, Utc};
use intake::source::http::World;

use crate::clock;

type Waiting<'a> = Pin<Box<dyn Future<Output = ()> + Send + 'a>>;

/// The clock of this machine, and chance.
#[derive(Clone, Copy, Debug)]
pub struct Machine;

impl World for Machine {
    fn now(&self) -> DateTime<Utc> {
        clock::now_exactly()
    }

    fn random(&self) -> f64 {
        fastrand::f64()
    }

    fn sleep(&self, span: Duration) -> Waiting<'_> {
        Box::pin(tokio::time::sleep(span))
    }
}

/// A clock that stands still until it is moved. Nobody waits by it, and chance is always the same.
#[derive(Debug)]
pub struct Told(Mutex<DateTime<Utc>>);

impl Told {
    /// A clock that stands at a moment.
    pub fn new(now: DateTime<Utc>) -> Self {
        Self(Mutex::new(now))
    }

    /// Moves it.
    pub fn set(&self, now: DateTime<Utc>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = now;
    }
}

impl World for Told {
    fn now(&self) -> DateTime<Utc> {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn random(&self) -> f64 {
        0.5
    }

    fn sleep(&self, _span: Duration) -> Waiting<'_> {
        Box::pin(tokio::task::yield_now())
    }
}
