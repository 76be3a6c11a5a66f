//! The incident book, pure: what an entry says (`incident`, `severity`, `telling`, `frozen`, `asked`, `story`), how each commits to the one before
//! (`entry`, `chain`), how a whole book is checked (`check`) and how it is filed (`filed`), and what is left of a person who was erased (`part`, `erasure`).
//! Beside it what must be known at once: the first minute (`first_minute`), where a pack in quarantine lies and what it lies
//! away from (`lying`), what is boxed on its pages (`stop`), and how it is watched (`watch`). Salts and instants come as arguments; keeping is left to others.

pub mod asked;
pub mod canonical;
pub mod chain;
pub mod check;
pub mod correctable;
pub mod digest;
pub mod doing;
pub mod entry;
pub mod erasure;
pub mod export;
pub mod filed;
pub mod first_minute;
pub mod frozen;
pub mod guess;
pub mod incident;
pub mod involved;
pub mod lying;
mod mistyped;
pub mod named;
pub mod part;
pub mod severity;
pub mod source;
pub mod stop;
pub mod story;
pub mod telling;
pub mod wall_card;
pub mod watch;
pub mod whom;

#[cfg(test)]
mod check_tests;
#[cfg(test)]
mod export_tests;
#[cfg(test)]
mod filed_tests;
#[cfg(test)]
mod story_tests;
#[cfg(test)]
mod tampering_tests;
#[cfg(test)]
mod telling_tests;
