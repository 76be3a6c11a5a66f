//! Many packs with few chargers: which goes on which output when, until somebody leaves. Each is planned as it would be
//! alone, with what the others keep busy at that minute; the longest go first (the shortest, where more packs are done by
//! that), and on the way to storage the fullest. What came from use waits until it has lain. Minutes from now.

use super::asked::{Asked, AtHand, LeftAt, Numbered, Purpose, Running, Wired};
use super::stops::{self, Before};
use super::{Answer, Plan, plan};
use crate::battery::chemistry::Chemistry;
use crate::battery::curve::Curve;

/// A pack that waits for a charger.
#[derive(Clone, Debug)]
pub struct Waiting {
    pub pack: Numbered,
    pub asked: Asked,
}

/// A pack on its charger, from one minute to another at the latest.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    pub pack: Numbered,
    pub plan: Plan,
    pub from_minute: i64,
    pub to_minute: i64,
}

/// A pack that gets no turn, and why, in a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOver {
    pub pack: Numbered,
    pub why: String,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evening {
    /// In the order in which they start.
    pub turns: Vec<Turn>,
    pub left_over: Vec<LeftOver>,
}

impl Evening {
    /// Somebody must be there so long.
    pub fn minutes(&self) -> i64 {
        self.turns
            .iter()
            .map(|turn| turn.to_minute)
            .max()
            .unwrap_or(0)
    }
}

/// Between two packs somebody unplugs one, reads volts and sets the charger anew: common practice, no source.
const CHANGE_MINUTES: i64 = 5;

/// By then nothing that lies here is straight from use any more.
const RESTED_BY_MINUTES: i64 = 24 * 60;

/// For so many one evening is planned, since each change asks every pack that waits: common practice, no source.
pub const MOST_PACKS: usize = 60;

/// Everything is done `within` minutes, or left over. The longest first ends soonest; where that leaves packs over, the
/// shortest first is looked at too, and taken where more packs get their turn.
pub fn evening(waiting: Vec<Waiting>, hand: &AtHand, within: i64) -> Evening {
    let (waiting, never) = who_can_wait(waiting, hand, within);
    let longest_first = in_order(waiting.clone(), hand, within);
    let mut planned = if longest_first.left_over.is_empty() {
        longest_first
    } else {
        let mut waiting = waiting;
        waiting.reverse();
        waiting.sort_by_cached_key(|one| std::cmp::Reverse(fullness(&one.asked)));
        let shortest_first = in_order(waiting, hand, within);
        if shortest_first.turns.len() > longest_first.turns.len() {
            shortest_first
        } else {
            longest_first
        }
    };
    planned.left_over.splice(..0, never);
    planned
}

/// As they stand, each goes on as soon as something is free for it.
fn in_order(mut waiting: Vec<Waiting>, hand: &AtHand, within: i64) -> Evening {
    let mut planned = Planned {
        evening: Evening::default(),
        hand: hand.clone(),
        on: Vec::new(),
        within,
    };
    let mut minute = 0;
    loop {
        planned.free_at(minute);
        planned.start_all(&mut waiting, minute);
        let ends = planned
            .evening
            .turns
            .iter()
            .map(|turn| turn.to_minute + CHANGE_MINUTES);
        let rested = waiting
            .iter()
            .filter_map(|one| stops::rests_for(&one.asked));
        match ends.chain(rested).filter(|next| *next > minute).min() {
            Some(next) if !waiting.is_empty() && next < within => minute = next,
            _ => break,
        }
    }
    planned.leave(waiting, hand);
    planned.evening
}

/// Those that may be charged at all, as many as one evening is planned for, the fullest of them, the longest first; and those
/// that get no turn, whatever is free.
fn who_can_wait(all: Vec<Waiting>, hand: &AtHand, within: i64) -> (Vec<Waiting>, Vec<LeftOver>) {
    let (mut can, mut never) = (Vec::new(), Vec::new());
    for one in all {
        let why = match stops::before(&later(&one.asked, RESTED_BY_MINUTES)) {
            Before::Go(_) => {
                can.push(one);
                continue;
            }
            Before::Stop(words) => words.join(" "),
            Before::Nothing(words) => words,
            Before::Ask(_) => "Nobody said how warm it is.".to_owned(),
        };
        never.push(LeftOver {
            pack: one.pack,
            why,
        });
    }
    can.sort_by_cached_key(|one| (std::cmp::Reverse(fullness(&one.asked)), one.pack.clone()));
    let too_many = can.split_off(can.len().min(MOST_PACKS)).into_iter();
    never.extend(too_many.map(|one| LeftOver {
        pack: one.pack,
        why: format!("One evening is planned for {MOST_PACKS} packs, the fullest of them."),
    }));
    can.sort_by_cached_key(|one| {
        let rested = later(&one.asked, RESTED_BY_MINUTES);
        let alone = best(&rested, hand, within);
        let minutes = alone.map_or(i64::MAX, |plan| plan.course.most_minutes);
        let full = fullness(&one.asked);
        (std::cmp::Reverse((full, minutes)), one.pack.clone())
    });
    (can, never)
}

struct Planned {
    evening: Evening,
    /// What is free at the minute that is looked at.
    hand: AtHand,
    /// Turns that are on then.
    on: Vec<usize>,
    within: i64,
}

impl Planned {
    /// Whatever has ended by then is free again.
    fn free_at(&mut self, minute: i64) {
        for index in std::mem::take(&mut self.on) {
            let Some(turn) = self.evening.turns.get(index) else {
                continue;
            };
            if turn.to_minute + CHANGE_MINUTES > minute {
                self.on.push(index);
            } else {
                give_back(&mut self.hand, &turn.plan);
            }
        }
    }

    fn start_all(&mut self, waiting: &mut Vec<Waiting>, minute: i64) {
        let mut index = 0;
        while let Some(one) = waiting.get(index) {
            let asked = later(&one.asked, minute);
            let Some(plan) = best(&asked, &self.hand, self.within - minute) else {
                index += 1;
                continue;
            };
            let build = &one.asked.pack.build;
            take(&mut self.hand, &plan, (build.chemistry, build.cells_series));
            self.on.push(self.evening.turns.len());
            self.evening.turns.push(Turn {
                pack: one.pack.clone(),
                from_minute: minute,
                to_minute: minute + plan.course.most_minutes,
                plan,
            });
            waiting.remove(index);
        }
    }

    /// `hand`: before anything went on.
    fn leave(&mut self, waiting: Vec<Waiting>, hand: &AtHand) {
        for one in waiting {
            let rested = later(&one.asked, RESTED_BY_MINUTES);
            let why = match plan(&with(&rested, self.within), hand) {
                Answer::Plans { plans, refused } if plans.is_empty() => {
                    let first = refused.into_iter().next();
                    first.map_or_else(
                        || "No charger is at hand.".to_owned(),
                        |refused| format!("{}: {}", refused.number, refused.why),
                    )
                }
                _ => "There is no time left for it on the chargers that suit.".to_owned(),
            };
            self.evening.left_over.push(LeftOver {
                pack: one.pack,
                why,
            });
        }
    }
}

/// Percent in its fullest cell where packs are put to storage: what lies full is the first to go. Else all are alike.
fn fullness(asked: &Asked) -> i64 {
    let pack = &asked.pack;
    let highest_mv = pack.volts.highest_mv(pack.build.cells_series);
    match (asked.purpose, Curve::of(pack.build.chemistry)) {
        (Purpose::Storage, Some(curve)) => {
            curve.percent_at(highest_mv as f64 / 1_000.0).round() as i64
        }
        _ => 0,
    }
}

/// In time, or not at all.
fn best(asked: &Asked, hand: &AtHand, within: i64) -> Option<Plan> {
    match plan(&with(asked, within), hand) {
        Answer::Plans { plans, .. } => {
            let best = plans.into_iter().next()?;
            let is_done = best.is_in_time && best.course.most_minutes <= within;
            is_done.then_some(best)
        }
        _ => None,
    }
}

/// The same so many minutes on: what came from use has lain so much longer.
fn later(asked: &Asked, minutes: i64) -> Asked {
    let mut asked = asked.clone();
    let since = &mut asked.pack.from_use_minutes;
    *since = since.map(|since| since + minutes);
    asked
}

fn with(asked: &Asked, within: i64) -> Asked {
    let purpose = match asked.purpose {
        Purpose::ReadyBy { .. } => Purpose::ReadyBy { minutes: within },
        Purpose::NoHurry { .. } => Purpose::NoHurry {
            there_minutes: within,
        },
        other => other,
    };
    Asked {
        purpose,
        done_within: Some(within),
        ..asked.clone()
    }
}

/// Keeps busy what a plan needs. A charger has one input: its second output is fed by the cable that is plugged in.
fn take(hand: &mut AtHand, plan: &Plan, of: (Chemistry, i64)) {
    let source = plan.feed.source.as_ref();
    let number = source.and_then(|source| source.cable.as_ref());
    let at = number.and_then(|number| hand.cables.iter().position(|each| each.id == *number));
    let taken = at.map(|at| hand.cables.remove(at));
    let charger = hand.chargers.iter_mut();
    if let Some(charger) = charger.into_iter().find(|each| each.id == plan.charger) {
        let plugged_in = charger.running.iter().map(|each| &each.wired);
        let mut plugged_in = plugged_in
            .filter(|wired| matches!(wired, Wired::Cable(cable) if Some(&cable.id) == number));
        let wired = taken.map(Wired::Cable).or(plugged_in.next().cloned());
        charger.left.retain(|left| left.output != plan.output);
        charger.left.push(LeftAt {
            output: plan.output,
            ma: plan.current_ma,
            of: Some(of),
        });
        charger.running.push(Running {
            output: plan.output,
            wired: wired.unwrap_or(Wired::NotTheClubs),
            supply: source.map(|source| (source.supply.number.clone(), source.port.unwrap_or(0))),
            input_mw: plan.drawn_mw,
        });
    }
    count(hand, plan, -1);
}

/// What a turn that has ended kept busy is free again; its cable once nothing else is fed through it.
fn give_back(hand: &mut AtHand, plan: &Plan) {
    count(hand, plan, 1);
    let mut chargers = hand.chargers.iter_mut();
    let Some(charger) = chargers.find(|each| each.id == plan.charger) else {
        return;
    };
    let Some(at) = charger
        .running
        .iter()
        .position(|each| each.output == plan.output)
    else {
        return;
    };
    if let Wired::Cable(cable) = charger.running.remove(at).wired {
        let is_same =
            |each: &Running| matches!(&each.wired, Wired::Cable(other) if other.id == cable.id);
        if !charger.running.iter().any(is_same) {
            hand.cables.push(cable);
        }
    }
}

fn count(hand: &mut AtHand, plan: &Plan, by: i64) {
    for adapter in &plan.chain.adapters {
        if let Some(stock) = hand.adapters.iter_mut().find(|each| each.id == *adapter) {
            stock.free += by;
        }
    }
}
