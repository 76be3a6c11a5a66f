//! Gathering by scanning: a hand-out or a take-back that grows pack by pack on one device until somebody goes on with it.
//! Nothing is handed out or taken back by it; what may go out is weighed when it does.

use crate::actions::By;
use crate::actions::once::{self, Repeat};
use crate::club::calendar::Instant;
use crate::store::gatherings::{self, Gathering, Kind};
use crate::store::{Db, StoreError, people};
use uuid::Uuid;

/// The most things one gathering holds.
pub const MOST_GATHERED: usize = 60;
/// One that nobody went on with is forgotten. Common practice, no source: an evening.
const HOURS: i64 = 12;

#[derive(Debug, thiserror::Error)]
pub enum GatherRefusal {
    #[error("Only a quartermaster takes back at the table.")]
    NotAQuartermaster,
    #[error("Choose who borrows.")]
    NoPerson,
    #[error("A quartermaster hands out. Ask one.")]
    NotYourself,
    #[error("Nothing is being gathered on this device. Begin with Hand out or Take back.")]
    Nothing,
    #[error(
        "This list is open on this device. Go on with it or forget it, then begin another one."
    )]
    AnotherOpen,
    #[error("That is as much as one list holds. Go on with these first.")]
    Full,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// One that was last added to since then is still open.
pub fn open_since(now: Instant) -> Instant {
    now.plus_minutes(-60 * HOURS)
}

/// These and those, each once; as many as one list holds.
fn joined<'a>(numbers: impl Iterator<Item = &'a str>) -> Result<String, GatherRefusal> {
    let mut all: Vec<&str> = Vec::new();
    for number in numbers {
        if !all.contains(&number) {
            all.push(number);
        }
    }
    if all.len() > MOST_GATHERED {
        return Err(GatherRefusal::Full);
    }
    Ok(all.join(" "))
}

/// Begins one, or goes on with the same one; a list for another end is not thrown away. A member gathers only for an own
/// loan, where the club lets members borrow.
pub async fn begin(db: &Db, by: &By, session: Uuid, what: &Gathering) -> Result<(), GatherRefusal> {
    let is_quartermaster = by.actor.roles.is_quartermaster;
    let is_own = what.borrower_id == Some(by.actor.id);
    match what.kind() {
        Kind::TakeBack if !is_quartermaster => return Err(GatherRefusal::NotAQuartermaster),
        Kind::HandOut if what.borrower_id.is_none() => return Err(GatherRefusal::NoPerson),
        Kind::HandOut if !(is_quartermaster || by.club.may_members_borrow && is_own) => {
            return Err(GatherRefusal::NotYourself);
        }
        _ => {}
    }
    let mut tx = once::begin::<GatherRefusal>(db, by).await?;
    if let Some(id) = what.borrower_id
        && people::listed(&mut tx, id).await?.is_none()
    {
        return Err(GatherRefusal::NoPerson);
    }
    let open = gatherings::of_session(&mut tx, session, open_since(by.at)).await?;
    let open = open.filter(|open| !open.items.is_empty());
    let before = match &open {
        Some(open) if open.kind == what.kind && open.borrower_id == what.borrower_id => {
            open.numbers()
        }
        Some(_) => return Err(GatherRefusal::AnotherOpen),
        None => Vec::new(),
    };
    let after = Gathering {
        items: joined(before.into_iter().chain(what.numbers()))?,
        ..what.clone()
    };
    gatherings::put(&mut tx, session, &after, by.at).await?;
    Ok(once::finish(tx, by, "/gather").await?)
}

/// Adds `add` and leaves `drop` out; what is there already is there once.
pub async fn change(
    db: &Db,
    by: &By,
    session: Uuid,
    change: (&[String], &[String]),
) -> Result<(), GatherRefusal> {
    let (add, drop) = change;
    let mut tx = once::begin::<GatherRefusal>(db, by).await?;
    let open = gatherings::of_session(&mut tx, session, open_since(by.at)).await?;
    let before = open.ok_or(GatherRefusal::Nothing)?;
    let kept = before.numbers().into_iter();
    let kept = kept.filter(|number| !drop.iter().any(|gone| gone == number));
    let after = Gathering {
        items: joined(kept.chain(add.iter().map(String::as_str)))?,
        ..before.clone()
    };
    gatherings::put(&mut tx, session, &after, by.at).await?;
    Ok(once::finish(tx, by, "/gather").await?)
}

/// Ends it. `lead`: where what was gathered goes on.
pub async fn end(
    db: &Db,
    by: &By,
    session: Uuid,
    lead: impl Fn(&Gathering) -> String,
) -> Result<String, GatherRefusal> {
    let mut tx = once::begin::<GatherRefusal>(db, by).await?;
    let open = gatherings::of_session(&mut tx, session, open_since(by.at)).await?;
    let address = lead(&open.ok_or(GatherRefusal::Nothing)?);
    gatherings::end(&mut tx, session).await?;
    once::finish(tx, by, &address).await?;
    Ok(address)
}
