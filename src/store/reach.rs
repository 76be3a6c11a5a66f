//! How a person is reached: the address for mail, their own quiet hours, whether the address is dead, and what they chose to get.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::reminders::Kind;
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::quiet::Quiet;
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Reach {
    pub person_id: Uuid,
    /// Empty: none.
    pub address: String,
    pub quiet_from: Option<String>,
    pub quiet_to: Option<String>,
    pub dead_ms: Option<Instant>,
    pub dead_words: String,
}

impl Reach {
    pub const fn nowhere(person_id: Uuid) -> Self {
        Self {
            person_id,
            address: String::new(),
            quiet_from: None,
            quiet_to: None,
            dead_ms: None,
            dead_words: String::new(),
        }
    }

    /// Their own; None: the club's.
    pub fn quiet(&self) -> Option<Quiet> {
        Quiet::of(self.quiet_from.as_deref()?, self.quiet_to.as_deref()?)
    }
}

pub async fn of(conn: &mut Conn, person_id: Uuid) -> Result<Option<Reach>> {
    row!(
        conn,
        Reach,
        "SELECT person_id, address, quiet_from, quiet_to, dead_ms, dead_words FROM reach WHERE person_id = $1",
        person_id
    )
}

pub async fn all(conn: &mut Conn) -> Result<BTreeMap<Uuid, Reach>> {
    let found = rows!(
        conn,
        Reach,
        "SELECT person_id, address, quiet_from, quiet_to, dead_ms, dead_words FROM reach"
    )?;
    Ok(found.into_iter().map(|one| (one.person_id, one)).collect())
}

pub async fn save(tx: &mut Tx, reach: &Reach) -> Result<()> {
    change!(
        tx,
        "INSERT INTO reach (person_id, address, quiet_from, quiet_to, dead_ms, dead_words) VALUES ($1, $2, $3, $4, $5, $6) \
         ON CONFLICT (person_id) DO UPDATE SET address = excluded.address, quiet_from = excluded.quiet_from, \
         quiet_to = excluded.quiet_to, dead_ms = excluded.dead_ms, dead_words = excluded.dead_words",
        reach.person_id,
        &reach.address,
        &reach.quiet_from,
        &reach.quiet_to,
        reach.dead_ms,
        &reach.dead_words
    )?;
    Ok(())
}

/// Mail to this address was refused for good; where it is another by now, nothing is noted.
pub async fn note_dead(
    tx: &mut Tx,
    (person_id, address): (Uuid, &str),
    at: Instant,
    words: &str,
) -> Result<()> {
    change!(
        tx,
        "UPDATE reach SET dead_ms = $3, dead_words = $4 WHERE person_id = $1 AND address = $2",
        person_id,
        address,
        at,
        words
    )?;
    Ok(())
}

type Chosen = (Uuid, String, bool, bool, bool);

fn sorted(found: Vec<Chosen>) -> BTreeMap<Uuid, Choices> {
    let mut all: BTreeMap<Uuid, Choices> = BTreeMap::new();
    for (person, kind, by_mail, by_push, in_calendar) in found {
        let Some(kind) = Kind::from_code(&kind) else {
            continue;
        };
        let ways = Ways {
            by_mail,
            by_push,
            in_calendar,
        };
        all.entry(person).or_default().0.insert(kind, ways);
    }
    all
}

pub async fn all_choices(conn: &mut Conn) -> Result<BTreeMap<Uuid, Choices>> {
    let found = rows!(
        conn,
        Chosen,
        "SELECT person_id, kind, by_mail, by_push, in_calendar FROM reminder_choice"
    )?;
    Ok(sorted(found))
}

pub async fn choices(conn: &mut Conn, person_id: Uuid) -> Result<Choices> {
    let found = rows!(
        conn,
        Chosen,
        "SELECT person_id, kind, by_mail, by_push, in_calendar FROM reminder_choice WHERE person_id = $1",
        person_id
    )?;
    Ok(sorted(found).remove(&person_id).unwrap_or_default())
}

#[derive(sqlx::FromRow)]
struct Whole {
    address: Option<String>,
    quiet_from: Option<String>,
    quiet_to: Option<String>,
    dead_ms: Option<Instant>,
    dead_words: Option<String>,
    kind: Option<String>,
    by_mail: Option<bool>,
    by_push: Option<bool>,
    in_calendar: Option<bool>,
}

/// Both in one query.
pub async fn with_choices(conn: &mut Conn, person_id: Uuid) -> Result<(Reach, Choices)> {
    let found = rows!(
        conn,
        Whole,
        "SELECT r.address, r.quiet_from, r.quiet_to, r.dead_ms, r.dead_words, c.kind, c.by_mail, c.by_push, c.in_calendar \
         FROM person p LEFT JOIN reach r ON r.person_id = p.id LEFT JOIN reminder_choice c ON c.person_id = p.id WHERE p.id = $1",
        person_id
    )?;
    let mut reach = Reach::nowhere(person_id);
    let mut chosen: Vec<Chosen> = Vec::new();
    for one in found {
        reach = Reach {
            person_id,
            address: one.address.unwrap_or_default(),
            quiet_from: one.quiet_from,
            quiet_to: one.quiet_to,
            dead_ms: one.dead_ms,
            dead_words: one.dead_words.unwrap_or_default(),
        };
        let ways = (one.by_mail, one.by_push, one.in_calendar);
        if let (Some(kind), (Some(by_mail), Some(by_push), Some(in_calendar))) = (one.kind, ways) {
            chosen.push((person_id, kind, by_mail, by_push, in_calendar));
        }
    }
    Ok((reach, sorted(chosen).remove(&person_id).unwrap_or_default()))
}

pub async fn choose(tx: &mut Tx, person_id: Uuid, kind: Kind, ways: Ways) -> Result<()> {
    change!(
        tx,
        "INSERT INTO reminder_choice (person_id, kind, by_mail, by_push, in_calendar) VALUES ($1, $2, $3, $4, $5) \
         ON CONFLICT (person_id, kind) DO UPDATE SET by_mail = excluded.by_mail, by_push = excluded.by_push, \
         in_calendar = excluded.in_calendar",
        person_id,
        kind.code(),
        ways.by_mail,
        ways.by_push,
        ways.in_calendar
    )?;
    Ok(())
}

/// Address and choices go with a person's name.
pub async fn forget(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM reach WHERE person_id = $1", person_id)?;
    change!(
        tx,
        "DELETE FROM reminder_choice WHERE person_id = $1",
        person_id
    )?;
    Ok(())
}
