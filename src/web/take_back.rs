//! Take back at the table: which came back and what is seen on each; then the volts of those without danger; then what
//! happened, each with its state, why, and the next step.

use crate::actions::take_back::{self, LookedAt, TakeBackRefusal};
use crate::app::App;
use crate::club::glance::Glance;
use crate::club::lending::{Typed, read_numbers};
use crate::store::loans::{self, Out};
use crate::web::fields::{Fields, Problems};
use crate::web::glance::Answer;
use crate::web::loans::OutRow;
use crate::web::pack::again;
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
    loans: Vec<(OutRow, i64)>,
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
fn by_loan(out: Vec<Out>, who: &SignedIn) -> Vec<(OutRow, i64)> {
    let mut rows: Vec<(OutRow, i64)> = Vec::new();
    for one in out {
        let things = one.count();
        match rows
            .iter_mut()
            .find(|(row, _)| row.out.loan_id == one.loan_id)
        {
            Some((_, count)) => *count += things,
            None => rows.push((OutRow::of(one, who), things)),
        }
    }
    rows
}

struct Item {
    row: OutRow,
    suffix: String,
    answer: Answer,
    kit_words: String,
    to_mend: String,
    counted: String,
    problem: String,
}

#[derive(Template)]
#[template(path = "take_back_items.html")]
struct ItemsPage {
    shell: Shell,
    problems: Problems,
    items: Vec<Item>,
    /// 'Nothing to see' was chosen for all that say nothing themselves.
    is_covered: bool,
    /// Numbers of what was found dangerous and is dealt with, and the loan lines of this errand that are done.
    stored: Vec<String>,
    earlier: Vec<Uuid>,
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
    let items = chosen.into_iter().map(|out| item(out, &who)).collect();
    page::show(&ItemsPage {
        shell: who.shell("What do you see?"),
        problems: Problems::default(),
        items,
        is_covered: false,
        stored: Vec::new(),
        earlier: Vec::new(),
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

fn item(out: Out, who: &SignedIn) -> Item {
    let suffix = format!("-{}", out.lent_id);
    Item {
        row: OutRow::of(out, who),
        suffix,
        answer: Answer::default(),
        kit_words: String::new(),
        to_mend: String::new(),
        counted: String::new(),
        problem: String::new(),
    }
}

/// POST /take-back/items
pub async fn look(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let out = loans::all_out(&mut app.db.read().await?).await?;
    let is_covered = fields.text("all") == Glance::Nothing.code();
    let mut items: Vec<Item> = ids(&fields, "shown")
        .iter()
        .filter_map(|id| out.iter().find(|one| one.lent_id == *id))
        .map(|one| typed_item(one.clone(), &who, &fields, is_covered))
        .collect();
    let problems = problems_of(&items);
    // Nothing of it is out any more: perhaps this form was sent before, then it gets the same answer.
    if problems.is_empty() {
        return go_on(look_at(&app, &who, &fields, &items).await);
    }
    // What is dangerous is dealt with now, whatever else must be put right.
    let dangerous: Vec<Item> = items
        .extract_if(.., |item| item.answer.looked.is_danger())
        .collect();
    if !dangerous.is_empty() {
        let keyless = Fields::default();
        look_at(&app, &who, &keyless, &dangerous)
            .await
            .map_err(refused)?;
    }
    page::refused(&ItemsPage {
        shell: who.shell_refused("What do you see?"),
        problems,
        items,
        is_covered,
        earlier: ids(&fields, "earlier")
            .into_iter()
            .chain(dangerous.iter().map(|item| item.row.out.lent_id))
            .collect(),
        stored: dangerous
            .into_iter()
            .map(|item| item.row.out.number)
            .collect(),
    })
}

fn problems_of(items: &[Item]) -> Problems {
    let mut problems = Problems::default();
    for item in items.iter().filter(|item| !item.problem.is_empty()) {
        problems.add(&format!("look{}", item.suffix), item.problem.clone());
    }
    let is_nothing_here = items.iter().all(|item| !item.answer.is_here);
    if let (true, true, Some(first)) = (problems.is_empty(), is_nothing_here, items.first()) {
        let words = "Everything is said to be still out. Choose what came back.";
        problems.add(&format!("look{}", first.suffix), words);
    }
    problems
}

fn typed_item(out: Out, who: &SignedIn, fields: &Fields, is_covered: bool) -> Item {
    let base = item(out, who);
    let suffix = &base.suffix;
    let number = &base.row.out.number;
    let kit_words = fields.text(&format!("kit_words{suffix}"));
    let to_mend = fields.text(&format!("to_mend{suffix}"));
    let counted = fields.text(&format!("counted{suffix}"));
    let mut answer = Answer::of(fields, suffix, is_covered);
    if base.row.out.pack_id.is_none() && !kit_words.is_empty() {
        answer = Answer {
            glance: Glance::Wrong,
            is_here: true,
            refusal: None,
            ..answer
        };
    }
    let problem = match (base.row.out.counted, answer.is_here) {
        (Some(count), true) if !is_part_of(&counted, count) => {
            format!("{number}: type how many came back, from 1 to {count}.")
        }
        (Some(count), true) if !is_part_of(&to_mend, counted.parse().unwrap_or(count)) => {
            let back = counted.parse().unwrap_or(count);
            format!("{number}: type how many are to mend, from 1 to {back}.")
        }
        _ => answer.problem_after(number),
    };
    Item {
        answer,
        kit_words,
        to_mend,
        counted,
        problem,
        ..base
    }
}

/// Empty means all.
fn is_part_of(counted: &str, count: i64) -> bool {
    let typed = counted.parse();
    counted.is_empty() || typed.is_ok_and(|typed: i64| (1..=count).contains(&typed))
}

async fn look_at(
    app: &App,
    who: &SignedIn,
    fields: &Fields,
    items: &[Item],
) -> Result<String, TakeBackRefusal> {
    let all: Vec<LookedAt> = items
        .iter()
        .filter(|item| item.answer.is_here)
        .map(|item| LookedAt {
            lent_id: item.row.out.lent_id,
            looked: item.answer.looked.clone(),
            kit_words: item.kit_words.clone(),
            counted: item.counted.parse().ok(),
            to_mend: item.to_mend.parse().ok(),
        })
        .collect();
    let earlier = ids(fields, "earlier");
    let step = take_back::look(&app.db, &who.by(fields), &all, &earlier).await?;
    Ok(step.answer)
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
