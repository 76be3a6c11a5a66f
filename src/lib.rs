//! Sandbucket looks after the lithium packs, chargers and adapters that a hobby club owns and shares.
//! Each module is a room of the house; a room may use those named after it here, never those before.
#![forbid(unsafe_code)]

pub mod app;

pub mod web;

pub mod paper;
pub mod tasks;

pub mod actions;

pub mod store;

pub mod calc;

pub mod club;

pub mod bench;

pub mod battery;

pub mod clock;
pub mod config;
pub mod ids;
