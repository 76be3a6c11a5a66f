//! What a cell is and does, pure: chemistries and their limits, a pack's build and energy, volts as people type them.
//! Values in, values out; leaves people, states and lending to `club`. Units: mV, mA, mAh, mWh as i64.

pub mod charge;
pub mod chemistry;
pub mod limits;
pub mod pack;
mod typed;
pub mod volts;
