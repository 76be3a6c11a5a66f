//! Capacities of a cell of known capacity, and of one that fades.

use super::*;
use crate::battery::log::Recorded;
use crate::battery::log::current_sign::CurrentSign;
use crate::battery::log::synthetic_tests::Tester;

const WINDOW: Window = Window {
    full_v: 4.2,
    empty_v: 3.0,
};

fn one(log: &Log) -> Sweep {
    let sweeps = log.sweeps();
    assert_eq!(sweeps.len(), 1, "{sweeps:?}");
    sweeps[0]
}

fn full_discharge(capacity_ah: f64, amps: f64) -> Tester {
    Tester::with_cell(capacity_ah, 0.01, 100.0)
        .every(5.0)
        .rest(120.0)
        .current_until(-amps, 3.0)
        .rest(120.0)
}

#[test]
fn a_discharge_from_full_to_empty_tells_the_capacity_how_fast_and_between_which_volts() {
    let sweep = one(&full_discharge(2.0, 1.0).log());
    assert!(sweep.is_full(&WINDOW));
    // It stops at 3.0 V under current: a hundredth of an ohm at 1 A leaves 10 mV of 1.2 V in the cell.
    assert!(
        (sweep.capacity_ah() - 2.0 * (1.0 - 0.01 / 1.2)).abs() < 0.005,
        "{sweep:?}"
    );
    assert!((sweep.c_rate() - 0.5).abs() < 0.01);
    assert!((sweep.from_v - 4.2).abs() < 1e-9 && (sweep.to_v - 3.0).abs() < 0.001);
    assert_eq!(sweep.direction, Direction::Discharge);
}

#[test]
fn a_charge_is_full_once_its_current_has_fallen() {
    let empty = || Tester::with_cell(2.0, 0.05, 1.0).every(5.0).rest(60.0);
    let whole = one(&empty().current_until(2.0, 4.2).volts(4.2, 0.1).log());
    assert!(whole.is_full(&WINDOW), "{whole:?}");
    // 99 % of it, less what 0.1 A at 0.05 ohm leaves open: 5 mV of 1.2 V.
    assert!(
        (whole.capacity_ah() - 2.0 * (0.99 - 0.005 / 1.2)).abs() < 0.01,
        "{whole:?}"
    );
    let stopped = one(&empty().current_until(2.0, 4.2).log());
    assert!(
        !stopped.is_full(&WINDOW),
        "at 4.2 V under 1C it is not full: {stopped:?}"
    );
}

#[test]
fn from_storage_or_to_storage_is_no_capacity() {
    let from_half = Tester::with_cell(2.0, 0.01, 50.0)
        .every(5.0)
        .rest(60.0)
        .current_until(-1.0, 3.0);
    let to_half = Tester::with_cell(2.0, 0.01, 100.0)
        .every(5.0)
        .rest(60.0)
        .current(-1.0, 3_600.0);
    for tester in [from_half, to_half] {
        assert!(!one(&tester.log()).is_full(&WINDOW));
    }
}

#[test]
fn rests_and_pulses_within_a_discharge_do_not_end_it() {
    let mut tester = Tester::with_cell(2.0, 0.01, 100.0).rest(60.0);
    for _ in 0..9 {
        tester = tester
            .current(-5.0, 10.0)
            .rest(40.0)
            .current(5.0, 10.0)
            .rest(40.0)
            .current(-2.0, 360.0)
            .rest(600.0);
    }
    let sweep = one(&tester.log());
    // Nine times 0.2 Ah; the pulses give back what they took, the one before the first part not being of it.
    assert!(
        (sweep.by_current_ah - (1.8 - 0.0)).abs() < 0.001,
        "{sweep:?}"
    );
}

#[test]
fn a_charger_that_pauses_to_look_at_its_cells_still_tells_the_capacity() {
    // 29 s at 1 A and a second without, from 1 % on, 240 times: 1.933 Ah.
    let start = Tester::with_cell(2.0, 0.01, 1.0).rest(60.0);
    let paused = (0..240).fold(start, |tester, _| tester.current(1.0, 29.0).rest(1.0));
    let sweep = one(&paused.log());
    assert!(
        (sweep.capacity_ah() - 240.0 * 29.0 / 3_600.0).abs() < 1e-6,
        "{sweep:?}"
    );
    // So does a load that is switched on and off with every reading, as far as its readings tell.
    let load = (0..1_000).fold(Tester::with_cell(2.0, 0.01, 99.0), |tester, _| {
        tester.ramp(0.0, -4.0, 1.0).ramp(-4.0, 0.0, 1.0)
    });
    let sweep = one(&load.log());
    assert!(
        (sweep.by_current_ah - 1_000.0 * 4.0 / 3_600.0).abs() < 0.002,
        "{sweep:?}"
    );
}

#[test]
fn a_charge_and_a_discharge_in_one_log_are_two() {
    let log = Tester::with_cell(2.0, 0.05, 1.0)
        .every(5.0)
        .rest(60.0)
        .current_until(1.0, 4.2)
        .volts(4.2, 0.1)
        .rest(600.0)
        .current_until(-1.0, 3.0)
        .log();
    let sweeps = log.sweeps();
    assert_eq!(
        sweeps
            .iter()
            .map(|each| each.direction)
            .collect::<Vec<Direction>>(),
        [Direction::Charge, Direction::Discharge]
    );
    assert!(
        sweeps.iter().all(|each| each.is_full(&WINDOW)),
        "{sweeps:?}"
    );
}

/// One full discharge after the other, each its own cycle, an hour apart in which nothing was written down.
fn cycles(of: &[(f64, f64)]) -> Log {
    let mut all: Vec<Sample> = Vec::new();
    for (cycle, (capacity_ah, amps)) in of.iter().enumerate() {
        let after = all.last().map_or(0.0, |last| last.seconds + 3_600.0);
        let samples = full_discharge(*capacity_ah, *amps).samples();
        let under_current = samples.into_iter().skip_while(|each| each.amps == 0.0);
        all.extend(under_current.map(|each| Sample {
            seconds: each.seconds + after,
            cycle: Some(cycle as i64 + 1),
            ..each
        }));
    }
    Recorded::new(all)
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive)
}

#[test]
fn a_fading_cells_capacity_is_told_beside_its_first() {
    let told = fade(
        &cycles(&[(2.0, 1.0), (1.9, 1.0), (1.6, 1.0)]).sweeps(),
        Direction::Discharge,
        &WINDOW,
    );
    assert_eq!(
        told.iter()
            .map(|each| each.cycle)
            .collect::<Vec<Option<i64>>>(),
        [Some(1), Some(2), Some(3)]
    );
    for (told, of_first) in told.iter().zip([1.0, 0.95, 0.8]) {
        assert!((told.of_first - of_first).abs() < 0.002, "{told:?}");
    }
}

#[test]
fn a_capacity_at_another_current_is_no_fade() {
    let sweeps = cycles(&[(2.0, 1.0), (2.0, 4.0), (1.8, 1.0)]).sweeps();
    let told = fade(&sweeps, Direction::Discharge, &WINDOW);
    assert_eq!(
        told.iter()
            .map(|each| each.cycle)
            .collect::<Vec<Option<i64>>>(),
        [Some(1), Some(3)]
    );
    assert!(fade(&sweeps, Direction::Charge, &WINDOW).is_empty());
}

#[test]
fn where_readings_leave_much_open_the_files_counter_is_taken() {
    // A reading every ten minutes; the counter knows what the gaps hide.
    let at = |minutes: f64, volts: f64, amps: f64, ah: f64| Sample {
        seconds: minutes * 60.0,
        volts,
        amps,
        discharging_ah: Some(ah),
        ..Sample::default()
    };
    let mut samples = vec![
        at(0.0, 4.2, 0.0, 0.0),
        at(10.0, 4.0, -2.0, 0.32),
        at(20.0, 3.7, -2.0, 0.6533),
        at(30.0, 3.4, -2.0, 0.9867),
        at(40.0, 3.02, -2.0, 1.32),
        at(50.0, 3.2, 0.0, 1.35),
    ];
    let told = |samples: &[Sample]| {
        let recorded = Recorded::new(samples.to_vec()).expect("a log");
        one(&recorded.with_sign(CurrentSign::ChargingIsPositive))
    };
    let sweep = told(&samples);
    assert!(
        sweep.doubt_ah > 0.3 && (sweep.capacity_ah() - 1.35).abs() < 1e-9,
        "{sweep:?}"
    );
    assert!(sweep.capacity_doubt_ah() < 0.001);
    // What a pulse brought back is on no counter of the file.
    samples.splice(3..3, [at(29.0, 3.6, 2.0, 0.95), at(29.2, 3.6, 2.0, 0.95)]);
    let sweep = told(&samples);
    assert_eq!(
        (sweep.counted, sweep.capacity_ah()),
        (None, sweep.by_current_ah)
    );
}
