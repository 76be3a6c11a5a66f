//! The rules of the club, pure: states of a pack and their ways out, what may be lent to whom, what is due.
//! Values in, values out; instants come as arguments. Knows cells (`battery`) and kit (`bench`), no database and no web.

pub mod batch;
pub mod beside_form;
pub mod book;
pub mod calendar;
pub mod care;
pub mod charge_log;
pub mod charging;
pub mod design_form;
pub mod glance;
pub mod health;
pub mod induction;
pub mod kit;
pub mod label;
pub mod lending;
pub mod limits;
pub mod log_file;
pub mod membership;
pub mod pack_form;
pub mod passwords;
pub mod people;
pub mod places;
pub mod reading;
pub mod register;
pub mod release;
pub mod seen;
pub mod settings;
pub mod sheet;
pub mod sighting;
pub mod states;
pub mod table_code;
pub mod tokens;
pub mod typed_numbers;
pub mod undo;
pub mod verdict;
