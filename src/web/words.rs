//! How instants, days and volts are worded on pages: near ones by distance, always with the date, in the hall's time.

use crate::club::calendar::{Day, Instant, Zone, day_words};

/// `3 days ago (Sun 22 Nov 2026)`, `today, 14:05`.
pub fn past(at: Instant, now: Instant, zone: &Zone) -> String {
    let days = zone.day_of(at).days_until(zone.day_of(now));
    match days {
        0 => format!("today, {}", zone.time_words(at)),
        1 => format!("yesterday, {}", zone.time_words(at)),
        2..=60 => format!("{days} days ago ({})", zone.date_words(at)),
        _ => zone.date_words(at),
    }
}

/// `today (until midnight)`, `in 2 days (Fri 27 Nov 2026)`, `2 days overdue (…)`.
pub fn due(day: Day, today: Day) -> String {
    let words = day_words(day);
    match today.days_until(day) {
        0 => format!("today, until midnight ({words})"),
        1 => format!("tomorrow ({words})"),
        days @ 2..=60 => format!("in {days} days ({words})"),
        -1 => format!("1 day overdue (since {words})"),
        days if days < 0 => format!("{} days overdue (since {words})", -days),
        _ => words,
    }
}

/// For `<time datetime>`: `2026-11-25T14:05Z`.
pub fn iso(at: Instant) -> String {
    let utc = Zone::utc();
    format!("{}T{}Z", utc.day_of(at), utc.time_words(at))
}

/// A query string of these pairs, percent-encoded.
pub fn in_address(pairs: &[(&str, &str)]) -> String {
    let encode = |text: &str| {
        text.bytes().fold(String::new(), |mut out, byte| {
            if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.') {
                out.push(char::from(byte));
            } else {
                use std::fmt::Write;
                let _ = write!(out, "%{byte:02X}");
            }
            out
        })
    };
    let parts: Vec<String> = pairs
        .iter()
        .map(|(name, value)| format!("{name}={}", encode(value)))
        .collect();
    parts.join("&")
}
