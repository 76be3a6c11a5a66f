//! Hashing and checking passwords: argon2id, 19 MiB, two passes (OWASP Password Storage Cheat Sheet), at most two at once
//! so that a flood of sign-ins can't take the memory. Never inside a transaction: it takes tens of milliseconds.

use crate::store::StoreError;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use std::sync::Arc;
use tokio::sync::Semaphore;

#[derive(Clone)]
pub struct Hasher {
    turns: Arc<Semaphore>,
    argon2: Argon2<'static>,
}

impl Hasher {
    pub fn new() -> Self {
        Self {
            turns: Arc::new(Semaphore::new(2)),
            argon2: Argon2::new(Algorithm::Argon2id, Version::V0x13, Params::DEFAULT),
        }
    }

    /// The hash as a PHC string; None only if the machine has no memory for it.
    pub async fn hash(&self, password: &str) -> Option<String> {
        let argon2 = self.argon2.clone();
        let password = password.to_owned();
        self.in_turn(move || {
            argon2
                .hash_password_with_salt(password.as_bytes(), &crate::ids::salt())
                .ok()
                .map(|hash| hash.to_string())
        })
        .await
        .flatten()
    }

    /// Does the password belong to the hash? Without a hash it takes as long and is false.
    pub async fn verify(&self, password: &str, hash: Option<String>) -> bool {
        // A hash of nothing anybody knows, made with the same costs.
        const NOBODYS: &str = "$argon2id$v=19$m=19456,t=2,p=1$c2FuZGJ1Y2tldHNhbHQ$bm9ib2R5IGtub3dzIHdoYXQgdGhpcyBpcyBhIGhhc2ggb2Y";
        let is_known = hash.is_some();
        let argon2 = self.argon2.clone();
        let password = password.to_owned();
        let outcome = self
            .in_turn(move || {
                let text = hash.unwrap_or_else(|| NOBODYS.to_owned());
                PasswordHash::new(&text).is_ok_and(|parsed| {
                    argon2.verify_password(password.as_bytes(), &parsed).is_ok()
                })
            })
            .await;
        is_known && outcome.unwrap_or(false)
    }

    /// Was the hash made with weaker costs than today's?
    pub fn is_weak(&self, hash: &str) -> bool {
        let wanted = self.argon2.params();
        PasswordHash::new(hash)
            .ok()
            .and_then(|parsed| Params::try_from(&parsed).ok())
            .is_none_or(|made| made.m_cost() < wanted.m_cost() || made.t_cost() < wanted.t_cost())
    }

    async fn in_turn<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Option<T> {
        let _turn = self.turns.acquire().await.ok()?;
        tokio::task::spawn_blocking(work).await.ok()
    }
}

/// The hash, or why there is none: a password is never stored as nothing.
pub(super) async fn hashed(hasher: &Hasher, password: &str) -> Result<Option<String>, StoreError> {
    match hasher.hash(password).await {
        Some(hash) => Ok(Some(hash)),
        None => Err(StoreError::Unavailable(
            "no memory to hash a password".to_owned(),
        )),
    }
}

impl Default for Hasher {
    fn default() -> Self {
        Self::new()
    }
}
