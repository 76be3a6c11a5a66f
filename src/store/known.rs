//! What a spreadsheet on its way in can meet, in one query: designs, places, connector families, and the packs or the kit.

use super::connectors::family;
use super::{Conn, Result, StoreError, rows};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::bench::connector::built_in;
use crate::bench::kit::KitKind;
use crate::club::kit::KitSheet;
use crate::club::pack_form::Details;
use crate::club::register::DesignSheet;
use crate::club::sheet::Holds;
use crate::club::sheet::known::{Known, KnownKit, KnownPack};
use uuid::Uuid;

/// Columns that each part fills as it needs.
#[derive(sqlx::FromRow)]
struct Part {
    what: String,
    id: Option<Uuid>,
    /// A pack's design.
    of_id: Option<Uuid>,
    place_id: Option<Uuid>,
    name: String,
    number: String,
    first: String,
    second: String,
    third: String,
    fourth: String,
    key: Option<i64>,
    cells: Option<i64>,
    groups: Option<i64>,
    capacity: Option<i64>,
    discharge: Option<i64>,
    charge: Option<i64>,
    mass: Option<i64>,
    full_mv: Option<i64>,
    lowest_mv: Option<i64>,
    acquired_on: Option<String>,
    first_used_on: Option<String>,
}

pub async fn all(conn: &mut Conn, holds: Holds) -> Result<Known> {
    let parts = rows!(
        conn,
        Part,
        "SELECT 'design' AS what, id, CAST(NULL AS UUID) AS of_id, CAST(NULL AS UUID) AS place_id, name, '' AS number, \
         chemistry AS first, connector AS second, COALESCE(balance_connector, '') AS third, size_mm AS fourth, \
         CAST(NULL AS BIGINT) AS key, cells_series AS cells, groups_parallel AS groups, capacity_mah AS capacity, \
         label_discharge_c_tenths AS discharge, label_charge_c_tenths AS charge, mass_g AS mass, label_full_mv AS full_mv, \
         label_lowest_mv AS lowest_mv, CAST(NULL AS TEXT) AS acquired_on, CAST(NULL AS TEXT) AS first_used_on, created_ms AS at \
         FROM design \
         UNION ALL SELECT 'place', id, NULL, NULL, name, '', '', '', '', '', \
         NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 FROM place WHERE closed_ms IS NULL \
         UNION ALL SELECT 'family', NULL, NULL, NULL, '', '', spec, '', '', '', \
         NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 FROM connector \
         UNION ALL SELECT 'pack', id, design_id, place_id, maker, number, batch, supplier, price, notes, \
         number_key, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, acquired_on, first_used_on, 0 FROM pack WHERE $1 = 'packs' \
         UNION ALL SELECT 'kit', id, NULL, place_id, name, number, kind, spec, maker, notes, \
         number_key, owned_count, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 FROM kit WHERE $1 = 'kit' \
         ORDER BY what, at, name, number",
        holds.code()
    )?;
    let mut known = Known {
        families: built_in(),
        ..Known::default()
    };
    for part in parts {
        put(&mut known, part)?;
    }
    Ok(known)
}

fn put(known: &mut Known, part: Part) -> Result<()> {
    let id = part.id.unwrap_or_default();
    match part.what.as_str() {
        "design" => known.designs.push((id, design(part))),
        "place" => known.places.push((id, part.name)),
        "family" => known.families.push(family(&part.first)?),
        "pack" => {
            known.packs.insert(part.key.unwrap_or(0), pack(part));
        }
        _ => {
            if let Some(kind) = KitKind::from_code(&part.first) {
                let key = (kind, part.key.unwrap_or(0));
                let thing = KnownKit {
                    id,
                    number: part.number.clone(),
                    sheet: kit(part)?,
                };
                known.kit.insert(key, thing);
            }
        }
    }
    Ok(())
}

fn design(part: Part) -> DesignSheet {
    DesignSheet {
        name: part.name,
        chemistry: Chemistry::from_code(&part.first).unwrap_or(Chemistry::LiPo),
        cells_series: part.cells.unwrap_or(1),
        groups_parallel: part.groups.unwrap_or(1),
        capacity_mah: part.capacity.unwrap_or(1),
        label_discharge_c_tenths: part.discharge,
        label_charge_c_tenths: part.charge,
        connector: part.second,
        balance_connector: Some(part.third).filter(|code| !code.is_empty()),
        mass_g: part.mass,
        size_mm: part.fourth,
        label: LabelVolts {
            full_mv: part.full_mv,
            lowest_mv: part.lowest_mv,
        },
    }
}

fn pack(part: Part) -> KnownPack {
    KnownPack {
        id: part.id.unwrap_or_default(),
        number: part.number,
        design_id: part.of_id.unwrap_or_default(),
        details: Details {
            maker: part.name,
            batch: part.first,
            supplier: part.second,
            price: part.third,
            acquired_on: part.acquired_on,
            first_used_on: part.first_used_on,
            place_id: part.place_id,
            notes: part.fourth,
        },
    }
}

fn kit(part: Part) -> Result<KitSheet> {
    let unread = |error: serde_json::Error| StoreError::Internal(error.to_string());
    Ok(KitSheet {
        name: part.name,
        maker: part.third,
        notes: part.fourth,
        place_id: part.place_id,
        owned_count: part.cells.unwrap_or(1),
        spec: serde_json::from_str(&part.second).map_err(unread)?,
    })
}
