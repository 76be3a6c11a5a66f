//! Take back, in two steps. First what is seen: danger is stored and dealt with at once, whatever becomes of the rest,
//! and such a pack is never asked for volts. Then the volts of the others, or why they could not be read.

use crate::actions::By;
use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::condition::{self, Looked};
use crate::actions::once::{self, Repeat};
use crate::actions::reading::{self, Measured};
use crate::actions::see_to_kit::{self, Back};
use crate::actions::standing::settle;
use crate::club::undo::{self, UndoRefusal};
use crate::club::verdict::{Gravity, Rule};
use crate::store::findings;
use crate::store::lent::{self, Lent, Outcome};
use crate::store::loans::{self, LoanLine};
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
    #[error("{back} of them came back, so 1 to {back} are to mend.")]
    NotSoManyToMend { back: i64 },
    #[error("Choose a place of the club.")]
    NoPlace,
    #[error("Only a quartermaster takes back.")]
    NotAQuartermaster,
    #[error(transparent)]
    Undo(#[from] UndoRefusal),
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
    /// Adapters only: how many of these are set aside; None: all that came back.
    pub to_mend: Option<i64>,
}

/// Where the first step of an errand leads.
pub struct Step {
    /// Loan lines whose packs still want volts.
    pub wants_volts: Vec<Uuid>,
    /// The page to go on with.
    pub answer: String,
}

/// Stores what was seen. Packs with danger and kit are taken back by it. `earlier` are the lines of this errand that are
/// done already: the answer tells of them too.
pub async fn look(
    db: &Db,
    by: &By,
    all: &[LookedAt],
    earlier: &[Uuid],
) -> Result<Step, TakeBackRefusal> {
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
    let mut lines = earlier.to_vec();
    let mut wants_volts = Vec::new();
    for one in all {
        let line = open_line(&mut tx, one.lent_id).await?;
        let Some(pack_id) = line.pack_id else {
            lines.push(take_kit_back(&mut tx, by, &line, one).await?);
            continue;
        };
        if look_at_pack(&mut tx, by, (&line, pack_id), &one.looked).await? {
            wants_volts.push(line.id);
        }
        lines.push(line.id);
    }
    let answer = next_address(&lines, &wants_volts);
    once::keep(&mut tx, by, &answer).await?;
    tx.save().await?;
    Ok(Step {
        wants_volts,
        answer,
    })
}

/// Where the errand goes on: to the volts that are still wanted, else to what happened.
fn next_address(lines: &[Uuid], wants_volts: &[Uuid]) -> String {
    let list = |name: &str, ids: &[Uuid]| {
        let pairs: Vec<String> = ids.iter().map(|id| format!("{name}={id}")).collect();
        pairs.join("&")
    };
    let every = list("lent", lines);
    if wants_volts.is_empty() {
        format!("/take-back/done?{every}")
    } else {
        format!("/take-back/volts?{}&{every}", list("volts", wants_volts))
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
    // Danger somebody saw while it was out counts as if it were seen now: such a pack is never asked for volts.
    let open = findings::open(tx, pack_id).await?;
    let is_danger_seen = open.iter().any(|found| {
        matches!(found.rule(), Some(Rule::Seen(_))) && found.gravity() >= Gravity::Danger
    });
    if !is_danger_seen {
        if !looked.findings().is_empty() {
            settle(tx, by, &pack, "reported its condition").await?;
        }
        return Ok(true);
    }
    lent::close(tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
    settle(tx, by, &pack, "taken back").await?;
    Ok(false)
}

/// Gives back the line that is closed by it: a part of the adapters that are out gets one of its own.
async fn take_kit_back(
    tx: &mut Tx,
    by: &By,
    line: &Lent,
    one: &LookedAt,
) -> Result<Uuid, TakeBackRefusal> {
    let Some(kit_id) = line.kit_id else {
        return Err(TakeBackRefusal::NotOut);
    };
    let count = line.counted.map_or(1, |out| one.counted.unwrap_or(out));
    let typed = one.to_mend.filter(|_| line.counted.is_some());
    let to_mend = typed.unwrap_or(count);
    let out = line.counted.unwrap_or(1);
    if !(1..=out).contains(&count) {
        return Err(TakeBackRefusal::NotSoMany { out });
    }
    if !(1..=count).contains(&to_mend) {
        return Err(TakeBackRefusal::NotSoManyToMend { back: count });
    }
    let closed = if count < out {
        lent::split_off(tx, line, count).await?
    } else {
        line.id
    };
    lent::close(tx, closed, Outcome::Back, by.actor.id, by.at).await?;
    let back = Back {
        kit_id,
        lent_id: closed,
        count,
        to_mend,
        wrong: &one.kit_words,
        is_unchecked: false,
    };
    see_to_kit::came_back(tx, by, "taken back", back).await?;
    Ok(closed)
}

/// Volts of one pack that came back.
pub struct VoltsOf {
    pub lent_id: Uuid,
    pub measured: Measured,
    pub place_id: Option<Uuid>,
}

/// Takes the packs back with their volts, all or none. Gives back `answer`, telling of a place that holds too much.
pub async fn take_back(
    db: &Db,
    by: &By,
    all: &[VoltsOf],
    answer: &str,
) -> Result<String, TakeBackRefusal> {
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
        reading::take(&mut tx, by, &pack, &one.measured, Some(line.id)).await?;
        if !places::may_be_named(&mut tx, one.place_id).await? {
            return Err(TakeBackRefusal::NoPlace);
        }
        if one.place_id.is_some() {
            packs::set_place(&mut tx, pack_id, one.place_id).await?;
        }
        lent::close(&mut tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
        settle(&mut tx, by, &pack, "taken back").await?;
    }
    let named = all.iter().filter_map(|one| one.place_id);
    let answer = telling_of(answer, over_limit(&mut tx, named).await?);
    once::keep(&mut tx, by, &answer).await?;
    tx.save().await?;
    Ok(answer)
}

/// Opens a loan line again that was closed by mistake. What was found on the thing stays on record. Gives back the loan.
pub async fn reopen(db: &Db, by: &By, lent_id: Uuid) -> Result<Uuid, TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = db.write().await?;
    if let Some(repeat) = once::check(&mut tx, by).await? {
        return Err(repeat.into());
    }
    let line = loans::line(&mut tx, lent_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    if let Some(refusal) = undo::refusal(&line.for_undo(), by.at) {
        return Err(refusal.into());
    }
    let loan_id = line.out.loan_id;
    put_on_loan_again(&mut tx, by, &line).await?;
    once::keep(&mut tx, by, &undone_at(loan_id)).await?;
    tx.save().await?;
    Ok(loan_id)
}

/// Where the page is that tells of it.
pub fn undone_at(loan_id: Uuid) -> String {
    format!("/loans/{loan_id}?undone=yes")
}

async fn put_on_loan_again(tx: &mut Tx, by: &By, line: &LoanLine) -> Result<(), TakeBackRefusal> {
    const VERB: &str = "take-back undone";
    let Some(pack_id) = line.out.pack_id else {
        lent::reopen(tx, line.out.lent_id).await?;
        return Ok(see_to_kit::out_again(tx, by, VERB, line).await?);
    };
    let pack = packs::by_id(tx, pack_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    lent::reopen(tx, line.out.lent_id).await?;
    settle(tx, by, &pack, VERB).await?;
    Ok(())
}
