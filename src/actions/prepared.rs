//! What is prepared before anything happens: the plan for the card on the wall, drills that were held and by when the next is due,
//! and who must or may be told of an incident. Who was told of one is an entry of the book (`actions::book`).

use crate::actions::book::is_named;
use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::club::book::asked::NAMED_FOR_GOOD;
use crate::club::book::wall_card::WallPlan;
use crate::club::book::whom::Checklist;
use crate::club::calendar::Day;
use crate::club::drill::Drill;
use crate::ids;
use crate::store::book::{drills, entries};
use crate::store::{Db, StoreError, Tx, people};
use serde::Serialize;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum PreparedFailed {
    #[error("Only a quartermaster or an organiser does this.")]
    NotYours,
    #[error("{} things are to be put right.", .0.len())]
    Told(Vec<FieldProblem>),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What the log keeps: no name and no words, which it could never forget.
#[derive(Serialize)]
struct Told {
    #[serde(skip_serializing_if = "Option::is_none")]
    held_on: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    people: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    next_by: Option<String>,
}

async fn begin(db: &Db, by: &By) -> Result<Tx, PreparedFailed> {
    if !by.actor.roles.may_see_holders() {
        return Err(PreparedFailed::NotYours);
    }
    once::begin::<PreparedFailed>(db, by).await
}

/// `next_by`: the day by which the next is to be held; None leaves it a year after this one.
pub async fn note(
    db: &Db,
    by: &By,
    (drill, led_by): (&Drill, Option<Uuid>),
    next_by: Option<Day>,
) -> Result<(), PreparedFailed> {
    let mut tx = begin(db, by).await?;
    let today = by.zone.day_of(by.at);
    let mut problems = drill.problems(today);
    // What is written of a drill stands when somebody was erased.
    let people = people::all(&mut tx).await?;
    for (field, text) in [
        ("went_well", &drill.went_well),
        ("to_change", &drill.to_change),
    ] {
        if people.iter().any(|one| is_named(text, one, &people)) {
            problems.push(problem(field, NAMED_FOR_GOOD));
        }
    }
    let leader = match led_by {
        Some(id) => people::by_id(&mut tx, id).await?,
        None => None,
    };
    let leader = leader.filter(|person| person.erased_ms.is_none());
    if leader.is_none() {
        problems.insert(0, problem("led_by", "Choose who led it."));
    }
    if next_by.is_some_and(|day| day < today) {
        problems.push(problem(
            "next_by",
            "The next drill lies ahead: give a day from today on.",
        ));
    }
    let Some(leader) = leader.filter(|_| problems.is_empty()) else {
        return Err(PreparedFailed::Told(problems));
    };
    let (id, noted) = (ids::new_id(), (by.actor.id, by.at));
    drills::add(&mut tx, (id, leader.id), drill, noted).await?;
    drills::set_due(&mut tx, next_by).await?;
    let told = Told {
        held_on: Some(drill.held_on.to_string()),
        people: Some(drill.people),
        next_by: next_by.map(|day| day.to_string()),
    };
    log(
        &mut tx,
        by,
        "noted a drill",
        ("drill", id),
        (&None::<()>, &told),
    )
    .await?;
    once::finish(tx, by, "/drills").await?;
    Ok(())
}

/// None: a year after the last.
pub async fn set_due(db: &Db, by: &By, day: Option<Day>) -> Result<(), PreparedFailed> {
    let mut tx = begin(db, by).await?;
    let today = by.zone.day_of(by.at);
    if day.is_some_and(|day| day < today) {
        let words = "The next drill lies ahead: give a day from today on.";
        return Err(PreparedFailed::Told(vec![problem("drill_by", words)]));
    }
    let before = drills::stand(&mut tx).await?.set;
    drills::set_due(&mut tx, day).await?;
    let told = |day: Option<Day>| Told {
        held_on: None,
        people: None,
        next_by: day.map(|day| day.to_string()),
    };
    let verb = "set by when the next drill is due";
    log(
        &mut tx,
        by,
        verb,
        ("club", Uuid::nil()),
        (&told(before), &told(day)),
    )
    .await?;
    once::finish(tx, by, "/drills").await?;
    Ok(())
}

pub async fn keep_wall_plan(db: &Db, by: &By, plan: &WallPlan) -> Result<(), PreparedFailed> {
    let mut tx = begin(db, by).await?;
    let problems = plan.problems();
    if !problems.is_empty() {
        return Err(PreparedFailed::Told(problems));
    }
    drills::keep_wall_plan(&mut tx, plan).await?;
    let verb = "changed the plan on the card for the wall";
    log(
        &mut tx,
        by,
        verb,
        ("club", Uuid::nil()),
        (&None::<()>, &None::<()>),
    )
    .await?;
    once::finish(tx, by, "/wall-card").await?;
    Ok(())
}

fn problem(field: &'static str, words: &str) -> FieldProblem {
    FieldProblem {
        field,
        words: words.to_owned(),
    }
}

/// An empty list: the usual one stands again.
pub async fn keep_checklist(db: &Db, by: &By, list: &Checklist) -> Result<(), PreparedFailed> {
    let mut tx = begin(db, by).await?;
    let problems = list.problems();
    if !problems.is_empty() {
        return Err(PreparedFailed::Told(problems));
    }
    entries::keep_checklist(&mut tx, list).await?;
    // Its words may name somebody: the log, which forgets nothing, does not keep them.
    let (verb, subject) = ("changed who is told of an incident", ("club", Uuid::nil()));
    log(&mut tx, by, verb, subject, (&None::<()>, &None::<()>)).await?;
    once::finish(tx, by, "/book/whom-to-tell").await?;
    Ok(())
}
