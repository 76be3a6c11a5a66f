//! One charge log that is stored: what it showed, and removing it, which is for good and asked first.

use super::shown::LogView;
use super::{by, led, when};
use crate::actions::charge_logs::{self as action, may_remove};
use crate::app::App;
use crate::battery::log::current_sign::CurrentSign;
use crate::club::charge_log::which_charge::may_be_of;
use crate::store::charges::logs::{self as store, Listed};
use crate::store::{Conn, StoreError, charges};
use crate::web::asked::{Path, Query};
use crate::web::fields::Fields;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::past;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "charge_logs/one.html")]
struct LogPage {
    shell: Shell,
    id: Uuid,
    number: String,
    what: String,
    view: LogView,
    /// Of what was brought in.
    facts: Vec<(&'static str, String)>,
    /// Recorded charges that it may be of.
    charges: Vec<(Uuid, String)>,
    may_remove: bool,
    /// It was tapped to be removed.
    is_to_go: bool,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    remove: String,
}

/// GET /charge-logs/{id}, and with ?remove=yes what that comes to.
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(asked): Query<Asked>,
) -> Page {
    let mut conn = app.db.read().await?;
    let found = store::by_id(&mut conn, id).await?;
    let found = found.ok_or(PageError::NotFound)?;
    let (listed, log) = (&found.listed, found.told()?);
    let charges = charges_of(&mut conn, listed, &who).await?;
    drop(conn);
    let number = found.pack.number.clone();
    let may_remove = may_remove(&who.actor(), listed);
    let brought_in = past(listed.added_ms, who.now, &who.zone).words;
    page::show(&LogPage {
        shell: who.shell(format!("{}, a charge log of {number}", listed.name)),
        id,
        what: when(listed, &who),
        view: LogView::of(&log, &found.points(), &found.pack.build(), who.numbers()),
        facts: vec![
            ("Brought in", format!("{brought_in}{}", by(listed, &who))),
            ("File", file_words(listed)),
            (
                "Current",
                found.sign().map_or("", CurrentSign::label).to_owned(),
            ),
            ("SHA-256 of the file", listed.original_sha256.clone()),
        ],
        charges,
        may_remove,
        is_to_go: may_remove && !asked.remove.is_empty(),
        number,
    })
}

/// So many of the latest charges of a pack are asked.
const LATEST: i64 = 200;

/// `with C-01, today 18:30`
async fn charges_of(
    conn: &mut Conn,
    log: &Listed,
    who: &SignedIn,
) -> Result<Vec<(Uuid, String)>, StoreError> {
    let found = charges::of_pack(conn, log.pack_id, LATEST).await?;
    let of_it = found
        .iter()
        .filter(|one| may_be_of(log.logged(), one.charge.recorded(), &who.zone));
    let words = |one: &charges::Listed| {
        let since = past(one.charge.started_ms, who.now, &who.zone).words;
        format!("with {}, {since}", one.charger_number)
    };
    Ok(of_it.map(|one| (one.charge.id, words(one))).collect())
}

/// `bench.csv`, and which of its logs where it is not the first.
fn file_words(log: &Listed) -> String {
    match log.run {
        0 => log.name.clone(),
        run => format!("{}, its log number {}", log.name, run + 1),
    }
}

/// POST /charge-logs/{id}/remove
pub async fn remove(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    led(action::remove(&app.db, &who.by(&fields), id).await)
}
