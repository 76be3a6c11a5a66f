//! Places, and what lies in them.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::{said, thousandths};
use crate::bench::form::{Fields, Problems};
use crate::club::place_checks::Check;
use crate::store::places::{self, Holding};
use crate::web::asked::Path;
use crate::web::page::{Page, PageError};
use crate::web::places as page;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Place {
    pub id: Uuid,
    pub sheet: PlaceSheet,
    pub is_closed: bool,
    pub packs_here: i64,
    /// They belong here and are on a loan.
    pub packs_out: i64,
    pub kit: i64,
    /// What lies here now.
    pub energy_mwh: i64,
}

/// A place as it is added or changed, the whole of it: null or empty where nothing is said.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceSheet {
    pub name: String,
    /// cabinet, box, bag, table, vehicle, outdoors or quarantine.
    pub kind: String,
    pub room: String,
    /// More energy should not lie here; null: no limit was set.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub energy_limit_mwh: Option<i64>,
    /// How warm it usually is, whole degrees Celsius, -20 to 60; null: nobody said.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub warmth_celsius: Option<i64>,
    /// The day when its fire extinguisher is next checked; null: nobody said.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub extinguisher_check_due: Option<String>,
    /// The day when its smoke or heat detector is next checked; null: nobody said.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub detector_check_due: Option<String>,
    pub notes: String,
}

impl Place {
    fn of(held: Holding) -> Self {
        Self {
            id: held.place.id,
            is_closed: held.place.closed_ms.is_some(),
            sheet: PlaceSheet {
                name: held.place.name,
                kind: held.place.kind,
                room: held.place.room,
                energy_limit_mwh: held.place.energy_limit_mwh,
                warmth_celsius: held.place.warmth_celsius,
                extinguisher_check_due: held.place.extinguisher_check_due,
                detector_check_due: held.place.detector_check_due,
                notes: held.place.notes,
            },
            packs_here: held.packs_here,
            packs_out: held.packs_out,
            kit: held.kit,
            energy_mwh: held.energy_mwh,
        }
    }
}

impl Shown for Place {
    fn example() -> Self {
        Self {
            id: document::PLACE,
            sheet: PlaceSheet::example(),
            packs_here: 6,
            energy_mwh: 146_520,
            ..Self::default()
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct Places {
    pub places: Vec<Place>,
}

impl Shown for Places {
    fn example() -> Self {
        Self {
            places: vec![Place::example()],
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacesAsked {
    /// true: the closed ones.
    closed: Option<bool>,
}

pub async fn list(call: Call<PlacesAsked>) -> Result<Places, Trouble> {
    let are_closed = call.sent.closed.unwrap_or(false);
    let held = places::holdings(&mut call.app.db.read().await?, are_closed).await?;
    Ok(Places {
        places: held.into_iter().map(Place::of).collect(),
    })
}

pub async fn show(call: Call<Nothing>) -> Result<Place, Trouble> {
    let held = places::holding(&mut call.app.db.read().await?, call.id).await?;
    Ok(Place::of(held.ok_or(PageError::NotFound)?))
}

impl Sent for PlaceSheet {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("name", &self.name);
        form.text("kind", &self.kind);
        form.text("room", &self.room);
        let limit = self.energy_limit_mwh.map(thousandths);
        form.maybe("energy_limit_mwh", "energy_limit", limit);
        form.maybe("warmth_celsius", "warmth_celsius", self.warmth_celsius);
        let days = [&self.extinguisher_check_due, &self.detector_check_due];
        for (check, day) in Check::ALL.into_iter().zip(days) {
            form.maybe(check.field(), check.field(), day.as_ref());
        }
        form.text("notes", &self.notes);
        Ok(())
    }

    fn example() -> Self {
        Self {
            name: "Box C".to_owned(),
            kind: "box".to_owned(),
            room: "Hall".to_owned(),
            energy_limit_mwh: Some(500_000),
            warmth_celsius: Some(19),
            extinguisher_check_due: Some("2027-05-01".to_owned()),
            detector_check_due: None,
            notes: String::new(),
        }
    }
}

pub async fn add(call: Call<PlaceSheet>, form: Fields) -> Page {
    page::add(State(call.app), call.who, form).await
}

pub async fn change(call: Call<PlaceSheet>, form: Fields) -> Page {
    page::change(State(call.app), call.who, Path(call.id), form).await
}

pub async fn close(call: Call<Nothing>, form: Fields) -> Page {
    page::close(State(call.app), call.who, Path(call.id), form).await
}

pub async fn reopen(call: Call<Nothing>, form: Fields) -> Page {
    page::reopen(State(call.app), call.who, Path(call.id), form).await
}
