//! The first day: the club, its first person, who is quartermaster and organiser, and a place for dangerous packs.

use crate::actions::arrange_places::first_quarantine;
use crate::actions::passwords::Hasher;
use crate::club::calendar::{Instant, Zone};
use crate::club::care::rules::CareRules;
use crate::club::hall::Hall;
use crate::club::in_danger::InDanger;
use crate::club::limits::ClubLimits;
use crate::club::passwords::{self, PasswordRefusal};
use crate::ids;
use crate::store::club::{self, Club};
use crate::store::log::{self, Entry};
use crate::store::people::{self, Person};
use crate::store::places;
use crate::store::{Db, StoreError};
use uuid::Uuid;

pub struct NewClub {
    pub name: String,
    pub time_zone: String,
    pub person_name: String,
    pub sign_in: String,
    pub password: String,
}

#[derive(Debug, thiserror::Error)]
pub enum SetUpRefusal {
    #[error("There is a club already. Sign in to it.")]
    Exists,
    #[error("{} fields must be put right.", .0.len())]
    Wrong(Vec<Wrong>),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What is wrong with one field of the first form.
#[derive(Debug, thiserror::Error)]
pub enum Wrong {
    #[error("Give the club a name of 2 to 80 characters.")]
    Name,
    #[error("Give the time zone of the place where you meet, like Europe/London.")]
    NoTimeZone,
    #[error("There is no such time zone. Write it like Europe/London.")]
    TimeZone,
    #[error("Give your name, up to 80 characters.")]
    PersonName,
    #[error("Choose a sign-in of 2 to 80 characters without spaces; a mail address will do.")]
    SignIn,
    #[error("{0}")]
    Password(PasswordRefusal),
}

impl Wrong {
    /// The field it belongs to.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Name => "club",
            Self::NoTimeZone | Self::TimeZone => "zone",
            Self::PersonName => "name",
            Self::SignIn => "sign_in",
            Self::Password(_) => "password",
        }
    }
}

pub async fn is_new(db: &Db) -> Result<bool, StoreError> {
    let mut conn = db.read().await?;
    Ok(club::read(&mut conn).await?.is_none())
}

/// Settings a club starts with.
pub fn first_settings(name: &str, time_zone: &str, is_demo: bool, at: Instant) -> Club {
    Club {
        name: name.to_owned(),
        time_zone: time_zone.to_owned(),
        uses_fahrenheit: false,
        uses_decimal_comma: false,
        pack_prefix: "P".to_owned(),
        loan_days: 7,
        limits: ClubLimits::default(),
        care: CareRules::default(),
        may_members_borrow: false,
        hall: Hall::default(),
        in_danger: InDanger::default(),
        is_demo,
        started_ms: at,
    }
}

/// How a sign-in is compared: small letters, no outer white space.
pub fn plain_sign_in(text: &str) -> Option<String> {
    let plain = text.trim().to_lowercase();
    let count = plain.chars().count();
    let is_one_word = !plain.chars().any(|c| c.is_whitespace() || c.is_control());
    ((2..=80).contains(&count) && is_one_word).then_some(plain)
}

pub fn plain_name(text: &str) -> Option<String> {
    let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let count = plain.chars().count();
    ((1..=80).contains(&count) && !plain.chars().any(char::is_control)).then_some(plain)
}

/// Starts the club; gives back its first person's id. There is one club: sent twice, the second is refused.
pub async fn start_club(
    db: &Db,
    hasher: &Hasher,
    new: NewClub,
    at: Instant,
) -> Result<Uuid, SetUpRefusal> {
    let (name, person_name, sign_in) = checked(&new).map_err(SetUpRefusal::Wrong)?;
    let hash = hasher.hash(&new.password).await;
    let first = Person {
        id: ids::new_id(),
        name: Some(person_name),
        sign_in: Some(sign_in),
        password_hash: hash,
        table_code_hash: None,
        is_member: true,
        is_quartermaster: true,
        is_organiser: true,
        responsible_id: None,
        created_ms: at,
        deactivated_ms: None,
        erased_ms: None,
    };
    let settings = first_settings(&name, &new.time_zone, false, at);
    found(db, &settings, std::slice::from_ref(&first)).await?;
    Ok(first.id)
}

/// Its name, that of its first person and their sign-in; or all that is to be put right, in the order of the form.
pub fn checked(new: &NewClub) -> Result<(String, String, String), Vec<Wrong>> {
    let name = plain_name(&new.name).filter(|name| name.len() >= 2);
    let person_name = plain_name(&new.person_name);
    let sign_in = plain_sign_in(&new.sign_in);
    let named = [&name, &person_name, &sign_in].map(|each| each.as_deref().unwrap_or_default());
    let password = passwords::check(&new.password, &named).err();
    let wrong: Vec<Wrong> = [
        name.is_none().then_some(Wrong::Name),
        wrong_zone(&new.time_zone),
        person_name.is_none().then_some(Wrong::PersonName),
        sign_in.is_none().then_some(Wrong::SignIn),
        password.map(Wrong::Password),
    ]
    .into_iter()
    .flatten()
    .collect();
    match (name, person_name, sign_in) {
        (Some(name), Some(person_name), Some(sign_in)) if wrong.is_empty() => {
            Ok((name, person_name, sign_in))
        }
        _ => Err(wrong),
    }
}

fn wrong_zone(typed: &str) -> Option<Wrong> {
    match Zone::named(typed) {
        _ if typed.is_empty() => Some(Wrong::NoTimeZone),
        None => Some(Wrong::TimeZone),
        Some(_) => None,
    }
}

/// A club in an empty database, at the instant its settings name: the people it starts with, the first of whom starts it,
/// and a place for dangerous packs.
pub(super) async fn found(db: &Db, settings: &Club, all: &[Person]) -> Result<(), SetUpRefusal> {
    let at = settings.started_ms;
    let mut tx = db.write().await?;
    if club::read(&mut tx).await?.is_some() {
        return Err(SetUpRefusal::Exists);
    }
    club::start(&mut tx, settings).await?;
    for person in all {
        people::add(&mut tx, person).await?;
    }
    places::add(&mut tx, &first_quarantine(at)).await?;
    let first = all.first().map(|person| person.id);
    let entry = Entry {
        at,
        by: first,
        by_token: None,
        verb: "started the club",
        subject: "club",
        subject_id: first.unwrap_or_default(),
        before: "null".to_owned(),
        after: "null".to_owned(),
    };
    log::add(&mut tx, &entry).await?;
    tx.save().await?;
    Ok(())
}
