//! What makes one doubt that a log is of this pack, or that the pack was treated well. Sentences, with points in numbers.

use super::window;
use crate::battery::log::Log;
use crate::battery::log::cells::CellAt;
use crate::battery::log::sweeps::Sweep;
use crate::battery::pack::Build;
use crate::club::typed_numbers::counted;

/// Above full by so much a cell, no charger goes: the log is of a pack with more cells.
const NEVER_OVER_MV: f64 = 300.0;

/// More than so much of its label no pack takes or gives at once: nickel takes a quarter more than it holds, others hardly any,
/// and a label may say little. Under the other no pack of the club is left that is charged all the way. Common practice, no source.
const MOST_OF_LABEL: f64 = 1.5;
const LEAST_OF_LABEL: f64 = 0.4;

/// What makes it look like another pack's, and how this one was treated.
pub fn of(log: &Log, build: &Build) -> Vec<String> {
    let treated = [
        over_full(build, most_v(log)),
        log.highest_cell().and_then(|cell| too_high(build, cell)),
        log.lowest_cell().and_then(|cell| too_low(build, cell)),
    ];
    let treated = treated.into_iter().flatten();
    let treated = treated.filter(|_| has_its_cells(log, build));
    of_another(log, build).into_iter().chain(treated).collect()
}

/// As many as the pack, as far as the log tells of cells.
fn has_its_cells(log: &Log, build: &Build) -> bool {
    let told = log.cell_count();
    told == 0 || told as i64 == build.cells_series
}

/// Other cells than the pack has, other volts, or far more or less charge than it holds. Asked about before it is stored.
pub fn of_another(log: &Log, build: &Build) -> Vec<String> {
    if !has_its_cells(log, build) {
        return vec![format!(
            "It tells of {}, and the pack has {}.",
            counted(log.cell_count(), "cell", "cells"),
            build.cells_series
        )];
    }
    let volts = other_volts(build, most_v(log));
    volts
        .into_iter()
        .chain(other_capacity(log, build))
        .collect()
}

fn most_v(log: &Log) -> f64 {
    let volts = log.samples().iter().map(|sample| sample.volts);
    volts.fold(f64::NEG_INFINITY, f64::max)
}

fn other_volts(build: &Build, most_v: f64) -> Option<String> {
    let limits = build.limits();
    let cell_mv = most_v * 1_000.0 / build.cells_series.max(1) as f64;
    let full_v = limits.full_mv as f64 * build.cells_series as f64 / 1_000.0;
    let is_of_another =
        cell_mv < limits.empty_mv as f64 || cell_mv > limits.full_mv as f64 + NEVER_OVER_MV;
    is_of_another.then(|| {
        format!(
            "Its volts reach {most_v:.2} V. A pack of {} is full at {full_v:.2} V.",
            counted(build.cells_series as usize, "cell", "cells")
        )
    })
}

fn other_capacity(log: &Log, build: &Build) -> Option<String> {
    let label_mah = build.capacity_mah as f64;
    let window = window(build);
    let sweeps = log.sweeps();
    let mah = |sweep: &Sweep| sweep.capacity_ah() * 1_000.0;
    let most = sweeps.iter().map(mah).fold(0.0, f64::max);
    if most > label_mah * MOST_OF_LABEL {
        return Some(format!(
            "It moved {most:.0} mAh at once, and the pack's label says {label_mah:.0} mAh."
        ));
    }
    let full = sweeps
        .iter()
        .filter(|sweep| sweep.is_full(&window))
        .map(mah);
    let holds = full.fold(0.0, f64::max);
    (holds > 0.0 && holds < label_mah * LEAST_OF_LABEL).then(|| {
        format!(
            "From one end to the other it moved {holds:.0} mAh, and the pack's label says {label_mah:.0} mAh."
        )
    })
}

fn over_full(build: &Build, most_v: f64) -> Option<String> {
    let limits = build.limits();
    let cell_mv = most_v * 1_000.0 / build.cells_series.max(1) as f64;
    let never_mv = limits.full_mv as f64 + NEVER_OVER_MV;
    (cell_mv > limits.over_full_mv as f64 && cell_mv <= never_mv).then(|| {
        format!(
            "It was charged to {:.2} V a cell, over the {:.2} V at which it is full. Log its volts, and look at the charger.",
            cell_mv / 1_000.0,
            limits.full_mv as f64 / 1_000.0
        )
    })
}

fn too_high(build: &Build, cell: CellAt) -> Option<String> {
    let limits = build.limits();
    (cell.volts * 1_000.0 > limits.over_full_mv as f64).then(|| {
        format!(
            "Cell {} reached {:.2} V, over the {:.2} V at which it is full. Log its volts, and look at the charger.",
            cell.cell,
            cell.volts,
            limits.full_mv as f64 / 1_000.0
        )
    })
}

fn too_low(build: &Build, cell: CellAt) -> Option<String> {
    let minimum_v = build.limits().minimum_mv as f64 / 1_000.0;
    (cell.volts < minimum_v).then(|| {
        format!(
            "Cell {} fell to {:.2} V, under the {minimum_v:.2} V below which it is never let. Log its volts.",
            cell.cell, cell.volts
        )
    })
}
