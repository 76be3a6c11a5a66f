//! What was part of an incident: each thing as it was called then, and what was on record of it, frozen as it is written into the book.
//! Names and people's own words in that are parts of the entry, so that they can be erased. What has no number is told in words.

use super::frozen::{Apart, KnownKit, KnownPack};
use super::telling::{Sheet, Words};
use serde_json::json;

/// A thing that was part of it, called as it was then.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Item {
    /// `pack`, or which kind of kit: `charger`, `supply`.
    pub what: String,
    pub called: String,
    pub id: Option<uuid::Uuid>,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Involved {
    pub items: Vec<Item>,
    /// What has no number: a visitor's pack, a socket.
    pub others: Words,
    /// Readings, loans, states, charges and plans shown.
    pub packs: Vec<KnownPack>,
    pub kit: Vec<KnownKit>,
    /// What is kept apart of it.
    pub apart: Vec<Apart>,
}

/// Beside the field for what has no number.
pub const OTHERS_HINT: &str = "A visitor's pack, a socket. Where somebody is named in it, tick that below: these words can be erased then.";

impl Involved {
    pub fn is_nothing(&self) -> bool {
        self.items.is_empty() && self.others.text.trim().is_empty()
    }

    pub fn keep_apart(&mut self, names_somebody: impl Fn(&str) -> bool) {
        self.others.names_somebody |= names_somebody(&self.others.text);
        for pack in &mut self.packs {
            self.apart.extend(pack.keep_apart(&names_somebody));
        }
        for kit in &mut self.kit {
            self.apart.extend(kit.keep_apart(&names_somebody));
        }
    }

    pub(super) fn fill<S: FnMut() -> [u8; 16]>(&self, sheet: &mut Sheet<S>) {
        sheet.put("items", json!(self.items));
        sheet.words("others", &self.others);
        sheet.put("frozen", json!({ "packs": self.packs, "kit": self.kit }));
        for (name, words) in &self.apart {
            sheet.part(name, words);
        }
    }
}

/// Numbers as they are typed in one field: `P-001, c-02`.
pub fn numbers(typed: &str) -> Vec<String> {
    let between = |sign: char| sign.is_whitespace() || matches!(sign, ',' | ';');
    let typed = typed.to_uppercase();
    let numbers = typed.split(between).filter(|number| !number.is_empty());
    numbers.map(str::to_owned).collect()
}
