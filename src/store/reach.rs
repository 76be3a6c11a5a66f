//! How a person is reached: the address for mail, their own quiet hours, whether the address is dead, and what they chose to get.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::reminders::Kind;
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::quiet::Quiet;
use std::collections::{BTreeMap, BTreeSet};
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
    /// Since when its person was asked whether the address is theirs and did not say so; None: nobody is asked.
    pub unconfirmed_ms: Option<Instant>,
    /// Since when it is kept without a mail server that could ask.
    pub unasked_ms: Option<Instant>,
    /// Since when its person has it, or asked for it to be tried again; None: since before that was kept.
    pub kept_ms: Option<Instant>,
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
            unconfirmed_ms: None,
            unasked_ms: None,
            kept_ms: None,
        }
    }

    /// Nobody said yet that it is theirs.
    pub const fn is_unconfirmed(&self) -> bool {
        self.unconfirmed_ms.is_some() || self.unasked_ms.is_some()
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
        "SELECT person_id, address, quiet_from, quiet_to, dead_ms, dead_words, unconfirmed_ms, unasked_ms, kept_ms FROM reach WHERE person_id = $1",
        person_id
    )
}

pub async fn all(conn: &mut Conn) -> Result<BTreeMap<Uuid, Reach>> {
    let found = rows!(
        conn,
        Reach,
        "SELECT person_id, address, quiet_from, quiet_to, dead_ms, dead_words, unconfirmed_ms, unasked_ms, kept_ms FROM reach"
    )?;
    Ok(found.into_iter().map(|one| (one.person_id, one)).collect())
}

pub async fn save(tx: &mut Tx, reach: &Reach) -> Result<()> {
    change!(
        tx,
        "INSERT INTO reach (person_id, address, quiet_from, quiet_to, dead_ms, dead_words, unconfirmed_ms, kept_ms, unasked_ms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) \
         ON CONFLICT (person_id) DO UPDATE SET address = excluded.address, quiet_from = excluded.quiet_from, \
         quiet_to = excluded.quiet_to, dead_ms = excluded.dead_ms, dead_words = excluded.dead_words, unconfirmed_ms = excluded.unconfirmed_ms, \
         kept_ms = excluded.kept_ms, unasked_ms = excluded.unasked_ms",
        reach.person_id,
        &reach.address,
        &reach.quiet_from,
        &reach.quiet_to,
        reach.dead_ms,
        &reach.dead_words,
        reach.unconfirmed_ms,
        reach.kept_ms,
        reach.unasked_ms
    )?;
    Ok(())
}

/// Whoever has an address and did not say yet that it is theirs.
pub async fn unconfirmed(conn: &mut Conn) -> Result<BTreeSet<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        "SELECT person_id FROM reach WHERE unconfirmed_ms IS NOT NULL OR unasked_ms IS NOT NULL"
    )?;
    Ok(found.into_iter().map(|(person,)| person).collect())
}

/// A mail that asks whether it is theirs is under way.
pub async fn note_asked(tx: &mut Tx, person_id: Uuid, at: Instant) -> Result<()> {
    let sql = "UPDATE reach SET unconfirmed_ms = $2 WHERE person_id = $1";
    change!(tx, sql, person_id, at)?;
    Ok(())
}

/// It is theirs.
pub async fn confirm(tx: &mut Tx, person_id: Uuid, address: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE reach SET unconfirmed_ms = NULL, unasked_ms = NULL WHERE person_id = $1 AND address = $2",
        person_id,
        address
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

/// A phone as its person sees it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phone {
    pub id: Uuid,
    pub session_id: Uuid,
    pub device: String,
    pub made_ms: Instant,
    pub taken_ms: Option<Instant>,
    pub ended_ms: Option<Instant>,
    pub ended_words: String,
}

/// All that a person's own page of reminders shows of how they are reached.
pub struct Whole {
    pub reach: Reach,
    pub choices: Choices,
    pub phones: Vec<Phone>,
    /// By which a browser asks its push service for an address.
    pub public_key: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    address: Option<String>,
    quiet_from: Option<String>,
    quiet_to: Option<String>,
    dead_ms: Option<Instant>,
    dead_words: Option<String>,
    unconfirmed_ms: Option<Instant>,
    unasked_ms: Option<Instant>,
    kept_ms: Option<Instant>,
    kind: Option<String>,
    by_mail: Option<bool>,
    by_push: Option<bool>,
    in_calendar: Option<bool>,
    phone_id: Option<Uuid>,
    session_id: Option<Uuid>,
    device: Option<String>,
    made_ms: Option<Instant>,
    taken_ms: Option<Instant>,
    ended_ms: Option<Instant>,
    ended_words: Option<String>,
    public_key: Option<String>,
}

impl Row {
    fn reach(&self, person_id: Uuid) -> Reach {
        Reach {
            person_id,
            address: self.address.clone().unwrap_or_default(),
            quiet_from: self.quiet_from.clone(),
            quiet_to: self.quiet_to.clone(),
            dead_ms: self.dead_ms,
            dead_words: self.dead_words.clone().unwrap_or_default(),
            unconfirmed_ms: self.unconfirmed_ms,
            unasked_ms: self.unasked_ms,
            kept_ms: self.kept_ms,
        }
    }

    fn phone(&self) -> Option<Phone> {
        Some(Phone {
            id: self.phone_id?,
            session_id: self.session_id?,
            device: self.device.clone().unwrap_or_default(),
            made_ms: self.made_ms?,
            taken_ms: self.taken_ms,
            ended_ms: self.ended_ms,
            ended_words: self.ended_words.clone().unwrap_or_default(),
        })
    }

    fn chosen(&self, person_id: Uuid) -> Option<Chosen> {
        let kind = self.kind.clone()?;
        let (by_mail, by_push) = (self.by_mail?, self.by_push?);
        Some((person_id, kind, by_mail, by_push, self.in_calendar?))
    }
}

/// In one query: a row for each kind and phone, since both are few.
pub async fn whole(conn: &mut Conn, person_id: Uuid) -> Result<Whole> {
    let found = rows!(
        conn,
        Row,
        "SELECT r.address, r.quiet_from, r.quiet_to, r.dead_ms, r.dead_words, r.unconfirmed_ms, r.unasked_ms, r.kept_ms, c.kind, c.by_mail, c.by_push, c.in_calendar, \
         ph.id AS phone_id, ph.session_id, ph.device, ph.made_ms, ph.taken_ms, ph.ended_ms, ph.ended_words, \
         (SELECT public_key FROM push_key) AS public_key \
         FROM person p LEFT JOIN reach r ON r.person_id = p.id LEFT JOIN reminder_choice c ON c.person_id = p.id \
         LEFT JOIN phone ph ON ph.person_id = p.id WHERE p.id = $1 ORDER BY ph.made_ms, ph.id",
        person_id
    )?;
    let mut phones: Vec<Phone> = found.iter().filter_map(Row::phone).collect();
    phones.dedup_by_key(|phone| phone.id);
    let chosen = found.iter().filter_map(|row| row.chosen(person_id));
    let first = found.first();
    Ok(Whole {
        choices: sorted(chosen.collect())
            .remove(&person_id)
            .unwrap_or_default(),
        reach: first.map_or_else(|| Reach::nowhere(person_id), |row| row.reach(person_id)),
        public_key: first
            .and_then(|row| row.public_key.clone())
            .unwrap_or_default(),
        phones,
    })
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
