//! What runs by itself on a clock. Calls the store and actions like a page does; holds no rules.

mod leased;
pub mod push;
mod push_request;
pub mod remind;
pub mod smtp;
pub mod sweep;
mod tls;
