//! The club's rules of storage care: how long a pack may lie how full and how warm, when what is due is chased, and what happens to
//! somebody whose own storage care is overdue. For quartermasters and organisers, signed in with a password.

use crate::actions::settings::{self, CareRefusal};
use crate::app::App;
use crate::battery::self_discharge::LOSES_IN_WORDS;
use crate::club::care::rule_form::{COUNTS, Count, cell};
use crate::club::care::rules::{CareRules, FROM_PERCENT, OwnCare, UP_TO_CELSIUS};
use crate::club::care::table_form::source;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::degrees;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "care_rules.html")]
struct RulesPage {
    shell: Shell,
    problems: Problems,
    form: Form,
    is_kept: bool,
    /// What packs are reckoned to lose by lying.
    loses: Vec<String>,
}

/// As typed.
struct Form {
    rows: Vec<TableRow>,
    counts: Vec<CountField>,
    own_care: String,
    choices: Vec<(String, String)>,
}

struct CountField {
    count: &'static Count,
    typed: String,
    hint: String,
}

/// A row of the table of storage: the charge it is about, and a cell for each warmth.
struct TableRow {
    label: String,
    cells: Vec<Cell>,
}

struct Cell {
    warmth: String,
    remind: Days,
    limit: Days,
}

/// A field of the table.
struct Days {
    code: String,
    typed: String,
    hint: String,
}

impl Form {
    /// `typed`: a field's value; else as it stands.
    fn of(rules: CareRules, typed: Option<&Fields>, who: &SignedIn) -> Self {
        let (mut rules, mut usual) = (rules, CareRules::default());
        let value = |field: &str, stands: i64| match typed {
            Some(fields) => fields.text(field),
            None => stands.to_string(),
        };
        let of_cell = |row: usize, column: usize| {
            let (wait, starts) = (
                rules.storage.rows[row][column],
                usual.storage.rows[row][column],
            );
            let days = |kind: &str, stands: i64, starts: i64| {
                let code = cell(kind, row, column);
                Days {
                    typed: value(&code, stands),
                    hint: starts_with(starts, source(kind, (row, column))),
                    code,
                }
            };
            Cell {
                warmth: warmth(column, who),
                remind: days("remind", wait.remind_days, starts.remind_days),
                limit: days("limit", wait.limit_days, starts.limit_days),
            }
        };
        let rows = (0..FROM_PERCENT.len()).rev().map(|row| TableRow {
            label: charge(row),
            cells: (0..=UP_TO_CELSIUS.len())
                .map(|column| of_cell(row, column))
                .collect(),
        });
        let rows = rows.collect();
        let own_care = rules.own_care.code().to_owned();
        let counts = COUNTS.iter().map(|count| CountField {
            count,
            typed: value(count.code, *(count.of)(&mut rules)),
            hint: format!(
                "{} {}",
                count.hint,
                starts_with(*(count.of)(&mut usual), count.source)
            ),
        });
        Self {
            rows,
            counts: counts.collect(),
            own_care: typed.map_or(own_care, |fields| fields.text("own_care")),
            choices: OwnCare::ALL
                .map(|choice| (choice.code().to_owned(), choice.label().to_owned()))
                .to_vec(),
        }
    }
}

/// `Starts with 3: common practice, no source.`
fn starts_with(days: i64, source: &str) -> String {
    format!("Starts with {days}: {source}.")
}

/// `Above the band, under 70 %`
fn charge(row: usize) -> String {
    let from = FROM_PERCENT[row];
    match FROM_PERCENT.get(row + 1) {
        Some(to) if row == 0 => format!("Above the band, under {to:.0} %"),
        Some(to) => format!("{from:.0} to {to:.0} %"),
        None => format!("{from:.0} % and more"),
    }
}

fn warmth(column: usize, who: &SignedIn) -> String {
    let of = |celsius: i64| degrees(celsius, who.club.uses_fahrenheit);
    match (UP_TO_CELSIUS.get(column), UP_TO_CELSIUS.last()) {
        (Some(up_to), _) => format!("up to {}", of(*up_to)),
        (None, Some(last)) => format!("above {}", of(*last)),
        (None, None) => String::new(),
    }
}

/// What is no number counts as none, which no rule allows.
fn rules(fields: &Fields, own_care: Option<OwnCare>) -> CareRules {
    let number = |field: &str| fields.text(field).parse().unwrap_or(-1);
    let mut rules = CareRules::default();
    for (row, waits) in rules.storage.rows.iter_mut().enumerate() {
        for (column, wait) in waits.iter_mut().enumerate() {
            wait.remind_days = number(&cell("remind", row, column));
            wait.limit_days = number(&cell("limit", row, column));
        }
    }
    for count in &COUNTS {
        *(count.of)(&mut rules) = number(count.code);
    }
    rules.own_care = own_care.unwrap_or(rules.own_care);
    rules
}

#[derive(Deserialize)]
pub struct Said {
    #[serde(default)]
    kept: String,
}

/// GET /settings/care
pub async fn show(who: SignedIn, Query(said): Query<Said>) -> Page {
    page::show(&RulesPage {
        shell: who.shell("Rules of storage care"),
        problems: Problems::default(),
        form: Form::of(who.club.care(), None, &who),
        is_kept: !said.kept.is_empty(),
        loses: loses(&who),
    })
}

fn loses(who: &SignedIn) -> Vec<String> {
    LOSES_IN_WORDS
        .map(|words| who.numbers().sentence(words))
        .to_vec()
}

/// POST /settings/care
pub async fn change(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let own_care = OwnCare::from_code(&fields.text("own_care"));
    let rules = rules(&fields, own_care);
    let outcome = match own_care {
        Some(_) => settings::change_care(&app.db, &who.by(&fields), rules).await,
        None => Err(CareRefusal::no_choice(&rules, &who.club.care())),
    };
    let mut problems = Problems::default();
    match outcome {
        Ok(()) => return page::go_to("/settings/care?kept=yes"),
        Err(CareRefusal::Store(error)) => return Err(error.into()),
        Err(CareRefusal::Repeat(repeat)) => return Err(PageError::Refused(repeat.to_string())),
        Err(CareRefusal::Rules(broken)) => {
            for one in broken {
                problems.add(one.field(), one.to_string());
            }
        }
        Err(refusal) => problems.add("own_care", refusal.to_string()),
    }
    page::refused(&RulesPage {
        shell: who.shell_refused("Rules of storage care"),
        problems,
        form: Form::of(who.club.care(), Some(&fields), &who),
        is_kept: false,
        loses: loses(&who),
    })
}
