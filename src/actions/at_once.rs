//! Danger that somebody reported or found is told at once: its reminders and the messages by which they go, in one transaction that notes that
//! it was told, so that several processes tell it once. Who is told and by which message is `club::reminders::at_once`.

use crate::actions::remind::{self, Message, Outgoing, Posting};
use crate::club::calendar::{Instant, Zone};
use crate::club::reminders::at_once::{Goes, goes, reminders};
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::decide::Reminder;
use crate::club::reminders::facts::Person;
use crate::ids;
use crate::store::{Db, Result, Tx, at_once, club, people, reach, reminders as kept};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The rest is told at the next tick.
const AT_MOST: i64 = 50;

/// How many dangers were told.
pub async fn tell(db: &Db, now: Instant, posting: Posting<'_>) -> Result<usize> {
    let mut conn = db.read().await?;
    if at_once::untold(&mut conn, 1).await?.is_empty() {
        return Ok(0);
    }
    drop(conn);
    let mut tx = db.write().await?;
    let Some(club) = club::read(&mut tx).await? else {
        return Ok(0);
    };
    let zone = Zone::named(&club.time_zone).unwrap_or_else(Zone::utc);
    let found = people::list(&mut tx, "").await?;
    let people: Vec<Person> = found.into_iter().map(remind::person).collect();
    let mut telling = Telling {
        outgoing: Outgoing::read(&mut tx, posting, now).await?,
        choices: reach::all_choices(&mut tx).await?,
        at: (now, &zone),
        messages: BTreeMap::new(),
    };
    let mut dangers = at_once::untold(&mut tx, AT_MOST).await?;
    for danger in &mut dangers {
        // Figures are what was seen; a place keeps its name.
        danger.told = club.numbers().sentence(&danger.told);
        for reminder in reminders(danger, &people, &zone) {
            telling.one(&mut tx, &reminder).await?;
        }
        at_once::note_told(&mut tx, danger, now).await?;
    }
    tx.save().await?;
    Ok(dangers.len())
}

struct Telling<'a> {
    outgoing: Outgoing<'a>,
    choices: BTreeMap<Uuid, Choices>,
    at: (Instant, &'a Zone),
    /// By key and time, the one by which each person is told now.
    messages: BTreeMap<Uuid, (String, Instant)>,
}

impl Telling<'_> {
    /// No hour is quiet for it.
    async fn one(&mut self, tx: &mut Tx, reminder: &Reminder) -> Result<()> {
        let chosen = self.choices.get(&reminder.person);
        let ways = chosen.map_or(Ways::ALL, |choices| choices.of(reminder.kind));
        let (key, goes) = self.message(tx, reminder.person).await?;
        if kept::keep(tx, reminder, ways, (&key, self.at.0)).await? {
            let message = Message {
                key: &key,
                is_at_once: true,
                goes,
            };
            let reach = self.outgoing.reach(reminder.person);
            self.outgoing.put(tx, &reach, ways, message).await?;
        }
        Ok(())
    }

    /// The one that is to carry what they are told now.
    async fn message(&mut self, tx: &mut Tx, person: Uuid) -> Result<(String, Instant)> {
        if let Some(known) = self.messages.get(&person) {
            return Ok(known.clone());
        }
        let (now, zone) = self.at;
        let message = match goes(at_once::latest(tx, person).await?, now) {
            Goes::Along(key, at) => (key, at),
            Goes::At(at) => (format!("{} {}", zone.day_of(at), ids::new_id()), at),
        };
        self.messages.insert(person, message.clone());
        Ok(message)
    }
}
