//! The incident book: what is told of an incident becomes an entry behind the last one, in one transaction with the head. What
//! is known of the packs is frozen into the first. And checking the whole book against its head and one that was printed.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::club::book::asked;
use crate::club::book::chain::{self, Head, Kept, Sealed};
use crate::club::book::check::{self, Against, Book, Break};
use crate::club::book::digest::Digest;
use crate::club::book::entry::Entry;
use crate::club::book::severity::InjuriesKept;
use crate::club::book::story::Story;
use crate::club::book::telling::{Item, Opened, Telling};
use crate::ids;
use crate::store::book::entries;
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx, findings, readings};
use serde::Serialize;
use serde_json::{Value, json};
use uuid::Uuid;

/// How many of a pack's latest readings are frozen into the book.
const READINGS: i64 = 10;

#[derive(Debug, thiserror::Error)]
pub enum BookFailed {
    #[error("Only a quartermaster or an organiser writes into the book.")]
    NotYours,
    #[error("There is no such incident.")]
    NoIncident,
    #[error("{} things are to be put right.", .0.len())]
    Told(Vec<FieldProblem>),
    #[error("An entry of the book can't be read. Check the book.")]
    Unreadable,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

#[derive(Serialize)]
struct Told<'a> {
    incident: &'a str,
    entry: i64,
}

/// The entries of one incident, each with its digest.
pub fn sealed(kept: &[Kept]) -> Result<Vec<Sealed>, BookFailed> {
    let read = |one: &Kept| {
        let entry = Entry::read(&one.text).map_err(|_| BookFailed::Unreadable)?;
        let hash = Digest::parse(&one.hash).map_err(|_| BookFailed::Unreadable)?;
        Ok(Sealed { entry, hash })
    };
    kept.iter().map(read).collect()
}

/// `numbers`: of the packs that were part of it. Gives back where the incident is.
pub async fn open(
    db: &Db,
    by: &By,
    mut opened: Opened,
    numbers: &[String],
) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    let mut known = Vec::new();
    for number in numbers {
        let Some(pack) = packs::by_number(&mut tx, number).await? else {
            let words = format!("There is no pack {number}.");
            let field = "items";
            return Err(BookFailed::Told(vec![FieldProblem { field, words }]));
        };
        opened.items.push(Item {
            what: "pack".to_owned(),
            called: pack.number.clone(),
            id: Some(pack.id),
        });
        known.push(known_of(&mut tx, &pack).await?);
    }
    opened.frozen = json!({ "packs": known });
    let count = entries::incident_count(&mut tx).await?;
    let incident = format!("I-{:03}", count + 1);
    let telling = Telling::Opened(Box::new(opened));
    write(tx, by, &incident, &telling).await
}

/// What is on record of a pack now; whole numbers and texts only, so that it has one text.
async fn known_of(tx: &mut Tx, pack: &PackView) -> Result<Value, StoreError> {
    let open = findings::open(tx, pack.id).await?;
    let read = readings::latest(tx, pack.id, READINGS).await?;
    let against: Vec<&str> = open.iter().map(|found| found.words.as_str()).collect();
    let read: Vec<Value> = read
        .iter()
        .map(|one| json!({ "taken_ms": one.taken_ms.ms(), "volts": one.volts, "rested_minutes": one.rested_minutes }))
        .collect();
    Ok(json!({
        "number": pack.number,
        "design": pack.design_name,
        "state": pack.state,
        "why": pack.state_words,
        "is_lent": pack.is_lent(),
        "place": pack.place_name,
        "against_it": against,
        "readings": read,
    }))
}

/// One more entry of an incident.
pub async fn tell(
    db: &Db,
    by: &By,
    incident: &str,
    telling: &Telling,
) -> Result<String, BookFailed> {
    let tx = begin(db, by).await?;
    write(tx, by, incident, telling).await
}

async fn begin(db: &Db, by: &By) -> Result<Tx, BookFailed> {
    if !by.actor.roles.may_see_holders() {
        return Err(BookFailed::NotYours);
    }
    once::begin::<BookFailed>(db, by).await
}

async fn write(
    mut tx: Tx,
    by: &By,
    incident: &str,
    telling: &Telling,
) -> Result<String, BookFailed> {
    let kept = entries::of_incident(&mut tx, incident).await?;
    if kept.is_empty() && !matches!(telling, Telling::Opened(_)) {
        return Err(BookFailed::NoIncident);
    }
    let story = Story::of(&sealed(&kept)?);
    let problems = asked::problems(telling, &story, InjuriesKept::HowGrave);
    if !problems.is_empty() {
        return Err(BookFailed::Told(problems));
    }
    let head = entries::head(&mut tx).await?;
    let draft = telling.draft(incident, by.at, Vec::new(), ids::salt);
    let written = chain::write(&head, draft).map_err(|why| {
        let (field, words) = ("words", format!("It can't be written: {why}."));
        BookFailed::Told(vec![FieldProblem { field, words }])
    })?;
    entries::append(&mut tx, incident, &written).await?;
    let told = Told {
        incident,
        entry: written.head.count,
    };
    let subject = ("incident", Uuid::nil());
    log(
        &mut tx,
        by,
        "wrote into the incident book",
        subject,
        (&None::<()>, &told),
    )
    .await?;
    let answer = format!("/book/{incident}");
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// The whole book against the head kept beside it, and against heads that were printed.
pub async fn verify(db: &Db, printed: &[Head]) -> Result<Result<Head, Break>, StoreError> {
    // Taken as for a write: head, entries and parts are then of one instant.
    let mut tx = db.write().await?;
    let (all, end) = entries::all(&mut tx).await?;
    let parts = entries::parts(&mut tx).await?;
    drop(tx);
    let book = Book {
        entries: &all,
        parts: &parts,
        files: None,
    };
    let against = Against {
        end: Some(&end),
        printed,
    };
    Ok(check::check(&book, &against))
}
