//! The only caller of `now`. Tests hold the clock still and move it by hand.

use crate::club::calendar::Instant;
use std::sync::{
    Arc,
    atomic::{AtomicI64, Ordering},
};

#[derive(Clone, Debug)]
pub enum Clock {
    System,
    /// Stands still until it is set; shared by its clones.
    Held(Arc<AtomicI64>),
}

impl Clock {
    pub fn held_at(at: Instant) -> Self {
        Self::Held(Arc::new(AtomicI64::new(at.ms())))
    }

    #[allow(clippy::disallowed_methods)]
    pub fn now(&self) -> Instant {
        match self {
            Self::System => Instant(jiff::Timestamp::now().as_millisecond()),
            Self::Held(ms) => Instant(ms.load(Ordering::Relaxed)),
        }
    }

    /// Moves a held clock; the system's clock is not ours to move.
    pub fn set(&self, at: Instant) {
        if let Self::Held(ms) = self {
            ms.store(at.ms(), Ordering::Relaxed);
        }
    }
}
