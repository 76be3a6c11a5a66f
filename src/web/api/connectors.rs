//! Connector families: the usual ones and the club's own.

use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::{said, thousandths};
use crate::bench::connector::{Family, built_in};
use crate::bench::form::{Fields, Problems};
use crate::store::connectors;
use crate::web::asked::Path;
use crate::web::connectors as page;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Connector {
    pub code: String,
    pub name: String,
    /// discharge, balance, input or charger.
    pub purpose: String,
    /// null: it follows the cells, or is not on record.
    pub pins: Option<i64>,
    /// What it carries on and on; null: no figure is on record, never 'without limit'.
    pub rating_ma: Option<i64>,
    pub peak_ma: Option<i64>,
    /// What keeps it from being turned.
    pub polarity: String,
    /// Who says so.
    pub source: String,
    /// One of the club's own: those can be changed.
    pub is_own: bool,
}

impl Connector {
    fn of(family: Family, is_own: bool) -> Self {
        Self {
            code: family.code,
            name: family.name,
            purpose: family.purpose.code().to_owned(),
            pins: family.pins,
            rating_ma: family.rating_ma,
            peak_ma: family.peak_ma,
            polarity: family.polarity,
            source: family.source,
            is_own,
        }
    }
}

impl Shown for Connector {
    fn example() -> Self {
        Self {
            code: "hall-plug".to_owned(),
            name: "Hall plug".to_owned(),
            purpose: "input".to_owned(),
            rating_ma: Some(7_500),
            is_own: true,
            ..Self::default()
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct Connectors {
    pub connectors: Vec<Connector>,
}

impl Shown for Connectors {
    fn example() -> Self {
        Self {
            connectors: vec![Connector::example()],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Connectors, Trouble> {
    let families = connectors::all(&mut call.app.db.read().await?).await?;
    let usual = built_in().len();
    let all = families
        .into_iter()
        .enumerate()
        .map(|(at, family)| Connector::of(family, at >= usual));
    Ok(Connectors {
        connectors: all.collect(),
    })
}

/// One of the club's own.
pub async fn show(call: Call<Nothing>) -> Result<Connector, Trouble> {
    let found = connectors::own_by_code(&mut call.app.db.read().await?, &call.name).await?;
    Ok(Connector::of(found.ok_or(PageError::NotFound)?, true))
}

/// What of a family can be changed, the whole of it: null or empty where nothing is said.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConnectorDetails {
    pub name: String,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub pins: Option<i64>,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub rating_ma: Option<i64>,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub peak_ma: Option<i64>,
    pub polarity: String,
    pub source: String,
}

impl Sent for ConnectorDetails {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("name", &self.name);
        form.maybe("pins", "pins", self.pins);
        let amps = |ma: Option<i64>| ma.map(thousandths);
        form.maybe("rating_ma", "rating_ma", amps(self.rating_ma));
        form.maybe("peak_ma", "peak_ma", amps(self.peak_ma));
        form.text("polarity", &self.polarity);
        form.text("source", &self.source);
        Ok(())
    }

    fn example() -> Self {
        Self {
            name: "Mill plug".to_owned(),
            pins: Some(2),
            rating_ma: Some(7_500),
            ..Self::default()
        }
    }
}

#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewConnector {
    pub code: String,
    /// discharge, balance, input or charger.
    pub purpose: String,
    pub details: ConnectorDetails,
}

impl Sent for NewConnector {
    fn fill(&self, form: &mut Form, who: &SignedIn) -> Result<(), Problems> {
        form.text("code", &self.code);
        form.text("purpose", &self.purpose);
        self.details.fill(form, who)
    }

    fn example() -> Self {
        Self {
            code: "mill-plug".to_owned(),
            purpose: "input".to_owned(),
            details: ConnectorDetails::example(),
        }
    }
}

pub async fn add(call: Call<NewConnector>, form: Fields) -> Page {
    page::add(State(call.app), call.who, form).await
}

pub async fn change(call: Call<ConnectorDetails>, form: Fields) -> Page {
    page::change(State(call.app), call.who, Path(call.name), form).await
}

pub async fn remove(call: Call<Nothing>, form: Fields) -> Page {
    page::remove(State(call.app), call.who, Path(call.name), form).await
}
