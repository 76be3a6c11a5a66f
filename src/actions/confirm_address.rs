//! Whether an address for mail is its person's: asked by a mail with a link when it is kept, answered by whoever reads that mail. What
//! was kept before this was asked counts as confirmed, and so does what is kept where no mail server is set.

use crate::actions::By;
use crate::actions::choose_reminders::{ChoiceRefusal, WishRefusal};
use crate::actions::remind::Posting;
use crate::club::calendar::Instant;
use crate::ids;
use crate::store::log::Entry;
use crate::store::outbox::{Channel, New};
use crate::store::{Conn, Db, StoreError, Tx, outbox, reach, reminders};
use uuid::Uuid;

/// So long its link works.
const LINK_DAYS: i64 = 7;
/// After so long another mail goes to the same address.
const AGAIN_MINUTES: i64 = 60;
/// So many in a day: nobody fills a stranger's box.
const MOST_A_DAY: i64 = 5;

/// Since when the address that is kept now is asked about; None: it is not. Puts the mail that asks into the outbox.
pub(super) async fn asked_about(
    tx: &mut Tx,
    by: &By,
    address: &str,
    posting: Posting<'_>,
) -> Result<Option<Instant>, ChoiceRefusal> {
    if address.is_empty() || !posting.has_server {
        return Ok(None);
    }
    let before = reach::of(tx, by.actor.id).await?;
    let same = before.filter(|before| before.address == address);
    let yesterday = by.at.plus_days(-1);
    let is_full = outbox::to_confirm_since(tx, by.actor.id, yesterday).await? >= MOST_A_DAY;
    if let Some(same) = same {
        let asked = same.unconfirmed_ms;
        if is_full || asked.is_none_or(|at| by.at.minutes_since(at) < AGAIN_MINUTES) {
            return Ok(asked);
        }
    } else if is_full {
        return Err(ChoiceRefusal::Wrong(vec![WishRefusal::TooOften]));
    }
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
    Ok(Some(by.at))
}

/// What a link asks about.
pub struct Asked {
    person_id: Uuid,
    pub address: String,
    /// It was answered already: nothing is asked any more.
    pub is_confirmed: bool,
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
        address: reach.address,
        is_confirmed: reach.unconfirmed_ms.is_none(),
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
    reminders::tell_anew(&mut tx, person_id, &asked.address).await?;
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
