//! Pack designs: what several packs have in common. Once packs use one, its chemistry, cells and C rates stay.

pub mod side_by_side;

use super::{Conn, Result, Tx, change, row, rows};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::club::calendar::Instant;
use serde::Serialize;
use uuid::Uuid;

#[derive(Clone, Debug, Serialize, sqlx::FromRow)]
pub struct Design {
    pub id: Uuid,
    pub name: String,
    pub chemistry: String,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    pub label_discharge_c_tenths: Option<i64>,
    pub label_charge_c_tenths: Option<i64>,
    pub connector: String,
    pub balance_connector: Option<String>,
    pub mass_g: Option<i64>,
    pub size_mm: String,
    /// What the label says, mV per cell.
    pub label_full_mv: Option<i64>,
    pub label_lowest_mv: Option<i64>,
    #[serde(skip)]
    pub created_ms: Instant,
}

impl Design {
    pub fn label(&self) -> LabelVolts {
        LabelVolts {
            full_mv: self.label_full_mv,
            lowest_mv: self.label_lowest_mv,
        }
    }

    pub fn build(&self) -> Build {
        build_of(
            &self.chemistry,
            (self.cells_series, self.groups_parallel),
            self.capacity_mah,
            self.balance_connector.is_some(),
            self.label(),
        )
    }
}

/// A chemistry this program does not know can't have been stored; it would be read as the most careful one.
pub(super) fn build_of(
    chemistry: &str,
    cells: (i64, i64),
    capacity_mah: i64,
    sees_cells: bool,
    label: LabelVolts,
) -> Build {
    Build {
        chemistry: Chemistry::from_code(chemistry).unwrap_or(Chemistry::LiPo),
        cells_series: cells.0,
        groups_parallel: cells.1,
        capacity_mah,
        sees_cells,
        label,
    }
}

pub async fn all(conn: &mut Conn) -> Result<Vec<Design>> {
    rows!(
        conn,
        Design,
        "SELECT id, name, chemistry, cells_series, groups_parallel, capacity_mah, label_discharge_c_tenths, \
         label_charge_c_tenths, connector, balance_connector, mass_g, size_mm, label_full_mv, label_lowest_mv, created_ms FROM design \
         ORDER BY cells_series, capacity_mah, LOWER(name), id"
    )
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Design>> {
    row!(
        conn,
        Design,
        "SELECT id, name, chemistry, cells_series, groups_parallel, capacity_mah, label_discharge_c_tenths, \
         label_charge_c_tenths, connector, balance_connector, mass_g, size_mm, label_full_mv, label_lowest_mv, created_ms FROM design WHERE id = $1",
        id
    )
}

/// A design with how many packs have it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Used {
    #[sqlx(flatten)]
    pub design: Design,
    pub packs: i64,
}

pub async fn used(conn: &mut Conn, id: Uuid) -> Result<Option<Used>> {
    row!(
        conn,
        Used,
        "SELECT d.id, d.name, d.chemistry, d.cells_series, d.groups_parallel, d.capacity_mah, d.label_discharge_c_tenths, \
         d.label_charge_c_tenths, d.connector, d.balance_connector, d.mass_g, d.size_mm, d.label_full_mv, d.label_lowest_mv, d.created_ms, \
         (SELECT COUNT(*) FROM pack p WHERE p.design_id = d.id) AS packs FROM design d WHERE d.id = $1",
        id
    )
}

pub async fn add(tx: &mut Tx, design: &Design) -> Result<()> {
    change!(
        tx,
        "INSERT INTO design (id, name, chemistry, cells_series, groups_parallel, capacity_mah, label_discharge_c_tenths, \
         label_charge_c_tenths, connector, balance_connector, mass_g, size_mm, created_ms, label_full_mv, label_lowest_mv) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)",
        design.id,
        &design.name,
        &design.chemistry,
        design.cells_series,
        design.groups_parallel,
        design.capacity_mah,
        design.label_discharge_c_tenths,
        design.label_charge_c_tenths,
        &design.connector,
        &design.balance_connector,
        design.mass_g,
        &design.size_mm,
        design.created_ms,
        design.label_full_mv,
        design.label_lowest_mv
    )?;
    Ok(())
}

/// Everything that may change while packs use the design: name, connector, mass, size.
pub async fn save_details(tx: &mut Tx, design: &Design) -> Result<()> {
    change!(
        tx,
        "UPDATE design SET name = $2, mass_g = $3, size_mm = $4 WHERE id = $1",
        design.id,
        &design.name,
        design.mass_g,
        &design.size_mm
    )?;
    Ok(())
}

/// Everything, for a design that no pack uses yet.
pub async fn replace(tx: &mut Tx, design: &Design) -> Result<()> {
    change!(tx, "DELETE FROM design WHERE id = $1", design.id)?;
    add(tx, design).await
}

pub async fn pack_count(conn: &mut Conn, id: Uuid) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM pack WHERE design_id = $1",
        id
    )?;
    Ok(found.map_or(0, |(count,)| count))
}
