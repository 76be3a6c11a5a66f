//! How instants, days and volts are worded on pages: near ones by distance, always with the date, in the hall's time.

use crate::club::calendar::{Day, Instant, Zone, day_words};
use std::fmt;

/// `3 days ago (Sun 22 Nov 2026)`, `today, 14:05`.
pub fn past(at: Instant, now: Instant, zone: &Zone) -> When {
    let days = zone.day_of(at).days_until(zone.day_of(now));
    let words = match days {
        0 => format!("today, {}", zone.time_words(at)),
        1 => format!("yesterday, {}", zone.time_words(at)),
        2..=60 => format!("{days} days ago ({})", zone.date_words(at)),
        _ => zone.date_words(at),
    };
    When {
        iso: iso(at),
        words,
        date: day_on_paper(days, at, zone),
    }
}

/// With its time, however long ago: where it is held against other things that happened.
pub fn past_at(at: Instant, now: Instant, zone: &Zone) -> When {
    let When { iso, words, date } = past(at, now, zone);
    let (day, time) = (zone.date_words(at), zone.time_words(at));
    let is_told = words.ends_with(&time);
    let words = if is_told {
        words
    } else {
        words.replace(&day, &format!("{day}, {time}"))
    };
    When { iso, words, date }
}

/// What 'today' was, for whoever reads it on paper later.
fn day_on_paper(days: i64, at: Instant, zone: &Zone) -> String {
    match days {
        0 | 1 => zone.date_words(at),
        _ => String::new(),
    }
}

/// A due day: alone where a heading says what it is, or in a sentence.
#[derive(Clone, Default)]
pub struct Due {
    /// `today, until midnight (…)`, `in 2 days (Fri 27 Nov 2026)`, `2 days overdue (since …)`.
    pub day: When,
    pub is_overdue: bool,
}

/// In a sentence: `due in 2 days (…)`, `2 days overdue (…)`.
impl fmt::Display for Due {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.is_overdue {
            f.write_str("due ")?;
        }
        self.day.fmt(f)
    }
}

pub fn due(day: Day, today: Day) -> Due {
    let date = day_words(day);
    let words = match today.days_until(day) {
        0 => format!("today, until midnight ({date})"),
        1 => format!("tomorrow ({date})"),
        days @ 2..=60 => format!("in {days} days ({date})"),
        -1 => format!("1 day overdue (since {date})"),
        days if days < 0 => format!("{} days overdue (since {date})", -days),
        _ => date,
    };
    Due {
        day: When {
            iso: day.to_string(),
            words,
            ..When::default()
        },
        is_overdue: day < today,
    }
}

/// For `<time datetime>`: `2026-11-25T14:05Z`.
fn iso(at: Instant) -> String {
    let utc = Zone::utc();
    format!("{}T{}Z", utc.day_of(at), utc.time_words(at))
}

/// A moment or a day as it is read, and as a machine reads it. In a template it is a `<time>`; words
/// that name no time stand alone.
#[derive(Clone, Default)]
pub struct When {
    pub iso: String,
    pub words: String,
    /// Stands after the words in print, where they don't tell the day; else empty.
    pub date: String,
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.iso.is_empty() {
            return f.write_str(&self.words);
        }
        let on_paper = match self.date.as_str() {
            "" => String::new(),
            date => format!(r#" data-date="{date}""#),
        };
        let Self { iso, words, .. } = self;
        write!(f, r#"<time datetime="{iso}"{on_paper}>{words}</time>"#)
    }
}

// They are made of dates, digits and our own words: there is nothing in them to escape.
impl askama::filters::HtmlSafe for When {}
impl askama::filters::HtmlSafe for Due {}

/// Stands after 'at' or 'since': `21:40` today, `00:10 tomorrow (Thu 26 Nov 2026)`, else `21:40 on Fri 27 Nov 2026`.
pub fn clock(at: Instant, now: Instant, zone: &Zone) -> When {
    let time = zone.time_words(at);
    let date = zone.date_words(at);
    let days = zone.day_of(now).days_until(zone.day_of(at));
    let words = match days {
        0 => time,
        1 => format!("{time} tomorrow ({date})"),
        -1 => format!("{time} yesterday ({date})"),
        _ => format!("{time} on {date}"),
    };
    When {
        iso: iso(at),
        words,
        date: if days == 0 { date } else { String::new() },
    }
}

/// `19 °C`, and for a club that reads Fahrenheit `66 °F (19 °C)`.
pub fn degrees(celsius: i64, uses_fahrenheit: bool) -> String {
    if uses_fahrenheit {
        let fahrenheit = (celsius * 18 + 5).div_euclid(10) + 32;
        format!("{fahrenheit} °F ({celsius} °C)")
    } else {
        format!("{celsius} °C")
    }
}

/// What somebody wrote, no longer than a row of a list has room for: it stands whole on its own page.
pub fn in_a_list(words: &str) -> String {
    shortened(words, 200)
}

/// Of what is longer, so many letters and `…`.
pub fn shortened(words: &str, most: usize) -> String {
    let mut letters = words.chars();
    let short: String = letters.by_ref().take(most).collect();
    match letters.next() {
        Some(_) => short.trim_end().to_owned() + "…",
        None => short,
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_tells_a_time_to_machines_too_and_words_that_name_none_alone() {
        let day = Day::parse("2026-11-27").expect("a day");
        let told = due(day, day.plus_days(-2)).to_string();
        assert_eq!(
            told,
            r#"due <time datetime="2026-11-27">in 2 days (Fri 27 Nov 2026)</time>"#
        );
        let late = due(day, day.plus_days(2)).to_string();
        assert_eq!(
            late,
            r#"<time datetime="2026-11-27">2 days overdue (since Fri 27 Nov 2026)</time>"#
        );
        let never = When {
            words: "never read".to_owned(),
            ..When::default()
        };
        assert_eq!(never.to_string(), "never read");
        assert_eq!(When::default().to_string(), "");
    }

    #[test]
    fn a_time_of_another_day_names_its_day() {
        let zone = Zone::named("Europe/London").expect("a zone");
        let today = Day::parse("2026-11-25").expect("a day");
        let at = |day: Day, time| zone.at(day, time).expect("a time");
        let now = at(today, "23:55");
        let told = |at| clock(at, now, &zone);
        assert_eq!(told(at(today, "21:40")).words, "21:40");
        assert_eq!(told(at(today, "21:40")).iso, "2026-11-25T21:40Z");
        let next = at(today.plus_days(1), "00:10");
        assert_eq!(told(next).words, "00:10 tomorrow (Thu 26 Nov 2026)");
        let before = at(today.plus_days(-1), "21:40");
        assert_eq!(told(before).words, "21:40 yesterday (Tue 24 Nov 2026)");
        let long_ago = at(today.plus_days(-5), "09:05");
        assert_eq!(told(long_ago).words, "09:05 on Fri 20 Nov 2026");
    }
}
