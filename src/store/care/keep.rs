//! What is kept of a pack in storage care, stored. Decides nothing.

use crate::battery::range::Range;
use crate::club::care::walked::Walked;
use crate::store::{Conn, Result, Tx, change, rows};
use uuid::Uuid;

/// What a pack's readings tell that it loses, percent a month.
#[derive(Clone, Copy, Debug)]
pub enum Loses {
    /// What was told stays.
    AsBefore,
    /// This and nothing else, where none of them tells it too.
    Just(Option<Range>),
}

impl Loses {
    /// A reading that tells none takes nothing back.
    pub fn of_newest(told: Option<Range>) -> Self {
        told.map_or(Self::AsBefore, |told| Self::Just(Some(told)))
    }

    const fn told(self) -> Option<Range> {
        match self {
            Self::AsBefore => None,
            Self::Just(told) => told,
        }
    }
}

pub async fn keep(tx: &mut Tx, pack_id: Uuid, walked: &Walked, loses: Loses) -> Result<()> {
    change!(
        tx,
        "INSERT INTO care (pack_id, above_ms, back_ms, is_due_when_read, first_check_ms, lain, warmth, loses) VALUES ($1, $2, $3, $4, $5, $6, $7, $8) \
         ON CONFLICT (pack_id) DO UPDATE SET above_ms = excluded.above_ms, back_ms = excluded.back_ms, \
         is_due_when_read = excluded.is_due_when_read, \
         first_check_ms = excluded.first_check_ms, lain = excluded.lain, warmth = excluded.warmth, \
         loses = CASE WHEN $9 THEN care.loses ELSE excluded.loses END",
        pack_id,
        walked.kept.above_since,
        walked.kept.back_since,
        walked.kept.is_due_when_read,
        walked.first_check,
        serde_json::to_string(&walked.lain).unwrap_or_else(|_| "[]".to_owned()),
        serde_json::to_string(walked.warmth.kept()).ok(),
        loses.told().map(text_of),
        matches!(loses, Loses::AsBefore)
    )?;
    Ok(())
}

/// Packs that were read and of which nothing is kept yet; at most `at_most`.
pub async fn not_kept(conn: &mut Conn, at_most: i64) -> Result<Vec<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        "SELECT k.id FROM pack k WHERE k.last_read_ms IS NOT NULL \
         AND NOT EXISTS (SELECT 1 FROM care ca WHERE ca.pack_id = k.id) LIMIT $1",
        at_most
    )?;
    Ok(found.into_iter().map(|(id,)| id).collect())
}

/// `0.500 1.200 3.400`: least, likely, most.
fn text_of(range: Range) -> String {
    format!("{:.3} {:.3} {:.3}", range.least, range.likely, range.most)
}
