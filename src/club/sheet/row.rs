//! A row read as the form it stands for: each cell brought into what its field takes. What a cell names that is not there is
//! told at the cell; all else is left to the rules of the form.

use super::cells::{self, Marks};
use super::columns::{Column, Reads, unit_of};
use super::known::Known;
use super::written::unguarded;
use super::{Choices, Trouble, named};
use crate::bench::charger::Mode;
use crate::bench::form::{Fields, Problems};
use crate::club::register::DesignSheet;
use crate::club::sheet::text::{Grid, Row};
use std::collections::HashMap;
use uuid::Uuid;

/// How the cells of one sheet are read.
pub struct Reader<'s> {
    pub grid: &'s Grid,
    pub choices: &'s Choices,
    pub columns: &'s [Column],
    pub known: &'s Known,
    /// Places and designs on record by name in small letters, places also as they are written, since two may differ in
    /// capitals alone: a sheet asks for them thousands of times.
    places: HashMap<&'s str, Uuid>,
    places_alike: HashMap<String, Vec<Uuid>>,
    designs: HashMap<String, Vec<usize>>,
}

impl<'s> Reader<'s> {
    pub fn new(
        grid: &'s Grid,
        choices: &'s Choices,
        columns: &'s [Column],
        known: &'s Known,
    ) -> Self {
        let mut designs: HashMap<String, Vec<usize>> = HashMap::new();
        for (at, (_, sheet)) in known.designs.iter().enumerate() {
            designs
                .entry(sheet.name.to_lowercase())
                .or_default()
                .push(at);
        }
        let mut places_alike: HashMap<String, Vec<Uuid>> = HashMap::new();
        for (id, name) in &known.places {
            let alike = places_alike.entry(name.to_lowercase());
            alike.or_default().push(*id);
        }
        let places = known.places.iter();
        Self {
            grid,
            choices,
            columns,
            known,
            places: places.map(|(id, name)| (name.as_str(), *id)).collect(),
            places_alike,
            designs,
        }
    }

    /// The designs on record of this name, capitals aside, the oldest first.
    pub fn designs_called(&self, name: &str) -> Vec<&'s (Uuid, DesignSheet)> {
        let found = self.designs.get(&name.to_lowercase());
        let all = found.into_iter().flatten();
        all.filter_map(|at| self.known.designs.get(*at)).collect()
    }

    /// The columns that the sheet has, each with its place there.
    pub fn mapped(&self) -> impl Iterator<Item = (&Column, usize)> {
        let columns = self.columns.iter();
        columns.filter_map(|column| Some((column, *self.choices.columns.get(column.code)?)))
    }

    /// The form this row fills in, and what of its cells can't be read, by field.
    pub fn form(&self, row: &Row) -> (Fields, Problems) {
        let (mut pairs, mut problems) = (Vec::new(), Problems::default());
        for (column, at) in self.mapped() {
            let cell = unguarded(row.cell(at)).trim();
            let heading = self.grid.headings.get(at).map_or("", String::as_str);
            match self.values(column, heading, cell) {
                Ok(values) => pairs.extend(
                    values
                        .into_iter()
                        .map(|value| (column.code.to_owned(), value)),
                ),
                Err(words) => problems.add(column.code, words),
            }
        }
        (Fields::new(pairs), problems)
    }

    /// What stands in the form for a cell; nothing for a box that is not ticked.
    fn values(&self, column: &Column, heading: &str, cell: &str) -> Result<Vec<String>, String> {
        let one = |value: &str| Ok(vec![value.to_owned()]);
        if cell.is_empty() {
            let has_many = matches!(
                column.reads,
                Reads::Chemistries | Reads::Connectors | Reads::Words | Reads::Tick
            );
            return Ok(if has_many {
                Vec::new()
            } else {
                vec![String::new()]
            });
        }
        match column.reads {
            Reads::Text => one(cell),
            Reads::Amount => {
                let marks = Marks {
                    comma: self.choices.comma,
                    point: self.choices.point,
                };
                let number = cells::amount(cell, marks);
                let unit = unit_of(heading).filter(|_| !number.contains(char::is_alphabetic));
                one(&unit.map_or_else(|| number.clone(), |unit| format!("{number} {unit}")))
            }
            Reads::Day => Ok(vec![cells::day(cell, self.choices.days)?]),
            Reads::Place => Ok(vec![self.place(cell)?.to_string()]),
            Reads::Chemistry => self.each(
                cell,
                |cell| named::chemistry(cell).map(|each| each.code().to_owned()),
                CHEMISTRIES,
            ),
            Reads::Chemistries => self.list(
                cell,
                |cell| named::chemistry(cell).map(|each| each.code().to_owned()),
                CHEMISTRIES,
            ),
            Reads::Balance if named::is_none(cell) => one("none"),
            Reads::Connector | Reads::Balance => {
                self.each(cell, |cell| self.connector(cell), CONNECTORS)
            }
            Reads::Connectors => self.list(cell, |cell| self.connector(cell), CONNECTORS),
            Reads::Words => self.list(
                cell,
                mode,
                "is none of: balance, charge, storage, discharge.",
            ),
            Reads::Tick => match named::yes_or_no(cell) {
                Some(true) => one("yes"),
                Some(false) => Ok(Vec::new()),
                None => Err("Write yes or no.".to_owned()),
            },
            Reads::OneOf(words) => one_of(cell, words),
            Reads::Ports => one(&cell.replace(['|', '+'], "\n")),
        }
    }

    /// The place of this name; capitals matter only between places that differ in nothing else.
    fn place(&self, name: &str) -> Result<Uuid, String> {
        let alike = self.places_alike.get(&name.to_lowercase());
        match (self.places.get(name), alike.map(Vec::as_slice)) {
            (Some(id), _) | (None, Some([id])) => Ok(*id),
            (None, Some([_, ..])) => Err(format!(
                "Several places are called “{name}”, but for capitals. Write it as it stands under Places."
            )),
            (None, _) => Err(format!(
                "There is no place called “{name}”. Add it under Places first, or leave the cell empty."
            )),
        }
    }

    fn connector(&self, cell: &str) -> Option<String> {
        named::connector(cell, &self.known.families).map(str::to_owned)
    }

    fn each(
        &self,
        cell: &str,
        code: impl Fn(&str) -> Option<String>,
        otherwise: &str,
    ) -> Result<Vec<String>, String> {
        let found = code(cell).ok_or_else(|| format!("“{cell}” {otherwise}"))?;
        Ok(vec![found])
    }

    fn list(
        &self,
        cell: &str,
        code: impl Fn(&str) -> Option<String> + Copy,
        otherwise: &str,
    ) -> Result<Vec<String>, String> {
        let all: Result<Vec<_>, _> = named::listed(cell)
            .map(|part| self.each(part, code, otherwise))
            .collect();
        Ok(all?.concat())
    }

    /// What is wrong with a row, by line and by the heading of the column.
    pub fn troubles(&self, row: &Row, problems: &Problems) -> Vec<Trouble> {
        let told = problems.list().iter().map(|(field, words)| Trouble {
            line: row.line,
            column: self.column_of(field),
            words: words.clone(),
        });
        told.collect()
    }

    pub fn column_of(&self, field: &str) -> String {
        if let Some(at) = self.choices.columns.get(field) {
            return self.grid.called(*at);
        }
        let label = self.columns.iter().find(|column| column.code == field);
        format!("{} (no column)", label.map_or(field, |column| column.label))
    }
}

const CHEMISTRIES: &str = "is no chemistry we know: LiPo, LiHV, Li-ion, LiFePO4, NiMH or Pb.";
const CONNECTORS: &str = "is no connector family of the club. Add it under Connectors first.";

fn mode(cell: &str) -> Option<String> {
    Mode::from_code(&cell.to_lowercase()).map(|mode| mode.code().to_owned())
}

fn one_of(cell: &str, words: &[(&str, &str)]) -> Result<Vec<String>, String> {
    let wanted = named::plain(cell);
    let found = words.iter().find(|(_, said)| named::plain(said) == wanted);
    found
        .map(|(code, _)| vec![(*code).to_owned()])
        .ok_or_else(|| {
            let all: Vec<&str> = words.iter().map(|(_, said)| *said).collect();
            format!("Write one of: {}.", all.join(", "))
        })
}
