//! What a reading comes to: it is judged, closes what it answers and opens what it finds. And what was read before, by limits
//! that are new.

use super::Measured;
use crate::actions::By;
use crate::actions::standing::{self, settle};
use crate::club::reading::{Rested, judge, judge_confirmed};
use crate::club::sighting::WEIGHED_ANEW;
use crate::club::verdict::{Finding, Gravity, Rule, closed_by_reading};
use crate::store::packs::{self, PackView};
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx, findings};

/// What the reading comes to for the pack; and whether somebody looked it over with it.
pub(in crate::actions) async fn weigh(
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

/// What was read before counts by the club's limits of now. Nothing that stands against a pack is lifted by it.
pub(in crate::actions) async fn weigh_anew(tx: &mut Tx, by: &By) -> Result<()> {
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
