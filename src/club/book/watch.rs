//! The watch over a pack in quarantine: when somebody looks, what they are asked, whether it is over, and what may become of
//! the pack. Only what can be seen or heard from a distance is asked. Danger seen begins the watch anew. How a pack is
//! released is `release`'s to say; this adds that the watch is over.

use super::lying::METRES_AWAY;
use crate::bench::form::{Against, Refusal};
use crate::bench::{FieldProblem, Findings};
use crate::club::calendar::Instant;
use crate::club::release::{self, Quarantined, ReleaseRefusal, Releaser};
use crate::club::seen::Seen;
use crate::club::verdict::Gravity;
use serde::{Deserialize, Serialize};

/// How long and how often. First watched by somebody who stays, then left alone and looked at now and then.
/// Watched 60 minutes, then 24 hours: longer than any published advice that was found (15 minutes: two hobby lists; 30: a US
/// model association's safety alert of 2004; a pack caught fire after 25: a flyer's diary). How often: common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Period {
    pub watched_minutes: i64,
    pub look_every_minutes: i64,
    pub kept_hours: i64,
    pub look_every_hours: i64,
}

impl Default for Period {
    fn default() -> Self {
        Self {
            watched_minutes: 60,
            look_every_minutes: 15,
            kept_hours: 24,
            look_every_hours: 8,
        }
    }
}

impl Period {
    /// All of it, where nothing more is seen.
    pub const fn minutes(&self) -> i64 {
        self.watched_minutes + self.kept_hours * 60
    }

    /// Somebody stays with it until then, and nobody carries it.
    pub const fn watched_until(&self, since: Instant) -> Instant {
        since.plus_minutes(self.watched_minutes)
    }

    /// A club may watch longer and look more often, never the other way.
    pub fn problems(&self) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        found.within(
            self.watched_minutes,
            60..=480,
            "watched_minutes",
            "It is watched for 60 to 480 minutes.",
        );
        found.within(
            self.look_every_minutes,
            5..=15,
            "look_every_minutes",
            "While it is watched, a look is noted every 5 to 15 minutes.",
        );
        found.within(
            self.kept_hours,
            24..=336,
            "kept_hours",
            "Then it lies for 24 to 336 hours.",
        );
        found.within(
            self.look_every_hours,
            1..=8,
            "look_every_hours",
            "While it lies, somebody looks every 1 to 8 hours.",
        );
        found.pass(()).err().unwrap_or_default()
    }
}

/// What can be seen or heard from a distance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sign {
    Flame,
    Smoke,
    Hissing,
    Bulging,
    WetPatch,
    /// Not from a safe place: no look.
    CouldNotSee,
}

impl Sign {
    pub const ALL: [Self; 6] = [
        Self::Flame,
        Self::Smoke,
        Self::Hissing,
        Self::Bulging,
        Self::WetPatch,
        Self::CouldNotSee,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Flame => "flame",
            Self::Smoke => "smoke",
            Self::Hissing => "hissing",
            Self::Bulging => "bulging",
            Self::WetPatch => "wet_patch",
            Self::CouldNotSee => "could_not_see",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Flame => "Flame, sparks or glow",
            Self::Smoke => "Smoke or vapour",
            Self::Hissing => "Hissing or popping, heard from where you stand",
            Self::Bulging => "It bulges, or its lid was pushed up",
            Self::WetPatch => "A wet patch under it",
            Self::CouldNotSee => "I can't see it from a safe place",
        }
    }

    /// What it is in the one list of what is seen on packs. All of it is final.
    pub const fn comes_to(self) -> Option<Seen> {
        match self {
            Self::Flame | Self::Smoke | Self::Hissing => Some(Seen::SmokeOrFire),
            Self::Bulging => Some(Seen::Swollen),
            Self::WetPatch => Some(Seen::Leak),
            Self::CouldNotSee => None,
        }
    }
}

/// Stands above the signs.
pub fn question() -> String {
    format!("Look from {METRES_AWAY} m or more, with the wind at your back. What is there?")
}

/// One look. No sign: it lies there as it lay.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    pub at: Instant,
    pub signs: Vec<Sign>,
}

impl Look {
    fn danger(&self) -> impl Iterator<Item = Seen> {
        self.signs.iter().filter_map(|sign| sign.comes_to())
    }

    fn is_quiet(&self) -> bool {
        self.signs.is_empty()
    }

    fn was_seen(&self) -> bool {
        !self.signs.contains(&Sign::CouldNotSee)
    }
}

/// How a watch stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// It began, or began anew, then.
    pub since: Instant,
    /// Somebody stays with it until then.
    pub watched_until: Instant,
    pub ends: Instant,
    /// The next look; past: it is overdue. None: over.
    pub next_look: Option<Instant>,
    /// Looks that nobody made, for who decides.
    pub missed: Vec<Instant>,
    /// What was seen since the pack came here, gravest first.
    pub danger: Vec<Seen>,
    /// The time has passed, and somebody who looked after it saw nothing.
    pub is_over: bool,
}

/// When looks are due in a watch that began then. The last is at its end.
pub fn looks_due(since: Instant, period: Period) -> Vec<Instant> {
    let watched_until = period.watched_until(since);
    let ends = watched_until.plus_hours(period.kept_hours);
    let steps = |from: Instant, minutes: i64, to: Instant| {
        let step = minutes.max(1);
        (1..)
            .map(move |n| from.plus_minutes(n * step))
            .take_while(move |at| *at < to)
    };
    steps(since, period.look_every_minutes, watched_until)
        .chain([watched_until])
        .chain(steps(watched_until, period.look_every_hours * 60, ends))
        .chain([ends])
        .collect()
}

/// A look that was made after `now`, by a clock that was set back since, does not count.
pub fn stands(began: Instant, period: Period, looks: &[Look], now: Instant) -> Standing {
    let made: Vec<&Look> = looks.iter().filter(|look| look.at <= now).collect();
    let last_danger = made.iter().filter(|look| look.danger().next().is_some());
    let since = last_danger.map(|look| look.at).chain([began]).max();
    let since = since.unwrap_or(began);
    let watched_until = period.watched_until(since);
    let ends = watched_until.plus_hours(period.kept_hours);
    let is_over = made.iter().any(|look| look.is_quiet() && look.at >= ends);
    let mut danger: Vec<Seen> = made.iter().flat_map(|look| look.danger()).collect();
    danger.sort_by_key(|seen| (std::cmp::Reverse(seen.gravity()), *seen));
    danger.dedup();
    let (missed, next_look) = missed_and_next(since, &looks_due(since, period), &made, now);
    Standing {
        since,
        watched_until,
        ends,
        next_look: (!is_over).then_some(next_look.unwrap_or(ends)),
        missed,
        danger,
        is_over,
    }
}

/// A look counts for the time due that it is nearest to; one is missed when the next is nearer. The end is never missed.
fn missed_and_next(
    since: Instant,
    due: &[Instant],
    made: &[&Look],
    now: Instant,
) -> (Vec<Instant>, Option<Instant>) {
    let between = |a: Instant, b: Instant| Instant(a.ms() + (b.ms() - a.ms()) / 2);
    let (mut missed, mut next) = (Vec::new(), None);
    let mut before = since;
    for pair in due.windows(2) {
        let (at, to) = (pair[0], between(pair[0], pair[1]));
        let from = between(before, at);
        let is_made = made
            .iter()
            .any(|look| look.was_seen() && (from..to).contains(&look.at));
        if !is_made && now >= to {
            missed.push(at);
        } else if !is_made {
            next = next.or(Some(at));
        }
        before = at;
    }
    (missed, next)
}

/// What may become of a pack in quarantine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WayOut {
    /// After inspection, as the rules of `release` say.
    Released,
    Retired,
    LostInIncident,
}

/// Which ways there will be once the watch is over, if nothing more is seen.
pub fn ways_at_its_end(open: &[Gravity], standing: &Standing) -> Vec<WayOut> {
    let over = Standing {
        is_over: true,
        ..standing.clone()
    };
    ways_out(open, &over)
}

/// Which ways are left by what was seen, on the pack and in its watch. Who may go them is asked of `release`.
pub fn ways_out(open: &[Gravity], standing: &Standing) -> Vec<WayOut> {
    let is_final = is_final(open, standing);
    let may_return = !is_final && standing.is_over;
    let ways = [
        may_return.then_some(WayOut::Released),
        Some(WayOut::Retired),
        Some(WayOut::LostInIncident),
    ];
    ways.into_iter().flatten().collect()
}

/// Final danger once seen is final, also where its finding is not stored yet.
fn is_final(open: &[Gravity], standing: &Standing) -> bool {
    let in_watch = standing.danger.iter().map(|seen| seen.gravity());
    let mut all = open.iter().copied().chain(in_watch);
    all.any(|gravity| gravity == Gravity::FinalDanger)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WatchRefusal {
    #[error("{0}")]
    Release(#[from] ReleaseRefusal),
    #[error(
        "Its watch is not over. It stays in quarantine until the time has passed and somebody who looked saw nothing."
    )]
    NotOver,
}

impl Refusal for WatchRefusal {
    fn against(&self) -> Against {
        match self {
            Self::Release(refusal) => refusal.against(),
            Self::NotOver => Against::Rule,
        }
    }
}

/// Released when the watch is over and `release` allows it; never after final danger.
pub fn may_release(
    standing: &Standing,
    pack: &Quarantined<'_>,
    by: Releaser,
    reason: &str,
) -> Result<(), WatchRefusal> {
    if is_final(pack.open, standing) {
        return Err(ReleaseRefusal::FinalDanger.into());
    }
    match release::may_release(pack, by, reason) {
        // Nobody is sent to it with a meter before.
        Ok(()) | Err(ReleaseRefusal::NoReadingSince) if !standing.is_over => {
            Err(WatchRefusal::NotOver)
        }
        other => other.map_err(WatchRefusal::from),
    }
}

#[cfg(test)]
#[path = "watch_tests.rs"]
mod tests;
