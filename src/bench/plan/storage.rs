//! The way to storage, cell by cell: one current flows through all of them, so all move by the same charge. The target is the
//! pack's usual one, or the nearest that leaves no cell above the top of its storage band or under its bottom; balance is not
//! counted on. mV of one cell, points of charge.

use super::asked::{Asked, Purpose};
use super::stops::{Before, Way};
use crate::battery::curve::Curve;
use crate::battery::limits::METERS_APART_MV;
use crate::battery::volts::{Volts, volts_words};

/// Cells a thousandth of a point apart are as far as their figures tell.
const ALIKE_POINTS: f64 = 0.001;

pub fn way(asked: &Asked) -> Before {
    let Some(curve) = Curve::of(asked.pack.build.chemistry) else {
        return Before::Nothing("It is stored as it is.".to_owned());
    };
    let limits = &asked.pack.limits;
    let cells_mv = cells(asked);
    let in_band = limits.storage_low_mv..=limits.storage_high_mv;
    let band_words = || {
        let (low, high) = (volts_words(*in_band.start()), volts_words(*in_band.end()));
        format!("between {low} and {high} V a cell")
    };
    if cells_mv.iter().all(|mv| in_band.contains(mv)) {
        return Before::Nothing(format!("It is at storage volts already: {}.", band_words()));
    }
    // As storage care has it: under its band by no more than meters differ it lies no worse, above it is above.
    let as_near = (limits.storage_low_mv - METERS_APART_MV)..=limits.storage_high_mv;
    if cells_mv.iter().all(|mv| as_near.contains(mv)) {
        return Before::Nothing(format!(
            "It is at storage volts, as near as two meters tell: {}.",
            band_words()
        ));
    }
    match target(
        &curve,
        &cells_mv,
        (limits.storage_target_mv, in_band.clone()),
    ) {
        Some(way) => Before::Go(way),
        None => Before::Nothing(format!(
            "Its cells are too far apart: no current brings all of them {}. Charge it with balance first, then bring it to storage.",
            band_words()
        )),
    }
}

/// Not at the usual volts, since its cells are apart.
pub fn is_stored_elsewhere(asked: &Asked, way: Way) -> bool {
    asked.purpose == Purpose::Storage
        && asked.pack.build.chemistry.is_lithium()
        && way.target_mv() != asked.pack.limits.storage_target_mv
}

/// Of a pack that shows no cells, the average one.
fn cells(asked: &Asked) -> Vec<i64> {
    match &asked.pack.volts {
        Volts::Cells(cells) if !cells.is_empty() => cells.clone(),
        volts => vec![volts.total_mv() / asked.pack.build.cells_series.max(1)],
    }
}

/// None where no charge moved leaves all in the band.
fn target(
    curve: &Curve,
    cells_mv: &[i64],
    (usual_mv, in_band): (i64, std::ops::RangeInclusive<i64>),
) -> Option<Way> {
    let percent = |mv: i64| curve.percent_at(mv as f64 / 1_000.0);
    let held: Vec<f64> = cells_mv.iter().copied().map(percent).collect();
    let lowest = held.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = held.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (least, most) = (
        percent(*in_band.start()) - lowest,
        percent(*in_band.end()) - highest,
    );
    if least > most + ALIKE_POINTS {
        return None;
    }
    let usual = moved_to(curve, &held, usual_mv as f64);
    let moved = usual.max(least).min(most);
    let target_mv = match moved {
        _ if (least..=most).contains(&usual) => usual_mv,
        // Rounded to the inside of the band.
        _ if moved >= most => mean_mv(curve, &held, moved).floor() as i64,
        _ => mean_mv(curve, &held, moved).ceil() as i64,
    };
    Some(if moved > 0.0 {
        Way::Up { target_mv }
    } else {
        Way::Down { target_mv }
    })
}

/// What the charger sees of each cell once all have moved by so many points.
fn mean_mv(curve: &Curve, held: &[f64], moved: f64) -> f64 {
    let ends_v = held.iter().map(|percent| curve.volts_at(percent + moved));
    ends_v.sum::<f64>() / held.len() as f64 * 1_000.0
}

/// By how many points all move until their mean is there.
fn moved_to(curve: &Curve, held: &[f64], to_mv: f64) -> f64 {
    let (mut low, mut high) = (-100.0, 100.0);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if mean_mv(curve, held, middle) < to_mv {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}
