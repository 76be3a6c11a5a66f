//! The two forms about one person that ask for more than a button: noting an induction, and roles with who answers.

use crate::actions::membership::{self, PersonRefusal};
use crate::actions::newcomers;
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::induction::Shown;
use crate::club::people::{Role, Roles};
use crate::store::people::{self, Listed};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::people::who_may_answer;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(InductionPage, RolesPage);

/// The person, and everybody else the form may name; one query.
async fn among(app: &App, id: Uuid) -> Result<(Listed, Vec<Listed>), PageError> {
    let all = people::list(&mut app.db.read().await?, "").await?;
    let person = all
        .iter()
        .find(|one| one.id == id)
        .cloned()
        .ok_or(PageError::NotFound)?;
    Ok((person, all))
}

#[derive(Template)]
#[template(path = "induction.html")]
struct InductionPage {
    shell: Shell,
    problems: Problems,
    id: Uuid,
    name: String,
    form: InductionForm,
    choices: Vec<(String, String)>,
}

#[derive(Default)]
struct InductionForm {
    shown_by: String,
    shown_on: String,
    ends_on: String,
}

impl InductionForm {
    fn read(fields: &Fields) -> Self {
        Self {
            shown_by: fields.text("shown_by"),
            shown_on: fields.text("shown_on"),
            ends_on: fields.text("ends_on"),
        }
    }

    fn check(&self, problems: &mut Problems) -> Option<(Uuid, Shown)> {
        let shown_by: Option<Uuid> = self.shown_by.parse().ok();
        if shown_by.is_none() {
            problems.add("shown_by", "Choose who showed it.");
        }
        let on = Day::parse(&self.shown_on);
        if on.is_none() {
            problems.add("shown_on", "Give the day it was shown, like 2026-11-25.");
        }
        let ends_on = Day::parse(&self.ends_on);
        if ends_on.is_none() && !self.ends_on.is_empty() {
            let words = "Give the last day it holds, like 2027-11-25, or leave it empty.";
            problems.add("ends_on", words);
        }
        let (shown_by, on) = shown_by.zip(on)?;
        problems
            .is_empty()
            .then_some((shown_by, Shown { on, ends_on }))
    }
}

async fn induction_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    form: InductionForm,
    problems: Problems,
) -> Result<InductionPage, PageError> {
    let (person, all) = among(app, id).await?;
    let choices = all
        .iter()
        .filter(|one| one.is_active() && !one.roles().is_none())
        .map(|one| (one.id.to_string(), one.called().to_owned()))
        .collect();
    let title = format!("Note an induction: {}", person.called());
    Ok(InductionPage {
        shell: if problems.is_empty() {
            who.shell(title)
        } else {
            who.shell_refused(title)
        },
        problems,
        id,
        name: person.called().to_owned(),
        form,
        choices,
    })
}

/// GET /people/{id}/induction
pub async fn ask_induction(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let form = InductionForm::default();
    page::show(&induction_page(&app, &who, id, form, Problems::default()).await?)
}

/// POST /people/{id}/induction
pub async fn note_induction(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let form = InductionForm::read(&fields);
    let mut problems = Problems::default();
    if let Some((shown_by, shown)) = form.check(&mut problems) {
        let by = who.by(&fields);
        match newcomers::note_induction(&app.db, &by, id, shown_by, shown).await {
            Ok(id) => return page::go_to(&format!("/people/{id}")),
            Err(PersonRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => problems = Problems::refused(refusal.field(), &refusal),
        }
    }
    page::put_right(&induction_page(&app, &who, id, form, problems).await?)
}

#[derive(Template)]
#[template(path = "roles.html")]
struct RolesPage {
    shell: Shell,
    problems: Problems,
    id: Uuid,
    name: String,
    ticks: Vec<RoleTick>,
    responsible: String,
    choices: Vec<(String, String)>,
}

/// One role in the form; those that are not the visitor's to give are told, not asked.
pub(super) struct RoleTick {
    pub role: Role,
    pub is_held: bool,
    pub is_yours: bool,
}

pub(super) fn role_ticks(held: Roles, mine: Roles) -> Vec<RoleTick> {
    let tick = |role| RoleTick {
        role,
        is_held: held.has(role),
        is_yours: match role {
            Role::Organiser => mine.is_organiser,
            Role::Member | Role::Quartermaster => mine.is_quartermaster,
        },
    };
    Role::ALL.into_iter().map(tick).collect()
}

/// What was ticked; a role the visitor may not take away stays where it is. One they may not give is refused by the rule.
pub(super) fn roles_ticked(fields: &Fields, held: Roles, mine: Roles) -> Roles {
    let ticked = fields.all("roles");
    let has = |role: Role| ticked.iter().any(|code| code == role.code());
    let kept = |role: Role, is_mine: bool| has(role) || (!is_mine && held.has(role));
    Roles {
        is_member: kept(Role::Member, mine.is_quartermaster),
        is_quartermaster: kept(Role::Quartermaster, mine.is_quartermaster),
        is_organiser: kept(Role::Organiser, mine.is_organiser),
    }
}

/// GET /people/{id}/roles
pub async fn ask_roles(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let (person, all) = among(&app, id).await?;
    let responsible = person.responsible_id.map(|id| id.to_string());
    page::show(&RolesPage {
        shell: who.shell(format!("Roles: {}", person.called())),
        problems: Problems::default(),
        id,
        name: person.called().to_owned(),
        ticks: role_ticks(person.roles(), who.me.roles()),
        responsible: responsible.unwrap_or_default(),
        choices: answerers(&all, id),
    })
}

/// Nobody answers for themselves.
fn answerers(all: &[Listed], id: Uuid) -> Vec<(String, String)> {
    let mut choices = who_may_answer(all);
    choices.retain(|(code, _)| *code != id.to_string());
    choices
}

/// POST /people/{id}/roles
pub async fn set_roles(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let (person, all) = among(&app, id).await?;
    let roles = roles_ticked(&fields, person.roles(), who.me.roles());
    let responsible = fields.id("responsible");
    match membership::set_roles(&app.db, &who.by(&fields), id, roles, responsible).await {
        Ok(id) => page::go_to(&format!("/people/{id}")),
        Err(PersonRefusal::Store(error)) => Err(error.into()),
        Err(PersonRefusal::Nobody) => Err(PageError::NotFound),
        Err(refusal) => page::put_right(&RolesPage {
            shell: who.shell_refused(format!("Roles: {}", person.called())),
            problems: Problems::refused(refusal.field(), &refusal),
            id,
            name: person.called().to_owned(),
            ticks: role_ticks(roles, who.me.roles()),
            responsible: fields.text("responsible"),
            choices: answerers(&all, id),
        }),
    }
}
