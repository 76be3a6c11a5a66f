//! The best plan of each charger, and these in order. Current and time depend on a feed and a chain only by what they let
//! through, so those that let the same through are weighed once: none of them is better but by its number.

use super::asked::{Asked, AtHand, ChargerAtHand, Purpose};
use super::chains::Chain;
use super::current::{Haste, least, of_chain, of_charger, of_feed, of_pack, settable};
use super::feed::{Feed, from_supply};
use super::ready::{Ready, ready};
use super::stops::Way;
use super::told::limit_words;
use super::{Answer, Limit, Plan, Refused};
use crate::battery::course::{Course, Rested, balancing_minutes, down, up};
use crate::bench::charger::Mode;
use crate::bench::typed::Words;
use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};

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
pub(super) struct Candidate<'r> {
    pub(super) rank: Rank,
    pub(super) feed: &'r Feed,
    pub(super) chain: &'r Chain,
    pub(super) mode: Mode,
    pub(super) current_ma: i64,
    pub(super) course: Course,
    pub(super) is_in_time: bool,
    pub(super) is_balanced: bool,
}

/// The pack's side of it: what it bears, which way it goes, and how long each current takes.
pub(super) struct Weighing<'a> {
    pub(super) asked: &'a Asked,
    pub(super) way: Way,
    pub(super) full_mv: i64,
    pub(super) usual_ma: i64,
    /// None where nothing beyond the usual is asked for, or allowed.
    most_ma: Option<i64>,
    courses: RefCell<HashMap<(i64, i64, bool), Option<Course>>>,
}

pub(super) fn of_all(asked: &Asked, way: Way, hand: &AtHand) -> Answer {
    let weighing = Weighing::of(asked, way);
    let (mut refused, mut ways) = (Vec::new(), Vec::new());
    for charger in &hand.chargers {
        let ready = ready(asked, way, charger, hand);
        match ready.and_then(|ready| weighing.plans_with(&ready)) {
            Ok(plans) => ways.push((charger.id.number.clone(), plans)),
            Err(why) => refused.push(Refused {
                number: charger.id.number.clone(),
                why,
            }),
        }
    }
    let is_in_time = |(_, plan): &(Rank, Plan)| plan.is_in_time;
    let all = || ways.iter().flat_map(|(_, plans)| plans);
    let has_balanced = all().any(|way| way.1.is_balanced && is_in_time(way));
    let may_be_told = |(_, plan): &&(Rank, Plan)| plan.is_balanced || !has_balanced;
    let mut bests: Vec<(Rank, Plan)> = Vec::new();
    for (number, of_one) in &ways {
        let told = of_one.iter().filter(may_be_told);
        match told.min_by_key(|(rank, _)| *rank) {
            Some(best) => bests.push(best.clone()),
            None => refused.push(Refused {
                number: number.clone(),
                why: "It can only charge without balance, and another balances in time.".to_owned(),
            }),
        }
    }
    bests.sort_by_key(|(rank, _)| *rank);
    refused.extend(useless_supplies(&weighing, hand));
    Answer::Plans {
        plans: bests.into_iter().map(|(_, plan)| plan).collect(),
        refused,
    }
}

/// Supplies that feed no charger there is, each with its first reason.
fn useless_supplies(weighing: &Weighing, hand: &AtHand) -> Vec<Refused> {
    let why = |supply: &super::asked::SupplyAtHand| {
        let feeding = hand.chargers.iter().map(|charger: &ChargerAtHand| {
            from_supply(charger, supply, weighing.full_mv, hand).err()
        });
        let whys: Option<Vec<String>> = feeding.collect();
        whys?.into_iter().next().map(|why| Refused {
            number: supply.id.number.clone(),
            why,
        })
    };
    hand.supplies.iter().filter_map(why).collect()
}

impl<'a> Weighing<'a> {
    fn of(asked: &'a Asked, way: Way) -> Self {
        let pack = &asked.pack;
        let usual_ma = least(&of_pack(asked, Haste::Usual));
        let is_urgent = matches!(asked.purpose, Purpose::ReadyBy { .. });
        let most_ma = least(&of_pack(asked, Haste::Most));
        Self {
            asked,
            way,
            full_mv: pack.limits.full_mv.saturating_mul(pack.build.cells_series),
            usual_ma,
            most_ma: Some(most_ma).filter(|ma| is_urgent && *ma > usual_ma),
            courses: RefCell::default(),
        }
    }

    fn course(&self, current_ma: i64, power_mw: i64, is_balanced: bool) -> Option<Course> {
        let key = (current_ma, power_mw, is_balanced);
        if let Some(known) = self.courses.borrow().get(&key) {
            return *known;
        }
        let course = self.reckoned(current_ma, power_mw, is_balanced);
        self.courses.borrow_mut().insert(key, course);
        course
    }

    fn reckoned(&self, current_ma: i64, power_mw: i64, is_balanced: bool) -> Option<Course> {
        let pack = &self.asked.pack;
        let warmth = &self.asked.warmth;
        let rested = Rested {
            build: &pack.build,
            volts: &pack.volts,
            resistance_ohm: pack.resistance_ohm,
            celsius: warmth.pack_celsius.or(warmth.room_celsius)?,
        };
        let course = match self.way {
            Way::Up { target_mv } => up(&rested, current_ma, target_mv)?,
            Way::Down { target_mv } => down(&rested, current_ma, power_mw, target_mv)?,
        };
        let is_filled =
            matches!(self.way, Way::Up { target_mv } if target_mv == pack.limits.full_mv);
        let balancing = if is_balanced && is_filled && pack.build.chemistry.is_lithium() {
            balancing_minutes(&rested)
        } else {
            0
        };
        Some(Course {
            most_minutes: course.most_minutes + balancing,
            ..course
        })
    }

    /// Its best balanced way and its best quick one, whichever there are.
    fn plans_with(&self, ready: &Ready) -> Result<Vec<(Rank, Plan)>, String> {
        let top_ma = self.most_ma.unwrap_or(self.usual_ma);
        let own = least(&of_charger(&ready.charger.sheet, self.full_mv));
        let own_top = match self.way {
            Way::Up { .. } => top_ma.min(own),
            Way::Down { .. } => top_ma,
        };
        let feeds = self.feeds_by_current(ready, own_top);
        let chains = self.chains_by_current(ready, own_top);
        if feeds.is_empty() || chains.is_empty() {
            return Err(self.too_much(ready));
        }
        let modes = [(ready.mode, true), (ready.quick, false)];
        let mut plans = Vec::new();
        for (mode, is_balanced) in modes {
            let Some(mode) = mode else { continue };
            let mut best: Option<Candidate> = None;
            for (feed_ma, feed) in &feeds {
                for ((chain_ma, _), chain) in &chains {
                    let most = (*feed_ma).min(*chain_ma);
                    let candidate = self.candidate(ready, (feed, chain), most, (mode, is_balanced));
                    let Some(candidate) = candidate else { continue };
                    if best.as_ref().is_none_or(|best| candidate.rank < best.rank) {
                        best = Some(candidate);
                    }
                }
            }
            // Without balance only what makes it in time.
            let told = best.filter(|best| is_balanced || best.is_in_time);
            plans.extend(told.map(|best| (best.rank, self.plan_of(ready, &best))));
        }
        if plans.is_empty() {
            return Err("It would not come to an end with this pack.".to_owned());
        }
        Ok(plans)
    }

    /// One feed for each current that it lets through; of those alike the one with the lowest number.
    fn feeds_by_current<'r>(&self, ready: &'r Ready, top_ma: i64) -> BTreeMap<i64, &'r Feed> {
        let mut kept: BTreeMap<i64, &Feed> = BTreeMap::new();
        for feed in &ready.feeds {
            let ma = match self.way {
                Way::Up { .. } => of_feed(feed, self.full_mv).map_or(top_ma, |(ma, _)| ma),
                Way::Down { .. } => top_ma,
            };
            let Some(ma) = settable(&ready.charger.sheet, ma.min(top_ma)) else {
                continue;
            };
            let known = kept.entry(ma).or_insert(feed);
            if feed.key() < known.key() {
                *known = feed;
            }
        }
        kept
    }

    fn chains_by_current<'r>(
        &self,
        ready: &'r Ready,
        top_ma: i64,
    ) -> BTreeMap<(i64, usize), &'r Chain> {
        let mut kept: BTreeMap<(i64, usize), &Chain> = BTreeMap::new();
        for chain in &ready.chains {
            let at_most = chain.rating_ma.min(top_ma);
            let Some(ma) = settable(&ready.charger.sheet, at_most) else {
                continue;
            };
            let known = kept.entry((ma, chain.adapters.len())).or_insert(chain);
            if chain.key() < known.key() {
                *known = chain;
            }
        }
        kept
    }

    /// At the club's rate; harder only where that is not in time and harder is: then as little harder as does it.
    fn candidate<'r>(
        &self,
        ready: &Ready,
        (feed, chain): (&&'r Feed, &&'r Chain),
        through_ma: i64,
        (mode, is_balanced): (Mode, bool),
    ) -> Option<Candidate<'r>> {
        let sheet = &ready.charger.sheet;
        let usual = settable(sheet, through_ma.min(self.usual_ma));
        let within = self.asked.purpose.within_minutes();
        let course = |ma: i64| self.course(ma, sheet.discharge_mw, is_balanced);
        let in_time = |ma: i64| {
            course(ma).is_some_and(|it| within.is_none_or(|most| it.most_minutes <= most))
        };
        let mut current_ma = usual;
        let is_late = !usual.is_some_and(in_time);
        if let Some(most_ma) = self.most_ma.filter(|_| is_late) {
            let top = settable(sheet, through_ma.min(most_ma)).filter(|top| in_time(*top));
            if let Some(top) = top {
                let from = usual.unwrap_or(sheet.current_min_ma);
                current_ma = Some(least_in_time(from, top, sheet.current_step_ma, in_time));
            }
        }
        let current_ma = current_ma?;
        let course = course(current_ma)?;
        let is_in_time = in_time(current_ma);
        let number = (ready.charger.id.key, ready.output);
        Some(Candidate {
            rank: (
                !is_in_time,
                !is_balanced,
                current_ma,
                chain.adapters.len(),
                course.most_minutes,
                number,
                feed.key(),
                chain.key(),
            ),
            feed,
            chain,
            mode,
            current_ma,
            course,
            is_in_time,
            is_balanced,
        })
    }

    /// Everything that bounds the current with this charger, feed and chain.
    pub(super) fn bounds(
        &self,
        ready: &Ready,
        feed: &Feed,
        chain: &Chain,
        haste: Haste,
    ) -> Vec<(i64, Limit)> {
        let mut bounds = of_pack(self.asked, haste);
        bounds.push(of_chain(chain));
        match self.way {
            Way::Up { .. } => {
                bounds.extend(of_charger(&ready.charger.sheet, self.full_mv));
                bounds.extend(of_feed(feed, self.full_mv));
            }
            Way::Down { .. } => bounds.push((ready.charger.sheet.current_max_ma, Limit::Charger)),
        }
        bounds
    }

    /// Why it can't be set low enough, by what holds the current back most.
    fn too_much(&self, ready: &Ready) -> String {
        let words = Words::POINT;
        let least_of = |feed: &Feed, chain: &Chain| {
            let bounds = self.bounds(ready, feed, chain, Haste::Usual);
            bounds.into_iter().min_by_key(|(ma, _)| *ma)
        };
        let pairs = ready.feeds.iter().flat_map(|feed| {
            ready
                .chains
                .iter()
                .filter_map(move |chain| least_of(feed, chain))
        });
        let lowest = words.amps(ready.charger.sheet.current_min_ma);
        match pairs.max_by_key(|(ma, _)| *ma) {
            Some((ma, limit)) => format!(
                "It charges with no less than {lowest}; {} allows {}.",
                limit_words(&limit),
                words.amps(ma)
            ),
            None => format!("It charges with no less than {lowest}."),
        }
    }
}

/// The least current in time, between one that may not be and one that is; `is_in_time` never turns false as it rises.
fn least_in_time(from_ma: i64, to_ma: i64, step_ma: i64, is_in_time: impl Fn(i64) -> bool) -> i64 {
    let step = step_ma.max(1);
    let (mut early, mut late) = (0, (to_ma - from_ma) / step);
    while early < late {
        let middle = (early + late) / 2;
        if is_in_time(from_ma + middle * step) {
            late = middle;
        } else {
            early = middle + 1;
        }
    }
    from_ma + late * step
}
