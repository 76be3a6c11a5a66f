//! Random packs, questions and benches, and how many of them.

use super::*;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

const PLUGS: [&str; 5] = ["xt60", "xt30", "jst-rcy", "bullet-4", "hall-plug"];

#[expect(
    clippy::disallowed_methods,
    reason = "whether a proof runs in full is said to the tests alone"
)]
pub fn is_long() -> bool {
    std::env::var_os("SANDBUCKET_LONG").is_some()
}

/// A million of them in the slow proofs.
pub fn benches() -> ProptestConfig {
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

pub fn any_charger() -> impl Strategy<Value = Charger> {
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

pub fn any_hand() -> impl Strategy<Value = AtHand> {
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
                    left_for: None,
                    id: id(key, "C"),
                    left_at_ma,
                    running: running
                        .into_iter()
                        .filter(|(output, ..)| *output < sheet.outputs)
                        .map(|(output, supply, input_mw)| Running {
                            wired: Wired::Unknown,
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

pub fn any_asked() -> impl Strategy<Value = Asked> {
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

/// Few enough of each that every choice can be tried.
pub fn small_hand() -> impl Strategy<Value = AtHand> {
    any_hand().prop_map(|mut hand| {
        hand.chargers.truncate(2);
        hand.supplies.truncate(3);
        hand.cables.truncate(2);
        hand.adapters.truncate(4);
        hand
    })
}
