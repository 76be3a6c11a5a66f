//! A part of the log, of one thing or of the club: at most fifty entries, the latest first.

use super::operation::Shown;
use super::words::instant;
use crate::store::log::Told;
use crate::web::history::{Before, Part};
use crate::web::log_page::Line;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct HistoryEntry {
    /// Its number in the club's log.
    pub seq: i64,
    pub at: String,
    pub words: String,
    /// `room: Workshop → Hall`
    pub changes: Vec<String>,
}

#[derive(Serialize, ToSchema)]
pub struct History {
    /// At most 50, the latest first.
    pub entries: Vec<HistoryEntry>,
    /// What to ask for as `before` next; null: there is nothing older.
    pub older: Option<i64>,
}

impl Shown for History {
    fn example() -> Self {
        Self {
            entries: vec![HistoryEntry {
                seq: 12,
                at: "2026-11-25T18:30:00Z".to_owned(),
                words: "P-001 logged volts.".to_owned(),
                changes: Vec::new(),
            }],
            older: None,
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BeforeAsked {
    /// Number of an entry: those before it.
    pub before: Option<i64>,
}

impl History {
    /// `line`: how an entry reads for whoever asks.
    pub fn told(part: Part, line: impl Fn(Told) -> Line) -> Self {
        let entries = part.entries.into_iter().map(|entry| {
            let at = instant(entry.at_ms);
            let line = line(entry);
            HistoryEntry {
                seq: line.seq,
                at,
                words: line.words,
                changes: line.changes,
            }
        });
        Self {
            entries: entries.collect(),
            older: part.older,
        }
    }
}

impl BeforeAsked {
    pub fn as_page(&self) -> Before {
        Before {
            before: self.before.map_or_else(String::new, |seq| seq.to_string()),
        }
    }
}
