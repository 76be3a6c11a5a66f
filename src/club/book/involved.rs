//! What was part of an incident: each thing as it was called then, and what was on record of it, frozen as it is written into the book.
//! Names and people's own words in that are parts of the entry, so that they can be erased.

use super::frozen::{Apart, KnownPack};
use super::telling::Sheet;
use serde_json::json;

/// A thing that was part of it, called as it was then.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Item {
    /// `pack`.
    pub what: String,
    pub called: String,
    pub id: Option<uuid::Uuid>,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Involved {
    pub items: Vec<Item>,
    /// Readings, loans, states, charges and plans shown.
    pub packs: Vec<KnownPack>,
    /// What is kept apart of it.
    pub apart: Vec<Apart>,
}

impl Involved {
    pub fn keep_apart(&mut self, names_somebody: impl Fn(&str) -> bool) {
        for pack in &mut self.packs {
            self.apart.extend(pack.keep_apart(&names_somebody));
        }
    }

    pub(super) fn fill<S: FnMut() -> [u8; 16]>(&self, sheet: &mut Sheet<S>) {
        sheet.put("items", json!(self.items));
        sheet.put("frozen", json!({ "packs": self.packs }));
        for (name, words) in &self.apart {
            sheet.part(name, words);
        }
    }
}
