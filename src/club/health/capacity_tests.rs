//! Capacity from what went in between two rested readings: what it comes to, and which charges tell it.

use super::scenes_tests::*;
use super::*;
use crate::battery::capacity::NoCapacity;
use crate::club::verdict::Gravity;
use Gravity::{Caution, ToMend};

/// Nearly empty, and charged to full the same day.
fn run(days: i64, mah: i64) -> [HealthReading; 2] {
    let empty = on(days).cells(&[3_500, 3_510, 3_505]);
    let full = on(days).cells(&[4_190, 4_190, 4_195]).put_in(mah);
    let at = full.at.plus_hours(5);
    [empty, HealthReading { at, ..full }]
}

fn of_runs(mah: &[i64]) -> Health {
    let days = (1..).map(|run| 400 - run * 30);
    let runs = days.zip(mah).flat_map(|(days, mah)| run(days, *mah));
    health_of(&lipo(), &runs.collect::<Vec<_>>())
}

fn said(health: &Health) -> Option<(Gravity, Sure)> {
    let reason = of(health, Rule::CapacityLow)?;
    Some((reason.finding.gravity, reason.sure))
}

#[test]
fn a_pack_that_takes_what_its_label_says_has_nothing_said_of_it() {
    let health = of_runs(&[2_100]);
    assert_eq!(rules(&health.reasons), []);
    let told = health.told.capacity.expect("a capacity");
    // 3.50 V are four percent of a LiCoO2 pouch (Ai et al. 2020), 4.19 V ninety-nine.
    assert!(told.capacity.holds(2_100.0 / 0.95), "{told:?}");
    assert!((told.percent_of_label - 100.0).abs() < 5.0, "{told:?}");
    assert!(health.closes(Rule::CapacityLow));
}

#[test]
fn eighty_percent_is_for_practice_and_sixty_is_set_aside() {
    let health = of_runs(&[1_500]);
    let low = of(&health, Rule::CapacityLow).expect("a reason");
    assert_eq!(low.finding.gravity, Caution);
    let words = &low.finding.words;
    assert!(words.starts_with("It held about 1"), "{words}");
    assert!(words.contains(" in November 2025, 7"), "{words}");
    assert!(
        words.ends_with("% of the 2200 mAh on its label; the club's limit is 80 %."),
        "{words}"
    );
    let gone = of_runs(&[1_000]);
    let low = of(&gone, Rule::CapacityLow).expect("a reason");
    assert_eq!(low.finding.gravity, ToMend);
    assert!(
        low.finding
            .next
            .ends_with("Retiring it is for a person to say.")
    );
    let limit = low.figure.map(|figure| (figure.limit, figure.unit));
    assert_eq!(limit, Some((60.0, Unit::PercentOfLabel)));
}

#[test]
fn a_low_count_counts_at_once_and_is_lifted_by_one_more_as_before() {
    // 120 typed for 1,200 and more.
    assert_eq!(
        said(&of_runs(&[2_100, 2_090, 210])),
        Some((ToMend, Sure::OneReading))
    );
    let health = of_runs(&[2_100, 2_090, 210, 2_080]);
    assert_eq!(said(&health), None);
    assert!(health.closes(Rule::CapacityLow));
}

#[test]
fn a_high_count_does_not_outweigh_the_two_before_it() {
    assert_eq!(
        said(&of_runs(&[1_010, 1_000, 2_100])),
        Some((ToMend, Sure::SeveralReadings))
    );
    assert_eq!(said(&of_runs(&[1_200, 2_100, 2_090])), None);
}

#[test]
fn what_its_range_leaves_open_is_not_sure() {
    let health = of_runs(&[1_650]);
    assert_eq!(said(&health), Some((Caution, Sure::Perhaps)));
}

#[test]
fn a_charge_read_off_the_charger_counts_once_the_pack_has_rested() {
    let at = |hours: i64, reading: HealthReading| HealthReading {
        at: now().plus_hours(hours - 48),
        ..reading
    };
    let empty = at(0, on(0).cells(&[3_500; 3]));
    let charged = at(3, on(0).cells(&[4_200; 3]).just_used().put_in(1_000));
    let rested = at(5, on(0).cells(&[4_190; 3]));
    let told = |readings: &[HealthReading]| said(&health_of(&lipo(), readings));
    let story = [empty.clone(), charged.clone(), rested.clone()];
    assert_eq!(told(&story), Some((ToMend, Sure::OneReading)));
    assert_eq!(told(&story[..2]), None, "it had not rested");
    let days_later = at(40, rested.clone());
    assert_eq!(told(&[empty.clone(), charged.clone(), days_later]), None);
    let unsaid = HealthReading {
        charge: None,
        ..charged.clone()
    };
    assert_eq!(told(&[empty.clone(), unsaid, rested.clone()]), None);
    let out = at(4, on(0).cells(&[4_000; 3]).just_used().taken_out(100));
    assert_eq!(told(&[empty, charged, out, rested]), None, "in and out");
}

#[test]
fn what_was_taken_out_of_a_full_pack_counts_as_well() {
    let full = on(3).cells(&[4_190; 3]);
    let empty = on(2).cells(&[3_500; 3]).taken_out(1_000);
    assert_eq!(
        said(&health_of(&lipo(), &[full.clone(), empty])),
        Some((ToMend, Sure::OneReading))
    );
    let wrong_way = on(2).cells(&[3_500; 3]).put_in(1_000);
    let health = health_of(&lipo(), &[full, wrong_way]);
    assert_eq!(said(&health), None);
    assert!(!health.closes(Rule::CapacityLow));
}

#[test]
fn a_small_swing_tells_nothing_and_says_why() {
    let told = |from: i64, to: i64| {
        let readings = [on(2).cells(&[from; 3]), on(1).cells(&[to; 3]).put_in(300)];
        health_of(&lipo(), &readings).told.capacity
    };
    assert_eq!(told(3_900, 4_190), Err(NoCapacity::TooLittleSwing));
    assert_eq!(told(3_500, 3_900), Err(NoCapacity::NotFull));
    assert_eq!(told(4_190, 3_500), Err(NoCapacity::OtherWay));
    assert_eq!(
        health_of(&lipo(), &[on(1).cells(&[3_900; 3])])
            .told
            .capacity,
        Err(NoCapacity::NoCharge)
    );
}

#[test]
fn the_weakest_cell_is_named() {
    let empty = on(2).cells(&[3_650, 3_400, 3_650]);
    let full = on(1).cells(&[4_190; 3]).put_in(1_000);
    let health = health_of(&lipo(), &[empty, full]);
    let low = of(&health, Rule::CapacityLow).expect("a reason");
    assert_eq!(low.cell, Some(2));
}

/// Synthetic: 2,200 mAh when new, and two percent less with each of twelve months.
#[test]
fn a_pack_that_fades_steadily_tells_how_long_it_is_of_full_use() {
    let mah = |month: i64| (2_090.0 * (1.0 - 0.01 * month as f64)) as i64;
    let counts: Vec<i64> = (0..12).map(mah).collect();
    let told = of_runs(&counts).told;
    let fade = told.capacity.expect("a capacity").fade.expect("a fade");
    let lost = fade.lost_percent_a_year.expect("a course");
    // One percent of what it was in thirty days is twelve in a year.
    assert!(lost.contains(12.0), "{lost:?}");
    // From 100 to 80 % in twenty months, of which eleven are gone.
    let Remaining::Between { least, most } = told.remaining else {
        panic!("{:?}", told.remaining);
    };
    assert!(
        least < 9.0 && most.is_none_or(|most| most > 9.0),
        "{least} {most:?}"
    );
}

/// A maker's put-back limit, 105 % of the label (section 0 of the trade's facts): 2310 mAh of 2200.
#[test]
fn what_went_in_beyond_the_label_tells_no_capacity_and_no_energy_by_it() {
    assert!(of_runs(&[2_310]).told.capacity.is_ok());
    for mah in [2_311, 5_000] {
        let health = of_runs(&[mah]);
        assert_eq!(health.told.capacity, Err(NoCapacity::BeyondLabel), "{mah}");
        let energy = health.told.energy.expect("an energy");
        assert!(energy.is_by_label, "{mah}");
    }
    // The one before still tells it.
    let told = of_runs(&[2_100, 5_000]).told.capacity.expect("a capacity");
    assert!(told.percent_of_label < 105.0, "{told:?}");
}
