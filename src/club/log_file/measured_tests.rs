//! Measured logs through the import, held against what their files and sources state. The files are copies from openly
//! licensed sources; each names its own in its first lines.
//! LCO: Ai et al. 2020, J. Electrochem. Soc. 167(1):013512; Rieger et al. 2016, J. Electrochem. Soc. 163(8):A1566, in the
//! PyBaMM repository (BSD-3-Clause). NMC: cell p492-13 of the XCEL project, Battery Data Hub, in battery-data-toolkit
//! (Apache-2.0).

use super::{LogFile, Note, read};
use crate::battery::log::Log;
use crate::battery::log::current_sign::CurrentSign;
use crate::battery::log::edges::{Edge, NoResistance};
use crate::battery::log::parts::Kind;
use crate::battery::log::sweeps::{Direction, Sweep, Window, fade};

const LCO: &str = include_str!("../../../tests/reference/measured/lco_pouch_discharge.csv");
const SLOW: &str = include_str!("../../../tests/reference/measured/nmc_pouch_slow_cycle.csv");
const PULSES: &str =
    include_str!("../../../tests/reference/measured/nmc_pouch_hppc_relaxation.csv");
const FADE: &str = include_str!("../../../tests/reference/measured/nmc_pouch_fade_series.csv");

/// The measured files say so in their heads.
const LCO_WINDOW: Window = Window {
    full_v: 4.2,
    empty_v: 3.0,
};
const NMC_WINDOW: Window = Window {
    full_v: 4.1,
    empty_v: 3.0,
};

fn file(text: &str) -> LogFile {
    read(text.as_bytes(), &[]).unwrap_or_else(|problem| panic!("{problem}"))
}

/// All logs of a file, once the sign of their current was found.
fn logs(text: &str) -> Vec<Log> {
    let runs = file(text).runs.into_iter();
    let signed = runs.map(|run| {
        let sign = run.sign().expect("a sign");
        assert_eq!(sign, CurrentSign::ChargingIsPositive);
        run.with_sign(sign)
    });
    signed.collect()
}

fn is_within(told: f64, stated: f64, part: f64) -> bool {
    (told - stated).abs() <= part * stated.abs()
}

#[test]
fn the_lco_cells_discharges_at_four_rates_are_four_logs_with_the_capacity_that_their_file_states() {
    let lco = file(LCO);
    assert_eq!(lco.notes, [Note::Runs { count: 4 }]);
    // C of 2.28 Ah, and the last 'Discharging Capacity / Ah' of each rate in the file.
    let stated = [
        (0.1, 2.33567),
        (0.5, 2.31452),
        (1.0, 2.28887),
        (2.0, 2.24453),
    ];
    for (log, (rate, capacity_ah)) in logs(LCO).iter().zip(stated) {
        let sweeps = log.sweeps();
        let [sweep] = sweeps.as_slice() else {
            panic!("one discharge, not {sweeps:?}");
        };
        assert_eq!(sweep.direction, Direction::Discharge);
        assert!(sweep.is_full(&LCO_WINDOW), "{sweep:?}");
        assert!(
            is_within(sweep.capacity_ah(), capacity_ah, 0.001),
            "{rate} C: {sweep:?}"
        );
        assert!(
            is_within(sweep.c_rate() * capacity_ah / 2.28, rate, 0.001),
            "{rate} C: {sweep:?}"
        );
        assert_eq!(
            log.parts()
                .iter()
                .map(|part| part.kind)
                .collect::<Vec<Kind>>(),
            [Kind::ConstantCurrent]
        );
        assert!(log.differing().is_empty());
    }
}

#[test]
fn the_nmc_cells_slow_cycle_gives_the_charge_in_and_out_that_its_fade_series_states() {
    // First row of the fade series: Q_chg 0.02187, Q_dis 0.021738 Ah.
    let logs = logs(SLOW);
    let sweeps = logs[0].sweeps();
    let [charge, discharge] = sweeps.as_slice() else {
        panic!("a charge and a discharge, not {sweeps:?}");
    };
    for (sweep, direction, stated_ah) in [
        (charge, Direction::Charge, 0.02187),
        (discharge, Direction::Discharge, 0.021738),
    ] {
        assert_eq!((sweep.direction, sweep.cycle), (direction, Some(2)));
        assert!(sweep.is_full(&NMC_WINDOW), "{sweep:?}");
        assert!(
            is_within(sweep.capacity_ah(), stated_ah, 0.001),
            "{sweep:?}"
        );
        let counted_ah = sweep.counted.expect("a counter").ah;
        assert!(is_within(counted_ah, stated_ah, 0.001), "{counted_ah}");
        assert!(
            (1.0 / sweep.c_rate() - 23.0).abs() < 0.2,
            "C/23, not {}",
            sweep.c_rate()
        );
    }
    assert!(logs[0].differing().is_empty());
}

#[test]
fn an_hours_rest_after_the_slow_charge_is_found_with_its_resting_volts() {
    // Step 12 of the file: from 89237.23 to 92837.22 s, ending at 4.09346 V.
    let logs = logs(SLOW);
    let long: Vec<_> = logs[0]
        .rests()
        .filter(|rest| rest.seconds > 600.0)
        .collect();
    assert_eq!(long.len(), 1);
    assert!((long[0].seconds - 3_599.99).abs() < 0.01 && long[0].end_v == 4.09346);
}

/// The measured slow discharge once for each check of the fade series, its time shortened to the charge that the check states:
/// as a tester would have written all of them into one file.
fn slow_discharges_of_a_fading_cell(stated: &[(i64, f64)]) -> String {
    let logs = logs(SLOW);
    let samples = logs[0].samples();
    let start = samples
        .iter()
        .position(|each| each.step == Some(14))
        .expect("the discharge")
        - 1;
    let (discharge, whole_ah) = (&samples[start..], 0.021738);
    let mut text = "test_time_second,voltage_volt,current_ampere,cycle_count\n".to_owned();
    for (cycle, capacity_ah) in stated {
        for sample in discharge {
            let since = (sample.seconds - discharge[0].seconds) * capacity_ah / whole_ah;
            let seconds = *cycle as f64 * 1e6 + since;
            text += &format!("{seconds},{},{},{cycle}\n", sample.volts, sample.amps);
        }
    }
    text
}

/// The series gives a capacity for each check and no curve, so that the log is made from the capacities it states: what is held here
/// is that such a file is read, parted by cycle and counted without loss, and that the first check is what the others are parts of,
/// not that a measured fade is found in measured volts.
#[test]
fn the_fade_over_46_days_is_told_as_the_nmc_cells_series_states_it() {
    let numbers = |line: &str| {
        line.split(',')
            .map(|cell| cell.parse::<f64>().expect("a number"))
            .collect::<Vec<f64>>()
    };
    let rows: Vec<Vec<f64>> = FADE
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(numbers)
        .collect();
    let stated: Vec<(i64, f64)> = rows.iter().map(|row| (row[0] as i64, row[4])).collect();
    let logs = logs(&slow_discharges_of_a_fading_cell(&stated));
    let told = fade(&logs[0].sweeps(), Direction::Discharge, &NMC_WINDOW);
    assert_eq!(told.len(), 5);
    for (fade, row) in told.iter().zip(&rows) {
        assert_eq!(fade.cycle, Some(row[0] as i64));
        assert!(
            is_within(fade.capacity_ah, row[4], 0.002),
            "{fade:?} {row:?}"
        );
        assert!((fade.of_first - row[5]).abs() < 0.001, "{fade:?} {row:?}");
    }
}

#[test]
fn the_nmc_cells_resistance_at_the_end_of_its_ten_second_pulses_is_that_of_the_rows_before_and_at_its_end()
 {
    // Each from the file's own rows: resting volts and current before, volts and current of the last row of the pulse.
    let stated = [
        (205_600.0, (4.09102 - 3.95949) / (0.0949966 - 0.00015)),
        (213_565.0, (3.90105 - 3.76204) / (0.0950034 - 0.0000627)),
        (217_570.5, (3.81712 - 3.67735) / 0.0950011),
        (241_620.0, (3.51713 - 3.30594) / 0.0950011),
    ];
    let logs = logs(PULSES);
    let edges = logs[0].edges(10.0);
    for (at, ohm) in stated {
        let begins_here = |edge: &&Edge| (edge.between_seconds.0 - at).abs() < 1.0;
        let edge = edges
            .iter()
            .find(begins_here)
            .unwrap_or_else(|| panic!("a pulse at {at}: {edges:?}"));
        let told = edge.resistance.expect("a resistance");
        assert!(
            is_within(told.ohm, ohm, 0.001),
            "{at} s: {told:?}, {ohm} ohm stated"
        );
        assert!(
            told.after_seconds.0 > 9.0 && told.after_seconds.1 <= 10.0,
            "{told:?}"
        );
        assert!(edge.rested_seconds.is_some() && edge.to_a < 0.0);
    }
}

#[test]
fn of_the_charging_pulses_that_whose_start_was_kept_tells_the_resistance_of_its_rows_and_no_other_any()
 {
    // Of eight with two rows or more the last alone has a resting row less than two seconds before it. Its last row, 8.5 to 10 s after
    // its start: 3.62287 V, from 3.49882 V at rest.
    let logs = logs(PULSES);
    let edges = logs[0].edges(10.0);
    let charging: Vec<&Edge> = edges.iter().filter(|edge| edge.to_a > 0.0).collect();
    assert_eq!(charging.len(), 8, "{charging:?}");
    let (last, others) = charging.split_last().expect("pulses");
    assert_eq!(last.between_seconds, (241_669.41, 241_670.92));
    let told = last.resistance.expect("a resistance");
    let ohm = (3.62287 - 3.49882) / 0.071252;
    assert!(
        is_within(told.ohm, ohm, 0.001),
        "{told:?}, {ohm} ohm stated"
    );
    assert!(
        told.after_seconds.0 > 8.0 && told.after_seconds.1 <= 10.0,
        "{told:?}"
    );
    for edge in others {
        assert!(
            matches!(edge.resistance, Err(NoResistance::EdgeUnseen { open }) if open >= 5.0),
            "{edge:?}"
        );
    }
    for edge in charging {
        assert!(is_within(edge.to_a, 0.07125, 0.001), "{edge:?}");
        assert!(edge.rested_seconds.is_some_and(|rested| rested >= 30.0));
    }
}

#[test]
fn where_the_file_left_out_the_end_of_a_pulse_no_resistance_is_made_up() {
    // The pulse from 209562.46 s on has rows 0.1 and 5.1 s after its start, then none until it is over.
    let logs = logs(PULSES);
    let edges = logs[0].edges(10.0);
    let cut = edges
        .iter()
        .find(|edge| (209_562.0..209_563.0).contains(&edge.between_seconds.0))
        .expect("a pulse");
    assert!(
        matches!(cut.resistance, Err(NoResistance::NoReading { nearest }) if (nearest - 5.1).abs() < 0.1),
        "{cut:?}"
    );
    let after_five = logs[0].edges(5.0);
    let same = after_five
        .iter()
        .find(|edge| edge.between_seconds == cut.between_seconds)
        .expect("the same pulse");
    let ohm = (3.99107 - 3.8748) / (0.0949943 - 0.0000684);
    assert!(
        is_within(same.resistance.expect("a resistance").ohm, ohm, 0.001),
        "{same:?}"
    );
}

#[test]
fn the_hour_long_rests_between_the_pulses_are_found_with_their_resting_volts() {
    // Steps 128 and 138 of the file, each with its last row. Rows at their start are missing, so some are told a little short.
    let stated = [
        3.99123, 3.90028, 3.81712, 3.72328, 3.66926, 3.63828, 3.61463, 3.57679, 3.51713, 3.46448,
    ];
    let logs = logs(PULSES);
    let long: Vec<f64> = logs[0]
        .rests()
        .filter(|rest| rest.seconds > 2_900.0)
        .map(|rest| rest.end_v)
        .collect();
    assert_eq!(long.len(), stated.len(), "{long:?}");
    assert!(
        long.iter()
            .zip(stated)
            .all(|(told, stated)| (told - stated).abs() < 0.001),
        "{long:?}"
    );
}

#[test]
fn a_thinned_files_current_leaves_its_charge_open_and_says_by_how_much() {
    // Rows around the pulses are missing. By its counters each of nine steps, with its pulses, takes out 0.0019 Ah; the pulse
    // before the first step took 0.0002528 Ah of it.
    let stated_ah = 9.0 * 0.0019 - 0.0002528;
    let logs = logs(PULSES);
    let sweeps: Vec<Sweep> = logs[0].sweeps();
    let [sweep] = sweeps.as_slice() else {
        panic!("one discharge in steps, not {sweeps:?}");
    };
    assert!(!sweep.is_full(&NMC_WINDOW), "it ends at 3.36 V");
    assert!(
        (sweep.by_current_ah - stated_ah).abs() <= sweep.doubt_ah,
        "{sweep:?}"
    );
    let counted = sweep.counted.expect("counters");
    assert!(
        counted.missed_ah < sweep.doubt_ah && sweep.capacity_ah() == counted.ah,
        "{sweep:?}"
    );
    assert!(
        (counted.ah - stated_ah).abs() <= counted.missed_ah,
        "{sweep:?}"
    );
}
