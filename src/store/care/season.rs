//! What is on record of all packs over a season: who they are, what happened to each from its last reading before the season on,
//! and the events. What it comes to is `club::care::season`.

use super::{back_from_event, happened};
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::care::story::{LastRead, What};
use crate::club::care::walked::Step;
use crate::club::reading::Rested;
use crate::store::designs::build_of;
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

#[derive(sqlx::FromRow)]
pub struct Pack {
    pub id: Uuid,
    chemistry: String,
    cells_series: i64,
    groups_parallel: i64,
    capacity_mah: i64,
    sees_cells: bool,
    label_full_mv: Option<i64>,
    label_lowest_mv: Option<i64>,
    pub created_ms: Instant,
    /// When it left the pool, as far as its state tells.
    pub left_ms: Option<Instant>,
}

impl Pack {
    pub fn build(&self) -> Build {
        build_of(
            &self.chemistry,
            (self.cells_series, self.groups_parallel),
            self.capacity_mah,
            self.sees_cells,
            LabelVolts {
                full_mv: self.label_full_mv,
                lowest_mv: self.label_lowest_mv,
            },
        )
    }
}

/// Every pack that was of the pool in the season.
pub async fn packs(conn: &mut Conn, from: Instant) -> Result<Vec<Pack>> {
    rows!(
        conn,
        Pack,
        "SELECT k.id, d.chemistry, d.cells_series, d.groups_parallel, d.capacity_mah, d.balance_connector IS NOT NULL AS sees_cells, \
         d.label_full_mv, d.label_lowest_mv, k.created_ms, CASE WHEN k.life = 'in_use' THEN NULL ELSE k.state_ms END AS left_ms \
         FROM pack k JOIN design d ON d.id = k.design_id WHERE k.life = 'in_use' OR k.state_ms > $1",
        from
    )
}

/// One thing on record of a pack.
pub enum Happened {
    Was(Instant, Step),
    /// It was taken there; `back` is None where it comes or came back with a loan or a storage round.
    Event {
        id: Uuid,
        name: String,
        starts: Instant,
        ends: Instant,
        back: Option<Instant>,
    },
}

#[derive(sqlx::FromRow)]
struct Row {
    pack_id: Uuid,
    what: String,
    at_ms: Instant,
    words: String,
    number: i64,
    event_id: Option<Uuid>,
    back_ms: Option<Instant>,
}

impl Row {
    fn read(self) -> Option<(Uuid, Happened)> {
        let happened = match self.what.as_str() {
            "read" => {
                let read = LastRead {
                    at: self.at_ms,
                    volts: Volts::from_text(&self.words)?,
                    rested: Rested::of_minutes(self.number),
                };
                Happened::Was(self.at_ms, Step::Read(read))
            }
            "was" => {
                let dated = happened::since(&self.words).pop()?;
                Happened::Was(dated.at, Step::Was(dated.what))
            }
            _ => Happened::Event {
                id: self.event_id?,
                name: self.words,
                starts: self.at_ms,
                ends: Instant(self.number),
                back: self.back_ms,
            },
        };
        Some((self.pack_id, happened))
    }
}

impl Happened {
    /// What it was to the pack until now.
    pub fn steps(&self, now: Instant) -> Vec<(Instant, Step)> {
        match self {
            Self::Was(at, step) => vec![(*at, step.clone())],
            Self::Event { starts, back, .. } => {
                let there = (*starts, Step::Was(What::TakenToEvent));
                let back = back.map(|at| (at, Step::Was(What::BackFromEvent)));
                let both = std::iter::once(there).chain(back);
                both.filter(|(at, _)| *at <= now).collect()
            }
        }
    }
}

/// In no order; readings that were corrected are left out.
pub async fn happened(conn: &mut Conn, from: Instant) -> Result<Vec<(Uuid, Happened)>> {
    let found = rows!(
        conn,
        Row,
        concat!(
            "WITH begun AS (SELECT k.id AS pack_id, COALESCE((SELECT MAX(b.taken_ms) FROM reading b WHERE b.pack_id = k.id \
         AND b.taken_ms < $1 AND b.volts IS NOT NULL AND NOT EXISTS (SELECT 1 FROM reading bc WHERE bc.pack_id = b.pack_id \
         AND bc.corrects_id = b.id)), 0) AS from_ms FROM pack k WHERE k.life = 'in_use' OR k.state_ms > $1) \
         SELECT r.pack_id, 'read' AS what, r.taken_ms AS at_ms, r.volts AS words, r.rested_minutes AS number, CAST(NULL AS UUID) AS event_id, CAST(NULL AS BIGINT) AS back_ms \
         FROM begun be JOIN reading r ON r.pack_id = be.pack_id AND r.taken_ms >= be.from_ms WHERE r.volts IS NOT NULL \
         AND NOT EXISTS (SELECT 1 FROM reading rc WHERE rc.pack_id = r.pack_id AND rc.corrects_id = r.id) \
         UNION ALL SELECT c.pack_id, 'was', c.ended_ms, CAST(c.ended_ms AS TEXT) || ':charge:' || c.purpose || ':' || c.outcome || ':' \
         || CASE WHEN c.drawn_mw > 0 THEN 'in' ELSE 'out' END || ':' || COALESCE(CAST(c.moved_mah AS TEXT), ''), 0, NULL, NULL \
         FROM begun be JOIN charge c ON c.pack_id = be.pack_id AND c.ended_ms >= be.from_ms \
         UNION ALL SELECT l.pack_id, 'was', l.opened_ms, CAST(l.opened_ms AS TEXT) || ':lent', 0, NULL, NULL \
         FROM begun be JOIN lent l ON l.pack_id = be.pack_id AND l.opened_ms >= be.from_ms \
         UNION ALL SELECT l.pack_id, 'was', l.closed_ms, CAST(l.closed_ms AS TEXT) || ':back', 0, NULL, NULL \
         FROM begun be JOIN lent l ON l.pack_id = be.pack_id AND l.closed_ms >= be.from_ms AND l.outcome IN ('back', 'unchecked', 'forgotten') \
         UNION ALL SELECT o.pack_id, 'was', o.added_ms, CAST(o.added_ms AS TEXT) || ':round', 0, NULL, NULL \
         FROM begun be JOIN round_pack o ON o.pack_id = be.pack_id AND o.added_ms >= be.from_ms \
         UNION ALL SELECT ep.pack_id, 'event', e.starts_ms, e.name, e.ends_ms, e.id, ",
            back_from_event!(),
            " FROM begun be JOIN event_pack ep ON ep.pack_id = be.pack_id JOIN event e ON e.id = ep.event_id AND e.ends_ms >= be.from_ms"
        ),
        from
    )?;
    Ok(found.into_iter().filter_map(Row::read).collect())
}
