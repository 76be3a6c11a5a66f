//! All that is on record of a pack and storage care counts: its readings that nobody corrected, ended charges, loans.

use super::{back_from_event, happened};
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::care::story::{LastRead, What};
use crate::club::care::walked::Step;
use crate::club::reading::Rested;
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Read {
    taken_ms: Instant,
    volts: String,
    rested_minutes: i64,
}

/// In no order.
pub async fn whole(conn: &mut Conn, pack_id: Uuid, now: Instant) -> Result<Vec<(Instant, Step)>> {
    let mut steps = readings(conn, pack_id).await?;
    steps.extend(others(conn, pack_id).await?);
    steps.extend(events(conn, pack_id, now).await?);
    Ok(steps)
}

async fn readings(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<(Instant, Step)>> {
    let found = rows!(
        conn,
        Read,
        "SELECT r.taken_ms, r.volts, r.rested_minutes FROM reading r WHERE r.pack_id = $1 AND r.volts IS NOT NULL \
         AND NOT EXISTS (SELECT 1 FROM reading c WHERE c.pack_id = r.pack_id AND c.corrects_id = r.id)",
        pack_id
    )?;
    let step = |read: Read| {
        let last = LastRead {
            at: read.taken_ms,
            volts: Volts::from_text(&read.volts)?,
            rested: Rested::of_minutes(read.rested_minutes),
        };
        Some((read.taken_ms, Step::Read(last)))
    };
    Ok(found.into_iter().filter_map(step).collect())
}

async fn others(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<(Instant, Step)>> {
    let found = rows!(
        conn,
        (String,),
        "SELECT CAST(c.ended_ms AS TEXT) || ':charge:' || c.purpose || ':' || c.outcome || ':' \
         || CASE WHEN c.drawn_mw > 0 THEN 'in' ELSE 'out' END || ':' || COALESCE(CAST(c.moved_mah AS TEXT), '') \
         FROM charge c WHERE c.pack_id = $1 AND c.ended_ms IS NOT NULL \
         UNION ALL SELECT CAST(l.opened_ms AS TEXT) || ':lent' FROM lent l WHERE l.pack_id = $1 \
         UNION ALL SELECT CAST(b.closed_ms AS TEXT) || ':back' FROM lent b WHERE b.pack_id = $1 \
         AND b.outcome IN ('back', 'unchecked', 'forgotten') \
         UNION ALL SELECT CAST(r.added_ms AS TEXT) || ':round' FROM round_pack r WHERE r.pack_id = $1",
        pack_id
    )?;
    let each = found.iter().flat_map(|(text,)| happened::since(text));
    Ok(each
        .map(|dated| (dated.at, Step::Was(dated.what)))
        .collect())
}

async fn events(conn: &mut Conn, pack_id: Uuid, now: Instant) -> Result<Vec<(Instant, Step)>> {
    let found = rows!(
        conn,
        (Instant, Option<Instant>),
        concat!(
            "SELECT e.starts_ms, ",
            back_from_event!(),
            " FROM event_pack ep JOIN event e ON e.id = ep.event_id WHERE ep.pack_id = $1"
        ),
        pack_id
    )?;
    let both = found.into_iter().flat_map(|(starts, back)| {
        let back = back.map(|at| (at, What::BackFromEvent));
        std::iter::once((starts, What::TakenToEvent)).chain(back)
    });
    let begun = both.filter(|(at, _)| *at <= now);
    Ok(begun.map(|(at, what)| (at, Step::Was(what))).collect())
}
