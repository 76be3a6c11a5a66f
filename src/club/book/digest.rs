//! A SHA-256 digest: 64 hexadecimal digits in lower case, and in groups where a person reads or types it.

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use std::fmt::{Display, Formatter, Write};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("A seal is 64 of the digits 0 to 9 and a to f.")]
pub struct NotADigest;

impl Digest {
    /// What stands where the first entry names the one before it.
    pub const NONE_BEFORE: Self = Self([0; 32]);

    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Exactly as it is written; capitals are another text.
    pub fn parse(text: &str) -> Result<Self, NotADigest> {
        let (pairs, rest) = text.as_bytes().as_chunks::<2>();
        if pairs.len() != 32 || !rest.is_empty() {
            return Err(NotADigest);
        }
        let mut bytes = [0; 32];
        for (byte, [high, low]) in bytes.iter_mut().zip(pairs) {
            *byte = nibble(*high)? << 4 | nibble(*low)?;
        }
        Ok(Self(bytes))
    }

    /// As people type long rows of signs: in groups, some in capitals.
    pub fn typed(text: &str) -> Result<Self, NotADigest> {
        let signs = text.chars().filter(|sign| !sign.is_whitespace());
        Self::parse(&signs.flat_map(char::to_lowercase).collect::<String>())
    }

    /// `3b1f09a2 …`: eight groups of eight.
    pub fn in_groups(&self) -> String {
        let groups = self.0.chunks(4).map(hex);
        groups.collect::<Vec<_>>().join(" ")
    }
}

fn nibble(sign: u8) -> Result<u8, NotADigest> {
    match sign {
        b'0'..=b'9' => Ok(sign - b'0'),
        b'a'..=b'f' => Ok(sign - b'a' + 10),
        _ => Err(NotADigest),
    }
}

pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

impl Display for Digest {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

impl TryFrom<String> for Digest {
    type Error = NotADigest;

    fn try_from(text: String) -> Result<Self, NotADigest> {
        Self::parse(&text)
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4, the example of one block: the message "abc" (from memory).
    const OF_ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    #[test]
    fn the_digest_of_abc_is_that_of_the_standards_example() {
        assert_eq!(Digest::of(b"abc").to_string(), OF_ABC);
        assert_eq!(Digest::parse(OF_ABC), Ok(Digest::of(b"abc")));
    }

    #[test]
    fn a_digest_typed_in_groups_and_capitals_is_understood_and_stored_only_in_one_way() {
        let grouped = Digest::of(b"abc").in_groups();
        assert!(grouped.starts_with("ba7816bf 8f01cfea "));
        assert_eq!(
            Digest::typed(&grouped.to_uppercase()),
            Ok(Digest::of(b"abc"))
        );
        assert_eq!(Digest::parse(&OF_ABC.to_uppercase()), Err(NotADigest));
        for wrong in [&OF_ABC[1..], &OF_ABC[2..], "", &format!("{OF_ABC}0")] {
            assert_eq!(Digest::typed(wrong), Err(NotADigest));
        }
        assert_eq!(Digest::parse(&OF_ABC.replace('f', "g")), Err(NotADigest));
    }
}
