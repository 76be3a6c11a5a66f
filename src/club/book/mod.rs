//! The incident book, pure: what an entry says (`incident`, `severity`, `telling`, `asked`, `story`), how each commits to the
//! one before (`entry`, `chain`), how a whole book is checked (`check`), and what is left of a person who was erased (`part`,
//! `erasure`). Salts and instants come as arguments; keeping is left to others.

pub mod asked;
pub mod canonical;
pub mod chain;
pub mod check;
pub mod digest;
pub mod entry;
pub mod erasure;
pub mod export;
pub mod incident;
pub mod part;
pub mod severity;
pub mod story;
pub mod telling;

#[cfg(test)]
mod check_tests;
#[cfg(test)]
mod export_tests;
#[cfg(test)]
mod tampering_tests;
#[cfg(test)]
mod telling_tests;
