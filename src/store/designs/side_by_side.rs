//! The packs of one design in use, each with the latest that is on record of it.

use crate::battery::milliohms::Milliohms;
use crate::battery::resistance_read::MeterKind;
use crate::store::packs::{PackView, pack_query};
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

/// On one page.
pub const MOST: usize = 200;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Beside {
    #[sqlx(flatten)]
    pub pack: PackView,
    last_resistance: Option<String>,
    last_meter_kind: Option<String>,
    /// Of the whole pack, by the charge log that told it last.
    pub last_capacity_uah: Option<i64>,
    /// Of a cell in the middle, likewise.
    pub last_log_uohm: Option<i64>,
}

impl Beside {
    /// Of each cell, as it was read last.
    pub fn milliohms(&self) -> Option<Milliohms> {
        let text = self.last_resistance.as_deref();
        text.and_then(Milliohms::from_text)
    }

    /// How they were found; None: nobody said, as with a load.
    pub fn meter_kind(&self) -> Option<MeterKind> {
        self.last_meter_kind
            .as_deref()
            .and_then(MeterKind::from_code)
    }
}

/// Of the latest reading with a resistance that no other one corrects.
macro_rules! last_read {
    ($column:literal) => {
        concat!(
            "(SELECT r.",
            $column,
            " FROM reading r WHERE r.pack_id = k.id AND r.resistance IS NOT NULL AND NOT EXISTS \
             (SELECT 1 FROM reading c WHERE c.pack_id = r.pack_id AND c.corrects_id = r.id) \
             ORDER BY r.taken_ms DESC, r.id DESC LIMIT 1)"
        )
    };
}

/// By number; one more than `MOST` when there are more.
pub async fn of_design(conn: &mut Conn, design_id: Uuid) -> Result<Vec<Beside>> {
    rows!(
        conn,
        Beside,
        pack_query!(
            concat!(
                ", ",
                last_read!("resistance"),
                " AS last_resistance, ",
                last_read!("meter_kind"),
                " AS last_meter_kind, \
             (SELECT l.capacity_uah FROM charge_log l WHERE l.pack_id = k.id AND l.capacity_uah IS NOT NULL \
             ORDER BY l.added_ms DESC, l.id DESC LIMIT 1) AS last_capacity_uah, \
             (SELECT l.resistance_uohm FROM charge_log l WHERE l.pack_id = k.id AND l.resistance_uohm IS NOT NULL \
             ORDER BY l.added_ms DESC, l.id DESC LIMIT 1) AS last_log_uohm"
            ),
            "",
            "WHERE k.design_id = $1 AND k.life = 'in_use' ORDER BY k.number_key, k.number LIMIT 201"
        ),
        design_id
    )
}
