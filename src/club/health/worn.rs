//! How long the pack is likely to be of full use: until its capacity has fallen or its resistance risen to where it is for
//! practice only, whichever comes first.

use super::capacity::Weighed;
use super::history::History;
use crate::battery::capacity_fade::fade_points;
use crate::battery::remaining::{End, Remaining, remaining as until, sooner};
use crate::battery::trend::Point;

/// Months. `resistance`: times of the first readings.
pub(super) fn remaining(
    history: &History<'_>,
    capacity: &Weighed,
    resistance: &[Point],
) -> Remaining {
    let build = history.build();
    let limits = history.asked.limits;
    let fading = fade_points(build.chemistry, build.capacity_mah, &capacity.swings);
    let practice = End::FallenTo(limits.capacity_practice_percent as f64);
    let worn = End::RisenTo(limits.resistance.first_caution_percent as f64 / 100.0);
    let by_capacity = until(&fading.points, practice, fading.together);
    let by_resistance = until(resistance, worn, 0.0);
    match (by_capacity, by_resistance) {
        // Of two that can't tell, the one that has more.
        (
            Remaining::NotEnoughReadings { have, need },
            Remaining::NotEnoughReadings { have: other, .. },
        ) => Remaining::NotEnoughReadings {
            have: have.max(other),
            need,
        },
        (one, other) => sooner(one, other),
    }
}
