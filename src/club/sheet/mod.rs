//! Spreadsheets of a club, brought in and written: what a sheet may hold, what somebody chose about it, and how large it may
//! be. A sheet adds packs, designs and kit and changes details; it can neither set nor lift a state. Pure: `text` splits it,
//! `columns` knows the fields, `cells` and `named` read a cell, `plan` says what comes of it, `written` writes one.

pub mod cells;
pub mod columns;
pub mod known;
pub mod named;
pub mod plan;
mod plan_designs;
mod plan_kit;
mod plan_packs;
mod row;
pub mod shown;
pub mod text;
pub mod written;

use cells::{DayOrder, Mark};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

pub const MOST_BYTES: usize = 4 * 1024 * 1024;
pub const MOST_ROWS: usize = 20_000;
pub const MOST_COLUMNS: usize = 100;
/// Longer than any field of a form.
pub const LONGEST_CELL: usize = 2_000;
/// So many of what is wrong are shown; the rest is counted.
pub const SHOWN: usize = 200;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    Packs,
    Designs,
    Kit,
}

impl Holds {
    pub const ALL: [Self; 3] = [Self::Packs, Self::Designs, Self::Kit];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Packs => "packs",
            Self::Designs => "designs",
            Self::Kit => "kit",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Packs => "Packs",
            Self::Designs => "Designs of packs",
            Self::Kit => "Chargers, supplies, cables, adapters or boards",
        }
    }
}

/// What becomes of rows whose number, or design whose name, is on record already.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Existing {
    Leave,
    Change,
}

impl Existing {
    pub fn from_code(code: &str) -> Option<Self> {
        match code {
            "leave" => Some(Self::Leave),
            "change" => Some(Self::Change),
            _ => None,
        }
    }
}

/// What somebody said of a sheet, step by step. Nothing of it is guessed without being shown.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Choices {
    /// The kind of all kit in the sheet; None: a column says it.
    pub kind: Option<String>,
    /// A field's code, and which column of the sheet has it.
    pub columns: BTreeMap<String, usize>,
    /// The columns were looked at.
    pub are_columns_chosen: bool,
    pub days: Option<DayOrder>,
    pub comma: Option<Mark>,
    pub point: Option<Mark>,
    pub existing: Option<Existing>,
}

/// What is wrong with one cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// As an editor counts lines, the heading's being 1.
    pub line: usize,
    pub column: String,
    pub words: String,
}

/// What is wrong with a sheet: the first of it, and how much there is. A sheet can be wrong in more places than anybody reads.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Troubles {
    pub shown: Vec<Trouble>,
    pub count: usize,
}

impl Troubles {
    pub fn add(&mut self, trouble: Trouble) {
        self.count += 1;
        if self.shown.len() < SHOWN {
            self.shown.push(trouble);
        }
    }

    pub const fn is_empty(&self) -> bool {
        self.count == 0
    }
}

impl Extend<Trouble> for Troubles {
    fn extend<T: IntoIterator<Item = Trouble>>(&mut self, troubles: T) {
        for trouble in troubles {
            self.add(trouble);
        }
    }
}

impl From<Trouble> for Troubles {
    fn from(trouble: Trouble) -> Self {
        let mut all = Self::default();
        all.add(trouble);
        all
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Line {}, {}: {}", self.line, self.column, self.words)
    }
}
