//! The state of a pack: worked out from its life, its open findings and the age of its last reading, never stored alone.
//! How a pack gets out of a state is `release`. Instants come as arguments.

use super::calendar::Instant;
use super::verdict::Gravity;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    Fit,
    Caution,
    SetAside,
    Quarantine,
    Retired,
    NotKnown,
    Lost,
    GivenAway,
    Withdrawn,
}

impl State {
    pub const ALL: [Self; 9] = [
        Self::Fit,
        Self::Caution,
        Self::SetAside,
        Self::Quarantine,
        Self::Retired,
        Self::NotKnown,
        Self::Lost,
        Self::GivenAway,
        Self::Withdrawn,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Fit => "fit",
            Self::Caution => "caution",
            Self::SetAside => "set_aside",
            Self::Quarantine => "quarantine",
            Self::Retired => "retired",
            Self::NotKnown => "not_known",
            Self::Lost => "lost",
            Self::GivenAway => "given_away",
            Self::Withdrawn => "withdrawn",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Fit => "Fit",
            Self::Caution => "Caution",
            Self::SetAside => "Set aside",
            Self::Quarantine => "Quarantine",
            Self::Retired => "Retired",
            Self::NotKnown => "Not known",
            Self::Lost => "Lost",
            Self::GivenAway => "Given away",
            Self::Withdrawn => "Withdrawn",
        }
    }

    pub const fn is_lendable(self) -> bool {
        matches!(self, Self::Fit | Self::Caution)
    }

    /// Hard stop: charger settings are shown for no pack in another state.
    pub const fn shows_settings(self) -> bool {
        matches!(self, Self::Fit | Self::Caution)
    }

    pub const fn is_gone(self) -> bool {
        matches!(self, Self::Lost | Self::GivenAway | Self::Withdrawn)
    }
}

/// What a person decided about the pack as a whole; everything but `InUse` is for good, save that a lost pack is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Life {
    InUse,
    Retired,
    Lost,
    GivenAway,
    Withdrawn,
}

impl Life {
    pub const ALL: [Self; 5] = [
        Self::InUse,
        Self::Retired,
        Self::Lost,
        Self::GivenAway,
        Self::Withdrawn,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::InUse => "in_use",
            Self::Retired => "retired",
            Self::Lost => "lost",
            Self::GivenAway => "given_away",
            Self::Withdrawn => "withdrawn",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::InUse => "In use",
            Self::Retired => "Retired",
            Self::Lost => "Lost",
            Self::GivenAway => "Given away",
            Self::Withdrawn => "Withdrawn",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }
}

/// Gone before retired before quarantine before set aside before not known before caution before fit. A pack that was
/// never read, or not within `not_known_after_days`, is not known; a reading dated after `now` (a clock set back) is new.
pub fn state_of(
    life: Life,
    open: &[Gravity],
    last_reading: Option<Instant>,
    now: Instant,
    not_known_after_days: i64,
) -> State {
    match life {
        Life::Lost => return State::Lost,
        Life::GivenAway => return State::GivenAway,
        Life::Withdrawn => return State::Withdrawn,
        Life::Retired => return State::Retired,
        Life::InUse => {}
    }
    let is_read = last_reading.is_some_and(|at| !is_old(at, now, not_known_after_days));
    match open.iter().max() {
        Some(Gravity::FinalDanger | Gravity::Danger) => State::Quarantine,
        Some(Gravity::ToMend) => State::SetAside,
        Some(Gravity::NotKnown) => State::NotKnown,
        _ if !is_read => State::NotKnown,
        Some(Gravity::Caution) => State::Caution,
        Some(Gravity::Note) | None => State::Fit,
    }
}

/// More than so many days ago, to the millisecond.
pub fn is_old(read_at: Instant, now: Instant, after_days: i64) -> bool {
    now > read_at.plus_days(after_days)
}
