//! Charges: what was set on which output for which pack, who stays with it, how it ended; and what each output was last
//! set to.

pub mod lately;
pub mod logs;
pub mod now;
pub mod shown;

use self::lately::{Lately, Usual, lately_columns};
use super::book::around::Side;
use super::measured::{Measured, MeasuredRow, measured_columns, measured_join};
use super::packs::{PackView, pack_query};
use super::{Conn, Result, Tx, change, row, rows, rows_among};
use crate::bench::charger::Mode;
use crate::club::calendar::Instant;
use crate::club::charge_log::which_charge::Recorded;
use crate::club::charging::{Outcome, must_stop};
use crate::club::states::State;
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Charge {
    pub id: Uuid,
    pub pack_id: Uuid,
    pub charger_id: Uuid,
    pub output: i64,
    pub supply_id: Option<Uuid>,
    pub supply_port: Option<i64>,
    pub cable_id: Option<Uuid>,
    pub adapter_near: Option<Uuid>,
    pub adapter_far: Option<Uuid>,
    pub mode: String,
    pub is_balanced: bool,
    pub purpose: String,
    pub current_ma: i64,
    pub target_mv: i64,
    pub least_minutes: i64,
    pub most_minutes: i64,
    pub least_mah: i64,
    pub most_mah: i64,
    pub cutoff_mah: i64,
    pub cutoff_minutes: i64,
    pub drawn_mw: i64,
    pub started_ms: Instant,
    pub started_by: Uuid,
    pub watched_by: Uuid,
    /// Since when; None: since it began.
    pub watched_ms: Option<Instant>,
    /// How often it was handed to somebody else.
    pub handed_count: i64,
    pub read_back_ms: Option<Instant>,
    pub ended_ms: Option<Instant>,
    pub outcome: Option<String>,
    pub moved_mah: Option<i64>,
    pub end_words: Option<String>,
}

impl Charge {
    pub fn outcome(&self) -> Option<Outcome> {
        self.outcome.as_deref().and_then(Outcome::from_code)
    }

    /// It puts charge in.
    pub const fn is_charge(&self) -> bool {
        self.drawn_mw > 0
    }

    pub const fn recorded(&self) -> Recorded {
        Recorded {
            started: self.started_ms,
            ended: self.ended_ms,
            is_charge: self.is_charge(),
            moved_mah: self.moved_mah,
        }
    }
}

/// A charge with what pages call its parts.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Listed {
    #[sqlx(flatten)]
    pub charge: Charge,
    pub pack_number: String,
    pub design_name: String,
    pub chemistry: String,
    pub cells_series: i64,
    pub capacity_mah: i64,
    pub sees_cells: bool,
    pub charger_number: String,
    pub charger_spec: String,
    pub supply_number: Option<String>,
    pub watched_name: Option<String>,
    /// When the pack came back from its loan, where that was while this ran.
    pub pack_back_ms: Option<Instant>,
    /// Read as it ended, and not corrected since.
    pub end_volts: Option<String>,
    pub pack_state: String,
    pub pack_state_words: String,
    pub pack_state_next: String,
    /// Why what charges it, feeds that or wires it is set aside; None: it is not.
    charger_aside: Option<String>,
    supply_aside: Option<String>,
    cable_number: Option<String>,
    cable_aside: Option<String>,
}

impl Listed {
    pub fn pack_state(&self) -> State {
        State::from_code(&self.pack_state).unwrap_or(State::NotKnown)
    }

    pub fn must_stop(&self) -> bool {
        self.charge.ended_ms.is_none() && must_stop(self.pack_state(), !self.set_aside().is_empty())
    }

    /// Of its kit what is set aside, each with why.
    pub fn set_aside(&self) -> Vec<(&str, &str)> {
        let all = [
            (Some(&self.charger_number), &self.charger_aside),
            (self.supply_number.as_ref(), &self.supply_aside),
            (self.cable_number.as_ref(), &self.cable_aside),
        ];
        let all = all.into_iter();
        all.filter_map(|(number, why)| Some((number?.as_str(), why.as_deref()?)))
            .collect()
    }
}

/// A pack, and what its charges and loans say of its last use.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct ToCharge {
    #[sqlx(flatten)]
    pub pack: PackView,
    pub running_id: Option<Uuid>,
    #[sqlx(flatten)]
    pub lately: Lately,
    /// Of its last charge to full, balanced only where that came to its end; None: it had none.
    pub was_balanced: Option<bool>,
    #[sqlx(flatten)]
    pub measured: MeasuredRow,
}

impl ToCharge {
    /// How warm it usually is where it lies, and so the pack.
    pub fn usual(&self, now: Instant) -> Usual {
        self.lately.usual(&self.pack, now)
    }

    /// What its latest reading with a resistance says; None: nothing, or nothing that can be compared.
    pub fn measured(&self) -> Option<Measured> {
        self.measured.told(&self.pack.for_health())
    }

    /// When it came out of a robot, as far as that is on record.
    pub fn came_from_use(&self) -> Option<Instant> {
        self.lately.came_from_use(&self.pack)
    }

    /// Until when it lies before it is charged; None: it has lain.
    pub fn lies_until(&self, now: Instant) -> Option<Instant> {
        self.lately.lies_until(&self.pack, now)
    }
}

macro_rules! to_charge {
    ($rest:expr) => {
        pack_query!(
            concat!(", (SELECT c.id FROM charge c WHERE c.pack_id = k.id AND c.ended_ms IS NULL) AS running_id, \
             (SELECT c.is_balanced FROM charge c WHERE c.pack_id = k.id AND c.purpose IN ('ready_by', 'no_hurry') \
              AND (NOT c.is_balanced OR c.outcome = 'finished') ORDER BY c.started_ms DESC  LIMIT 1) AS was_balanced", lately_columns!(), measured_columns!()),
            measured_join!("k.id IS NOT NULL"),
            $rest
        )
    };
}

pub async fn to_charge(conn: &mut Conn, number: &str) -> Result<Option<ToCharge>> {
    row!(conn, ToCharge, to_charge!("WHERE k.number = $1"), number)
}

pub async fn to_charge_by_id(conn: &mut Conn, id: Uuid) -> Result<Option<ToCharge>> {
    row!(conn, ToCharge, to_charge!("WHERE k.id = $1"), id)
}

/// Packs in use by their running numbers.
pub async fn to_charge_by_keys(conn: &mut Conn, keys: &[i64]) -> Result<Vec<ToCharge>> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        ToCharge,
        to_charge!("WHERE k.life = 'in_use' AND k.number_key IN ("),
        keys,
        ") ORDER BY k.number_key, k.number"
    )
}

macro_rules! listed {
    ($rest:expr) => {
        concat!(
            "SELECT c.id, c.pack_id, c.charger_id, c.output, c.supply_id, c.supply_port, c.cable_id, c.adapter_near, c.adapter_far, \
             c.mode, c.is_balanced, c.purpose, c.current_ma, c.target_mv, c.least_minutes, c.most_minutes, c.least_mah, c.most_mah, \
             c.cutoff_mah, c.cutoff_minutes, c.drawn_mw, c.started_ms, c.started_by, c.watched_by, c.watched_ms, c.handed_count, c.read_back_ms, c.ended_ms, \
             c.outcome, c.moved_mah, c.end_words, k.number AS pack_number, d.name AS design_name, d.chemistry, d.cells_series, \
             d.capacity_mah, d.balance_connector IS NOT NULL AS sees_cells, k.state AS pack_state, k.state_words AS pack_state_words, k.state_next AS pack_state_next, ch.number AS charger_number, ch.spec AS charger_spec, \
             su.number AS supply_number, w.name AS watched_name, \
             CASE WHEN ch.aside_count > 0 THEN COALESCE(ch.set_aside_words, '') END AS charger_aside, \
             CASE WHEN su.aside_count > 0 THEN COALESCE(su.set_aside_words, '') END AS supply_aside, \
             wi.number AS cable_number, CASE WHEN wi.aside_count > 0 THEN COALESCE(wi.set_aside_words, '') END AS cable_aside, \
             (SELECT MAX(lb.closed_ms) FROM lent lb WHERE lb.pack_id = c.pack_id AND lb.outcome IN ('back', 'unchecked', 'forgotten') \
              AND lb.closed_ms >= c.started_ms AND (c.ended_ms IS NULL OR lb.closed_ms <= c.ended_ms)) AS pack_back_ms, \
             (SELECT MAX(er.volts) FROM reading er WHERE er.pack_id = c.pack_id AND er.taken_ms = c.ended_ms \
              AND NOT EXISTS (SELECT 1 FROM reading ec WHERE ec.pack_id = c.pack_id AND ec.corrects_id = er.id)) AS end_volts \
             FROM charge c JOIN pack k ON k.id = c.pack_id JOIN design d ON d.id = k.design_id JOIN kit ch ON ch.id = c.charger_id \
             LEFT JOIN kit su ON su.id = c.supply_id LEFT JOIN kit wi ON wi.id = c.cable_id LEFT JOIN person w ON w.id = c.watched_by ",
            $rest
        )
    };
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Listed>> {
    row!(conn, Listed, listed!("WHERE c.id = $1"), id)
}

/// A pack, or a numbered thing, that a charge which runs holds.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Held {
    pub thing_id: Uuid,
    /// Of the pack that charges, and of its charger.
    pub pack_number: String,
    pub charger_number: String,
}

/// Packs, chargers, supplies and cables of the charges that run; adapters are counted and not told apart.
pub async fn held(conn: &mut Conn) -> Result<Vec<Held>> {
    rows!(
        conn,
        Held,
        "SELECT h.thing_id, k.number AS pack_number, i.number AS charger_number FROM ( \
         SELECT id, pack_id AS thing_id FROM charge WHERE ended_ms IS NULL \
         UNION ALL SELECT id, charger_id FROM charge WHERE ended_ms IS NULL \
         UNION ALL SELECT id, supply_id FROM charge WHERE ended_ms IS NULL AND supply_id IS NOT NULL \
         UNION ALL SELECT id, cable_id FROM charge WHERE ended_ms IS NULL AND cable_id IS NOT NULL \
         ) h JOIN charge c ON c.id = h.id JOIN pack k ON k.id = c.pack_id JOIN kit i ON i.id = c.charger_id"
    )
}

/// Until when, before then, a charge or a discharge ran on the pack, or it was read just used: then itself, where one runs.
pub async fn last_used(conn: &mut Conn, pack_id: Uuid, at: Instant) -> Result<Option<Instant>> {
    let used = row!(
        conn,
        (Option<Instant>,),
        "SELECT MAX(u.at_ms) FROM ( \
         SELECT CASE WHEN c.ended_ms < $2 THEN c.ended_ms ELSE $2 END AS at_ms FROM charge c WHERE c.pack_id = $1 AND c.started_ms < $2 \
         AND (c.ended_ms IS NULL OR c.ended_ms <> $2) \
         UNION ALL SELECT r.taken_ms FROM reading r WHERE r.pack_id = $1 AND r.taken_ms < $2 AND r.rested_minutes = 0 \
         AND r.volts IS NOT NULL AND NOT EXISTS (SELECT 1 FROM reading n WHERE n.pack_id = r.pack_id AND n.corrects_id = r.id)) u",
        pack_id,
        at
    )?;
    Ok(used.and_then(|(at,)| at))
}

/// What is charging now, the one that ends first on top.
pub async fn running(conn: &mut Conn) -> Result<Vec<Listed>> {
    rows!(
        conn,
        Listed,
        listed!("WHERE c.ended_ms IS NULL ORDER BY c.started_ms + c.most_minutes * 60000, c.id")
    )
}

/// Charges of a pack, the latest first.
pub async fn of_pack(conn: &mut Conn, pack_id: Uuid, at_most: i64) -> Result<Vec<Listed>> {
    rows!(
        conn,
        Listed,
        listed!("WHERE c.pack_id = $1 ORDER BY c.started_ms DESC, c.id LIMIT $2"),
        pack_id,
        at_most
    )
}

/// Those that began nearest to an instant first.
pub async fn around(
    conn: &mut Conn,
    pack_id: Uuid,
    side: Side,
    at_most: i64,
) -> Result<Vec<Listed>> {
    let (turn, from) = side.turn_and_from();
    rows!(
        conn,
        Listed,
        listed!(
            "WHERE c.pack_id = $1 AND $2 * c.started_ms >= $3 ORDER BY $2 * c.started_ms, c.id LIMIT $4"
        ),
        pack_id,
        turn,
        from,
        at_most
    )
}

/// Stores it, and what the output is set to from now on.
pub async fn add(tx: &mut Tx, charge: &Charge) -> Result<()> {
    change!(
        tx,
        "INSERT INTO charge (id, pack_id, charger_id, output, supply_id, supply_port, cable_id, adapter_near, adapter_far, mode, \
         is_balanced, purpose, current_ma, target_mv, least_minutes, most_minutes, least_mah, most_mah, cutoff_mah, cutoff_minutes, \
         drawn_mw, started_ms, started_by, watched_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24)",
        charge.id,
        charge.pack_id,
        charge.charger_id,
        charge.output,
        charge.supply_id,
        charge.supply_port,
        charge.cable_id,
        charge.adapter_near,
        charge.adapter_far,
        &charge.mode,
        charge.is_balanced,
        &charge.purpose,
        charge.current_ma,
        charge.target_mv,
        charge.least_minutes,
        charge.most_minutes,
        charge.least_mah,
        charge.most_mah,
        charge.cutoff_mah,
        charge.cutoff_minutes,
        charge.drawn_mw,
        charge.started_ms,
        charge.started_by,
        charge.watched_by
    )?;
    change!(
        tx,
        "INSERT INTO charger_setting (charger_id, output, current_ma, set_ms) VALUES ($1, $2, $3, $4) \
         ON CONFLICT (charger_id, output) DO UPDATE SET set_ms = excluded.set_ms, \
         current_ma = CASE WHEN $5 AND charger_setting.current_ma > excluded.current_ma THEN charger_setting.current_ma \
         ELSE excluded.current_ma END",
        charge.charger_id,
        charge.output,
        charge.current_ma,
        charge.started_ms,
        // What it was set to charge with it may still remember.
        charge.mode == Mode::Discharge.code()
    )?;
    Ok(())
}

/// How it ended, by whom, what it moved and what was said.
pub struct End<'a> {
    pub at: Instant,
    pub by: Uuid,
    pub outcome: Outcome,
    pub moved_mah: Option<i64>,
    pub words: &'a str,
}

pub async fn end(tx: &mut Tx, id: Uuid, end: &End<'_>) -> Result<()> {
    change!(
        tx,
        "UPDATE charge SET ended_ms = $2, ended_by = $3, outcome = $4, moved_mah = $5, end_words = $6 WHERE id = $1 AND ended_ms IS NULL",
        id,
        end.at,
        end.by,
        end.outcome.code(),
        end.moved_mah,
        end.words
    )?;
    Ok(())
}

/// From now on somebody else stays with it.
pub async fn hand_over(tx: &mut Tx, id: Uuid, to: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE charge SET watched_by = $2, watched_ms = $3, handed_count = handed_count + 1 WHERE id = $1 AND ended_ms IS NULL",
        id,
        to,
        at
    )?;
    Ok(())
}

pub async fn note_read_back(tx: &mut Tx, id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE charge SET read_back_ms = $2 WHERE id = $1 AND ended_ms IS NULL",
        id,
        at
    )?;
    Ok(())
}
