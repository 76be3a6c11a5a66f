//! The parts of synthetic logs, whose formulas stand in `synthetic_tests`.

use super::*;
use crate::battery::log::Recorded;
use crate::battery::log::synthetic_tests::Tester;
use proptest::prelude::*;

fn kinds(parts: &[Part]) -> Vec<Kind> {
    parts.iter().map(|part| part.kind).collect()
}

fn told(samples: &[Sample]) -> Vec<Part> {
    found(samples, Scale::of(samples))
}

const FULL_CHARGE: [Kind; 4] = [
    Kind::Rest,
    Kind::ConstantCurrent,
    Kind::ConstantVoltage,
    Kind::Rest,
];

fn full_charge(every: f64) -> Vec<Sample> {
    let tester = Tester::with_cell(2.2, 0.06, 30.0).every(every).rest(120.0);
    tester
        .current_until(2.2, 4.2)
        .volts(4.2, 0.11)
        .rest(300.0)
        .samples()
}

#[test]
fn a_charge_is_a_rest_a_constant_current_a_constant_voltage_and_a_rest() {
    for every in [1.0, 10.0, 30.0] {
        let samples = full_charge(every);
        let parts = told(&samples);
        assert_eq!(kinds(&parts), FULL_CHARGE, "a reading every {every} s");
        // From 30 % until the resting volts are 4.2 V less I R: 59 % of 2.2 Ah at 2.2 A.
        assert!(
            (parts[1].seconds - 0.59 * 3_600.0).abs() <= 0.05 * 2_124.0,
            "{parts:?}"
        );
        assert!((parts[1].amps - 2.2).abs() < 0.02);
        assert!((parts[2].start_v - 4.2).abs() < 0.01 && (parts[2].end_v - 4.2).abs() < 1e-9);
    }
}

#[test]
fn a_noisy_meter_and_a_charger_that_regulates_coarsely_change_nothing_in_the_parts() {
    let mut samples = full_charge(1.0);
    for (at, sample) in samples.iter_mut().enumerate() {
        // Two percent of the current and three millivolts, in turn up and down, and a zero that is off.
        let turn = [1.0, -1.0, 0.5, -0.5, 0.0][at % 5];
        sample.amps = sample.amps * (1.0 + 0.02 * turn) + 0.004;
        sample.volts += 0.003 * turn;
    }
    assert_eq!(kinds(&told(&samples)), FULL_CHARGE);
}

#[test]
fn the_tail_of_a_constant_voltage_belongs_to_it_also_behind_a_jerk() {
    let mut samples = full_charge(1.0);
    let is_late = |each: &Sample| (0.11..0.12).contains(&each.amps);
    let late = samples.iter().position(is_late).expect("a tail");
    samples[late].amps *= 1.2;
    assert_eq!(kinds(&told(&samples)), FULL_CHARGE);
}

#[test]
fn one_spike_hides_nothing() {
    let mut samples = full_charge(1.0);
    samples[500].amps = 400.0;
    let parts = told(&samples);
    let first_and_last = [parts.first(), parts.last()].map(|part| part.map(|part| part.kind));
    assert_eq!(first_and_last, [Some(Kind::Rest); 2]);
    let currents = parts
        .iter()
        .filter(|part| part.kind == Kind::ConstantCurrent);
    assert_eq!(currents.count(), 2, "one on either side of it: {parts:?}");
}

#[test]
fn pulses_are_told_from_the_current_that_goes_on() {
    let tester = Tester::with_cell(1.0, 0.02, 80.0).rest(60.0);
    let parts = tester
        .current(-5.0, 10.0)
        .rest(40.0)
        .current(4.0, 10.0)
        .rest(40.0)
        .current(-1.0, 600.0)
        .rest(60.0)
        .samples();
    use Kind::{ConstantCurrent, Pulse, Rest};
    assert_eq!(
        kinds(&told(&parts)),
        [Rest, Pulse, Rest, Pulse, Rest, ConstantCurrent, Rest]
    );
    let at_the_start = Tester::with_cell(1.0, 0.02, 80.0)
        .current(-5.0, 10.0)
        .samples();
    assert_eq!(
        kinds(&told(&at_the_start)),
        [ConstantCurrent],
        "nothing stands before it"
    );
}

#[test]
fn a_constant_power_and_a_motor_are_neither_current_nor_voltage_held() {
    let power = Tester::with_cell(1.0, 0.05, 95.0)
        .power(3.5, 3_000.0)
        .samples();
    assert_eq!(kinds(&told(&power)), [Kind::Changing]);
    let mut motor = Tester::with_cell(2.0, 0.02, 95.0).rest(20.0);
    for at in 0..60 {
        let amps = [-3.0, -11.0, -7.0, -20.0, -1.0][at % 5];
        motor = motor.ramp(amps, amps * 1.6, 3.0);
    }
    let parts = told(&motor.rest(20.0).samples());
    assert_eq!(
        kinds(&parts),
        [Kind::Rest, Kind::Changing, Kind::Rest],
        "{parts:?}"
    );
}

#[test]
fn two_currents_one_after_the_other_are_two_parts() {
    let two = Tester::with_cell(2.0, 0.02, 95.0)
        .current(-1.0, 300.0)
        .current(-2.0, 300.0)
        .samples();
    let parts = told(&two);
    assert_eq!(
        parts
            .iter()
            .map(|part| part.amps.round())
            .collect::<Vec<f64>>(),
        [-1.0, -2.0]
    );
}

#[test]
fn where_nothing_flows_all_is_rest() {
    let parts = told(&Tester::with_cell(2.0, 0.02, 95.0).rest(300.0).samples());
    assert_eq!(kinds(&parts), [Kind::Rest]);
    assert_eq!(parts[0].seconds, 300.0);
}

fn any_samples() -> impl Strategy<Value = Vec<Sample>> {
    let amps = prop_oneof![Just(0.0), Just(1.0), Just(-1.0), -100.0..100.0, 0.9..1.1];
    let volts = prop_oneof![Just(4.2), 4.19..4.21, -0.1..60.0];
    let one = (0.0_f64..5.0, volts, amps);
    proptest::collection::vec(one, 2..120).prop_map(|all| {
        let mut seconds = 0.0;
        let sample = |(step, volts, amps): (f64, f64, f64)| {
            seconds += step;
            Sample {
                seconds,
                volts,
                amps,
                ..Sample::default()
            }
        };
        all.into_iter().map(sample).collect()
    })
}

proptest! {
    #[test]
    fn every_reading_belongs_to_one_part(samples in any_samples()) {
        let parts = told(&samples);
        let all: Vec<usize> = parts.iter().flat_map(Part::readings).collect();
        prop_assert_eq!(all, (0..samples.len()).collect::<Vec<usize>>());
    }

    #[test]
    fn the_other_sign_of_the_current_gives_the_same_parts(samples in any_samples()) {
        let turned: Vec<Sample> = samples.iter().map(|each| Sample { amps: -each.amps, ..*each }).collect();
        let these = told(&samples).into_iter().map(|part| (part.kind, part.first));
        let others = told(&turned).into_iter().map(|part| (part.kind, part.first));
        prop_assert!(these.eq(others));
    }

    #[test]
    fn no_readings_stop_what_reads_them(samples in any_samples()) {
        if let Ok(recorded) = Recorded::new(samples) {
            let sign = recorded.sign().unwrap_or(crate::battery::log::current_sign::CurrentSign::DischargingIsPositive);
            let log = recorded.with_sign(sign);
            for sweep in log.sweeps() {
                prop_assert!(sweep.by_current_ah > 0.0 && sweep.first <= sweep.last);
            }
            for edge in log.edges(10.0) {
                prop_assert!(edge.resistance.is_err() || edge.resistance.is_ok_and(|told| told.ohm > 0.0));
            }
            prop_assert!(log.moved().charged_ah >= 0.0 && log.differing().is_empty());
        }
    }
}
