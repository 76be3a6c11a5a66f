//! People, as far as those who run the pool see and change them. Letting somebody in and shutting them out, roles and
//! erasing need a password in a browser: they are not here.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::bench::form::{Fields, Problems};
use crate::club::people::Role;
use crate::store::people::{self, Listed};
use crate::web::asked::Path;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use crate::web::{people as page, person_forms};
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Person {
    pub id: Uuid,
    /// null: they were erased.
    pub name: Option<String>,
    /// Any of member, quartermaster, organiser; none: a guest.
    pub roles: Vec<String>,
    /// Who answers for them.
    pub responsible_id: Option<Uuid>,
    pub responsible: Option<String>,
    /// never, valid or ran_out.
    pub induction: String,
    pub deactivated_at: Option<String>,
    /// How many things they have.
    pub open_count: i64,
}

impl Person {
    fn of(person: &Listed, who: &SignedIn) -> Self {
        let roles = person.roles();
        let held = Role::ALL.into_iter().filter(|role| roles.has(*role));
        Self {
            id: person.id,
            name: person.name.clone(),
            roles: held.map(|role| role.code().to_owned()).collect(),
            responsible_id: person.responsible_id,
            responsible: person.responsible_name.clone(),
            induction: person.induction(who.zone.day_of(who.now)).code().to_owned(),
            deactivated_at: person.deactivated_ms.map(instant),
            open_count: person.open_count,
        }
    }

    fn example() -> Self {
        Self {
            id: document::PERSON,
            name: Some("Ada".to_owned()),
            roles: vec!["member".to_owned()],
            induction: "valid".to_owned(),
            open_count: 1,
            ..Self::default()
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct People {
    /// All of them by name.
    pub people: Vec<Person>,
}

impl Shown for People {
    fn example() -> Self {
        Self {
            people: vec![Person::example()],
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PeopleAsked {
    /// In their names.
    text: Option<String>,
    /// true: deactivated people instead of active ones.
    gone: Option<bool>,
    /// never, valid or ran_out.
    induction: Option<String>,
}

pub async fn list(call: Call<PeopleAsked>) -> Result<People, Trouble> {
    let (asked, who) = (call.sent, &call.who);
    let gone = if asked.gone == Some(true) { "gone" } else { "" };
    let wanted = page::Wanted {
        text: asked.text.unwrap_or_default(),
        gone: gone.to_owned(),
        induction: asked.induction.unwrap_or_default(),
    };
    let problems = wanted.problems();
    if !problems.is_empty() {
        return Err((&problems).into());
    }
    let found = people::list(&mut call.app.db.read().await?, &wanted.text).await?;
    let today = who.zone.day_of(who.now);
    let suit = found.iter().filter(|person| wanted.suits(person, today));
    Ok(People {
        people: suit.map(|person| Person::of(person, who)).collect(),
    })
}

/// An induction, a thing that they have, or somebody they answer for.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct PersonLine {
    /// induction, pack, kit or answers.
    pub kind: String,
    /// Who showed it, the thing's number, or whom they answer for. null: they were erased.
    pub words: Option<String>,
    /// When it was shown.
    pub from_on: Option<String>,
    /// Until when it holds, or when it is due.
    pub to_on: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub struct PersonWithLines {
    pub person: Person,
    pub lines: Vec<PersonLine>,
}

impl Shown for PersonWithLines {
    fn example() -> Self {
        Self {
            person: Person::example(),
            lines: vec![PersonLine {
                kind: "pack".to_owned(),
                words: Some("P-002".to_owned()),
                from_on: None,
                to_on: Some("2026-12-02".to_owned()),
            }],
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<PersonWithLines, Trouble> {
    let mut conn = call.app.db.read().await?;
    let person = people::listed(&mut conn, call.id)
        .await?
        .ok_or(PageError::NotFound)?;
    let lines = people::lines(&mut conn, call.id).await?;
    let lines = lines.into_iter().map(|line| PersonLine {
        kind: line.kind,
        words: line.words,
        from_on: line.from_on,
        to_on: line.to_on,
    });
    Ok(PersonWithLines {
        person: Person::of(&person, &call.who),
        lines: lines.collect(),
    })
}

/// Somebody who does not sign in.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Guest {
    pub name: String,
    /// The member who answers for them.
    pub responsible_id: Uuid,
}

impl Sent for Guest {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("name", &self.name);
        form.called("responsible_id", "responsible", self.responsible_id);
        Ok(())
    }

    fn example() -> Self {
        Self {
            name: "Gil".to_owned(),
            responsible_id: document::PERSON,
        }
    }
}

pub async fn add_guest(call: Call<Guest>, form: Fields) -> Page {
    page::add_guest(State(call.app), call.who, form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Induction {
    /// Who showed safe charging and handling.
    pub shown_by_id: Uuid,
    /// YYYY-MM-DD.
    pub shown_on: String,
    /// YYYY-MM-DD; left out: it has no end.
    #[serde(default)]
    pub ends_on: Option<String>,
}

impl Sent for Induction {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("shown_by_id", "shown_by", self.shown_by_id);
        form.text("shown_on", &self.shown_on);
        form.maybe("ends_on", "ends_on", self.ends_on.as_ref());
        Ok(())
    }

    fn example() -> Self {
        Self {
            shown_by_id: document::OTHER_PERSON,
            shown_on: "2026-11-20".to_owned(),
            ends_on: None,
        }
    }
}

pub async fn note_induction(call: Call<Induction>, form: Fields) -> Page {
    person_forms::note_induction(State(call.app), call.who, Path(call.id), form).await
}
