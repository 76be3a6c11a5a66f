//! The club's checklist of who must or may be told of an incident. Who was told of one is an entry of the book (`actions::book`).

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::club::book::whom::Checklist;
use crate::store::book::entries;
use crate::store::{Db, StoreError};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum ChecklistFailed {
    #[error("Only a quartermaster or an organiser does this.")]
    NotYours,
    #[error("{} things are to be put right.", .0.len())]
    Told(Vec<FieldProblem>),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// An empty list: the usual one stands again.
pub async fn keep(db: &Db, by: &By, list: &Checklist) -> Result<(), ChecklistFailed> {
    if !by.actor.roles.may_see_holders() {
        return Err(ChecklistFailed::NotYours);
    }
    let problems = list.problems();
    if !problems.is_empty() {
        return Err(ChecklistFailed::Told(problems));
    }
    let mut tx = once::begin::<ChecklistFailed>(db, by).await?;
    entries::keep_checklist(&mut tx, list).await?;
    // Its words may name somebody: the log, which forgets nothing, does not keep them.
    let (verb, subject) = ("changed who is told of an incident", ("club", Uuid::nil()));
    log(&mut tx, by, verb, subject, (&None::<()>, &None::<()>)).await?;
    once::finish(tx, by, "/book/whom-to-tell").await?;
    Ok(())
}
