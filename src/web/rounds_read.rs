//! Reading one pack of a storage round, scanned or typed. What hardly any pack shows is asked about before it is stored; what is
//! plainly dangerous is stored whatever else is wrong.

use crate::actions::reading::{self, Logged, Measured};
use crate::actions::rounds::{self as keep, RoundRefusal};
use crate::actions::volts_now::counts_at_once;
use crate::app::App;
use crate::club::lending::read_numbers;
use crate::club::reading::Rested;
use crate::store::packs::{self, PackView};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::rounds::{after, one_page, told};
use crate::web::scanned;
use crate::web::visit::SignedIn;
use crate::web::volts_form::{VoltsForm, to_confirm};
use axum::extract::State;
use uuid::Uuid;

/// POST /storage-rounds/{id}/read: one pack, scanned or typed, with its volts. What is dangerous is stored whatever is wrong.
pub async fn read(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let by = who.by(&fields);
    if let Some(pack) = asked_for(&app, &fields).await? {
        let rested = kept_rest(&fields);
        let held = if pack.is_quarantined() {
            "&held=yes"
        } else {
            ""
        };
        return page::go_to(&format!(
            "/storage-rounds/{id}?done=ask&pack={}{held}{rested}",
            pack.number
        ));
    }
    let (pack, measured) = match measured(&app, &who, &fields).await? {
        Ok(both) => both,
        Err(problems) => return refused((&app, &who, id), problems, fields).await,
    };
    let logged = Logged::volts(&measured, fields.is_ticked("looked_over"));
    let outcome = keep::read(&app.db, &by, (id, &pack.number), logged).await;
    let is_kept_anyway = counts_at_once(&by, &pack, &measured);
    match outcome {
        Err(RoundRefusal::AskedFirst(number, asked)) => {
            let to_confirm = to_confirm(&asked, &measured).unwrap_or_default();
            let problems = told(RoundRefusal::AskedFirst(number, asked))?;
            let mut page = one_page(&app, &who, id, (problems, fields)).await?;
            page.to_confirm = to_confirm;
            page::put_right(&page)
        }
        Err(RoundRefusal::NotOnRound(_) | RoundRefusal::InQuarantine(_) | RoundRefusal::Closed)
            if is_kept_anyway =>
        {
            reading::keep_danger(&app.db, &by, pack.id, logged)
                .await
                .map_err(|refusal| PageError::Refused(refusal.to_string()))?;
            page::go_to(&format!("/packs/{}", pack.number))
        }
        Err(closed @ RoundRefusal::Closed) => {
            let problems = Problems::refused("volts_line", &closed);
            refused((&app, &who, id), problems, fields).await
        }
        outcome => {
            let kept = kept_rest(&fields);
            let outcome = outcome.map(|address| format!("{address}{kept}"));
            after((&app, &who, id), outcome, fields).await
        }
    }
}

/// With what was typed; of a round that was closed meanwhile with the way to log it on the pack itself.
async fn refused(
    (app, who, id): (&App, &SignedIn, Uuid),
    problems: Problems,
    fields: Fields,
) -> Page {
    let pack = one_pack(app, &fields).await?;
    let mut page = one_page(app, who, id, (problems, fields)).await?;
    page.read_late = pack.ok().map(|pack| pack.number);
    page::put_right(&page)
}

fn kept_rest(fields: &Fields) -> String {
    let rested = Rested::from_code(&fields.text("rested"));
    rested.map_or_else(String::new, |rested| format!("&rested={}", rested.code()))
}

/// A scanner sends Enter after a label: that pack, whose volts are typed next.
async fn asked_for(app: &App, fields: &Fields) -> Result<Option<PackView>, PageError> {
    let volts = VoltsForm::of(fields, "");
    if !fields.is_ticked("enter") || volts.has_volts() || !volts.unread.is_empty() {
        return Ok(None);
    }
    Ok(one_pack(app, fields).await?.ok())
}

/// The one pack that is named, or what to put right.
async fn one_pack(app: &App, fields: &Fields) -> Result<Result<PackView, Problems>, PageError> {
    let number = scanned::as_numbers(app, &fields.text("pack")).await?;
    let typed = read_numbers(&number).unwrap_or_default();
    let keys: Vec<i64> = typed.iter().flat_map(|one| one.keys()).collect();
    let found = packs::with_keys(&mut app.db.read().await?, &keys).await?;
    let mut meant = found
        .into_iter()
        .filter(|pack| typed.iter().any(|one| one.names(&pack.number, true)));
    let (Some(pack), None) = (meant.next(), meant.next()) else {
        let words = match typed.as_slice() {
            [one] if one.keys().count() == 1 => format!("There is no pack {one}."),
            _ => "Scan or type the number of one pack.".to_owned(),
        };
        return Ok(Err(Problems::one("pack", words)));
    };
    Ok(Ok(pack))
}

async fn measured(
    app: &App,
    who: &SignedIn,
    fields: &Fields,
) -> Result<Result<(PackView, Measured), Problems>, PageError> {
    let pack = match one_pack(app, fields).await? {
        Ok(pack) => pack,
        Err(problems) => return Ok(Err(problems)),
    };
    let mut volts = VoltsForm::of(fields, "");
    let rested = Rested::from_code(&fields.text("rested"));
    let by = who.by(fields);
    Ok(
        match volts.measured_now(&by, &pack, rested, who.numbers()) {
            Ok(measured) => Ok((pack, measured)),
            Err(wrong) => {
                let mut problems = Problems::default();
                wrong.note(&mut problems, "");
                Err(problems)
            }
        },
    )
}
