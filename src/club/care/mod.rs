//! Storage care: what a pack is believed to hold, what is due for it and who is chased, what it may not do meanwhile, and
//! what lying full has cost. A belief is reckoned from what is on record. It decides who is chased, never that a pack may be
//! charged or lent: that takes volts, read now and judged by `club::reading`. A belief keeps its volts to itself, as a range
//! that no rule for readings takes.
//! Says nothing of mail and pages. Percent of what a cell holds, mV, days of 24 hours, degrees Celsius.

pub mod ahead;
pub mod belief;
pub mod chased;
pub mod cost;
pub mod due;
pub mod enforced;
pub mod forecast;
pub mod kept;
pub mod lain;
mod reasons;
pub mod rule_form;
pub mod rules;
pub mod season;
pub mod seen;
pub mod story;
pub mod table_form;
mod told;
pub mod walked;
pub mod warmth;

#[cfg(test)]
mod properties_tests;
#[cfg(test)]
pub(in crate::club) mod scenes_tests;
