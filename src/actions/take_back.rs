//! Take back, in two steps. First what is seen: danger is stored and dealt with at once, whatever becomes of the rest,
//! and such a pack is never asked for volts. Then the volts of the others, or why they could not be read.

use crate::actions::By;
use crate::actions::arrange_places::over_limit;
use crate::actions::condition::{self, Looked, REPORTED, settle_seen};
use crate::actions::errand::Errand;
use crate::actions::kit_on_loan::{self, Back, Part};
use crate::actions::once::{self, Repeat};
use crate::actions::reading::{self, Logged, Measured};
use crate::actions::standing::{self, settle};
use crate::actions::volts_now::is_danger;
use crate::club::sighting::{TAKE_BACK_UNDONE, TAKEN_BACK};
use crate::club::undo::{self, UndoRefusal};
use crate::club::verdict::{Gravity, Rule};
use crate::store::care::rounds;
use crate::store::findings;
use crate::store::lent::{self, Lent, Outcome};
use crate::store::loans::{self, LoanLine};
use crate::store::packs::{self, PackView};
use crate::store::places::may_be_named;
use crate::store::{Conn, Db, StoreError, Tx};
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
    /// False: it is still out, and yet something is seen on it.
    pub is_here: bool,
    pub looked: Looked,
    /// Kit only: why it is set aside, empty when it is fine.
    pub kit_words: String,
    /// Adapters only: how many came back; None: all that are out on the line.
    pub counted: Option<i64>,
    /// Adapters only: how many of these are set aside; None: all that came back.
    pub to_mend: Option<i64>,
}

/// Stores what was seen. Packs with danger and kit are taken back by it. `earlier` is what was done of this errand before.
/// A line that somebody closed meanwhile keeps nobody from telling: what is seen on its pack is stored all the same.
pub async fn look(
    db: &Db,
    by: &By,
    all: &[LookedAt],
    earlier: &Errand,
) -> Result<Errand, TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = once::begin::<TakeBackRefusal>(db, by).await?;
    if all.is_empty() {
        return Err(TakeBackRefusal::Nothing);
    }
    let mut errand = earlier.clone();
    let (mut kit, mut places) = (Vec::new(), Vec::new());
    for (line, one) in with_lines(&mut tx, all, |one| one.lent_id).await? {
        if line.pack_id.is_some() {
            places.extend(look_at_pack(&mut tx, by, (&line, one), &mut errand).await?);
        } else {
            kit.push((line, one));
        }
    }
    if let Err(refusal) = take_all_kit_back(&mut tx, by, kit, &mut errand).await {
        // Danger that was seen stays on record whatever is wrong with a count.
        if !matches!(refusal, TakeBackRefusal::Store(_)) {
            tx.save().await?;
        }
        return Err(refusal);
    }
    finish(tx, by, errand, places).await
}

/// Keeps the answer, which tells of a place that holds too much now that these packs lie there.
async fn finish(
    mut tx: Tx,
    by: &By,
    mut errand: Errand,
    places: Vec<Uuid>,
) -> Result<Errand, TakeBackRefusal> {
    errand.over = over_limit(&mut tx, places).await?.or(errand.over);
    once::finish(tx, by, &errand.address()).await?;
    Ok(errand)
}

/// Each with its loan line, out or closed; what never was on a loan is passed over.
async fn with_lines<'a, T>(
    tx: &mut Tx,
    all: &'a [T],
    line_of: fn(&T) -> Uuid,
) -> Result<Vec<(Lent, &'a T)>, TakeBackRefusal> {
    let mut found = Vec::new();
    for one in all {
        let line = lent::by_id(tx, line_of(one)).await?;
        found.extend(line.map(|line| (line, one)));
    }
    if found.is_empty() {
        return Err(TakeBackRefusal::NotOut);
    }
    Ok(found)
}

/// Where the pack lies, when something was done about it; None while it is out.
async fn look_at_pack(
    tx: &mut Tx,
    by: &By,
    seen: (&Lent, &LookedAt),
    errand: &mut Errand,
) -> Result<Option<Uuid>, StoreError> {
    let (
        line,
        LookedAt {
            looked, is_here, ..
        },
    ) = seen;
    let Some(pack_id) = line.pack_id else {
        return Ok(None);
    };
    let pack = standing::reload(tx, pack_id).await?;
    let is_new = condition::note(tx, by, &pack, looked).await?;
    if line.closed_ms.is_some() {
        errand.was_back_already(line.id);
        if !looked.findings().is_empty() {
            errand.seen_late(line.id);
        }
        if !is_new {
            return Ok(None);
        }
        let after = settle_seen(tx, by, &pack, (REPORTED, looked)).await?;
        return Ok(after.place_id.filter(|_| !after.is_lent()));
    }
    errand.dealt_with(line.id);
    if !is_here {
        settle_seen(tx, by, &pack, (REPORTED, looked)).await?;
        return Ok(None);
    }
    // Danger somebody saw while it was out counts as if it were seen now: such a pack is never asked for volts.
    if is_danger_seen(tx, pack_id).await? {
        lent::close(tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
        let after = settle_seen(tx, by, &pack, (TAKEN_BACK, looked)).await?;
        return Ok(after.place_id);
    }
    errand.volts.push(line.id);
    if looked.words().is_some() {
        settle_seen(tx, by, &pack, (REPORTED, looked)).await?;
    }
    Ok(None)
}

/// Danger that somebody saw stands against the pack.
pub async fn is_danger_seen(conn: &mut Conn, pack_id: Uuid) -> Result<bool, StoreError> {
    let open = findings::open(conn, pack_id).await?;
    Ok(open.iter().any(|found| {
        matches!(found.rule(), Some(Rule::Seen(_))) && found.gravity() >= Gravity::Danger
    }))
}

async fn take_all_kit_back(
    tx: &mut Tx,
    by: &By,
    kit: Vec<(Lent, &LookedAt)>,
    errand: &mut Errand,
) -> Result<(), TakeBackRefusal> {
    for (line, one) in kit {
        if line.closed_ms.is_none() {
            errand.dealt_with(take_kit_back(tx, by, &line, one).await?);
            continue;
        }
        errand.was_back_already(line.id);
        if kit_on_loan::seen_late(tx, by, &line, (&one.kit_words, one.to_mend.or(one.counted)))
            .await?
        {
            errand.seen_late(line.id);
        }
    }
    Ok(())
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
    let part = Part::of(line, one.counted).map_err(|out| TakeBackRefusal::NotSoMany { out })?;
    let count = part.count;
    let typed = one.to_mend.filter(|_| line.counted.is_some());
    let to_mend = typed.unwrap_or(count);
    if !(1..=count).contains(&to_mend) {
        return Err(TakeBackRefusal::NotSoManyToMend { back: count });
    }
    let closed = part.line(tx).await?;
    lent::close(tx, closed, Outcome::Back, by.actor.id, by.at).await?;
    let back = Back {
        kit_id,
        lent_id: closed,
        count,
        to_mend,
        wrong: &one.kit_words,
        is_unchecked: false,
    };
    kit_on_loan::came_back(tx, by, TAKEN_BACK, back).await?;
    Ok(closed)
}

/// Volts of one pack that came back.
pub struct VoltsOf {
    pub lent_id: Uuid,
    pub measured: Measured,
    pub place_id: Option<Uuid>,
}

/// Takes the packs back with their volts. A dangerous reading is stored and its pack taken back even when another pack is
/// refused; a reading of a pack that somebody took back meanwhile is stored too.
pub async fn take_back(
    db: &Db,
    by: &By,
    all: &[VoltsOf],
    earlier: &Errand,
) -> Result<Errand, TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = once::begin::<TakeBackRefusal>(db, by).await?;
    if all.is_empty() {
        return Err(TakeBackRefusal::Nothing);
    }
    let mut errand = earlier.clone();
    let (mut others, mut places) = (Vec::new(), Vec::new());
    for (line, one) in with_lines(&mut tx, all, |one| one.lent_id).await? {
        let pack_id = line.pack_id.ok_or(TakeBackRefusal::NotOut)?;
        let pack = standing::reload(&mut tx, pack_id).await?;
        if is_danger(by, &pack, &one.measured) {
            places.extend(read_pack(&mut tx, by, (&line, &pack, one), &mut errand).await?);
        } else {
            others.push((line, pack, one));
        }
    }
    for (_, _, one) in &others {
        if !may_be_named(&mut tx, one.place_id).await? {
            tx.save().await?;
            return Err(TakeBackRefusal::NoPlace);
        }
    }
    for (line, pack, one) in others {
        places.extend(read_pack(&mut tx, by, (&line, &pack, one), &mut errand).await?);
    }
    finish(tx, by, errand, places).await
}

/// Where it lies then. A place that can't be named is passed over: what is dangerous goes to quarantine.
async fn read_pack(
    tx: &mut Tx,
    by: &By,
    what: (&Lent, &PackView, &VoltsOf),
    errand: &mut Errand,
) -> Result<Option<Uuid>, StoreError> {
    let (line, pack, one) = what;
    let volts = Logged::volts(&one.measured, true);
    if line.closed_ms.is_some() {
        errand.was_back_already(line.id);
        errand.read_late(line.id);
        if !reading::take_once(tx, by, pack, volts, pack.lent_id).await? {
            return Ok(None);
        }
        let after = settle(tx, by, pack, "logged volts").await?;
        return Ok(after.place_id.filter(|_| !after.is_lent()));
    }
    // It came back, and then it was read.
    lent::close(tx, line.id, Outcome::Back, by.actor.id, by.at).await?;
    reading::take(tx, by, pack, volts, Some(line.id)).await?;
    if one.place_id.is_some() && may_be_named(tx, one.place_id).await? {
        packs::set_place(tx, pack.id, one.place_id).await?;
    }
    errand.dealt_with(line.id);
    Ok(settle(tx, by, pack, TAKEN_BACK).await?.place_id)
}

/// Opens a loan line again that was closed by mistake. What was found on the thing stays on record. Gives back the loan.
pub async fn reopen(db: &Db, by: &By, lent_id: Uuid) -> Result<Uuid, TakeBackRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(TakeBackRefusal::NotAQuartermaster);
    }
    let mut tx = once::begin::<TakeBackRefusal>(db, by).await?;
    let line = loans::line(&mut tx, lent_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    if let Some(refusal) = undo::refusal(&line.for_undo(), by.at) {
        return Err(refusal.into());
    }
    let loan_id = line.out.loan_id;
    put_on_loan_again(&mut tx, by, &line).await?;
    once::finish(tx, by, &undone_at(loan_id)).await?;
    Ok(loan_id)
}

/// Where the page is that tells of it.
pub fn undone_at(loan_id: Uuid) -> String {
    format!("/loans/{loan_id}?undone=yes")
}

async fn put_on_loan_again(tx: &mut Tx, by: &By, line: &LoanLine) -> Result<(), TakeBackRefusal> {
    let Some(pack_id) = line.out.pack_id else {
        lent::reopen(tx, line.out.lent_id).await?;
        return Ok(kit_on_loan::out_again(tx, by, TAKE_BACK_UNDONE, line).await?);
    };
    let pack = packs::by_id(tx, pack_id)
        .await?
        .ok_or(TakeBackRefusal::NotOut)?;
    lent::reopen(tx, line.out.lent_id).await?;
    rounds::is_back_from_home(tx, pack_id, by.at).await?;
    if line.outcome() == Some(Outcome::Unchecked) {
        close_unchecked(tx, by, pack_id).await?;
    }
    settle(tx, by, &pack, TAKE_BACK_UNDONE).await?;
    Ok(())
}

/// It did not come back, so nobody has to look at it for that.
async fn close_unchecked(tx: &mut Tx, by: &By, pack_id: Uuid) -> Result<(), StoreError> {
    for found in findings::open(tx, pack_id).await? {
        if found.rule() == Some(Rule::CameBackUnchecked) {
            findings::close(tx, found.id, by.actor.id, "the take-back was undone", by.at).await?;
        }
    }
    Ok(())
}
