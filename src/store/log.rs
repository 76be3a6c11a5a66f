//! The log of every change: who, when, what, before and after. Append-only; each entry commits to the one before it,
//! so that an edit, a deletion or a swap shows. Stores ids, not names: erasing a person leaves it whole.

use super::designs::build_of;
use super::{Conn, Result, StoreError, Tx, change, each_row, row, rows};
use crate::battery::limits::LabelVolts;
use crate::club::calendar::Instant;
use crate::ids;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Clone, Debug)]
pub struct Entry<'a> {
    pub at: Instant,
    /// None: the program itself.
    pub by: Option<Uuid>,
    /// With which of their tokens; None: they did it themselves.
    pub by_token: Option<Uuid>,
    pub verb: &'a str,
    /// What kind of thing changed: pack, kit, person, loan, place, design, club, night.
    pub subject: &'a str,
    pub subject_id: Uuid,
    /// JSON, `null` where there was nothing.
    pub before: String,
    pub after: String,
}

/// An entry, and the head of the log at the same instant.
#[derive(Clone, Debug, sqlx::FromRow)]
struct Logged {
    seq: i64,
    at_ms: Instant,
    by_id: Option<Uuid>,
    by_token: Option<Uuid>,
    verb: String,
    subject: String,
    subject_id: Uuid,
    before: String,
    after: String,
    hash: String,
    head_seq: i64,
    head_hash: String,
}

impl Logged {
    /// The seal that follows from the one before it and from what the entry says.
    fn should_carry(&self, before: &str) -> String {
        let entry = Entry {
            at: self.at_ms,
            by: self.by_id,
            by_token: self.by_token,
            verb: &self.verb,
            subject: &self.subject,
            subject_id: self.subject_id,
            before: self.before.clone(),
            after: self.after.clone(),
        };
        link(before, self.seq, &entry)
    }
}

/// The head is read before a transaction's first entry and kept as it is saved: of thousands of entries each would else find
/// the row of the head behind all that it was before.
pub async fn add(tx: &mut Tx, entry: &Entry<'_>) -> Result<()> {
    let last = match &tx.log_head {
        Some(head) => head.clone(),
        None => head(tx).await?,
    };
    let seq = last.seq + 1;
    let hash = link(&last.hash, seq, entry);
    change!(
        tx,
        "INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash, by_token) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        seq,
        entry.at,
        entry.by,
        entry.verb,
        entry.subject,
        entry.subject_id,
        &entry.before,
        &entry.after,
        &hash,
        entry.by_token
    )?;
    tx.log_head = Some(Head { seq, hash });
    Ok(())
}

/// The log's end from now on.
pub(super) async fn keep_head(conn: &mut Conn, head: &Head) -> Result<()> {
    change!(
        conn,
        "UPDATE turn SET log_seq = $1, log_hash = $2 WHERE id = 1",
        head.seq,
        &head.hash
    )?;
    Ok(())
}

/// SHA-256 over the previous link and every field, each with its length, so that no two entries read alike. Entries that no
/// token made have no field for it.
fn link(previous: &str, seq: i64, entry: &Entry<'_>) -> String {
    let by = entry.by.map_or_else(String::new, |id| id.to_string());
    let token = entry.by_token.map(|id| id.to_string());
    let fields = [
        previous,
        &seq.to_string(),
        &entry.at.ms().to_string(),
        &by,
        entry.verb,
        entry.subject,
        &entry.subject_id.to_string(),
        &entry.before,
        &entry.after,
    ];
    let text: Vec<String> = fields
        .into_iter()
        .chain(token.as_deref())
        .map(|field| format!("{}:{field}", field.len()))
        .collect();
    ids::digest(&text.join(","))
}

/// The number of the first entry that does not commit to the one before it, or the head's when the end was cut off;
/// None when the chain holds.
pub async fn first_break(conn: &mut Conn) -> Result<Option<i64>> {
    Ok(check(conn, 0).await?.first_break)
}

/// What reading the whole log from its start found.
pub struct Checked {
    pub first_break: Option<i64>,
    pub head: Head,
    /// The seal that the entry asked for carries; None: there is no such entry.
    pub seal: Option<String>,
}

/// Reads the log from its start, and the seal of the entry `seq`. Log and head are read by one statement and so at one
/// instant: what others write meanwhile is in both or in neither.
pub async fn check(conn: &mut Conn, seq: i64) -> Result<Checked> {
    // An empty log has no row to bring the head; then this one must be that of an empty log.
    let mut head = head(conn).await?;
    let mut last = Head {
        seq: 0,
        hash: String::new(),
    };
    let (mut first_break, mut seal) = (None, None);
    each_row!(
        conn,
        Logged,
        "SELECT a.seq, a.at_ms, a.by_id, a.by_token, a.verb, a.subject, a.subject_id, a.before, a.after, a.hash, \
         t.log_seq AS head_seq, t.log_hash AS head_hash \
         FROM activity a CROSS JOIN turn t WHERE t.id = 1 ORDER BY a.seq",
        |logged| {
            if logged.seq != last.seq + 1 || logged.hash != logged.should_carry(&last.hash) {
                first_break = first_break.or(Some(last.seq + 1));
            }
            if logged.seq == seq {
                seal = Some(logged.hash.clone());
            }
            last.seq = logged.seq;
            last.hash = logged.hash;
            head.seq = logged.head_seq;
            head.hash = logged.head_hash;
        }
    )?;
    let is_short = head != last;
    Ok(Checked {
        first_break: first_break.or(is_short.then_some(last.seq + 1)),
        head,
        seal,
    })
}

/// Number and seal of the last entry. Printed on a report it shows later whether the log was cut off or written anew.
#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Head {
    pub seq: i64,
    pub hash: String,
}

async fn head(conn: &mut Conn) -> Result<Head> {
    let found = row!(
        conn,
        Head,
        "SELECT log_seq AS seq, log_hash AS hash FROM turn WHERE id = 1"
    )?;
    found.ok_or_else(no_turn)
}

pub(super) fn no_turn() -> StoreError {
    StoreError::Internal("the turn row is missing".to_owned())
}

/// Who got it, and how many of what is counted, is on the lines of the loan that were opened at the same instant.
macro_rules! told {
    ($called:literal, $rest:literal) => {
        concat!(
            "SELECT a.seq, a.at_ms, a.verb, a.subject, a.subject_id, a.before, a.after, a.by_id, p.name AS by_name, \
             a.by_token, tn.name AS token_name, \
             CASE WHEN a.verb = 'handed out' THEN COALESCE( \
              (SELECT b.name FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person b ON b.id = lo.borrower_id \
               WHERE le.pack_id = a.subject_id AND le.opened_ms = a.at_ms LIMIT 1), \
              (SELECT b.name FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person b ON b.id = lo.borrower_id \
               WHERE le.kit_id = a.subject_id AND le.opened_ms = a.at_ms LIMIT 1)) \
              WHEN a.verb = 'taken home to put to storage' THEN (SELECT b.name FROM round_pack rp JOIN person b ON b.id = rp.home_id \
               WHERE rp.pack_id = a.subject_id AND rp.home_ms = a.at_ms LIMIT 1) END AS to_name, \
             CASE WHEN a.subject = 'kit' AND a.verb = 'handed out' THEN (SELECT CAST(SUM(le.counted) AS BIGINT) FROM lent le \
               WHERE le.kit_id = a.subject_id AND le.opened_ms = a.at_ms) END AS went_out, ",
            $called,
            " AS called FROM activity a LEFT JOIN person p ON p.id = a.by_id LEFT JOIN token_name tn ON tn.token_id = a.by_token ",
            $rest
        )
    };
}

/// Latest first, before `seq` (from the end: `i64::MAX`).
pub async fn latest(conn: &mut Conn, before_seq: i64, at_most: i64) -> Result<Vec<Told>> {
    rows!(
        conn,
        Told,
        told!(
            "COALESCE(k.number, i.number, d.name, pl.name, t.name, r.reference, ev.name, CASE WHEN s.id IS NOT NULL THEN COALESCE(s.name, '(erased)') END)",
            "LEFT JOIN pack k ON k.id = a.subject_id LEFT JOIN kit i ON i.id = a.subject_id \
             LEFT JOIN design d ON d.id = a.subject_id LEFT JOIN place pl ON pl.id = a.subject_id \
             LEFT JOIN tablet t ON t.id = a.subject_id LEFT JOIN report r ON r.id = a.subject_id \
             LEFT JOIN event ev ON ev.id = a.subject_id LEFT JOIN person s ON s.id = a.subject_id \
             WHERE a.seq < $1 ORDER BY a.seq DESC LIMIT $2"
        ),
        before_seq,
        at_most
    )
}

const TAKEN_HOME: &str = "taken home to put to storage";

/// An entry as it is told: with the names its ids have today.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Told {
    pub seq: i64,
    pub at_ms: Instant,
    pub verb: String,
    pub subject: String,
    pub subject_id: Uuid,
    pub before: String,
    pub after: String,
    by_id: Option<Uuid>,
    by_name: Option<String>,
    by_token: Option<Uuid>,
    token_name: Option<String>,
    to_name: Option<String>,
    /// How many of what is counted went out.
    went_out: Option<i64>,
    /// What the subject is called; None: it has no name, or its own page asks.
    pub called: Option<String>,
}

impl Told {
    /// Their name of today; that they were erased, or not signed in; or, for what nobody did, the console. Behind it the token
    /// that acted for them, called as it was.
    pub fn by(&self) -> String {
        let person = match (&self.by_name, self.by_id) {
            (Some(name), _) => name,
            (None, Some(id)) if id.is_nil() => "somebody unnamed",
            (None, Some(_)) => "(erased)",
            (None, None) => "the console",
        };
        match (&self.token_name, self.by_token) {
            (Some(name), _) => format!("{person}, by token “{name}”"),
            (None, Some(_)) => format!("{person}, by a token"),
            (None, None) => person.to_owned(),
        }
    }

    /// `handed out to Mo Tennant`, for those who may know; of what is counted also how many: `taken back: 2`.
    pub fn what_was_done(&self, may_name: bool) -> String {
        let done = match &self.to_name {
            Some(name) if may_name && self.verb == TAKEN_HOME => format!("{} by {name}", self.verb),
            Some(name) if may_name => format!("{} to {name}", self.verb),
            _ => self.verb.clone(),
        };
        self.went_out
            .or_else(|| self.came_back())
            .map_or_else(|| done.clone(), |count| format!("{done}: {count}"))
    }

    /// How many of what is counted came back, as the entry itself keeps it.
    fn came_back(&self) -> Option<i64> {
        #[derive(Deserialize)]
        struct After {
            #[serde(rename = "came_back_count")]
            count: i64,
        }
        serde_json::from_str(&self.after)
            .ok()
            .map(|after: After| after.count)
    }
}

pub async fn of_subject(
    conn: &mut Conn,
    subject_id: Uuid,
    before_seq: i64,
    at_most: i64,
) -> Result<Vec<Told>> {
    rows!(
        conn,
        Told,
        told!(
            "CAST(NULL AS TEXT)",
            "WHERE a.subject_id = $1 AND a.seq < $2 ORDER BY a.seq DESC LIMIT $3"
        ),
        subject_id,
        before_seq,
        at_most
    )
}

#[derive(Clone, Debug, sqlx::FromRow)]
struct Standing {
    #[sqlx(flatten)]
    head: Head,
    after: Option<String>,
    chemistry: Option<String>,
    cells_series: Option<i64>,
    groups_parallel: Option<i64>,
    capacity_mah: Option<i64>,
    settings: Option<String>,
}

impl Standing {
    /// What the log said of a pack, and what it is: a design in use keeps its nature, so that is what it was then.
    fn pack(self) -> Option<(String, String)> {
        let build = build_of(
            &self.chemistry?,
            (self.cells_series?, self.groups_parallel?),
            self.capacity_mah?,
            false,
            LabelVolts::default(),
        );
        Some((self.after?, build.words()))
    }
}

/// The pool at some instant, in the words of the log.
pub struct Stood {
    /// What each pack's last entry at or before then said of it, and what it is: `3S 450 mAh LiPo`.
    pub packs: Vec<(String, String)>,
    /// The same of the club's settings; None: nobody had changed them.
    pub settings: Option<String>,
    /// The head of the log as it is now.
    pub head: Head,
}

pub async fn as_it_stood(conn: &mut Conn, at: Instant) -> Result<Stood> {
    let found = rows!(
        conn,
        Standing,
        "SELECT t.log_seq AS seq, t.log_hash AS hash, a.after, d.chemistry, d.cells_series, d.groups_parallel, d.capacity_mah, \
         (SELECT c.after FROM activity c WHERE c.subject_id = $2 AND c.verb = 'changed the settings' AND c.at_ms <= $1 \
         ORDER BY c.seq DESC LIMIT 1) AS settings FROM turn t LEFT JOIN \
         (SELECT MAX(seq) AS seq FROM activity WHERE subject = 'pack' AND at_ms <= $1 GROUP BY subject_id) last ON TRUE \
         LEFT JOIN activity a ON a.seq = last.seq LEFT JOIN pack k ON k.id = a.subject_id \
         LEFT JOIN design d ON d.id = k.design_id",
        at,
        Uuid::nil()
    )?;
    let first = found.first().ok_or_else(no_turn)?;
    Ok(Stood {
        head: first.head.clone(),
        settings: first.settings.clone(),
        packs: found.into_iter().filter_map(Standing::pack).collect(),
    })
}
