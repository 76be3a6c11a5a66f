//! Release from quarantine: a second person, volts inside limits logged since, a watch that is over, a reason. Never after
//! final danger.

use crate::actions::once::{self, Repeat};
use crate::actions::reading::verdict_of;
use crate::actions::standing::{self, settle_saying};
use crate::actions::{By, watching};
use crate::bench::form::{Against, Refusal};
use crate::club::book::watch::{self, WatchRefusal};
use crate::club::calendar::Instant;
use crate::club::release::{self, Inside, Quarantined, ReleaseRefusal, Releaser};
use crate::club::verdict::{Finding, Gravity};
use crate::store::book::looks;
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::{Db, Result, StoreError, Tx, people, readings};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum ReleaseFailed {
    #[error("There is no such pack.")]
    NoPack,
    #[error(
        "Danger was reported by somebody whose word was not taken for it, and nobody said yet whether it was so. Look at it, and say so on the report."
    )]
    NotLookedAt,
    #[error(transparent)]
    Watched(WatchRefusal),
    #[error(transparent)]
    Refused(#[from] ReleaseRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for ReleaseFailed {
    fn against(&self) -> Against {
        match self {
            Self::Refused(refusal) => refusal.against(),
            Self::Watched(refusal) => refusal.against(),
            Self::NotLookedAt => Against::Rule,
            _ => Against::Typed,
        }
    }
}

pub async fn release(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    reason: &str,
) -> std::result::Result<PackView, ReleaseFailed> {
    let mut tx = once::begin::<ReleaseFailed>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(ReleaseFailed::NoPack)?;
    let open = findings::open(&mut tx, pack_id).await?;
    let dangers: Vec<&Found> = open
        .iter()
        .filter(|found| found.gravity() >= Gravity::Danger)
        .collect();
    let gravities: Vec<Gravity> = open.iter().map(Found::gravity).collect();
    let quarantined = Quarantined {
        open: &gravities,
        since: dangers
            .iter()
            .map(|found| found.found_ms)
            .max()
            .unwrap_or(by.at),
        last_reading: last_reading(&mut tx, by, &pack).await?,
        quartermasters_in_club: people::quartermaster_count(&mut tx).await?,
        is_on_loan: pack.is_lent(),
    };
    let releaser = releaser(&mut tx, by, &dangers).await?;
    may_release(&mut tx, by, (&quarantined, releaser), (pack_id, reason)).await?;
    // It lay with the dangerous ones; where it goes now is not known.
    if standing::lies_in_quarantine(&mut tx, &pack).await? {
        packs::set_place(&mut tx, pack_id, None).await?;
    }
    for found in &dangers {
        findings::close(&mut tx, found.id, by.actor.id, reason.trim(), by.at).await?;
    }
    let said = ("released from quarantine", Some(reason.trim()));
    let after = settle_saying(&mut tx, by, &pack, said).await?;
    once::finish(tx, by, &format!("/packs/{}", pack.number)).await?;
    Ok(after)
}

/// What stands against it by the rules, by its watch, and by what a stranger reported.
async fn may_release(
    tx: &mut Tx,
    by: &By,
    (quarantined, releaser): (&Quarantined<'_>, Releaser),
    (pack_id, reason): (Uuid, &str),
) -> std::result::Result<(), ReleaseFailed> {
    match watching::stands(tx, pack_id, watching::when(by)).await? {
        Some((.., standing)) => watch::may_release(&standing, quarantined, releaser, reason)
            .map_err(ReleaseFailed::from)?,
        None => release::may_release(quarantined, releaser, reason)?,
    }
    if looks::awaits_a_look(tx, pack_id).await? {
        return Err(ReleaseFailed::NotLookedAt);
    }
    Ok(())
}

impl From<WatchRefusal> for ReleaseFailed {
    fn from(refusal: WatchRefusal) -> Self {
        match refusal {
            WatchRefusal::Release(refusal) => Self::Refused(refusal),
            WatchRefusal::NotOver => Self::Watched(refusal),
        }
    }
}

async fn releaser(tx: &mut Tx, by: &By, dangers: &[&Found]) -> Result<Releaser> {
    let me = Some(by.actor.id);
    let mut is_last_holder = false;
    for holder in dangers.iter().filter_map(|found| found.last_holder_id) {
        let person = people::by_id(tx, holder).await?;
        let answers_for = person.and_then(|person| person.responsible_id);
        is_last_holder |= Some(holder) == me || answers_for == me;
    }
    Ok(Releaser {
        is_quartermaster: by.actor.roles.is_quartermaster,
        is_organiser: by.actor.roles.is_organiser,
        is_reporter: dangers.iter().any(|found| found.found_by == me),
        is_last_holder,
    })
}

/// When the newest reading was taken and whether its volts are inside the limits; None when it was not read.
async fn last_reading(tx: &mut Tx, by: &By, pack: &PackView) -> Result<Option<(Instant, Inside)>> {
    let newest = last_volts(tx, by, pack).await?;
    Ok(newest.map(|(at, findings)| (at, Inside::of(&findings))))
}

/// When the newest volts were read, and what they come to by the limits of now. What somebody corrected does not count.
pub(super) async fn last_volts(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
) -> Result<Option<(Instant, Vec<Finding>)>> {
    let newest = readings::latest_uncorrected(tx, pack.id, false).await?;
    let newest =
        newest.and_then(|reading| Some((reading.taken_ms, verdict_of(by, pack, &reading)?)));
    Ok(newest)
}
