//! A charger's or tester's log as CSV text, read into `battery::log`: one cell or pack, with the column names of the open
//! Battery Data Format 0.1.0 or with others that are plain or that somebody chose. Refusals name line and column. What the
//! log tells is left to `battery::log`.

pub mod columns;
pub mod fields;
mod numbers;
mod table;
pub mod units;
pub mod words;

use crate::battery::log::{Recorded, Sample};
use crate::club::sheet::text::Row;
use columns::{Column, Pair, Taken, assigned};
use fields::Field;
use numbers::{Mark, mark_of, shown, value};
use table::Table;
use words::{LogFileProblem, Note};

pub const MOST_BYTES: usize = 10 * 1024 * 1024;
/// Below the headings.
pub const MOST_ROWS: usize = 50_000;
/// So often the time may begin anew; oftener it is the time of each step, not of the log.
pub const MOST_RUNS: usize = 20;

#[derive(Clone, Debug, PartialEq)]
pub struct LogFile {
    /// One after the other where the time begins anew, as when a charger is started again.
    pub runs: Vec<Recorded>,
    pub columns: Vec<Column>,
    pub notes: Vec<Note>,
}

/// The headings of a file and what each is taken for, so that somebody can choose. `read` takes the same choice.
pub fn columns(bytes: &[u8], chosen: &[Pair]) -> Result<Vec<Column>, LogFileProblem> {
    let table = Table::split(bytes)?;
    Ok(with_first_row(assigned(&table.headings, chosen)?, &table))
}

fn with_first_row(mut columns: Vec<Column>, table: &Table) -> Vec<Column> {
    if let Some(row) = table.rows.first() {
        for (at, column) in columns.iter_mut().enumerate() {
            column.below = shown(row.cell(at));
        }
    }
    columns
}

pub fn read(bytes: &[u8], chosen: &[Pair]) -> Result<LogFile, LogFileProblem> {
    let mut table = Table::split(bytes)?;
    let columns = with_first_row(assigned(&table.headings, chosen)?, &table);
    let taken = taken_columns(&columns)?;
    let mut notes: Vec<Note> = table.leave_out_cut_end(&taken).into_iter().collect();
    let (taken, left_out) = table.without_misfits(taken);
    notes.extend(left_out);
    let runs = split_at_restarts(samples(&table.rows, &taken)?)?;
    if runs.len() > 1 {
        notes.push(Note::Runs { count: runs.len() });
    }
    let runs: Result<Vec<Recorded>, LogFileProblem> = runs.into_iter().map(recorded).collect();
    Ok(LogFile {
        runs: runs?,
        columns,
        notes,
    })
}

/// Those that are read, once all that a log needs is among them.
fn taken_columns(columns: &[Column]) -> Result<Vec<Taken>, LogFileProblem> {
    let taken: Vec<Taken> = columns
        .iter()
        .enumerate()
        .filter_map(|(at, each)| each.taken(at))
        .collect();
    let is_there = |field: Field| taken.iter().any(|column| column.field == field);
    let missing: Vec<Field> = Field::all()
        .filter(|field| field.is_required() && !is_there(*field))
        .collect();
    if missing.is_empty() {
        return Ok(taken);
    }
    let headings = columns
        .iter()
        .map(|column| column.heading.clone())
        .collect();
    Err(LogFileProblem::ColumnsMissing { missing, headings })
}

/// Each with the line it stands in.
fn samples(rows: &[Row], taken: &[Taken]) -> Result<Vec<(usize, Sample)>, LogFileProblem> {
    let mut mark = None;
    let read = |row: &Row| Ok((row.line, sample(row, taken, &mut mark)?));
    rows.iter().map(read).collect()
}

fn sample(row: &Row, taken: &[Taken], mark: &mut Option<Mark>) -> Result<Sample, LogFileProblem> {
    let mut sample = Sample::default();
    for column in taken {
        let cell = row.cell(column.at);
        let place = || (row.line, column.heading.clone(), shown(cell));
        match value(cell, column.unit) {
            Some(number) => column.field.put(&mut sample, number),
            None if column.field.is_required() => {
                let (line, heading, found) = place();
                return Err(LogFileProblem::NotANumber {
                    line,
                    heading,
                    found,
                });
            }
            None => continue,
        }
        let (now, before) = (mark_of(cell), *mark);
        if now.is_some() && before.is_some() && now != before {
            let (line, heading, found) = place();
            return Err(LogFileProblem::TwoMarks {
                line,
                heading,
                found,
            });
        }
        *mark = before.or(now);
    }
    Ok(sample)
}

/// Where the time goes back to where it began, another log begins.
fn split_at_restarts(
    samples: Vec<(usize, Sample)>,
) -> Result<Vec<Vec<(usize, Sample)>>, LogFileProblem> {
    let mut runs: Vec<Vec<(usize, Sample)>> = Vec::new();
    for (line, sample) in samples {
        match runs.last_mut() {
            Some(run) if !begins_anew(run, &sample) => run.push((line, sample)),
            _ => runs.push(vec![(line, sample)]),
        }
    }
    if runs.len() > MOST_RUNS {
        let times = runs.len() - 1;
        return Err(LogFileProblem::TooManyRuns { times });
    }
    Ok(runs)
}

fn begins_anew(run: &[(usize, Sample)], next: &Sample) -> bool {
    match run {
        [(_, first), .., (_, last)] => next.seconds < last.seconds && next.seconds <= first.seconds,
        _ => false,
    }
}

fn recorded(run: Vec<(usize, Sample)>) -> Result<Recorded, LogFileProblem> {
    let (lines, samples): (Vec<usize>, Vec<Sample>) = run.into_iter().unzip();
    Recorded::new(samples).map_err(|problem| {
        let line = problem.at().and_then(|at| lines.get(at)).copied();
        match line {
            Some(line) => LogFileProblem::Log { line, problem },
            None => LogFileProblem::Empty,
        }
    })
}

#[cfg(test)]
mod measured_tests;
#[cfg(test)]
mod tests;
