//! The first minute as a card for the wall: a PDF of one page, from the club's own plan.

use super::sheet::Paper;
use super::{PaperError, typeset};
use serde::Serialize;
use serde_json::json;

/// All in words, as the page has them.
#[derive(Clone, Debug, Default, Serialize)]
pub struct WallCard {
    pub title: String,
    pub call: String,
    pub hall: String,
    pub meet: String,
    /// What to do, in its order, each with the numbers of its sources: `1, 3`.
    pub lines: Vec<(String, String)>,
    /// Label and words; only what the club wrote down.
    pub who: Vec<(&'static str, String)>,
    pub where_it_is: Vec<(&'static str, String)>,
    pub plan: String,
    /// In the order of their numbers.
    pub sources: Vec<String>,
    pub foot: String,
}

pub fn pdf(card: &WallCard, paper: Paper) -> Result<Vec<u8>, PaperError> {
    let mut data = serde_json::to_value(card).map_err(|error| PaperError(error.to_string()))?;
    let (width, height) = paper.size();
    data["width"] = json!(width as f64 / 100.0);
    data["height"] = json!(height as f64 / 100.0);
    typeset::pdf(include_str!("../../templates/paper/wall_card.typ"), &data)
}
