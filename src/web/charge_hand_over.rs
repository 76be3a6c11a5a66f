//! GET and POST /charges/{id}/hand-over: who stays with a charge from now on. Whoever takes it on says so on its own page; a
//! quartermaster chooses somebody here.

use crate::actions::charging::ChargeRefusal;
use crate::actions::charging::hand_over::hand_over;
use crate::app::App;
use crate::club::hand_over::watcher_refusal;
use crate::store::charges::{self, Listed};
use crate::store::people;
use crate::web::asked::Path;
use crate::web::charges as one_charge;
use crate::web::charging_now::watched;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(HandOverPage);

#[derive(Template)]
#[template(path = "charge_hand_over.html")]
struct HandOverPage {
    shell: Shell,
    problems: Problems,
    id: Uuid,
    pack_number: String,
    charger_number: String,
    watched: String,
    handed: i64,
    person: String,
    people: Vec<(String, String)>,
}

async fn found(app: &App, id: Uuid) -> Result<Listed, PageError> {
    charges::by_id(&mut app.db.read().await?, id)
        .await?
        .ok_or(PageError::NotFound)
}

async fn page_of(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    is_refused: bool,
) -> Result<HandOverPage, PageError> {
    let one = found(app, id).await?;
    if one.charge.ended_ms.is_some() {
        return Err(PageError::Refused(ChargeRefusal::Ended.to_string()));
    }
    let today = who.zone.day_of(who.now);
    let all = people::who_may_borrow(&mut app.db.read().await?, today).await?;
    let title = format!("Hand over {} on {}", one.pack_number, one.charger_number);
    let others = all.into_iter().filter(|person| {
        person.id != one.charge.watched_by && watcher_refusal(&person.watcher()).is_none()
    });
    Ok(HandOverPage {
        shell: if is_refused {
            who.shell_refused(title)
        } else {
            who.shell(title)
        },
        problems: Problems::default(),
        id,
        watched: watched((one.charge.watched_by, one.watched_name.as_deref()), who),
        handed: one.charge.handed_count,
        pack_number: one.pack_number,
        charger_number: one.charger_number,
        person: String::new(),
        people: others
            .map(|person| (person.id.to_string(), person.name))
            .collect(),
    })
}

/// GET /charges/{id}/hand-over
pub async fn ask(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    page::show(&page_of(&app, &who, id, false).await?)
}

/// POST /charges/{id}/hand-over
pub async fn hand(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let to = (fields.id("watched_by"), fields.count("handed"));
    match hand_over(&app.db, &who.by(&fields), id, to).await {
        Ok(address) => page::go_to(&address),
        Err(ChargeRefusal::Repeat(repeat)) => again(&repeat),
        Err(ChargeRefusal::Store(error)) => Err(error.into()),
        Err(ChargeRefusal::NoCharge) => Err(PageError::NotFound),
        Err(refusal) => {
            let problems = Problems::refused("watched_by", &refusal);
            let is_ended = matches!(refusal, ChargeRefusal::Ended);
            if is_ended || !who.me.is_quartermaster {
                return one_charge::refused(&app, &who, id, problems).await;
            }
            page::put_right(&HandOverPage {
                problems,
                person: fields.text("watched_by"),
                ..page_of(&app, &who, id, true).await?
            })
        }
    }
}
