//! The charge that runs on a pack now, for every query that shows the pack: without it a pack on a charger looks like any
//! other. A unique index keeps it to one for each pack, so the join never doubles a row.

use crate::bench::kit::Spec;
use crate::club::calendar::Instant;
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

/// Its columns, after those of a query whose pack is `k`.
macro_rules! now_columns {
    () => {
        ", rc.id AS now_id, rc.purpose AS now_purpose, rc.output AS now_output, rc.drawn_mw AS now_drawn_mw, rc.started_ms AS now_started_ms, \
         rc.most_minutes AS now_most_minutes, rc.watched_by AS now_watched_by, rw.name AS now_watched_name, \
         ri.number AS now_charger_number, ri.spec AS now_charger_spec, \
         CASE WHEN rc.id IS NOT NULL THEN (SELECT STRING_AGG(sa.number, ' ') FROM (SELECT sn.number FROM kit sn \
         WHERE sn.id IN (rc.charger_id, rc.supply_id, rc.cable_id) AND sn.aside_count > 0 ORDER BY sn.kind, sn.number_key) sa) END AS now_aside"
    };
}

macro_rules! now_joins {
    () => {
        "LEFT JOIN charge rc ON rc.pack_id = k.id AND rc.ended_ms IS NULL LEFT JOIN kit ri ON ri.id = rc.charger_id \
         LEFT JOIN person rw ON rw.id = rc.watched_by "
    };
}
pub(in crate::store) use {now_columns, now_joins};

/// That a charge `sc` runs and is to be stopped: `club::charging::must_stop`, in SQL.
macro_rules! runs_and_must_stop {
    () => {
        "sc.ended_ms IS NULL AND (EXISTS (SELECT 1 FROM pack sp WHERE sp.id = sc.pack_id AND sp.state NOT IN ('fit', 'caution')) \
         OR EXISTS (SELECT 1 FROM kit sk WHERE sk.id IN (sc.charger_id, sc.supply_id, sc.cable_id) AND sk.aside_count > 0))"
    };
}
pub(in crate::store) use runs_and_must_stop;

/// As the query found it.
#[derive(Clone, Debug, Default, sqlx::FromRow)]
pub struct NowRow {
    now_id: Option<Uuid>,
    now_purpose: Option<String>,
    now_output: Option<i64>,
    now_drawn_mw: Option<i64>,
    now_started_ms: Option<Instant>,
    now_most_minutes: Option<i64>,
    now_watched_by: Option<Uuid>,
    now_watched_name: Option<String>,
    now_charger_number: Option<String>,
    now_charger_spec: Option<String>,
    now_aside: Option<String>,
}

/// A charge that runs.
#[derive(Clone, Debug)]
pub struct Now {
    pub id: Uuid,
    pub charger_number: String,
    /// Counted from 0.
    pub output: i64,
    pub has_outputs: i64,
    /// What of its charger, supply and cable was set aside meanwhile.
    pub set_aside: Vec<String>,
    /// It puts charge in.
    pub is_charge: bool,
    pub started: Instant,
    /// When it is done at the latest.
    pub until: Instant,
    pub watched_by: Uuid,
    /// None: they were erased.
    pub watched_name: Option<String>,
}

impl NowRow {
    pub const fn is_charging(&self) -> bool {
        self.now_id.is_some()
    }

    /// What for, as it is stored; None where nothing works on it now.
    pub fn purpose(&self) -> Option<&str> {
        self.now_purpose.as_deref()
    }

    /// None: nothing works on it now.
    pub fn charge(&self) -> Option<Now> {
        let started = self.now_started_ms?;
        Some(Now {
            id: self.now_id?,
            charger_number: self.now_charger_number.clone()?,
            output: self.now_output?,
            has_outputs: has_outputs(self.now_charger_spec.as_deref().unwrap_or_default()),
            set_aside: set_aside(self.now_aside.as_deref().unwrap_or_default()),
            is_charge: self.now_drawn_mw? > 0,
            started,
            until: started.plus_minutes(self.now_most_minutes?),
            watched_by: self.now_watched_by?,
            watched_name: self.now_watched_name.clone(),
        })
    }
}

/// `C-01 S-01`: no number of kit has a space.
fn set_aside(numbers: &str) -> Vec<String> {
    numbers.split_whitespace().map(str::to_owned).collect()
}

/// What was set aside while a charge ran with it, and the number of that charge's pack.
pub async fn with_kit_set_aside(conn: &mut Conn) -> Result<Vec<(String, String)>> {
    rows!(
        conn,
        (String, String),
        "SELECT i.number, k.number FROM charge c JOIN pack k ON k.id = c.pack_id \
         JOIN kit i ON i.id IN (c.charger_id, c.supply_id, c.cable_id) \
         WHERE c.ended_ms IS NULL AND i.aside_count > 0 ORDER BY i.kind, i.number_key, k.number_key, k.number"
    )
}

/// Of a charger's data sheet as stored.
pub fn has_outputs(spec: &str) -> i64 {
    match serde_json::from_str(spec) {
        Ok(Spec::Charger(sheet)) => sheet.outputs,
        _ => 1,
    }
}
