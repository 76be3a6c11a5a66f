//! A log's text as headings and rows: comments above it, its size, an end that is missing.

use super::columns::Taken;
use super::numbers::{is_nothing, shown};
use super::words::{LogFileProblem, Note};
use super::{MOST_BYTES, MOST_ROWS};
use crate::club::sheet::text::{Row, decoded, split};

/// Headings and rows, before it is known what the columns are.
pub(super) struct Table {
    pub headings: Vec<String>,
    pub rows: Vec<Row>,
    has_line_end: bool,
}

impl Table {
    pub fn split(bytes: &[u8]) -> Result<Self, LogFileProblem> {
        if bytes.len() > MOST_BYTES {
            let megabytes = bytes.len() as f64 / (1024.0 * 1024.0);
            return Err(LogFileProblem::TooLarge { megabytes });
        }
        let text = decoded(bytes).map_err(LogFileProblem::NotText)?;
        let (comments, body) = without_comments(&text);
        // The headings, and the first row too many.
        let mut split = split(body, MOST_ROWS + 2);
        if split.row_count > MOST_ROWS + 1 {
            let rows = split.row_count - 1;
            return Err(LogFileProblem::TooManyRows { rows });
        }
        if let Some(trouble) = split.troubles.shown.first_mut() {
            trouble.line += comments;
            return Err(LogFileProblem::NotSplit(trouble.clone()));
        }
        split.rows.iter_mut().for_each(|row| row.line += comments);
        let mut rows = split.rows.into_iter();
        let head = rows.next().ok_or(LogFileProblem::Empty)?;
        let table = Self {
            headings: head.cells().map(heading).collect(),
            rows: rows.collect(),
            has_line_end: text.ends_with(['\n', '\r']),
        };
        match (table.rows.first(), table.too_wide()) {
            (None, _) => Err(LogFileProblem::NothingBelow { line: head.line }),
            (_, Some(line)) => Err(LogFileProblem::TooWide { line }),
            _ => Ok(table),
        }
    }

    fn too_wide(&self) -> Option<usize> {
        let width = self.headings.len();
        let beyond = |row: &&Row| row.cells().skip(width).any(|cell| !cell.trim().is_empty());
        self.rows.iter().find(beyond).map(|row| row.line)
    }

    /// A logger whose power went, or a file that did not come over whole, stops somewhere in its last line. The first line is
    /// never left out: what is wrong with it is wrong with all.
    pub fn leave_out_cut_end(&mut self, taken: &[Taken]) -> Option<Note> {
        let [_, .., last] = self.rows.as_slice() else {
            return None;
        };
        let line = last.line;
        let is_short = last.cells().count() < self.headings.len();
        let mut lacking = taken
            .iter()
            .filter(|column| !column.is_filled(last.cell(column.at)));
        let is_cut = if self.has_line_end {
            is_short && lacking.any(|column| column.field.is_required())
        } else {
            is_short || lacking.next().is_some()
        };
        if is_cut {
            self.rows.pop();
            return Some(Note::EndsEarly { line });
        }
        (!self.has_line_end).then_some(Note::NoLineEnd)
    }

    /// What is not needed and does not fit is left out, column by column.
    pub fn without_misfits(&self, taken: Vec<Taken>) -> (Vec<Taken>, Vec<Note>) {
        let mut notes = Vec::new();
        let fitting = taken.into_iter().filter(|column| {
            let misfit = (!column.field.is_required())
                .then(|| self.misfit(column))
                .flatten();
            notes.extend(misfit.clone());
            misfit.is_none()
        });
        (fitting.collect(), notes)
    }

    fn misfit(&self, column: &Taken) -> Option<Note> {
        let row = self.rows.iter().find(|row| {
            let cell = row.cell(column.at);
            !is_nothing(cell) && !column.is_filled(cell)
        })?;
        Some(Note::LeftOut {
            heading: column.heading.clone(),
            line: row.line,
            found: shown(row.cell(column.at)),
        })
    }
}

/// Longer than any name; more of it is not shown to anybody.
const LONGEST_HEADING: usize = 80;

fn heading(cell: &str) -> String {
    cell.trim().chars().take(LONGEST_HEADING).collect()
}

/// How many lines of comment stand at the top, blank ones among them, and what comes below.
fn without_comments(text: &str) -> (usize, &str) {
    let mut rest = text.trim_start_matches('\u{feff}');
    let mut lines = 0;
    while let Some(end) = rest.find(['\n', '\r']) {
        let line = rest[..end].trim();
        if !line.is_empty() && !line.starts_with('#') {
            break;
        }
        let after = &rest[end..];
        rest = after.strip_prefix("\r\n").unwrap_or(&after[1..]);
        lines += 1;
    }
    if rest.trim_start().starts_with('#') {
        rest = "";
    }
    (lines, rest)
}
