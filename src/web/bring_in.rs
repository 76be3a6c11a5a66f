//! Bring in a spreadsheet, the first step and the last: what it holds and its text; and what was brought in. The steps
//! between, each with an address of its own: `columns`, `questions`, `check`. The sheet waits on the server meanwhile, for
//! nobody but who sent it.

mod check;
mod columns;
mod questions;
mod read_back;

pub use check::{bring_in, check, list_of};
pub use columns::{ask_columns, choose_columns};
pub use questions::{answer_questions, ask_questions};

use crate::actions::bring_in::{self as action, BringInRefusal, Opened};
use crate::actions::once::Repeat;
use crate::app::App;
use crate::bench::kit::KitKind;
use crate::club::sheet::columns::{guessed, of};
use crate::club::sheet::plan::span;
use crate::club::sheet::{Choices, Holds, MOST_BYTES, MOST_ROWS, Troubles, text};
use crate::club::typed_numbers::counted;
use crate::store::sheets::{self, Done, Sheet};
use crate::store::{Conn, known};
use crate::web::LARGEST_FORM;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::kit::capital;
use crate::web::page::{self, Page, PageError};
use crate::web::upload::{Upload, plain_name};
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
    text_hint: String,
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
    let name = typed.text("name");
    let waiting = sheets::on_their_way(&mut app.db.read().await?, who.me.person_id).await?;
    let has_text = !typed.text("text").trim().is_empty();
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
        text_hint: if is_of_a_file(&name) && has_text {
            format!(
                "The text of {name}, kept: it is sent again with this form, unless another file is chosen."
            )
        } else {
            "In place of a file.".to_owned()
        },
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
pub async fn send(State(app): State<App>, who: SignedIn, mut upload: Upload<MOST_BYTES>) -> Page {
    let by = who.by(&upload.fields);
    let mut problems = Problems::default();
    let holds = Holds::from_code(&upload.fields.text("holds"));
    let holds = problems.keep("holds", holds.ok_or("Choose what the sheet holds."));
    let read = match sent(&mut upload) {
        Ok(sent) => Some(action::off_the_threads(move || sent.read()).await?),
        Err((field, words)) => {
            problems.add(field, words);
            None
        }
    };
    if let Some(read) = &read {
        read.tell(&mut problems);
    }
    let mut typed = upload.fields;
    match (holds, read) {
        (Some(holds), Some(read)) if problems.is_empty() => {
            let choices = first_choices(holds, &typed.text("kind"), &read.headings);
            let kept = action::keep(&app.db, &by, (holds, &choices), (&read.name, &read.text));
            return led(kept.await);
        }
        (_, Some(read)) => read.give_back(&mut typed),
        (_, None) => {}
    }
    page::refused(&start_page(&app, &who, typed, problems).await?)
}

/// The columns as their headings say.
fn first_choices(holds: Holds, kind: &str, headings: &[String]) -> Choices {
    let kind = KitKind::from_code(kind).filter(|_| holds == Holds::Kit);
    let guesses = guessed(&of(holds, kind), headings).into_iter();
    Choices {
        kind: kind.map(|kind| kind.code().to_owned()),
        columns: guesses.map(|(code, at)| (code.to_owned(), at)).collect(),
        ..Choices::default()
    }
}

/// The file, or what was pasted in its place.
struct Sent {
    field: &'static str,
    name: String,
    bytes: Vec<u8>,
}

const TOO_LARGE: &str = "A sheet may have 4 MB. Bring it in in parts.";

/// Or the field and what is wrong with it.
fn sent(upload: &mut Upload<MOST_BYTES>) -> Result<Sent, (&'static str, &'static str)> {
    let pasted = upload.fields.raw("text");
    let name = upload.fields.text("name");
    // A file that is chosen now goes before the text of one that was given back.
    let is_given_back = is_of_a_file(&name) && upload.file.is_some();
    match (
        upload.file.take(),
        pasted.trim().is_empty() || is_given_back,
    ) {
        (Some(_), false) => Err(("text", "Send a file or paste text, not both.")),
        (None, true) => Err(("sheet", "Choose the file, or paste the sheet's text.")),
        (Some(file), true) if file.is_too_large => Err(("sheet", TOO_LARGE)),
        (Some(file), true) => Ok(Sent {
            field: "sheet",
            name: file.name,
            bytes: file.bytes,
        }),
        (None, false) => {
            // Browsers send two signs for a line end.
            let text = pasted.replace("\r\n", "\n");
            match text.len() {
                ..=MOST_BYTES => Ok(Sent {
                    field: "text",
                    name: plain_name(if name.is_empty() { PASTED } else { &name }),
                    bytes: text.into_bytes(),
                }),
                _ => Err(("text", TOO_LARGE)),
            }
        }
    }
}

const PASTED: &str = "pasted text";

/// Whether a text that the form carries was a file's when it was first sent.
fn is_of_a_file(name: &str) -> bool {
    !name.is_empty() && name != PASTED
}

/// What was sent, split.
#[derive(Default)]
struct Read {
    field: &'static str,
    name: String,
    /// Empty where the bytes are no text.
    text: String,
    headings: Vec<String>,
    wrong: Vec<String>,
}

impl Sent {
    fn read(self) -> Read {
        let read = Read {
            field: self.field,
            name: self.name,
            ..Read::default()
        };
        let text = match text::decoded(&self.bytes) {
            Ok(text) => text,
            Err(words) => {
                return Read {
                    wrong: vec![words.to_owned()],
                    ..read
                };
            }
        };
        let (headings, wrong) = match text::grid(&text) {
            Ok(grid) => (grid.headings, Vec::new()),
            Err(troubles) => (Vec::new(), told_of(&troubles)),
        };
        Read {
            text,
            headings,
            wrong,
            ..read
        }
    }
}

fn told_of(troubles: &Troubles) -> Vec<String> {
    let mut told: Vec<String> = troubles.shown.iter().map(ToString::to_string).collect();
    if troubles.count > told.len() {
        told.push(format!("And {} more.", troubles.count - told.len()));
    }
    told
}

impl Read {
    fn tell(&self, problems: &mut Problems) {
        for words in &self.wrong {
            problems.add(self.field, words);
        }
    }

    /// No browser sends a file a second time by itself: its text goes back as if it had been pasted, and can be mended
    /// there. One that is wrong in itself only as far as somebody can mend it by hand.
    fn give_back(self, typed: &mut Fields) {
        if self.wrong.is_empty() || self.text.len() <= LARGEST_FORM {
            typed.put("text", &self.text);
            typed.put("name", &self.name);
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

/// A sheet of this person's.
enum Waiting {
    OnItsWay(Sheet),
    /// It was carried out.
    Done,
}

async fn waiting(conn: &mut Conn, who: &SignedIn, id: Uuid) -> Result<Waiting, PageError> {
    let sheet = sheets::own(conn, id, who.me.person_id).await?;
    let sheet = sheet.ok_or(PageError::NotFound)?;
    Ok(match sheet.done()? {
        Some(_) => Waiting::Done,
        None => Waiting::OnItsWay(sheet),
    })
}

/// Where it is told what came of it.
fn done_address(id: Uuid) -> String {
    format!("/bring-in/{id}/done")
}

/// The person's own sheet on its way, with what comes of it; its name. None: it was carried out.
async fn opened(
    app: &App,
    who: &SignedIn,
    id: Uuid,
) -> Result<Option<(Opened, String)>, PageError> {
    let mut conn: Conn = app.db.read().await?;
    let sheet = match waiting(&mut conn, who, id).await? {
        Waiting::Done => return Ok(None),
        Waiting::OnItsWay(sheet) => sheet,
    };
    let known = known::all(&mut conn, sheet.holds().unwrap_or(Holds::Packs)).await?;
    drop(conn);
    let opened = action::open(&sheet, known, &who.by(&Fields::default())).await?;
    Ok(Some((opened, sheet.name)))
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
    if let Some(numbers) = &done.first_and_last {
        told.push(format!(
            "{}: {}.",
            counted(done.packs, "new pack", "new packs"),
            span(numbers)
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
