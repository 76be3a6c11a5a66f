//! Reminders on a clock: a day is decided when its hour has come, and what the outbox holds is sent. Several processes may do so at
//! once: the day is taken in one transaction, a message is leased. A process that dies with a mail sent and not noted leaves it to
//! another, which sends it again under the same Message-ID: delivery is at least once, never 'exactly once', which SMTP can't promise
//! (RFC 5321, 4.5.3.2.6 and RFC 1047).

use crate::actions::remind::{self, Posting};
use crate::app::App;
use crate::club::calendar::{Instant, Zone};
use crate::club::reminders::letter::{self, Part};
use crate::club::reminders::retry;
use crate::club::reminders::rules::ReminderRules;
use crate::ids;
use crate::paper::mail::Letter;
use crate::store::club::{self, Club};
use crate::store::outbox::{self, Channel, Message};
use crate::store::reach::{self, Reach};
use crate::store::{StoreError, reminders};
use crate::tasks::push;
use crate::tasks::smtp::{Outcome, Smtp};
use std::time::Duration;
use uuid::Uuid;

const EVERY: Duration = Duration::from_secs(3);

pub async fn keep_reminding(app: App) {
    let mut ticks = tokio::time::interval(EVERY);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        if let Err(error) = run(&app).await {
            tracing::warn!(%error, "reminders failed; they will be tried again");
        }
    }
}

/// Decides the day where its hour has come, then sends what waits.
pub async fn run(app: &App) -> Result<(), StoreError> {
    let host = app.settings.mail_host();
    let posting = Posting {
        has_server: app.settings.smtp_url.is_some(),
        host: &host,
    };
    if let Some(decided) = remind::decide_day(&app.db, app.clock.now(), posting).await? {
        let (day, count) = (decided.day, decided.reminders);
        tracing::info!(%day, reminders = count, messages = decided.messages, "reminders decided");
    }
    send_mail(app).await?;
    push::send_push(app).await
}

/// One mail after the other, until none waits.
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
    while let Some(taken) = take(app).await? {
        let outcome = match taken.letter.as_ref() {
            Ok(message) => smtp.send(message, app.settings.mail_lease).await,
            Err(words) => Outcome::Refused {
                is_address: false,
                words: words.clone(),
            },
        };
        settle(app, &taken, outcome).await?;
    }
    Ok(())
}

/// A message that is this process's until its lease ends.
struct Taken {
    message: Message,
    lease: Uuid,
    letter: Result<lettre::Message, String>,
    rules: ReminderRules,
    reach: Reach,
    zone: Zone,
}

/// With a new link out of it, whose digest alone is kept: earlier ones go on working.
async fn take(app: &App) -> Result<Option<Taken>, StoreError> {
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let until = Instant(now.ms() + i64::from(app.settings.mail_lease) * 1_000);
    let Some((message, lease)) = outbox::take(&mut tx, Channel::Mail, now, until).await? else {
        return Ok(None);
    };
    let Some(club) = club::read(&mut tx).await? else {
        return Ok(None);
    };
    let rules = reminders::rules(&mut tx).await?;
    let lines =
        reminders::gathered(&mut tx, (message.person_id, &message.on_day), Channel::Mail).await?;
    let reach = reach::of(&mut tx, message.person_id).await?;
    let token = ids::new_token();
    outbox::add_token(&mut tx, &ids::digest(&token), message.id, now).await?;
    tx.save().await?;
    let letter = written(
        app,
        (&club, &rules),
        &message,
        &letter::parts(lines),
        &token,
    );
    Ok(Some(Taken {
        reach: reach.unwrap_or_else(|| Reach::nowhere(message.person_id)),
        zone: Zone::named(&club.time_zone).unwrap_or_else(Zone::utc),
        letter,
        message,
        lease,
        rules,
    }))
}

fn written(
    app: &App,
    (club, rules): (&Club, &ReminderRules),
    message: &Message,
    parts: &[Part],
    token: &str,
) -> Result<lettre::Message, String> {
    let from = match rules.sender.as_str() {
        "" => app.settings.usual_sender(),
        chosen => chosen.to_owned(),
    };
    let letter = Letter {
        club: &club.name,
        from: &from,
        called: message.person_name.as_deref().unwrap_or_default(),
        to: &message.address,
        message_id: &message.message_id,
        made: message.made_ms,
        base: &app.settings.public_base(),
        token,
        parts,
    };
    letter.message().map_err(|error| error.to_string())
}

async fn settle(app: &App, taken: &Taken, outcome: Outcome) -> Result<(), StoreError> {
    let now = app.clock.now();
    let (message, held) = (&taken.message, (taken.message.id, taken.lease));
    let mut tx = app.db.write().await?;
    match outcome {
        Outcome::Sent(words) => outbox::sent(&mut tx, message.id, now, &words).await?,
        Outcome::Failed(words) if message.tries + 1 < taken.rules.tries => {
            let next = retry::again_at(now, message.tries + 1, ids::chance());
            let next = remind::quiet_over(&taken.reach, &taken.rules, (next, &taken.zone));
            outbox::again(&mut tx, held, next, &words).await?;
        }
        Outcome::Failed(words) => {
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
