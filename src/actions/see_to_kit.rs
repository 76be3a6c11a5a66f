//! Kit that is not as it should be: set aside with a reason, mended with a reason, and out of the pool for good (or
//! lost, and found again). Kit set aside enters no loan; what is out on one can be set aside, not taken out of the pool.

use crate::actions::keep_kit::{Address, KitRefusal, begin, finish, keep, load, told};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::club::kit::{counted, may_become, reason};
use crate::club::states::Life;
use crate::store::kit::{self, Kit};
use crate::store::lent::{self, Lent};
use crate::store::loans::LoanLine;
use crate::store::{Db, StoreError, Tx};
use uuid::Uuid;

/// `count`: how many of counted kit; None: all that lie here in order.
pub async fn set_aside(
    db: &Db,
    by: &By,
    id: Uuid,
    what: (&str, Option<i64>),
) -> Result<Address, KitRefusal> {
    let (why, count) = what;
    let why = reason(why).ok_or(KitRefusal::NeedsReason)?;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if before.life() != Life::InUse {
        return Err(no_way(&before, "set aside"));
    }
    let count = if before.is_counted() {
        let stock = before.stock(kit::out_count(&mut tx, id).await?);
        counted(count, stock.in_order(), "aside_count").map_err(field)?
    } else if before.aside_count > 0 {
        let words = before.set_aside_words.unwrap_or_default();
        return Err(KitRefusal::AlreadySetAside(words));
    } else {
        1
    };
    let after = with_aside(before.clone(), by, (count, &why));
    kit::save(&mut tx, &after).await?;
    let words = ("set it aside", "set-aside");
    finish(tx, by, words, (Some(&before), &after), None).await
}

/// So many more of it are to mend; what was said before stays.
fn with_aside(kit: Kit, by: &By, what: (i64, &str)) -> Kit {
    let (count, why) = what;
    let words = match &kit.set_aside_words {
        Some(before) if before != why => format!("{before}; {why}"),
        _ => why.to_owned(),
    };
    Kit {
        aside_count: (kit.aside_count + count).min(kit.owned_count),
        set_aside_words: Some(words),
        set_aside_ms: Some(by.at),
        set_aside_by: Some(by.actor.id),
        ..kit
    }
}

/// So many fewer are to mend; with the last of them the reasons go.
fn without_aside(kit: Kit, count: i64) -> Kit {
    if count < kit.aside_count {
        return Kit {
            aside_count: kit.aside_count - count,
            ..kit
        };
    }
    Kit {
        aside_count: 0,
        set_aside_words: None,
        set_aside_ms: None,
        set_aside_by: None,
        ..kit
    }
}

/// What became of kit that was set aside.
pub struct Mended<'a> {
    pub words: &'a str,
    /// How many of counted kit; None: all that are set aside.
    pub count: Option<i64>,
    /// Counted kit only: they were thrown away, so the club owns so many fewer.
    pub is_thrown_away: bool,
    /// How many were set aside when the person looked; None: whatever is now.
    pub shown: Option<i64>,
}

pub async fn mend(db: &Db, by: &By, id: Uuid, what: Mended<'_>) -> Result<Address, KitRefusal> {
    let done = reason(what.words).ok_or(KitRefusal::NeedsReason)?;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if before.aside_count == 0 {
        return Err(KitRefusal::NotSetAside);
    }
    still_as_shown(what.shown, before.aside_count)?;
    let typed = what.count.filter(|_| before.is_counted());
    let count = counted(typed, before.aside_count, "mended_count").map_err(field)?;
    let mut after = without_aside(before.clone(), count);
    let is_thrown_away = what.is_thrown_away && before.is_counted();
    if is_thrown_away {
        after.owned_count = (before.owned_count - count).max(0);
    }
    kit::save(&mut tx, &after).await?;
    if after.aside_count == 0 {
        lent::mended(&mut tx, id).await?;
    }
    let words = if is_thrown_away {
        ("threw away what was set aside", "thrown-away")
    } else {
        ("mended it", "mended")
    };
    finish(tx, by, words, (Some(&before), &after), Some(&done)).await
}

/// Nobody answers for what they did not see: what came back or was seen to since the page was shown.
fn still_as_shown(shown: Option<i64>, now: i64) -> Result<(), KitRefusal> {
    match shown {
        Some(count) if count != now => Err(KitRefusal::Changed),
        _ => Ok(()),
    }
}

/// What was found at the table on kit that a member brought back alone.
#[derive(Clone, Copy)]
pub struct LookedOver<'a> {
    /// Empty: it is in order.
    pub wrong: &'a str,
    /// With how many of it something is wrong; None: with all that came back unchecked.
    pub count: Option<i64>,
    /// How many were unchecked when the person looked; None: whatever is now.
    pub shown: Option<i64>,
}

pub async fn look_over(
    db: &Db,
    by: &By,
    id: Uuid,
    what: LookedOver<'_>,
) -> Result<Address, KitRefusal> {
    let LookedOver {
        wrong,
        count,
        shown,
    } = what;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if before.unchecked_count == 0 {
        return Err(KitRefusal::NotUnchecked);
    }
    still_as_shown(shown, before.unchecked_count)?;
    let mut after = Kit {
        unchecked_count: 0,
        ..before.clone()
    };
    if !wrong.trim().is_empty() {
        let wrong = reason(wrong).ok_or(KitRefusal::NeedsReason)?;
        let typed = count.filter(|_| before.is_counted());
        let count = counted(typed, before.unchecked_count, "wrong_count").map_err(field)?;
        after = with_aside(after, by, (count, &wrong));
    }
    kit::save(&mut tx, &after).await?;
    lent::looked_over(&mut tx, id).await?;
    let words = ("looked it over", "looked-over");
    finish(tx, by, words, (Some(&before), &after), None).await
}

fn field(problem: FieldProblem) -> KitRefusal {
    KitRefusal::Fields(vec![problem])
}

/// Retired, lost, given away, withdrawn; or in use again, for what was lost.
pub async fn end_life(
    db: &Db,
    by: &By,
    id: Uuid,
    next: Life,
    why: &str,
) -> Result<Address, KitRefusal> {
    let why = reason(why).ok_or(KitRefusal::NeedsReason)?;
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if !may_become(before.life(), next) {
        return Err(no_way(&before, &next.label().to_lowercase()));
    }
    let out = kit::out_count(&mut tx, id).await?;
    if out > 0 {
        return Err(KitRefusal::Out(out));
    }
    let after = Kit {
        life: next.code().to_owned(),
        ..before.clone()
    };
    kit::save(&mut tx, &after).await?;
    let verb = match next {
        Life::InUse => "found it again",
        Life::Retired => "retired it",
        Life::Lost => "noted it lost",
        Life::GivenAway => "gave it away",
        Life::Withdrawn => "withdrew it",
    };
    let words = (verb, format!("/kit/{id}/gone"));
    keep(tx, by, words, (Some(&before), &after), Some(&why)).await
}

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
    let unchecked_count = (before.unchecked_count - line.unchecked_count).max(0);
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

fn no_way(kit: &Kit, next: &str) -> KitRefusal {
    KitRefusal::NoWay {
        now: kit.life().label().to_lowercase(),
        next: next.to_owned(),
    }
}
