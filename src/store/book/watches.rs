//! Watches over packs in quarantine, and the looks that were made in each. One per pack at a time; when it is over and whether
//! a look is due is `club::book::watch`'s to say: what it said last is kept, so that lists need not ask.

use crate::club::book::watch::{Look, Sign};
use crate::club::calendar::Instant;
use crate::store::{Conn, Result, Tx, change, row, rows};
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Watch {
    pub id: Uuid,
    pub pack_id: Uuid,
    /// It began, or began anew by what was reported, then.
    pub began_ms: Instant,
    /// The next look; None: the watch is over.
    pub next_ms: Option<Instant>,
    /// Where it was said to be, by a report since then.
    pub reported_place: Option<String>,
}

macro_rules! reported_place {
    () => {
        "(SELECT r.place_words FROM report r WHERE r.pack_id = w.pack_id AND r.came_ms >= w.began_ms AND r.place_words <> '' \
         ORDER BY r.came_ms DESC, r.id DESC LIMIT 1) AS reported_place"
    };
}

/// The watch over a pack that goes on.
pub async fn over(conn: &mut Conn, pack_id: Uuid) -> Result<Option<Watch>> {
    row!(
        conn,
        Watch,
        concat!(
            "SELECT w.id, w.pack_id, w.began_ms, w.next_ms, ",
            reported_place!(),
            " FROM watch w WHERE w.pack_id = $1 AND w.ended_ms IS NULL"
        ),
        pack_id
    )
}

/// The packs whose watch goes on.
pub async fn pack_ids(conn: &mut Conn) -> Result<Vec<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        "SELECT pack_id FROM watch WHERE ended_ms IS NULL"
    )?;
    Ok(found.into_iter().map(|(id,)| id).collect())
}

pub async fn begin(tx: &mut Tx, watch: &Watch, by: Option<Uuid>) -> Result<()> {
    change!(
        tx,
        "INSERT INTO watch (id, pack_id, began_ms, began_by, next_ms) VALUES ($1, $2, $3, $4, $5)",
        watch.id,
        watch.pack_id,
        watch.began_ms,
        by,
        watch.next_ms
    )?;
    Ok(())
}

/// Danger was reported anew: what was seen quiet before counts no longer. Nothing where no watch goes on.
pub async fn begin_anew(tx: &mut Tx, pack_id: Uuid, at: Instant, next: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE watch SET began_ms = $2, next_ms = $3 WHERE pack_id = $1 AND ended_ms IS NULL AND began_ms < $2",
        pack_id,
        at,
        next
    )?;
    Ok(())
}

pub async fn note_next(tx: &mut Tx, id: Uuid, next: Option<Instant>) -> Result<()> {
    change!(tx, "UPDATE watch SET next_ms = $2 WHERE id = $1", id, next)?;
    Ok(())
}

pub async fn end(tx: &mut Tx, pack_id: Uuid, by: (Option<Uuid>, Instant), how: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE watch SET ended_ms = $2, ended_by = $3, how = $4 WHERE pack_id = $1 AND ended_ms IS NULL",
        pack_id,
        by.1,
        by.0,
        how
    )?;
    Ok(())
}

pub async fn add_look(tx: &mut Tx, watch_id: Uuid, look: &Look, by: Uuid) -> Result<()> {
    let signs: Vec<&str> = look.signs.iter().map(|sign| sign.code()).collect();
    change!(
        tx,
        "INSERT INTO watch_look (id, watch_id, at_ms, by_id, signs) VALUES ($1, $2, $3, $4, $5)",
        crate::ids::new_id(),
        watch_id,
        look.at,
        by,
        signs.join(" ")
    )?;
    Ok(())
}

#[derive(Clone, Debug, sqlx::FromRow)]
struct LookRow {
    watch_id: Uuid,
    at_ms: Instant,
    signs: String,
    by_name: Option<String>,
}

/// A look, and who made it; None: erased since.
#[derive(Clone, Debug)]
pub struct MadeLook {
    pub look: Look,
    pub by_name: Option<String>,
}

#[derive(Clone, Debug, sqlx::FromRow)]
struct WithLook {
    id: Uuid,
    pack_id: Uuid,
    began_ms: Instant,
    next_ms: Option<Instant>,
    reported_place: Option<String>,
    at_ms: Option<Instant>,
    signs: Option<String>,
    by_name: Option<String>,
}

/// The watch over a pack that goes on, with its looks, oldest first.
pub async fn with_looks(conn: &mut Conn, pack_id: Uuid) -> Result<Option<(Watch, Vec<MadeLook>)>> {
    let found = rows!(
        conn,
        WithLook,
        concat!(
            "SELECT w.id, w.pack_id, w.began_ms, w.next_ms, ",
            reported_place!(),
            ", l.at_ms, l.signs, p.name AS by_name FROM watch w LEFT JOIN watch_look l ON l.watch_id = w.id \
             LEFT JOIN person p ON p.id = l.by_id WHERE w.pack_id = $1 AND w.ended_ms IS NULL ORDER BY l.at_ms, l.id"
        ),
        pack_id
    )?;
    let Some(first) = found.first() else {
        return Ok(None);
    };
    let watch = Watch {
        id: first.id,
        pack_id: first.pack_id,
        began_ms: first.began_ms,
        next_ms: first.next_ms,
        reported_place: first.reported_place.clone(),
    };
    let looks = found.into_iter().filter_map(|row| {
        let look = LookRow {
            watch_id: row.id,
            at_ms: row.at_ms?,
            signs: row.signs?,
            by_name: row.by_name,
        };
        Some(look.made())
    });
    Ok(Some((watch, looks.collect())))
}

impl LookRow {
    fn made(self) -> MadeLook {
        let signs = self.signs.split(' ').filter_map(Sign::from_code);
        MadeLook {
            look: Look {
                at: self.at_ms,
                signs: signs.collect(),
            },
            by_name: self.by_name,
        }
    }
}

/// In each watch that goes on, oldest first.
pub async fn looks_of_all(conn: &mut Conn) -> Result<BTreeMap<Uuid, Vec<Look>>> {
    let found = rows!(
        conn,
        LookRow,
        "SELECT l.watch_id, l.at_ms, l.signs, CAST(NULL AS TEXT) AS by_name FROM watch_look l JOIN watch w ON w.id = l.watch_id \
         WHERE w.ended_ms IS NULL ORDER BY l.at_ms, l.id"
    )?;
    let mut all: BTreeMap<Uuid, Vec<Look>> = BTreeMap::new();
    for row in found {
        all.entry(row.watch_id).or_default().push(row.made().look);
    }
    Ok(all)
}

/// A pack that is watched, as the list of all of them tells it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Watched {
    pub id: Uuid,
    pub number: String,
    pub life: String,
    pub state_words: String,
    pub place_name: Option<String>,
    /// Who has it out.
    pub holder_name: Option<String>,
    pub reported_place: Option<String>,
    pub began_ms: Instant,
}

/// The next look first; those whose watch is over last.
pub async fn all(conn: &mut Conn) -> Result<Vec<Watched>> {
    rows!(
        conn,
        Watched,
        concat!(
            "SELECT w.id, k.number, k.life, k.state_words, pl.name AS place_name, h.name AS holder_name, w.began_ms, ",
            reported_place!(),
            " FROM watch w JOIN pack k ON k.id = w.pack_id LEFT JOIN place pl ON pl.id = k.place_id \
             LEFT JOIN lent le ON le.pack_id = k.id AND le.closed_ms IS NULL LEFT JOIN loan lo ON lo.id = le.loan_id \
             LEFT JOIN person h ON h.id = lo.borrower_id WHERE w.ended_ms IS NULL \
             ORDER BY CASE WHEN w.next_ms IS NULL THEN 1 ELSE 0 END, w.next_ms, k.number_key LIMIT 300"
        )
    )
}
