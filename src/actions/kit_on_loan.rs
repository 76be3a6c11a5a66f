//! What a loan does to kit: what of a line comes back and in which order, on its loan again, lost on it.

use crate::actions::keep_kit::told;
use crate::actions::see_to_kit::{with_aside, without_aside};
use crate::actions::{By, log};
use crate::club::states::Life;
use crate::store::kit::{self, Kit};
use crate::store::lent::{self, Lent};
use crate::store::loans::LoanLine;
use crate::store::{StoreError, Tx};
use uuid::Uuid;

/// What of a line comes back: a thing with a number whole, of adapters some or all.
pub(super) struct Part<'a> {
    of: &'a Lent,
    pub count: i64,
}

impl<'a> Part<'a> {
    /// `counted`: None means all. The error is how many are out.
    pub fn of(line: &'a Lent, counted: Option<i64>) -> Result<Self, i64> {
        let out = line.counted.unwrap_or(1);
        let count = counted.filter(|_| line.counted.is_some()).unwrap_or(out);
        let is_there = (1..=out).contains(&count);
        is_there.then_some(Self { of: line, count }).ok_or(out)
    }

    /// A line of its own, where it is not all.
    pub async fn line(&self, tx: &mut Tx) -> Result<Uuid, StoreError> {
        if self.count < self.of.counted.unwrap_or(1) {
            lent::split_off(tx, self.of, self.count).await
        } else {
            Ok(self.of.id)
        }
    }
}

/// What came back from a loan.
pub(super) struct Back<'a> {
    pub kit_id: Uuid,
    /// The line that is closed by it.
    pub lent_id: Uuid,
    /// How many came back, and how many of these have what is wrong.
    pub count: i64,
    pub to_mend: i64,
    pub wrong: &'a str,
    /// Nobody at the table looked at it.
    pub is_unchecked: bool,
}

/// What is wrong is set aside; what nobody at the table saw waits to be looked over. The log tells.
pub(super) async fn came_back(
    tx: &mut Tx,
    by: &By,
    verb: &str,
    back: Back<'_>,
) -> Result<(), StoreError> {
    let wrong = back.wrong.trim();
    let Some(before) = kit::by_id(tx, back.kit_id).await? else {
        return Ok(());
    };
    let is_unseen = back.is_unchecked && wrong.is_empty();
    let to_mend = if wrong.is_empty() { 0 } else { back.to_mend };
    let unchecked = if is_unseen { back.count } else { 0 };
    let mut after = Kit {
        unchecked_count: before.unchecked_count + unchecked,
        ..before.clone()
    };
    if to_mend > 0 {
        after = with_aside(after, by, (to_mend, wrong));
    }
    kit::save(tx, &after).await?;
    lent::note_back(tx, back.lent_id, to_mend, unchecked).await?;
    let told = (Some(back.count), Some(wrong));
    tell(tx, by, verb, (&before, &after), told).await
}

/// What is wrong with kit that somebody else had booked in before: set aside as far as it lies here in order and that
/// person had not said so. `count` None: all that came back by the line. True when something is wrong.
pub(super) async fn seen_late(
    tx: &mut Tx,
    by: &By,
    line: &Lent,
    what: (&str, Option<i64>),
) -> Result<bool, StoreError> {
    let (wrong, count) = (what.0.trim(), what.1);
    let found = match line.kit_id.filter(|_| !wrong.is_empty()) {
        Some(kit_id) => kit::by_id(tx, kit_id).await?,
        None => None,
    };
    let Some(before) = found.filter(|kit| kit.life() == Life::InUse) else {
        return Ok(false);
    };
    let came_back = line.counted.unwrap_or(1);
    let count = count.filter(|_| before.is_counted()).unwrap_or(came_back);
    let is_known = |kit: &Kit| {
        kit.set_aside_words
            .as_deref()
            .is_some_and(|told| told.contains(wrong))
    };
    let more = if before.is_counted() {
        let stock = before.stock(kit::out_count(tx, before.id).await?);
        let here = stock.in_order() + stock.unchecked.min(line.unchecked_count);
        (count.clamp(1, came_back) - line.aside_count).clamp(0, here)
    } else {
        1 - before.aside_count
    };
    if more <= 0 && is_known(&before) {
        return Ok(true);
    }
    let looked_at = more.min(line.unchecked_count);
    let after = Kit {
        unchecked_count: (before.unchecked_count - looked_at).max(0),
        ..with_aside(before.clone(), by, (more, wrong))
    };
    if after.aside_count == 0 {
        return Ok(false);
    }
    kit::save(tx, &after).await?;
    lent::note_back(
        tx,
        line.id,
        line.aside_count + more,
        line.unchecked_count - looked_at,
    )
    .await?;
    tell(
        tx,
        by,
        "set it aside",
        (&before, &after),
        (None, Some(wrong)),
    )
    .await?;
    Ok(true)
}

/// It is on its loan again: what that line had put among the unchecked and, of adapters, among what is to mend, no longer
/// lies here. That something was to mend stays noted on the line.
pub(super) async fn out_again(
    tx: &mut Tx,
    by: &By,
    verb: &str,
    line: &LoanLine,
) -> Result<(), StoreError> {
    let Some(kit_id) = line.out.kit_id else {
        return Ok(());
    };
    let Some(before) = kit::by_id(tx, kit_id).await? else {
        return Ok(());
    };
    let unchecked_count = if before.is_counted() {
        (before.unchecked_count - line.unchecked_count).max(0)
    } else {
        // The one thing there is of it is out.
        0
    };
    let mut after = Kit {
        unchecked_count,
        ..before.clone()
    };
    if before.is_counted() && line.aside_count > 0 {
        after = without_aside(after, line.aside_count);
    }
    kit::save(tx, &after).await?;
    lent::note_back(tx, line.out.lent_id, line.aside_count, 0).await?;
    tell(tx, by, verb, (&before, &after), (None, None)).await
}

/// How it stands before and after, how many came back, and what is wrong with them.
async fn tell(
    tx: &mut Tx,
    by: &By,
    verb: &str,
    change: (&Kit, &Kit),
    what: (Option<i64>, Option<&str>),
) -> Result<(), StoreError> {
    let (before, after) = change;
    let was = told(tx, before).await?;
    let mut now = told(tx, after).await?;
    if let Some(count) = what.0.filter(|_| after.is_counted()) {
        now["came_back_count"] = count.into();
    }
    if let Some(wrong) = what.1.filter(|wrong| !wrong.is_empty()) {
        now["reason"] = wrong.into();
    }
    log(tx, by, verb, ("kit", after.id), (&was, &now)).await
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
