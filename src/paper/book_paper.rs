//! The incident book in print, whole or one incident: a PDF whose every page tells where the book ends, so that any page of it
//! is something to check the book against.

use super::sheet::Paper;
use super::{PaperError, typeset};
use serde::Serialize;
use serde_json::json;

/// All in words.
#[derive(Clone, Debug, Default, Serialize)]
pub struct BookInPrint {
    pub title: String,
    pub lead: String,
    /// `The book ends with entry 12, …`: on each page.
    pub head: String,
    /// Its digest in groups.
    pub seal: String,
    pub foot: String,
    pub incidents: Vec<IncidentInPrint>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct IncidentInPrint {
    pub title: String,
    pub lead: String,
    pub entries: Vec<EntryInPrint>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct EntryInPrint {
    /// `3: timeline`
    pub title: String,
    pub when: String,
    pub facts: Vec<(String, String)>,
    pub files: Vec<FileInPrint>,
    pub seal: String,
}

/// A photo or file of an entry.
#[derive(Clone, Debug, Default, Serialize)]
pub struct FileInPrint {
    /// `Photo: ` and its digest, and whether it was erased.
    pub words: String,
    /// Its name among the photos, where it is one to be shown.
    pub photo: Option<String>,
    /// For who can't see it.
    pub alt: String,
}

/// `photos`: JPEGs that decode, by their names.
pub fn pdf(
    book: &BookInPrint,
    photos: Vec<(String, Vec<u8>)>,
    paper: Paper,
) -> Result<Vec<u8>, PaperError> {
    let mut data = serde_json::to_value(book).map_err(|error| PaperError(error.to_string()))?;
    let (width, height) = paper.size();
    data["width"] = json!(width as f64 / 100.0);
    data["height"] = json!(height as f64 / 100.0);
    let template = include_str!("../../templates/paper/book.typ");
    typeset::pdf_with_photos(template, &data, photos)
}
