//! Reminders: one row for each reason, thing, person and due day; the days that were decided; the club's rules of them. Decides nothing.

use super::{Conn, Result, Tx, change, row, rows, rows_among};
use crate::club::calendar::{Day, Instant};
use crate::club::reminders::Kind;
use crate::club::reminders::choice::Ways;
use crate::club::reminders::decide::Reminder;
use crate::club::reminders::letter::Line;
use crate::club::reminders::rules::ReminderRules;
use crate::ids;
use crate::store::outbox::{Channel, never_went};
use std::collections::BTreeMap;
use uuid::Uuid;

pub async fn rules(conn: &mut Conn) -> Result<ReminderRules> {
    let found = row!(conn, (String,), "SELECT reminders FROM club")?;
    Ok(found.map_or_else(ReminderRules::default, |(text,)| text.into()))
}

pub async fn save_rules(tx: &mut Tx, rules: &ReminderRules) -> Result<()> {
    change!(tx, "UPDATE club SET reminders = $1", rules.to_text())?;
    Ok(())
}

/// The last day that was decided, of those until then.
pub async fn last_day(conn: &mut Conn, until: Day) -> Result<Option<Day>> {
    let found = row!(
        conn,
        (String,),
        "SELECT day FROM reminder_day WHERE day <= $1 ORDER BY day DESC LIMIT 1",
        until.to_string()
    )?;
    Ok(found.and_then(|(day,)| Day::parse(&day)))
}

/// Whether nobody decided this day before: then it is this transaction's.
pub async fn begin_day(tx: &mut Tx, day: Day, at: Instant) -> Result<bool> {
    let begun = change!(
        tx,
        "INSERT INTO reminder_day (day, decided_ms) VALUES ($1, $2) ON CONFLICT DO NOTHING",
        day.to_string(),
        at
    )?;
    Ok(begun == 1)
}

/// Whether it is new. `told_on`: what its message is known by.
pub async fn keep(
    tx: &mut Tx,
    reminder: &Reminder,
    ways: Ways,
    (told_on, at): (&str, Instant),
) -> Result<bool> {
    let kept = change!(
        tx,
        "INSERT INTO reminder (id, person_id, kind, reason, thing, due_on, told_on, is_must, by_mail, by_push, title, why, \
         next_words, href, decided_ms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15) \
         ON CONFLICT (person_id, reason, thing, due_on) DO NOTHING",
        ids::new_id(),
        reminder.person,
        reminder.kind.code(),
        reminder.reason,
        &reminder.thing,
        reminder.due_on.to_string(),
        told_on,
        reminder.is_must,
        ways.by_mail,
        ways.by_push,
        &reminder.title,
        &reminder.why,
        &reminder.next,
        &reminder.href,
        at
    )?;
    Ok(kept == 1)
}

/// Whether it is to be told by mail after all, once: its person has it by now and must put it right, and had silenced it; or its mail
/// never went, and may by now.
pub async fn tell_after_all(
    tx: &mut Tx,
    reminder: &Reminder,
    (told_on, at): (&str, Instant),
) -> Result<bool> {
    let due_on = reminder.due_on.to_string();
    let told = change!(
        tx,
        concat!(
            "UPDATE reminder SET told_on = $5, decided_ms = $6, by_mail = TRUE, by_push = FALSE, title = $8, why = $9, next_words = $10, \
             is_must = CASE WHEN $7 THEN TRUE ELSE is_must END \
             WHERE person_id = $1 AND reason = $2 AND thing = $3 AND due_on = $4 AND (($7 AND is_must = FALSE AND by_mail = FALSE) \
             OR (by_mail = TRUE AND EXISTS (SELECT 1 FROM mail m JOIN reach r ON r.person_id = m.person_id WHERE m.person_id = $1 \
             AND m.on_day = reminder.told_on AND ",
            never_went!(),
            ")))"
        ),
        reminder.person,
        reminder.reason,
        &reminder.thing,
        &due_on,
        told_on,
        at,
        reminder.is_must,
        &reminder.title,
        &reminder.why,
        &reminder.next
    )?;
    if reminder.is_must {
        change!(
            tx,
            "UPDATE reminder SET is_must = TRUE WHERE person_id = $1 AND reason = $2 AND thing = $3 AND due_on = $4 AND is_must = FALSE",
            reminder.person,
            reminder.reason,
            &reminder.thing,
            &due_on
        )?;
    }
    Ok(told == 1)
}

#[derive(sqlx::FromRow)]
struct Kept {
    kind: String,
    is_must: bool,
    title: String,
    why: String,
    next_words: String,
    href: String,
}

impl Kept {
    fn line(self) -> Option<Line> {
        Some(Line {
            kind: Kind::from_code(&self.kind)?,
            is_must: self.is_must,
            title: self.title,
            why: self.why,
            next: self.next_words,
            href: self.href,
        })
    }
}

/// What a person's message of that day gathers, by that channel.
pub async fn gathered(
    conn: &mut Conn,
    (person_id, day): (Uuid, &str),
    channel: Channel,
) -> Result<Vec<Line>> {
    let found = rows!(
        conn,
        Kept,
        "SELECT kind, is_must, title, why, next_words, href FROM reminder \
         WHERE person_id = $1 AND told_on = $2 AND CASE WHEN $3 = 'push' THEN by_push ELSE by_mail END ORDER BY title, id",
        person_id,
        day,
        channel.code()
    )?;
    Ok(found.into_iter().filter_map(Kept::line).collect())
}

#[derive(sqlx::FromRow)]
struct KeptOf {
    mail_id: Uuid,
    #[sqlx(flatten)]
    kept: Kept,
}

/// What each of these messages gathers.
pub async fn gathered_in(conn: &mut Conn, messages: &[Uuid]) -> Result<BTreeMap<Uuid, Vec<Line>>> {
    let mut all: BTreeMap<Uuid, Vec<Line>> = BTreeMap::new();
    if messages.is_empty() {
        return Ok(all);
    }
    let found = rows_among!(
        conn,
        KeptOf,
        "SELECT m.id AS mail_id, r.kind, r.is_must, r.title, r.why, r.next_words, r.href FROM mail m \
         JOIN reminder r ON r.person_id = m.person_id AND r.told_on = m.on_day \
         AND CASE WHEN m.channel = 'push' THEN r.by_push ELSE r.by_mail END WHERE m.id IN (",
        messages,
        ") ORDER BY r.title, r.id"
    )?;
    for KeptOf { mail_id, kept } in found {
        all.entry(mail_id).or_default().extend(kept.line());
    }
    Ok(all)
}

/// What waited for this address to be confirmed is as if it was never told: what is still due then is decided anew, and goes by mail.
/// A phone may be told of it once more. `since`: when the address was kept; None: as it was asked about first.
pub async fn tell_anew(
    tx: &mut Tx,
    (person_id, address): (Uuid, &str),
    since: Option<Instant>,
) -> Result<()> {
    change!(
        tx,
        "DELETE FROM reminder WHERE person_id = $1 AND by_mail = FALSE AND decided_ms >= \
         COALESCE($3, (SELECT MIN(m.made_ms) FROM mail m WHERE m.person_id = $1 AND m.address = $2 AND m.is_to_confirm = TRUE)) \
         AND NOT EXISTS (SELECT 1 FROM reminder_choice c WHERE c.person_id = $1 AND c.kind = reminder.kind AND c.by_mail = FALSE)",
        person_id,
        address,
        since
    )?;
    Ok(())
}

/// Reminders that are older: what is still due then is told anew.
pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    let sql = "DELETE FROM reminder WHERE decided_ms < $1";
    change!(tx, sql, before)?;
    Ok(())
}

/// All that a person was told goes with their name.
pub async fn forget(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM reminder WHERE person_id = $1", person_id)?;
    Ok(())
}
