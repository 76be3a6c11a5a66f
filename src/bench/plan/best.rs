//! The best plan of each charger, and these in order. Current and time depend on a feed and a chain only by what they let
//! through, and more current never takes longer: so the current is found first, and then the feed and chain that suit it.

use super::asked::{Asked, AtHand, Purpose, SupplyAtHand};
use super::chains::{Chain, Link};
use super::current::{
    Haste, Limit, fed_ma, least, of_chain, of_charger, of_discharger, of_feed, of_pack, settable,
};
use super::feed::Fed;
use super::fits::from_supply;
use super::laid_out::LaidOut;
use super::ready::{Ready, ready};
use super::stops::Way;
use super::times::{Times, least_in_time};
use super::unfed::Unfed;
use super::{Answer, Plan, Refused};
use crate::battery::course::Course;
use crate::bench::charger::Mode;
use std::collections::{BTreeMap, BTreeSet};

/// Lower is better: in time, balanced, lower current, fewer adapters, sooner, number.
type Rank = (
    bool,
    bool,
    i64,
    usize,
    i64,
    (i64, i64),
    (i64, i64, i64),
    [i64; 2],
);

/// One way a charger could do it.
pub(super) struct Candidate<'r, 'h> {
    pub(super) rank: Rank,
    pub(super) feed: &'r Fed<'h>,
    pub(super) link: &'r Link<'h>,
    pub(super) mode: Mode,
    pub(super) current_ma: i64,
    pub(super) course: Course,
    pub(super) is_in_time: bool,
    pub(super) is_balanced: bool,
}

/// The pack's side of it: what it bears, which way it goes, and how long each current takes.
pub(super) struct Weighing<'a> {
    pub(super) asked: &'a Asked,
    pub(super) hand: &'a AtHand,
    pub(super) way: Way,
    pub(super) full_mv: i64,
    pub(super) usual_ma: i64,
    /// None where nothing beyond the usual is asked for, or allowed.
    most_ma: Option<i64>,
    times: Times<'a>,
}

/// What one charger could be joined with, by the current each lets through; of those alike the one with the lowest number.
struct Joined<'r, 'h> {
    feeds: BTreeMap<i64, &'r Fed<'h>>,
    links: BTreeMap<(i64, usize), &'r Link<'h>>,
}

pub(super) fn of_all(asked: &Asked, way: Way, hand: &AtHand) -> Answer {
    let weighing = Weighing::of(asked, way, hand);
    let kit = LaidOut::of(hand, &asked.pack.connector);
    let (mut refused, mut ways) = (Vec::new(), Vec::new());
    let (mut useful, mut has_balanced) = (BTreeSet::new(), false);
    for charger in &hand.chargers {
        let done = ready(asked, way, charger, &kit).and_then(|ready| {
            let plans = weighing.plans_with(&ready, has_balanced)?;
            Ok((plans, ready.feeds))
        });
        match done {
            Ok((plans, feeds)) => {
                useful.extend(feeds.iter().filter_map(Fed::supply));
                has_balanced |= plans
                    .iter()
                    .any(|(_, plan)| plan.is_balanced && plan.is_in_time);
                ways.push((charger.id.number.clone(), plans));
            }
            Err(why) => refused.push(Refused {
                number: charger.id.number.clone(),
                why,
            }),
        }
    }
    let may_be_told = |(_, plan): &&(Rank, Plan)| plan.is_balanced || !has_balanced;
    let mut bests: Vec<(Rank, Plan)> = Vec::new();
    for (number, of_one) in &ways {
        let told = of_one.iter().filter(may_be_told);
        match told.min_by_key(|(rank, _)| *rank) {
            Some(best) => bests.push(best.clone()),
            None => refused.push(Refused {
                number: number.clone(),
                why: "In that time it charges without balance alone, and another balances in time."
                    .to_owned(),
            }),
        }
    }
    bests.sort_by_key(|(rank, _)| *rank);
    let unused = |supply: &&SupplyAtHand| !useful.contains(&supply.id);
    let unused = hand.supplies.iter().filter(unused);
    refused.extend(unused.filter_map(|supply| useless(supply, weighing.full_mv, &kit)));
    Answer::Plans {
        plans: bests.into_iter().map(|(_, plan)| plan).collect(),
        refused,
    }
}

/// A supply that feeds no charger of those that do it: the nearest reason, or the charger that does not do it itself.
fn useless(supply: &SupplyAtHand, full_mv: i64, kit: &LaidOut) -> Option<Refused> {
    let number = &supply.id.number;
    let mut nearest = None;
    for charger in &kit.hand.chargers {
        let Err(unfed) = from_supply(charger, supply, full_mv, kit) else {
            return Some(Refused {
                number: number.clone(),
                why: format!("It could feed {}, which does not do it.", charger.id.number),
            });
        };
        let is_nearer = |(_, known): &(_, Unfed)| unfed.nearness() < known.nearness();
        if nearest.as_ref().is_none_or(is_nearer) {
            nearest = Some((charger, unfed));
        }
    }
    nearest.map(|(charger, unfed)| Refused {
        number: number.clone(),
        why: unfed.words((&charger.id.number, number), full_mv, kit),
    })
}

impl<'a> Weighing<'a> {
    fn of(asked: &'a Asked, way: Way, hand: &'a AtHand) -> Self {
        let pack = &asked.pack;
        let usual_ma = least(&of_pack(asked, Haste::Usual));
        let is_urgent = matches!(asked.purpose, Purpose::ReadyBy { .. });
        let most_ma = least(&of_pack(asked, Haste::Most));
        Self {
            asked,
            hand,
            way,
            full_mv: pack.limits.full_mv.saturating_mul(pack.build.cells_series),
            usual_ma,
            most_ma: Some(most_ma).filter(|ma| is_urgent && *ma > usual_ma),
            times: Times::of(asked, way),
        }
    }

    /// Its best balanced way and its best quick one, whichever there are; `has_balanced`: another balances in time, and where
    /// this one balances too nobody asks for its quick way.
    fn plans_with(&self, ready: &Ready, has_balanced: bool) -> Result<Vec<(Rank, Plan)>, String> {
        let joined = self.joined(ready);
        if joined.feeds.is_empty() || joined.links.is_empty() {
            return Err(self.too_much(ready));
        }
        let balanced = ready
            .mode
            .and_then(|mode| self.best(ready, &joined, (mode, true)));
        let is_settled = balanced
            .as_ref()
            .is_some_and(|balanced| has_balanced || balanced.is_in_time);
        let quick = ready
            .quick
            .filter(|_| !is_settled)
            .and_then(|mode| self.best(ready, &joined, (mode, false)));
        // Without balance only what makes it in time.
        let quick = quick.filter(|quick| quick.is_in_time);
        let plans = balanced.into_iter().chain(quick);
        let plans: Vec<(Rank, Plan)> = plans
            .map(|best| (best.rank, self.plan_of(ready, &best)))
            .collect();
        if plans.is_empty() {
            return Err(self.not_so(ready));
        }
        Ok(plans)
    }

    /// Why none of its currents does it.
    fn not_so(&self, ready: &Ready) -> String {
        if settable(&ready.charger.sheet, self.usual_ma).is_none() {
            return self.too_much(ready);
        }
        "It would not come to an end with this pack.".to_owned()
    }

    fn joined<'r, 'h>(&self, ready: &'r Ready<'h>) -> Joined<'r, 'h> {
        let sheet = &ready.charger.sheet;
        let is_up = matches!(self.way, Way::Up { .. });
        let top_ma = self.most_ma.unwrap_or(self.usual_ma);
        let top_ma = top_ma.min(least(&self.of_charger(ready)));
        let mut joined = Joined {
            feeds: BTreeMap::new(),
            links: BTreeMap::new(),
        };
        for feed in &ready.feeds {
            let fed = fed_ma(feed, self.full_mv).filter(|_| is_up);
            let Some(ma) = settable(sheet, fed.unwrap_or(top_ma).min(top_ma)) else {
                continue;
            };
            let known = joined.feeds.entry(ma).or_insert(feed);
            if feed.key() < known.key() {
                *known = feed;
            }
        }
        for link in &ready.links {
            let Some(ma) = settable(sheet, link.rating_ma.min(top_ma)) else {
                continue;
            };
            let known = joined.links.entry((ma, link.length())).or_insert(link);
            if link.key() < known.key() {
                *known = link;
            }
        }
        joined
    }

    fn best<'r, 'h>(
        &self,
        ready: &Ready<'h>,
        joined: &Joined<'r, 'h>,
        (mode, is_balanced): (Mode, bool),
    ) -> Option<Candidate<'r, 'h>> {
        let (from_ma, current_ma) = self.current(ready, &joined.through(), is_balanced)?;
        let power_mw = ready.charger.sheet.discharge_mw;
        let course = self.times.course(current_ma, power_mw, is_balanced)?;
        let is_in_time = self.times.is_within(&course);
        let suits = |ma: i64| ma >= from_ma && self.usual(ready, ma) <= Some(current_ma);
        let (feed, link) = joined.first(from_ma, suits)?;
        let number = (ready.charger.id.key, ready.output);
        Some(Candidate {
            rank: (
                !is_in_time,
                !is_balanced,
                current_ma,
                link.length(),
                course.most_minutes,
                number,
                feed.key(),
                link.key(),
            ),
            feed,
            link,
            mode,
            current_ma,
            course,
            is_in_time,
            is_balanced,
        })
    }

    fn usual(&self, ready: &Ready, through_ma: i64) -> Option<i64> {
        settable(&ready.charger.sheet, through_ma.min(self.usual_ma))
    }

    /// The least that must come through, and the current: at the club's rate; harder only where that is not in time and
    /// harder is, then as little harder as does it. Late with all of them, or in no haste: the lowest that comes to an end.
    /// `through`: what could come through, rising.
    fn current(&self, ready: &Ready, through: &[i64], is_balanced: bool) -> Option<(i64, i64)> {
        if self.times.has_deadline() {
            let in_time = self.current_in_time(ready, through, is_balanced);
            if in_time.is_some() {
                return in_time;
            }
        }
        let power_mw = ready.charger.sheet.discharge_mw;
        let ends = |ma: i64| self.times.course(ma, power_mw, is_balanced).is_some();
        let mut all = through
            .iter()
            .filter_map(|ma| Some((*ma, self.usual(ready, *ma)?)));
        all.find(|(_, current_ma)| ends(*current_ma))
    }

    fn current_in_time(
        &self,
        ready: &Ready,
        through: &[i64],
        is_balanced: bool,
    ) -> Option<(i64, i64)> {
        let sheet = &ready.charger.sheet;
        let in_time = |ma: i64| self.times.is_in_time(ma, sheet.discharge_mw, is_balanced);
        let top = |through_ma: i64| match self.most_ma {
            Some(most_ma) => settable(sheet, through_ma.min(most_ma)),
            None => self.usual(ready, through_ma),
        };
        let late = through.partition_point(|ma| !top(*ma).is_some_and(in_time));
        let through_ma = *through.get(late)?;
        let current_ma = match self.usual(ready, through_ma) {
            Some(ma) if in_time(ma) => ma,
            usual => {
                let from_ma = usual.unwrap_or(sheet.current_min_ma);
                least_in_time(from_ma, top(through_ma)?, sheet.current_step_ma, in_time)
            }
        };
        Some((through_ma, current_ma))
    }

    /// Everything that bounds the current with this charger, feed and chain.
    pub(super) fn bounds(
        &self,
        ready: &Ready,
        feed: &Fed,
        chain: &Chain,
        haste: Haste,
    ) -> Vec<(i64, Limit)> {
        let mut bounds = of_pack(self.asked, haste);
        bounds.push(of_chain(chain));
        match self.way {
            Way::Up { .. } => {
                bounds.extend(of_feed(feed, self.full_mv));
            }
            Way::Down { .. } => {}
        }
        bounds.extend(self.of_charger(ready));
        bounds
    }

    /// What the charger bears of its own, the way the pack's volts go.
    fn of_charger(&self, ready: &Ready) -> [(i64, Limit); 2] {
        let sheet = &ready.charger.sheet;
        match self.way {
            Way::Up { .. } => of_charger(sheet, self.full_mv),
            Way::Down { .. } => of_discharger(sheet, self.asked.pack.volts.total_mv()),
        }
    }
}

impl<'r, 'h> Joined<'r, 'h> {
    /// Every current that one of them lets through and the other does not hold back, rising.
    fn through(&self) -> Vec<i64> {
        let most_fed = self.feeds.keys().next_back().copied().unwrap_or(0);
        let most_led = self.links.keys().map(|(ma, _)| *ma).max().unwrap_or(0);
        let fed = self.feeds.keys().copied();
        let led = self.links.keys().map(|(ma, _)| *ma);
        let all: BTreeSet<i64> = fed
            .chain(led)
            .filter(|ma| *ma <= most_fed.min(most_led))
            .collect();
        all.into_iter().collect()
    }

    /// Of those that let enough through and together a current that `suits`: fewer adapters, then by number.
    fn first(
        &self,
        from_ma: i64,
        suits: impl Fn(i64) -> bool,
    ) -> Option<(&'r Fed<'h>, &'r Link<'h>)> {
        let enough = self.feeds.range(from_ma..);
        let (any, narrow) = (
            enough
                .clone()
                .map(|(_, feed)| *feed)
                .min_by_key(|feed| feed.key()),
            enough
                .filter(|(ma, _)| suits(**ma))
                .map(|(_, feed)| *feed)
                .min_by_key(|feed| feed.key()),
        );
        let links = self.links.iter().filter(|((ma, _), _)| *ma >= from_ma);
        let pairs = links.filter_map(|((ma, _), link)| {
            // Where the chain alone holds it back to what suits, every feed does.
            let feed = if suits(*ma) { any } else { narrow };
            Some((feed?, *link))
        });
        pairs.min_by_key(|(feed, link)| (link.length(), feed.key(), link.key()))
    }
}
