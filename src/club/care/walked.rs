//! All that is on record of a pack, gone through once from its first day: what is kept beside its latest reading where nothing was
//! kept yet, or where an old reading was corrected. Comes to the same as what is kept reading by reading.

use super::cost::{Stretch, added};
use super::kept::Kept;
use super::lain::lain;
use super::story::{Dated, LastRead, Lying, Story, What};
use super::warmth::Warmth;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;

#[derive(Clone, Debug)]
pub enum Step {
    Was(What),
    Read(LastRead),
}

impl Step {
    /// At the same instant: what ended first, then what was read, then what began with that.
    const fn rank(&self) -> u8 {
        match self {
            Self::Was(What::Charged(_)) => 0,
            Self::Was(What::CameBack | What::BackFromEvent | What::PutOnRound) => 1,
            Self::Read(_) => 2,
            Self::Was(What::Lent | What::TakenToEvent | What::OnCharger) => 3,
        }
    }
}

/// What is kept of a pack, as of just before its latest reading.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Walked {
    pub kept: Kept,
    /// All days above the band until that reading.
    pub lain: Vec<Stretch>,
    /// And how warm it was meanwhile.
    pub warmth: Warmth,
    pub first_check: Option<Instant>,
}

impl Walked {
    /// On to the next reading: what happened since the one before is added.
    pub fn on_to(self, lying: &Lying, story: &Story, read: &LastRead) -> Self {
        let is_check = shows_each_cell(&lying.build, &read.volts);
        Self {
            kept: self.kept.after(lying, story),
            lain: added(self.lain, lain(self.kept, lying, story, read.at)),
            warmth: self.warmth.on_to(read.at, lying.celsius()),
            first_check: self.first_check.or(is_check.then_some(read.at)),
        }
    }
}

/// The first check is done with a reading that shows each cell, where each can be seen.
fn shows_each_cell(build: &Build, volts: &Volts) -> bool {
    matches!(volts, Volts::Cells(_)) || !build.sees_cells || build.cells_series == 1
}

pub(super) fn in_order(steps: &mut [(Instant, Step)]) {
    steps.sort_by_key(|(at, step)| (*at, step.rank()));
}

/// In any order. `was`: how warm it lay, where that was kept; else as it lies now.
pub fn walked(lying: &Lying, was: &Warmth, mut steps: Vec<(Instant, Step)>) -> Walked {
    in_order(&mut steps);
    let mut walked = Walked::default();
    let mut story = Story::default();
    for (at, step) in steps {
        match step {
            Step::Was(what) => story.since.push(Dated { at, what }),
            Step::Read(read) => {
                let lying = Lying {
                    celsius: was.at(read.at).or(lying.celsius),
                    ..*lying
                };
                walked = walked.on_to(&lying, &story, &read);
                story = Story {
                    read: Some(read),
                    since: Vec::new(),
                };
            }
        }
    }
    walked
}

#[cfg(test)]
#[path = "walked_tests.rs"]
mod tests;
