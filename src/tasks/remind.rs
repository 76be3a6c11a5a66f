//! Reminders on a clock: danger that was reported or found is told at once, a day is decided when its hour has come, and what the outbox holds
//! is sent. Several processes may do so at
//! once: the day is taken in one transaction, a message is leased. A process that dies with a mail sent and not noted leaves it to
//! another, which sends it again under the same Message-ID: delivery is at least once, never 'exactly once', which SMTP can't promise
//! (RFC 5321, 4.5.3.2.6 and RFC 1047).

use crate::actions::at_once;
use crate::actions::remind::{self, Posting};
use crate::app::App;
use crate::club::calendar::Instant;
use crate::ids;
use crate::paper::mail::Letter;
use crate::store::outbox::{self, Channel};
use crate::store::{StoreError, reach};
use crate::tasks::leased::Leased;
use crate::tasks::push;
use crate::tasks::smtp::{Outcome, Smtp};
use std::time::Duration;

const EVERY: Duration = Duration::from_secs(3);

/// What never waits for another: a mail server or a push service that hangs holds up nothing but what goes through it.
#[derive(Clone, Copy, Debug)]
enum Part {
    Decide,
    Push,
    Mail,
}

impl Part {
    async fn run(self, app: &App) -> Result<(), StoreError> {
        match self {
            Self::Decide => decide(app).await,
            Self::Push => push::send_push(app).await,
            Self::Mail => send_mail(app).await,
        }
    }
}

pub async fn keep_reminding(app: App) {
    tokio::join!(
        keep(&app, Part::Decide),
        keep(&app, Part::Push),
        keep(&app, Part::Mail)
    );
}

async fn keep(app: &App, part: Part) {
    let mut ticks = tokio::time::interval(EVERY);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        if let Err(error) = part.run(app).await {
            tracing::warn!(?part, %error, "reminders failed; they will be tried again");
        }
    }
}

/// Each part once: what was decided is sent.
pub async fn run(app: &App) -> Result<(), StoreError> {
    for part in [Part::Decide, Part::Push, Part::Mail] {
        part.run(app).await?;
    }
    Ok(())
}

/// Tells danger, then decides the day where its hour has come.
async fn decide(app: &App) -> Result<(), StoreError> {
    let host = app.settings.mail_host();
    let posting = Posting {
        has_server: app.settings.smtp_url.is_some(),
        host: &host,
    };
    let told = at_once::tell(&app.db, app.clock.now(), posting).await?;
    if told > 0 {
        tracing::info!(dangers = told, "danger told at once");
    }
    if let Some(decided) = remind::decide_day(&app.db, app.clock.now(), posting).await? {
        let (day, count) = (decided.day, decided.reminders);
        tracing::info!(%day, reminders = count, messages = decided.messages, "reminders decided");
    }
    Ok(())
}

/// One mail after the other, until none waits, or the mail server is away: then the others would wait for it in vain, each as long.
async fn send_mail(app: &App) -> Result<(), StoreError> {
    let Some(url) = &app.settings.smtp_url else {
        return Ok(());
    };
    let (mut conn, now) = (app.db.read().await?, app.clock.now());
    if !outbox::is_due(&mut conn, Channel::Mail, now).await? {
        return Ok(());
    }
    drop(conn);
    let smtp = match Smtp::to(url, app.settings.authorities.as_ref()) {
        Ok(smtp) => smtp,
        Err(words) => {
            tracing::warn!(words, "no mail can be sent");
            return Ok(());
        }
    };
    while let Some((leased, letter)) = take(app).await? {
        let outcome = match letter.as_ref() {
            Ok(message) => smtp.send(message, app.settings.mail_lease).await,
            Err(words) => Outcome::Refused {
                is_address: false,
                words: words.clone(),
            },
        };
        let is_away = matches!(outcome, Outcome::Away(_));
        settle(app, &leased, outcome).await?;
        if is_away {
            break;
        }
    }
    Ok(())
}

/// With a new link out of it, whose digest alone is kept: earlier ones go on working.
async fn take(app: &App) -> Result<Option<(Leased, Result<lettre::Message, String>)>, StoreError> {
    let mut tx = app.db.write().await?;
    let Some(leased) = Leased::take(&mut tx, app, Channel::Mail).await? else {
        tx.save().await?;
        return Ok(None);
    };
    let (token, now) = (ids::new_token(), app.clock.now());
    outbox::add_token(&mut tx, &ids::digest(&token), leased.message.id, now).await?;
    tx.save().await?;
    let letter = written(app, &leased, &token);
    Ok(Some((leased, letter)))
}

fn written(app: &App, leased: &Leased, token: &str) -> Result<lettre::Message, String> {
    let from = match leased.rules.sender.as_str() {
        "" => app.settings.usual_sender(),
        chosen => chosen.to_owned(),
    };
    let message = &leased.message;
    // Whoever reads an address that is not confirmed is offered no way to end what its person gets.
    let is_offered = message.is_to_confirm || !leased.is_unconfirmed();
    let letter = Letter {
        club: &leased.club.name,
        from: &from,
        called: message.person_name.as_deref().unwrap_or_default(),
        to: &message.address,
        message_id: &message.message_id,
        made: message.made_ms,
        base: &app.settings.public_base(),
        token: if is_offered { token } else { "" },
        parts: &leased.parts,
        is_to_confirm: message.is_to_confirm,
    };
    letter.message().map_err(|error| error.to_string())
}

/// While the server is away, or says 'not now', each mail fares alike, and danger and the weekly end of the book among them are told
/// in no other: RFC 5321, 4.5.4.1 gives up after four or five days.
fn is_waited_for(message: &outbox::Message, now: Instant) -> bool {
    const AWAY_DAYS: i64 = 4;
    now < message.made_ms.plus_days(AWAY_DAYS)
}

async fn settle(app: &App, leased: &Leased, outcome: Outcome) -> Result<(), StoreError> {
    let now = app.clock.now();
    let (message, held) = (&leased.message, leased.held());
    let mut tx = app.db.write().await?;
    match outcome {
        Outcome::Sent(words) => outbox::sent(&mut tx, message.id, now, &words).await?,
        Outcome::Failed(words) if leased.may_be_tried_again() => {
            leased.again(&mut tx, (now, now), &words).await?;
        }
        Outcome::Away(words) | Outcome::NotNow(words)
            if leased.may_be_tried_again() || is_waited_for(message, now) =>
        {
            leased.again(&mut tx, (now, now), &words).await?;
        }
        Outcome::Failed(words) | Outcome::Away(words) | Outcome::NotNow(words) => {
            outbox::give_up(&mut tx, held, &words).await?;
        }
        Outcome::Refused { is_address, words } => {
            if outbox::give_up(&mut tx, held, &words).await? && is_address {
                let whose = (message.person_id, message.address.as_str());
                reach::note_dead(&mut tx, whose, now, &words).await?;
            }
        }
    }
    tx.save().await
}
