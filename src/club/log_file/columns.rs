//! Which column of a log is what: as somebody chose, else by the open format's names, else where word and unit are plain.

use super::fields::Field;
use super::numbers::value;
use super::units::Unit;
use super::words::LogFileProblem;

/// What somebody chose for one heading; None: it is left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pair {
    pub theirs: String,
    pub ours: Option<(Field, Unit)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum How {
    Chosen,
    Named,
    Guessed,
}

/// One heading of a file and what it is taken for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    pub heading: String,
    /// The first that stands below it; empty where nothing does in the first row.
    pub below: String,
    pub ours: Option<(Field, Unit)>,
    pub how: Option<How>,
}

/// A column that is read, and its place.
pub(super) struct Taken {
    pub at: usize,
    pub heading: String,
    pub field: Field,
    pub unit: Unit,
}

impl Column {
    pub(super) fn taken(&self, at: usize) -> Option<Taken> {
        let (field, unit) = self.ours?;
        let heading = self.heading.clone();
        Some(Taken {
            at,
            heading,
            field,
            unit,
        })
    }
}

impl Taken {
    /// Does a number stand in the cell that fits the column?
    pub fn is_filled(&self, cell: &str) -> bool {
        value(cell, self.unit).is_some_and(|number| self.field.fits(number))
    }
}

pub(super) fn assigned(
    headings: &[String],
    chosen: &[Pair],
) -> Result<Vec<Column>, LogFileProblem> {
    let mut columns: Vec<Column> = headings
        .iter()
        .map(|heading| Column {
            heading: heading.clone(),
            below: String::new(),
            ours: None,
            how: None,
        })
        .collect();
    for pair in chosen {
        choose(&mut columns, pair)?;
    }
    for at in 0..columns.len() {
        let named = Field::named(&columns[at].heading).filter(|_| columns[at].how.is_none());
        if let Some(field) = named.filter(|field| !is_chosen(&columns, *field)) {
            let unit = field.units().first().copied().unwrap_or(Unit::One);
            take(&mut columns, at, (field, unit), How::Named)?;
        }
    }
    guess(&mut columns);
    Ok(columns)
}

fn choose(columns: &mut [Column], pair: &Pair) -> Result<(), LogFileProblem> {
    let heading = pair.theirs.trim().to_owned();
    let Some(at) = columns.iter().position(|column| column.heading == heading) else {
        return Err(LogFileProblem::NoSuchColumn { heading });
    };
    let Some((field, unit)) = pair.ours else {
        columns[at].how = Some(How::Chosen);
        return Ok(());
    };
    if !field.units().contains(&unit) {
        return Err(LogFileProblem::WrongUnit { heading, field });
    }
    take(columns, at, (field, unit), How::Chosen)
}

fn take(
    columns: &mut [Column],
    at: usize,
    ours: (Field, Unit),
    how: How,
) -> Result<(), LogFileProblem> {
    let first = columns
        .iter()
        .position(|column| column.ours.is_some_and(|(field, _)| field == ours.0));
    if let Some(first) = first.filter(|first| *first != at) {
        return Err(LogFileProblem::Twice {
            field: ours.0,
            first: columns[first].heading.clone(),
            second: columns[at].heading.clone(),
        });
    }
    columns[at].ours = Some(ours);
    columns[at].how = Some(how);
    Ok(())
}

fn is_chosen(columns: &[Column], field: Field) -> bool {
    columns.iter().any(|column| {
        column.how == Some(How::Chosen) && column.ours.is_some_and(|(ours, _)| ours == field)
    })
}

/// What one column alone is plainly; where two could be, neither is taken.
fn guess(columns: &mut [Column]) {
    let guesses: Vec<Option<(Field, Unit)>> = columns
        .iter()
        .map(|column| match column.how {
            None => Field::guessed(&column.heading),
            Some(_) => None,
        })
        .collect();
    for (at, guess) in guesses.iter().enumerate() {
        let Some((field, unit)) = *guess else {
            continue;
        };
        let alike = guesses
            .iter()
            .flatten()
            .filter(|(other, _)| *other == field)
            .count();
        let is_there = columns
            .iter()
            .any(|column| column.ours.is_some_and(|(ours, _)| ours == field));
        if alike == 1 && !is_there {
            columns[at].ours = Some((field, unit));
            columns[at].how = Some(How::Guessed);
        }
    }
}

#[cfg(test)]
mod tests;
