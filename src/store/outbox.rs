//! The outbox: a message for each person, day and channel ('mail', 'push'), which several processes send. Who takes one has it until
//! its lease ends; what was sent stays sent, whoever says so last. A message that was sent and could not be noted is sent again,
//! under the same Message-ID: delivery is at least once. Decides nothing.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::ids;
use std::collections::BTreeSet;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channel {
    Mail,
    Push,
}

impl Channel {
    /// As a message has it.
    pub fn of(message: &Message) -> Self {
        if message.channel == "push" {
            Self::Push
        } else {
            Self::Mail
        }
    }

    pub const fn code(self) -> &'static str {
        match self {
            Self::Mail => "mail",
            Self::Push => "push",
        }
    }
}

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Message {
    pub id: Uuid,
    pub person_id: Uuid,
    pub person_name: Option<String>,
    pub on_day: String,
    pub channel: String,
    pub kind: String,
    /// It asks whether its address is its person's, and tells no reminders.
    pub is_to_confirm: bool,
    pub message_id: String,
    pub state: String,
    pub address: String,
    pub made_ms: Instant,
    pub next_ms: Instant,
    pub tries: i64,
    pub sent_ms: Option<Instant>,
    pub answer: String,
}

impl Message {
    /// Of danger that was just reported: no hour is quiet for it.
    pub fn is_at_once(&self) -> bool {
        self.kind == "at_once"
    }

    /// The day in the hall that it is of.
    pub fn day(&self) -> &str {
        self.on_day.split(' ').next().unwrap_or_default()
    }
}

macro_rules! message {
    ($rest:literal) => {
        concat!(
            "SELECT m.id, m.person_id, p.name AS person_name, m.on_day, m.channel, m.kind, m.is_to_confirm, m.message_id, m.state, m.address, m.made_ms, \
             m.next_ms, m.tries, m.sent_ms, m.answer FROM mail m JOIN person p ON p.id = m.person_id ",
            $rest
        )
    };
}

/// What is put into the outbox. `goes`: None where it is held, with why.
pub struct New<'a> {
    pub person_id: Uuid,
    /// With more than its day where it is of danger just reported, or asks whether its address is its person's.
    pub on_day: &'a str,
    pub is_at_once: bool,
    pub is_to_confirm: bool,
    pub channel: Channel,
    pub message_id: &'a str,
    pub address: &'a str,
    pub goes: std::result::Result<Instant, &'a str>,
}

/// Whether there was none of that person, day and channel.
pub async fn put(tx: &mut Tx, new: &New<'_>, at: Instant) -> Result<bool> {
    let (state, next, answer) = match new.goes {
        Ok(next) => ("waiting", next, ""),
        Err(why) => ("held", at, why),
    };
    let put = change!(
        tx,
        "INSERT INTO mail (id, person_id, on_day, channel, message_id, state, address, made_ms, next_ms, tries, answer, kind, is_to_confirm) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, 0, $10, $11, $12) ON CONFLICT (person_id, on_day, channel) DO NOTHING",
        ids::new_id(),
        new.person_id,
        new.on_day,
        new.channel.code(),
        new.message_id,
        state,
        new.address,
        at,
        next,
        answer,
        if new.is_at_once { "at_once" } else { "day" },
        new.is_to_confirm
    )?;
    Ok(put == 1)
}

/// Is there anything to send now? Asked without the turn to write.
pub async fn is_due(conn: &mut Conn, channel: Channel, now: Instant) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM mail WHERE state = 'waiting' AND channel = $1 AND next_ms <= $2 \
         AND (lease_ms IS NULL OR lease_ms <= $2)",
        channel.code(),
        now
    )?;
    Ok(found.is_some_and(|(count,)| count > 0))
}

/// The message that waits longest, leased until then, with the id of the lease.
pub async fn take(
    tx: &mut Tx,
    channel: Channel,
    now: Instant,
    until: Instant,
) -> Result<Option<(Message, Uuid)>> {
    let found = row!(
        tx,
        Message,
        message!(
            "WHERE m.state = 'waiting' AND m.channel = $1 AND m.next_ms <= $2 AND (m.lease_ms IS NULL OR m.lease_ms <= $2) \
             ORDER BY m.next_ms, m.id LIMIT 1"
        ),
        channel.code(),
        now
    )?;
    let Some(message) = found else {
        return Ok(None);
    };
    let lease = ids::new_id();
    change!(
        tx,
        "UPDATE mail SET lease_id = $2, lease_ms = $3 WHERE id = $1",
        message.id,
        lease,
        until
    )?;
    Ok(Some((message, lease)))
}

/// It went out, whoever holds it now.
pub async fn sent(tx: &mut Tx, id: Uuid, at: Instant, answer: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE mail SET state = 'sent', sent_ms = COALESCE(sent_ms, $2), answer = $3, tries = tries + 1, lease_id = NULL, \
         lease_ms = NULL WHERE id = $1 AND state <> 'sent'",
        id,
        at,
        answer
    )?;
    Ok(())
}

/// It did not; tried again from `next` on, unless another has taken it meanwhile.
pub async fn again(tx: &mut Tx, held: (Uuid, Uuid), next: Instant, answer: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE mail SET next_ms = $3, answer = $4, tries = tries + 1, lease_id = NULL, lease_ms = NULL \
         WHERE id = $1 AND lease_id = $2 AND state = 'waiting'",
        held.0,
        held.1,
        next,
        answer
    )?;
    Ok(())
}

/// Given up. Whether it was this process's to give up.
pub async fn give_up(tx: &mut Tx, held: (Uuid, Uuid), answer: &str) -> Result<bool> {
    let given_up = change!(
        tx,
        "UPDATE mail SET state = 'dead', answer = $3, tries = tries + 1, lease_id = NULL, lease_ms = NULL \
         WHERE id = $1 AND lease_id = $2 AND state = 'waiting'",
        held.0,
        held.1,
        answer
    )?;
    Ok(given_up == 1)
}

/// It went out, and came back for good.
pub async fn came_back(tx: &mut Tx, id: Uuid, answer: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE mail SET state = 'dead', answer = $2, lease_id = NULL, lease_ms = NULL WHERE id = $1",
        id,
        answer
    )?;
    Ok(())
}

/// It waits until then, and was not tried.
pub async fn put_off(tx: &mut Tx, id: Uuid, until: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE mail SET next_ms = $2, lease_id = NULL, lease_ms = NULL WHERE id = $1",
        id,
        until
    )?;
    Ok(())
}

/// Of a day's mail `m` and where its person is reached, `r`: it never went, and may go by now. It was held, or given up at an address
/// that is another since, or that nothing is said against.
macro_rules! never_went {
    () => {
        "m.channel = 'mail' AND (m.state = 'held' OR (m.state = 'dead' AND (m.address <> r.address OR r.dead_ms IS NULL)))"
    };
}
pub(super) use never_went;

/// Who was to get a day's mail that never went.
pub async fn whose_never_went(conn: &mut Conn) -> Result<BTreeSet<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        concat!(
            "SELECT DISTINCT m.person_id FROM mail m JOIN reach r ON r.person_id = m.person_id \
             WHERE m.kind = 'day' AND m.is_to_confirm = FALSE AND ",
            never_went!()
        )
    )?;
    Ok(found.into_iter().map(|(person,)| person).collect())
}

/// A mail that was held, and whose reminders another tells by now, says nothing any more.
pub async fn drop_untold(tx: &mut Tx) -> Result<()> {
    change!(
        tx,
        "DELETE FROM mail WHERE state = 'held' AND channel = 'mail' AND kind = 'day' AND is_to_confirm = FALSE AND NOT EXISTS (SELECT 1 FROM reminder r \
         WHERE r.person_id = mail.person_id AND r.told_on = mail.on_day AND r.by_mail = TRUE)"
    )?;
    Ok(())
}

/// It is not sent after all, and was never tried.
pub async fn hold(tx: &mut Tx, held: (Uuid, Uuid), why: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE mail SET state = 'held', answer = $3, lease_id = NULL, lease_ms = NULL \
         WHERE id = $1 AND lease_id = $2 AND state = 'waiting'",
        held.0,
        held.1,
        why
    )?;
    Ok(())
}

/// The newest first, from `from` on.
pub async fn latest(conn: &mut Conn, at_most: i64, from: i64) -> Result<Vec<Message>> {
    rows!(
        conn,
        Message,
        message!("ORDER BY m.made_ms DESC, m.id DESC LIMIT $1 OFFSET $2"),
        at_most,
        from
    )
}

/// A person's, the newest first.
pub async fn of_person(conn: &mut Conn, person_id: Uuid, at_most: i64) -> Result<Vec<Message>> {
    rows!(
        conn,
        Message,
        message!("WHERE m.person_id = $1 ORDER BY m.made_ms DESC, m.id DESC LIMIT $2"),
        person_id,
        at_most
    )
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Message>> {
    row!(conn, Message, message!("WHERE m.id = $1"), id)
}

/// As it is called on its way.
pub async fn by_message_id(conn: &mut Conn, message_id: &str) -> Result<Option<Message>> {
    row!(
        conn,
        Message,
        message!("WHERE m.message_id = $1"),
        message_id
    )
}

/// A link that goes out with this message.
pub async fn add_token(tx: &mut Tx, token_hash: &str, id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO mail_token (token_hash, mail_id, made_ms) VALUES ($1, $2, $3)",
        token_hash,
        id,
        at
    )?;
    Ok(())
}

/// How many were made since then that ask this person whether an address is theirs.
pub async fn to_confirm_since(conn: &mut Conn, person_id: Uuid, since: Instant) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM mail WHERE person_id = $1 AND is_to_confirm = TRUE AND made_ms > $2",
        person_id,
        since
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

/// The message that a link came with.
pub async fn with_token(conn: &mut Conn, token_hash: &str) -> Result<Option<Message>> {
    row!(
        conn,
        Message,
        message!("JOIN mail_token t ON t.mail_id = m.id WHERE t.token_hash = $1"),
        token_hash
    )
}

/// Links of mail that is older.
pub async fn sweep_links(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(tx, "DELETE FROM mail_token WHERE made_ms < $1", before)?;
    Ok(())
}

/// Messages that are older, whatever became of them; their links went before.
pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(
        tx,
        "DELETE FROM push_done WHERE mail_id IN (SELECT id FROM mail WHERE made_ms < $1)",
        before
    )?;
    change!(tx, "DELETE FROM mail WHERE made_ms < $1", before)?;
    Ok(())
}

/// All that went to a person goes with their name.
pub async fn forget(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(
        tx,
        "DELETE FROM mail_token WHERE mail_id IN (SELECT id FROM mail WHERE person_id = $1)",
        person_id
    )?;
    change!(
        tx,
        "DELETE FROM push_done WHERE mail_id IN (SELECT id FROM mail WHERE person_id = $1)",
        person_id
    )?;
    change!(tx, "DELETE FROM mail WHERE person_id = $1", person_id)?;
    Ok(())
}
