//! People: those who sign in and those who don't.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::people::Roles;
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Person {
    pub id: Uuid,
    /// None once erased.
    pub name: Option<String>,
    pub sign_in: Option<String>,
    pub password_hash: Option<String>,
    pub table_code_hash: Option<String>,
    pub is_member: bool,
    pub is_quartermaster: bool,
    pub is_organiser: bool,
    pub responsible_id: Option<Uuid>,
    pub created_ms: Instant,
    pub deactivated_ms: Option<Instant>,
    pub erased_ms: Option<Instant>,
}

impl Person {
    pub const fn roles(&self) -> Roles {
        Roles {
            is_member: self.is_member,
            is_quartermaster: self.is_quartermaster,
            is_organiser: self.is_organiser,
        }
    }

    pub const fn is_active(&self) -> bool {
        self.deactivated_ms.is_none() && self.erased_ms.is_none()
    }

    pub fn called(&self) -> &str {
        self.name.as_deref().unwrap_or("(erased)")
    }
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Person>> {
    row!(
        conn,
        Person,
        "SELECT id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, responsible_id, \
         created_ms, deactivated_ms, erased_ms FROM person WHERE id = $1",
        id
    )
}

/// `sign_in` in small letters.
pub async fn by_sign_in(conn: &mut Conn, sign_in: &str) -> Result<Option<Person>> {
    row!(
        conn,
        Person,
        "SELECT id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, responsible_id, \
         created_ms, deactivated_ms, erased_ms FROM person WHERE sign_in = $1",
        sign_in
    )
}

/// Everybody who is not erased, by name.
pub async fn all(conn: &mut Conn) -> Result<Vec<Person>> {
    rows!(
        conn,
        Person,
        "SELECT id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, responsible_id, \
         created_ms, deactivated_ms, erased_ms FROM person WHERE erased_ms IS NULL ORDER BY LOWER(name), id"
    )
}

pub async fn add(tx: &mut Tx, person: &Person) -> Result<()> {
    change!(
        tx,
        "INSERT INTO person (id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, \
         responsible_id, created_ms, deactivated_ms, erased_ms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        person.id,
        &person.name,
        &person.sign_in,
        &person.password_hash,
        &person.table_code_hash,
        person.is_member,
        person.is_quartermaster,
        person.is_organiser,
        person.responsible_id,
        person.created_ms,
        person.deactivated_ms,
        person.erased_ms
    )?;
    Ok(())
}

pub async fn save(tx: &mut Tx, person: &Person) -> Result<()> {
    change!(
        tx,
        "UPDATE person SET name = $2, sign_in = $3, password_hash = $4, table_code_hash = $5, is_member = $6, \
         is_quartermaster = $7, is_organiser = $8, responsible_id = $9, deactivated_ms = $10, erased_ms = $11 WHERE id = $1",
        person.id,
        &person.name,
        &person.sign_in,
        &person.password_hash,
        &person.table_code_hash,
        person.is_member,
        person.is_quartermaster,
        person.is_organiser,
        person.responsible_id,
        person.deactivated_ms,
        person.erased_ms
    )?;
    Ok(())
}

/// How many people who can still sign in are quartermasters.
pub async fn quartermaster_count(conn: &mut Conn) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM person WHERE is_quartermaster = TRUE AND deactivated_ms IS NULL AND erased_ms IS NULL"
    )?;
    Ok(found.map_or(0, |(count,)| count))
}
