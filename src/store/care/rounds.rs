//! Storage rounds, and the packs on each.

use crate::club::calendar::Instant;
use crate::club::limits::ClubLimits;
use crate::store::care::{InCare, in_care};
use crate::store::{Conn, Result, Tx, change, row, rows, rows_among};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Round {
    pub id: Uuid,
    pub name: String,
    pub event_id: Option<Uuid>,
    pub opened_by: Uuid,
    pub opened_name: Option<String>,
    pub opened_ms: Instant,
    pub closed_name: Option<String>,
    pub closed_ms: Option<Instant>,
    pub packs: i64,
}

macro_rules! round {
    ($rest:literal) => {
        concat!(
            "SELECT r.id, r.name, r.event_id, r.opened_by, o.name AS opened_name, r.opened_ms, c.name AS closed_name, r.closed_ms, \
             (SELECT COUNT(*) FROM round_pack rp WHERE rp.round_id = r.id) AS packs FROM storage_round r \
             JOIN person o ON o.id = r.opened_by LEFT JOIN person c ON c.id = r.closed_by ",
            $rest
        )
    };
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Round>> {
    row!(conn, Round, round!("WHERE r.id = $1"), id)
}

/// The latest on top, open ones first.
pub async fn list(conn: &mut Conn, at_most: i64) -> Result<Vec<Round>> {
    rows!(
        conn,
        Round,
        round!(
            "ORDER BY CASE WHEN r.closed_ms IS NULL THEN 0 ELSE 1 END, r.opened_ms DESC, r.id LIMIT $1"
        ),
        at_most
    )
}

pub async fn open(
    tx: &mut Tx,
    (id, name, event_id): (Uuid, &str, Option<Uuid>),
    (by, at): (Uuid, Instant),
) -> Result<()> {
    change!(
        tx,
        "INSERT INTO storage_round (id, name, event_id, opened_by, opened_ms) VALUES ($1, $2, $3, $4, $5)",
        id,
        name,
        event_id,
        by,
        at
    )?;
    Ok(())
}

/// Who took home what is back by now is not kept.
pub async fn close(tx: &mut Tx, id: Uuid, by: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE storage_round SET closed_by = $2, closed_ms = $3 WHERE id = $1 AND closed_ms IS NULL",
        id,
        by,
        at
    )?;
    change!(
        tx,
        "UPDATE round_pack SET home_id = NULL, home_by = NULL WHERE round_id = $1 AND home_id IS NOT NULL \
         AND NOT EXISTS (SELECT 1 FROM care c WHERE c.pack_id = round_pack.pack_id AND c.home_id IS NOT NULL)",
        id
    )?;
    Ok(())
}

/// A pack on a round, with what storage care goes by.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct OnRound {
    #[sqlx(flatten)]
    pub care: InCare,
    pub added_ms: Instant,
    /// Who took it home in this round, and by which day it is to be done.
    pub taken_by: Option<Uuid>,
    pub taken_name: Option<String>,
    pub taken_until: Option<String>,
    /// How it stood when the round was closed, and its volts then.
    pub stood: Option<String>,
    pub stood_volts: Option<String>,
    /// When that was read; None: it was not.
    pub stood_read_ms: Option<Instant>,
    /// Why it was left alone then, and what was next.
    pub stood_why: Option<String>,
    /// Who read it last, or until it was closed.
    pub read_name: Option<String>,
}

impl OnRound {
    /// What it is used for now, and why it is left alone; empty: neither.
    pub fn told(&self, now: Instant, limits: &ClubLimits) -> String {
        let held = self.care.pack.held_words(now, limits);
        format!("{} {held}", self.care.in_use_words())
            .trim()
            .to_owned()
    }
}

/// By number.
pub async fn packs_of(conn: &mut Conn, round_id: Uuid) -> Result<Vec<OnRound>> {
    rows!(
        conn,
        OnRound,
        in_care!(
            ", rp.added_ms, rp.home_id AS taken_by, th.name AS taken_name, rp.home_by AS taken_until, rp.stood, rp.volts AS stood_volts, rp.read_ms AS stood_read_ms, rp.why AS stood_why, \
             CASE WHEN rp.stood IS NOT NULL THEN sr.name ELSE (SELECT rb.name FROM reading rr JOIN person rb ON rb.id = rr.by_id WHERE rr.pack_id = k.id \
              AND rr.taken_ms = k.last_read_ms ORDER BY rr.id DESC LIMIT 1) END AS read_name",
            "JOIN round_pack rp ON rp.pack_id = k.id LEFT JOIN person th ON th.id = rp.home_id LEFT JOIN person sr ON sr.id = rp.read_by ",
            "WHERE rp.round_id = $1 ORDER BY k.number_key, k.number"
        ),
        round_id
    )
}

/// A pack of the round, or one that somebody has.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct HereOrHeld {
    #[sqlx(flatten)]
    pub care: InCare,
    /// None: it is not on the round.
    pub added_ms: Option<Instant>,
}

/// The packs of a round, and all that somebody has, in one go; by number.
pub async fn packs_and_held(conn: &mut Conn, round_id: Uuid) -> Result<Vec<HereOrHeld>> {
    rows!(
        conn,
        HereOrHeld,
        in_care!(
            ", rp.added_ms",
            "LEFT JOIN round_pack rp ON rp.pack_id = k.id AND rp.round_id = $1 ",
            "WHERE k.life = 'in_use' AND (rp.round_id IS NOT NULL OR le.id IS NOT NULL OR ca.home_id IS NOT NULL) \
             ORDER BY k.number_key, k.number"
        ),
        round_id
    )
}

/// A pack, when it was put on a round, and that round where it is open.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct WasOn {
    pub pack_id: Uuid,
    pub added_ms: Instant,
    pub open_id: Option<Uuid>,
}

/// The rounds that these packs were on, the latest first.
pub async fn rounds_of(conn: &mut Conn, packs: &[Uuid]) -> Result<Vec<WasOn>> {
    if packs.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        WasOn,
        "SELECT rp.pack_id, rp.added_ms, CASE WHEN r.closed_ms IS NULL THEN r.id END AS open_id FROM round_pack rp \
         JOIN storage_round r ON r.id = rp.round_id WHERE rp.pack_id IN (",
        packs,
        ") ORDER BY rp.added_ms DESC, rp.round_id"
    )
}

pub async fn add(tx: &mut Tx, round_id: Uuid, pack_id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO round_pack (round_id, pack_id, added_ms) VALUES ($1, $2, $3) ON CONFLICT (round_id, pack_id) DO NOTHING",
        round_id,
        pack_id,
        at
    )?;
    Ok(())
}

/// Whose it is now until it is done: on the round, and for what is due.
pub async fn take_home(
    tx: &mut Tx,
    (round_id, pack_id): (Uuid, Uuid),
    (person_id, by): (Uuid, &str),
    at: Instant,
) -> Result<()> {
    change!(
        tx,
        "UPDATE round_pack SET home_id = $3, home_by = $4, home_ms = $5 WHERE round_id = $1 AND pack_id = $2",
        round_id,
        pack_id,
        person_id,
        by,
        at
    )?;
    change!(
        tx,
        "INSERT INTO care (pack_id, lain, home_id, home_by) VALUES ($1, '[]', $2, $3) \
         ON CONFLICT (pack_id) DO UPDATE SET home_id = excluded.home_id, home_by = excluded.home_by",
        pack_id,
        person_id,
        by
    )?;
    Ok(())
}

/// It is done, or it went out: nobody has it at home any more.
pub async fn is_back_from_home(tx: &mut Tx, pack_id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE care SET home_id = NULL, home_by = NULL, home_back_ms = $2 WHERE pack_id = $1 AND home_id IS NOT NULL",
        pack_id,
        at
    )?;
    Ok(())
}

/// How a pack stood as its round was closed: the word for it, its volts and when they were read, and what stood against it.
pub struct Stood<'a> {
    pub code: &'a str,
    pub volts: Option<&'a str>,
    pub read: Option<Instant>,
    pub why: &'a str,
}

pub async fn note_how_it_stood(
    tx: &mut Tx,
    (round_id, pack_id): (Uuid, Uuid),
    stood: Stood<'_>,
) -> Result<()> {
    change!(
        tx,
        "UPDATE round_pack SET stood = $3, volts = $4, why = $5, read_ms = $6, read_by = (SELECT rr.by_id FROM reading rr \
         WHERE rr.pack_id = $2 AND rr.taken_ms = $6 ORDER BY rr.id DESC LIMIT 1) WHERE round_id = $1 AND pack_id = $2",
        round_id,
        pack_id,
        stood.code,
        stood.volts,
        stood.why,
        stood.read
    )?;
    Ok(())
}
