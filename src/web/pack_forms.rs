//! What is done to one pack: report its condition, mend, release. Volts are logged in `log_volts`.

use crate::actions::condition::{self, ConditionRefusal, Looked};
use crate::actions::release::{self, ReleaseFailed};
use crate::app::App;
use crate::bench::form::Refusal;
use crate::club::glance;
use crate::club::seen::{Crash, Seen};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{self, again, named};
use crate::web::pack_row::what_it_is;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

page::puts_right!(ConditionPage);

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
    }
}

#[derive(Template)]
#[template(path = "condition.html")]
struct ConditionPage {
    shell: Shell,
    number: String,
    what: String,
    problems: Problems,
    looked: Looked,
    suffix: String,
}

/// GET /packs/{number}/condition
pub async fn ask_condition(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
) -> Page {
    let pack = named(&app, &number).await?;
    page::show(&ConditionPage {
        shell: who.shell(format!("What do you see on {}?", pack.number)),
        what: who.numbers().sentence(&what_it_is(&pack)),
        number: pack.number,
        problems: Problems::default(),
        looked: Looked::default(),
        suffix: String::new(),
    })
}

/// POST /packs/{number}/condition
pub async fn report(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let looked = looked(&fields, "");
    match condition::report_condition(&app.db, &who.by(&fields), pack.id, &looked).await {
        Ok(address) => page::go_to(&address),
        Err(ConditionRefusal::Repeat(repeat)) => again(&repeat),
        Err(ConditionRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let field = match refusal {
                ConditionRefusal::TooLong => "own_words",
                _ => "seen",
            };
            page::put_right(&ConditionPage {
                shell: who.shell_refused(format!("What do you see on {}?", pack.number)),
                what: who.numbers().sentence(&what_it_is(&pack)),
                number: pack.number,
                problems: Problems::refused(field, &refusal),
                looked,
                suffix: String::new(),
            })
        }
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
