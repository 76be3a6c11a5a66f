//! Tokens of the API: a secret's hash, whose it is, what it may, until when. `meet` answers who asks with one.

use super::sessions::{Me, MeAtClub};
use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::store::club::Club;
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Token {
    pub id: Uuid,
    pub person_id: Uuid,
    pub name: String,
    /// Whatever its person may; else it only looks.
    pub may_change: bool,
    pub made_ms: Instant,
    pub used_ms: Option<Instant>,
    pub ends_ms: Instant,
}

#[derive(sqlx::FromRow)]
struct Met {
    #[sqlx(flatten)]
    person: MeAtClub,
    token_name: String,
    may_change: bool,
    made_ms: Instant,
    used_ms: Option<Instant>,
    ends_ms: Instant,
}

/// The token with this hash while it works, its person with the roles of now, and the club. The token stands for the
/// session that there is not.
pub async fn meet(
    conn: &mut Conn,
    token_hash: &str,
    now: Instant,
) -> Result<Option<(Token, Me, Club)>> {
    let found = row!(
        conn,
        Met,
        "SELECT o.id AS session_id, o.made_ms AS seen_ms, CAST(0 AS BIGINT) AS idle_minutes, p.id AS person_id, p.name, p.is_member, \
         p.is_quartermaster, p.is_organiser, CAST(NULL AS TEXT) AS tablet_name, CAST(0 AS BIGINT) AS unread_reports, CAST(0 AS BIGINT) AS looks_due, CAST(0 AS BIGINT) AS to_stop, CAST(0 AS BIGINT) AS actions_to_do, c.name AS club_name, c.time_zone, \
         c.uses_fahrenheit, c.uses_decimal_comma, c.pack_prefix, c.loan_days, c.limits, c.care, c.may_members_borrow, c.hall, c.in_danger, c.is_demo, \
         c.started_ms, o.name AS token_name, o.may_change, o.made_ms, o.used_ms, o.ends_ms \
         FROM token o JOIN person p ON p.id = o.person_id JOIN club c ON c.id = 1 \
         WHERE o.token_hash = $1 AND o.ends_ms > $2 AND p.deactivated_ms IS NULL AND p.erased_ms IS NULL",
        token_hash,
        now
    )?;
    Ok(found.map(|met| {
        let MeAtClub { me, club } = met.person;
        let token = Token {
            id: me.session_id,
            person_id: me.person_id,
            name: met.token_name,
            may_change: met.may_change,
            made_ms: met.made_ms,
            used_ms: met.used_ms,
            ends_ms: met.ends_ms,
        };
        (token, me, club.into())
    }))
}

pub async fn add(tx: &mut Tx, token: &Token, token_hash: &str) -> Result<()> {
    change!(
        tx,
        "INSERT INTO token (id, token_hash, person_id, name, may_change, made_ms, used_ms, ends_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        token.id,
        token_hash,
        token.person_id,
        &token.name,
        token.may_change,
        token.made_ms,
        token.used_ms,
        token.ends_ms
    )?;
    change!(
        tx,
        "INSERT INTO token_name (token_id, person_id, name) VALUES ($1, $2, $3)",
        token.id,
        token.person_id,
        &token.name
    )?;
    Ok(())
}

/// A person's tokens that work, the newest first.
pub async fn of_person(conn: &mut Conn, person_id: Uuid, now: Instant) -> Result<Vec<Token>> {
    rows!(
        conn,
        Token,
        "SELECT id, person_id, name, may_change, made_ms, used_ms, ends_ms FROM token \
         WHERE person_id = $1 AND ends_ms > $2 ORDER BY made_ms DESC, id DESC",
        person_id,
        now
    )
}

pub async fn note_used(tx: &mut Tx, id: Uuid, now: Instant) -> Result<()> {
    change!(tx, "UPDATE token SET used_ms = $2 WHERE id = $1", id, now)?;
    Ok(())
}

/// Ends one of the person's own; whether there was one.
pub async fn end(tx: &mut Tx, id: Uuid, person_id: Uuid) -> Result<bool> {
    let ended = change!(
        tx,
        "DELETE FROM token WHERE id = $1 AND person_id = $2",
        id,
        person_id
    )?;
    Ok(ended == 1)
}

pub async fn end_all(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM token WHERE person_id = $1", person_id)?;
    Ok(())
}

/// What a person's tokens were called: names outlive the tokens, for the log.
pub async fn forget_names(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM token_name WHERE person_id = $1", person_id)?;
    Ok(())
}

pub async fn sweep(tx: &mut Tx, now: Instant) -> Result<()> {
    change!(tx, "DELETE FROM token WHERE ends_ms <= $1", now)?;
    Ok(())
}
