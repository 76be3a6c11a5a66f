//! GET /style: every component and state on one page, to look at. This file gathers the drawings: one to eight
//! cells, from empty to overcharged. Volts are examples in mV, chosen to show each case; they judge no pack.

use super::page::{self, Page};
use super::picture::CellPicture;
use super::picture::chart::{Across, Chart, Line, Panel, Rule, Stretch};
use super::visit::{Shell, Visit};
use crate::battery::chemistry::Chemistry;
use crate::bench::typed::Words;
use crate::club::calendar::Zone;
use crate::club::states::State;
use askama::Template;

#[derive(Template)]
#[template(path = "style.html")]
struct StylePage {
    shell: Shell,
    pictures: Vec<(String, String)>,
    charts: Vec<String>,
    states: Vec<(&'static str, &'static str)>,
}

/// GET /style
pub async fn show(visit: Visit) -> Page {
    page::show(&StylePage {
        shell: visit.shell("Style"),
        pictures: pictures(),
        charts: vec![cells_over_time(), a_log()],
        states: State::ALL
            .into_iter()
            .map(|state| (state.code(), state.label()))
            .collect(),
    })
}

fn lipo(cells_mv: &[i64], cells_series: i64) -> CellPicture<'_> {
    let limits = Chemistry::LiPo.limits();
    CellPicture {
        cells_mv,
        pack_mv: None,
        cells_series,
        empty_mv: limits.empty_mv,
        full_mv: limits.full_mv,
        over_mv: limits.over_full_warn_mv,
        minimum_mv: limits.minimum_mv,
        storage_low_mv: limits.storage_low_mv,
        storage_high_mv: limits.storage_high_mv,
        low_word: Chemistry::LiPo.low_word(),
        standing_out: None,
        numbers: Words::POINT,
    }
}

/// Caption and drawing, from one cell to eight and on to fourteen.
pub fn pictures() -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = charge_of_packs()
        .into_iter()
        .map(|(caption, cells_mv, standing_out)| {
            let series = i64::try_from(cells_mv.len()).unwrap_or(i64::MAX);
            let picture = CellPicture {
                standing_out,
                ..lipo(&cells_mv, series)
            };
            (caption.to_owned(), picture.large())
        })
        .collect();
    all.push((
        "3S, only the pack's volts".to_owned(),
        CellPicture {
            pack_mv: Some(11_700),
            ..lipo(&[], 3)
        }
        .large(),
    ));
    all.push(("4S, volts never logged".to_owned(), lipo(&[], 4).large()));
    all.push(("The same small, as in a table row".to_owned(), in_a_row()));
    all
}

fn charge_of_packs() -> Vec<(&'static str, Vec<i64>, Option<usize>)> {
    vec![
        ("1S, empty", vec![3500], None),
        ("1S, full", vec![4200], None),
        ("2S, in the storage band", vec![3790, 3800], None),
        ("3S, cell 2 stands out", vec![3910, 3870, 3900], Some(1)),
        ("3S, cell 1 under empty", vec![3240, 3560, 3580], Some(0)),
        (
            "4S, cell 3 under the minimum",
            vec![3610, 3600, 2100, 3620],
            Some(2),
        ),
        ("4S, overcharged", vec![4210, 4230, 4350, 4220], Some(2)),
        ("5S, full", vec![4200, 4190, 4200, 4200, 4190], None),
        (
            "6S, cell 6 stands out",
            vec![3870, 3860, 3870, 3870, 3860, 3790],
            Some(5),
        ),
        (
            "7S, above the storage band",
            vec![4050, 4050, 4060, 4050, 4050, 4040, 4050],
            None,
        ),
        (
            "8S, from dead to overcharged",
            vec![0, 2900, 3200, 3500, 3800, 4100, 4200, 4400],
            Some(0),
        ),
        (
            "14S, cell 9 stands out",
            vec![
                3800, 3790, 3800, 3800, 3800, 3800, 3790, 3800, 3600, 3800, 3800, 3800, 3790, 3800,
            ],
            Some(8),
        ),
    ]
}

fn in_a_row() -> String {
    let read = charge_of_packs()
        .into_iter()
        .skip(3)
        .map(|(_, cells_mv, standing_out)| {
            CellPicture {
                standing_out,
                ..lipo(&cells_mv, 1)
            }
            .small()
        });
    let pack_only = CellPicture {
        pack_mv: Some(11_700),
        ..lipo(&[], 3)
    }
    .small();
    read.chain([pack_only, lipo(&[], 3).small()]).collect()
}

/// Four cells read once a week; the third one leaves the others.
fn cells_over_time() -> String {
    const DAY_MS: f64 = 86_400_000.0;
    let volts = |cell: u8, week: u8| {
        let lags = if cell == 2 { 0.004 } else { 0.0 };
        3.83 + f64::from(week % 3) * 0.08 - f64::from(cell) * 0.004 - f64::from(week * week) * lags
    };
    let at = |week: u8| 1.78e12 + f64::from(week) * 7.0 * DAY_MS;
    let line = |cell: u8| Line {
        letter: (cell + 1).to_string(),
        name: format!("Cell {}", cell + 1),
        points: (0..12).map(|week| (at(week), volts(cell, week))).collect(),
    };
    let limits = Chemistry::LiPo.limits();
    let rule = |mv: i64, words: &str| Rule {
        at: mv as f64 / 1_000.0,
        words: words.to_owned(),
    };
    let panel = Panel {
        name: "Cells".to_owned(),
        unit: "V",
        decimals: 2,
        lines: (0..4).map(line).collect(),
        rules: vec![
            rule(limits.full_mv, "full"),
            rule(limits.minimum_mv, "minimum"),
        ],
        has_zero: false,
    };
    drawn(
        "cells",
        "Cells over time",
        Across::Days(&Zone::utc()),
        vec![panel],
        Vec::new(),
    )
}

/// A charge at constant current, then at constant volts, with a rest behind it.
fn a_log() -> String {
    let amps = |minute: u8| match minute {
        0..40 => 2.2,
        40..70 => 2.2 * (-f64::from(minute - 40) / 10.0).exp(),
        _ => 0.0,
    };
    let volts = |minute: u8| match minute {
        0..40 => 11.4 + f64::from(minute) * 0.03,
        40..70 => 12.6,
        _ => 12.55,
    };
    let line = |name: &str, of: &dyn Fn(u8) -> f64| Line {
        letter: name.to_owned(),
        name: name.to_owned(),
        points: (0..80)
            .map(|minute| (f64::from(minute) * 60.0, of(minute)))
            .collect(),
    };
    let panel = |unit, line: Line| Panel {
        name: line.name.clone(),
        unit,
        decimals: 2,
        lines: vec![line],
        rules: Vec::new(),
        has_zero: unit == "A",
    };
    let panels = vec![
        panel("V", line("Volts", &volts)),
        panel("A", line("Current", &amps)),
    ];
    let stretch = |from: u8, to: u8, words| Stretch {
        from: f64::from(from) * 60.0,
        to: f64::from(to) * 60.0,
        words,
    };
    let stretches = vec![
        stretch(0, 40, "CC"),
        stretch(40, 70, "CV"),
        stretch(70, 79, "rest"),
    ];
    drawn("log", "A charge log", Across::Elapsed, panels, stretches)
}

fn drawn(
    id: &str,
    title: &str,
    across: Across<'_>,
    panels: Vec<Panel>,
    stretches: Vec<Stretch>,
) -> String {
    let chart = Chart {
        id,
        title: title.to_owned(),
        across,
        panels,
        stretches,
        numbers: Words::POINT,
    };
    chart.html()
}
