//! A code for the wall as a PDF of one page: what comes first in an emergency, the code, and what it is for.

use super::code::Code;
use super::sheet::Paper;
use super::{PaperError, typeset};
use serde::Serialize;
use serde_json::json;

/// All in words, as the page has them.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Poster {
    pub title: String,
    pub first: &'static str,
    /// The number of the fire service, or what to do where the club wrote none.
    pub call: String,
    pub hall: String,
    pub meet: String,
    /// Where its code leads.
    pub address: String,
    pub words: String,
    pub foot: String,
}

pub fn pdf(poster: &Poster, paper: Paper) -> Result<Vec<u8>, PaperError> {
    let code = Code::of(&poster.address)?;
    let mut data = serde_json::to_value(poster).map_err(|error| PaperError(error.to_string()))?;
    let (width, height) = paper.size();
    data["width"] = json!(width as f64 / 100.0);
    data["height"] = json!(height as f64 / 100.0);
    data["svg"] = json!(code.svg());
    typeset::pdf(include_str!("../../templates/paper/poster.typ"), &data)
}
