//! A report that waited on a phone: when it was made. The phone tells how long it waited, so that a clock of its own that is
//! wrong does not count; what can't be is bounded.

use crate::club::calendar::Instant;

/// What comes within this is told as it happens. Common practice, no source.
const AT_ONCE_MINUTES: i64 = 2;
/// A phone that says more has lost its clock. Common practice, no source.
pub const MOST_DAYS: i64 = 60;

/// When it was made that came at `came` and waited so many milliseconds. None: it came at once, or the phone's clock was set
/// back meanwhile, and nobody knows.
pub fn made(came: Instant, waited_ms: i64) -> Option<Instant> {
    let longest = Instant(0).plus_days(MOST_DAYS).ms();
    let waited = waited_ms.min(longest);
    (waited > Instant(0).plus_minutes(AT_ONCE_MINUTES).ms()).then(|| Instant(came.ms() - waited))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CAME: Instant = Instant(1_795_000_000_000);

    #[test]
    fn what_waited_was_made_that_much_earlier_and_what_came_at_once_when_it_came() {
        assert_eq!(made(CAME, 0), None);
        assert_eq!(made(CAME, 90_000), None);
        assert_eq!(made(CAME, 3_600_000), Some(CAME.plus_hours(-1)));
        assert_eq!(made(CAME, 3 * 86_400_000), Some(CAME.plus_days(-3)));
    }

    #[test]
    fn a_clock_that_was_set_back_tells_nothing_and_a_wait_of_years_is_not_believed() {
        assert_eq!(made(CAME, -3_600_000), None);
        assert_eq!(made(CAME, i64::MIN), None);
        assert_eq!(made(CAME, 61 * 86_400_000), Some(CAME.plus_days(-60)));
        assert_eq!(made(CAME, i64::MAX), Some(CAME.plus_days(-60)));
    }

    proptest! {
        #[test]
        fn nothing_was_made_after_it_came_nor_more_than_the_bound_before(waited in any::<i64>()) {
            if let Some(made) = made(CAME, waited) {
                prop_assert!(made < CAME && made >= CAME.plus_days(-MOST_DAYS));
            }
        }
    }
}
