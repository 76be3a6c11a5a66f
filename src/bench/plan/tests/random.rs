//! Random packs, questions and benches, and how many of them.

use super::*;
use crate::battery::limits::CellLimits;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

mod questions;
pub use questions::any_asked;

const PLUGS: [&str; 5] = ["xt60", "xt30", "jst-rcy", "bullet-4", "hall-plug"];
const BARREL: &str = "barrel-5.5-2.1";

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

/// Most plugs are alike.
fn plug() -> impl Strategy<Value = &'static str> {
    prop_oneof![2 => Just("xt60"), 1 => select(PLUGS.to_vec())]
}

pub fn any_charger() -> impl Strategy<Value = Charger> {
    let work = (
        select(vec![vec!["lipo", "lihv"], every(), every(), every()]),
        prop_oneof![4 => Just(1_i64), 1 => Just(2_i64)],
        select(vec![1_i64, 5, 6, 6]),
        select(vec![10_i64, 50, 100, 500]),
        5_i64..80,
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
        any_input(),
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
    (work, plugs, any_ends()).prop_map(|(work, plugs, ends)| {
        let (chemistries, cells_from, cells_more, min, steps, step, charge_mw, discharge_mw) = work;
        let (output, balance, modes, outputs, can_boost, input, fixed) = plugs;
        let (has_mah_cutoff, has_time_cutoff, current_memory) = ends;
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
            has_mah_cutoff,
            has_time_cutoff,
            outputs,
            output_connector: output.into(),
            balance_connector: balance.map(str::to_owned),
            current_memory,
            input,
            fixed_through_balance: fixed,
            can_boost,
        }
    })
}

/// Whether it ends by mAh and by time, and what it starts from.
fn any_ends() -> impl Strategy<Value = (bool, bool, Memory)> {
    let mostly = || prop_oneof![4 => Just(true), 1 => Just(false)];
    let memory = prop_oneof![
        4 => Just(Memory::Remembers),
        1 => select(vec![100_i64, 2_000]).prop_map(|ma| Memory::Factory { ma }),
        1 => Just(Memory::NotKnown),
    ];
    (mostly(), mostly(), memory)
}

/// What it draws at most has nothing to do with what it charges with.
fn any_input() -> impl Strategy<Value = Input> {
    let usb = select(vec![20_000_i64, 45_000, 65_000, 100_000, 140_000, 240_000]);
    let takes = select(vec![
        None,
        None,
        Some([9_000_i64, 15_000]),
        Some([15_000, 20_000]),
    ]);
    let usb = (usb, takes).prop_map(|(mw, takes)| (mw, takes.map(Vec::from)));
    let dc = select(vec![
        (10_000_i64, 26_000_i64),
        (10_000, 18_000),
        (9_000, 48_000),
    ]);
    let dc = (dc, prop_oneof![plug(), Just(BARREL)]);
    prop_oneof![
        Just(Input::Mains),
        usb.prop_map(|(mw, levels_mv)| Input::UsbPd { mw, levels_mv }),
        dc.prop_map(|((mv_min, mv_max), connector)| Input::Dc {
            mv_min,
            mv_max,
            connector: connector.into()
        }),
    ]
}

/// As its rating has it, or as a label prints it.
fn any_port() -> impl Strategy<Value = Port> {
    let level = |(mv, ma): &(i64, i64)| Level { mv: *mv, ma: *ma };
    let printed = select(vec![
        vec![(5_000, 3_000), (9_000, 2_222), (12_000, 1_500)],
        vec![
            (5_000, 3_000),
            (9_000, 3_000),
            (15_000, 2_400),
            (20_000, 1_800),
        ],
        vec![(5_000, 2_400)],
    ]);
    let rated = (10_000_i64..240_000).prop_map(source_levels);
    let printed = printed.prop_map(move |levels| levels.iter().map(level).collect());
    prop_oneof![3 => rated, 1 => printed].prop_map(|levels| Port { levels })
}

fn any_supply() -> impl Strategy<Value = Supply> {
    let dc = (
        select(vec![5_000_i64, 12_000, 15_000, 24_000]),
        5_000_i64..300_000,
        prop_oneof![plug(), Just(BARREL)],
    )
        .prop_map(|(mv, mw, connector)| Supply::Dc {
            mv,
            mw,
            connector: connector.into(),
        });
    let usb = (
        vec(any_port(), 1..3),
        select(vec![None, Some(40_000_i64), Some(90_000)]),
    )
        .prop_map(|(ports, shared_mw)| Supply::UsbPd { ports, shared_mw });
    prop_oneof![dc, usb]
}

/// What another output of a charger draws, from where and through what.
fn any_running() -> impl Strategy<Value = Running> {
    let wired = |(at, limit_mw): (usize, i64)| match at {
        0 => Wired::Unknown,
        1 => Wired::NotTheClubs,
        _ => Wired::Cable(CableAtHand {
            id: id(90, "K"),
            sheet: Cable {
                from: "usb-c".into(),
                to: "usb-c".into(),
                limit_mw,
            },
        }),
    };
    let wired = (0_usize..4, select(vec![60_000_i64, 100_000, 240_000])).prop_map(wired);
    (0_i64..2, wired, 0_usize..3, 0_usize..2, 1_000_i64..60_000).prop_map(
        |(output, wired, supply, port, input_mw)| Running {
            output,
            // Where nobody knows whence it is fed, nobody knows through what.
            wired: if supply > 0 { wired } else { Wired::Unknown },
            supply: (supply > 0).then(|| (format!("S-{supply:02}"), port)),
            input_mw,
        },
    )
}

/// Outputs, and the mA they were left at.
type Settings = Vec<(i64, i64)>;

fn any_chargers() -> impl Strategy<Value = Vec<ChargerAtHand>> {
    let running = prop_oneof![2 => Just(Vec::new()), 1 => vec(any_running(), 1..2)];
    let left = vec((0..2_i64, select(vec![400_i64, 5_000])), 0..3);
    vec((any_charger(), running, left), 1..5).prop_map(|all| {
        let with_key = (1..).zip(all);
        let charger =
            |(key, (sheet, mut running, left)): (i64, (Charger, Vec<Running>, Settings))| {
                let left = left.into_iter().map(|(output, ma)| LeftAt {
                    output,
                    ma,
                    of: None,
                });
                running.retain(|each| each.output < sheet.outputs);
                ChargerAtHand {
                    id: id(key, "C"),
                    left: left.collect(),
                    running,
                    sheet,
                }
            };
        with_key.map(charger).collect()
    })
}

fn any_cable() -> impl Strategy<Value = Cable> {
    let ends = select(vec![
        ("usb-c", "usb-c"),
        ("usb-c", "usb-c"),
        ("usb-c", "xt60"),
        ("usb-c", BARREL),
        ("xt30", "xt60"),
        ("xt60", BARREL),
    ]);
    let marks = select(vec![15_000_i64, 60_000, 100_000, 240_000]);
    (ends, marks).prop_map(|((from, to), limit_mw)| Cable {
        from: from.into(),
        to: to.into(),
        limit_mw,
    })
}

/// A club may have a figure of its own for a plug.
fn any_families() -> impl Strategy<Value = Vec<Family>> {
    let own = select(vec![None, None, Some(4_000_i64), Some(900)]);
    let code = prop_oneof![4 => select(PLUGS.to_vec()), 1 => Just("usb-c")];
    (own, code).prop_map(|(own, code)| {
        let mut families = built_in();
        let its = families.iter_mut().filter(|family| family.code == code);
        its.for_each(|family| family.rating_ma = own.or(family.rating_ma));
        families
    })
}

pub fn any_hand() -> impl Strategy<Value = AtHand> {
    let adapters = vec(
        (
            select(PLUGS.to_vec()),
            select(PLUGS.to_vec()),
            500_i64..20_000,
            0_i64..3,
        ),
        0..8,
    );
    let supplies = vec(any_supply(), 0..5);
    let cables = vec(any_cable(), 0..3);
    // On a charger that is set aside.
    let elsewhere = prop_oneof![3 => Just(Vec::new()), 1 => vec(any_running(), 1..2)];
    let chargers = (any_chargers(), elsewhere);
    (chargers, supplies, cables, adapters, any_families()).prop_map(
        |((chargers, elsewhere), supplies, cables, adapters, families)| {
            let supply = |(key, sheet)| SupplyAtHand {
                id: id(key, "S"),
                sheet,
            };
            let cable = |(key, sheet)| CableAtHand {
                id: id(key, "K"),
                sheet,
            };
            let adapters = (1..)
                .zip(adapters)
                .filter(|(_, (from, to, ..))| from != to)
                .map(|(key, (from, to, rated_ma, free))| AdaptersAtHand {
                    free,
                    ..super::adapters(key, from, to, rated_ma)
                });
            AtHand {
                chargers,
                supplies: (1..).zip(supplies).map(supply).collect(),
                cables: (1..).zip(cables).map(cable).collect(),
                adapters: adapters.collect(),
                families,
                elsewhere: elsewhere.into_iter().map(|on| (id(80, "C"), on)).collect(),
            }
        },
    )
}

/// So many questions and benches, the same each time.
pub fn sampled(many: usize) -> impl Iterator<Item = (Asked, AtHand)> {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let both = (any_asked(), any_hand());
    (0..many).map(move |_| {
        both.new_tree(&mut runner)
            .expect("a question and a bench")
            .current()
    })
}
