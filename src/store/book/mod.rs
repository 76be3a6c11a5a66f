//! What is kept of danger: reports of what somebody saw, with the codes on the wall by which
//! some come; watches over packs in quarantine; how packs were got rid of; the
//! incident book; drills.

pub mod actions;
pub mod answers;
pub mod around;
pub mod disposals;
pub mod drills;
pub mod entries;
pub mod files;
pub mod looks;
pub mod parts;
pub mod posters;
pub mod report_photos;
pub mod report_words;
pub mod reports;
pub mod watches;
