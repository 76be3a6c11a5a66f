//! Places, and what lies in them now: packs that are neither out on a loan nor at somebody's home, their energy, and kit.
//! Whether that is too much is the club's rule. Energy in mWh.

use super::{Conn, Result, StoreError, Tx, change, row, rows};
use crate::battery::chemistry::Chemistry;
use crate::battery::pack::energy_mwh;
use crate::club::calendar::{Day, Instant};
use crate::club::places::{PlaceKind, PlaceSheet};
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Place {
    pub id: Uuid,
    pub name: String,
    pub kind: String,
    pub room: String,
    pub energy_limit_mwh: Option<i64>,
    pub warmth_celsius: Option<i64>,
    /// Days.
    pub extinguisher_check_due: Option<String>,
    pub detector_check_due: Option<String>,
    pub notes: String,
    pub created_ms: Instant,
    pub closed_ms: Option<Instant>,
}

impl Place {
    pub fn new(id: Uuid, sheet: PlaceSheet, at: Instant) -> Self {
        let text = |day: Option<Day>| day.map(|day| day.to_string());
        Self {
            id,
            name: sheet.name,
            kind: sheet.kind.code().to_owned(),
            room: sheet.room,
            energy_limit_mwh: sheet.energy_limit_mwh,
            warmth_celsius: sheet.warmth_celsius,
            extinguisher_check_due: text(sheet.extinguisher_check_due),
            detector_check_due: text(sheet.detector_check_due),
            notes: sheet.notes,
            created_ms: at,
            closed_ms: None,
        }
    }

    /// None for a kind this program does not know.
    pub fn kind(&self) -> Option<PlaceKind> {
        PlaceKind::from_code(&self.kind)
    }

    pub fn is_quarantine(&self) -> bool {
        self.kind() == Some(PlaceKind::Quarantine)
    }
}

/// A place with what belongs there. `packs_out` have their place here and are on a loan; `energy_mwh` lies here now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Holding {
    pub place: Place,
    pub packs_here: i64,
    pub packs_out: i64,
    pub kit: i64,
    pub energy_mwh: i64,
}

/// The places of today, by name.
pub async fn all_open(conn: &mut Conn) -> Result<Vec<Place>> {
    rows!(
        conn,
        Place,
        "SELECT id, name, kind, room, energy_limit_mwh, warmth_celsius, extinguisher_check_due, detector_check_due, notes, created_ms, closed_ms FROM place \
         WHERE closed_ms IS NULL ORDER BY LOWER(name), id"
    )
}

/// Whether another open place is called like that, whatever the capitals.
pub async fn is_called(conn: &mut Conn, name: &str, other_than: Uuid) -> Result<bool> {
    let name = name.to_lowercase();
    let is_it = |place: &Place| place.id != other_than && place.name.to_lowercase() == name;
    Ok(all_open(conn).await?.iter().any(is_it))
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Place>> {
    row!(
        conn,
        Place,
        "SELECT id, name, kind, room, energy_limit_mwh, warmth_celsius, extinguisher_check_due, detector_check_due, notes, created_ms, closed_ms FROM place WHERE id = $1",
        id
    )
}

/// Open places of a kind, the oldest first.
pub async fn by_kind(conn: &mut Conn, kind: PlaceKind) -> Result<Vec<Place>> {
    rows!(
        conn,
        Place,
        "SELECT id, name, kind, room, energy_limit_mwh, warmth_celsius, extinguisher_check_due, detector_check_due, notes, created_ms, closed_ms FROM place \
         WHERE closed_ms IS NULL AND kind = $1 ORDER BY created_ms, id",
        kind.code()
    )
}

pub async fn add(tx: &mut Tx, place: &Place) -> Result<()> {
    change!(
        tx,
        "INSERT INTO place (id, name, kind, room, energy_limit_mwh, notes, created_ms, closed_ms, warmth_celsius, extinguisher_check_due, \
         detector_check_due) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        place.id,
        &place.name,
        &place.kind,
        &place.room,
        place.energy_limit_mwh,
        &place.notes,
        place.created_ms,
        place.closed_ms,
        place.warmth_celsius,
        &place.extinguisher_check_due,
        &place.detector_check_due
    )?;
    Ok(())
}

/// Everything but when it was added.
pub async fn save(tx: &mut Tx, place: &Place) -> Result<()> {
    change!(
        tx,
        "UPDATE place SET name = $2, kind = $3, room = $4, energy_limit_mwh = $5, notes = $6, closed_ms = $7, warmth_celsius = $8, \
         extinguisher_check_due = $9, detector_check_due = $10 WHERE id = $1",
        place.id,
        &place.name,
        &place.kind,
        &place.room,
        place.energy_limit_mwh,
        &place.notes,
        place.closed_ms,
        place.warmth_celsius,
        &place.extinguisher_check_due,
        &place.detector_check_due
    )?;
    Ok(())
}

/// Open places (or the closed ones) by name, each with what belongs there.
pub async fn holdings(conn: &mut Conn, are_closed: bool) -> Result<Vec<Holding>> {
    let parts = rows!(
        conn,
        Part,
        "SELECT pl.id, pl.name, pl.kind, pl.room, pl.energy_limit_mwh, pl.warmth_celsius, pl.extinguisher_check_due, pl.detector_check_due, pl.notes, pl.created_ms, pl.closed_ms, d.chemistry, \
         COUNT(p.id) AS packs, SUM(CASE WHEN l.id IS NULL AND ca.home_id IS NULL THEN 0 WHEN p.id IS NULL THEN 0 ELSE 1 END) AS packs_out, \
         CAST(COALESCE(SUM(CASE WHEN l.id IS NULL AND ca.home_id IS NULL THEN d.cells_series * d.capacity_mah ELSE 0 END), 0) AS BIGINT) AS cells_mah, \
         (SELECT COUNT(*) FROM kit k WHERE k.place_id = pl.id AND k.life IN ('in_use', 'retired')) AS kit \
         FROM place pl LEFT JOIN pack p ON p.place_id = pl.id AND p.life IN ('in_use', 'retired') \
         LEFT JOIN design d ON d.id = p.design_id LEFT JOIN lent l ON l.pack_id = p.id AND l.closed_ms IS NULL \
         LEFT JOIN care ca ON ca.pack_id = p.id \
         WHERE (CASE WHEN pl.closed_ms IS NULL THEN 0 ELSE 1 END) = $1 GROUP BY pl.id, d.chemistry ORDER BY LOWER(pl.name), pl.id",
        i32::from(are_closed)
    )?;
    joined(parts)
}

/// One place, open or closed, with what belongs there.
pub async fn holding(conn: &mut Conn, id: Uuid) -> Result<Option<Holding>> {
    let parts = rows!(
        conn,
        Part,
        "SELECT pl.id, pl.name, pl.kind, pl.room, pl.energy_limit_mwh, pl.warmth_celsius, pl.extinguisher_check_due, pl.detector_check_due, pl.notes, pl.created_ms, pl.closed_ms, d.chemistry, \
         COUNT(p.id) AS packs, SUM(CASE WHEN l.id IS NULL AND ca.home_id IS NULL THEN 0 WHEN p.id IS NULL THEN 0 ELSE 1 END) AS packs_out, \
         CAST(COALESCE(SUM(CASE WHEN l.id IS NULL AND ca.home_id IS NULL THEN d.cells_series * d.capacity_mah ELSE 0 END), 0) AS BIGINT) AS cells_mah, \
         (SELECT COUNT(*) FROM kit k WHERE k.place_id = pl.id AND k.life IN ('in_use', 'retired')) AS kit \
         FROM place pl LEFT JOIN pack p ON p.place_id = pl.id AND p.life IN ('in_use', 'retired') \
         LEFT JOIN design d ON d.id = p.design_id LEFT JOIN lent l ON l.pack_id = p.id AND l.closed_ms IS NULL \
         LEFT JOIN care ca ON ca.pack_id = p.id \
         WHERE pl.id = $1 GROUP BY pl.id, d.chemistry",
        id
    )?;
    Ok(joined(parts)?.pop())
}

/// What one chemistry adds to a place: `cells_mah` is the sum of cells in series times mAh.
#[derive(sqlx::FromRow)]
struct Part {
    #[sqlx(flatten)]
    place: Place,
    chemistry: Option<String>,
    packs: i64,
    packs_out: i64,
    cells_mah: i64,
    kit: i64,
}

impl Part {
    fn energy_mwh(&self) -> Result<i64> {
        let Some(code) = &self.chemistry else {
            return Ok(0);
        };
        let unknown = || StoreError::Internal(format!("a design of chemistry {code}"));
        let chemistry = Chemistry::from_code(code).ok_or_else(unknown)?;
        Ok(energy_mwh(chemistry.limits().nominal_mv, self.cells_mah))
    }
}

/// Parts of one place follow each other.
fn joined(parts: Vec<Part>) -> Result<Vec<Holding>> {
    let mut all: Vec<Holding> = Vec::new();
    for part in parts {
        let energy_mwh = part.energy_mwh()?;
        let packs_here = part.packs - part.packs_out;
        match all.last_mut().filter(|last| last.place.id == part.place.id) {
            Some(last) => {
                last.packs_here += packs_here;
                last.packs_out += part.packs_out;
                last.energy_mwh = last.energy_mwh.saturating_add(energy_mwh);
            }
            None => all.push(Holding {
                place: part.place,
                packs_here,
                packs_out: part.packs_out,
                kit: part.kit,
                energy_mwh,
            }),
        }
    }
    Ok(all)
}

/// Is this a place of today? No place named is fine too.
pub async fn may_be_named(conn: &mut Conn, id: Option<Uuid>) -> Result<bool> {
    let Some(id) = id else { return Ok(true) };
    let place = by_id(conn, id).await?;
    Ok(place.is_some_and(|place| place.closed_ms.is_none()))
}
