//! Register designs and packs: forms that become typed values or come back with what was typed.

use crate::actions::register::{self, RegisterRefusal};
use crate::app::App;
use crate::battery::chemistry::Chemistry;
use crate::bench::connector::{self, Purpose};
use crate::bench::typed::{Unit, Words, amount_milli, tenths};
use crate::club::calendar::Day;
use crate::club::register::DesignSheet;
use crate::store::designs::{self, Design};
use crate::store::packs::{self, Details, PackView};
use crate::store::places;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{again, named};
use crate::web::packs::{chemistry_choices, connector_choices};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use uuid::Uuid;

type Choices = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "designs.html")]
struct DesignsPage {
    shell: Shell,
    designs: Vec<(Design, String)>,
    is_quartermaster: bool,
}

/// GET /designs
pub async fn list_designs(State(app): State<App>, who: SignedIn) -> Page {
    let found = designs::all(&mut app.db.read().await?).await?;
    let designs = found
        .into_iter()
        .map(|design| (design.clone(), design_words(&design)))
        .collect();
    page::show(&DesignsPage {
        shell: who.shell("Designs"),
        designs,
        is_quartermaster: who.me.is_quartermaster,
    })
}

fn design_words(design: &Design) -> String {
    let build = design.build();
    format!(
        "{}, {}, {}",
        build.words(),
        connector::shown(&design.connector),
        build.energy_words()
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
        }
    }

    fn from(design: &Design) -> Self {
        let rate = |tenths: Option<i64>| {
            tenths.map_or_else(String::new, |tenths| Words::POINT.c_rate(tenths))
        };
        Self {
            name: design.name.clone(),
            chemistry: design.chemistry.clone(),
            cells: design.cells_series.to_string(),
            parallel: design.groups_parallel.to_string(),
            capacity: Words::POINT.mah(design.capacity_mah),
            discharge_c: rate(design.label_discharge_c_tenths),
            charge_c: rate(design.label_charge_c_tenths),
            connector: design.connector.clone(),
            balance: design
                .balance_connector
                .clone()
                .unwrap_or_else(|| "none".to_owned()),
            mass: design.mass_g.map_or_else(String::new, |g| g.to_string()),
            size: design.size_mm.clone(),
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
            whole(&self.cells, "Give the cells in series, 1 to 14."),
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
        if self.balance.is_empty() {
            problems.add(
                "balance",
                "Choose the balance connector, or that it has none.",
            );
        }
        let (Some(chemistry), Some(cells_series), Some(groups_parallel), Some(capacity_mah)) =
            (chemistry, cells, parallel, capacity)
        else {
            return Err(problems);
        };
        let sheet = DesignSheet {
            name: self.name.clone(),
            chemistry,
            cells_series,
            groups_parallel,
            capacity_mah,
            label_discharge_c_tenths: discharge.flatten(),
            label_charge_c_tenths: charge.flatten(),
            connector: self.connector.clone(),
            balance_connector: (self.balance != "none").then(|| self.balance.clone()),
            mass_g: mass.flatten(),
            size_mm: self.size.clone(),
        };
        if problems.is_empty() {
            Ok(sheet)
        } else {
            Err(problems)
        }
    }
}

fn whole(text: &str, words: &'static str) -> Result<i64, &'static str> {
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
    id: Option<Uuid>,
    is_used: bool,
    form: DesignForm,
    problems: Problems,
    chemistries: Choices,
    connectors: Choices,
    balances: Choices,
}

fn design_page(
    shell: Shell,
    which: (Option<Uuid>, bool),
    form: DesignForm,
    problems: Problems,
) -> DesignPage {
    let mut balances: Choices = vec![(
        "none".to_owned(),
        "none: only the whole pack can be read".to_owned(),
    )];
    balances.extend(
        connector::built_in()
            .into_iter()
            .filter(|family| family.purpose == Purpose::Balance)
            .map(|family| (family.code, family.name)),
    );
    DesignPage {
        shell,
        id: which.0,
        is_used: which.1,
        form,
        problems,
        chemistries: chemistry_choices(),
        connectors: connector_choices(),
        balances,
    }
}

/// GET /designs/new
pub async fn new_design(who: SignedIn) -> Page {
    page::show(&design_page(
        who.shell("New design"),
        (None, false),
        DesignForm::default(),
        Problems::default(),
    ))
}

/// GET /designs/{id}
pub async fn show_design(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let mut conn = app.db.read().await?;
    let design = designs::by_id(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let is_used = designs::pack_count(&mut conn, id).await? > 0;
    drop(conn);
    page::show(&design_page(
        who.shell(design.name.clone()),
        (Some(id), is_used),
        DesignForm::from(&design),
        Problems::default(),
    ))
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
    let title = if id.is_some() {
        form.name.clone()
    } else {
        "New design".to_owned()
    };
    let sheet = match form.read() {
        Ok(sheet) => sheet,
        Err(problems) => {
            return page::refused(&design_page(
                who.shell_refused(title),
                (id, false),
                form,
                problems,
            ));
        }
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
        Err(refusal) => Problems::one("name", refusal.to_string()),
    };
    page::refused(&design_page(
        who.shell_refused(title),
        (id, false),
        form,
        problems,
    ))
}

#[derive(Default)]
struct PacksForm {
    design: String,
    count: String,
    maker: String,
    batch: String,
    supplier: String,
    price: String,
    acquired: String,
    first_used: String,
    place: String,
    notes: String,
}

impl PacksForm {
    fn of(fields: &Fields) -> Self {
        let text = |name: &str| fields.text(name).chars().take(500).collect::<String>();
        Self {
            design: text("design"),
            count: text("count"),
            maker: text("maker"),
            batch: text("batch"),
            supplier: text("supplier"),
            price: text("price"),
            acquired: text("acquired"),
            first_used: text("first_used"),
            place: text("place"),
            notes: text("notes"),
        }
    }

    fn from(pack: &PackView) -> Self {
        let day = |day: &Option<String>| day.clone().unwrap_or_default();
        Self {
            design: pack.design_id.to_string(),
            count: String::new(),
            maker: pack.maker.clone(),
            batch: pack.batch.clone(),
            supplier: pack.supplier.clone(),
            price: pack.price.clone(),
            acquired: day(&pack.acquired_on),
            first_used: day(&pack.first_used_on),
            place: pack.place_id.map_or_else(String::new, |id| id.to_string()),
            notes: pack.notes.clone(),
        }
    }

    fn details(&self, problems: &mut Problems) -> Details {
        let mut day = |field: &str, text: &str| {
            if text.is_empty() {
                return None;
            }
            let day = Day::parse(text).ok_or("Write the day as 2026-11-27.");
            problems.keep(field, day).map(|day| day.to_string())
        };
        Details {
            acquired_on: day("acquired", &self.acquired),
            first_used_on: day("first_used", &self.first_used),
            maker: self.maker.clone(),
            batch: self.batch.clone(),
            supplier: self.supplier.clone(),
            price: self.price.clone(),
            place_id: self.place.parse().ok(),
            notes: self.notes.clone(),
        }
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
    shell: Shell,
    number: Option<String>,
    form: PacksForm,
    problems: Problems,
) -> Result<RegisterPage, PageError> {
    let mut conn = app.db.read().await?;
    let designs = designs::all(&mut conn).await?;
    let places = places::all_open(&mut conn).await?;
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
                    format!("{}: {}", design.name, design_words(design)),
                )
            })
            .collect(),
        places: places
            .into_iter()
            .map(|place| (place.id.to_string(), place.name))
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
            who.shell("Register packs"),
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
    let details = form.details(&mut problems);
    if let (Some(design), Some(count), true) = (design, count, problems.is_empty()) {
        let by = who.by(&fields);
        match register::register_packs(&app.db, &by, design, count, &details).await {
            Ok(numbers) => {
                return page::go_to(&format!("/packs/registered?{}", registered_query(&numbers)));
            }
            Err(RegisterRefusal::Repeat(repeat)) => return again(&repeat),
            Err(RegisterRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => problems.add("count", refusal.to_string()),
        }
    }
    page::refused(
        &register_page(
            &app,
            who.shell_refused("Register packs"),
            None,
            form,
            problems,
        )
        .await?,
    )
}

fn registered_query(numbers: &[String]) -> String {
    let key = |number: Option<&String>| {
        number
            .and_then(|number| number.rsplit('-').next()?.parse::<i64>().ok())
            .unwrap_or(0)
    };
    format!("from={}&to={}", key(numbers.first()), key(numbers.last()))
}

#[derive(Deserialize)]
pub struct Range {
    #[serde(default)]
    from: String,
    #[serde(default)]
    to: String,
}

#[derive(Template)]
#[template(path = "registered.html")]
struct RegisteredPage {
    shell: Shell,
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
    let form = PacksForm::from(&pack);
    page::show(
        &register_page(
            &app,
            who.shell(format!("Details of {}", pack.number)),
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
    let details = form.details(&mut problems);
    if problems.is_empty() {
        match register::change_details(&app.db, &who.by(&fields), pack.id, &details).await {
            Ok(()) => return page::go_to(&format!("/packs/{}", pack.number)),
            Err(RegisterRefusal::Repeat(repeat)) => return again(&repeat),
            Err(RegisterRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => problems.add("maker", refusal.to_string()),
        }
    }
    let shell = who.shell_refused(format!("Details of {}", pack.number));
    page::refused(&register_page(&app, shell, Some(pack.number), form, problems).await?)
}
