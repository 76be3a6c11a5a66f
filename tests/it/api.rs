//! The JSON API, asked as programs ask it: with a token and nothing else.

mod bodies;
mod charging;
mod dice;
mod document;
mod examples;
mod filters;
mod limits;
mod matrix;
mod once;
mod photos;
mod program;
mod refusals;
mod returned;
mod rights;
mod scan;
mod schema;
mod tokens;
mod troubles;
mod verdicts;
