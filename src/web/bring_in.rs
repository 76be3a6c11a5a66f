//! Bring in a spreadsheet, the first step and the last: what it holds and its text; and what was brought in. The steps
//! between, each with an address of its own: `columns`, `questions`, `check`. The sheet waits on the server meanwhile, for
//! nobody but who sent it.

mod check;
mod columns;
mod questions;

pub use check::{bring_in, check, list_of};
pub use columns::{ask_columns, choose_columns};
pub use questions::{answer_questions, ask_questions};

use crate::actions::bring_in::{self as action, BringInRefusal, Opened};
use crate::actions::once::Repeat;
use crate::app::App;
use crate::bench::kit::KitKind;
use crate::club::sheet::columns::{guessed, of};
use crate::club::sheet::{Choices, Holds, MOST_BYTES, MOST_ROWS, SHOWN, text};
use crate::store::sheets::{self, Done};
use crate::store::{Conn, known};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::kit::capital;
use crate::web::page::{self, Page, PageError};
use crate::web::upload::Upload;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

const TITLE: &str = "Bring in a spreadsheet";

#[derive(Template)]
#[template(path = "bring_in/start.html")]
struct StartPage {
    shell: Shell,
    problems: Problems,
    is_removed: bool,
    typed: Fields,
    holds: Vec<(String, String)>,
    kinds: Vec<(String, String)>,
    most_rows: usize,
    waiting: Vec<(Uuid, String, When)>,
}

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    removed: String,
}

async fn start_page(
    app: &App,
    who: &SignedIn,
    typed: Fields,
    problems: Problems,
) -> Result<StartPage, PageError> {
    let waiting = sheets::on_their_way(&mut app.db.read().await?, who.me.person_id).await?;
    Ok(StartPage {
        shell: if problems.is_empty() {
            who.shell(TITLE)
        } else {
            who.shell_refused(TITLE)
        },
        problems,
        is_removed: false,
        typed,
        holds: Holds::ALL
            .map(|holds| (holds.code().to_owned(), holds.label().to_owned()))
            .to_vec(),
        kinds: KitKind::ALL
            .map(|kind| (kind.code().to_owned(), capital(kind.plural())))
            .to_vec(),
        most_rows: MOST_ROWS,
        waiting: waiting
            .into_iter()
            .map(|(id, name, at)| (id, name, past(at, who.now, &who.zone)))
            .collect(),
    })
}

/// GET /bring-in
pub async fn ask(State(app): State<App>, who: SignedIn, Query(told): Query<Told>) -> Page {
    let page = start_page(&app, &who, Fields::default(), Problems::default()).await?;
    page::show(&StartPage {
        is_removed: !told.removed.is_empty(),
        ..page
    })
}

/// POST /bring-in
pub async fn send(State(app): State<App>, who: SignedIn, upload: Upload<MOST_BYTES>) -> Page {
    let mut problems = Problems::default();
    let holds = Holds::from_code(&upload.fields.text("holds"));
    let holds = problems.keep("holds", holds.ok_or("Choose what the sheet holds."));
    let kept = sheet_text(&upload, &mut problems);
    if let (Some(holds), Some((name, text, headings)), true) = (holds, kept, problems.is_empty()) {
        let kind = KitKind::from_code(&upload.fields.text("kind")).filter(|_| holds == Holds::Kit);
        let guesses = guessed(&of(holds, kind), &headings).into_iter();
        let choices = Choices {
            kind: kind.map(|kind| kind.code().to_owned()),
            columns: guesses.map(|(code, at)| (code.to_owned(), at)).collect(),
            ..Choices::default()
        };
        let by = who.by(&upload.fields);
        return led(action::keep(&app.db, &by, (holds, &choices), (&name, &text)).await);
    }
    page::refused(&start_page(&app, &who, upload.fields, problems).await?)
}

/// The sheet's name, text and headings, from the file or as pasted.
fn sheet_text(
    upload: &Upload<MOST_BYTES>,
    problems: &mut Problems,
) -> Option<(String, String, Vec<String>)> {
    let pasted = upload.fields.raw("text");
    let (field, name, decoded) = match (&upload.file, pasted.trim().is_empty()) {
        (Some(_), false) => ("text", "", Err("Send a file or paste text, not both.")),
        (None, true) => (
            "sheet",
            "",
            Err("Choose the file, or paste the sheet's text."),
        ),
        (Some(file), true) if file.is_too_large => (
            "sheet",
            "",
            Err("A sheet may have 4 MB. Bring it in in parts."),
        ),
        (Some(file), true) => ("sheet", file.name.as_str(), text::decoded(&file.bytes)),
        (None, false) if pasted.len() > MOST_BYTES => (
            "text",
            "",
            Err("A sheet may have 4 MB. Bring it in in parts."),
        ),
        (None, false) => ("text", "pasted text", Ok(pasted.to_owned())),
    };
    let decoded = problems.keep(field, decoded)?;
    match text::grid(&decoded) {
        Ok(grid) => Some((name.to_owned(), decoded, grid.headings)),
        Err(troubles) => {
            for trouble in troubles.iter().take(SHOWN) {
                problems.add(field, trouble.to_string());
            }
            if troubles.len() > SHOWN {
                problems.add(field, format!("And {} more.", troubles.len() - SHOWN));
            }
            None
        }
    }
}

/// Where a step led.
fn led(outcome: Result<String, BringInRefusal>) -> Page {
    match outcome {
        Ok(address) | Err(BringInRefusal::Repeat(Repeat::Done(address))) => page::go_to(&address),
        Err(BringInRefusal::Store(error)) => Err(error.into()),
        Err(BringInRefusal::Gone) => Err(PageError::NotFound),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}

/// The person's own sheet on its way, with what comes of it; its name.
async fn opened(app: &App, who: &SignedIn, id: Uuid) -> Result<(Opened, String), PageError> {
    let mut conn: Conn = app.db.read().await?;
    let sheet = sheets::own(&mut conn, id, who.me.person_id).await?;
    let sheet = sheet.ok_or(PageError::NotFound)?;
    if sheet.done()?.is_some() {
        return Err(PageError::NotFound);
    }
    let known = known::all(&mut conn).await?;
    drop(conn);
    let opened = action::open(&sheet, known, &who.by(&Fields::default())).await?;
    Ok((opened, sheet.name))
}

/// POST /bring-in/{id}/remove
pub async fn remove(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    led(action::remove(&app.db, &who.by(&fields), id).await)
}

#[derive(Template)]
#[template(path = "bring_in/done.html")]
struct DonePage {
    shell: Shell,
    done: Done,
    told: Vec<String>,
    holds: Holds,
}

/// GET /bring-in/{id}/done
pub async fn done(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let found = sheets::own(&mut app.db.read().await?, id, who.me.person_id).await?;
    let sheet = found.ok_or(PageError::NotFound)?;
    let done = sheet.done()?.ok_or(PageError::NotFound)?;
    page::show(&DonePage {
        shell: who.shell("Brought in"),
        told: told(&done),
        holds: sheet.holds().unwrap_or(Holds::Packs),
        done,
    })
}

/// `4988 packs, P-001 to P-4988.`
fn told(done: &Done) -> Vec<String> {
    let mut told = Vec::new();
    if let Some((first, last)) = &done.first_and_last {
        let which = if first == last {
            first.clone()
        } else {
            format!("{first} to {last}")
        };
        told.push(format!(
            "{}: {which}.",
            counted(done.packs, "new pack", "new packs")
        ));
    }
    for (count, one, many) in [
        (done.designs, "new design", "new designs"),
        (done.kit, "new piece of kit", "new pieces of kit"),
        (
            done.changed,
            "row changed details of what was on record",
            "rows changed details of what was on record",
        ),
        (
            done.left,
            "row was on record already and left as it was",
            "rows were on record already and left as they were",
        ),
    ] {
        if count > 0 {
            told.push(format!("{}.", counted(count, one, many)));
        }
    }
    told
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
