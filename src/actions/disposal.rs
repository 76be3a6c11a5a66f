//! Getting rid of a retired pack for good. What is asked is `club::disposal`'s; its watch must be over,
//! or it must stand on record that it burnt.

use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Change};
use crate::actions::{By, book, release, watching};
use crate::bench::FieldProblem;
use crate::club::book::story::{Story, happened};
use crate::club::calendar::{Instant, day_words};
use crate::club::discharge::{OnRecord, Stands};
use crate::club::disposal::{DisposalRefusal, Harmless, Leaving, Told, may_dispose};
use crate::club::seen::Seen;
use crate::club::verdict::{Gravity, Rule};
use crate::store::book::disposals::{self, NewDisposal};
use crate::store::book::{entries, looks, watches};
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::photos::Picture;
use crate::store::{Db, StoreError, Tx};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum DisposalFailed {
    #[error("There is no such pack.")]
    NoPack,
    #[error("{} things are to be put right.", .0.len())]
    Told(Vec<FieldProblem>),
    #[error(transparent)]
    Refused(#[from] DisposalRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// All that is wrong with it, before it is read back.
pub async fn check(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    told: &Told<'_>,
) -> Result<(), DisposalFailed> {
    let is_disposed = disposals::is_disposed(tx, pack.id).await?;
    let watch = watching::stands(tx, pack.id, watching::when(by)).await?;
    let open = findings::open(tx, pack.id).await?;
    let leaving = Leaving {
        life: pack.life(),
        is_disposed,
        is_watched: watch
            .as_ref()
            .is_some_and(|(_, standing)| !standing.is_over),
        has_burnt: told.harmless == Some(Harmless::BurntOut)
            && has_burnt(tx, by, pack, &open).await?,
    };
    may_dispose(&leaving, told.harmless, by.actor.roles.is_quartermaster)?;
    let record = OnRecord {
        open: open.iter().map(stands).collect(),
        read: release::last_volts(tx, by, pack).await?,
        is_unlooked: looks::awaits_a_look(tx, pack.id).await?,
    };
    // Who fills this in some days later reckons from the day on which it was handed in.
    let handed_in = told.disposed_on.map_or(by.at, |day| by.zone.end_of(day));
    let against = record.against_discharge(handed_in.min(by.at));
    let read = record.read.as_ref().map(|(at, _)| *at);
    let watched = watch.map(|(over, _)| {
        let looks = over.looks.iter().map(|made| made.look.at);
        looks.fold(over.watch.began_ms, Instant::max)
    });
    let seen_here = read.max(watched).map(|at| by.zone.day_of(at));
    let problems = told.problems(&against, (seen_here, by.zone.day_of(by.at)));
    if problems.is_empty() {
        Ok(())
    } else {
        Err(DisposalFailed::Told(problems))
    }
}

fn stands(found: &Found) -> Stands {
    Stands {
        rule: found.rule(),
        gravity: found.gravity(),
        words: found.words.clone(),
    }
}

/// A pack that burns is put in quarantine within the day; before that it was in use, and so did not burn.
const BURNT_BEFORE_DAYS: i64 = 1;

async fn has_burnt(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    open: &[Found],
) -> Result<bool, StoreError> {
    let burnt = Some(Rule::Seen(Seen::SmokeOrFire));
    if open.iter().any(|found| found.rule() == burnt) {
        return Ok(true);
    }
    let dangers = open.iter().filter(|one| one.gravity() >= Gravity::Danger);
    let lies_since = dangers
        .map(|one| one.found_ms)
        .fold(pack.state_ms, Instant::min);
    let since = lies_since.plus_days(-BURNT_BEFORE_DAYS);
    for incident in entries::incidents_naming(tx, &pack.number).await? {
        // An entry that can't be read vouches for nothing.
        let sealed = book::sealed(&entries::of_incident(tx, &incident).await?);
        let all = sealed.unwrap_or_default();
        let story = Story::of(&all);
        if story.may_have_burnt(&pack.number) && happened(&all, &story, &by.zone) >= since {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Whether it may be read back: asked once more when it is done.
pub async fn may(db: &Db, by: &By, pack_id: Uuid, told: &Told<'_>) -> Result<(), DisposalFailed> {
    let mut tx = db.write().await?;
    let pack = packs::by_id(&mut tx, pack_id).await?;
    let pack = pack.ok_or(DisposalFailed::NoPack)?;
    check(&mut tx, by, &pack, told).await
}

pub async fn dispose(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    (told, photo): (&Told<'_>, Option<&Picture>),
) -> Result<String, DisposalFailed> {
    let mut tx = once::begin::<DisposalFailed>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id).await?;
    let pack = pack.ok_or(DisposalFailed::NoPack)?;
    check(&mut tx, by, &pack, told).await?;
    let harmless = told.harmless.unwrap_or(Harmless::Packed);
    let day = told
        .disposed_on
        .map_or_else(String::new, |day| day.to_string());
    let new = NewDisposal {
        pack_id,
        harmless: harmless.code(),
        handed_in: told.handed_in.trim(),
        receipt: told.receipt.trim(),
        disposed_on: &day,
        mass_g: told.mass_g,
        photo,
    };
    disposals::add(&mut tx, &new, (by.actor.id, by.at)).await?;
    let ended = (by.actor.person(), by.at);
    watches::end(&mut tx, pack_id, ended, "disposed").await?;
    packs::set_place(&mut tx, pack_id, None).await?;
    // Nothing stands against what is gone; the log keeps what stood.
    for found in findings::open(&mut tx, pack_id).await? {
        let words = "Disposed of.";
        findings::close(&mut tx, found.id, by.actor.id, words, by.at).await?;
    }
    let on = told.disposed_on.map_or_else(String::new, day_words);
    let because = format!("Disposed of on {on}: it is gone.");
    let about = format!("{}; {}", harmless.label(), new.handed_in);
    let change = Change {
        verb: "disposed of",
        about: Some(&about),
        because: Some(&because),
        ..Change::default()
    };
    standing::settle_as(&mut tx, by, &pack, change).await?;
    let answer = format!("/packs/{}/disposal", pack.number);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}
