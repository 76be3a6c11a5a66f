//! One reading counts on the dangerous side and not on the kind one; more resistance is never kinder. The limits are common
//! practice, named in the room.

use super::*;
use crate::battery::resistance_read::{Meter, MeterKind};
use proptest::prelude::*;

const CHARGER: Meter = Meter {
    kind: MeterKind::Load,
    which: 1,
};

/// At 25 °C with the same charger, a day apart, in milliohm.
fn readings(rows: &[&[i64]]) -> Vec<ResistanceReading> {
    let reading = |(day, row): (i64, &&[i64])| ResistanceReading {
        at_ms: day * 86_400_000,
        meter: CHARGER,
        celsius: Some(25.0),
        charge_percent: None,
        cells_uohm: row.iter().map(|milliohm| milliohm * 1_000).collect(),
    };
    (0..).zip(rows).map(reading).collect()
}

fn held(history: &[ResistanceReading]) -> HeldAgainst {
    held_with_sisters(history, &[])
}

fn held_with_sisters(history: &[ResistanceReading], sisters: &[ResistanceReading]) -> HeldAgainst {
    let limits = ResistanceLimits::default();
    held_against(Chemistry::LiPo, 1_000, history, sisters, &limits).expect("a usable reading")
}

fn of(held: &HeldAgainst, cell: usize, is_it: impl Fn(Against) -> bool) -> Option<Held> {
    let mut found = held.held.iter().filter(|each| is_it(each.against));
    found.find(|each| each.cell == cell).copied()
}

fn concern(held: &HeldAgainst, cell: usize, is_it: impl Fn(Against) -> bool) -> Option<Concern> {
    of(held, cell, is_it).map(|each| each.concern)
}

const fn is_first(against: Against) -> bool {
    matches!(against, Against::FirstReadings { .. })
}

const fn is_mates(against: Against) -> bool {
    matches!(against, Against::Mates)
}

const fn is_ladder(against: Against) -> bool {
    matches!(against, Against::Ladder)
}

const fn is_sisters(against: Against) -> bool {
    matches!(against, Against::Sisters)
}

#[test]
fn a_cell_is_measured_by_the_others_and_not_by_itself() {
    let told = held(&readings(&[&[8, 8, 8, 10]]));
    assert_eq!(
        concern(&told, 4, is_mates),
        Some(Concern::Fine),
        "1.25 times is fine"
    );
    let told = held(&readings(&[&[8, 8, 8, 12]]));
    assert_eq!(
        concern(&told, 4, is_mates),
        Some(Concern::Watch),
        "1.5 times is watched"
    );
    let told = held(&readings(&[&[8, 8, 8, 13]]));
    let last = of(&told, 4, is_mates).expect("held against its mates");
    assert_eq!((last.concern, last.limit), (Concern::Grave, 1.5));
    assert!((last.figure - 1.625).abs() < 1e-9);
    assert_eq!(concern(&told, 1, is_mates), Some(Concern::Fine));
    // Two bad cells of three do not hide one another.
    let told = held(&readings(&[&[8, 13, 13]]));
    assert_eq!(concern(&told, 2, is_mates), Some(Concern::Grave));
}

#[test]
fn a_single_cell_has_no_mates_and_a_first_reading_nothing_before_it() {
    let told = held(&readings(&[&[8]]));
    assert_eq!(of(&told, 1, is_mates), None);
    assert_eq!(of(&told, 1, is_first), None);
    assert_eq!(concern(&told, 1, is_ladder), Some(Concern::Fine));
    assert_eq!(
        held_against(
            Chemistry::LiPo,
            1_000,
            &[],
            &[],
            &ResistanceLimits::default()
        ),
        None
    );
    let zero = readings(&[&[0, 8]]);
    assert_eq!(
        held_against(
            Chemistry::LiPo,
            1_000,
            &zero,
            &[],
            &ResistanceLimits::default()
        ),
        None
    );
}

#[test]
fn a_pack_is_held_against_its_own_first_readings() {
    let told = held(&readings(&[&[8, 8], &[8, 8], &[8, 8], &[8, 12]]));
    let second = of(&told, 2, is_first).expect("held against its first readings");
    assert_eq!(
        (second.concern, second.limit, second.figure),
        (Concern::Caution, 1.5, 1.5)
    );
    assert_eq!(second.against, Against::FirstReadings { since_ms: 0 });
    assert_eq!(second.readings, 4);
    assert_eq!(concern(&told, 1, is_first), Some(Concern::Fine));
    let told = held(&readings(&[&[8, 8], &[8, 16]]));
    assert_eq!(concern(&told, 2, is_first), Some(Concern::Grave), "doubled");
}

#[test]
fn one_mistyped_low_reading_makes_nothing_kinder_and_a_high_one_counts_at_once() {
    let bad = readings(&[&[8, 8], &[8, 8], &[8, 8], &[8, 14], &[8, 14]]);
    let low = readings(&[&[8, 8], &[8, 8], &[8, 8], &[8, 14], &[8, 14], &[8, 1]]);
    for told in [held(&bad), held(&low)] {
        assert_eq!(concern(&told, 2, is_first), Some(Concern::Caution));
        assert_eq!(concern(&told, 2, is_mates), Some(Concern::Grave));
    }
    let high = held(&readings(&[&[8, 8], &[8, 8], &[8, 8], &[8, 80]]));
    assert_eq!(concern(&high, 2, is_ladder), Some(Concern::Grave));
    // Once two readings after it were as ever, it counts no more.
    let past = held(&readings(&[
        &[8, 8],
        &[8, 8],
        &[8, 8],
        &[8, 80],
        &[8, 8],
        &[8, 8],
    ]));
    assert_eq!(past.gravest(), Concern::Fine);
}

#[test]
fn one_mistyped_first_reading_does_not_spoil_the_measure() {
    for first in [1, 80] {
        let told = held(&readings(&[
            &[8, first],
            &[8, 8],
            &[8, 8],
            &[8, 8],
            &[8, 8],
            &[8, 8],
        ]));
        let second = of(&told, 2, is_first).expect("held against its first readings");
        assert_eq!(
            (second.figure, second.concern),
            (1.0, Concern::Fine),
            "{first}"
        );
    }
}

#[test]
fn a_pack_that_is_seldom_read_is_not_held_against_what_it_had_risen_to() {
    let mut history = readings(&[&[8, 8], &[8, 16], &[8, 16], &[8, 16], &[8, 16]]);
    for (reading, at) in history.iter_mut().zip(0..) {
        reading.at_ms = at * 180 * DAY_MS;
    }
    let told = held(&history);
    let second = of(&told, 2, is_first).expect("held against its first reading");
    assert_eq!((second.figure, second.concern), (2.0, Concern::Grave));
    assert_eq!(concern(&told, 1, is_first), Some(Concern::Fine));
}

#[test]
fn only_the_same_meter_compares_and_only_at_a_known_middling_temperature() {
    let mut history = readings(&[&[8, 8], &[8, 16]]);
    history[0].meter.which = 2;
    assert_eq!(of(&held(&history), 2, is_first), None);
    history[0].meter = Meter {
        kind: MeterKind::Alternating,
        ..CHARGER
    };
    assert_eq!(of(&held(&history), 2, is_first), None);

    let mut cold = readings(&[&[8, 16]]);
    cold[0].celsius = Some(3.0);
    let told = held(&cold);
    assert_eq!(told.newest_incomparable, Some(Incomparable::TooCold));
    assert_eq!(
        (of(&told, 2, is_first), of(&told, 2, is_ladder)),
        (None, None)
    );
    assert_eq!(
        concern(&told, 2, is_mates),
        Some(Concern::Grave),
        "the mates were as cold"
    );
}

#[test]
fn a_reading_that_can_t_be_compared_lifts_nothing_that_those_before_it_said() {
    let mut history = readings(&[&[8, 8], &[8, 16], &[8, 16], &[8, 8]]);
    history[3].celsius = Some(3.0);
    let told = held(&history);
    assert_eq!(told.newest_incomparable, Some(Incomparable::TooCold));
    assert_eq!(concern(&told, 2, is_first), Some(Concern::Grave));
    assert_eq!(concern(&told, 2, is_mates), Some(Concern::Grave));
    history[3].celsius = Some(25.0);
    history[3].meter.which = 2;
    assert_eq!(concern(&held(&history), 2, is_mates), Some(Concern::Grave));
}

#[test]
fn a_pack_is_held_against_its_sisters() {
    let own = readings(&[&[12, 8]]);
    let told = held_with_sisters(&own, &readings(&[&[8, 8], &[7, 9], &[80, 80]]));
    assert_eq!(concern(&told, 1, is_sisters), Some(Concern::Watch));
    assert_eq!(concern(&told, 2, is_sisters), Some(Concern::Fine));
    let mut other_meter = readings(&[&[8, 8]]);
    other_meter[0].meter.which = 9;
    assert_eq!(
        of(&held_with_sisters(&own, &other_meter), 1, is_sisters),
        None
    );
}

#[test]
fn the_worst_of_it_is_what_counts() {
    // 31 milliohm Ah in each cell: alike, yet past the ladder.
    assert_eq!(held(&readings(&[&[31, 31, 31]])).gravest(), Concern::Grave);
    assert_eq!(
        held(&readings(&[&[21, 21, 21]])).gravest(),
        Concern::Caution
    );
    assert_eq!(held(&readings(&[&[20, 20, 20]])).gravest(), Concern::Fine);
}

fn history() -> impl Strategy<Value = Vec<Vec<i64>>> {
    (1_usize..5)
        .prop_flat_map(|cells| prop::collection::vec(prop::collection::vec(1_i64..60, cells), 1..8))
}

fn of_rows(rows: &[Vec<i64>]) -> Vec<ResistanceReading> {
    let rows: Vec<&[i64]> = rows.iter().map(Vec::as_slice).collect();
    readings(&rows)
}

proptest! {
    #[test]
    fn more_resistance_in_a_cell_never_makes_its_outcome_kinder(
        rows in history(), cell in 0_usize..4, more in 0_i64..60,
    ) {
        let cell = cell % rows[0].len();
        let mut worse = rows.clone();
        let newest = worse.len() - 1;
        worse[newest][cell] += more;
        let (before, after) = (held(&of_rows(&rows)), held(&of_rows(&worse)));
        for (one, other) in before.held.iter().zip(&after.held) {
            prop_assert_eq!((one.cell, one.against), (other.cell, other.against));
            if one.cell == cell + 1 {
                prop_assert!(other.figure >= one.figure && other.concern >= one.concern, "{:?} then {:?}", one, other);
            }
        }
    }

    #[test]
    fn more_resistance_in_all_cells_never_makes_the_pack_s_outcome_kinder(rows in history(), times in 1_i64..5) {
        let mut worse = rows.clone();
        let newest = worse.len() - 1;
        for milliohm in &mut worse[newest] {
            *milliohm *= times;
        }
        prop_assert!(held(&of_rows(&worse)).gravest() >= held(&of_rows(&rows)).gravest());
    }

    #[test]
    fn one_more_reading_cannot_alone_lift_what_the_two_before_it_said(
        good in 5_i64..8, bad in 17_i64..60, typed in 1_i64..60,
    ) {
        let rows = [vec![good; 3], vec![good; 3], vec![good; 3], vec![good, bad, good], vec![good, bad, good]];
        let mut more = rows.to_vec();
        more.push(vec![good, typed, good]);
        prop_assert!(held(&of_rows(&more)).gravest() >= held(&of_rows(&rows)).gravest());
    }
}
