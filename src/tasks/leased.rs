//! A message of the outbox that is this process's until its lease ends, with what it takes to write it, and when it is tried again.

use crate::actions::remind;
use crate::app::App;
use crate::club::calendar::{Instant, Zone};
use crate::club::reminders::letter::{self, Part};
use crate::club::reminders::retry;
use crate::club::reminders::rules::ReminderRules;
use crate::ids;
use crate::store::club::{self, Club};
use crate::store::outbox::{self, Channel, Message};
use crate::store::reach::{self, Reach};
use crate::store::{StoreError, Tx, reminders};
use uuid::Uuid;

pub struct Leased {
    pub message: Message,
    pub club: Club,
    pub rules: ReminderRules,
    pub parts: Vec<Part>,
    lease: Uuid,
    reach: Reach,
    zone: Zone,
}

impl Leased {
    /// The next that is due that way; None: none is. What comes upon somebody's quiet hours, as after a night in which nothing ran, is
    /// put off until they end: the caller saves in any case.
    pub async fn take(
        tx: &mut Tx,
        app: &App,
        channel: Channel,
    ) -> Result<Option<Self>, StoreError> {
        let now = app.clock.now();
        let until = Instant(now.ms() + i64::from(app.settings.mail_lease) * 1_000);
        let Some(club) = club::read(tx).await? else {
            return Ok(None);
        };
        let rules = reminders::rules(tx).await?;
        let zone = Zone::named(&club.time_zone).unwrap_or_else(Zone::utc);
        loop {
            let Some((message, lease)) = outbox::take(tx, channel, now, until).await? else {
                return Ok(None);
            };
            let reach = reach::of(tx, message.person_id).await?;
            let reach = reach.unwrap_or_else(|| Reach::nowhere(message.person_id));
            let goes = remind::quiet_over(&reach, &rules, (now, &zone));
            if goes > now && !message.is_at_once() && !message.is_to_confirm {
                outbox::put_off(tx, message.id, goes).await?;
                continue;
            }
            let whose = (message.person_id, message.on_day.as_str());
            let lines = reminders::gathered(tx, whose, channel).await?;
            return Ok(Some(Self {
                parts: letter::parts(lines),
                message,
                club,
                rules,
                lease,
                reach,
                zone,
            }));
        }
    }

    /// Nobody said yet that the address it goes to by now is theirs.
    pub const fn is_unconfirmed(&self) -> bool {
        self.reach.is_unconfirmed()
    }

    /// By which the outbox knows that it is still this process's.
    pub const fn held(&self) -> (Uuid, Uuid) {
        (self.message.id, self.lease)
    }

    pub const fn may_be_tried_again(&self) -> bool {
        self.message.tries + 1 < self.rules.tries
    }

    /// After its usual wait, not before that instant, and outside the person's quiet hours unless it is of danger just reported.
    pub async fn again(
        &self,
        tx: &mut Tx,
        (now, not_before): (Instant, Instant),
        words: &str,
    ) -> Result<(), StoreError> {
        let next = retry::again_at(now, self.message.tries + 1, ids::chance()).max(not_before);
        let next = if self.message.is_at_once() {
            next
        } else {
            remind::quiet_over(&self.reach, &self.rules, (next, &self.zone))
        };
        outbox::again(tx, self.held(), next, words).await?;
        Ok(())
    }
}
