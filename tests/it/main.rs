//! Tests from outside: each file answers for one subject.

mod architecture;
mod source;
