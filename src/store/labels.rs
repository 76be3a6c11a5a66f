//! Labels of packs: which code is on which pack, and where its address led when it was last printed.

use super::book::watches::watched_since;
use super::charges::lately::{Lately, lately_columns};
use super::charges::now::{NowRow, now_columns, now_joins};
use super::packs::{PackView, pack_query};
use super::{Conn, Result, Tx, change, row, rows, rows_among};
use crate::club::calendar::Instant;
use uuid::Uuid;

/// What `printed_ms` says of a label that was never put on a sheet.
pub const NEVER_PRINTED: Instant = Instant(0);

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Label {
    pub code: String,
    pub pack_id: Uuid,
    pub made_ms: Instant,
    pub base: String,
    pub printed_ms: Instant,
}

/// A pack and its label, if it has one that works.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Labelled {
    #[sqlx(flatten)]
    pub pack: PackView,
    pub code: Option<String>,
    pub made_ms: Option<Instant>,
    pub base: Option<String>,
    pub printed_ms: Option<Instant>,
}

/// The pack that a label is on, and whether its volts still tell what is in it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct OnLabel {
    #[sqlx(flatten)]
    pub pack: PackView,
    #[sqlx(flatten)]
    pub lately: Lately,
    /// The open storage round that it is on.
    pub round_id: Option<Uuid>,
    /// Danger stands against it, whatever became of it.
    pub is_danger_known: bool,
    /// Somebody not signed in reported something, and nobody looked.
    pub is_unlooked: bool,
    pub is_watch_on: bool,
    pub watched_since_ms: Option<Instant>,
    #[sqlx(flatten)]
    pub now: NowRow,
}

/// None alike for a code that never was and one that was revoked.
pub async fn pack_with(conn: &mut Conn, code: &str) -> Result<Option<OnLabel>> {
    row!(
        conn,
        OnLabel,
        pack_query!(
            concat!(
                ", \
                 (SELECT r.id FROM round_pack rp JOIN storage_round r ON r.id = rp.round_id \
                  WHERE rp.pack_id = k.id AND r.closed_ms IS NULL ORDER BY rp.added_ms DESC LIMIT 1) AS round_id, \
                 EXISTS (SELECT 1 FROM finding fd WHERE fd.pack_id = k.id AND fd.closed_ms IS NULL \
                  AND fd.gravity IN ('danger', 'final_danger')) AS is_danger_known, \
                 EXISTS (SELECT 1 FROM finding fu WHERE fu.pack_id = k.id AND fu.closed_ms IS NULL \
                  AND fu.rule = 'reported_unlooked') AS is_unlooked, ",
                watched_since!(),
                lately_columns!(),
                now_columns!()
            ),
            concat!("JOIN label la ON la.pack_id = k.id ", now_joins!()),
            "WHERE la.code = $1 AND la.ended_ms IS NULL"
        ),
        code
    )
}

/// The pack that a code was on that was revoked since.
pub async fn pack_that_had(conn: &mut Conn, code: &str) -> Result<Option<PackView>> {
    row!(
        conn,
        PackView,
        pack_query!(
            "",
            "JOIN label la ON la.pack_id = k.id ",
            "WHERE la.code = $1 AND la.ended_ms IS NOT NULL"
        ),
        code
    )
}

/// Number of the pack that each of these codes is on; codes that lead nowhere are left out.
pub async fn numbers(conn: &mut Conn, codes: &[String]) -> Result<Vec<(String, String)>> {
    if codes.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        (String, String),
        "SELECT la.code, k.number FROM label la JOIN pack k ON k.id = la.pack_id WHERE la.ended_ms IS NULL AND la.code IN (",
        codes.iter().map(String::as_str).collect::<Vec<_>>(),
        ")"
    )
}

pub async fn of_pack(conn: &mut Conn, number: &str) -> Result<Option<Labelled>> {
    row!(
        conn,
        Labelled,
        pack_query!(
            ", la.code, la.made_ms, la.base, NULLIF(la.printed_ms, 0) AS printed_ms",
            "LEFT JOIN label la ON la.pack_id = k.id AND la.ended_ms IS NULL ",
            "WHERE k.number = $1"
        ),
        number
    )
}

/// Packs by their running numbers, with their labels.
pub async fn of_keys(conn: &mut Conn, keys: &[i64]) -> Result<Vec<Labelled>> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        Labelled,
        pack_query!(
            ", la.code, la.made_ms, la.base, NULLIF(la.printed_ms, 0) AS printed_ms",
            "LEFT JOIN label la ON la.pack_id = k.id AND la.ended_ms IS NULL ",
            "WHERE k.number_key IN ("
        ),
        keys,
        ") ORDER BY k.number_key, k.number"
    )
}

/// Running numbers of packs that a person can label and that have no label, lowest first.
pub async fn lacking(conn: &mut Conn, at_most: i64) -> Result<Vec<i64>> {
    let found = rows!(
        conn,
        (i64,),
        "SELECT k.number_key FROM pack k WHERE k.life = 'in_use' AND NOT EXISTS \
         (SELECT 1 FROM label la WHERE la.pack_id = k.id AND la.ended_ms IS NULL) ORDER BY k.number_key LIMIT $1",
        at_most
    )?;
    Ok(found.into_iter().map(|(key,)| key).collect())
}

/// Labels in use that were last printed with another address than the one people use now.
#[derive(Clone, Debug, Default)]
pub struct Elsewhere {
    pub count: i64,
    /// One of those addresses; empty: there is none.
    pub base: String,
    /// Running numbers of the first of their packs.
    pub keys: Vec<i64>,
}

pub async fn printed_elsewhere(conn: &mut Conn, base: &str, at_most: i64) -> Result<Elsewhere> {
    let found = rows!(
        conn,
        (i64, i64, String),
        "SELECT k.number_key, COUNT(*) OVER (), MIN(la.base) OVER () FROM label la JOIN pack k ON k.id = la.pack_id \
         WHERE la.ended_ms IS NULL AND la.printed_ms > 0 AND (la.base < $1 OR la.base > $1) \
         ORDER BY k.number_key LIMIT $2",
        base,
        at_most
    )?;
    let mut elsewhere = Elsewhere::default();
    for (key, count, base) in found {
        elsewhere.count = count;
        elsewhere.base = base;
        elsewhere.keys.push(key);
    }
    Ok(elsewhere)
}

pub async fn add(tx: &mut Tx, label: &Label, by: Uuid) -> Result<()> {
    change!(
        tx,
        "INSERT INTO label (code, pack_id, made_ms, made_by, base, printed_ms) VALUES ($1, $2, $3, $4, $5, $6)",
        &label.code,
        label.pack_id,
        label.made_ms,
        by,
        &label.base,
        label.printed_ms
    )?;
    Ok(())
}

pub async fn note_printed(tx: &mut Tx, code: &str, base: &str, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE label SET base = $2, printed_ms = $3 WHERE code = $1",
        code,
        base,
        at
    )?;
    Ok(())
}

/// It leads nowhere from now on. How many labels ended: 0 or 1.
pub async fn end(tx: &mut Tx, pack_id: Uuid, by: Uuid, at: Instant) -> Result<u64> {
    change!(
        tx,
        "UPDATE label SET ended_ms = $2, ended_by = $3 WHERE pack_id = $1 AND ended_ms IS NULL",
        pack_id,
        at,
        by
    )
}
