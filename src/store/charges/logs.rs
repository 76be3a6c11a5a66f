//! Charge logs of packs: what each showed, and files on their way in, each seen by nobody but who sent it.

use crate::battery::log::current_sign::CurrentSign;
use crate::club::calendar::{Day, Instant};
use crate::club::charge_log::read_back::Choices;
use crate::club::charge_log::which_charge::Logged;
use crate::club::charge_log::{ChargeLog, points};
use crate::store::packs::{PackView, pack_query};
use crate::store::{Conn, Result, StoreError, Tx, change, row, rows};
use serde::Serialize;
use uuid::Uuid;

/// So many files a person may have on their way; the oldest goes when one more comes.
pub const MOST_WAITING: i64 = 3;

/// What a list tells of a log. Columns that a pack has too are named apart.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Listed {
    #[sqlx(rename = "log_id")]
    pub id: Uuid,
    #[sqlx(rename = "log_pack_id")]
    pub pack_id: Uuid,
    pub added_ms: Instant,
    pub added_by: Uuid,
    /// None: erased since.
    pub added_by_name: Option<String>,
    logged_on: Option<String>,
    #[sqlx(rename = "log_name")]
    pub name: String,
    pub original_sha256: String,
    pub run: i64,
    pub seconds: i64,
    pub charged_uah: i64,
    pub discharged_uah: i64,
    pub capacity_uah: Option<i64>,
    pub capacity_doubt_uah: Option<i64>,
    pub resistance_uohm: Option<i64>,
}

/// The columns of a list's row; `l`: the log, `lp`: who brought it in.
macro_rules! listed {
    () => {
        "l.id AS log_id, l.pack_id AS log_pack_id, l.added_ms, l.added_by, lp.name AS added_by_name, l.logged_on, l.name AS log_name, \
         l.original_sha256, l.run, l.seconds, l.charged_uah, l.discharged_uah, l.capacity_uah, l.capacity_doubt_uah, l.resistance_uohm"
    };
}

impl Listed {
    pub fn logged_on(&self) -> Option<Day> {
        self.logged_on.as_deref().and_then(Day::parse)
    }

    pub fn logged(&self) -> Logged {
        Logged {
            on: self.logged_on(),
            brought_in: self.added_ms,
            is_charge: self.charged_uah > self.discharged_uah,
            moved_mah: (self.charged_uah - self.discharged_uah).abs() / 1_000,
            seconds: self.seconds,
        }
    }
}

/// A log with all that it showed, and its pack.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Whole {
    #[sqlx(flatten)]
    pub pack: PackView,
    #[sqlx(flatten)]
    pub listed: Listed,
    sign: String,
    told: String,
    points: String,
}

impl Whole {
    pub fn told(&self) -> Result<ChargeLog> {
        read(&self.told)
    }

    pub fn points(&self) -> Vec<points::Point> {
        points::from_text(&self.points)
    }

    pub fn sign(&self) -> Option<CurrentSign> {
        CurrentSign::from_code(&self.sign)
    }
}

/// A log as it is stored.
pub struct NewLog<'a> {
    pub id: Uuid,
    pub pack_id: Uuid,
    pub by: (Uuid, Instant),
    pub logged_on: Option<&'a str>,
    pub name: &'a str,
    pub original_sha256: &'a str,
    pub run: i64,
    pub sign: CurrentSign,
    pub told: &'a ChargeLog,
    pub points: &'a [points::Point],
    /// Between when what it logged may have gone on.
    pub span: (Instant, Instant),
}

/// A file as it comes in.
pub struct Arrived<'a> {
    pub name: &'a str,
    pub original_sha256: &'a str,
    pub file: &'a [u8],
    pub choices: &'a Choices,
}

/// A file on its way, and the pack whose log it is said to be.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Waiting {
    #[sqlx(flatten)]
    pub pack: PackView,
    pub waiting_id: Uuid,
    pub file_name: String,
    pub original_sha256: String,
    pub file: Vec<u8>,
    /// As stored: two are the same choices where they are the same text.
    pub choices: String,
    pub sent_ms: Instant,
}

impl Waiting {
    pub fn choices(&self) -> Result<Choices> {
        read(&self.choices)
    }
}

fn read<T: for<'t> serde::Deserialize<'t>>(text: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|error| StoreError::Internal(error.to_string()))
}

fn to_json(value: &impl Serialize) -> Result<String> {
    serde_json::to_string(value).map_err(|error| StoreError::Internal(error.to_string()))
}

/// Latest first.
pub async fn of_pack(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<Listed>> {
    rows!(
        conn,
        Listed,
        concat!(
            "SELECT ",
            listed!(),
            " FROM charge_log l LEFT JOIN person lp ON lp.id = l.added_by WHERE l.pack_id = $1 ORDER BY l.added_ms DESC, l.id DESC"
        ),
        pack_id
    )
}

/// The same file, brought in already: which log each is, whose, and which of those in the file.
pub async fn of_file(conn: &mut Conn, digest: &str) -> Result<Vec<(Uuid, String, i64)>> {
    rows!(
        conn,
        (Uuid, String, i64),
        "SELECT l.id, k.number, l.run FROM charge_log l JOIN pack k ON k.id = l.pack_id WHERE l.original_sha256 = $1 \
         ORDER BY k.number_key, k.number, l.run LIMIT 40",
        digest
    )
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Whole>> {
    row!(
        conn,
        Whole,
        pack_query!(
            concat!(", ", listed!(), ", l.sign, l.told, l.points"),
            "JOIN charge_log l ON l.pack_id = k.id LEFT JOIN person lp ON lp.id = l.added_by ",
            "WHERE l.id = $1"
        ),
        id
    )
}

pub async fn add(tx: &mut Tx, log: &NewLog<'_>) -> Result<()> {
    let micro = |thousandths: f64| (thousandths * 1_000.0).round() as i64;
    let capacity = log.told.capacity();
    change!(
        tx,
        "INSERT INTO charge_log (id, pack_id, added_ms, added_by, logged_on, name, original_sha256, run, sign, seconds, charged_uah, \
         discharged_uah, capacity_uah, capacity_doubt_uah, resistance_uohm, told, points, from_ms, to_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)",
        log.id,
        log.pack_id,
        log.by.1,
        log.by.0,
        log.logged_on,
        log.name,
        log.original_sha256,
        log.run,
        log.sign.code(),
        log.told.seconds.round() as i64,
        micro(log.told.charged_mah),
        micro(log.told.discharged_mah),
        capacity.map(|(mah, _)| micro(mah)),
        capacity.map(|(_, doubt_mah)| micro(doubt_mah)),
        log.told.cell_milliohm().map(micro),
        to_json(log.told)?,
        points::to_text(log.points),
        log.span.0,
        log.span.1
    )?;
    Ok(())
}

pub async fn remove(tx: &mut Tx, id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM charge_log WHERE id = $1", id)?;
    Ok(())
}

/// The person's own file on its way.
pub async fn own_waiting(conn: &mut Conn, id: Uuid, person_id: Uuid) -> Result<Option<Waiting>> {
    row!(
        conn,
        Waiting,
        pack_query!(
            ", w.id AS waiting_id, w.name AS file_name, w.original_sha256, w.file, w.choices, w.at_ms AS sent_ms",
            "JOIN charge_log_waiting w ON w.pack_id = k.id ",
            "WHERE w.id = $1 AND w.person_id = $2"
        ),
        id,
        person_id
    )
}

/// The person's own on their way for this pack, latest first: id, name and when each came.
pub async fn waiting_for(
    conn: &mut Conn,
    pack_id: Uuid,
    person_id: Uuid,
) -> Result<Vec<(Uuid, String, Instant)>> {
    rows!(
        conn,
        (Uuid, String, Instant),
        "SELECT id, name, at_ms FROM charge_log_waiting WHERE pack_id = $1 AND person_id = $2 ORDER BY at_ms DESC, id DESC",
        pack_id,
        person_id
    )
}

/// `of`: the pack; `by`: who sent it, and when.
pub async fn wait(
    tx: &mut Tx,
    id: Uuid,
    of: Uuid,
    by: (Uuid, Instant),
    arrived: &Arrived<'_>,
) -> Result<()> {
    change!(
        tx,
        "INSERT INTO charge_log_waiting (id, person_id, pack_id, name, original_sha256, file, choices, at_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        id,
        by.0,
        of,
        arrived.name,
        arrived.original_sha256,
        arrived.file,
        to_json(arrived.choices)?,
        by.1
    )?;
    change!(
        tx,
        "DELETE FROM charge_log_waiting WHERE person_id = $1 AND id NOT IN \
         (SELECT id FROM charge_log_waiting WHERE person_id = $1 ORDER BY at_ms DESC, id DESC LIMIT $2)",
        by.0,
        MOST_WAITING
    )?;
    Ok(())
}

/// Whether it was there.
pub async fn choose(tx: &mut Tx, id: Uuid, person_id: Uuid, choices: &Choices) -> Result<bool> {
    let changed = change!(
        tx,
        "UPDATE charge_log_waiting SET choices = $3 WHERE id = $1 AND person_id = $2",
        id,
        person_id,
        to_json(choices)?
    )?;
    Ok(changed > 0)
}

/// Whether it was there.
pub async fn forget(tx: &mut Tx, id: Uuid, person_id: Uuid) -> Result<bool> {
    let gone = change!(
        tx,
        "DELETE FROM charge_log_waiting WHERE id = $1 AND person_id = $2",
        id,
        person_id
    )?;
    Ok(gone > 0)
}

pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(
        tx,
        "DELETE FROM charge_log_waiting WHERE at_ms < $1",
        before
    )?;
    Ok(())
}
