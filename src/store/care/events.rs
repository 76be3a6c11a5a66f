//! Events: where packs are taken to, from the first day to the last, and which packs.

use crate::club::calendar::{Day, Instant};
use crate::club::typed_numbers::key_of;
use crate::store::{Conn, Result, Tx, change, row, rows};
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Event {
    pub id: Uuid,
    pub name: String,
    pub place: String,
    pub first_on: String,
    pub last_on: String,
    pub starts_ms: Instant,
    /// When its last day begins, or the day on which it was ended.
    pub last_day_ms: Instant,
    /// Of its last day, or when it was ended.
    pub ends_ms: Instant,
    pub ended_ms: Option<Instant>,
    /// It does not take place.
    pub called_off_ms: Option<Instant>,
    /// Of its packs, in no order.
    pub numbers: Option<String>,
    /// Of those of them that are in quarantine, and of those set aside.
    pub quarantined: Option<String>,
    pub set_aside: Option<String>,
}

impl Event {
    pub fn first_day(&self) -> Option<Day> {
        Day::parse(&self.first_on)
    }

    pub fn last_day(&self) -> Option<Day> {
        Day::parse(&self.last_on)
    }

    /// Of its packs, in order.
    pub fn numbers(&self) -> Vec<String> {
        in_order(self.numbers.as_deref())
    }

    pub fn quarantined(&self) -> Vec<String> {
        in_order(self.quarantined.as_deref())
    }

    pub fn set_aside(&self) -> Vec<String> {
        in_order(self.set_aside.as_deref())
    }

    pub fn is_over(&self, now: Instant) -> bool {
        self.ends_ms <= now
    }
}

fn in_order(numbers: Option<&str>) -> Vec<String> {
    let all = numbers.unwrap_or_default().split(' ');
    let mut all: Vec<String> = all
        .filter(|one| !one.is_empty())
        .map(str::to_owned)
        .collect();
    all.sort_by_key(|number| (key_of(number), number.clone()));
    all
}

macro_rules! event {
    ($rest:literal) => {
        concat!(
            "SELECT e.id, e.name, e.place, e.first_on, e.last_on, e.starts_ms, e.last_day_ms, e.ends_ms, e.ended_ms, e.called_off_ms, \
             (SELECT STRING_AGG(k.number, ' ') FROM event_pack ep JOIN pack k ON k.id = ep.pack_id WHERE ep.event_id = e.id) AS numbers, \
             (SELECT STRING_AGG(kq.number, ' ') FROM event_pack eq JOIN pack kq ON kq.id = eq.pack_id WHERE eq.event_id = e.id \
             AND kq.state = 'quarantine') AS quarantined, \
             (SELECT STRING_AGG(ks.number, ' ') FROM event_pack es JOIN pack ks ON ks.id = es.pack_id WHERE es.event_id = e.id \
             AND ks.state = 'set_aside') AS set_aside \
             FROM event e ",
            $rest
        )
    };
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Event>> {
    row!(conn, Event, event!("WHERE e.id = $1"), id)
}

/// The latest on top; at most `at_most`.
pub async fn list(conn: &mut Conn, at_most: i64) -> Result<Vec<Event>> {
    rows!(
        conn,
        Event,
        event!("ORDER BY e.ends_ms DESC, e.id LIMIT $1"),
        at_most
    )
}

/// One of this name on these days that takes place.
pub async fn is_there(
    conn: &mut Conn,
    (name, first_on, last_on): (&str, &str, &str),
) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(1 AS BIGINT) FROM event WHERE name = $1 AND first_on = $2 AND last_on = $3 AND called_off_ms IS NULL LIMIT 1",
        name,
        first_on,
        last_on
    )?;
    Ok(found.is_some())
}

pub async fn add(tx: &mut Tx, event: &Event, by: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO event (id, name, place, first_on, last_on, starts_ms, ends_ms, made_by, made_ms, last_day_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        event.id,
        &event.name,
        &event.place,
        &event.first_on,
        &event.last_on,
        event.starts_ms,
        event.ends_ms,
        by,
        at,
        event.last_day_ms
    )?;
    Ok(())
}

pub async fn save(tx: &mut Tx, event: &Event) -> Result<()> {
    change!(
        tx,
        "UPDATE event SET name = $2, place = $3, first_on = $4, last_on = $5, starts_ms = $6, ends_ms = $7, ended_ms = $8, last_day_ms = $9, \
         called_off_ms = $10 WHERE id = $1",
        event.id,
        &event.name,
        &event.place,
        &event.first_on,
        &event.last_on,
        event.starts_ms,
        event.ends_ms,
        event.ended_ms,
        event.last_day_ms,
        event.called_off_ms
    )?;
    Ok(())
}

pub async fn add_pack(tx: &mut Tx, event_id: Uuid, pack_id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO event_pack (event_id, pack_id, added_ms) VALUES ($1, $2, $3)",
        event_id,
        pack_id,
        at
    )?;
    Ok(())
}

pub async fn take_pack_off(tx: &mut Tx, event_id: Uuid, pack_id: Uuid) -> Result<()> {
    change!(
        tx,
        "DELETE FROM event_pack WHERE event_id = $1 AND pack_id = $2",
        event_id,
        pack_id
    )?;
    Ok(())
}
