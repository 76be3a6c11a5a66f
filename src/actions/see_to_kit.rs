//! Kit that is not as it should be: set aside with a reason, mended with a reason, and out of the pool for good (or
//! lost, and found again). Kit set aside enters no loan; what is out on one can be set aside, not taken out of the pool.

use crate::actions::keep_kit::{Address, KitRefusal, begin, finish, keep, load, told};
use crate::actions::{By, log};
use crate::club::kit::{may_become, reason};
use crate::club::states::Life;
use crate::store::kit::{self, Kit};
use crate::store::{Db, StoreError, Tx};
use uuid::Uuid;

pub async fn set_aside(db: &Db, by: &By, id: Uuid, why: &str) -> Result<Address, KitRefusal> {
    let why = reason(why).ok_or(KitRefusal::NeedsReason)?;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if before.life() != Life::InUse {
        return Err(no_way(&before, "set aside"));
    }
    if let Some(words) = &before.set_aside_words {
        return Err(KitRefusal::AlreadySetAside(words.clone()));
    }
    let after = Kit {
        set_aside_words: Some(why),
        set_aside_ms: Some(by.at),
        set_aside_by: Some(by.actor.id),
        ..before.clone()
    };
    kit::save(&mut tx, &after).await?;
    let words = ("set it aside", "set-aside");
    finish(tx, by, words, (Some(&before), &after), None).await
}

pub async fn mend(db: &Db, by: &By, id: Uuid, what_was_done: &str) -> Result<Address, KitRefusal> {
    let done = reason(what_was_done).ok_or(KitRefusal::NeedsReason)?;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if !before.is_set_aside() {
        return Err(KitRefusal::NotSetAside);
    }
    let after = Kit {
        set_aside_words: None,
        set_aside_ms: None,
        set_aside_by: None,
        ..before.clone()
    };
    kit::save(&mut tx, &after).await?;
    let words = ("mended it", "mended");
    finish(tx, by, words, (Some(&before), &after), Some(&done)).await
}

/// Retired, lost, given away, withdrawn; or in use again, for what was lost.
pub async fn end_life(
    db: &Db,
    by: &By,
    id: Uuid,
    next: Life,
    why: &str,
) -> Result<Address, KitRefusal> {
    let why = reason(why).ok_or(KitRefusal::NeedsReason)?;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if !may_become(before.life(), next) {
        return Err(no_way(&before, &next.label().to_lowercase()));
    }
    let out = kit::out_count(&mut tx, id).await?;
    if out > 0 {
        return Err(KitRefusal::Out(out));
    }
    let after = Kit {
        life: next.code().to_owned(),
        ..before.clone()
    };
    kit::save(&mut tx, &after).await?;
    let verb = match next {
        Life::InUse => "found it again",
        Life::Retired => "retired it",
        Life::Lost => "noted it lost",
        Life::GivenAway => "gave it away",
        Life::Withdrawn => "withdrew it",
    };
    let words = (verb, format!("/kit/{id}/gone"));
    keep(tx, by, words, (Some(&before), &after), Some(&why)).await
}

/// It came back from a loan: what is wrong with it sets it aside, and the log tells.
pub(super) async fn came_back(
    tx: &mut Tx,
    by: &By,
    what: (Uuid, Uuid),
    said: (&str, &str),
) -> Result<(), StoreError> {
    let ((kit_id, loan_id), (verb, wrong)) = (what, said);
    let wrong = wrong.trim();
    if !wrong.is_empty() {
        kit::set_aside(tx, kit_id, (wrong, by.actor.id), by.at).await?;
    }
    log(tx, by, verb, ("kit", kit_id), (&Some(loan_id), &wrong)).await
}

/// Lost while it was out: a thing with a number is lost, of counted ones (`lost.0`) the club owns so many fewer.
pub(super) async fn lost_on_loan(
    tx: &mut Tx,
    by: &By,
    before: &Kit,
    lost: (Option<i64>, &str),
) -> Result<(), StoreError> {
    let (counted, why) = lost;
    let mut after = before.clone();
    match counted {
        Some(count) => after.owned_count = (before.owned_count - count).max(0),
        None => after.life = Life::Lost.code().to_owned(),
    }
    kit::save(tx, &after).await?;
    let was = told(tx, before).await?;
    let mut now = told(tx, &after).await?;
    now["reason"] = why.into();
    log(tx, by, "noted it lost", ("kit", before.id), (&was, &now)).await
}

fn no_way(kit: &Kit, next: &str) -> KitRefusal {
    KitRefusal::NoWay {
        now: kit.life().label().to_lowercase(),
        next: next.to_owned(),
    }
}
