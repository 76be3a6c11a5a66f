//! Whether an address for mail is its person's: asked by a mail with a link when it is kept, answered by whoever reads that mail. What
//! was kept before this was asked counts as confirmed. What is kept where no mail server is set is asked about once there is one.

use crate::actions::By;
use crate::actions::choose_reminders::{ChoiceRefusal, WishRefusal};
use crate::actions::once;
use crate::actions::remind::Posting;
use crate::club::calendar::Instant;
use crate::ids;
use crate::store::log::Entry;
use crate::store::outbox::{Channel, New};
use crate::store::reach::Reach;
use crate::store::{Conn, Db, StoreError, Tx, outbox, reach, reminders};
use uuid::Uuid;

/// So long its link works.
const LINK_DAYS: i64 = 7;
/// After so long another mail goes to the same address.
const AGAIN_MINUTES: i64 = 60;
/// So many in a day: nobody fills a stranger's box.
const MOST_A_DAY: i64 = 5;

/// How an address that is kept now stands: since when it is asked about, and since when it is kept without anybody to ask by.
#[derive(Clone, Copy, Default)]
pub(super) struct Standing {
    pub asked: Option<Instant>,
    pub unasked: Option<Instant>,
}

/// Puts the mail that asks into the outbox, where there is a server that sends it.
pub(super) async fn asked_about(
    tx: &mut Tx,
    by: &By,
    address: &str,
    posting: Posting<'_>,
) -> Result<Standing, ChoiceRefusal> {
    if address.is_empty() {
        return Ok(Standing::default());
    }
    let before = reach::of(tx, by.actor.id).await?;
    let same = before.filter(|before| before.address == address);
    let standing = same.as_ref().map(|same| Standing {
        asked: same.unconfirmed_ms,
        unasked: same.unasked_ms,
    });
    if !posting.has_server {
        return Ok(standing.unwrap_or(Standing {
            asked: None,
            unasked: Some(by.at),
        }));
    }
    let is_full = is_full(tx, by).await?;
    if let (Some(same), Some(standing)) = (same, standing) {
        if is_full || !same.is_unconfirmed() || is_just_asked(&same, by.at) {
            return Ok(standing);
        }
    } else if is_full {
        return Err(ChoiceRefusal::Wrong(vec![WishRefusal::TooOften]));
    }
    put(tx, by, address, posting).await?;
    Ok(Standing {
        asked: Some(by.at),
        unasked: standing.and_then(|standing| standing.unasked),
    })
}

async fn is_full(conn: &mut Conn, by: &By) -> Result<bool, StoreError> {
    let yesterday = by.at.plus_days(-1);
    Ok(outbox::to_confirm_since(conn, by.actor.id, yesterday).await? >= MOST_A_DAY)
}

fn is_just_asked(reach: &Reach, now: Instant) -> bool {
    let asked = reach.unconfirmed_ms;
    asked.is_some_and(|at| now.minutes_since(at) < AGAIN_MINUTES)
}

async fn put(tx: &mut Tx, by: &By, address: &str, posting: Posting<'_>) -> Result<(), StoreError> {
    let new = New {
        person_id: by.actor.id,
        on_day: &format!("{} {}", by.zone.day_of(by.at), ids::new_id()),
        is_at_once: false,
        is_to_confirm: true,
        channel: Channel::Mail,
        message_id: &format!("{}@{}", ids::new_id().simple(), posting.host),
        address,
        goes: Ok(by.at),
    };
    outbox::put(tx, &new, by.at).await?;
    Ok(())
}

const SENT: &str = "/me/reminders?kept=asked";

/// Asks once more about the address as it is kept; one that is confirmed meanwhile is not asked about.
pub async fn ask_by_mail(
    db: &Db,
    by: &By,
    posting: Posting<'_>,
) -> Result<&'static str, ChoiceRefusal> {
    let mut tx = once::begin::<ChoiceRefusal>(db, by).await?;
    let refused = |refusal| ChoiceRefusal::Wrong(vec![refusal]);
    let kept = reach::of(&mut tx, by.actor.id).await?;
    if let Some(reach) = kept.filter(Reach::is_unconfirmed) {
        if !posting.has_server {
            return Err(refused(WishRefusal::NoServer));
        }
        if is_just_asked(&reach, by.at) {
            return Err(refused(WishRefusal::JustAsked));
        }
        if is_full(&mut tx, by).await? {
            return Err(refused(WishRefusal::TooOften));
        }
        put(&mut tx, by, &reach.address, posting).await?;
        reach::note_asked(&mut tx, by.actor.id, by.at).await?;
    }
    once::finish(tx, by, SENT).await?;
    Ok(SENT)
}

/// What a link asks about.
pub struct Asked {
    person_id: Uuid,
    pub address: String,
    /// It was answered already: nothing is asked any more.
    pub is_confirmed: bool,
    /// Since when it was kept without a server that could ask.
    unasked: Option<Instant>,
}

/// Of the address that its person has now. An address that is confirmed stays so, however old the link.
pub async fn asked(
    conn: &mut Conn,
    token: &str,
    now: Instant,
) -> Result<Option<Asked>, StoreError> {
    if !ids::is_token(token) {
        return Ok(None);
    }
    let found = outbox::with_token(conn, &ids::digest(token)).await?;
    let Some(message) = found.filter(|message| message.is_to_confirm) else {
        return Ok(None);
    };
    let reach = reach::of(conn, message.person_id).await?;
    let same = reach.filter(|reach| reach.address == message.address);
    let is_in_time = now < message.made_ms.plus_days(LINK_DAYS);
    let asked = same.map(|reach| Asked {
        person_id: reach.person_id,
        is_confirmed: !reach.is_unconfirmed(),
        unasked: reach.unasked_ms,
        address: reach.address,
    });
    Ok(asked.filter(|asked| asked.is_confirmed || is_in_time))
}

/// The address is confirmed now; twice is as once. None: nothing is asked by such a link.
pub async fn confirm(db: &Db, token: &str, now: Instant) -> Result<Option<Asked>, StoreError> {
    // Who guesses links does not take the turn to write.
    if asked(&mut db.read().await?, token, now).await?.is_none() {
        return Ok(None);
    }
    let mut tx = db.write().await?;
    let asked = match asked(&mut tx, token, now).await? {
        Some(asked) if !asked.is_confirmed => asked,
        nothing => return Ok(nothing),
    };
    let person_id = asked.person_id;
    reach::confirm(&mut tx, person_id, &asked.address).await?;
    reminders::tell_anew(&mut tx, (person_id, &asked.address), asked.unasked).await?;
    let entry = Entry {
        at: now,
        by: Some(person_id),
        by_token: None,
        verb: "confirmed an address for mail",
        subject: "person",
        subject_id: person_id,
        before: "null".to_owned(),
        after: "null".to_owned(),
    };
    crate::store::log::add(&mut tx, &entry).await?;
    tx.save().await?;
    Ok(Some(Asked {
        is_confirmed: true,
        ..asked
    }))
}
