//! What is on record of a pack over time: its readings, what its charge logs told, and its recorded charges.

use crate::battery::milliohms::Milliohms;
use crate::battery::resistance_read::MeterKind;
use crate::battery::volts::Volts;
use crate::club::calendar::{Day, Instant};
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

/// One reading, one charge log, or one charge that ended.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct OnRecord {
    pub at_ms: Instant,
    volts: Option<String>,
    pub rested_minutes: Option<i64>,
    resistance: Option<String>,
    meter_kind: Option<String>,
    logged_on: Option<String>,
    pub capacity_uah: Option<i64>,
    /// Of a cell in the middle, by a charge log.
    pub log_uohm: Option<i64>,
    /// By a charge log.
    pub log_in_uah: Option<i64>,
    /// By a recorded charge, as its charger showed.
    pub charge_in_mah: Option<i64>,
    /// Said beside the volts of a reading.
    pub put_in_mah: Option<i64>,
}

impl OnRecord {
    pub fn volts(&self) -> Option<Volts> {
        self.volts.as_deref().and_then(Volts::from_text)
    }

    /// Of each cell, as read.
    pub fn milliohms(&self) -> Option<Milliohms> {
        self.resistance.as_deref().and_then(Milliohms::from_text)
    }

    /// How they were found; None: nobody said, as with a load.
    pub fn meter_kind(&self) -> Option<MeterKind> {
        self.meter_kind.as_deref().and_then(MeterKind::from_code)
    }

    /// The day that was told of a charge log.
    pub fn logged_on(&self) -> Option<Day> {
        self.logged_on.as_deref().and_then(Day::parse)
    }
}

/// Of the latest readings that no other one corrects, of as many charges, and of all charge logs; oldest first.
pub async fn of_pack(conn: &mut Conn, pack_id: Uuid, at_most: i64) -> Result<Vec<OnRecord>> {
    rows!(
        conn,
        OnRecord,
        "SELECT at_ms, volts, rested_minutes, resistance, meter_kind, logged_on, capacity_uah, log_uohm, log_in_uah, charge_in_mah, put_in_mah FROM ( \
           SELECT r.taken_ms AS at_ms, r.volts, r.rested_minutes, r.resistance, r.meter_kind, CAST(NULL AS TEXT) AS logged_on, \
           CAST(NULL AS BIGINT) AS capacity_uah, CAST(NULL AS BIGINT) AS log_uohm, CAST(NULL AS BIGINT) AS log_in_uah, \
           CAST(NULL AS BIGINT) AS charge_in_mah, r.put_in_mah FROM reading r \
           WHERE r.pack_id = $1 AND r.volts IS NOT NULL \
           AND NOT EXISTS (SELECT 1 FROM reading c WHERE c.pack_id = r.pack_id AND c.corrects_id = r.id) \
           ORDER BY r.taken_ms DESC, r.id DESC LIMIT $2) latest \
         UNION ALL SELECT l.added_ms, NULL, NULL, NULL, NULL, l.logged_on, l.capacity_uah, l.resistance_uohm, l.charged_uah, NULL, NULL \
         FROM charge_log l WHERE l.pack_id = $1 \
         UNION ALL SELECT * FROM ( \
           SELECT c.ended_ms, CAST(NULL AS TEXT) AS volts, CAST(NULL AS BIGINT) AS rested_minutes, CAST(NULL AS TEXT) AS resistance, CAST(NULL AS TEXT) AS meter_kind, \
           CAST(NULL AS TEXT) AS logged_on, CAST(NULL AS BIGINT) AS capacity_uah, CAST(NULL AS BIGINT) AS log_uohm, \
           CAST(NULL AS BIGINT) AS log_in_uah, c.moved_mah, CAST(NULL AS BIGINT) AS put_in_mah FROM charge c \
           WHERE c.pack_id = $1 AND c.ended_ms IS NOT NULL AND c.moved_mah > 0 AND c.drawn_mw > 0 \
           ORDER BY c.ended_ms DESC LIMIT $2) charges \
         ORDER BY at_ms",
        pack_id,
        at_most
    )
}
