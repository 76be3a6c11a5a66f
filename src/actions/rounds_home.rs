//! Who takes an unfinished pack of a storage round home, by which day it is to be done, and that it is back. It goes home with nobody
//! to whom it would not be lent: the rules are those of lending.

use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::at_table::at_table;
use crate::actions::care_at_table::person_refusal;
use crate::actions::hand_out::borrower_from;
use crate::actions::rounds::{RoundRefusal, begin, finish, on_round, open_round, stands};
use crate::actions::standing::settle;
use crate::actions::{By, care};
use crate::club::calendar::{Day, Instant};
use crate::club::care::enforced::goes_out;
use crate::club::lending::{self, Borrower, HandOutRefusal};
use crate::club::sighting::BACK_FROM_HOME;
use crate::club::storage_round::{HomeRefusal, home_refusal};
use crate::store::care::{InCare, held_by, rounds};
use crate::store::{Db, packs, people, places};
use uuid::Uuid;

/// Somebody takes it home to finish it there, by a day.
pub async fn take_home(
    db: &Db,
    by: &By,
    (id, number): (Uuid, &str),
    (person, until): (Option<Uuid>, Option<Day>),
) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    open_round(&mut tx, id).await?;
    let one = on_round(&mut tx, id, number).await?;
    let today = by.zone.day_of(by.at);
    if let Some(refusal) = home_refusal(stands(&one, by), until, today) {
        return Err(refusal.into());
    }
    let (Some(person), Some(until)) = (person, until) else {
        return Err(HomeRefusal::NoPerson.into());
    };
    let taker = people::borrower(&mut tx, person, today).await?;
    let taker = borrower_from(taker.ok_or(HomeRefusal::NoPerson)?);
    let held = held_by(&mut tx, person).await?;
    let mut against = against_person(by, &taker, &held);
    against.extend(against_pack(by, (&one.care, one.added_ms), person));
    if !against.is_empty() {
        return Err(RoundRefusal::NotLent(against));
    }
    let before = &one.care.pack;
    care::anew(&mut tx, by, before.id).await?;
    let until = until.to_string();
    rounds::take_home(&mut tx, (id, before.id), (person, &until), by.at).await?;
    settle(&mut tx, by, before, "taken home to put to storage").await?;
    finish(tx, by, &format!("/storage-rounds/{id}?done=home")).await
}

/// What keeps this person from taking anything home.
pub fn against_person(by: &By, taker: &Borrower, held: &[InCare]) -> Vec<HandOutRefusal> {
    let own_care = || person_refusal(by, (taker.id, &taker.name), held).map(HandOutRefusal::Care);
    let refusal = lending::borrower_refusal(taker).or_else(own_care);
    refusal.into_iter().collect()
}

/// What keeps this pack here that was put on its round then. Whoever has it at home already may be given another day. Past its
/// storage limit it goes on volts that were read for the round: it goes to be put to storage.
pub fn against_pack(by: &By, (one, added): (&InCare, Instant), taker: Uuid) -> Vec<HandOutRefusal> {
    let pack = match one.pack.home_id == Some(taker) {
        true => one.pack.as_if_here(),
        false => one.pack.clone(),
    };
    let number = pack.number.clone();
    let charging = one.now.charge().map(|now| HandOutRefusal::Charging {
        number: number.clone(),
        charger: now.charger_number,
        pack: number.clone(),
    });
    let state = lending::pack_refusal(&at_table(by, &pack, None));
    let on_record = one.on_record(&by.limits(), by.at);
    let is_read = one.pack.last_read_ms.is_some_and(|at| at >= added);
    let stored = goes_out(&number, &on_record, &by.club.care(), by.at).err();
    let stored = stored.filter(|_| !is_read);
    let all = [state, charging, stored.map(HandOutRefusal::Care)];
    all.into_iter().flatten().collect()
}

/// It lies at a place of the club again. Volts alone do not say so: whoever has it reads it at home.
pub async fn is_back(
    db: &Db,
    by: &By,
    number: &str,
    place: Option<Uuid>,
) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    let pack = packs::by_number(&mut tx, number).await?;
    let pack = pack.ok_or_else(|| RoundRefusal::NoPack(number.to_owned()))?;
    if !pack.is_at_home() {
        return Err(RoundRefusal::NotAtHome(pack.number));
    }
    if place.is_none() || !places::may_be_named(&mut tx, place).await? {
        return Err(RoundRefusal::NoPlace);
    }
    rounds::is_back_from_home(&mut tx, pack.id, by.at).await?;
    packs::set_place(&mut tx, pack.id, place).await?;
    settle(&mut tx, by, &pack, BACK_FROM_HOME).await?;
    let over = over_limit(&mut tx, place).await?;
    finish(
        tx,
        by,
        &telling_of(&format!("/packs/{}", pack.number), over),
    )
    .await
}
