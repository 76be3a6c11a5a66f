//! What those who run the pool do with a report: read it, look and say whether it was so, merge doubles, answer whoever sent it.
//! None of it lifts anything: what was so is stored as what was seen, and what was not so leaves the pool's own ways out.

use crate::actions::book::is_named;
use crate::actions::condition::Looked;
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Change};
use crate::actions::{By, log, report};
use crate::bench::form::{Against, Refusal};
use crate::club::book::asked::NAMED_FOR_GOOD;
use crate::club::reports::confirmed::{as_it_happens, confirmed};
use crate::club::reports::{self, ANSWER_MOST, IsNow, LookRefusal, MergeRefusal};
use crate::club::verdict::Rule;
use crate::store::book::answers;
use crate::store::book::reports::{self as store, Report};
use crate::store::packs;
use crate::store::{Db, Result, StoreError, Tx, at_once, findings, people};
use serde::Serialize;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum SeeToFailed {
    #[error("There is no such report.")]
    NoReport,
    #[error("Only a quartermaster or an organiser does this.")]
    NotYours,
    #[error("Write the answer.")]
    NoAnswer,
    #[error(
        "Somebody of the club is named here. Whoever sent the report reads it, and it can't be erased: say it without the name."
    )]
    Named,
    #[error("Choose what is erased.")]
    NothingChosen,
    #[error("Say why, without a name.")]
    NoReason,
    #[error("{NAMED_FOR_GOOD}")]
    NamedForGood,
    #[error("That is erased already.")]
    ErasedAlready,
    #[error("Say it in at most {ANSWER_MOST} letters.")]
    TooLong,
    #[error(transparent)]
    Look(#[from] LookRefusal),
    #[error(transparent)]
    Merge(#[from] MergeRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for SeeToFailed {
    fn against(&self) -> Against {
        match self {
            Self::Look(refusal) => refusal.against(),
            Self::Merge(refusal) => refusal.against(),
            Self::NotYours => Against::Right,
            _ => Against::Typed,
        }
    }
}

type Done = std::result::Result<(), SeeToFailed>;

#[derive(Serialize)]
struct Told<'a> {
    #[serde(skip_serializing_if = "str::is_empty")]
    reason: &'a str,
}

pub(super) async fn begin(
    db: &Db,
    by: &By,
    id: Uuid,
) -> std::result::Result<(Tx, Report), SeeToFailed> {
    if !by.actor.roles.may_see_holders() {
        return Err(SeeToFailed::NotYours);
    }
    let mut tx = once::begin::<SeeToFailed>(db, by).await?;
    let report = store::by_id(&mut tx, id).await?;
    Ok((tx, report.ok_or(SeeToFailed::NoReport)?))
}

/// Whoever does anything with a report has read it.
pub(super) async fn finish(
    mut tx: Tx,
    by: &By,
    id: Uuid,
    (verb, reason): (&str, &str),
) -> Result<()> {
    store::note_read(&mut tx, id, by.actor.id, by.at).await?;
    let told = Told { reason };
    log(&mut tx, by, verb, ("report", id), (&None::<()>, &told)).await?;
    once::finish(tx, by, &format!("/reports/{id}")).await
}

pub async fn read(db: &Db, by: &By, id: Uuid) -> Done {
    let (tx, report) = begin(db, by, id).await?;
    Ok(finish(tx, by, report.id, ("read", "")).await?)
}

/// What strangers sent and somebody went through on the list, in one press. What members told is read one by one.
pub async fn read_many(db: &Db, by: &By, ids: &[Uuid]) -> Done {
    if !by.actor.roles.may_see_holders() {
        return Err(SeeToFailed::NotYours);
    }
    let mut tx = once::begin::<SeeToFailed>(db, by).await?;
    for id in store::unread_of_strangers(&mut tx).await? {
        if ids.contains(&id) {
            store::note_read(&mut tx, id, by.actor.id, by.at).await?;
            let told = Told { reason: "" };
            log(&mut tx, by, "read", ("report", id), (&None::<()>, &told)).await?;
        }
    }
    Ok(once::finish(tx, by, "/reports").await?)
}

/// A person looked: `was_so` or not, and what they saw.
pub async fn look(db: &Db, by: &By, id: Uuid, was_so: Option<bool>, words: &str) -> Done {
    let (mut tx, report) = begin(db, by, id).await?;
    let words = words.trim();
    let was_so = may_look(&report, was_so, words)?;
    let mut all = store::doubles_of(&mut tx, id).await?;
    all.push(report);
    for each in all.iter().filter(|each| each.acts_when_looked_at()) {
        if was_so {
            confirm(&mut tx, by, each).await?;
        } else if let Some(finding_id) = each.finding_id {
            let (words, next) = reports::was_not_so(looked_of(each).words().as_deref());
            findings::reword(&mut tx, finding_id, (&words, next)).await?;
        }
    }
    store::note_looked(&mut tx, id, (by.actor.id, by.at), (was_so, words)).await?;
    let verb = if was_so {
        "looked at what was reported: it was so"
    } else {
        "looked at what was reported: it was not so"
    };
    let pack_id = all.last().and_then(|report| report.pack_id);
    if let Some(pack_id) = pack_id
        && let Some(pack) = packs::by_id(&mut tx, pack_id).await?
    {
        let change = Change {
            verb,
            reason: Some(words),
            ..Change::default()
        };
        standing::settle_as(&mut tx, by, &pack, change).await?;
    }
    Ok(finish(tx, by, id, (verb, words)).await?)
}

/// Of two who looked at once, whoever saw that it was so is believed.
fn is_graver(report: &Report, was_so: Option<bool>) -> bool {
    report.was_so == Some(false) && was_so == Some(true)
}

fn may_look(
    report: &Report,
    was_so: Option<bool>,
    words: &str,
) -> std::result::Result<bool, SeeToFailed> {
    if report.merged_into.is_some() {
        Err(LookRefusal::Merged.into())
    } else if report.looked_ms.is_some() && !is_graver(report, was_so) {
        Err(LookRefusal::AlreadyLookedAt.into())
    } else if words.is_empty() {
        Err(LookRefusal::NothingSaid.into())
    } else if words.chars().count() > ANSWER_MOST {
        Err(SeeToFailed::TooLong)
    } else {
        was_so.ok_or_else(|| LookRefusal::NotChosen.into())
    }
}

/// What was ticked and said.
pub fn looked_of(report: &Report) -> Looked {
    Looked {
        seen: report.seen(),
        crash: report.crash(),
        own_words: report.words.clone(),
        happens_now: report.is_now() == IsNow::Yes,
    }
}

/// What did nothing to the pack before somebody looked becomes what was seen, as grave as it is, and takes the place of what a
/// stranger's report had put there until then. Nothing is recorded on a pack that is gone.
/// Their words stay with it.
async fn confirm(tx: &mut Tx, by: &By, report: &Report) -> Result<()> {
    let Some(pack_id) = report.pack_id else {
        return Ok(());
    };
    let Some(pack) = packs::by_id(tx, pack_id).await? else {
        return Ok(());
    };
    if report::is_gone(tx, &pack).await? {
        return Ok(());
    }
    let mut seen = confirmed(&report.seen(), report.crash(), &report.words);
    if report.is_now() == IsNow::Yes {
        seen = as_it_happens(seen);
    }
    for finding in &seen {
        standing::find(tx, by, &pack, finding, None).await?;
    }
    at_once::told_by_report(tx, pack_id, by.at).await?;
    let open = findings::open(tx, pack_id).await?;
    let is_placeholder = |rule: Option<Rule>| rule == Some(Rule::ReportedUnlooked);
    let held = open
        .iter()
        .find(|found| Some(found.id) == report.finding_id && is_placeholder(found.rule()));
    let gravest = reports::gravest(&seen);
    if let Some(held) = held.filter(|held| held.gravity() <= gravest) {
        let words = "Looked at: it was so.";
        findings::close(tx, held.id, by.actor.id, words, by.at).await?;
    }
    Ok(())
}

/// `reference`: of the report that stays.
pub async fn merge(db: &Db, by: &By, id: Uuid, reference: &str) -> Done {
    let (mut tx, report) = begin(db, by, id).await?;
    // As it is read out, with a space in it or in capitals.
    let words: Vec<&str> = reference.split_whitespace().collect();
    let reference = words.join("-").to_lowercase();
    let into = store::by_reference(&mut tx, &reference).await?;
    let into = into.ok_or(MergeRefusal::NoOther)?;
    reports::may_merge(&report.as_double(), &into.as_double())?;
    if !store::doubles_of(&mut tx, id).await?.is_empty() {
        return Err(MergeRefusal::IsMerged.into());
    }
    store::merge(&mut tx, id, into.id).await?;
    // Whichever of them stands in the book: it is one event, and one incident.
    let of_either = [&into.incident, &report.incident];
    if let Some(incident) = of_either.into_iter().find(|one| !one.is_empty()) {
        store::begins(&mut tx, into.id, incident).await?;
    }
    Ok(finish(tx, by, id, ("merged into another report", &reference)).await?)
}

/// Added to what was answered before: whoever sent it may have read that already.
pub async fn answer(db: &Db, by: &By, id: Uuid, words: &str) -> Done {
    let (mut tx, report) = begin(db, by, id).await?;
    let words = words.trim();
    if words.is_empty() {
        return Err(SeeToFailed::NoAnswer);
    }
    // A browser counts the end of a line as one letter and sends it as two.
    if words.chars().filter(|letter| *letter != '\r').count() > ANSWER_MOST {
        return Err(SeeToFailed::TooLong);
    }
    let people = people::all(&mut tx).await?;
    if people.iter().any(|one| is_named(words, one, &people)) {
        return Err(SeeToFailed::Named);
    }
    answers::add(&mut tx, report.id, (by.actor.id, by.at), words).await?;
    Ok(finish(tx, by, id, ("answered", "")).await?)
}
