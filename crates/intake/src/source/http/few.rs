//! So many requests and no more, whoever wants them: a world that counts.
//!
//! Must not know what is asked for. Start reading at [`Few`].

use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;

use chrono::{DateTime, Utc};

use super::World;

/// A world in which only so many requests are sent: redirections, further tries and requests for tokens count too, of
/// all clients that share it.
pub struct Few {
    left: AtomicU32,
    world: Arc<dyn World>,
}

impl Few {
    /// A world that is as another, in which so many requests may be sent.
    pub fn new(requests: u32, world: Arc<dyn World>) -> Self {
        Self { left: AtomicU32::new(requests), world }
    }

    /// How many may still be sent.
    pub fn left(&self) -> u32 {
        self.left.load(Ordering::SeqCst)
    }
}

impl World for Few {
    fn now(&self) -> DateTime<Utc> {
        self.world.now()
    }

    fn random(&self) -> f64 {
        self.world.random()
    }

    fn sleep(&self, span: Duration) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        self.world.sleep(span)
    }

    fn may_ask(&self) -> bool {
        let take = |left: u32| left.checked_sub(1);
        self.left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, take).is_ok() && self.world.may_ask()
    }
}
