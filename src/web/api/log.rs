//! The club's log, checking it, and as it stood.

use super::history::{BeforeAsked, History};
use super::operation::{Call, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::store::log::{self, Head};
use crate::store::names;
use crate::web::history::{ASKED, Part};
use crate::web::log_page::Line;
use crate::web::{log_check, stood};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

pub async fn list(call: Call<BeforeAsked>) -> Result<History, Trouble> {
    let mut conn = call.app.db.read().await?;
    let before = call.sent.before.unwrap_or(i64::MAX);
    let found = log::latest(&mut conn, before, ASKED).await?;
    let (names, _) = names::with_head(&mut conn).await?;
    drop(conn);
    let line = |entry| Line::told(entry, &call.who, Some(&names));
    Ok(History::told(Part::of(found), line))
}

/// Number and seal of the last entry.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Seal {
    pub seq: i64,
    /// 64 hexadecimal digits.
    pub seal: String,
}

impl From<Head> for Seal {
    fn from(head: Head) -> Self {
        Self {
            seq: head.seq,
            seal: head.hash,
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct LogCheck {
    pub head: Seal,
    /// The first entry that does not commit to the one before it; null: the log holds.
    pub first_break: Option<i64>,
    /// The seal that the entry asked for carries: compare it with the printed one. null: there is no such entry.
    pub seal: Option<String>,
}

impl Shown for LogCheck {
    fn example() -> Self {
        Self {
            head: Seal {
                seq: 12,
                seal: "0".repeat(64),
            },
            first_break: None,
            seal: None,
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckAsked {
    /// Number of an entry as a report printed it.
    number: Option<i64>,
}

pub async fn check(call: Call<CheckAsked>) -> Result<LogCheck, Trouble> {
    let number = call.sent.number.unwrap_or(0);
    let found = log_check::checked(&call.app, &call.who, number).await?;
    Ok(LogCheck {
        head: found.head.into(),
        first_break: found.first_break,
        seal: found.seal,
    })
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct StoodPack {
    pub number: String,
    pub what: String,
    pub state: String,
    pub why: String,
    pub whereabouts: String,
    pub volts: String,
}

#[derive(Serialize, ToSchema)]
pub struct Stood {
    pub until: String,
    /// All of them by number.
    pub packs: Vec<StoodPack>,
    /// Of the log as it is now.
    pub head: Seal,
}

impl Shown for Stood {
    fn example() -> Self {
        Self {
            until: "2026-11-25T18:30:59.999Z".to_owned(),
            packs: vec![StoodPack {
                number: "P-001".to_owned(),
                what: "3S 2200 mAh LiPo".to_owned(),
                state: "fit".to_owned(),
                ..StoodPack::default()
            }],
            head: Seal::default(),
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StoodAsked {
    /// YYYY-MM-DD; left out: today.
    day: Option<String>,
    /// HH:MM in the hall; left out: now.
    time: Option<String>,
}

pub async fn as_it_stood(call: Call<StoodAsked>) -> Result<Stood, Trouble> {
    let asked = stood::Asked {
        day: call.sent.day.unwrap_or_default(),
        time: call.sent.time.unwrap_or_default(),
    };
    let when = stood::when(&asked, &call.who);
    if !when.problems.is_empty() {
        return Err((&when.problems).into());
    }
    let (rows, head) = stood::rows(&call.app, &call.who, when.until).await?;
    let packs = rows.into_iter().map(|row| StoodPack {
        number: row.number,
        what: row.what,
        state: row.state.code().to_owned(),
        why: row.why,
        whereabouts: row.where_words,
        volts: row.volts,
    });
    Ok(Stood {
        until: instant(when.until),
        packs: packs.collect(),
        head: head.into(),
    })
}
