//! A message for a phone as bytes: encrypted so that the phone alone reads it (RFC 8291, by RFC 8188), and the token by which its push
//! service knows who sends (VAPID, RFC 8292). What it says and where it goes is left to others.

use crate::club::calendar::Instant;
use crate::club::phone::Keys;
use crate::ids;
use crate::paper::PaperError;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ring::aead::{AES_128_GCM, Aad, LessSafeKey, Nonce, UnboundKey};
use ring::agreement::{self, ECDH_P256, EphemeralPrivateKey, UnparsedPublicKey};
use ring::error::Unspecified;
use ring::hkdf::{HKDF_SHA256, KeyType, Salt};
use ring::signature::{ECDSA_P256_SHA256_FIXED_SIGNING, EcdsaKeyPair};
use serde::Serialize;

/// One record holds it all.
const RECORD_BYTES: u32 = 4_096;
/// Filled up to this, so that its length tells the push service nothing.
const FILLED_BYTES: usize = 1_024;
/// A token is good for at most a day (RFC 8292, 2).
const TOKEN_SECONDS: i64 = 12 * 3_600;

fn failed(_: Unspecified) -> PaperError {
    PaperError("it could not be encrypted".to_owned())
}

/// With a key pair of its own, thrown away afterwards.
pub fn sealed(text: &[u8], phone: &Keys) -> Result<Vec<u8>, PaperError> {
    let own = EphemeralPrivateKey::generate(&ECDH_P256, &ids::random()).map_err(failed)?;
    let own_public = own.compute_public_key().map_err(failed)?;
    let theirs = UnparsedPublicKey::new(&ECDH_P256, phone.p256dh);
    let message = Message {
        text,
        filled_to: FILLED_BYTES,
        salt: ids::salt(),
        own_public: own_public.as_ref(),
    };
    let sealed = agreement::agree_ephemeral(own, &theirs, |shared| message.sealed(shared, phone));
    sealed.and_then(|inner| inner).map_err(failed)
}

struct Message<'a> {
    text: &'a [u8],
    filled_to: usize,
    salt: [u8; 16],
    own_public: &'a [u8],
}

/// Bytes that HKDF is to give.
struct Length(usize);

impl KeyType for Length {
    fn len(&self) -> usize {
        self.0
    }
}

fn derived<const BYTES: usize>(
    salt: &[u8],
    secret: &[u8],
    info: &[&[u8]],
) -> Result<[u8; BYTES], Unspecified> {
    let mut out = [0; BYTES];
    let key = Salt::new(HKDF_SHA256, salt).extract(secret);
    key.expand(info, Length(BYTES))?.fill(&mut out)?;
    Ok(out)
}

impl Message<'_> {
    /// RFC 8291, 3.4, then RFC 8188, 2: salt, size of a record, our public key, and the one record.
    fn sealed(&self, shared: &[u8], phone: &Keys) -> Result<Vec<u8>, Unspecified> {
        let info: [&[u8]; 3] = [b"WebPush: info\0", &phone.p256dh, self.own_public];
        let secret: [u8; 32] = derived(&phone.auth, shared, &info)?;
        let key: [u8; 16] = derived(&self.salt, &secret, &[b"Content-Encoding: aes128gcm\0"])?;
        let nonce: [u8; 12] = derived(&self.salt, &secret, &[b"Content-Encoding: nonce\0"])?;
        let mut record = self.text.to_vec();
        record.push(2);
        record.resize(record.len().max(self.filled_to), 0);
        let key = LessSafeKey::new(UnboundKey::new(&AES_128_GCM, &key)?);
        key.seal_in_place_append_tag(
            Nonce::assume_unique_for_key(nonce),
            Aad::empty(),
            &mut record,
        )?;
        let length = u8::try_from(self.own_public.len()).map_err(|_| Unspecified)?;
        let head = [
            &self.salt[..],
            &RECORD_BYTES.to_be_bytes(),
            &[length],
            self.own_public,
        ];
        Ok([head.concat(), record].concat())
    }
}

#[derive(Serialize)]
struct Claims<'a> {
    aud: &'a str,
    exp: i64,
    sub: &'a str,
}

/// The server's key pair in base64url, as it is kept.
pub struct ServerKey<'a> {
    pub private: &'a str,
    pub public: &'a str,
}

impl ServerKey<'_> {
    /// The `Authorization` of a request. `origin`: of the push service; `contact`: `mailto:` or `https:`.
    pub fn authorization(
        &self,
        origin: &str,
        contact: &str,
        now: Instant,
    ) -> Result<String, PaperError> {
        let wrong = |_| PaperError("the server's push key can't be read".to_owned());
        let private = URL_SAFE_NO_PAD.decode(self.private).map_err(|_| ());
        let private = private.map_err(wrong)?;
        let (kind, random) = (&ECDSA_P256_SHA256_FIXED_SIGNING, ids::random());
        let pair = EcdsaKeyPair::from_pkcs8(kind, &private, &random).map_err(|_| ());
        let told = unsigned(origin, contact, now.ms() / 1_000 + TOKEN_SECONDS)?;
        let signed = pair.map_err(wrong)?.sign(&random, told.as_bytes());
        let signature = URL_SAFE_NO_PAD.encode(signed.map_err(failed)?);
        Ok(format!("vapid t={told}.{signature}, k={}", self.public))
    }
}

/// A JSON Web Token (RFC 7519) up to its signature.
fn unsigned(aud: &str, sub: &str, exp: i64) -> Result<String, PaperError> {
    let claims = serde_json::to_vec(&Claims { aud, exp, sub });
    let claims = claims.map_err(|error| PaperError(error.to_string()))?;
    let head = URL_SAFE_NO_PAD.encode(br#"{"typ":"JWT","alg":"ES256"}"#);
    Ok(format!("{head}.{}", URL_SAFE_NO_PAD.encode(claims)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use web_push_native::p256::ecdsa::signature::Verifier;
    use web_push_native::p256::ecdsa::{Signature, VerifyingKey};
    use web_push_native::p256::elliptic_curve::sec1::ToEncodedPoint;
    use web_push_native::{Auth, p256::SecretKey};

    fn bytes(text: &str) -> Vec<u8> {
        URL_SAFE_NO_PAD.decode(text).expect("base64url")
    }

    const OWN_PUBLIC: &str =
        "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8";
    const PHONE: [&str; 2] = [
        "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4",
        "BTBZMqHH6r4Tts7J_aSIgg",
    ];
    const PHONE_PRIVATE: &str = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94";

    /// RFC 8291, 5 and appendix A.
    #[test]
    fn the_published_example_comes_out_to_the_byte() {
        let own_public = bytes(OWN_PUBLIC);
        let message = Message {
            text: b"When I grow up, I want to be a watermelon",
            filled_to: 0,
            salt: bytes("DGv6ra1nlYgDCS1FRnbzlw")
                .try_into()
                .expect("16 bytes"),
            own_public: &own_public,
        };
        let shared = bytes("kyrL1jIIOHEzg3sM2ZWRHDRB62YACZhhSlknJ672kSs");
        let phone = Keys::of(PHONE[0], PHONE[1]).expect("keys");
        let sealed = message.sealed(&shared, &phone).expect("sealed");
        assert_eq!(
            URL_SAFE_NO_PAD.encode(sealed),
            "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_\
             yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
        );
    }

    #[test]
    fn another_library_reads_what_was_sealed_and_each_is_sealed_anew_at_one_length() {
        let phone = Keys::of(PHONE[0], PHONE[1]).expect("keys");
        let private = SecretKey::from_slice(&bytes(PHONE_PRIVATE)).expect("a key");
        let public = private.public_key().to_encoded_point(false);
        assert_eq!(public.as_bytes(), phone.p256dh);
        let auth = Auth::from(phone.auth);
        let mut all = Vec::new();
        for text in ["", "Low: 2.", &"ö".repeat(400)] {
            let bytes = sealed(text.as_bytes(), &phone).expect("sealed");
            let read = web_push_native::decrypt(bytes.clone(), &private, &auth).expect("read");
            assert_eq!(String::from_utf8(read).expect("text"), text);
            all.push(bytes);
        }
        assert_ne!(all[0][..86], all[1][..86], "salt and key of its own");
        assert!(
            all.iter()
                .all(|one| one.len() == all[0].len() && one.len() < 4_096)
        );
    }

    fn is_signed(token: &str, public: &str) -> bool {
        let (told, signature) = token.rsplit_once('.').expect("a token");
        let key = VerifyingKey::from_sec1_bytes(&bytes(public)).expect("a key");
        let signature = Signature::from_slice(&bytes(signature)).expect("a signature");
        key.verify(told.as_bytes(), &signature).is_ok()
    }

    /// RFC 8292, 2.4: its header and claims as ours; its signature, which is random, and ours hold by another library.
    #[test]
    fn a_token_is_the_published_one_and_its_signature_holds() {
        const TOLD: &str = "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9.eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI6Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0";
        const SIGNATURE: &str = "i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA";
        const PUBLIC: &str = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs";
        let (origin, contact) = ("https://push.example.net", "mailto:push@example.com");
        assert_eq!(
            unsigned(origin, contact, 1_453_523_768).expect("told"),
            TOLD
        );
        assert!(is_signed(&format!("{TOLD}.{SIGNATURE}"), PUBLIC));
        let (private, public) = ids::new_push_key().expect("a key");
        let key = ServerKey {
            private: &private,
            public: &public,
        };
        let now = Instant((1_453_523_768 - TOKEN_SECONDS) * 1_000);
        let sent = key.authorization(origin, contact, now).expect("signed");
        let (token, by) = sent
            .strip_prefix("vapid t=")
            .and_then(|text| text.split_once(", k="))
            .expect("token and key");
        assert!(token.starts_with(TOLD) && by == public);
        assert!(is_signed(token, &public) && !is_signed(token, PUBLIC));
    }
}
