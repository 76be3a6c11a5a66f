//! The trade's computations from outside, JSON in and JSON out: `sandbucket calc` and the API share them. Reads and checks
//! what is given, asks the pure rooms, and names the field where something is wrong. Null and absent mean unknown.

mod charge_plan;
mod charge_time;
mod given;
mod json;
mod shapes;
mod soc;
mod verdict;

pub use charge_plan::{ChargePlan, ChargePlanTold};
pub use charge_time::{ChargeTime, ChargeTimeTold};
pub use soc::{Soc, SocTold};
pub use verdict::{HealthTold, Verdict, VerdictPack, VerdictReading, VerdictSister, VerdictTold};

use crate::bench::{shape, unfit};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use utoipa::PartialSchema;

/// What can be computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Calculation {
    ChargePlan,
    ChargeTime,
    Soc,
    Verdict,
}

/// What is wrong with what was given. `field` is empty where it is no JSON at all.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Wrong {
    pub field: String,
    pub error: String,
}

impl Wrong {
    pub fn with(field: &str, error: impl Into<String>) -> Self {
        Self {
            field: field.to_owned(),
            error: error.into(),
        }
    }

    /// It did not come whole.
    pub fn unread(error: &std::io::Error) -> Self {
        Self::with("", format!("this could not be read: {error}"))
    }

    pub fn as_json(&self) -> Value {
        json!({ "field": self.field, "error": self.error })
    }
}

/// What stands behind a calculation's name.
pub trait Compute: DeserializeOwned + Serialize {
    type Told: Serialize;
    fn compute(&self) -> Result<Self::Told, Wrong>;
    /// For documents.
    fn example() -> Self;
}

impl Calculation {
    /// The answer as JSON. Errors: what is wrong, and with which field.
    pub fn answer(self, given: &[u8]) -> Result<Value, Wrong> {
        match self {
            Self::ChargePlan => answer::<ChargePlan>(given),
            Self::ChargeTime => answer::<ChargeTime>(given),
            Self::Soc => answer::<Soc>(given),
            Self::Verdict => answer::<Verdict>(given),
        }
    }

    /// JSON Schema of what is given, with that of the answer under `$defs`.
    pub fn schema(self) -> Value {
        let (name, given, told) = match self {
            Self::ChargePlan => (
                "charge-plan",
                json!(ChargePlan::schema()),
                json!(ChargePlanTold::schema()),
            ),
            Self::ChargeTime => (
                "charge-time",
                json!(ChargeTime::schema()),
                json!(ChargeTimeTold::schema()),
            ),
            Self::Soc => ("soc", json!(Soc::schema()), json!(SocTold::schema())),
            Self::Verdict => (
                "verdict",
                json!(Verdict::schema()),
                json!(VerdictTold::schema()),
            ),
        };
        let mut schema = given;
        schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
        schema["title"] = json!(name);
        schema["$defs"] = json!({ "answer": told });
        schema
    }
}

fn answer<C: Compute>(given: &[u8]) -> Result<Value, Wrong> {
    let told = read::<C>(given)?.compute()?;
    serde_json::to_value(told).map_err(|error| Wrong::with("", error.to_string()))
}

/// Reads an object, and names the field that does not fit.
pub fn read<C: DeserializeOwned + Serialize>(given: &[u8]) -> Result<C, Wrong> {
    let value = json::read(given)?;
    if !value.is_object() {
        return Err(Wrong::with("", "give one JSON object"));
    }
    fitted("", value)
}

/// What stands at `at`, with nothing in it passed over or taken by its place.
fn fitted<T: DeserializeOwned + Serialize>(at: &str, value: Value) -> Result<T, Wrong> {
    let found: T = serde_path_to_error::deserialize(&value).map_err(|error| {
        let (field, words) = unfit::of_error(at, &error);
        Wrong::with(&field, words)
    })?;
    let read = serde_json::to_value(&found).map_err(|error| Wrong::with(at, error.to_string()))?;
    match shape::misread(&value, &read, at).list().first() {
        Some((field, words)) => Err(Wrong::with(field, words)),
        None => Ok(found),
    }
}

#[cfg(test)]
mod asking_tests;
#[cfg(test)]
mod tests;
