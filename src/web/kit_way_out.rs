//! How a thing of kit leaves the pool, or comes back when it was lost: asked on a page of its own, read back before it is
//! done, and told afterwards on another. What may become of it is the club's rule.

use crate::actions::see_to_kit;
use crate::app::App;
use crate::bench::form::Against;
use crate::club::kit::{may_become, reason, what_follows};
use crate::club::states::Life;
use crate::store::kit as store;
use crate::store::log;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::kit::{Row, row};
use crate::web::kit_form::{Refused, answer};
use crate::web::page::{self, Page, PageError};
use crate::web::take_back::asked;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{self, When};
use askama::Template;
use axum::extract::{OriginalUri, State};
use uuid::Uuid;

page::puts_right!(AskPage);

#[derive(Template)]
#[template(path = "kit/way_out.html")]
struct AskPage {
    shell: Shell,
    row: Row,
    exits: Vec<(&'static str, &'static str)>,
    typed: Fields,
    problems: Problems,
}

/// What was chosen, read back.
#[derive(Template)]
#[template(path = "kit/read_back.html")]
struct ReadBackPage {
    shell: Shell,
    row: Row,
    next: Life,
    label: &'static str,
    follows: &'static str,
    why: String,
    change: String,
}

#[derive(Template)]
#[template(path = "kit/gone.html")]
struct GonePage {
    shell: Shell,
    row: Row,
    follows: &'static str,
    when: When,
    by: String,
}

async fn found(app: &App, who: &SignedIn, id: Uuid) -> Result<Row, PageError> {
    let seen = store::seen_by(&mut app.db.read().await?, id, who.me.person_id).await?;
    row(seen.ok_or(PageError::NotFound)?.listed, who)
}

/// GET /kit/{id}/way-out, and with ?life=…&why=… what that comes to.
pub async fn ask(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let row = found(&app, &who, id).await?;
    let typed = asked(&uri);
    if typed.names().next().is_none() || typed.is_ticked("again") {
        return page::show(&ask_page(&who, row, typed, Problems::default()));
    }
    let problems = what_is_missing(&row, &typed);
    match Life::from_code(&typed.text("life")) {
        Some(next) if problems.is_empty() => page::show(&read_back(&who, row, next, &typed)),
        _ => page::put_right(&ask_page(&who, row, typed, problems)),
    }
}

/// POST /kit/{id}/way-out
pub async fn take(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let before = found(&app, &who, id).await?;
    let Some(next) = Life::from_code(&fields.text("life")) else {
        let problems = what_is_missing(&before, &fields);
        return page::put_right(&ask_page(&who, before, fields, problems));
    };
    let why = fields.text("why");
    match see_to_kit::end_life(&app.db, &who.by(&fields), id, next, &why)
        .await
        .or_else(|refusal| answer(refusal, "life")?.into_address())
    {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => {
            let missing = what_is_missing(&before, &fields);
            let problems = if missing.is_empty() {
                problems
            } else {
                missing
            };
            page::put_right(&ask_page(&who, before, fields, problems))
        }
    }
}

/// GET /kit/{id}/gone: what became of it, by whom, and what is next.
pub async fn gone(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let row = found(&app, &who, id).await?;
    let mut conn = app.db.read().await?;
    let last = log::of_subject(&mut conn, id, i64::MAX, 1).await?;
    drop(conn);
    let last = last.first().ok_or(PageError::NotFound)?;
    page::show(&GonePage {
        shell: who.shell(format!("What became of {}", row.listed.kit.number)),
        follows: what_follows(row.listed.kit.life()),
        when: words::past(last.at_ms, who.now, &who.zone),
        by: last.by(),
        row,
    })
}

fn what_is_missing(row: &Row, typed: &Fields) -> Problems {
    let mut problems = Problems::default();
    let now = row.listed.kit.life();
    match Life::from_code(&typed.text("life")) {
        None => problems.add("life", "Choose what became of it."),
        Some(next) if !may_become(now, next) => {
            let (now, next) = (now.label().to_lowercase(), next.label().to_lowercase());
            let words = format!("It is {now}; it can't become {next}.");
            problems = Problems::one("life", words).by(Against::Rule);
        }
        Some(_) if row.listed.out_count > 0 => {
            let words = "It is out on a loan: take it back first, or close it on the loan as lost.";
            problems = Problems::one("life", words).by(Against::Rule);
        }
        Some(_) => {}
    }
    if reason(&typed.text("why")).is_none() {
        problems.add("why", "Say why in 3 to 500 letters.");
    }
    problems
}

fn ask_page(who: &SignedIn, row: Row, typed: Fields, problems: Problems) -> AskPage {
    let number = &row.listed.kit.number;
    let title = match row.listed.kit.life() {
        Life::Lost => format!("What became of {number}, which was lost?"),
        _ => format!("Take {number} out of the pool?"),
    };
    let now = row.listed.kit.life();
    let exits = Life::ALL.into_iter().filter(|next| may_become(now, *next));
    AskPage {
        shell: if problems.is_empty() {
            who.shell(title)
        } else {
            who.shell_refused(title)
        },
        exits: exits.map(|next| (next.code(), label(next))).collect(),
        row,
        typed,
        problems,
    }
}

fn read_back(who: &SignedIn, row: Row, next: Life, typed: &Fields) -> ReadBackPage {
    let why = typed.text("why");
    let kit = &row.listed.kit;
    let pairs = [
        ("life", next.code()),
        ("why", why.as_str()),
        ("again", "yes"),
    ];
    ReadBackPage {
        shell: who.shell(format!("Read it back: {}", kit.number)),
        label: label(next),
        follows: what_follows(next),
        change: format!("/kit/{}/way-out?{}", kit.id, words::in_address(&pairs)),
        why,
        next,
        row,
    }
}

fn label(next: Life) -> &'static str {
    match next {
        Life::InUse => "Found again",
        Life::Withdrawn => "Withdrawn: it was entered by mistake",
        other => other.label(),
    }
}

impl ReadBackPage {
    /// The button says what it does.
    fn button(&self) -> String {
        let number = &self.row.listed.kit.number;
        match self.next {
            Life::InUse => format!("Put {number} back into the pool"),
            Life::Retired => format!("Retire {number}"),
            Life::Lost => format!("Record {number} as lost"),
            Life::GivenAway => format!("Record {number} as given away"),
            Life::Withdrawn => format!("Withdraw {number}"),
        }
    }
}
