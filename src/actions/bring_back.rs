//! A member brings back alone: the loan is closed and the pack counts as not known until somebody at the table looked.
//! One that is watched stays where it lies, but for a quartermaster, before whom it stands all the same. Danger seen quarantines it at once; kit waits unchecked to be looked over, and with something wrong it is set aside.

use crate::actions::condition::{self, Looked, REPORTED, settle_seen};
use crate::actions::kit_on_loan::{self, Back, Part};
use crate::actions::once::{self, Repeat};
use crate::actions::{By, report, standing, watching};
use crate::club::verdict::Finding;
use crate::store::lent::{self, Lent, Outcome};
use crate::store::packs;
use crate::store::{Db, StoreError, Tx, loans, people};
use uuid::Uuid;

const UNCHECKED: &str = "brought back, unchecked";

#[derive(Debug, thiserror::Error)]
pub enum BringBackRefusal {
    #[error("That is not on a loan of yours.")]
    NotYours,
    #[error("Tick what you see; 'nothing to see' is an answer.")]
    NothingTicked,
    #[error(
        "Danger stands against it, and nobody carries it while it is watched: leave it where it lies.{} It may be brought back once its page says so.",
        if *is_stored { " What you see on it is stored." } else { "" }
    )]
    Watched { is_stored: bool },
    #[error("It was off the loan already; what you see on it is stored.")]
    WasBack,
    #[error("{out} of them are with you, so bring back 1 to {out}.")]
    NotSoMany { out: i64 },
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What a member brings, and says of it.
pub struct Brought<'a> {
    pub looked: Looked,
    /// Kit only: what is wrong with it; empty when it is fine.
    pub kit_words: &'a str,
    /// Adapters only: how many; None: all that are out on the line.
    pub counted: Option<i64>,
}

/// Gives back the line that is closed by it: a part of the adapters gets one of its own.
pub async fn bring_back(
    db: &Db,
    by: &By,
    lent_id: Uuid,
    brought: &Brought<'_>,
) -> Result<Uuid, BringBackRefusal> {
    let Brought {
        looked,
        kit_words,
        counted,
    } = brought;
    if looked.seen.is_empty() {
        return Err(BringBackRefusal::NothingTicked);
    }
    let mut tx = once::begin::<BringBackRefusal>(db, by).await?;
    let line = lent::by_id(&mut tx, lent_id)
        .await?
        .ok_or(BringBackRefusal::NotYours)?;
    if !is_theirs(&mut tx, by, &line).await? {
        return Err(BringBackRefusal::NotYours);
    }
    if line.closed_ms.is_some() {
        if !seen_late(&mut tx, by, &line, brought).await? {
            return Err(BringBackRefusal::NotYours);
        }
        once::finish(tx, by, &late_at(lent_id)).await?;
        return Err(BringBackRefusal::WasBack);
    }
    if let Some(pack_id) = line.pack_id
        && !by.actor.roles.is_quartermaster
        && watching::is_watched(&mut tx, by, pack_id).await?
    {
        let is_stored = stays_there(&mut tx, by, pack_id, looked).await?;
        // Sent again, it is stored once, and brings nothing back either.
        once::finish(tx, by, &format!("/mine/{lent_id}/bring-back")).await?;
        return Err(BringBackRefusal::Watched { is_stored });
    }
    let part = Part::of(&line, *counted).map_err(|out| BringBackRefusal::NotSoMany { out })?;
    let lent_id = part.line(&mut tx).await?;
    lent::close(&mut tx, lent_id, Outcome::Unchecked, by.actor.id, by.at).await?;
    if let Some(pack_id) = line.pack_id {
        let pack = packs::by_id(&mut tx, pack_id)
            .await?
            .ok_or(BringBackRefusal::NotYours)?;
        condition::note(&mut tx, by, &pack, looked).await?;
        standing::find(&mut tx, by, &pack, &Finding::came_back_unchecked(), None).await?;
        if looked.is_danger() || pack.is_quarantined() {
            standing::put_in_quarantine(&mut tx, &pack).await?;
        }
        settle_seen(&mut tx, by, &pack, (UNCHECKED, looked)).await?;
    }
    if let Some(kit_id) = line.kit_id {
        let back = Back {
            kit_id,
            lent_id,
            count: part.count,
            to_mend: part.count,
            wrong: kit_words,
            is_unchecked: true,
        };
        kit_on_loan::came_back(&mut tx, by, UNCHECKED, back).await?;
    }
    once::finish(tx, by, &format!("/mine/{lent_id}/brought-back")).await?;
    Ok(lent_id)
}

/// On a loan of their own, or of somebody they answer for.
async fn is_theirs(tx: &mut Tx, by: &By, line: &Lent) -> Result<bool, StoreError> {
    let Some(loan) = loans::by_id(tx, line.loan_id).await? else {
        return Ok(false);
    };
    let holder = people::by_id(tx, loan.borrower_id).await?;
    let answers_for = holder.and_then(|holder| holder.responsible_id);
    let me = by.actor.id;
    Ok(loan.borrower_id == me || answers_for == Some(me))
}

/// Where the page is that tells so.
pub fn late_at(lent_id: Uuid) -> String {
    format!("/mine/{lent_id}/brought-back?late=yes")
}

/// Somebody booked it in meanwhile, or passed it on: what is seen on it is stored all the same. True where something was.
async fn seen_late(
    tx: &mut Tx,
    by: &By,
    line: &Lent,
    brought: &Brought<'_>,
) -> Result<bool, StoreError> {
    let Some(pack_id) = line.pack_id else {
        let what = (brought.kit_words, brought.counted);
        return kit_on_loan::seen_late(tx, by, line, what).await;
    };
    match packs::by_id(tx, pack_id).await? {
        Some(pack) if report::is_gone(tx, &pack).await? => Ok(false),
        _ => stays_there(tx, by, pack_id, &brought.looked).await,
    }
}

/// It is not brought; what is seen on it is stored all the same. True where something was.
async fn stays_there(
    tx: &mut Tx,
    by: &By,
    pack_id: Uuid,
    looked: &Looked,
) -> Result<bool, StoreError> {
    let pack = packs::by_id(tx, pack_id).await?;
    let Some(pack) = pack.filter(|_| !looked.findings().is_empty()) else {
        return Ok(false);
    };
    condition::note(tx, by, &pack, looked).await?;
    settle_seen(tx, by, &pack, (REPORTED, looked)).await?;
    Ok(true)
}
