//! Packs: one row each, with what its open findings and last reading come to. `PackView` is a pack as pages and rules
//! need it, with its design, its place and its open loan, in one query.

mod told;
mod whose;

use super::charges::now::{NowRow, now_columns, now_joins};
use super::designs::build_of;
pub use super::new_packs::{Details, NewPack, add, last_number_key, save_details};
use super::{Conn, Result, Tx, change, connectors, row, rows, rows_among};
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::club::calendar::{Day, Instant};
use crate::club::health::HealthPack;
use crate::club::states::{Life, State};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct PackView {
    pub id: Uuid,
    pub number: String,
    pub number_key: i64,
    pub design_id: Uuid,
    pub design_name: String,
    pub chemistry: String,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    pub label_discharge_c_tenths: Option<i64>,
    pub label_charge_c_tenths: Option<i64>,
    pub connector: String,
    pub balance_connector: Option<String>,
    /// JSON of the family where it is the club's own.
    pub connector_spec: Option<String>,
    pub balance_spec: Option<String>,
    pub mass_g: Option<i64>,
    pub size_mm: String,
    pub label_full_mv: Option<i64>,
    pub label_lowest_mv: Option<i64>,
    pub maker: String,
    pub batch: String,
    pub supplier: String,
    pub price: String,
    pub acquired_on: Option<String>,
    pub first_used_on: Option<String>,
    pub notes: String,
    pub life: String,
    pub state: String,
    pub state_words: String,
    pub state_next: String,
    pub state_ms: Instant,
    pub last_volts: Option<String>,
    pub last_rested_minutes: Option<i64>,
    pub last_read_ms: Option<Instant>,
    /// When somebody last had it in hand or before their eyes.
    pub seen_ms: Instant,
    pub place_id: Option<Uuid>,
    pub place_name: Option<String>,
    pub lent_id: Option<Uuid>,
    pub loan_id: Option<Uuid>,
    pub lent_ms: Option<Instant>,
    pub due_on: Option<String>,
    pub holder_id: Option<Uuid>,
    pub holder_name: Option<String>,
    /// Who took it home to put it to storage and has not brought it back, and by which day it is to be done.
    pub home_id: Option<Uuid>,
    pub home_name: Option<String>,
    pub home_by: Option<String>,
}

impl PackView {
    pub fn for_health(&self) -> HealthPack {
        HealthPack {
            build: self.build(),
            label_discharge_c_tenths: self.label_discharge_c_tenths,
        }
    }

    pub fn build(&self) -> Build {
        build_of(
            &self.chemistry,
            (self.cells_series, self.groups_parallel),
            self.capacity_mah,
            self.balance_connector.is_some(),
            LabelVolts {
                full_mv: self.label_full_mv,
                lowest_mv: self.label_lowest_mv,
            },
        )
    }

    /// The discharge connector as people call it.
    pub fn connector_name(&self) -> String {
        connectors::name(&self.connector, self.connector_spec.as_deref())
    }

    /// None without a balance lead.
    pub fn balance_name(&self) -> Option<String> {
        let code = self.balance_connector.as_deref()?;
        Some(connectors::name(code, self.balance_spec.as_deref()))
    }

    pub fn life(&self) -> Life {
        Life::from_code(&self.life).unwrap_or(Life::Withdrawn)
    }

    pub fn volts(&self) -> Option<Volts> {
        self.last_volts.as_deref().and_then(Volts::from_text)
    }

    pub fn due_day(&self) -> Option<Day> {
        self.due_on.as_deref().and_then(Day::parse)
    }

    pub fn is_quarantined(&self) -> bool {
        self.state == State::Quarantine.code()
    }

    pub fn is_set_aside(&self) -> bool {
        self.state == State::SetAside.code()
    }

    /// As if it lay here.
    pub fn as_if_here(&self) -> Self {
        Self {
            lent_id: None,
            loan_id: None,
            lent_ms: None,
            due_on: None,
            holder_id: None,
            holder_name: None,
            home_id: None,
            home_name: None,
            home_by: None,
            ..self.clone()
        }
    }

    pub const fn is_lent(&self) -> bool {
        self.lent_id.is_some()
    }
}

/// The pack's columns and tables, with more columns and joins where a query wants them.
macro_rules! pack_query {
    ($columns:expr, $joins:expr, $rest:expr) => {
        concat!(
            "SELECT k.id, k.number, k.number_key, k.design_id, d.name AS design_name, d.chemistry, d.cells_series, \
             d.groups_parallel, d.capacity_mah, d.label_discharge_c_tenths, d.label_charge_c_tenths, d.connector, \
             d.balance_connector, cc.spec AS connector_spec, cb.spec AS balance_spec, d.mass_g, d.size_mm, d.label_full_mv, d.label_lowest_mv, k.maker, k.batch, k.supplier, k.price, k.acquired_on, \
             k.first_used_on, k.notes, k.life, k.state, k.state_words, k.state_next, k.state_ms, k.last_volts, \
             k.last_rested_minutes, k.last_read_ms, k.seen_ms, k.place_id, pl.name AS place_name, le.id AS lent_id, le.loan_id, \
             le.opened_ms AS lent_ms, lo.due_on, lo.borrower_id AS holder_id, pe.name AS holder_name, \
             ca.home_id, ho.name AS home_name, ca.home_by",
            $columns,
            " FROM pack k LEFT JOIN design d ON d.id = k.design_id LEFT JOIN connector cc ON cc.code = d.connector \
             LEFT JOIN connector cb ON cb.code = d.balance_connector LEFT JOIN place pl ON pl.id = k.place_id \
             LEFT JOIN lent le ON le.pack_id = k.id AND le.closed_ms IS NULL LEFT JOIN loan lo ON lo.id = le.loan_id \
             LEFT JOIN person pe ON pe.id = lo.borrower_id LEFT JOIN care ca ON ca.pack_id = k.id \
             LEFT JOIN person ho ON ho.id = ca.home_id ",
            $joins,
            $rest
        )
    };
}

macro_rules! pack_view {
    ($rest:expr) => {
        crate::store::packs::pack_query!("", "", $rest)
    };
}
pub(super) use {pack_query, pack_view};

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<PackView>> {
    row!(conn, PackView, pack_view!("WHERE k.id = $1"), id)
}

pub async fn by_number(conn: &mut Conn, number: &str) -> Result<Option<PackView>> {
    row!(conn, PackView, pack_view!("WHERE k.number = $1"), number)
}

/// Packs whose running number lies in the range, both ends included; at most `at_most`.
pub async fn in_range(conn: &mut Conn, keys: (i64, i64), at_most: i64) -> Result<Vec<PackView>> {
    rows!(
        conn,
        PackView,
        pack_view!(
            "WHERE k.number_key BETWEEN $1 AND $2 AND k.life <> 'withdrawn' ORDER BY k.number_key, k.number LIMIT $3"
        ),
        keys.0,
        keys.1,
        at_most
    )
}

/// The packs with these running numbers, by number.
pub async fn with_keys(conn: &mut Conn, keys: &[i64]) -> Result<Vec<PackView>> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        PackView,
        pack_view!("WHERE k.number_key IN ("),
        keys,
        ") ORDER BY k.number_key, k.number"
    )
}

/// A pack, and the charge that runs on it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct WithNow {
    #[sqlx(flatten)]
    pub pack: PackView,
    #[sqlx(flatten)]
    pub now: NowRow,
}

/// The packs with these running numbers, and what charges them.
pub async fn with_now(conn: &mut Conn, keys: &[i64]) -> Result<Vec<WithNow>> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        WithNow,
        pack_query!(now_columns!(), now_joins!(), "WHERE k.number_key IN ("),
        keys,
        ") ORDER BY k.number_key, k.number"
    )
}

/// In use and lying at this place, by number; what is out or at somebody's home lies there not.
pub async fn lying_at(conn: &mut Conn, place_id: Uuid) -> Result<Vec<PackView>> {
    rows!(
        conn,
        PackView,
        pack_view!(
            "WHERE k.place_id = $1 AND k.life = 'in_use' AND le.id IS NULL AND ca.home_id IS NULL ORDER BY k.number_key, k.number"
        ),
        place_id
    )
}

/// Packs in use with volts on record, by number, after the number `last`.
pub async fn read_in_use(conn: &mut Conn, last: i64, at_most: i64) -> Result<Vec<PackView>> {
    rows!(
        conn,
        PackView,
        pack_view!(
            "WHERE k.life = 'in_use' AND k.last_volts IS NOT NULL AND k.number_key > $1 ORDER BY k.number_key, k.number LIMIT $2"
        ),
        last,
        at_most
    )
}

/// Packs of the same design and batch that are still in use; the batch must have a name.
pub async fn batch_sisters(conn: &mut Conn, pack: &PackView) -> Result<Vec<PackView>> {
    rows!(
        conn,
        PackView,
        pack_view!(
            "WHERE k.batch = $1 AND k.batch <> '' AND k.design_id = $2 AND k.id <> $3 AND k.life = 'in_use' ORDER BY k.number_key"
        ),
        &pack.batch,
        pack.design_id,
        pack.id
    )
}

/// A state with the words that explain it, who brought it about and when.
pub struct NewState<'a> {
    pub state: State,
    pub words: &'a str,
    pub next: &'a str,
    /// When it came into this state and by whom; None: it was in it, and only the words are new.
    pub entered: Option<(Instant, Option<Uuid>)>,
}

pub async fn set_state(tx: &mut Tx, id: Uuid, new: &NewState<'_>) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET state = $2, state_words = $3, state_next = $4, state_ms = COALESCE($5, state_ms), \
         state_by = CASE WHEN CAST($5 AS BIGINT) IS NULL THEN state_by ELSE $6 END WHERE id = $1",
        id,
        new.state.code(),
        new.words,
        new.next,
        new.entered.map(|(at, _)| at),
        new.entered.and_then(|(_, by)| by)
    )?;
    Ok(())
}

/// Keeps the life it had before, for a lost pack that is found again.
pub async fn set_life(tx: &mut Tx, id: Uuid, life: Life) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET life_before = life, life = $2 WHERE id = $1",
        id,
        life.code()
    )?;
    Ok(())
}

pub async fn set_place(tx: &mut Tx, id: Uuid, place_id: Option<Uuid>) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET place_id = $2 WHERE id = $1",
        id,
        place_id
    )?;
    Ok(())
}

/// The life a pack had before its last change of life.
pub async fn life_before(conn: &mut Conn, id: Uuid) -> Result<Option<Life>> {
    let found = row!(
        conn,
        (Option<String>,),
        "SELECT life_before FROM pack WHERE id = $1",
        id
    )?;
    Ok(found.and_then(|(code,)| Life::from_code(&code?)))
}

/// A pack with the loan line, open or closed, by which it was asked for.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct OfLine {
    #[sqlx(flatten)]
    pub pack: PackView,
    pub line_id: Uuid,
    /// It is set aside for its volts alone: a new reading can answer that.
    pub is_for_volts: bool,
    #[sqlx(flatten)]
    pub now: NowRow,
}

/// The packs of these loan lines, by number.
pub async fn of_lines(conn: &mut Conn, lines: &[Uuid]) -> Result<Vec<OfLine>> {
    if lines.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        OfLine,
        pack_query!(
            concat!(
                ", li.id AS line_id, k.state = 'set_aside' AND NOT EXISTS (SELECT 1 FROM finding f WHERE f.pack_id = k.id \
                 AND f.closed_ms IS NULL AND f.gravity = 'to_mend' AND f.rule NOT IN ('spread_wide', 'implausible')) AS is_for_volts",
                now_columns!()
            ),
            concat!("JOIN lent li ON li.pack_id = k.id ", now_joins!()),
            "WHERE li.id IN ("
        ),
        lines,
        ") ORDER BY k.number_key, k.number"
    )
}

/// Every pack that somebody has at home to put it to storage, what is to be done first on top.
pub async fn at_home(conn: &mut Conn) -> Result<Vec<PackView>> {
    rows!(
        conn,
        PackView,
        pack_view!(
            "WHERE ca.home_id IS NOT NULL ORDER BY ca.home_by, LOWER(ho.name), k.number_key, k.number"
        )
    )
}

/// Every pack that is out on a loan.
pub async fn lent(conn: &mut Conn) -> Result<Vec<PackView>> {
    rows!(
        conn,
        PackView,
        pack_view!("WHERE le.id IS NOT NULL ORDER BY k.number_key, k.number")
    )
}
