//! A charge that runs is handed over: from now on somebody else stays with it. Who it is goes into the log by id, so that
//! erasing them leaves no name there.

use super::{ChargeRefusal, running};
use crate::actions::{By, log, once};
use crate::club::hand_over::{HandOverRefusal, Stands, Watcher, refusal, watcher_refusal};
use crate::store::{Db, Tx, charges, people};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// As the log keeps it.
#[derive(Serialize, Deserialize)]
pub struct Handed {
    pub charger: String,
    pub watched_by: Uuid,
}

/// `seen_handed`: how often it had been handed over when somebody looked. Gives back where its page is.
pub async fn hand_over(
    db: &Db,
    by: &By,
    id: Uuid,
    (to, seen_handed): (Option<Uuid>, Option<i64>),
) -> Result<String, ChargeRefusal> {
    let mut tx = once::begin::<ChargeRefusal>(db, by).await?;
    let one = running(&mut tx, id).await?;
    let to = to.ok_or(HandOverRefusal::Nobody)?;
    let watcher = watcher(&mut tx, by, to).await?;
    let stands = Stands {
        watched_by: one.charge.watched_by,
        handed: one.charge.handed_count,
        seen_handed,
    };
    if let Some(refusal) = refusal(by.actor, stands, &watcher) {
        return Err(refusal.into());
    }
    charges::hand_over(&mut tx, id, to, by.at).await?;
    let handed = |watched_by: Uuid| Handed {
        charger: one.charger_number.clone(),
        watched_by,
    };
    let change = (&handed(one.charge.watched_by), &handed(to));
    let about = ("pack", one.charge.pack_id);
    log(&mut tx, by, "charge handed over", about, change).await?;
    let answer = format!("/charges/{id}");
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

async fn watcher(tx: &mut Tx, by: &By, id: Uuid) -> Result<Watcher, ChargeRefusal> {
    let person = people::borrower(tx, id, by.zone.day_of(by.at)).await?;
    let person = person.ok_or(HandOverRefusal::Nobody)?;
    Ok(person.watcher())
}

/// Somebody else who is named as a charge is started is asked for no less than one whom it is handed to.
pub(super) async fn may_watch(tx: &mut Tx, by: &By, id: Uuid) -> Result<(), ChargeRefusal> {
    match watcher_refusal(&watcher(tx, by, id).await?) {
        Some(refusal) => Err(refusal.into()),
        None => Ok(()),
    }
}
