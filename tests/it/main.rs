//! Tests from outside: each file answers for one subject.

mod architecture;
mod architecture_bites;
mod source;
