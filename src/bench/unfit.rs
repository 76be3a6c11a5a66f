//! What a reader of JSON says of a value that does not fit, in words for whoever sent it.

/// `invalid type: string "x", expected i64 at line 1 column 9` is `a whole number is wanted, not the text "x"`.
/// What is said in another way stays as it is, without the place.
pub fn told(words: &str) -> String {
    let words = words.split(" at line ").next().unwrap_or(words);
    let mismatch = ["invalid type: ", "invalid value: "]
        .iter()
        .find_map(|start| words.strip_prefix(start))
        .and_then(|rest| rest.rsplit_once(", expected "));
    if let Some((sent, wanted)) = mismatch {
        if let Some(words) = of_one_of_several(sent, wanted) {
            return words.to_owned();
        }
        return format!("{} is wanted, not {}", of_wanted(wanted), of_sent(sent));
    }
    if let Some((count, wanted)) = words
        .strip_prefix("invalid length ")
        .and_then(|rest| rest.split_once(", expected "))
    {
        return match wanted.strip_prefix("a tuple of size ") {
            Some(size) => format!("a list of {size} is wanted, not one of {count}"),
            None if wanted.starts_with("struct ") => "an object is wanted, not a list".to_owned(),
            None => format!("a shorter list is wanted, not one of {count}"),
        };
    }
    if let Some(field) = words.strip_prefix("duplicate field ") {
        return format!("{} is given twice", field.replace('`', ""));
    }
    if let Some(field) = words.strip_prefix("missing field ") {
        return format!("{} is missing", field.replace('`', ""));
    }
    if let Some((field, known)) = other_than(words, "unknown field ") {
        return format!("there is no field {field}; there are: {known}");
    }
    if let Some((value, known)) = other_than(words, "unknown variant ") {
        return format!("{value} is none of: {known}");
    }
    words.to_owned()
}

/// The field of what stands at `at`, and what is wrong with it.
pub fn of_error(
    at: &str,
    error: &serde_path_to_error::Error<serde_json::Error>,
) -> (String, String) {
    let (path, words) = (error.path().to_string(), error.inner().to_string());
    (joined(at, &named(&path, &words)), told(&words))
}

/// What is missing or unknown is named in the words alone.
fn named(path: &str, words: &str) -> String {
    let path = if path == "." { "" } else { path };
    let is_named = ["missing field", "unknown field", "duplicate field"]
        .iter()
        .any(|start| words.starts_with(start));
    match words
        .split('`')
        .nth(1)
        .filter(|_| is_named || path.is_empty())
    {
        Some(field) if path != field && !path.ends_with(&format!(".{field}")) => {
            joined(path, field)
        }
        _ => path.to_owned(),
    }
}

fn joined(at: &str, field: &str) -> String {
    match (at, field) {
        ("", _) => field.to_owned(),
        (_, "") => at.to_owned(),
        _ => format!("{at}.{field}"),
    }
}

/// Where what should be JSON stops being it: `is no JSON: it breaks off at line 3`
pub fn no_json(error: &serde_json::Error) -> String {
    let (line, column) = (error.line(), error.column());
    if error.is_eof() {
        format!("is no JSON: it breaks off at line {line}, letter {column}")
    } else {
        format!("is no JSON from line {line}, letter {column} on")
    }
}

/// What was sent, and what could have been.
fn other_than(words: &str, start: &str) -> Option<(String, String)> {
    let (sent, known) = words.strip_prefix(start)?.split_once(", expected ")?;
    let known = known.strip_prefix("one of ").unwrap_or(known);
    Some((sent.replace('`', ""), known.replace('`', "")))
}

/// Of what is one of several things: some are a word alone, some an object with one field.
fn of_one_of_several(sent: &str, wanted: &str) -> Option<&'static str> {
    match (sent, wanted) {
        (_, "map with a single key") => Some("an object with one field alone is wanted"),
        ("unit variant", _) => {
            Some("this word takes a value: an object is wanted, with the word as its one field")
        }
        (_, "unit" | "unit variant") => Some("this word takes no value: the text alone is wanted"),
        _ => None,
    }
}

fn of_wanted(wanted: &str) -> String {
    match wanted {
        "i64" | "u64" | "i32" | "u32" | "u16" | "u8" | "usize" => "a whole number".to_owned(),
        "f64" | "f32" => "a number".to_owned(),
        "a string" | "a borrowed string" | "variant identifier" => "a text".to_owned(),
        "string or map" => "a text or an object".to_owned(),
        "a boolean" => "true or false".to_owned(),
        "a sequence" => "a list".to_owned(),
        "a map" => "an object".to_owned(),
        other if other.starts_with("struct ") || other.starts_with("internally tagged enum ") => {
            "an object".to_owned()
        }
        other => match other.strip_prefix("a tuple of size ") {
            Some(size) => format!("a list of {size}"),
            None => other.to_owned(),
        },
    }
}

fn of_sent(sent: &str) -> String {
    match sent {
        "null" | "unit value" => "null".to_owned(),
        "map" => "an object".to_owned(),
        "sequence" => "a list".to_owned(),
        other => {
            let kinds = [
                ("string ", "the text "),
                ("integer ", ""),
                ("floating point ", ""),
                ("boolean ", ""),
            ];
            let found = kinds.iter().find_map(|(kind, said)| {
                let value = other.strip_prefix(kind)?;
                Some(format!("{said}{}", value.replace('`', "")))
            });
            found.unwrap_or_else(|| other.to_owned())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Deserialize;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read")]
    struct Sheet {
        cells: i64,
        volts: Option<f64>,
        name: Option<String>,
        is_rested: Option<bool>,
        list: Option<Vec<i64>>,
        kind: Option<Kind>,
        pair: Option<(f64, f64)>,
        memory: Option<Memory>,
        purpose: Option<Purpose>,
    }

    #[derive(Debug, Deserialize)]
    #[serde(tag = "wakes", rename_all = "snake_case")]
    enum Memory {
        Remembers,
    }

    #[derive(Debug, Deserialize)]
    #[serde(rename_all = "snake_case")]
    #[expect(dead_code, reason = "only read")]
    enum Purpose {
        ReadyByMinutes(i64),
        Storage,
    }

    #[derive(Debug, Deserialize)]
    #[serde(rename_all = "lowercase")]
    enum Kind {
        Supply,
        Cable,
    }

    #[test]
    fn what_does_not_fit_is_told_without_a_programmers_words() {
        for (sent, words) in [
            (
                r#"{"cells": "three"}"#,
                "a whole number is wanted, not the text \"three\"",
            ),
            (r#"{"cells": 1.5}"#, "a whole number is wanted, not 1.5"),
            (r#"{"cells": null}"#, "a whole number is wanted, not null"),
            (
                r#"{"cells": 1, "volts": true}"#,
                "a number is wanted, not true",
            ),
            (r#"{"cells": 1, "name": 7}"#, "a text is wanted, not 7"),
            (
                r#"{"cells": 1, "is_rested": {}}"#,
                "true or false is wanted, not an object",
            ),
            (r#"{"cells": 1, "list": 4}"#, "a list is wanted, not 4"),
            ("{}", "cells is missing"),
            ("4", "an object is wanted, not 4"),
            (
                r#"{"cells": 1, "colour": 4}"#,
                "there is no field colour; there are: cells, volts, name, is_rested, list, kind, pair, memory, purpose",
            ),
            (
                r#"{"cells": 1, "kind": "board"}"#,
                "board is none of: supply or cable",
            ),
            (
                r#"{"cells": 1, "purpose": 7}"#,
                "a text or an object is wanted, not 7",
            ),
            (
                r#"{"cells": 1, "purpose": "ready_by_minutes"}"#,
                "this word takes a value: an object is wanted, with the word as its one field",
            ),
            (
                r#"{"cells": 1, "purpose": {"storage": 5}}"#,
                "this word takes no value: the text alone is wanted",
            ),
            (
                r#"{"cells": 1, "purpose": {"storage": null, "ready_by_minutes": 5}}"#,
                "an object with one field alone is wanted",
            ),
            (
                r#"{"cells": 1, "memory": "remembers"}"#,
                "an object is wanted, not the text \"remembers\"",
            ),
            (
                r#"{"cells": 1, "pair": [1, 2, 3]}"#,
                "a shorter list is wanted, not one of 3",
            ),
            (
                r#"{"cells": 1, "pair": [1]}"#,
                "a list of 2 is wanted, not one of 1",
            ),
            (r#"{"cells": 1, "pair": 1}"#, "a list of 2 is wanted, not 1"),
        ] {
            // As everywhere here: read as JSON first.
            let sent_json: serde_json::Value = serde_json::from_str(sent).expect(sent);
            let error = serde_json::from_value::<Sheet>(sent_json)
                .expect_err(sent)
                .to_string();
            assert_eq!(told(&error), words, "{sent}: {error}");
        }
    }
}
