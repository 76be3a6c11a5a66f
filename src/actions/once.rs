//! One effect for one form: the first time a key comes its answer is kept; the same form again gets the same answer.

use crate::actions::By;
use crate::store::keys::{self, Answered};
use crate::store::{Db, StoreError, Tx};

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
pub enum Repeat {
    /// It was done already; this is where it led.
    #[error("this was done already")]
    Done(String),
    #[error(
        "This form was sent before with something else in it. Open the page again and start afresh."
    )]
    OtherBody,
}

/// Has this form been carried out before? Asked inside the transaction, which has the turn to itself.
pub async fn check(tx: &mut Tx, by: &By) -> Result<Option<Repeat>, StoreError> {
    let Some(key) = &by.key else { return Ok(None) };
    let Some(given) = keys::answered(tx, &key.key).await? else {
        return Ok(None);
    };
    let is_same = given.person_id == by.actor.id && given.body_hash == key.body_hash;
    Ok(Some(if is_same {
        Repeat::Done(given.answer)
    } else {
        Repeat::OtherBody
    }))
}

/// The turn to write for a form that was not carried out before. A repeat leaves as a refusal that tells where it led.
pub async fn begin<Refusal: From<Repeat> + From<StoreError>>(
    db: &Db,
    by: &By,
) -> Result<Tx, Refusal> {
    let mut tx = db.write().await?;
    match check(&mut tx, by).await? {
        Some(repeat) => Err(repeat.into()),
        None => Ok(tx),
    }
}

/// Keeps the answer for the next time.
pub async fn keep(tx: &mut Tx, by: &By, answer: &str) -> Result<(), StoreError> {
    let Some(key) = &by.key else { return Ok(()) };
    let given = Answered {
        person_id: by.actor.id,
        body_hash: key.body_hash.clone(),
        answer: answer.to_owned(),
    };
    keys::keep(tx, &key.key, &given, by.at).await
}

/// Keeps the answer, and all that was written with it.
pub async fn finish(mut tx: Tx, by: &By, answer: &str) -> Result<(), StoreError> {
    keep(&mut tx, by, answer).await?;
    tx.save().await
}
