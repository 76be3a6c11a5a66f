//! The form for kit, one per kind with all of its data sheet, to add a thing or to change what is on record of it.

use crate::actions::keep_kit::{self, KitRefusal};
use crate::actions::once::Repeat;
use crate::app::App;
use crate::battery::chemistry::Chemistry;
use crate::bench::charger::Mode;
use crate::bench::connector::Purpose;
use crate::bench::kit::KitKind;
use crate::bench::typed::Words;
use crate::club::kit::KitSheet;
use crate::store::choices::{self, Choices};
use crate::store::kit::{self as store, Kit};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::kit::capital;
use crate::web::page::{self, Page, PageError};
use crate::web::places::words_of;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(FormPage);

#[derive(Template)]
#[template(path = "kit/kinds.html")]
struct KindsPage {
    shell: Shell,
    kinds: Vec<(&'static str, String)>,
}

/// Adding (`number` is empty) or changing.
#[derive(Template)]
#[template(path = "kit/form.html")]
struct FormPage {
    shell: Shell,
    heading: String,
    action: String,
    button: String,
    kind: KitKind,
    is_new: bool,
    numbers: Words,
    typed: Fields,
    problems: Problems,
    places: Vec<(String, String)>,
    connectors: Vec<(String, String)>,
    balance: Vec<(String, String)>,
    chemistries: Vec<(&'static str, &'static str)>,
    modes: Vec<(&'static str, &'static str)>,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    kind: String,
}

/// GET /kit/new?kind=charger; without a kind it asks for one.
pub async fn ask_new(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let Some(kind) = KitKind::from_code(&asked.kind) else {
        return page::show(&KindsPage {
            shell: who.shell("Add kit"),
            kinds: KitKind::ALL
                .map(|kind| (kind.code(), capital(kind.label())))
                .to_vec(),
        });
    };
    let choices = choices::of_forms(&mut app.db.read().await?).await?;
    page::show(&new_page(&who, kind, choices, Fields::default()))
}

/// POST /kit/new
pub async fn add(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let kind = KitKind::from_code(&fields.text("kind")).ok_or(PageError::NotFound)?;
    let outcome = match KitSheet::typed_as(kind, &fields, who.numbers()) {
        Ok(sheet) => keep_kit::add_kit(&app.db, &who.by(&fields), sheet)
            .await
            .or_else(|refusal| answer(refusal, "place")?.into_address()),
        Err(problems) => Err(Refused::Form(problems)),
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => {
            let choices = choices::of_forms(&mut app.db.read().await?).await?;
            page::put_right(&new_page(&who, kind, choices, fields).with(problems))
        }
    }
}

/// GET /kit/{id}/change
pub async fn ask_change(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let mut conn = app.db.read().await?;
    let kit = store::by_id(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let choices = choices::of_forms(&mut conn).await?;
    let typed = standing(&kit, &who)?;
    page::show(&change_page(&who, &kit, choices, typed)?)
}

/// POST /kit/{id}/change
pub async fn change(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let kit = store::by_id(&mut app.db.read().await?, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let kind = kit.kind().ok_or(PageError::NotFound)?;
    let outcome = match KitSheet::typed_as(kind, &fields, who.numbers()) {
        Ok(sheet) => keep_kit::change_kit(&app.db, &who.by(&fields), id, sheet)
            .await
            .or_else(|refusal| answer(refusal, "place")?.into_address()),
        Err(problems) => Err(Refused::Form(problems)),
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => {
            let choices = choices::of_forms(&mut app.db.read().await?).await?;
            page::put_right(&change_page(&who, &kit, choices, fields)?.with(problems))
        }
    }
}

/// What a refusal comes to: the answer given before, a form to put right, or a page of its own.
pub(super) enum Answer {
    Before(String),
    Form(Problems),
}

pub(super) enum Refused {
    Form(Problems),
    Page(PageError),
}

impl Answer {
    pub(super) fn into_address(self) -> Result<String, Refused> {
        match self {
            Self::Before(address) => Ok(address),
            Self::Form(problems) => Err(Refused::Form(problems)),
        }
    }
}

/// `field` is the one to name where the refusal does not say.
pub(super) fn answer(refusal: KitRefusal, field: &str) -> Result<Answer, Refused> {
    match refusal {
        KitRefusal::Repeat(Repeat::Done(address)) => Ok(Answer::Before(address)),
        KitRefusal::Repeat(other) => Err(Refused::Page(PageError::Refused(other.to_string()))),
        KitRefusal::Gone => Err(Refused::Page(PageError::NotFound)),
        KitRefusal::Store(error) => Err(Refused::Page(error.into())),
        KitRefusal::Fields(found) => Ok(Answer::Form(Problems::from(found))),
        other => Ok(Answer::Form(Problems::refused(field, &other))),
    }
}

fn standing(kit: &Kit, who: &SignedIn) -> Result<Fields, PageError> {
    Ok(kit.sheet()?.typed(words_of(who)))
}

fn new_page(who: &SignedIn, kind: KitKind, choices: Choices, typed: Fields) -> FormPage {
    let article = if kind == KitKind::Adapter { "an" } else { "a" };
    FormPage {
        action: "/kit/new".to_owned(),
        button: format!("Add the {}", kind.label()),
        is_new: true,
        ..form_page(
            who,
            (kind, format!("Add {article} {}", kind.label())),
            choices,
            typed,
        )
    }
}

fn change_page(
    who: &SignedIn,
    kit: &Kit,
    choices: Choices,
    typed: Fields,
) -> Result<FormPage, PageError> {
    let kind = kit.kind().ok_or(PageError::NotFound)?;
    Ok(FormPage {
        action: format!("/kit/{}/change", kit.id),
        button: "Keep the change".to_owned(),
        ..form_page(
            who,
            (kind, format!("Change {}", kit.number)),
            choices,
            typed,
        )
    })
}

fn form_page(
    who: &SignedIn,
    about: (KitKind, String),
    choices: Choices,
    typed: Fields,
) -> FormPage {
    let (kind, heading) = about;
    let families = |is_wanted: fn(Purpose) -> bool| {
        let wanted = choices
            .families
            .iter()
            .filter(|family| is_wanted(family.purpose));
        wanted
            .map(|family| (family.code.clone(), family.name.clone()))
            .collect()
    };
    FormPage {
        shell: who.shell(heading.clone()),
        heading,
        action: String::new(),
        button: String::new(),
        kind,
        is_new: false,
        numbers: who.numbers(),
        problems: Problems::default(),
        connectors: families(|_| true),
        balance: families(|purpose| purpose == Purpose::Balance),
        places: choices
            .places
            .into_iter()
            .map(|(id, name)| (id.to_string(), name))
            .collect(),
        chemistries: Chemistry::ALL
            .map(|each| (each.code(), each.label()))
            .to_vec(),
        modes: Mode::ALL
            .map(|mode| (mode.code(), mode_label(mode)))
            .to_vec(),
        typed,
    }
}

impl FormPage {
    fn with(self, problems: Problems) -> Self {
        let shell = Shell {
            is_error: true,
            ..self.shell
        };
        Self {
            shell,
            problems,
            ..self
        }
    }

    fn is_chosen(&self, name: &str, value: &str) -> bool {
        self.typed.all(name).iter().any(|each| each == value)
    }
}

const fn mode_label(mode: Mode) -> &'static str {
    match mode {
        Mode::Balance => "Balance charge",
        Mode::Charge => "Charge without balancing",
        Mode::Storage => "To storage",
        Mode::Discharge => "Discharge",
    }
}
