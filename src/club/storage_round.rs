//! A storage round: which of its packs is in its band, needs discharge or charge, is not to be touched, or was not read yet. Nothing
//! is sorted by belief: volts read since it was added say it, and a pack that is not fit is left alone. Who takes one home is said
//! with a day. Days in the hall.

use super::calendar::{Day, Instant};
use super::care::due::OnRecord;
use super::care::kept::Band;
use super::care::seen::band_now;
use super::seen::DONT_CONNECT;

/// As they stand on the page: what is dangerous first, what is done last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sorted {
    DontTouch,
    NotRead,
    NeedsDischarge,
    NeedsCharge,
    Done,
}

impl Sorted {
    pub const ALL: [Self; 5] = [
        Self::DontTouch,
        Self::NotRead,
        Self::NeedsDischarge,
        Self::NeedsCharge,
        Self::Done,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::DontTouch => "dont_touch",
            Self::NotRead => "not_read",
            Self::NeedsDischarge => "needs_discharge",
            Self::NeedsCharge => "needs_charge",
            Self::Done => "done",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::DontTouch => "Don't touch",
            Self::NotRead => "Volts to be read",
            Self::NeedsDischarge => "Needs discharge",
            Self::NeedsCharge => "Needs charge",
            Self::Done => "In the band",
        }
    }

    /// Somebody has to see to it still.
    pub const fn is_open(self) -> bool {
        !matches!(self, Self::Done)
    }
}

/// `added`: when it was put on the round. Volts read before that say nothing, nor do any of a pack `in_use`: it charges, or is lent.
pub fn sorted(pack: &OnRecord, added: Instant, in_use: bool) -> Sorted {
    // What was done with it since its volts were read is told by volts read anew.
    let is_latest = pack.story.since.is_empty();
    let read = pack.story.read.as_ref();
    let read = read.filter(|read| is_latest && read.at >= added && !in_use);
    match (read, band_now(pack)) {
        _ if is_left_alone(pack, read.is_some()) => Sorted::DontTouch,
        (None, _) | (_, None) => Sorted::NotRead,
        (Some(_), Some(Band::Above)) => Sorted::NeedsDischarge,
        (Some(_), Some(Band::Under)) => Sorted::NeedsCharge,
        (Some(_), Some(Band::In)) => Sorted::Done,
    }
}

/// Beyond that even volts that nothing was done with since are read again: a day, common practice.
const STILL_THE_ROUND_DAYS: i64 = 1;

/// From when a pack counts as back that is put on a round now. Volts that were read within a day, since its event was over or on a
/// round before, are not read again where nothing was done with it since: it counts as back when they were read.
/// `last_round`: when it was put on the latest round before.
pub fn back_from(pack: &OnRecord, last_round: Option<Instant>, now: Instant) -> Instant {
    let read = pack
        .story
        .read
        .as_ref()
        .filter(|_| pack.story.since.is_empty());
    let Some(read) = read else {
        return now;
    };
    let is_since_event = pack
        .event
        .as_ref()
        .is_some_and(|event| event.ends <= read.at);
    let was_on_round = last_round.is_some_and(|added| added <= read.at);
    let is_same_day = now.days_since(read.at) < STILL_THE_ROUND_DAYS;
    if is_same_day && (is_since_event || was_on_round) {
        read.at
    } else {
        now
    }
}

/// In quarantine, retired or gone; what no meter is plugged into; and once it was read what is not fit to be charged.
fn is_left_alone(pack: &OnRecord, is_read: bool) -> bool {
    let keeps_meters_off = pack.state_next.contains(DONT_CONNECT);
    pack.state.goes_to_nobody() || (is_read || keeps_meters_off) && !pack.state.shows_settings()
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum HomeRefusal {
    #[error("Choose who takes it home.")]
    NoPerson,
    #[error("Give the day by which it is done: from today on, within two weeks.")]
    Day,
    #[error("It is not to be touched: nobody takes it home.")]
    DontTouch,
    #[error("It is in its band: there is nothing left to do.")]
    Done,
}

/// Longer no charged pack may lie: a University of Maryland flight lab's fourteen days.
const LONGEST_DAYS: i64 = 14;

/// May it be taken home to be finished by then?
pub fn home_refusal(stands: Sorted, by: Option<Day>, today: Day) -> Option<HomeRefusal> {
    let days = by.map(|by| today.days_until(by));
    match (stands, days) {
        (Sorted::DontTouch, _) => Some(HomeRefusal::DontTouch),
        (Sorted::Done, _) => Some(HomeRefusal::Done),
        (_, Some(0..=LONGEST_DAYS)) => None,
        _ => Some(HomeRefusal::Day),
    }
}

#[cfg(test)]
#[path = "storage_round_tests.rs"]
mod tests;
