//! Packs whose volts are to be read, many at once: those that lie at a place, the longest unread first.

use crate::store::packs::{PackView, pack_query};
use crate::store::{Conn, Result, rows, rows_among};
use uuid::Uuid;

/// On one page.
pub const MOST: usize = 20;

/// A pack, and what a reading of it has to say besides volts.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct ToRead {
    #[sqlx(flatten)]
    pub pack: PackView,
    /// It came back and nobody at the table looked at it.
    pub is_unchecked: bool,
    /// What it was read with the last time that this was said.
    pub meter: Option<String>,
}

macro_rules! to_read {
    ($rest:expr) => {
        pack_query!(
            ", EXISTS (SELECT 1 FROM finding f WHERE f.pack_id = k.id AND f.closed_ms IS NULL AND f.rule = 'came_back_unchecked') \
             AS is_unchecked, (SELECT r.meter FROM reading r WHERE r.pack_id = k.id \
             AND r.meter IS NOT NULL ORDER BY r.taken_ms DESC, r.id DESC LIMIT 1) AS meter",
            "",
            $rest
        )
    };
}

/// Here, on no charger, and nothing is against connecting it to a meter: not in quarantine, nothing to mend but its volts. One more than
/// `MOST` when there are more.
macro_rules! lying_here {
    ($where:literal) => {
        to_read!(concat!(
            "WHERE k.life = 'in_use' AND ",
            $where,
            " AND le.id IS NULL AND ca.home_id IS NULL AND NOT EXISTS (SELECT 1 FROM charge rc WHERE rc.pack_id = k.id AND rc.ended_ms IS NULL) \
             AND k.state <> 'quarantine' AND NOT EXISTS (SELECT 1 FROM finding f WHERE f.pack_id = k.id \
             AND f.closed_ms IS NULL AND f.gravity = 'to_mend' AND f.rule NOT IN ('spread_wide', 'implausible')) \
             ORDER BY COALESCE(k.last_read_ms, 0), k.number_key, k.number LIMIT 21"
        ))
    };
}

/// At this place, or wherever they lie.
pub async fn longest_unread(conn: &mut Conn, place_id: Option<Uuid>) -> Result<Vec<ToRead>> {
    match place_id {
        Some(id) => rows!(conn, ToRead, lying_here!("k.place_id = $1"), id),
        None => rows!(conn, ToRead, lying_here!("1 = 1")),
    }
}

/// The packs of these numbers, by number.
pub async fn with_numbers(conn: &mut Conn, numbers: &[String]) -> Result<Vec<ToRead>> {
    if numbers.is_empty() {
        return Ok(Vec::new());
    }
    let numbers: Vec<&str> = numbers.iter().map(String::as_str).collect();
    rows_among!(
        conn,
        ToRead,
        to_read!("WHERE k.number IN ("),
        numbers,
        ") ORDER BY k.number_key, k.number"
    )
}
