//! Every choice of kit tried by force on small benches: current, time and order are reckoned here, by hand, and the planner's
//! answer for each charger is the best of them.

use super::by_hand::{Hard, Joined, can_be_set, every};
use super::random::{any_asked, any_hand, benches, is_long};
use super::storage::ends_at;
use super::*;
use crate::battery::course::{Course, Rested, down, up, up_balanced};
use proptest::prelude::*;
use std::collections::HashMap;

/// Better is lower: in time, balanced, lower current, fewer adapters, sooner, then by number: the charger's and its output, the
/// supply's, its port, the cable's, the adapters' from the charger on.
type Order = (bool, bool, i64, usize, i64, [i64; 2], [i64; 3], Vec<i64>);

/// A pack's minutes by current, with what its charger can get rid of.
struct Clock<'a> {
    asked: &'a Asked,
    way: Way,
    known: HashMap<(i64, i64, bool), Option<Course>>,
}

impl Clock<'_> {
    /// None: it would not end.
    fn minutes(&mut self, ma: i64, discharge_mw: i64, is_balanced: bool) -> Option<i64> {
        let pack = &self.asked.pack;
        let rested = Rested {
            build: &pack.build,
            volts: &pack.volts,
            rested_minutes: pack.rested_minutes,
            resistance_ohm: pack.resistance_ohm,
            celsius: self.asked.warmth.pack_celsius.expect("known"),
        };
        let way = self.way;
        let is_filled = matches!(way, Way::Up { target_mv } if target_mv == pack.limits.full_mv);
        let is_waited_for = is_balanced && is_filled && pack.build.chemistry.is_lithium();
        let known = self.known.entry((ma, discharge_mw, is_waited_for));
        let course = known.or_insert_with(|| match way {
            Way::Up { target_mv } => {
                let course = up(&rested, ma, target_mv)?;
                if is_waited_for {
                    up_balanced(&rested, course, ma, target_mv)
                } else {
                    Some(course)
                }
            }
            Way::Down { target_mv } => down(&rested, ma, discharge_mw, target_mv),
        });
        course.map(|course| course.most_minutes)
    }

    fn is_in_time(&self, minutes: i64) -> bool {
        match self.asked.purpose {
            Purpose::ReadyBy { minutes: most }
            | Purpose::NoHurry {
                there_minutes: most,
            } => minutes <= most,
            Purpose::Storage | Purpose::Empty => {
                self.asked.done_within.is_none_or(|most| minutes <= most)
            }
        }
    }

    /// What one way of joining is set to: the club's rate, and only where that is late and a time was asked for, the lowest
    /// setting above it that is in time.
    fn set(&mut self, joined: &Joined, hand: &AtHand, is_balanced: bool) -> Option<(i64, i64)> {
        let is_up = matches!(self.way, Way::Up { .. });
        let sheet = &joined.charger.sheet;
        let most = |hard: Hard| {
            let limits = joined.limits(self.asked, hand, is_up, hard);
            limits.into_iter().map(|(_, ma)| ma).min().unwrap_or(0)
        };
        let (usual, asked_for) = (most(Hard::AsUsual), most(Hard::AsAsked));
        let mut settings = can_be_set(sheet);
        settings.retain(|ma| *ma > 0);
        let calm = settings.iter().copied().filter(|ma| *ma <= usual).max();
        let calm =
            calm.and_then(|ma| Some((ma, self.minutes(ma, sheet.discharge_mw, is_balanced)?)));
        let is_urgent = matches!(self.asked.purpose, Purpose::ReadyBy { .. });
        if !is_urgent || calm.is_some_and(|(_, minutes)| self.is_in_time(minutes)) {
            return calm;
        }
        let harder = settings
            .into_iter()
            .filter(|ma| *ma > usual && *ma <= asked_for);
        for ma in harder {
            let minutes = self.minutes(ma, sheet.discharge_mw, is_balanced);
            if let Some(minutes) = minutes.filter(|minutes| self.is_in_time(*minutes)) {
                return Some((ma, minutes));
            }
        }
        calm
    }
}

/// Whether its mode is there, with balance and without.
fn modes(asked: &Asked, way: Way, joined: &Joined) -> [bool; 2] {
    let (pack, sheet) = (&asked.pack, &joined.charger.sheet);
    let has = |mode: Mode| sheet.modes.contains(&mode);
    let (is_lithium, cells) = (pack.build.chemistry.is_lithium(), pack.build.cells_series);
    let is_plugged = sheet.balance_connector.is_some() && sheet.balance_connector == pack.balance;
    let is_stack = is_lithium && cells > 1;
    let is_led = sheet.fixed_through_balance.is_none();
    let sees = is_plugged || (is_lithium && cells == 1);
    let rule = match (way, asked.purpose) {
        (Way::Down { .. }, _) if sheet.discharge_mw == 0 => false,
        (Way::Down { .. }, Purpose::Storage) => has(Mode::Storage) || has(Mode::Discharge),
        (Way::Down { .. }, _) => has(Mode::Discharge),
        (Way::Up { .. }, Purpose::Storage) if is_lithium => has(Mode::Storage),
        (Way::Up { .. }, _) if is_stack && is_led => has(Mode::Balance),
        (Way::Up { .. }, _) => has(Mode::Charge) || (has(Mode::Balance) && sees),
    };
    let is_small = pack
        .volts
        .spread_mv()
        .is_some_and(|mv| mv <= asked.club.small_spread_mv);
    let is_even = is_small && pack.is_spread_known && !pack.owes_balance;
    let is_urgent = matches!(asked.purpose, Purpose::ReadyBy { .. });
    [
        rule,
        is_urgent && is_stack && is_led && is_plugged && is_even && has(Mode::Charge),
    ]
}

/// The best with balance and the best without of each charger that can do it.
fn bests(asked: &Asked, way: Way, hand: &AtHand) -> Vec<[Option<Order>; 2]> {
    let mut clock = Clock {
        asked,
        way,
        known: HashMap::new(),
    };
    let mut all = Vec::new();
    for charger in &hand.chargers {
        let mut best: [Option<Order>; 2] = [None, None];
        let joined = every(charger, hand);
        for joined in joined
            .iter()
            .filter(|joined| joined.misfits(asked, hand).is_empty())
        {
            let [rule, quick] = modes(asked, way, joined);
            for is_balanced in [true, false] {
                if !(if is_balanced { rule } else { quick }) {
                    continue;
                }
                let Some((ma, minutes)) = clock.set(joined, hand, is_balanced) else {
                    continue;
                };
                let is_in_time = clock.is_in_time(minutes);
                let order = order(joined, (ma, minutes), (is_in_time, is_balanced));
                let known = &mut best[usize::from(!is_balanced)];
                if (is_balanced || is_in_time) && known.as_ref().is_none_or(|known| order < *known)
                {
                    *known = Some(order);
                }
            }
        }
        all.push(best);
    }
    all
}

fn order(
    joined: &Joined,
    (ma, minutes): (i64, i64),
    (is_in_time, is_balanced): (bool, bool),
) -> Order {
    let key = |fed: &super::by_hand::FedBy| {
        let port = fed.port.map_or(-1, |port| port as i64);
        [
            fed.supply.id.key,
            port,
            fed.cable.map_or(-1, |cable| cable.id.key),
        ]
    };
    (
        !is_in_time,
        !is_balanced,
        ma,
        joined.adapters.len(),
        minutes,
        [joined.charger.id.key, joined.output],
        joined.fed.as_ref().map_or([-1; 3], key),
        joined
            .adapters
            .iter()
            .map(|adapter| adapter.id.key)
            .collect(),
    )
}

/// A charge without balance is told only where none with balance is in time, of any charger.
fn expected(asked: &Asked, way: Way, hand: &AtHand) -> Vec<Order> {
    let bests = bests(asked, way, hand);
    let in_time = |best: &[Option<Order>; 2]| best[0].as_ref().is_some_and(|order| !order.0);
    let has_balanced = bests.iter().any(in_time);
    let told = |[balanced, quick]: [Option<Order>; 2]| {
        let quick = quick.filter(|_| !has_balanced);
        balanced.into_iter().chain(quick).min()
    };
    let mut all: Vec<Order> = bests.into_iter().filter_map(told).collect();
    all.sort();
    all
}

fn planned(plan: &Plan) -> Order {
    let source = plan.feed.source.as_ref();
    let key = |source: &Source| {
        let port = source.port.map_or(-1, |port| port as i64);
        [
            source.supply.key,
            port,
            source.cable.as_ref().map_or(-1, |cable| cable.key),
        ]
    };
    (
        !plan.is_in_time,
        !plan.is_balanced,
        plan.current_ma,
        plan.chain.adapters.len(),
        plan.course.most_minutes,
        [plan.charger.key, plan.output],
        source.map_or([-1; 3], key),
        plan.chain
            .adapters
            .iter()
            .map(|adapter| adapter.key)
            .collect(),
    )
}

/// To what volts all cells of a lithium pack are brought for storage: the usual ones or, where those leave a cell outside of its
/// band, the nearest that don't, tried one by one.
fn stored(asked: &Asked) -> Way {
    let (pack, limits) = (&asked.pack, &asked.pack.limits);
    let cells = match &pack.volts {
        Volts::Cells(cells) => cells.clone(),
        Volts::Pack(mv) => vec![mv / pack.build.cells_series],
    };
    let band = limits.storage_low_mv as f64..=limits.storage_high_mv as f64;
    // At the very edge a cell is in its band, whatever the last digits of its volts say.
    let is_in = |mv: &f64| {
        band.contains(mv) || (mv - band.start()).abs() < 0.05 || (mv - band.end()).abs() < 0.05
    };
    let leaves_all_in = |target: f64| {
        ends_at(pack.build.chemistry, &cells, target)
            .iter()
            .all(is_in)
    };
    let usual = limits.storage_target_mv;
    let mut near = (0..=500).flat_map(|away| [usual - away, usual + away]);
    // Where all are in their band within less than a millivolt, what a charger can be set to is one to its inside.
    let set = |target: f64| {
        if target < usual as f64 {
            target.floor() as i64
        } else {
            target.ceil() as i64
        }
    };
    let mut finely = (0..=50_000)
        .map(|away| f64::from(away) / 100.0)
        .flat_map(|away| [usual as f64 - away, usual as f64 + away]);
    let target_mv = near
        .find(|target| leaves_all_in(*target as f64))
        .or_else(|| finely.find(|target| leaves_all_in(*target)).map(set))
        .expect("a plan was made");
    let mean = cells.iter().sum::<i64>() as f64 / cells.len() as f64;
    if target_mv as f64 > mean {
        Way::Up { target_mv }
    } else {
        Way::Down { target_mv }
    }
}

/// Where a pack's volts go, from the words of the purpose.
fn way(asked: &Asked) -> Way {
    let limits = &asked.pack.limits;
    let is_lithium = asked.pack.build.chemistry.is_lithium();
    let up = Way::Up {
        target_mv: limits.full_mv,
    };
    match asked.purpose {
        Purpose::Empty => Way::Down {
            target_mv: limits.minimum_mv,
        },
        Purpose::Storage if is_lithium => stored(asked),
        _ => up,
    }
}

/// Few enough of each that every choice can be tried.
fn small_hand() -> impl Strategy<Value = AtHand> {
    any_hand().prop_map(|mut hand| {
        hand.chargers.truncate(2);
        hand.supplies.truncate(3);
        hand.cables.truncate(2);
        hand.adapters.truncate(4);
        hand
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: if is_long() { 100_000 } else { 1_500 }, ..benches() })]

    #[test]
    fn no_combination_of_kit_is_better_in_the_stated_order(asked in any_asked(), hand in small_hand()) {
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else { return Ok(()) };
        let told: Vec<Order> = plans.iter().map(planned).collect();
        prop_assert_eq!(told, expected(&asked, way(&asked), &hand));
    }
}
