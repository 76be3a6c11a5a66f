//! What is said of a pack besides its state, as typed and as read. The design and how many alike are read by others.

use crate::bench::form::{Fields, Problems};
use crate::club::calendar::Day;
use crate::club::register::too_long;
use serde::Serialize;
use uuid::Uuid;

pub const NO_PLACE: &str = "Choose a place of the club.";

/// What is typed or known of a pack besides its state.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Details {
    pub maker: String,
    pub batch: String,
    pub supplier: String,
    pub price: String,
    pub acquired_on: Option<String>,
    pub first_used_on: Option<String>,
    #[serde(skip)]
    pub place_id: Option<Uuid>,
    pub notes: String,
}

impl Details {
    /// The fields that would be typed for it.
    pub fn typed(&self) -> Fields {
        let day = |day: &Option<String>| day.clone().unwrap_or_default();
        let place = self.place_id.map_or_else(String::new, |id| id.to_string());
        let pairs = [
            ("maker", self.maker.clone()),
            ("batch", self.batch.clone()),
            ("supplier", self.supplier.clone()),
            ("price", self.price.clone()),
            ("acquired", day(&self.acquired_on)),
            ("first_used", day(&self.first_used_on)),
            ("place", place),
            ("notes", self.notes.clone()),
        ];
        Fields::new(pairs.map(|(name, value)| (name.to_owned(), value)).to_vec())
    }
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PacksForm {
    pub design: String,
    pub count: String,
    pub maker: String,
    pub batch: String,
    pub supplier: String,
    pub price: String,
    pub acquired: String,
    pub first_used: String,
    pub place: String,
    pub notes: String,
}

impl PacksForm {
    pub fn of(fields: &Fields) -> Self {
        let text = |name: &str| fields.text(name);
        Self {
            design: text("design"),
            count: text("count"),
            maker: text("maker"),
            batch: text("batch"),
            supplier: text("supplier"),
            price: text("price"),
            acquired: text("acquired"),
            first_used: text("first_used"),
            place: text("place"),
            notes: text("notes"),
        }
    }

    pub fn details(&self, today: Day, problems: &mut Problems) -> Details {
        let mut day = |field: &str, text: &str| {
            if text.is_empty() {
                return None;
            }
            let day = match Day::parse(text) {
                None => Err("Write the day as 2026-11-27."),
                Some(day) if day > today => Err("That day has not come yet."),
                Some(day) => Ok(day),
            };
            problems.keep(field, day).map(|day| day.to_string())
        };
        let (acquired_on, first_used_on) = (
            day("acquired", &self.acquired),
            day("first_used", &self.first_used),
        );
        let place_id = match self.place.as_str() {
            "" => None,
            chosen => {
                let id = chosen.parse().map_err(|_| NO_PLACE);
                problems.keep("place", id)
            }
        };
        for (field, words) in too_long(&[
            ("maker", &self.maker),
            ("batch", &self.batch),
            ("supplier", &self.supplier),
            ("price", &self.price),
            ("notes", &self.notes),
        ]) {
            problems.add(field, words);
        }
        Details {
            acquired_on,
            first_used_on,
            maker: self.maker.clone(),
            batch: self.batch.clone(),
            supplier: self.supplier.clone(),
            price: self.price.clone(),
            place_id,
            notes: self.notes.clone(),
        }
    }
}
