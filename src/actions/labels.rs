//! Labels of packs: made when they are first put on a sheet, reissued when one is worn or copied, revoked when it is lost.
//! What a label opens is told by its page; here is only which code is on which pack.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::club::states::Life;
use crate::ids;
use crate::store::labels::{self, Label, Labelled};
use crate::store::{Db, StoreError, Tx};
use serde::Serialize;
use uuid::Uuid;

/// The most labels one form makes.
pub const MOST_AT_ONCE: usize = 500;

#[derive(Debug, thiserror::Error)]
pub enum LabelRefusal {
    #[error("Only a quartermaster makes labels.")]
    NotAQuartermaster,
    #[error("There is no such pack.")]
    NoPack,
    #[error("{0} is not in use and gets no label.")]
    NotInUse(String),
    #[error("Choose 1 to {MOST_AT_ONCE} packs.")]
    Count,
    #[error("{0} has no label that works.")]
    NoLabel(String),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What the log keeps of a label; not its code, which opens its page.
#[derive(Serialize)]
struct Told<'a> {
    address: &'a str,
}

async fn begin(db: &Db, by: &By) -> Result<Tx, LabelRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(LabelRefusal::NotAQuartermaster);
    }
    once::begin(db, by).await
}

async fn tell(
    tx: &mut Tx,
    by: &By,
    verb: &str,
    pack_id: Uuid,
    base: &str,
) -> Result<(), StoreError> {
    let after = Told { address: base };
    log(tx, by, verb, ("label", pack_id), (&None::<()>, &after)).await
}

/// Puts these packs, by their running numbers, on a sheet whose addresses begin with `base`: those without a label get
/// one, those out of use are left out. `answer`: where the form leads.
pub async fn put_on_sheet(
    db: &Db,
    by: &By,
    keys: &[i64],
    sent: (&str, &str),
) -> Result<(), LabelRefusal> {
    let (base, answer) = sent;
    let mut tx = begin(db, by).await?;
    let mut found = labels::of_keys(&mut tx, keys).await?;
    if let [only] = found.as_slice()
        && only.pack.life() != Life::InUse
    {
        return Err(LabelRefusal::NotInUse(only.pack.number.clone()));
    }
    found.retain(|one| one.pack.life() == Life::InUse);
    if found.is_empty() || found.len() > MOST_AT_ONCE {
        return Err(LabelRefusal::Count);
    }
    for one in &found {
        put_one(&mut tx, by, one, base).await?;
    }
    once::finish(tx, by, answer).await?;
    Ok(())
}

async fn put_one(tx: &mut Tx, by: &By, one: &Labelled, base: &str) -> Result<(), StoreError> {
    match &one.code {
        Some(code) => {
            labels::note_printed(tx, code, base, by.at).await?;
            tell(tx, by, "label printed again", one.pack.id, base).await?;
        }
        None => {
            let code = make(tx, by, one, (base, "label made")).await?;
            labels::note_printed(tx, &code, base, by.at).await?;
        }
    }
    Ok(())
}

/// The new code; it was never printed yet.
async fn make(
    tx: &mut Tx,
    by: &By,
    one: &Labelled,
    what: (&str, &str),
) -> Result<String, StoreError> {
    let (base, verb) = what;
    let label = Label {
        code: ids::new_label_code(),
        pack_id: one.pack.id,
        made_ms: by.at,
        base: base.to_owned(),
        printed_ms: labels::NEVER_PRINTED,
    };
    labels::add(tx, &label, by.actor.id).await?;
    tell(tx, by, verb, one.pack.id, base).await?;
    Ok(label.code)
}

async fn labelled(tx: &mut Tx, number: &str) -> Result<Labelled, LabelRefusal> {
    labels::of_pack(tx, number)
        .await?
        .ok_or(LabelRefusal::NoPack)
}

/// A label for a pack that has none; one that somebody made meanwhile stays.
pub async fn make_one(db: &Db, by: &By, number: &str, base: &str) -> Result<(), LabelRefusal> {
    let mut tx = begin(db, by).await?;
    let one = labelled(&mut tx, number).await?;
    if one.pack.life() != Life::InUse {
        return Err(LabelRefusal::NotInUse(one.pack.number));
    }
    if one.code.is_none() {
        make(&mut tx, by, &one, (base, "label made")).await?;
    }
    once::finish(tx, by, &format!("/packs/{number}/label")).await?;
    Ok(())
}

/// A new code in place of the old one, which leads nowhere from now on.
pub async fn reissue(db: &Db, by: &By, number: &str, base: &str) -> Result<(), LabelRefusal> {
    let mut tx = begin(db, by).await?;
    let one = labelled(&mut tx, number).await?;
    if one.pack.life() != Life::InUse {
        return Err(LabelRefusal::NotInUse(one.pack.number));
    }
    let verb = match labels::end(&mut tx, one.pack.id, by.actor.id, by.at).await? {
        0 => "label made",
        _ => "label reissued; the old one leads nowhere",
    };
    make(&mut tx, by, &one, (base, verb)).await?;
    once::finish(tx, by, &format!("/packs/{number}/label")).await?;
    Ok(())
}

/// Its code leads nowhere from now on; of a pack out of use too.
pub async fn revoke(db: &Db, by: &By, number: &str) -> Result<(), LabelRefusal> {
    let mut tx = begin(db, by).await?;
    let one = labelled(&mut tx, number).await?;
    if labels::end(&mut tx, one.pack.id, by.actor.id, by.at).await? == 0 {
        return Err(LabelRefusal::NoLabel(one.pack.number));
    }
    tell(
        &mut tx,
        by,
        "label revoked",
        one.pack.id,
        one.base.as_deref().unwrap_or_default(),
    )
    .await?;
    once::finish(tx, by, &format!("/packs/{number}/label")).await?;
    Ok(())
}
