//! Whether a pack may be given settings at all, and what a charge that ended comes to. How it is then charged is the
//! bench's. mAh, minutes.

use super::calendar::Instant;
use super::reading::Rested;
use super::states::State;
use super::verdict::{Finding, Gravity, Rule};
use crate::battery::chemistry::Chemistry;
use crate::bench::form::{Against, Refusal};

/// Volts older than this do not tell what is in a pack: common practice, no source.
pub const VOLTS_GOOD_FOR_HOURS: i64 = 24;

/// Why a pack gets no settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSettings {
    #[error("Its state is {0}: only a pack that is fit, or a caution, is charged.")]
    State(&'static str),
    #[error("It is charging already.")]
    Charging,
    #[error("Its volts were never logged: log them first.")]
    NeverRead,
    #[error("Its volts were logged more than {VOLTS_GOOD_FOR_HOURS} hours ago: log them first.")]
    ReadTooLongAgo,
    #[error("It was used or charged since its volts were logged: log them first.")]
    UsedSince,
}

impl NoSettings {
    /// New volts would help.
    pub const fn wants_volts(self) -> bool {
        matches!(
            self,
            Self::NeverRead | Self::ReadTooLongAgo | Self::UsedSince
        )
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
}

pub fn may_have_settings(pack: &OnRecord, now: Instant) -> Result<(), NoSettings> {
    if !pack.state.shows_settings() {
        return Err(NoSettings::State(pack.state.label()));
    }
    if pack.is_charging {
        return Err(NoSettings::Charging);
    }
    let read = pack.read.ok_or(NoSettings::NeverRead)?;
    if now.minutes_since(read) > VOLTS_GOOD_FOR_HOURS * 60 {
        return Err(NoSettings::ReadTooLongAgo);
    }
    let is_used = pack.used.is_some_and(|used| used > read);
    if is_used || pack.lent.is_some_and(|lent| lent >= read) {
        return Err(NoSettings::UsedSince);
    }
    Ok(())
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

/// What was put into a lithium pack beyond 105 % of its label, where a charge stops (a maker's put-back limit); read off a
/// charge that ended, or beside volts by hand.
pub fn beyond_label(chemistry: Chemistry, capacity_mah: i64, put_in_mah: i64) -> Option<Finding> {
    let is_beyond = put_in_mah.saturating_mul(100) > capacity_mah.saturating_mul(105);
    if !chemistry.is_lithium() || !is_beyond {
        return None;
    }
    let words = format!(
        "Its last charge put in {put_in_mah} mAh, more than 105 % of the {capacity_mah} mAh on its label."
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

/// More than a fifth above what was expected is told: common practice, no source; and what is beyond the label.
pub fn findings(moved: &Moved) -> Option<Finding> {
    let Moved {
        capacity_mah,
        expected_most_mah,
        moved_mah,
        ..
    } = *moved;
    if !moved.is_charge {
        return None;
    }
    let beyond = beyond_label(moved.chemistry, capacity_mah, moved_mah);
    if beyond.is_some() {
        return beyond;
    }
    // What nickel is expected to take has its margin in it: its timer stands at 110 to 125 %.
    let above_percent = if moved.chemistry == Chemistry::NiMh {
        100
    } else {
        120
    };
    if moved_mah.saturating_mul(100) > expected_most_mah.saturating_mul(above_percent) {
        let words = format!(
            "Its last charge put in {moved_mah} mAh; no more than {expected_most_mah} mAh were expected from its volts."
        );
        let next =
            "Look it over: were its volts read rested, and is it the pack that the label says?";
        return Some(Finding::new(
            Rule::TookTooMuch,
            Gravity::Caution,
            words,
            next,
        ));
    }
    None
}

/// Somebody stopped a charge because something was wrong.
pub fn stopped_wrong(words: &str) -> Finding {
    let said = match words.trim() {
        "" => "A charge of it was stopped because something was wrong.".to_owned(),
        words => format!("A charge of it was stopped: {words}"),
    };
    let next = "A quartermaster looks at it before it is charged or lent.";
    Finding::new(Rule::StoppedWrong, Gravity::ToMend, said, next)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: Instant = Instant(1_800_000_000_000);

    fn read_before(minutes: i64) -> OnRecord {
        OnRecord {
            state: State::Fit,
            is_charging: false,
            read: Some(NOW.plus_minutes(-minutes)),
            lent: None,
            used: None,
        }
    }

    #[test]
    fn only_a_pack_that_is_fit_or_a_caution_gets_settings() {
        for state in State::ALL {
            let pack = OnRecord {
                state,
                ..read_before(10)
            };
            let may = matches!(state, State::Fit | State::Caution);
            assert_eq!(
                may_have_settings(&pack, NOW).is_ok(),
                may,
                "{}",
                state.label()
            );
        }
    }

    #[test]
    fn volts_count_for_a_day_and_not_once_the_pack_was_used() {
        assert_eq!(may_have_settings(&read_before(24 * 60), NOW), Ok(()));
        assert_eq!(
            may_have_settings(&read_before(24 * 60 + 1), NOW),
            Err(NoSettings::ReadTooLongAgo)
        );
        let never = OnRecord {
            read: None,
            ..read_before(0)
        };
        assert_eq!(may_have_settings(&never, NOW), Err(NoSettings::NeverRead));
        let used = |minutes: i64| OnRecord {
            used: Some(NOW.plus_minutes(-minutes)),
            ..read_before(30)
        };
        assert_eq!(
            may_have_settings(&used(29), NOW),
            Err(NoSettings::UsedSince)
        );
        // Read as it came back.
        assert_eq!(may_have_settings(&used(30), NOW), Ok(()));
        let lent = |minutes: i64| OnRecord {
            lent: Some(NOW.plus_minutes(-minutes)),
            ..read_before(30)
        };
        // Read as it went out.
        assert_eq!(
            may_have_settings(&lent(30), NOW),
            Err(NoSettings::UsedSince)
        );
        assert_eq!(may_have_settings(&lent(31), NOW), Ok(()));
        let charging = OnRecord {
            is_charging: true,
            ..read_before(1)
        };
        assert_eq!(may_have_settings(&charging, NOW), Err(NoSettings::Charging));
    }

    #[test]
    fn a_pack_came_from_use_as_it_was_taken_back_or_read_just_used_and_had_not_lain_by_then() {
        let at = |minutes: i64| Some(NOW.plus_minutes(-minutes));
        let read = |minutes: i64, rested| Some((NOW.plus_minutes(-minutes), rested));
        assert_eq!(came_from_use(None, None, read(1, Rested::AN_HOUR)), None);
        assert_eq!(came_from_use(at(5), None, read(5, Rested::JustUsed)), at(5));
        assert_eq!(
            came_from_use(at(5), at(3), read(3, Rested::JustUsed)),
            at(3)
        );
        assert_eq!(came_from_use(None, at(3), read(3, Rested::JustUsed)), at(3));
        // Taken back, and read as having lain; what was read before it went out tells nothing.
        assert_eq!(came_from_use(at(5), None, read(5, Rested::A_WHILE)), None);
        assert_eq!(came_from_use(at(5), None, read(6, Rested::AN_HOUR)), at(5));
        assert_eq!(lies_until(at(5), NOW), Some(NOW.plus_minutes(10)));
        assert_eq!(lies_until(at(15), NOW), None);
        assert_eq!(lies_until(None, NOW), None);
    }

    #[test]
    fn what_goes_in_beyond_what_was_expected_is_told_and_beyond_its_label_sets_it_aside() {
        let of = |moved_mah: i64, chemistry: Chemistry| {
            findings(&Moved {
                chemistry,
                is_charge: true,
                capacity_mah: 5_000,
                expected_most_mah: 3_000,
                moved_mah,
            })
            .map(|finding| finding.gravity)
        };
        assert_eq!(of(3_600, Chemistry::LiPo), None);
        assert_eq!(of(3_601, Chemistry::LiPo), Some(Gravity::Caution));
        assert_eq!(of(5_250, Chemistry::LiPo), Some(Gravity::Caution));
        assert_eq!(of(5_251, Chemistry::LiPo), Some(Gravity::ToMend));
        assert_eq!(of(6_000, Chemistry::NiMh), Some(Gravity::Caution));
        assert_eq!(
            stopped_wrong("it got warm").words,
            "A charge of it was stopped: it got warm"
        );
    }
}
