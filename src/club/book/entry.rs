//! One entry of the book, and its one text: the canonical form of all it says. The digest of that text is what the next entry
//! names. An entry is never edited; what it must be in itself is checked when it is written and when it is read.

use super::canonical::{self, NotCanonical};
use super::digest::Digest;
use super::part::Commitment;
use crate::club::calendar::Instant;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeSet;

/// Which way of writing an entry this is; a stand-alone reader asks for it.
pub const FORMAT: i64 = 1;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    pub format: i64,
    /// From 1, without a gap.
    pub seq: i64,
    /// When it was written into the book.
    pub at_ms: i64,
    pub kind: String,
    /// What it says: an object.
    pub body: Value,
    pub attached: Vec<Attached>,
    pub committed: Vec<Commitment>,
    /// The digest of the entry before; 64 zeros for the first.
    pub previous: Digest,
}

/// A photo or file that belongs to an entry.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attached {
    pub name: String,
    /// Of the bytes that are kept.
    pub sha256: Digest,
    /// Of what was sent, before a photo was written anew.
    pub original_sha256: Option<Digest>,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAnEntry {
    #[error("{0}")]
    NotCanonical(#[from] NotCanonical),
    #[error("it has not the members of an entry")]
    Members,
    #[error("it is written in format {0}, which is not known")]
    Format(i64),
    #[error("it has no kind")]
    Kind,
    #[error("it commits to one part twice, or to a part without a name")]
    Parts,
    #[error("it has one file twice")]
    Files,
}

impl Entry {
    pub const fn at(&self) -> Instant {
        Instant(self.at_ms)
    }

    /// The text that is kept and digested.
    pub fn text(&self) -> Result<String, NotAnEntry> {
        self.sane()?;
        let value = serde_json::to_value(self).map_err(|_| NotAnEntry::Members)?;
        Ok(canonical::text(&value)?)
    }

    /// Reads the text of an entry, which must be just as [`Entry::text`] writes it.
    pub fn read(text: &str) -> Result<Self, NotAnEntry> {
        let value = canonical::read(text)?;
        let entry: Self = serde_json::from_value(value).map_err(|_| NotAnEntry::Members)?;
        // A member left out where it may be null is read too, and would give two texts for one entry.
        if entry.text()? != text {
            return Err(NotAnEntry::Members);
        }
        Ok(entry)
    }

    fn sane(&self) -> Result<(), NotAnEntry> {
        let parts: BTreeSet<&str> = self.committed.iter().map(|c| c.part.as_str()).collect();
        let files: BTreeSet<Digest> = self.attached.iter().map(|file| file.sha256).collect();
        if self.format != FORMAT {
            Err(NotAnEntry::Format(self.format))
        } else if self.kind.is_empty() {
            Err(NotAnEntry::Kind)
        } else if !self.body.is_object() || self.seq < 1 {
            Err(NotAnEntry::Members)
        } else if parts.len() != self.committed.len() || parts.contains("") {
            Err(NotAnEntry::Parts)
        } else if files.len() != self.attached.len() {
            Err(NotAnEntry::Files)
        } else {
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::book::part::Part;
    use serde_json::json;

    fn entry() -> Entry {
        Entry {
            format: FORMAT,
            seq: 1,
            at_ms: 1_795_600_000_000,
            kind: "timeline".to_owned(),
            body: json!({ "words": "It smoked." }),
            attached: vec![Attached {
                name: "photo".to_owned(),
                sha256: Digest::of(b"kept"),
                original_sha256: None,
            }],
            committed: vec![Part::new("who_was_there", [1; 16], "Ada").commitment()],
            previous: Digest::NONE_BEFORE,
        }
    }

    #[test]
    fn an_entry_is_read_back_from_its_text() {
        let text = entry().text().expect("a text");
        assert!(text.starts_with("{\"at_ms\":1795600000000,\"attached\":[{\"name\":\"photo\","));
        assert_eq!(Entry::read(&text), Ok(entry()));
    }

    #[test]
    fn what_is_no_entry_of_this_book_is_not_read() {
        let text = entry().text().expect("a text");
        let read = |from: &str, to: &str| {
            assert!(text.contains(from), "{from}");
            Entry::read(&text.replacen(from, to, 1))
        };
        assert_eq!(
            read(":[{\"name\"", ": [{\"name\""),
            Err(NotAnEntry::NotCanonical(NotCanonical::Otherwise))
        );
        assert_eq!(
            read(",\"original_sha256\":null", ""),
            Err(NotAnEntry::Members)
        );
        assert_eq!(
            read("{\"at_ms\"", "{\"a\":1,\"at_ms\""),
            Err(NotAnEntry::Members)
        );
        assert_eq!(
            read("\"format\":1", "\"format\":2"),
            Err(NotAnEntry::Format(2))
        );
        assert_eq!(read("\"seq\":1", "\"seq\":0"), Err(NotAnEntry::Members));
        assert_eq!(read("\"timeline\"", "\"\""), Err(NotAnEntry::Kind));
        assert_eq!(
            read("{\"words\":\"It smoked.\"}", "[]"),
            Err(NotAnEntry::Members)
        );
        assert_eq!(read("who_was_there", ""), Err(NotAnEntry::Parts));
    }

    #[test]
    fn an_entry_names_no_part_and_no_file_twice() {
        let mut doubled = entry();
        doubled.committed.push(doubled.committed[0].clone());
        assert_eq!(doubled.text(), Err(NotAnEntry::Parts));
        let mut doubled = entry();
        doubled.attached.push(doubled.attached[0].clone());
        assert_eq!(doubled.text(), Err(NotAnEntry::Files));
    }
}
