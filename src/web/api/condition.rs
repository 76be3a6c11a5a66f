//! Condition of a pack: what somebody sees on it, mending, release, ways out.

use super::document;
use super::form::{Form, Sent};
use super::operation::Call;
use crate::bench::form::{Fields, Problems};
use crate::club::glance::{self, MOST_LETTERS};
use crate::club::seen::{Crash, Seen};
use crate::web::asked::Path;
use crate::web::page::Page;
use crate::web::visit::SignedIn;
use crate::web::{pack_forms, pack_way_out, report};
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// More than there is to see.
const MOST_SEEN: usize = 20;

/// What is seen on a pack.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Condition {
    /// Any of swollen, smoke_or_fire, leak, solvent_smell, punctured_or_torn, too_hot_to_hold, wet, hit_or_bent, shorted,
    /// wrap_torn, lead_damaged, connector_damaged, balance_plug_damaged, in_a_crash, something_else; or nothing alone.
    #[schema(max_items = 20)]
    pub seen: Vec<String>,
    /// Whether the pack itself was touched in a crash: hit_or_bent, cut_or_torn, untouched or dont_know.
    pub crash: Option<String>,
    #[schema(max_length = 500)]
    pub own_words: String,
}

impl Condition {
    /// `suffix` ends the form's names, `of` begins the program's. A page offers no other codes; here one that is not
    /// known is refused, lest a mistyped danger passes for nothing.
    pub fn fill(&self, form: &mut Form, suffix: &str, of: &str) -> Result<(), Problems> {
        let mut problems = Problems::default();
        if self.seen.len() > MOST_SEEN {
            return Err(Problems::one(&format!("{of}seen"), "Say each once."));
        }
        for code in &self.seen {
            if Seen::from_code(code).is_none() {
                problems.add(
                    &format!("{of}seen"),
                    format!("There is no “{code}” to see."),
                );
            }
        }
        if glance::is_too_long(&self.own_words) {
            let words = format!("Say it in at most {MOST_LETTERS} letters.");
            problems.add(&format!("{of}own_words"), words);
        }
        let crash = self.crash.as_deref().filter(|code| !code.is_empty());
        if crash.is_some_and(|code| Crash::from_code(code).is_none()) {
            let words = "Say hit_or_bent, cut_or_torn, untouched or dont_know.";
            problems.add(&format!("{of}crash"), words);
        }
        form.each(&format!("{of}seen"), &format!("seen{suffix}"), &self.seen);
        form.maybe(&format!("{of}crash"), &format!("crash{suffix}"), crash);
        let own_words = format!("own_words{suffix}");
        form.called(&format!("{of}own_words"), &own_words, &self.own_words);
        problems.or_none()
    }
}

impl Sent for Condition {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        self.fill(form, "", "")
    }

    fn example() -> Self {
        Self {
            seen: vec!["wrap_torn".to_owned()],
            ..Self::default()
        }
    }
}

pub async fn report(call: Call<Condition>, form: Fields) -> Page {
    report::send_fields_of_pack(State(call.app), call.who, Path(call.name), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Mended {
    /// What stood against the pack.
    pub finding_id: Uuid,
    /// What was done about it.
    pub reason: String,
}

impl Sent for Mended {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("finding_id", "finding", self.finding_id);
        form.text("reason", &self.reason);
        form.name("reason", &format!("mend-{}", self.finding_id));
        Ok(())
    }

    fn example() -> Self {
        Self {
            finding_id: document::FINDING,
            reason: "taped".to_owned(),
        }
    }
}

pub async fn mended(call: Call<Mended>, form: Fields) -> Page {
    pack_forms::mended(State(call.app), call.who, Path(call.name), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Release {
    /// Why it is no danger any more.
    pub reason: String,
}

impl Sent for Release {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("reason", "release_reason", &self.reason);
        Ok(())
    }

    fn example() -> Self {
        Self {
            reason: "dry again, and its volts stood for a week".to_owned(),
        }
    }
}

pub async fn release(call: Call<Release>, form: Fields) -> Page {
    pack_forms::release(State(call.app), call.who, Path(call.name), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WayOut {
    /// retire, lost, give-away or withdraw; found: a lost one is there again.
    pub way: String,
    #[serde(default)]
    pub reason: String,
}

impl Sent for WayOut {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("way", &self.way);
        form.text("reason", &self.reason);
        Ok(())
    }

    fn example() -> Self {
        Self {
            way: "retire".to_owned(),
            reason: "old".to_owned(),
        }
    }
}

pub async fn way_out(call: Call<WayOut>, form: Fields) -> Page {
    pack_way_out::take(State(call.app), call.who, Path(call.name), form).await
}
