//! Resistance from steps of the current: the volts before it less those some seconds after, over the currents: (V1 - V2) /
//! (I2 - I1), the load method. It grows with the seconds, so they are part of the answer. Units: V, A, s, ohm.

use super::counters::{CHARGING, DISCHARGING};
use super::parts::{Kind, Part};
use super::{Log, Sample};

/// A current that begins or grows, and is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// When it was, at the earliest and at the latest.
    pub between_seconds: (f64, f64),
    pub from_a: f64,
    pub to_a: f64,
    pub from_v: f64,
    /// How long it had rested before, at the least; None where another current flowed.
    pub rested_seconds: Option<f64>,
    pub resistance: Result<Resistance, NoResistance>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resistance {
    pub ohm: f64,
    /// How long after the edge its reading lies, at the least and at the most.
    pub after_seconds: (f64, f64),
}

/// The Display says why there is none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NoResistance {
    #[error("The log does not tell within {open:.1} s when the current stepped.")]
    EdgeUnseen { open: f64 },
    #[error(
        "The reading nearest to the second that was asked for lies {nearest:.1} s after the step."
    )]
    NoReading { nearest: f64 },
    #[error("The volts move against the current.")]
    Backwards,
}

/// So much of the second that is asked for may the reading lie off, and the edge be open.
const NEAR: f64 = 0.10;
/// A counter's rise must fit its current so well that it tells when the current began.
const FITS: f64 = 0.05;

impl Log {
    /// Each with the resistance so many seconds after it.
    pub fn edges(&self, second: f64) -> Vec<Edge> {
        let is_steady = |part: &&Part| part.kind != Kind::Changing;
        let steady: Vec<&Part> = self.parts().iter().filter(is_steady).collect();
        let edges = steady.windows(2);
        edges
            .filter_map(|two| self.edge(two[0], two[1], second))
            .collect()
    }

    fn edge(&self, before: &Part, after: &Part, second: f64) -> Option<Edge> {
        let from = self.samples().get(before.last)?;
        let load = self.samples().get(after.readings())?;
        // On its way the current may have been read, but it may not have been anywhere else.
        let on_its_way = self.samples().get(before.last + 1..after.first)?;
        let (low, high) = (from.amps.min(after.amps), from.amps.max(after.amps));
        if on_its_way
            .iter()
            .any(|each| !(low..=high).contains(&each.amps))
        {
            return None;
        }
        let is_held = matches!(after.kind, Kind::ConstantCurrent | Kind::Pulse);
        if !is_held || before.kind == Kind::ConstantVoltage || after.amps.abs() <= before.amps.abs()
        {
            return None;
        }
        let between_seconds = self.began(from, load)?;
        Some(Edge {
            between_seconds,
            from_a: from.amps,
            to_a: after.amps,
            from_v: from.volts,
            rested_seconds: (before.kind == Kind::Rest).then_some(before.seconds),
            resistance: resistance(from, load, between_seconds, second),
        })
    }

    /// When the load's current began: between two readings; or to the point, where a counter has counted since.
    fn began(&self, from: &Sample, load: &[Sample]) -> Option<(f64, f64)> {
        let first = load.first()?;
        let seen = (from.seconds, first.seconds);
        let told = counted_since(from, load).map(|seconds| first.seconds - seconds);
        let is_inside = |at: &f64| (seen.0..=seen.1).contains(at);
        Some(told.filter(is_inside).map_or(seen, |at| (at, at)))
    }
}

/// For how many seconds the load's current had flowed at its first reading, by a counter that counts it rightly after.
fn counted_since(from: &Sample, load: &[Sample]) -> Option<f64> {
    let [first, second, ..] = load else {
        return None;
    };
    let counter = if first.amps > 0.0 {
        CHARGING
    } else {
        DISCHARGING
    };
    let (start_ah, next_ah) = ((counter.at)(first)?, (counter.at)(second)?);
    let ah_per_second = first.amps.abs() / 3_600.0;
    let due_ah = (second.seconds - first.seconds) * ah_per_second;
    if due_ah <= 0.0 || (next_ah - start_ah - due_ah).abs() > FITS * due_ah {
        return None;
    }
    // Set to nothing with the step, else it counts on from what stood there.
    let before_ah = (counter.at)(from).filter(|before_ah| *before_ah <= start_ah);
    Some((start_ah - before_ah.unwrap_or(0.0)) / ah_per_second)
}

fn resistance(
    from: &Sample,
    load: &[Sample],
    began: (f64, f64),
    second: f64,
) -> Result<Resistance, NoResistance> {
    let middle = f64::midpoint(began.0, began.1);
    let off = |sample: &&Sample| (sample.seconds - middle - second).abs();
    let nearest = load
        .iter()
        .min_by(|one, other| off(one).total_cmp(&off(other)));
    let Some(reading) = nearest else {
        return Err(NoResistance::NoReading { nearest: 0.0 });
    };
    let open = began.1 - began.0;
    if open / 2.0 > NEAR * second {
        return Err(NoResistance::EdgeUnseen { open });
    }
    if off(&reading) > NEAR * second {
        let nearest = reading.seconds - middle;
        return Err(NoResistance::NoReading { nearest });
    }
    let ohm = (reading.volts - from.volts) / (reading.amps - from.amps);
    if !(ohm > 0.0 && ohm.is_finite()) {
        return Err(NoResistance::Backwards);
    }
    let after = |began: f64| reading.seconds - began;
    Ok(Resistance {
        ohm,
        after_seconds: (after(began.1), after(began.0)),
    })
}

#[cfg(test)]
#[path = "edges_tests.rs"]
mod tests;
