//! The form of a place: as it was typed, as the place stands, and what is read from it.

use super::words_of;
use crate::bench::typed::{Unit, amount_milli};
use crate::club::limits::fahrenheit_within;
use crate::club::place_checks::{Check, read_day};
use crate::club::places::{PlaceKind, PlaceSheet};
use crate::club::reading::beside::CELSIUS;
use crate::club::typed_numbers::whole_celsius;
use crate::store::places::Place;
use crate::web::fields::{Fields, Problems};
use crate::web::visit::SignedIn;

/// As typed.
#[derive(Default)]
pub struct PlaceForm {
    pub name: String,
    pub kind: String,
    pub room: String,
    pub energy_limit: String,
    pub warmth_celsius: String,
    pub warmth_hint: String,
    pub extinguisher_check_due: String,
    pub detector_check_due: String,
    pub notes: String,
    pub kinds: Vec<(String, String)>,
}

/// What was typed of a place, or what of it must be put right.
pub fn sheet(fields: &Fields, who: &SignedIn) -> Result<PlaceSheet, Problems> {
    let mut problems = Problems::default();
    let kind = PlaceKind::from_code(&fields.text("kind"));
    if kind.is_none() {
        problems.add("kind", "Choose what kind of place it is.");
    }
    let limit = fields.text("energy_limit");
    let energy_limit_mwh = match limit.as_str() {
        "" => None,
        text => problems.keep("energy_limit", amount_milli(text, Unit::WattHours)),
    };
    let warmth_celsius = whole_celsius(&fields.text("warmth_celsius"));
    let warmth_celsius = problems.keep("warmth_celsius", warmth_celsius).flatten();
    let today = who.zone.day_of(who.now);
    let [extinguisher_check_due, detector_check_due] = Check::ALL.map(|check| {
        let day = read_day(&fields.text(check.field()), today);
        problems.keep(check.field(), day).flatten()
    });
    let sheet = PlaceSheet {
        name: fields.text("name"),
        kind: kind.unwrap_or(PlaceKind::Cabinet),
        room: fields.text("room"),
        energy_limit_mwh,
        warmth_celsius,
        extinguisher_check_due,
        detector_check_due,
        notes: fields.text("notes"),
    };
    match sheet.clone().checked() {
        Ok(sheet) if problems.is_empty() => Ok(sheet),
        Ok(_) => Err(problems),
        Err(found) => {
            found
                .into_iter()
                .for_each(|each| problems.add(each.field, each.words));
            Err(problems)
        }
    }
}

fn warmth_hint(who: &SignedIn) -> String {
    let (from, to) = (*CELSIUS.start(), *CELSIUS.end());
    let span = if who.club.uses_fahrenheit {
        let (warm_from, warm_to) = fahrenheit_within(from, to);
        format!("{from} to {to} °C ({warm_from} to {warm_to} °F)")
    } else {
        format!("{from} to {to}")
    };
    format!(
        "Whole degrees, {span}. A charge there is planned with it where nobody says how warm it is."
    )
}

impl PlaceForm {
    pub fn of(fields: &Fields, who: &SignedIn) -> Self {
        Self {
            name: fields.text("name"),
            kind: fields.text("kind"),
            room: fields.text("room"),
            energy_limit: fields.text("energy_limit"),
            warmth_celsius: fields.text("warmth_celsius"),
            warmth_hint: warmth_hint(who),
            extinguisher_check_due: fields.text(Check::Extinguisher.field()),
            detector_check_due: fields.text(Check::Detector.field()),
            notes: fields.text("notes"),
            kinds: kinds(),
        }
    }

    pub fn standing(place: &Place, who: &SignedIn) -> Self {
        let words = words_of(who);
        Self {
            name: place.name.clone(),
            kind: place.kind.clone(),
            room: place.room.clone(),
            energy_limit: place
                .energy_limit_mwh
                .map_or_else(String::new, |mwh| words.number(mwh)),
            warmth_celsius: place
                .warmth_celsius
                .map_or_else(String::new, |celsius| celsius.to_string()),
            warmth_hint: warmth_hint(who),
            extinguisher_check_due: place.extinguisher_check_due.clone().unwrap_or_default(),
            detector_check_due: place.detector_check_due.clone().unwrap_or_default(),
            notes: place.notes.clone(),
            kinds: kinds(),
        }
    }
}

fn kinds() -> Vec<(String, String)> {
    PlaceKind::ALL
        .map(|kind| (kind.code().to_owned(), kind.label().to_owned()))
        .to_vec()
}
