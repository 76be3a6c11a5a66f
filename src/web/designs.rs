//! Pack designs: the list, the form, and what of a used design may still change. Leaves packs to `register`.

pub mod compare;

use crate::actions::register::{self, RegisterRefusal};
use crate::app::App;
use crate::battery::pack::Build;
use crate::bench::connector::{self, Family, Purpose};
use crate::bench::typed::Words;
use crate::club::design_form::DesignForm;
use crate::store::connectors;
use crate::store::designs::{self, Design};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::packs::{chemistry_choices, connector_choices};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(DesignPage);

type Choices = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "designs.html")]
struct DesignsPage {
    shell: Shell,
    designs: Vec<(Design, String)>,
    is_quartermaster: bool,
    /// Looks at each; others look for its packs.
    oversees: bool,
}

/// GET /designs
pub async fn list_designs(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let found = designs::all(&mut conn).await?;
    let own = connectors::own(&mut conn).await?;
    drop(conn);
    let designs = found
        .into_iter()
        .map(|design| (design.clone(), design_words(&design, &own, who.numbers())))
        .collect();
    page::show(&DesignsPage {
        shell: who.shell("Designs"),
        designs,
        is_quartermaster: who.me.is_quartermaster,
        oversees: who.oversees(),
    })
}

pub(super) fn design_words(design: &Design, families: &[Family], numbers: Words) -> String {
    words_of(&design.build(), &design.connector, families, numbers)
}

pub(super) fn words_of(build: &Build, plug: &str, families: &[Family], numbers: Words) -> String {
    format!(
        "{}, {}, {}",
        build.words(),
        connector::called(plug, families),
        numbers.sentence(&build.energy_words())
    )
}

fn standing(design: &Design, numbers: Words) -> DesignForm {
    DesignForm::typed(&register::sheet_of(design), numbers)
}

#[derive(Template)]
#[template(path = "design.html")]
struct DesignPage {
    shell: Shell,
    numbers: Words,
    id: Option<Uuid>,
    is_used: bool,
    form: DesignForm,
    problems: Problems,
    chemistries: Choices,
    connectors: Choices,
    balances: Choices,
}

fn design_page(
    who: &SignedIn,
    shell: Shell,
    families: &[Family],
    which: (Option<Uuid>, bool),
    (form, problems): (DesignForm, Problems),
) -> DesignPage {
    let mut balances: Choices = vec![(
        "none".to_owned(),
        "none: only the whole pack can be read".to_owned(),
    )];
    balances.extend(connector_choices(families, Purpose::Balance));
    DesignPage {
        shell,
        numbers: who.numbers(),
        id: which.0,
        is_used: which.1,
        form,
        problems: problems.worded(who.numbers()),
        chemistries: chemistry_choices(),
        connectors: connector_choices(families, Purpose::Discharge),
        balances,
    }
}

/// GET /designs/new
pub async fn new_design(State(app): State<App>, who: SignedIn) -> Page {
    let families = connectors::all(&mut app.db.read().await?).await?;
    page::show(&design_page(
        &who,
        who.shell("New design"),
        &families,
        (None, false),
        (DesignForm::default(), Problems::default()),
    ))
}

/// GET /designs/{id}
pub async fn show_design(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let mut conn = app.db.read().await?;
    let found = designs::used(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let families = connectors::all(&mut conn).await?;
    drop(conn);
    let shell = who.shell(found.design.name.clone());
    if !who.me.is_quartermaster {
        return page::show(&DesignSeenPage {
            shell,
            id,
            what: design_words(&found.design, &families, who.numbers()),
            facts: facts(&found.design, &families, who.numbers()),
            packs: found.packs,
        });
    }
    page::show(&design_page(
        &who,
        shell,
        &families,
        (Some(id), found.packs > 0),
        (standing(&found.design, who.numbers()), Problems::default()),
    ))
}

/// A design for those who only look.
#[derive(Template)]
#[template(path = "design_seen.html")]
struct DesignSeenPage {
    shell: Shell,
    id: Uuid,
    what: String,
    facts: Vec<(&'static str, String)>,
    packs: i64,
}

/// What the one line leaves out; nothing of what is not on record.
fn facts(design: &Design, families: &[Family], numbers: Words) -> Vec<(&'static str, String)> {
    let form = standing(design, numbers);
    let balance = design.balance_connector.as_deref();
    let balance = balance.map_or("none", |code| connector::called(code, families));
    let with_unit = |value: String, unit: &str| {
        if value.is_empty() {
            value
        } else {
            format!("{value} {unit}")
        }
    };
    let all = [
        ("Label discharge rate", form.discharge_c),
        ("Label charge rate", form.charge_c),
        ("Label full volts per cell", form.full_v),
        ("Label lowest volts per cell", form.lowest_v),
        ("Balance connector", balance.to_owned()),
        ("Mass", with_unit(form.mass, "g")),
        ("Size", with_unit(form.size, "mm")),
    ];
    let on_record = all.into_iter().filter(|(_, value)| !value.is_empty());
    on_record.collect()
}

/// POST /designs
pub async fn add_design(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    save_design(&app, &who, &fields, None).await
}

/// POST /designs/{id}
pub async fn change_design(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    save_design(&app, &who, &fields, Some(id)).await
}

async fn save_design(app: &App, who: &SignedIn, fields: &Fields, id: Option<Uuid>) -> Page {
    let form = DesignForm::of(fields);
    let title = match id {
        Some(_) if form.name.is_empty() => "Design".to_owned(),
        Some(_) => form.name.clone(),
        None => "New design".to_owned(),
    };
    let sheet = match form.read() {
        Ok(sheet) => sheet,
        Err(problems) => return refused_design(app, who, (id, title), form, problems).await,
    };
    let problems = match register::save_design(&app.db, &who.by(fields), id, &sheet).await {
        Ok(id) => return page::go_to(&format!("/packs/new?design={id}")),
        Err(RegisterRefusal::Repeat(repeat)) => return again(&repeat),
        Err(RegisterRefusal::Store(error)) => return Err(error.into()),
        Err(RegisterRefusal::Design(found)) => {
            let mut problems = Problems::default();
            found
                .into_iter()
                .for_each(|(field, words)| problems.add(field, words));
            problems
        }
        Err(refusal @ RegisterRefusal::NoConnector) => Problems::refused("connector", &refusal),
        Err(refusal) => Problems::refused("name", &refusal),
    };
    refused_design(app, who, (id, title), form, problems).await
}

async fn refused_design(
    app: &App,
    who: &SignedIn,
    which: (Option<Uuid>, String),
    form: DesignForm,
    problems: Problems,
) -> Page {
    let families = connectors::all(&mut app.db.read().await?).await?;
    let shell = who.shell_refused(which.1);
    page::put_right(&design_page(
        who,
        shell,
        &families,
        (which.0, false),
        (form, problems),
    ))
}
