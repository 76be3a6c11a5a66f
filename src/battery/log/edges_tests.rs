//! Resistance of a cell of known resistance.

use super::*;
use crate::battery::log::Recorded;
use crate::battery::log::current_sign::CurrentSign;
use crate::battery::log::synthetic_tests::Tester;

fn cell() -> Tester {
    Tester::with_cell(50.0, 0.02, 60.0).rest(60.0)
}

fn told(edges: &[Edge]) -> Vec<f64> {
    edges
        .iter()
        .map(|edge| edge.resistance.expect("a resistance").ohm)
        .collect()
}

#[test]
fn pulses_both_ways_tell_the_cells_resistance_and_their_ends_are_no_pulses() {
    let log = cell()
        .current(-20.0, 10.0)
        .rest(60.0)
        .current(20.0, 10.0)
        .rest(60.0)
        .log();
    let edges = log.edges(10.0);
    assert_eq!(
        edges.iter().map(|edge| edge.to_a).collect::<Vec<f64>>(),
        [-20.0, 20.0]
    );
    // In ten seconds at 20 A the resting volts of 50 Ah move by 1.3 mV: 0.07 milliohm of the 20.
    assert!(
        told(&edges).iter().all(|ohm| (ohm - 0.02).abs() < 0.0001),
        "{edges:?}"
    );
    assert!(
        edges
            .iter()
            .all(|edge| edge.rested_seconds.is_some_and(|rested| rested >= 60.0))
    );
}

#[test]
fn the_beginning_of_a_long_discharge_and_a_larger_load_on_a_smaller_are_as_good() {
    let edges = cell()
        .current(-5.0, 300.0)
        .current(-15.0, 300.0)
        .log()
        .edges(10.0);
    assert!(
        told(&edges).iter().all(|ohm| (ohm - 0.02).abs() < 0.0002),
        "{edges:?}"
    );
    assert_eq!((edges.len(), edges[1].rested_seconds), (2, None));
    assert!((edges[1].from_a + 5.0).abs() < 1e-9);
    let falling = cell().current(-15.0, 300.0).current(-5.0, 300.0).log();
    assert_eq!(
        falling.edges(10.0).len(),
        1,
        "a load that is taken back is none"
    );
}

/// 10 milliohm at once and 10 more that come with a time constant of 10 s.
fn slow_cell(every: f64) -> Log {
    let at = |n: usize| {
        let seconds = n as f64 * every;
        let under = (seconds - 60.0).max(0.0);
        let is_loaded = seconds > 60.0;
        let ohm = if is_loaded {
            0.010 + 0.010 * (1.0 - (-under / 10.0).exp())
        } else {
            0.0
        };
        Sample {
            seconds,
            volts: 4.0 - 10.0 * ohm,
            amps: if is_loaded { -10.0 } else { 0.0 },
            ..Sample::default()
        }
    };
    let count = (100.0 / every) as usize;
    let samples: Vec<Sample> = (0..count).map(at).collect();
    Recorded::new(samples)
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive)
}

#[test]
fn the_later_second_tells_the_larger_resistance() {
    for (second, ohm) in [(2.0, 0.01181), (10.0, 0.01632), (30.0, 0.0195)] {
        let edges = slow_cell(0.1).edges(second);
        assert!(
            (told(&edges)[0] - ohm).abs() < 0.02 * ohm,
            "{second} s: {edges:?}"
        );
        let (least, most) = edges[0].resistance.expect("a resistance").after_seconds;
        assert!(least <= second + 0.1 && most >= second - 0.1, "{edges:?}");
    }
}

#[test]
fn readings_that_lie_too_far_apart_tell_no_resistance() {
    let edges = slow_cell(5.0).edges(10.0);
    assert_eq!(
        edges[0].resistance,
        Err(NoResistance::EdgeUnseen { open: 5.0 })
    );
    assert!(
        edges[0]
            .resistance
            .is_err_and(|why| why.to_string().contains("within 5.0 s"))
    );
    let short = cell().current(-20.0, 6.0).rest(60.0).log().edges(10.0);
    assert_eq!(
        short[0].resistance,
        Err(NoResistance::NoReading { nearest: 6.0 })
    );
    assert!(
        short[0]
            .resistance
            .is_err_and(|why| why.to_string().contains("lies 6.0 s after"))
    );
}

#[test]
fn a_counter_tells_when_a_current_began_that_was_not_seen_to_begin() {
    let at = |seconds: f64, amps: f64, ah: f64| Sample {
        seconds,
        volts: 4.0 + amps * 0.02,
        amps,
        discharging_ah: Some(ah / 3_600.0),
        ..Sample::default()
    };
    let began = |before: f64, first: f64, second: f64| {
        let samples = vec![
            at(0.0, 0.0, before),
            at(30.0, 0.0, before),
            at(47.0, -10.0, first),
            at(53.0, -10.0, second),
            at(90.0, 0.0, second),
        ];
        let log = Recorded::new(samples)
            .expect("a log")
            .with_sign(CurrentSign::ChargingIsPositive);
        log.edges(10.0)[0]
    };
    // From nothing, counting on from 100 A s, set to nothing with the step: at 43 s it began.
    for (before, start) in [(0.0, 0.0), (100.0, 100.0), (300.0, 0.0)] {
        let edge = began(before, start + 40.0, start + 100.0);
        let (from, to) = edge.between_seconds;
        assert!(
            (from - 43.0).abs() < 1e-6 && (to - 43.0).abs() < 1e-6,
            "{edge:?}"
        );
        assert!((told(&[edge])[0] - 0.02).abs() < 1e-9);
    }
    // One that counts half of what flows tells nothing.
    let edge = began(0.0, 20.0, 50.0);
    assert_eq!(edge.between_seconds, (30.0, 47.0));
    assert_eq!(
        edge.resistance,
        Err(NoResistance::EdgeUnseen { open: 17.0 })
    );
}

#[test]
fn volts_that_move_against_the_current_tell_no_resistance() {
    let mut samples = cell().current(-20.0, 10.0).samples();
    samples
        .iter_mut()
        .filter(|each| each.amps < 0.0)
        .for_each(|each| each.volts = 4.5);
    let log = Recorded::new(samples)
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive);
    assert_eq!(log.edges(10.0)[0].resistance, Err(NoResistance::Backwards));
}

#[test]
fn a_current_that_was_elsewhere_on_its_way_is_no_step() {
    let mut samples = cell().current(-5.0, 300.0).samples();
    let first = samples
        .iter()
        .position(|each| each.amps < 0.0)
        .expect("the load");
    samples[first].amps = 30.0;
    let log = Recorded::new(samples.clone())
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive);
    assert!(log.edges(10.0).is_empty());
    samples[first].amps = -2.0;
    let log = Recorded::new(samples)
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive);
    assert_eq!(log.edges(10.0).len(), 1, "a reading on its way is none");
}
