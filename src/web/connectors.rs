//! Connector families: what each carries, its pins, what keeps it from being plugged the wrong way, and who says so.
//! The usual ones come with the program; a club adds its own.

use crate::actions::keep_connectors;
use crate::actions::keep_kit::KitRefusal;
use crate::app::App;
use crate::bench::connector::{Family, Purpose, built_in};
use crate::bench::typed::{Unit, Words, amount_milli};
use crate::club::people::Role;
use crate::store::connectors;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::kit::capital;
use crate::web::kit_form::{Refused, answer};
use crate::web::page::{self, Page, PageError};
use crate::web::places::words_of;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

page::puts_right!(OnePage, NewPage);

#[derive(Template)]
#[template(path = "connectors/list.html")]
struct ListPage {
    shell: Shell,
    done: &'static str,
    may_change: bool,
    /// Looks at each of the club's own.
    oversees: bool,
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
    is_own: bool,
}

#[derive(Template)]
#[template(path = "connectors/one.html")]
struct OnePage {
    shell: Shell,
    code: String,
    called: String,
    typed: Fields,
    problems: Problems,
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
            "changed" => "The change is kept.",
            "removed" => "The connector family is removed.",
            _ => "",
        },
        may_change: who.has(Role::Quartermaster),
        oversees: who.oversees(),
        rows: families
            .into_iter()
            .enumerate()
            .map(|(at, family)| Row {
                is_own: at >= built_in().len(),
                ..row(family, words)
            })
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
        Ok(family) => keep_connectors::add_connector(&app.db, &who.by(&fields), family)
            .await
            .or_else(refused),
        Err(problems) => Err(Refused::Form(problems)),
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => page::put_right(&NewPage {
            shell: who.shell_refused("Add a connector"),
            problems,
            ..new_page(&who, fields)
        }),
    }
}

/// A family for those who only look.
#[derive(Template)]
#[template(path = "connectors/seen.html")]
struct SeenPage {
    shell: Shell,
    row: Row,
}

/// GET /connectors/{code}: one of the club's own.
pub async fn show(State(app): State<App>, who: SignedIn, Path(code): Path<String>) -> Page {
    if !who.has(Role::Quartermaster) {
        let found = connectors::own_by_code(&mut app.db.read().await?, &code).await?;
        let row = row(found.ok_or(PageError::NotFound)?, words_of(&who));
        return page::show(&SeenPage {
            shell: who.shell(format!("Connector {}", row.name)),
            row,
        });
    }
    page::show(&one_page(&app, &who, &code, None).await?)
}

/// With `typed`, the form as it was refused.
async fn one_page(
    app: &App,
    who: &SignedIn,
    code: &str,
    typed: Option<(Fields, Problems)>,
) -> Result<OnePage, PageError> {
    let mut conn = app.db.read().await?;
    let family = connectors::own_by_code(&mut conn, code)
        .await?
        .ok_or(PageError::NotFound)?;
    // A page asks the database three times at most: who uses it is told when it can't be removed.
    let called = family.name.clone();
    let title = format!("Connector {called}");
    let shell = if typed.is_some() {
        who.shell_refused(title)
    } else {
        who.shell(title)
    };
    let (typed, problems) =
        typed.unwrap_or_else(|| (standing(&family, words_of(who)), Problems::default()));
    Ok(OnePage {
        shell,
        code: code.to_owned(),
        called,
        typed,
        problems,
    })
}

fn standing(family: &Family, words: Words) -> Fields {
    let amps = |ma: Option<i64>| ma.map_or_else(String::new, |ma| words.number(ma));
    let pairs = [
        ("name", family.name.clone()),
        (
            "pins",
            family
                .pins
                .map_or_else(String::new, |pins| pins.to_string()),
        ),
        ("rating_ma", amps(family.rating_ma)),
        ("peak_ma", amps(family.peak_ma)),
        ("polarity", family.polarity.clone()),
        ("source", family.source.clone()),
    ];
    Fields::new(pairs.map(|(name, value)| (name.to_owned(), value)).to_vec())
}

/// POST /connectors/{code}
pub async fn change(
    State(app): State<App>,
    who: SignedIn,
    Path(code): Path<String>,
    fields: Fields,
) -> Page {
    let standing = connectors::own_by_code(&mut app.db.read().await?, &code)
        .await?
        .ok_or(PageError::NotFound)?;
    let mut typed = fields.clone();
    typed.put("code", &code);
    typed.put("purpose", standing.purpose.code());
    let outcome = match family(&typed) {
        Ok(family) => keep_connectors::change_connector(&app.db, &who.by(&fields), family)
            .await
            .or_else(refused),
        Err(problems) => Err(Refused::Form(problems)),
    };
    after(&app, &who, (&code, fields), outcome).await
}

/// POST /connectors/{code}/remove
pub async fn remove(
    State(app): State<App>,
    who: SignedIn,
    Path(code): Path<String>,
    fields: Fields,
) -> Page {
    let outcome = keep_connectors::remove_connector(&app.db, &who.by(&fields), &code)
        .await
        .or_else(|refusal| answer(refusal, "remove")?.into_address());
    match outcome {
        Err(Refused::Form(problems)) => {
            let page = one_page(&app, &who, &code, None).await?;
            let shell = who.shell_refused(page.shell.title.clone());
            page::put_right(&OnePage {
                shell,
                problems,
                ..page
            })
        }
        outcome => after(&app, &who, (&code, fields), outcome).await,
    }
}

async fn after(
    app: &App,
    who: &SignedIn,
    sent: (&str, Fields),
    outcome: Result<String, Refused>,
) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => {
            page::put_right(&one_page(app, who, sent.0, Some((sent.1, problems))).await?)
        }
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

pub(super) fn pins_words(family: &Family) -> String {
    match (family.pins, family.purpose) {
        (Some(pins), _) => pins.to_string(),
        (None, Purpose::Balance) => "cells + 1".to_owned(),
        (None, _) => "not on record".to_owned(),
    }
}

fn row(family: Family, words: Words) -> Row {
    let pins = pins_words(&family);
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
        is_own: false,
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
