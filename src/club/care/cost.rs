//! What the days above the storage band have cost in capacity so far, as a range, and what as many days in the band would have
//! cost anyway. Two sources, told apart: the handbook's table and laboratory cells, none of which is as hobby packs are.
//! The ageing itself is `battery::ageing`. Percent of capacity, days, degrees Celsius.

use crate::battery::ageing::Ageing;
use crate::battery::chemistry::Chemistry;
use crate::battery::range::Range;
use serde::{Deserialize, Serialize};

const MONTH_DAYS: f64 = 30.4;
/// In the middle of its band.
const STORED_PERCENT: f64 = 50.0;

/// Days that a pack lay at a charge and a warmth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    pub percent: i64,
    pub celsius: i64,
    pub days: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cost {
    pub days: f64,
    /// Lost in these days.
    pub above: Ageing,
    /// What as many days in the band would have taken.
    pub in_band: Ageing,
}

/// None of nickel and lead, and where it never lay above for a whole day.
pub fn cost(chemistry: Chemistry, above: &[Stretch]) -> Option<Cost> {
    let alike = alike(above);
    let days: f64 = alike.iter().map(|stretch| stretch.days).sum();
    if days < 1.0 {
        return None;
    }
    let lost = |stretch: &Stretch, percent: f64| {
        let months = stretch.days / MONTH_DAYS;
        Ageing::expected(chemistry, percent, stretch.celsius as f64, months)
    };
    let of = |percent: fn(&Stretch) -> f64| {
        let each = alike.iter().map(|one| lost(one, percent(one)));
        each.collect::<Option<Vec<Ageing>>>()
            .map(|each| together(&each))
    };
    Some(Cost {
        days,
        above: of(|stretch| stretch.percent as f64)?,
        in_band: of(|_| STORED_PERCENT)?,
    })
}

/// With further ones; those alike are one.
pub fn added(stretches: Vec<Stretch>, more: Vec<Stretch>) -> Vec<Stretch> {
    alike(&[stretches, more].concat())
}

/// Days at the same charge and warmth are one stretch: the first days cost more than the later ones.
fn alike(stretches: &[Stretch]) -> Vec<Stretch> {
    let mut alike: Vec<Stretch> = Vec::new();
    for stretch in stretches.iter().filter(|stretch| stretch.days > 0.0) {
        let same =
            |one: &&mut Stretch| (one.percent, one.celsius) == (stretch.percent, stretch.celsius);
        match alike.iter_mut().find(same) {
            Some(one) => one.days += stretch.days,
            None => alike.push(*stretch),
        }
    }
    alike
}

/// Loss goes with a power of time: 0.34 to 0.74 in laboratory cells, one half to one by the handbook. What came before makes
/// the next days cost less by as much; with a power of one they simply add.
fn together(each: &[Ageing]) -> Ageing {
    Ageing {
        handbook: joined(each.iter().map(|ageing| ageing.handbook)),
        laboratory: joined(each.iter().map(|ageing| ageing.laboratory)),
    }
}

fn joined(each: impl Iterator<Item = Range> + Clone) -> Range {
    let by_power = |power: f64, of: fn(Range) -> f64| {
        let sum: f64 = each.clone().map(|range| of(range).powf(1.0 / power)).sum();
        sum.powf(power).min(100.0)
    };
    Range {
        least: by_power(0.34, |range| range.least),
        likely: by_power(0.6, |range| range.likely),
        most: by_power(1.0, |range| range.most),
    }
}

/// Where the days that are counted are not those since when it lies above its band: why.
pub fn counted_words(above_days: Option<i64>, cost: Option<&Cost>) -> Option<&'static str> {
    let counted = cost.map_or(0, Cost::whole_days);
    let differs = above_days.is_some_and(|days| days != counted);
    differs.then_some(
        "Counted are all days above its band that are on record, from before too. Days on which it was out are not: nobody knows what it held.",
    )
}

impl Cost {
    /// As days above the band are told everywhere.
    pub fn whole_days(&self) -> i64 {
        (self.days + 1e-6).floor() as i64
    }

    /// A sentence for each source.
    pub fn words(&self) -> [String; 2] {
        let of = |source: &str, above: Range, in_band: Range| {
            format!(
                "By {source}, {} above its band cost {} of its capacity; in the band they would have cost {}.",
                super::reasons::days_words(self.whole_days()),
                percent_words(above),
                percent_words(in_band)
            )
        };
        [
            of(
                "a battery-education site's table",
                self.above.handbook,
                self.in_band.handbook,
            ),
            of(
                "laboratory cells, none of them a hobby pack's",
                self.above.laboratory,
                self.in_band.laboratory,
            ),
        ]
    }
}

impl Cost {
    /// `0.4 to 1.2 % (table), 0.0 to 0.3 % (laboratory)`
    pub fn short_words(&self) -> String {
        format!(
            "{} (table), {} (laboratory)",
            percent_words(self.above.handbook),
            percent_words(self.above.laboratory)
        )
    }
}

/// Outwards to tenths of a percent.
fn percent_words(range: Range) -> String {
    let tenth = |value: f64| value / 10.0;
    let least = tenth((range.least * 10.0 + 1e-9).floor());
    let most = tenth((range.most * 10.0 - 1e-9).ceil());
    format!("{least:.1} to {most:.1} %")
}

#[cfg(test)]
#[path = "cost_tests.rs"]
mod tests;
