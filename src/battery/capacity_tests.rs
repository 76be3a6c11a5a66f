//! Capacities against cells whose truth is known: physical models faded in two ways, and made-up cells of many curves, none
//! of them the one that is built in.

use super::*;
use crate::battery::reference::{Dice, Row, number, rows};

const PROBE_MAH: f64 = 1_000_000.0;

/// Of each file's row: the swing with its readings off by so many mV, and what the cell truly holds.
fn swing(row: &Row, (from_off, to_off): (i64, i64)) -> (Swing, f64) {
    let at = |name: &str| number(row, name);
    // In millionths of the truth, so that rounding to whole mAh does not count.
    let times = PROBE_MAH / at("true_capacity_mAh");
    let mv = |name: &str| (at(name) * 1_000.0).round() as i64;
    let swing = Swing {
        from_mv: mv("start_rest_V") + from_off,
        to_mv: mv("end_rest_V") + to_off,
        charge_mah: (at("mAh_in") * times).round() as i64,
    };
    (swing, PROBE_MAH)
}

#[derive(Default)]
struct Tally {
    held: usize,
    widths: Vec<f64>,
    /// By how much, as a part of it, the truth was out of the range at most.
    farthest: f64,
}

impl Tally {
    fn add(&mut self, told: &Capacity, truth_mah: f64) {
        self.held += usize::from(told.holds(truth_mah));
        self.widths.push(told.half_width_mah() / truth_mah);
        let under = told.low_mah as f64 - truth_mah;
        let over = truth_mah - told.high_mah as f64;
        self.farthest = self.farthest.max(under.max(over) / truth_mah);
    }

    fn holds(&self, name: &str, fewest: usize) {
        let (told, held) = (self.widths.len(), self.held);
        let half_width = median(&self.widths).expect("an estimate");
        println!(
            "{name}: {held} of {told} held, half-width {:.1} % at the median",
            half_width * 100.0
        );
        assert!(told >= fewest, "{name}: {told} told");
        assert!(held * 100 >= told * 95, "{name}: {held} of {told} held");
        assert!(half_width <= 0.10, "{name}: {half_width}");
    }
}

/// `fade_estimate.csv`, PyBaMM 26.10.1.1: Ai et al. 2020 (J. Electrochem. Soc. 167, 013512) and Marquis et al. 2019
/// (166, A3693), whole, faded alike, and having lost lithium.
#[test]
fn the_capacity_of_faded_physical_models_lies_in_the_stated_range_and_little_swing_is_refused() {
    let (mut exact, mut off_by_5_mv) = (Tally::default(), Tally::default());
    for row in rows("fade_estimate.csv") {
        let (start_v, end_v) = (number(&row, "start_rest_V"), number(&row, "end_rest_V"));
        let is_wide = start_v <= 3.7 && end_v >= 4.15;
        let (true_swing, truth) = swing(&row, (0, 0));
        let told = Capacity::of(Chemistry::LiPo, &true_swing);
        assert_eq!(told.is_ok(), is_wide, "{start_v} to {end_v} V: {told:?}");
        let Ok(told) = told else { continue };
        exact.add(&told, truth);
        for off in [(5, 5), (5, -5), (-5, 5), (-5, -5)] {
            let (swing, truth) = swing(&row, off);
            let told = Capacity::of(Chemistry::LiPo, &swing).expect("told from 3.705 V too");
            off_by_5_mv.add(&told, truth);
        }
    }
    exact.holds("fade_estimate.csv", 16);
    off_by_5_mv.holds("fade_estimate.csv, both readings off by 5 mV", 64);
}

#[test]
fn each_refusal_says_why() {
    let told = |chemistry, from_mv, to_mv, charge_mah| {
        Capacity::of(
            chemistry,
            &Swing {
                from_mv,
                to_mv,
                charge_mah,
            },
        )
    };
    let pouch = |from_mv, to_mv| told(Chemistry::LiPo, from_mv, to_mv, 1_000);
    assert_eq!(pouch(3_800, 4_190), Err(NoCapacity::TooLittleSwing));
    assert_eq!(pouch(4_190, 4_190), Err(NoCapacity::TooLittleSwing));
    assert_eq!(pouch(3_500, 4_050), Err(NoCapacity::NotFull));
    assert_eq!(
        told(Chemistry::LiHv, 3_500, 4_200, 1_000),
        Err(NoCapacity::NotFull)
    );
    assert_eq!(
        told(Chemistry::LiPo, 3_500, 4_190, 0),
        Err(NoCapacity::NoCharge)
    );
    assert_eq!(
        told(Chemistry::LiFePo4, 3_290, 3_400, 1_000),
        Err(NoCapacity::TooLittleSwing)
    );
    for chemistry in [Chemistry::NiMh, Chemistry::Pb] {
        assert_eq!(
            told(chemistry, 1_100, 1_400, 1_000),
            Err(NoCapacity::VoltsDoNotTell)
        );
    }
}

#[test]
fn a_discharge_tells_the_same_as_a_charge_and_the_weakest_cell_tells_for_the_pack() {
    let up = Swing {
        from_mv: 3_500,
        to_mv: 4_190,
        charge_mah: 2_000,
    };
    let down = Swing {
        from_mv: 4_190,
        to_mv: 3_500,
        charge_mah: 2_000,
    };
    assert_eq!(
        Capacity::of(Chemistry::LiPo, &up),
        Capacity::of(Chemistry::LiPo, &down)
    );
    // The cell that fell to 3.40 V on the same charge holds less than the one that fell to 3.65.
    let weakest = Capacity::of_weakest(Chemistry::LiPo, &[3_650, 3_400, 3_760], &[4_190; 3], 2_000);
    let alone = Capacity::of(
        Chemistry::LiPo,
        &Swing {
            from_mv: 3_400,
            ..up
        },
    );
    assert_eq!(weakest, alone);
    // One cell that did not become full: nothing is told of the pack.
    assert_eq!(
        Capacity::of_weakest(Chemistry::LiPo, &[3_500; 2], &[4_190, 4_000], 2_000),
        Err(NoCapacity::NotFull)
    );
    assert_eq!(
        Capacity::of_weakest(Chemistry::LiPo, &[3_500], &[4_190; 2], 2_000),
        Err(NoCapacity::VoltsDoNotTell)
    );
}

type Ends = (f64, f64);

/// From where to where they are charged; to full as each chemistry rests after a charge.
const KINDS: [(Chemistry, Ends, Ends); 4] = [
    (Chemistry::LiPo, (3.30, 3.70), (4.155, 4.20)),
    (Chemistry::LiHv, (3.40, 3.70), (4.30, 4.35)),
    (Chemistry::LiIon, (2.80, 3.40), (4.155, 4.20)),
    (Chemistry::LiFePo4, (2.50, 3.15), (3.36, 3.45)),
];

/// A made-up cell: between two sources' curves, or one measured finer than the room holds it, and shifted by some
/// millivolts where it is low, as ageing does. Its own volts at a charge, never the built-in curve's.
struct MadeUp<'a> {
    one: &'a Curve,
    other: &'a Curve,
    mix: f64,
    low_shift_v: f64,
}

impl MadeUp<'_> {
    fn percent_at(&self, cell_v: f64) -> f64 {
        let fullness = ((cell_v - 3.6) / 0.5).clamp(0.0, 1.0);
        let at = cell_v + self.low_shift_v * (1.0 - fullness);
        self.mix * self.one.percent_at(at) + (1.0 - self.mix) * self.other.percent_at(at)
    }
}

/// `ocv.csv`: every second percent of a set.
fn fine(set: &str) -> Curve {
    let own = rows("ocv.csv");
    let own = own.iter().filter(|row| row["parameter_set"] == set);
    let points = own.map(|row| (number(row, "soc_percent"), number(row, "resting_cell_v")));
    Curve::new(points.collect()).expect("a curve")
}

fn curves(chemistry: Chemistry) -> Vec<Curve> {
    let fine = match chemistry {
        Chemistry::LiPo => Some(fine("Ai2020")),
        Chemistry::LiIon => Some(fine("Chen2020")),
        Chemistry::LiFePo4 => Some(fine("Prada2013")),
        _ => None,
    };
    sources(chemistry)[1..]
        .iter()
        .cloned()
        .chain(fine)
        .collect()
}

/// What the sources make of a swing without one of them, and what refuses it.
fn without(chemistry: Chemistry, swing: &Swing, left_out: usize) -> Option<Capacity> {
    let mut believed = Believed::of(chemistry, swing).ok()?;
    believed.by_source.remove(left_out);
    believed.told().filter(|_| !believed.is_open())
}

/// Fading cells of one source, judged by all the others: how many, how many of them held, and the half-width at the median.
fn of_left_out(chemistry: Chemistry, left_out: usize, (start_v, full_v): (Ends, Ends)) -> Tally {
    let cell = &sources(chemistry)[left_out];
    let mut dice = Dice::new(left_out as u64 + 101);
    let mut tally = Tally::default();
    for _ in 0..1_000 {
        let made_up = MadeUp {
            one: cell,
            other: cell,
            mix: 1.0,
            low_shift_v: dice.between(-0.010, 0.010),
        };
        let capacity = PROBE_MAH * dice.between(0.5, 1.08);
        let (from_v, to_v) = (
            dice.between(start_v.0, start_v.1),
            dice.between(full_v.0, full_v.1),
        );
        let part = (made_up.percent_at(to_v) - made_up.percent_at(from_v)) / 100.0;
        let read = |volts: f64, off: f64| ((volts + off * METER_V) * 1_000.0).round() as i64;
        let swing = Swing {
            from_mv: read(from_v, dice.between(-1.0, 1.0)),
            to_mv: read(to_v, dice.between(-1.0, 1.0)),
            charge_mah: (capacity * part * dice.between(0.97, 1.03)) as i64,
        };
        if let Some(told) = without(chemistry, &swing, left_out) {
            tally.add(&told, capacity);
        }
    }
    tally
}

/// Where a source stands among its chemistry's, its name, what percent of its cells the others' range holds at least, and how many
/// percent of it the truth was out of the range at most.
type LeftOut = (Chemistry, usize, &'static str, usize, f64);

/// A cell unlike any that a range was made of lies in it less often than the nineteen cases of twenty that are promised for cells
/// like those: what is true of each source that is not held. Those that are not named here are. The built-in curve stays in, though
/// it weighs both kernel tables and Ai2020.
const HELD_LESS: [LeftOut; 10] = [
    (Chemistry::LiPo, 1, "kernel, default table", 81, 6.1),
    (Chemistry::LiPo, 2, "kernel, other table", 88, 2.6),
    (Chemistry::LiPo, 6, "Marquis2019", 81, 6.1),
    (Chemistry::LiPo, 7, "Ecker2015", 14, 14.5),
    (Chemistry::LiHv, 5, "Ramadass2004, charged higher", 64, 4.0),
    (Chemistry::LiHv, 6, "Marquis2019, charged higher", 89, 13.8),
    (Chemistry::LiIon, 1, "Mohtat2020", 67, 6.0),
    (Chemistry::LiIon, 2, "NCA_Kim2011", 48, 14.0),
    (Chemistry::LiFePo4, 2, "model of 2.3 Ah", 71, 4.0),
    (Chemistry::LiFePo4, 3, "laboratory table", 28, 8.0),
];

#[test]
fn a_source_that_no_range_was_made_of_is_held_as_often_as_is_said_here() {
    let mut wrong = Vec::new();
    for (chemistry, start_v, full_v) in KINDS {
        for left_out in 1..sources(chemistry).len() {
            let tally = of_left_out(chemistry, left_out, (start_v, full_v));
            let told = tally.widths.len();
            let less = HELD_LESS
                .iter()
                .find(|(of, index, ..)| (*of, *index) == (chemistry, left_out));
            let (name, least, farthest) = less
                .map_or(("-", 95, 3.0), |(_, _, name, least, farthest)| {
                    (*name, *least, *farthest)
                });
            let said = format!(
                "{} {left_out} {name}: {} of {told} held, the farthest {:.1} % out",
                chemistry.code(),
                tally.held,
                tally.farthest * 100.0
            );
            println!("{said}");
            let is_held = tally.held * 100 >= told * least && tally.farthest * 100.0 <= farthest;
            if told < 700 || !is_held {
                wrong.push(said);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Fading cells of a chemistry, charged from between these volts to full; a meter off by up to 5 mV at both ends and a
/// counter by up to 3 %.
fn made_up(chemistry: Chemistry, start_v: (f64, f64), full_v: (f64, f64)) -> (Tally, usize) {
    let curves = curves(chemistry);
    let mut dice = Dice::new(chemistry as u64 + 11);
    let (mut tally, mut refused) = (Tally::default(), 0);
    for _ in 0..4_000 {
        let cell = MadeUp {
            one: &curves[dice.below(curves.len())],
            other: &curves[dice.below(curves.len())],
            mix: dice.between(0.0, 1.0),
            low_shift_v: dice.between(-0.010, 0.010),
        };
        let capacity = PROBE_MAH * dice.between(0.5, 1.08);
        let (from_v, to_v) = (
            dice.between(start_v.0, start_v.1),
            dice.between(full_v.0, full_v.1),
        );
        let part = (cell.percent_at(to_v) - cell.percent_at(from_v)) / 100.0;
        let read = |volts: f64, off: f64| ((volts + off * METER_V) * 1_000.0).round() as i64;
        let swing = Swing {
            from_mv: read(from_v, dice.between(-1.0, 1.0)),
            to_mv: read(to_v, dice.between(-1.0, 1.0)),
            charge_mah: (capacity * part * dice.between(0.97, 1.03)) as i64,
        };
        match Capacity::of(chemistry, &swing) {
            Ok(told) => tally.add(&told, capacity),
            Err(_) => refused += 1,
        }
    }
    (tally, refused)
}

#[test]
fn the_capacity_of_made_up_fading_cells_lies_in_the_stated_range() {
    for (chemistry, start_v, full_v) in KINDS {
        let (tally, refused) = made_up(chemistry, start_v, full_v);
        tally.holds(chemistry.code(), 3_000);
        assert!(refused < 200, "{}: {refused} refused", chemistry.code());
    }
}

#[test]
fn made_up_cells_that_start_in_the_flat_part_or_higher_are_refused() {
    let (tally, refused) = made_up(Chemistry::LiPo, (3.73, 4.10), (4.155, 4.20));
    assert_eq!((tally.widths.len(), refused), (0, 4_000));
    let (tally, refused) = made_up(Chemistry::LiFePo4, (3.27, 3.33), (3.36, 3.45));
    assert_eq!((tally.widths.len(), refused), (0, 4_000));
}
