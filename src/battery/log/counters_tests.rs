//! Counters as chargers and testers keep them.

use super::*;
use crate::battery::log::synthetic_tests::Tester;

/// An hour of discharge at 1 A, a rest, half an hour of charge at 1 A; a reading every ten seconds, steps 1 to 3.
fn hour_out_half_in() -> Vec<Sample> {
    let tester = Tester::with_cell(2.0, 0.02, 90.0).every(10.0);
    let mut samples = tester
        .current(-1.0, 3_600.0)
        .rest(600.0)
        .current(1.0, 1_800.0)
        .samples();
    for sample in &mut samples {
        sample.step = Some(if sample.amps < 0.0 {
            1
        } else if sample.amps == 0.0 {
            2
        } else {
            3
        });
    }
    samples
}

/// Writes what a counter shows, from the charge in and out so far.
fn with_counter(
    mut samples: Vec<Sample>,
    mut show: impl FnMut(&mut Sample, f64, f64),
) -> Vec<Sample> {
    let (mut charged, mut discharged) = (0.0, 0.0);
    let mut before: Option<Sample> = None;
    for sample in &mut samples {
        let hours = before.map_or(0.0, |before| (sample.seconds - before.seconds) / 3_600.0);
        charged += sample.amps.max(0.0) * hours;
        discharged += (-sample.amps).max(0.0) * hours;
        before = Some(*sample);
        show(sample, charged, discharged);
    }
    samples
}

fn ah(count: Option<Count>) -> f64 {
    count.expect("a count").ah
}

#[test]
fn counters_that_run_through_are_read_at_their_end() {
    let all = counted(&with_counter(
        hour_out_half_in(),
        |sample, charged, discharged| {
            (sample.charging_ah, sample.discharging_ah) = (Some(charged), Some(discharged));
        },
    ));
    assert!(
        (ah(all.discharged) - 1.0).abs() < 1e-9 && (ah(all.charged) - 0.5).abs() < 1e-9,
        "{all:?}"
    );
    assert!(all.discharged.is_some_and(|count| count.missed_ah < 1e-9));
}

#[test]
fn counters_that_begin_anew_are_added_up() {
    // Set to nothing after each 1200 s, with a new number of the step.
    let mut samples = hour_out_half_in();
    samples
        .iter_mut()
        .for_each(|each| each.step = Some((each.seconds / 1_200.0) as i64));
    let mut start = (0, 0.0);
    let all = counted(&with_counter(samples, |sample, _, discharged| {
        let step = sample.step.unwrap_or(0);
        if step != start.0 {
            start = (step, discharged);
        }
        sample.discharging_ah = Some(discharged - start.1);
    }));
    let count = all.discharged.expect("a count");
    assert!(
        (count.ah - 1.0).abs() <= count.missed_ah + 0.02 && count.missed_ah < 0.01,
        "{all:?}"
    );
    assert_eq!(all.charged, None, "there is no such column");
}

#[test]
fn a_counter_of_whole_milliampere_hours_is_followed() {
    let coarse = |ah: f64| Some((ah * 1_000.0).floor() / 1_000.0);
    let all = counted(&with_counter(
        hour_out_half_in(),
        |sample, _, discharged| {
            sample.discharging_ah = coarse(discharged);
        },
    ));
    assert!((ah(all.discharged) - 1.0).abs() < 0.001_001, "{all:?}");
}

#[test]
fn a_counter_that_takes_up_where_another_stood_is_not_counted_twice() {
    // In the charge it shows what had gone out before, on top of what goes in: from its second reading on.
    let samples = with_counter(hour_out_half_in(), |sample, charged, discharged| {
        sample.charging_ah = Some(if charged > 0.0 {
            discharged + charged
        } else {
            0.0
        });
    });
    let all = counted(&samples);
    assert!((ah(all.charged) - 0.5).abs() < 0.005, "{all:?}");
}

#[test]
fn a_net_counter_tells_both_ways() {
    let all = counted(&with_counter(
        hour_out_half_in(),
        |sample, charged, discharged| {
            sample.net_ah = Some(charged - discharged);
        },
    ));
    assert!(
        (ah(all.discharged) - 1.0).abs() < 1e-9 && (ah(all.charged) - 0.5).abs() < 1e-9,
        "{all:?}"
    );
}

#[test]
fn a_counter_that_can_not_be_followed_counts_nothing() {
    let all = counted(&with_counter(
        hour_out_half_in(),
        |sample, _, discharged| {
            // It runs backwards.
            sample.discharging_ah = Some(5.0 - discharged);
        },
    ));
    assert_eq!(all.discharged, None);
}

fn log_whose_counter_says(times: f64) -> Log {
    let samples = with_counter(hour_out_half_in(), |sample, charged, discharged| {
        (sample.charging_ah, sample.discharging_ah) = (Some(charged), Some(times * discharged));
    });
    let recorded = crate::battery::log::Recorded::new(samples).expect("a log");
    recorded.with_sign(crate::battery::log::current_sign::CurrentSign::ChargingIsPositive)
}

#[test]
fn where_counter_and_current_come_apart_both_are_told() {
    assert!(log_whose_counter_says(1.0).differing().is_empty());
    assert!(
        log_whose_counter_says(1.01).differing().is_empty(),
        "a hundredth is within what meters differ"
    );
    let told: Vec<String> = log_whose_counter_says(0.9)
        .differing()
        .iter()
        .map(Differing::to_string)
        .collect();
    assert_eq!(
        told,
        ["The file's counter says that 900 mAh went out; its current over time comes to 1000 mAh."]
    );
}

#[test]
fn small_charges_are_told_with_a_decimal() {
    assert_eq!(amount(0.021738), "21.7 mAh");
    assert_eq!(amount(2.24453), "2245 mAh");
}
