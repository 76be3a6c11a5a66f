//! The incident book: what is told of an incident becomes an entry behind the last one, in one transaction with the head. What
//! is known of the packs is frozen into the first. And checking the whole book against its head and one that was printed.

pub mod erasing;
mod frozen;
mod involve;
pub mod lost;
pub mod own;
mod twice;

pub use involve::Things;

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::club::book::asked;
use crate::club::book::chain::{self, Draft, Head, Kept, Sealed};
use crate::club::book::check::{self, Against, Book, Break};
use crate::club::book::digest::Digest;
use crate::club::book::entry::{Attached, Entry};
use crate::club::book::filed::{self, Filed};
use crate::club::book::named::names_one_of;
use crate::club::book::part::Part;
use crate::club::book::story::{Story, happened};
use crate::club::book::telling::{Opened, Reported, Telling, Words};
use crate::club::release::WayOutRefusal;
use crate::ids;
use crate::store::book::files::{self, NewFile};
use crate::store::book::{actions, entries, parts, report_photos, reports};
use crate::store::people::{self, Person};
use crate::store::{Db, StoreError, Tx};
use serde::Serialize;
use std::collections::BTreeSet;
use uuid::Uuid;

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
    WayOut(#[from] WayOutRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

fn told(field: &'static str, words: impl Into<String>) -> BookFailed {
    let words = words.into();
    BookFailed::Told(vec![FieldProblem { field, words }])
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

/// How an incident begins.
pub struct Opening<'a> {
    pub opened: Opened,
    pub things: Things<'a>,
    /// What it began with.
    pub report: Option<Uuid>,
}

/// `I-007`, the seventh.
fn called(number: i64) -> String {
    format!("I-{number:03}")
}

/// Gives back where the incident is.
pub async fn open(db: &Db, by: &By, opening: Opening<'_>) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    let mut opened = opening.opened;
    let found = involve::find(&mut tx, opened.happened, &opening.things).await?;
    found.fill_in(by, &mut opened);
    let count = entries::incident_count(&mut tx).await?;
    let incident = called(count + 1);
    let files = match opening.report {
        Some(id) => begins_with(&mut tx, by, (&mut opened, &incident), id).await?,
        None => Vec::new(),
    };
    found
        .set_aside(&mut tx, by, (&incident, opened.kind), false)
        .await?;
    opened.involved = found.involved();
    twice::is_another(&mut tx, by, count, &opened).await?;
    let telling = Telling::Opened(Box::new(opened));
    write(tx, by, &incident, telling, &files).await
}

/// Another thing was part of it: what is known of it is frozen and it is set aside as where one is opened.
pub async fn add(
    db: &Db,
    by: &By,
    incident: &str,
    (things, words): (Things<'_>, Words),
) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    let all = sealed(&entries::of_incident(&mut tx, incident).await?)?;
    let story = Story::of(&all);
    let Some((kind, _)) = story.held else {
        return Err(BookFailed::NoIncident);
    };
    let happened = happened(&all, &story, &by.zone);
    let found = involve::find(&mut tx, happened, &things).await?;
    let has_packs = involve::has_packs(&mut tx, &story).await?;
    found
        .set_aside(&mut tx, by, (incident, kind), has_packs)
        .await?;
    let involved = Box::new(found.involved());
    let telling = Telling::ItemAdded { involved, words };
    write(tx, by, incident, telling, &[]).await
}

/// What was reported goes into the book with it, its photo and those of its doubles too, and all of them name the incident from now
/// on. A double begins it as the report that stays.
async fn begins_with(
    tx: &mut Tx,
    by: &By,
    (opened, incident): (&mut Opened, &str),
    id: Uuid,
) -> Result<Vec<NewFile>, BookFailed> {
    let report = reports::that_stays(tx, id).await?;
    let report = report.ok_or(BookFailed::NoIncident)?;
    if !report.incident.is_empty() {
        let words = format!(
            "This report is in the book already: incident {}.",
            report.incident
        );
        return Err(told("report", words));
    }
    opened.reported = Some(Reported {
        reference: report.reference.clone(),
        made_ms: report.made_ms.map(|at| at.ms()),
        came_ms: report.came_ms.ms(),
        seen: report.seen.clone(),
        gravity: report.gravity.clone(),
        is_verified: report.is_verified,
    });
    reports::begins(tx, report.id, incident).await?;
    reports::note_read(tx, report.id, by.actor.id, by.at).await?;
    let photos = report_photos::with_doubles(tx, report.id).await?;
    let photos = photos
        .into_iter()
        .map(|photo| NewFile::photo(photo.original_sha256, photo.large));
    let mut files: Vec<NewFile> = Vec::new();
    for photo in photos {
        // Two who sent the same picture sent it once.
        if files.iter().all(|kept| kept.sha256 != photo.sha256) {
            files.push(photo);
        }
    }
    Ok(files)
}

/// One more entry of an incident.
pub async fn tell(
    db: &Db,
    by: &By,
    incident: &str,
    telling: Telling,
) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    if let Telling::Corrected { field, instead, .. } = &telling
        && field == "others"
    {
        let all = sealed(&entries::of_incident(&mut tx, incident).await?)?;
        let named: Vec<String> = Story::of(&all).items.into_keys().collect();
        involve::has_no_number(&mut tx, "instead", &instead.text, &named).await?;
    }
    write(tx, by, incident, telling, &[]).await
}

/// What it is held to be, put right. What was named before it was known to be so grave is set aside as where it is opened like that.
pub async fn hold(
    db: &Db,
    by: &By,
    incident: &str,
    (telling, were_looked_at): (Telling, bool),
) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    if let Telling::Corrected {
        held: Some((kind, _)),
        ..
    } = &telling
    {
        let all = sealed(&entries::of_incident(&mut tx, incident).await?)?;
        let now = (*kind, were_looked_at);
        involve::set_aside_what_is_graver(&mut tx, by, (incident, &all), now).await?;
    }
    write(tx, by, incident, telling, &[]).await
}

/// One more entry, with a photo or document that belongs to it.
pub async fn attach(
    db: &Db,
    by: &By,
    incident: &str,
    (telling, file): (Telling, NewFile),
) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    if files::bytes_of(&mut tx, incident).await? > files::MOST_OF_INCIDENT {
        let words = "The files of this incident are 100 MB already. Keep more of them elsewhere, and say where.";
        return Err(told("file", words));
    }
    write(tx, by, incident, telling, &[file]).await
}

async fn begin(db: &Db, by: &By) -> Result<Tx, BookFailed> {
    if !by.actor.roles.may_see_holders() {
        return Err(BookFailed::NotYours);
    }
    once::begin::<BookFailed>(db, by).await
}

async fn write(
    tx: Tx,
    by: &By,
    incident: &str,
    telling: Telling,
    files: &[NewFile],
) -> Result<String, BookFailed> {
    let page = format!("/book/{incident}");
    write_and_go_on(tx, by, (incident, &page), telling, files).await
}

/// `page`: where it goes on.
async fn write_and_go_on(
    mut tx: Tx,
    by: &By,
    (incident, page): (&str, &str),
    mut telling: Telling,
    files: &[NewFile],
) -> Result<String, BookFailed> {
    let kept = entries::of_incident(&mut tx, incident).await?;
    if kept.is_empty() && !matches!(telling, Telling::Opened(_)) {
        return Err(BookFailed::NoIncident);
    }
    let mut all = sealed(&kept)?;
    let before = Story::of(&all);
    let people = people::all(&mut tx).await?;
    telling.keep_apart(|text| people.iter().any(|one| is_named(text, one, &people)));
    let mut problems = asked::problems(&telling, &before, by.club.in_danger.injuries);
    let today = by.zone.day_of(by.at);
    problems.extend(asked::too_early(&telling, &before, today));
    let is_named = |text: &str| people.iter().any(|one| is_named(text, one, &people));
    problems.extend(asked::named_for_good(&telling, is_named));
    if !problems.is_empty() {
        return Err(BookFailed::Told(problems));
    }
    let attached = files.iter().map(|file| Attached {
        name: file.kind.code().to_owned(),
        sha256: file.sha256,
        original_sha256: file.original_sha256,
    });
    let mut draft = telling.draft(incident, by.at, attached.collect(), ids::salt);
    let me = people.iter().find(|one| one.id == by.actor.id);
    draft.parts.extend(me.map(written_by));
    let entry = append(&mut tx, incident, draft, &people).await?;
    let seq = entry.entry.seq;
    for file in files {
        files::add(&mut tx, seq, file).await?;
    }
    all.push(entry);
    keep_actions(&mut tx, by, incident, (&before, &Story::of(&all))).await?;
    let told = Told {
        incident,
        entry: seq,
    };
    let subject = ("incident", Uuid::nil());
    let verb = "wrote into the incident book";
    log(&mut tx, by, verb, subject, (&None::<()>, &told)).await?;
    once::finish(tx, by, page).await?;
    Ok(page.to_owned())
}

pub(in crate::actions) fn is_named(text: &str, person: &Person, people: &[Person]) -> bool {
    let all = people.iter().map(Person::called);
    names_one_of(text, person.called(), all)
}

/// Who wrote an entry is a part of it: it can be erased.
fn written_by(person: &Person) -> Part {
    Part::new("written_by", ids::salt(), person.called())
}

/// Behind the last entry, with who is named in which of its parts.
async fn append(
    tx: &mut Tx,
    incident: &str,
    draft: Draft,
    people: &[Person],
) -> Result<Sealed, BookFailed> {
    let head = entries::head(tx).await?;
    let written = chain::write(&head, draft)
        .map_err(|why| told("words", format!("It can't be written: {why}.")))?;
    entries::append(tx, incident, &written).await?;
    for kept in &written.parts {
        for person in people {
            if is_named(&kept.part.words, person, people) {
                parts::link(tx, kept, person.id).await?;
            }
        }
    }
    let entry = Entry::read(&written.kept.text).map_err(|_| BookFailed::Unreadable)?;
    let hash = written.head.hash;
    Ok(Sealed { entry, hash })
}

/// What this entry changed of how actions stand.
async fn keep_actions(
    tx: &mut Tx,
    by: &By,
    incident: &str,
    (before, after): (&Story, &Story),
) -> Result<(), StoreError> {
    let today = by.zone.day_of(by.at);
    for (seq, action) in &after.actions {
        let Some(now) = after.stands(*seq) else {
            continue;
        };
        let before_by = before.actions.get(seq).and_then(|action| action.by(now));
        let owner = after.owner_said_by(*seq);
        let is_same = before.stands(*seq) == Some(now) && before_by == action.by(now);
        if !is_same || before.owner_said_by(*seq) != owner {
            let by_on = action.by(now).unwrap_or(today);
            actions::keep(tx, (*seq, incident), (now, by_on), owner).await?;
        }
    }
    Ok(())
}

/// The whole book against the head kept beside it, and against heads that were printed. What was mistyped of those is told after
/// all else that may be wrong.
pub async fn verify(db: &Db, printed: &[Head]) -> Result<Result<Head, Break>, StoreError> {
    // Taken as for a write: head, entries, parts and files are then of one instant.
    let mut tx = db.write().await?;
    let all = entries::all(&mut tx).await?;
    let beside = parts::all_beside(&mut tx).await?;
    drop(tx);
    let files: BTreeSet<Digest> = beside.files.iter().map(|file| file.digest).collect();
    let book = Book {
        entries: &all.entries,
        parts: &beside.parts,
        files: Some(&files),
    };
    let against = Against {
        end: Some(&all.head),
        printed,
    };
    let held = check::check(&book, &against);
    if held.as_ref().is_err_and(|broken| !broken.is_mistype()) {
        return Ok(held);
    }
    let filed = Filed {
        entries: &all.entries,
        places: &all.places,
        files: &beside.files,
        actions: &beside.actions,
    };
    Ok(filed::first_break(&filed).map_or(held, Err))
}
