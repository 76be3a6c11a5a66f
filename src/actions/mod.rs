//! What people do, one verb per function, named as they say it. An action opens the transaction, loads, asks the pure
//! rule, stores, saves. Pages, tasks and programs share it; it knows no HTTP.

pub mod arrange_places;
pub mod at_once;
pub mod at_table;
pub mod book;
pub mod book_export;
pub mod bring_back;
pub mod bring_in;
pub mod calendars;
pub mod care;
pub mod care_at_table;
pub mod change_loan;
pub mod charge_logs;
pub mod charging;
pub mod choose_reminders;
pub mod condition;
pub mod confirm_address;
pub mod correction;
pub mod demo;
pub mod disposal;
pub mod erase_reports;
pub mod errand;
pub mod events;
pub mod gather;
pub mod hand_out;
pub mod keep_connectors;
pub mod keep_kit;
mod kit_on_loan;
pub mod labels;
pub mod links;
pub mod lying;
pub mod membership;
pub mod newcomers;
pub mod night;
pub mod once;
pub mod passwords;
pub mod phones;
pub mod photos;
pub mod posters;
pub mod prepared;
pub mod profile;
pub mod reading;
pub mod reading_round;
pub mod register;
pub mod release;
pub mod remind;
pub mod report;
pub mod report_photo;
pub mod returned_mail;
pub mod rounds;
pub mod rounds_home;
mod rounds_put_on;
pub mod see_to_kit;
pub mod see_to_reports;
pub mod set_up;
pub mod settings;
pub mod sign_in;
pub mod standing;
pub mod tablet;
pub mod take_back;
pub mod tokens;
pub mod volts_now;
pub mod watching;
pub mod way_out;

use crate::club::calendar::{Instant, Zone};
use crate::club::limits::ClubLimits;
use crate::club::people::Actor;
use crate::store::club::Club;
use crate::store::log::{self, Entry};
use crate::store::{Result, Tx};
use serde::Serialize;
use uuid::Uuid;

/// Who does it, when, and under which settings of the club.
#[derive(Clone, Debug)]
pub struct By {
    pub actor: Actor,
    /// The program that acts for them; None: they do it themselves.
    pub token_id: Option<Uuid>,
    pub at: Instant,
    pub club: Club,
    pub zone: Zone,
    /// The form's one-time key and what was sent with it.
    pub key: Option<FormKey>,
}

impl By {
    /// The club's limits; a club can only have tightened the hard ones.
    pub fn limits(&self) -> ClubLimits {
        self.club.limits()
    }
}

#[derive(Clone, Debug)]
pub struct FormKey {
    pub key: String,
    pub body_hash: String,
}

/// Writes an entry about `subject`, with what it was and what it is.
pub(crate) async fn log(
    tx: &mut Tx,
    by: &By,
    verb: &str,
    subject: (&str, Uuid),
    change: (&impl Serialize, &impl Serialize),
) -> Result<()> {
    log::add(tx, &entry(by, verb, subject, change)).await
}

fn entry<'a>(
    by: &By,
    verb: &'a str,
    subject: (&'a str, Uuid),
    change: (&impl Serialize, &impl Serialize),
) -> Entry<'a> {
    let text = |value: serde_json::Result<String>| value.unwrap_or_else(|_| "null".to_owned());
    Entry {
        at: by.at,
        by: Some(by.actor.id),
        by_token: by.token_id,
        verb,
        subject: subject.0,
        subject_id: subject.1,
        before: text(serde_json::to_string(change.0)),
        after: text(serde_json::to_string(change.1)),
    }
}
