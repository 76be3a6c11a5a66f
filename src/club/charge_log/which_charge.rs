//! Which recorded charge a log may be of: of the same pack is taken for granted. A day that was told of it counts; without
//! one, a log is brought in soon after the charge, if anybody thinks of it. What moved far more than
//! is on record, or where that is not went on for far longer, is another charge's, which nobody recorded. mAh and seconds.

use crate::club::calendar::{Day, Instant, Zone};

/// What is known of a log.
#[derive(Clone, Copy, Debug)]
pub struct Logged {
    /// As told.
    pub on: Option<Day>,
    pub brought_in: Instant,
    pub is_charge: bool,
    pub moved_mah: i64,
    pub seconds: i64,
}

/// A recorded charge, or discharge, from its start to its end.
#[derive(Clone, Copy, Debug)]
pub struct Recorded {
    pub started: Instant,
    /// None: it still runs.
    pub ended: Option<Instant>,
    pub is_charge: bool,
    /// None: nobody noted it.
    pub moved_mah: Option<i64>,
}

/// So long after its end the log of a charge is brought in, where no day was told.
const SOON_DAYS: i64 = 1;

impl Logged {
    /// Between when what it logged may have gone on: on the day that was told, or soon before it was brought in.
    pub fn span(self, zone: &Zone) -> (Instant, Instant) {
        let last = |day| Instant(zone.end_of(day).ms() - 1).min(self.brought_in);
        match self.on {
            Some(day) => (zone.start_of(day), last(day)),
            None => (self.brought_in.plus_days(-SOON_DAYS), self.brought_in),
        }
    }
}

pub fn may_be_of(log: Logged, charge: Recorded, zone: &Zone) -> bool {
    let (from, to) = log.span(zone);
    let ended = charge.ended.unwrap_or(log.brought_in);
    let is_then = charge.started <= to && ended >= from;
    log.is_charge == charge.is_charge && is_then && charge.may_hold(log, ended)
}

impl Recorded {
    /// Charger and logger differ by some percent; where nobody noted what moved, who ends a charge comes some minutes late. A quarter,
    /// 20 mAh, ten minutes: common practice, no source.
    fn may_hold(self, log: Logged, ended: Instant) -> bool {
        match self.moved_mah {
            Some(mah) => log.moved_mah <= mah * 5 / 4 + 20,
            None => log.seconds * 1_000 <= (ended.ms() - self.started.ms()) * 5 / 4 + 600_000,
        }
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
            moved_mah: Some(400),
        }
    }

    fn log(on: Option<&str>, brought_in: Instant) -> Logged {
        Logged {
            on: on.and_then(Day::parse),
            brought_in,
            is_charge: true,
            moved_mah: 410,
            seconds: 3_600,
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
    fn what_was_logged_went_on_before_it_was_brought_in() {
        let (from, to) = log(Some("2026-11-25"), hours_later(1)).span(&Zone::utc());
        assert_eq!((from, to), (hours_later(-22), hours_later(1)));
        let (from, to) = log(None, hours_later(1)).span(&Zone::utc());
        assert_eq!((from, to), (hours_later(-23), hours_later(1)));
        let (_, to) = log(Some("2026-11-24"), hours_later(1)).span(&Zone::utc());
        assert_eq!(to, Instant(hours_later(-22).ms() - 1));
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

    #[test]
    fn a_log_of_far_more_than_is_on_record_is_of_a_charge_that_is_not() {
        let on_its_day = log(Some("2026-11-25"), hours_later(4));
        let moved = |moved_mah| Logged {
            moved_mah,
            ..on_its_day
        };
        assert!(fits(moved(520), charge()), "a quarter and 20 mAh more");
        assert!(!fits(moved(521), charge()));
        let unnoted = Recorded {
            moved_mah: None,
            ..charge()
        };
        assert!(fits(moved(4_000), unnoted));
        let ran = |seconds| Logged {
            seconds,
            ..on_its_day
        };
        // 3 hours on record: a quarter and 10 minutes more.
        assert!(fits(ran(14_100), unnoted));
        assert!(!fits(ran(14_101), unnoted));
    }
}
