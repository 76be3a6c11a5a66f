//! A season of storage care, looked back on: how many packs stood in their band as each week ended, and how many days it took
//! after each event until its packs were put to storage. By what is on record, pack by pack; weeks begin on Mondays (ISO 8601).

use super::kept::{Band, Kept};
use super::seen::band_of;
use super::story::{Dated, LastRead, Lying, Story, What};
use super::walked::{Step, in_order};
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::limits::ClubLimits;
use crate::club::reading::judge;
use crate::club::verdict::Rule;

/// As far back as anybody looks.
pub const MOST_WEEKS: i64 = 105;

/// A pack of the pool and what is on record of it, from its last reading before the season on.
pub struct OfPack {
    lying: Lying,
    /// Since when, and until when, it was of the pool.
    from: Instant,
    until: Option<Instant>,
    steps: Vec<(Instant, Step)>,
}

/// How many packs stood where. `unknown`: nothing tells, or it was out and nobody read it since.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub inside: usize,
    pub above: usize,
    pub under: usize,
    pub unknown: usize,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Week {
    pub first: Day,
    /// Just after it, or now where it is not over.
    pub ends: Instant,
}

/// How a pack was at an event: from its start to its end, and when it counts as back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stay {
    pub starts: Instant,
    pub ends: Instant,
    pub back: Instant,
}

/// How an event's packs were put to storage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct After {
    pub packs: usize,
    pub stored: usize,
    /// None while half of them are not.
    pub median_days: Option<f64>,
}

impl Counts {
    fn add(&mut self, band: Option<Band>) {
        let count = match band {
            Some(Band::In) => &mut self.inside,
            Some(Band::Above) => &mut self.above,
            Some(Band::Under) => &mut self.under,
            None => &mut self.unknown,
        };
        *count += 1;
    }

    pub const fn all(&self) -> usize {
        self.inside + self.above + self.under + self.unknown
    }

    /// None where there was no pack.
    pub fn percent(&self, count: usize) -> Option<f64> {
        (self.all() > 0).then(|| 100.0 * count as f64 / self.all() as f64)
    }
}

impl OfPack {
    /// Volts that can't be are on record and tell nothing.
    pub fn new(
        lying: Lying,
        (from, until): (Instant, Option<Instant>),
        mut steps: Vec<(Instant, Step)>,
        limits: &ClubLimits,
    ) -> Self {
        let can_be = |read: &LastRead| {
            let found = judge(&lying.build, &read.volts, read.rested, limits);
            found.iter().all(|each| each.rule != Rule::Implausible)
        };
        steps.retain(|(_, step)| !matches!(step, Step::Read(read) if !can_be(read)));
        in_order(&mut steps);
        Self {
            lying,
            from,
            until,
            steps,
        }
    }

    fn was_there(&self, at: Instant) -> bool {
        self.from < at && self.until.is_none_or(|until| at <= until)
    }

    /// At each of these instants, which stand in order.
    fn stood(&self, at: &[Instant]) -> Vec<Option<Band>> {
        let (mut kept, mut story) = (Kept::default(), Story::default());
        let mut steps = self.steps.iter().peekable();
        let mut stood = Vec::with_capacity(at.len());
        for end in at {
            while let Some((at, step)) = steps.next_if(|(at, _)| at < end) {
                match step {
                    Step::Was(what) => story.since.push(Dated {
                        at: *at,
                        what: *what,
                    }),
                    Step::Read(read) => {
                        kept = kept.after(&self.lying, &story);
                        story = Story {
                            read: Some(read.clone()),
                            since: Vec::new(),
                        };
                    }
                }
            }
            let now = kept.after(&self.lying, &story);
            stood.push(band_of(&self.lying, &story, now));
        }
        stood
    }

    /// Its first volts in the band, or storage charge that came to its end, once it was back from the event.
    fn stored_after(&self, back: Instant) -> Option<Instant> {
        let is_after = |(at, step): &&(Instant, Step)| match step {
            Step::Read(_) => *at >= back,
            Step::Was(_) => *at > back,
        };
        let mut after = self.steps.iter().filter(is_after);
        let stores = |(at, step): &&(Instant, Step)| self.stores((*at, step), back);
        after.find(stores).map(|(at, _)| *at)
    }

    /// Whether this puts a pack to storage that is back since then.
    fn stores(&self, (at, step): (Instant, &Step), back: Instant) -> bool {
        let to_be_stored = Kept {
            back_since: Some(back),
            ..Kept::default()
        };
        let story = match step {
            Step::Read(read) => Story {
                read: Some(read.clone()),
                since: Vec::new(),
            },
            Step::Was(what @ What::Charged(_)) => Story {
                read: None,
                since: vec![Dated { at, what: *what }],
            },
            Step::Was(_) => return false,
        };
        to_be_stored.after(&self.lying, &story) == Kept::default()
    }

    /// It came back before the event was over, by a loan's end or a storage round, was put to storage, and nothing was done with it
    /// since: as the event ended it lay as it should.
    fn was_stored_within(&self, stay: Stay) -> bool {
        let (mut back, mut is_stored) = (None, false);
        for (at, step) in &self.steps {
            if *at < stay.starts || *at > stay.ends {
                continue;
            }
            match step {
                // What lies in its band stays so as it is put on a round, and as the event ends around it.
                Step::Was(What::PutOnRound) => back = back.or(Some(*at)),
                Step::Was(What::BackFromEvent | What::OnCharger) => {}
                Step::Was(What::CameBack) => (back, is_stored) = (Some(*at), false),
                Step::Was(What::Lent | What::TakenToEvent) => (back, is_stored) = (None, false),
                Step::Was(What::Charged(_)) | Step::Read(_) => {
                    is_stored = back.is_some_and(|back| self.stores((*at, step), back));
                }
            }
        }
        is_stored
    }
}

/// From the week of `from` to that of now.
pub fn weeks(from: Day, now: Instant, zone: &Zone) -> Vec<Week> {
    let days_in = i64::from(from.0.weekday().to_monday_zero_offset());
    let first = from.plus_days(-days_in);
    let week = |nth: i64| {
        let first = first.plus_days(7 * nth);
        let ends = zone.start_of(first.plus_days(7)).min(now);
        (zone.start_of(first) < now).then_some(Week { first, ends })
    };
    (0..=MOST_WEEKS).map_while(week).collect()
}

/// As each week ended.
pub fn stood(packs: &[OfPack], weeks: &[Week]) -> Vec<Counts> {
    let ends: Vec<Instant> = weeks.iter().map(|week| week.ends).collect();
    let mut counts = vec![Counts::default(); weeks.len()];
    for pack in packs {
        let stood = pack.stood(&ends).into_iter().zip(&ends);
        for ((band, end), counts) in stood.zip(&mut counts) {
            if pack.was_there(*end) {
                counts.add(band);
            }
        }
    }
    counts
}

/// Each pack with how it was there. Those that left before they were put to storage are left out. None where no pack is left.
pub fn after_event<'p>(packs: impl IntoIterator<Item = (&'p OfPack, Stay)>) -> Option<After> {
    let days = |(pack, stay): (&OfPack, Stay)| match pack.stored_after(stay.back) {
        _ if pack.was_stored_within(stay) => Some(0.0),
        Some(at) => Some((at.ms() - stay.back.ms()) as f64 / 86_400_000.0),
        None => pack.until.is_none().then_some(f64::INFINITY),
    };
    let mut all: Vec<f64> = packs.into_iter().filter_map(days).collect();
    all.sort_by(f64::total_cmp);
    let (low, high) = (
        all.get(all.len().checked_sub(1)? / 2)?,
        all.get(all.len() / 2)?,
    );
    Some(After {
        packs: all.len(),
        stored: all.iter().filter(|days| days.is_finite()).count(),
        median_days: Some((low + high) / 2.0).filter(|days| days.is_finite()),
    })
}

#[cfg(test)]
#[path = "season_tests.rs"]
mod tests;
