//! What is done about a thing of kit on its own page: set aside by whoever sees that something is wrong; looked over, mended
//! and counted by quartermasters.

use crate::actions::keep_kit::{self, KitRefusal};
use crate::actions::see_to_kit::{self, LookedOver, Mended};
use crate::app::App;
use crate::web::asked::Path;
use crate::web::fields::Fields;
use crate::web::history::Before;
use crate::web::kit::{OnePage, one_page};
use crate::web::kit_form::{Refused, answer};
use crate::web::page::{self, Page};
use crate::web::visit::SignedIn;
use axum::extract::State;
use uuid::Uuid;

/// POST /kit/{id}/set-aside
pub async fn set_aside(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let (why, count) = (fields.text("set_aside"), fields.count("aside_count"));
    let outcome = see_to_kit::set_aside(&app.db, &who.by(&fields), id, (&why, count)).await;
    after(&app, &who, id, ("set_aside", fields), outcome).await
}

/// POST /kit/{id}/looked-over
pub async fn look_over(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let looked_over = LookedOver {
        wrong: &fields.text("wrong"),
        count: fields.count("wrong_count"),
        shown: fields.count("shown"),
    };
    let outcome = see_to_kit::look_over(&app.db, &who.by(&fields), id, looked_over).await;
    after(&app, &who, id, ("wrong", fields), outcome).await
}

/// POST /kit/{id}/mend
pub async fn mend(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let mended = Mended {
        words: &fields.text("mended"),
        count: fields.count("mended_count"),
        is_thrown_away: fields.is_ticked("thrown_away"),
        shown: fields.count("shown"),
    };
    let outcome = see_to_kit::mend(&app.db, &who.by(&fields), id, mended).await;
    after(&app, &who, id, ("mended", fields), outcome).await
}

/// POST /kit/{id}/count
pub async fn count(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let owned = fields.count("owned_count").unwrap_or(-1);
    let outcome = keep_kit::count_adapters(&app.db, &who.by(&fields), id, owned).await;
    after(&app, &who, id, ("owned_count", fields), outcome).await
}

/// The page that tells what was done, or the same page with what must be put right beside `sent.0`.
async fn after(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    sent: (&str, Fields),
    outcome: Result<String, KitRefusal>,
) -> Page {
    let (field, typed) = sent;
    let field = match &outcome {
        Err(KitRefusal::Changed) => "shown",
        _ => field,
    };
    match outcome.or_else(|refusal| answer(refusal, field)?.into_address()) {
        Ok(address) => page::go_to(&address),
        Err(Refused::Page(error)) => Err(error),
        Err(Refused::Form(problems)) => {
            let mut page = one_page(app, who, id, &Before::default()).await?;
            page.shell.is_error = true;
            page::put_right(&OnePage {
                typed,
                problems,
                ..page
            })
        }
    }
}
