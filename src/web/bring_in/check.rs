//! The sheet read through without changing anything: what is wrong with it by line and column, or what would be brought in,
//! read back before it is. Then it is carried out as a whole.

use super::{counted, led, opened};
use crate::actions::bring_in::{self as action, BringInRefusal, Opened};
use crate::app::App;
use crate::club::register;
use crate::club::sheet::{Existing, Holds, SHOWN, Trouble};
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
    troubles: Vec<Trouble>,
    /// Of how many troubles only the first are shown.
    trouble_count: usize,
    facts: Vec<(&'static str, String)>,
    /// What the button says; None: nothing would come of it.
    button: Option<String>,
}

const TITLE: &str = "Check the sheet";
/// So many new designs are named.
const NAMED: usize = 20;

fn check_page(
    who: &SignedIn,
    id: Uuid,
    (opened, name): (Opened, String),
    problems: Problems,
) -> CheckPage {
    let troubles = &opened.plan.troubles;
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
        trouble_count: troubles.len(),
        facts: facts(&opened, &who.club.pack_prefix),
        button: (troubles.is_empty() && !opened.plan.is_empty())
            .then(|| format!("Bring in {}", what(&opened))),
        troubles: opened.plan.troubles.into_iter().take(SHOWN).collect(),
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
    let keys = || plan.packs.iter().map(|pack| pack.number_key);
    if let (Some(first), Some(last)) = (keys().min(), keys().max()) {
        let number = |key: i64| register::number(prefix, key);
        let which = if first == last {
            number(first)
        } else {
            format!("{} to {}", number(first), number(last))
        };
        facts.push(("Numbers", which));
        facts.push((
            "State",
            "Not known, until their volts are logged".to_owned(),
        ));
    }
    let mut names: Vec<&str> = plan
        .designs
        .iter()
        .take(NAMED)
        .map(|design| design.name.as_str())
        .collect();
    if plan.designs.len() > NAMED {
        names.push("and more");
    }
    facts.push(("New designs", names.join(", ")));
    let existing = counted(plan.existing.len(), "row", "rows");
    facts.push((
        "On record already",
        match opened.choices.existing {
            _ if plan.existing.is_empty() => String::new(),
            Some(Existing::Change) => format!("{existing}, whose details are changed"),
            _ => format!("{existing}, left as they are"),
        },
    ));
    facts.retain(|(_, value)| !value.is_empty());
    facts
}

/// GET /bring-in/{id}
pub async fn check(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let (opened, name) = opened(&app, &who, id).await?;
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
    let found = opened(&app, &who, id).await?;
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
