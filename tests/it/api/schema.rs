//! Enough of JSON Schema to hold what is answered against what the document says: types, properties, items, references.

use serde_json::Value;

/// Every keyword that the document uses; another one would be checked by nobody.
pub const KNOWN: [&str; 19] = [
    "$ref",
    "type",
    "properties",
    "required",
    "additionalProperties",
    "items",
    "oneOf",
    "description",
    "format",
    "minimum",
    "maximum",
    "minLength",
    "maxLength",
    "enum",
    "default",
    "example",
    "allOf",
    "minItems",
    "maxItems",
];

pub fn resolved<'d>(document: &'d Value, schema: &'d Value) -> &'d Value {
    match schema["$ref"].as_str() {
        Some(place) => {
            let place = place.strip_prefix('#').expect("a place in the document");
            let found = document.pointer(place);
            found.unwrap_or_else(|| panic!("{place} is nowhere in the document"))
        }
        None => schema,
    }
}

/// What of the value is not as the schema says, each with where it stands.
pub fn faults(document: &Value, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    let schema = resolved(document, schema);
    if let Some(any) = schema["oneOf"].as_array() {
        let suits = |each: &&Value| faults(document, each, value, at).is_empty();
        return if any.iter().any(|each| suits(&each)) {
            Vec::new()
        } else {
            vec![format!("{at}: {value} is none of what it may be")]
        };
    }
    let mut found = text_faults(schema, value, at);
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(many) => many.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    if !types.is_empty() && !types.iter().any(|kind| is_a(kind, value)) {
        return vec![format!("{at}: {value} is not {types:?}")];
    }
    if let Some(fields) = value.as_object() {
        let properties = schema["properties"].as_object();
        for needed in schema["required"].as_array().into_iter().flatten() {
            let name = needed.as_str().expect("a name");
            if !fields.contains_key(name) {
                found.push(format!("{at}: {name} is missing"));
            }
        }
        for (name, value) in fields {
            match properties.and_then(|known| known.get(name)) {
                Some(schema) => {
                    found.extend(faults(document, schema, value, &format!("{at}.{name}")));
                }
                None if properties.is_some() => found.push(format!("{at}: nobody knows {name}")),
                None => {}
            }
        }
    }
    for (index, each) in value.as_array().into_iter().flatten().enumerate() {
        found.extend(faults(
            document,
            &schema["items"],
            each,
            &format!("{at}[{index}]"),
        ));
    }
    found
}

/// Of codes, instants, days and lengths.
fn text_faults(schema: &Value, value: &Value, at: &str) -> Vec<String> {
    if let Some(codes) = schema["enum"].as_array()
        && !codes.contains(value)
    {
        return vec![format!("{at}: {value} is no code")];
    }
    let Some(text) = value.as_str() else {
        return Vec::new();
    };
    let is_as_said = match schema["format"].as_str() {
        Some("date-time") => text.parse::<jiff::Timestamp>().is_ok() && text.ends_with('Z'),
        Some("date") => text.len() == 10 && text.parse::<jiff::civil::Date>().is_ok(),
        _ => true,
    };
    let most = schema["maxLength"].as_u64().unwrap_or(u64::MAX);
    if is_as_said && text.chars().count() as u64 <= most {
        Vec::new()
    } else {
        vec![format!("{at}: {value} is not as {schema} says")]
    }
}

fn is_a(kind: &str, value: &Value) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        _ => false,
    }
}

#[test]
fn a_value_of_another_shape_is_found_out() {
    use serde_json::json;
    let document = json!({"a": {"type": "object", "required": ["x"], "properties": {
        "x": {"type": ["integer", "null"]}, "y": {"type": "array", "items": {"type": "string"}}}}});
    let schema = json!({"$ref": "#/a"});
    let check = |value: Value| faults(&document, &schema, &value, "it").len();
    assert_eq!(check(json!({"x": 1, "y": ["a"]})), 0);
    assert_eq!(check(json!({"x": null})), 0);
    assert_eq!(check(json!({"x": "1"})), 1);
    assert_eq!(check(json!({"y": [1]})), 2);
    assert_eq!(check(json!({"x": 1, "z": 1})), 1);
    let text = |rule: Value, value: &str| faults(&document, &rule, &json!(value), "it").len();
    assert_eq!(text(json!({"enum": ["fit", null]}), "fit"), 0);
    assert_eq!(text(json!({"enum": ["fit", null]}), "fat"), 1);
    assert_eq!(text(json!({"format": "date"}), "2026-11-25"), 0);
    assert_eq!(text(json!({"format": "date"}), "25.11.2026"), 1);
    assert_eq!(
        text(json!({"format": "date-time"}), "2026-11-25T18:30:00Z"),
        0
    );
    assert_eq!(text(json!({"format": "date-time"}), "2026-11-25"), 1);
    assert_eq!(text(json!({"maxLength": 2}), "abc"), 1);
}
