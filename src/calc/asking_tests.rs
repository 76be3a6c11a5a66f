//! Questions as tests put them: an ordinary one, the same with another value somewhere, and what is answered.

use super::{Calculation, Compute, Wrong};
use serde_json::Value;

pub fn ordinary<C: Compute>() -> Value {
    serde_json::to_value(C::example()).expect("JSON")
}

pub fn answered(calculation: Calculation, given: &Value) -> Result<Value, Wrong> {
    calculation.answer(given.to_string().as_bytes())
}

/// The question with another value at this pointer.
pub fn and(mut given: Value, at: &str, value: Value) -> Value {
    let (parent, name) = at.rsplit_once('/').expect("a pointer");
    let parent = given.pointer_mut(parent).expect("a place");
    match parent {
        Value::Array(list) => list[name.parse::<usize>().expect("an index")] = value,
        _ => parent[name] = value,
    }
    given
}
