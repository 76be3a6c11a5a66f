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

/// What a mail tells at one place: all that it says of a pack, or one reminder of anything else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// `P-001: above its storage band, volts not looked at`
    pub title: String,
    /// Why, then what to do, each said once.
    pub told: Vec<String>,
    pub href: String,
}

/// Those of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    pub kind: Kind,
    pub lines: Vec<Line>,
    /// As they are read: what is told of a pack stands where it is told first, so that there may be none here.
    pub entries: Vec<Entry>,
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
                entries: Vec::new(),
            }),
        }
    }
    gather(&mut parts);
    parts
}

/// The number of the pack that it is about, and what is due for it.
fn of_pack(line: &Line) -> Option<(&str, &str)> {
    let number = line.href.strip_prefix("/packs/")?;
    let due = line.title.strip_prefix(number)?.strip_prefix(": ")?;
    Some((number, due))
}

fn gather(parts: &mut [Part]) {
    let all: Vec<Line> = parts.iter().flat_map(|part| part.lines.clone()).collect();
    let mut told: Vec<&str> = Vec::new();
    for part in parts {
        for line in &part.lines {
            let Some((number, _)) = of_pack(line) else {
                part.entries.push(entry(&line.title, &[line]));
                continue;
            };
            let same: Vec<&Line> = all
                .iter()
                .filter(|other| of_pack(other).is_some_and(|(of, _)| of == number))
                .collect();
            let Some((number, _)) = same.first().and_then(|first| of_pack(first)) else {
                continue;
            };
            if told.contains(&number) {
                continue;
            }
            told.push(number);
            let due = same.iter().filter_map(|line| Some(of_pack(line)?.1));
            let title = format!("{number}: {}", once(due).join(", "));
            part.entries.push(entry(&title, &same));
        }
    }
}

fn entry(title: &str, lines: &[&Line]) -> Entry {
    let why = lines.iter().map(|line| line.why.as_str());
    let next = lines.iter().map(|line| line.next.as_str());
    let told = once(why.chain(next)).into_iter().map(str::to_owned);
    Entry {
        title: title.to_owned(),
        told: told.collect(),
        href: lines
            .first()
            .map_or_else(String::new, |line| line.href.clone()),
    }
}

/// In their order.
fn once<'a>(all: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut said = Vec::new();
    for one in all {
        if !said.contains(&one) {
            said.push(one);
        }
    }
    said
}

fn place(line: &Line) -> impl Ord + '_ {
    (!line.is_must, line.kind, &line.title, &line.why)
}

/// `Millrace Robotics Club: P-001: above its storage band, and 2 more`
pub fn subject(club: &str, parts: &[Part]) -> String {
    format!("{club}: {}", about(parts))
}

/// `P-001: above its storage band, and 2 more`
pub fn about(parts: &[Part]) -> String {
    let mut lines = parts.iter().flat_map(|part| &part.lines);
    let first = lines.next().map_or("reminders", |line| line.title.as_str());
    match lines.count() {
        0 => first.to_owned(),
        more => format!("{first}, and {more} more"),
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
    fn a_pack_is_told_once_with_each_reason_and_every_kind_keeps_its_place() {
        let due = |kind, is_must, title: &str, why: &str, next: &str| Line {
            why: why.to_owned(),
            next: next.to_owned(),
            href: format!("/packs/{}", title.split(':').next().unwrap_or_default()),
            ..line(kind, is_must, title)
        };
        let log = "Log its volts.";
        let parts = parts(vec![
            due(
                Kind::Recheck,
                false,
                "P-001: not looked at",
                "100 days.",
                log,
            ),
            due(
                Kind::Low,
                true,
                "P-001: falls to its minimum",
                "At 3.1 V.",
                log,
            ),
            due(Kind::Recheck, false, "P-002: first check", "New.", log),
            due(
                Kind::StorageOverdue,
                false,
                "P-001: above its band",
                "Full.",
                "Store it.",
            ),
            line(Kind::Summary, false, "The week"),
        ]);
        let told: Vec<(Kind, Vec<&str>)> = parts
            .iter()
            .map(|part| {
                let titles = part.entries.iter().map(|entry| entry.title.as_str());
                (part.kind, titles.collect())
            })
            .collect();
        let of_one = "P-001: falls to its minimum, above its band, not looked at";
        assert_eq!(
            told,
            [
                (Kind::Low, vec![of_one]),
                (Kind::StorageOverdue, vec![]),
                (Kind::Recheck, vec!["P-002: first check"]),
                (Kind::Summary, vec!["The week"]),
            ]
        );
        let once = ["At 3.1 V.", "Full.", "100 days.", log, "Store it."];
        assert_eq!(parts[0].entries[0].told, once);
        let count = |part: &Part| part.lines.len();
        assert_eq!(parts.iter().map(count).collect::<Vec<_>>(), [1, 1, 2, 1]);
        assert!(subject("Mill", &parts).ends_with("P-001: falls to its minimum, and 4 more"));
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
