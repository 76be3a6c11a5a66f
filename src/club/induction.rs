//! Induction: was this person shown safe charging and handling, and does that still hold today? Without it nobody
//! borrows. Also who may be noted as having shown it. Days are the hall's; the last day of an induction still counts.

use super::calendar::{Day, day_words};
use uuid::Uuid;

/// How a person stands on a given day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Induction {
    Never,
    /// `until` is the last day it holds; None: without an end.
    Valid {
        until: Option<Day>,
    },
    /// `on` was the last day it held.
    RanOut {
        on: Day,
    },
}

/// One showing: the day, and the last day it holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shown {
    pub on: Day,
    pub ends_on: Option<Day>,
}

impl Induction {
    /// `latest` is the person's latest showing: an earlier one without an end does not outlive a later one with one.
    pub fn of(latest: Option<Shown>, today: Day) -> Self {
        match latest {
            None => Self::Never,
            Some(Shown { ends_on: None, .. }) => Self::Valid { until: None },
            Some(Shown {
                ends_on: Some(end), ..
            }) if today <= end => Self::Valid { until: Some(end) },
            Some(Shown {
                ends_on: Some(end), ..
            }) => Self::RanOut { on: end },
        }
    }

    pub const fn is_valid(self) -> bool {
        matches!(self, Self::Valid { .. })
    }

    /// Every code.
    pub const CODES: [&str; 3] = ["never", "valid", "ran_out"];

    /// For forms that filter.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Never => "never",
            Self::Valid { .. } => "valid",
            Self::RanOut { .. } => "ran_out",
        }
    }

    /// `Shown, holds until Fri 27 Nov 2026`
    pub fn words(self) -> String {
        match self {
            Self::Never => "Not shown yet".to_owned(),
            Self::Valid { until: None } => "Shown".to_owned(),
            Self::Valid { until: Some(day) } => format!("Shown, holds until {}", day_words(day)),
            Self::RanOut { on } => format!("Ran out after {}", day_words(on)),
        }
    }
}

/// Who is said to have shown it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shower {
    pub id: Uuid,
    pub is_active: bool,
    pub has_role: bool,
    /// The club's one and only quartermaster, whom nobody else can show anything.
    pub is_only_quartermaster: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum InductionRefusal {
    #[error("Choose a member who showed it.")]
    NoShower,
    #[error("Nobody shows it to themselves. Choose who showed it.")]
    BySelf,
    #[error("The day lies ahead. Note it when it has been shown.")]
    Ahead,
    #[error("It would have ended before it was shown. Choose a later day, or leave it empty.")]
    EndsFirst,
}

/// May this showing be noted for `person`? The only quartermaster may note their own: somebody has to begin.
pub fn may_note(
    person: Uuid,
    shower: Shower,
    shown: Shown,
    today: Day,
) -> Result<(), InductionRefusal> {
    if !shower.is_active || !shower.has_role {
        return Err(InductionRefusal::NoShower);
    }
    if shower.id == person && !shower.is_only_quartermaster {
        return Err(InductionRefusal::BySelf);
    }
    if shown.on > today {
        return Err(InductionRefusal::Ahead);
    }
    if shown.ends_on.is_some_and(|end| end < shown.on) {
        return Err(InductionRefusal::EndsFirst);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a day")
    }

    fn shown(on: &str, ends_on: Option<&str>) -> Shown {
        Shown {
            on: day(on),
            ends_on: ends_on.map(day),
        }
    }

    const ADA: Uuid = Uuid::from_u128(1);
    const BEN: Uuid = Uuid::from_u128(2);

    const fn shower(id: Uuid) -> Shower {
        Shower {
            id,
            is_active: true,
            has_role: true,
            is_only_quartermaster: false,
        }
    }

    #[test]
    fn an_induction_holds_through_its_last_day_and_has_run_out_the_day_after() {
        let latest = Some(shown("2025-11-25", Some("2026-11-25")));
        let last = day("2026-11-25");
        assert_eq!(
            Induction::of(latest, last),
            Induction::Valid { until: Some(last) }
        );
        assert_eq!(
            Induction::of(latest, last.plus_days(1)),
            Induction::RanOut { on: last }
        );
        assert_eq!(Induction::of(None, last), Induction::Never);
        assert!(Induction::of(Some(shown("2019-01-01", None)), last).is_valid());
    }

    #[test]
    fn nobody_shows_it_to_themselves_but_the_only_quartermaster() {
        let today = day("2026-11-25");
        let note = shown("2026-11-24", None);
        assert_eq!(
            may_note(ADA, shower(ADA), note, today),
            Err(InductionRefusal::BySelf)
        );
        assert_eq!(may_note(BEN, shower(ADA), note, today), Ok(()));
        let alone = Shower {
            is_only_quartermaster: true,
            ..shower(ADA)
        };
        assert_eq!(may_note(ADA, alone, note, today), Ok(()));
    }

    #[test]
    fn it_is_shown_by_an_active_member_and_not_by_a_guest() {
        let today = day("2026-11-25");
        let note = shown("2026-11-24", None);
        let gone = Shower {
            is_active: false,
            ..shower(ADA)
        };
        let guest = Shower {
            has_role: false,
            ..shower(ADA)
        };
        for who in [gone, guest] {
            assert_eq!(
                may_note(BEN, who, note, today),
                Err(InductionRefusal::NoShower)
            );
        }
    }

    #[test]
    fn it_can_neither_be_shown_tomorrow_nor_end_before_it_was_shown() {
        let today = day("2026-11-25");
        assert_eq!(
            may_note(BEN, shower(ADA), shown("2026-11-26", None), today),
            Err(InductionRefusal::Ahead)
        );
        assert_eq!(
            may_note(
                BEN,
                shower(ADA),
                shown("2026-11-25", Some("2026-11-24")),
                today
            ),
            Err(InductionRefusal::EndsFirst)
        );
    }
}
