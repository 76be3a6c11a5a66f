//! Phones that asked for reminders, the key by which push services know this server, and to which phones a message need not be sent
//! any more. Decides nothing.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::ids;
use std::collections::BTreeSet;
use uuid::Uuid;

#[derive(sqlx::FromRow)]
pub struct PushKey {
    /// PKCS #8, base64url. On no page and in no log. Strangers' networks are digested by it too (`actions::report`).
    pub private_key: String,
    pub public_key: String,
}

pub async fn key(conn: &mut Conn) -> Result<Option<PushKey>> {
    row!(
        conn,
        PushKey,
        "SELECT private_key, public_key FROM push_key"
    )
}

/// Made once, whoever comes first.
pub(super) async fn make_key(tx: &mut Tx) -> Result<()> {
    let Some((private, public)) = ids::new_push_key() else {
        return Ok(());
    };
    change!(
        tx,
        "INSERT INTO push_key (id, private_key, public_key) VALUES (1, $1, $2) ON CONFLICT (id) DO NOTHING",
        private,
        public
    )?;
    Ok(())
}

/// What a browser gave, in whose session.
pub struct New<'a> {
    pub person_id: Uuid,
    pub session_id: Uuid,
    pub endpoint: &'a str,
    pub p256dh: &'a str,
    pub auth: &'a str,
}

/// In place of what was known of that address, whosever it was; what had ended of this person's is put right by it.
pub async fn add(tx: &mut Tx, new: &New<'_>, at: Instant) -> Result<()> {
    change!(
        tx,
        "DELETE FROM phone WHERE endpoint = $1 OR session_id = $2 OR (person_id = $3 AND ended_ms IS NOT NULL)",
        new.endpoint,
        new.session_id,
        new.person_id
    )?;
    change!(
        tx,
        "INSERT INTO phone (id, person_id, session_id, device, endpoint, p256dh, auth, made_ms, ended_words) \
         SELECT $1, $2, $3, COALESCE((SELECT device FROM session WHERE id = $3), ''), $4, $5, $6, $7, ''",
        ids::new_id(),
        new.person_id,
        new.session_id,
        new.endpoint,
        new.p256dh,
        new.auth,
        at
    )?;
    Ok(())
}

/// Whether a phone asked in this sign-in, and nobody ended that.
pub async fn is_of_session(conn: &mut Conn, session_id: Uuid) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM phone WHERE session_id = $1",
        session_id
    )?;
    Ok(found.is_some_and(|(count,)| count > 0))
}

/// How many are told besides the one of this sign-in.
pub async fn others(conn: &mut Conn, person_id: Uuid, session_id: Uuid) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM phone WHERE person_id = $1 AND session_id <> $2 AND ended_ms IS NULL",
        person_id,
        session_id
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

/// Ends one of the person's own; whether there was one.
pub async fn end(tx: &mut Tx, id: Uuid, person_id: Uuid) -> Result<bool> {
    let ended = change!(
        tx,
        "DELETE FROM phone WHERE id = $1 AND person_id = $2",
        id,
        person_id
    )?;
    Ok(ended == 1)
}

/// Who has a phone that is told.
pub async fn whose(conn: &mut Conn) -> Result<BTreeSet<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        "SELECT DISTINCT person_id FROM phone WHERE ended_ms IS NULL"
    )?;
    Ok(found.into_iter().map(|(id,)| id).collect())
}

/// Where a message goes, and with what it is encrypted.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct To {
    pub id: Uuid,
    pub endpoint: String,
    pub p256dh: String,
    pub auth: String,
}

/// The person's phones that this message is still to be sent to.
pub async fn left(conn: &mut Conn, person_id: Uuid, mail_id: Uuid) -> Result<Vec<To>> {
    rows!(
        conn,
        To,
        "SELECT id, endpoint, p256dh, auth FROM phone WHERE person_id = $1 AND ended_ms IS NULL \
         AND NOT EXISTS (SELECT 1 FROM push_done d WHERE d.mail_id = $2 AND d.phone_id = phone.id) ORDER BY made_ms, id",
        person_id,
        mail_id
    )
}

/// This phone needs this message no more.
pub async fn note_done(
    tx: &mut Tx,
    (mail_id, phone_id): (Uuid, Uuid),
    was_taken: bool,
    at: Instant,
) -> Result<()> {
    change!(
        tx,
        "INSERT INTO push_done (mail_id, phone_id, was_taken) VALUES ($1, $2, $3) ON CONFLICT (mail_id, phone_id) DO NOTHING",
        mail_id,
        phone_id,
        was_taken
    )?;
    if was_taken {
        let sql = "UPDATE phone SET taken_ms = $2 WHERE id = $1";
        change!(tx, sql, phone_id, at)?;
    }
    Ok(())
}

/// Whether any phone has this message.
pub async fn has_any(conn: &mut Conn, mail_id: Uuid) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM push_done WHERE mail_id = $1 AND was_taken = TRUE",
        mail_id
    )?;
    Ok(found.is_some_and(|(count,)| count > 0))
}

/// Its push service knows it no more; where it was asked for anew meanwhile, at another address, nothing is noted.
pub async fn note_ended(tx: &mut Tx, id: Uuid, at: Instant, words: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE phone SET ended_ms = $2, ended_words = $3 WHERE id = $1 AND ended_ms IS NULL",
        id,
        at,
        words
    )?;
    Ok(())
}
