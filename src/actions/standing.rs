//! How a pack stands: after every change its open findings and its last reading are weighed anew, the state is stored
//! and the log told. Every action on a pack ends here, so no change can go unlogged and no state be set by hand.

use crate::actions::{By, log, watching};
use crate::club::batch::is_fault_of_make;
use crate::club::calendar::Instant;
use crate::club::places::PlaceKind;
use crate::club::reminders::at_once;
use crate::club::reports::is_sent_twice;
use crate::club::sighting::{self, is_carried, is_sighting};
use crate::club::states::{self, Life, State};
use crate::club::verdict::{Finding, Gravity};
use crate::ids;
use crate::store::findings::{self, Found};
use crate::store::packs::{self, NewPack, NewState, PackView};
use crate::store::{Result, StoreError, Tx, lent, places, sightings};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

mod why;
use why::{is_by_age, why};

/// What the log keeps of a pack: enough to say, for any day and hour, where it was, with whom and in which state.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Standing {
    pub number: String,
    pub state: String,
    pub why: String,
    pub life: String,
    pub place: Option<Uuid>,
    /// What that place was called then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place_name: Option<String>,
    pub holder: Option<Uuid>,
    pub due: Option<String>,
    pub read_ms: Option<i64>,
    pub volts: Option<String>,
    /// What was seen, mended or corrected, or read beside the volts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
    /// What the person gave as their reason for this change.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

impl Standing {
    /// Of a pack that is just registered; `place_name`: that of its place.
    pub(super) fn registered(pack: &NewPack, place_name: Option<&str>) -> Self {
        Self {
            number: pack.number.clone(),
            state: State::NotKnown.code().to_owned(),
            why: pack.state_words.to_owned(),
            life: Life::InUse.code().to_owned(),
            place: pack.details.place_id,
            place_name: place_name.map(str::to_owned),
            holder: None,
            due: None,
            read_ms: None,
            volts: None,
            about: None,
            reason: None,
        }
    }

    pub fn of(pack: &PackView) -> Self {
        Self {
            number: pack.number.clone(),
            state: pack.state.clone(),
            why: pack.state_words.clone(),
            life: pack.life.clone(),
            place: pack.place_id,
            place_name: pack.place_name.clone(),
            holder: pack.with_id(),
            due: pack.due_on.clone().or_else(|| pack.home_by.clone()),
            read_ms: pack.last_read_ms.map(|at| at.ms()),
            volts: pack.last_volts.clone(),
            about: None,
            reason: None,
        }
    }
}

/// Notes what stands against the pack, unless the same stands there already. Each who saw a danger is noted, and again once
/// its volts were read since or a while later: none of them may release the pack, and no older reading, and it is watched anew. Danger that did not stand there is told at
/// once (`actions::at_once`). True when it is new.
pub(crate) async fn find(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    finding: &Finding,
    reading_id: Option<Uuid>,
) -> Result<bool> {
    if finding.gravity == Gravity::Note {
        return Ok(false);
    }
    let open = findings::open(tx, pack.id).await?;
    let is_same_report = |found: &Found| {
        let was_read_since = pack.last_read_ms.is_some_and(|at| at > found.found_ms);
        // A stranger's word counts once: who they are nobody knows.
        let is_known_word = found.found_by.is_none() || is_sent_twice(found.found_ms, by.at);
        found.found_by == by.actor.person() && !was_read_since && is_known_word
    };
    let is_known = |found: &Found| {
        found.rule == finding.rule.code()
            && found.words == finding.words
            && found.gravity() >= finding.gravity
            && (finding.gravity < Gravity::Danger || is_same_report(found))
    };
    if open.iter().any(is_known) {
        return Ok(false);
    }
    let found = Found {
        id: ids::new_id(),
        pack_id: pack.id,
        rule: finding.rule.code().to_owned(),
        gravity: finding.gravity.code().to_owned(),
        words: finding.words.clone(),
        next_words: finding.next.clone(),
        reading_id,
        found_ms: by.at,
        found_by: by.actor.person(),
        last_holder_id: lent::last_holder(tx, pack.id).await?,
        closed_ms: None,
        closed_by: None,
        closed_words: None,
    };
    let stood = open.iter().map(|one| (one.rule.as_str(), one.gravity()));
    let is_to_tell = at_once::is_to_tell((&found.rule, finding.gravity), stood);
    findings::add(tx, &found, is_to_tell).await?;
    if finding.gravity >= Gravity::Danger {
        watching::begin_anew(tx, by, pack.id).await?;
    }
    if is_fault_of_make(finding.rule) && finding.gravity >= Gravity::Danger {
        Box::pin(caution_sisters(tx, by, pack)).await?;
    }
    Ok(true)
}

/// Notes it in place of what the same rule said before with other numbers; a danger keeps its first entry. True when it is
/// new.
pub(crate) async fn renew(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    finding: &Finding,
) -> Result<bool> {
    for open in findings::open(tx, pack.id).await? {
        if open.rule() != Some(finding.rule) {
            continue;
        }
        if open.words == finding.words || open.gravity() >= Gravity::Danger {
            return Ok(false);
        }
        findings::close(tx, open.id, by.actor.id, "weighed anew", by.at).await?;
    }
    find(tx, by, pack, finding, None).await
}

async fn caution_sisters(tx: &mut Tx, by: &By, pack: &PackView) -> Result<()> {
    let caution = Finding::batch_sister(&pack.number);
    for sister in packs::batch_sisters(tx, pack).await? {
        if find(tx, by, &sister, &caution, None).await? {
            settle(tx, by, &sister, sighting::SISTER_CAUTIONED).await?;
        }
    }
    Ok(())
}

/// Weighs the pack anew, stores its state, tells the log; gives back the pack as it stands now.
pub(crate) async fn settle(
    tx: &mut Tx,
    by: &By,
    before: &PackView,
    verb: &str,
) -> Result<PackView> {
    let change = Change {
        verb,
        ..Change::default()
    };
    settle_as(tx, by, before, change).await
}

/// What was done to a pack, and what was said of it.
#[derive(Clone, Copy, Default)]
pub(crate) struct Change<'a> {
    pub verb: &'a str,
    /// What it was about: what was seen, what is mended, which volts were wrong, what was read beside them.
    pub about: Option<&'a str>,
    /// The reason a person gave; it may speak of people.
    pub reason: Option<&'a str>,
    /// The words a person gave for a way out: they become the state's.
    pub because: Option<&'a str>,
}

/// As `settle`, with the words a person gave for a way out.
pub(crate) async fn settle_because(
    tx: &mut Tx,
    by: &By,
    before: &PackView,
    act: (&str, Option<&str>),
) -> Result<PackView> {
    let change = Change {
        verb: act.0,
        because: act.1,
        ..Change::default()
    };
    settle_as(tx, by, before, change).await
}

/// As `settle`; the reason a person gave is kept in the log.
pub(crate) async fn settle_saying(
    tx: &mut Tx,
    by: &By,
    before: &PackView,
    act: (&str, Option<&str>),
) -> Result<PackView> {
    let change = Change {
        verb: act.0,
        reason: act.1,
        ..Change::default()
    };
    settle_as(tx, by, before, change).await
}

pub(crate) async fn settle_as(
    tx: &mut Tx,
    by: &By,
    before: &PackView,
    change: Change<'_>,
) -> Result<PackView> {
    let pack = reload(tx, before.id).await?;
    let open = findings::open(tx, pack.id).await?;
    let gravities: Vec<Gravity> = open.iter().map(Found::gravity).collect();
    let state = states::state_of(
        pack.life(),
        &gravities,
        pack.last_read_ms,
        by.at,
        by.limits().reading_days,
    );
    // Who was handed it puts it there. Anybody else leaves it where it lies, and so does the record until somebody says that it was
    // carried: a pack that smokes on a bench lies in no sand bucket.
    let is_dangerous = gravities.iter().any(|each| *each >= Gravity::Danger);
    let is_put_away = by.actor.roles.is_quartermaster && is_carried(change.verb);
    if is_dangerous && !state.is_gone() && is_put_away {
        put_in_quarantine(tx, &pack).await?;
    }
    let (words, next) = why(by, &pack, (state, &open), change.because);
    // It was not known by age alone when nobody read it for long: then it enters its state anew.
    let stays =
        before.state_at(by.at, by.limits().reading_days) == state && pack.state == state.code();
    let is_told_anew = !(stays && words == pack.state_words);
    if is_told_anew {
        let new = NewState {
            state,
            words: &words,
            next: &next,
            entered: (!stays).then(|| entered(by, &pack, (state, &open))),
        };
        packs::set_state(tx, pack.id, &new).await?;
    }
    watching::keep(tx, by, (before, &pack), (state, is_dangerous)).await?;
    let is_seen = is_sighting(change.verb);
    if is_seen {
        sightings::note(tx, pack.id, by.at).await?;
    }
    // Thousands at once change nothing but details.
    let after = match is_dangerous || is_told_anew || is_seen {
        true => reload(tx, before.id).await?,
        false => pack,
    };
    let said = Standing {
        about: change.about.map(str::to_owned),
        reason: change.reason.map(str::to_owned),
        ..Standing::of(&after)
    };
    log(
        tx,
        by,
        change.verb,
        ("pack", before.id),
        (&Standing::of(before), &said),
    )
    .await?;
    Ok(after)
}

/// Where a dangerous pack belongs that is not out.
pub(super) async fn put_in_quarantine(tx: &mut Tx, pack: &PackView) -> Result<()> {
    if pack.is_away() || lies_in_quarantine(tx, pack).await? {
        return Ok(());
    }
    let quarantine = places::by_kind(tx, PlaceKind::Quarantine).await?;
    match quarantine.first() {
        Some(place) => packs::set_place(tx, pack.id, Some(place.id)).await,
        None => Ok(()),
    }
}

/// Its place is one of the quarantine places.
pub(super) async fn lies_in_quarantine(tx: &mut Tx, pack: &PackView) -> Result<bool> {
    let quarantine = places::by_kind(tx, PlaceKind::Quarantine).await?;
    Ok(quarantine
        .iter()
        .any(|place| Some(place.id) == pack.place_id))
}

/// When it came into its state and by whom; nobody does it when time passes.
fn entered(by: &By, pack: &PackView, stand: (State, &[Found])) -> (Instant, Option<Uuid>) {
    let aged = pack.last_read_ms.filter(|_| is_by_age(pack, stand));
    match aged {
        Some(read) => (read.plus_days(by.limits().reading_days), None),
        None => (by.at, by.actor.person()),
    }
}

pub(crate) async fn reload(tx: &mut Tx, id: Uuid) -> Result<PackView> {
    packs::by_id(tx, id)
        .await?
        .ok_or_else(|| StoreError::Internal("a pack vanished inside a transaction".to_owned()))
}
