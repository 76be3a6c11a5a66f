//! What was sent to whom, or would have been: a list for those who run the pool, and each mail as it reads, for its own person too.

use crate::app::App;
use crate::club::reminders::letter;
use crate::paper::mail::Letter;
use crate::store::outbox::{self, Channel, Message};
use crate::store::reminders;
use crate::web::asked::{Path, Query};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

pub struct MailRow {
    pub id: Uuid,
    pub called: String,
    pub day: String,
    pub channel: &'static str,
    pub stands: &'static str,
    pub answer: String,
    pub tries: i64,
    pub when: When,
}

/// What stands of a message, in words.
fn stands(one: &Message) -> &'static str {
    match one.state.as_str() {
        "sent" => "Sent",
        "dead" if one.sent_ms.is_some() => "Came back",
        "dead" => "Given up",
        "held" => "Not sent",
        _ => "Waits",
    }
}

pub fn rows(messages: Vec<Message>, who: &SignedIn) -> Vec<MailRow> {
    let row = |one: Message| MailRow {
        id: one.id,
        day: one.day().to_owned(),
        channel: match Channel::of(&one) {
            Channel::Push => "phone",
            Channel::Mail => "mail",
        },
        stands: stands(&one),
        called: one.person_name.unwrap_or_else(|| "(erased)".to_owned()),
        when: past(one.sent_ms.unwrap_or(one.made_ms), who.now, &who.zone),
        answer: one.answer,
        tries: one.tries,
    };
    messages.into_iter().map(row).collect()
}

const PER_PAGE: i64 = 50;

#[derive(Template)]
#[template(path = "mail/list.html")]
struct ListPage {
    shell: Shell,
    rows: Vec<MailRow>,
    /// What each is about, in the same order; empty: nothing that still stands.
    subjects: Vec<String>,
    has_server: bool,
    newer: Option<i64>,
    older: Option<i64>,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    page: String,
}

/// GET /mails
pub async fn list(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let at: i64 = asked.page.parse().unwrap_or(0).clamp(0, 10_000);
    let mut conn = app.db.read().await?;
    let mut found = outbox::latest(&mut conn, PER_PAGE + 1, at * PER_PAGE).await?;
    let has_more = found.len() > PER_PAGE as usize;
    found.truncate(PER_PAGE as usize);
    let ids: Vec<Uuid> = found.iter().map(|one| one.id).collect();
    let mut gathered = reminders::gathered_in(&mut conn, &ids).await?;
    drop(conn);
    let subject = |one: &Message| match gathered.remove(&one.id) {
        _ if one.is_to_confirm => "Is this your address?".to_owned(),
        Some(lines) => letter::about(&letter::parts(lines)),
        None => String::new(),
    };
    let subjects = found.iter().map(subject).collect();
    page::show(&ListPage {
        shell: who.shell("Mail"),
        rows: rows(found, &who),
        subjects,
        has_server: app.settings.smtp_url.is_some(),
        newer: (at > 0).then(|| at - 1),
        older: has_more.then(|| at + 1),
    })
}

#[derive(Template)]
#[template(path = "mail/one.html")]
struct OnePage {
    shell: Shell,
    row: MailRow,
    address: String,
    subject: String,
    text: String,
    is_own: bool,
}

/// GET /mails/{id}: without the links that end kinds.
pub async fn show(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let mut conn = app.db.read().await?;
    let found = outbox::by_id(&mut conn, id).await?;
    let is_own = |one: &Message| one.person_id == who.me.person_id;
    let message = found
        .filter(|one| who.oversees() || is_own(one))
        .ok_or(PageError::NotFound)?;
    let person = message.person_id;
    let (day, channel) = (message.on_day.as_str(), Channel::of(&message));
    let lines = reminders::gathered(&mut conn, (person, day), channel).await?;
    let parts = letter::parts(lines);
    let letter = Letter {
        club: &who.club.name,
        from: "",
        called: message.person_name.as_deref().unwrap_or_default(),
        to: "",
        message_id: "",
        made: message.made_ms,
        base: &app.settings.public_base(),
        token: "",
        parts: &parts,
        is_to_confirm: message.is_to_confirm,
    };
    let text = letter.text();
    page::show(&OnePage {
        shell: who.shell(format!("Mail of {} to {}", message.day(), letter.called)),
        subject: letter.subject(),
        text: text.map_err(|error| PageError::Internal(error.to_string()))?,
        is_own: is_own(&message),
        address: message.address.clone(),
        row: rows(vec![message], &who).remove(0),
    })
}
