//! The demo: the invented Millrace Robotics Club with ten weeks behind it, to look round in before a club of one's own is
//! started. Its story is told by the same verbs that people use, at instants that have passed, so that nothing stands in
//! it that the program would not have written. Ending it empties the database.

mod care;
mod charge_log;
mod charges;
mod evenings;
mod incident;
mod pool;

use crate::actions::By;
use crate::actions::passwords::Hasher;
use crate::actions::set_up::{self, SetUpRefusal, first_settings};
use crate::club::calendar::{Instant, Zone};
use crate::club::hall::Hall;
use crate::club::people::{Actor, Role, Roles};
use crate::ids;
use crate::store::club::{self, Club};
use crate::store::people::Person;
use crate::store::{Db, StoreError};
use uuid::Uuid;

pub const CLUB: &str = "Millrace Robotics Club";
const TIME_ZONE: &str = "Europe/London";
/// How long ago the club of the demo started.
const DAYS: i64 = 70;

#[derive(Debug, thiserror::Error)]
pub enum DemoRefusal {
    #[error(
        "There is a club in this database already; the demo only goes into an empty one. Name another database, or end the demo that is there."
    )]
    Exists,
    #[error("This club is no demo, so nothing ends it here.")]
    NoDemo,
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// How to sign in as one of the three roles.
#[derive(Clone)]
pub struct SignIn {
    pub role: Role,
    pub sign_in: &'static str,
    pub password: String,
}

/// Whoever plays a part. Quinn, Orla and Mo have a sign-in.
struct Cast {
    quinn: Uuid,
    orla: Uuid,
    mo: Uuid,
    ada: Uuid,
    bram: Uuid,
}

/// Tells the story: who acts, and when.
struct Teller<'a> {
    db: &'a Db,
    club: Club,
    zone: Zone,
    now: Instant,
    cast: Cast,
}

/// Founds the demo club in an empty database; gives back its sign-ins, whose passwords are kept nowhere else.
/// `base`: what the addresses of its labels begin with.
pub async fn start(
    db: &Db,
    hasher: &Hasher,
    (now, base): (Instant, &str),
) -> Result<Vec<SignIn>, DemoRefusal> {
    let sign_ins = [
        (Role::Quartermaster, "quinn"),
        (Role::Member, "mo"),
        (Role::Organiser, "orla"),
    ]
    .map(|(role, sign_in)| SignIn {
        role,
        sign_in,
        password: ids::new_code(4),
    });
    let mut hashes = Vec::new();
    for each in &sign_ins {
        let hash = hasher.hash(&each.password).await;
        hashes.push(hash.ok_or_else(|| slip("a password could not be hashed"))?);
    }
    let teller = found(db, hashes, now).await?;
    let told = tell(&teller, base).await;
    if told.is_err() {
        // Half a story is none.
        end(db).await?;
    }
    told?;
    Ok(sign_ins.into())
}

async fn tell(teller: &Teller<'_>, base: &str) -> Result<(), StoreError> {
    pool::arrange(teller, base).await?;
    evenings::tell(teller).await?;
    teller.event_and_round().await
}

/// Empties the database of the demo club, its people and sessions too; the first page is the first page again. Asked and
/// done in one transaction: whoever ends it too must not end the club that was started meanwhile.
pub async fn end(db: &Db) -> Result<(), DemoRefusal> {
    let mut tx = db.write().await?;
    if !club::read(&mut tx).await?.is_some_and(|club| club.is_demo) {
        return Err(DemoRefusal::NoDemo);
    }
    tx.empty().await?;
    tx.save().await?;
    Ok(())
}

/// An invented one.
fn hall() -> Hall {
    Hall {
        emergency_number: "112".to_owned(),
        address: "Millrace Robotics Club\nThe Old Wheelhouse, Sluice Lane 2".to_owned(),
        plan: "Sand and tongs stand by the yard door: Orla and Quinn use them, nobody else. Everybody goes out.".to_owned(),
        meeting_point: "The bench across the lane".to_owned(),
    }
}

/// The club, its people and its quarantine place.
async fn found(db: &Db, hashes: Vec<String>, now: Instant) -> Result<Teller<'_>, DemoRefusal> {
    let zone = Zone::named(TIME_ZONE).unwrap_or_else(Zone::utc);
    let club = Club {
        hall: hall(),
        ..first_settings(CLUB, TIME_ZONE, true, now.plus_days(-DAYS))
    };
    let cast = Cast {
        quinn: ids::new_id(),
        orla: ids::new_id(),
        mo: ids::new_id(),
        ada: ids::new_id(),
        bram: ids::new_id(),
    };
    let people = people_of(&cast, hashes, club.started_ms);
    match set_up::found(db, &club, &people).await {
        Ok(()) => {}
        Err(SetUpRefusal::Store(error)) => return Err(error.into()),
        Err(_) => return Err(DemoRefusal::Exists),
    }
    Ok(Teller {
        db,
        club,
        zone,
        now,
        cast,
    })
}

/// `hashes`: of Quinn's, Mo's and Orla's passwords.
fn people_of(cast: &Cast, hashes: Vec<String>, at: Instant) -> Vec<Person> {
    let all = [
        (
            cast.quinn,
            "Quinn Arkwright",
            Some("quinn"),
            (true, true, false),
        ),
        (cast.mo, "Mo Tennant", Some("mo"), (true, false, false)),
        (
            cast.orla,
            "Orla Fenwick",
            Some("orla"),
            (false, false, true),
        ),
        (cast.ada, "Ada Sluys", None, (true, false, false)),
        (cast.bram, "Bram Oakes", None, (true, false, false)),
    ];
    let mut hashes = hashes.into_iter();
    all.map(|(id, name, sign_in, roles)| Person {
        id,
        name: Some(name.to_owned()),
        sign_in: sign_in.map(str::to_owned),
        password_hash: sign_in.and_then(|_| hashes.next()),
        table_code_hash: None,
        is_member: roles.0,
        is_quartermaster: roles.1,
        is_organiser: roles.2,
        responsible_id: None,
        created_ms: at,
        deactivated_ms: None,
        erased_ms: None,
    })
    .into()
}

impl Teller<'_> {
    /// So many days ago at `HH:MM` in the hall.
    fn on(&self, days_ago: i64, hour_minute: &str) -> Instant {
        let day = self.zone.day_of(self.now).plus_days(-days_ago);
        self.zone
            .at(day, hour_minute)
            .unwrap_or_else(|| self.now.plus_days(-days_ago))
    }

    fn quinn(&self, at: Instant) -> By {
        self.by(self.cast.quinn, (true, true, false), at)
    }

    fn member(&self, id: Uuid, at: Instant) -> By {
        self.by(id, (true, false, false), at)
    }

    fn by(&self, id: Uuid, roles: (bool, bool, bool), at: Instant) -> By {
        By {
            actor: Actor {
                id,
                roles: Roles {
                    is_member: roles.0,
                    is_quartermaster: roles.1,
                    is_organiser: roles.2,
                },
            },
            token_id: None,
            at,
            club: self.club.clone(),
            zone: self.zone.clone(),
            key: None,
        }
    }
}

/// A verb that refuses here means that the story is wrong, and that is a bug of ours.
fn slip(refusal: impl std::fmt::Display) -> StoreError {
    StoreError::Internal(format!("the demo's story does not hold: {refusal}"))
}
