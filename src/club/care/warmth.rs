//! How warm a pack was taken to lie while its days above the band were counted: kept, so that going through its record anew, as
//! after another list of an event, leaves those days as warm as they were. Degrees Celsius.

use super::cost::Stretch;
use crate::club::calendar::Instant;

/// Until when it was how warm, oldest first; readings in a row that found it alike are one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Warmth(Vec<(i64, i64)>);

impl Warmth {
    /// As it was kept: milliseconds and degrees. Where none was kept yet, that of the stretches, if all of them are alike.
    pub fn of(kept: Option<Vec<(i64, i64)>>, lain: &[Stretch], until: Option<Instant>) -> Self {
        let warm = lain.first().map(|one| one.celsius);
        let alike = warm.filter(|warm| lain.iter().all(|one| one.celsius == *warm));
        let of_lain = alike.zip(until).map(|(warm, until)| (until.ms(), warm));
        Self(kept.unwrap_or_else(|| of_lain.into_iter().collect()))
    }

    pub fn kept(&self) -> &[(i64, i64)] {
        &self.0
    }

    /// None: nothing was kept of that time.
    pub(super) fn at(&self, at: Instant) -> Option<i64> {
        let then = self.0.iter().find(|(until, _)| *until >= at.ms());
        then.map(|(_, celsius)| *celsius)
    }

    pub(super) fn on_to(mut self, at: Instant, celsius: i64) -> Self {
        match self.0.last_mut() {
            // A clock was set back: what is kept of that time stays.
            Some((until, _)) if *until > at.ms() => {}
            Some((until, same)) if *same == celsius => *until = at.ms(),
            _ => self.0.push((at.ms(), celsius)),
        }
        self
    }
}
