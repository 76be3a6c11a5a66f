//! What is kept of measured logs, held against what their files state (`tests/reference/measured`, each names its source), and
//! what is asked of a file that does not say it.

use super::points::{Point, from_text, to_text};
use super::read_back::{Choices, ChosenColumn, ReadBack, Ready, Stage, check, read_back};
use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::log::current_sign::CurrentSign;
use proptest::prelude::*;

const LCO: &str = include_str!("../../../tests/reference/measured/lco_pouch_discharge.csv");
const SLOW: &str = include_str!("../../../tests/reference/measured/nmc_pouch_slow_cycle.csv");
const PULSES: &str =
    include_str!("../../../tests/reference/measured/nmc_pouch_hppc_relaxation.csv");

fn pack(cells_series: i64, capacity_mah: i64, full_mv: Option<i64>) -> Build {
    Build {
        chemistry: Chemistry::LiPo,
        cells_series,
        groups_parallel: 1,
        capacity_mah,
        sees_cells: true,
        label: LabelVolts {
            full_mv,
            lowest_mv: None,
        },
    }
}

/// The LCO cell, and the NMC one, which is full at 4.1 V.
fn lco() -> Build {
    pack(1, 2_280, None)
}

fn nmc() -> Build {
    pack(1, 22, Some(4_100))
}

fn ready(text: &str, choices: &Choices, build: &Build) -> Ready {
    match read_back(text.as_bytes(), choices, build).stage {
        Stage::Ready(ready) => *ready,
        Stage::Unreadable(problem) => panic!("{problem}"),
        Stage::WhichRun => panic!("which run?"),
        Stage::WhichSign => panic!("which sign?"),
    }
}

fn is_within(told: f64, stated: f64, part: f64) -> bool {
    (told - stated).abs() <= part * stated.abs()
}

#[test]
fn each_of_several_logs_in_a_file_is_asked_for_and_gives_the_capacity_that_its_file_states() {
    let asked = read_back(LCO.as_bytes(), &Choices::default(), &lco());
    assert!(matches!(asked.stage, Stage::WhichRun));
    assert_eq!(asked.runs.len(), 4);
    assert!(
        asked
            .runs
            .iter()
            .all(|run| run.from_v > 4.1 && run.to_v < 3.1)
    );
    // The last 'Discharging Capacity / Ah' of each rate in the file.
    for (run, stated_mah) in [2335.67, 2314.52, 2288.87, 2244.53].into_iter().enumerate() {
        let choices = Choices {
            run: Some(run),
            ..Choices::default()
        };
        let ready = ready(LCO, &choices, &lco());
        let (mah, doubt_mah) = ready.log.capacity().expect("a full discharge");
        assert!(is_within(mah, stated_mah, 0.02) && doubt_mah < 1.0, "{mah}");
        assert_eq!((ready.run, ready.is_only), (run, false));
        assert!(ready.points.len() <= MOST_POINTS && ready.points[0].seconds == 0.0);
    }
}

#[test]
fn a_slow_cycle_gives_the_charge_in_and_out_that_is_stated_and_its_parts() {
    let kept = ready(SLOW, &Choices::default(), &nmc());
    assert_eq!(kept.sign, CurrentSign::ChargingIsPositive);
    // First row of the fade series: 0.02187 Ah in, 0.021738 Ah out.
    assert!(is_within(kept.log.charged_mah, 21.87, 0.02));
    assert!(is_within(kept.log.discharged_mah, 21.738, 0.02));
    let (mah, _) = kept.log.capacity().expect("both went all the way");
    assert!(
        is_within(mah, 21.738, 0.02),
        "{mah}: what it gives, not what it takes"
    );
    let kinds: Vec<PartKind> = kept.log.parts.iter().map(|part| part.kind).collect();
    assert!(kinds.contains(&PartKind::Rest) && kinds.contains(&PartKind::ConstantCurrent));
    let in_order = |two: &[Part]| two[0].from_s < two[1].from_s;
    assert!(kept.log.parts[0].from_s == 0.0 && kept.log.parts.windows(2).all(in_order));
}

#[test]
fn resistance_is_told_at_the_second_asked_for_and_why_there_is_none() {
    // Each from the file's own rows, as in `log_file`: 205600 s is its first row.
    let stated = [
        (0.0, (4.09102 - 3.95949) / (0.0949966 - 0.00015)),
        (7_965.0, (3.90105 - 3.76204) / (0.0950034 - 0.0000627)),
    ];
    let choices = |second| Choices {
        pulse_second: Some(second),
        ..Choices::default()
    };
    let log = ready(PULSES, &choices(10), &nmc()).log;
    let at = |log: &ChargeLog, at_s: f64| -> Pulse {
        let near = log
            .pulses
            .iter()
            .find(|pulse| (pulse.at_s - at_s).abs() < 1.0);
        near.cloned()
            .unwrap_or_else(|| panic!("a pulse at {at_s}: {:?}", log.pulses))
    };
    for (at_s, ohm) in stated {
        let pulse = at(&log, at_s);
        let told = pulse.milliohm.expect("a resistance");
        assert!(is_within(told, ohm * 1_000.0, 0.02), "{at_s}: {pulse:?}");
        assert!(pulse.after_s.is_some_and(|(_, most)| most <= 10.0));
    }
    let cut = at(&log, 3_962.96);
    assert!(
        cut.milliohm.is_none() && cut.why_not.contains("5.1 s after the step"),
        "{cut:?}"
    );
    let five = at(&ready(PULSES, &choices(5), &nmc()).log, 3_962.96);
    assert!(
        is_within(five.milliohm.expect("a resistance"), 1_224.8, 0.02),
        "{five:?}"
    );
    let middle = log.cell_milliohm().expect("the middle");
    assert!((1_300.0..1_700.0).contains(&middle), "{middle}");
}

#[test]
fn headings_that_are_not_known_are_asked_for_and_taken_as_chosen() {
    let text = "t,u,i\n0,12.1,1\n60,12.2,1\n120,12.4,1\n";
    let asked = read_back(text.as_bytes(), &Choices::default(), &pack(3, 2_200, None));
    assert!(matches!(asked.stage, Stage::Unreadable(_)));
    let below: Vec<&str> = asked
        .columns
        .iter()
        .map(|column| column.below.as_str())
        .collect();
    assert_eq!(below, ["0", "12.1", "1"]);
    let chosen = |pairs: &[(&str, &str)]| Choices {
        columns: pairs
            .iter()
            .map(|(heading, ours)| ChosenColumn {
                heading: (*heading).to_owned(),
                ours: (*ours).to_owned(),
            })
            .collect(),
        ..Choices::default()
    };
    let right = chosen(&[
        ("t", "test_time_second min"),
        ("u", "voltage_volt V"),
        ("i", "current_ampere A"),
    ]);
    let log = ready(text, &right, &pack(3, 2_200, None)).log;
    assert_eq!((log.rows, log.seconds), (3, 7_200.0));
    assert!(
        is_within(log.charged_mah, 2_000.0, 1e-9),
        "an hour and two at 1 A"
    );
    let twice = chosen(&[("t", "voltage_volt V"), ("u", "voltage_volt V")]);
    assert!(check(text.as_bytes(), &twice).is_err());
    assert!(check(b"PK\x03\x04", &Choices::default()).is_err());
}

#[test]
fn a_sign_that_the_log_does_not_tell_is_asked_and_taken_as_said() {
    let flat = "Test Time / s,Voltage / V,Current / A\n0,12.0,1\n3600,12.0,1\n";
    let of = |sign: Option<&str>| -> ReadBack {
        let choices = Choices {
            sign: sign.map(str::to_owned),
            ..Choices::default()
        };
        read_back(flat.as_bytes(), &choices, &pack(3, 2_200, None))
    };
    assert!(of(None).sign_asked.is_some() && matches!(of(None).stage, Stage::WhichSign));
    for (sign, charged_mah) in [("charging", 1_000.0), ("discharging", 0.0)] {
        let Stage::Ready(ready) = of(Some(sign)).stage else {
            panic!("{sign}");
        };
        assert!((ready.log.charged_mah - charged_mah).abs() < 1e-6, "{sign}");
        assert!(of(Some(sign)).sign_asked.is_some(), "it can be changed");
    }
    // A sign that the log tells is not overruled.
    let told = Choices {
        sign: Some("discharging".to_owned()),
        ..Choices::default()
    };
    assert_eq!(
        ready(SLOW, &told, &nmc()).sign,
        CurrentSign::ChargingIsPositive
    );
}

#[test]
fn a_log_of_other_volts_than_the_packs_is_doubted() {
    let choices = Choices {
        run: Some(0),
        ..Choices::default()
    };
    let log = ready(LCO, &choices, &pack(3, 2_280, None)).log;
    assert!(
        log.notes[0].starts_with("Its volts reach 4.18 V. A pack of 3 cells is full at 12.60 V")
    );
    assert_eq!(log.capacity(), None, "4.18 V is not full for three cells");
    assert!(
        ready(LCO, &choices, &lco())
            .log
            .notes
            .iter()
            .all(|note| !note.contains("reach"))
    );
}

#[test]
fn a_log_charged_over_full_says_so() {
    let text = "Test Time / s,Voltage / V,Current / A\n0,11.5,1\n600,12.0,1\n1200,12.81,1\n";
    let log = ready(text, &Choices::default(), &pack(3, 2_200, None)).log;
    assert!(
        log.notes[0].starts_with("It was charged to 4.27 V a cell"),
        "{:?}",
        log.notes
    );
}

/// A balance charger's log of three cells, which writes six.
const OF_CELLS: &str = "time (min);pack voltage (V);current (A);Cell 1 (V);Cell 2 (V);Cell 3 (V);Cell 4 (V);Cell 5 (V);Cell 6 (V);temperature (degC)
0;11,400;2,200;3,800;3,790;3,810;0;0;0;21
30;12,000;2,200;4,000;3,960;4,040;0;0;0;27
60;12,600;2,200;4,200;4,198;4,202;0;0;0;25
";

#[test]
fn cells_at_the_balance_lead_are_read_and_those_that_are_not_there_are_not() {
    let kept = ready(OF_CELLS, &Choices::default(), &pack(3, 2_200, None));
    assert_eq!(kept.log.end_cells_v.len(), 3);
    let apart = kept.log.apart.expect("three cells");
    assert!(
        (apart.most_mv - 80.0).abs() < 0.01 && (apart.end_mv - 4.0).abs() < 0.01,
        "{apart:?}"
    );
    assert_eq!(apart.most_at_s, 1_800.0);
    assert_eq!(kept.log.warmest_celsius, Some(27.0));
    assert_eq!((kept.log.end_v, kept.log.end_a), (12.6, 2.2));
    assert!(kept.log.notes.is_empty(), "{:?}", kept.log.notes);
    let last = kept.points.last().expect("points");
    assert!(is_within(last.cells_v[2], 4.202, 1e-6) && last.cells_v.len() == 3);
}

#[test]
fn the_charge_of_the_last_point_is_what_went_in_less_what_came_out() {
    for (text, build) in [(SLOW, nmc()), (OF_CELLS, pack(3, 2_200, None))] {
        let kept = ready(text, &Choices::default(), &build);
        let last = kept.points.last().expect("points");
        let moved = kept.log.charged_mah - kept.log.discharged_mah;
        assert!((last.mah - moved).abs() < 1e-6, "{} and {moved}", last.mah);
        assert_eq!(kept.points[0].mah, 0.0);
    }
}

#[test]
fn a_log_of_another_count_of_cells_is_doubted_and_a_cell_out_of_its_limits_is_named() {
    let four = ready(OF_CELLS, &Choices::default(), &pack(4, 2_200, None)).log;
    assert_eq!(four.notes, ["It tells of 3 cells, and the pack has 4."]);
    let high = OF_CELLS.replace("4,202", "4,290");
    let high = ready(&high, &Choices::default(), &pack(3, 2_200, None)).log;
    assert!(
        high.notes[0].starts_with("Cell 3 reached 4.29 V, over the 4.20 V"),
        "{:?}",
        high.notes
    );
    let low = OF_CELLS.replace("3,790", "2,790");
    let low = ready(&low, &Choices::default(), &pack(3, 2_200, None)).log;
    assert!(
        low.notes[0].starts_with("Cell 2 fell to 2.79 V, under the 3.00 V"),
        "{:?}",
        low.notes
    );
}

#[test]
fn cell_volts_in_millivolts_that_are_taken_for_volts_are_refused() {
    let text = OF_CELLS.replace("4,040", "4040");
    let read = read_back(text.as_bytes(), &Choices::default(), &pack(3, 2_200, None));
    match read.stage {
        Stage::Unreadable(problem) => {
            let words = problem.to_string();
            assert!(
                words.contains("4040 V is no voltage of a cell. Is it in millivolts?"),
                "{words}"
            );
        }
        _ => panic!("it was read"),
    }
}

#[test]
fn of_very_many_parts_the_longest_are_kept_in_their_order() {
    let part = |at: usize| Part {
        kind: PartKind::Pulse,
        from_s: at as f64,
        seconds: (at % 7) as f64,
        amps: 1.0,
        from_v: 4.0,
        to_v: 4.0,
        mah: 0.0,
    };
    let (kept, more) = super::kept::longest((0..250).map(part).collect());
    assert_eq!((kept.len(), more), (MOST_PARTS, 150));
    assert!(kept.windows(2).all(|two| two[0].from_s < two[1].from_s));
    assert!(kept.iter().all(|part| part.seconds >= 4.0));
}

#[test]
fn what_is_kept_is_read_as_it_was_written() {
    let kept = ready(SLOW, &Choices::default(), &nmc());
    let text = serde_json::to_string(&kept.log).expect("text");
    assert!(text.len() < 20_000, "{}", text.len());
    let read: ChargeLog = serde_json::from_str(&text).expect("read");
    assert_eq!(read.parts.len(), kept.log.parts.len());
    assert!((read.charged_mah - kept.log.charged_mah).abs() < 1e-9);
    let points = to_text(&kept.points);
    assert!(points.len() < 20_000, "{}", points.len());
}

proptest! {
    #[test]
    fn points_are_read_as_finely_as_they_are_kept(
        points in proptest::collection::vec((0.0_f64..1e6, -0.1_f64..1_000.0, -10_000.0_f64..10_000.0, -1e5_f64..1e5), 0..50),
        cells_v in proptest::collection::vec(0.0_f64..5.0, 0..8),
    ) {
        let point = |(seconds, volts, amps, mah)| Point { seconds, volts, amps, mah, cells_v: cells_v.clone() };
        let points: Vec<Point> = points.into_iter().map(point).collect();
        let read = from_text(&to_text(&points));
        prop_assert_eq!(read.len(), points.len());
        for (read, point) in read.iter().zip(&points) {
            prop_assert!((read.seconds - point.seconds).abs() <= 0.0051, "{:?} {:?}", read, point);
            prop_assert!((read.volts - point.volts).abs() <= 0.000_005_1);
            prop_assert!((read.amps - point.amps).abs() <= 0.000_000_51);
            prop_assert!((read.mah - point.mah).abs() <= 0.000_51);
            prop_assert_eq!(read.cells_v.len(), point.cells_v.len());
            let is_near = |(read, cell): (&f64, &f64)| (read - cell).abs() <= 0.000_005_1;
            prop_assert!(read.cells_v.iter().zip(&point.cells_v).all(is_near));
        }
    }

    #[test]
    fn any_text_whatever_is_read_as_points_or_left_out(text in "[0-9 .;eE-]{0,60}|.{0,40}") {
        for point in from_text(&text) {
            prop_assert!(point.seconds.is_finite() && point.volts.is_finite() && point.amps.is_finite());
        }
    }
}

#[test]
fn a_log_that_looks_like_another_packs_is_asked_about_and_one_that_is_the_packs_is_not() {
    let doubted = |cells, capacity_mah| {
        let build = pack(cells, capacity_mah, None);
        ready(OF_CELLS, &Choices::default(), &build).doubted
    };
    assert_eq!(doubted(3, 2_200), Vec::<String>::new());
    assert_eq!(doubted(4, 2_200).len(), 1);
    assert!(doubted(6, 2_200)[0].starts_with("It tells of 3 cells, and the pack has 6"));
    // 2,200 mAh went in.
    assert_eq!(doubted(3, 1_500), Vec::<String>::new());
    assert_eq!(
        doubted(3, 1_300),
        ["It moved 2200 mAh at once, and the pack's label says 1300 mAh."]
    );
    // Its label is the club's, not the log's: a cell of 22 mAh that went all the way.
    let told = Choices {
        sign: Some("charging_is_positive".to_owned()),
        ..Choices::default()
    };
    let mut large = nmc();
    assert_eq!(ready(SLOW, &told, &large).doubted, Vec::<String>::new());
    large.capacity_mah = 60;
    let says = ready(SLOW, &told, &large).doubted;
    assert!(
        says.len() == 1 && says[0].starts_with("From one end to the other it moved 2"),
        "{says:?}"
    );
    // How it was treated is told and not asked about.
    let high = OF_CELLS.replace("4,202", "4,290");
    let high = ready(&high, &Choices::default(), &pack(3, 2_200, None));
    assert!(high.doubted.is_empty() && high.log.notes.len() == 1);
}
