//! What is kept of a pack beside its latest reading, so that nobody goes through the old ones: since when
//! it lies above its storage band, and since when it is back and was not put to storage. A reading above the band does not
//! start the count anew, and no belief ends it: volts read in the band do, and a charger that is done with storage.

use super::story::{Charge, Dated, LastRead, Lying, Story, Toward, What};
use super::told::Told;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::METERS_APART_MV;
use crate::club::calendar::Instant;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// None of nickel and lead, which may lie full.
    pub above_since: Option<Instant>,
    pub back_since: Option<Instant>,
    /// As soon as it is read outside of its band: it came from an event, was put on a storage round, or lay above its band before. Who
    /// used a pack on a loan has the club's days.
    pub is_due_when_read: bool,
}

/// Where a pack's cells stand to what it is stored at. Nickel and lead: `In` from its lower end on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Band {
    Under,
    In,
    Above,
}

impl Band {
    /// By the lowest and the highest cell as they were told; lying takes none into it. One cell above is above, however little: it may
    /// be fuller than the meter said. Lithium under it by no more than meters differ is in it, or lies no worse; when it falls
    /// to its minimum is reckoned from what was read all the same. Near the lower end of the band that is five to ten points of
    /// its charge, by the resting curve.
    pub(super) fn of(lying: &Lying, told: &Told) -> Self {
        let (low, high) = (told.low_mv.likely, told.highest_mv(lying));
        let is_lithium = lying.build.chemistry.is_lithium();
        let meters_apart_mv = if is_lithium { METERS_APART_MV } else { 0 };
        if is_lithium && high > lying.limits.storage_high_mv as f64 {
            Self::Above
        } else if low + (meters_apart_mv as f64) < lying.limits.storage_low_mv as f64 {
            Self::Under
        } else {
            Self::In
        }
    }
}

impl Kept {
    /// What stands now, from what stood before the story's reading. Kept anew with each reading.
    pub fn after(self, lying: &Lying, story: &Story) -> Self {
        let mut so_far = Story::default();
        let mut kept = self;
        if let Some(read) = &story.read {
            so_far.read = Some(read.clone());
            kept = kept.after_reading(lying, read, &so_far);
        }
        for dated in &story.since {
            so_far.since.push(*dated);
            kept = kept.after_one(lying, dated, &so_far);
        }
        kept
    }

    fn after_reading(self, lying: &Lying, read: &LastRead, so_far: &Story) -> Self {
        match Told::of(lying, so_far).map(|told| Band::of(lying, &told)) {
            Some(Band::In) => Self::default(),
            Some(Band::Above) => Self {
                above_since: self.above_since.or(Some(read.at)),
                ..self
            },
            Some(Band::Under) => self.under(read.at),
            None => self,
        }
    }

    /// Brought from above its band to under it: it is not put to storage yet.
    fn under(self, at: Instant) -> Self {
        match (self.above_since, self.back_since) {
            (Some(_), None) => Self {
                above_since: None,
                back_since: Some(at),
                is_due_when_read: true,
            },
            _ => Self {
                above_since: None,
                ..self
            },
        }
    }

    fn after_one(self, lying: &Lying, dated: &Dated, so_far: &Story) -> Self {
        match &dated.what {
            What::Charged(charge) => self.after_charge(lying, charge, dated.at, so_far),
            What::Lent | What::TakenToEvent => Self {
                back_since: None,
                is_due_when_read: false,
                ..self
            },
            What::CameBack | What::BackFromEvent => Self {
                back_since: Some(dated.at),
                is_due_when_read: dated.what == What::BackFromEvent,
                ..self
            },
            What::OnCharger => self,
            // Since it came back, where it waits for that already.
            What::PutOnRound => Self {
                back_since: self.back_since.or(Some(dated.at)),
                is_due_when_read: true,
                ..self
            },
        }
    }

    fn after_charge(self, lying: &Lying, charge: &Charge, at: Instant, so_far: &Story) -> Self {
        if is_stored_by(lying.build.chemistry, charge) {
            return Self::default();
        }
        let band = Told::of(lying, so_far).map(|told| Band::of(lying, &told));
        match (band, charge.reached()) {
            (Some(Band::Above), _) => Self {
                above_since: self.above_since.or(Some(at)),
                ..self
            },
            (_, Some(Toward::Empty)) => Self {
                above_since: None,
                ..self
            },
            _ => self,
        }
    }
}

/// Lithium is stored by a storage charge, nickel and lead by a full one.
fn is_stored_by(chemistry: Chemistry, charge: &Charge) -> bool {
    match charge.reached() {
        Some(Toward::Storage) => chemistry != Chemistry::Pb,
        Some(Toward::Full) => !chemistry.is_lithium(),
        _ => false,
    }
}

#[cfg(test)]
#[path = "kept_tests.rs"]
mod tests;
