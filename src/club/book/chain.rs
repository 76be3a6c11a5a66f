//! Writing on: an entry takes the number after the last, names the digest of the last, and becomes the head. The head (count,
//! hash, time) is what is printed; against it a cut-off or rewritten book is found (`check`).

use super::digest::Digest;
use super::entry::{Attached, Entry, FORMAT, NotAnEntry};
use super::part::{KeptPart, Part};
use crate::club::calendar::{Instant, utc_words};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// The end of the book: how many entries, the digest of the last, when it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    pub count: i64,
    pub hash: Digest,
    pub at_ms: i64,
}

impl Head {
    pub const EMPTY: Self = Self {
        count: 0,
        hash: Digest::NONE_BEFORE,
        at_ms: 0,
    };

    /// When it was written, in the same words everywhere: `2026-11-27T21:40:05Z`.
    pub fn time(&self) -> String {
        utc_words(Instant(self.at_ms))
    }
}

/// What is to be written, before it has its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    pub at: Instant,
    pub kind: String,
    pub body: Value,
    pub attached: Vec<Attached>,
    pub parts: Vec<Part>,
}

/// An entry as it is kept: its text and the digest of it. Nothing else of it counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    pub text: String,
    pub hash: String,
}

/// An entry that holds in itself, and its digest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sealed {
    pub entry: Entry,
    pub hash: Digest,
}

/// What is to be stored for one entry, and the head it makes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    pub kept: Kept,
    pub parts: Vec<KeptPart>,
    pub head: Head,
}

/// Writes `draft` behind `last`.
pub fn write(last: &Head, draft: Draft) -> Result<Written, NotAnEntry> {
    let seq = last.count + 1;
    let entry = Entry {
        format: FORMAT,
        seq,
        at_ms: draft.at.ms(),
        kind: draft.kind,
        body: draft.body,
        attached: draft.attached,
        committed: draft.parts.iter().map(Part::commitment).collect(),
        previous: last.hash,
    };
    let text = entry.text()?;
    let hash = Digest::of(text.as_bytes());
    let with_seq = |part| KeptPart { seq, part };
    Ok(Written {
        parts: draft.parts.into_iter().map(with_seq).collect(),
        head: Head {
            count: seq,
            hash,
            at_ms: entry.at_ms,
        },
        kept: Kept {
            text,
            hash: hash.to_string(),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn draft(words: &str) -> Draft {
        Draft {
            at: Instant(1_795_600_000_000),
            kind: "timeline".to_owned(),
            body: json!({ "words": words }),
            attached: vec![],
            parts: vec![Part::new("who_was_there", [1; 16], "Ada")],
        }
    }

    #[test]
    fn each_entry_names_the_digest_of_the_one_before() {
        let first = write(&Head::EMPTY, draft("It smoked.")).expect("written");
        let second = write(&first.head, draft("It burnt.")).expect("written");
        let read = |written: &Written| Entry::read(&written.kept.text).expect("an entry");
        assert_eq!(read(&first).previous, Digest::NONE_BEFORE);
        assert_eq!(read(&second).previous.to_string(), first.kept.hash);
        assert_eq!((second.head.count, second.parts[0].seq), (2, 2));
        assert!(!second.kept.text.contains("Ada"));
    }

    /// Reckoned anew by Python's json and hashlib, which share nothing with this code.
    #[test]
    fn the_digests_are_those_that_another_program_reckons() {
        let first = write(&Head::EMPTY, draft("It smoked: 60 °C \u{1F525}\n")).expect("written");
        let second = write(&first.head, draft("It burnt.")).expect("written");
        assert_eq!(
            [first.kept.hash.as_str(), second.kept.hash.as_str()],
            [
                "bf56c8df1b987cc8201e7d9f89f9071cbf272298ebe23cb00783447f3f8ad8d9",
                "50fc0bfed55776c8ec0050bad41b34b9c6d7b1469b084374381ba530d5e07369"
            ]
        );
    }

    #[test]
    fn a_figure_that_has_no_one_text_is_not_written() {
        let fraction = Draft {
            body: json!({ "volts": 3.7 }),
            ..draft("")
        };
        assert!(write(&Head::EMPTY, fraction).is_err());
    }
}
