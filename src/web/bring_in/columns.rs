//! Which column of the sheet is which field: guessed from the headings, shown to be changed.

use super::{Waiting, done_address, led, waiting};
use crate::actions::bring_in as action;
use crate::app::App;
use crate::club::sheet::columns::{Column, described};
use crate::club::sheet::plan::columns_of;
use crate::club::sheet::text::Grid;
use crate::club::sheet::{Choices, Holds};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::kit::capital;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "bring_in/columns.html")]
struct ColumnsPage {
    shell: Shell,
    id: Uuid,
    name: String,
    rows: usize,
    is_of_packs: bool,
    problems: Problems,
    fields: Vec<Field>,
    headings: Vec<(String, String)>,
    /// Headings that no field has.
    unused: Vec<String>,
}

const TITLE: &str = "Columns of the sheet";

struct Field {
    name: String,
    label: String,
    chosen: String,
}

/// A sheet with its rows and cells, and nothing of what is on record.
struct Split {
    name: String,
    holds: Holds,
    choices: Choices,
    grid: Grid,
}

/// None: it was carried out.
async fn split(app: &App, who: &SignedIn, id: Uuid) -> Result<Option<Split>, PageError> {
    let sheet = match waiting(&mut app.db.read().await?, who, id).await? {
        Waiting::Done => return Ok(None),
        Waiting::OnItsWay(sheet) => sheet,
    };
    Ok(Some(Split {
        grid: action::split(&sheet).await?,
        holds: sheet.holds().unwrap_or(Holds::Packs),
        choices: sheet.choices()?,
        name: sheet.name,
    }))
}

fn columns_page(id: Uuid, about: (&Split, Shell), chosen: &BTreeMap<String, usize>) -> ColumnsPage {
    let (
        Split {
            holds,
            choices,
            grid,
            ..
        },
        shell,
    ) = about;
    let field = |column: Column| Field {
        name: format!("column_{}", column.code),
        label: label(&column),
        chosen: chosen
            .get(column.code)
            .map_or_else(String::new, ToString::to_string),
    };
    let is_unused = |(at, _): &(usize, &String)| !chosen.values().any(|used| used == at);
    let unused = grid.headings.iter().enumerate().filter(is_unused);
    ColumnsPage {
        shell,
        id,
        name: about.0.name.clone(),
        rows: grid.rows.len(),
        is_of_packs: *holds == Holds::Packs,
        problems: Problems::default(),
        fields: columns_of(*holds, choices).into_iter().map(field).collect(),
        headings: (0..grid.headings.len())
            .map(|at| (at.to_string(), heading(grid, at)))
            .collect(),
        unused: unused
            .filter(|(_, heading)| !heading.is_empty())
            .map(|(_, heading)| heading.clone())
            .collect(),
    }
}

/// `Capacity (mAh), optional`
fn label(column: &Column) -> String {
    match (column.is_needed, column.kinds_words()) {
        (true, _) => column.label.to_owned(),
        (false, kinds) if kinds.is_empty() => format!("{} (optional)", column.label),
        (false, kinds) => format!("{}, of {kinds}", column.label),
    }
}

/// With the first thing that stands below it.
fn heading(grid: &Grid, at: usize) -> String {
    let plain = grid.headings.get(at).filter(|heading| !heading.is_empty());
    let name = plain
        .cloned()
        .unwrap_or_else(|| format!("column {}", at + 1));
    let first = grid
        .rows
        .iter()
        .map(|row| row.cell(at))
        .find(|cell| !cell.is_empty());
    let short = |cell: &str| cell.chars().take(24).collect::<String>();
    first.map_or_else(
        || format!("{name} (empty)"),
        |cell| format!("{name}: {}", short(cell)),
    )
}

/// GET /bring-in/{id}/columns
pub async fn ask_columns(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let Some(split) = split(&app, &who, id).await? else {
        return page::go_to(&done_address(id));
    };
    let chosen = &split.choices.columns;
    page::show(&columns_page(id, (&split, who.shell(TITLE)), chosen))
}

/// POST /bring-in/{id}/columns
pub async fn choose_columns(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let Some(split) = split(&app, &who, id).await? else {
        return again(&app, &who, id, &fields).await;
    };
    let (chosen, problems) = read(&split, &fields);
    if problems.is_empty() {
        let change = |choices: &mut Choices| {
            choices.columns = chosen;
            choices.are_columns_chosen = true;
            // What was said of other columns says nothing of these.
            (choices.days, choices.comma, choices.point, choices.existing) =
                (None, None, None, None);
        };
        return led(action::choose(&app.db, &who.by(&fields), id, change).await);
    }
    page::refused(&ColumnsPage {
        problems,
        ..columns_page(id, (&split, who.shell_refused(TITLE)), &chosen)
    })
}

/// A step of a sheet that was carried out meanwhile: the same form gets the same answer.
pub(super) async fn again(app: &App, who: &SignedIn, id: Uuid, fields: &Fields) -> Page {
    led(action::choose(&app.db, &who.by(fields), id, |_| {}).await)
}

fn read(split: &Split, fields: &Fields) -> (BTreeMap<String, usize>, Problems) {
    let (mut chosen, mut problems) = (BTreeMap::new(), Problems::default());
    for column in &columns_of(split.holds, &split.choices) {
        let name = format!("column_{}", column.code);
        let at = fields
            .text(&name)
            .parse()
            .ok()
            .filter(|at| *at < split.grid.headings.len());
        match at {
            Some(at) if chosen.values().any(|used| *used == at) => {
                let called = capital(&split.grid.called(at));
                let words = format!("{called} is chosen for two fields. Choose one.");
                problems.add(&name, words);
            }
            Some(at) => {
                chosen.insert(column.code.to_owned(), at);
            }
            None if column.is_needed => {
                problems.add(
                    &name,
                    format!("{}: choose the column that has it.", column.label),
                );
            }
            None => {}
        }
    }
    let has = |code: &str| chosen.contains_key(code);
    let names_designs = has("design")
        || ["chemistry", "cells", "capacity", "connector", "balance"]
            .iter()
            .all(|code| has(code));
    if split.holds == Holds::Packs
        && !names_designs
        && !described()
            .map(|column| column.code)
            .chain(["design"])
            .any(|code| !problems.of(&format!("column_{code}")).is_empty())
    {
        problems.add("column_design", "Choose the column that names the design, or those that describe it: chemistry, cells, capacity, discharge and balance connector.");
    }
    (chosen, problems)
}
