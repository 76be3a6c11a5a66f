//! The charge plan, pure: which charger, supply, cable and adapters, in which mode and at which current, and how long that
//! takes. A stop comes before everything: a pack that must not be charged gets no current at all. Parallel charging is never
//! planned. Units: mV, mA, mAh, mW, minutes, degrees Celsius. Which packs may be asked for is the club's.

pub mod asked;
mod at_most;
mod best;
mod chains;
mod current;
pub mod evening;
mod feed;
mod fits;
mod laid_out;
mod made;
mod ready;
mod stops;
mod storage;
mod times;
mod told;
mod too_much;
mod unfed;
mod wires;

pub use asked::{
    AdaptersAtHand, Asked, AtHand, CableAtHand, ChargerAtHand, ClubRules, LeftAt, Numbered, Pack,
    Purpose, Running, SupplyAtHand, Warmth, Wired,
};
pub use at_most::{AtMost, By, MILD_CELSIUS, at_most};
pub use chains::{Chain, Weakest};
pub use current::Limit;
pub use feed::{Feed, Source};
pub use stops::{Before, Way, rests_for};
pub use told::{Told, expected_words, mode_words, read_back_words, sets_volts};

use crate::battery::chemistry::Chemistry;
use crate::battery::course::Course;
use crate::bench::charger::Mode;

/// What is known about charging a pack now.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// It must not be charged or discharged; why, in sentences. No current is given.
    Stop(Vec<String>),
    /// Nobody said how warm it is.
    Ask(Vec<&'static str>),
    /// It is there already, or can't be brought there like that; in a sentence.
    Nothing(String),
    /// Best first; none may work.
    Plans {
        plans: Vec<Plan>,
        refused: Vec<Refused>,
    },
}

impl Answer {
    /// For whoever reads settings and no card: a plan at whose end nobody would be there is none, and says how long it may take.
    pub fn attended(self, purpose: Purpose) -> Self {
        let Self::Plans { plans, mut refused } = self else {
            return self;
        };
        let (there, alone): (Vec<Plan>, Vec<Plan>) = plans
            .into_iter()
            .partition(|plan| plan.is_attended(purpose));
        refused.extend(alone.into_iter().map(|plan| Refused {
            why: format!(
                "Nobody would be there when it ends: it may take {} minutes.",
                plan.course.most_minutes
            ),
            number: plan.charger.number,
        }));
        Self::Plans {
            plans: there,
            refused,
        }
    }
}

/// A thing that does not do it, and why, in a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    pub number: String,
    pub why: String,
}

/// What to do with the charger before anything is plugged in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum First {
    /// It was left at more than this pack takes.
    TurnDown {
        from_ma: i64,
    },
    /// Nobody knows what it was left at.
    Read,
    Nothing,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Caution {
    /// It ends without waiting for alike cells: the next charge is owed a balance.
    Quick,
    AboveOneC,
    /// `c_tenths`: what that leaves it, where it would be charged harder otherwise.
    Cool {
        c_tenths: Option<i64>,
        is_room_mild: bool,
    },
    Warm {
        c_tenths: Option<i64>,
    },
    TwoAdapters,
    UnratedPlug,
    /// Nobody knows which USB PD levels the charger takes: it was reckoned with at this one.
    LevelsUnknown {
        mv: i64,
    },
    /// The label's full is lower than the chemistry's: the charger must be set to end there.
    EndsLower {
        cell_mv: i64,
    },
    NoMahCutoff,
    NoTimeCutoff,
    /// Its time could not be told from its volts alone.
    TimeUnknown,
    OwesBalance,
    Nickel,
    Lead,
    StorageBySteps,
    /// Its cells differ, so that it is not brought to the usual volts: none of them is to leave its band.
    CellsApart,
    ForDisposal,
    OutOfTime,
    /// Its volts were read before it had rested.
    ReadUnrested,
}

/// One way that works. `output` counts from 0. `course` has the time for balancing in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    pub charger: Numbered,
    pub output: i64,
    pub has_outputs: i64,
    pub feed: Feed,
    pub chain: Chain,
    pub through_balance: bool,
    /// Its balance lead goes in too.
    pub has_balance_lead: bool,
    pub mode: Mode,
    pub is_balanced: bool,
    pub way: Way,
    pub current_ma: i64,
    /// Ten-thousandths of C.
    pub c_ten_thousandths: i64,
    pub target_cell_mv: i64,
    pub target_mv: i64,
    pub course: Course,
    pub is_in_time: bool,
    pub cutoff_mah: i64,
    pub cutoff_minutes: i64,
    /// From the supply, at most.
    pub drawn_mw: i64,
    pub limits: Vec<Limit>,
    pub first: First,
    /// What its output was last set to, where that is another chemistry or another count of cells.
    pub left_for: Option<(Chemistry, i64)>,
    pub cautions: Vec<Caution>,
}

/// The plans that work, best first: in time, balanced, lower current, fewer adapters, sooner, by number. One for each
/// charger. A charge that does not wait for balance is told only where no other is in time.
pub fn plan(asked: &Asked, hand: &AtHand) -> Answer {
    let way = match stops::before(asked) {
        Before::Go(way) => way,
        Before::Stop(words) => return Answer::Stop(words),
        Before::Ask(what) => return Answer::Ask(what),
        Before::Nothing(words) => return Answer::Nothing(words),
    };
    best::of_all(asked, way, hand)
}

/// In how many minutes from now the first plan could be done, where none is in the minutes asked for; None where more time
/// helps no plan, or nothing is late.
pub fn soonest(asked: &Asked, hand: &AtHand) -> Option<i64> {
    let Purpose::ReadyBy { minutes } = asked.purpose else {
        return None;
    };
    let best = |minutes: i64| match plan(&within(asked, minutes), hand) {
        Answer::Plans { plans, .. } => plans.into_iter().next(),
        _ => None,
    };
    let is_in_time = |minutes: i64| best(minutes).is_some_and(|plan| plan.is_in_time);
    let late = best(minutes).filter(|plan| !plan.is_in_time)?;
    let (mut early, mut enough) = (minutes, late.course.most_minutes.max(minutes));
    if !is_in_time(enough) {
        return None;
    }
    while early + 1 < enough {
        let middle = i64::midpoint(early, enough);
        if is_in_time(middle) {
            enough = middle;
        } else {
            early = middle;
        }
    }
    Some(enough)
}

fn within(asked: &Asked, minutes: i64) -> Asked {
    Asked {
        purpose: Purpose::ReadyBy { minutes },
        ..asked.clone()
    }
}

impl Plan {
    /// Whoever is there so long is there until it ends. What must be ready by a time may end later, with somebody there.
    pub const fn is_attended(&self, purpose: Purpose) -> bool {
        self.is_in_time || matches!(purpose, Purpose::ReadyBy { .. })
    }

    /// All that a person sets up and reads by this plan, as one text: where it differs, the card that was read is of
    /// another plan.
    pub fn as_one_text(&self) -> String {
        let source = self.feed.source.as_ref().map(|source| {
            let cable = source.cable.as_ref().map_or("-", |cable| &cable.number);
            let port = source.port.map_or(0, |port| port + 1);
            format!("{} {port} {} {cable}", source.supply.number, source.mv)
        });
        let adapters = self.chain.adapters.iter().map(|each| each.number.as_str());
        let first = match self.first {
            First::TurnDown { from_ma } => format!("down from {from_ma}"),
            First::Read => "read".to_owned(),
            First::Nothing => "-".to_owned(),
        };
        let left_for = self.left_for.map_or_else(
            || "-".to_owned(),
            |(chemistry, cells)| format!("{} {cells}", chemistry.code()),
        );
        [
            self.charger.number.clone(),
            self.output.to_string(),
            source.unwrap_or_else(|| "mains".to_owned()),
            adapters.collect::<Vec<_>>().join(" "),
            self.mode.code().to_owned(),
            self.current_ma.to_string(),
            self.target_mv.to_string(),
            self.cutoff_mah.to_string(),
            self.cutoff_minutes.to_string(),
            first,
            left_for,
        ]
        .join("/")
    }
}

#[cfg(test)]
mod tests;
