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

#[cfg(test)]
mod tests {
    use super::*;

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
