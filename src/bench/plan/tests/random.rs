//! Random benches: no plan exceeds any part of its chain, no combination of kit is better in the stated order, and what a
//! part may carry moves current and time one way only.

use super::*;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

const PLUGS: [&str; 5] = ["xt60", "xt30", "jst-rcy", "bullet-4", "hall-plug"];

fn is_long() -> bool {
    std::env::var_os("SANDBUCKET_LONG").is_some()
}

/// A million of them in the slow proofs.
fn benches() -> ProptestConfig {
    ProptestConfig {
        cases: if is_long() { 1_000_000 } else { 10_000 },
        failure_persistence: None,
        max_shrink_iters: 1_000,
        ..ProptestConfig::default()
    }
}

fn every() -> Vec<&'static str> {
    Chemistry::ALL.map(Chemistry::code).to_vec()
}

/// Half of all plugs are alike.
fn plug() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("xt60"), select(PLUGS.to_vec())]
}

fn any_charger() -> impl Strategy<Value = Charger> {
    let work = (
        select(vec![vec!["lipo", "lihv"], every(), every(), every()]),
        1_i64..3,
        select(vec![1_i64, 5, 5, 5]),
        select(vec![10_i64, 50, 100, 500]),
        1_i64..60,
        select(vec![10_i64, 50, 100]),
        5_000_i64..200_000,
        select(vec![0_i64, 5_000, 20_000]),
    );
    let plugs = (
        plug(),
        select(vec![
            Some("jst-xh"),
            Some("jst-xh"),
            Some("jst-xh"),
            Some("jst-xh"),
            None,
        ]),
        select(vec![
            Mode::ALL.to_vec(),
            Mode::ALL.to_vec(),
            vec![Mode::Balance],
            vec![Mode::Charge],
            vec![Mode::Charge, Mode::Storage],
        ]),
        1_i64..3,
        any::<bool>(),
        0_usize..3,
        select(vec![
            None,
            None,
            None,
            None,
            None,
            None,
            None,
            Some(300_i64),
            Some(800),
        ]),
    );
    (work, plugs).prop_map(|(work, plugs)| {
        let (chemistries, cells_from, cells_more, min, steps, step, charge_mw, discharge_mw) = work;
        let (output, balance, modes, outputs, can_boost, input, fixed) = plugs;
        let fixed = fixed.filter(|_| balance.is_some());
        Charger {
            chemistries: chemistries.into_iter().map(str::to_owned).collect(),
            cells_from,
            cells_to: cells_from + cells_more,
            current_min_ma: fixed.unwrap_or(min),
            current_max_ma: fixed.unwrap_or(min + steps * step),
            current_step_ma: step,
            charge_mw,
            discharge_mw,
            modes,
            has_mah_cutoff: true,
            has_time_cutoff: true,
            outputs,
            output_connector: output.into(),
            balance_connector: balance.map(str::to_owned),
            current_memory: Memory::Remembers,
            input: match input {
                0 => Input::Mains,
                1 => Input::UsbPd { mw: charge_mw },
                _ => Input::Dc {
                    mv_min: 10_000,
                    mv_max: 26_000,
                    connector: "xt60".into(),
                },
            },
            fixed_through_balance: fixed,
            can_boost,
        }
    })
}

fn any_supply() -> impl Strategy<Value = Supply> {
    let dc = (
        select(vec![5_000_i64, 12_000, 15_000, 24_000]),
        5_000_i64..300_000,
        plug(),
    )
        .prop_map(|(mv, mw, connector)| Supply::Dc {
            mv,
            mw,
            connector: connector.into(),
        });
    let usb = (
        vec(10_000_i64..240_000, 1..3),
        select(vec![None, Some(40_000_i64), Some(90_000)]),
    )
        .prop_map(|(ratings, shared_mw)| Supply::UsbPd {
            ports: ratings
                .into_iter()
                .map(|mw| Port {
                    levels: source_levels(mw),
                })
                .collect(),
            shared_mw,
        });
    prop_oneof![dc, usb]
}

fn any_hand() -> impl Strategy<Value = AtHand> {
    let running = || {
        prop_oneof![
            Just(Vec::new()),
            vec((0_i64..2, 0_usize..3, 1_000_i64..60_000), 0..2)
        ]
    };
    let chargers = vec(
        (
            any_charger(),
            running(),
            select(vec![None, Some(400_i64), Some(5_000)]),
        ),
        1..5,
    );
    let cables = vec(
        (
            select(vec![
                ("usb-c", "usb-c"),
                ("usb-c", "xt60"),
                ("xt30", "xt60"),
            ]),
            select(vec![60_000_i64, 100_000, 240_000]),
        ),
        0..3,
    );
    let adapters = vec(
        (
            select(PLUGS.to_vec()),
            select(PLUGS.to_vec()),
            500_i64..20_000,
            0_i64..3,
        ),
        0..8,
    );
    (chargers, vec(any_supply(), 0..5), cables, adapters).prop_map(
        |(chargers, supplies, cables, adapters)| {
            let chargers = (1..)
                .zip(chargers)
                .map(|(key, (sheet, running, left_at_ma))| ChargerAtHand {
                    id: id(key, "C"),
                    left_at_ma,
                    running: running
                        .into_iter()
                        .filter(|(output, ..)| *output < sheet.outputs)
                        .map(|(output, supply, input_mw)| Running {
                            output,
                            supply: (supply > 0).then(|| (format!("S-{supply:02}"), 0)),
                            input_mw,
                        })
                        .collect(),
                    sheet,
                });
            AtHand {
                chargers: chargers.collect(),
                supplies: (1..)
                    .zip(supplies)
                    .map(|(key, sheet)| SupplyAtHand {
                        id: id(key, "S"),
                        sheet,
                    })
                    .collect(),
                cables: (1..)
                    .zip(cables)
                    .map(|(key, ((from, to), limit_mw))| CableAtHand {
                        id: id(key, "K"),
                        sheet: Cable {
                            from: from.into(),
                            to: to.into(),
                            limit_mw,
                        },
                    })
                    .collect(),
                adapters: (1..)
                    .zip(adapters)
                    .filter(|(_, (from, to, ..))| from != to)
                    .map(|(key, (from, to, rated_ma, free))| AdaptersAtHand {
                        free,
                        ..super::adapters(key, from, to, rated_ma)
                    })
                    .collect(),
                families: built_in(),
            }
        },
    )
}

fn any_asked() -> impl Strategy<Value = Asked> {
    let pack = (
        select(Chemistry::ALL.to_vec()),
        1_i64..7,
        50_i64..8_000,
        0_i64..1_000,
        select(vec![0_i64, 5, 10, 20, 29, 60]),
        select(vec![None, Some(5_i64), Some(10), Some(30), Some(50)]),
        plug(),
    );
    let rest = (
        select(vec![true, true, true, false]),
        select(vec![true, false, false, false]),
        prop_oneof![Just(20_i64), 0_i64..46],
        select(vec![20_i64, 30, 45, 60, 90, 240]),
        select(vec![0_usize, 0, 0, 1, 2, 3]),
        select(vec![None, Some(0.004_f64), Some(0.03)]),
        select(vec![5_i64, 10, 10]),
    );
    (pack, rest).prop_map(
        |((chemistry, cells, mah, within, apart, label, plug), rest)| {
            let (is_spread_known, owes_balance, celsius, minutes, purpose, resistance_ohm, usual) =
                rest;
            let limits = chemistry.limits();
            let cell_mv = limits.minimum_mv + (limits.full_mv - limits.minimum_mv) * within / 1_000;
            let mut pack = super::pack(chemistry, cells, mah, cell_mv);
            if let Volts::Cells(each) = &mut pack.volts {
                each[0] = (each[0] + apart).min(limits.full_mv);
            }
            pack.connector = plug.into();
            pack.label_charge_c_tenths = label;
            pack.is_spread_known = is_spread_known;
            pack.owes_balance = owes_balance;
            pack.resistance_ohm = resistance_ohm;
            let purposes = [
                Purpose::ReadyBy { minutes },
                Purpose::NoHurry {
                    there_minutes: minutes,
                },
                Purpose::Storage,
                Purpose::Empty,
            ];
            let mut asked = super::asked(pack, purposes[purpose]);
            asked.club.usual_c_tenths = usual.min(chemistry.default_charge_c_tenths());
            asked.warmth.room_celsius = Some(celsius);
            asked
        },
    )
}

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
    must(is_up || sheet.discharge_mw > 0, "discharge");
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
            adapters: vec![super::adapters(1, "ec5", &asked.pack.connector, rated_ma)],
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
        if let (Some(strong), Some(weak)) = (strong, weak) {
            if strong.mode == weak.mode {
                prop_assert!(weak.current_ma <= strong.current_ma, "{strong:?} {weak:?}");
                if weak.current_ma < strong.current_ma {
                    prop_assert!(weak.course.most_minutes >= strong.course.most_minutes);
                }
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
