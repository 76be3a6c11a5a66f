//! Kit that is not as it should be: set aside with a reason, mended with a reason, and out of the pool for good (or
//! lost, and found again). Kit set aside enters no loan; what is out on one can be set aside, not taken out of the pool.

use crate::actions::By;
use crate::actions::keep_kit::{Address, KitRefusal, begin, finish, keep, load};
use crate::bench::FieldProblem;
use crate::club::kit::{counted, may_become, reason};
use crate::club::states::Life;
use crate::store::kit::{self, Kit};
use crate::store::{Db, lent};
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
pub(super) fn with_aside(kit: Kit, by: &By, what: (i64, &str)) -> Kit {
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
pub(super) fn without_aside(kit: Kit, count: i64) -> Kit {
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
    let mut after = Kit {
        life: next.code().to_owned(),
        ..before.clone()
    };
    if next == Life::InUse {
        // Nobody knows what happened to it meanwhile: looked over before it is lent.
        after.unchecked_count = before.owned_count - before.aside_count;
    }
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

fn no_way(kit: &Kit, next: &str) -> KitRefusal {
    KitRefusal::NoWay {
        now: kit.life().label().to_lowercase(),
        next: next.to_owned(),
    }
}
