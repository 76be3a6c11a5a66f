//! A spreadsheet's text split into rows and cells, as RFC 4180 has it, with comma, semicolon or tab between the cells. What
//! can't be split is told by line and column. What the cells mean is left to others.

use super::{LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Trouble};

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Grid {
    pub headings: Vec<String>,
    pub rows: Vec<Row>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Where it starts, the first line being 1.
    pub line: usize,
    pub cells: Vec<String>,
}

impl Row {
    pub fn cell(&self, at: usize) -> &str {
        self.cells.get(at).map_or("", |cell| cell.trim())
    }

    fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
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

/// Splits it; the first row that is not blank has the headings, blank rows below are left out.
pub fn grid(text: &str) -> Result<Grid, Vec<Trouble>> {
    let (rows, mut troubles) = Splitter::split(text.trim_start_matches('\u{feff}'));
    let mut rows = rows.into_iter().filter(|row| !row.is_blank());
    let Some(head) = rows.next() else {
        return Err(vec![trouble(
            1,
            "column 1",
            "There is nothing in this sheet.",
        )]);
    };
    let grid = Grid {
        headings: head
            .cells
            .iter()
            .map(|cell| cell.trim().to_owned())
            .collect(),
        rows: rows.collect(),
    };
    troubles.extend(too_much(&grid, head.line));
    if grid.rows.is_empty() && troubles.is_empty() {
        let words = "Below the headings stands nothing.";
        troubles.push(trouble(head.line + 1, "column 1", words));
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

/// Whatever goes beyond what is taken.
fn too_much(grid: &Grid, head_line: usize) -> Vec<Trouble> {
    if grid.headings.len() > MOST_COLUMNS {
        let words = format!(
            "A sheet has at most {MOST_COLUMNS} columns; this one has {}.",
            grid.headings.len()
        );
        return vec![trouble(
            head_line,
            format!("column {}", MOST_COLUMNS + 1),
            words,
        )];
    }
    if let Some(row) = grid.rows.get(MOST_ROWS) {
        let words = format!(
            "A sheet has at most {MOST_ROWS} rows below its headings; this one has {}. Bring it in in parts.",
            grid.rows.len()
        );
        return vec![trouble(row.line, "column 1", words)];
    }
    let mut found = Vec::new();
    for row in &grid.rows {
        let beyond = row.cells.iter().enumerate().skip(grid.headings.len());
        if let Some((at, _)) = beyond.into_iter().find(|(_, cell)| !cell.trim().is_empty()) {
            found.push(trouble(row.line, grid.called(at), "No heading stands above this cell. Is a separator inside a cell that has no quotation marks?"));
        }
        let long = row
            .cells
            .iter()
            .enumerate()
            .filter(|(_, cell)| cell.chars().count() > LONGEST_CELL);
        found.extend(long.map(|(at, _)| {
            trouble(
                row.line,
                grid.called(at),
                format!("Keep it under {LONGEST_CELL} letters."),
            )
        }));
    }
    found
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
    cell: String,
    row: Row,
    /// Where the cell that is being read opened its quotation marks.
    quote_line: usize,
    rows: Vec<Row>,
    troubles: Vec<Trouble>,
}

impl Splitter {
    fn split(text: &str) -> (Vec<Row>, Vec<Trouble>) {
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
            cell: String::new(),
            row: Row {
                line,
                cells: Vec::new(),
            },
            quote_line: line,
            rows: Vec::new(),
            troubles: Vec::new(),
        };
        splitter.run(body);
        (splitter.rows, splitter.troubles)
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
                self.cell.push('"');
            } else {
                self.take(letter);
            }
        }
        if self.at == At::Quoted {
            let words = "The quotation mark that opens this cell is never closed.";
            self.complain(self.quote_line, words);
        }
        if self.at != At::Start || !self.row.cells.is_empty() {
            self.end_row();
        }
    }

    fn take(&mut self, letter: char) {
        match (self.at, letter) {
            (At::Quoted, '"') => self.at = At::AfterQuote,
            (At::Quoted, _) => self.cell.push(letter),
            (At::Start, '"') => {
                self.at = At::Quoted;
                self.quote_line = self.line;
            }
            (_, '\n') => self.end_row(),
            (_, _) if letter == self.separator => self.end_cell(),
            (At::AfterQuote, ' ') => {}
            (At::AfterQuote, _) => {
                let words = "More stands behind the closing quotation mark. A quotation mark inside a cell is written twice.";
                self.complain(self.line, words);
                self.at = At::Plain;
            }
            _ => {
                self.at = At::Plain;
                self.cell.push(letter);
            }
        }
        if letter == '\n' {
            self.line += 1;
            if self.row.cells.is_empty() && self.at == At::Start {
                self.row.line = self.line;
            }
        }
    }

    fn end_cell(&mut self) {
        self.row.cells.push(std::mem::take(&mut self.cell));
        self.at = At::Start;
    }

    fn end_row(&mut self) {
        self.end_cell();
        let next = Row {
            line: self.line,
            cells: Vec::new(),
        };
        self.rows.push(std::mem::replace(&mut self.row, next));
    }

    fn complain(&mut self, line: usize, words: &str) {
        let column = format!("column {}", self.row.cells.len() + 1);
        self.troubles.push(trouble(line, column, words));
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
