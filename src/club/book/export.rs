//! The book as one text, to be given away and checked by any program: entries as they are kept, parts that are not erased,
//! and the head. Files lie beside it, named by their digests. Of one incident there are its own entries alone, and what was
//! erased of them; then `format` is `incident-book-extract/1`, `incident` names it, and `head` is still that of the whole book.
//!
//! `{"entries":[{"hash":…,"text":…}],"format":"incident-book/1","head":{"at_ms":…,"count":…,"hash":…},"parts":[{"part":{"name":…,
//! "salt":…,"words":…},"seq":…}]}`, canonical as a whole. `hash` is the SHA-256 of `text` in UTF-8; parsed, `text` has `previous`.

use super::canonical::{self, NotCanonical};
use super::chain::{Head, Kept};
use super::check::{self, Against, Break};
use super::digest::Digest;
use super::entry::Entry;
use super::erasure;
use super::part::KeptPart;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

pub const FORMAT: &str = "incident-book/1";
pub const EXTRACT: &str = "incident-book-extract/1";

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Export {
    /// Which incident it is of; None: the whole book.
    pub incident: Option<String>,
    pub entries: Vec<Kept>,
    pub parts: Vec<KeptPart>,
    pub head: Head,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAnExport {
    #[error("The file is not as it was written: {0}.")]
    NotCanonical(#[from] NotCanonical),
    #[error("The file is no incident book.")]
    Members,
    #[error("The book is written in format {0}, which is not known.")]
    Format(String),
    #[error("An entry in it is of another incident.")]
    OtherIncident,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    incident: Option<String>,
    entries: Vec<Line>,
    parts: Vec<KeptPart>,
    head: Head,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    text: String,
    hash: String,
}

impl Export {
    const fn format(&self) -> &'static str {
        if self.incident.is_some() {
            EXTRACT
        } else {
            FORMAT
        }
    }

    /// No entry of another incident is among those of one; what was erased may be of several.
    fn is_of_one(&self) -> Result<(), NotAnExport> {
        let Some(incident) = &self.incident else {
            return Ok(());
        };
        let is_other = |kept: &Kept| {
            Entry::read(&kept.text).is_ok_and(|entry| {
                entry.kind != erasure::KIND && entry.body["incident"] != incident.as_str()
            })
        };
        let has_other = self.entries.iter().any(is_other);
        (!has_other).then_some(()).ok_or(NotAnExport::OtherIncident)
    }

    pub fn text(&self) -> Result<String, NotAnExport> {
        let line = |kept: &Kept| Line {
            text: kept.text.clone(),
            hash: kept.hash.clone(),
        };
        let mut parts = self.parts.clone();
        parts.sort();
        let file = File {
            format: self.format().to_owned(),
            incident: self.incident.clone(),
            entries: self.entries.iter().map(line).collect(),
            parts,
            head: self.head,
        };
        let value = serde_json::to_value(file).map_err(|_| NotAnExport::Members)?;
        Ok(canonical::text(&value)?)
    }

    pub fn read(text: &str) -> Result<Self, NotAnExport> {
        let value = canonical::read(text)?;
        if value
            .get("incident")
            .is_some_and(serde_json::Value::is_null)
        {
            return Err(NotAnExport::Members);
        }
        let file: File = serde_json::from_value(value).map_err(|_| NotAnExport::Members)?;
        if file.format != FORMAT && file.format != EXTRACT {
            return Err(NotAnExport::Format(file.format));
        }
        if file.incident.is_some() != (file.format == EXTRACT) {
            return Err(NotAnExport::Members);
        }
        let kept = |line: Line| Kept {
            text: line.text,
            hash: line.hash,
        };
        let read = Self {
            incident: file.incident,
            entries: file.entries.into_iter().map(kept).collect(),
            parts: file.parts,
            head: file.head,
        };
        read.is_of_one()?;
        Ok(read)
    }

    /// Against its own head and those that were printed.
    pub fn check(&self, files: Option<&BTreeSet<Digest>>, printed: &[Head]) -> Result<Head, Break> {
        let book = check::Book {
            entries: &self.entries,
            parts: &self.parts,
            files,
        };
        let against = Against {
            end: Some(&self.head),
            printed,
        };
        if self.incident.is_some() {
            check::check_extract(&book, &against)
        } else {
            check::check(&book, &against)
        }
    }

    /// Those of `printed` that stand between the entries of one incident, so that nothing can be said of them.
    pub fn not_compared(&self, printed: &[Head]) -> Vec<i64> {
        let numbers: BTreeSet<i64> = self
            .entries
            .iter()
            .filter_map(|kept| Some(Entry::read(&kept.text).ok()?.seq))
            .collect();
        let not_there = printed.iter().map(|head| head.count);
        not_there.filter(|count| !numbers.contains(count)).collect()
    }
}
