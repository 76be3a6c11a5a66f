//! What storage care says as something goes out, stays out or is passed on: a pack past its limit goes only on volts of now, and who is
//! overdue with own storage care borrows nothing more. Asked inside the turn to write, after volts that come with the form.

use crate::actions::By;
use crate::club::calendar::{Day, Instant};
use crate::club::care::due::due;
use crate::club::care::enforced::{
    CareRefusal, Held, MayBorrow, Override, goes_out, is_looked_at, may_borrow,
};
use crate::club::lending::{Borrower, HandOutRefusal};
use crate::store::care::{self, InCare};
use crate::store::{Result, Tx};
use std::collections::BTreeMap;
use uuid::Uuid;

/// What is refused, and what is to be said of each pack that goes all the same.
#[derive(Debug, Default)]
pub(super) struct Care {
    /// What is due for what the borrower has.
    held: Vec<Held>,
    borrower: String,
    is_own: bool,
    stopped: BTreeMap<Uuid, CareRefusal>,
    warnings: BTreeMap<Uuid, String>,
}

/// `packs`: those that nothing graver keeps here.
pub(super) async fn weigh(
    tx: &mut Tx,
    by: &By,
    borrower: &Borrower,
    packs: &[Uuid],
) -> Result<Care> {
    let mut care = Care {
        held: held(tx, by, borrower.id).await?,
        borrower: borrower.name.clone(),
        is_own: borrower.is_own_of(by.actor),
        ..Care::default()
    };
    for one in care::among(tx, packs).await? {
        let on_record = one.on_record(&by.limits(), by.at);
        let number = &one.pack.number;
        let goes = is_looked_at(number, &on_record);
        match goes.and_then(|()| goes_out(number, &on_record, &by.club.care(), by.at)) {
            Ok(warning) => care
                .warnings
                .extend(warning.map(|words| (one.pack.id, words))),
            Err(refusal) => {
                care.stopped.insert(one.pack.id, refusal);
            }
        }
    }
    Ok(care)
}

/// What a person's own storage care says, from all that somebody has: as at the table, without anything to override it.
pub fn person_refusal(by: &By, (id, name): (Uuid, &str), held: &[InCare]) -> Option<CareRefusal> {
    let due = due_of(by, id, held);
    may_borrow(name, &due, &by.club.care(), by.at, None).err()
}

/// What is due for what this person has; what those have whom they answer for is not their own care.
async fn held(tx: &mut Tx, by: &By, person_id: Uuid) -> Result<Vec<Held>> {
    let all = care::held_by(tx, person_id).await?;
    Ok(due_of(by, person_id, &all))
}

fn due_of(by: &By, person_id: Uuid, all: &[InCare]) -> Vec<Held> {
    let own = all
        .iter()
        .filter(|one| one.holder().is_some_and(|held| held.person == person_id));
    let due_of = |one: &InCare| {
        let on_record = one.on_record(&by.limits(), by.at);
        let number = one.pack.number.clone();
        let all = due(&on_record, &by.club.care(), by.at, &by.zone).into_iter();
        let theirs_from = theirs_from(by, one);
        all.map(move |due| Held {
            number: number.clone(),
            due,
            theirs_from,
        })
    };
    own.flat_map(due_of).collect()
}

/// From when what is due for it is the care of whoever has it: since they got it; at home since the agreed day is over, which is later.
fn theirs_from(by: &By, one: &InCare) -> Instant {
    let agreed = one.pack.home_by.as_deref().and_then(Day::parse);
    let agreed = agreed.map(|day| by.zone.end_of(day));
    one.pack.lent_ms.or(agreed).unwrap_or_default()
}

impl Care {
    fn person(
        &self,
        by: &By,
        wanted: Option<Override<'_>>,
    ) -> std::result::Result<MayBorrow, CareRefusal> {
        may_borrow(&self.borrower, &self.held, &by.club.care(), by.at, wanted)
    }

    /// Every refusal, of the person first.
    pub(super) fn refusals(&self, by: &By) -> Vec<(HandOutRefusal, Option<i64>)> {
        let person = self.person(by, None).err();
        let all = person.into_iter().chain(self.stopped.values().cloned());
        all.map(|refusal| (HandOutRefusal::Care(refusal), None))
            .collect()
    }

    /// Volts of now would let it go.
    pub(super) fn waits_for_volts(&self, pack_id: Uuid) -> bool {
        self.stopped.contains_key(&pack_id)
    }

    /// What is kept with the loan of everything that goes: why the person borrows all the same, or the club's warning.
    pub(super) fn person_words(&self, by: &By, reason: &str) -> Option<String> {
        let wanted = Override {
            actor: by.actor,
            is_own: self.is_own,
            reason,
        };
        match self.person(by, Some(wanted)) {
            Ok(MayBorrow::Warned(words) | MayBorrow::Overridden(words)) => Some(words),
            _ => None,
        }
    }

    pub(super) fn warning(&self, pack_id: Uuid) -> Option<&str> {
        self.warnings.get(&pack_id).map(String::as_str)
    }
}

/// Sentences that are kept together.
pub(super) fn joined(all: impl IntoIterator<Item = Option<String>>) -> Option<String> {
    let all: Vec<String> = all.into_iter().flatten().collect();
    (!all.is_empty()).then(|| all.join("; "))
}
