//! What is to be done after incidents, as its entries say it stands. Kept beside the book, so that what is due is found by its day; the
//! book alone says what was told.

use crate::club::book::story::ActionStands;
use crate::club::calendar::Day;
use crate::store::{Conn, Result, Tx, change, rows};
use uuid::Uuid;

/// As it stands now. `owner_seq`: of the entry that says who sees to it.
pub async fn keep(
    tx: &mut Tx,
    (seq, incident): (i64, &str),
    (stands, by): (ActionStands, Day),
    owner_seq: i64,
) -> Result<()> {
    change!(
        tx,
        "INSERT INTO book_action (seq, incident, stands, by_on, owner_seq) VALUES ($1, $2, $3, $4, $5) \
         ON CONFLICT (seq) DO UPDATE SET stands = excluded.stands, by_on = excluded.by_on, owner_seq = excluded.owner_seq",
        seq,
        incident,
        stands.code(),
        by.to_string(),
        owner_seq
    )?;
    Ok(())
}

/// What somebody is to do: who is named where an action says who sees to it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Own {
    pub seq: i64,
    pub incident: String,
}

/// Whose an action `a` is, by a link `o`: who alone is named in the words that say who sees to it; who is named in passing is not.
macro_rules! is_owner {
    () => {
        "o.seq = a.owner_seq AND o.name = CASE WHEN a.owner_seq = a.seq THEN 'owner' ELSE 'instead' END \
         AND NOT EXISTS (SELECT 1 FROM book_part_person x WHERE x.seq = o.seq AND x.name = o.name AND x.person_id <> o.person_id)"
    };
}
pub(in crate::store) use is_owner;

/// Actions `a` that are to be done by a person.
macro_rules! from_own {
    ($person:literal) => {
        concat!(
            "FROM book_part_person o JOIN book_action a ON a.stands = 'to_do' AND ",
            $crate::store::book::actions::is_owner!(),
            " WHERE o.person_id = ",
            $person
        )
    };
}
pub(in crate::store) use from_own;

/// The soonest first.
pub async fn own(conn: &mut Conn, person_id: Uuid) -> Result<Vec<Own>> {
    rows!(
        conn,
        Own,
        concat!(
            "SELECT a.seq, a.incident ",
            from_own!("$1"),
            " ORDER BY a.by_on, a.seq"
        ),
        person_id
    )
}

/// What is to be done, or looked at once it was done.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Waits {
    pub seq: i64,
    pub incident: String,
    pub stands: String,
    pub by_on: String,
    pub owner_id: Option<Uuid>,
}

pub async fn that_wait(conn: &mut Conn) -> Result<Vec<Waits>> {
    rows!(
        conn,
        Waits,
        concat!(
            "SELECT a.seq, a.incident, a.stands, a.by_on, o.person_id AS owner_id \
             FROM book_action a LEFT JOIN book_part_person o ON ",
            is_owner!(),
            " WHERE a.stands IN ('to_do', 'to_look_at') ORDER BY a.seq"
        )
    )
}
