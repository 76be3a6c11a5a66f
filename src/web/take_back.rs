//! Take back at the table begins with which came back. Then `take_back_items`: what is seen on each; then
//! `take_back_volts`: the volts of those without danger, and what came of it.

use crate::actions::take_back::TakeBackRefusal;
use crate::app::App;
use crate::club::lending::{Typed, read_numbers, says_how_many};
use crate::store::loans::{self, Out};
use crate::web::back_already::ids;
use crate::web::fields::{Fields, Problems};
use crate::web::loans::OutRow;
use crate::web::not_out::{self, NotOut, is_named};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::scanned;
use crate::web::take_back_items;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::{OriginalUri, State};

#[derive(Template)]
#[template(path = "take_back.html")]
struct TakeBackPage {
    shell: Shell,
    problems: Problems,
    numbers: String,
    not_out: NotOut,
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

/// GET /take-back
pub async fn ask(State(app): State<App>, who: SignedIn) -> Page {
    let out = loans::all_out(&mut app.db.read().await?).await?;
    page::show(&TakeBackPage {
        shell: who.shell("Take back"),
        problems: Problems::default(),
        numbers: String::new(),
        not_out: NotOut::default(),
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

/// GET /take-back/items?loan=… or ?numbers=14 15 or ?lent=…
pub async fn items(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let asked = asked(&uri);
    let numbers = scanned::as_numbers(&app, &asked.text("numbers")).await?;
    let mut conn = app.db.read().await?;
    let out = loans::all_out(&mut conn).await?;
    let typed = read_numbers(&numbers)
        .map_err(|word| format!("“{word}” is no number. Type them as 14 15 17-20."));
    let not_out = not_out::of(&mut conn, typed.as_deref().unwrap_or_default(), &out).await?;
    drop(conn);
    let chosen = typed.and_then(|typed| {
        let chosen = choose(&out, &asked, &typed)?;
        Ok((typed, chosen))
    });
    match chosen {
        Ok((typed, chosen)) => {
            take_back_items::show(counted_as_typed(chosen, (&typed, &numbers)), not_out, &who)
        }
        Err(words) => page::refused(&TakeBackPage {
            shell: who.shell_refused("Take back"),
            problems: Problems::one("numbers", words),
            numbers,
            not_out,
            loans: by_loan(out, &who),
        }),
    }
}

/// Each with how many of it were named, `A-01x2`; the form asks for the rest.
fn counted_as_typed(chosen: Vec<Out>, said: (&[Typed], &str)) -> Vec<(Out, Option<i64>)> {
    let (typed, line) = said;
    let count_of = |out: &Out| {
        let is_on_one_line = chosen
            .iter()
            .filter(|other| other.number == out.number)
            .count()
            == 1;
        let named = typed.iter().find(|typed| is_named(typed, out))?;
        match named {
            Typed::Number(_, count) if is_on_one_line && says_how_many(line, &out.number) => {
                Some(*count)
            }
            _ => None,
        }
    };
    let counts: Vec<Option<i64>> = chosen.iter().map(count_of).collect();
    chosen.into_iter().zip(counts).collect()
}

/// What was named and is out.
fn choose(out: &[Out], asked: &Fields, typed: &[Typed]) -> Result<Vec<Out>, String> {
    let (lent, loan) = (ids(asked, "lent"), asked.id("loan"));
    let mut chosen = Vec::new();
    for one in out {
        let named = typed.iter().find(|typed| is_named(typed, one));
        if let (Some(Typed::Number(_, 2..)), None) = (named, one.counted) {
            return Err(format!("{} is one thing.", one.number));
        }
        if named.is_some() || lent.contains(&one.lent_id) || Some(one.loan_id) == loan {
            chosen.push(one.clone());
        }
    }
    if chosen.is_empty() && typed.is_empty() && lent.is_empty() && loan.is_none() {
        Err("Type what came back, or choose a loan.".to_owned())
    } else if chosen.is_empty() {
        Err("None of these is out. Somebody may have taken it back already.".to_owned())
    } else {
        Ok(chosen)
    }
}

pub(super) fn refused(refusal: TakeBackRefusal) -> PageError {
    match refusal {
        TakeBackRefusal::Store(error) => error.into(),
        refusal @ TakeBackRefusal::NotAQuartermaster => PageError::NotYours(refusal.to_string()),
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
