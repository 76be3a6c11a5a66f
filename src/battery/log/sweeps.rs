//! The charges and discharges of a log from one end to the other, and what they say of the capacity. Rests and short pulses
//! within one do not end it. A capacity says how fast and between which volts it was measured. Units: V, A, Ah, s.

use super::counters::{Count, counted};
use super::parts::{Kind, Part};
use super::{Log, Sample};
use std::ops::Range;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Direction {
    Charge,
    Discharge,
}

/// What full and empty mean for this test: the whole pack's volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    pub full_v: f64,
    pub empty_v: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sweep {
    pub direction: Direction,
    pub cycle: Option<i64>,
    /// Its first and last reading under current.
    pub first: usize,
    pub last: usize,
    pub seconds: f64,
    /// Before it began, rested where the log shows a rest; and at its last reading, still under current.
    pub from_v: f64,
    pub to_v: f64,
    /// The middle of its current, and the last of it; both above zero.
    pub amps: f64,
    pub end_a: f64,
    pub by_current_ah: f64,
    /// What the gaps between its readings leave open.
    pub doubt_ah: f64,
    /// By the file's own counters.
    pub counted: Option<Count>,
}

/// A full cell is met within this part of the window: its volts fall a little as soon as it rests.
const NEAR_FULL: f64 = 0.02;
/// At the empty end the volts are steep: a tenth of the window holds about a hundredth of the charge.
const NEAR_EMPTY: f64 = 0.10;
/// A charge that ends at more than this of C was not full yet.
const ENDS_BELOW_C: f64 = 0.1;
/// The current over time is taken as long as it leaves no more than this part open.
const CLEAR: f64 = 0.01;

impl Sweep {
    pub const fn readings(&self) -> Range<usize> {
        self.first..self.last + 1
    }

    /// By the current over time, or by the file's counters where its readings leave more open than these.
    pub fn capacity_ah(&self) -> f64 {
        self.most_certain().0
    }

    /// How far off the capacity may be, as far as the log shows it.
    pub fn capacity_doubt_ah(&self) -> f64 {
        self.most_certain().1
    }

    fn most_certain(&self) -> (f64, f64) {
        let by_current = (self.by_current_ah, self.doubt_ah);
        if self.doubt_ah <= CLEAR * self.by_current_ah {
            return by_current;
        }
        let counted = self.counted.map(|count| (count.ah, count.missed_ah));
        counted
            .filter(|(ah, missed_ah)| *ah > 0.0 && *missed_ah < self.doubt_ah)
            .unwrap_or(by_current)
    }

    pub fn c_rate(&self) -> f64 {
        self.amps / self.capacity_ah()
    }

    /// Did it go all the way, so that its charge is the capacity?
    pub fn is_full(&self, window: &Window) -> bool {
        let wide_v = window.full_v - window.empty_v;
        let is_full = |volts: f64| volts >= window.full_v - NEAR_FULL * wide_v;
        let is_empty = |volts: f64| volts <= window.empty_v + NEAR_EMPTY * wide_v;
        match self.direction {
            Direction::Discharge => is_full(self.from_v) && is_empty(self.to_v),
            Direction::Charge => {
                let is_done = self.end_a <= ENDS_BELOW_C * self.capacity_ah();
                is_empty(self.from_v) && is_full(self.to_v) && is_done
            }
        }
    }
}

/// One full charge or discharge beside the first of its kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fade {
    pub cycle: Option<i64>,
    pub capacity_ah: f64,
    /// 1 is as much as the first.
    pub of_first: f64,
}

/// A capacity at another current is another capacity: they are compared as far as their currents are alike.
const ALIKE: f64 = 0.25;

pub fn fade(sweeps: &[Sweep], direction: Direction, window: &Window) -> Vec<Fade> {
    let mut full = sweeps
        .iter()
        .filter(|each| each.direction == direction && each.is_full(window))
        .peekable();
    let Some(first) = full.peek().copied() else {
        return Vec::new();
    };
    full.filter(|each| (each.amps - first.amps).abs() <= ALIKE * first.amps)
        .map(|each| Fade {
            cycle: each.cycle,
            capacity_ah: each.capacity_ah(),
            of_first: each.capacity_ah() / first.capacity_ah(),
        })
        .collect()
}

impl Log {
    pub fn sweeps(&self) -> Vec<Sweep> {
        let mut found: Vec<(Direction, Vec<&Part>)> = Vec::new();
        for part in self.carrying() {
            let direction = match part.amps > 0.0 {
                true => Direction::Charge,
                false => Direction::Discharge,
            };
            match found.last_mut() {
                Some((same, parts)) if *same == direction && self.is_one_cycle(parts, part) => {
                    parts.push(part);
                }
                _ => found.push((direction, vec![part])),
            }
        }
        let sweeps = found
            .iter()
            .filter_map(|(direction, parts)| self.sweep(*direction, parts));
        sweeps.filter(|each| each.by_current_ah > 0.0).collect()
    }

    /// The parts that move the charge: more than rests, pulses and steps on their way. Where a charger pauses every few seconds
    /// to look at its cells, or a load is switched on and off, it is the pulses.
    fn carrying(&self) -> Vec<&Part> {
        let is_short = |part: &Part| {
            let is_step = part.kind == Kind::Changing && part.first == part.last;
            is_step || part.kind == Kind::Pulse
        };
        let flowing = self.parts().iter().filter(|part| part.kind != Kind::Rest);
        let (short, long): (Vec<&Part>, Vec<&Part>) = flowing.partition(|part| is_short(part));
        let moved = |parts: &[&Part]| -> f64 {
            parts
                .iter()
                .map(|part| part.amps.abs() * part.seconds)
                .sum()
        };
        if moved(&short) < moved(&long) {
            return long;
        }
        let all = self.parts().iter();
        all.filter(|part| part.kind != Kind::Rest).collect()
    }

    fn is_one_cycle(&self, before: &[&Part], part: &Part) -> bool {
        before
            .last()
            .is_some_and(|last| self.cycle_at(last.last) == self.cycle_at(part.first))
    }

    fn sweep(&self, direction: Direction, parts: &[&Part]) -> Option<Sweep> {
        let (first, last) = self.with_its_ends(parts.first()?.first, parts.last()?.last);
        let (start, end) = (self.samples().get(first)?, self.samples().get(last)?);
        let before = first
            .checked_sub(1)
            .filter(|at| !self.flow_alike(*at, first));
        let before_v = self.samples().get(before.unwrap_or(first))?.volts;
        // Volts that the current itself would have had to move backwards are from before something that was not written down.
        let from_v = match direction {
            Direction::Charge => before_v.min(start.volts),
            Direction::Discharge => before_v.max(start.volts),
        };
        // With the step into it and the step out of it, unless they reach into another cycle: nobody knows what was between.
        let into = before.filter(|at| self.cycle_at(*at) == start.cycle);
        let out = Some(last + 1).filter(|at| {
            *at < self.samples().len()
                && !self.flow_alike(*at, last)
                && self.cycle_at(*at) == end.cycle
        });
        let readings = into.unwrap_or(first)..out.unwrap_or(last) + 1;
        let inside = self.samples().get(readings.clone())?;
        let moved = self.moved_between(readings);
        let net_ah = moved.charged_ah - moved.discharged_ah;
        let carried: f64 = parts
            .iter()
            .map(|part| part.amps.abs() * part.seconds)
            .sum();
        let seconds: f64 = parts.iter().map(|part| part.seconds).sum();
        Some(Sweep {
            direction,
            cycle: start.cycle,
            first,
            last,
            seconds: end.seconds - start.seconds,
            from_v,
            to_v: end.volts,
            amps: if seconds > 0.0 {
                carried / seconds
            } else {
                start.amps.abs()
            },
            end_a: end.amps.abs(),
            by_current_ah: if direction == Direction::Charge {
                net_ah
            } else {
                -net_ah
            },
            doubt_ah: moved.doubt_ah,
            counted: self.counted_between(direction, inside),
        })
    }

    /// A current on its way up or down belongs to it as well.
    fn with_its_ends(&self, first: usize, last: usize) -> (usize, usize) {
        let belongs = |at: usize, beside: usize| {
            self.flow_alike(at, beside) && self.cycle_at(at) == self.cycle_at(beside)
        };
        let (mut first, mut last) = (first, last);
        while first > 0 && belongs(first - 1, first) {
            first -= 1;
        }
        while belongs(last + 1, last) {
            last += 1;
        }
        (first, last)
    }

    /// Does current flow in the same direction at both readings?
    fn flow_alike(&self, one: usize, other: usize) -> bool {
        let (one, other) = (self.samples().get(one), self.samples().get(other));
        one.zip(other).is_some_and(|(one, other)| {
            one.amps * other.amps > 0.0 && !self.scale().is_rest(one.amps)
        })
    }

    fn cycle_at(&self, at: usize) -> Option<i64> {
        self.samples().get(at)?.cycle
    }

    /// What was counted along its direction less what short pulses brought back.
    fn counted_between(&self, direction: Direction, inside: &[Sample]) -> Option<Count> {
        let counted = counted(inside);
        let (along, back) = match direction {
            Direction::Charge => (counted.charged, counted.discharged),
            Direction::Discharge => (counted.discharged, counted.charged),
        };
        let flows_back = |sample: &Sample| match direction {
            _ if self.scale().is_rest(sample.amps) => false,
            Direction::Charge => sample.amps < 0.0,
            Direction::Discharge => sample.amps > 0.0,
        };
        let is_one_way = !inside.iter().any(flows_back);
        let (along, back) = (along?, back.or(is_one_way.then(Count::default))?);
        Some(Count {
            ah: along.ah - back.ah,
            missed_ah: along.missed_ah + back.missed_ah,
        })
    }
}

#[cfg(test)]
#[path = "sweeps_tests.rs"]
mod tests;
