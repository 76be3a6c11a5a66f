//! What neglect of storage stops: a pack past its limit, or on a storage round and not read there, goes out only after its volts are
//! logged now, and who is overdue with own storage care borrows nothing more. Both come beside what `lending` refuses, and let nothing go that it refuses.
//! A fresh fit reading lends the pack, since using it is a cure. Minutes and days.

use super::due::{Due, OnRecord};
use super::reasons::days_words;
use super::rules::{CareRules, OwnCare};
use super::story::What;
use super::told::Told;
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Instant;
use crate::club::kit;
use crate::club::people::Actor;
use crate::club::states::State;

/// A reading counts as made now for so long: as long as a hand-out at the table takes, common practice, no source.
pub const NOW_MINUTES: i64 = 30;

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CareRefusal {
    #[error(
        "{number} is above its storage band for {days} and past the club's limit of {limit}. Log its volts now, then hand it out."
    )]
    PastStorageLimit {
        number: String,
        days: String,
        limit: String,
    },
    #[error(
        "{number} is on a storage round as back, and nobody looked at it since. Log its volts now, then hand it out."
    )]
    UnreadOnRound { number: String },
    #[error(
        "{name} has {packs} to put to storage, due for {days}. Nothing more is lent to them until that is done."
    )]
    OwnCareOverdue {
        name: String,
        packs: String,
        days: String,
    },
    #[error("Only a quartermaster lends all the same. Ask one.")]
    NotAQuartermaster,
    #[error("Say why it is lent all the same.")]
    NoReason,
    #[error(
        "Nobody overrides a refusal for an own loan, or for somebody they answer for. Ask another quartermaster."
    )]
    OwnOverride,
}

impl Refusal for CareRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            _ => Against::Rule,
        }
    }
}

/// Since when a pack is past what its charge and warmth allow. None: it is not.
pub fn past_limit_since(pack: &OnRecord, rules: &CareRules, now: Instant) -> Option<Instant> {
    let (above_since, limit_days) = above(pack, rules)?;
    let since = above_since.plus_days(limit_days);
    (since <= now).then_some(since)
}

fn above(pack: &OnRecord, rules: &CareRules) -> Option<(Instant, i64)> {
    let above_since = pack.kept.above_since?;
    let lying = &pack.lying;
    let told = Told::of(lying, &pack.story);
    let percent = told.map_or(100.0, |told| told.highest_percent(lying));
    let wait = rules.tightened().storage.of(percent, lying.celsius());
    Some((above_since, wait.limit_days))
}

/// May it go out as far as storage care is concerned? The words of a warning, or None where nothing is to be said. Its state is
/// `pack.state`, weighed with that reading.
pub fn goes_out(
    number: &str,
    pack: &OnRecord,
    rules: &CareRules,
    now: Instant,
) -> Result<Option<String>, CareRefusal> {
    let Some(_) = past_limit_since(pack, rules, now) else {
        return Ok(None);
    };
    let (above_since, limit_days) = above(pack, rules).unwrap_or((now, 0));
    let days = days_words(now.days_since(above_since));
    if is_read_now(pack, now) && matches!(pack.state, State::Fit | State::Caution) {
        return Ok(Some(format!(
            "{number} is above its storage band for {days}. Use it, or put it to storage as it comes back."
        )));
    }
    Err(CareRefusal::PastStorageLimit {
        number: number.to_owned(),
        days,
        limit: days_words(limit_days),
    })
}

/// What came back on a storage round and nobody read since is lent as little as what was taken back and not looked at; home it goes to be
/// put to storage. Volts of now end it, since nothing came after them.
pub fn is_looked_at(number: &str, pack: &OnRecord) -> Result<(), CareRefusal> {
    let on_the_way = |what: &What| matches!(what, What::PutOnRound | What::Lent | What::CameBack);
    let mut latest_first = pack.story.since.iter().rev().map(|dated| dated.what);
    match latest_first.find(on_the_way) {
        Some(What::PutOnRound) => Err(CareRefusal::UnreadOnRound {
            number: number.to_owned(),
        }),
        _ => Ok(()),
    }
}

/// Read by somebody within the last minutes, and nothing done with it since. What lies ahead is no reading of now.
fn is_read_now(pack: &OnRecord, now: Instant) -> bool {
    let Some(read) = &pack.story.read else {
        return false;
    };
    let minutes = now.ms() - read.at.ms();
    (0..=NOW_MINUTES * 60_000).contains(&minutes) && pack.story.since.is_empty()
}

/// A quartermaster who lends all the same. `is_own`: the loan is theirs, or that of somebody they answer for.
#[derive(Clone, Copy, Debug)]
pub struct Override<'a> {
    pub actor: Actor,
    pub is_own: bool,
    pub reason: &'a str,
}

/// What is due for a pack that somebody has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    pub number: String,
    pub due: Due,
    /// When they got it; of a pack at home the end of the day by which it is to be done there.
    pub theirs_from: Instant,
}

impl Held {
    /// Since when it is their own care that is wanting.
    fn since(&self) -> Instant {
        self.due.since.max(self.theirs_from)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MayBorrow {
    Freely,
    Warned(String),
    /// To be kept with the loan.
    Overridden(String),
}

/// May this person borrow more? `held`: what is due for the packs that they have. How long a pack was neglected before they had it is
/// nothing of theirs.
pub fn may_borrow(
    name: &str,
    held: &[Held],
    rules: &CareRules,
    now: Instant,
    wanted: Option<Override>,
) -> Result<MayBorrow, CareRefusal> {
    let Some(refusal) = own_care_overdue(name, held, rules, now) else {
        return Ok(MayBorrow::Freely);
    };
    match (rules.own_care, wanted) {
        (OwnCare::Off, _) => Ok(MayBorrow::Freely),
        (OwnCare::Warn, _) => Ok(MayBorrow::Warned(warning(&refusal))),
        (OwnCare::Refuse, None) => Err(refusal),
        (OwnCare::Refuse, Some(wanted)) => overridden(wanted),
    }
}

fn warning(refusal: &CareRefusal) -> String {
    match refusal {
        CareRefusal::OwnCareOverdue { name, packs, days } => {
            format!("{name} has {packs} to put to storage, due for {days}.")
        }
        other => other.to_string(),
    }
}

fn overridden(wanted: Override) -> Result<MayBorrow, CareRefusal> {
    if !wanted.actor.roles.is_quartermaster {
        return Err(CareRefusal::NotAQuartermaster);
    }
    if wanted.is_own {
        return Err(CareRefusal::OwnOverride);
    }
    let Some(reason) = kit::reason(wanted.reason) else {
        return Err(CareRefusal::NoReason);
    };
    Ok(MayBorrow::Overridden(format!(
        "own storage care overdue, overridden: {reason}"
    )))
}

fn own_care_overdue(
    name: &str,
    held: &[Held],
    rules: &CareRules,
    now: Instant,
) -> Option<CareRefusal> {
    let allowed_days = rules.tightened().own_care_days;
    let is_overdue = |one: &&Held| {
        one.due.reason.is_storage_care() && one.since().plus_days(allowed_days) <= now
    };
    let overdue: Vec<&Held> = held.iter().filter(is_overdue).collect();
    let longest = overdue.iter().map(|one| one.since()).min()?;
    let mut packs: Vec<&str> = overdue.iter().map(|one| one.number.as_str()).collect();
    packs.sort_unstable();
    packs.dedup();
    Some(CareRefusal::OwnCareOverdue {
        name: name.to_owned(),
        packs: packs.join(", "),
        days: days_words(now.days_since(longest)),
    })
}

#[cfg(test)]
#[path = "enforced_tests.rs"]
mod tests;
