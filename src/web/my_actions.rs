//! What is somebody's own to do after incidents: its words, its day, and which incident it is of; nothing else of the book. Here they
//! say that it is done.

use crate::actions::book::{BookFailed, own, sealed};
use crate::app::App;
use crate::club::book::chain::Sealed;
use crate::club::book::incident::Kind;
use crate::club::book::story::{ActionStands, Story};
use crate::store::book::actions::{self, Own};
use crate::store::book::entries::{self, Told};
use crate::web::asked::{Path, Query};
use crate::web::book::{line, unread};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

page::puts_right!(ActionsPage);

#[derive(Template)]
#[template(path = "book/mine.html")]
struct ActionsPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    rows: Vec<MyAction>,
    /// What was typed about one that is theirs no more.
    left: String,
    is_written: bool,
}

#[derive(Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    written: String,
}

struct MyAction {
    seq: i64,
    field: String,
    what: String,
    by: String,
    is_due: bool,
    incident: String,
    kind: &'static str,
}

/// What the story of its incident says of it; None: it is to be done no more.
fn row(own: Own, told: &Told, who: &SignedIn) -> Result<Option<MyAction>, PageError> {
    let all = sealed(&told.entries).map_err(unread)?;
    let of_incident = |one: &&Sealed| one.entry.body["incident"] == own.incident.as_str();
    let story = Story::of(all.iter().filter(of_incident));
    let rows = line::actions(&story, &told.parts, who);
    let is_it = |row: &line::ActionRow| row.seq == own.seq && row.stands == ActionStands::ToDo;
    Ok(rows.into_iter().find(is_it).map(|row| MyAction {
        seq: row.seq,
        field: field(row.seq),
        what: row.what,
        by: row.by,
        is_due: row.is_due,
        kind: story.held.map_or("", |(kind, _)| Kind::label(kind)),
        incident: own.incident,
    }))
}

async fn actions_page(
    app: &App,
    who: &SignedIn,
    (shell, problems, typed): (Shell, Problems, Fields),
) -> Result<ActionsPage, PageError> {
    let mut conn = app.db.read().await?;
    let own = actions::own(&mut conn, who.me.person_id).await?;
    let told = entries::told_of_own(&mut conn, who.me.person_id).await?;
    drop(conn);
    let rows = own.into_iter().map(|own| row(own, &told, who));
    let rows: Vec<Option<MyAction>> = rows.collect::<Result<_, _>>()?;
    Ok(ActionsPage {
        shell,
        problems,
        typed,
        rows: rows.into_iter().flatten().collect(),
        left: String::new(),
        is_written: false,
    })
}

const TITLE: &str = "Mine to do after incidents";

/// GET /mine/actions
pub async fn show(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let fresh = (who.shell(TITLE), Problems::default(), Fields::default());
    let page = actions_page(&app, &who, fresh).await?;
    page::show(&ActionsPage {
        is_written: !asked.written.is_empty(),
        ..page
    })
}

/// POST /mine/actions/{action}: it is done.
pub async fn done(
    State(app): State<App>,
    who: SignedIn,
    Path(action): Path<i64>,
    fields: Fields,
) -> Page {
    let words = fields.text(&field(action));
    match own::done(&app.db, &who.by(&fields), action, &words).await {
        Ok(address) => page::go_to(&address),
        Err(BookFailed::Repeat(repeat)) => again(&repeat),
        Err(BookFailed::Told(found)) => {
            let problems = found.into_iter();
            let problems = problems.map(|one| one.words).collect::<Vec<_>>().join(" ");
            let problems = Problems::one(&field(action), problems);
            let refused = (who.shell_refused(TITLE), problems, fields);
            page::put_right(&actions_page(&app, &who, refused).await?)
        }
        // Done or another's meanwhile: what was typed is given back.
        Err(BookFailed::NoIncident) if !words.is_empty() => {
            let fresh = (who.shell(TITLE), Problems::default(), Fields::default());
            let mut page = actions_page(&app, &who, fresh).await?;
            page.left = words;
            page::not_found(&page)
        }
        Err(error) => Err(unread(error)),
    }
}

/// Each has a field of its own name on the page.
fn field(action: i64) -> String {
    format!("words-{action}")
}
