//! The state that a pack has now: what is stored, and 'not known' once the last reading is too old; why, and what is next.

use super::PackView;
use crate::club::calendar::Instant;
use crate::club::charging;
use crate::club::limits::ClubLimits;
use crate::club::reading::Rested;
use crate::club::states::{self, State};
use crate::club::verdict::Finding;

impl PackView {
    /// Whole days since its last reading; 0 when it was never read.
    pub fn days_unread(&self, now: Instant) -> i64 {
        self.last_read_ms
            .map_or(0, |at| (now.ms() - at.ms()).div_euclid(86_400_000))
    }

    /// Never read counts as long ago.
    pub fn is_read_long_ago(&self, now: Instant, reading_days: i64) -> bool {
        self.last_read_ms
            .is_none_or(|at| states::is_old(at, now, reading_days))
    }

    /// The state it has now: what is stored, and 'not known' once the last reading is too old.
    pub fn state_at(&self, now: Instant, reading_days: i64) -> State {
        let stored = State::from_code(&self.state).unwrap_or(State::Quarantine);
        let is_old = self.is_read_long_ago(now, reading_days);
        if stored.is_lendable() && is_old {
            State::NotKnown
        } else {
            stored
        }
    }

    /// Nothing but the age of its last reading makes it not known.
    pub fn is_by_age(&self, now: Instant, reading_days: i64) -> bool {
        let state = self.state_at(now, reading_days);
        state == State::NotKnown && self.state != state.code()
    }

    /// The state it has now, why, and its next act: as its page says them.
    pub fn told_at(&self, now: Instant, limits: &ClubLimits) -> (State, String, String) {
        let state = self.state_at(now, limits.reading_days);
        if self.is_by_age(now, limits.reading_days) {
            let old = Finding::reading_old(self.days_unread(now), limits);
            return (state, old.words, old.next);
        }
        (state, self.state_words.clone(), self.state_next.clone())
    }

    /// When a charge filled it, where its volts don't tell that.
    pub fn filled(&self, last_filled: Option<Instant>) -> Option<Instant> {
        let rested = Rested::of_minutes(self.last_rested_minutes.unwrap_or(0));
        let volts = self.volts();
        let latest = (self.last_read_ms, rested, volts.as_ref());
        charging::filled(&self.build(), last_filled, latest)
    }

    /// Why it is left alone and what is next, as its own page says it; empty where nothing keeps it from a charger.
    pub fn held_words(&self, now: Instant, limits: &ClubLimits) -> String {
        let (state, why, next) = self.told_at(now, limits);
        if state.shows_settings() {
            return String::new();
        }
        format!("{why} {next}").trim().to_owned()
    }
}
