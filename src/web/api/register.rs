//! Registering packs, and what is said of a pack besides its state.

use super::form::{Form, Sent};
use super::operation::Call;
use super::packs::{Pack, Packs};
use super::trouble::Trouble;
use super::words::said;
use crate::actions::register::MOST_ALIKE;
use crate::bench::form::{Fields, Problems};
use crate::store::packs;
use crate::web::asked::Path;
use crate::web::page::Page;
use crate::web::register;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What is said of a pack besides its state, the whole of it: null or empty where nothing is said.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Details {
    pub maker: String,
    pub batch: String,
    pub supplier: String,
    pub price: String,
    /// YYYY-MM-DD.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub acquired_on: Option<String>,
    /// YYYY-MM-DD.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub first_used_on: Option<String>,
    /// Where it lies when it is not out.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub place_id: Option<Uuid>,
    pub notes: String,
}

impl Details {
    fn fill(&self, form: &mut Form) {
        form.text("maker", &self.maker);
        form.text("batch", &self.batch);
        form.text("supplier", &self.supplier);
        form.text("price", &self.price);
        form.maybe("acquired_on", "acquired", self.acquired_on.as_ref());
        form.maybe("first_used_on", "first_used", self.first_used_on.as_ref());
        form.maybe("place_id", "place", self.place_id);
        form.text("notes", &self.notes);
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RangeAsked {
    /// Running number of the first.
    from: i64,
    /// Running number of the last.
    to: i64,
}

pub async fn registered(call: Call<RangeAsked>) -> Result<Packs, Trouble> {
    let keys = (call.sent.from, call.sent.to);
    let found = packs::in_range(&mut call.app.db.read().await?, keys, MOST_ALIKE).await?;
    Ok(Packs {
        packs: found.iter().map(|pack| Pack::of(pack, &call.who)).collect(),
        draws: Vec::new(),
        next_page: None,
    })
}

/// New packs, all alike.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RegisterPacks {
    pub design_id: Uuid,
    /// 1 to 50.
    pub count: i64,
    /// Left out: nothing is said of them yet.
    #[serde(default)]
    pub details: Details,
}

impl Sent for RegisterPacks {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("design_id", "design", self.design_id);
        form.text("count", self.count);
        self.details.fill(form);
        Ok(())
    }

    fn example() -> Self {
        Self {
            design_id: super::document::DESIGN,
            count: 2,
            details: Details::example(),
        }
    }
}

pub async fn register(call: Call<RegisterPacks>, form: Fields) -> Page {
    register::add_packs(State(call.app), call.who, form).await
}

impl Sent for Details {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        self.fill(form);
        Ok(())
    }

    fn example() -> Self {
        Self {
            maker: "Millrace".to_owned(),
            batch: "M7".to_owned(),
            acquired_on: Some("2026-03-01".to_owned()),
            ..Self::default()
        }
    }
}

pub async fn change_details(call: Call<Details>, form: Fields) -> Page {
    register::change_details(State(call.app), call.who, Path(call.name), form).await
}
