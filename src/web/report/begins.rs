//! Where a report begins: a pack's label, its page, a poster in the hall, a member's own page, and the form by which a stranger
//! reaches the club. Each has one address, which shows the step that is asked for and takes the form.

use super::{Asked, Of, Source, sent, step, tell};
use crate::app::App;
use crate::club::label::is_code;
use crate::club::states::Life;
use crate::store::StoreError;
use crate::store::book::{disposals, posters};
use crate::store::packs::PackView;
use crate::web::asked::{Path, Query};
use crate::web::fields::Fields;
use crate::web::pack::named;
use crate::web::pack_row::what_it_is;
use crate::web::page::{self, Page, PageError};
use crate::web::scan::{look_up, unknown};
use crate::web::upload::Upload;
use crate::web::visit::{SignedIn, Visit};
use axum::extract::{Request, State};

/// A stranger is told nothing of the pack but that it is one.
pub(super) fn at_label(pack: &PackView, code: &str) -> Source {
    Source {
        title: "What is wrong with the pack?".to_owned(),
        what: String::new(),
        here: format!("/t/{code}/report"),
        of: Of::Pack(pack.id, None),
    }
}

pub(super) fn of_pack(pack: PackView, who: &SignedIn) -> Source {
    Source {
        title: format!("What do you see on {}?", pack.number),
        what: who.numbers().sentence(&what_it_is(&pack)),
        here: format!("/packs/{}/condition", pack.number),
        of: Of::Pack(pack.id, Some(Box::new(pack))),
    }
}

/// GET /t/{code}/report
pub async fn ask_at_label(
    State(app): State<App>,
    visit: Visit,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    match at_stranger(&app, &visit, &code).await? {
        None => unknown(&visit),
        Some(pack) if visit.me.is_some() => {
            page::go_to(&format!("/packs/{}/condition", pack.number))
        }
        Some(pack) => step(&visit, at_label(&pack, &code), &asked),
    }
}

/// What the club gave away or disposed of is no pack of the club to a stranger.
async fn at_stranger(app: &App, visit: &Visit, code: &str) -> Result<Option<PackView>, PageError> {
    let found = look_up(app, visit, code).await?.map(|one| one.pack);
    let (Some(pack), None) = (&found, &visit.me) else {
        return Ok(found);
    };
    let is_gone = matches!(pack.life(), Life::GivenAway | Life::Withdrawn)
        || disposals::is_disposed(&mut app.db.read().await?, pack.id).await?;
    Ok(found.filter(|_| !is_gone))
}

/// POST /t/{code}/report
pub async fn send_at_label(
    State(app): State<App>,
    visit: Visit,
    Path(code): Path<String>,
    request: Request,
) -> Page {
    let Some(pack) = at_stranger(&app, &visit, &code).await? else {
        return unknown(&visit);
    };
    let form = sent(&app, &visit, request, Some(&code)).await?;
    let source = match visit.clone().signed_in() {
        Some(who) => of_pack(pack, &who),
        None => at_label(&pack, &code),
    };
    tell(&app, visit, source, form, None).await
}

/// GET /packs/{number}/condition
pub async fn ask_of_pack(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let pack = named(&app, &number).await?;
    let source = of_pack(pack, &who);
    step(&who, source, &asked)
}

/// POST /packs/{number}/condition
pub async fn send_of_pack(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    request: Request,
) -> Page {
    let pack = named(&app, &number).await?;
    let form = sent(&app, &who, request, Some("")).await?;
    let source = of_pack(pack, &who);
    tell(&app, who.visit, source, form, None).await
}

/// The same of a program, which has no photo.
pub async fn send_fields_of_pack(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let source = of_pack(named(&app, &number).await?, &who);
    let form = Upload { fields, file: None };
    tell(&app, who.visit, source, form, None).await
}

async fn at_poster(app: &App, visit: &Visit, code: &str) -> Result<Option<Source>, PageError> {
    let found = poster_with(app, code).await?;
    if found.is_none() {
        app.limits.label(visit.network)?;
    }
    Ok(found)
}

/// None alike for a code that never was and one that was ended.
pub(super) async fn poster_with(app: &App, code: &str) -> Result<Option<Source>, StoreError> {
    let found = if is_code(code) {
        posters::with_code(&mut app.db.read().await?, code).await?
    } else {
        None
    };
    Ok(found.map(|poster| Source {
        title: "Report something in the hall".to_owned(),
        what: "A visitor's pack, a charger, a socket: anything without a label of the club."
            .to_owned(),
        here: format!("/p/{code}"),
        of: Of::Poster(poster.id),
    }))
}

/// GET /p/{code}
pub async fn ask_at_poster(
    State(app): State<App>,
    visit: Visit,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    match at_poster(&app, &visit, &code).await? {
        None => unknown(&visit),
        Some(source) => step(&visit, source, &asked),
    }
}

/// POST /p/{code}
pub async fn send_at_poster(
    State(app): State<App>,
    visit: Visit,
    Path(code): Path<String>,
    request: Request,
) -> Page {
    let Some(source) = at_poster(&app, &visit, &code).await? else {
        return unknown(&visit);
    };
    let form = sent(&app, &visit, request, Some(&code)).await?;
    tell(&app, visit, source, form, None).await
}

pub(super) fn own() -> Source {
    Source {
        title: "Tell of a near miss".to_owned(),
        what: "Or of a wrong setting, or of anything without a label. Nobody is blamed for what is told here, and you need not say who you are.".to_owned(),
        here: "/report".to_owned(),
        of: Of::Own,
    }
}

/// GET /report
pub async fn ask_own(who: SignedIn, Query(asked): Query<Asked>) -> Page {
    step(&who, own(), &asked)
}

/// POST /report
pub async fn send_own(State(app): State<App>, who: SignedIn, request: Request) -> Page {
    let form = sent(&app, &who, request, Some("")).await?;
    tell(&app, who.visit, own(), form, None).await
}

fn contact() -> Source {
    Source {
        title: "Write to the club".to_owned(),
        what: "It is read by those who run the pool. Leave a way to reach you, or keep the address of the next page: the answer stands there.".to_owned(),
        here: "/contact".to_owned(),
        of: Of::Contact,
    }
}

/// Who was led there by danger, as from a label that leads nowhere any more, reports what is in the hall.
fn in_danger() -> Source {
    Source {
        title: "Report something in the hall".to_owned(),
        what: "A pack, a charger, a socket: whatever it is.".to_owned(),
        here: "/contact".to_owned(),
        of: Of::Anything(None),
    }
}

/// GET /contact
pub async fn ask_contact(visit: Visit, Query(asked): Query<Asked>) -> Page {
    let source = match asked.now.as_str() {
        "away" => in_danger(),
        _ => contact(),
    };
    step(&visit, source, &asked)
}

/// A message says nothing of what was seen or whether it goes on.
pub(super) fn contact_with(fields: &Fields) -> Source {
    match ["seen", "is_now", "thing"]
        .iter()
        .all(|name| fields.text(name).is_empty())
    {
        true => contact(),
        false => in_danger(),
    }
}

/// POST /contact
pub async fn send_contact(State(app): State<App>, visit: Visit, request: Request) -> Page {
    let form = sent(&app, &visit, request, Some("contact")).await?;
    let source = contact_with(&form.fields);
    tell(&app, visit, source, form, None).await
}
