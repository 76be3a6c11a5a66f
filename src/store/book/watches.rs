//! Watches over packs in quarantine, and the looks that were made in each. One per pack at a time; when it is over and whether
//! a look is due is `club::book::watch`'s to say: what it said last is kept, so that lists need not ask.

use crate::club::book::watch::{Look, Sign};
use crate::club::calendar::Instant;
use crate::store::charges::now::{NowRow, now_columns, now_joins};
use crate::store::packs::{PackView, pack_query};
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
}

/// A watch that goes on, with all that is told of it.
pub struct Watching {
    pub watch: Watch,
    /// Where the pack was said to be, by a report since it began.
    pub reported_place: Option<String>,
    /// Oldest first.
    pub looks: Vec<MadeLook>,
}

macro_rules! reported_place {
    () => {
        "(SELECT r.place_words FROM report r WHERE r.pack_id = w.pack_id AND r.came_ms >= w.began_ms AND r.place_words <> '' \
         ORDER BY r.came_ms DESC, r.id DESC LIMIT 1) AS reported_place"
    };
}

/// When the watch over the pack `k` began, or danger was last seen in it.
macro_rules! watched_since {
    () => {
        "(SELECT MAX(ws.at_ms) FROM (SELECT wb.began_ms AS at_ms FROM watch wb WHERE wb.pack_id = k.id AND wb.ended_ms IS NULL \
         UNION ALL SELECT wl.at_ms FROM watch_look wl JOIN watch wc ON wc.id = wl.watch_id \
         WHERE wc.pack_id = k.id AND wc.ended_ms IS NULL AND wl.signs NOT IN ('', 'could_not_see')) ws) AS watched_since_ms, \
         EXISTS (SELECT 1 FROM watch wo WHERE wo.pack_id = k.id AND wo.ended_ms IS NULL AND wo.next_ms IS NOT NULL) AS is_watch_on"
    };
}
pub(in crate::store) use watched_since;

/// The watch over a pack that goes on.
pub async fn over(conn: &mut Conn, pack_id: Uuid) -> Result<Option<Watch>> {
    row!(
        conn,
        Watch,
        "SELECT id, pack_id, began_ms, next_ms FROM watch WHERE pack_id = $1 AND ended_ms IS NULL",
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

/// A look, and who made it; None: erased since.
#[derive(Clone, Debug)]
pub struct MadeLook {
    pub look: Look,
    pub by_name: Option<String>,
}

fn look_of(at: Instant, signs: &str) -> Look {
    Look {
        at,
        signs: signs.split(' ').filter_map(Sign::from_code).collect(),
    }
}

#[derive(Clone, Debug, sqlx::FromRow)]
struct WithLook {
    #[sqlx(flatten)]
    watch: Watch,
    reported_place: Option<String>,
    at_ms: Option<Instant>,
    signs: Option<String>,
    by_name: Option<String>,
}

impl WithLook {
    fn made(&self) -> Option<MadeLook> {
        Some(MadeLook {
            look: look_of(self.at_ms?, self.signs.as_deref()?),
            by_name: self.by_name.clone(),
        })
    }
}

/// The watch over a pack that goes on, with its looks.
pub async fn with_looks(conn: &mut Conn, pack_id: Uuid) -> Result<Option<Watching>> {
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
    let looks = found.iter().filter_map(WithLook::made).collect();
    Ok(found.into_iter().next().map(|first| Watching {
        watch: first.watch,
        reported_place: first.reported_place,
        looks,
    }))
}

/// In each watch that goes on, oldest first.
pub async fn looks_of_all(conn: &mut Conn) -> Result<BTreeMap<Uuid, Vec<Look>>> {
    let found = rows!(
        conn,
        (Uuid, Instant, String),
        "SELECT l.watch_id, l.at_ms, l.signs FROM watch_look l JOIN watch w ON w.id = l.watch_id WHERE w.ended_ms IS NULL \
         ORDER BY l.at_ms, l.id"
    )?;
    let mut all: BTreeMap<Uuid, Vec<Look>> = BTreeMap::new();
    for (watch, at, signs) in found {
        all.entry(watch).or_default().push(look_of(at, &signs));
    }
    Ok(all)
}

/// A pack that is watched, as the list of all of them tells it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Watched {
    #[sqlx(flatten)]
    pub pack: PackView,
    pub watch_id: Uuid,
    pub began_ms: Instant,
    pub reported_place: Option<String>,
    #[sqlx(flatten)]
    pub now: NowRow,
}

/// Those whose watch is not over first, and of them the newest.
pub async fn all(conn: &mut Conn) -> Result<Vec<Watched>> {
    rows!(
        conn,
        Watched,
        pack_query!(
            concat!(
                ", w.id AS watch_id, w.began_ms, ",
                reported_place!(),
                now_columns!()
            ),
            concat!(
                "JOIN watch w ON w.pack_id = k.id AND w.ended_ms IS NULL ",
                now_joins!()
            ),
            "ORDER BY CASE WHEN w.next_ms IS NULL THEN 1 ELSE 0 END, w.began_ms DESC, k.number_key LIMIT 300"
        )
    )
}
