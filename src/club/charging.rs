//! Whether a pack may be given settings at all, and what a charge that ended comes to. How it is then charged is the
//! bench's. mAh, minutes.

use super::calendar::Instant;
use super::reading::Rested;
use super::states::State;
use super::verdict::{Finding, Gravity, Rule};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::PUT_BACK_PERCENT;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::bench::form::{Against, Refusal};
use crate::bench::typed::Words;

/// Volts older than this do not tell what is in a pack: common practice, no source.
pub const VOLTS_GOOD_FOR_HOURS: i64 = 24;

/// At an event a pack goes in and out of a robot with no word on record: common practice, no source.
const VOLTS_GOOD_AT_EVENT_MINUTES: i64 = 60;

/// So long nickel counts as full after a charge that came to its end. It then has lost up to fifteen percent by lying (BU-802b),
/// which is worth a charge; how much of it is left its volts do not tell.
const NICKEL_FULL_FOR_HOURS: i64 = 24;

/// Of a charge that runs: its pack turned bad meanwhile, or some of its kit was set aside; neither has settings any more.
pub const fn must_stop(pack: State, is_kit_set_aside: bool) -> bool {
    !pack.shows_settings() || is_kit_set_aside
}

/// Why a pack gets no settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSettings {
    #[error("Its state is {0}: only a pack that is fit, or a caution, is charged.")]
    State(&'static str),
    #[error("It is charging already.")]
    Charging,
    #[error(
        "It is full after a finished charge and was not used since. If it was, log its volts as just used; after {NICKEL_FULL_FOR_HOURS} hours it may be charged again."
    )]
    Filled,
    #[error("Its volts were never logged: log them first.")]
    NeverRead,
    #[error("Its volts were logged more than {VOLTS_GOOD_FOR_HOURS} hours ago: log them first.")]
    ReadTooLongAgo,
    #[error("It was used or charged since its volts were logged: log them first.")]
    UsedSince,
    #[error(
        "It is on a storage round as back, and nobody looked at it since: log its volts first."
    )]
    UnreadOnRound,
    #[error(
        "A log of a charge that is not on record was brought in: it may have been charged since its volts were logged. Log them first."
    )]
    LoggedSince,
    #[error(
        "It is at an event, and its volts were logged more than an hour ago: log them again, since it may have been used."
    )]
    AtEvent,
}

impl NoSettings {
    /// New volts would help.
    pub fn wants_volts(self) -> bool {
        matches!(
            self,
            Self::NeverRead
                | Self::ReadTooLongAgo
                | Self::UsedSince
                | Self::UnreadOnRound
                | Self::LoggedSince
                | Self::AtEvent
        ) || self == Self::State(State::NotKnown.label())
    }
}

impl Refusal for NoSettings {
    fn against(&self) -> Against {
        Against::Rule
    }
}

/// What is on record of a pack that somebody wants to charge.
#[derive(Clone, Copy, Debug)]
pub struct OnRecord {
    pub state: State,
    pub is_charging: bool,
    pub read: Option<Instant>,
    /// Out since then: what was read as it went out is from before its use.
    pub lent: Option<Instant>,
    /// It came back, or its last charge ended: what was read then tells what is in it.
    pub used: Option<Instant>,
    /// It was put on a storage round as what came back, and nobody looked at it.
    pub on_round: Option<Instant>,
    /// So late a log tells that it charged, or was discharged, with no charge on record.
    pub logged: Option<Instant>,
    /// A charge filled it then, as far as that is not told by its volts.
    pub filled: Option<Instant>,
    /// It is on the list of an event that touches the day its volts count for, and nobody saw it come back since.
    pub at_event: Option<AtEvent>,
}

/// From when to when a pack may be in use at an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AtEvent {
    pub from: Instant,
    pub to: Instant,
}

impl AtEvent {
    /// What was read then does not tell what is in it now.
    pub fn spoils(self, read: Instant, now: Instant) -> Option<NoSettings> {
        if now < self.from {
            return None;
        }
        let is_over = now >= self.to;
        if read < self.from || is_over && read < self.to {
            return Some(NoSettings::UsedSince);
        }
        let is_long_ago = now.minutes_since(read) > VOLTS_GOOD_AT_EVENT_MINUTES;
        (!is_over && is_long_ago).then_some(NoSettings::AtEvent)
    }
}

/// When a charge that came to its own end filled a pack whose volts don't tell that it is full: nickel. Read just used or empty
/// since, it is not. `latest`: when it was read, how long it had rested, and what.
pub fn filled(
    build: &Build,
    last_filled: Option<Instant>,
    latest: (Option<Instant>, Rested, Option<&Volts>),
) -> Option<Instant> {
    let at = last_filled.filter(|_| build.chemistry == Chemistry::NiMh)?;
    let (read, rested, volts) = latest;
    if read.is_none_or(|read| read <= at) {
        return Some(at);
    }
    let empty_mv = build.limits().empty_mv * build.cells_series;
    let is_empty = volts.is_some_and(|volts| volts.total_mv() < empty_mv);
    (rested != Rested::JustUsed && !is_empty).then_some(at)
}

/// Nothing on record took anything out of it.
fn is_full(pack: &OnRecord, now: Instant) -> bool {
    pack.filled.is_some_and(|at| {
        let is_out_since = pack.lent.is_some_and(|lent| lent >= at);
        let is_used_since = pack.used.is_some_and(|used| used > at);
        now.minutes_since(at) <= NICKEL_FULL_FOR_HOURS * 60 && !is_out_since && !is_used_since
    })
}

pub fn may_have_settings(pack: &OnRecord, now: Instant) -> Result<(), NoSettings> {
    if !pack.state.shows_settings() {
        return Err(NoSettings::State(pack.state.label()));
    }
    if pack.is_charging {
        return Err(NoSettings::Charging);
    }
    if is_full(pack, now) {
        return Err(NoSettings::Filled);
    }
    let read = pack.read.ok_or(NoSettings::NeverRead)?;
    if now.minutes_since(read) > VOLTS_GOOD_FOR_HOURS * 60 {
        return Err(NoSettings::ReadTooLongAgo);
    }
    let is_used = pack.used.is_some_and(|used| used > read);
    if is_used || pack.lent.is_some_and(|lent| lent >= read) {
        return Err(NoSettings::UsedSince);
    }
    if pack.on_round.is_some_and(|put_on| put_on > read) {
        return Err(NoSettings::UnreadOnRound);
    }
    if pack.logged.is_some_and(|logged| logged > read) {
        return Err(NoSettings::LoggedSince);
    }
    match pack.at_event.and_then(|event| event.spoils(read, now)) {
        Some(why) => Err(why),
        None => Ok(()),
    }
}

/// A pack that lay so long is not straight from use; as bench and readings have it.
const LIES_MINUTES: i64 = Rested::A_WHILE.minutes();

/// When a pack came out of a robot, as far as that is on record: it was taken back, unless it was read then or later and had
/// lain by then; or it was read just used. A charge that ended is no use.
pub fn came_from_use(
    back: Option<Instant>,
    read_just_used: Option<Instant>,
    latest: Option<(Instant, Rested)>,
) -> Option<Instant> {
    let had_lain = |back: Instant| {
        latest.is_some_and(|(at, rested)| at >= back && rested.minutes() >= LIES_MINUTES)
    };
    back.filter(|back| !had_lain(*back)).max(read_just_used)
}

/// Until when it lies; None: it has lain.
pub fn lies_until(came_from_use: Option<Instant>, now: Instant) -> Option<Instant> {
    let until = came_from_use?.plus_minutes(LIES_MINUTES);
    (until > now).then_some(until)
}

/// How a charge ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Finished,
    Stopped,
    Wrong,
}

impl Outcome {
    pub const ALL: [Self; 3] = [Self::Finished, Self::Stopped, Self::Wrong];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Finished => "finished",
            Self::Stopped => "stopped",
            Self::Wrong => "wrong",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Finished => "The charger said it is done",
            Self::Stopped => "I stopped it before",
            Self::Wrong => "Something was wrong: I stopped it",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }
}

/// What a charge was reckoned to move, and what it moved.
#[derive(Clone, Copy, Debug)]
pub struct Moved {
    pub chemistry: Chemistry,
    pub is_charge: bool,
    pub capacity_mah: i64,
    pub expected_most_mah: i64,
    pub moved_mah: i64,
}

/// How what is said of a charge begins until another followed.
pub const LAST_CHARGE: &str = "Its last charge";

/// A start is put on record a while after the charger's, and a charger counts a little off: common practice, no source.
const BEGAN_BEFORE_MINUTES: i64 = 15;
const COUNTS_OFF_PERCENT: i64 = 125;

/// More charge than its current can have moved in the time: a slip of the finger, or another current than was set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{moved_mah} mAh can’t be: in {minutes} minutes at {} it is about {most_mah} mAh at the most. Type it again, or say that the charger really shows it.",
    Words::POINT.amps(*current_ma)
)]
pub struct TooMuchForTime {
    pub moved_mah: i64,
    pub current_ma: i64,
    pub minutes: i64,
    most_mah: i64,
}

/// None: it may be so.
pub fn too_much_for_time(moved_mah: i64, current_ma: i64, minutes: i64) -> Option<TooMuchForTime> {
    let minutes = minutes.max(0);
    let most = |minutes: i64| current_ma.saturating_mul(minutes) / 60;
    let bound_mah =
        most(minutes.saturating_add(BEGAN_BEFORE_MINUTES)).saturating_mul(COUNTS_OFF_PERCENT) / 100;
    (moved_mah > bound_mah).then(|| TooMuchForTime {
        moved_mah,
        current_ma,
        minutes,
        most_mah: most(minutes),
    })
}

/// What was put into a lithium pack beyond 105 % of its label, where a charge stops (a maker's put-back limit); read off a
/// charge that ended, or beside volts by hand.
pub fn beyond_label(chemistry: Chemistry, capacity_mah: i64, put_in_mah: i64) -> Option<Finding> {
    if !is_beyond_label(chemistry, capacity_mah, put_in_mah) {
        return None;
    }
    let words = format!(
        "{LAST_CHARGE} put in {put_in_mah} mAh, more than {PUT_BACK_PERCENT} % of the {capacity_mah} mAh on its label."
    );
    let next =
        "Look it over and ask why: a cell may leak charge, or the charger was set to another pack.";
    Some(Finding::new(
        Rule::TookTooMuch,
        Gravity::ToMend,
        words,
        next,
    ))
}

pub fn is_beyond_label(chemistry: Chemistry, capacity_mah: i64, put_in_mah: i64) -> bool {
    let most = capacity_mah.saturating_mul(PUT_BACK_PERCENT);
    chemistry.is_lithium() && put_in_mah.saturating_mul(100) > most
}

/// More than a fifth above what was expected is told: common practice, no source.
const ABOVE_PERCENT: i64 = 120;

/// What moved more than was expected, and what is beyond the label.
pub fn findings(moved: &Moved) -> Option<Finding> {
    let Moved {
        capacity_mah,
        moved_mah,
        ..
    } = *moved;
    if !moved.is_charge {
        return more_than_expected(moved, ("Its last discharge took out", ABOVE_PERCENT));
    }
    let beyond = beyond_label(moved.chemistry, capacity_mah, moved_mah);
    if beyond.is_some() {
        return beyond;
    }
    // What nickel is expected to take has its margin in it: its timer stands at 110 to 125 %.
    let above_percent = if moved.chemistry == Chemistry::NiMh {
        100
    } else {
        ABOVE_PERCENT
    };
    more_than_expected(moved, ("Its last charge put in", above_percent))
}

/// What moved is another pack's, or its volts were read wrongly.
fn more_than_expected(moved: &Moved, (moved_words, above_percent): (&str, i64)) -> Option<Finding> {
    let (most_mah, moved_mah) = (moved.expected_most_mah, moved.moved_mah);
    let is_above = moved_mah.saturating_mul(100) > most_mah.saturating_mul(above_percent);
    is_above.then(|| {
        let words = format!(
            "{moved_words} {moved_mah} mAh; no more than {most_mah} mAh were expected from its volts."
        );
        let next =
            "Look it over: were its volts read rested, and is it the pack that the label says?";
        Finding::new(Rule::TookTooMuch, Gravity::Caution, words, next)
    })
}

/// Somebody stopped a charge because something was wrong.
pub fn stopped_wrong(words: &str) -> Finding {
    let said = match words.trim() {
        "" => "A charge of it was stopped because something was wrong.".to_owned(),
        words => format!(
            "A charge of it was stopped: {}.",
            words.trim_end_matches('.')
        ),
    };
    let next = "A quartermaster looks at it before it is charged or lent.";
    Finding::new(Rule::StoppedWrong, Gravity::ToMend, said, next)
}

#[cfg(test)]
#[path = "charging_tests.rs"]
mod tests;
