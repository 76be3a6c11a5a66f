//! One thing on a loan: passed on to somebody else, or lost. Lost is read back before it is stored.

use crate::actions::change_loan::{self, ChangeRefusal};
use crate::app::App;
use crate::club::release::is_said;
use crate::store::people;
use crate::store::{Conn, loans};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::loans::{Changed, NotChanged, changed, count_words};
use crate::web::page::{self, Page, PageError};
use crate::web::take_back::asked;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words;
use askama::Template;
use axum::extract::{OriginalUri, State};
use uuid::Uuid;

page::puts_right!(PassOnPage);

#[derive(Template)]
#[template(path = "pass_on.html")]
struct PassOnPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    lent_id: Uuid,
    /// `A-01 × 2`
    thing: String,
    person: String,
    people: Vec<(String, String)>,
    /// With a reason it may be passed on all the same.
    is_overridable: bool,
}

/// What was typed of a loss, read back.
#[derive(Template)]
#[template(path = "lost_read_back.html")]
struct LostPage {
    shell: Shell,
    lent_id: Uuid,
    thing: String,
    is_counted: bool,
    reason: String,
    change: String,
}

/// GET /lent/{id}/change: pass it on, or close it as lost.
pub async fn ask(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let page = pass_on_page(&app, &who, id).await?;
    page::show(&PassOnPage {
        typed: asked(&uri),
        ..page
    })
}

/// Whoever goes back in the browser to what is no longer out is told so.
async fn still_out(conn: &mut Conn, id: Uuid) -> Result<loans::LoanLine, PageError> {
    let line = loans::line(conn, id).await?.ok_or(PageError::NotFound)?;
    if line.is_out() {
        return Ok(line);
    }
    Err(PageError::Refused(format!(
        "{} is no longer out on that loan. Nothing was changed.",
        line.out.number
    )))
}

async fn pass_on_page(app: &App, who: &SignedIn, id: Uuid) -> Result<PassOnPage, PageError> {
    let mut conn = app.db.read().await?;
    let line = still_out(&mut conn, id).await?;
    let all = people::who_may_borrow(&mut conn, who.zone.day_of(who.now)).await?;
    drop(conn);
    let thing = format!("{}{}", line.out.number, count_words(&line.out));
    Ok(PassOnPage {
        shell: who.shell(format!("Pass on {thing}, or lost")),
        problems: Problems::default(),
        typed: Fields::default(),
        lent_id: id,
        thing,
        person: String::new(),
        people: all
            .into_iter()
            .map(|person| (person.id.to_string(), person.name))
            .collect(),
        is_overridable: false,
    })
}

/// The page again while its thing is still out, with what to put right beside the field.
async fn refused(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    sent: (&str, Fields),
    why: NotChanged,
) -> Page {
    let page = match pass_on_page(app, who, id).await {
        Err(PageError::Refused(_)) => return Err(PageError::Refused(why.words)),
        page => page?,
    };
    let (field, typed) = sent;
    page::put_right(&PassOnPage {
        shell: who.shell_refused(page.shell.title.clone()),
        problems: why.with_reason(field, &typed.text("why")),
        person: typed.text("person"),
        typed,
        is_overridable: why.is_overridable,
        ..page
    })
}

/// POST /lent/{id}/pass-on
pub async fn pass_on(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let Some(to) = fields.id("person") else {
        let why = NotChanged::typed("Choose who gets it.");
        return refused(&app, &who, id, ("person", fields), why).await;
    };
    let why = fields.text("why");
    let outcome = change_loan::pass_on(&app.db, &who.by(&fields), id, (to, &why)).await;
    let outcome = outcome.map(|loan| format!("/loans/{loan}?new=1"));
    match changed(&who, outcome)? {
        Changed::To(address) => page::go_to(&address),
        Changed::Refused(why) => refused(&app, &who, id, ("person", fields), why).await,
    }
}

/// GET /lent/{id}/lost?reason=…: read back.
pub async fn ask_lost(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let typed = asked(&uri);
    let reason = typed.text("reason");
    if !is_said(&reason) {
        let why = NotChanged::typed(&ChangeRefusal::NoReason.to_string());
        return refused(&app, &who, id, ("reason", typed), why).await;
    }
    let line = still_out(&mut app.db.read().await?, id).await?;
    let thing = format!("{}{}", line.out.number, count_words(&line.out));
    let change = words::in_address(&[("reason", reason.as_str())]);
    page::show(&LostPage {
        shell: who.shell(format!("Read it back: {thing}")),
        lent_id: id,
        thing,
        is_counted: line.out.counted.is_some(),
        change: format!("/lent/{id}/change?{change}"),
        reason,
    })
}

/// POST /lent/{id}/lost
pub async fn lose(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = change_loan::lose(&app.db, &who.by(&fields), id, &fields.text("reason")).await;
    match changed(&who, outcome.map(|loan| format!("/loans/{loan}")))? {
        Changed::To(address) => page::go_to(&address),
        Changed::Refused(why) => refused(&app, &who, id, ("reason", fields), why).await,
    }
}
