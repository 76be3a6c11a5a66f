//! The JSON API, asked as programs ask it: with a token and nothing else.

mod dice;
mod document;
mod examples;
mod matrix;
mod once;
mod program;
mod rights;
mod schema;
mod tokens;
mod troubles;
