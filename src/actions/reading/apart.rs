//! Cells that no balancing brings together. What said so first stands until a quartermaster closes it, and beside it no lesser spread
//! is told, since what that advises is a charge.

use super::verdict_of;
use crate::actions::By;
use crate::actions::standing;
use crate::club::calendar::Instant;
use crate::club::reading::failed_again;
use crate::club::verdict::{Finding, Rule};
use crate::store::charges::lately::was_charged_between;
use crate::store::findings::{self, Found};
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx};
use uuid::Uuid;

/// What the reading's volts say, as it counts for a pack with its story.
pub(super) async fn weigh(
    tx: &mut Tx,
    by: &By,
    (pack, reading): (&PackView, &Reading),
    found: &mut Vec<Finding>,
) -> Result<()> {
    let open = beside_what_stands(tx, pack.id, found).await?;
    let is_wide = found.iter().any(|each| each.rule == Rule::SpreadWide);
    if is_wide && fails_again(tx, by, (pack, reading), &open).await? {
        failed_again(found);
    }
    Ok(())
}

/// Of one that is out of service no spread is told anew. Gives back what stands against it where there is one to tell.
pub(super) async fn beside_what_stands(
    tx: &mut Tx,
    pack_id: Uuid,
    found: &mut Vec<Finding>,
) -> Result<Vec<Found>> {
    if !found.iter().any(|each| each.rule.is_of_spread()) {
        return Ok(Vec::new());
    }
    let open = findings::open(tx, pack_id).await?;
    if open.iter().any(is_out) {
        found.retain(|each| !each.rule.is_of_spread());
    }
    Ok(open)
}

fn is_out(found: &Found) -> bool {
    found.rule() == Some(Rule::SpreadOut)
}

/// It stood out before, and something was put in since; or the reading that this one corrects failed again already.
async fn fails_again(
    tx: &mut Tx,
    by: &By,
    (pack, reading): (&PackView, &Reading),
    open: &[Found],
) -> Result<bool> {
    if failed_before(tx, by, (pack, reading)).await? {
        return Ok(true);
    }
    let wide = open
        .iter()
        .find(|found| found.rule() == Some(Rule::SpreadWide));
    let Some(wide) = wide else {
        return Ok(false);
    };
    let since = stood_out(tx, wide).await?;
    was_charged_between(tx, reading.pack_id, (since, reading.taken_ms)).await
}

/// What the wrong reading said was out of service, and not by its own volts.
async fn failed_before(
    tx: &mut Tx,
    by: &By,
    (pack, reading): (&PackView, &Reading),
) -> Result<bool> {
    let wrong = match reading.corrects_id {
        Some(id) => readings::by_id(tx, id).await?,
        None => None,
    };
    let Some(wrong) = wrong else {
        return Ok(false);
    };
    let said = findings::of_reading(tx, (pack.id, wrong.id)).await?;
    let is_far = |each: &Finding| each.rule == Rule::SpreadOut;
    let was_far = verdict_of(by, pack, &wrong).is_some_and(|found| found.iter().any(is_far));
    Ok(said.iter().any(is_out) && !was_far)
}

/// When the volts were read that said so.
async fn stood_out(tx: &mut Tx, wide: &Found) -> Result<Instant> {
    let read = match wide.reading_id {
        Some(id) => readings::by_id(tx, id).await?,
        None => None,
    };
    Ok(read.map_or(wide.found_ms, |reading| reading.taken_ms))
}

/// What a reading said that was corrected away, a later one may say all the same.
pub(in crate::actions) async fn say_still(tx: &mut Tx, by: &By, pack: &PackView) -> Result<()> {
    let Some(newest) = readings::latest_uncorrected(tx, pack.id, true).await? else {
        return Ok(());
    };
    let found = verdict_of(by, pack, &newest).unwrap_or_default();
    if let Some(out) = found.iter().find(|each| each.rule == Rule::SpreadOut) {
        standing::find(tx, by, pack, out, Some(newest.id)).await?;
    }
    Ok(())
}

/// Volts read since, rested and inside the limits, are what a quartermaster's word goes by: then what they say of a lesser spread. None:
/// there are none.
pub(in crate::actions) async fn together_since(
    tx: &mut Tx,
    by: &By,
    (pack, out): (&PackView, &Found),
) -> Result<Option<Vec<Finding>>> {
    let newest = readings::latest_uncorrected(tx, pack.id, true).await?;
    let Some(newest) = newest.filter(|reading| reading.taken_ms > out.found_ms) else {
        return Ok(None);
    };
    let Some(mut found) = verdict_of(by, pack, &newest) else {
        return Ok(None);
    };
    let is_apart_or_unknown = |each: &Finding| {
        matches!(
            each.rule,
            Rule::SpreadOut
                | Rule::SpreadWide
                | Rule::SpreadNotJudged
                | Rule::CellsNotSeen
                | Rule::Implausible
        )
    };
    if found.iter().any(is_apart_or_unknown) {
        return Ok(None);
    }
    found.retain(|each| each.rule.is_of_spread());
    Ok(Some(found))
}
