//! What is to see to of a pack against which danger stands, in use or not: it is no less dangerous for being retired or lost. What is
//! done next, how soon, and which of them stands first.

use super::{Line, Matter};
use crate::club::calendar::Instant;
use crate::club::care::due::Grave;
use crate::club::states::State;
use std::cmp::Reverse;

/// Which stands first among what is to be done at once: what may begin to burn next. Of those that are watched the newest, since
/// what was found to be bad a minute ago is worse than what has lain quiet for weeks; and last what waits for a way out alone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pressing {
    /// By what is on record it still is on a charger.
    OnCharger,
    /// Its watch goes on, or a look is overdue in it. Since it began, or danger was last seen.
    UnderWatch(Reverse<Instant>),
    #[default]
    Other,
    WatchOver,
}

/// A pack against which danger stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Dangerous<'a> {
    /// When its watch began, or danger was last seen in it.
    pub watched_since: Option<Instant>,
    /// Its watch is not over.
    pub is_watch_on: bool,
    /// On which charger a charge of it runs that nobody ended.
    pub charger: Option<&'a str>,
    /// Where it was as far as anybody said (empty: nobody did), and the quarantine place that it is to be taken to.
    pub to_lie: Option<(&'a str, &'a str)>,
    /// It came into its state so many minutes ago.
    pub minutes: i64,
    /// So long the club watches what is dangerous.
    pub watch_minutes: i64,
}

/// A lost pack that is dangerous is looked for so long before it stands there for the record alone: common practice, no source.
const SOUGHT_DAYS: i64 = 30;

/// It lies in quarantine already: what its finding asked for when it was found is done.
const SEE_ITS_WATCH: &str =
    "See its watch: look from a distance, and which ways lead out of quarantine.";
const SEE_THEN_DISPOSE: &str =
    "See its watch: look from a distance. Once it is over, have it disposed of.";
const DISPOSE: &str = "Have it disposed of, and write down where it was handed in.";
const LOOK_FOR_IT: &str = "Look where it was last seen, and ask who had it. Whoever finds it leaves it where it lies and tells a quartermaster.";
/// The pack is left alone: a charger that is unplugged ends a charge too.
pub const END_ITS_CHARGE: &str = "Look from a distance. Where it can be done safely, switch its charger off at the mains or the supply, then end the charge. Nobody touches the pack.";

/// Matter, how soon and the next act; None: its state is none of danger.
pub(super) fn of_state(
    state: State,
    danger: &Dangerous<'_>,
) -> Option<(Matter, Grave, &'static str)> {
    let told = match state {
        State::Quarantine => (Matter::Quarantine, Grave::AtOnce, SEE_ITS_WATCH),
        State::Retired if danger.is_watch_on => {
            (Matter::RetiredDanger, Grave::AtOnce, SEE_THEN_DISPOSE)
        }
        // It lay quiet through its watch, and lies there until somebody hands it in.
        State::Retired => (Matter::RetiredDanger, Grave::ThisWeek, DISPOSE),
        State::Lost => (Matter::LostDanger, sought(danger), LOOK_FOR_IT),
        // It goes on being charged, whatever is to be mended on it.
        State::SetAside if danger.charger.is_some() => {
            (Matter::SetAside, Grave::AtOnce, END_ITS_CHARGE)
        }
        _ => return None,
    };
    let (matter, _, _) = told;
    Some(match danger.charger {
        Some(_) => (matter, Grave::AtOnce, END_ITS_CHARGE),
        None => told,
    })
}

/// Never at once: nobody can go and look at it, and a line that stays at the top with nothing to be done there teaches people to
/// pass over the top. While it may still begin to burn where it is, as long as the club watches what is dangerous, it is looked for
/// today; then it is asked about; and what nobody found in a month stands there so that who finds it is believed.
const fn sought(danger: &Dangerous<'_>) -> Grave {
    if danger.minutes < danger.watch_minutes {
        Grave::Today
    } else if danger.minutes < SOUGHT_DAYS * 24 * 60 {
        Grave::ThisWeek
    } else {
        Grave::WhenConvenient
    }
}

/// With the charger that it is on first, and where it stands among the others.
pub(super) fn placed(line: Line, danger: &Dangerous<'_>) -> Line {
    let pressing = match (danger.charger, danger.watched_since) {
        (Some(_), _) => Pressing::OnCharger,
        (None, Some(since)) if danger.is_watch_on => Pressing::UnderWatch(Reverse(since)),
        (None, Some(_)) => Pressing::WatchOver,
        (None, None) => Pressing::Other,
    };
    let why = match danger.charger {
        Some(charger) => format!(
            "By what is on record it is still on {charger}. {}",
            line.why
        ),
        None => line.why,
    };
    let why = match danger.to_lie {
        Some(("", to)) => format!("{why} Nobody said where it lies; it is to be taken to {to}."),
        Some((from, to)) => format!("{why} It was at {from} and is to be taken to {to}."),
        None => why,
    };
    Line {
        pressing,
        why,
        ..line
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Stands, of_pack};
    use super::*;

    const DAY: i64 = 24 * 60;

    fn told(number: &'static str, state: State, danger: Dangerous<'static>) -> Line {
        let stands = Stands {
            number,
            state,
            since: Instant(1),
            why: "swollen",
            next: "outdoors",
            was_read: true,
            is_by_age: false,
            is_danger_told: false,
            danger: Dangerous {
                watch_minutes: 60 + DAY,
                ..danger
            },
        };
        of_pack(&stands, Vec::new()).expect("a line")
    }

    fn watched(since: i64, is_watch_on: bool) -> Dangerous<'static> {
        Dangerous {
            watched_since: Some(Instant(since)),
            is_watch_on,
            ..Dangerous::default()
        }
    }

    #[test]
    fn what_is_on_a_charger_stands_first_then_the_newest_that_is_watched_and_last_what_waits_for_a_way_out()
     {
        let on_charger = Dangerous {
            charger: Some("C-01"),
            ..watched(1, false)
        };
        let mut lines = [
            told("waits", State::Quarantine, watched(5, false)),
            told("old", State::Quarantine, watched(10, true)),
            told("charges", State::Quarantine, on_charger),
            told("retired", State::Retired, watched(20, true)),
            told("new", State::Quarantine, watched(30, true)),
            told("handed in", State::Retired, watched(40, false)),
        ];
        lines.sort();
        let numbers: Vec<&str> = lines.iter().map(|line| line.number.as_str()).collect();
        let order = ["charges", "new", "retired", "old", "waits", "handed in"];
        assert_eq!(numbers, order);
        assert_eq!(
            lines[0].why,
            "By what is on record it is still on C-01. swollen."
        );
        assert_eq!(lines[0].next, END_ITS_CHARGE);
    }

    #[test]
    fn where_it_was_and_where_it_is_to_be_taken_is_said() {
        let why = |to_lie| {
            let danger = Dangerous {
                to_lie,
                ..watched(5, true)
            };
            told("P-001", State::Quarantine, danger).why
        };
        assert_eq!(why(None), "swollen.");
        assert_eq!(
            why(Some(("Box B", "Sand bucket"))),
            "swollen. It was at Box B and is to be taken to Sand bucket."
        );
        assert_eq!(
            why(Some(("", "Sand bucket"))),
            "swollen. Nobody said where it lies; it is to be taken to Sand bucket."
        );
    }

    #[test]
    fn what_is_set_aside_while_it_charges_is_seen_to_at_once() {
        let charger = Some("C-01");
        let charges = Dangerous {
            charger,
            ..Dangerous::default()
        };
        let line = told("P-001", State::SetAside, charges);
        assert_eq!((line.matter, line.grave), (Matter::SetAside, Grave::AtOnce));
        let lies = told("P-001", State::SetAside, Dangerous::default());
        assert_eq!(
            (lies.grave, lies.next.as_str()),
            (Grave::ThisWeek, "outdoors")
        );
    }

    #[test]
    fn a_retired_pack_is_watched_at_once_and_then_disposed_of_this_week() {
        let of = |is_watch_on| told("P-001", State::Retired, watched(5, is_watch_on));
        assert_eq!(
            (of(true).grave, of(true).next.as_str()),
            (Grave::AtOnce, SEE_THEN_DISPOSE)
        );
        assert_eq!(
            (of(false).grave, of(false).next.as_str()),
            (Grave::ThisWeek, DISPOSE)
        );
        assert_eq!(of(false).matter.code(), "retired_dangerous");
    }

    #[test]
    fn a_lost_pack_is_looked_for_today_and_never_at_once_and_grows_calmer() {
        let after = |minutes| {
            let danger = Dangerous {
                minutes,
                ..Dangerous::default()
            };
            told("P-001", State::Lost, danger).grave
        };
        assert_eq!(after(0), Grave::Today);
        assert_eq!(after(60 + DAY - 1), Grave::Today);
        assert_eq!(after(60 + DAY), Grave::ThisWeek);
        assert_eq!(after(30 * DAY), Grave::WhenConvenient);
    }
}
