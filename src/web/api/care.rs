//! Storage care: what is to see to, and events.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::bench::form::{Fields, Problems};
use crate::store::care::events;
use crate::web::asked::Path;
use crate::web::events as page;
use crate::web::page::{Page, PageError};
use crate::web::to_see_to::{self, ToDo};
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What needs a person now: of a pack, a loan, a place, a thing of kit or a charge, or after an incident.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct ToSeeTo {
    /// Of the pack or the kit; of a loan the first of its things; of a place its name; of a charge its pack; of an action its incident; of
    /// danger told the report.
    pub number: String,
    /// quarantine, retired_dangerous, lost_dangerous, danger_told, charge_past_time, charger_set_aside, over_full, set_aside, not_known, loan_overdue, extinguisher_check, detector_check, kit_to_mend,
    /// kit_unchecked, open_round, incident_action, still_at_home, or what storage care asks: falls_to_minimum, above_band, event_over,
    /// back_not_stored, not_full, nickel_low, first_check, not_looked_at, balance_owed.
    pub matter: String,
    /// at_once, today, this_week or when_convenient.
    pub when: String,
    pub since: String,
    pub why: String,
    /// The one next act.
    pub next: String,
    /// What storage care asks of the same pack besides.
    pub also: Vec<String>,
    /// Names of whom to ask; empty: nobody in particular.
    pub ask: String,
}

impl ToSeeTo {
    fn of(one: ToDo) -> Self {
        let line = one.line;
        Self {
            matter: line.matter.code().to_owned(),
            when: line.grave.code().to_owned(),
            since: instant(line.since),
            also: line
                .also
                .iter()
                .map(|each| each.code().to_owned())
                .collect(),
            number: line.number,
            why: line.why,
            next: line.next,
            ask: one.ask,
        }
    }
}

/// The most dangerous first.
#[derive(Serialize, ToSchema)]
pub struct AllToSeeTo {
    pub to_see_to: Vec<ToSeeTo>,
}

impl Shown for AllToSeeTo {
    fn example() -> Self {
        Self {
            to_see_to: vec![ToSeeTo {
                number: "P-001".to_owned(),
                matter: "not_looked_at".to_owned(),
                when: "when_convenient".to_owned(),
                since: "2026-11-25T18:30:00Z".to_owned(),
                why: "Last read 90 days ago; the club reads a pack every 90.".to_owned(),
                next: "Log its volts, rested.".to_owned(),
                also: Vec::new(),
                ask: "quartermasters".to_owned(),
            }],
        }
    }
}

pub async fn to_see_to(call: Call<Nothing>) -> Result<AllToSeeTo, Trouble> {
    let all = to_see_to::all(&call.app, &call.who).await;
    let all = all.map_err(PageError::from)?;
    Ok(AllToSeeTo {
        to_see_to: all.into_iter().map(ToSeeTo::of).collect(),
    })
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Event {
    pub id: Uuid,
    pub name: String,
    pub place: String,
    pub first_on: String,
    pub last_on: String,
    /// Of its packs.
    pub packs: Vec<String>,
    pub starts_at: String,
    /// The end of its last day in the hall, or when it was ended.
    pub ends_at: String,
    /// Somebody ended it before its last day was over.
    pub is_ended: bool,
    /// It does not take place.
    pub is_called_off: bool,
    /// Of its packs, those that are in quarantine: they go nowhere.
    pub in_quarantine: Vec<String>,
    /// And those that somebody is to look over first.
    pub set_aside: Vec<String>,
}

impl Event {
    fn of(event: events::Event) -> Self {
        Self {
            packs: event.numbers(),
            starts_at: instant(event.starts_ms),
            ends_at: instant(event.ends_ms),
            is_ended: event.ended_ms.is_some(),
            is_called_off: event.called_off_ms.is_some(),
            in_quarantine: event.quarantined(),
            set_aside: event.set_aside(),
            id: event.id,
            name: event.name,
            place: event.place,
            first_on: event.first_on,
            last_on: event.last_on,
        }
    }
}

impl Shown for Event {
    fn example() -> Self {
        Self {
            id: document::EVENT,
            name: "Autumn Bouts".to_owned(),
            place: "Town hall".to_owned(),
            first_on: "2026-11-25".to_owned(),
            last_on: "2026-11-26".to_owned(),
            packs: vec!["P-001".to_owned()],
            starts_at: "2026-11-25T00:00:00Z".to_owned(),
            ends_at: "2026-11-27T00:00:00Z".to_owned(),
            is_ended: false,
            is_called_off: false,
            in_quarantine: Vec::new(),
            set_aside: Vec::new(),
        }
    }
}

/// The latest on top.
#[derive(Serialize, ToSchema)]
pub struct Events {
    pub events: Vec<Event>,
}

impl Shown for Events {
    fn example() -> Self {
        Self {
            events: vec![Event::example()],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Events, Trouble> {
    let found = events::list(&mut call.app.db.read().await?, page::MOST_LISTED).await?;
    Ok(Events {
        events: found.into_iter().map(Event::of).collect(),
    })
}

pub async fn show(call: Call<Nothing>) -> Result<Event, Trouble> {
    let found = events::by_id(&mut call.app.db.read().await?, call.id).await?;
    Ok(Event::of(found.ok_or(PageError::NotFound)?))
}

/// An event as it is made or changed, the whole of it.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EventSheet {
    pub name: String,
    /// Empty: nobody said.
    pub place: String,
    /// YYYY-MM-DD.
    pub first_on: String,
    /// YYYY-MM-DD, the first day or later.
    pub last_on: String,
    /// Numbers of all packs that are taken there.
    pub packs: Vec<String>,
}

impl Sent for EventSheet {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("name", &self.name);
        form.text("place", &self.place);
        form.text("first_on", &self.first_on);
        form.text("last_on", &self.last_on);
        form.called("packs", "packs", self.packs.join(" "));
        Ok(())
    }

    fn example() -> Self {
        Self {
            name: "Autumn Bouts".to_owned(),
            place: "Town hall".to_owned(),
            first_on: "2026-11-25".to_owned(),
            last_on: "2026-11-26".to_owned(),
            packs: vec!["1".to_owned()],
        }
    }
}

pub async fn make(call: Call<EventSheet>, form: Fields) -> Page {
    page::make(State(call.app), call.who, form).await
}

pub async fn change(call: Call<EventSheet>, form: Fields) -> Page {
    page::change(State(call.app), call.who, Path(call.id), form).await
}

pub async fn end(call: Call<Nothing>, form: Fields) -> Page {
    page::end(State(call.app), call.who, Path(call.id), form).await
}

/// An event is called off.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CallOff {
    /// It does not take place: no pack is on its list any more.
    pub is_sure: bool,
}

impl Sent for CallOff {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.tick("is_sure", "is_sure", self.is_sure);
        Ok(())
    }

    fn example() -> Self {
        Self { is_sure: true }
    }
}

pub async fn call_off(call: Call<CallOff>, form: Fields) -> Page {
    page::call_off(State(call.app), call.who, Path(call.id), form).await
}
