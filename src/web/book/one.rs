//! One incident, entry by entry, with what of it was put right and how its actions stand; writing more; and its files.

use super::line::{self, ActionRow, FACTS, Line};
use super::told::telling;
use super::whom::{ToTell, to_tell};
use super::{Row, row, things, unread, were_looked_at, words};
use crate::actions::book::{self, BookFailed, erasing, lost, sealed};
use crate::app::App;
use crate::bench::FieldProblem;
use crate::club::book::chain::{Head, Sealed};
use crate::club::book::entry::Attached;
use crate::club::book::erasure::Erased;
use crate::club::book::involved::numbers;
use crate::club::book::severity::InjuriesKept;
use crate::club::book::story::{ActionStands, Story};
use crate::club::book::telling::Telling;
use crate::paper::photo::MOST_BYTES;
use crate::store::book::entries::{self, Told};
use crate::store::book::files::{self, Kind, NewFile};
use crate::store::charges::now as charges;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::photos::made;
use crate::web::upload::{File, Upload};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;

page::puts_right!(OnePage);

#[derive(Template)]
#[template(path = "book/one.html")]
struct OnePage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    row: Row,
    grave: String,
    /// The correction that says what it is held to be.
    held_by: Option<i64>,
    is_too_early: bool,
    /// What of it was set aside, with the packs that charge with it all the same.
    to_stop: Vec<(String, Vec<String>)>,
    asks_for_action: bool,
    has_cause: bool,
    has_lesson: bool,
    lines: Vec<Line>,
    actions: Vec<ActionRow>,
    /// Number and words, for the forms that choose one.
    to_do: Vec<(String, String)>,
    to_look_at: Vec<(String, String)>,
    entries: Vec<(String, String)>,
    correctable: Vec<(String, String)>,
    /// As it is sent, and in words.
    erasable: Vec<(String, String)>,
    /// Of the incident.
    head: Head,
    book_ends: Head,
    /// Who must or may be told, and who was.
    to_tell: Vec<ToTell>,
    is_closed: bool,
    injuries: InjuriesKept,
    is_quartermaster: bool,
}

/// Of what is part of it: the kit, and the packs that charge with it though it was set aside.
fn to_stop(running: Vec<(String, String)>, story: &Story) -> Vec<(String, Vec<String>)> {
    let mut all: Vec<(String, Vec<String>)> = Vec::new();
    for (kit, pack) in running {
        match all.last_mut() {
            Some((last, packs)) if *last == kit => packs.push(pack),
            _ if story.items.contains_key(&kit) => all.push((kit, vec![pack])),
            _ => {}
        }
    }
    all
}

fn choices<'a>(all: impl Iterator<Item = (i64, &'a str)>) -> Vec<(String, String)> {
    let choice = |(seq, words): (i64, &str)| (seq.to_string(), format!("{seq}: {words}"));
    all.map(choice).collect()
}

fn correctable() -> Vec<(String, String)> {
    let none = (String::new(), "Choose".to_owned());
    let all = FACTS.iter().filter(|(.., may)| *may);
    let all = all.map(|(name, label, _)| ((*name).to_owned(), (*label).to_owned()));
    std::iter::once(none).chain(all).collect()
}

/// As it stands within a sentence.
fn within(label: &str) -> String {
    let mut letters = label.chars();
    let first = letters.next().map(|first| first.to_lowercase());
    first.into_iter().flatten().chain(letters).collect()
}

/// What about people can be erased: parts that are still there, photos and files.
fn erasable(all: &[Sealed], told: &Told) -> Vec<(String, String)> {
    let choice = |erased: Erased, words: String| {
        let code = serde_json::to_string(&erased).unwrap_or_default();
        (code, words)
    };
    let of_part = |seq: i64, name: &str| {
        let kept = told
            .parts
            .iter()
            .find(|kept| kept.seq == seq && kept.part.name == name)?;
        let words: String = kept.part.words.chars().take(40).collect();
        let name = name.to_owned();
        let told = format!("Entry {seq}, {}: {words}", within(&line::label(&name)));
        Some(choice(Erased::Part { seq, name }, told))
    };
    let mut choices = vec![(String::new(), "Choose".to_owned())];
    for one in all {
        let (seq, entry) = (one.entry.seq, &one.entry);
        choices.extend(
            entry
                .committed
                .iter()
                .filter_map(|each| of_part(seq, &each.part)),
        );
        let is_here = |file: &&Attached| told.files.contains(&(seq, file.sha256));
        choices.extend(entry.attached.iter().filter(is_here).map(|file| {
            let sha256 = file.sha256;
            choice(
                Erased::File { seq, sha256 },
                format!("Entry {seq}, its {}", file.name),
            )
        }));
    }
    choices
}

async fn one_page(
    app: &App,
    who: &SignedIn,
    incident: &str,
    (problems, typed): (Problems, Fields),
) -> Result<OnePage, PageError> {
    let mut conn = app.db.read().await?;
    let told = entries::told(&mut conn, Some(incident)).await?;
    let running = charges::with_kit_set_aside(&mut conn).await?;
    drop(conn);
    let all = sealed(&told.entries).map_err(unread)?;
    let last = all.last().ok_or(PageError::NotFound)?;
    let story = Story::of(&all);
    let title = format!("Incident {incident}");
    let lines: Vec<Line> = all
        .iter()
        .map(|one| line::line(one, &story, &told, who))
        .collect();
    let actions = line::actions(&story, &told.parts, who);
    let that = |stands: ActionStands| {
        let those = actions.iter().filter(move |row| row.stands == stands);
        choices(those.map(|row| (row.seq, row.what.as_str())))
    };
    let opened_by = all.first().map(|first| first.entry.seq);
    Ok(OnePage {
        shell: if problems.is_empty() {
            who.shell(title)
        } else {
            who.shell_refused(title)
        },
        problems,
        typed,
        row: row(incident, &all, who),
        grave: story
            .held
            .map_or_else(String::new, |(_, held)| line::grave(&held)),
        held_by: story.held_by.filter(|by| Some(*by) != opened_by),
        to_stop: to_stop(running, &story),
        is_too_early: story.is_closed_too_early(),
        asks_for_action: story.held.is_some_and(|(_, held)| held.asks_for_action()),
        has_cause: story.has_cause,
        has_lesson: story.has_lesson,
        to_do: that(ActionStands::ToDo),
        to_look_at: that(ActionStands::ToLookAt),
        entries: choices(lines.iter().map(|line| (line.seq, line.kind))),
        correctable: correctable(),
        erasable: erasable(&all, &told),
        lines,
        actions,
        head: Head {
            count: last.entry.seq,
            hash: last.hash,
            at_ms: last.entry.at_ms,
        },
        book_ends: told.book_ends,
        to_tell: to_tell(told.checklist, &all, who),
        is_closed: story.is_closed,
        injuries: who.club.in_danger.injuries,
        is_quartermaster: who.me.is_quartermaster,
    })
}

/// GET /book/{incident}
pub async fn show(State(app): State<App>, who: SignedIn, Path(incident): Path<String>) -> Page {
    let fresh = (Problems::default(), Fields::default());
    page::show(&one_page(&app, &who, &incident, fresh).await?)
}

/// POST /book/{incident}: one more entry.
pub async fn tell(
    State(app): State<App>,
    who: SignedIn,
    Path(incident): Path<String>,
    fields: Fields,
) -> Page {
    if fields.text("what") == "lost" {
        let said = lost::Lost {
            number: &fields.text("pack").to_uppercase(),
            is_nothing_left: fields.is_ticked("nothing_left"),
            words: words(&fields, "words"),
        };
        let outcome = lost::lose(&app.db, &who.by(&fields), &incident, said).await;
        return answered(&app, &who, &incident, (outcome, fields)).await;
    }
    if fields.text("what") == "item" {
        let numbers = numbers(&fields.text("items"));
        let said = (things(&fields, &numbers), words(&fields, "words"));
        let outcome = book::add(&app.db, &who.by(&fields), &incident, said).await;
        return answered(&app, &who, &incident, (outcome, fields)).await;
    }
    if fields.text("what") == "erase" {
        let typed = fields.text("erased");
        let why = fields.text("why");
        let chosen = (serde_json::from_str(&typed).ok(), why.as_str());
        let outcome = erasing::erase_one(&app.db, &who.by(&fields), &incident, chosen).await;
        return answered(&app, &who, &incident, (outcome, fields)).await;
    }
    let outcome = match telling(&app, &who, &incident, &fields).await? {
        Some(Ok(telling)) => {
            let by = who.by(&fields);
            if fields.text("what") == "held" {
                let held = (telling, were_looked_at(&fields));
                book::hold(&app.db, &by, &incident, held).await
            } else {
                book::tell(&app.db, &by, &incident, telling).await
            }
        }
        Some(Err(found)) => Err(BookFailed::Told(found)),
        None => {
            // An incident that is not in the book is not here, whatever was sent.
            one_page(&app, &who, &incident, Default::default()).await?;
            let words = "Choose what to write into the book.".to_owned();
            return Err(PageError::Unreadable(words));
        }
    };
    answered(&app, &who, &incident, (outcome, fields)).await
}

/// Each form of the page has ids of its own; what it is held to be stands on it once.
async fn answered(
    app: &App,
    who: &SignedIn,
    incident: &str,
    (outcome, fields): (Result<String, BookFailed>, Fields),
) -> Page {
    let found = match outcome {
        Ok(address) => return page::go_to(&address),
        Err(BookFailed::Repeat(repeat)) => return again(&repeat),
        Err(BookFailed::Told(found)) => found,
        Err(BookFailed::WayOut(refusal)) => {
            let problems = Problems::refused("lost-pack", &refusal);
            return page::put_right(&one_page(app, who, incident, (problems, fields)).await?);
        }
        Err(error) => return Err(unread(error)),
    };
    let at = fields.text("what");
    let mut problems = Problems::default();
    for FieldProblem { field, words } in found {
        let is_of_held = at == "held" && field != "why";
        match (at.as_str(), field) {
            _ if is_of_held => problems.add(field, words),
            ("action_set", "what") => problems.add("action_set-action_what", words),
            _ => problems.add(&format!("{at}-{field}"), words),
        }
    }
    page::put_right(&one_page(app, who, incident, (problems, fields)).await?)
}

/// POST /book/{incident}/files: a photo or document, and what it shows.
pub async fn attach(
    State(app): State<App>,
    who: SignedIn,
    Path(incident): Path<String>,
    upload: Upload<MOST_BYTES>,
) -> Page {
    let fields = upload.fields;
    let outcome = match kept(&app, upload.file).await? {
        Ok(file) => {
            let telling = Telling::File(words(&fields, "words"));
            book::attach(&app.db, &who.by(&fields), &incident, (telling, file)).await
        }
        Err(words) => {
            let field = "file";
            Err(BookFailed::Told(vec![FieldProblem { field, words }]))
        }
    };
    answered(&app, &who, &incident, (outcome, fields)).await
}

/// What its first bytes say counts, whatever its name and the browser claim.
async fn kept(app: &App, file: Option<File>) -> Result<Result<NewFile, String>, PageError> {
    let Some(file) = file else {
        return Ok(Err("Choose a photo or document.".to_owned()));
    };
    if file.is_too_large {
        return Ok(Err("A file may have 12 MB. Send a smaller one.".to_owned()));
    }
    if file.bytes.starts_with(b"%PDF-") {
        return Ok(Ok(NewFile::as_sent(Kind::Pdf, file.bytes)));
    }
    let is_text = std::str::from_utf8(&file.bytes)
        .is_ok_and(|text| !text.trim().is_empty() && !text.contains('\0'));
    if is_text {
        return Ok(Ok(NewFile::as_sent(Kind::Text, file.bytes)));
    }
    let picture = made(app, Some(file)).await?;
    let photo = picture.map(|made| NewFile::photo(made.original_sha256, made.large));
    Ok(photo.map_err(|words| format!("{words} Or a PDF, or plain text.")))
}

/// GET /book/{incident}/files/{file}: as what it was kept, never as what it was sent; a document is not opened in the page.
pub async fn file(
    State(app): State<App>,
    _: SignedIn,
    Path((incident, sha256)): Path<(String, String)>,
) -> Page {
    let found = files::one(&mut app.db.read().await?, &incident, &sha256).await?;
    let (kind, bytes) = found.ok_or(PageError::NotFound)?;
    let name = match kind {
        Kind::Photo => "inline",
        Kind::Pdf => "attachment; filename=\"incident.pdf\"",
        Kind::Text => "attachment; filename=\"incident.txt\"",
    };
    let headers = [
        (header::CONTENT_TYPE, kind.content_type()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

impl OnePage {
    fn of_correction(&self, name: &str) -> &'static str {
        match name {
            "instead" => "correct-instead",
            _ => "correct-why",
        }
    }

    /// What was typed there, where this is the form that was sent.
    fn typed_in(&self, form: &str, name: &str) -> String {
        if self.is_open(form) {
            self.typed.text(name)
        } else {
            String::new()
        }
    }

    fn is_open(&self, form: &str) -> bool {
        self.typed.text("what") == form
    }

    fn asked_at_close(&self, label: &str, was_told: &bool) -> String {
        if *was_told {
            format!("{label} (optional: told already)")
        } else {
            label.to_owned()
        }
    }

    fn keeps_injuries(&self) -> bool {
        self.injuries != InjuriesKept::Nothing
    }
}
