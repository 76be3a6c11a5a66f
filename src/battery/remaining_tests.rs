//! Fading cells whose end is known, and one that was measured; each source stands beside its check.

use super::*;
use crate::battery::range::median;
use crate::battery::reference::{Dice, number, rows};
use proptest::prelude::*;

const END: End = End::FallenTo(80.0);

fn points(values: &[(f64, f64)], error: f64) -> Vec<Point> {
    let point = |(at, value): &(f64, f64)| Point {
        at: *at,
        value: *value,
        error,
    };
    values.iter().map(point).collect()
}

fn between(told: Remaining) -> (f64, Option<f64>) {
    match told {
        Remaining::Between { least, most } => (least, most),
        other => panic!("{other:?}"),
    }
}

#[test]
fn too_few_readings_or_all_at_once_tell_nothing() {
    let three = points(&[(0.0, 100.0), (6.0, 95.0), (12.0, 90.0)], 1.0);
    assert_eq!(
        remaining(&three, END, 0.0),
        Remaining::NotEnoughReadings { have: 3, need: 4 }
    );
    let at_once = points(&[(2.0, 100.0), (2.0, 95.0), (2.0, 90.0), (2.0, 91.0)], 1.0);
    assert_eq!(remaining(&at_once, END, 0.0), Remaining::TooShortWatched);
}

#[test]
fn a_pack_that_loses_evenly_is_told_a_range_around_its_even_end() {
    // One percent a month for fifteen months; at that pace five more.
    let even: Vec<(f64, f64)> = (0..6)
        .map(|n| (f64::from(n) * 3.0, 100.0 - f64::from(n) * 3.0))
        .collect();
    let (least, most) = between(remaining(&points(&even, 1.0), END, 0.0));
    let most = most.expect("an end");
    assert!(
        (1.0..4.0).contains(&least) && (6.0..15.0).contains(&most),
        "{least} to {most}"
    );
    // Where all readings may be off together by five percent, more is open.
    let (careful, open) = between(remaining(&points(&even, 1.0), END, 0.05));
    assert!(careful < least && open.is_none_or(|open| open > most));
}

#[test]
fn a_pack_that_goes_on_twice_as_fast_from_now_on_ends_in_the_range() {
    // 85 % now, at two percent a month from here on: two and a half months.
    let even: Vec<(f64, f64)> = (0..6)
        .map(|n| (f64::from(n) * 3.0, 100.0 - f64::from(n) * 3.0))
        .collect();
    let (least, _) = between(remaining(&points(&even, 0.1), END, 0.0));
    assert!((2.3..=2.5).contains(&least), "{least}");
}

#[test]
fn a_pack_that_does_not_fade_has_no_end_in_sight_and_one_past_it_has_reached_it() {
    let still: Vec<(f64, f64)> = (0..6).map(|n| (f64::from(n) * 3.0, 99.0)).collect();
    let (least, most) = between(remaining(&points(&still, 1.0), END, 0.0));
    assert_eq!(most, None);
    assert!(least > 10.0 && least <= 45.0);
    let gone: Vec<(f64, f64)> = (0..6)
        .map(|n| (f64::from(n) * 3.0, 90.0 - f64::from(n) * 3.0))
        .collect();
    assert_eq!(remaining(&points(&gone, 1.0), END, 0.0), Remaining::Reached);
}

#[test]
fn a_rising_resistance_has_an_end_too_and_the_sooner_counts() {
    // From once to one and a half times at four hundredths a month: five months on.
    let rising: Vec<(f64, f64)> = (0..6)
        .map(|n| (f64::from(n), 1.1 + f64::from(n) * 0.04))
        .collect();
    let told = remaining(&points(&rising, 0.01), End::RisenTo(1.5), 0.0);
    let (least, most) = between(told);
    assert!(
        least < 5.0 && most.is_none_or(|most| most > 5.0),
        "{told:?}"
    );
    let later = Remaining::Between {
        least: 9.0,
        most: Some(12.0),
    };
    assert_eq!(
        between(sooner(told, later)),
        (least, Some(most.map_or(12.0, |most| most.min(12.0))))
    );
    assert_eq!(sooner(Remaining::Reached, later), Remaining::Reached);
    assert_eq!(sooner(later, Remaining::TooShortWatched), later);
    assert_eq!(sooner(Remaining::TooShortWatched, later), later);
}

/// `nmc_pouch_fade_series.csv`: an NMC pouch measured in a cycling test (battery-data-toolkit, Apache-2.0; XCEL project,
/// Battery Data Hub). Its first four checks end at 120 cycles and 97.4 %; the fifth, at 224, has 96.1 %.
#[test]
fn a_measured_pouch_fades_on_as_the_range_from_its_first_checks_has_it() {
    let series = rows("nmc_pouch_fade_series.csv");
    let checks: Vec<(f64, f64)> = series
        .iter()
        .map(|row| {
            (
                number(row, "Equivalent_Full_Cycles"),
                number(row, "capacity_relative") * 100.0,
            )
        })
        .collect();
    let (first, last) = (&checks[..4], checks[4]);
    let told = remaining(&points(first, 0.2), End::FallenTo(last.1), 0.0);
    let (least, most) = between(told);
    let truth = last.0 - first[3].0;
    assert!(
        least <= truth && most.is_none_or(|most| truth <= most),
        "{truth} is not in {told:?}"
    );
    // Far from its end as it is, no most is told for that.
    assert_eq!(between(remaining(&points(first, 0.2), END, 0.0)).1, None);
}

/// Cells that fade with a power of time between its root and a little more than straight, some bending at 82 to 95 % to
/// go on up to twice as fast; checked every month or so with an error of 1 %, a third of them mistyped once.
#[test]
fn the_true_end_of_made_up_packs_lies_in_the_range() {
    let mut dice = Dice::new(17);
    let (mut cases, mut held, mut bounded) = (0, 0, 0);
    let mut widths = Vec::new();
    for _ in 0..3_000 {
        let (whole, power) = (dice.between(97.0, 106.0), dice.between(0.5, 1.15));
        let (knee, faster) = (
            dice.between(82.0, 95.0),
            if dice.below(3) == 0 {
                dice.between(1.0, 2.0)
            } else {
                1.0
            },
        );
        let life = dice.between(12.0, 60.0);
        let straight = |at: f64| whole - (whole - 80.0) * (at / life).powf(power);
        let knee_at = life * ((whole - knee) / (whole - 80.0)).powf(1.0 / power);
        let value = |at: f64| {
            if at < knee_at {
                straight(at)
            } else {
                straight(knee_at + (at - knee_at) * faster)
            }
        };
        let end = knee_at + (life - knee_at) / faster;
        let count = 5 + dice.below(8);
        let watched = end * dice.between(0.3, 0.9);
        let mut checks: Vec<(f64, f64)> = (0..count)
            .map(|n| watched * n as f64 / (count - 1) as f64)
            .map(|at| {
                (
                    at,
                    value(at) + (0..3).map(|_| dice.between(-0.5, 0.5)).sum::<f64>(),
                )
            })
            .collect();
        if dice.below(3) == 0 {
            let at = dice.below(count);
            checks[at].1 *= dice.between(0.1, 2.0);
        }
        let told = remaining(&points(&checks, 1.0), END, 0.0);
        let truth = end - watched;
        cases += 1;
        held += match told {
            Remaining::Between { least, most } => {
                if let Some(most) = most {
                    bounded += 1;
                    widths.push((most - least) / end);
                }
                usize::from(least <= truth && most.is_none_or(|most| truth <= most))
            }
            // Within the error of a check.
            Remaining::Reached => usize::from(value(watched) < 81.0),
            other => panic!("{other:?}"),
        };
    }
    let width = median(&widths).expect("some are told a most");
    println!(
        "{held} of {cases} held; {bounded} told a most, {:.0} % of the life wide at the median",
        width * 100.0
    );
    assert!(held * 100 >= cases * 95, "{held} of {cases}");
    assert!(
        bounded * 4 >= cases && width < 0.70,
        "{bounded} of {cases}, {width}"
    );
}

proptest! {
    #[test]
    fn a_farther_end_is_never_sooner(slope in 0.1_f64..3.0, end in 50.0_f64..80.0, farther in 0.0_f64..20.0) {
        let even: Vec<(f64, f64)> = (0..6).map(|n| (f64::from(n), 100.0 - f64::from(n) * slope)).collect();
        let told = |end| between(remaining(&points(&even, 1.0), End::FallenTo(end), 0.0));
        let ((least, most), (later_least, later_most)) = (told(end), told(end - farther));
        prop_assert!(later_least >= least);
        prop_assert!(later_most.is_none_or(|later| most.is_some_and(|most| later >= most)));
    }
}
