//! What holds of any history. A cell is measured by its mates, so that theirs may read kinder when it gets worse: what is held
//! against mates is stated for each cell by itself, and for the pack where the worst cell gets worse still.

use super::scenes_tests::*;
use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::pack::Build;
use crate::battery::resistance_read::MeterKind;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::limits::ClubLimits;
use crate::club::reading::Rested;
use crate::club::reading::beside::{Charge, Context};
use crate::club::seen::Seen;
use crate::club::states::State;
use crate::club::verdict::Gravity;
use proptest::prelude::*;

fn chemistries() -> impl Strategy<Value = Chemistry> {
    prop::sample::select(Chemistry::ALL.to_vec())
}

fn charges() -> impl Strategy<Value = Option<Charge>> {
    prop::option::weighted(
        0.4,
        prop_oneof![
            (0_i64..2_500).prop_map(Charge::PutIn),
            (0_i64..2_500).prop_map(Charge::TakenOut),
        ],
    )
}

fn contexts() -> impl Strategy<Value = Option<Context>> {
    prop::option::of(prop::sample::select(Context::ALL.to_vec()))
}

fn resting() -> impl Strategy<Value = Rested> {
    prop::sample::select(Rested::OFFERED.to_vec())
}

fn meters() -> impl Strategy<Value = Option<String>> {
    prop::sample::select(vec![None, Some("C-01".to_owned()), Some("C-02".to_owned())])
}

/// Cells that mostly stand together.
fn alike(
    base: impl Strategy<Value = i64>,
    cells: usize,
    apart: i64,
) -> impl Strategy<Value = Vec<i64>> {
    let off = prop_oneof![12 => 0..apart, 1 => 0..apart * 10];
    (base, prop::collection::vec(off, cells))
        .prop_map(|(base, off)| off.iter().map(|off| base + off).collect())
}

/// As people log them: from empty to full, seldom past it.
fn reading(cells: usize) -> impl Strategy<Value = HealthReading> {
    let base_mv = prop_oneof![6 => 3_500_i64..4_180, 3 => 3_730_i64..3_830, 1 => 2_900_i64..4_250];
    let volts = prop::option::weighted(0.9, alike(base_mv, cells, 12));
    let base_uohm = prop_oneof![3 => 2_000_i64..5_000, 1 => 2_000_i64..14_000];
    let resistance = (alike(base_uohm, cells, 400), meters());
    let resistance = prop::option::weighted(0.6, resistance);
    let celsius = prop::option::of(5.0_f64..38.0);
    (
        0_i64..80,
        volts,
        resting(),
        resistance,
        celsius,
        charges(),
        contexts(),
    )
        .prop_map(
            |(days, volts, rested, resistance, celsius, charge, context)| HealthReading {
                at: now().plus_days(-days),
                volts: volts.map(Volts::Cells),
                rested,
                resistance: resistance.map(|(cells_uohm, meter)| Resistance {
                    cells_uohm,
                    meter,
                    kind: None,
                }),
                celsius,
                charge,
                context,
                used: (days % 3 == 0).then_some(Instant(0)),
            },
        )
}

/// At least one reading, oldest first.
fn history(cells: usize) -> impl Strategy<Value = Vec<HealthReading>> {
    prop::collection::vec(reading(cells), 1..12).prop_map(|mut readings| {
        readings.sort_by_key(|reading| reading.at);
        readings
    })
}

/// Anything that can be stored, and more.
fn strange() -> impl Strategy<Value = HealthReading> {
    let volts = prop_oneof![
        prop::collection::vec(any::<i64>(), 0..5).prop_map(Volts::Cells),
        prop::collection::vec(3_000_i64..4_300, 0..5).prop_map(Volts::Cells),
        any::<i64>().prop_map(Volts::Pack),
    ];
    let kind = prop::option::of(prop_oneof![
        Just(MeterKind::Load),
        Just(MeterKind::Alternating)
    ]);
    let resistance = (prop::collection::vec(any::<i64>(), 0..5), ".{0,3}", kind);
    let charge = prop_oneof![
        any::<i64>().prop_map(Charge::PutIn),
        any::<i64>().prop_map(Charge::TakenOut),
    ];
    (
        -4_000_000_000_000_000_i64..4_000_000_000_000_000,
        prop::option::of(volts),
        any::<i64>().prop_map(Rested::of_minutes),
        prop::option::of(resistance),
        prop::option::of(any::<f64>()),
        prop::option::of(charge),
        contexts(),
    )
        .prop_map(
            |(at, volts, rested, resistance, celsius, charge, context)| HealthReading {
                at: Instant(at),
                volts,
                rested,
                resistance: resistance.map(|(cells_uohm, meter, kind)| Resistance {
                    cells_uohm,
                    meter: Some(meter),
                    kind,
                }),
                celsius,
                charge,
                context,
                used: Some(Instant(at / 2)),
            },
        )
}

/// The gravest that is said of one cell's resistance.
fn of_cell(pack: &HealthPack, readings: &[HealthReading], cell: usize) -> Vec<Option<f64>> {
    let told = health_of(pack, readings)
        .told
        .resistance
        .expect("resistance");
    let cell = told.cells[cell];
    vec![cell.times_first, cell.times_mates, cell.milliohm_ah]
}

/// The newest reading with resistance by itself, whose figures are changed.
fn newest_resistance(readings: &mut [HealthReading]) -> Option<&mut Vec<i64>> {
    let newest = readings.last_mut()?;
    newest.resistance.as_mut().map(|read| &mut read.cells_uohm)
}

fn state(pack: &HealthPack, readings: &[HealthReading]) -> usize {
    care(verdict_of(pack, readings).state)
}

/// The same readings of a pack of another chemistry: as empty and as full.
fn of_chemistry(readings: Vec<HealthReading>, chemistry: Chemistry) -> Vec<HealthReading> {
    let (from, to) = (Chemistry::LiPo.limits(), chemistry.limits());
    let moved = |mv: &i64| {
        let part = (mv - from.minimum_mv) * (to.full_mv - to.minimum_mv);
        to.minimum_mv + part / (from.full_mv - from.minimum_mv)
    };
    let reading = |reading: HealthReading| HealthReading {
        volts: reading.volts.map(|volts| match volts {
            Volts::Cells(cells) => Volts::Cells(cells.iter().map(moved).collect()),
            Volts::Pack(mv) => Volts::Pack(mv),
        }),
        ..reading
    };
    readings.into_iter().map(reading).collect()
}

/// The volts of the newest reading with the cell at `index` elsewhere.
fn moved(readings: &[HealthReading], index: usize, mv: i64) -> Option<Vec<HealthReading>> {
    let mut moved = readings.to_vec();
    let Some(Volts::Cells(cells)) = &mut moved.last_mut()?.volts else {
        return None;
    };
    *cells.get_mut(index)? = mv;
    Some(moved)
}

fn cells_of(readings: &[HealthReading]) -> Option<&[i64]> {
    match &readings.last()?.volts {
        Some(Volts::Cells(cells)) => Some(cells),
        _ => None,
    }
}

proptest! {
    #[test]
    fn any_history_of_any_pack_has_a_verdict(
        chemistry in chemistries(), in_series in any::<i64>(), mah in any::<i64>(), rate in prop::option::of(any::<i64>()),
        readings in prop::collection::vec(strange(), 0..8), sisters in prop::collection::vec(strange(), 0..3), few in 0_i64..5,
    ) {
        for cells_series in [in_series, few] {
            let build = Build { cells_series, capacity_mah: mah, ..pack(chemistry, 1, 1).build };
            let pack = HealthPack { build, label_discharge_c_tenths: rate };
            let verdict = verdict_of(&pack, &readings);
            prop_assert!(verdict.state <= State::NotKnown);
            let _ = health_beside(&pack, &readings, &sisters);
        }
    }

    #[test]
    fn what_readings_tell_together_is_never_danger_and_what_closes_is_not_said(
        readings in history(3), sisters in prop::collection::vec(reading(3), 0..3),
    ) {
        let health = health_beside(&lipo(), &readings, &sisters);
        for reason in &health.reasons {
            prop_assert!(reason.finding.gravity <= Gravity::ToMend);
            prop_assert!(reason.finding.gravity == Gravity::Note || !health.closes(reason.finding.rule));
        }
        let once = |rule: Rule| health.reasons.iter().filter(|each| each.finding.rule == rule).count();
        prop_assert!(health.reasons.iter().all(|each| once(each.finding.rule) == 1));
    }

    /// So nothing of it grows old between two readings: what does, a state by its age, is asked for at each look.
    #[test]
    fn what_readings_tell_together_neither_comes_nor_goes_by_waiting(
        readings in history(3), sisters in prop::collection::vec(reading(3), 0..3), days in 1_i64..4_000,
    ) {
        let at = |now: Instant| {
            let (club, limits) = (ClubLimits::default(), HealthLimits::default());
            let told = health(&Asked { pack: &lipo(), readings: &readings, sisters: &sisters, now, club: &club, limits: &limits, zone: None });
            let closed: Vec<Rule> = told.reasons.iter().map(|each| each.finding.rule).filter(|rule| told.closes(*rule)).collect();
            (rules(&told.reasons), closed)
        };
        prop_assert_eq!(at(now()), at(now().plus_days(days)));
    }

    #[test]
    fn a_cell_pushed_under_its_minimum_or_over_full_is_quarantined_as_far_as_anybody_believes_it(
        readings in history(3), at in 0_usize..3, by in 1_i64..400, more in 0_i64..350, is_low: bool,
    ) {
        let limits = Chemistry::LiPo.limits();
        let past = |by: i64| if is_low { limits.minimum_mv - by } else { limits.over_full_mv + by };
        let (Some(once), Some(twice)) = (moved(&readings, at, past(by)), moved(&readings, at, past(by + more))) else {
            return Ok(());
        };
        prop_assert_eq!(verdict_of(&lipo(), &once).state, State::Quarantine);
        prop_assert!(state(&lipo(), &twice) >= state(&lipo(), &once).max(state(&lipo(), &readings)));
    }

    /// The lowest lower, under the storage band; the highest higher, over full. What it counts of charge in and out aside: a
    /// lower end makes a count of a swing that was too small to be one, and that may well be a better one.
    #[test]
    fn the_lowest_cell_lower_or_the_highest_higher_is_never_kinder(
        readings in history(3), chemistry in chemistries(), by in 0_i64..600, is_low: bool,
    ) {
        let mut readings = of_chemistry(readings, chemistry);
        if let Some(newest) = readings.last_mut() {
            newest.charge = None;
            newest.context = None;
        }
        let Some(cells) = cells_of(&readings) else { return Ok(()); };
        let pack = pack(chemistry, 3, 2_200);
        let limits = chemistry.limits();
        let edge = if is_low { cells.iter().min() } else { cells.iter().max() };
        let edge = *edge.expect("three cells");
        let index = cells.iter().position(|mv| *mv == edge).expect("it");
        let from = if is_low { edge.min(limits.storage_low_mv) } else { edge.max(limits.full_mv) };
        // As far as anybody believes it: beyond, it is asked about and set aside.
        let to = if is_low { (from - by).max(limits.plausible_low_mv) } else { (from + by).min(limits.plausible_high_mv) };
        let to = if is_low { to.min(from) } else { to.max(from) };
        let (Some(before), Some(after)) = (moved(&readings, index, from), moved(&readings, index, to)) else {
            return Ok(());
        };
        prop_assert!(state(&pack, &after) >= state(&pack, &before), "{:?}", verdict_of(&pack, &before));
    }

    #[test]
    fn more_seen_is_never_kinder(
        readings in history(3), seen in prop::collection::vec(prop::sample::select(Seen::ALL.to_vec()), 0..4),
        more in prop::sample::select(Seen::ALL.to_vec()),
    ) {
        let state = |seen: &[Seen]| care(verdict_after(&lipo(), &readings, (seen, None)).state);
        let with_more = [seen.clone(), vec![more]].concat();
        prop_assert!(state(&with_more) >= state(&seen));
    }

    #[test]
    fn more_resistance_in_a_cell_is_never_kinder_to_that_cell(
        readings in history(4), at in 0_usize..4, more in 0_i64..20_000,
    ) {
        let pack = pack(Chemistry::LiPo, 4, 1_300);
        let mut worse = readings.clone();
        let Some(cells) = newest_resistance(&mut worse) else { return Ok(()); };
        cells[at] += more;
        let (before, after) = (of_cell(&pack, &readings, at), of_cell(&pack, &worse, at));
        for (one, other) in before.iter().zip(&after) {
            prop_assert!(one.is_none_or(|one| other.is_some_and(|other| other >= one)), "{:?} {:?}", one, other);
        }
    }

    #[test]
    fn more_resistance_in_the_worst_cell_or_in_all_alike_is_never_kinder_to_the_pack(
        readings in history(4), more in 0_i64..20_000, times in 1_i64..5,
    ) {
        let pack = pack(Chemistry::LiPo, 4, 1_300);
        let before = state(&pack, &readings);
        let mut worse = readings.clone();
        let Some(cells) = newest_resistance(&mut worse) else { return Ok(()); };
        let worst = cells.iter().max().copied();
        if let Some(cell) = cells.iter_mut().find(|cell| Some(**cell) == worst) {
            *cell += more;
        }
        prop_assert!(state(&pack, &worse) >= before);
        let mut all = readings;
        for cell in newest_resistance(&mut all).into_iter().flatten() {
            *cell *= times;
        }
        prop_assert!(state(&pack, &all) >= before);
    }

    /// A good reading lifts nothing that two before it by the same meter said.
    #[test]
    fn one_mistyped_reading_does_not_lift_what_the_two_before_it_said(typed in 500_i64..14_000, bad in 8.0_f64..30.0) {
        let usual = |days: i64, milliohm: f64| on(days).cells(&[3_900; 3]).milliohm(&[milliohm; 3]);
        let mut readings = vec![usual(70, 3.0), usual(60, 3.0), usual(50, 3.0), usual(2, bad), usual(1, bad)];
        let before = state(&lipo(), &readings);
        readings.push(usual(0, typed as f64 / 1_000.0));
        prop_assert!(state(&lipo(), &readings) >= before);
    }
}
