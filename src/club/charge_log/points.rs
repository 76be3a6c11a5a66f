//! The readings of a log that draw it, as one text: `0 4181 -228 0;147 4163.2 -228 -9.31`: seconds from the first one, mV, mA,
//! mAh in since then, and the mV of each cell where they are told.

use super::MOST_POINTS;
use crate::battery::log::Log;
use crate::battery::log::thinned::thinned;

#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    pub seconds: f64,
    pub volts: f64,
    pub amps: f64,
    /// In since the first one; below zero: out.
    pub mah: f64,
    /// Empty: not told.
    pub cells_v: Vec<f64>,
}

pub fn of(log: &Log) -> Vec<Point> {
    let (samples, count) = (log.samples(), log.cell_count());
    let start_s = samples.first().map_or(0.0, |first| first.seconds);
    let mah = mah_since_first(log);
    let kept = thinned(samples, MOST_POINTS).into_iter();
    let kept = kept.filter_map(|at| Some((samples.get(at)?, *mah.get(at)?)));
    kept.map(|(sample, mah)| Point {
        seconds: sample.seconds - start_s,
        volts: sample.volts,
        amps: sample.amps,
        mah,
        cells_v: sample.cells(count).unwrap_or_default(),
    })
    .collect()
}

/// At each reading, straight on from the one before.
fn mah_since_first(log: &Log) -> Vec<f64> {
    let mut all = vec![0.0];
    let mut mah = 0.0;
    for two in log.samples().windows(2) {
        let hours = (two[1].seconds - two[0].seconds) / 3_600.0;
        mah += (two[0].amps + two[1].amps) / 2.0 * hours * 1_000.0;
        all.push(mah);
    }
    all
}

/// Hundredths of a second and of a mV, thousandths of a mA and of a mAh: finer is no charger.
pub fn to_text(points: &[Point]) -> String {
    let each = points.iter().map(|point| {
        let mut numbers = vec![
            short(point.seconds, 100.0),
            short(point.volts * 1_000.0, 100.0),
            short(point.amps * 1_000.0, 1_000.0),
            short(point.mah, 1_000.0),
        ];
        let cells = point.cells_v.iter();
        numbers.extend(cells.map(|volts| short(volts * 1_000.0, 100.0)));
        numbers.join(" ")
    });
    each.collect::<Vec<_>>().join(";")
}

fn short(value: f64, parts: f64) -> String {
    ((value * parts).round() / parts).to_string()
}

/// What can't be read is left out.
pub fn from_text(text: &str) -> Vec<Point> {
    text.split(';').filter_map(point).collect()
}

fn point(text: &str) -> Option<Point> {
    let number = |text: &str| text.parse::<f64>().ok().filter(|each| each.is_finite());
    let numbers: Option<Vec<f64>> = text.split(' ').map(number).collect();
    match numbers?.as_slice() {
        [seconds, millivolts, milliamps, mah, cells_mv @ ..] => Some(Point {
            seconds: *seconds,
            volts: millivolts / 1_000.0,
            amps: milliamps / 1_000.0,
            mah: *mah,
            cells_v: cells_mv.iter().map(|each| each / 1_000.0).collect(),
        }),
        _ => None,
    }
}
