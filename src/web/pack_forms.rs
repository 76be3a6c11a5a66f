//! What is done to one pack: mend, release; and what was ticked about one. Volts are logged in `log_volts`, reports are `report`.

use crate::actions::condition::{self, ConditionRefusal, Looked};
use crate::actions::release::{self, ReleaseFailed};
use crate::app::App;
use crate::bench::form::Refusal;
use crate::club::glance;
use crate::club::seen::{Crash, Seen};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{self, again, named};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;

/// What was ticked about one pack.
pub fn looked(fields: &Fields, suffix: &str) -> Looked {
    let crash = Crash::from_code(&fields.text(&format!("crash{suffix}")));
    let own_words = fields.text(&format!("own_words{suffix}"));
    let ticked = fields.all(&format!("seen{suffix}"));
    let ticked = ticked.iter().filter_map(|code| Seen::from_code(code));
    Looked {
        seen: glance::told(ticked.collect(), crash, &own_words),
        crash,
        own_words,
        ..Looked::default()
    }
}

/// POST /packs/{number}/mended
pub async fn mended(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let finding = fields.id("finding").ok_or(PageError::NotFound)?;
    match condition::mend(
        &app.db,
        &who.by(&fields),
        finding,
        pack.id,
        &fields.text("reason"),
    )
    .await
    {
        Ok(_) => page::go_to(&format!("/packs/{}", pack.number)),
        Err(ConditionRefusal::Repeat(repeat)) => again(&repeat),
        Err(ConditionRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::refused(&format!("mend-{finding}"), &refusal);
            pack::refused(&app, &who, &number, (problems, fields)).await
        }
    }
}

/// POST /packs/{number}/release
pub async fn release(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    match release::release(
        &app.db,
        &who.by(&fields),
        pack.id,
        &fields.text("release_reason"),
    )
    .await
    {
        Ok(_) => page::go_to(&format!("/packs/{}", pack.number)),
        Err(ReleaseFailed::Repeat(repeat)) => again(&repeat),
        Err(ReleaseFailed::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let words = who.numbers().sentence(&refusal.to_string());
            let problems = Problems::one("release_reason", words).by(refusal.against());
            pack::refused(&app, &who, &number, (problems, fields)).await
        }
    }
}
