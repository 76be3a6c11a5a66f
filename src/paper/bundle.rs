//! The incident book to be given away: a zip with the book as one text, its photos and files, a page that checks it anywhere, and
//! a note on what is what. And such a zip, or the text alone, checked again as the command does.

use super::PaperError;
use super::zip::{self, Member, NotAZip};
use crate::club::book::chain::Head;
use crate::club::book::check::Break;
use crate::club::book::digest::Digest;
use crate::club::book::entry::Entry;
use crate::club::book::export::{Export, NotAnExport};
use crate::store::book::files::Kind;
use std::collections::BTreeSet;

/// Checks a zip like this one in any browser, from disk, without a network. Its script shares no code with this program.
pub const VERIFIER: &str = include_str!("../../templates/paper/verifier.html");

const BOOK: &str = "book.json";
const NOTE: &str = "README.txt";
const PAGE: &str = "check.html";
const FILES: &str = "files/";

/// A photo or file of an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BookFile {
    pub sha256: Digest,
    /// `jpg`: what its name in the zip ends with; letters and digits.
    pub ending: String,
    pub bytes: Vec<u8>,
}

/// `note`: what is written into README.txt.
pub fn pack(export: &Export, files: &[BookFile], note: &str) -> Result<Vec<u8>, PaperError> {
    let text = export
        .text()
        .map_err(|error| PaperError(error.to_string()))?;
    let member = |name: &str, bytes: &[u8]| Member {
        name: name.to_owned(),
        bytes: bytes.to_vec(),
    };
    let mut members = vec![
        member(NOTE, note.as_bytes()),
        member(BOOK, text.as_bytes()),
        member(PAGE, VERIFIER.as_bytes()),
    ];
    let mut known = BTreeSet::new();
    // Two entries may have one file.
    for file in files.iter().filter(|file| known.insert(file.sha256)) {
        let name = format!("{FILES}{}.{}", file.sha256, file.ending);
        members.push(member(&name, &file.bytes));
    }
    zip::write(&members).ok_or_else(|| PaperError("the book is too large for a zip".to_owned()))
}

/// What the README in the zip says. `whose`: the club. `what`: `the whole book`, `incident I-001`.
pub fn note(whose: &str, what: &str, head: &Head) -> String {
    format!(
        "Incident book of {whose}: {what}\n\n\
         book.json   every entry as it was written, with its seal (SHA-256); what is about people beside it; the end of the book\n\
         files/      photos and files, each named by the seal of its bytes\n\
         check.html  open it in a browser and give it this zip: it checks everything, without a network\n\n\
         The book ended with entry {}\n\
         seal  {}\n\
         time  {}\n\n\
         To prove it, compare it with an end that was printed: on a page of the book, on a PDF of it, or this one if it\n\
         came to you on paper. What was written after the last printed end can't be proven yet.\n\n\
         This holds names and may tell of injuries. Keep it where only those read it who must.\n",
        head.count,
        head.hash.in_groups(),
        head.time(),
    )
}

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotABundle {
    #[error(transparent)]
    Zip(#[from] NotAZip),
    #[error("There is no {BOOK} in the zip.")]
    NoBook,
    #[error("The book is no text that can be read.")]
    NoText,
    #[error(transparent)]
    Export(#[from] NotAnExport),
    #[error(transparent)]
    Broken(#[from] BrokenBook),
    #[error(
        "{0} is not what the book has under that name: it was added, or it is another file that was renamed."
    )]
    Misnamed(String),
}

impl NotABundle {
    /// The book in it holds; what was typed of its printed end can't have been printed so.
    pub fn is_mistype(&self) -> bool {
        matches!(self, Self::Broken(BrokenBook(broken)) if broken.is_mistype())
    }
}

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct BrokenBook(pub Break);

/// What a file that was given away came to.
#[derive(Debug, PartialEq, Eq)]
pub struct Found {
    /// Of the last entry that is there.
    pub head: Head,
    pub entries: usize,
    /// How many photos and files were looked at; None: the text alone was given, and nobody could.
    pub files: Option<usize>,
    pub incident: Option<String>,
    /// Printed numbers of which one incident alone can say nothing.
    pub not_compared: Vec<i64>,
    /// The page in it that checks it is not this program's: an older one, or one that says whatever somebody wants.
    pub has_other_page: bool,
}

/// Checks a zip that was given away, or the text in it alone.
pub fn check(bytes: &[u8], printed: &[Head]) -> Result<Found, NotABundle> {
    let members = if zip::is_zip(bytes) {
        let mut members = zip::read(bytes)?;
        // Packed again by hand it names its folders too.
        members.retain(|member| !(member.name.ends_with('/') && member.bytes.is_empty()));
        Some(members)
    } else {
        None
    };
    let named = |name: &str| members.iter().flatten().find(|member| member.name == name);
    let text = match &members {
        Some(_) => named(BOOK).ok_or(NotABundle::NoBook)?.bytes.clone(),
        None => bytes.to_vec(),
    };
    let has_other_page = named(PAGE).is_some_and(|page| page.bytes != VERIFIER.as_bytes());
    let files = members.as_deref().map(|members| {
        let of_files = members.iter().filter(|each| each.name.starts_with(FILES));
        of_files.map(|file| Digest::of(&file.bytes)).collect()
    });
    let text = String::from_utf8(text).map_err(|_| NotABundle::NoText)?;
    let export = Export::read(&text)?;
    let head = export.check(files.as_ref(), printed).map_err(BrokenBook)?;
    if let Some(name) = members.iter().flatten().find_map(misnamed(&export)) {
        return Err(NotABundle::Misnamed(name));
    }
    Ok(Found {
        head,
        entries: export.entries.len(),
        files: files.map(|files: BTreeSet<Digest>| files.len()),
        not_compared: export
            .incident
            .as_ref()
            .map_or_else(Vec::new, |_| export.not_compared(printed)),
        incident: export.incident,
        has_other_page,
    })
}

/// Whether a member has a name that the book does not give what is in it: people look at a photo by its name.
fn misnamed(export: &Export) -> impl Fn(&Member) -> Option<String> {
    let read = export.entries.iter();
    let attached = read.filter_map(|kept| Some(Entry::read(&kept.text).ok()?.attached));
    let given = attached.flatten().filter_map(|file| {
        let kind = Kind::from_code(&file.name)?;
        Some(format!("{FILES}{}.{}", file.sha256, kind.ending()))
    });
    let given: BTreeSet<String> = given.collect();
    move |member: &Member| {
        let name = &member.name;
        let digest = Digest::of(&member.bytes).to_string();
        let is_file = given.contains(name) && name[FILES.len()..].starts_with(&digest);
        let is_known = is_file || [NOTE, BOOK, PAGE].contains(&name.as_str());
        (!is_known).then(|| name.clone())
    }
}
