//! Erasing a person from the incident book: every part in which they are named goes, words and salt, and an entry of its own says which,
//! in the transaction that erases the person. The book still holds afterwards; what is missing without such an entry is tampering.

use super::{BookFailed, append};
use crate::actions::By;
use crate::club::book::erasure::{self, Erased};
use crate::club::book::named::names;
use crate::store::book::parts;
use crate::store::people::Person;
use crate::store::{Conn, StoreError, Tx};
use uuid::Uuid;

const WHY: &str = "Somebody was erased from the list of people.";

/// The parts in which this person was found to be named as they were written, or is by what they are called now.
pub async fn parts_of(
    conn: &mut Conn,
    person: (Uuid, &str),
) -> Result<Vec<(i64, String)>, StoreError> {
    let all = parts::beside(conn, person.0).await?.into_iter();
    let theirs = all.filter_map(|(kept, is_linked)| {
        let is_theirs = is_linked || names(&kept.part.words, person.1);
        is_theirs.then_some((kept.seq, kept.part.name))
    });
    Ok(theirs.collect())
}

/// Nothing is written where they are named nowhere.
pub(in crate::actions) async fn erase(
    tx: &mut Tx,
    by: &By,
    person: &Person,
) -> Result<(), StoreError> {
    let theirs = parts_of(tx, (person.id, person.called())).await?;
    if theirs.is_empty() {
        return Ok(());
    }
    let erased: Vec<Erased> = theirs
        .iter()
        .map(|(seq, name)| Erased::Part {
            seq: *seq,
            name: name.clone(),
        })
        .collect();
    let not_written = || StoreError::Internal("the erasure could not be written".to_owned());
    let draft = erasure::draft(by.at, &erased, WHY).map_err(|_| not_written())?;
    match append(tx, "", draft, &[]).await {
        Ok(_) => {}
        Err(BookFailed::Store(error)) => return Err(error),
        Err(_) => return Err(not_written()),
    }
    for (seq, name) in &theirs {
        parts::delete(tx, *seq, name).await?;
    }
    Ok(())
}
