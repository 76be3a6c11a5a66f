//! Reports of what somebody saw: what was told, what it did, who read and looked.

use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::reports::{About, Double, IsNow, Thing, seen_of};
use crate::club::seen::{Crash, Seen};
use crate::club::verdict::Gravity;
use crate::store::{Conn, Result, Tx, change, row, rows};
use uuid::Uuid;

/// As it is stored, with the names its ids have today.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Report {
    pub id: Uuid,
    pub token: String,
    pub reference: String,
    pub about: String,
    pub thing: String,
    pub pack_id: Option<Uuid>,
    pub poster_id: Option<Uuid>,
    pub seen: String,
    pub crash: Option<String>,
    pub words: String,
    /// Measured with it and stored as a reading; empty: none were.
    pub volts: String,
    pub is_now: String,
    pub place_words: String,
    pub reach: String,
    pub gravity: String,
    pub effect: String,
    pub finding_id: Option<Uuid>,
    pub is_verified: bool,
    pub by_id: Option<Uuid>,
    pub left_out: String,
    /// None: when it came.
    pub made_ms: Option<Instant>,
    pub came_ms: Instant,
    pub read_ms: Option<Instant>,
    pub looked_ms: Option<Instant>,
    pub was_so: Option<bool>,
    pub looked_words: String,
    pub merged_into: Option<Uuid>,
    /// That began with it; empty: none did.
    pub incident: String,
    pub pack_number: Option<String>,
    pub poster_name: Option<String>,
    pub by_name: Option<String>,
    pub read_by_name: Option<String>,
    pub looked_by_name: Option<String>,
    pub has_photo: bool,
    pub photo_erased_ms: Option<Instant>,
    /// A phone sent it until it was here.
    pub is_of_phone: bool,
}

impl Report {
    pub fn about(&self) -> About {
        About::from_code(&self.about).unwrap_or(About::Hall)
    }

    pub fn thing(&self) -> Option<Thing> {
        Thing::from_code(&self.thing)
    }

    pub fn seen(&self) -> Vec<Seen> {
        seen_of(&self.seen)
    }

    pub fn volts(&self) -> Option<Volts> {
        Volts::from_text(&self.volts)
    }

    pub fn crash(&self) -> Option<Crash> {
        self.crash.as_deref().and_then(Crash::from_code)
    }

    pub fn is_now(&self) -> IsNow {
        IsNow::from_code(&self.is_now)
    }

    /// A gravity this program does not know is taken for danger.
    pub fn gravity(&self) -> Gravity {
        Gravity::from_code(&self.gravity).unwrap_or(Gravity::Danger)
    }

    /// It waits for somebody to look before it does all that it tells of: a stranger's, and one that only names its pack.
    pub fn acts_when_looked_at(&self) -> bool {
        self.pack_id.is_some() && (!self.is_verified || self.about() != About::Pack)
    }

    pub fn as_double(&self) -> Double<'_> {
        // Of a pack it is about that, by whatever way it was told.
        let of = self.pack_id.map(|id| id.as_u128());
        let named = |words| if of.is_some() { "" } else { words };
        Double {
            id: self.id.as_u128(),
            of: (named(self.about.as_str()), named(self.thing.as_str()), of),
            gravity: self.gravity(),
            is_merged: self.merged_into.is_some(),
            is_looked_at: self.looked_ms.is_some(),
        }
    }
}

macro_rules! reports {
    ($rest:literal) => {
        concat!(
            "SELECT r.id, r.token, r.reference, r.about, r.thing, r.pack_id, r.poster_id, r.seen, r.crash, r.words, r.volts, r.is_now, \
             r.place_words, r.reach, r.gravity, r.effect, r.finding_id, r.is_verified, r.by_id, TRIM(r.left_out || ' ' || r.photo_refused) AS left_out, r.made_ms, r.came_ms, r.read_ms, \
             r.looked_ms, r.was_so, r.looked_words, r.merged_into, r.incident, k.number AS pack_number, \
             o.name AS poster_name, b.name AS by_name, e.name AS read_by_name, l.name AS looked_by_name, \
             f.report_id IS NOT NULL AS has_photo, r.photo_erased_ms, r.phone_key IS NOT NULL AS is_of_phone FROM report r LEFT JOIN pack k ON k.id = r.pack_id \
             LEFT JOIN poster o ON o.id = r.poster_id LEFT JOIN person b ON b.id = r.by_id LEFT JOIN person e ON e.id = r.read_by \
             LEFT JOIN person l ON l.id = r.looked_by \
             LEFT JOIN report_photo f ON f.report_id = r.id ",
            $rest
        )
    };
}

/// A key that a phone made for one report, a digest of what it sent with it, and when the report was made, where it waited.
pub struct Phone<'a> {
    pub key: &'a str,
    pub hash: &'a str,
    pub made_ms: Option<Instant>,
}

pub struct NewReport<'a> {
    pub id: Uuid,
    pub token: &'a str,
    pub reference: &'a str,
    pub about: About,
    pub thing: &'a str,
    pub pack_id: Option<Uuid>,
    pub poster_id: Option<Uuid>,
    pub seen: &'a str,
    pub crash: Option<&'a str>,
    pub words: &'a str,
    pub volts: &'a str,
    pub is_now: IsNow,
    pub place_words: &'a str,
    pub reach: &'a str,
    pub gravity: Gravity,
    pub rank: i64,
    pub effect: &'a str,
    pub finding_id: Option<Uuid>,
    pub is_verified: bool,
    pub by_id: Option<Uuid>,
    pub network: Option<&'a str>,
    pub left_out: &'a str,
    pub came_ms: Instant,
    /// Of the phone it waited on.
    pub phone: Option<&'a Phone<'a>>,
    /// Who sent it reads all reports themselves.
    pub is_read: bool,
}

pub async fn add(tx: &mut Tx, new: &NewReport<'_>) -> Result<()> {
    change!(
        tx,
        "INSERT INTO report (id, token, reference, about, thing, pack_id, poster_id, seen, crash, words, is_now, place_words, \
         reach, gravity, rank, effect, finding_id, is_verified, by_id, network, left_out, came_ms, read_ms, read_by, \
         phone_key, phone_hash, made_ms, volts) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25, $26, $27, $28)",
        new.id,
        new.token,
        new.reference,
        new.about.code(),
        new.thing,
        new.pack_id,
        new.poster_id,
        new.seen,
        new.crash,
        new.words,
        new.is_now.code(),
        new.place_words,
        new.reach,
        new.gravity.code(),
        new.rank,
        new.effect,
        new.finding_id,
        new.is_verified,
        new.by_id,
        new.network,
        new.left_out,
        new.came_ms,
        new.is_read.then_some(new.came_ms),
        new.by_id.filter(|_| new.is_read),
        new.phone.map(|phone| phone.key),
        new.phone.map(|phone| phone.hash),
        new.phone.and_then(|phone| phone.made_ms),
        new.volts
    )?;
    Ok(())
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Report>> {
    row!(conn, Report, reports!("WHERE r.id = $1"), id)
}

pub async fn by_token(conn: &mut Conn, token: &str) -> Result<Option<Report>> {
    row!(conn, Report, reports!("WHERE r.token = $1"), token)
}

/// Token of the report that a phone sent with this key, and the digest of what it sent.
pub async fn with_phone_key(conn: &mut Conn, key: &str) -> Result<Option<(String, String)>> {
    row!(
        conn,
        (String, String),
        "SELECT token, phone_hash FROM report WHERE phone_key = $1",
        key
    )
}

pub async fn by_reference(conn: &mut Conn, reference: &str) -> Result<Option<Report>> {
    row!(conn, Report, reports!("WHERE r.reference = $1"), reference)
}

/// Those that nobody read, gravest first, within that what members told, then what happens now and the newest: `each` at most of
/// what members told and as many of what strangers did, so that neither can hide the other.
pub async fn unread(conn: &mut Conn, each: i64, skip: i64) -> Result<Vec<Report>> {
    rows!(
        conn,
        Report,
        reports!(
            "WHERE r.id IN (\
             SELECT id FROM (SELECT id FROM report WHERE read_ms IS NULL AND is_verified ORDER BY rank DESC, came_ms DESC, id DESC LIMIT $1 OFFSET $2) m \
             UNION ALL \
             SELECT id FROM (SELECT id FROM report WHERE read_ms IS NULL AND NOT is_verified ORDER BY rank DESC, came_ms DESC, id DESC LIMIT $1 OFFSET $2) s) \
             ORDER BY r.rank / 2 DESC, r.is_verified DESC, r.rank DESC, r.came_ms DESC, r.id DESC"
        ),
        each,
        skip
    )
}

pub async fn unread_of_strangers(conn: &mut Conn) -> Result<Vec<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        "SELECT id FROM report WHERE read_ms IS NULL AND NOT is_verified"
    )?;
    Ok(found.into_iter().map(|(id,)| id).collect())
}

/// Those that somebody read, newest first.
pub async fn read(conn: &mut Conn, before: Instant, at_most: i64) -> Result<Vec<Report>> {
    rows!(
        conn,
        Report,
        reports!(
            "WHERE r.read_ms IS NOT NULL AND r.came_ms < $1 ORDER BY r.came_ms DESC, r.id DESC LIMIT $2"
        ),
        before,
        at_most
    )
}

/// Did a stranger's report from this network quarantine a pack since then?
pub async fn has_quarantined(conn: &mut Conn, network: &str, since: Instant) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(1 AS BIGINT) FROM report WHERE network = $1 AND came_ms > $2 AND effect = 'quarantined' LIMIT 1",
        network,
        since
    )?;
    Ok(found.is_some())
}

pub async fn note_read(tx: &mut Tx, id: Uuid, by: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET read_ms = $2, read_by = $3 WHERE id = $1 AND read_ms IS NULL",
        id,
        at,
        by
    )?;
    Ok(())
}

/// Of this report and its doubles. That it was so is noted in place of that it was not, never the other way.
pub async fn note_looked(
    tx: &mut Tx,
    id: Uuid,
    by: (Uuid, Instant),
    said: (bool, &str),
) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET looked_ms = $2, looked_by = $3, was_so = $4, looked_words = $5 \
         WHERE (id = $1 OR merged_into = $1) AND (looked_ms IS NULL OR (was_so = FALSE AND $6))",
        id,
        by.1,
        by.0,
        said.0,
        said.1,
        said.0
    )?;
    Ok(())
}

pub async fn merge(tx: &mut Tx, id: Uuid, into: Uuid) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET merged_into = $2 WHERE id = $1",
        id,
        into
    )?;
    Ok(())
}

/// An incident began with it and its doubles, but for one that stands in the book already.
pub async fn begins(tx: &mut Tx, id: Uuid, incident: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET incident = $2 WHERE (id = $1 OR merged_into = $1) AND incident = ''",
        id,
        incident
    )?;
    Ok(())
}

/// A report and its doubles.
pub async fn with_doubles(conn: &mut Conn, id: Uuid) -> Result<Option<(Report, Vec<Report>)>> {
    let found = rows!(
        conn,
        Report,
        reports!(
            "WHERE r.id = $1 OR r.merged_into = $1 ORDER BY CASE WHEN r.id = $1 THEN 0 ELSE 1 END, r.came_ms, r.id"
        ),
        id
    )?;
    let mut found = found.into_iter();
    Ok(found.next().map(|report| (report, found.collect())))
}

/// Of a double the report that it was merged into, else itself.
pub async fn that_stays(conn: &mut Conn, id: Uuid) -> Result<Option<Report>> {
    row!(
        conn,
        Report,
        reports!(
            "WHERE r.id = (SELECT COALESCE(one.merged_into, one.id) FROM report one WHERE one.id = $1)"
        ),
        id
    )
}

pub async fn doubles_of(conn: &mut Conn, id: Uuid) -> Result<Vec<Report>> {
    rows!(
        conn,
        Report,
        reports!("WHERE r.merged_into = $1 ORDER BY r.came_ms, r.id"),
        id
    )
}

/// Networks are forgotten once they can't count any more.
pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET network = NULL WHERE network IS NOT NULL AND came_ms < $1",
        before
    )?;
    Ok(())
}
