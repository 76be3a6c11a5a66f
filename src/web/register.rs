//! Register designs and packs: forms that become typed values or come back with what was typed.

use crate::actions::register::{self, RegisterRefusal};
use crate::app::App;
use crate::bench::typed::Words;
use crate::club::design_form::whole;
use crate::club::pack_form::PacksForm;
use crate::store::choices;
use crate::store::designs::{self};
use crate::store::packs::{self, Details, PackView};
use crate::web::asked::{Path, Query};
use crate::web::designs::design_words;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{again, named};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(RegisterPage);

type Choices = Vec<(String, String)>;

fn standing(pack: &PackView) -> PacksForm {
    PacksForm {
        design: pack.design_id.to_string(),
        ..PacksForm::of(&Details::of(pack).typed())
    }
}

#[derive(Template)]
#[template(path = "register.html")]
struct RegisterPage {
    shell: Shell,
    number: Option<String>,
    form: PacksForm,
    problems: Problems,
    designs: Choices,
    places: Choices,
}

async fn register_page(
    app: &App,
    (shell, numbers): (Shell, Words),
    number: Option<String>,
    form: PacksForm,
    problems: Problems,
) -> Result<RegisterPage, PageError> {
    let mut conn = app.db.read().await?;
    // The design of a registered pack stays, so only new packs choose one.
    let designs = match number {
        None => designs::all(&mut conn).await?,
        Some(_) => Vec::new(),
    };
    let choices = choices::of_forms(&mut conn).await?;
    Ok(RegisterPage {
        shell,
        number,
        form,
        problems,
        designs: designs
            .iter()
            .map(|design| {
                (
                    design.id.to_string(),
                    format!(
                        "{}: {}",
                        design.name,
                        design_words(design, &choices.families, numbers)
                    ),
                )
            })
            .collect(),
        places: choices
            .places
            .into_iter()
            .map(|(id, name)| (id.to_string(), name))
            .collect(),
    })
}

#[derive(Deserialize)]
pub struct OfDesign {
    #[serde(default)]
    design: String,
}

/// GET /packs/new
pub async fn new_packs(
    State(app): State<App>,
    who: SignedIn,
    Query(query): Query<OfDesign>,
) -> Page {
    let form = PacksForm {
        design: query.design,
        ..PacksForm::default()
    };
    page::show(
        &register_page(
            &app,
            (who.shell("Register packs"), who.numbers()),
            None,
            form,
            Problems::default(),
        )
        .await?,
    )
}

/// POST /packs
pub async fn add_packs(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = PacksForm::of(&fields);
    let mut problems = Problems::default();
    let design = problems.keep(
        "design",
        form.design
            .parse::<Uuid>()
            .map_err(|_| "Choose the design; register it first if it is new."),
    );
    let count = problems.keep(
        "count",
        whole(&form.count, "How many packs alike? 1 to 50."),
    );
    let details = form.details(who.zone.day_of(who.now), &mut problems);
    if let (Some(design), Some(count), true) = (design, count, problems.is_empty()) {
        let by = who.by(&fields);
        match register::register_packs(&app.db, &by, design, count, &details).await {
            Ok(address) => return page::go_to(&address),
            Err(RegisterRefusal::Repeat(repeat)) => return again(&repeat),
            Err(RegisterRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => problems = Problems::refused(refusal.field(), &refusal),
        }
    }
    page::put_right(
        &register_page(
            &app,
            (who.shell_refused("Register packs"), who.numbers()),
            None,
            form,
            problems,
        )
        .await?,
    )
}

#[derive(Deserialize)]
pub struct Range {
    #[serde(default)]
    from: String,
    #[serde(default)]
    to: String,
    #[serde(default)]
    over: String,
}

#[derive(Template)]
#[template(path = "registered.html")]
struct RegisteredPage {
    shell: Shell,
    /// The place they were put to, when it holds more energy than it may.
    over: Option<Uuid>,
    numbers: Vec<String>,
}

/// GET /packs/registered
pub async fn registered(State(app): State<App>, who: SignedIn, Query(range): Query<Range>) -> Page {
    let keys = (
        range.from.parse().unwrap_or(0),
        range.to.parse().unwrap_or(0),
    );
    let found = packs::in_range(&mut app.db.read().await?, keys, register::MOST_ALIKE).await?;
    let numbers = found.into_iter().map(|pack| pack.number).collect();
    page::show(&RegisteredPage {
        shell: who.shell("Registered"),
        over: range.over.parse().ok(),
        numbers,
    })
}

/// GET /packs/{number}/details
pub async fn ask_details(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
) -> Page {
    let pack = named(&app, &number).await?;
    let form = standing(&pack);
    page::show(
        &register_page(
            &app,
            (
                who.shell(format!("Details of {}", pack.number)),
                who.numbers(),
            ),
            Some(pack.number),
            form,
            Problems::default(),
        )
        .await?,
    )
}

/// POST /packs/{number}/details
pub async fn change_details(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let form = PacksForm::of(&fields);
    let mut problems = Problems::default();
    let details = form.details(who.zone.day_of(who.now), &mut problems);
    if problems.is_empty() {
        match register::change_details(&app.db, &who.by(&fields), pack.id, &details).await {
            Ok(address) => return page::go_to(&address),
            Err(RegisterRefusal::Repeat(repeat)) => return again(&repeat),
            Err(RegisterRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => problems = Problems::refused(refusal.field(), &refusal),
        }
    }
    let shell = (
        who.shell_refused(format!("Details of {}", pack.number)),
        who.numbers(),
    );
    page::put_right(&register_page(&app, shell, Some(pack.number), form, problems).await?)
}
