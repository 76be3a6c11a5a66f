//! The box of what to do with a pack that may be dangerous, as each page shows it: the lines of `club::book::stop`, and below them
//! who says so.

use crate::club::book::first_minute::LOCAL_FIRST;
use crate::club::book::source::Line;
use crate::club::book::stop::{HOT, Lies, Watch, of_pack};
use crate::club::calendar::Instant;
use crate::club::states::{Life, State};
use crate::store::care::InCare;
use crate::store::packs::PackView;
use crate::web::first_minute::Advice;
use crate::web::pack_row::PackRow;
use crate::web::visit::SignedIn;
use crate::web::words::{When, clock};
use uuid::Uuid;

pub(super) struct Stop {
    pub(super) words: String,
    /// Local rules and the fire service come first.
    pub(super) lines: Vec<Advice>,
}

impl Stop {
    pub(super) fn of(lines: &[Line]) -> Self {
        let words: Vec<&str> = lines.iter().map(|line| line.words).collect();
        Self {
            words: words.join(" "),
            lines: with_local_first(lines),
        }
    }

    /// `until`: of `watched_until`; `is_watch_on`: its watch is not over.
    pub(super) fn of_pack(pack: &PackView, until: Option<Instant>, is_watch_on: bool) -> Self {
        let lies = match pack.life() {
            Life::Lost => Lies::Lost,
            _ if pack.is_away() => Lies::Out,
            _ => Lies::Here,
        };
        let watch = match until {
            Some(_) => Watch::Watched,
            None if is_watch_on => Watch::LeftToLie,
            None => Watch::Over,
        };
        Self::of(&of_pack(lies, watch))
    }

    /// Danger was just read from a pack that lies here.
    pub(super) fn here() -> Self {
        Self::of(&of_pack(Lies::Here, Watch::Watched))
    }

    /// A pack that was just carried here.
    pub(super) fn brought() -> Self {
        Self::of(&of_pack(Lies::JustBrought, Watch::Watched))
    }

    /// Danger was just seen on a pack that is still out.
    pub(super) fn out() -> Self {
        Self::of(&of_pack(Lies::Out, Watch::Watched))
    }

    /// What was just taken or brought back, or is still out; None: no danger stands against it.
    pub(super) fn after_return(row: &PackRow) -> Option<Self> {
        let is_dangerous = row.state == State::Quarantine;
        is_dangerous.then(|| {
            if row.is_lent {
                Self::out()
            } else {
                Self::brought()
            }
        })
    }

    pub(super) fn of_anything() -> Self {
        Self::of(&[HOT])
    }
}

/// Where a dangerous pack was, as far as anybody said, and where it is to be taken.
pub(super) struct ToLie {
    /// Empty: nobody said.
    pub(super) was_at: String,
    pub(super) place: String,
    pub(super) place_id: Uuid,
    /// Nobody carries it before.
    pub(super) not_before: Option<When>,
    /// The charge that is to be ended before: by what is on record it is still on its charger.
    pub(super) charge: Option<Uuid>,
}

impl ToLie {
    /// None: it lies there, is out, or nothing stands against it.
    pub(super) fn of(care: &InCare, who: &SignedIn) -> Option<Self> {
        let (place_id, place) = care.is_to_lie()?;
        let until = watched_until(care.watched_since_ms, who);
        Some(Self {
            was_at: care.pack.place_name.clone().unwrap_or_default(),
            place: place.to_owned(),
            place_id,
            not_before: until.map(|until| clock(until, who.now, &who.zone)),
            charge: care.now.charge().map(|now| now.id),
        })
    }
}

pub(super) fn with_local_first(lines: &[Line]) -> Vec<Advice> {
    let all = [LOCAL_FIRST].into_iter().chain(lines.iter().copied());
    all.map(Advice::from).collect()
}

/// Until when somebody stays with it and nobody carries it; None: not any more, or it is not watched. `since`: when its watch began,
/// or danger was seen in it.
pub(super) fn watched_until(since: Option<Instant>, who: &SignedIn) -> Option<Instant> {
    let until = who.club.in_danger.watch.watched_until(since?);
    (who.now < until).then_some(until)
}
