//! A sheet as text: RFC 4180, with a byte order mark so that spreadsheet programs take it for UTF-8, and with semicolons where
//! the comma is a decimal one. A text that a program might take for a formula is guarded.

use crate::bench::typed::Words;

pub struct Sheet {
    text: String,
    separator: char,
}

impl Sheet {
    pub fn new(numbers: Words, headings: &[&str]) -> Self {
        let separator = if numbers.has_decimal_comma { ';' } else { ',' };
        let mut sheet = Self {
            text: "\u{feff}".to_owned(),
            separator,
        };
        sheet.row(headings.iter().copied());
        sheet
    }

    pub fn row<T: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = T>) {
        for (at, cell) in cells.into_iter().enumerate() {
            if at > 0 {
                self.text.push(self.separator);
            }
            self.cell(cell.as_ref());
        }
        self.text.push_str("\r\n");
    }

    fn cell(&mut self, text: &str) {
        let text = guarded(text);
        let is_quoted = text.contains(['"', '\r', '\n', ',', ';', '\t'])
            || text.starts_with(' ')
            || text.ends_with(' ');
        if is_quoted {
            self.text.push('"');
            self.text.push_str(&text.replace('"', "\"\""));
            self.text.push('"');
        } else {
            self.text.push_str(&text);
        }
    }

    pub fn into_text(self) -> String {
        self.text
    }
}

/// Starts as a formula would. Source: OWASP, CSV injection; the wide forms are taken for formulas by programs set to
/// languages that type them.
fn starts_a_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'])
}

/// With an apostrophe before it, which makes a text of it. A negative number stays a number.
fn guarded(text: &str) -> String {
    let is_number = text.starts_with('-') && is_decimal(&text[1..]);
    if !is_number && starts_a_formula(text.trim_start_matches('\'')) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// As it was before it was guarded.
pub fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if starts_a_formula(rest.trim_start_matches('\'')) => rest,
        _ => text,
    }
}

fn is_decimal(text: &str) -> bool {
    let marks = text.matches([',', '.']).count();
    let is_known = |c: char| c.is_ascii_digit() || c == ',' || c == '.';
    marks <= 1 && text.chars().all(is_known) && text.starts_with(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_formula_comes_out_as_a_text_and_a_negative_number_as_a_number() {
        for text in [
            "=HYPERLINK(\"x\")",
            "+1",
            "-1+1",
            "@SUM(A1)",
            "\tx",
            "\rx",
            "-",
            "'=1",
            "＝1",
        ] {
            assert!(guarded(text).starts_with('\''), "{text:?}");
        }
        for text in ["-5", "-0,25", "2-3", "a=b", "'n' Sons", ""] {
            assert_eq!(guarded(text), text);
        }
    }

    #[test]
    fn cells_are_quoted_where_they_must_be_and_separated_as_the_club_writes_numbers() {
        let mut sheet = Sheet::new(Words::COMMA, &["a", "b"]);
        sheet.row(["2,5", "say \"hi\""]);
        assert_eq!(
            sheet.into_text(),
            "\u{feff}a;b\r\n\"2,5\";\"say \"\"hi\"\"\"\r\n"
        );
        let mut sheet = Sheet::new(Words::POINT, &["a", "b"]);
        sheet.row(["x", "y\nz"]);
        assert_eq!(sheet.into_text(), "\u{feff}a,b\r\nx,\"y\nz\"\r\n");
    }

    proptest! {
        #[test]
        fn whatever_a_cell_holds_is_read_back_as_it_was(cell in "[ -~é🔋\t'\n]{0,12}", has_comma: bool) {
            let words = Words { has_decimal_comma: has_comma };
            let mut sheet = Sheet::new(words, &["number", "note"]);
            sheet.row(["1", &cell]);
            let grid = super::super::text::grid(&sheet.into_text()).expect("a sheet");
            prop_assert_eq!(unguarded(grid.rows[0].cells().nth(1).unwrap_or_default()), cell);
        }
    }
}
