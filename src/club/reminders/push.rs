//! What stands on a phone that lies locked on a table: how many reminders of which kind, and the page that tells the rest. Of a pack
//! its number at most, never what is wrong with it, and nobody's name.

use super::letter::Part;
use serde::Serialize;

/// As the phone reads it. `tag`: a later one with the same takes its place, so that what is sent twice is seen once.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Push {
    pub title: String,
    pub body: String,
    pub href: String,
    pub tag: String,
}

/// Bytes: more is of no use on a locked phone, and what is encrypted must stay below 4,096 (RFC 8291, 4).
const BODY_MAX: usize = 200;
const TITLE_MAX: usize = 80;

/// `Loan overdue: 2. Volts to read: 1.`
pub fn of_day(club: &str, parts: &[Part], (href, tag): (String, String)) -> Push {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for part in parts {
        let label = part.kind.label();
        match counts.iter_mut().find(|(known, _)| *known == label) {
            Some((_, count)) => *count += part.lines.len(),
            None => counts.push((label, part.lines.len())),
        }
    }
    let told: Vec<String> = counts
        .iter()
        .map(|(label, count)| format!("{label}: {count}."))
        .collect();
    Push {
        title: short(club, TITLE_MAX),
        body: short(&told.join(" "), BODY_MAX),
        href,
        tag,
    }
}

fn short(text: &str, most: usize) -> String {
    let end = text.floor_char_boundary(most);
    text[..end].to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::reminders::Kind;
    use crate::club::reminders::letter::{Line, parts};

    #[test]
    fn it_counts_by_kind_and_says_nothing_of_what_is_wrong() {
        let line = |kind, is_must, title: &str| Line {
            kind,
            is_must,
            title: title.to_owned(),
            why: "Cell 2 is at 2.41 V.".to_owned(),
            next: String::new(),
            href: String::new(),
        };
        let parts = parts(vec![
            line(Kind::Low, false, "P-001: falls to its minimum"),
            line(Kind::Low, true, "P-002: falls to its minimum"),
            line(Kind::LoanOverdue, true, "P-003: loan overdue"),
        ]);
        let told = of_day("Mill", &parts, ("/mails/1".to_owned(), "1".to_owned()));
        assert_eq!(told.body, "Low: 2. Loan overdue: 1.");
        assert_eq!(told.title, "Mill");
        let long = of_day(&"ö".repeat(200), &parts, (String::new(), String::new()));
        assert_eq!(long.title, "ö".repeat(40));
    }
}
