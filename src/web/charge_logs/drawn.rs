//! A charge log as a chart: the cells where they are told, else the pack's volts; the current; the charge that went in so far.

use crate::battery::pack::Build;
use crate::bench::typed::Words;
use crate::club::charge_log::points::Point;
use crate::club::charge_log::{ChargeLog, Part, window};
use crate::web::picture::chart::{Across, Chart, Line, Panel, Rule, Stretch, lines_of_cells};

pub fn chart(log: &ChargeLog, points: &[Point], build: &Build, numbers: Words) -> Chart<'static> {
    let stretch = |part: &Part| Stretch {
        from: part.from_s,
        to: part.from_s + part.seconds,
        words: part.kind.short(),
    };
    Chart {
        id: "log",
        title: "Volts, current and charge over the time of the log".to_owned(),
        across: Across::Elapsed,
        panels: vec![volts(points, build), current(points), charge(points)],
        stretches: log.parts.iter().map(stretch).collect(),
        numbers,
    }
}

fn line(name: &str, points: &[Point], of: impl Fn(&Point) -> f64) -> Line {
    Line {
        letter: name.to_owned(),
        name: name.to_owned(),
        points: points
            .iter()
            .map(|point| (point.seconds, of(point)))
            .collect(),
    }
}

fn volts(points: &[Point], build: &Build) -> Panel {
    let told = points.iter().filter(|point| !point.cells_v.is_empty());
    let cells: Vec<(f64, Vec<f64>)> = told
        .map(|point| (point.seconds, point.cells_v.clone()))
        .collect();
    let of_pack = || vec![line("Volts", points, |point| point.volts)];
    let (name, lines, count) = match cells.is_empty() {
        true => (
            "Volts of the pack",
            of_pack(),
            build.cells_series.max(1) as f64,
        ),
        false => ("Volts of each cell", lines_of_cells(&cells), 1.0),
    };
    let figures = lines.iter().flat_map(|line| &line.points);
    let most_v = figures.map(|point| point.1).fold(0.0, f64::max);
    Panel {
        name: name.to_owned(),
        unit: "V",
        decimals: 3,
        rules: rules(build, count, most_v),
        lines,
        has_zero: false,
    }
}

/// Full and the least, of `count` cells; none where the log is not of such volts.
fn rules(build: &Build, count: f64, most_v: f64) -> Vec<Rule> {
    let (window, of_pack) = (window(build), build.cells_series.max(1) as f64);
    let (full_v, empty_v) = (
        window.full_v / of_pack * count,
        window.empty_v / of_pack * count,
    );
    let is_of_it = (empty_v..=full_v * 1.1).contains(&most_v);
    let rule = |at: f64, words: &str| Rule {
        at,
        words: words.to_owned(),
    };
    let rules = [rule(full_v, "full"), rule(empty_v, "minimum")];
    rules.into_iter().filter(|_| is_of_it).collect()
}

fn current(points: &[Point]) -> Panel {
    let amps = points.iter().map(|point| point.amps.abs());
    let (unit, times, decimals) = match amps.fold(0.0, f64::max) < 1.0 {
        true => ("mA", 1_000.0, 1),
        false => ("A", 1.0, 3),
    };
    Panel {
        name: "Current, in above 0".to_owned(),
        unit,
        decimals,
        lines: vec![line("Current", points, |point| point.amps * times)],
        rules: Vec::new(),
        has_zero: true,
    }
}

fn charge(points: &[Point]) -> Panel {
    let mah = points.iter().map(|point| point.mah.abs());
    let decimals = if mah.fold(0.0, f64::max) < 100.0 {
        1
    } else {
        0
    };
    Panel {
        name: "Charge so far, in above 0".to_owned(),
        unit: "mAh",
        decimals,
        lines: vec![line("Charge", points, |point| point.mah)],
        rules: Vec::new(),
        has_zero: true,
    }
}
