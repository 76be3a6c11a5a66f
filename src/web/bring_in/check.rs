//! The sheet read through without changing anything: what is wrong with it by line and column, or what would be brought in,
//! read back before it is. Then it is carried out as a whole.

use super::read_back::{Table, tables};
use super::{done_address, led, opened};
use crate::actions::bring_in::{self as action, BringInRefusal, Opened};
use crate::app::App;
use crate::club::sheet::plan::span;
use crate::club::sheet::{Holds, Troubles};
use crate::club::typed_numbers::counted;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "bring_in/check.html")]
struct CheckPage {
    shell: Shell,
    id: Uuid,
    name: String,
    problems: Problems,
    has_questions: bool,
    troubles: Troubles,
    facts: Vec<(&'static str, String)>,
    /// What would come of it, as it was read.
    tables: Vec<Table>,
    /// What the button says; None: nothing would come of it.
    button: Option<String>,
}

const TITLE: &str = "Check the sheet";

fn check_page(
    who: &SignedIn,
    id: Uuid,
    (opened, name): (Opened, String),
    problems: Problems,
) -> CheckPage {
    let is_right = opened.plan.troubles.is_empty();
    CheckPage {
        shell: if problems.is_empty() {
            who.shell(TITLE)
        } else {
            who.shell_refused(TITLE)
        },
        id,
        name,
        problems,
        has_questions: opened.choices.days.is_some()
            || opened.choices.comma.is_some()
            || opened.choices.point.is_some()
            || opened.choices.existing.is_some(),
        facts: facts(&opened, &who.club.pack_prefix),
        tables: tables(&opened, who),
        button: (is_right && !opened.plan.is_empty())
            .then(|| format!("Bring in {}", what(&opened))),
        troubles: opened.plan.troubles,
    }
}

/// `4988 packs, 3 new designs`
fn what(opened: &Opened) -> String {
    let plan = &opened.plan;
    let parts = [
        (plan.packs.len(), "pack", "packs"),
        (plan.kit.len(), "piece of kit", "pieces of kit"),
        (plan.designs.len(), "new design", "new designs"),
        (plan.changes(), "change", "changes"),
    ];
    let told = parts.into_iter().filter(|(count, ..)| *count > 0);
    let told: Vec<String> = told
        .map(|(count, one, many)| counted(count, one, many))
        .collect();
    told.join(", ")
}

fn facts(opened: &Opened, prefix: &str) -> Vec<(&'static str, String)> {
    let plan = &opened.plan;
    let mut facts = vec![("Would be brought in", what(opened))];
    if let Some(numbers) = plan.first_and_last(prefix) {
        facts.push(("Numbers", span(&numbers)));
        facts.push((
            "State",
            "Not known, until their volts are logged".to_owned(),
        ));
    }
    let (existing, left) = (plan.existing.len(), plan.left());
    facts.push((
        "On record already",
        match (existing, left) {
            (0, _) => String::new(),
            (_, 0) => format!("{}, changed", counted(existing, "row", "rows")),
            (_, left) if left == existing => {
                format!("{}, left as they are", counted(existing, "row", "rows"))
            }
            _ => format!(
                "{}: {} changed, {left} left as they are",
                counted(existing, "row", "rows"),
                plan.changes()
            ),
        },
    ));
    facts.retain(|(_, value)| !value.is_empty());
    facts
}

/// GET /bring-in/{id}
pub async fn check(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let Some((opened, name)) = opened(&app, &who, id).await? else {
        return page::go_to(&done_address(id));
    };
    if !opened.choices.are_columns_chosen {
        return page::go_to(&format!("/bring-in/{id}/columns"));
    }
    if !opened.is_ready() {
        return page::go_to(&format!("/bring-in/{id}/questions"));
    }
    page::show(&check_page(&who, id, (opened, name), Problems::default()))
}

/// POST /bring-in/{id}
pub async fn bring_in(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = action::bring_in(&app.db, &who.by(&fields), id).await;
    let words = match &outcome {
        Err(BringInRefusal::NotReady) => return page::go_to(&format!("/bring-in/{id}")),
        Err(
            refusal @ (BringInRefusal::Wrong
            | BringInRefusal::Nothing
            | BringInRefusal::Pack { .. }),
        ) => refusal.to_string(),
        _ => return led(outcome),
    };
    let Some(found) = opened(&app, &who, id).await? else {
        return page::go_to(&done_address(id));
    };
    page::refused(&check_page(&who, id, found, Problems::one("sheet", words)))
}

/// Where what was brought in is looked at.
pub const fn list_of(holds: Holds) -> (&'static str, &'static str) {
    match holds {
        Holds::Packs => ("/packs", "Packs"),
        Holds::Designs => ("/designs", "Designs"),
        Holds::Kit => ("/kit", "Kit"),
    }
}
