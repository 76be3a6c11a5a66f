//! Danger that somebody reported is told at once: its reminders and the messages by which they go, in one transaction that notes that
//! it was told, so that several processes tell it once. Who is told and by which message is `club::reminders::at_once`.

use crate::actions::remind::{self, Posting};
use crate::club::calendar::{Instant, Zone};
use crate::club::reminders::at_once::{Goes, goes, reminders};
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::decide::Reminder;
use crate::club::reminders::facts::Person;
use crate::ids;
use crate::store::outbox::{self, Channel, New};
use crate::store::reach::{self, Reach};
use crate::store::{Db, Result, Tx, at_once, club, people, phones, reminders as kept};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The rest is told at the next tick.
const AT_MOST: i64 = 50;

/// How many reports were told.
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
        posting,
        at: (now, &zone),
        choices: reach::all_choices(&mut tx).await?,
        reached: reach::all(&mut tx).await?,
        phones: phones::whose(&mut tx).await?,
        keys: BTreeMap::new(),
    };
    let dangers = at_once::untold(&mut tx, AT_MOST).await?;
    for danger in &dangers {
        for reminder in reminders(danger, &people, &zone) {
            telling.one(&mut tx, &reminder).await?;
        }
        at_once::note_told(&mut tx, danger.report, now).await?;
    }
    tx.save().await?;
    Ok(dangers.len())
}

struct Telling<'a> {
    posting: Posting<'a>,
    at: (Instant, &'a Zone),
    choices: BTreeMap<Uuid, Choices>,
    reached: BTreeMap<Uuid, Reach>,
    phones: BTreeSet<Uuid>,
    /// The message by which each person is told now, and when it goes.
    keys: BTreeMap<Uuid, (String, Instant)>,
}

impl Telling<'_> {
    async fn one(&mut self, tx: &mut Tx, reminder: &Reminder) -> Result<()> {
        let chosen = self.choices.get(&reminder.person);
        let ways = chosen.map_or(Ways::ALL, |choices| choices.of(reminder.kind));
        let (key, goes_at) = self.message(tx, reminder.person).await?;
        if kept::keep(tx, reminder, ways, (&key, self.at.0)).await? {
            self.put(tx, reminder.person, ways, (&key, goes_at)).await?;
        }
        Ok(())
    }

    /// The one that is to carry what they are told now.
    async fn message(&mut self, tx: &mut Tx, person: Uuid) -> Result<(String, Instant)> {
        if let Some(known) = self.keys.get(&person) {
            return Ok(known.clone());
        }
        let (now, zone) = self.at;
        let latest = at_once::latest(tx, person).await?;
        let message = match goes(latest, now) {
            Goes::Along(key, at) => (key, at),
            Goes::At(at) => (format!("{} {}", zone.day_of(at), ids::new_id()), at),
        };
        self.keys.insert(person, message.clone());
        Ok(message)
    }

    /// By mail, and by push to who has a phone that asked. No hour is quiet for it.
    async fn put(
        &self,
        tx: &mut Tx,
        person: Uuid,
        ways: Ways,
        (key, at): (&str, Instant),
    ) -> Result<()> {
        let nowhere = Reach::nowhere(person);
        let reach = self.reached.get(&person).unwrap_or(&nowhere);
        let by_mail = ways.by_mail.then(|| {
            (
                Channel::Mail,
                remind::goes(reach, self.posting).map(|()| at),
            )
        });
        let by_push =
            (ways.by_push && self.phones.contains(&person)).then_some((Channel::Push, Ok(at)));
        for (channel, goes) in by_mail.into_iter().chain(by_push) {
            let new = New {
                person_id: person,
                on_day: key,
                is_at_once: true,
                channel,
                message_id: &format!("{}@{}", ids::new_id().simple(), self.posting.host),
                address: &reach.address,
                goes,
            };
            outbox::put(tx, &new, self.at.0).await?;
        }
        Ok(())
    }
}
