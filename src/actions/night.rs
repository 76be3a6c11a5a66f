//! Open the night once: place, end, who is on duty. Every loan made while it is open inherits it.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Day;
use crate::ids;
use crate::store::nights::{self, Night};
use crate::store::{Db, StoreError, people, places};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What the log keeps of a night.
#[derive(Serialize, Deserialize)]
pub struct NightTold {
    pub place: Uuid,
    pub on_duty: Uuid,
    pub ends_on: String,
    pub ends_at: String,
}

impl NightTold {
    fn of(night: &Night) -> Self {
        Self {
            place: night.place_id,
            on_duty: night.on_duty_id,
            ends_on: night.ends_on.clone(),
            ends_at: night.ends_at.clone(),
        }
    }
}

pub struct NewNight {
    pub place_id: Uuid,
    pub on_duty_id: Uuid,
    pub ends_on: Day,
    /// `HH:MM`
    pub ends_at: String,
}

#[derive(Debug, thiserror::Error)]
pub enum NightRefusal {
    #[error("Only a quartermaster opens and closes the night.")]
    NotAQuartermaster,
    #[error("A night is open already. Close it first.")]
    OpenAlready,
    #[error("No night is open.")]
    NotOpen,
    #[error("Choose a place of the club.")]
    NoPlace,
    #[error("That is a quarantine place; choose where the night is.")]
    Quarantine,
    #[error("Choose who is on duty.")]
    NoPerson,
    #[error("Give an end that still lies ahead, within a month, like 21:30.")]
    End,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for NightRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::OpenAlready | Self::NotOpen => Against::Rule,
            _ => Against::Typed,
        }
    }
}

impl NightRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::NoPerson => "on_duty",
            Self::End => "ends_on",
            _ => "place",
        }
    }
}

pub async fn open(db: &Db, by: &By, new: &NewNight) -> Result<(), NightRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(NightRefusal::NotAQuartermaster);
    }
    let ends = by
        .zone
        .at(new.ends_on, &new.ends_at)
        .filter(|end| *end > by.at && *end < by.at.plus_days(31));
    ends.ok_or(NightRefusal::End)?;
    let mut tx = once::begin::<NightRefusal>(db, by).await?;
    if nights::open_now(&mut tx).await?.is_some() {
        return Err(NightRefusal::OpenAlready);
    }
    let place = places::by_id(&mut tx, new.place_id)
        .await?
        .filter(|place| place.closed_ms.is_none())
        .ok_or(NightRefusal::NoPlace)?;
    if place.is_quarantine() {
        return Err(NightRefusal::Quarantine);
    }
    people::by_id(&mut tx, new.on_duty_id)
        .await?
        .filter(people::Person::is_active)
        .ok_or(NightRefusal::NoPerson)?;
    let night = Night {
        id: ids::new_id(),
        place_id: new.place_id,
        place_name: String::new(),
        on_duty_id: new.on_duty_id,
        on_duty_name: None,
        ends_on: new.ends_on.to_string(),
        ends_at: new.ends_at.trim().to_owned(),
        opened_ms: by.at,
    };
    nights::open(&mut tx, &night, by.actor.id).await?;
    log(
        &mut tx,
        by,
        "opened the night",
        ("night", night.id),
        (&None::<()>, &NightTold::of(&night)),
    )
    .await?;
    once::finish(tx, by, "/night").await?;
    Ok(())
}

pub async fn close(db: &Db, by: &By) -> Result<(), NightRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(NightRefusal::NotAQuartermaster);
    }
    let mut tx = once::begin::<NightRefusal>(db, by).await?;
    let night = nights::open_now(&mut tx)
        .await?
        .ok_or(NightRefusal::NotOpen)?;
    nights::close(&mut tx, night.id, by.at).await?;
    log(
        &mut tx,
        by,
        "closed the night",
        ("night", night.id),
        (&NightTold::of(&night), &None::<()>),
    )
    .await?;
    once::finish(tx, by, "/night").await?;
    Ok(())
}
