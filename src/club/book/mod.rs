//! The incident book, pure: how each entry commits to the one before (`entry`, `chain`), how a whole book is checked
//! (`check`), and what is left of a person who was erased (`part`, `erasure`). Salts and instants come as arguments;
//! keeping is left to others.

pub mod canonical;
pub mod chain;
pub mod check;
pub mod digest;
pub mod entry;
pub mod erasure;
pub mod export;
pub mod part;

#[cfg(test)]
mod check_tests;
#[cfg(test)]
mod export_tests;
#[cfg(test)]
mod tampering_tests;
