//! The parts of a log: rests, constant current, constant voltage, pulses, and what is none of these. Every reading belongs to
//! one. The sign of the current plays no role here. Units: s, V, A.

use super::Sample;
use std::ops::Range;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Rest,
    ConstantCurrent,
    /// The volts are held while the current falls.
    ConstantVoltage,
    /// A constant current of at most a minute that follows on something else.
    Pulse,
    /// The current changes and the volts are not held: a motor, a constant power, a step on its way.
    Changing,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    pub kind: Kind,
    /// Its first and last reading; the first of the log is 0.
    pub first: usize,
    pub last: usize,
    /// From its first to its last reading; how long it was before and after them is not known.
    pub seconds: f64,
    /// The middle of its readings.
    pub amps: f64,
    pub start_v: f64,
    pub end_v: f64,
}

impl Part {
    pub const fn readings(&self) -> Range<usize> {
        self.first..self.last + 1
    }

    fn of(samples: &[Sample], kind: Kind, readings: Range<usize>) -> Option<Self> {
        let inside = samples.get(readings.clone())?;
        let (start, end) = (inside.first()?, inside.last()?);
        let sum: f64 = inside.iter().map(|each| each.amps).sum();
        Some(Self {
            kind,
            first: readings.start,
            last: readings.end - 1,
            seconds: end.seconds - start.seconds,
            amps: sum / inside.len() as f64,
            start_v: start.volts,
            end_v: end.volts,
        })
    }
}

/// A current is held within this of its mean: chargers hobby clubs own, common practice, no source.
const HELD_CURRENT: f64 = 0.05;
/// Volts are held within this: 10 mV of one full cell, what such chargers show.
const HELD_VOLTS: f64 = 0.0025;
/// Over a constant voltage the current falls to this or below; else nothing tells it from a constant current.
const FALLS_TO: f64 = 0.8;
/// Pulses for resistance last 10 to 30 s: common practice, no source.
const PULSE_SECONDS_MAX: f64 = 60.0;
/// A current that is held for less than this beside one that changes is part of the change.
const MOMENT_SECONDS: f64 = 5.0;
/// Steps smaller than this, one behind the other in the same direction, are one slow change.
const SLOW_STEP: f64 = 0.15;

/// What counts as no current in this log, and what as a step: a small cell's current would be a large pack's noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    rest_a: f64,
    edge_a: f64,
}

impl Scale {
    /// The middle of all that flows counts, so that neither one spike nor short hard pulses hide the rest.
    pub(super) fn of(samples: &[Sample]) -> Self {
        let most = samples
            .iter()
            .fold(0.0_f64, |most, each| most.max(each.amps.abs()));
        let sizes = samples.iter().map(|each| each.amps.abs());
        let mut flowing: Vec<f64> = sizes.filter(|amps| *amps > most / 1_000.0).collect();
        flowing.sort_by(f64::total_cmp);
        let typical = flowing.get(flowing.len() / 2).copied().unwrap_or(0.0);
        Self {
            rest_a: (most / 100.0).min(typical / 10.0),
            edge_a: typical / 10.0,
        }
    }

    pub(super) const fn is_rest(self, amps: f64) -> bool {
        amps.abs() <= self.rest_a
    }

    pub(super) const fn is_edge(self, from_a: f64, to_a: f64) -> bool {
        (to_a - from_a).abs() > self.edge_a
    }

    fn is_held(self, amps: f64, at_a: f64) -> bool {
        (amps - at_a).abs() <= HELD_CURRENT * at_a.abs() + self.rest_a / 2.0
    }
}

pub(super) fn found(samples: &[Sample], scale: Scale) -> Vec<Part> {
    let mut runs: Vec<(Kind, Range<usize>)> = Vec::new();
    let mut start = 0;
    while start < samples.len() {
        let (kind, end) = longest(samples, start, scale);
        match runs.last_mut() {
            Some((before, readings))
                if joins(samples, (*before, readings.start), kind, start..end) =>
            {
                readings.end = end;
            }
            _ => runs.push((kind, start..end)),
        }
        start = end;
    }
    let parts = slow_changes_joined(samples, &parts_of(samples, runs));
    let mut parts = moments_joined(samples, &parts);
    name_pulses(&mut parts);
    parts
}

/// What begins at a reading, and where the next thing begins: whichever holds longer.
fn longest(samples: &[Sample], start: usize, scale: Scale) -> (Kind, usize) {
    let rest = samples[start..]
        .iter()
        .take_while(|each| scale.is_rest(each.amps))
        .count();
    if rest > 0 {
        return (Kind::Rest, start + rest);
    }
    let current_end = held_current_end(samples, start, scale);
    match held_volts_end(samples, start, scale) {
        Some(end) if end > current_end => (Kind::ConstantVoltage, end),
        _ if current_end - start >= 2 => (Kind::ConstantCurrent, current_end),
        _ => (Kind::Changing, current_end),
    }
}

fn held_current_end(samples: &[Sample], start: usize, scale: Scale) -> usize {
    let mut sum = samples[start].amps;
    let mut end = start + 1;
    while let Some(next) = samples.get(end) {
        let mean = sum / (end - start) as f64;
        let is_same = !scale.is_rest(next.amps) && scale.is_held(next.amps, mean);
        if !is_same || next.amps * mean < 0.0 {
            break;
        }
        sum += next.amps;
        end += 1;
    }
    end
}

/// None where the volts are not held, or the current does not fall meanwhile.
fn held_volts_end(samples: &[Sample], start: usize, scale: Scale) -> Option<usize> {
    let first = samples[start];
    let mut least = first.amps.abs();
    let mut end = start + 1;
    while let Some(next) = samples.get(end) {
        let amps = next.amps.abs();
        let rises = amps > least && !scale.is_held(amps, least);
        let has_turned = scale.is_rest(next.amps) || next.amps * first.amps < 0.0;
        if rises || has_turned || !are_held(first.volts, next.volts) {
            break;
        }
        least = least.min(amps);
        end += 1;
    }
    let last = samples[end - 1].amps.abs();
    (end - start >= 3 && last <= FALLS_TO * first.amps.abs()).then_some(end)
}

fn are_held(at_v: f64, volts: f64) -> bool {
    (volts - at_v).abs() <= HELD_VOLTS * at_v.abs()
}

/// Changes run together; the tail of a constant voltage, where the current hardly falls any more, belongs to it.
fn joins(samples: &[Sample], before: (Kind, usize), kind: Kind, next: Range<usize>) -> bool {
    let (before, start) = before;
    let (first, inside) = (samples[start], &samples[next]);
    match (before, kind) {
        (Kind::Changing, Kind::Changing) => true,
        (Kind::ConstantVoltage, kind) if kind != Kind::Rest => inside.iter().all(|each| {
            let is_fallen = each.amps.abs() <= FALLS_TO * first.amps.abs();
            is_fallen && each.amps * first.amps > 0.0 && are_held(first.volts, each.volts)
        }),
        _ => false,
    }
}

/// A current that drifts, as at constant power, is found as constant ones that follow on each other in small steps of one
/// direction. Three or more of them are one change.
fn slow_changes_joined(samples: &[Sample], parts: &[Part]) -> Vec<Part> {
    let mut joined: Vec<Part> = Vec::new();
    let mut rest = parts;
    while let Some(first) = rest.first() {
        let count = drift_length(rest);
        let (drift, after) = rest.split_at(count);
        rest = after;
        match drift {
            [_, .., last] if count >= 3 => {
                let readings = first.first..last.last + 1;
                joined.extend(Part::of(samples, Kind::Changing, readings));
            }
            few => joined.extend_from_slice(few),
        }
    }
    joined
}

/// How many parts from the first on drift in one direction; 1 where none does.
fn drift_length(parts: &[Part]) -> usize {
    let mut length = 1;
    let mut direction = 0.0;
    for two in parts.windows(2) {
        let step = two[1].amps - two[0].amps;
        let are_currents = two.iter().all(|part| part.kind == Kind::ConstantCurrent);
        let is_small = step.abs() <= SLOW_STEP * two[0].amps.abs();
        if !are_currents || !is_small || step * direction < 0.0 {
            break;
        }
        direction = step;
        length += 1;
    }
    length
}

/// What a motor draws stays alike for a moment now and then; that is no pulse.
fn moments_joined(samples: &[Sample], parts: &[Part]) -> Vec<Part> {
    let is_change = |part: &Part| part.kind == Kind::Changing && part.first < part.last;
    let mut runs: Vec<(Kind, Range<usize>)> = Vec::new();
    let mut follows_change = false;
    for (at, part) in parts.iter().enumerate() {
        let is_moment = part.kind == Kind::ConstantCurrent && part.seconds < MOMENT_SECONDS;
        let is_beside = follows_change || parts.get(at + 1).is_some_and(is_change);
        follows_change = is_change(part) || is_moment && is_beside;
        let kind = if follows_change {
            Kind::Changing
        } else {
            part.kind
        };
        match runs.last_mut() {
            Some((Kind::Changing, readings)) if kind == Kind::Changing => {
                readings.end = part.last + 1;
            }
            _ => runs.push((kind, part.readings())),
        }
    }
    parts_of(samples, runs)
}

fn parts_of(samples: &[Sample], runs: Vec<(Kind, Range<usize>)>) -> Vec<Part> {
    let parts = runs.into_iter();
    parts
        .filter_map(|(kind, readings)| Part::of(samples, kind, readings))
        .collect()
}

fn name_pulses(parts: &mut [Part]) {
    for part in parts.iter_mut().skip(1) {
        if part.kind == Kind::ConstantCurrent && part.seconds <= PULSE_SECONDS_MAX {
            part.kind = Kind::Pulse;
        }
    }
}

#[cfg(test)]
#[path = "parts_tests.rs"]
mod tests;
