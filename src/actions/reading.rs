//! Log volts: a reading is stored with what was said beside it, and the pack settled. What it comes to is `weighing`, what
//! corrects a wrong one is `correction`, many at once are `reading_round`.

use crate::actions::By;
use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::correction::{self, Correction};
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Change};
use crate::battery::volts::Volts;
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Instant;
use crate::club::reading::Rested;
use crate::club::reading::beside::Beside;
use crate::club::sighting::READING_CORRECTED;
use crate::club::states::Life;
use crate::club::verdict::Rule;
use crate::ids;
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::readings::{self, Reading};
use crate::store::{Db, Result, StoreError, Tx, charges};
use uuid::Uuid;

pub(super) mod apart;
mod weighing;
pub use weighing::verdict;
pub(super) use weighing::{
    beside_it, health_of, say_again, verdict_of, weigh, weigh_anew, weigh_together,
};

/// What the meter said, or why it said nothing.
#[derive(Clone, Debug)]
pub enum Measured {
    Read {
        volts: Volts,
        rested: Rested,
        is_confirmed: bool,
    },
    Unread {
        why: String,
    },
}

impl Measured {
    /// Its volts as they are stored; empty: it said none.
    pub fn as_kept(&self) -> String {
        match self {
            Self::Read { volts, .. } => volts.to_text(),
            Self::Unread { .. } => String::new(),
        }
    }
}

/// What was read then. Nothing has rested for longer than since it was last charged, discharged or read just used, whatever was
/// said; while it charges it has not rested at all.
pub(super) async fn as_it_was(
    tx: &mut Tx,
    pack: &PackView,
    (measured, at): (&Measured, Instant),
) -> Result<Measured> {
    let Measured::Read {
        volts,
        rested: Rested::Minutes(said),
        is_confirmed,
    } = measured
    else {
        return Ok(measured.clone());
    };
    let used = charges::last_used(tx, pack.id, at).await?;
    let since = used.map_or(i64::MAX, |used| at.minutes_since(used));
    Ok(Measured::Read {
        volts: volts.clone(),
        rested: Rested::of_minutes(since.min(*said)),
        is_confirmed: *is_confirmed,
    })
}

#[derive(Debug, thiserror::Error)]
pub enum LogVoltsRefusal {
    #[error("There is no such pack.")]
    NoPack,
    #[error("It is retired or gone; nothing more is logged on it.")]
    Gone,
    #[error("The reading to correct is not one of this pack's.")]
    OtherReading,
    #[error("That reading was corrected already. Correct the newer one.")]
    Corrected,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

const LOGGED: &str = "logged volts";

impl LogVoltsRefusal {
    /// The field of the form that it is about.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::OtherReading | Self::Corrected => "corrects",
            _ => "volts_line",
        }
    }
}

impl Refusal for LogVoltsRefusal {
    fn against(&self) -> Against {
        match self {
            Self::Gone | Self::Corrected => Against::Rule,
            _ => Against::Typed,
        }
    }
}

/// What a person logs on a pack's own page, or on that of many.
#[derive(Clone, Copy)]
pub struct Logged<'a> {
    pub measured: &'a Measured,
    /// What was read and said beside the volts.
    pub beside: Option<&'a Beside>,
    /// The reading it stands in place of.
    pub corrects: Option<Correction<'a>>,
    /// They looked it over and saw nothing: what came back unchecked is known only then.
    pub is_looked_over: bool,
}

impl<'a> Logged<'a> {
    /// Volts alone, read while the pack was in hand.
    pub const fn volts(measured: &'a Measured, is_looked_over: bool) -> Self {
        Self {
            measured,
            beside: None,
            corrects: None,
            is_looked_over,
        }
    }
}

/// A pack before and after its reading was logged, and which that is.
pub(super) struct LoggedOn {
    pub before: PackView,
    pub after: PackView,
    pub reading_id: Uuid,
}

/// Logs volts on a pack; gives back where its page is.
pub async fn log_volts(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    logged: Logged<'_>,
) -> std::result::Result<String, LogVoltsRefusal> {
    let mut tx = once::begin::<LogVoltsRefusal>(db, by).await?;
    let pack = to_be_read(&mut tx, pack_id).await?;
    let stored = store(&mut tx, by, &pack, logged).await?;
    let done = settled(&mut tx, by, pack, (logged, stored)).await?;
    let answer = answer_after(&mut tx, &done.before, &done.after).await?;
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// Of a form that is refused for what stands beside dangerous volts: stores the volts with what of it can be kept. Gives back
/// the reading, which the form put right corrects.
pub async fn keep_danger(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    logged: Logged<'_>,
) -> std::result::Result<Uuid, LogVoltsRefusal> {
    let mut tx = db.write().await?;
    let done = log_once(&mut tx, by, pack_id, logged).await?;
    tx.save().await?;
    Ok(done.reading_id)
}

/// Logs it, unless the same measurement was sent before.
pub(super) async fn log_once(
    tx: &mut Tx,
    by: &By,
    pack_id: Uuid,
    logged: Logged<'_>,
) -> std::result::Result<LoggedOn, LogVoltsRefusal> {
    let pack = to_be_read(tx, pack_id).await?;
    let before = match logged.corrects {
        Some(_) => None,
        None => taken_before(tx, by, &pack, &logged).await?,
    };
    if let Some(reading_id) = before {
        return Ok(LoggedOn {
            before: pack.clone(),
            after: pack,
            reading_id,
        });
    }
    let stored = store(tx, by, &pack, logged).await?;
    settled(tx, by, pack, (logged, stored)).await
}

async fn to_be_read(tx: &mut Tx, pack_id: Uuid) -> std::result::Result<PackView, LogVoltsRefusal> {
    let pack = packs::by_id(tx, pack_id)
        .await?
        .ok_or(LogVoltsRefusal::NoPack)?;
    if pack.life() == Life::InUse {
        Ok(pack)
    } else {
        Err(LogVoltsRefusal::Gone)
    }
}

/// As a reading of its own, or in place of the one it corrects: which it is, and what the log tells of it.
async fn store(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    logged: Logged<'_>,
) -> std::result::Result<(Uuid, String), LogVoltsRefusal> {
    if let Some(correction) = logged.corrects {
        return correction::correct(tx, by, pack, (logged, correction.id)).await;
    }
    let reading_id = take(tx, by, pack, logged, pack.lent_id).await?;
    let told = logged.beside.map_or_else(String::new, Beside::words);
    Ok((reading_id, told))
}

/// The pack weighed anew, and the log told.
async fn settled(
    tx: &mut Tx,
    by: &By,
    before: PackView,
    (logged, stored): (Logged<'_>, (Uuid, String)),
) -> std::result::Result<LoggedOn, LogVoltsRefusal> {
    let (reading_id, told) = stored;
    let is_correction = logged.corrects.is_some();
    let why = logged.corrects.map(|correction| correction.why.trim());
    let change = Change {
        verb: if is_correction {
            READING_CORRECTED
        } else {
            LOGGED
        },
        about: Some(told.as_str()).filter(|told| !told.is_empty()),
        reason: why.filter(|why| !why.is_empty()),
        ..Change::default()
    };
    let after = standing::settle_as(tx, by, &before, change).await?;
    Ok(LoggedOn {
        before,
        after,
        reading_id,
    })
}

/// Stores the reading and what it comes to; the caller settles the pack. `lent_id`: the loan line it was taken at.
pub(crate) async fn take(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    logged: Logged<'_>,
    lent_id: Option<Uuid>,
) -> Result<Uuid> {
    let measured = as_it_was(tx, pack, (logged.measured, by.at)).await?;
    let logged = Logged {
        measured: &measured,
        ..logged
    };
    let reading = Reading {
        lent_id,
        ..reading_of(by, pack, &logged)
    };
    readings::add(tx, &reading).await?;
    weigh(
        tx,
        by,
        pack,
        (logged.measured, logged.is_looked_over),
        &reading,
    )
    .await?;
    Ok(reading.id)
}

/// As `take`, unless it was taken before: then nothing is stored, and it is false.
pub(crate) async fn take_once(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    logged: Logged<'_>,
    lent_id: Option<Uuid>,
) -> Result<bool> {
    if taken_before(tx, by, pack, &logged).await?.is_some() {
        return Ok(false);
    }
    take(tx, by, pack, logged, lent_id).await?;
    Ok(true)
}

/// It came back, or was found again, and nobody at the table has looked at it.
pub(super) async fn is_unchecked(tx: &mut Tx, pack_id: Uuid) -> Result<bool> {
    let is_it = |found: &Found| found.rule() == Some(Rule::CameBackUnchecked);
    Ok(findings::open(tx, pack_id).await?.iter().any(is_it))
}

/// The same by the same person a few minutes before is the same measurement, sent again. Not so when something was done with the pack
/// since, as it came back or was put on a storage round, or when with it somebody looks over what came back unchecked.
async fn taken_before(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    logged: &Logged<'_>,
) -> Result<Option<Uuid>> {
    const SAME_FOR_MINUTES: i64 = 15;
    let new = reading_of(by, pack, logged);
    let is_same = |old: &Reading| {
        old.by_id == new.by_id
            && (&old.volts, &old.unread_words) == (&new.volts, &new.unread_words)
            && logged.beside.is_none_or(|beside| old.beside() == *beside)
            && by.at.minutes_since(old.taken_ms) < SAME_FOR_MINUTES
            && pack.seen_ms <= old.taken_ms
    };
    if logged.is_looked_over && is_unchecked(tx, pack.id).await? {
        return Ok(None);
    }
    let latest = readings::latest(tx, pack.id, 1).await?;
    let Some(old) = latest.into_iter().find(is_same) else {
        return Ok(None);
    };
    // It had rested for as long as it had then: by now it may have for longer.
    let measured = as_it_was(tx, pack, (logged.measured, old.taken_ms)).await?;
    let is_rested_alike = old.rested_minutes == rested_of(&measured).minutes();
    Ok(is_rested_alike.then_some(old.id))
}

/// The pack's page, telling of the place it was brought to when that holds more energy than it may.
pub(super) async fn answer_after(
    tx: &mut Tx,
    before: &PackView,
    after: &PackView,
) -> Result<String> {
    let newly_there = after.place_id.filter(|_| after.place_id != before.place_id);
    let over = over_limit(tx, newly_there).await?;
    Ok(telling_of(&format!("/packs/{}", after.number), over))
}

pub(super) fn reading_of(by: &By, pack: &PackView, logged: &Logged<'_>) -> Reading {
    let measured = logged.measured;
    let reading = Reading {
        id: ids::new_id(),
        pack_id: pack.id,
        taken_ms: by.at,
        by_id: by.actor.id,
        volts: volts_of(measured).map(Volts::to_text),
        rested_minutes: rested_of(measured).minutes(),
        unread_words: unread_of(measured),
        corrects_id: None,
        lent_id: None,
        resistance: None,
        meter: None,
        meter_kind: None,
        celsius: None,
        put_in_mah: None,
        taken_out_mah: None,
        context: None,
        used_ms: None,
    };
    match logged.beside {
        Some(beside) => reading.with(beside),
        None => reading,
    }
}

const fn volts_of(measured: &Measured) -> Option<&Volts> {
    match measured {
        Measured::Read { volts, .. } => Some(volts),
        Measured::Unread { .. } => None,
    }
}

const fn rested_of(measured: &Measured) -> Rested {
    match measured {
        Measured::Read { rested, .. } => *rested,
        Measured::Unread { .. } => Rested::JustUsed,
    }
}

fn unread_of(measured: &Measured) -> Option<String> {
    match measured {
        Measured::Read { .. } => None,
        Measured::Unread { why } => Some(why.clone()),
    }
}
