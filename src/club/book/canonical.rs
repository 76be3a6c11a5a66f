//! One way to write a value as text, after RFC 8785 (JSON Canonicalization Scheme): members ordered by UTF-16 code units,
//! texts escaped as ECMAScript does, no white space. The book holds fewer values than JSON: of numbers only integers
//! within ±(2^53 - 1), which every reader holds exactly; fractions, exponents and greater ones are refused. So is what
//! lies deeper than [`DEEPEST`]. Text is taken as it is: no Unicode normalisation, as the RFC asks.

use serde_json::{Map, Value};
use std::fmt::Write;

/// 2^53 - 1, the greatest integer that a double tells from its neighbours.
pub const INTEGER_MOST: i64 = 9_007_199_254_740_991;
pub const DEEPEST: usize = 32;

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotCanonical {
    #[error("{0} is not a whole number within ±9007199254740991")]
    Number(String),
    #[error("it is nested deeper than {DEEPEST}")]
    Deep,
    #[error("it is no JSON")]
    NotJson,
    #[error("it is not written in the canonical form")]
    Otherwise,
}

/// The canonical text of a value.
pub fn text(value: &Value) -> Result<String, NotCanonical> {
    let mut out = String::new();
    write_value(&mut out, value, 0)?;
    Ok(out)
}

/// Reads a text that is canonical already. White space, another order, a name given twice and other escapes are refused, so
/// that one value has one text.
pub fn read(given: &str) -> Result<Value, NotCanonical> {
    let value: Value = serde_json::from_str(given).map_err(|_| NotCanonical::NotJson)?;
    let is_canonical = text(&value)? == given;
    is_canonical.then_some(value).ok_or(NotCanonical::Otherwise)
}

fn write_value(out: &mut String, value: &Value, depth: usize) -> Result<(), NotCanonical> {
    if depth > DEEPEST {
        return Err(NotCanonical::Deep);
    }
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(true) => out.push_str("true"),
        Value::Bool(false) => out.push_str("false"),
        Value::Number(number) => {
            let whole = number
                .as_i64()
                .filter(|whole| (-INTEGER_MOST..=INTEGER_MOST).contains(whole))
                .ok_or_else(|| NotCanonical::Number(number.to_string()))?;
            out.push_str(&whole.to_string());
        }
        Value::String(given) => write_text(out, given),
        Value::Array(items) => write_array(out, items, depth)?,
        Value::Object(members) => write_object(out, members, depth)?,
    }
    Ok(())
}

fn write_array(out: &mut String, items: &[Value], depth: usize) -> Result<(), NotCanonical> {
    out.push('[');
    for (place, item) in items.iter().enumerate() {
        if place > 0 {
            out.push(',');
        }
        write_value(out, item, depth + 1)?;
    }
    out.push(']');
    Ok(())
}

fn write_object(
    out: &mut String,
    members: &Map<String, Value>,
    depth: usize,
) -> Result<(), NotCanonical> {
    let mut ordered: Vec<(&String, &Value)> = members.iter().collect();
    ordered.sort_by(|(a, _), (b, _)| a.encode_utf16().cmp(b.encode_utf16()));
    out.push('{');
    for (place, (name, value)) in ordered.into_iter().enumerate() {
        if place > 0 {
            out.push(',');
        }
        write_text(out, name);
        out.push(':');
        write_value(out, value, depth + 1)?;
    }
    out.push('}');
    Ok(())
}

/// As ECMAScript's `JSON.stringify` does: seven short escapes, other controls below U+0020 as `\u00xx` in lower case.
fn write_text(out: &mut String, given: &str) {
    out.push('"');
    for sign in given.chars() {
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\u{8}' => out.push_str("\\b"),
            '\t' => out.push_str("\\t"),
            '\n' => out.push_str("\\n"),
            '\u{c}' => out.push_str("\\f"),
            '\r' => out.push_str("\\r"),
            control if control < ' ' => {
                let _ = write!(out, "\\u{:04x}", u32::from(control));
            }
            other => out.push(other),
        }
    }
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde_json::json;

    fn canonical_of(given: &str) -> Result<String, NotCanonical> {
        text(&serde_json::from_str(given).expect("JSON"))
    }

    /// RFC 8785 section 3.2.3, from memory: the order of its example is told in its own values.
    #[test]
    fn members_are_ordered_by_their_utf_16_code_units_as_in_the_rfcs_example() {
        let given = r#"{"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh",
            "1":"One","\ud83d\ude00":"Emoji: Grinning Face","\u0080":"Control",
            "\u00f6":"Latin Small Letter O With Diaeresis"}"#;
        let expected = "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\u{80}\":\"Control\",\
            \"ö\":\"Latin Small Letter O With Diaeresis\",\"€\":\"Euro Sign\",\
            \"😀\":\"Emoji: Grinning Face\",\"\u{fb33}\":\"Hebrew Letter Dalet With Dagesh\"}";
        assert_eq!(canonical_of(given).as_deref(), Ok(expected));
    }

    /// RFC 8785 sections 3.2.2 and 3.2.4, from memory, without its numbers: those are fractions, which the book refuses.
    #[test]
    fn literals_and_the_string_of_the_rfcs_example_are_written_as_it_says() {
        let given = r#"{ "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false] }"#;
        let expected =
            "{\"literals\":[null,true,false],\"string\":\"€$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}";
        assert_eq!(canonical_of(given).as_deref(), Ok(expected));
    }

    /// The numbers of RFC 8785 section 3.2.2, from memory, and what lies past 2^53 (its section 6 and appendix B).
    #[test]
    fn fractions_exponents_and_integers_past_2_53_are_refused() {
        for refused in [
            "333333333.33333329",
            "1E30",
            "4.50",
            "2e-3",
            "-0",
            "9007199254740992",
            "-9007199254740992",
            "18446744073709551615",
        ] {
            assert!(
                matches!(canonical_of(refused), Err(NotCanonical::Number(_))),
                "{refused}"
            );
        }
        for kept in ["0", "-1", "9007199254740991", "-9007199254740991"] {
            assert_eq!(canonical_of(kept).as_deref(), Ok(kept));
        }
    }

    /// RFC 8785 section 3.2.2.2: the controls that have a short escape, and those that have not; nothing else is escaped.
    #[test]
    fn controls_are_escaped_and_line_separators_and_deletes_are_not() {
        let given = json!("\u{0}\u{8}\t\n\u{b}\u{c}\r\u{1f}\u{7f}\u{2028}/<é");
        let expected = "\"\\u0000\\b\\t\\n\\u000b\\f\\r\\u001f\u{7f}\u{2028}/<é\"";
        assert_eq!(text(&given).as_deref(), Ok(expected));
    }

    #[test]
    fn what_is_written_otherwise_is_not_read() {
        for otherwise in [
            "{\"a\": 1}",
            "{\"b\":1,\"a\":2}",
            "{\"a\":1,\"a\":1}",
            "\"\\u0041\"",
            "[1]\n",
            "\"\\/\"",
        ] {
            assert_eq!(
                read(otherwise),
                Err(NotCanonical::Otherwise),
                "{otherwise:?}"
            );
        }
        assert_eq!(read("{\"a\":"), Err(NotCanonical::NotJson));
        assert_eq!(read("{\"a\":[1,null]}"), Ok(json!({ "a": [1, null] })));
    }

    #[test]
    fn what_is_nested_too_deep_is_refused_and_does_not_overflow() {
        let nested = |depth: usize| (0..depth).fold(json!(1), |inner, _| json!([inner]));
        assert!(text(&nested(DEEPEST)).is_ok());
        assert_eq!(text(&nested(DEEPEST + 1)), Err(NotCanonical::Deep));
    }

    fn any_value() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::from),
            (-INTEGER_MOST..=INTEGER_MOST).prop_map(Value::from),
            any::<String>().prop_map(Value::from),
        ];
        leaf.prop_recursive(4, 32, 5, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..5).prop_map(Value::from),
                prop::collection::hash_map(any::<String>(), inner, 0..5)
                    .prop_map(|members| Value::Object(members.into_iter().collect())),
            ]
        })
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back_as_the_same(value in any_value()) {
            let written = text(&value).expect("canonical");
            prop_assert_eq!(read(&written), Ok(value));
        }

        #[test]
        fn names_stand_in_the_order_of_their_code_units(names in prop::collection::hash_set(any::<String>(), 1..8)) {
            let value = Value::Object(names.iter().map(|name| (name.clone(), json!(0))).collect());
            let mut ordered: Vec<Vec<u16>> = names.iter().map(|name| name.encode_utf16().collect()).collect();
            ordered.sort();
            let alone = |units: &Vec<u16>| text(&json!(String::from_utf16(units).expect("text"))).expect("canonical") + ":0";
            let members: Vec<String> = ordered.iter().map(alone).collect();
            prop_assert_eq!(text(&value), Ok(format!("{{{}}}", members.join(","))));
        }
    }
}
