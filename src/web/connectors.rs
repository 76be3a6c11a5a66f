//! Connector families: what each carries, its pins, what keeps it from being plugged the wrong way, and who says so.
//! The usual ones come with the program; a club adds its own.

use crate::actions::keep_kit::{self, KitRefusal};
use crate::app::App;
use crate::bench::connector::{Family, Purpose};
use crate::bench::typed::{Unit, Words, amount_milli};
use crate::club::people::Role;
use crate::store::connectors;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::kit::capital;
use crate::web::kit_form::{Refused, answer};
use crate::web::page::{self, Page};
use crate::web::places::words_of;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "connectors/list.html")]
struct ListPage {
    shell: Shell,
    done: &'static str,
    may_change: bool,
    rows: Vec<Row>,
}

struct Row {
    name: String,
    code: String,
    purpose: String,
    pins: String,
    rating: String,
    polarity: String,
    source: String,
}

#[derive(Template)]
#[template(path = "connectors/new.html")]
struct NewPage {
    shell: Shell,
    typed: Fields,
    problems: Problems,
    purposes: Vec<(String, String)>,
}

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    done: String,
}

/// GET /connectors
pub async fn list(State(app): State<App>, who: SignedIn, Query(told): Query<Told>) -> Page {
    let families = connectors::all(&mut app.db.read().await?).await?;
    let words = words_of(&who);
    page::show(&ListPage {
        shell: who.shell("Connectors"),
        done: match told.done.as_str() {
            "added" => "The connector family is added; packs, kit and adapters can have it now.",
            _ => "",
        },
        may_change: who.has(Role::Quartermaster),
        rows: families
            .into_iter()
            .map(|family| row(family, words))
            .collect(),
    })
}

/// GET /connectors/new
pub async fn ask_new(who: SignedIn) -> Page {
    page::show(&new_page(&who, Fields::default()))
}

/// POST /connectors/new
pub async fn add(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let outcome = match family(&fields) {
        Ok(family) => keep_kit::add_connector(&app.db, &who.by(&fields), family)
            .await
            .or_else(refused),
        Err(problems) => Err(Refused::Form(problems)),
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => page::refused(&NewPage {
            shell: who.shell_refused("Add a connector"),
            problems,
            ..new_page(&who, fields)
        }),
    }
}

fn refused(refusal: KitRefusal) -> Result<String, Refused> {
    answer(refusal, "code")?.into_address()
}

fn new_page(who: &SignedIn, typed: Fields) -> NewPage {
    NewPage {
        shell: who.shell("Add a connector"),
        typed,
        problems: Problems::default(),
        purposes: Purpose::ALL
            .map(|each| (each.code().to_owned(), capital(each.label())))
            .to_vec(),
    }
}

fn family(fields: &Fields) -> Result<Family, Problems> {
    let mut problems = Problems::default();
    let purpose = Purpose::from_code(&fields.text("purpose"));
    if purpose.is_none() {
        problems.add("purpose", "Choose what it is used for.");
    }
    let mut amount = |name: &str| match fields.text(name).as_str() {
        "" => None,
        text => problems.keep(name, amount_milli(text, Unit::Amps)),
    };
    let (rating_ma, peak_ma) = (amount("rating_ma"), amount("peak_ma"));
    let pins = match fields.text("pins").as_str() {
        "" => None,
        text => problems.keep(
            "pins",
            text.parse::<i64>().map_err(|_| "Type a whole number here."),
        ),
    };
    let name = fields.text("name");
    let own_source = fields.text("source");
    let family = Family {
        code: fields.text("code").to_lowercase(),
        name,
        purpose: purpose.unwrap_or(Purpose::Discharge),
        pins,
        rating_ma,
        peak_ma,
        polarity: fields.text("polarity"),
        source: if own_source.is_empty() {
            "the club, no source given".to_owned()
        } else {
            own_source
        },
    };
    if fields.text("polarity").chars().count() > 200 || fields.text("source").chars().count() > 200
    {
        problems.add("source", "Keep polarity and source under 200 letters each.");
    }
    match family.checked() {
        Ok(family) if problems.is_empty() => Ok(family),
        Ok(_) => Err(problems),
        Err(found) => {
            found
                .into_iter()
                .for_each(|each| problems.add(each.field, each.words));
            Err(problems)
        }
    }
}

fn row(family: Family, words: Words) -> Row {
    let pins = match (family.pins, family.purpose) {
        (Some(pins), _) => pins.to_string(),
        (None, Purpose::Balance) => "cells + 1".to_owned(),
        (None, _) => "not on record".to_owned(),
    };
    let rating = match (family.rating_ma, family.peak_ma) {
        (Some(rating), Some(peak)) => {
            format!("{}, peak {}", words.amps(rating), words.amps(peak))
        }
        (Some(rating), None) => words.amps(rating),
        (None, _) => "not on record".to_owned(),
    };
    Row {
        purpose: capital(family.purpose.label()),
        pins,
        rating,
        name: family.name,
        code: family.code,
        polarity: family.polarity,
        source: family.source,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> Fields {
        let own = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        Fields::new(pairs.iter().map(own).collect())
    }

    #[test]
    fn a_clubs_own_plug_is_read_with_decimal_comma_and_named_as_without_source() {
        let fields = typed(&[
            ("code", "Hall-Plug"),
            ("name", "Hall plug"),
            ("purpose", "input"),
            ("rating_ma", "7,5"),
        ]);
        let family = family(&fields).expect("a family");
        assert_eq!(
            (family.code.as_str(), family.rating_ma),
            ("hall-plug", Some(7_500))
        );
        assert_eq!(family.source, "the club, no source given");
    }

    #[test]
    fn everything_wrong_with_a_family_is_told_at_once() {
        let problems = family(&typed(&[("code", "a b"), ("pins", "two")])).expect_err("refused");
        for field in ["purpose", "pins", "code", "name"] {
            assert!(!problems.of(field).is_empty(), "{field}");
        }
    }
}
