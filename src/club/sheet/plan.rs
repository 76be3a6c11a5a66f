//! What comes of a sheet: what would be added and changed, which rows are wrong, and what must be asked before anything
//! can be said. The same plan is shown before and carried out after.

use super::cells::{doubtful_mark, is_doubtful_day};
use super::columns::{self, Column, Reads};
use super::known::Known;
use super::row::Reader;
use super::text::Grid;
use super::{Choices, Holds, Troubles};
use crate::bench::kit::KitKind;
use crate::bench::typed::Words;
use crate::club::calendar::Day;
use crate::club::kit::KitSheet;
use crate::club::pack_form::Details;
use crate::club::register::{self, DesignSheet};
use uuid::Uuid;

/// Under which settings of the club a sheet is read.
#[derive(Clone, Copy, Debug)]
pub struct Setting<'c> {
    pub numbers: Words,
    pub pack_prefix: &'c str,
    pub today: Day,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DesignOf {
    Known(Uuid),
    /// One of the plan's new designs.
    New(usize),
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewPack {
    pub number_key: i64,
    pub design: DesignOf,
    pub details: Details,
}

/// A pack on record as it would stand: only the fields that the sheet has columns for differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackChange {
    pub id: Uuid,
    pub number: String,
    pub line: usize,
    pub design_id: Uuid,
    pub details: Details,
    pub is_moved: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewKit {
    pub number_key: i64,
    pub sheet: KitSheet,
}

/// A thing on record as it would stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitChange {
    pub id: Uuid,
    pub number: String,
    pub sheet: KitSheet,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Plan {
    pub troubles: Troubles,
    /// Numbers, or names of designs, that are on record already.
    pub existing: Vec<String>,
    pub designs: Vec<DesignSheet>,
    pub packs: Vec<NewPack>,
    pub kit: Vec<NewKit>,
    /// Of what is on record only that of which the sheet says something else.
    pub pack_changes: Vec<PackChange>,
    pub design_changes: Vec<(Uuid, DesignSheet)>,
    pub kit_changes: Vec<KitChange>,
}

impl Plan {
    pub fn changes(&self) -> usize {
        self.pack_changes.len() + self.design_changes.len() + self.kit_changes.len()
    }

    /// How many rows are on record and stay as they are.
    pub fn left(&self) -> usize {
        self.existing.len().saturating_sub(self.changes())
    }

    /// The numbers of the first new pack and of the last.
    pub fn first_and_last(&self, prefix: &str) -> Option<(String, String)> {
        let keys = || self.packs.iter().map(|pack| pack.number_key);
        let number = |key: i64| register::number(prefix, key);
        Some((number(keys().min()?), number(keys().max()?)))
    }

    /// Nothing would come of it.
    pub fn is_empty(&self) -> bool {
        self.designs.is_empty()
            && self.packs.is_empty()
            && self.kit.is_empty()
            && self.changes() == 0
    }
}

/// `P-001 to P-012`, or the one number.
pub fn span((first, last): &(String, String)) -> String {
    if first == last {
        first.clone()
    } else {
        format!("{first} to {last}")
    }
}

/// The first cell that could mean two things.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    pub line: usize,
    pub column: String,
    pub text: String,
}

/// What somebody has to say before the sheet can be read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Doubts {
    pub days: Option<Doubt>,
    pub comma: Option<Doubt>,
    pub point: Option<Doubt>,
}

/// The columns such a sheet may have.
pub fn columns_of(holds: Holds, choices: &Choices) -> Vec<Column> {
    columns::of(holds, choices.kind.as_deref().and_then(KitKind::from_code))
}

pub fn doubts(grid: &Grid, holds: Holds, choices: &Choices) -> Doubts {
    let mut found = Doubts::default();
    for column in columns_of(holds, choices) {
        let Some(at) = choices.columns.get(column.code) else {
            continue;
        };
        for row in &grid.rows {
            let cell = row.cell(*at);
            let open = match column.reads {
                Reads::Day if is_doubtful_day(cell) => &mut found.days,
                Reads::Amount => match doubtful_mark(cell) {
                    Some(',') => &mut found.comma,
                    Some(_) => &mut found.point,
                    None => continue,
                },
                _ => continue,
            };
            open.get_or_insert_with(|| Doubt {
                line: row.line,
                column: grid.called(*at),
                text: cell.to_owned(),
            });
        }
    }
    found
}

pub fn plan(grid: &Grid, holds: Holds, choices: &Choices, about: (&Known, Setting)) -> Plan {
    let columns = columns_of(holds, choices);
    let reader = Reader::new(grid, choices, &columns, about.0);
    match holds {
        Holds::Packs => super::plan_packs::plan(&reader, about.1),
        Holds::Designs => super::plan_designs::plan(&reader, about.1),
        Holds::Kit => super::plan_kit::plan(&reader, about.1),
    }
}

#[cfg(test)]
mod record_tests;
#[cfg(test)]
mod tests;
