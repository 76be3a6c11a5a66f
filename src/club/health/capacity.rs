//! What the pack still holds, from what went in or out between two rested readings, and whether that is still enough. One
//! such count on the low side counts at once; one on the high side does not outweigh the two before it.

use super::Part;
use super::history::{HealthReading, History, days_between, since_words};
use super::reason::{Figure, Reason, Sure, Unit, source_of};
use crate::battery::capacity::{Capacity, NoCapacity, Swing};
use crate::battery::capacity_fade::{DatedSwing, Fade, fade};
use crate::battery::pack::Build;
use crate::battery::trend::LATEST;
use crate::club::calendar::Instant;
use crate::club::charging::is_beyond_label;
use crate::club::reading::beside::{Charge, Context};
use crate::club::verdict::{Finding, Gravity, Rule};
use std::borrow::Cow;

/// What the figure is the middle of.
const SEVERAL: usize = 3;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapacityTold {
    /// The one that counts, and when it was counted.
    pub at: Instant,
    pub capacity: Capacity,
    pub percent_of_label: f64,
    /// How many charges could be used.
    pub used: usize,
    pub fade: Option<Fade>,
}

/// One charge that tells a capacity: that of the pack's weakest cell.
#[derive(Clone, Copy)]
struct Counted {
    at: Instant,
    /// It ends with the newest reading of all.
    is_newest: bool,
    /// None of a pack that was measured whole.
    cell: Option<usize>,
    capacity: Capacity,
    swing: DatedSwing,
}

pub(super) struct Weighed {
    pub part: Part,
    pub told: Result<CapacityTold, NoCapacity>,
    /// Oldest first.
    pub swings: Vec<DatedSwing>,
}

pub(super) fn weighed(history: &History<'_>) -> Weighed {
    let (counted, refusal) = counted(history);
    let swings: Vec<DatedSwing> = counted.iter().rev().map(|each| each.swing).collect();
    let mut part = Part::default();
    let Some(counts) = that_counts(&counted) else {
        let told = Err(refusal);
        return Weighed { part, told, swings };
    };
    if counted.first().is_some_and(|latest| latest.is_newest) {
        part.answers.push(Rule::CapacityLow);
    }
    part.reasons.extend(reason(history, &counts, &counted));
    let build = history.build();
    let told = CapacityTold {
        at: counts.at,
        capacity: counts.capacity,
        percent_of_label: percent(counts.capacity.likely_mah, build.capacity_mah),
        used: counted.len(),
        fade: fade(build.chemistry, build.capacity_mah, &swings).ok(),
    };
    Weighed {
        part,
        told: Ok(told),
        swings,
    }
}

/// Latest first; and why the latest that could not be used was not.
fn counted(history: &History<'_>) -> (Vec<Counted>, NoCapacity) {
    let (mut counted, mut refusal) = (Vec::new(), None);
    let spans = (0..history.readings.len()).rev();
    let spans = spans.filter_map(|at| Span::to(history, at));
    for span in spans {
        match span.count(history) {
            Ok(one) => counted.push(one),
            Err(why) => refusal = refusal.or(Some(why)),
        }
        if counted.len() == LATEST {
            break;
        }
    }
    (counted, refusal.unwrap_or(NoCapacity::NoCharge))
}

/// From one rested reading to the next, with all that was counted between, in one direction.
struct Span<'a> {
    from_mv: Cow<'a, [i64]>,
    to_mv: Cow<'a, [i64]>,
    at: Instant,
    is_newest: bool,
    /// Under zero when taken out.
    moved_mah: i64,
}

impl<'a> Span<'a> {
    /// Readings between that had not rested, as one off the charger, must each say what moved. The last one may say nothing
    /// when it only waited for the rest.
    fn to(history: &History<'a>, at: usize) -> Option<Self> {
        let end = *history.readings.get(at)?;
        let to_mv = history.settled_mv(end)?;
        let mut moved_mah = 0_i64;
        for index in (1..=at).rev() {
            let (before, reading) = (history.readings[index - 1], history.readings[index]);
            match reading.charge {
                Some(charge) => moved_mah = with(moved_mah, charge)?,
                None if index == at && only_rested(before, reading) => {}
                None => return None,
            }
            if let Some(from_mv) = history.settled_mv(before) {
                return (moved_mah != 0).then_some(Self {
                    from_mv,
                    to_mv,
                    at: end.at,
                    is_newest: history.is_newest(end),
                    moved_mah,
                });
            }
        }
        None
    }

    fn of_emptiest(&self, charge_mah: i64) -> Swing {
        let each = self.from_mv.iter().zip(self.to_mv.iter());
        let emptiest = each.min_by_key(|(from, to)| **from.min(to));
        let (from_mv, to_mv) = emptiest.map_or((0, 0), |(from, to)| (*from, *to));
        Swing {
            from_mv,
            to_mv,
            charge_mah,
        }
    }

    fn count(&self, history: &History<'_>) -> Result<Counted, NoCapacity> {
        let rose = self.to_mv.iter().sum::<i64>() - self.from_mv.iter().sum::<i64>();
        if rose == 0 || (rose > 0) != (self.moved_mah > 0) {
            return Err(NoCapacity::OtherWay);
        }
        let Build {
            chemistry,
            capacity_mah,
            ..
        } = *history.build();
        if is_beyond_label(chemistry, capacity_mah, self.moved_mah) {
            return Err(NoCapacity::BeyondLabel);
        }
        let moved_mah = self.moved_mah.saturating_abs();
        // Most charges tell nothing, and that is seen by the emptiest cell alone.
        Capacity::of(chemistry, &self.of_emptiest(moved_mah))?;
        let weakest = Capacity::weakest(chemistry, &self.from_mv, &self.to_mv, moved_mah)?;
        Ok(Counted {
            at: self.at,
            is_newest: self.is_newest,
            cell: (self.from_mv.len() > 1).then_some(weakest.cell),
            capacity: weakest.told,
            swing: DatedSwing {
                at_ms: self.at.ms(),
                swing: weakest.swing,
            },
        })
    }
}

/// None where one went in and another out.
fn with(moved_mah: i64, charge: Charge) -> Option<i64> {
    let more = match charge {
        Charge::PutIn(mah) => mah,
        Charge::TakenOut(mah) => mah.saturating_neg(),
    };
    let is_one_way = moved_mah.signum() * more.signum() >= 0;
    is_one_way.then(|| moved_mah.saturating_add(more))
}

fn only_rested(before: &HealthReading, reading: &HealthReading) -> bool {
    const DAYS_MOST: f64 = 1.0;
    days_between(before.at, reading.at) <= DAYS_MOST && reading.context != Some(Context::AfterUse)
}

/// The newest, or the middle of the last three where that is less; of two the lesser.
fn that_counts(counted: &[Counted]) -> Option<Counted> {
    let newest = counted.first()?;
    let mut last: Vec<&Counted> = counted.iter().take(SEVERAL).collect();
    last.sort_by_key(|each| each.capacity.likely_mah);
    let middle = *last.get((last.len() - 1) / 2)?;
    let is_less = middle.capacity.likely_mah < newest.capacity.likely_mah;
    Some(if is_less { *middle } else { *newest })
}

fn percent(mah: i64, rated_mah: i64) -> f64 {
    mah as f64 * 100.0 / rated_mah.max(1) as f64
}

fn reason(history: &History<'_>, counts: &Counted, counted: &[Counted]) -> Option<Reason> {
    let rated_mah = history.build().capacity_mah;
    let limits = history.asked.limits;
    let told = percent(counts.capacity.likely_mah, rated_mah);
    let (gravity, limit, next) = if told <= limits.capacity_aside_percent as f64 {
        (Gravity::ToMend, limits.capacity_aside_percent, SET_ASIDE)
    } else if told <= limits.capacity_practice_percent as f64 {
        (Gravity::Caution, limits.capacity_practice_percent, PRACTICE)
    } else {
        return None;
    };
    let is_low = |each: &Counted| percent(each.capacity.likely_mah, rated_mah) <= limit as f64;
    let sure = if percent(counts.capacity.high_mah, rated_mah) > limit as f64 {
        Sure::Perhaps
    } else {
        Sure::of_readings(
            counted
                .iter()
                .take(SEVERAL)
                .filter(|each| is_low(each))
                .count(),
        )
    };
    let Capacity {
        low_mah,
        likely_mah,
        high_mah,
    } = counts.capacity;
    let since = since_words(counts.at, history.asked);
    let words = format!(
        "It held about {likely_mah} mAh ({low_mah} to {high_mah}) {since}, {told:.0} % of the {rated_mah} mAh on its label; the club's limit is {limit} %."
    );
    Some(Reason {
        finding: Finding::new(Rule::CapacityLow, gravity, words, next),
        cell: counts.cell.map(|index| index + 1),
        figure: Some(Figure {
            value: told,
            limit: limit as f64,
            unit: Unit::PercentOfLabel,
        }),
        source: source_of(Rule::CapacityLow),
        sure,
    })
}

const PRACTICE: &str = "Use it for practice only. Charged from nearly empty to full with the mAh counted, and rested an hour before and after, it tells anew.";
const SET_ASIDE: &str = "Don't use it until a quartermaster has looked at it: if the mAh were mistyped, correct the reading, else charge it once more from nearly empty to full with the mAh counted. Retiring it is for a person to say.";
