//! What is due for a person, as a calendar file: RFC 5545, all days, no time zones, so that every calendar shows the day that the
//! hall means. What stands in it is the caller's; here is how it is written.

use super::calendar::{Day, Instant, Zone};

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The same each time the same thing is told, whatever its day is then.
    pub uid: String,
    pub first: Day,
    pub last: Day,
    pub what: String,
    pub told: String,
    pub place: String,
}

/// Octets of a line without its end (RFC 5545 section 3.1).
const LONGEST: usize = 75;

/// `name`: of the calendar; `stamp`: as of when it holds.
pub fn written(name: &str, entries: &[Entry], stamp: Instant) -> String {
    let stamp = stamp_of(stamp);
    let mut text = String::new();
    let mut line = |words: &str| folded(&mut text, words);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//Sandbucket//Due dates//EN");
    line("CALSCALE:GREGORIAN");
    // RFC 7986, and what programs read that are older.
    line(&format!("NAME:{}", escaped(name)));
    line(&format!("X-WR-CALNAME:{}", escaped(name)));
    line("REFRESH-INTERVAL;VALUE=DURATION:PT6H");
    for entry in entries {
        for words in event(entry, &stamp) {
            line(&words);
        }
    }
    if entries.is_empty() {
        // A calendar has at least one component (section 3.6): nobody is busy.
        for words in ["BEGIN:VFREEBUSY", "UID:nothing-due@sandbucket"] {
            line(words);
        }
        line(&format!("DTSTAMP:{stamp}"));
        line("END:VFREEBUSY");
    }
    line("END:VCALENDAR");
    text
}

fn event(entry: &Entry, stamp: &str) -> Vec<String> {
    let day = |day: Day| day.to_string().replace('-', "");
    let mut lines = vec![
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{}@sandbucket", entry.uid),
        format!("DTSTAMP:{stamp}"),
        format!("DTSTART;VALUE=DATE:{}", day(entry.first)),
        // The day after the last one.
        format!("DTEND;VALUE=DATE:{}", day(entry.last.plus_days(1))),
        format!("SUMMARY:{}", escaped(&entry.what)),
    ];
    for (name, words) in [("DESCRIPTION", &entry.told), ("LOCATION", &entry.place)] {
        if !words.is_empty() {
            lines.push(format!("{name}:{}", escaped(words)));
        }
    }
    lines.extend(["CLASS:PRIVATE", "TRANSP:TRANSPARENT", "END:VEVENT"].map(str::to_owned));
    lines
}

/// `20261127T000000Z`
fn stamp_of(at: Instant) -> String {
    let utc = Zone::utc();
    let (day, time) = (utc.day_of(at).to_string(), utc.time_words(at));
    format!("{}T{}00Z", day.replace('-', ""), time.replace(':', ""))
}

/// As section 3.3.11 has it: of control characters only the tab may stand in a text.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.replace("\r\n", "\n").chars() {
        match letter {
            '\\' | ';' | ',' => safe.extend(['\\', letter]),
            '\n' | '\r' => safe.push_str("\\n"),
            '\t' => safe.push(letter),
            other if other.is_control() => {}
            other => safe.push(other),
        }
    }
    safe
}

/// A line of at most 75 octets, further ones begin with a space; no letter is cut.
fn folded(text: &mut String, line: &str) {
    let mut used = 0;
    for letter in line.chars() {
        if used + letter.len_utf8() > LONGEST {
            text.push_str("\r\n ");
            used = 1;
        }
        text.push(letter);
        used += letter.len_utf8();
    }
    text.push_str("\r\n");
}

#[cfg(test)]
#[path = "feed_tests.rs"]
mod tests;
