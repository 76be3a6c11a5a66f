//! What a charge plan costs over all the kit that a large club owns: many ways for each charger, few of them alike.

use crate::Figures;
use crate::cpu::{middle, used};
use sandbucket::battery::chemistry::Chemistry;
use sandbucket::battery::limits::LabelVolts;
use sandbucket::battery::pack::Build;
use sandbucket::battery::volts::Volts;
use sandbucket::bench::chain::{Adapter, Cable};
use sandbucket::bench::charger::{Charger, Input, Memory, Mode};
use sandbucket::bench::connector::{Purpose as Use, built_in};
use sandbucket::bench::plan::{
    AdaptersAtHand, Answer, Asked, AtHand, CableAtHand, ChargerAtHand, ClubRules, LeftAt, Numbered,
    Pack, Purpose, SupplyAtHand, Warmth, plan,
};
use sandbucket::bench::supply::{Port, Supply, source_levels};
use std::hint::black_box;

const CHARGERS: i64 = 50;
const SUPPLIES: i64 = 50;
const CABLES: i64 = 30;
const ADAPTERS: usize = 200;
const PLAN_MS_MAX: f64 = 5.0;
const ROUNDS: usize = 9;
/// Long enough for the kernel's hundredths of a second.
const PLANS: u32 = 60;

pub fn measure(figures: &mut Figures) {
    let hand = a_large_bench();
    for (purpose, words) in [
        (Purpose::NoHurry { there_minutes: 240 }, "no hurry"),
        (Purpose::ReadyBy { minutes: 50 }, "ready in 50 minutes"),
        (Purpose::Storage, "storage"),
    ] {
        let asked = a_pack(purpose);
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else {
            panic!("{words}: nothing is planned");
        };
        // One that is soon refused by all would measure nothing.
        assert!(plans.len() >= 30, "{words}: only {} plans", plans.len());
        let middle_ms = middle((0..ROUNDS).map(|_| ms_each(&asked, &hand)).collect());
        figures.hold(
            &format!("a plan for one pack over {CHARGERS} chargers, {SUPPLIES} supplies and {ADAPTERS} adapters, {words}"),
            &format!("{middle_ms:.2} ms CPU, the middle of {ROUNDS} times {PLANS}; {} plans; limit {PLAN_MS_MAX:.0} ms", plans.len()),
            middle_ms < PLAN_MS_MAX,
        );
    }
}

/// A plan is made by one thread that waits for nothing: with a processor to itself it takes as long as this.
fn ms_each(asked: &Asked, hand: &AtHand) -> f64 {
    let before = used();
    for _ in 0..PLANS {
        black_box(plan(black_box(asked), hand));
    }
    (used() - before).as_secs_f64() * 1e3 / f64::from(PLANS)
}

fn a_pack(purpose: Purpose) -> Asked {
    let build = Build {
        chemistry: Chemistry::LiPo,
        cells_series: 3,
        groups_parallel: 1,
        capacity_mah: 2_200,
        sees_cells: true,
        label: LabelVolts::default(),
    };
    let cell_mv = if purpose == Purpose::Storage {
        4_180
    } else {
        3_720
    };
    Asked {
        pack: Pack {
            build,
            limits: build.limits(),
            label_charge_c_tenths: Some(50),
            connector: "xt30".into(),
            balance: Some("jst-xh".into()),
            volts: Volts::Cells(vec![cell_mv, cell_mv - 4, cell_mv + 3]),
            rested_minutes: 0,
            resistance_ohm: None,
            is_spread_known: true,
            owes_balance: false,
            from_use_minutes: None,
        },
        warmth: Warmth {
            pack_celsius: Some(21),
            room_celsius: Some(19),
            pack_is_measured: false,
        },
        purpose,
        done_within: None,
        club: ClubRules {
            usual_c_tenths: 10,
            most_c_tenths: 20,
            charge_from_celsius: 0,
            charge_to_celsius: 45,
            small_spread_mv: 30,
        },
    }
}

fn id(prefix: &str, key: i64) -> Numbered {
    Numbered {
        key,
        number: format!("{prefix}-{key:02}"),
    }
}

/// No two chargers and no two supplies alike, and every plug is led to every other.
fn a_large_bench() -> AtHand {
    let families = built_in();
    let of = |purpose: Use| {
        families
            .iter()
            .filter(move |family| family.purpose == purpose)
    };
    let plugs: Vec<&str> = of(Use::Discharge)
        .map(|family| family.code.as_str())
        .collect();
    let pairs = plugs
        .iter()
        .flat_map(|from| plugs.iter().map(move |to| (*from, *to)));
    let pairs = pairs.filter(|(from, to)| from != to);
    let adapters: Vec<AdaptersAtHand> = pairs
        .cycle()
        .take(ADAPTERS)
        .enumerate()
        .map(|(at, (from, to))| AdaptersAtHand {
            id: id("A", at as i64),
            sheet: Adapter {
                from: from.into(),
                to: to.into(),
                rated_ma: 1_500 + at as i64 * 37,
            },
            free: 2,
        })
        .collect();
    AtHand {
        chargers: (0..CHARGERS).map(|at| charger(at, &plugs)).collect(),
        supplies: (0..SUPPLIES).map(supply).collect(),
        cables: (0..CABLES).map(cable).collect(),
        adapters,
        families,
        elsewhere: Vec::new(),
    }
}

fn charger(at: i64, plugs: &[&str]) -> ChargerAtHand {
    let input = match at % 4 {
        0 => Input::Mains,
        1 | 2 => Input::Dc {
            mv_min: 10_000,
            mv_max: 30_000,
            connector: "xt60".into(),
        },
        _ => Input::UsbPd {
            mw: 30_000 + at * 1_000,
            levels_mv: None,
        },
    };
    let step = 10 + at % 9;
    ChargerAtHand {
        id: id("C", at),
        sheet: Charger {
            chemistries: vec!["lipo".into(), "lihv".into(), "liion".into()],
            cells_from: 1,
            cells_to: 6,
            current_min_ma: 50 + at,
            current_max_ma: 50 + at + step * 600,
            current_step_ma: step,
            charge_mw: 20_000 + at * 1_700,
            discharge_mw: 5_000 + at * 300,
            modes: Mode::ALL.to_vec(),
            has_mah_cutoff: true,
            has_time_cutoff: true,
            outputs: 1 + at % 2,
            output_connector: plugs[at as usize % plugs.len()].into(),
            balance_connector: Some("jst-xh".into()),
            current_memory: Memory::Remembers,
            input,
            fixed_through_balance: None,
            can_boost: true,
        },
        left: (0..=at % 2)
            .map(|output| LeftAt {
                output,
                ma: 1_000 + at * 50,
                of: None,
            })
            .collect(),
        running: Vec::new(),
    }
}

fn supply(at: i64) -> SupplyAtHand {
    let port = |mw: i64| Port {
        levels: source_levels(mw),
    };
    let sheet = if at % 2 == 0 {
        Supply::UsbPd {
            ports: (0..1 + at % 4)
                .map(|each| port(20_000 + at * 1_300 + each * 7_000))
                .collect(),
            shared_mw: (at % 3 == 0).then_some(40_000 + at * 1_000),
        }
    } else {
        Supply::Dc {
            mv: 12_000 + at * 250,
            mw: 30_000 + at * 3_100,
            connector: "xt60".into(),
        }
    };
    SupplyAtHand {
        id: id("S", at),
        sheet,
    }
}

fn cable(at: i64) -> CableAtHand {
    let (from, to) = match at % 3 {
        0 => ("usb-c", "usb-c"),
        1 => ("usb-c", "xt60"),
        _ => ("xt60", "xt60"),
    };
    CableAtHand {
        id: id("K", at),
        sheet: Cable {
            from: from.into(),
            to: to.into(),
            limit_mw: 45_000 + at * 6_000,
        },
    }
}
