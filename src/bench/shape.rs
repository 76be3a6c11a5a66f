//! Whether all of what was sent was read as what it says. What reads it takes a list for an object, field by field in their
//! order, and a data sheet passes over fields that it does not know: neither may happen to what somebody means.

use crate::bench::form::Problems;
use serde_json::Value;

/// Where what was `sent` is another thing than what was `read` of it; names begin with `at`.
pub fn misread(sent: &Value, read: &Value, at: &str) -> Problems {
    let mut problems = Problems::default();
    match (sent, read) {
        (Value::Object(sent), Value::Object(read)) => {
            for (name, value) in sent {
                let field = if at.is_empty() {
                    name.clone()
                } else {
                    format!("{at}.{name}")
                };
                match read.get(name) {
                    Some(read) => problems.extend(misread(value, read, &field)),
                    None => problems.add(&field, "There is no such field."),
                }
            }
        }
        (Value::Array(sent), Value::Array(read)) => {
            for (index, (sent, read)) in sent.iter().zip(read).enumerate() {
                problems.extend(misread(sent, read, &format!("{at}[{index}]")));
            }
        }
        // A word that takes no value may be read of {"word": null} too.
        (Value::Object(_), Value::String(_)) => problems.add(at, "Send the text alone."),
        (_, Value::Object(_)) => problems.add(at, "Send an object, with its fields by name."),
        _ => {}
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn fields(sent: &Value, read: &Value) -> Vec<String> {
        let found = misread(sent, read, "");
        let names = found.list().iter().map(|(field, _)| field.clone());
        names.collect()
    }

    #[test]
    fn what_is_passed_over_or_taken_by_its_place_is_found_at_any_depth() {
        let read = json!({"a": {"b": 1}, "list": [{"c": null}]});
        assert!(fields(&read, &read).is_empty());
        assert_eq!(fields(&json!([1]), &read), [""]);
        assert_eq!(fields(&json!({"a": [1]}), &read), ["a"]);
        assert_eq!(fields(&json!({"a": {"b": 1, "x": null}}), &read), ["a.x"]);
        assert_eq!(fields(&json!({"list": [[null]]}), &read), ["list[0]"]);
        let word = json!({"purpose": "storage"});
        assert_eq!(
            fields(&json!({"purpose": {"storage": null}}), &word),
            ["purpose"]
        );
        assert_eq!(
            fields(&json!({"list": [{"c": 1, "d": 2}]}), &read),
            ["list[0].d"]
        );
    }
}
