//! Handing out, or borrowing: what lies here and can go out, who may borrow, and the hand-out itself.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::readings::typed;
use super::trouble::Trouble;
use crate::bench::form::{Fields, Problems};
use crate::store::{at_hand, people};
use crate::web::hand_out;
use crate::web::page::Page;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What lies here and can go out.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct AtHand {
    pub number: String,
    pub what: String,
    pub place: Option<String>,
    /// Of packs.
    pub state: Option<String>,
    pub why: String,
    /// How many of it lie here; 1 of everything but adapters.
    pub free_count: i64,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Borrower {
    pub id: Uuid,
    pub name: String,
    /// never, valid or ran_out.
    pub induction: String,
}

#[derive(Serialize, ToSchema)]
pub struct ToHandOut {
    /// At most 60 packs and 60 things of kit; what is beyond goes out by its number all the same.
    pub items: Vec<AtHand>,
    /// A member finds nobody else.
    pub borrowers: Vec<Borrower>,
}

impl Shown for ToHandOut {
    fn example() -> Self {
        Self {
            items: vec![AtHand {
                number: "P-001".to_owned(),
                what: "Mill 3S 2200".to_owned(),
                state: Some("fit".to_owned()),
                free_count: 1,
                ..AtHand::default()
            }],
            borrowers: vec![Borrower {
                id: document::PERSON,
                name: "Ada".to_owned(),
                induction: "valid".to_owned(),
            }],
        }
    }
}

pub async fn at_hand(call: Call<Nothing>) -> Result<ToHandOut, Trouble> {
    let who = &call.who;
    let today = who.zone.day_of(who.now);
    let mut conn = call.app.db.read().await?;
    let borrowers = if who.me.is_quartermaster {
        people::who_may_borrow(&mut conn, today).await?
    } else {
        let me = people::borrower(&mut conn, who.me.person_id, today).await?;
        me.into_iter().collect()
    };
    let old_before = who.now.plus_days(-who.club.limits().reading_days);
    let found = at_hand::now(&mut conn, old_before).await?;
    let items = found.items.into_iter().map(|one| AtHand {
        number: one.number,
        what: one.what,
        place: one.place_name,
        state: one.state.map(|state| state.code().to_owned()),
        why: who.numbers().sentence(&one.why),
        free_count: one.free_count,
    });
    let borrowers = borrowers.into_iter().map(|person| Borrower {
        id: person.id,
        name: person.name,
        induction: person.induction.code().to_owned(),
    });
    Ok(ToHandOut {
        items: items.collect(),
        borrowers: borrowers.collect(),
    })
}

const MOST_VOLTS: usize = 50;

/// Volts of one pack read at the table.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VoltsNow {
    /// As in `items`.
    pub number: String,
    /// Of each cell, cell 1 first; of a pack without a balance lead the one of the whole pack.
    pub volts_mv: Vec<i64>,
    /// It was asked about as implausible, measured again, and is so.
    #[serde(default)]
    pub is_confirmed: bool,
    /// It counted as out or came back unchecked, and was looked over with nothing to see.
    #[serde(default)]
    pub is_looked_at: bool,
}

#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandOut {
    pub borrower_id: Uuid,
    /// Numbers of packs and kit; three adapters are A-01x3. All are handed out, or none.
    pub items: Vec<String>,
    /// YYYY-MM-DD; left out: until the night ends, else the club's usual days.
    #[serde(default)]
    pub due_on: Option<String>,
    #[serde(default)]
    #[schema(max_length = 200)]
    pub purpose: String,
    /// Why a refusal that can be overridden is.
    #[serde(default)]
    pub override_reason: String,
    /// Read by a quartermaster; each pack once. What is dangerous is stored though the rest is refused.
    #[serde(default)]
    #[schema(max_items = 50)]
    pub volts_now: Vec<VoltsNow>,
    /// Of the volts: rested_an_hour, rested_a_while or just_used.
    #[serde(default)]
    pub rested: String,
}

impl Sent for HandOut {
    fn fill(&self, form: &mut Form, who: &SignedIn) -> Result<(), Problems> {
        // The page reads no more of them, and none may be passed over.
        if self.volts_now.len() > MOST_VOLTS {
            let words = "Log the volts of at most 50 packs at once.";
            return Err(Problems::one("volts_now", words));
        }
        if !self.volts_now.is_empty() && !who.me.is_quartermaster {
            let words = "A quartermaster reads volts while handing out. Log yours with /packs/{number}/volts.";
            return Err(Problems::one("volts_now", words));
        }
        form.called("borrower_id", "person", self.borrower_id);
        form.text("items", self.items.join(" "));
        form.maybe("due_on", "due", self.due_on.as_ref());
        form.text("purpose", &self.purpose);
        form.called("override_reason", "reason", &self.override_reason);
        form.text("rested", &self.rested);
        let mut problems = Problems::default();
        for (at, one) in self.volts_now.iter().enumerate() {
            let of = format!("volts_now[{at}].");
            let number = one.number.trim();
            if one.volts_mv.is_empty() {
                problems.add(&format!("{of}volts_mv"), "Say its volts.");
            }
            let line = typed(&one.volts_mv).join(" ");
            form.name(&format!("{of}number"), &format!("volts_number-{number}"));
            form.called(
                &format!("{of}volts_mv"),
                &format!("volts_line-{number}"),
                line,
            );
            form.tick(
                &format!("{of}is_confirmed"),
                &format!("confirmed-{number}"),
                one.is_confirmed,
            );
            if one.is_looked_at {
                form.called(&format!("{of}is_looked_at"), "looked_at", number);
            }
        }
        problems.or_none()
    }

    fn example() -> Self {
        Self {
            borrower_id: document::PERSON,
            items: vec!["P-001".to_owned()],
            purpose: "practice".to_owned(),
            ..Self::default()
        }
    }
}

pub async fn hand_out(call: Call<HandOut>, form: Fields) -> Page {
    hand_out::hand_out(State(call.app), call.who, form).await
}
