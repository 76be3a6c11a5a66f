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
        return format!("{} is wanted, not {}", of_wanted(wanted), of_sent(sent));
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
    let is_named = words.starts_with("missing field") || words.starts_with("unknown field");
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

fn of_wanted(wanted: &str) -> String {
    match wanted {
        "i64" | "u64" | "i32" | "u32" | "u16" | "u8" | "usize" => "a whole number".to_owned(),
        "f64" | "f32" => "a number".to_owned(),
        "a string" | "a borrowed string" => "a text".to_owned(),
        "a boolean" => "true or false".to_owned(),
        "a sequence" => "a list".to_owned(),
        "a map" => "an object".to_owned(),
        other if other.starts_with("struct ") => "an object".to_owned(),
        other => other.to_owned(),
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
                "there is no field colour; there are: cells, volts, name, is_rested, list, kind",
            ),
            (
                r#"{"cells": 1, "kind": "board"}"#,
                "board is none of: supply or cable",
            ),
        ] {
            let error = serde_json::from_str::<Sheet>(sent)
                .expect_err(sent)
                .to_string();
            assert_eq!(told(&error), words, "{sent}: {error}");
        }
    }
}
