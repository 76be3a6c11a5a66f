//! JSON as it is read here: a field that is given twice is refused, since nobody knows which was meant, and 2.0 is a whole
//! number, as it is in any JSON Schema.

use super::Wrong;
use crate::bench::unfit;
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

/// What is sent, as it stands there.
pub fn read(sent: &[u8]) -> Result<Value, Wrong> {
    let mut reader = serde_json::Deserializer::from_slice(sent);
    let no_json =
        |error: &serde_json::Error| Wrong::with("", format!("this {}", unfit::no_json(error)));
    let found: Result<Given, _> = serde_path_to_error::deserialize(&mut reader);
    let Given(value) = found.map_err(|error| {
        if !error.inner().is_data() {
            return no_json(error.inner());
        }
        let (field, words) = unfit::of_error("", &error);
        Wrong::with(&field, words)
    })?;
    reader.end().map_err(|error| no_json(&error))?;
    Ok(value)
}

struct Given(Value);

impl<'de> Deserialize<'de> for Given {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        reader.deserialize_any(AnyJson).map(Given)
    }
}

struct AnyJson;

impl<'de> Visitor<'de> for AnyJson {
    type Value = Value;

    fn expecting(&self, words: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        words.write_str("any JSON")
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        // Up to here a float holds each whole number.
        const EXACT: f64 = 9_007_199_254_740_992.0;
        let is_whole = value.fract() == 0.0 && value.abs() < EXACT;
        Ok(if is_whole {
            (value as i64).into()
        } else {
            value.into()
        })
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut all = Vec::new();
        while let Some(Given(value)) = list.next_element()? {
            all.push(value);
        }
        Ok(Value::Array(all))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Value, A::Error> {
        let mut all = Map::new();
        while let Some((name, Given(value))) = fields.next_entry::<String, Given>()? {
            if all.contains_key(&name) {
                return Err(A::Error::custom(format!("duplicate field `{name}`")));
            }
            all.insert(name, value);
        }
        Ok(Value::Object(all))
    }
}
