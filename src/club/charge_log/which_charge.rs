//! Which recorded charge a log may be of: of the same pack is taken for granted. A day that was told of it counts; without
//! one, a log is brought in soon after the charge, if anybody thinks of it.

use crate::club::calendar::{Day, Instant, Zone};

/// What is known of a log.
#[derive(Clone, Copy, Debug)]
pub struct Logged {
    /// As told.
    pub on: Option<Day>,
    pub brought_in: Instant,
    pub is_charge: bool,
}

/// A recorded charge, or discharge, from its start to its end.
#[derive(Clone, Copy, Debug)]
pub struct Recorded {
    pub started: Instant,
    /// None: it still runs.
    pub ended: Option<Instant>,
    pub is_charge: bool,
}

/// So long after its end the log of a charge is brought in, where no day was told.
const SOON_DAYS: i64 = 1;

pub fn may_be_of(log: Logged, charge: Recorded, zone: &Zone) -> bool {
    if log.is_charge != charge.is_charge {
        return false;
    }
    let ended = charge.ended.unwrap_or(log.brought_in);
    match log.on {
        Some(day) => (zone.day_of(charge.started)..=zone.day_of(ended)).contains(&day),
        None => (charge.started..=ended.plus_days(SOON_DAYS)).contains(&log.brought_in),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUR_MS: i64 = 3_600_000;
    /// 25 Nov 2026, 22:00 UTC.
    const STARTED: Instant = Instant(1_795_644_000_000);

    fn hours_later(hours: i64) -> Instant {
        Instant(STARTED.ms() + hours * HOUR_MS)
    }

    fn charge() -> Recorded {
        Recorded {
            started: STARTED,
            ended: Some(hours_later(3)),
            is_charge: true,
        }
    }

    fn log(on: Option<&str>, brought_in: Instant) -> Logged {
        Logged {
            on: on.and_then(Day::parse),
            brought_in,
            is_charge: true,
        }
    }

    fn fits(log: Logged, charge: Recorded) -> bool {
        may_be_of(log, charge, &Zone::utc())
    }

    #[test]
    fn the_day_that_was_told_is_one_on_which_it_charged() {
        let months_later = hours_later(2_000);
        for (day, is_it) in [
            ("2026-11-24", false),
            ("2026-11-25", true),
            ("2026-11-26", true),
            ("2026-11-27", false),
        ] {
            assert_eq!(fits(log(Some(day), months_later), charge()), is_it, "{day}");
        }
    }

    #[test]
    fn without_a_day_it_was_brought_in_after_it_began_and_within_a_day_of_its_end() {
        for (hours, is_it) in [(-1, false), (1, true), (27, true), (28, false)] {
            assert_eq!(
                fits(log(None, hours_later(hours)), charge()),
                is_it,
                "{hours}"
            );
        }
    }

    #[test]
    fn a_charge_that_runs_has_the_logs_that_were_brought_in_since() {
        let running = Recorded {
            ended: None,
            ..charge()
        };
        assert!(fits(log(None, hours_later(50)), running));
        assert!(!fits(log(None, hours_later(-1)), running));
    }

    #[test]
    fn a_discharge_has_no_log_of_a_charge() {
        let other = Recorded {
            is_charge: false,
            ..charge()
        };
        assert!(!fits(log(Some("2026-11-25"), hours_later(4)), other));
    }
}
