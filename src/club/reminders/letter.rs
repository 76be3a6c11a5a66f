//! A mail in words: what it is about, and its reminders in the order of their kinds, what one must put right first. As data; how it is
//! written as text and as HTML is left to others.

use super::Kind;

/// A reminder as it is stored, with how the club writes numbers already in its words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub kind: Kind,
    pub is_must: bool,
    pub title: String,
    pub why: String,
    pub next: String,
    pub href: String,
}

/// Those of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    pub kind: Kind,
    pub lines: Vec<Line>,
    /// Whether its reader may end this kind: nothing in it must be put right by them.
    pub is_optional: bool,
}

/// What they must put right stands first; then by kind, then by title.
pub fn parts(lines: Vec<Line>) -> Vec<Part> {
    let mut lines = lines;
    lines.sort_by(|one, other| place(one).cmp(&place(other)));
    let mut parts: Vec<Part> = Vec::new();
    for line in lines {
        match parts.last_mut() {
            Some(part) if part.kind == line.kind && part.is_optional != line.is_must => {
                part.lines.push(line);
            }
            _ => parts.push(Part {
                kind: line.kind,
                is_optional: !line.is_must,
                lines: vec![line],
            }),
        }
    }
    parts
}

fn place(line: &Line) -> impl Ord + '_ {
    (!line.is_must, line.kind, &line.title, &line.why)
}

/// `Millrace Robotics Club: P-001: above its storage band, and 2 more`
pub fn subject(club: &str, parts: &[Part]) -> String {
    let mut lines = parts.iter().flat_map(|part| &part.lines);
    let first = lines.next().map_or("reminders", |line| &line.title);
    match lines.count() {
        0 => format!("{club}: {first}"),
        more => format!("{club}: {first}, and {more} more"),
    }
}

/// In a title that leads a subject: a phone shows some forty letters of it.
const MOST_CALLED: usize = 3;

/// `P-001, P-002 and 5 more`: what a loan's title calls it by.
pub fn called(things: &[String]) -> String {
    if things.len() <= MOST_CALLED {
        return things.join(", ");
    }
    let (first, others) = things.split_at(MOST_CALLED - 1);
    format!("{} and {} more", first.join(", "), others.len())
}

/// `P-001, P-002, P-003, P-004. `: all of them, where the title has not.
pub fn told_all(things: &[String]) -> String {
    if things.len() <= MOST_CALLED {
        String::new()
    } else {
        format!("{}. ", things.join(", "))
    }
}

/// The kinds in it that its reader may end.
pub fn optional(parts: &[Part]) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = parts
        .iter()
        .filter(|part| part.is_optional)
        .map(|part| part.kind)
        .collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(kind: Kind, is_must: bool, title: &str) -> Line {
        Line {
            kind,
            is_must,
            title: title.to_owned(),
            why: String::new(),
            next: String::new(),
            href: String::new(),
        }
    }

    #[test]
    fn what_one_must_put_right_leads_and_names_the_mail() {
        let parts = parts(vec![
            line(Kind::Summary, false, "The week"),
            line(Kind::StorageOverdue, false, "P-003"),
            line(Kind::StorageOverdue, false, "P-002"),
            line(Kind::LoanOverdue, true, "P-001"),
        ]);
        let told: Vec<(Kind, usize)> = parts
            .iter()
            .map(|part| (part.kind, part.lines.len()))
            .collect();
        assert_eq!(
            told,
            [
                (Kind::LoanOverdue, 1),
                (Kind::StorageOverdue, 2),
                (Kind::Summary, 1)
            ]
        );
        assert_eq!(parts[1].lines[0].title, "P-002");
        assert_eq!(subject("Mill", &parts), "Mill: P-001, and 3 more");
        assert_eq!(optional(&parts), [Kind::StorageOverdue, Kind::Summary]);
        assert_eq!(subject("Mill", &parts[2..]), "Mill: The week");
    }

    #[test]
    fn a_loan_of_many_things_is_called_by_the_first_and_tells_them_all() {
        let things: Vec<String> = (1..=7).map(|number| format!("P-{number:03}")).collect();
        assert_eq!(called(&things[..3]), "P-001, P-002, P-003");
        assert_eq!(told_all(&things[..3]), "");
        assert_eq!(called(&things), "P-001, P-002 and 5 more");
        assert!(told_all(&things).ends_with("P-006, P-007. "));
    }

    #[test]
    fn of_one_kind_what_one_has_stands_apart_from_what_the_pool_has() {
        let parts = parts(vec![
            line(Kind::Low, false, "P-002"),
            line(Kind::Low, true, "P-001"),
        ]);
        assert_eq!(parts.len(), 2);
        assert!(!parts[0].is_optional && parts[1].is_optional);
        assert_eq!(optional(&parts), [Kind::Low]);
    }
}
