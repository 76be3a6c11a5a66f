//! What a part may carry moves current and time one way only: with one chain and one mode left, every limit is lowered in turn,
//! and the current never rises; and the minutes of a pack never rise with the current.

use super::by_hand::of_plan;
use super::random::{is_long, sampled};
use super::*;
use crate::battery::course::{Course, Rested, down, up, up_balanced};
use std::collections::BTreeMap;

/// The bench with nothing left but what a plan takes; others stay as busy as they are.
fn nothing_else(plan: &Plan, hand: &AtHand) -> AtHand {
    let joined = of_plan(plan, hand);
    let mut chargers = hand.chargers.clone();
    for charger in &mut chargers {
        if charger.id == plan.charger {
            charger.sheet.modes = vec![plan.mode];
        } else {
            charger.sheet.chemistries.clear();
        }
    }
    let fed = joined.fed.as_ref();
    let supply = fed.map(|fed| {
        let mut supply = fed.supply.clone();
        if let Supply::UsbPd { ports, .. } = &mut supply.sheet {
            let others = ports
                .iter_mut()
                .enumerate()
                .filter(|(at, _)| Some(*at) != fed.port);
            others.for_each(|(_, port)| port.levels.truncate(1));
        }
        supply
    });
    AtHand {
        chargers,
        supplies: supply.into_iter().collect(),
        cables: fed.and_then(|fed| fed.cable.cloned()).into_iter().collect(),
        adapters: joined.adapters.into_iter().cloned().collect(),
        families: hand.families.clone(),
        elsewhere: hand.elsewhere.clone(),
    }
}

/// A limit, and how it falls to so many percent. False where the bench has none such.
type Fall = (&'static str, fn(&mut Asked, &mut AtHand, i64) -> bool);

fn less(value: &mut i64, percent: i64) -> bool {
    *value = (*value * percent / 100).max(1);
    true
}

fn of_charger(hand: &mut AtHand) -> Option<&mut ChargerAtHand> {
    hand.chargers
        .iter_mut()
        .find(|each| !each.sheet.chemistries.is_empty())
}

fn of_family(hand: &mut AtHand, code: Option<String>, percent: i64) -> bool {
    let mut families = hand.families.iter_mut();
    let family = families.find(|family| Some(&family.code) == code.as_ref());
    let rating = family.and_then(|family| family.rating_ma.as_mut());
    rating.is_some_and(|ma| less(ma, percent))
}

const FALLS: [Fall; 21] = [
    ("label", |asked, _, by| {
        asked
            .pack
            .label_charge_c_tenths
            .as_mut()
            .is_some_and(|c| less(c, by))
    }),
    ("club's rate", |asked, _, by| {
        less(&mut asked.club.usual_c_tenths, by)
    }),
    ("club's most", |asked, _, by| {
        less(&mut asked.club.most_c_tenths, by)
    }),
    ("charger's most", |_, hand, by| {
        of_charger(hand).is_some_and(|charger| less(&mut charger.sheet.current_max_ma, by))
    }),
    ("charger's watts", |_, hand, by| {
        of_charger(hand).is_some_and(|charger| less(&mut charger.sheet.charge_mw, by))
    }),
    ("discharge watts", |_, hand, by| {
        of_charger(hand).is_some_and(|charger| less(&mut charger.sheet.discharge_mw, by))
    }),
    ("charger's input watts", |_, hand, by| {
        match of_charger(hand) {
            Some(ChargerAtHand {
                sheet:
                    Charger {
                        input: Input::UsbPd { mw, .. },
                        ..
                    },
                ..
            }) => less(mw, by),
            _ => false,
        }
    }),
    ("its other outputs", |_, hand, by| {
        let on = of_charger(hand).and_then(|charger| charger.running.first_mut());
        on.is_some_and(|on| {
            on.input_mw = on.input_mw * 100 / by;
            true
        })
    }),
    ("others on shared watts", |_, hand, by| {
        let others = hand
            .chargers
            .iter_mut()
            .filter(|each| each.sheet.chemistries.is_empty());
        let drawn = others
            .flat_map(|each| &mut each.running)
            .map(|on| &mut on.input_mw);
        drawn.map(|mw| *mw = *mw * 100 / by).count() > 0
    }),
    ("first adapter", |_, hand, by| {
        hand.adapters
            .first_mut()
            .is_some_and(|adapter| less(&mut adapter.sheet.rated_ma, by))
    }),
    ("second adapter", |_, hand, by| {
        hand.adapters
            .get_mut(1)
            .is_some_and(|adapter| less(&mut adapter.sheet.rated_ma, by))
    }),
    ("charger's plug", |_, hand, by| {
        let plug = of_charger(hand).map(|charger| charger.sheet.output_connector.clone());
        of_family(hand, plug, by)
    }),
    ("plug between", |_, hand, by| {
        let plug = hand
            .adapters
            .first()
            .map(|adapter| adapter.sheet.to.clone());
        of_family(hand, plug, by)
    }),
    ("pack's plug", |asked, hand, by| {
        of_family(hand, Some(asked.pack.connector.clone()), by)
    }),
    ("balance plug", |asked, hand, by| {
        of_family(hand, asked.pack.balance.clone(), by)
    }),
    ("input plug", |_, hand, by| {
        let plug = match of_charger(hand).map(|charger| charger.sheet.input.clone()) {
            Some(Input::Dc { connector, .. }) => connector,
            _ => return false,
        };
        of_family(hand, Some(plug), by)
    }),
    ("USB-C plug", |_, hand, by| {
        of_family(hand, Some("usb-c".to_owned()), by)
    }),
    ("supply's watts", |_, hand, by| {
        match hand.supplies.first_mut() {
            Some(SupplyAtHand {
                sheet: Supply::Dc { mw, .. },
                ..
            }) => less(mw, by),
            _ => false,
        }
    }),
    ("level's amps", |_, hand, by| {
        match hand.supplies.first_mut() {
            Some(SupplyAtHand {
                sheet: Supply::UsbPd { ports, .. },
                ..
            }) => {
                let levels = ports.iter_mut().flat_map(|port| &mut port.levels);
                levels.map(|level| less(&mut level.ma, by)).count() > 0
            }
            _ => false,
        }
    }),
    ("shared watts", |_, hand, by| {
        match hand.supplies.first_mut() {
            Some(SupplyAtHand {
                sheet: Supply::UsbPd { shared_mw, .. },
                ..
            }) => {
                *shared_mw = Some(shared_mw.unwrap_or(240_000) * by / 100);
                true
            }
            _ => false,
        }
    }),
    ("cable's mark", |_, hand, by| {
        hand.cables
            .first_mut()
            .is_some_and(|cable| less(&mut cable.sheet.limit_mw, by))
    }),
];

#[test]
fn no_limit_that_falls_raises_the_current_of_its_chain() {
    let mut held = BTreeMap::new();
    let many = if is_long() { 100_000 } else { 4_000 };
    for (index, (asked, hand)) in (0_i64..).zip(sampled(many)) {
        let percent = 10 + index * 37 % 85;
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else {
            continue;
        };
        for before in &plans {
            let alone = nothing_else(before, &hand);
            let again = first(&asked, &alone);
            assert_eq!(again.as_ref().map(what_is_set), Some(what_is_set(before)));
            let again = again.expect("the same");
            lower_each(&again, (&asked, &alone), percent, &mut held);
        }
    }
    let idle: Vec<&str> = FALLS
        .iter()
        .map(|(name, _)| *name)
        .filter(|name| !held.contains_key(name))
        .collect();
    println!("{held:?}");
    assert!(idle.is_empty(), "never held a current back: {idle:?}");
}

/// Each limit by itself. What was never seen to hold yet falls further too: some limits are seldom the least.
fn lower_each(
    before: &Plan,
    (asked, alone): (&Asked, &AtHand),
    percent: i64,
    held: &mut BTreeMap<&'static str, i64>,
) {
    for ((name, fall), percent) in FALLS
        .into_iter()
        .flat_map(|each| [(each, percent), (each, 3)])
    {
        let is_further = percent == 3;
        let (mut asked, mut hand) = (asked.clone(), alone.clone());
        if is_further && held.contains_key(name) || !fall(&mut asked, &mut hand, percent) {
            continue;
        }
        let Some(after) = first(&asked, &hand) else {
            *held.entry(name).or_insert(0) += 1;
            continue;
        };
        if after.current_ma < before.current_ma {
            *held.entry(name).or_insert(0) += 1;
        }
        assert!(
            after.current_ma <= before.current_ma,
            "{name}: {before:?} {after:?}"
        );
        // What a chain lets through and what a mode waits for are others' where these are.
        let is_same = after.chain == before.chain && after.mode == before.mode;
        let is_slower = after.course.most_minutes >= before.course.most_minutes
            && after.course.least_minutes >= before.course.least_minutes;
        assert!(!is_same || is_slower, "{name}: {before:?} {after:?}");
    }
}

fn first(asked: &Asked, hand: &AtHand) -> Option<Plan> {
    match plan(asked, hand) {
        Answer::Plans { plans, .. } => plans.into_iter().next(),
        _ => None,
    }
}

fn what_is_set(plan: &Plan) -> (Mode, i64, Feed, Chain) {
    (
        plan.mode,
        plan.current_ma,
        plan.feed.clone(),
        plan.chain.clone(),
    )
}

/// Near freezing and in the heat nothing is charged harder than at 20 degrees, whatever is asked.
#[test]
fn no_cold_or_heat_raises_the_current_of_what_has_time() {
    for (mut asked, hand) in sampled(1_000) {
        asked.purpose = Purpose::NoHurry {
            there_minutes: 100_000,
        };
        asked.warmth = Warmth {
            pack_celsius: Some(20),
            room_celsius: Some(20),
            pack_is_measured: false,
        };
        let Some(mild) = first(&asked, &hand) else {
            continue;
        };
        let alone = nothing_else(&mild, &hand);
        for celsius in [-10, 0, 3, 4, 5, 40, 41, 45, 46] {
            asked.warmth.room_celsius = Some(celsius);
            let there = first(&asked, &alone);
            assert!(there.is_none_or(|there| there.current_ma <= mild.current_ma));
        }
    }
}

#[test]
fn minutes_never_rise_with_the_current() {
    let mut compared = 0;
    for (asked, _) in sampled(if is_long() { 20_000 } else { 600 }) {
        let pack = &asked.pack;
        let Some(celsius) = asked.warmth.pack_celsius else {
            continue;
        };
        let rested = Rested {
            build: &pack.build,
            volts: &pack.volts,
            rested_minutes: pack.rested_minutes,
            resistance_ohm: pack.resistance_ohm,
            celsius,
        };
        let limits = &pack.limits;
        let courses = |at: &dyn Fn(i64) -> Option<Course>| {
            let shares = [5, 10, 30, 50, 80, 100, 101, 150, 200, 300];
            let told: Vec<Course> = shares
                .iter()
                .filter_map(|each| at((pack.build.capacity_mah * each / 100).max(1)))
                .collect();
            for pair in told.windows(2) {
                let (slow, quick) = (&pair[0], &pair[1]);
                assert!(
                    quick.most_minutes <= slow.most_minutes,
                    "{asked:?} {pair:?}"
                );
                assert!(
                    quick.least_minutes <= slow.least_minutes,
                    "{asked:?} {pair:?}"
                );
            }
            told.len()
        };
        compared += courses(&|ma| up(&rested, ma, limits.full_mv));
        compared += courses(&|ma| {
            let course = up(&rested, ma, limits.full_mv)?;
            up_balanced(&rested, course, ma, limits.full_mv)
        });
        compared += courses(&|ma| up(&rested, ma, limits.storage_target_mv));
        compared += courses(&|ma| down(&rested, ma, 20_000, limits.storage_target_mv));
    }
    assert!(compared > 1_000, "{compared}");
}
