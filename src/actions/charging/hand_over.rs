//! A charge that runs is handed over: from now on somebody else stays with it. Who it is goes into the log by id, so that
//! erasing them leaves no name there.

use super::{ChargeRefusal, running};
use crate::actions::{By, log, once};
use crate::club::hand_over::{HandOverRefusal, Stands, Watcher, refusal};
use crate::store::{Db, charges, people};
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
    let today = by.zone.day_of(by.at);
    let person = people::borrower(&mut tx, to, today)
        .await?
        .ok_or(HandOverRefusal::Nobody)?;
    let watcher = Watcher {
        id: person.id,
        name: person.name,
        roles: person.roles,
        is_active: person.is_active,
        induction: person.induction,
    };
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
