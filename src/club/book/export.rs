//! The book as one text, to be given away and checked by any program: entries as they are kept, parts that are not erased,
//! and the head. Files lie beside it, named by their digests.
//!
//! `{"entries":[{"hash":…,"text":…}],"format":"incident-book/1","head":{"at_ms":…,"count":…,"hash":…},"parts":[{"part":{"name":…,
//! "salt":…,"words":…},"seq":…}]}`, canonical as a whole. `hash` is the SHA-256 of `text` in UTF-8; parsed, `text` has `previous`.

use super::canonical::{self, NotCanonical};
use super::chain::{Head, Kept};
use super::check::{self, Against, Break};
use super::digest::Digest;
use super::part::KeptPart;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

pub const FORMAT: &str = "incident-book/1";

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Export {
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
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: String,
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
    pub fn text(&self) -> Result<String, NotAnExport> {
        let line = |kept: &Kept| Line {
            text: kept.text.clone(),
            hash: kept.hash.clone(),
        };
        let mut parts = self.parts.clone();
        parts.sort();
        let file = File {
            format: FORMAT.to_owned(),
            entries: self.entries.iter().map(line).collect(),
            parts,
            head: self.head,
        };
        let value = serde_json::to_value(file).map_err(|_| NotAnExport::Members)?;
        Ok(canonical::text(&value)?)
    }

    pub fn read(text: &str) -> Result<Self, NotAnExport> {
        let value = canonical::read(text)?;
        let file: File = serde_json::from_value(value).map_err(|_| NotAnExport::Members)?;
        if file.format != FORMAT {
            return Err(NotAnExport::Format(file.format));
        }
        let kept = |line: Line| Kept {
            text: line.text,
            hash: line.hash,
        };
        Ok(Self {
            entries: file.entries.into_iter().map(kept).collect(),
            parts: file.parts,
            head: file.head,
        })
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
        check::check(&book, &against)
    }
}
