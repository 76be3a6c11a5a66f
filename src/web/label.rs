//! The label of one pack: what it looks like, where it leads, and making, reissuing and revoking it.

use crate::actions::labels::{self, LabelRefusal};
use crate::app::App;
use crate::club::label;
use crate::club::states::Life;
use crate::paper::labels::svg;
use crate::store::labels::{self as store, Labelled};
use crate::web::asked::{Path, Query};
use crate::web::fields::Fields;
use crate::web::label_sheet::{Base, label_of};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "labels/label.html")]
struct LabelPage {
    shell: Shell,
    number: String,
    address: String,
    /// The same on this server.
    path: String,
    printed: Option<When>,
    /// It was printed with another address than the one people use now.
    is_elsewhere: bool,
    base: String,
    /// Why phones may not open its address.
    warning: &'static str,
    is_in_use: bool,
    /// What is read back before it is done: `reissue` or `revoke`.
    ask: String,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    ask: String,
}

async fn of_pack(app: &App, number: &str) -> Result<Labelled, PageError> {
    let mut conn = app.db.read().await?;
    store::of_pack(&mut conn, &number.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)
}

/// GET /packs/{number}/label, and with ?ask=reissue or ?ask=revoke what that comes to.
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let one = of_pack(&app, &number).await?;
    let printed = one.printed_ms.map(|at| past(at, who.now, &who.zone));
    let ask = asked.ask.as_str();
    let ask = if one.code.is_some() && matches!(ask, "reissue" | "revoke") {
        ask
    } else {
        ""
    };
    page::show(&LabelPage {
        shell: who.shell(format!("Label of {}", one.pack.number)),
        address: label_of(&one).map_or_else(String::new, |label| label.address),
        path: one
            .code
            .as_deref()
            .map_or_else(String::new, |code| label::address("", code)),
        is_elsewhere: one.base.as_ref().is_some_and(|base| *base != who.base),
        warning: Base::of(one.base.clone().unwrap_or_else(|| who.base.clone())).warning,
        base: who.base.clone(),
        is_in_use: one.pack.life() == Life::InUse,
        ask: ask.to_owned(),
        number: one.pack.number,
        printed,
    })
}

/// GET /packs/{number}/label.svg
pub async fn picture(State(app): State<App>, _: SignedIn, Path(number): Path<String>) -> Page {
    let one = of_pack(&app, &number).await?;
    let label = label_of(&one).ok_or(PageError::NotFound)?;
    let drawn = svg(&label).map_err(|error| PageError::Internal(error.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], drawn).into_response())
}

/// POST /packs/{number}/label
pub async fn change(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let number = number.to_uppercase();
    let by = who.by(&fields);
    let done = match fields.text("what").as_str() {
        "revoke" => labels::revoke(&app.db, &by, &number).await,
        "reissue" => labels::reissue(&app.db, &by, &number, &who.base).await,
        "make" => labels::make_one(&app.db, &by, &number, &who.base).await,
        _ => {
            of_pack(&app, &number).await?;
            return Err(PageError::Unreadable(
                "Choose what to do with the label.".to_owned(),
            ));
        }
    };
    match done {
        Ok(()) => page::go_to(&format!("/packs/{number}/label")),
        Err(LabelRefusal::Repeat(repeat)) => again(&repeat),
        Err(LabelRefusal::Store(error)) => Err(error.into()),
        Err(LabelRefusal::NoPack) => Err(PageError::NotFound),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
