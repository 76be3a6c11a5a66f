//! Storage rounds, and what must be done before the club goes away.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::readings::typed;
use super::trouble::Trouble;
use super::words::{ReadVolts, instant};
use crate::bench::form::{Fields, Problems};
use crate::store::care::rounds::{self, OnRound};
use crate::web::asked::Path;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use crate::web::{going_away, rounds as page, rounds_back, rounds_home, rounds_new, rounds_read};
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct RoundLine {
    pub id: Uuid,
    pub name: String,
    pub opened_at: String,
    /// null: it is open.
    pub closed_at: Option<String>,
    pub packs: i64,
}

impl RoundLine {
    fn of(round: rounds::Round) -> Self {
        Self {
            id: round.id,
            opened_at: instant(round.opened_ms),
            closed_at: round.closed_ms.map(instant),
            name: round.name,
            packs: round.packs,
        }
    }
}

/// Open ones first, the latest on top.
#[derive(Serialize, ToSchema)]
pub struct Rounds {
    pub rounds: Vec<RoundLine>,
}

impl Shown for Rounds {
    fn example() -> Self {
        Self {
            rounds: vec![RoundLine {
                id: document::ROUND,
                name: "After Autumn Bouts".to_owned(),
                opened_at: "2026-11-25T18:30:00Z".to_owned(),
                closed_at: None,
                packs: 6,
            }],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Rounds, Trouble> {
    let found = rounds::list(&mut call.app.db.read().await?, page::MOST_LISTED).await?;
    Ok(Rounds {
        rounds: found.into_iter().map(RoundLine::of).collect(),
    })
}

/// A pack that came back with the round, and how it stands by volts read since; once the round is closed, how it stood then.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct RoundPack {
    pub number: String,
    /// dont_touch, not_read, needs_discharge, needs_charge or done.
    pub stands: String,
    /// Why it is left alone, and what is next; empty where nothing stands against it.
    pub why: String,
    /// Read since it was put on the round; null: not yet.
    pub volts: Option<ReadVolts>,
    /// Who took it home in this round, and by which day it is to be done; null: nobody.
    pub home_with: Option<String>,
    pub home_by_on: Option<String>,
}

impl RoundPack {
    fn of(one: &OnRound, who: &SignedIn) -> Self {
        let was_read = one
            .care
            .pack
            .last_read_ms
            .is_some_and(|at| at >= one.added_ms);
        let last = one.care.pack.last_volts.as_deref().filter(|_| was_read);
        let volts = match one.stood {
            Some(_) => one.stood_volts.as_deref(),
            None => last,
        };
        let taken = one.taken_until.as_ref();
        let name = one.taken_name.as_deref().unwrap_or("(erased)");
        Self {
            number: one.care.pack.number.clone(),
            stands: page::stands(one, who).code().to_owned(),
            why: who.numbers().sentence(&page::why(one, who)),
            volts: ReadVolts::of_text(volts),
            home_with: taken.map(|_| name.to_owned()),
            home_by_on: taken.cloned(),
        }
    }
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Round {
    pub round: RoundLine,
    pub packs: Vec<RoundPack>,
}

impl Shown for Round {
    fn example() -> Self {
        Self {
            round: Rounds::example().rounds.remove(0),
            packs: vec![RoundPack {
                number: "P-001".to_owned(),
                stands: "not_read".to_owned(),
                ..RoundPack::default()
            }],
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<Round, Trouble> {
    let mut conn = call.app.db.read().await?;
    let round = rounds::by_id(&mut conn, call.id).await?;
    let round = round.ok_or(PageError::NotFound)?;
    let packs = rounds::packs_of(&mut conn, call.id).await?;
    drop(conn);
    Ok(Round {
        round: RoundLine::of(round),
        packs: packs
            .iter()
            .map(|one| RoundPack::of(one, &call.who))
            .collect(),
    })
}

/// What came back: packs by number, with an event's list, or all that lies at a place; one of them at least.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct BeginRound {
    /// Empty: it is called after the event or the day.
    pub name: String,
    pub packs: Vec<String>,
    pub event_id: Option<Uuid>,
    pub place_id: Option<Uuid>,
}

impl Sent for BeginRound {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("name", &self.name);
        form.called("packs", "packs", self.packs.join(" "));
        form.maybe("event_id", "event", self.event_id);
        form.maybe("place_id", "place", self.place_id);
        Ok(())
    }

    fn example() -> Self {
        Self {
            packs: vec!["P-001".to_owned()],
            ..Self::default()
        }
    }
}

pub async fn begin(call: Call<BeginRound>, form: Fields) -> Page {
    rounds_new::begin(State(call.app), call.who, form).await
}

/// More packs that came back.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddToRound {
    pub packs: Vec<String>,
}

impl Sent for AddToRound {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("packs", "add", self.packs.join(" "));
        Ok(())
    }

    fn example() -> Self {
        Self {
            packs: vec!["P-001".to_owned()],
        }
    }
}

pub async fn add(call: Call<AddToRound>, form: Fields) -> Page {
    page::add(State(call.app), call.who, Path(call.id), form).await
}

/// Volts of one pack of the round, or why they could not be read: one of `volts_mv` and `unread`.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct ReadOnRound {
    pub pack: String,
    /// Of each cell, cell 1 first; of a pack without a balance lead the one of the whole pack.
    pub volts_mv: Vec<i64>,
    /// Why they could not be read.
    #[schema(max_length = 300)]
    pub unread: String,
    /// rested_an_hour, rested_a_while (15 minutes or more) or just_used.
    pub rested: String,
    /// It was asked about as implausible, measured again, and is so.
    pub is_confirmed: bool,
    /// Somebody looked it over and saw nothing.
    pub is_looked_over: bool,
}

impl Sent for ReadOnRound {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("pack", &self.pack);
        form.each("volts_mv", "volts", &typed(&self.volts_mv));
        form.name("volts_mv", "volts_line");
        form.text("unread", &self.unread);
        form.text("rested", &self.rested);
        form.tick("is_confirmed", "confirmed", self.is_confirmed);
        form.tick("is_looked_over", "looked_over", self.is_looked_over);
        Ok(())
    }

    fn example() -> Self {
        Self {
            pack: "P-001".to_owned(),
            volts_mv: vec![3_820, 3_810, 3_820],
            rested: "rested_an_hour".to_owned(),
            ..Self::default()
        }
    }
}

pub async fn read(call: Call<ReadOnRound>, form: Fields) -> Page {
    rounds_read::read(State(call.app), call.who, Path(call.id), form).await
}

/// Who takes an unfinished pack home, and by which day it is to be done.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeHome {
    pub pack: String,
    pub person_id: Uuid,
    pub by_on: String,
}

impl Sent for TakeHome {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("pack", "home_pack", &self.pack);
        form.called("person_id", "person", self.person_id);
        form.called("by_on", "by", &self.by_on);
        Ok(())
    }

    fn example() -> Self {
        Self {
            pack: "P-001".to_owned(),
            person_id: document::OTHER_PERSON,
            by_on: "2026-11-28".to_owned(),
        }
    }
}

pub async fn take_home(call: Call<TakeHome>, form: Fields) -> Page {
    rounds_home::take_home(State(call.app), call.who, Path(call.id), form).await
}

/// Where a pack lies again that somebody had at home.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BackFromHome {
    pub place_id: Uuid,
}

impl Sent for BackFromHome {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("place_id", "place", self.place_id);
        Ok(())
    }

    fn example() -> Self {
        Self {
            place_id: document::PLACE,
        }
    }
}

pub async fn is_back(call: Call<BackFromHome>, form: Fields) -> Page {
    rounds_back::is_back(State(call.app), call.who, Path(call.name), form).await
}

pub async fn close(call: Call<Nothing>, form: Fields) -> Page {
    page::close(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AwayAsked {
    /// The day on which somebody is there again, from tomorrow on and within 90 days.
    until_on: Option<String>,
}

/// What must be done with a pack before the club closes, and why.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct BeforeClosing {
    /// quarantine, charging, not_used, out, discharge, charge, read_volts or checks: in the order in which they are done.
    pub step: String,
    /// Of the pack; of a check the name of its place.
    pub number: String,
    /// Whose it is now; empty: it lies here.
    pub with: String,
    pub why: String,
    pub next: String,
}

/// In the order in which it is done; empty where nothing is left to do, or no day was asked for.
#[derive(Serialize, ToSchema)]
pub struct GoingAway {
    pub before: Vec<BeforeClosing>,
}

impl Shown for GoingAway {
    fn example() -> Self {
        Self {
            before: vec![BeforeClosing {
                step: "discharge".to_owned(),
                number: "P-001".to_owned(),
                with: String::new(),
                why: "It lies above its storage band.".to_owned(),
                next: "Bring it to its storage volts, then log them.".to_owned(),
            }],
        }
    }
}

pub async fn away(call: Call<AwayAsked>) -> Result<GoingAway, Trouble> {
    let until = call.sent.until_on.unwrap_or_default();
    let before = going_away::before(&call.app, &call.who, &until).await?;
    let told = before.into_iter().map(|(step, row)| BeforeClosing {
        step: step.code().to_owned(),
        number: row.number,
        with: row.whom,
        why: row.why,
        next: step.next().to_owned(),
    });
    Ok(GoingAway {
        before: told.collect(),
    })
}
