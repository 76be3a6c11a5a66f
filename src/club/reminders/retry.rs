//! When what did not go out is tried again: twice as long each time, with some chance in it, so that not all come back at once.

use crate::club::calendar::Instant;

/// Doubled with each try, up to four hours: common practice; RFC 5321, 4.5.4.1 asks a sender to wait half an hour or more between
/// tries once the first few failed.
const FIRST_MINUTES: i64 = 2;
const MOST_MINUTES: i64 = 240;

/// After so many tries that failed (1 or more). `chance`: 0 to 1; takes or adds up to a quarter.
pub fn again_at(now: Instant, tries: i64, chance: f64) -> Instant {
    let doubled = FIRST_MINUTES << (tries - 1).clamp(0, 10);
    let wait = doubled.min(MOST_MINUTES) as f64 * 60_000.0;
    let jitter = wait * (chance.clamp(0.0, 1.0) - 0.5) / 2.0;
    Instant(now.ms() + (wait + jitter) as i64)
}

/// Nobody is left alone for longer.
const ASKED_MOST_HOURS: i64 = 24;

/// Until when a server asks to be left alone: seconds, or an instant (RFC 9110, 10.2.3). None: it can't be read.
pub fn asked_for(retry_after: &str, now: Instant) -> Option<Instant> {
    let most = now.plus_minutes(ASKED_MOST_HOURS * 60);
    let text = retry_after.trim();
    let until = match text.parse::<u32>() {
        Ok(seconds) => Instant(now.ms() + i64::from(seconds) * 1_000),
        Err(_) => Instant(
            jiff::fmt::rfc2822::parse(text)
                .ok()?
                .timestamp()
                .as_millisecond(),
        ),
    };
    Some(until.clamp(now, most))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_server_says_how_long_in_seconds_or_until_when_and_never_for_more_than_a_day() {
        // RFC 9110, 10.2.3: its two examples.
        let at = |text: &str| {
            jiff::fmt::rfc2822::parse(text)
                .expect("a date")
                .timestamp()
                .as_millisecond()
        };
        let now = Instant(at("Fri, 31 Dec 1999 23:00:00 GMT"));
        assert_eq!(asked_for("120", now), Some(Instant(now.ms() + 120_000)));
        let date = asked_for("Fri, 31 Dec 1999 23:59:59 GMT", now);
        assert_eq!(date, Some(Instant(now.ms() + 3_599_000)));
        assert_eq!(asked_for("Thu, 31 Dec 1998 23:59:59 GMT", now), Some(now));
        assert_eq!(asked_for("4000000000", now), Some(now.plus_days(1)));
        for unread in ["", "soon", "-5", "1.5"] {
            assert_eq!(asked_for(unread, now), None, "{unread}");
        }
    }

    #[test]
    fn each_wait_is_about_twice_the_one_before_and_none_is_longer_than_five_hours() {
        let wait = |tries, chance| again_at(Instant(0), tries, chance).ms();
        assert_eq!(wait(1, 0.5), 2 * 60_000);
        assert_eq!(wait(2, 0.5), 4 * 60_000);
        assert_eq!(wait(3, 0.0), 6 * 60_000);
        assert_eq!(wait(3, 1.0), 10 * 60_000);
        assert_eq!(wait(60, 0.5), 240 * 60_000);
        assert!(wait(60, 1.0) <= 300 * 60_000);
    }
}
