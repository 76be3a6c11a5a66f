//! Charge logs of packs: a file is kept on its way, what was chosen about it is noted, one of its logs is stored, a log is
//! removed. What a log shows is worked out before it comes here: nothing slow is done while others wait for their turn.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::club::calendar::Day;
use crate::club::charge_log::MOST_LOGS;
use crate::club::charge_log::read_back::{Choices, Ready};
use crate::club::charge_log::which_charge::Logged;
use crate::club::people::Actor;
use crate::ids;
use crate::store::charges::logs::{self as store, Arrived, Listed, NewLog, Waiting};
use crate::store::{Db, StoreError, Tx, packs};
use serde::Serialize;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum ChargeLogRefusal {
    #[error("There is no such pack.")]
    NoPack,
    #[error("There is no such log.")]
    NoLog,
    #[error("Only who handles packs brings in logs of them.")]
    NotYours,
    #[error("Only a quartermaster, or who brought it in, removes a log.")]
    NotYoursToRemove,
    #[error("{MOST_LOGS} logs of one pack are enough. Remove one first.")]
    Enough,
    #[error("This log is on record already. It was brought in before.")]
    OnRecord,
    #[error(
        "It looks like the log of another pack: tick that it is the log of this one, or forget the file."
    )]
    Doubted,
    #[error("Something else was chosen meanwhile. Look at it again.")]
    ChosenAnew,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What the club's log keeps of a charge log.
#[derive(Serialize)]
struct Told<'a> {
    original_sha256: &'a str,
    run: i64,
}

/// Where it is read back.
fn read_back_at(id: Uuid) -> String {
    format!("/charge-logs/read-back/{id}")
}

async fn begin(db: &Db, by: &By) -> Result<Tx, ChargeLogRefusal> {
    if !by.actor.roles.may_log_volts() {
        return Err(ChargeLogRefusal::NotYours);
    }
    once::begin(db, by).await
}

async fn finish(tx: Tx, by: &By, address: String) -> Result<String, ChargeLogRefusal> {
    once::finish(tx, by, &address).await?;
    Ok(address)
}

/// Gives back where it is read back.
pub async fn send(
    db: &Db,
    by: &By,
    number: &str,
    arrived: &Arrived<'_>,
) -> Result<String, ChargeLogRefusal> {
    let mut tx = begin(db, by).await?;
    let pack = packs::by_number(&mut tx, number).await?;
    let pack = pack.ok_or(ChargeLogRefusal::NoPack)?;
    let (id, of) = (ids::new_id(), (by.actor.id, by.at));
    store::wait(&mut tx, id, pack.id, of, arrived).await?;
    finish(tx, by, read_back_at(id)).await
}

pub async fn choose(
    db: &Db,
    by: &By,
    id: Uuid,
    choices: &Choices,
) -> Result<String, ChargeLogRefusal> {
    let mut tx = begin(db, by).await?;
    if !store::choose(&mut tx, id, by.actor.id, choices).await? {
        return Err(ChargeLogRefusal::NoLog);
    }
    finish(tx, by, read_back_at(id)).await
}

/// `ready` is what `waiting` came to; `is_of_it`: a person says that it is this pack's, whatever speaks against it. A file with
/// other logs in it stays on its way for them.
pub async fn keep(
    db: &Db,
    by: &By,
    waiting: &Waiting,
    ready: &Ready,
    is_of_it: bool,
) -> Result<String, ChargeLogRefusal> {
    let mut tx = begin(db, by).await?;
    let still = store::own_waiting(&mut tx, waiting.waiting_id, by.actor.id).await?;
    let still = still.ok_or(ChargeLogRefusal::NoLog)?;
    if still.choices != waiting.choices {
        return Err(ChargeLogRefusal::ChosenAnew);
    }
    if !is_of_it && !ready.doubted.is_empty() {
        return Err(ChargeLogRefusal::Doubted);
    }
    let (digest, run) = (still.original_sha256.clone(), ready.run as i64);
    let there = store::of_pack(&mut tx, still.pack.id).await?;
    if there.len() >= MOST_LOGS {
        return Err(ChargeLogRefusal::Enough);
    }
    if there
        .iter()
        .any(|log| log.original_sha256 == digest && log.run == run)
    {
        return Err(ChargeLogRefusal::OnRecord);
    }
    let id = ids::new_id();
    let choices = still.choices()?;
    let logged = Logged {
        on: choices.logged_on.as_deref().and_then(Day::parse),
        brought_in: by.at,
        is_charge: ready.log.is_charge(),
        moved_mah: (ready.log.charged_mah - ready.log.discharged_mah)
            .abs()
            .round() as i64,
        seconds: ready.log.seconds.round() as i64,
    };
    let new = NewLog {
        id,
        pack_id: still.pack.id,
        by: (by.actor.id, by.at),
        logged_on: choices.logged_on.as_deref(),
        name: &still.file_name,
        original_sha256: &digest,
        run,
        sign: ready.sign,
        told: &ready.log,
        points: &ready.points,
        span: logged.span(&by.zone),
    };
    store::add(&mut tx, &new).await?;
    if ready.is_only {
        store::forget(&mut tx, still.waiting_id, by.actor.id).await?;
    }
    let of = (still.pack.id, digest.as_str(), run);
    tell(&mut tx, by, "charge log brought in", of).await?;
    finish(tx, by, format!("/charge-logs/{id}")).await
}

/// A form about a file that is not on its way any more: the same form gets the same answer.
pub async fn gone(db: &Db, by: &By) -> Result<String, ChargeLogRefusal> {
    drop(begin(db, by).await?);
    Err(ChargeLogRefusal::NoLog)
}

/// Nothing of it is stored. Gives back where another is brought in.
pub async fn forget(db: &Db, by: &By, id: Uuid) -> Result<String, ChargeLogRefusal> {
    let mut tx = begin(db, by).await?;
    let waiting = store::own_waiting(&mut tx, id, by.actor.id).await?;
    let waiting = waiting.ok_or(ChargeLogRefusal::NoLog)?;
    store::forget(&mut tx, id, by.actor.id).await?;
    let address = format!(
        "/packs/{}/charge-logs/new?forgotten=yes",
        waiting.pack.number
    );
    finish(tx, by, address).await
}

/// Gives back where the others are.
pub async fn remove(db: &Db, by: &By, id: Uuid) -> Result<String, ChargeLogRefusal> {
    let mut tx = once::begin::<ChargeLogRefusal>(db, by).await?;
    let found = store::by_id(&mut tx, id).await?;
    let found = found.ok_or(ChargeLogRefusal::NoLog)?;
    let listed = found.listed;
    if !may_remove(&by.actor, &listed) {
        return Err(ChargeLogRefusal::NotYoursToRemove);
    }
    store::remove(&mut tx, id).await?;
    let of = (listed.pack_id, listed.original_sha256.as_str(), listed.run);
    tell(&mut tx, by, "charge log removed", of).await?;
    finish(tx, by, format!("/packs/{}/charge-logs", found.pack.number)).await
}

pub fn may_remove(actor: &Actor, log: &Listed) -> bool {
    actor.roles.is_quartermaster || log.added_by == actor.id
}

async fn tell(
    tx: &mut Tx,
    by: &By,
    verb: &str,
    (pack, original_sha256, run): (Uuid, &str, i64),
) -> Result<(), StoreError> {
    let told = Told {
        original_sha256,
        run,
    };
    log(tx, by, verb, ("charge_log", pack), (&None::<()>, &told)).await
}
