//! GET /packs/{number}/charge.pdf: the card that was looked at, as a form for the wall. Planned anew like the page: where
//! there is no card any more, the page says why.

use crate::actions::charging::asked;
use crate::app::App;
use crate::bench::plan::plan;
use crate::paper::charge_card::{WallForm, pdf as set_form};
use crate::paper::sheet::Paper;
use crate::store::packs::PackView;
use crate::web::asked::{Path, Query};
use crate::web::charge::{Shown, found, shown};
use crate::web::charge_asked::{Form, Understood};
use crate::web::charge_card::{Card, by_volts};
use crate::web::charge_shown;
use crate::web::page::{self, Page, PageError};
use crate::web::press;
use crate::web::visit::SignedIn;
use axum::extract::State;

/// GET /packs/{number}/charge.pdf
pub async fn pdf(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(form): Query<Form>,
) -> Page {
    app.limits.export(who.network, who.me.person_id)?;
    let (one, kit) = found(&app, &who, &number).await?;
    let conditions = match form.understood(&who, one.usual(who.now)) {
        Understood::Asked(conditions) => Some(conditions),
        Understood::NotAsked | Understood::Wrong(_) => None,
    };
    let limits = who.club.limits();
    let question = conditions.and_then(|given| asked(&one, given, (who.now, &limits)));
    let card = question.and_then(|asked| {
        let answer = plan(&asked, &kit.hand);
        match shown(&who, (&one, &kit), (answer, &asked), &form) {
            Shown::Plans { card, .. } => card,
            _ => None,
        }
    });
    // One that can't do it, and one where nobody would be there, has no form: the page says why, and the card beside that is of another charger.
    let of_it = card
        .filter(|card| card.may_run && (form.charger.is_empty() || card.charger == form.charger));
    let Some(mut card) = of_it else {
        return page::go_to(&form.address(&one.pack.number, &form.charger));
    };
    charge_shown::keep(&app, &who, &[(one.pack.id, card.kept.clone())]).await;
    card.told
        .cautions
        .splice(0..0, card.of_pack.iter().cloned());
    let what = who.numbers().sentence(&one.pack.build().words());
    let wall = wall_form(&who, (&one.pack, what), *card);
    let paper = Paper::from_code(&form.paper).unwrap_or(Paper::A4);
    let set = press::set(&app, move || set_form(&wall, paper)).await?;
    let bytes = set.map_err(|error| PageError::Internal(error.to_string()))?;
    press::as_pdf("charge", bytes)
}

fn wall_form(who: &SignedIn, (pack, what): (&PackView, String), card: Card) -> WallForm {
    let number = &pack.number;
    let by_volts = by_volts(who, pack);
    let told = card.told;
    let (day, time) = (who.zone.date_words(who.now), who.zone.time_words(who.now));
    let held = match told.limited.as_slice() {
        [] => String::new(),
        limited => format!(", held back by {}", limited.join(" and ")),
    };
    WallForm {
        title: format!("{}: charge {number}", who.club.name),
        number: number.clone(),
        what,
        purpose: format!("{}.", card.title),
        takes: format!("Takes {}, {}.", told.takes, told.moves),
        first: told.first,
        steps: told.steps,
        settings: vec![
            ("Chemistry", told.chemistry.to_owned()),
            ("Cells", told.cells),
            ("Mode", told.mode.to_owned()),
            ("Current", told.current),
            (card.ends, told.target),
            ("Cut off at", told.cut_off),
        ],
        read_back: told.read_back,
        stop_if: card.stop_if,
        cautions: told.cautions,
        stays: format!(
            "{}{held}. Somebody stays for {}. On a surface that does not burn, nothing that burns within a metre, not on the \
             way out; the hall's own rules and local codes come first.",
            told.rate, card.stays
        ),
        foot: format!(
            "{}: card of {day}, {time}{by_volts}. These volts hold for a day from then at most: check today's state of {number} before it is used \
             again. Smoke, hissing or heat: get away, call the fire service.",
            who.club.name
        ),
    }
}
