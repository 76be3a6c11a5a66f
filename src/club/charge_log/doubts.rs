//! What makes one doubt that a log is of this pack, or that the pack was treated well. Sentences, with points in numbers.

use crate::battery::log::Log;
use crate::battery::log::cells::CellAt;
use crate::battery::pack::Build;
use crate::club::typed_numbers::counted;

/// Above full by so much a cell, no charger goes: the log is of a pack with more cells.
const NEVER_OVER_MV: f64 = 300.0;

pub fn of(log: &Log, build: &Build) -> Vec<String> {
    let told = log.cell_count();
    let is_of_it = told == 0 || told as i64 == build.cells_series;
    if !is_of_it {
        return vec![format!(
            "It tells of {}, and the pack has {}: is this the log of that pack?",
            counted(told, "cell", "cells"),
            build.cells_series
        )];
    }
    let volts = log.samples().iter().map(|sample| sample.volts);
    let most_v = volts.fold(f64::NEG_INFINITY, f64::max);
    let of_pack = of_pack_volts(build, most_v);
    let of_cells = [
        log.highest_cell().and_then(|cell| too_high(build, cell)),
        log.lowest_cell().and_then(|cell| too_low(build, cell)),
    ];
    of_pack
        .into_iter()
        .chain(of_cells.into_iter().flatten())
        .collect()
}

fn of_pack_volts(build: &Build, most_v: f64) -> Option<String> {
    let limits = build.limits();
    let cell_mv = most_v * 1_000.0 / build.cells_series.max(1) as f64;
    let full_v = limits.full_mv as f64 * build.cells_series as f64 / 1_000.0;
    let is_of_another =
        cell_mv < limits.empty_mv as f64 || cell_mv > limits.full_mv as f64 + NEVER_OVER_MV;
    if is_of_another {
        return Some(format!(
            "Its volts reach {most_v:.2} V. A pack of {} is full at {full_v:.2} V: is this the log of that pack?",
            counted(build.cells_series as usize, "cell", "cells")
        ));
    }
    (cell_mv > limits.over_full_mv as f64).then(|| {
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
