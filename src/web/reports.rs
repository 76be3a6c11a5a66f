//! Reports for those who run the pool: those that nobody read first, the gravest on top; one of them with what can be done about
//! it. What each comes to is `actions::see_to_reports`.

use crate::actions::erase_reports::has_words;
use crate::actions::see_to_reports::{self, SeeToFailed};
use crate::app::App;
use crate::battery::volts;
use crate::bench::form::Refusal;
use crate::club::calendar::Instant;
use crate::club::reports::{About, Effect, IsNow};
use crate::club::seen::Seen;
use crate::club::verdict::Gravity;
use crate::store::book::answers::{self, Answer};
use crate::store::book::report_photos;
use crate::store::book::reports::{self, Report};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::photos::served;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, in_a_list, past_at};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

/// How many are told at once; of what nobody read, as many of members' and as many of strangers'.
const PART: i64 = 50;
const PARTS_MOST: i64 = 100_000;

pub(super) struct Row {
    pub(super) id: Uuid,
    pub(super) reference: String,
    pub(super) of: String,
    pub(super) told: String,
    /// Where it waited on a phone.
    pub(super) made: Option<When>,
    pub(super) came: When,
    pub(super) by: String,
    pub(super) stands: String,
    pub(super) is_danger: bool,
}

#[derive(Template)]
#[template(path = "report/list.html")]
struct ListPage {
    shell: Shell,
    unread: Vec<Row>,
    /// Of those that nobody read: the first is 1.
    part: i64,
    has_more: bool,
    /// Strangers' that stand here whole: read in one press.
    of_strangers: Vec<Uuid>,
    read: Vec<Row>,
    older: Option<i64>,
}

pub(super) struct Answered {
    pub(super) words: String,
    pub(super) when: When,
    pub(super) by: Option<String>,
}

page::puts_right!(OnePage);

#[derive(Template)]
#[template(path = "report/one.html")]
struct OnePage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    row: Row,
    report: Report,
    effect: &'static str,
    read: Option<When>,
    looked: Option<When>,
    photo_erased: Option<When>,
    answers: Vec<Answered>,
    doubles: Vec<Row>,
}

/// `Swollen or puffed; Wet: it rattles`
pub(super) fn what_is_told(report: &Report) -> String {
    let seen = report.seen();
    let ticked = seen.iter().filter(|seen| **seen != Seen::SomethingElse);
    let ticked: Vec<&str> = ticked.map(|seen| seen.label()).collect();
    let seen = match (ticked.join("; "), report.words.trim()) {
        (seen, "") => seen,
        (seen, words) if seen.is_empty() => words.to_owned(),
        (seen, words) => format!("{seen}: {words}"),
    };
    let all = [seen, volts_told(report)];
    let all: Vec<String> = all.into_iter().filter(|each| !each.is_empty()).collect();
    all.join(". ")
}

/// `Volts: 3.91 2.10`; empty: none were measured with it.
fn volts_told(report: &Report) -> String {
    let told = |volts| format!("Volts: {}", volts::words(&volts));
    report.volts().map(told).unwrap_or_default()
}

/// `P-001`, `A charger or power supply, by the poster Hall door`
pub(super) fn what_it_is_of(report: &Report) -> String {
    let of = match (&report.pack_number, report.thing()) {
        (Some(number), _) => number.clone(),
        (None, Some(thing)) => thing.label().to_owned(),
        (None, None) => report.about().label().to_owned(),
    };
    match &report.poster_name {
        Some(name) => format!("{of}, by the poster “{name}”"),
        None => of,
    }
}

fn row(report: &Report, who: &SignedIn) -> Row {
    let stands = match (report.merged_into, report.looked_ms, report.was_so) {
        (Some(_), ..) => "a double of another",
        (_, Some(_), Some(true)) => "looked at: it was so",
        (_, Some(_), _) => "looked at: it was not so",
        _ if report.read_ms.is_some() && report.about() == About::Message => "read",
        _ if report.read_ms.is_some() => "read, not looked at yet",
        _ => "not read",
    };
    Row {
        id: report.id,
        reference: report.reference.clone(),
        of: what_it_is_of(report),
        told: what_is_told(report),
        made: report.made_ms.map(|at| past_at(at, who.now, &who.zone)),
        came: past_at(report.came_ms, who.now, &who.zone),
        by: match (&report.by_name, report.is_verified) {
            (Some(name), _) => name.clone(),
            (None, true) if report.by_id.is_some() => "(erased)".to_owned(),
            (None, true) => "somebody of the club, without a name".to_owned(),
            (None, false) => "somebody not signed in, unverified".to_owned(),
        },
        stands: stands.to_owned(),
        is_danger: report.gravity() >= Gravity::Danger,
    }
}

/// A row of the list tells all of it: a letter's tells not how to reach who sent it.
fn stands_whole(report: &Report) -> bool {
    let told = what_is_told(report);
    report.about() != About::Message && in_a_list(&told) == told
}

fn listed(report: &Report, who: &SignedIn) -> Row {
    let row = row(report, who);
    Row {
        told: in_a_list(&row.told),
        ..row
    }
}

pub(super) fn answered(answers: Vec<Answer>, at: impl Fn(Instant) -> When) -> Vec<Answered> {
    let told = |answer: Answer| Answered {
        words: answer.words,
        when: at(answer.at_ms),
        by: answer.by_name,
    };
    answers.into_iter().map(told).collect()
}

#[derive(Default, Deserialize)]
pub struct Part {
    #[serde(default)]
    before: String,
    #[serde(default)]
    unread: String,
}

/// GET /reports
pub async fn list(State(app): State<App>, who: SignedIn, Query(asked): Query<Part>) -> Page {
    let before = asked.before.parse().map_or(Instant(i64::MAX), Instant);
    let part = asked.unread.parse().unwrap_or(1).clamp(1, PARTS_MOST);
    let mut conn = app.db.read().await?;
    let unread = reports::unread(&mut conn, PART, (part - 1) * PART).await?;
    let read = reports::read(&mut conn, before, PART).await?;
    drop(conn);
    let is_full = |count: usize| i64::try_from(count).unwrap_or(0) >= PART;
    let (members, strangers): (Vec<&Report>, Vec<&Report>) =
        unread.iter().partition(|report| report.is_verified);
    page::show(&ListPage {
        shell: who.shell("Reports"),
        part,
        has_more: is_full(members.len()) || is_full(strangers.len()),
        of_strangers: strangers
            .into_iter()
            .filter(|report| stands_whole(report))
            .map(|report| report.id)
            .collect(),
        older: read
            .last()
            .map(|last| last.came_ms.ms())
            .filter(|_| is_full(read.len())),
        unread: unread.iter().map(|report| listed(report, &who)).collect(),
        read: read.iter().map(|report| listed(report, &who)).collect(),
    })
}

/// POST /reports: strangers' reports that somebody went through on the list.
pub async fn read_many(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let ids = fields.all("read");
    let ids: Option<Vec<Uuid>> = ids.iter().map(|id| id.parse().ok()).collect();
    let Some(ids) = ids else {
        let words = "Open the list of reports again.".to_owned();
        return Err(PageError::Unreadable(words));
    };
    match see_to_reports::read_many(&app.db, &who.by(&fields), &ids).await {
        Ok(()) => page::go_to("/reports"),
        Err(SeeToFailed::Repeat(repeat)) => again(&repeat),
        Err(SeeToFailed::Store(error)) => Err(error.into()),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}

async fn one_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    (shell, problems, typed): (Shell, Problems, Fields),
) -> Result<OnePage, PageError> {
    let mut conn = app.db.read().await?;
    let (report, doubles) = reports::with_doubles(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let answers = answers::to(&mut conn, &report).await?;
    drop(conn);
    let at = |at| past_at(at, who.now, &who.zone);
    Ok(OnePage {
        shell: Shell {
            title: format!("{} ({})", what_it_is_of(&report), report.reference),
            ..shell
        },
        problems,
        typed,
        row: row(&report, who),
        effect: match report.effect.as_str() {
            "quarantined" => "It put the pack in quarantine.",
            "set_aside" => "It is a reason to set the pack aside.",
            _ => "",
        },
        read: report.read_ms.map(at),
        looked: report.looked_ms.map(at),
        photo_erased: report.photo_erased_ms.map(at),
        answers: answered(answers, at),
        doubles: doubles.iter().map(|double| listed(double, who)).collect(),
        report,
    })
}

/// GET /reports/{id}
pub async fn show(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let fresh = (who.shell(""), Problems::default(), Fields::default());
    page::show(&one_page(&app, &who, id, fresh).await?)
}

/// POST /reports/{id}: what is done about it.
pub async fn see_to(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let by = who.by(&fields);
    let what = fields.text("what");
    let (field, done) = match what.as_str() {
        "read" => ("what", see_to_reports::read(&app.db, &by, id).await),
        "look" => {
            let was_so = match fields.text("was_so").as_str() {
                "yes" => Some(true),
                "no" => Some(false),
                _ => None,
            };
            let words = fields.text("looked");
            let done = see_to_reports::look(&app.db, &by, id, was_so, &words).await;
            ("looked", done)
        }
        "merge" => {
            let into = fields.text("into");
            ("into", see_to_reports::merge(&app.db, &by, id, &into).await)
        }
        "answer" => {
            let words = fields.text("answer");
            (
                "answer",
                see_to_reports::answer(&app.db, &by, id, &words).await,
            )
        }
        _ => {
            let words = "Choose what to do about the report.".to_owned();
            return Err(PageError::Unreadable(words));
        }
    };
    match done {
        Ok(()) => page::go_to(&format!("/reports/{id}")),
        Err(SeeToFailed::Repeat(repeat)) => again(&repeat),
        Err(SeeToFailed::Store(error)) => Err(error.into()),
        Err(SeeToFailed::NoReport) => Err(PageError::NotFound),
        Err(refusal) => {
            let problems = Problems::one(field, refusal.to_string()).by(refusal.against());
            let filled = (who.shell_refused(""), problems, fields);
            page::put_right(&one_page(&app, &who, id, filled).await?)
        }
    }
}

/// GET /reports/{id}/photo
pub async fn photo(State(app): State<App>, _: SignedIn, Path(id): Path<Uuid>) -> Page {
    served(report_photos::one(&mut app.db.read().await?, id, false).await?)
}

/// GET /reports/{id}/photo/small
pub async fn small(State(app): State<App>, _: SignedIn, Path(id): Path<Uuid>) -> Page {
    served(report_photos::one(&mut app.db.read().await?, id, true).await?)
}

impl OnePage {
    fn is_now(&self) -> bool {
        self.report.is_now() == IsNow::Yes
    }

    /// Danger, by somebody not signed in whose network had quarantined a pack that day.
    fn is_held_back(&self) -> bool {
        self.report.effect == Effect::SetAside.code()
            && !self.report.is_verified
            && self.report.gravity() >= Gravity::Danger
    }

    /// Somebody wrote to the club: there is nothing to look at.
    fn is_letter(&self) -> bool {
        self.report.about() == About::Message
    }

    /// By a label that leads nowhere any more, or by somebody who was signed out: told, and nothing was done.
    fn is_named_only(&self) -> bool {
        self.report.pack_id.is_some() && self.report.about() != About::Pack
    }

    fn may_erase(&self) -> bool {
        self.report.has_photo || has_words(&self.report)
    }

    fn is_chosen(&self, was_so: &str) -> bool {
        self.typed.text("was_so") == was_so
    }
}
