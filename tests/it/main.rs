//! Tests from outside: each file answers for one subject. `support` has the stage: a club on a database of its own,
//! people with browsers, a clock that is moved by hand.

#[macro_use]
#[allow(dead_code, reason = "a stage holds more than one play needs")]
mod support;

mod api;
mod architecture;
mod architecture_bites;
mod back_already;
mod connectors;
mod corrections;
mod database;
mod demo;
mod energy;
mod errand;
mod etags;
mod every_form;
mod every_owner;
mod every_page;
mod every_route;
mod from_elsewhere;
mod full_disk;
mod hand_out_volts;
mod holders;
mod kept_form;
mod kept_from_members;
mod kills;
mod kit;
mod kit_told;
mod label_volts;
mod labels;
mod last_seen;
mod lending_model;
mod let_in;
mod links;
mod log_check;
mod look;
mod me;
mod migrations;
mod no_way_round;
mod outside;
mod oversight;
mod pack_filter;
mod pack_page;
mod people;
mod photos;
mod pool;
mod races;
mod scan;
mod sent_twice;
mod set_up;
mod sheets_broken;
mod sheets_in;
mod sheets_kept;
mod sheets_out;
mod sign_in;
mod source;
mod stops;
mod table_rules;
mod tablet;
mod troubles;
mod typed_fields;
mod typed_numbers;
mod undo;
mod unreadable;
mod weights;
