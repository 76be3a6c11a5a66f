//! The log of one thing as a page tells it: when, what, who, and which facts changed from what to what.

use crate::bench::typed::Words;
use crate::club::calendar::{Day, day_words};
use crate::store::log::{self, Told};
use crate::store::{Conn, StoreError};
use crate::web::visit::SignedIn;
use crate::web::words::{self, When};
use serde::Deserialize;
use serde_json::{Map, Value};
use uuid::Uuid;

/// How many entries are told at once.
const PART: usize = 50;

/// `?before=…`: the entries before that one.
#[derive(Default, Deserialize)]
pub struct Before {
    #[serde(default)]
    pub before: String,
}

/// One more, to see whether there are more.
pub const ASKED: i64 = 51;

/// A part of the log, latest first.
pub struct Part {
    pub entries: Vec<Told>,
    /// What the next part lies before; None: there is nothing older.
    pub older: Option<i64>,
}

impl Part {
    /// `found`: at most [`ASKED`].
    pub fn of(mut found: Vec<Told>) -> Self {
        let has_more = found.len() > PART;
        found.truncate(PART);
        Self {
            older: found.last().map(|told| told.seq).filter(|_| has_more),
            entries: found,
        }
    }
}

/// Of the log of one thing.
pub async fn part(conn: &mut Conn, subject_id: Uuid, asked: &Before) -> Result<Part, StoreError> {
    let before = asked.before.parse().unwrap_or(i64::MAX);
    Ok(Part::of(
        log::of_subject(conn, subject_id, before, ASKED).await?,
    ))
}

pub struct Event {
    pub when: When,
    pub verb: String,
    pub by: String,
    /// `room: Workshop → Hall`, `reason: new fan`
    pub changes: Vec<String>,
}

/// Latest first, as the log gives them.
pub fn events(told: &[Told], who: &SignedIn, numbers: Words) -> Vec<Event> {
    told.iter()
        .map(|each| Event {
            when: words::past(each.at_ms, who.now, &who.zone),
            verb: each.what_was_done(who.me.roles().may_see_holders()),
            by: each.by(),
            changes: changes(&each.before, &each.after, numbers),
        })
        .collect()
}

/// Only what differs, and only where there was something before; what was not on record before is a reason or the like.
pub fn changes(before: &str, after: &str, numbers: Words) -> Vec<String> {
    let (Some(before), Some(after)) = (object(before), object(after)) else {
        return Vec::new();
    };
    after
        .iter()
        .filter(|(key, value)| before.get(*key) != Some(value) && !key.ends_with("_id"))
        // How many came back stands with what was done.
        .filter(|(key, _)| *key != "came_back_count")
        .filter(|(_, value)| !value.is_object() && !value.is_array())
        .map(|(key, value)| {
            let now = fact(key, value, numbers);
            match before.get(key) {
                Some(was) => format!("{}: {} → {now}", called(key), fact(key, was, numbers)),
                None => format!("{}: {now}", called(key)),
            }
        })
        .collect()
}

fn object(text: &str) -> Option<Map<String, Value>> {
    serde_json::from_str(text).ok()
}

/// `energy_limit_mwh` → `energy limit`: the unit stands with the number.
fn called(key: &str) -> String {
    let plain = ["_mwh", "_mw", "_mv", "_mah", "_ma", "_c_tenths", "_celsius"]
        .into_iter()
        .find_map(|unit| key.strip_suffix(unit))
        .unwrap_or(key);
    let plain = plain.strip_prefix("is_").unwrap_or(plain);
    plain.replace('_', " ")
}

fn fact(key: &str, value: &Value, numbers: Words) -> String {
    match value {
        Value::Null => "none".to_owned(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::String(text) if text.is_empty() => "none".to_owned(),
        Value::String(text) => {
            match Day::parse(text).filter(|_| key == "due" || key.ends_with("_due")) {
                Some(day) => day_words(day),
                None => text.replace('_', " "),
            }
        }
        Value::Number(number) => match (number.as_i64(), key.rsplit('_').next()) {
            (Some(mwh), Some("mwh")) => numbers.watt_hours(mwh),
            (Some(mw), Some("mw")) => numbers.watts(mw),
            (Some(mv), Some("mv")) => numbers.volts(mv),
            (Some(mah), Some("mah")) => numbers.mah(mah),
            (Some(ma), Some("ma")) => numbers.amps(ma),
            (Some(tenths), Some("tenths")) => numbers.c_rate(tenths),
            (Some(celsius), Some("celsius")) => format!("{celsius} °C"),
            _ => number.to_string(),
        },
        Value::Array(_) | Value::Object(_) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_told_with_what_was_and_what_is_and_the_unit_with_the_number() {
        let before = r#"{"room":"","energy_limit_mwh":500000,"place_id":"a","name":"Box B"}"#;
        let after = r#"{"room":"Hall","energy_limit_mwh":1200500,"place_id":"b","name":"Box B"}"#;
        let told = changes(before, after, Words::COMMA);
        assert_eq!(
            told,
            ["energy limit: 500 Wh → 1200,5 Wh", "room: none → Hall"]
        );
        let before = r#"{"label_full_mv":4200,"label_charge_c_tenths":10,"capacity_mah":450}"#;
        let after_design =
            r#"{"label_full_mv":4150,"label_charge_c_tenths":20,"capacity_mah":500}"#;
        let told = changes(before, after_design, Words::POINT);
        assert_eq!(
            told,
            [
                "capacity: 450 mAh → 500 mAh",
                "label charge: 1C → 2C",
                "label full: 4.2 V → 4.15 V"
            ]
        );
        let told = changes(
            r#"{"warmth_celsius":null}"#,
            r#"{"warmth_celsius":-5}"#,
            Words::POINT,
        );
        assert_eq!(told, ["warmth: none → -5 °C"]);
        let told = changes(
            r#"{"charge_lipo_most_c_tenths":20}"#,
            r#"{"charge_lipo_most_c_tenths":15}"#,
            Words::COMMA,
        );
        assert_eq!(told, ["charge lipo most: 2C → 1,5C"]);
        let due = changes(
            r#"{"due":"2026-11-27"}"#,
            r#"{"due":"2026-11-30"}"#,
            Words::POINT,
        );
        assert_eq!(due, ["due: Fri 27 Nov 2026 → Mon 30 Nov 2026"]);
        assert!(changes("null", after, Words::POINT).is_empty());
    }
}
