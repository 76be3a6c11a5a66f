//! The watch over a pack in quarantine begins with the quarantine, in the same transaction, and ends when the pack is released or
//! gone. A look is noted by whoever made it; danger in it is stored with it, and begins the watch anew.

use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Change};
use crate::actions::{By, report};
use crate::bench::form::{Against, Refusal};
use crate::club::book::watch::{self, Look, Period, Sign, Standing};
use crate::club::calendar::Instant;
use crate::club::seen;
use crate::club::states::State;
use crate::ids;
use crate::store::book::disposals;
use crate::store::book::watches::{self, Watch, Watching};
use crate::store::packs::{self, PackView};
use crate::store::{Conn, Db, Result, StoreError, Tx};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum LookFailed {
    #[error("There is no such pack.")]
    NoPack,
    #[error("It is not watched: it is not in quarantine.")]
    NotWatched,
    #[error("Tick what is there, or that it lies there as it lay.")]
    NothingTicked,
    #[error("It can't lie there as it lay and show something. Tick one of them.")]
    Both,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for LookFailed {
    fn against(&self) -> Against {
        match self {
            Self::NotWatched => Against::Rule,
            _ => Against::Typed,
        }
    }
}

/// How the watch over a pack stands now; None: it is not watched.
pub async fn stands(
    conn: &mut Conn,
    pack_id: Uuid,
    (now, period): (Instant, Period),
) -> Result<Option<(Watching, Standing)>> {
    let Some(over) = watches::with_looks(conn, pack_id).await? else {
        return Ok(None);
    };
    let looks: Vec<Look> = over.looks.iter().map(|made| made.look.clone()).collect();
    let standing = watch::stands(over.watch.began_ms, period, &looks, now);
    Ok(Some((over, standing)))
}

/// Somebody stays with it: nobody carries it yet.
pub(super) async fn is_watched(conn: &mut Conn, by: &By, pack_id: Uuid) -> Result<bool> {
    let stands = stands(conn, pack_id, when(by)).await?;
    Ok(stands.is_some_and(|(_, standing)| by.at < standing.watched_until))
}

/// Whether a look is due is asked of the pool alone; a look tells how the watch stands after it. Gives back where to go on.
pub async fn look(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    is_quiet: bool,
    signs: &[Sign],
) -> std::result::Result<String, LookFailed> {
    let ticked: Vec<seen::Seen> = signs.iter().filter_map(|sign| sign.comes_to()).collect();
    let found = seen::findings(&ticked, None, "");
    match (is_quiet, signs.is_empty()) {
        (false, true) => return Err(LookFailed::NothingTicked),
        // Danger counts, whatever was ticked beside it.
        (true, false) if found.is_empty() => return Err(LookFailed::Both),
        _ => {}
    }
    let mut tx = once::begin::<LookFailed>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(LookFailed::NoPack)?;
    let look = Look {
        at: by.at,
        signs: signs.to_vec(),
    };
    match watches::over(&mut tx, pack_id).await? {
        Some(over) => watches::add_look(&mut tx, over.id, &look, by.actor.id).await?,
        // Its watch ended meanwhile, and there is danger: that begins another.
        None if !found.is_empty() && !report::is_gone(&mut tx, &pack).await? => {}
        None => return Err(LookFailed::NotWatched),
    }
    for finding in &found {
        standing::find(&mut tx, by, &pack, finding, None).await?;
    }
    note_next(&mut tx, by, pack_id).await?;
    let said: Vec<&str> = signs.iter().map(|sign| sign.label()).collect();
    let about = if signs.is_empty() {
        "it lay there as it lay".to_owned()
    } else {
        said.join("; ")
    };
    let change = Change {
        verb: "looked at from a distance",
        about: Some(&about),
        ..Change::default()
    };
    standing::settle_as(&mut tx, by, &pack, change).await?;
    let answer = format!("/packs/{}/watch", pack.number);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

async fn note_next(tx: &mut Tx, by: &By, pack_id: Uuid) -> Result<()> {
    if let Some((over, standing)) = stands(tx, pack_id, when(by)).await? {
        watches::note_next(tx, over.watch.id, standing.next_look).await?;
    }
    Ok(())
}

/// Danger was found on it: a watch that goes on begins anew.
pub(super) async fn begin_anew(tx: &mut Tx, by: &By, pack_id: Uuid) -> Result<()> {
    watches::begin_anew(tx, pack_id, by.at, first_look(by)).await
}

fn first_look(by: &By) -> Instant {
    let due = watch::looks_due(by.at, by.club.in_danger.watch);
    due.first().copied().unwrap_or(by.at)
}

/// Now, and how long this club watches.
pub(super) const fn when(by: &By) -> (Instant, Period) {
    (by.at, by.club.in_danger.watch)
}

/// The club watches longer or shorter from now on: so do the watches that go on, from when they began.
pub(super) async fn weigh_anew(tx: &mut Tx, now: Instant, period: Period) -> Result<()> {
    for pack_id in watches::pack_ids(tx).await? {
        if let Some((over, standing)) = stands(tx, pack_id, (now, period)).await? {
            watches::note_next(tx, over.watch.id, standing.next_look).await?;
        }
    }
    Ok(())
}

/// Asked as a pack is settled: danger on what is still here is watched, and nothing else is.
pub(super) async fn keep(
    tx: &mut Tx,
    by: &By,
    (before, pack): (&PackView, &PackView),
    (state, is_dangerous): (State, bool),
) -> Result<()> {
    let was_watched = matches!(before.state.as_str(), "quarantine" | "retired" | "lost");
    if is_dangerous && !state.is_gone() {
        if watches::over(tx, pack.id).await?.is_some()
            || disposals::is_disposed(tx, pack.id).await?
        {
            return Ok(());
        }
        let watch = Watch {
            id: ids::new_id(),
            pack_id: pack.id,
            began_ms: by.at,
            next_ms: Some(first_look(by)),
        };
        watches::begin(tx, &watch, by.actor.person()).await
    } else if was_watched {
        let how = if state.is_gone() { "gone" } else { "released" };
        let ended = (by.actor.person(), by.at);
        watches::end(tx, pack.id, ended, how).await
    } else {
        Ok(())
    }
}
