//! Take back, in two steps. First what is seen: danger is stored and dealt with at once, whatever becomes of the rest,
//! and such a pack is never asked for volts. Then the volts of the others, or why they could not be read.

use crate::actions::condition::{self, Looked};
use crate::actions::once::{self, Repeat};
use crate::actions::reading::{self, Context, Measured};
use crate::actions::standing::settle;
use crate::actions::{By, log};
use crate::store::lent::{self, Lent, Outcome};
use crate::store::packs;
use crate::store::places;
use crate::store::{Db, StoreError, Tx};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum TakeBackRefusal {
    #[error("Name at least one thing that came back.")]
    Nothing,
    #[error("That is not out any more; somebody took it back already.")]
    NotOut,
    #[error("{out} of them are out on this loan, so 1 to {out} came back.")]
    NotSoMany { out: i64 },
    #[error("Choose a place of the club.")]
    NoPlace,
    #[error("Only a quartermaster takes back.")]
    NotAQuartermaster,
    #[error("More than a day has passed; hand it out anew instead.")]
    TooLate,
    #[error("It went out again since, so its loan stays closed.")]
    OutAgain,
    #[error("Only a loan that was closed as taken back can be opened again.")]
    NotTakenBack,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What was seen on one thing that came back.
pub struct LookedAt {
    pub lent_id: Uuid,
    pub looked: Looked,
    /// Kit only: why it is set aside, empty when it is fine.
    pub kit_words: String,
    /// Adapters only: how many came back; None: all that are out on the line.
    pub counted: Option<i64>,
}

/// Stores what was seen. Packs with danger and kit are taken back by it; gives back the loan lines that still want volts.
pub async fn look(db: &Db, by: &By, all: &[LookedAt]) -> Result<Vec<Uuid>, TakeBackRefusal> {
    look_on(db, by, all, &[]).await
}

/// As `look`, going on with an errand of which the lines `earlier` are done: the answer tells of them too.
pub async fn look_on(
    db: &Db,
    by: &By,
    all: &[LookedAt],
    earlier: &[Uuid],
) -> Result<Vec<Uuid>, TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = db.write().await?;
    if let Some(repeat) = once::check(&mut tx, by).await? {
        return Err(repeat.into());
    }
    if all.is_empty() {
        return Err(TakeBackRefusal::Nothing);
    }
    let mut wants_volts = Vec::new();
    for one in all {
        let line = open_line(&mut tx, one.lent_id).await?;
        match line.pack_id {
            Some(pack_id) => {
                if look_at_pack(&mut tx, by, (&line, pack_id), &one.looked).await? {
                    wants_volts.push(line.id);
                }
            }
            None => take_kit_back(&mut tx, by, &line, one).await?,
        }
    }
    let answer = next_address(all, earlier, &wants_volts);
    once::keep(&mut tx, by, &answer).await?;
    tx.save().await?;
    Ok(wants_volts)
}

/// Where the errand goes on: to the volts that are still wanted, else to what happened.
pub fn next_address(all: &[LookedAt], earlier: &[Uuid], wants_volts: &[Uuid]) -> String {
    let list = |name: &str, ids: Vec<Uuid>| {
        ids.iter()
            .map(|id| format!("{name}={id}"))
            .collect::<Vec<_>>()
            .join("&")
    };
    let now = all.iter().map(|one| one.lent_id);
    let every = list("lent", earlier.iter().copied().chain(now).collect());
    if wants_volts.is_empty() {
        format!("/take-back/done?{every}")
    } else {
        format!(
            "/take-back/volts?{}&{every}",
            list("volts", wants_volts.to_vec())
        )
    }
}

async fn open_line(tx: &mut Tx, lent_id: Uuid) -> Result<Lent, TakeBackRefusal> {
    lent::by_id(tx, lent_id)
        .await?
        .filter(|line| line.closed_ms.is_none())
        .ok_or(TakeBackRefusal::NotOut)
}

/// True when the pack still wants its volts.
async fn look_at_pack(
    tx: &mut Tx,
    by: &By,
    line: (&Lent, Uuid),
    looked: &Looked,
) -> Result<bool, TakeBackRefusal> {
    let (line, pack_id) = line;
    let pack = packs::by_id(tx, pack_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    condition::note(tx, by, &pack, looked).await?;
    if !looked.is_danger() {
        if !looked.findings().is_empty() {
            settle(tx, by, &pack, "reported its condition").await?;
        }
        return Ok(true);
    }
    lent::close(tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
    settle(tx, by, &pack, "taken back").await?;
    Ok(false)
}

async fn take_kit_back(
    tx: &mut Tx,
    by: &By,
    line: &Lent,
    one: &LookedAt,
) -> Result<(), TakeBackRefusal> {
    let Some(kit_id) = line.kit_id else {
        return Err(TakeBackRefusal::NotOut);
    };
    match (line.counted, one.counted) {
        (Some(out), Some(back)) if !(1..=out).contains(&back) => {
            return Err(TakeBackRefusal::NotSoMany { out });
        }
        (Some(out), Some(back)) if back < out => {
            lent::set_counted(tx, line.id, out - back).await?;
        }
        _ => {
            lent::close(tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
        }
    }
    let words = one.kit_words.trim();
    if !words.is_empty() {
        crate::store::lent::set_kit_aside(tx, kit_id, (words, by.actor.id), by.at).await?;
    }
    log(
        tx,
        by,
        "taken back",
        ("kit", kit_id),
        (&Some(line.loan_id), &words),
    )
    .await?;
    Ok(())
}

/// Volts of one pack that came back.
pub struct VoltsOf {
    pub lent_id: Uuid,
    pub measured: Measured,
    pub place_id: Option<Uuid>,
}

/// Takes the packs back with their volts, all or none.
pub async fn take_back(
    db: &Db,
    by: &By,
    all: &[VoltsOf],
    answer: &str,
) -> Result<(), TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = db.write().await?;
    if let Some(repeat) = once::check(&mut tx, by).await? {
        return Err(repeat.into());
    }
    if all.is_empty() {
        return Err(TakeBackRefusal::Nothing);
    }
    for one in all {
        let line = open_line(&mut tx, one.lent_id).await?;
        let pack_id = line.pack_id.ok_or(TakeBackRefusal::NotOut)?;
        let pack = packs::by_id(&mut tx, pack_id)
            .await?
            .ok_or(TakeBackRefusal::NotOut)?;
        reading::take(
            &mut tx,
            by,
            &pack,
            &one.measured,
            Context {
                lent_id: Some(line.id),
                corrects_id: None,
            },
        )
        .await?;
        if !places::may_be_named(&mut tx, one.place_id).await? {
            return Err(TakeBackRefusal::NoPlace);
        }
        if one.place_id.is_some() {
            packs::set_place(&mut tx, pack_id, one.place_id).await?;
        }
        lent::close(&mut tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
        settle(&mut tx, by, &pack, "taken back").await?;
    }
    once::keep(&mut tx, by, answer).await?;
    tx.save().await?;
    Ok(())
}

/// Opens a loan line again that was closed by mistake, within a day, unless the thing went out since.
pub async fn reopen(db: &Db, by: &By, lent_id: Uuid) -> Result<Uuid, TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = db.write().await?;
    if let Some(repeat) = once::check(&mut tx, by).await? {
        return Err(repeat.into());
    }
    let line = lent::by_id(&mut tx, lent_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    let is_taken_back = matches!(line.outcome.as_deref(), Some("back" | "unchecked"));
    let closed = line
        .closed_ms
        .filter(|_| is_taken_back)
        .ok_or(TakeBackRefusal::NotTakenBack)?;
    if by.at > closed.plus_hours(24) {
        return Err(TakeBackRefusal::TooLate);
    }
    let pack_id = line.pack_id.ok_or(TakeBackRefusal::NotTakenBack)?;
    let latest = lent::latest_of_pack(&mut tx, pack_id).await?;
    if latest.is_none_or(|latest| latest.id != line.id) {
        return Err(TakeBackRefusal::OutAgain);
    }
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    if pack.life() != crate::club::states::Life::InUse {
        return Err(TakeBackRefusal::NotTakenBack);
    }
    lent::reopen(&mut tx, line.id).await?;
    settle(&mut tx, by, &pack, "take-back undone").await?;
    once::keep(&mut tx, by, &format!("/loans/{}", line.loan_id)).await?;
    tx.save().await?;
    Ok(line.loan_id)
}
