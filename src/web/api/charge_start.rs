//! The start of a charge: a plan as it was answered, handed to the page's own handler, which plans anew.

use super::charge::{celsius, ticked};
use super::form::{Form, Sent};
use super::operation::Call;
use crate::actions::charging::purpose_code;
use crate::bench::form::{Fields, Problems};
use crate::bench::plan::Purpose;
use crate::club::calendar::Instant;
use crate::web::asked::Path;
use crate::web::charge;
use crate::web::charge_asked::MOST_MINUTES;
use crate::web::page::Page;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A plan as it was answered and read back from the charger. What changed since is refused, and planned anew.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StartCharge {
    /// As it was asked for, the degrees too.
    pub purpose: String,
    #[serde(default)]
    pub room_celsius: Option<i64>,
    #[serde(default)]
    pub pack_celsius: Option<i64>,
    #[serde(default)]
    pub pack_is_measured: bool,
    /// As they were answered.
    pub planned_at: String,
    /// Of ready_by and no_hurry.
    #[serde(default)]
    pub minutes: Option<i64>,
    pub charger: String,
    pub mode: String,
    pub current_ma: i64,
    /// `plan` of the plan that was read.
    pub plan: String,
    /// Who stays with it; left out: you. Somebody else is named by a quartermaster alone.
    #[serde(default)]
    pub watched_by_id: Option<Uuid>,
}

impl StartCharge {
    /// When it was planned.
    fn planned(&self) -> Option<Instant> {
        let at: jiff::Timestamp = self.planned_at.trim().parse().ok()?;
        Some(Instant(at.as_millisecond()))
    }
}

impl Sent for StartCharge {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        let mut problems = Problems::default();
        let planned = self.planned();
        if planned.is_none() {
            let words = "Say when it was planned, as it was answered: 2026-11-25T18:30:00Z.";
            problems.add("planned_at", words);
        }
        let needs_minutes = ["ready_by", "no_hurry"].contains(&self.purpose.as_str());
        let has_minutes = self
            .minutes
            .is_some_and(|minutes| (1..=MOST_MINUTES).contains(&minutes));
        if needs_minutes && !has_minutes {
            problems.add("minutes", format!("Give minutes from 1 to {MOST_MINUTES}."));
        }
        form.text("purpose", &self.purpose);
        form.maybe("minutes", "minutes", self.minutes);
        form.maybe("room_celsius", "room", self.room_celsius.map(celsius));
        form.maybe("pack_celsius", "pack", self.pack_celsius.map(celsius));
        form.called(
            "pack_is_measured",
            "measured",
            ticked(self.pack_is_measured),
        );
        form.maybe("planned_at", "shown_ms", planned.map(Instant::ms));
        form.text("charger", &self.charger);
        form.text("mode", &self.mode);
        form.text("current_ma", self.current_ma);
        form.text("plan", &self.plan);
        form.maybe("watched_by_id", "watched_by", self.watched_by_id);
        problems.or_none()
    }

    fn example() -> Self {
        Self {
            purpose: purpose_code(Purpose::NoHurry { there_minutes: 240 }).to_owned(),
            room_celsius: Some(21),
            pack_celsius: Some(21),
            pack_is_measured: false,
            planned_at: "2026-11-25T18:30:00Z".to_owned(),
            minutes: Some(240),
            charger: "C-01".to_owned(),
            mode: "balance".to_owned(),
            current_ma: 2_200,
            plan: "C-01/0/mains//balance/2200/12600/1670/80/read/-".to_owned(),
            watched_by_id: None,
        }
    }
}

pub async fn start(call: Call<StartCharge>, form: Fields) -> Page {
    charge::start(State(call.app), call.who, Path(call.name), form).await
}
