//! Sessions: a token's hash, whose it is, how long it may idle. `meet` answers everything a page must know about who asks.

use super::book::actions::from_own;
use super::charges::now::runs_and_must_stop;
use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::care::rules::CareRules;
use crate::club::hall::Hall;
use crate::club::in_danger::InDanger;
use crate::club::limits::ClubLimits;
use crate::club::people::Roles;
use crate::store::club::Club;
use uuid::Uuid;

/// The person behind a live session.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Me {
    pub session_id: Uuid,
    pub seen_ms: Instant,
    pub idle_minutes: i64,
    pub person_id: Uuid,
    pub name: String,
    pub is_member: bool,
    pub is_quartermaster: bool,
    pub is_organiser: bool,
    pub tablet_name: Option<String>,
    /// Reports that nobody has read, for those who run the pool.
    pub unread_reports: i64,
    /// Packs in quarantine that somebody should look at now, for them.
    pub looks_due: i64,
    /// Charges that are to be stopped: for those who run the pool all, else those that the person stays with.
    pub to_stop: i64,
    /// What is theirs to do after incidents.
    pub actions_to_do: i64,
}

impl Me {
    /// At a shared tablet nobody is an organiser: a code of six digits in a busy hall is too little for that.
    pub const fn roles(&self) -> Roles {
        Roles {
            is_member: self.is_member,
            is_quartermaster: self.is_quartermaster,
            is_organiser: self.is_organiser && self.tablet_name.is_none(),
        }
    }
}

#[derive(sqlx::FromRow)]
pub(super) struct MeAtClub {
    #[sqlx(flatten)]
    pub me: Me,
    #[sqlx(flatten)]
    pub club: ClubColumns,
}

/// The club's columns under names that can't clash with a person's.
#[derive(sqlx::FromRow)]
pub(super) struct ClubColumns {
    club_name: String,
    time_zone: String,
    uses_fahrenheit: bool,
    uses_decimal_comma: bool,
    pack_prefix: String,
    loan_days: i64,
    #[sqlx(try_from = "String")]
    limits: ClubLimits,
    #[sqlx(try_from = "String")]
    care: CareRules,
    may_members_borrow: bool,
    #[sqlx(try_from = "String")]
    hall: Hall,
    #[sqlx(try_from = "String")]
    in_danger: InDanger,
    is_demo: bool,
    started_ms: Instant,
}

/// Who holds this token now, and the club: None when it idled out, ended, or its person was deactivated.
pub async fn meet(conn: &mut Conn, token_hash: &str, now: Instant) -> Result<Option<(Me, Club)>> {
    let found = row!(
        conn,
        MeAtClub,
        concat!(
            "SELECT s.id AS session_id, s.seen_ms, s.idle_minutes, p.id AS person_id, p.name, p.is_member, p.is_quartermaster, \
         p.is_organiser, t.name AS tablet_name, c.name AS club_name, c.time_zone, c.uses_fahrenheit, c.uses_decimal_comma, \
         c.pack_prefix, c.loan_days, c.limits, c.care, c.may_members_borrow, c.hall, c.in_danger, c.is_demo, \
         c.started_ms, CASE WHEN p.is_quartermaster OR p.is_organiser THEN \
         (SELECT COUNT(*) FROM report WHERE read_ms IS NULL) ELSE 0 END AS unread_reports, \
         CASE WHEN p.is_quartermaster OR p.is_organiser THEN \
         (SELECT COUNT(*) FROM watch WHERE ended_ms IS NULL AND next_ms <= $2) ELSE 0 END AS looks_due, \
         (SELECT COUNT(*) FROM charge sc WHERE (p.is_quartermaster OR p.is_organiser OR sc.watched_by = p.id) AND ",
            runs_and_must_stop!(),
            ") AS to_stop, (SELECT COUNT(*) ",
            from_own!("p.id"),
            ") AS actions_to_do \
         FROM session s JOIN person p ON p.id = s.person_id JOIN club c ON c.id = 1 LEFT JOIN tablet t ON t.id = s.tablet_id \
         WHERE s.token_hash = $1 AND s.ends_ms > $2 AND s.seen_ms + s.idle_minutes * 60000 > $2 \
         AND p.deactivated_ms IS NULL AND p.erased_ms IS NULL AND t.ended_ms IS NULL"
        ),
        token_hash,
        now
    )?;
    Ok(found.map(|MeAtClub { me, club }| (me, club.into())))
}

impl From<ClubColumns> for Club {
    fn from(c: ClubColumns) -> Self {
        Self {
            name: c.club_name,
            time_zone: c.time_zone,
            uses_fahrenheit: c.uses_fahrenheit,
            uses_decimal_comma: c.uses_decimal_comma,
            pack_prefix: c.pack_prefix,
            loan_days: c.loan_days,
            limits: c.limits,
            care: c.care,
            may_members_borrow: c.may_members_borrow,
            hall: c.hall,
            in_danger: c.in_danger,
            is_demo: c.is_demo,
            started_ms: c.started_ms,
        }
    }
}

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Session {
    pub id: Uuid,
    pub token_hash: String,
    pub person_id: Uuid,
    pub tablet_id: Option<Uuid>,
    pub device: String,
    pub created_ms: Instant,
    pub seen_ms: Instant,
    pub idle_minutes: i64,
    pub ends_ms: Instant,
}

pub async fn begin(tx: &mut Tx, session: &Session) -> Result<()> {
    change!(
        tx,
        "INSERT INTO session (id, token_hash, person_id, tablet_id, device, created_ms, seen_ms, idle_minutes, ends_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        session.id,
        &session.token_hash,
        session.person_id,
        session.tablet_id,
        &session.device,
        session.created_ms,
        session.seen_ms,
        session.idle_minutes,
        session.ends_ms
    )?;
    Ok(())
}

/// Whose session it is or was, though it may have ended by now.
pub async fn whose(conn: &mut Conn, token_hash: &str) -> Result<Option<Uuid>> {
    let found = row!(
        conn,
        (Uuid,),
        "SELECT person_id FROM session WHERE token_hash = $1",
        token_hash
    )?;
    Ok(found.map(|(id,)| id))
}

pub async fn note_seen(tx: &mut Tx, id: Uuid, now: Instant) -> Result<()> {
    change!(tx, "UPDATE session SET seen_ms = $2 WHERE id = $1", id, now)?;
    Ok(())
}

/// A person's live sessions, latest first.
pub async fn of_person(conn: &mut Conn, person_id: Uuid, now: Instant) -> Result<Vec<Session>> {
    rows!(
        conn,
        Session,
        "SELECT id, token_hash, person_id, tablet_id, device, created_ms, seen_ms, idle_minutes, ends_ms FROM session \
         WHERE person_id = $1 AND ends_ms > $2 AND seen_ms + idle_minutes * 60000 > $2 ORDER BY seen_ms DESC, id",
        person_id,
        now
    )
}

/// Ends one of the person's own sessions, and the reminders on that phone; whether there was one.
pub async fn end(tx: &mut Tx, id: Uuid, person_id: Uuid) -> Result<bool> {
    let ended = change!(
        tx,
        "DELETE FROM session WHERE id = $1 AND person_id = $2",
        id,
        person_id
    )?;
    change!(
        tx,
        "DELETE FROM phone WHERE session_id = $1 AND person_id = $2",
        id,
        person_id
    )?;
    Ok(ended == 1)
}

/// Ends all of a person's sessions but `keep`, and the reminders on all their phones but that one.
pub async fn end_all(tx: &mut Tx, person_id: Uuid, keep: Option<Uuid>) -> Result<()> {
    change!(
        tx,
        "DELETE FROM session WHERE person_id = $1 AND (CAST($2 AS UUID) IS NULL OR id <> $2)",
        person_id,
        keep
    )?;
    change!(
        tx,
        "DELETE FROM phone WHERE person_id = $1 AND (CAST($2 AS UUID) IS NULL OR session_id <> $2)",
        person_id,
        keep
    )?;
    Ok(())
}

/// One tablet, one person.
pub async fn end_on_tablet(tx: &mut Tx, tablet_id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM session WHERE tablet_id = $1", tablet_id)?;
    Ok(())
}

pub async fn end_at_tablets(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(
        tx,
        "DELETE FROM session WHERE person_id = $1 AND tablet_id IS NOT NULL",
        person_id
    )?;
    Ok(())
}

/// An ended one stays a day longer: a form that comes late is known by it.
pub async fn sweep(tx: &mut Tx, now: Instant) -> Result<()> {
    change!(
        tx,
        "DELETE FROM session WHERE ends_ms + 86400000 <= $1 OR seen_ms + idle_minutes * 60000 + 86400000 <= $1",
        now
    )?;
    Ok(())
}
