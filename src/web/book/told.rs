//! What the forms of an incident's page tell.

use super::{held, line, not_held, unread, words};
use crate::actions::book::sealed;
use crate::app::App;
use crate::bench::FieldProblem;
use crate::club::book::chain::Sealed;
use crate::club::book::correctable::{is_in_a_form, is_time};
use crate::club::book::digest::Digest;
use crate::club::book::story::{Story, day_and_time};
use crate::club::book::telling::{ActionSet, Telling, Words};
use crate::club::calendar::{Day, Instant};
use crate::store::book::entries;
use crate::web::fields::Fields;
use crate::web::page::PageError;
use crate::web::visit::SignedIn;

type Told = Result<Telling, Vec<FieldProblem>>;

/// What a form of the page tells, or what it lacks; None: it is none of ours.
pub(super) async fn telling(
    app: &App,
    who: &SignedIn,
    incident: &str,
    fields: &Fields,
) -> Result<Option<Told>, PageError> {
    let seq: i64 = fields.text("action").parse().unwrap_or(0);
    let said = || words(fields, "words");
    Ok(Some(match fields.text("what").as_str() {
        "timeline" => when(fields, who).map(|happened| Telling::Timeline {
            happened,
            words: said(),
        }),
        "cause" => Ok(Telling::Cause(said())),
        "lesson" => Ok(Telling::Lesson(said())),
        "action_set" => action_set(fields),
        "action_done" => Ok(Telling::ActionDone { seq, words: said() }),
        "action_looked_at" => looked_at(fields, seq),
        "correct" => correction(fields, who, &all(app, incident).await?),
        "held" => held_otherwise(fields, who, &all(app, incident).await?),
        "told_to" => when(fields, who).map(|at| Telling::ToldTo {
            whom: fields.text("whom"),
            at,
            reference: fields.text("reference"),
            told_by: fields.text("told_by"),
        }),
        "not_told" => Ok(Telling::NotTold {
            whom: fields.text("whom"),
            why: fields.text("why"),
        }),
        "close" => Ok(Telling::Closed {
            causes: vec![fields.text("causes")],
            lessons: fields.text("lessons"),
        }),
        "reopen" => Ok(Telling::Reopened {
            why: fields.text("why"),
        }),
        _ => return Ok(None),
    }))
}

/// Nothing typed: now. A time alone is today's; never one that is still to come, since the book can't be changed.
fn when(fields: &Fields, who: &SignedIn) -> Result<Instant, Vec<FieldProblem>> {
    let (day, time) = (fields.text("day"), fields.text("time"));
    let today = who.zone.day_of(who.now);
    let day = match (day.trim(), time.trim()) {
        ("", "") => return Ok(who.now),
        (_, "") => return Err(lacks(&[(false, "time", "Say the time too.")])),
        ("", _) => Some(today),
        (day, _) => Day::parse(day),
    };
    let Some(day) = day else {
        return Err(lacks(&[(false, "day", "Write the day like 2026-11-24.")]));
    };
    match who.zone.at(day, time.trim()) {
        Some(at) if at > who.now => Err(lacks(&[(false, "day", "That is still to come.")])),
        Some(at) => Ok(at),
        None => Err(lacks(&[(false, "time", "Write the time like 21:30.")])),
    }
}

async fn all(app: &App, incident: &str) -> Result<Vec<Sealed>, PageError> {
    let kept = entries::of_incident(&mut app.db.read().await?, incident).await?;
    sealed(&kept).map_err(unread)
}

fn lacks(asked: &[(bool, &'static str, &str)]) -> Vec<FieldProblem> {
    let lacking = asked.iter().filter(|(is_there, ..)| !is_there);
    let problem = |(_, field, words): &(bool, &'static str, &str)| FieldProblem {
        field,
        words: (*words).to_owned(),
    };
    lacking.map(problem).collect()
}

fn action_set(fields: &Fields) -> Told {
    let days = ["due", "look_on"].map(|name| Day::parse(&fields.text(name)));
    let [Some(due), Some(look_on)] = days else {
        return Err(lacks(&[
            (days[0].is_some(), "due", "Say by which day it is done."),
            (
                days[1].is_some(),
                "look_on",
                "Say on which day one looks whether it works.",
            ),
        ]));
    };
    Ok(Telling::ActionSet(ActionSet {
        what: words(fields, "action_what"),
        owner: fields.text("owner"),
        due,
        works_if: fields.text("works_if"),
        look_on,
    }))
}

fn looked_at(fields: &Fields, seq: i64) -> Told {
    let worked = match fields.text("worked").as_str() {
        "yes" => true,
        "no" => false,
        _ => return Err(lacks(&[(false, "worked", "Say whether it works.")])),
    };
    Ok(Telling::ActionLookedAt {
        seq,
        worked,
        words: words(fields, "words"),
    })
}

fn digest_of(all: &[Sealed], seq: i64) -> Digest {
    let found = all.iter().find(|one| one.entry.seq == seq);
    found.map_or(Digest::NONE_BEFORE, |one| one.hash)
}

fn correction(fields: &Fields, who: &SignedIn, all: &[Sealed]) -> Told {
    let seq: i64 = fields.text("corrects").parse().unwrap_or(0);
    let field = fields.text("field");
    let said = words(fields, "instead");
    if let Some((day, time)) = day_and_time(&said.text).filter(|_| is_time(&field)) {
        let is_past = who.zone.at(day, time).is_none_or(|at| at <= who.now);
        if !is_past {
            return Err(lacks(&[(false, "instead", "That is still to come.")]));
        }
    }
    Ok(Telling::Corrected {
        seq,
        hash: digest_of(all, seq),
        instead: Words {
            names_somebody: said.names_somebody && !is_in_a_form(&field),
            ..said
        },
        field,
        held: None,
        why: fields.text("why"),
    })
}

/// It names the entry that said last what the incident is held to be.
fn held_otherwise(fields: &Fields, who: &SignedIn, all: &[Sealed]) -> Told {
    let Some((kind, severity)) = held(fields, who) else {
        return Err(not_held(fields));
    };
    let seq = Story::of(all).held_by.unwrap_or(0);
    Ok(Telling::Corrected {
        seq,
        hash: digest_of(all, seq),
        field: "held".to_owned(),
        instead: Words {
            text: format!("{}. {}", kind.label(), line::grave(&severity)),
            names_somebody: false,
        },
        held: Some((kind, severity)),
        why: fields.text("why"),
    })
}
