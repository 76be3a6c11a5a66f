//! Pack designs: the list, the form, and what of a used design may still change. Leaves packs to `register`.

use crate::actions::register::{self, RegisterRefusal};
use crate::app::App;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::bench::connector::{self, Family, Purpose};
use crate::bench::typed::{self, Unit, Words, amount_milli, tenths};
use crate::club;
use crate::club::register::DesignSheet;
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
    let build = design.build();
    format!(
        "{}, {}, {}",
        build.words(),
        connector::called(&design.connector, families),
        numbers.sentence(&build.energy_words())
    )
}

#[derive(Default)]
struct DesignForm {
    name: String,
    chemistry: String,
    cells: String,
    parallel: String,
    capacity: String,
    discharge_c: String,
    charge_c: String,
    connector: String,
    balance: String,
    mass: String,
    size: String,
    full_v: String,
    lowest_v: String,
}

impl DesignForm {
    fn of(fields: &Fields) -> Self {
        Self {
            name: fields.text("name"),
            chemistry: fields.text("chemistry"),
            cells: fields.text("cells"),
            parallel: fields.text("parallel"),
            capacity: fields.text("capacity"),
            discharge_c: fields.text("discharge_c"),
            charge_c: fields.text("charge_c"),
            connector: fields.text("connector"),
            balance: fields.text("balance"),
            mass: fields.text("mass"),
            size: fields.text("size"),
            full_v: fields.text("full_v"),
            lowest_v: fields.text("lowest_v"),
        }
    }

    fn from(design: &Design, numbers: Words) -> Self {
        let rate =
            |tenths: Option<i64>| tenths.map_or_else(String::new, |tenths| numbers.c_rate(tenths));
        let volts = |mv: Option<i64>| mv.map_or_else(String::new, |mv| numbers.volts(mv));
        Self {
            name: design.name.clone(),
            chemistry: design.chemistry.clone(),
            cells: design.cells_series.to_string(),
            parallel: design.groups_parallel.to_string(),
            capacity: numbers.mah(design.capacity_mah),
            discharge_c: rate(design.label_discharge_c_tenths),
            charge_c: rate(design.label_charge_c_tenths),
            connector: design.connector.clone(),
            balance: design
                .balance_connector
                .clone()
                .unwrap_or_else(|| "none".to_owned()),
            mass: design.mass_g.map_or_else(String::new, |g| g.to_string()),
            size: design.size_mm.clone(),
            full_v: volts(design.label_full_mv),
            lowest_v: volts(design.label_lowest_mv),
        }
    }

    fn read(&self) -> Result<DesignSheet, Problems> {
        let mut problems = Problems::default();
        let chemistry = problems.keep(
            "chemistry",
            Chemistry::from_code(&self.chemistry)
                .ok_or("Choose the chemistry; it stands on the label."),
        );
        let cells = problems.keep(
            "cells",
            typed::cells(&self.cells).ok_or("Give the cells in series, 1 to 14."),
        );
        let parallel = problems.keep(
            "parallel",
            if self.parallel.is_empty() {
                Ok(1)
            } else {
                whole(&self.parallel, "Give the parallel groups, 1 to 20.")
            },
        );
        let capacity = problems.keep(
            "capacity",
            amount_milli(&self.capacity, Unit::MilliampHours),
        );
        let discharge = problems.keep("discharge_c", optional(&self.discharge_c, tenths));
        let charge = problems.keep("charge_c", optional(&self.charge_c, tenths));
        let mass = problems.keep(
            "mass",
            optional(&self.mass, |text| {
                whole(text.trim_end_matches('g').trim(), "Give the mass in grams.")
            }),
        );
        let volts = |text: &str| amount_milli(text, Unit::Volts);
        let full = problems.keep("full_v", optional(&self.full_v, volts));
        let lowest = problems.keep("lowest_v", optional(&self.lowest_v, volts));
        if self.balance.is_empty() {
            problems.add(
                "balance",
                "Choose the balance connector, or that it has none.",
            );
        }
        // What can't be read is told already; a stand-in lets the rest be weighed in the same round.
        let sheet = DesignSheet {
            name: self.name.clone(),
            chemistry: chemistry.unwrap_or(Chemistry::LiPo),
            cells_series: cells.unwrap_or(1),
            groups_parallel: parallel.unwrap_or(1),
            capacity_mah: capacity.unwrap_or(1_000),
            label_discharge_c_tenths: discharge.flatten(),
            label_charge_c_tenths: charge.flatten(),
            connector: self.connector.clone(),
            balance_connector: (self.balance != "none").then(|| self.balance.clone()),
            mass_g: mass.flatten(),
            size_mm: self.size.clone(),
            label: LabelVolts {
                full_mv: full.flatten(),
                lowest_mv: lowest.flatten(),
            },
        };
        if problems.is_empty() {
            return Ok(sheet);
        }
        let is_label_volts = |field: &str| matches!(field, "full_v" | "lowest_v");
        for (field, words) in club::register::problems(&sheet) {
            if problems.of(field).is_empty() && (chemistry.is_some() || !is_label_volts(field)) {
                problems.add(field, words);
            }
        }
        Err(problems)
    }
}

pub(super) fn whole(text: &str, words: &'static str) -> Result<i64, &'static str> {
    text.parse().map_err(|_| words)
}

fn optional<E>(text: &str, read: impl Fn(&str) -> Result<i64, E>) -> Result<Option<i64>, E> {
    if text.is_empty() {
        Ok(None)
    } else {
        read(text).map(Some)
    }
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
        (
            DesignForm::from(&found.design, who.numbers()),
            Problems::default(),
        ),
    ))
}

/// A design for those who only look.
#[derive(Template)]
#[template(path = "design_seen.html")]
struct DesignSeenPage {
    shell: Shell,
    what: String,
    facts: Vec<(&'static str, String)>,
    packs: i64,
}

/// What the one line leaves out; nothing of what is not on record.
fn facts(design: &Design, families: &[Family], numbers: Words) -> Vec<(&'static str, String)> {
    let form = DesignForm::from(design, numbers);
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
        Err(refusal @ RegisterRefusal::NoConnector) => {
            Problems::one("connector", refusal.to_string())
        }
        Err(refusal) => Problems::one("name", refusal.to_string()),
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
    page::refused(&design_page(
        who,
        shell,
        &families,
        (which.0, false),
        (form, problems),
    ))
}
