//! Erasing what is about a person: the words and their salt, or a photo, are deleted where they are kept, and an entry of its
//! own says which and why. With such an entry what is missing verifies; without one it is tampering. The entry itself
//! names nobody; who erased it is a part of it, and can be erased too. What stays of a photo is its digest: it shows nothing, but whoever has the same file can tell that it was there.

use super::chain::Draft;
use super::digest::Digest;
use super::entry::Entry;
use crate::bench::FieldProblem;
use crate::club::calendar::Instant;
use serde::{Deserialize, Serialize};
use serde_json::json;

/// The kind of such an entry.
pub const KIND: &str = "erased";

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "what", deny_unknown_fields)]
pub enum Erased {
    Part {
        seq: i64,
        name: String,
    },
    /// A file that several entries have is named once for each.
    File {
        seq: i64,
        sha256: Digest,
    },
}

impl Erased {
    pub const fn seq(&self) -> i64 {
        match self {
            Self::Part { seq, .. } | Self::File { seq, .. } => *seq,
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Body {
    erased: Vec<Erased>,
    #[serde(rename = "why")]
    _why: String,
}

/// The entry to be written as it is deleted. `why` names nobody: "The person asked for it."
pub fn draft(at: Instant, erased: &[Erased], why: &str) -> Result<Draft, Vec<FieldProblem>> {
    let mut problems = Vec::new();
    let mut ask = |holds: bool, field, words: &str| {
        if !holds {
            let words = words.to_owned();
            problems.push(FieldProblem { field, words });
        }
    };
    ask(!erased.is_empty(), "erased", "Choose what is erased.");
    ask(
        (1..=500).contains(&why.trim().chars().count()),
        "why",
        "Say why in up to 500 letters, without a name.",
    );
    if !problems.is_empty() {
        return Err(problems);
    }
    Ok(Draft {
        at,
        kind: KIND.to_owned(),
        body: json!({ "erased": erased, "why": why.trim() }),
        attached: Vec::new(),
        parts: Vec::new(),
    })
}

/// What the entry says is erased; None: it is of that kind and says it in no known way. Other kinds erase nothing.
pub fn told_by(entry: &Entry) -> Option<Vec<Erased>> {
    if entry.kind != KIND {
        return Some(Vec::new());
    }
    let body: Body = serde_json::from_value(entry.body.clone()).ok()?;
    Some(body.erased)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_erasure_needs_something_erased_and_a_reason() {
        let fields = |erased: &[Erased], why| {
            let problems = draft(Instant(0), erased, why).expect_err("refused");
            problems.iter().map(|each| each.field).collect::<Vec<_>>()
        };
        let part = Erased::Part {
            seq: 3,
            name: "injuries".to_owned(),
        };
        assert_eq!(fields(&[], " "), ["erased", "why"]);
        assert_eq!(
            fields(std::slice::from_ref(&part), &"w".repeat(501)),
            ["why"]
        );
        let draft = draft(Instant(0), &[part], " They left. ").expect("a draft");
        assert_eq!(
            draft.body,
            json!({ "erased": [{ "what": "part", "seq": 3, "name": "injuries" }], "why": "They left." })
        );
    }
}
