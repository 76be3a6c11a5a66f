//! Erasing a person from the incident book: every part in which they are named goes, words and salt, and an entry of its own says which,
//! in the transaction that erases the person. The book still holds afterwards; what is missing without such an entry is tampering.

use super::{BookFailed, append, begin, is_named, sealed, told, written_by};
use crate::actions::{By, log};
use crate::actions::{erase_reports, once};
use crate::club::book::asked::NAMED_FOR_GOOD;
use crate::club::book::chain::Draft;
use crate::club::book::erasure::{self, Erased};
use crate::club::book::named::names;
use crate::store::book::{entries, files, parts};
use crate::store::people::{self, Person};
use crate::store::{Conn, Db, StoreError, Tx};
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

/// Words about somebody, a photo or a file of this incident, by the choice of whoever keeps the book. `why` names nobody.
pub async fn erase_one(
    db: &Db,
    by: &By,
    incident: &str,
    (chosen, why): (Option<Erased>, &str),
) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    let kept = entries::of_incident(&mut tx, incident).await?;
    if kept.is_empty() {
        return Err(BookFailed::NoIncident);
    }
    let of_it = sealed(&kept)?;
    let is_of_it = |chosen: &Erased| of_it.iter().any(|one| one.entry.seq == chosen.seq());
    let Some(chosen) = chosen.filter(is_of_it) else {
        return Err(told("erased", "Choose what is erased."));
    };
    let people = people::all(&mut tx).await?;
    if people.iter().any(|one| is_named(why, one, &people)) {
        return Err(told("why", NAMED_FOR_GOOD));
    }
    let draft = erasure::draft(by.at, std::slice::from_ref(&chosen), why);
    let draft = signed(draft.map_err(BookFailed::Told)?, by, &people);
    let was_there = match &chosen {
        Erased::Part { seq, name } => parts::delete(&mut tx, *seq, name).await?,
        Erased::File { seq, sha256 } => files::delete(&mut tx, *seq, &sha256.to_string()).await?,
    };
    if !was_there {
        return Err(told("erased", "That is erased already."));
    }
    append(&mut tx, "", draft, &people).await?;
    if let Erased::File { seq, sha256 } = &chosen {
        let entry = of_it.iter().find(|one| one.entry.seq == *seq);
        let files = entry.map(|one| one.entry.attached.iter());
        let mut files = files.into_iter().flatten();
        if let Some(file) = files.find(|file| file.sha256 == *sha256) {
            erase_reports::same_as_in_book(&mut tx, by, (incident, file)).await?;
        }
    }
    let subject = ("incident", Uuid::nil());
    let verb = "erased something from the incident book";
    log(&mut tx, by, verb, subject, (&None::<()>, &chosen)).await?;
    let answer = format!("/book/{incident}");
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// Who erased it is a part, as who wrote an entry is.
fn signed(mut draft: Draft, by: &By, people: &[Person]) -> Draft {
    let me = people.iter().find(|one| one.id == by.actor.id);
    draft.parts.extend(me.map(written_by));
    draft
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
    // Whoever is erased is named in nothing new.
    let mut others = people::all(tx).await?;
    others.retain(|other| other.id != person.id);
    let draft = signed(draft, by, &others);
    match append(tx, "", draft, &others).await {
        Ok(_) => {}
        Err(BookFailed::Store(error)) => return Err(error),
        Err(_) => return Err(not_written()),
    }
    for (seq, name) in &theirs {
        parts::delete(tx, *seq, name).await?;
    }
    Ok(())
}
