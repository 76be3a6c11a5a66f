//! How long until a pack's capacity has fallen, or its resistance risen, to where it is given up: an honest range, or not
//! enough readings. Fade may slow down, as with the root of time, or bend and go on twice as fast; both lie in the range,
//! and farther than three times what was watched nobody is told. In the unit that the readings are counted in: months
//! or cycles.

use super::trend::{FEWEST, Point, Trend};

/// Past its knee a cell fades about twice as fast as before: common practice, no source.
const KNEE: f64 = 2.0;
/// Farther ahead than so many times what was watched is not told.
const AHEAD: f64 = 3.0;

/// What ends a pack's use, in the unit of the values, and which way they go there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// Capacity: 80 % of the rating is the usual one.
    FallenTo(f64),
    /// Resistance: one and a half times the first readings is the club's.
    RisenTo(f64),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remaining {
    NotEnoughReadings {
        have: usize,
        need: usize,
    },
    /// All readings are of about one time.
    TooShortWatched,
    Reached,
    /// From the last reading on. `most` None: it may be longer than can be told.
    Between {
        least: f64,
        most: Option<f64>,
    },
}

/// `together`: the part by which all values may be off in the same direction, as by a wrong resting curve; 0 for none.
pub fn remaining(points: &[Point], end: End, together: f64) -> Remaining {
    if points.len() < FEWEST {
        return Remaining::NotEnoughReadings {
            have: points.len(),
            need: FEWEST,
        };
    }
    // A falling course to a lower end is looked at; a rising one is turned over.
    let (sign, end) = match end {
        End::FallenTo(end) => (1.0, end),
        End::RisenTo(end) => (-1.0, -end),
    };
    let turned: Vec<Point> = points
        .iter()
        .map(|point| Point {
            value: sign * point.value,
            ..*point
        })
        .collect();
    let ats = turned.iter().map(|point| point.at);
    let (first, last) = ats.fold((f64::INFINITY, f64::NEG_INFINITY), |(first, last), at| {
        (first.min(at), last.max(at))
    });
    let watched = last - first;
    let Some(trend) = Trend::through(&turned).filter(|_| watched > 0.0) else {
        return Remaining::TooShortWatched;
    };
    let level = trend.value_at(last);
    if level <= end {
        return Remaining::Reached;
    }
    let way = |errors: f64, is_bent: bool| Way {
        left: level - end,
        left_error: errors * (trend.error_at(last) + level.abs() * together),
        pace: -trend.slope,
        pace_error: errors * (trend.slope_error + trend.slope.abs() * together),
        watched,
        is_bent,
    };
    // That the course bends and that all readings were off as far as they may be do not come together.
    let (straight, bent) = (way(1.0, false), way(0.5, true));
    let least = straight.least().min(bent.least());
    let most = straight
        .most()
        .zip(bent.most())
        .map(|(one, other)| one.max(other));
    let farthest = AHEAD * watched;
    Remaining::Between {
        least: least.min(farthest),
        most: most.filter(|most| *most <= farthest),
    }
}

/// What is left to the end, how fast it goes there, and how long that was watched.
struct Way {
    left: f64,
    left_error: f64,
    pace: f64,
    pace_error: f64,
    watched: f64,
    is_bent: bool,
}

impl Way {
    fn least(&self) -> f64 {
        let fastest = (self.pace + self.pace_error) * if self.is_bent { KNEE } else { 1.0 };
        let nearest = (self.left - self.left_error).max(0.0);
        if fastest > 0.0 {
            nearest / fastest
        } else {
            f64::INFINITY
        }
    }

    /// None: it may be that it does not move.
    fn most(&self) -> Option<f64> {
        let slowest = self.pace - self.pace_error;
        let straight = (self.left + self.left_error) / slowest;
        // With the root of time, as much again takes three times as long as was watched.
        let times = straight / self.watched;
        let slowing = self.watched * (times * times + 2.0 * times);
        (slowest > 0.0).then_some(if self.is_bent { slowing } else { straight })
    }
}

/// What comes first of two ends, as of capacity and of resistance.
pub fn sooner(one: Remaining, other: Remaining) -> Remaining {
    match (one, other) {
        (Remaining::Reached, _) | (_, Remaining::Reached) => Remaining::Reached,
        (
            Remaining::Between { least, most },
            Remaining::Between {
                least: other_least,
                most: other_most,
            },
        ) => Remaining::Between {
            least: least.min(other_least),
            most: most.into_iter().chain(other_most).reduce(f64::min),
        },
        (told @ Remaining::Between { .. }, _) | (_, told) => told,
    }
}

#[cfg(test)]
#[path = "remaining_tests.rs"]
mod tests;
