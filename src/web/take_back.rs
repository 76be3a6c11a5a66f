//! Take back at the table: which came back and what is seen on each; then the volts of those without danger; then what
//! happened, each with its state, why, and the next step.

use crate::actions::condition::Looked;
use crate::actions::take_back::{self, LookedAt, TakeBackRefusal};
use crate::app::App;
use crate::club::lending::{Typed, read_numbers};
use crate::store::loans::{self, Out};
use crate::web::fields::{Fields, Problems};
use crate::web::loans::OutRow;
use crate::web::pack::again;
use crate::web::pack_forms::looked;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::{OriginalUri, State};
use uuid::Uuid;

#[derive(Template)]
#[template(path = "take_back.html")]
struct TakeBackPage {
    shell: Shell,
    problems: Problems,
    numbers: String,
    loans: Vec<(OutRow, usize)>,
}

/// What an address asks for, names repeated: `lent=…&lent=…`.
pub(super) fn asked(uri: &axum::http::Uri) -> Fields {
    let query = axum::extract::Query::<Vec<(String, String)>>::try_from_uri(uri);
    Fields::new(
        query
            .map(|axum::extract::Query(pairs)| pairs)
            .unwrap_or_default(),
    )
}

pub(super) fn ids(fields: &Fields, name: &str) -> Vec<Uuid> {
    fields
        .all(name)
        .iter()
        .filter_map(|text| text.parse().ok())
        .take(200)
        .collect()
}

/// GET /take-back
pub async fn ask(State(app): State<App>, who: SignedIn) -> Page {
    let out = loans::all_out(&mut app.db.read().await?).await?;
    page::show(&TakeBackPage {
        shell: who.shell("Take back"),
        problems: Problems::default(),
        numbers: String::new(),
        loans: by_loan(out, &who),
    })
}

/// One row for each loan, with how many things are out on it.
fn by_loan(out: Vec<Out>, who: &SignedIn) -> Vec<(OutRow, usize)> {
    let mut rows: Vec<(OutRow, usize)> = Vec::new();
    for one in out {
        match rows
            .iter_mut()
            .find(|(row, _)| row.out.loan_id == one.loan_id)
        {
            Some((_, count)) => *count += 1,
            None => rows.push((OutRow::of(one, who), 1)),
        }
    }
    rows
}

struct Item {
    row: OutRow,
    suffix: String,
    is_ticked: bool,
    looked: Looked,
    kit_words: String,
    counted: String,
    problem: String,
}

#[derive(Template)]
#[template(path = "take_back_items.html")]
struct ItemsPage {
    shell: Shell,
    problems: Problems,
    items: Vec<Item>,
    stored: Vec<String>,
}

/// GET /take-back/items?loan=… or ?numbers=14 15 or ?lent=…
pub async fn items(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let asked = asked(&uri);
    let out = loans::all_out(&mut app.db.read().await?).await?;
    let numbers = asked.text("numbers");
    let chosen = match choose(&out, &asked) {
        Ok(chosen) => chosen,
        Err(words) => {
            let page = TakeBackPage {
                shell: who.shell_refused("Take back"),
                problems: Problems::one("numbers", words),
                numbers,
                loans: by_loan(out, &who),
            };
            return page::refused(&page);
        }
    };
    let is_ticked = asked.id("loan").is_none();
    let items = chosen
        .into_iter()
        .map(|out| item(out, &who, is_ticked))
        .collect();
    page::show(&ItemsPage {
        shell: who.shell("What do you see?"),
        problems: Problems::default(),
        items,
        stored: Vec::new(),
    })
}

fn choose(out: &[Out], asked: &Fields) -> Result<Vec<Out>, String> {
    let lent = ids(asked, "lent");
    let loan = asked.id("loan");
    let typed = read_numbers(&asked.text("numbers"))
        .map_err(|word| format!("“{word}” is no number. Type them as 14 15 17-20."))?;
    let is_named = |one: &Out| {
        typed.iter().any(|typed| match typed {
            Typed::Packs(from, to) => {
                one.pack_id.is_some()
                    && key_of(&one.number).is_some_and(|key| (*from..=*to).contains(&key))
            }
            Typed::Number(number, _) => one.number == *number,
        })
    };
    let chosen: Vec<Out> = out
        .iter()
        .filter(|one| lent.contains(&one.lent_id) || Some(one.loan_id) == loan || is_named(one))
        .cloned()
        .collect();
    if chosen.is_empty() {
        Err("None of these is out. Somebody may have taken it back already.".to_owned())
    } else {
        Ok(chosen)
    }
}

fn key_of(number: &str) -> Option<i64> {
    number.rsplit('-').next()?.parse().ok()
}

fn item(out: Out, who: &SignedIn, is_ticked: bool) -> Item {
    let suffix = format!("-{}", out.lent_id);
    Item {
        row: OutRow::of(out, who),
        suffix,
        is_ticked,
        looked: Looked::default(),
        kit_words: String::new(),
        counted: String::new(),
        problem: String::new(),
    }
}

/// POST /take-back/items
pub async fn look(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let out = loans::all_out(&mut app.db.read().await?).await?;
    let shown: Vec<Out> = ids(&fields, "shown")
        .iter()
        .filter_map(|id| out.iter().find(|one| one.lent_id == *id))
        .cloned()
        .collect();
    let ticked = ids(&fields, "lent");
    let mut items: Vec<Item> = shown
        .into_iter()
        .map(|out| typed_item(out, &who, &fields, &ticked))
        .collect();
    let mut problems = Problems::default();
    // Nothing of it is out any more: perhaps this form was sent before, then it gets the same answer.
    if !items.is_empty() && items.iter().all(|item| !item.is_ticked) {
        problems.add("lent", "Tick what came back.");
    }
    for item in items.iter().filter(|item| !item.problem.is_empty()) {
        problems.add(
            &format!("seen{}", item.suffix),
            format!("{}: {}", item.row.out.number, item.problem),
        );
    }
    if problems.is_empty() {
        return go_on(look_at(&app, &who, &fields, &items).await);
    }
    // What is dangerous is dealt with now, whatever else must be put right.
    let dangerous: Vec<Item> = items
        .extract_if(.., |item| item.is_ticked && item.looked.is_danger())
        .collect();
    let mut stored: Vec<String> = Vec::new();
    if !dangerous.is_empty() {
        let keyless = Fields::default();
        look_at(&app, &who, &keyless, &dangerous)
            .await
            .map_err(refused)?;
        stored = dangerous
            .iter()
            .map(|item| item.row.out.number.clone())
            .collect();
    }
    page::refused(&ItemsPage {
        shell: who.shell_refused("What do you see?"),
        problems,
        items,
        stored,
    })
}

fn typed_item(out: Out, who: &SignedIn, fields: &Fields, ticked: &[Uuid]) -> Item {
    let base = item(out, who, false);
    let looked = looked(fields, &base.suffix);
    // Seeing danger on a pack says that it is here, ticked or not.
    let is_ticked = ticked.contains(&base.row.out.lent_id) || looked.is_danger();
    let counted = fields.text(&format!("counted{}", base.suffix));
    let problem = if is_ticked {
        problem_of(&base.row.out, &looked, &counted)
    } else {
        String::new()
    };
    Item {
        is_ticked,
        looked,
        kit_words: fields.text(&format!("kit_words{}", base.suffix)),
        counted,
        problem,
        ..base
    }
}

/// What must be put right about one thing that came back; empty: nothing.
fn problem_of(out: &Out, looked: &Looked, counted: &str) -> String {
    if out.pack_id.is_some() && looked.seen.is_empty() {
        return "tick what you see; 'nothing to see' is an answer.".to_owned();
    }
    let is_right =
        |lent: i64| counted.is_empty() || counted.parse().is_ok_and(|n| (1..=lent).contains(&n));
    match out.counted {
        Some(lent) if !is_right(lent) => format!("say how many came back, 1 to {lent}."),
        _ => String::new(),
    }
}

async fn look_at(
    app: &App,
    who: &SignedIn,
    fields: &Fields,
    items: &[Item],
) -> Result<String, TakeBackRefusal> {
    let all: Vec<LookedAt> = items
        .iter()
        .filter(|item| item.is_ticked)
        .map(|item| LookedAt {
            lent_id: item.row.out.lent_id,
            looked: item.looked.clone(),
            kit_words: item.kit_words.clone(),
            counted: item.counted.parse().ok(),
        })
        .collect();
    let wants_volts = take_back::look(&app.db, &who.by(fields), &all).await?;
    Ok(take_back::next_address(&all, &wants_volts))
}

fn refused(refusal: TakeBackRefusal) -> PageError {
    match refusal {
        TakeBackRefusal::Store(error) => error.into(),
        other => PageError::Refused(other.to_string()),
    }
}

pub(super) fn go_on(outcome: Result<String, TakeBackRefusal>) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(TakeBackRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => Err(refused(refusal)),
    }
}
