//! The club night: which one is open, opening and closing it.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::bench::form::{Fields, Problems};
use crate::store::nights;
use crate::web::night as page;
use crate::web::page::Page;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct OpenNight {
    pub place_id: Uuid,
    pub place: String,
    pub on_duty_id: Uuid,
    /// null: they were erased.
    pub on_duty: Option<String>,
    pub ends_on: String,
    /// HH:MM in the hall.
    pub ends_at: String,
    pub opened_at: String,
}

#[derive(Serialize, ToSchema)]
pub struct Tonight {
    /// null: none is open.
    pub night: Option<OpenNight>,
}

impl Shown for Tonight {
    fn example() -> Self {
        Self {
            night: Some(OpenNight {
                place_id: document::PLACE,
                place: "Box B".to_owned(),
                on_duty_id: document::PERSON,
                on_duty: Some("Ada".to_owned()),
                ends_on: "2026-11-25".to_owned(),
                ends_at: "21:30".to_owned(),
                opened_at: "2026-11-25T18:30:00Z".to_owned(),
            }),
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<Tonight, Trouble> {
    let night = nights::open_now(&mut call.app.db.read().await?).await?;
    Ok(Tonight {
        night: night.map(|night| OpenNight {
            place_id: night.place_id,
            place: night.place_name,
            on_duty_id: night.on_duty_id,
            on_duty: night.on_duty_name,
            ends_on: night.ends_on,
            ends_at: night.ends_at,
            opened_at: instant(night.opened_ms),
        }),
    })
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewNight {
    pub place_id: Uuid,
    pub on_duty_id: Uuid,
    /// YYYY-MM-DD.
    pub ends_on: String,
    /// HH:MM in the hall.
    pub ends_at: String,
}

impl Sent for NewNight {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("place_id", "place", self.place_id);
        form.called("on_duty_id", "on_duty", self.on_duty_id);
        form.text("ends_on", &self.ends_on);
        form.text("ends_at", &self.ends_at);
        Ok(())
    }

    fn example() -> Self {
        Self {
            place_id: document::PLACE,
            on_duty_id: document::PERSON,
            ends_on: "2026-11-25".to_owned(),
            ends_at: "23:00".to_owned(),
        }
    }
}

pub async fn open(call: Call<NewNight>, form: Fields) -> Page {
    page::open(State(call.app), call.who, form).await
}

pub async fn close(call: Call<Nothing>, form: Fields) -> Page {
    page::close(State(call.app), call.who, form).await
}
