//! Quiet hours: when nothing is sent to a person, in the hall's time. What would go then goes when they end.

use crate::club::calendar::{Instant, Zone};

/// `HH:MM` each; the same twice means none. From 21:00 to 07:00 goes over midnight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quiet {
    from: String,
    to: String,
}

impl Quiet {
    /// None where either is no time of the day.
    pub fn of(from: &str, to: &str) -> Option<Self> {
        (is_time(from) && is_time(to)).then(|| Self {
            from: from.to_owned(),
            to: to.to_owned(),
        })
    }

    fn is_in(&self, time: &str) -> bool {
        let (from, to) = (self.from.as_str(), self.to.as_str());
        match from.cmp(to) {
            std::cmp::Ordering::Less => from <= time && time < to,
            std::cmp::Ordering::Equal => false,
            std::cmp::Ordering::Greater => from <= time || time < to,
        }
    }

    /// The first instant from `at` on at which something may be sent.
    pub fn over(&self, at: Instant, zone: &Zone) -> Instant {
        let time = zone.time_words(at);
        if !self.is_in(&time) {
            return at;
        }
        let today = zone.day_of(at);
        let day = if time < self.to {
            today
        } else {
            today.plus_days(1)
        };
        let Some(mut ends) = zone.at(day, &self.to) else {
            return at;
        };
        // In an hour that the clock goes through twice: the second time.
        while ends <= at {
            ends = ends.plus_minutes(60);
        }
        ends
    }
}

/// `07:30`
pub fn is_time(text: &str) -> bool {
    let is_digit = |at: usize| text.as_bytes().get(at).is_some_and(u8::is_ascii_digit);
    text.len() == 5
        && [0, 1, 3, 4].into_iter().all(is_digit)
        && text.as_bytes()[2] == b':'
        && &text[..2] < "24"
        && &text[3..] < "60"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::calendar::Day;

    fn london() -> Zone {
        Zone::named("Europe/London").expect("a zone")
    }

    fn at(day: &str, time: &str) -> Instant {
        let day = Day::parse(day).expect("a day");
        london().at(day, time).expect("a time")
    }

    #[test]
    fn hours_over_midnight_end_in_the_morning_and_hours_of_a_day_on_that_day() {
        let night = Quiet::of("21:00", "07:30").expect("hours");
        let over = |day, time| night.over(at(day, time), &london());
        assert_eq!(over("2026-11-25", "08:00"), at("2026-11-25", "08:00"));
        assert_eq!(over("2026-11-25", "21:00"), at("2026-11-26", "07:30"));
        assert_eq!(over("2026-11-26", "06:59"), at("2026-11-26", "07:30"));
        assert_eq!(over("2026-11-26", "07:30"), at("2026-11-26", "07:30"));
        let noon = Quiet::of("11:00", "13:00").expect("hours");
        let over = |time| noon.over(at("2026-11-26", time), &london());
        assert_eq!(over("12:15"), at("2026-11-26", "13:00"));
        assert_eq!(over("13:00"), at("2026-11-26", "13:00"));
        let never = Quiet::of("08:00", "08:00").expect("hours");
        assert_eq!(
            never.over(at("2026-11-26", "08:00"), &london()),
            at("2026-11-26", "08:00")
        );
    }

    #[test]
    fn the_clock_changing_at_night_neither_ends_them_early_nor_forgets_them() {
        // IANA tz database: Europe/London, summer time begins 2026-03-29 at 01:00 and ends 2026-10-25 at 02:00.
        let night = Quiet::of("22:00", "01:30").expect("hours");
        let spring = night.over(at("2026-03-28", "23:00"), &london());
        assert_eq!(london().time_words(spring), "02:30", "01:30 is skipped");
        let first = at("2026-10-25", "01:10");
        let second = first.plus_minutes(60);
        assert_eq!(london().time_words(second), "01:10");
        let ends = night.over(second, &london());
        assert_eq!(ends, second.plus_minutes(20));
    }

    #[test]
    fn a_time_is_four_digits_and_a_colon() {
        for good in ["00:00", "23:59", "07:30"] {
            assert!(is_time(good), "{good}");
        }
        for bad in [
            "24:00", "7:30", "07:60", "07.30", "", "0730", "07:3o", "ab:cd", "١٢:0",
        ] {
            assert!(!is_time(bad), "{bad}");
        }
    }
}
