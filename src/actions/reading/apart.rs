//! Cells that no balancing brings together. What said so first stands until a quartermaster closes it, and beside it no lesser spread
//! is told, since what that advises is a charge.

use super::verdict_of;
use crate::actions::By;
use crate::actions::standing;
use crate::club::calendar::Instant;
use crate::club::reading::{failed_again, is_failed_again};
use crate::club::verdict::{Finding, Rule};
use crate::store::charges::lately::was_charged_between;
use crate::store::findings::{self, Found};
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx};

fn has(found: &[Finding], rule: Rule) -> bool {
    found.iter().any(|each| each.rule == rule)
}

/// What the reading's volts say, as it counts for a pack with its story.
pub(super) async fn weighed(
    tx: &mut Tx,
    (pack, reading): (&PackView, &Reading),
    mut found: Vec<Finding>,
) -> Result<Vec<Finding>> {
    if !found.iter().any(|each| each.rule.is_of_spread()) {
        return Ok(found);
    }
    let open = findings::open(tx, pack.id).await?;
    if open.iter().any(is_out) {
        found.retain(|each| !each.rule.is_of_spread());
    } else if has(&found, Rule::SpreadWide) && fails_again(tx, &open, reading).await? {
        failed_again(&mut found);
    }
    Ok(found)
}

fn is_out(found: &Found) -> bool {
    found.rule() == Some(Rule::SpreadOut)
}

/// It stood out before, and something was put in since; or the reading that this one corrects failed twice already.
async fn fails_again(tx: &mut Tx, open: &[Found], reading: &Reading) -> Result<bool> {
    if let Some(wrong) = reading.corrects_id {
        let said = findings::of_reading(tx, (reading.pack_id, wrong)).await?;
        if said
            .iter()
            .any(|one| is_out(one) && is_failed_again(&one.next_words))
        {
            return Ok(true);
        }
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
    let found = verdict_of(by, pack, &newest);
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
    let mut found = verdict_of(by, pack, &newest);
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
