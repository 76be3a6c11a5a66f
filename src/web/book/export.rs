//! The incident book to be given away, whole or one incident: as a zip that anybody can check, and on paper. And the page that
//! checks such a zip, alone.

use super::line::{self, Fact};
use super::on_record;
use super::{row, unread};
use crate::actions::book::sealed;
use crate::actions::book_export;
use crate::app::App;
use crate::club::book::chain::{Head, Sealed};
use crate::club::book::digest::Digest;
use crate::club::book::entry::Entry;
use crate::club::book::export::Export;
use crate::club::book::part::KeptPart;
use crate::club::book::story::Story;
use crate::club::calendar::Instant;
use crate::paper::book_paper::{
    BookInPrint, EntryInPrint, FileInPrint, IncidentInPrint, pdf as set_book,
};
use crate::paper::bundle::{self, BookFile, VERIFIER};
use crate::paper::sheet::Paper;
use crate::store::book::files::{Given, Kind};
use crate::web::asked::{Path, Query};
use crate::web::page::{Page, PageError};
use crate::web::press;
use crate::web::visit::SignedIn;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Default, Deserialize)]
pub struct OnPaper {
    #[serde(default)]
    paper: String,
}

/// GET /book/export.zip
pub async fn zip_of_all(State(app): State<App>, who: SignedIn) -> Page {
    zip(&app, &who, None).await
}

/// GET /book/{incident}/export.zip
pub async fn zip_of_one(
    State(app): State<App>,
    who: SignedIn,
    Path(incident): Path<String>,
) -> Page {
    zip(&app, &who, Some(&incident)).await
}

/// GET /book/export.pdf
pub async fn pdf_of_all(
    State(app): State<App>,
    who: SignedIn,
    Query(asked): Query<OnPaper>,
) -> Page {
    pdf(&app, &who, (None, &asked)).await
}

/// GET /book/{incident}/export.pdf
pub async fn pdf_of_one(
    State(app): State<App>,
    who: SignedIn,
    Path(incident): Path<String>,
    Query(asked): Query<OnPaper>,
) -> Page {
    pdf(&app, &who, (Some(&incident), &asked)).await
}

/// GET /book/check.html: to be kept; opened from here its script would not run.
pub async fn verifier(_: SignedIn) -> Page {
    Ok(kept_as("text/html; charset=utf-8", "check.html", VERIFIER))
}

fn kept_as(kind: &'static str, name: &str, bytes: impl IntoResponse) -> axum::response::Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (headers, bytes).into_response()
}

async fn zip(app: &App, who: &SignedIn, incident: Option<&str>) -> Page {
    app.limits.export(who.network, who.me.person_id)?;
    let (export, given) = book_export::export(&app.db, incident)
        .await
        .map_err(unread)?;
    let what = incident.map_or_else(
        || "the whole book".to_owned(),
        |one| format!("incident {one}"),
    );
    let note = bundle::note(&who.club.name, &what, &export.head);
    let files: Vec<BookFile> = given.into_iter().filter_map(packed).collect();
    let zip = press::set(app, move || bundle::pack(&export, &files, &note)).await?;
    let bytes = zip.map_err(|error| PageError::Internal(error.to_string()))?;
    let name = incident.map_or_else(
        || "incident-book.zip".to_owned(),
        |one| format!("{one}.zip"),
    );
    Ok(kept_as("application/zip", &name, bytes))
}

/// As it lies in the zip.
fn packed(given: Given) -> Option<BookFile> {
    Some(BookFile {
        ending: given.kind()?.ending().to_owned(),
        sha256: Digest::parse(&given.sha256).ok()?,
        bytes: given.bytes,
    })
}

/// So many bytes of photos go onto paper; what is past them is in the zip alone.
const MOST_ON_PAPER: usize = 40 * 1024 * 1024;

/// What of the photos and files goes onto paper.
#[derive(Default)]
struct OnThePage {
    /// Photos by their digests.
    photos: BTreeMap<Digest, Vec<u8>>,
    /// Whatever is still there, shown or not: the number of the entry, and the digest.
    kept: BTreeSet<(i64, Digest)>,
}

impl OnThePage {
    fn of(given: Vec<Given>) -> Self {
        let mut on_page = Self::default();
        let mut bytes = 0;
        for file in given {
            let (Some(kind), Ok(sha256)) = (file.kind(), Digest::parse(&file.sha256)) else {
                continue;
            };
            on_page.kept.insert((file.seq, sha256));
            // Whatever else the database holds by now is nothing to be drawn.
            let is_it = kind == Kind::Photo && Digest::of(&file.bytes) == sha256;
            if is_it && bytes + file.bytes.len() <= MOST_ON_PAPER {
                bytes += file.bytes.len();
                on_page.photos.insert(sha256, file.bytes);
            }
        }
        on_page
    }

    fn file(&self, seq: i64, file: &line::File) -> FileInPrint {
        let photo = Some(file.sha256).filter(|sha256| self.photos.contains_key(sha256));
        let gone = match photo {
            _ if !file.is_here => ", erased",
            None if file.is_photo => ", not shown here: it is in the zip",
            _ => "",
        };
        FileInPrint {
            words: format!("{}{gone}: {}", file.label, file.sha256.in_groups()),
            photo: photo
                .filter(|_| file.is_here)
                .map(|sha256| sha256.to_string()),
            alt: format!("{} of entry {seq}", file.label),
        }
    }
}

async fn pdf(app: &App, who: &SignedIn, (incident, asked): (Option<&str>, &OnPaper)) -> Page {
    app.limits.export(who.network, who.me.person_id)?;
    let (export, given) = book_export::export(&app.db, incident)
        .await
        .map_err(unread)?;
    let files = OnThePage::of(given);
    let printed = in_print(who, &export, &files)?;
    let photos = files.photos.into_iter();
    let photos = photos
        .map(|(sha256, bytes)| (sha256.to_string(), bytes))
        .collect();
    let paper = Paper::from_code(&asked.paper).unwrap_or(Paper::A4);
    let set = press::set(app, move || set_book(&printed, photos, paper)).await?;
    let bytes = set.map_err(|error| PageError::Internal(error.to_string()))?;
    press::as_pdf(incident.unwrap_or("incident-book"), bytes)
}

/// `Fri 27 Nov 2026, 21:40`
fn stamp(who: &SignedIn, at: Instant) -> String {
    let (day, time) = (who.zone.date_words(at), who.zone.time_words(at));
    format!("{day}, {time}")
}

/// `The book ends with entry 12, written Fri 27 Nov 2026, 21:40 (2026-11-27T21:40:05Z).`
fn ends(who: &SignedIn, head: &Head) -> String {
    let at = stamp(who, Instant(head.at_ms));
    format!(
        "The book ends with entry {}, written {at} ({}).",
        head.count,
        head.time()
    )
}

fn in_print(who: &SignedIn, export: &Export, files: &OnThePage) -> Result<BookInPrint, PageError> {
    let mut incidents: BTreeMap<String, Vec<Sealed>> = BTreeMap::new();
    for one in sealed(&export.entries).map_err(unread)? {
        let name = one.entry.body["incident"].as_str().unwrap_or_default();
        incidents.entry(name.to_owned()).or_default().push(one);
    }
    // What belongs to no incident, erasures, stands behind them.
    let of_none = incidents.remove("");
    let all = incidents
        .into_iter()
        .chain(of_none.map(|of| (String::new(), of)));
    let set = |(name, told): (String, Vec<Sealed>)| {
        of_incident(who, (&name, &told), &export.parts, files)
    };
    let title = match &export.incident {
        Some(incident) => format!("{}: incident {incident}", who.club.name),
        None => format!("{}: incident book", who.club.name),
    };
    Ok(BookInPrint {
        title,
        lead: "Entries are never changed or removed; what was wrong is put right by a new one. Each names the seal of the one \
               before. Keep this print: against it, cutting off the end or writing the whole anew is found."
            .to_owned(),
        head: if export.head.count == 0 {
            "The book has no entry yet.".to_owned()
        } else {
            ends(who, &export.head)
        },
        seal: export.head.hash.in_groups(),
        foot: format!("Printed {} by {}.", stamp(who, who.now), who.me.name),
        incidents: all.map(set).collect(),
    })
}

fn of_incident(
    who: &SignedIn,
    (name, told): (&str, &[Sealed]),
    parts: &[KeptPart],
    files: &OnThePage,
) -> IncidentInPrint {
    let story = Story::of(told);
    let entry = |one: &Sealed| EntryInPrint {
        title: format!("{}: {}", one.entry.seq, line::called(&one.entry.kind)),
        when: format!("written {}", stamp(who, one.entry.at())),
        facts: in_print_facts(who, one, &story, parts),
        files: in_print_files(&one.entry, files),
        seal: one.hash.in_groups(),
    };
    let about = row(name, told, who);
    let (title, lead) = if name.is_empty() {
        let title = "Erased since".to_owned();
        (
            title,
            "What is about people can be erased; the book then says so.".to_owned(),
        )
    } else {
        let lead = format!(
            "{}. {}. It is {}.",
            about.heading(),
            about.place,
            about.stands
        );
        (format!("Incident {name}"), lead)
    };
    IncidentInPrint {
        title,
        lead,
        entries: told.iter().map(entry).collect(),
    }
}

fn in_print_files(entry: &Entry, files: &OnThePage) -> Vec<FileInPrint> {
    let is_here = |sha256| files.kept.contains(&(entry.seq, sha256));
    let all = line::files(entry, is_here);
    all.iter().map(|file| files.file(entry.seq, file)).collect()
}

/// What it says, what puts it right, and what was on record of its packs.
fn in_print_facts(
    who: &SignedIn,
    one: &Sealed,
    story: &Story,
    parts: &[KeptPart],
) -> Vec<(String, String)> {
    let time = |at| stamp(who, at);
    let told = |fact: Fact| match fact.instead {
        Some((by, right)) => {
            let words = format!("{} (put right in entry {by}: {right})", fact.words);
            (fact.label, words)
        }
        None => (fact.label, fact.words),
    };
    let said = line::facts(one, story, parts, &time).into_iter().map(told);
    let of_packs = on_record::frozen(one, parts, who, &time).into_iter();
    let of_packs = of_packs.map(|pack| {
        (
            format!("On record of {}", pack.number),
            pack.told.join("\n"),
        )
    });
    said.chain(of_packs).collect()
}
