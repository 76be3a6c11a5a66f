//! Calendar files as RFC 5545 asks for them.

use super::*;

fn entry(what: &str) -> Entry {
    Entry {
        uid: "loan-1".to_owned(),
        first: Day::parse("2026-12-31").expect("a day"),
        last: Day::parse("2026-12-31").expect("a day"),
        what: what.to_owned(),
        told: String::new(),
        place: String::new(),
    }
}

const STAMP: Instant = Instant(1_795_737_600_000);

/// Lines as they were before they were folded (section 3.1).
fn unfolded(text: &str) -> Vec<String> {
    let whole = text.replace("\r\n ", "");
    whole.split_terminator("\r\n").map(str::to_owned).collect()
}

#[test]
fn a_day_ends_before_the_next_and_what_is_due_makes_nobody_busy() {
    let text = written("Millrace", &[entry("Due back: P-001")], STAMP);
    let lines = unfolded(&text);
    assert_eq!(lines[..2], ["BEGIN:VCALENDAR", "VERSION:2.0"]);
    for wanted in [
        "UID:loan-1@sandbucket",
        "DTSTAMP:20261127T000000Z",
        "DTSTART;VALUE=DATE:20261231",
        "DTEND;VALUE=DATE:20270101",
        "SUMMARY:Due back: P-001",
        "TRANSP:TRANSPARENT",
    ] {
        assert!(lines.contains(&wanted.to_owned()), "{wanted}: {text}");
    }
    assert_eq!(lines.last().map(String::as_str), Some("END:VCALENDAR"));
    assert!(!text.contains("DESCRIPTION") && !text.contains("TZID"));
}

#[test]
fn no_text_ends_its_line_or_begins_a_property() {
    let hostile = "a;b,c\\d\r\nEND:VEVENT\nBEGIN:VALARM\u{0}\u{7}\tx\rY:z\u{85}";
    let lines = unfolded(&written("N", &[entry(hostile)], STAMP));
    let told: Vec<&String> = lines
        .iter()
        .filter(|line| line.starts_with("SUMMARY"))
        .collect();
    assert_eq!(
        told,
        ["SUMMARY:a\\;b\\,c\\\\d\\nEND:VEVENT\\nBEGIN:VALARM\tx\\nY:z"]
    );
    assert_eq!(lines.iter().filter(|line| *line == "END:VEVENT").count(), 1);
}

#[test]
fn lines_have_seventy_five_octets_at_most_and_no_letter_is_cut() {
    for letter in ["x", "é", "漢", "🔋"] {
        for length in 50..120 {
            let what = letter.repeat(length);
            let text = written(&what, &[entry(&what)], STAMP);
            for line in text.split_terminator("\r\n") {
                assert!(line.len() <= 75, "{line}");
            }
            assert!(unfolded(&text).contains(&format!("SUMMARY:{what}")));
        }
    }
}

#[test]
fn where_nothing_is_due_there_is_a_component_all_the_same() {
    let lines = unfolded(&written("Millrace", &[], STAMP));
    assert!(lines.contains(&"BEGIN:VFREEBUSY".to_owned()));
    assert!(!lines.contains(&"BEGIN:VEVENT".to_owned()));
}
