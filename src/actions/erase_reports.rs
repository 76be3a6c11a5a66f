//! Erasing what a report holds about people: its photo and its words by choice, the words that name somebody who is erased from the list
//! of people, and the photo that was erased from the incident book. How grave it is and what it did stay; the log says who erased it.

use crate::actions::book::is_named;
use crate::actions::see_to_reports::{SeeToFailed, begin, finish};
use crate::actions::{By, log};
use crate::club::book::digest::Digest;
use crate::club::book::entry::Attached;
use crate::club::reports::{ANSWER_MOST, ERASED};
use crate::store::book::report_photos;
use crate::store::book::report_words::{self, Written};
use crate::store::book::reports::Report;
use crate::store::people::{self, Person};
use crate::store::{Db, Result, Tx};
use serde::Serialize;
use uuid::Uuid;

/// What of it is erased.
#[derive(Clone, Copy)]
pub struct Chosen {
    pub photo: bool,
    pub words: bool,
}

fn written(report: &Report) -> Written {
    Written {
        id: report.id,
        words: report.words.clone(),
        place_words: report.place_words.clone(),
        reach: report.reach.clone(),
        looked_words: report.looked_words.clone(),
    }
}

fn is_there(words: &str) -> bool {
    !words.is_empty() && words != ERASED
}

pub fn has_words(report: &Report) -> bool {
    written(report).each().iter().any(|words| is_there(words))
}

/// Gone for good. `why` names nobody: it stays in the log.
pub async fn erase(
    db: &Db,
    by: &By,
    id: Uuid,
    (chosen, why): (Chosen, &str),
) -> std::result::Result<(), SeeToFailed> {
    let (mut tx, report) = begin(db, by, id).await?;
    let why = why.trim();
    if !chosen.photo && !chosen.words {
        return Err(SeeToFailed::NothingChosen);
    }
    if why.is_empty() {
        return Err(SeeToFailed::NoReason);
    }
    if why.chars().count() > ANSWER_MOST {
        return Err(SeeToFailed::TooLong);
    }
    let people = people::all(&mut tx).await?;
    if people.iter().any(|one| is_named(why, one, &people)) {
        return Err(SeeToFailed::NamedForGood);
    }
    if chosen.photo && !report_photos::erase(&mut tx, id, by.at).await? {
        return Err(SeeToFailed::ErasedAlready);
    }
    if chosen.words {
        let mut kept = written(&report);
        if !erase_where(&mut kept, |_| true) {
            return Err(SeeToFailed::ErasedAlready);
        }
        report_words::put(&mut tx, &kept).await?;
    }
    let verb = match (chosen.photo, chosen.words) {
        (true, true) => "erased its photo and its words",
        (true, false) => "erased its photo",
        _ => "erased its words",
    };
    Ok(finish(tx, by, id, (verb, why)).await?)
}

/// Was there any to erase?
fn erase_where(kept: &mut Written, goes: impl Fn(&str) -> bool) -> bool {
    let mut any = false;
    for words in kept.each() {
        if is_there(words) && goes(words) {
            ERASED.clone_into(words);
            any = true;
        }
    }
    any
}

#[derive(Serialize)]
struct Told {
    reason: &'static str,
}

/// What names somebody who is erased from the list of people.
pub(super) async fn of_person(tx: &mut Tx, by: &By, person: &Person) -> Result<()> {
    let people = people::all(tx).await?;
    for mut kept in report_words::all(tx).await? {
        if erase_where(&mut kept, |words| is_named(words, person, &people)) {
            report_words::put(tx, &kept).await?;
            let told = Told {
                reason: "Somebody was erased from the list of people.",
            };
            let subject = ("report", kept.id);
            log(tx, by, "erased its words", subject, (&None::<()>, &told)).await?;
        }
    }
    Ok(())
}

/// A photo that went from the book goes from each report that holds the same.
pub(super) async fn same_as_in_book(
    tx: &mut Tx,
    by: &By,
    (incident, file): (&str, &Attached),
) -> Result<()> {
    let same = [Some(file.sha256), file.original_sha256];
    let is_same = |digest: Digest| same.contains(&Some(digest));
    let original = file.original_sha256.map(|digest| digest.to_string());
    let original = original.unwrap_or_default();
    let kept = report_photos::of_incident_or_sent_as(tx, incident, &original).await?;
    for photo in kept {
        let sent_as = Digest::parse(&photo.original_sha256);
        if sent_as.is_ok_and(is_same) || is_same(Digest::of(&photo.large)) {
            report_photos::erase(tx, photo.report_id, by.at).await?;
            let told = Told {
                reason: "It was erased from the incident book.",
            };
            let subject = ("report", photo.report_id);
            log(tx, by, "erased its photo", subject, (&None::<()>, &told)).await?;
        }
    }
    Ok(())
}
