//! A day's message to a person's phones: leased like a mail, sent to each phone that has it not yet, then settled. A push service that
//! asks to be left alone for a while is; a phone that it knows no more is ended; what is older than a day is not sent any more.
//! Delivery is at least once: what arrives twice has the same tag, and takes its own place on the phone.

use crate::app::App;
use crate::club::calendar::Instant;
use crate::club::phone::{Endpoint, Keys};
use crate::club::reminders::rules::ReminderRules;
use crate::club::reminders::{at_once, push, retry};
use crate::paper::push::{ServerKey, sealed};
use crate::store::outbox::{self, Channel};
use crate::store::phones::{self, PushKey, To};
use crate::store::{StoreError, Tx};
use crate::tasks::leased::Leased;
use crate::tasks::push_request::{Outcome, PushServices, Sent};
use std::time::Duration;
use uuid::Uuid;

/// The next day has a message of its own.
const TTL_SECONDS: i64 = 24 * 3_600;
/// A push service that does not answer in this time is tried later.
const MOST_SECONDS_EACH: u64 = 15;

/// One message after the other, until none waits.
pub async fn send_push(app: &App) -> Result<(), StoreError> {
    let (mut conn, now) = (app.db.read().await?, app.clock.now());
    if !outbox::is_due(&mut conn, Channel::Push, now).await? {
        return Ok(());
    }
    let Some(key) = phones::key(&mut conn).await? else {
        return Ok(());
    };
    drop(conn);
    let services = match PushServices::of(&app.settings) {
        Ok(services) => services,
        Err(words) => {
            tracing::warn!(words, "nothing can be sent to phones");
            return Ok(());
        }
    };
    while let Some(taken) = take(app).await? {
        let outcomes = taken.send(app, &services, &key).await;
        settle(app, &taken, &outcomes).await?;
    }
    Ok(())
}

/// A message as the phones will read it, and those that have it not yet.
struct Taken {
    leased: Leased,
    text: Vec<u8>,
    phones: Vec<To>,
    contact: String,
}

async fn take(app: &App) -> Result<Option<Taken>, StoreError> {
    let mut tx = app.db.write().await?;
    let Some(leased) = Leased::take(&mut tx, app, Channel::Push).await? else {
        tx.save().await?;
        return Ok(None);
    };
    let message = &leased.message;
    let phones = phones::left(&mut tx, message.person_id, message.id).await?;
    tx.save().await?;
    let page = if message.is_at_once() {
        at_once::page(&leased.parts).to_owned()
    } else {
        format!("/mails/{}", message.id)
    };
    let where_to = (page, message.message_id.clone());
    let told = push::of_day(&leased.club.name, &leased.parts, where_to);
    Ok(Some(Taken {
        text: serde_json::to_vec(&told).unwrap_or_default(),
        contact: contact(app, &leased.rules),
        phones,
        leased,
    }))
}

/// Whom a push service turns to where something is wrong with what comes from here (RFC 8292, 2.1).
fn contact(app: &App, rules: &ReminderRules) -> String {
    match rules.sender.as_str() {
        _ if app.settings.is_https() => app.settings.public_base(),
        "" => format!("mailto:{}", app.settings.usual_sender()),
        chosen => format!("mailto:{chosen}"),
    }
}

impl Taken {
    /// To each phone, within the lease.
    async fn send(
        &self,
        app: &App,
        services: &PushServices<'_>,
        key: &PushKey,
    ) -> Vec<(Uuid, Outcome)> {
        let share = u64::from(app.settings.mail_lease) * 1_000 / (self.phones.len() as u64).max(1);
        let limit = Duration::from_millis(share.min(MOST_SECONDS_EACH * 1_000));
        let mut outcomes = Vec::new();
        for phone in &self.phones {
            let sent = self.send_to(phone, app, services, key);
            let outcome = tokio::time::timeout(limit, sent).await;
            let outcome = outcome.unwrap_or_else(|_| Outcome::Later {
                words: "The push service did not answer in time.".to_owned(),
                after: None,
            });
            outcomes.push((phone.id, outcome));
        }
        outcomes
    }

    async fn send_to(
        &self,
        phone: &To,
        app: &App,
        services: &PushServices<'_>,
        key: &PushKey,
    ) -> Outcome {
        let (endpoint, keys) = (
            Endpoint::of(&phone.endpoint),
            Keys::of(&phone.p256dh, &phone.auth),
        );
        let (Some(endpoint), Ok(keys)) = (endpoint, keys) else {
            return Outcome::Refused("Its address or keys can't be read.".to_owned());
        };
        let server = ServerKey {
            private: &key.private_key,
            public: &key.public_key,
        };
        let authorization =
            server.authorization(&endpoint.origin(), &self.contact, app.clock.now());
        let (authorization, body) = match (authorization, sealed(&self.text, &keys)) {
            (Ok(authorization), Ok(body)) => (authorization, body),
            (Err(error), _) | (_, Err(error)) => return Outcome::Refused(error.to_string()),
        };
        let sent = Sent {
            authorization,
            topic: self.leased.message.id.simple().to_string(),
            ttl_seconds: TTL_SECONDS,
            // RFC 8030, 5.3: what wakes a phone that saves its battery.
            urgency: if self.leased.message.is_at_once() {
                "high"
            } else {
                "normal"
            },
            body,
        };
        services.send(&endpoint, sent).await
    }
}

/// What is to be tried again: when the push services say, at the soonest, and what they said.
#[derive(Default)]
struct Left {
    words: Option<String>,
    not_before: Option<Instant>,
}

async fn settle(app: &App, taken: &Taken, outcomes: &[(Uuid, Outcome)]) -> Result<(), StoreError> {
    let now = app.clock.now();
    let (leased, message) = (&taken.leased, &taken.leased.message);
    let mut tx = app.db.write().await?;
    let (mut left, mut answer) = (Left::default(), String::new());
    for (phone, outcome) in outcomes {
        note(&mut tx, (message.id, *phone), outcome, now).await?;
        match outcome {
            Outcome::Later { words, after } => {
                let wait = after
                    .as_deref()
                    .and_then(|text| retry::asked_for(text, now));
                left.not_before = left.not_before.max(wait);
                left.words = Some(words.clone());
            }
            Outcome::Taken(words) | Outcome::Gone(words) | Outcome::Refused(words) => {
                answer.clone_from(words);
            }
        }
    }
    let has_any = phones::has_any(&mut tx, message.id).await?;
    let is_over = now.ms() - message.made_ms.ms() >= TTL_SECONDS * 1_000;
    match left.words {
        Some(words) if !is_over && leased.may_be_tried_again() => {
            let when = (now, left.not_before.unwrap_or(now));
            leased.again(&mut tx, when, &words).await?;
        }
        _ if has_any => outbox::sent(&mut tx, message.id, now, &answer).await?,
        None if outcomes.is_empty() => {
            outbox::hold(&mut tx, leased.held(), "No phone asks for it any more.").await?;
        }
        words => {
            outbox::give_up(&mut tx, leased.held(), &words.unwrap_or(answer)).await?;
        }
    }
    tx.save().await
}

async fn note(
    tx: &mut Tx,
    (mail, phone): (Uuid, Uuid),
    outcome: &Outcome,
    now: Instant,
) -> Result<(), StoreError> {
    match outcome {
        Outcome::Taken(_) => phones::note_done(tx, (mail, phone), true, now).await,
        Outcome::Refused(_) => phones::note_done(tx, (mail, phone), false, now).await,
        Outcome::Gone(words) => phones::note_ended(tx, phone, now, words).await,
        Outcome::Later { .. } => Ok(()),
    }
}
