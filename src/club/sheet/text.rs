//! A spreadsheet's text split into rows and cells, as RFC 4180 has it, with comma, semicolon or tab between the cells. What
//! can't be split is told by line and column. What the cells mean is left to others.

use super::{LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Trouble, Troubles};

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Grid {
    pub headings: Vec<String>,
    pub rows: Vec<Row>,
}

/// Its cells stand one behind the other in one text: a sheet of a million cells takes little more than its file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Where it starts, the first line being 1.
    pub line: usize,
    text: String,
    /// Where each cell ends in the text.
    ends: Vec<usize>,
}

impl Row {
    const fn at(line: usize) -> Self {
        Self {
            line,
            text: String::new(),
            ends: Vec::new(),
        }
    }

    /// Without outer white space; empty behind the last one.
    pub fn cell(&self, at: usize) -> &str {
        self.as_written(at).trim()
    }

    pub fn cells(&self) -> impl Iterator<Item = &str> {
        (0..self.ends.len()).map(|at| self.as_written(at))
    }

    fn as_written(&self, at: usize) -> &str {
        let end = |at: usize| self.ends.get(at).copied();
        let start = at.checked_sub(1).and_then(end).unwrap_or(0);
        let cell = end(at).and_then(|end| self.text.get(start..end));
        cell.unwrap_or_default()
    }

    fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

impl Grid {
    /// `column “Capacity”`, or by its place where it has no heading.
    pub fn called(&self, at: usize) -> String {
        match self.headings.get(at).filter(|heading| !heading.is_empty()) {
            Some(heading) => format!("column “{heading}”"),
            None => format!("column {}", at + 1),
        }
    }
}

/// The text of a file: as its byte order mark says, else UTF-8, else Windows-1252, which old spreadsheet programs write.
pub fn decoded(bytes: &[u8]) -> Result<String, &'static str> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(
            "That is a workbook. Save the sheet as CSV in your spreadsheet program, and send that.",
        );
    }
    let text = match (
        encoding_rs::Encoding::for_bom(bytes),
        std::str::from_utf8(bytes),
    ) {
        (Some((encoding, mark)), _) => encoding
            .decode_without_bom_handling(&bytes[mark..])
            .0
            .into_owned(),
        (None, Ok(text)) => text.to_owned(),
        (None, Err(_)) => encoding_rs::WINDOWS_1252
            .decode_without_bom_handling(bytes)
            .0
            .into_owned(),
    };
    if text.contains('\0') {
        return Err(
            "That file is no text. Save the sheet as CSV in your spreadsheet program, and send that.",
        );
    }
    Ok(text)
}

/// Rows that are not blank, the headings among them: as many as asked for, how many there are, and what can't be split.
pub struct Split {
    pub rows: Vec<Row>,
    pub row_count: usize,
    pub troubles: Troubles,
}

/// Splits what is no sheet of the club's but is written the same way.
pub fn split(text: &str, most_rows: usize) -> Split {
    let split = Splitter::split(text.trim_start_matches('\u{feff}'), most_rows);
    Split {
        rows: split.rows,
        row_count: split.row_count,
        troubles: split.troubles,
    }
}

/// Splits it; the first row that is not blank has the headings, blank rows below are left out.
pub fn grid(text: &str) -> Result<Grid, Troubles> {
    // The headings, and the first row too many.
    let split = split(text, MOST_ROWS + 2);
    let (mut troubles, mut rows) = (split.troubles, split.rows.into_iter());
    let Some(head) = rows.next() else {
        if troubles.is_empty() {
            troubles.add(trouble(1, "column 1", "There is nothing in this sheet."));
        }
        return Err(troubles);
    };
    let grid = Grid {
        headings: head.cells().map(|cell| cell.trim().to_owned()).collect(),
        rows: rows.collect(),
    };
    match grid.rows.get(MOST_ROWS) {
        Some(row) => {
            let count = split.row_count - 1;
            let words = format!(
                "A sheet has at most {MOST_ROWS} rows below its headings; this one has {count}. Bring it in in parts."
            );
            troubles.add(trouble(row.line, "column 1", words));
        }
        None => troubles.extend(grid.rows.iter().flat_map(|row| misplaced(row, &grid))),
    }
    if grid.rows.is_empty() && troubles.is_empty() {
        let words = "Below the headings stands nothing.";
        troubles.add(trouble(head.line + 1, "column 1", words));
    }
    if troubles.is_empty() {
        Ok(grid)
    } else {
        Err(troubles)
    }
}

fn trouble(line: usize, column: impl Into<String>, words: impl Into<String>) -> Trouble {
    let (column, words) = (column.into(), words.into());
    Trouble {
        line,
        column,
        words,
    }
}

/// What stands in a row beyond its headings, or is longer than any field.
fn misplaced<'g>(row: &'g Row, grid: &'g Grid) -> impl Iterator<Item = Trouble> + 'g {
    let beyond = row.cells().enumerate().skip(grid.headings.len());
    let first = beyond
        .filter(|(_, cell)| !cell.trim().is_empty())
        .take(1)
        .map(|(at, _)| (at, "No heading stands above this cell. Is a separator inside a cell that has no quotation marks?".to_owned()));
    let long = row
        .cells()
        .enumerate()
        .filter(|(_, cell)| cell.chars().count() > LONGEST_CELL)
        .map(|(at, _)| (at, format!("Keep it under {LONGEST_CELL} letters.")));
    let found = first.chain(long);
    found.map(|(at, words)| trouble(row.line, grid.called(at), words))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    Start,
    Plain,
    Quoted,
    AfterQuote,
}

struct Splitter {
    separator: char,
    line: usize,
    at: At,
    row: Row,
    /// How many cells of the row ended, those that are not kept among them.
    column: usize,
    has_too_many: bool,
    /// Where the cell that is being read opened its quotation marks.
    quote_line: usize,
    /// None that is blank.
    rows: Vec<Row>,
    most_rows: usize,
    row_count: usize,
    troubles: Troubles,
}

impl Splitter {
    fn split(text: &str, most_rows: usize) -> Self {
        // Some programs write their separator on a line of its own above the headings.
        let said = text
            .strip_prefix("sep=")
            .and_then(|rest| rest.chars().next());
        let (body, line) = match said {
            Some(_) => (text.split_once('\n').map_or("", |(_, rest)| rest), 2),
            None => (text, 1),
        };
        let mut splitter = Self {
            separator: said
                .filter(|mark| ",;\t".contains(*mark))
                .unwrap_or_else(|| separator_of(body)),
            line,
            at: At::Start,
            row: Row::at(line),
            column: 0,
            has_too_many: false,
            quote_line: line,
            rows: Vec::new(),
            most_rows,
            row_count: 0,
            troubles: Troubles::default(),
        };
        splitter.run(body);
        splitter
    }

    fn run(&mut self, text: &str) {
        let mut letters = text.chars().peekable();
        while let Some(letter) = letters.next() {
            // One line end, however it is written.
            let letter = match letter {
                '\r' if letters.peek() == Some(&'\n') => continue,
                '\r' => '\n',
                other => other,
            };
            let is_doubled =
                letter == '"' && self.at == At::Quoted && letters.next_if_eq(&'"').is_some();
            if is_doubled {
                self.row.text.push('"');
            } else {
                self.take(letter);
            }
        }
        if self.at == At::Quoted {
            let words = "The quotation mark that opens this cell is never closed.";
            self.complain(self.quote_line, words);
        }
        if self.at != At::Start || self.column > 0 {
            self.end_row();
        }
    }

    fn take(&mut self, letter: char) {
        match (self.at, letter) {
            (At::Quoted, '"') => self.at = At::AfterQuote,
            (At::Quoted, _) => self.row.text.push(letter),
            (At::Start, '"') => {
                self.at = At::Quoted;
                self.quote_line = self.line;
            }
            // Between separator and quotation mark a space is none of the cell.
            (At::Start | At::AfterQuote, ' ') => {}
            (_, '\n') => self.end_row(),
            (_, _) if letter == self.separator => self.end_cell(),
            (At::AfterQuote, _) => {
                let words = "More stands behind the closing quotation mark. A quotation mark inside a cell is written twice.";
                self.complain(self.line, words);
                self.at = At::Plain;
            }
            _ => {
                self.at = At::Plain;
                self.row.text.push(letter);
            }
        }
        if letter == '\n' {
            self.line += 1;
            if self.column == 0 && self.at == At::Start {
                self.row.line = self.line;
            }
        }
    }

    fn end_cell(&mut self) {
        self.at = At::Start;
        self.column += 1;
        if self.column <= MOST_COLUMNS {
            self.row.ends.push(self.row.text.len());
            return;
        }
        let start = self.row.ends.last().copied().unwrap_or(0);
        let is_blank = self
            .row
            .text
            .get(start..)
            .is_none_or(|cell| cell.trim().is_empty());
        self.row.text.truncate(start);
        if !is_blank && !self.has_too_many {
            self.has_too_many = true;
            let words = format!("A sheet has at most {MOST_COLUMNS} columns.");
            let column = format!("column {}", self.column);
            self.troubles.add(trouble(self.row.line, column, words));
        }
    }

    fn end_row(&mut self) {
        self.end_cell();
        let row = std::mem::replace(&mut self.row, Row::at(self.line));
        (self.column, self.has_too_many) = (0, false);
        if row.is_blank() {
            return;
        }
        self.row_count += 1;
        if self.rows.len() < self.most_rows {
            self.rows.push(row);
        }
    }

    fn complain(&mut self, line: usize, words: &str) {
        let column = format!("column {}", self.column + 1);
        self.troubles.add(trouble(line, column, words));
    }
}

/// Whichever stands most often among the headings.
fn separator_of(text: &str) -> char {
    let head = text
        .lines()
        .find(|line| !line.trim().is_empty())
        .unwrap_or_default();
    let mut is_quoted = false;
    let mut counts = [(';', 0), ('\t', 0), (',', 0)];
    for letter in head.chars() {
        is_quoted ^= letter == '"';
        let found = counts
            .iter_mut()
            .find(|(mark, _)| *mark == letter && !is_quoted);
        if let Some((_, count)) = found {
            *count += 1;
        }
    }
    let most = counts.iter().map(|(_, count)| *count).max().unwrap_or(0);
    let first = counts.iter().find(|(_, count)| *count == most && most > 0);
    first.map_or(',', |(mark, _)| *mark)
}

#[cfg(test)]
mod tests;
