//! By which day a pack that is left lying falls to its minimum: the earliest that curve, meter and self-discharge leave open,
//! the likely one and the latest. As if nothing was drawn since: use brings it sooner. Leaves what follows to `due`.

use super::belief::nickel_percent;
use super::story::{Lying, Story};
use super::told::{By, JUST_USED_MV, Told, loss_a_month, sum};
use crate::battery::curve::{CURVES_CELSIUS, Curve, StateOfCharge};
use crate::battery::curve_sources::sources;
use crate::battery::range::Range;
use crate::battery::self_discharge::first_day_percent;
use crate::battery::volts::volts_words;
use crate::club::calendar::{Day, Instant, Zone, day_words};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Forecast {
    /// Nothing on record says what it holds.
    CannotTell,
    NotInTenYears,
    Falls(Falls),
}

/// `earliest <= likely <= latest`; None in more than ten years.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Falls {
    pub earliest: Instant,
    pub likely: Option<Instant>,
    pub latest: Option<Instant>,
    pub by: Rate,
    /// Its volts were read just used: the earliest reckons with that much less, the latest with that much more.
    pub is_of_just_used: bool,
}

impl Forecast {
    pub fn of(lying: &Lying, story: &Story) -> Self {
        Told::of(lying, story).map_or(Self::CannotTell, |told| Self::of_told(lying, &told))
    }

    pub(super) fn of_told(lying: &Lying, told: &Told) -> Self {
        let Some(points) = points_left(lying, told) else {
            return Self::CannotTell;
        };
        let loss = loss_a_month(lying);
        let earliest = told.when_lost(points.least, loss.most);
        let by_first_day = told.when_lost(after_first_day(lying, told, points.least), loss.most);
        let Some(earliest) = earliest.into_iter().chain(by_first_day).min() else {
            return Self::NotInTenYears;
        };
        Self::Falls(Falls {
            earliest,
            likely: told.when_lost(points.likely, loss.likely),
            latest: told.when_lost(points.most, loss.least),
            by: Rate::of(lying),
            // Nickel goes by the time since it was filled, not by its volts.
            is_of_just_used: told.is_just_used && Curve::of(lying.build.chemistry).is_some(),
        })
    }
}

/// Whose loss by lying is reckoned with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rate {
    Published,
    /// What its own readings told is the likely one; the published one counts for the spread all the same.
    AlsoOwn,
}

impl Rate {
    pub const fn of(lying: &Lying) -> Self {
        match lying.loses_percent_a_month {
            Some(_) => Self::AlsoOwn,
            None => Self::Published,
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::Published => "by the loss published of its kind",
            Self::AlsoOwn => "by the loss that its own readings tell, and the published one",
        }
    }
}

impl Falls {
    /// In the hall: the first day on which it may have fallen, and the last by which it must have.
    pub fn days(&self, zone: &Zone) -> (Day, Option<Day>) {
        let latest = self.latest.map(|at| zone.day_of(at));
        (zone.day_of(self.earliest), latest)
    }

    /// `between Tue 2 Mar 2027 and Fri 4 Feb 2028, most likely about Mon 5 Jul 2027, by the loss published of its kind`
    pub fn words(&self, zone: &Zone) -> String {
        let (earliest, latest) = self.days(zone);
        let earliest = day_words(earliest);
        let about = |at: Instant| format!("most likely about {}", day_words(zone.day_of(at)));
        let days = match (self.likely.map(about), latest) {
            (Some(likely), Some(latest)) => {
                format!("between {earliest} and {}, {likely}", day_words(latest))
            }
            (Some(likely), None) => {
                format!("on {earliest} at the earliest, {likely}, perhaps not in ten years")
            }
            (None, _) => format!("on {earliest} at the earliest, most likely not in ten years"),
        };
        let days = format!("{days}, {}", self.by.words());
        if !self.is_of_just_used {
            return days;
        }
        let off = volts_words(JUST_USED_MV as i64);
        format!("{days} (its volts were read just used: the first day is reckoned {off} V low)")
    }
}

/// Points that it may lose beside its loss a month on its first day after a charge. Volts under its storage band are of one that was
/// used, and not just charged.
pub(super) fn first_day(lying: &Lying, told: &Told) -> f64 {
    let is_used = matches!(told.by, By::Reading(_))
        && told.highest_mv(lying) < lying.limits.storage_low_mv as f64;
    if is_used {
        return 0.0;
    }
    first_day_percent(lying.build.chemistry).most
}

/// What is left then, by each source's own curve: no source has both that day and the widest doubt of all curves.
fn after_first_day(lying: &Lying, told: &Told, least: f64) -> f64 {
    let minimum_v = lying.limits.minimum_mv as f64 / 1_000.0;
    let low_v = told.low_mv.least / 1_000.0;
    let all = sources(lying.build.chemistry);
    let each = all
        .iter()
        .map(|curve| (curve.percent_at(low_v) - curve.percent_at(minimum_v)).max(0.0));
    let by_source = each.min_by(f64::total_cmp);
    let left = by_source.map_or(least, |points| points + told.put_in.least);
    left - first_day(lying, told)
}

/// Points of charge between the lowest cell and its minimum, when it was told. None where volts tell nothing.
fn points_left(lying: &Lying, told: &Told) -> Option<Range> {
    let chemistry = lying.build.chemistry;
    let Some(built_in) = Curve::of(chemistry) else {
        return nickel_percent(told);
    };
    let minimum_v = lying.limits.minimum_mv as f64 / 1_000.0;
    let over = |curve: &Curve, mv: f64| {
        (curve.percent_at(mv / 1_000.0) - curve.percent_at(minimum_v)).max(0.0)
    };
    let at_minimum = built_in.percent_at(minimum_v);
    let of = |mv: f64| StateOfCharge::of(chemistry, mv / 1_000.0, Some(CURVES_CELSIUS));
    let low = told.low_mv;
    let by_band = [
        of(low.least).low_percent - at_minimum,
        of(low.most).high_percent - at_minimum,
    ];
    let by_source = sources(chemistry)
        .iter()
        .flat_map(|curve| [over(curve, low.least), over(curve, low.most)]);
    let read = Range::around(over(&built_in, low.likely), by_source.chain(by_band));
    // At its minimum already, whatever the curve's doubt leaves open.
    let is_there = low.likely <= lying.limits.minimum_mv as f64;
    let read = if is_there {
        Range::around(0.0, [])
    } else {
        read
    };
    Some(sum(read, told.put_in).from_zero())
}

#[cfg(test)]
#[path = "forecast_tests.rs"]
mod tests;
