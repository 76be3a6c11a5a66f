//! What is kept of danger: reports of what somebody saw, with the codes on the wall by which some come.

pub mod posters;
pub mod reports;
