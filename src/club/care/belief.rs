//! What a pack is believed to hold by now, and what its lowest cell would rest at: reckoned from the latest that was told and
//! what came after, each as a band, with how sure that is. A belief decides who is chased, and nothing else: no pack is charged
//! or lent on it. So it is no `Volts` and gives none away; a reading is made by a person with a meter.
//! A band of charge only widens as a pack lies, until its low end is at nothing. Percent of what a cell holds, mV.

use super::forecast::first_day;
use super::story::{Lying, Story, Toward};
use super::told::{By, Told, moved_mv, sum};
use crate::battery::curve::{CURVES_CELSIUS, Curve, StateOfCharge};
use crate::battery::curve_sources::sources;
use crate::battery::range::Range;
use crate::battery::volts::volts_words;
use crate::club::calendar::Instant;

/// Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// It was out, or was charged and nobody noted how far: anything from empty to full.
    Guessed,
    /// A charge was counted on, it was read just after use, or it has lain for long.
    Rough,
    /// A charger said that it is done.
    ByCharger,
    /// Rested volts, not long ago, and nothing since.
    ByReading,
}

impl Sure {
    pub const ALL: [Self; 4] = [Self::Guessed, Self::Rough, Self::ByCharger, Self::ByReading];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Guessed => "guessed",
            Self::Rough => "rough",
            Self::ByCharger => "by_charger",
            Self::ByReading => "by_reading",
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::Guessed => "A guess: it was out or charged since, and nobody wrote down how far.",
            Self::Rough => {
                "Roughly: reckoned from volts that were not rested or are old, or from mAh that were noted."
            }
            Self::ByCharger => "Fairly sure: a charger said it was done; nobody read volts since.",
            Self::ByReading => "Rather sure: reckoned from rested volts of the last weeks.",
        }
    }
}

/// Longer ago, even rested volts tell roughly: a month, common practice, no source.
const SURE_FOR_DAYS: i64 = 30;

/// Believed, never read. Its fields stay here, so that nobody hands it to a rule that asks for a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    charge_percent: Range,
    lowest_mv: Option<Range>,
    sure: Sure,
}

impl Belief {
    /// None where nothing on record tells: never read, and no charge that finished.
    pub fn of(lying: &Lying, story: &Story, now: Instant) -> Option<Self> {
        let told = Told::of(lying, story)?;
        let charge = charge_percent(lying, &told, now);
        Some(Self {
            charge_percent: charge.unwrap_or(Range::around(50.0, [0.0, 100.0])),
            lowest_mv: lowest_mv(lying, &told, now),
            sure: if charge.is_some() {
                sure(&told, now)
            } else {
                Sure::Guessed
            },
        })
    }

    /// For pictures and for telling; percent of what a cell holds.
    pub const fn charge_percent(&self) -> Range {
        self.charge_percent
    }

    pub const fn sure(&self) -> Sure {
        self.sure
    }

    /// More than that it is a pack: neither a guess nor anything from empty to full.
    pub fn tells(&self) -> bool {
        let Range { least, most, .. } = self.charge_percent;
        self.sure > Sure::Guessed && (least > 0.0 || most < 100.0)
    }

    /// `about 40 to 60 %`
    pub fn charge_words(&self) -> String {
        let Range { least, most, .. } = self.charge_percent;
        format!("about {:.0} to {:.0} %", least.floor(), most.ceil())
    }

    /// `3.78 to 3.84 V`, the lowest cell. None for NiMH, whose resting volts hardly move.
    pub fn lowest_cell_words(&self) -> Option<String> {
        let Range { least, most, .. } = self.lowest_mv?;
        let of = |mv: f64| volts_words((mv / 10.0).round() as i64 * 10);
        Some(format!("{} to {} V", of(least), of(most)))
    }

    #[cfg(test)]
    pub(super) const fn lowest_mv(&self) -> Option<Range> {
        self.lowest_mv
    }
}

fn sure(told: &Told, now: Instant) -> Sure {
    let is_wide_open = told.is_out_since || told.put_in.most - told.put_in.least >= 100.0;
    let is_old = now.days_since(told.at) > SURE_FOR_DAYS;
    match told.by {
        _ if is_wide_open => Sure::Guessed,
        _ if is_old => Sure::Rough,
        By::Charger(Toward::Empty) | By::Counted => Sure::Rough,
        By::Charger(_) => Sure::ByCharger,
        By::Reading(rested) if rested.minutes() >= 15 => Sure::ByReading,
        By::Reading(_) => Sure::Rough,
    }
}

/// From the lowest that its lowest cell may hold to the highest of the highest. NiMH by its last full charge alone.
fn charge_percent(lying: &Lying, told: &Told, now: Instant) -> Option<Range> {
    let chemistry = lying.build.chemistry;
    let held = match Curve::of(chemistry) {
        Some(curve) => {
            let told_by =
                |mv: f64| StateOfCharge::of(chemistry, mv / 1_000.0, Some(CURVES_CELSIUS));
            let likely = |mv: f64| curve.percent_at(mv / 1_000.0);
            let mean = (likely(told.low_mv.likely) + likely(told.high_mv.likely)) / 2.0;
            let open = [
                told_by(told.low_mv.least).low_percent,
                told_by(told.high_mv.most).high_percent,
            ];
            Range::around(mean, open)
        }
        None => nickel_percent(told)?,
    };
    let lost = lost(lying, told, now);
    let put_in = told.put_in;
    let reckoned = Range {
        least: held.least + put_in.least - lost.most,
        likely: held.likely + put_in.likely - lost.likely,
        most: held.most + put_in.most - lost.least,
    };
    Some(if told.is_out_since {
        Range::around(within(reckoned.likely), [0.0, 100.0])
    } else {
        Range {
            least: within(reckoned.least),
            likely: within(reckoned.likely),
            most: within(reckoned.most),
        }
    })
}

/// By lying, its first day with it: day by day what it may lose on that.
fn lost(lying: &Lying, told: &Told, now: Instant) -> Range {
    const DAY_MS: f64 = 86_400_000.0;
    let days = now.ms().saturating_sub(told.at.ms()).max(0) as f64 / DAY_MS;
    let first = Range::around(0.0, [0.0, first_day(lying, told)]);
    sum(told.lost(lying, now), first.times(days.min(1.0)))
}

/// When its charger is done; of that it may lose fifteen percent in the first day (BU-802b).
pub(super) fn nickel_percent(told: &Told) -> Option<Range> {
    matches!(told.by, By::Charger(Toward::Full)).then(|| Range::around(95.0, [85.0, 100.0]))
}

const fn within(percent: f64) -> f64 {
    percent.clamp(0.0, 100.0)
}

/// Each source's curve is believed in turn: what a cell lost is read off the same curve as what it had.
fn lowest_mv(lying: &Lying, told: &Told, now: Instant) -> Option<Range> {
    let curves = sources(lying.build.chemistry);
    let built_in = curves.first()?;
    let (low, lost, put_in) = (told.low_mv, lost(lying, told, now), told.put_in);
    let likely = moved_mv(built_in, low.likely, put_in.likely - lost.likely);
    let open = curves.iter().flat_map(|curve| {
        [
            moved_mv(curve, low.least, put_in.least - lost.most),
            moved_mv(curve, low.most, put_in.most - lost.least),
        ]
    });
    let reckoned = Range::around(likely, open);
    let ends = [
        built_in.volts_at(0.0) * 1_000.0,
        lying.limits.full_mv as f64,
    ];
    let all = [reckoned.least, reckoned.most].into_iter().chain(ends);
    Some(if told.is_out_since {
        Range::around(reckoned.likely, all)
    } else {
        reckoned
    })
}

#[cfg(test)]
#[path = "belief_tests.rs"]
mod tests;
