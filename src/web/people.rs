//! Who is in the club: the list, and adding somebody who does not sign in.

use crate::actions::membership::PersonRefusal;
use crate::actions::newcomers;
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::induction::Induction;
use crate::store::people::{self, Listed};
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(GuestPage);

#[derive(Template)]
#[template(path = "people.html")]
struct PeoplePage {
    shell: Shell,
    wanted: Wanted,
    rows: Vec<Row>,
    problems: Problems,
    /// At the shared tablet nobody is let in or shut out.
    is_own_device: bool,
    may_add: bool,
}

#[derive(Clone, Default, Deserialize)]
pub struct Wanted {
    #[serde(default)]
    pub(super) text: String,
    /// Deactivated people instead of active ones.
    #[serde(default)]
    pub(super) gone: String,
    /// An induction's code, or empty.
    #[serde(default)]
    pub(super) induction: String,
}

impl Wanted {
    /// What of it can't be read; then nobody is known to suit.
    pub(super) fn problems(&self) -> Problems {
        let is_known = Induction::CODES.contains(&self.induction.as_str());
        if self.induction.is_empty() || is_known {
            Problems::default()
        } else {
            Problems::one("induction", "Choose one of the list.")
        }
    }

    pub(super) fn suits(&self, person: &Listed, today: Day) -> bool {
        person.is_active() == self.gone.is_empty()
            && (self.induction.is_empty() || person.induction(today).code() == self.induction)
    }

    /// The same list as a spreadsheet.
    fn as_sheet(&self) -> String {
        let all = [
            ("text", &self.text),
            ("gone", &self.gone),
            ("induction", &self.induction),
        ];
        let given = all.iter().filter(|(_, value)| !value.is_empty());
        let pairs: Vec<(&str, &str)> = given.map(|(name, value)| (*name, value.as_str())).collect();
        format!("/people.csv?{}", words::in_address(&pairs))
    }
}

struct Row {
    id: Uuid,
    name: String,
    roles: String,
    responsible: String,
    induction: String,
    is_inducted: bool,
    open_count: i64,
}

impl Row {
    fn of(person: &Listed, today: Day) -> Self {
        let induction = person.induction(today);
        Self {
            id: person.id,
            name: person.called().to_owned(),
            roles: person.roles().words(),
            responsible: person.responsible_name.clone().unwrap_or_default(),
            induction: induction.words(),
            is_inducted: induction.is_valid(),
            open_count: person.open_count,
        }
    }
}

/// GET /people
pub async fn list(State(app): State<App>, who: SignedIn, Query(wanted): Query<Wanted>) -> Page {
    let today = who.zone.day_of(who.now);
    let found = people::list(&mut app.db.read().await?, &wanted.text).await?;
    let rows = found
        .iter()
        .filter(|person| wanted.suits(person, today))
        .map(|person| Row::of(person, today))
        .collect();
    let problems = wanted.problems();
    page::show(&PeoplePage {
        shell: if problems.is_empty() {
            who.shell("People")
        } else {
            who.shell_refused("People")
        },
        problems,
        rows,
        is_own_device: who.tablet.is_none(),
        may_add: who.me.roles().is_quartermaster,
        wanted,
    })
}

#[derive(Template)]
#[template(path = "guest.html")]
struct GuestPage {
    shell: Shell,
    problems: Problems,
    called: String,
    responsible: String,
    choices: Vec<(String, String)>,
}

/// Members who may answer for a guest or junior: (id, name).
pub(super) fn who_may_answer(found: &[Listed]) -> Vec<(String, String)> {
    found
        .iter()
        .filter(|one| one.is_active() && one.responsible_id.is_none())
        .filter(|one| one.is_member || one.is_quartermaster)
        .map(|one| (one.id.to_string(), one.called().to_owned()))
        .collect()
}

/// GET /people/new
pub async fn ask_guest(State(app): State<App>, who: SignedIn) -> Page {
    let found = people::list(&mut app.db.read().await?, "").await?;
    page::show(&GuestPage {
        shell: who.shell("Add a guest or junior"),
        problems: Problems::default(),
        called: String::new(),
        responsible: String::new(),
        choices: who_may_answer(&found),
    })
}

/// POST /people/new
pub async fn add_guest(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let name = fields.text("name");
    let responsible = fields.id("responsible");
    match newcomers::add_guest(&app.db, &who.by(&fields), &name, responsible).await {
        Ok(id) => page::go_to(&format!("/people/{id}")),
        Err(PersonRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let found = people::list(&mut app.db.read().await?, "").await?;
            page::put_right(&GuestPage {
                shell: who.shell_refused("Add a guest or junior"),
                problems: Problems::refused(refusal.field(), &refusal),
                called: name,
                responsible: fields.text("responsible"),
                choices: who_may_answer(&found),
            })
        }
    }
}
