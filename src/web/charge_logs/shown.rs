//! What a charge log shows, as a page tells it: the plot, what it comes to, its charges and discharges, its parts, its steps.

use super::drawn;
use crate::battery::log::counters::amount;
use crate::battery::pack::Build;
use crate::bench::typed::Words;
use crate::club::charge_log::points::Point;
use crate::club::charge_log::{ChargeLog, Part, PartKind, Pulse, Sweep, window};
use crate::club::typed_numbers::counted;
use crate::web::charge_card::long;

pub struct LogView {
    pub chart: String,
    pub notes: Vec<String>,
    pub facts: Vec<(&'static str, String)>,
    pub sweeps: Vec<SweepRow>,
    pub parts: Vec<PartRow>,
    pub more_parts: usize,
    pub pulses: Vec<PulseRow>,
    pub more_pulses: usize,
}

pub struct SweepRow {
    pub what: String,
    pub volts: String,
    pub current: String,
    pub lasted: String,
    pub charge: String,
    pub told: String,
}

pub struct PartRow {
    pub what: &'static str,
    pub from: String,
    pub lasted: String,
    pub current: String,
    pub volts: String,
    pub charge: String,
}

pub struct PulseRow {
    pub at: String,
    pub step: String,
    pub rested: String,
    pub resistance: String,
    pub after: String,
}

impl LogView {
    pub fn of(log: &ChargeLog, points: &[Point], build: &Build, numbers: Words) -> Self {
        let say = |text: String| numbers.sentence(&text);
        let facts = facts(log, build).into_iter();
        Self {
            chart: drawn::chart(log, points, build, numbers).html(),
            notes: log
                .notes
                .iter()
                .map(|note| numbers.sentence(note))
                .collect(),
            facts: facts.map(|(name, words)| (name, say(words))).collect(),
            sweeps: log
                .sweeps
                .iter()
                .map(|sweep| sweep_row(log, sweep, (build.capacity_mah, numbers)))
                .collect(),
            parts: log
                .parts
                .iter()
                .map(|part| part_row(part, numbers))
                .collect(),
            more_parts: log.more_parts,
            pulses: log
                .pulses
                .iter()
                .map(|pulse| pulse_row(pulse, numbers))
                .collect(),
            more_pulses: log.more_pulses,
        }
    }
}

fn facts(log: &ChargeLog, build: &Build) -> Vec<(&'static str, String)> {
    let moved = |mah: f64| match mah > 0.0 {
        true => give_or_take(mah, log.moved_doubt_mah),
        false => String::new(),
    };
    let stated = log
        .stated_milliohm
        .map_or_else(String::new, |(least, most)| {
            format!("{} to {}", milliohm(least), milliohm(most))
        });
    let all = [
        ("Lasts", lasting(log.seconds)),
        (
            "Ends at",
            format!("{:.3} V, {}", log.end_v, current(log.end_a)),
        ),
        ("Cells at the end", cells_at_end(log)),
        ("Cells apart", apart(log)),
        ("Warmest", warmest(log)),
        ("Readings", log.rows.to_string()),
        ("Charge in", moved(log.charged_mah)),
        ("Charge out", moved(log.discharged_mah)),
        ("Capacity", capacity(log, build)),
        ("Resistance", resistance(log)),
        ("Resistance, as the charger says", stated),
    ];
    let told = all.into_iter().filter(|(_, words)| !words.is_empty());
    told.collect()
}

/// `4.200 4.198 4.202 V`
fn cells_at_end(log: &ChargeLog) -> String {
    let cells = log.end_cells_v.iter().map(|volts| format!("{volts:.3}"));
    let cells: Vec<String> = cells.collect();
    match cells.is_empty() {
        true => String::new(),
        false => format!("{} V", cells.join(" ")),
    }
}

/// Between the highest and the lowest cell.
fn apart(log: &ChargeLog) -> String {
    log.apart.map_or_else(String::new, |apart| {
        format!(
            "{:.0} mV at the end, {:.0} mV at the most, at {}",
            apart.end_mv,
            apart.most_mv,
            at(apart.most_at_s)
        )
    })
}

fn warmest(log: &ChargeLog) -> String {
    log.warmest_celsius
        .map_or_else(String::new, |celsius| format!("{celsius:.0} °C"))
}

/// `2245 mAh, give or take 12.0 mAh`
fn give_or_take(mah: f64, doubt_mah: f64) -> String {
    const SEEN_MAH: f64 = 0.05;
    let told = amount(mah / 1_000.0);
    match doubt_mah >= SEEN_MAH {
        true => format!("{told}, give or take {}", amount(doubt_mah / 1_000.0)),
        false => told,
    }
}

fn capacity(log: &ChargeLog, build: &Build) -> String {
    let window = window(build);
    match log.capacity() {
        Some((mah, doubt_mah)) => {
            let percent = 100.0 * mah / build.capacity_mah.max(1) as f64;
            let told = give_or_take(mah, doubt_mah);
            format!(
                "{told}: {percent:.0} % of the label's {} mAh",
                build.capacity_mah
            )
        }
        None if log.sweeps.is_empty() => String::new(),
        None => format!(
            "not told: nothing in it went all the way between {:.2} V and {:.2} V",
            window.full_v, window.empty_v
        ),
    }
}

fn resistance(log: &ChargeLog) -> String {
    let told = log
        .pulses
        .iter()
        .filter(|pulse| pulse.milliohm.is_some())
        .count();
    match (log.milliohm(), log.cell_milliohm()) {
        (Some(pack), Some(cell)) => {
            let of_cell = match log.cells {
                ..=1 => String::new(),
                _ => format!(", {} a cell", milliohm(cell)),
            };
            format!(
                "{}{of_cell}, {} s after a step of the current: the middle of {}",
                milliohm(pack),
                log.pulse_second,
                counted(told, "step", "steps")
            )
        }
        _ if log.pulses.is_empty() => String::new(),
        _ => format!(
            "not told {} s after any step of the current",
            log.pulse_second
        ),
    }
}

/// `46.7 mΩ`
pub fn milliohm(value: f64) -> String {
    match value < 100.0 {
        true => format!("{value:.1} mΩ"),
        false => format!("{value:.0} mΩ"),
    }
}

/// `45 s`, or in hours and minutes.
pub fn lasting(seconds: f64) -> String {
    match seconds < 120.0 {
        true => format!("{seconds:.0} s"),
        false => long((seconds / 60.0).round() as i64),
    }
}

/// `-95.0 mA`, `2.20 A`
fn current(amps: f64) -> String {
    match amps.abs() < 1.0 {
        true => format!("{:.1} mA", amps * 1_000.0),
        false => format!("{amps:.2} A"),
    }
}

fn volts(from_v: f64, to_v: f64) -> String {
    format!("{from_v:.3} to {to_v:.3} V")
}

/// As the clock of the log counts it.
fn at(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as i64;
    format!("{}:{:02}:{:02}", whole / 3_600, whole / 60 % 60, whole % 60)
}

/// The C rate is of the label's capacity, as everywhere.
fn sweep_row(log: &ChargeLog, sweep: &Sweep, (label_mah, numbers): (i64, Words)) -> SweepRow {
    let say = |text: String| numbers.sentence(&text);
    let name = if sweep.is_charge {
        "Charge"
    } else {
        "Discharge"
    };
    let cycle = sweep
        .cycle
        .map_or_else(String::new, |cycle| format!(", cycle {cycle}"));
    let c_rate = sweep.amps.abs() * 1_000.0 / label_mah.max(1) as f64;
    SweepRow {
        what: format!("{name}{cycle}"),
        volts: say(volts(sweep.from_v, sweep.to_v)),
        current: say(format!("{}, {c_rate:.2}C", current(sweep.amps))),
        lasted: lasting(sweep.seconds),
        charge: say(give_or_take(sweep.mah, sweep.doubt_mah)),
        told: say(sweep_told(log, sweep)),
    }
}

/// Whether it tells the capacity, and beside the first of its kind where there are several.
fn sweep_told(log: &ChargeLog, sweep: &Sweep) -> String {
    let is_beside = |other: &&Sweep| other.is_charge == sweep.is_charge && other.of_first.is_some();
    let several = log.sweeps.iter().filter(is_beside).count() > 1;
    match (sweep.is_full, sweep.of_first.filter(|_| several)) {
        (true, Some(part)) => format!("all the way; {:.1} % of the first", part * 100.0),
        (true, None) => "all the way".to_owned(),
        (false, _) => "a part".to_owned(),
    }
}

fn part_row(part: &Part, numbers: Words) -> PartRow {
    let say = |text: String| numbers.sentence(&text);
    let is_rest = part.kind == PartKind::Rest;
    let way = if part.mah > 0.0 { "in" } else { "out" };
    PartRow {
        what: part.kind.label(),
        from: at(part.from_s),
        lasted: lasting(part.seconds),
        current: if is_rest {
            String::new()
        } else {
            say(current(part.amps))
        },
        volts: say(volts(part.from_v, part.to_v)),
        charge: match is_rest || part.mah == 0.0 {
            true => String::new(),
            false => say(format!("{} {way}", amount(part.mah.abs() / 1_000.0))),
        },
    }
}

fn pulse_row(pulse: &Pulse, numbers: Words) -> PulseRow {
    let say = |text: String| numbers.sentence(&text);
    let after = pulse.after_s.map(|(least, most)| match most - least < 0.1 {
        true => format!("{most:.1} s"),
        false => format!("{least:.1} to {most:.1} s"),
    });
    let told = pulse.milliohm.map(milliohm);
    let rested = pulse
        .rested_s
        .map(|seconds| format!("rested {}", lasting(seconds)));
    PulseRow {
        at: at(pulse.at_s),
        step: say(format!(
            "{} to {}",
            current(pulse.from_a),
            current(pulse.to_a)
        )),
        rested: rested.unwrap_or_else(|| "another current".to_owned()),
        resistance: say(told.unwrap_or_else(|| format!("none: {}", pulse.why_not))),
        after: say(after.unwrap_or_default()),
    }
}
