//! From a log with all its readings to what is kept of it.

use super::{
    CellsApart, ChargeLog, MOST_PARTS, MOST_PULSES, MOST_SWEEPS, Part, Pulse, Sweep, doubts, window,
};
use crate::battery::log::edges::Edge;
use crate::battery::log::parts::Part as LogPart;
use crate::battery::log::sweeps::{Direction, Fade, Window, fade};
use crate::battery::log::{Log, sweeps};
use crate::battery::pack::Build;
use crate::club::log_file::words::Note;

impl ChargeLog {
    pub fn of(log: &Log, build: &Build, pulse_second: u8, notes: &[Note]) -> Self {
        let moved = log.moved();
        let start_s = log.samples().first().map_or(0.0, |first| first.seconds);
        let parts = log.parts().iter().map(|part| kept_part(log, part, start_s));
        let (parts, more_parts) = longest(parts.collect());
        let edges = log.edges(f64::from(pulse_second));
        let pulses = edges.iter().take(MOST_PULSES);
        let last = log.samples().last();
        Self {
            rows: log.samples().len(),
            seconds: log.seconds(),
            cells: build.cells_series,
            charged_mah: moved.charged_ah * 1_000.0,
            discharged_mah: moved.discharged_ah * 1_000.0,
            moved_doubt_mah: moved.doubt_ah * 1_000.0,
            end_v: last.map_or(0.0, |last| last.volts),
            end_a: last.map_or(0.0, |last| last.amps),
            end_cells_v: log.cells_at_end().unwrap_or_default(),
            apart: log.apart().map(|(farthest, at_end)| CellsApart {
                most_mv: farthest.millivolts,
                most_at_s: farthest.seconds - start_s,
                end_mv: at_end.millivolts,
            }),
            warmest_celsius: log
                .samples()
                .iter()
                .filter_map(|sample| sample.celsius)
                .max_by(f64::total_cmp),
            parts,
            more_parts,
            sweeps: kept_sweeps(&log.sweeps(), &window(build)),
            pulse_second,
            pulses: pulses.map(|edge| pulse(edge, start_s)).collect(),
            more_pulses: edges.len().saturating_sub(MOST_PULSES),
            stated_milliohm: log
                .stated_ohm()
                .map(|(least, most)| (least * 1_000.0, most * 1_000.0)),
            notes: notes_of(log, build, notes),
        }
    }
}

fn notes_of(log: &Log, build: &Build, of_file: &[Note]) -> Vec<String> {
    let of_file = of_file.iter().map(ToString::to_string);
    let differing = log.differing();
    let differing = differing.iter().map(ToString::to_string);
    let doubts = doubts::of(log, build).into_iter();
    doubts.chain(of_file).chain(differing).collect()
}

fn kept_part(log: &Log, part: &LogPart, start_s: f64) -> Part {
    let moved = log.moved_in(part);
    let first = log.samples().get(part.first);
    Part {
        kind: part.kind.into(),
        from_s: first.map_or(0.0, |first| first.seconds - start_s),
        seconds: part.seconds,
        amps: part.amps,
        from_v: part.start_v,
        to_v: part.end_v,
        mah: (moved.charged_ah - moved.discharged_ah) * 1_000.0,
    }
}

/// In their order, and how many shorter ones were left out.
pub(super) fn longest(parts: Vec<Part>) -> (Vec<Part>, usize) {
    let more = parts.len().saturating_sub(MOST_PARTS);
    if more == 0 {
        return (parts, 0);
    }
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by(|one, other| parts[*other].seconds.total_cmp(&parts[*one].seconds));
    order.truncate(MOST_PARTS);
    order.sort_unstable();
    let kept = order.into_iter().filter_map(|at| parts.get(at).cloned());
    (kept.collect(), more)
}

fn kept_sweeps(all: &[sweeps::Sweep], window: &Window) -> Vec<Sweep> {
    let mut beside_first: Vec<(Direction, Vec<Fade>)> = Vec::new();
    for direction in [Direction::Charge, Direction::Discharge] {
        let mut told = fade(all, direction, window);
        told.reverse();
        beside_first.push((direction, told));
    }
    let mut of_first = |sweep: &sweeps::Sweep| {
        let (_, told) = beside_first
            .iter_mut()
            .find(|(direction, _)| *direction == sweep.direction)?;
        let is_this =
            |fade: &Fade| fade.cycle == sweep.cycle && fade.capacity_ah == sweep.capacity_ah();
        // Both are in the order of the log.
        told.pop_if(|fade| is_this(fade)).map(|fade| fade.of_first)
    };
    let kept = all.iter().map(|sweep| Sweep {
        is_charge: sweep.direction == Direction::Charge,
        cycle: sweep.cycle,
        seconds: sweep.seconds,
        from_v: sweep.from_v,
        to_v: sweep.to_v,
        amps: sweep.amps,
        mah: sweep.capacity_ah() * 1_000.0,
        doubt_mah: sweep.capacity_doubt_ah() * 1_000.0,
        is_full: sweep.is_full(window),
        of_first: of_first(sweep),
    });
    kept.take(MOST_SWEEPS).collect()
}

fn pulse(edge: &Edge, start_s: f64) -> Pulse {
    let told = edge.resistance;
    Pulse {
        at_s: edge.between_seconds.1 - start_s,
        from_a: edge.from_a,
        to_a: edge.to_a,
        rested_s: edge.rested_seconds,
        milliohm: told.ok().map(|told| told.ohm * 1_000.0),
        after_s: told.ok().map(|told| told.after_seconds),
        why_not: told.err().map_or_else(String::new, |why| why.to_string()),
    }
}
