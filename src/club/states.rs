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

    /// Nothing that is done at the table lets it out again.
    pub const fn goes_to_nobody(self) -> bool {
        matches!(self, Self::Quarantine | Self::Retired) || self.is_gone()
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const NOW: Instant = Instant(1_795_600_000_000);

    fn in_use(open: &[Gravity]) -> State {
        state_of(Life::InUse, open, Some(NOW), NOW, 90)
    }

    /// How far a state keeps a pack from use.
    fn care(state: State) -> i64 {
        match state {
            State::Fit => 0,
            State::Caution => 1,
            State::NotKnown => 2,
            State::SetAside => 3,
            State::Quarantine => 4,
            State::Retired => 5,
            State::Lost | State::GivenAway | State::Withdrawn => 6,
        }
    }

    #[test]
    fn every_state_and_life_is_found_again_by_its_code() {
        for each in State::ALL {
            assert_eq!(State::from_code(each.code()), Some(each));
        }
        for each in Life::ALL {
            assert_eq!(Life::from_code(each.code()), Some(each));
        }
    }

    #[test]
    fn the_gravest_open_finding_makes_the_state() {
        use Gravity::*;
        assert_eq!(in_use(&[]), State::Fit);
        assert_eq!(in_use(&[Note]), State::Fit);
        assert_eq!(in_use(&[Note, Caution]), State::Caution);
        assert_eq!(in_use(&[NotKnown, Caution]), State::NotKnown);
        assert_eq!(in_use(&[NotKnown, ToMend]), State::SetAside);
        assert_eq!(in_use(&[Danger, ToMend]), State::Quarantine);
        assert_eq!(in_use(&[Caution, FinalDanger]), State::Quarantine);
    }

    #[test]
    fn a_pack_never_read_or_read_more_than_90_days_ago_is_not_known() {
        let read = |at: Option<Instant>, open: &[Gravity]| state_of(Life::InUse, open, at, NOW, 90);
        let ago = |ms: i64| Some(Instant(NOW.0 - 90 * 86_400_000 - ms));
        assert_eq!(read(None, &[]), State::NotKnown);
        assert_eq!(read(ago(0), &[]), State::Fit);
        assert_eq!(read(ago(1), &[]), State::NotKnown);
        assert_eq!(read(ago(1), &[Gravity::Caution]), State::NotKnown);
        assert_eq!(read(ago(1), &[Gravity::ToMend]), State::SetAside);
        assert_eq!(read(Some(NOW.plus_hours(1)), &[]), State::Fit);
    }

    #[test]
    fn a_retired_or_gone_pack_is_that_whatever_was_found_on_it() {
        let of = |life| state_of(life, &[Gravity::Danger], None, NOW, 90);
        assert_eq!(of(Life::Retired), State::Retired);
        assert_eq!(of(Life::Lost), State::Lost);
        assert_eq!(of(Life::GivenAway), State::GivenAway);
        assert_eq!(of(Life::Withdrawn), State::Withdrawn);
    }

    #[test]
    fn only_fit_and_caution_are_lent_and_show_settings() {
        for state in State::ALL {
            let is_usable = matches!(state, State::Fit | State::Caution);
            assert_eq!(state.is_lendable(), is_usable);
            assert_eq!(state.shows_settings(), is_usable);
            assert_eq!(state.is_gone(), care(state) == 6);
            assert_eq!(state.goes_to_nobody(), care(state) >= 4, "{state:?}");
        }
    }

    proptest! {
        #[test]
        fn one_finding_more_never_makes_the_state_milder(
            open in prop::collection::vec(prop::sample::select(Gravity::ALL.to_vec()), 0..6),
            more in prop::sample::select(Gravity::ALL.to_vec()),
            life in prop::sample::select(Life::ALL.to_vec()),
            last in prop::option::of(any::<i64>()), now: i64, days in 1_i64..=90,
        ) {
            let state = |open: &[Gravity]| state_of(life, open, last.map(Instant), Instant(now), days);
            let before = state(&open);
            let with_more = [open, vec![more]].concat();
            prop_assert!(care(state(&with_more)) >= care(before));
        }

        #[test]
        fn an_older_reading_never_makes_the_state_milder(
            open in prop::collection::vec(prop::sample::select(Gravity::ALL.to_vec()), 0..4),
            now in 0_i64..4_000_000_000_000, age in 0_i64..20_000_000_000, older in 0_i64..20_000_000_000,
        ) {
            let state = |age: i64| state_of(Life::InUse, &open, Some(Instant(now - age)), Instant(now), 90);
            prop_assert!(care(state(age + older)) >= care(state(age)));
        }
    }
}
