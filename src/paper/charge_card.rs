//! The card of one charge as a form to hang beside the charger, with lines to fill in by hand: a PDF of one page.

use super::sheet::Paper;
use super::{PaperError, typeset};
use serde::Serialize;
use serde_json::{Value, json};

/// All in words, as the page has them.
#[derive(Clone, Debug, Default, Serialize)]
pub struct WallForm {
    pub title: String,
    pub number: String,
    /// `3S 450 mAh LiPo`
    pub what: String,
    /// `Ready by 14:40.`
    pub purpose: String,
    pub takes: String,
    /// What has to be turned down before anything else, if anything.
    pub first: Option<String>,
    pub steps: Vec<String>,
    /// Label and value.
    pub settings: Vec<(&'static str, String)>,
    pub read_back: String,
    pub stop_if: &'static str,
    pub cautions: Vec<String>,
    pub stays: String,
    pub foot: String,
}

pub fn pdf(form: &WallForm, paper: Paper) -> Result<Vec<u8>, PaperError> {
    let mut data = serde_json::to_value(form).map_err(|error| PaperError(error.to_string()))?;
    let (width, height) = paper.size();
    data["width"] = json!(width as f64 / 100.0);
    data["height"] = json!(height as f64 / 100.0);
    // None or one, for the template to go through.
    data["first"] = Value::from_iter(form.first.clone());
    typeset::pdf(include_str!("../../templates/paper/charge_card.typ"), &data)
}
