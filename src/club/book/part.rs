//! What in an entry is about a person: kept beside the book, not in it. The entry holds a commitment only: SHA-256 over the
//! canonical form of name, salt and words. With words and salt gone nobody can find out by trying names what was committed
//! to, and the chain stays whole.

use super::canonical;
use super::digest::{Digest, hex};
use serde::{Deserialize, Serialize};
use serde_json::json;

/// Which part of an entry it is: `who_was_there`, `injuries`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    pub name: String,
    /// 128 random bits in hexadecimal, for this part alone.
    pub salt: String,
    pub words: String,
}

/// A part and the entry that commits to it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptPart {
    pub seq: i64,
    pub part: Part,
}

/// What stands in the entry.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Commitment {
    pub part: String,
    pub sha256: Digest,
}

impl Part {
    pub fn new(name: &str, salt: [u8; 16], words: &str) -> Self {
        Self {
            name: name.to_owned(),
            salt: hex(&salt),
            words: words.to_owned(),
        }
    }

    pub fn commitment(&self) -> Commitment {
        let value = json!({ "name": self.name, "salt": self.salt, "words": self.words });
        // Three texts, one deep: always canonical.
        let text = canonical::text(&value).unwrap_or_default();
        Commitment {
            part: self.name.clone(),
            sha256: Digest::of(text.as_bytes()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commitment_hangs_on_name_salt_and_words() {
        let part = Part::new("injuries", [7; 16], "A burnt finger");
        let others = [
            Part::new("who_was_there", [7; 16], "A burnt finger"),
            Part::new("injuries", [8; 16], "A burnt finger"),
            Part::new("injuries", [7; 16], "A burnt thumb"),
        ];
        for other in others {
            assert_ne!(other.commitment().sha256, part.commitment().sha256);
        }
        let text = "{\"name\":\"injuries\",\"salt\":\"07070707070707070707070707070707\",\"words\":\"A burnt finger\"}";
        assert_eq!(part.commitment().sha256, Digest::of(text.as_bytes()));
    }
}
