//! Of random benches: no plan exceeds any part of its chain, no combination of kit is better in the stated order, and what a
//! part may carry moves current and time one way only.

use super::random::{any_asked, any_charger, any_hand, benches, is_long, small_hand};
use super::*;
use proptest::prelude::*;

/// Every part of a plan's chain that it asks too much of, read off the sheets anew.
fn exceeded(plan: &Plan, asked: &Asked, hand: &AtHand) -> Vec<String> {
    let pack = &asked.pack;
    let charger = hand
        .chargers
        .iter()
        .find(|each| each.id == plan.charger)
        .expect("a charger of the club");
    let sheet = &charger.sheet;
    let (ma, mah) = (plan.current_ma, pack.build.capacity_mah);
    let full_mv = pack.limits.full_mv * pack.build.cells_series;
    let is_up = matches!(plan.way, Way::Up { .. });
    let mut wrong = Vec::new();
    let mut must = |holds: bool, words: &str| {
        if !holds {
            wrong.push(words.to_owned());
        }
    };
    must(
        ma >= sheet.current_min_ma && ma <= sheet.current_max_ma,
        "charger's range",
    );
    must(
        (ma - sheet.current_min_ma) % sheet.current_step_ma == 0,
        "charger's step",
    );
    must(sheet.modes.contains(&plan.mode), "mode");
    must(
        sheet
            .chemistries
            .iter()
            .any(|code| code == pack.build.chemistry.code()),
        "chemistry",
    );
    must(
        (sheet.cells_from..=sheet.cells_to).contains(&pack.build.cells_series),
        "cells",
    );
    must(
        charger
            .running
            .iter()
            .all(|each| each.output != plan.output)
            && plan.output < sheet.outputs,
        "output",
    );
    let label = pack
        .label_charge_c_tenths
        .unwrap_or(pack.build.chemistry.default_charge_c_tenths());
    must(ma * 10 <= mah * label, "label");
    let club = match asked.purpose {
        Purpose::ReadyBy { .. } => asked.club.usual_c_tenths.max(asked.club.most_c_tenths),
        _ => asked.club.usual_c_tenths,
    };
    must(ma * 10 <= mah * club, "club");
    must(
        asked.purpose != Purpose::Empty || ma * 10 <= mah,
        "a tenth of C for disposal",
    );
    let coldest = asked
        .warmth
        .pack_celsius
        .min(asked.warmth.room_celsius)
        .expect("known");
    let hottest = asked
        .warmth
        .pack_celsius
        .max(asked.warmth.room_celsius)
        .expect("known");
    must(coldest >= 0 && hottest <= 45, "temperature");
    let is_nickel = pack.build.chemistry == Chemistry::NiMh;
    must(
        coldest >= 5 || ma * 10 <= mah * if is_nickel { 3 } else { 5 },
        "cold",
    );
    must(hottest <= 40 || ma * 10 <= mah * 5, "heat");
    must(plan.chain.adapters.len() <= 2, "two adapters");
    for plug in &plan.chain.plugs {
        must(ma <= hand.rating_ma(plug).unwrap_or(2_000), "plug");
    }
    for adapter in &plan.chain.adapters {
        let stock = hand
            .adapters
            .iter()
            .find(|each| each.id == *adapter)
            .expect("an adapter of the club");
        must(ma <= stock.sheet.rated_ma && stock.free > 0, "adapter");
    }
    let is_lithium = pack.build.chemistry.is_lithium();
    must(
        !is_lithium || pack.build.cells_series == 1 || plan.has_balance_lead,
        "cells seen",
    );
    must(
        !is_lithium || plan.cutoff_mah * 100 <= mah * 105,
        "put back",
    );
    let now_mv = pack.volts.total_mv();
    must(
        is_up || ma * now_mv <= sheet.discharge_mw * 1_000,
        "discharge watts",
    );
    must(
        plan.is_balanced
            || (pack.volts.spread_mv() <= Some(30) && pack.is_spread_known && !pack.owes_balance),
        "quick",
    );
    if is_up {
        must(ma * full_mv <= sheet.charge_mw * 1_000, "charger's watts");
        if let Some(source) = &plan.feed.source {
            let supply = hand
                .supplies
                .iter()
                .find(|each| each.id == source.supply)
                .expect("a supply of the club");
            let port = source.port.unwrap_or(0);
            let own: i64 = charger.running.iter().map(|each| each.input_mw).sum();
            let needed = ma * full_mv / 1_000 * 100 / 85 + own;
            let cable = source.cable.as_ref().map(|cable| {
                hand.cables
                    .iter()
                    .find(|each| each.id == *cable)
                    .expect("a cable of the club")
                    .sheet
                    .limit_mw
            });
            must(
                needed <= cable.unwrap_or(i64::MAX).saturating_add(own),
                "cable",
            );
            must(
                !source.needs_own_cable || needed <= 60_000 + own,
                "unmarked cable",
            );
            match &supply.sheet {
                Supply::Dc { mv, mw, .. } => {
                    must(needed <= *mw, "supply");
                    must(sheet.can_boost || *mv >= full_mv + 1_000, "boost");
                    must(!matches!(sheet.input, Input::UsbPd { .. }), "needs USB PD");
                }
                Supply::UsbPd { ports, shared_mw } => {
                    must(needed <= ports[port].mw(), "port");
                    must(sheet.can_boost || source.mv >= full_mv + 1_000, "boost");
                    must(
                        ports[port].levels.iter().any(|level| level.mv == source.mv),
                        "level",
                    );
                    let others: i64 = hand
                        .chargers
                        .iter()
                        .flat_map(|each| &each.running)
                        .filter(|each| {
                            each.supply.as_ref().is_some_and(|(number, at)| {
                                *number == supply.id.number && *at != port
                            })
                        })
                        .map(|each| each.input_mw)
                        .sum();
                    must(
                        shared_mw.is_none_or(|shared| needed <= shared - others),
                        "shared watts",
                    );
                }
            }
            if let Input::Dc { mv_min, mv_max, .. } = &sheet.input {
                must((*mv_min..=*mv_max).contains(&source.mv), "input volts");
            }
        } else {
            must(sheet.input == Input::Mains, "no supply");
        }
    }
    wrong
}

/// Better is lower, as the order is stated.
type Stated = (bool, bool, i64, usize, i64);

fn stated(plan: &Plan) -> Stated {
    (
        !plan.is_in_time,
        !plan.is_balanced,
        plan.current_ma,
        plan.chain.adapters.len(),
        plan.course.most_minutes,
    )
}

/// The bench with one charger, one supply, one cable and the adapters of one chain left, for every such choice.
fn every_combination(hand: &AtHand) -> Vec<AtHand> {
    let some = |many: usize| (0..many).map(Some).chain([None]);
    let mut all = Vec::new();
    for charger in &hand.chargers {
        for supply in some(hand.supplies.len()) {
            for cable in some(hand.cables.len()) {
                for near in some(hand.adapters.len()) {
                    for far in some(hand.adapters.len()) {
                        let kept = |index: Option<usize>| index.map(|at| hand.adapters[at].clone());
                        // What other chargers draw stays known; they themselves are busy.
                        let others = hand
                            .chargers
                            .iter()
                            .filter(|other| other.id != charger.id)
                            .map(|other| ChargerAtHand {
                                sheet: Charger {
                                    chemistries: Vec::new(),
                                    ..other.sheet.clone()
                                },
                                ..other.clone()
                            });
                        all.push(AtHand {
                            chargers: [charger.clone()].into_iter().chain(others).collect(),
                            supplies: supply
                                .map(|at| hand.supplies[at].clone())
                                .into_iter()
                                .collect(),
                            cables: cable
                                .map(|at| hand.cables[at].clone())
                                .into_iter()
                                .collect(),
                            adapters: [kept(near), kept(far).filter(|_| near != far)]
                                .into_iter()
                                .flatten()
                                .collect(),
                            families: hand.families.clone(),
                        });
                    }
                }
            }
        }
    }
    all
}

proptest! {
    #![proptest_config(benches())]

    #[test]
    fn no_plan_exceeds_any_limit_of_any_part_in_its_chain(asked in any_asked(), hand in any_hand()) {
        if let Answer::Plans { plans, refused } = plan(&asked, &hand) {
            for plan in &plans {
                prop_assert_eq!(exceeded(plan, &asked, &hand), Vec::<String>::new(), "{:?}", plan);
            }
            for pair in plans.windows(2) {
                prop_assert!(stated(&pair[0]) <= stated(&pair[1]), "{:?}", pair);
            }
            let has_balanced = plans.iter().any(|plan| plan.is_balanced && plan.is_in_time);
            prop_assert!(!has_balanced || plans.iter().all(|plan| plan.is_balanced));
            let named = plans.len() + refused.iter().filter(|each| each.number.starts_with('C')).count();
            prop_assert_eq!(named, hand.chargers.len(), "each charger is planned with or refused");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: if is_long() { 10_000 } else { 200 }, ..benches() })]

    #[test]
    fn no_combination_of_kit_is_better_in_the_stated_order(asked in any_asked(), hand in small_hand()) {
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else { return Ok(()) };
        let best = plans.first().map(stated);
        // One wire of the club's own there is: then the common one is not reckoned with.
        let has_usb_cable = hand.cables.iter().any(|cable| cable.sheet.from == "usb-c" && cable.sheet.to == "usb-c");
        for less in every_combination(&hand) {
            let Answer::Plans { plans, .. } = plan(&asked, &less) else { continue };
            for other in plans {
                let is_common = other.feed.source.as_ref().is_some_and(|source| source.needs_own_cable);
                if is_common && has_usb_cable {
                    continue;
                }
                prop_assert!(best.is_some_and(|best| best <= stated(&other)), "{best:?} is worse than {other:?}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, ..benches() })]

    #[test]
    fn a_part_that_carries_less_never_raises_the_current_of_its_chain(
        asked in any_asked(), sheet in any_charger(), rated in 300_i64..20_000, less in 100_i64..5_000, weaker in 0_usize..5,
    ) {
        let hand_of = |rated_ma: i64, sheet: Charger| AtHand {
            chargers: vec![charger(1, Charger { input: Input::Mains, output_connector: "ec5".into(), ..sheet })],
            adapters: vec![adapters(1, "ec5", &asked.pack.connector, rated_ma)],
            families: built_in(),
            ..AtHand::default()
        };
        let (mut weak_asked, mut weak_sheet, mut weak_rated) = (asked.clone(), sheet.clone(), rated);
        match weaker {
            0 => weak_rated = (rated - less).max(100),
            1 => weak_sheet.charge_mw = (sheet.charge_mw - less * 10).max(1_000),
            2 => weak_asked.pack.label_charge_c_tenths = asked.pack.label_charge_c_tenths.map(|label| (label - less / 200).max(1)),
            3 => weak_asked.club.usual_c_tenths = (asked.club.usual_c_tenths - less / 1_000).max(1),
            _ => weak_asked.club.most_c_tenths = (asked.club.most_c_tenths - less / 200).max(1),
        }
        let of = |asked: &Asked, hand: &AtHand| match plan(asked, hand) {
            Answer::Plans { plans, .. } => plans.into_iter().next(),
            _ => None,
        };
        let (strong, weak) = (of(&asked, &hand_of(rated, sheet)), of(&weak_asked, &hand_of(weak_rated, weak_sheet)));
        if let (Some(strong), Some(weak)) = (strong, weak)
            && strong.mode == weak.mode
        {
            prop_assert!(weak.current_ma <= strong.current_ma, "{strong:?} {weak:?}");
            if weak.current_ma < strong.current_ma {
                prop_assert!(weak.course.most_minutes >= strong.course.most_minutes);
            }
        }
    }
}

/// The random benches say something only if they meet what they are to prove.
#[test]
fn random_benches_meet_every_kind_of_plan() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let mut met = std::collections::BTreeMap::new();
    for _ in 0..10_000 {
        let asked = any_asked()
            .new_tree(&mut runner)
            .expect("a question")
            .current();
        let hand = any_hand().new_tree(&mut runner).expect("a bench").current();
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else {
            continue;
        };
        for each in &plans {
            let source = each.feed.source.as_ref();
            let kinds = [
                ("balanced", each.is_balanced),
                ("quick", !each.is_balanced),
                ("above 1C", each.c_ten_thousandths > 10_000),
                ("late", !each.is_in_time),
                (
                    "up to storage",
                    matches!(each.way, Way::Up { .. }) && asked.purpose == Purpose::Storage,
                ),
                (
                    "down to storage",
                    matches!(each.way, Way::Down { .. }) && asked.purpose == Purpose::Storage,
                ),
                ("for disposal", asked.purpose == Purpose::Empty),
                ("through the balance plug", each.through_balance),
                ("two adapters", each.chain.adapters.len() == 2),
                (
                    "held back by the supply",
                    each.limits
                        .iter()
                        .any(|limit| matches!(limit, Limit::Supply { .. })),
                ),
                (
                    "held back by a plug",
                    each.limits
                        .iter()
                        .any(|limit| matches!(limit, Limit::Chain(_))),
                ),
                (
                    "a brick",
                    source.is_some_and(|source| source.port.is_none()),
                ),
                (
                    "a port with a cable",
                    source.is_some_and(|source| source.port.is_some() && source.cable.is_some()),
                ),
                (
                    "turned down first",
                    matches!(each.first, First::TurnDown { .. }),
                ),
            ];
            for (kind, _) in kinds.into_iter().filter(|(_, is_so)| *is_so) {
                *met.entry(kind).or_insert(0) += 1;
            }
        }
    }
    println!("{met:?}");
    assert_eq!(met.len(), 14, "{met:?}");
    assert!(met.values().all(|count| *count >= 10), "{met:?}");
}
