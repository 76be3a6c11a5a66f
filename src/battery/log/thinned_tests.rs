//! What a plot may not lose.

use super::*;
use proptest::prelude::*;

fn at(seconds: f64, volts: f64, amps: f64) -> Sample {
    Sample {
        seconds,
        volts,
        amps,
        ..Sample::default()
    }
}

#[test]
fn a_short_log_is_drawn_whole_and_an_empty_one_not_at_all() {
    let samples: Vec<Sample> = (0..100).map(|n| at(f64::from(n), 4.0, 1.0)).collect();
    assert_eq!(thinned(&samples, 100), (0..100).collect::<Vec<usize>>());
    assert!(thinned(&[], 100).is_empty());
}

#[test]
fn one_dip_of_one_reading_in_fifty_thousand_is_drawn() {
    let mut samples: Vec<Sample> = (0..50_000)
        .map(|n| at(f64::from(n), 4.2 - f64::from(n) * 2e-5, -1.0))
        .collect();
    samples[31_234].volts = 2.9;
    let kept = thinned(&samples, 300);
    assert!(kept.contains(&31_234) && kept.len() <= 300);
    assert!(
        kept.len() > 200,
        "what room there is is used: {}",
        kept.len()
    );
}

proptest! {
    #[test]
    fn both_ends_and_the_extremes_stay_in_order_and_within_the_number_asked_for(
        readings in proptest::collection::vec((0.0_f64..100.0, 2.0_f64..5.0, -10.0_f64..10.0), 2..400), most in 0_usize..100,
    ) {
        let mut seconds = 0.0;
        let samples: Vec<Sample> = readings.iter().map(|(step, volts, amps)| {
            seconds += step;
            at(seconds, *volts, *amps)
        }).collect();
        let kept = thinned(&samples, most);
        prop_assert!(kept.len() <= most.max(FEWEST));
        prop_assert!(kept.is_sorted_by(|one, next| one < next));
        prop_assert_eq!((kept.first(), kept.last()), (Some(&0), Some(&(samples.len() - 1))));
        let ends = |values: Vec<f64>| values.iter().fold((f64::MAX, f64::MIN), |(least, most), value| (least.min(*value), most.max(*value)));
        for of in [|each: &Sample| each.volts, |each: &Sample| each.amps] {
            let drawn = ends(kept.iter().map(|at| of(&samples[*at])).collect());
            prop_assert_eq!(drawn, ends(samples.iter().map(of).collect()));
        }
    }
}
