//! A mail that came back, as a mail server hands it on. Anybody may send such a notice: it is believed where it names a mail that went out
//! from here, by the id that only its reader and the servers on its way have seen, and the address which that went to. Then it stands on
//! its person as a refusal by the mail server does.

use crate::club::calendar::Instant;
use crate::club::returned_mail::{Fate, Notice, Recipient};
use crate::store::outbox::{Channel, Message};
use crate::store::reach::Reach;
use crate::store::{Conn, Db, StoreError, outbox, reach};

/// What came of it. Told to a mail server, so nobody is named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Told {
    #[error("The mail came back for good. It stands on its person's page.")]
    Noted,
    #[error("The mail came back for good, and stands on its person's page already.")]
    Known,
    #[error(
        "The mail came back for good, but its address was kept anew since it went out. Nothing is changed."
    )]
    KeptAnew,
    #[error(
        "The mail came back by a fault of its sender's, as its status tells: see who mail is from, and the mail server. Nothing is changed."
    )]
    OfTheSender,
    #[error("The mail is late, or came back for now alone. Nothing is changed.")]
    NotForGood,
    #[error("The notice does not say that the mail came back. Nothing is changed.")]
    Nothing,
}

#[derive(Debug, thiserror::Error)]
pub enum ReturnedRefusal {
    /// In one sentence, so that nobody learns by it which ids there are.
    #[error("no such mail went from here to that address. Nothing is changed.")]
    NotOurs,
    #[error(transparent)]
    Store(#[from] StoreError),
}

pub async fn returned(db: &Db, notice: &Notice, now: Instant) -> Result<Told, ReturnedRefusal> {
    // Who guesses ids does not take the turn to write.
    let (_, recipient) = believed(&mut db.read().await?, notice).await?;
    match recipient.fate {
        Fate::Failed => {}
        Fate::OfTheSender => return Ok(Told::OfTheSender),
        Fate::NotForGood => return Ok(Told::NotForGood),
        Fate::Nothing => return Ok(Told::Nothing),
    }
    let mut tx = db.write().await?;
    let (message, recipient) = believed(&mut tx, notice).await?;
    let reach = reach::of(&mut tx, message.person_id).await?;
    let told = stands(&message, reach.as_ref());
    if told == Told::Noted {
        let whose = (message.person_id, message.address.as_str());
        reach::note_dead(&mut tx, whose, now, &recipient.words).await?;
    }
    outbox::came_back(&mut tx, message.id, &recipient.words).await?;
    tx.save().await?;
    Ok(told)
}

/// The mail that it is about, and what became of it.
async fn believed<'a>(
    conn: &mut Conn,
    notice: &'a Notice,
) -> Result<(Message, &'a Recipient), ReturnedRefusal> {
    let found = outbox::by_message_id(conn, &notice.message_id).await?;
    let message = found.filter(|message| Channel::of(message) == Channel::Mail);
    let message = message.ok_or(ReturnedRefusal::NotOurs)?;
    let mut of_it = notice
        .recipients
        .iter()
        .filter(|one| one.is(&message.address));
    let recipient = of_it.next().ok_or(ReturnedRefusal::NotOurs)?;
    Ok((message, recipient))
}

fn stands(message: &Message, reach: Option<&Reach>) -> Told {
    let went = message.sent_ms.unwrap_or(message.made_ms);
    let Some(same) = reach.filter(|reach| reach.address == message.address) else {
        return Told::KeptAnew;
    };
    match (same.dead_ms, same.kept_ms) {
        (Some(_), _) => Told::Known,
        (None, Some(kept)) if kept > went => Told::KeptAnew,
        (None, _) => Told::Noted,
    }
}
