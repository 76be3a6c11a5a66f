//! Charge by current over time against what the same current comes to on paper.

use super::*;
use crate::battery::log::synthetic_tests::Tester;
use proptest::prelude::*;

fn told(samples: &[Sample]) -> Moved {
    moved(samples, Scale::of(samples))
}

fn at(seconds: f64, amps: f64) -> Sample {
    Sample {
        seconds,
        volts: 4.0,
        amps,
        ..Sample::default()
    }
}

#[test]
fn an_ampere_for_an_hour_is_an_ampere_hour_and_nothing_is_left_open() {
    let all = told(
        &Tester::with_cell(2.0, 0.02, 90.0)
            .rest(60.0)
            .current(-1.0, 3_600.0)
            .rest(60.0)
            .samples(),
    );
    assert!(
        (all.discharged_ah - 1.0).abs() < 1e-9 && all.charged_ah == 0.0,
        "{all:?}"
    );
    assert_eq!(all.doubt_ah, 0.0);
}

#[test]
fn a_current_that_turns_is_split_where_it_turns() {
    // From +3 A to -1 A in an hour: 3/4 of an hour at 1.5 A in, 1/4 at 0.5 A out.
    let all = told(&[at(0.0, 3.0), at(3_600.0, -1.0)]);
    assert!(
        (all.charged_ah - 1.125).abs() < 1e-12 && (all.discharged_ah - 0.125).abs() < 1e-12,
        "{all:?}"
    );
}

#[test]
fn a_gap_over_a_step_leaves_half_of_it_open_to_either_side() {
    let all = told(&[
        at(0.0, 0.0),
        at(100.0, 0.0),
        at(200.0, 1.0),
        at(3_800.0, 1.0),
    ]);
    let (least, most) = (3_600.0 / 3_600.0, 3_700.0 / 3_600.0);
    assert!(
        (all.charged_ah - all.doubt_ah - least).abs() < 1e-12,
        "{all:?}"
    );
    assert!(
        (all.charged_ah + all.doubt_ah - most).abs() < 1e-12,
        "{all:?}"
    );
}

proptest! {
    #[test]
    fn straight_currents_come_to_the_areas_below_them(
        corners in proptest::collection::vec((0.1_f64..5_000.0, -50.0_f64..50.0), 2..40),
        cut in 1_usize..20,
    ) {
        let mut samples = vec![at(0.0, corners[0].1)];
        let mut net_ah = 0.0;
        for (wide, amps) in &corners[1..] {
            let from = *samples.last().expect("a reading");
            net_ah += (from.amps + amps) / 2.0 * wide / 3_600.0;
            for part in 1..=cut {
                let part = part as f64 / cut as f64;
                samples.push(at(from.seconds + wide * part, from.amps + (amps - from.amps) * part));
            }
        }
        let all = told(&samples);
        prop_assert!((all.charged_ah - all.discharged_ah - net_ah).abs() < 1e-6, "{:?} is not {}", all, net_ah);
    }

    #[test]
    fn a_constant_current_comes_to_current_times_time_however_its_readings_lie(
        amps in -40.0_f64..40.0, gaps in proptest::collection::vec(0.0_f64..600.0, 1..100),
    ) {
        let mut seconds = 0.0;
        let mut samples = vec![at(0.0, amps)];
        for gap in &gaps {
            seconds += gap;
            samples.push(at(seconds, amps));
        }
        let all = told(&samples);
        prop_assert!((all.charged_ah - all.discharged_ah - amps * seconds / 3_600.0).abs() < 1e-9);
        prop_assert!(all.charged_ah == 0.0 || all.discharged_ah == 0.0);
    }

    #[test]
    fn a_current_that_dies_away_comes_to_its_integral(first_a in 0.1_f64..20.0, tau in 60.0_f64..3_000.0, every in 0.5_f64..10.0) {
        let seconds = 4.0 * tau;
        let count = (seconds / every) as usize;
        let samples: Vec<Sample> = (0..=count).map(|n| at(n as f64 * every, first_a * (-(n as f64) * every / tau).exp())).collect();
        let exact_ah = first_a * tau * (1.0 - (-(count as f64) * every / tau).exp()) / 3_600.0;
        // The trapezoid rule is off by at most h^2 / (12 tau^2) of it.
        let off = every * every / (12.0 * tau * tau);
        prop_assert!((told(&samples).charged_ah - exact_ah).abs() <= exact_ah * off * 1.01 + 1e-12);
    }

    #[test]
    fn what_readings_left_out_of_a_log_change_lies_within_its_doubt(
        steps in proptest::collection::vec((-5_i32..=5, 1_usize..40), 2..10), keep in 2_usize..30,
    ) {
        let tester = steps.iter().fold(Tester::with_cell(50.0, 0.001, 50.0), |tester, (amps, seconds)| tester.current(f64::from(*amps), *seconds as f64));
        let all = tester.samples();
        let last = all.len() - 1;
        let thin: Vec<Sample> = all.iter().enumerate().filter(|(at, _)| at % keep == 0 || *at == last).map(|(_, each)| *each).collect();
        let exact = told(&all);
        let net = |moved: Moved| moved.charged_ah - moved.discharged_ah;
        // Steps that were jumped over whole are seen by nobody.
        let is_seen = steps.iter().all(|(_, seconds)| *seconds >= keep);
        prop_assert!(!is_seen || (net(told(&thin)) - net(exact)).abs() <= told(&thin).doubt_ah + 1e-9);
    }
}
