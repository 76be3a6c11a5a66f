//! What is done about kit: adding and changing, setting aside, looking over, mending, counting, ways out.

use super::form::{Form, Sent};
use super::operation::Call;
use super::words::said;
use crate::bench::form::{Fields, Problems};
use crate::bench::kit::Spec;
use crate::bench::shape;
use crate::club::kit::KitSheet;
use crate::web::asked::Path;
use crate::web::page::Page;
use crate::web::visit::SignedIn;
use crate::web::{kit_form, kit_seen_to, kit_way_out};
use axum::extract::State;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;
use uuid::Uuid;

pub fn adapter() -> Value {
    json!({"kind": "adapter", "from": "xt60", "to": "xt30", "rated_ma": 12_000})
}

/// A thing as it is added or changed, the whole of it: null or empty where nothing is said.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KitToKeep {
    pub name: String,
    pub maker: String,
    pub notes: String,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub place_id: Option<Uuid>,
    /// Of new adapters; changing leaves the count alone.
    #[serde(default)]
    pub owned_count: Option<i64>,
    /// The data sheet by its kind, units in the names, as a thing of that kind shows it.
    #[schema(value_type = Object)]
    pub spec: Value,
}

impl Sent for KitToKeep {
    fn fill(&self, form: &mut Form, who: &SignedIn) -> Result<(), Problems> {
        let spec: Spec = serde_json::from_value(self.spec.clone())
            .map_err(|error| Problems::one("spec", format!("It is no data sheet: {error}.")))?;
        let read = serde_json::to_value(&spec).unwrap_or_default();
        shape::misread(&self.spec, &read, "spec").or_none()?;
        let kind = spec.kind().code();
        let named = |(field, words): (&str, String)| (format!("spec.{field}"), words);
        if let Err(found) = spec.clone().checked() {
            let mut problems = Problems::default();
            for each in found {
                let (field, words) = named((each.field, each.words));
                problems.add(&field, words);
            }
            return Err(problems.worded(who.numbers()));
        }
        let sheet = KitSheet {
            name: self.name.clone(),
            maker: self.maker.clone(),
            notes: self.notes.clone(),
            place_id: self.place_id,
            owned_count: self.owned_count.unwrap_or(1),
            spec,
        };
        for (field, value) in sheet.typed(who.numbers()).into_pairs() {
            let sent = match field.as_str() {
                "name" | "maker" | "notes" => field.clone(),
                "place" => "place_id".to_owned(),
                other => format!("spec.{other}"),
            };
            form.called(&sent, &field, value);
        }
        form.called("spec.kind", "kind", kind);
        form.maybe("owned_count", "owned_count", self.owned_count);
        Ok(())
    }

    fn example() -> Self {
        Self {
            name: String::new(),
            maker: "Millrace".to_owned(),
            notes: String::new(),
            place_id: None,
            owned_count: Some(4),
            spec: adapter(),
        }
    }
}

pub async fn add(call: Call<KitToKeep>, form: Fields) -> Page {
    kit_form::add(State(call.app), call.who, form).await
}

pub async fn change(call: Call<KitToKeep>, form: Fields) -> Page {
    kit_form::change(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetAside {
    /// What is wrong with it.
    pub why: String,
    /// Of adapters: how many.
    #[serde(default)]
    pub count: Option<i64>,
}

impl Sent for SetAside {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("why", "set_aside", &self.why);
        form.maybe("count", "aside_count", self.count);
        Ok(())
    }

    fn example() -> Self {
        Self {
            why: "a bent pin".to_owned(),
            count: Some(1),
        }
    }
}

pub async fn set_aside(call: Call<SetAside>, form: Fields) -> Page {
    kit_seen_to::set_aside(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LookedOver {
    /// How many were unchecked when somebody looked; another number by now is refused.
    pub unchecked_count: i64,
    /// What is wrong with it; empty: it is in order.
    pub wrong: String,
    /// Of adapters: with how many something is wrong.
    #[serde(default)]
    pub count: Option<i64>,
}

impl Sent for LookedOver {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("unchecked_count", "shown", self.unchecked_count);
        form.text("wrong", &self.wrong);
        form.maybe("count", "wrong_count", self.count);
        Ok(())
    }

    fn example() -> Self {
        Self {
            unchecked_count: 2,
            wrong: String::new(),
            count: None,
        }
    }
}

pub async fn look_over(call: Call<LookedOver>, form: Fields) -> Page {
    kit_seen_to::look_over(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KitMended {
    /// How many were set aside when somebody looked; another number by now is refused.
    pub aside_count: i64,
    /// What was done about it.
    pub words: String,
    /// Of adapters: how many; left out: all that are set aside.
    #[serde(default)]
    pub count: Option<i64>,
    /// Of adapters: they were thrown away, so the club owns so many fewer.
    #[serde(default)]
    pub is_thrown_away: bool,
}

impl Sent for KitMended {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("aside_count", "shown", self.aside_count);
        form.called("words", "mended", &self.words);
        form.maybe("count", "mended_count", self.count);
        form.tick("is_thrown_away", "thrown_away", self.is_thrown_away);
        Ok(())
    }

    fn example() -> Self {
        Self {
            aside_count: 8,
            words: "new plug".to_owned(),
            count: None,
            is_thrown_away: false,
        }
    }
}

pub async fn mend(call: Call<KitMended>, form: Fields) -> Page {
    kit_seen_to::mend(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Counted {
    /// How many adapters the club owns.
    pub owned_count: i64,
}

impl Sent for Counted {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("owned_count", self.owned_count);
        Ok(())
    }

    fn example() -> Self {
        Self { owned_count: 9 }
    }
}

pub async fn count(call: Call<Counted>, form: Fields) -> Page {
    kit_seen_to::count(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KitWayOut {
    /// retired, lost, given_away or withdrawn; in_use: a lost one is there again.
    pub life: String,
    pub why: String,
}

impl Sent for KitWayOut {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("life", &self.life);
        form.text("why", &self.why);
        Ok(())
    }

    fn example() -> Self {
        Self {
            life: "retired".to_owned(),
            why: "worn out".to_owned(),
        }
    }
}

pub async fn way_out(call: Call<KitWayOut>, form: Fields) -> Page {
    kit_way_out::take(State(call.app), call.who, Path(call.id), form).await
}
