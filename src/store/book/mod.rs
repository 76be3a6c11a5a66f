//! What is kept of danger: reports of what somebody saw, with the codes on the wall by which
//! some come; watches over packs in quarantine; how packs were got rid of.

pub mod disposals;
pub mod posters;
pub mod reports;
pub mod watches;
