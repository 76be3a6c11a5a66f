//! Where an axis has its ticks and what stands at them: round figures, hours and minutes, days of the hall.

use super::points::least_and_most;
use crate::club::calendar::{Day, Instant, Zone};

/// One axis from its low to its high end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    pub low: f64,
    pub high: f64,
}

impl Range {
    /// How far from the low end to the high one: 0 to 1, also for what lies outside.
    pub fn share(self, value: f64) -> f64 {
        let wide = self.high - self.low;
        if wide > 0.0 {
            ((value - self.low) / wide).clamp(0.0, 1.0)
        } else {
            0.5
        }
    }

    pub fn has(self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    pub at: f64,
    pub words: String,
}

/// An axis of figures, with a tick at each end.
pub struct Upright {
    pub range: Range,
    step: f64,
    count: usize,
}

/// So many steps are wished for; round ones may be a few more or fewer.
const STEPS: f64 = 4.0;

impl Upright {
    pub fn of(values: impl Iterator<Item = f64>) -> Self {
        let (least, most) = least_and_most(values);
        // All alike still needs some height.
        let smallest = least.abs().max(most.abs()).max(1.0) * 1e-3;
        let step = round_step((most - least).max(smallest) / STEPS);
        let low = (least / step).floor() * step;
        let count = ((most - low) / step).ceil().clamp(1.0, 2.0 * STEPS);
        Self {
            range: Range {
                low,
                high: (low + count * step).max(most),
            },
            step,
            count: count as usize,
        }
    }

    pub fn ticks(&self) -> Vec<Tick> {
        let decimals = decimals_of(self.step);
        let at = |index: usize| self.range.low + self.step * index as f64;
        let tick = |index| Tick {
            at: at(index),
            words: number(at(index), decimals),
        };
        (0..=self.count).map(tick).collect()
    }
}

/// 1, 2 or 5 with noughts, the next above.
fn round_step(wanted: f64) -> f64 {
    let tens = 10.0_f64.powf(wanted.max(f64::MIN_POSITIVE).log10().floor());
    let round = [1.0, 2.0, 5.0, 10.0].map(|each| each * tens);
    let fits = round.into_iter().find(|step| *step >= wanted * 0.999);
    fits.unwrap_or(10.0 * tens)
}

fn decimals_of(step: f64) -> usize {
    (-step.log10().floor()).clamp(0.0, 6.0) as usize
}

/// `3.91`; no `-0`.
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let is_nothing = text.chars().all(|letter| "-0.".contains(letter));
    match text.strip_prefix('-').filter(|_| is_nothing) {
        Some(plain) => plain.to_owned(),
        None => text,
    }
}

/// Seconds as a clock counts them: `1:02:03`, `0:00:00.5`.
pub fn elapsed(seconds: f64) -> String {
    let tenths = (seconds * 10.0).round();
    let (sign, tenths) = (if tenths < 0.0 { "-" } else { "" }, tenths.abs());
    let whole = (tenths / 10.0).floor();
    let (hours, minutes) = ((whole / 3_600.0).floor(), (whole / 60.0).floor() % 60.0);
    let part = match tenths % 10.0 {
        0.0 => String::new(),
        part => format!(".{part}"),
    };
    format!("{sign}{hours}:{minutes:02}:{:02}{part}", whole % 60.0)
}

/// The unit in which the time of a log is drawn: its seconds, and its word.
pub fn unit_of_elapsed(range: Range) -> (f64, &'static str) {
    match range.high - range.low {
        10_000.0.. => (3_600.0, "hours"),
        180.0.. => (60.0, "minutes"),
        _ => (1.0, "seconds"),
    }
}

pub fn elapsed_ticks(range: Range) -> Vec<Tick> {
    let (unit, _) = unit_of_elapsed(range);
    let step = round_step((range.high - range.low) / unit / STEPS);
    let first = (range.low / unit / step).ceil();
    let ticks = (0..=8_u8).map(|index| (first + f64::from(index)) * step);
    let inside = ticks.filter(|at| range.has(at * unit));
    let tick = |at: f64| Tick {
        at: at * unit,
        words: number(at, decimals_of(step)),
    };
    inside.map(tick).collect()
}

const HOUR_MS: i64 = 3_600_000;

/// Midnights of the hall, or hours where the figures are of a day or two.
pub fn day_ticks(range: Range, zone: &Zone) -> Vec<Tick> {
    let (first, last) = (
        zone.day_of(Instant(range.low as i64)),
        zone.day_of(Instant(range.high as i64)),
    );
    let days = first.days_until(last);
    let ticks = if days <= 2 {
        hours(first, days, zone)
    } else {
        midnights(first, days, zone)
    };
    let inside = ticks.into_iter().filter(|tick| range.has(tick.at));
    inside.collect()
}

fn hours(first: Day, days: i64, zone: &Zone) -> Vec<Tick> {
    let every = if days == 0 { 6 } else { 12 };
    let start = zone.start_of(first);
    let ticks = (0..=24 * (days.max(0) + 1) / every).map(|index| {
        let at = Instant(start.ms().saturating_add(index * every * HOUR_MS));
        let words = match index * every % 24 {
            0 => short(zone.day_of(at)),
            _ => zone.time_words(at),
        };
        Tick {
            at: at.ms() as f64,
            words,
        }
    });
    ticks.collect()
}

fn midnights(first: Day, days: i64, zone: &Zone) -> Vec<Tick> {
    const STEPS_DAYS: [i64; 14] = [
        1, 2, 3, 7, 14, 28, 60, 90, 180, 365, 730, 1_825, 3_650, 18_250,
    ];
    let fits = STEPS_DAYS.into_iter().find(|step| days / step <= 4);
    let every = fits.unwrap_or(36_500);
    let ticks = (0..=5).map(|index| {
        let day = first.plus_days(index * every);
        Tick {
            at: zone.start_of(day).ms() as f64,
            words: if days < 300 { short(day) } else { month(day) },
        }
    });
    ticks.collect()
}

/// `25 Nov`
fn short(day: Day) -> String {
    day.0.strftime("%-d %b").to_string()
}

/// `Nov 2026`
fn month(day: Day) -> String {
    day.0.strftime("%b %Y").to_string()
}
