//! What a cell is and does, pure: chemistries and their limits, a pack's build and energy, volts as people type them.
//! Values in, values out; leaves people, states and lending to `club`. Units: mV, mA, mAh, mWh as i64.

pub mod ageing;
pub mod capacity;
pub mod capacity_fade;
pub mod charge;
pub mod charge_time;
pub mod chemistry;
pub mod course;
pub mod curve;
pub mod curve_sources;
pub mod discharge_time;
pub mod imbalance;
pub mod limits;
pub mod log;
pub mod milliohms;
pub mod pack;
pub mod peak;
pub mod range;
#[cfg(test)]
#[path = "reference_tests.rs"]
pub mod reference;
pub mod remaining;
pub mod resistance;
pub mod resistance_history;
pub mod resistance_read;
pub mod self_discharge;
pub mod settling;
pub mod trend;
mod typed;
pub mod volts;
#[cfg(test)]
#[path = "worked_values_tests.rs"]
mod worked_values;
