//! Nights: an evening or event at which packs are handed out. One is open at most.

use super::{Conn, Result, Tx, change, row};
use crate::club::calendar::{Day, Instant, Zone};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Night {
    pub id: Uuid,
    pub place_id: Uuid,
    pub place_name: String,
    pub on_duty_id: Uuid,
    pub on_duty_name: Option<String>,
    pub ends_on: String,
    pub ends_at: String,
    pub opened_ms: Instant,
}

impl Night {
    pub fn ends_day(&self) -> Option<Day> {
        Day::parse(&self.ends_on)
    }
}

/// When a night ends; None where its day or hour can't be read.
pub fn end_of(ends_on: &str, ends_at: &str, zone: &Zone) -> Option<Instant> {
    zone.at(Day::parse(ends_on)?, ends_at)
}

/// The night that is open and has not ended: new loans belong to it.
pub async fn on_now(conn: &mut Conn, zone: &Zone, now: Instant) -> Result<Option<Night>> {
    let night = open_now(conn).await?;
    Ok(night.filter(|night| {
        let end = end_of(&night.ends_on, &night.ends_at, zone);
        end.is_some_and(|end| end > now)
    }))
}

/// The night nobody has closed yet, also when its end is past.
pub async fn open_now(conn: &mut Conn) -> Result<Option<Night>> {
    row!(
        conn,
        Night,
        "SELECT n.id, n.place_id, pl.name AS place_name, n.on_duty_id, pe.name AS on_duty_name, n.ends_on, n.ends_at, n.opened_ms \
         FROM night n JOIN place pl ON pl.id = n.place_id JOIN person pe ON pe.id = n.on_duty_id WHERE n.closed_ms IS NULL"
    )
}

/// The night nobody has closed yet, and how many things of the club's are out, of adapters each one.
pub async fn with_what_is_out(conn: &mut Conn) -> Result<(Option<Night>, i64)> {
    #[derive(sqlx::FromRow)]
    struct Row {
        out: i64,
        id: Option<Uuid>,
        place_id: Option<Uuid>,
        place_name: Option<String>,
        on_duty_id: Option<Uuid>,
        on_duty_name: Option<String>,
        ends_on: Option<String>,
        ends_at: Option<String>,
        opened_ms: Option<Instant>,
    }
    let found = row!(
        conn,
        Row,
        "SELECT CAST(COALESCE((SELECT SUM(COALESCE(counted, 1)) FROM lent WHERE closed_ms IS NULL), 0) AS BIGINT) AS out, \
         n.id, n.place_id, pl.name AS place_name, n.on_duty_id, pe.name AS on_duty_name, n.ends_on, n.ends_at, n.opened_ms \
         FROM turn LEFT JOIN night n ON n.closed_ms IS NULL LEFT JOIN place pl ON pl.id = n.place_id \
         LEFT JOIN person pe ON pe.id = n.on_duty_id"
    )?;
    let night = |row: &Row| {
        Some(Night {
            id: row.id?,
            place_id: row.place_id?,
            place_name: row.place_name.clone()?,
            on_duty_id: row.on_duty_id?,
            on_duty_name: row.on_duty_name.clone(),
            ends_on: row.ends_on.clone()?,
            ends_at: row.ends_at.clone()?,
            opened_ms: row.opened_ms?,
        })
    };
    Ok(found.map_or((None, 0), |row| (night(&row), row.out)))
}

pub async fn open(tx: &mut Tx, night: &Night, opened_by: Uuid) -> Result<()> {
    change!(
        tx,
        "INSERT INTO night (id, place_id, on_duty_id, ends_on, ends_at, opened_by, opened_ms) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        night.id,
        night.place_id,
        night.on_duty_id,
        &night.ends_on,
        &night.ends_at,
        opened_by,
        night.opened_ms
    )?;
    Ok(())
}

pub async fn close(tx: &mut Tx, id: Uuid, at: Instant) -> Result<()> {
    change!(tx, "UPDATE night SET closed_ms = $2 WHERE id = $1", id, at)?;
    Ok(())
}
