//! How a pack's capacity fades: what several charges or discharges of it tell together. Each source's curve is believed in
//! turn for all of them, since a curve that is wrong is wrong each time alike: so the fade is surer than the capacity.
//! Instants in Unix milliseconds, mAh, percent of the rating per year.

use super::capacity::{Believed, Capacity, NoCapacity, Swing};
use super::chemistry::Chemistry;
use super::range::{Range, median};
use super::trend::{LATEST, Point, Trend};

const DAY_MS: f64 = 86_400_000.0;
const YEAR_DAYS: f64 = 365.25;
const MONTH_DAYS: f64 = YEAR_DAYS / 12.0;
/// A source whose curve fits the readings so much worse than the best one's is not this cell's.
const MISFITS: f64 = 2.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DatedSwing {
    pub at_ms: i64,
    pub swing: Swing,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fade {
    /// As of the last that could be used.
    pub now: Capacity,
    /// Of the rating, lost per year; under zero where it seems to have grown. None before four can be used.
    pub lost_percent_a_year: Option<Range>,
    /// How many were used: of many the latest.
    pub used: usize,
    /// Of these left out since they lie far from the others' course.
    pub left_out: usize,
}

/// For `remaining`: percent of the rating by months since 1970, and the part by which a wrong curve may have all of them
/// off together.
#[derive(Clone, Debug, PartialEq)]
pub struct FadePoints {
    pub points: Vec<Point>,
    pub together: f64,
}

/// Of those that can be used; of many the latest.
pub fn fade_points(chemistry: Chemistry, rated_mah: i64, swings: &[DatedSwing]) -> FadePoints {
    let mut swings = swings.to_vec();
    swings.sort_by_key(|dated| dated.at_ms);
    let latest = swings.iter().rev();
    let used = latest
        .filter_map(|dated| seen(chemistry, dated))
        .take(LATEST);
    let mut used: Vec<Seen> = used.collect();
    used.reverse();
    let percent = 100.0 / rated_mah.max(1) as f64;
    let point = |seen: &Seen| Point {
        at: seen.at,
        value: seen.value * percent,
        error: seen.error * percent,
    };
    let together: Vec<f64> = used.iter().map(|seen| seen.together).collect();
    FadePoints {
        points: used.iter().map(point).collect(),
        together: median(&together).unwrap_or_default(),
    }
}

/// mAh by months.
struct Seen {
    at: f64,
    value: f64,
    error: f64,
    together: f64,
}

fn seen(chemistry: Chemistry, dated: &DatedSwing) -> Option<Seen> {
    let believed = Believed::of(chemistry, &dated.swing).ok()?;
    let each = (0..believed.by_source.len()).filter_map(|source| believed.counted(source));
    let (values, errors): (Vec<f64>, Vec<f64>) = each.unzip();
    let (value, error) = (median(&values)?, median(&errors)?);
    let open = Range::around(value, values);
    Some(Seen {
        at: dated.at_ms as f64 / DAY_MS / MONTH_DAYS,
        value,
        error: value * error,
        together: open.half_width() / value,
    })
}

/// What one source's curve makes of all.
struct Course {
    now_mah: f64,
    now_error: f64,
    slope: f64,
    slope_error: f64,
    misfit: f64,
    left_out: usize,
}

/// Of a pack's weakest cell, or of one cell; in any order. Err: why none of them can be used, as the first one tells.
pub fn fade(
    chemistry: Chemistry,
    rated_mah: i64,
    swings: &[DatedSwing],
) -> Result<Fade, NoCapacity> {
    let (used, refusal) = latest_used(chemistry, swings);
    of_used(&used, rated_mah).ok_or(refusal)
}

fn of_used(used: &[(f64, Believed)], rated_mah: i64) -> Option<Fade> {
    let courses = courses(used);
    if courses.is_empty() {
        let now = of_few(used)?;
        return Some(Fade {
            now,
            lost_percent_a_year: None,
            used: used.len(),
            left_out: 0,
        });
    }
    let per_year = -100.0 * YEAR_DAYS / rated_mah.max(1) as f64;
    let slopes = courses
        .iter()
        .map(|course| (course.slope, course.slope_error));
    let nows = courses
        .iter()
        .map(|course| (course.now_mah, course.now_error));
    let (now, slope) = spanned(nows).zip(spanned(slopes))?;
    Some(Fade {
        now: Capacity {
            low_mah: now.least.floor() as i64,
            likely_mah: now.likely.round() as i64,
            high_mah: now.most.ceil() as i64,
        },
        lost_percent_a_year: Some(slope.times(per_year)),
        used: used.len(),
        left_out: courses
            .iter()
            .map(|course| course.left_out)
            .min()
            .unwrap_or(0),
    })
}

/// In days; and why others could not be used.
fn latest_used(chemistry: Chemistry, swings: &[DatedSwing]) -> (Vec<(f64, Believed)>, NoCapacity) {
    let mut swings = swings.to_vec();
    swings.sort_by_key(|dated| dated.at_ms);
    let (mut used, mut refusal) = (Vec::new(), NoCapacity::NoCharge);
    for dated in swings.iter().rev() {
        match Believed::of(chemistry, &dated.swing) {
            Ok(believed) => used.push((dated.at_ms as f64 / DAY_MS, believed)),
            Err(why) => refusal = why,
        }
        if used.len() == LATEST {
            break;
        }
    }
    used.reverse();
    (used, refusal)
}

/// The middle one of fewer than four: of two the newer.
fn of_few(used: &[(f64, Believed)]) -> Option<Capacity> {
    let told: Vec<Capacity> = used
        .iter()
        .filter_map(|(_, believed)| believed.told())
        .collect();
    let newest = *told.last()?;
    let mut sorted = told;
    sorted.sort_by_key(|told| told.likely_mah);
    if sorted.len() < 3 {
        Some(newest)
    } else {
        sorted.get(sorted.len() / 2).copied()
    }
}

/// One for each source that fits; none through fewer than four.
fn courses(used: &[(f64, Believed)]) -> Vec<Course> {
    let sources = used.first().map_or(0, |(_, first)| first.by_source.len());
    let all: Vec<Course> = (0..sources)
        .filter_map(|source| course(used, source))
        .collect();
    let best = all
        .iter()
        .map(|course| course.misfit)
        .fold(f64::INFINITY, f64::min);
    let fits = |course: &Course| course.misfit <= MISFITS * best.max(1.0);
    all.into_iter().filter(fits).collect()
}

fn course(used: &[(f64, Believed)], source: usize) -> Option<Course> {
    let (now, _) = used.last()?;
    let point = |(at, believed): &(f64, Believed)| {
        let (mah, meters) = believed.counted(source)?;
        Some(Point {
            at: *at,
            value: mah,
            error: mah * meters,
        })
    };
    let points: Vec<Point> = used.iter().filter_map(point).collect();
    let trend = Trend::through(&points)?;
    Some(Course {
        now_mah: trend.value_at(*now),
        now_error: trend.error_at(*now),
        slope: trend.slope,
        slope_error: trend.slope_error,
        misfit: trend.misfit,
        left_out: trend.left_out,
    })
}

/// The middle one with its error, and all others with a standard deviation, half of theirs, to either side: the farthest
/// is seldom this cell's own, and then seldom off by more.
fn spanned(each: impl Iterator<Item = (f64, f64)>) -> Option<Range> {
    let (values, errors): (Vec<f64>, Vec<f64>) = each.unzip();
    let (likely, error) = (median(&values)?, median(&errors)?);
    let far = values.iter().zip(&errors);
    let far = far.flat_map(|(value, error)| [value - error / 2.0, value + error / 2.0]);
    Some(Range::around(
        likely,
        far.chain([likely - error, likely + error]),
    ))
}

#[cfg(test)]
#[path = "capacity_fade_tests.rs"]
mod tests;
