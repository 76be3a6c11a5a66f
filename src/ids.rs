//! The only caller of the random generator: row ids, secret tokens and the codes people type.
//! A secret is shown once and stored as its SHA-256; 256 random bits need no slow hash.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ring::hmac;
use ring::rand::SystemRandom;
use ring::signature::{ECDSA_P256_SHA256_FIXED_SIGNING, EcdsaKeyPair, KeyPair};
use sha2::{Digest, Sha256};
use uuid::Uuid;

#[allow(clippy::disallowed_methods)]
pub fn new_id() -> Uuid {
    Uuid::now_v7()
}

/// 32 random bytes, or the error of the system's generator.
#[allow(clippy::disallowed_methods)]
fn random_bytes() -> [u8; 32] {
    let mut bytes = [0; 32];
    // Without randomness there are no secrets: nothing sensible can go on.
    if let Err(error) = getrandom::fill(&mut bytes) {
        tracing::error!(%error, "the system's random generator failed");
        std::process::abort();
    }
    bytes
}

/// A secret of 256 bits as 64 hexadecimal digits.
pub fn new_token() -> String {
    hex(&random_bytes())
}

/// Has the text the form of a token of ours?
pub fn is_token(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

/// Anywhere from 0 to 1, for what should not come all at once.
pub fn chance() -> f64 {
    let bytes = random_bytes();
    f64::from(u16::from_le_bytes([bytes[0], bytes[1]])) / f64::from(u16::MAX)
}

pub fn salt() -> [u8; 16] {
    let bytes = random_bytes();
    let mut salt = [0; 16];
    salt.copy_from_slice(&bytes[..16]);
    salt
}

/// A code to be typed, letters and digits that can't be mistaken for one another, in groups of four:
/// five bits each, so `groups` of 4 give 20 bits a group.
pub fn new_code(groups: usize) -> String {
    const LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";
    let bytes = random_bytes();
    let letters: Vec<char> = bytes
        .iter()
        .take(groups * 4)
        .map(|byte| char::from(LETTERS[usize::from(byte % 32)]))
        .collect();
    letters
        .chunks(4)
        .map(|group| group.iter().collect::<String>())
        .collect::<Vec<_>>()
        .join("-")
}

/// The code on a pack's label, five random bits a letter.
pub fn new_label_code() -> String {
    let letters = crate::club::label::LETTERS;
    let bytes = random_bytes();
    let taken = bytes.iter().take(crate::club::label::LENGTH);
    taken
        .map(|byte| char::from(letters[usize::from(byte % 32)]))
        .collect()
}

pub fn digest(text: &str) -> String {
    digest_of(text.as_bytes())
}

pub fn digest_of(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Of what few values are possible: whoever has no secret can't try them through. `purpose`: the same secret makes other digests of the
/// same text for other ends.
pub fn keyed_digest(secret: &str, purpose: &str, text: &str) -> String {
    let secret = hmac::Key::new(hmac::HMAC_SHA256, secret.as_bytes());
    let key = hmac::sign(&secret, purpose.as_bytes());
    let key = hmac::Key::new(hmac::HMAC_SHA256, key.as_ref());
    hex(hmac::sign(&key, text.as_bytes()).as_ref())
}

/// The key by which push services know this server (ECDSA with P-256), private (PKCS #8) and public, in base64url; None: the
/// system's generator failed.
pub fn new_push_key() -> Option<(String, String)> {
    let made = EcdsaKeyPair::generate_pkcs8(&ECDSA_P256_SHA256_FIXED_SIGNING, &random()).ok()?;
    let pair = EcdsaKeyPair::from_pkcs8(&ECDSA_P256_SHA256_FIXED_SIGNING, made.as_ref(), &random());
    let public = URL_SAFE_NO_PAD.encode(pair.ok()?.public_key());
    Some((URL_SAFE_NO_PAD.encode(made), public))
}

/// For what draws its own: keys of one message, signatures.
pub fn random() -> SystemRandom {
    SystemRandom::new()
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
