//! The first minute on a page: each line of `club::book::first_minute` with its sources, for whoever must act now.

use crate::club::book::first_minute::{Situation, advice, meanwhile};
use crate::club::book::source::{HowSure, Line};
use crate::club::hall::Hall;
use crate::club::seen::Seen;

/// A line, and below it who says so.
pub struct Advice {
    pub words: &'static str,
    /// `US Fire Administration …; common practice, no source`
    pub sources: String,
}

impl From<Line> for Advice {
    fn from(line: Line) -> Self {
        let named = line.sources.iter().map(|source| match source.how_sure {
            HowSure::Published => source.named.to_owned(),
            HowSure::CommonPractice => {
                format!("{}: {}", source.named, source.how_sure.label())
            }
        });
        Self {
            words: line.words,
            sources: named.collect::<Vec<_>>().join("; "),
        }
    }
}

/// All of it, for the page that a phone keeps.
pub struct FirstMinute {
    pub hall: Hall,
    pub burning: Vec<Advice>,
    /// What was seen, and what to do then.
    pub others: Vec<(&'static str, Vec<Advice>)>,
}

impl FirstMinute {
    pub fn of(hall: Hall) -> Self {
        let others = Situation::ALL
            .into_iter()
            .filter(|one| *one != Situation::Burning);
        Self {
            hall,
            burning: burning(),
            others: others
                .map(|one| (one.label(), advice(one).map(Advice::from).collect()))
                .collect(),
        }
    }
}

/// With smoke, heat, hissing or fire.
pub fn burning() -> Vec<Advice> {
    advice(Situation::Burning).map(Advice::from).collect()
}

/// The same for whoever has reported it already.
pub fn burning_meanwhile() -> Vec<Advice> {
    of_seen(&[Seen::SmokeOrFire])
}

/// For the gravest of what was reported; empty: nothing of it is urgent.
pub fn of_seen(seen: &[Seen]) -> Vec<Advice> {
    let situations: Vec<Situation> = seen
        .iter()
        .filter_map(|each| Situation::of(*each))
        .collect();
    let gravest = Situation::ALL
        .into_iter()
        .find(|situation| situations.contains(situation));
    gravest.map_or_else(Vec::new, |situation| {
        meanwhile(situation).map(Advice::from).collect()
    })
}
