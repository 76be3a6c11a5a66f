//! Log volts: a reading is stored, judged, closes what it answers and opens what it finds. What corrects a wrong one is
//! `correction`.

use crate::actions::By;
use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::correction::{self, Correction};
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Change, settle};
use crate::battery::volts::Volts;
use crate::bench::form::{Against, Refusal};
use crate::club::reading::{Rested, judge, judge_confirmed};
use crate::club::sighting::{READING_CORRECTED, WEIGHED_ANEW};
use crate::club::verdict::{Finding, Gravity, Rule, closed_by_reading};
use crate::ids;
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::readings::{self, Reading};
use crate::store::{Db, Result, StoreError, Tx};
use uuid::Uuid;

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

/// What a person logs on a pack's own page.
#[derive(Clone, Copy)]
pub struct Logged<'a> {
    pub measured: &'a Measured,
    /// The reading it stands in place of.
    pub corrects: Option<Correction<'a>>,
    /// They looked it over and saw nothing: what came back unchecked is known only then.
    pub is_looked_over: bool,
}

/// Logs volts on a pack; gives back where its page is.
pub async fn log_volts(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    logged: Logged<'_>,
) -> std::result::Result<String, LogVoltsRefusal> {
    let Logged {
        measured,
        corrects,
        is_looked_over,
    } = logged;
    let mut tx = once::begin::<LogVoltsRefusal>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(LogVoltsRefusal::NoPack)?;
    if pack.life() != crate::club::states::Life::InUse {
        return Err(LogVoltsRefusal::Gone);
    }
    let mut about = None;
    let verb = match &corrects {
        Some(correction) => {
            about = Some(correction::correct(&mut tx, by, &pack, (measured, correction.id)).await?);
            READING_CORRECTED
        }
        None => {
            let what = (measured, is_looked_over);
            take(&mut tx, by, &pack, what, pack.lent_id).await?;
            "logged volts"
        }
    };
    let why = corrects.map(|correction| correction.why.trim());
    let change = Change {
        verb,
        about: about.as_deref(),
        reason: why.filter(|why| !why.is_empty()),
        ..Change::default()
    };
    let after = standing::settle_as(&mut tx, by, &pack, change).await?;
    let answer = answer_after(&mut tx, &pack, &after).await?;
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// Stores the reading and what it comes to; the caller settles the pack. `what`: the reading, and whether somebody looked
/// the pack over with it. `lent_id`: the loan line it was taken at.
pub(crate) async fn take(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    what: (&Measured, bool),
    lent_id: Option<Uuid>,
) -> Result<()> {
    let reading = Reading {
        lent_id,
        ..reading_of(by, pack, what.0)
    };
    readings::add(tx, &reading).await?;
    weigh(tx, by, pack, what, &reading).await
}

/// As `take`; the same volts by the same person a few minutes before are the same measurement, sent again: then nothing is
/// stored, and it is false. Not so when with it somebody looks over what came back unchecked.
pub(crate) async fn take_once(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    what: (&Measured, bool),
    lent_id: Option<Uuid>,
) -> Result<bool> {
    const SAME_FOR_MINUTES: i64 = 15;
    let new = reading_of(by, pack, what.0);
    let is_same = |old: &Reading| {
        old.by_id == new.by_id
            && (&old.volts, &old.unread_words) == (&new.volts, &new.unread_words)
            && old.rested_minutes == new.rested_minutes
            && by.at.minutes_since(old.taken_ms) < SAME_FOR_MINUTES
    };
    let is_unchecked = |found: &Found| found.rule() == Some(Rule::CameBackUnchecked);
    let answers_more = what.1 && findings::open(tx, pack.id).await?.iter().any(is_unchecked);
    if !answers_more && readings::latest(tx, pack.id, 1).await?.iter().any(is_same) {
        return Ok(false);
    }
    take(tx, by, pack, what, lent_id).await?;
    Ok(true)
}

/// What was read before counts by the club's limits of now. Nothing that stands against a pack is lifted by it.
pub(super) async fn weigh_anew(tx: &mut Tx, by: &By) -> Result<()> {
    const PART: i64 = 200;
    let mut last = 0;
    loop {
        let packs = packs::read_in_use(tx, last, PART).await?;
        let Some(latest) = packs.last() else {
            return Ok(());
        };
        last = latest.number_key;
        for pack in &packs {
            weigh_last(tx, by, pack).await?;
        }
    }
}

async fn weigh_last(tx: &mut Tx, by: &By, pack: &PackView) -> Result<()> {
    use Rule::{OverCharged, OverDischarged, SpreadWatch, SpreadWide};
    let Some(volts) = pack.volts() else {
        return Ok(());
    };
    let rested = Rested::of_minutes(pack.last_rested_minutes.unwrap_or(0));
    let found = judge(&pack.build(), &volts, rested, &by.limits());
    let of_limits = [OverDischarged, OverCharged, SpreadWide, SpreadWatch];
    let mut is_new = false;
    for finding in found.iter().filter(|each| of_limits.contains(&each.rule)) {
        is_new |= standing::renew(tx, by, pack, finding).await?;
    }
    if is_new {
        settle(tx, by, pack, WEIGHED_ANEW).await?;
    }
    Ok(())
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

pub(super) fn reading_of(by: &By, pack: &PackView, measured: &Measured) -> Reading {
    Reading {
        id: ids::new_id(),
        pack_id: pack.id,
        taken_ms: by.at,
        by_id: by.actor.id,
        volts: volts_of(measured).map(Volts::to_text),
        rested_minutes: rested_of(measured).minutes(),
        unread_words: unread_of(measured),
        corrects_id: None,
        lent_id: None,
    }
}

/// What the reading comes to for the pack; and whether somebody looked it over with it.
pub(super) async fn weigh(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    what: (&Measured, bool),
    reading: &Reading,
) -> Result<()> {
    let (measured, is_looked_over) = what;
    let found = verdict(by, pack, measured);
    if let Measured::Read { volts, rested, .. } = measured {
        let is_plausible = found
            .iter()
            .all(|finding| finding.rule != Rule::Implausible);
        if is_plausible {
            readings::set_last(tx, pack.id, volts, rested.minutes(), reading.taken_ms).await?;
        }
        close_answered(tx, by, pack, (&found, *rested, is_looked_over)).await?;
    } else {
        close_unread(tx, by, pack).await?;
    }
    for finding in &found {
        standing::find(tx, by, pack, finding, Some(reading.id)).await?;
    }
    Ok(())
}

/// What the reading comes to, without storing anything.
pub fn verdict(by: &By, pack: &PackView, measured: &Measured) -> Vec<Finding> {
    match measured {
        Measured::Unread { why } => vec![Finding::could_not_read(why)],
        Measured::Read {
            volts,
            rested,
            is_confirmed: false,
        } => judge(&pack.build(), volts, *rested, &by.limits()),
        Measured::Read {
            volts,
            rested,
            is_confirmed: true,
        } => judge_confirmed(&pack.build(), volts, *rested, &by.limits()),
    }
}

async fn close_answered(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    answer: (&[Finding], Rested, bool),
) -> Result<()> {
    let (found, rested, is_looked_over) = answer;
    for open in findings::open(tx, pack.id).await? {
        let Some(rule) = open.rule() else { continue };
        // Who brought a pack back alone does not say for the table that somebody looked at it.
        let is_seen = is_looked_over && by.actor.roles.is_quartermaster;
        let is_for_the_table = rule == Rule::CameBackUnchecked && !is_seen;
        let is_answered = !is_for_the_table && closed_by_reading(rule, found, rested, &by.limits());
        // Found again with other numbers: the new words replace the old. Danger keeps its first entry.
        let is_renewed =
            open.gravity() < Gravity::Danger && found.iter().any(|finding| finding.rule == rule);
        if is_answered || is_renewed {
            findings::close(tx, open.id, by.actor.id, "answered by a reading", by.at).await?;
        }
    }
    Ok(())
}

/// That it could not be read is said once, with the latest reason.
async fn close_unread(tx: &mut Tx, by: &By, pack: &PackView) -> Result<()> {
    for open in findings::open(tx, pack.id).await? {
        if open.rule() == Some(Rule::CouldNotRead) {
            findings::close(tx, open.id, by.actor.id, "tried again", by.at).await?;
        }
    }
    Ok(())
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
