//! Report a pack's condition: what somebody saw on it. Danger quarantines it in the same step, lent or not. And close
//! what was to mend or to be looked at.

use crate::actions::By;
use crate::actions::once::{self, Repeat};
use crate::actions::reading::apart::together_since;
use crate::actions::report::{self, Telling};
use crate::actions::standing::{self, Change};
use crate::bench::form::{Against, Refusal};
use crate::club::glance::{self, MOST_LETTERS};
use crate::club::people::Role;
use crate::club::release::{self, MendRefusal};
use crate::club::reports::PLACE_MOST;
use crate::club::reports::confirmed::as_it_happens;
use crate::club::seen::{self, Crash, Seen};
use crate::club::verdict::{Finding, Gravity, Rule};
use crate::store::book::looks;
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::{Db, Result, StoreError, Tx};
use uuid::Uuid;

/// What a person ticked about one pack.
#[derive(Clone, Debug, Default)]
pub struct Looked {
    pub seen: Vec<Seen>,
    pub crash: Option<Crash>,
    pub own_words: String,
    /// As it was told.
    pub happens_now: bool,
}

impl Looked {
    pub fn findings(&self) -> Vec<Finding> {
        let findings = seen::findings(&self.seen, self.crash, &self.own_words);
        if self.happens_now {
            as_it_happens(findings)
        } else {
            findings
        }
    }

    /// What was ticked and said, as the log tells it; None: nothing was seen.
    pub fn words(&self) -> Option<String> {
        let of_crash = self.crash.filter(|_| self.has(Seen::InACrash));
        let words = |seen: &Seen| match (seen, of_crash) {
            (Seen::InACrash, Some(crash)) => format!("{}; {}", seen.label(), crash.label()),
            (Seen::SomethingElse, _) => self.own_words.trim().to_owned(),
            _ => seen.label().to_owned(),
        };
        let seen = self.seen.iter().filter(|seen| **seen != Seen::Nothing);
        let all: Vec<String> = seen.map(words).filter(|text| !text.is_empty()).collect();
        (!all.is_empty()).then(|| all.join("; "))
    }

    pub fn has(&self, seen: impl std::borrow::Borrow<Seen>) -> bool {
        self.seen.contains(seen.borrow())
    }

    pub fn lacks_words(&self) -> bool {
        glance::lacks_words(&self.seen, &self.own_words)
    }

    pub fn is_danger(&self) -> bool {
        self.findings()
            .iter()
            .any(|finding| finding.gravity >= crate::club::verdict::Gravity::Danger)
    }
}

#[derive(Debug, thiserror::Error)]
pub enum ConditionRefusal {
    #[error("There is no such pack.")]
    NoPack,
    #[error("It is retired or gone; nothing more is reported on it.")]
    Gone,
    #[error("Tick what you see, or say it in your own words.")]
    NothingTicked,
    #[error("Say in your own words what you see.")]
    NoWords,
    #[error("Say it in at most {MOST_LETTERS} letters.")]
    TooLong,
    #[error("Choose what it is about.")]
    NoThing,
    #[error("Say in a few words what it is.")]
    NothingSaid,
    #[error("Say in at most {PLACE_MOST} letters where it is.")]
    PlaceTooLong,
    #[error("Say in at most {PLACE_MOST} letters how to reach you.")]
    ReachTooLong,
    #[error("That is closed already.")]
    NotOpen,
    #[error(transparent)]
    Mend(#[from] MendRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl ConditionRefusal {
    /// The field of the form that it is about.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::TooLong | Self::NothingSaid | Self::NoWords => "own_words",
            Self::NoThing => "thing",
            Self::PlaceTooLong => "place",
            Self::ReachTooLong => "reach",
            _ => "seen",
        }
    }
}

impl Refusal for ConditionRefusal {
    fn against(&self) -> Against {
        match self {
            Self::Mend(refusal) => refusal.against(),
            Self::Gone | Self::NotOpen => Against::Rule,
            _ => Against::Typed,
        }
    }
}

/// What somebody of the club sees on a pack, and no more: a report without place, photo and volts.
pub async fn report_condition(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    looked: &Looked,
) -> std::result::Result<String, ConditionRefusal> {
    report::tell(db, by, &Telling::of_pack(pack_id, looked)).await
}

pub(crate) const REPORTED: &str = "reported its condition";

/// Settles the pack after what was seen on it; the log tells what that was.
pub(crate) async fn settle_seen(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    act: (&str, &Looked),
) -> Result<PackView> {
    let about = act.1.words();
    let change = Change {
        verb: act.0,
        about: about.as_deref(),
        ..Change::default()
    };
    standing::settle_as(tx, by, pack, change).await
}

/// Stores what was seen; the caller settles the pack. True when any of it is new.
pub(crate) async fn note(tx: &mut Tx, by: &By, pack: &PackView, looked: &Looked) -> Result<bool> {
    let mut is_new = false;
    for finding in looked.findings() {
        is_new |= standing::find(tx, by, pack, &finding, None).await?;
    }
    Ok(is_new)
}

/// A quartermaster closes something that was to mend or to be looked at, and says what was done. What was reported and was not so is
/// closed with its doubles.
pub async fn mend(
    db: &Db,
    by: &By,
    finding_id: Uuid,
    pack_id: Uuid,
    reason: &str,
) -> std::result::Result<PackView, ConditionRefusal> {
    let mut tx = once::begin::<ConditionRefusal>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(ConditionRefusal::NoPack)?;
    let open = findings::open(&mut tx, pack_id).await?;
    let found = open
        .iter()
        .find(|found| found.id == finding_id)
        .ok_or(ConditionRefusal::NotOpen)?;
    let rule = found.rule().unwrap_or(Rule::OverDischarged);
    let awaits_a_look = looks::awaited_by(&mut tx, finding_id).await?.is_some();
    release::may_mend(
        (rule, awaits_a_look),
        found.gravity(),
        by.actor.roles.has(Role::Quartermaster),
        reason,
    )?;
    if rule == Rule::SpreadOut {
        let together = together_since(&mut tx, by, (&pack, found)).await?;
        for lesser in together.ok_or(MendRefusal::StillApart)? {
            standing::find(&mut tx, by, &pack, &lesser, None).await?;
        }
    }
    let not_so = looks::not_so_with(&mut tx, finding_id).await?;
    let goes_along = |one: &&Found| not_so.contains(&one.id) && one.gravity() < Gravity::Danger;
    for one in open
        .iter()
        .filter(|one| one.id == finding_id || goes_along(one))
    {
        findings::close(&mut tx, one.id, by.actor.id, reason.trim(), by.at).await?;
    }
    let change = Change {
        verb: if not_so.is_empty() {
            "mended"
        } else {
            "closed what was reported and was not so"
        },
        about: Some(&found.words),
        reason: Some(reason.trim()),
        ..Change::default()
    };
    let after = standing::settle_as(&mut tx, by, &pack, change).await?;
    once::finish(tx, by, &format!("/packs/{}", pack.number)).await?;
    Ok(after)
}
