//! The sign of the current, in logs of either sign.

use super::*;
use crate::battery::log::Recorded;
use crate::battery::log::synthetic_tests::Tester;
use CurrentSign::{ChargingIsPositive, DischargingIsPositive};

fn told_of(samples: Vec<Sample>) -> Result<CurrentSign, SignUnclear> {
    Recorded::new(samples).expect("a log").sign()
}

fn turned(samples: &[Sample]) -> Vec<Sample> {
    samples
        .iter()
        .map(|each| Sample {
            amps: -each.amps,
            ..*each
        })
        .collect()
}

fn charge() -> Vec<Sample> {
    Tester::with_cell(2.2, 0.02, 30.0)
        .every(5.0)
        .current_until(2.2, 4.2)
        .volts(4.2, 0.11)
        .samples()
}

fn discharge() -> Vec<Sample> {
    Tester::with_cell(2.2, 0.02, 90.0)
        .every(5.0)
        .current(-1.1, 3_600.0)
        .samples()
}

fn pulses() -> Vec<Sample> {
    let tester = Tester::with_cell(2.2, 0.02, 70.0).rest(60.0);
    tester
        .current(-5.0, 10.0)
        .rest(60.0)
        .current(5.0, 10.0)
        .rest(60.0)
        .samples()
}

#[test]
fn a_charge_a_discharge_pulses_and_a_motor_tell_the_sign_of_their_current() {
    let mut motor = Tester::with_cell(2.0, 0.02, 95.0).rest(20.0);
    for at in 0..40 {
        motor = motor.current([-3.0, -11.0, -7.0, -20.0][at % 4], 1.0);
    }
    let power = Tester::with_cell(1.0, 0.05, 95.0)
        .rest(5.0)
        .power(3.5, 3_000.0);
    for samples in [
        charge(),
        discharge(),
        pulses(),
        motor.samples(),
        power.samples(),
    ] {
        assert_eq!(told_of(turned(&samples)), Ok(DischargingIsPositive));
        assert_eq!(told_of(samples), Ok(ChargingIsPositive));
    }
}

#[test]
fn where_the_volts_hardly_move_somebody_is_asked() {
    // The flat part of a LiFePO4 cell: 8 mV in ten minutes.
    let flat = |at: usize| Sample {
        seconds: at as f64,
        volts: 3.29 + 0.008 * at as f64 / 600.0,
        amps: 1.0,
        ..Sample::default()
    };
    let samples: Vec<Sample> = (0..600).map(flat).collect();
    assert_eq!(told_of(samples.clone()), Err(SignUnclear::Silent));
    let counting = |charges: bool| {
        samples.iter().enumerate().map(move |(at, each)| {
            // A little less than the ampere that flows, and the same from reading to reading to the last bit.
            let ah = Some(at as f64 / 4_096.0);
            let (charging_ah, discharging_ah) = if charges {
                (ah, Some(0.0))
            } else {
                (Some(0.0), ah)
            };
            Sample {
                charging_ah,
                discharging_ah,
                ..*each
            }
        })
    };
    assert_eq!(told_of(counting(true).collect()), Ok(ChargingIsPositive));
    assert_eq!(
        told_of(counting(false).collect()),
        Ok(DischargingIsPositive)
    );
}

#[test]
fn a_log_that_writes_charge_and_discharge_without_a_sign_is_asked_about() {
    let both = Tester::with_cell(2.2, 0.02, 30.0)
        .every(5.0)
        .current_until(2.2, 4.2)
        .rest(600.0)
        .current(-2.2, 1_800.0);
    let mut samples = both.samples();
    samples
        .iter_mut()
        .for_each(|each| each.amps = each.amps.abs());
    let told = told_of(samples).expect_err("asked");
    assert_eq!(told, SignUnclear::VoltsDisagree);
    assert!(
        told.to_string()
            .contains("bring in its charge and its discharge one by one")
    );
}

#[test]
fn counters_that_say_the_other_than_the_volts_are_asked_about() {
    let mut samples = discharge();
    for sample in &mut samples {
        sample.charging_ah = Some(1.1 * sample.seconds / 3_600.0);
        sample.amps = -sample.amps;
    }
    assert_eq!(told_of(samples), Err(SignUnclear::CountersDisagree));
}

#[test]
fn where_nothing_flows_nobody_is_asked() {
    assert_eq!(
        told_of(Tester::with_cell(2.2, 0.02, 30.0).rest(600.0).samples()),
        Ok(ChargingIsPositive)
    );
}

#[test]
fn once_it_is_said_charging_is_positive() {
    let recorded = Recorded::new(turned(&discharge())).expect("a log");
    let sign = recorded.sign().expect("a sign");
    let log = recorded.with_sign(sign);
    assert!(log.samples().iter().all(|each| each.amps < 0.0) && log.parts()[0].amps < 0.0);
}

#[test]
fn a_sign_is_found_again_by_its_code() {
    for sign in CurrentSign::ALL {
        assert_eq!(CurrentSign::from_code(sign.code()), Some(sign));
    }
    assert_eq!(CurrentSign::from_code(""), None);
}
