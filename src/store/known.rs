//! What a spreadsheet on its way in can meet, in one query: designs, places, connector families, packs and kit.

use super::connectors::family;
use super::{Conn, Result, StoreError, rows};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::bench::connector::built_in;
use crate::bench::kit::KitKind;
use crate::club::kit::KitSheet;
use crate::club::register::DesignSheet;
use crate::club::sheet::known::{Known, KnownKit, KnownPack};
use uuid::Uuid;

/// Columns that each part fills as it needs.
#[derive(sqlx::FromRow)]
struct Part {
    what: String,
    id: Option<Uuid>,
    /// A pack's design, the place of kit.
    of_id: Option<Uuid>,
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
}

pub async fn all(conn: &mut Conn) -> Result<Known> {
    let parts = rows!(
        conn,
        Part,
        "SELECT 'design' AS what, id, CAST(NULL AS UUID) AS of_id, name, '' AS number, chemistry AS first, connector AS second, \
         COALESCE(balance_connector, '') AS third, size_mm AS fourth, CAST(NULL AS BIGINT) AS key, cells_series AS cells, \
         groups_parallel AS groups, capacity_mah AS capacity, label_discharge_c_tenths AS discharge, \
         label_charge_c_tenths AS charge, mass_g AS mass, label_full_mv AS full_mv, label_lowest_mv AS lowest_mv, created_ms AS at \
         FROM design \
         UNION ALL SELECT 'place', id, NULL, name, '', '', '', '', '', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 \
         FROM place WHERE closed_ms IS NULL \
         UNION ALL SELECT 'family', NULL, NULL, '', '', spec, '', '', '', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 \
         FROM connector \
         UNION ALL SELECT 'pack', id, design_id, '', number, '', '', '', '', number_key, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 \
         FROM pack \
         UNION ALL SELECT 'kit', id, place_id, name, number, kind, spec, maker, notes, number_key, owned_count, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0 \
         FROM kit ORDER BY what, at, name, number"
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
            let (key, design_id) = (part.key.unwrap_or(0), part.of_id.unwrap_or_default());
            let pack = KnownPack {
                id,
                number: part.number,
                design_id,
            };
            known.packs.insert(key, pack);
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

fn kit(part: Part) -> Result<KitSheet> {
    let unread = |error: serde_json::Error| StoreError::Internal(error.to_string());
    Ok(KitSheet {
        name: part.name,
        maker: part.third,
        notes: part.fourth,
        place_id: part.of_id,
        owned_count: part.cells.unwrap_or(1),
        spec: serde_json::from_str(&part.second).map_err(unread)?,
    })
}
