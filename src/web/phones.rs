//! Phones that are reminded: what a person's page of reminders shows of them, and the forms by which one asks and ends. The address and
//! keys come from the browser by `static/phone.js`; without it, or without https, the page says why there is no such thing.

use crate::actions::phones::{self, AskRefusal, Asked};
use crate::app::App;
use crate::store::reach::{self, Whole};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page};
use crate::web::reminders;
use crate::web::visit::SignedIn;
use crate::web::words::{When, past};
use axum::extract::State;
use uuid::Uuid;

pub struct Phones {
    /// https, or this very machine: browsers ask for no less.
    pub is_secure: bool,
    /// This browser asked already, and is told.
    pub is_here: bool,
    pub public_key: String,
    pub rows: Vec<Row>,
}

pub struct Row {
    pub id: Uuid,
    pub device: String,
    pub is_this: bool,
    pub made: When,
    pub taken: Option<When>,
    /// When its push service knew it no more, and what it answered.
    pub ended: Option<(When, String)>,
}

pub fn has_live(phones: &[reach::Phone]) -> bool {
    phones.iter().any(|phone| phone.ended_ms.is_none())
}

impl Phones {
    pub fn of(whole: &Whole, app: &App, who: &SignedIn) -> Self {
        let when = |at| past(at, who.now, &who.zone);
        let is_this = |phone: &reach::Phone| phone.session_id == who.me.session_id;
        let row = |phone: &reach::Phone| Row {
            id: phone.id,
            device: phone.device.clone(),
            is_this: is_this(phone),
            made: when(phone.made_ms),
            taken: phone.taken_ms.map(when),
            ended: phone
                .ended_ms
                .map(|at| (when(at), phone.ended_words.clone())),
        };
        let mut live = whole.phones.iter().filter(|phone| phone.ended_ms.is_none());
        Self {
            is_secure: app.settings.is_secure(),
            is_here: live.any(is_this),
            public_key: whole.public_key.clone(),
            rows: whole.phones.iter().map(row).collect(),
        }
    }
}

/// POST /me/phones
pub async fn ask(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let asked = Asked {
        endpoint: fields.text("endpoint"),
        p256dh: fields.text("p256dh"),
        auth: fields.text("auth"),
        has_moved: fields.is_ticked("moved"),
    };
    let with = (&asked, &app.settings);
    let outcome = phones::ask(&app.db, &who.by(&fields), who.me.session_id, with).await;
    answer(&app, &who, outcome).await
}

/// POST /me/phones/{id}/end
pub async fn end(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = phones::end(&app.db, &who.by(&fields), id).await;
    answer(&app, &who, outcome).await
}

async fn answer(app: &App, who: &SignedIn, outcome: Result<&'static str, AskRefusal>) -> Page {
    match outcome {
        Ok(address) => page::go_to(address),
        Err(AskRefusal::Store(error)) => Err(error.into()),
        Err(AskRefusal::Repeat(repeat)) => again(&repeat),
        Err(AskRefusal::Phone(refusal)) => {
            let problems = Problems::one("phone", refusal.to_string());
            page::refused(&reminders::read(app, who, None, problems).await?)
        }
    }
}
