//! What a plan says about single benches, with figures from outside where there are some.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::bench::chain::{Adapter, Cable};
use crate::bench::charger::tests::usb_charger;
use crate::bench::charger::{Charger, Input, Memory};
use crate::bench::connector::built_in;
use crate::bench::supply::{Level, Port, Supply, source_levels};
use crate::bench::typed::Words;

mod random;

fn pack(chemistry: Chemistry, cells: i64, mah: i64, cell_mv: i64) -> Pack {
    let build = Build {
        chemistry,
        cells_series: cells,
        groups_parallel: 1,
        capacity_mah: mah,
        sees_cells: true,
        label: LabelVolts::default(),
    };
    Pack {
        build,
        limits: build.limits(),
        label_charge_c_tenths: None,
        connector: "xt60".into(),
        balance: Some("jst-xh".into()),
        volts: Volts::Cells(vec![cell_mv; cells as usize]),
        resistance_ohm: None,
        is_spread_known: true,
        owes_balance: false,
    }
}

fn asked(pack: Pack, purpose: Purpose) -> Asked {
    let usual_c_tenths = pack.build.chemistry.default_charge_c_tenths();
    Asked {
        pack,
        warmth: Warmth {
            pack_celsius: Some(21),
            room_celsius: Some(21),
        },
        purpose,
        club: ClubRules {
            usual_c_tenths,
            most_c_tenths: 20,
            charge_from_celsius: 0,
            charge_to_celsius: 45,
            small_spread_mv: 30,
        },
    }
}

const EVENING: Purpose = Purpose::NoHurry { there_minutes: 240 };

fn id(key: i64, prefix: &str) -> Numbered {
    Numbered {
        key,
        number: format!("{prefix}-{key:02}"),
    }
}

fn charger(key: i64, sheet: Charger) -> ChargerAtHand {
    ChargerAtHand {
        id: id(key, "C"),
        sheet,
        left_at_ma: None,
        running: Vec::new(),
    }
}

fn usb_supply(key: i64, mw: i64) -> SupplyAtHand {
    let levels = source_levels(mw);
    SupplyAtHand {
        id: id(key, "S"),
        sheet: Supply::UsbPd {
            ports: vec![Port { levels }],
            shared_mw: None,
        },
    }
}

fn dc_supply(key: i64, mv: i64, mw: i64) -> SupplyAtHand {
    SupplyAtHand {
        id: id(key, "S"),
        sheet: Supply::Dc {
            mv,
            mw,
            connector: "xt60".into(),
        },
    }
}

fn adapters(key: i64, from: &str, to: &str, rated_ma: i64) -> AdaptersAtHand {
    AdaptersAtHand {
        id: id(key, "A"),
        sheet: Adapter {
            from: from.into(),
            to: to.into(),
            rated_ma,
        },
        free: 1,
    }
}

fn hand(chargers: Vec<ChargerAtHand>, supplies: Vec<SupplyAtHand>) -> AtHand {
    AtHand {
        chargers,
        supplies,
        cables: Vec::new(),
        adapters: Vec::new(),
        families: built_in(),
    }
}

fn plans(asked: &Asked, hand: &AtHand) -> Vec<Plan> {
    match plan(asked, hand) {
        Answer::Plans { plans, .. } => plans,
        other => panic!("{other:?}"),
    }
}

fn only(asked: &Asked, hand: &AtHand) -> Plan {
    let mut plans = plans(asked, hand);
    assert_eq!(plans.len(), 1, "{plans:?}");
    plans.remove(0)
}

fn why_not(asked: &Asked, hand: &AtHand) -> String {
    match plan(asked, hand) {
        Answer::Plans { plans, refused } if plans.is_empty() => refused[0].why.clone(),
        other => panic!("{other:?}"),
    }
}

/// Worked from the USB PD power rules: 12.6 V times 2.2 A is 27.7 W, through 0.85 it is 32.6 W, and a source of 45 W gives
/// 15 V 3 A.
#[test]
fn a_3s_pack_of_2200_mah_charges_at_1c_from_a_usb_source_of_45_watts() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 45_000)]);
    let plan = only(
        &asked(pack(Chemistry::LiPo, 3, 2_200, 3_750), EVENING),
        &hand,
    );
    assert_eq!(
        (plan.current_ma, plan.target_mv, plan.mode),
        (2_200, 12_600, Mode::Balance)
    );
    assert_eq!(plan.drawn_mw, 32_611);
    let source = plan.feed.source.expect("a supply");
    assert_eq!((source.mv, source.needs_own_cable), (15_000, true));
}

/// Worked: 6S at 5 A wants 148 W; 45 W times 0.85 over 25.2 V are 1.52 A, and 15 V are less than 25.2 V.
#[test]
fn a_6s_pack_is_held_back_by_that_source_and_needs_a_charger_that_lifts_its_volts() {
    let pack = pack(Chemistry::LiPo, 6, 5_000, 3_800);
    let hand_of = |can_boost| {
        let sheet = Charger {
            can_boost,
            ..usb_charger()
        };
        hand(vec![charger(1, sheet)], vec![usb_supply(1, 45_000)])
    };
    let plan = only(&asked(pack.clone(), EVENING), &hand_of(true));
    assert_eq!(plan.current_ma, 1_500);
    assert_eq!(
        plan.limits,
        [Limit::Supply {
            number: "S-01".into()
        }]
    );
    let why = why_not(&asked(pack, EVENING), &hand_of(false));
    assert_eq!(
        why,
        "C-01 can't charge above its input: this pack is 25.2 V full, and S-01 gives 15 V."
    );
}

#[test]
fn a_pack_whose_label_is_silent_is_never_charged_above_its_chemistrys_default() {
    let hand = hand(
        vec![charger(1, usb_charger())],
        vec![usb_supply(1, 100_000)],
    );
    let silent = asked(
        pack(Chemistry::LiPo, 3, 2_200, 3_750),
        Purpose::ReadyBy { minutes: 40 },
    );
    assert_eq!(only(&silent, &hand).current_ma, 2_200);
    assert!(only(&silent, &hand).cautions.contains(&Caution::OutOfTime));
    let mut allowed = silent.clone();
    allowed.pack.label_charge_c_tenths = Some(50);
    allowed.pack.resistance_ohm = Some(0.005);
    let plan = only(&allowed, &hand);
    assert!(
        plan.is_in_time && plan.current_ma > 2_200 && plan.current_ma <= 4_400,
        "{plan:?}"
    );
    assert!(plan.cautions.contains(&Caution::AboveOneC));
    // As little harder as does it, and no harder when there is time.
    let mut calm = allowed.clone();
    calm.purpose = EVENING;
    assert_eq!(only(&calm, &hand).current_ma, 2_200);
}

#[test]
fn a_label_that_says_less_than_the_club_is_kept_to() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let mut asked = asked(pack(Chemistry::LiPo, 2, 1_000, 3_700), EVENING);
    asked.pack.label_charge_c_tenths = Some(5);
    let plan = only(&asked, &hand);
    assert_eq!(
        (plan.current_ma, plan.limits),
        (500, vec![Limit::Label { c_tenths: 5 }])
    );
}

#[test]
fn a_cell_under_its_least_or_over_full_gets_no_current_at_all() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    for (cells, word) in [
        (vec![3_800, 2_990, 3_800], "Cell 2 reads 2.99 V, under"),
        (vec![4_251, 4_190, 4_190], "Cell 1 reads 4.251 V, over"),
    ] {
        for purpose in [
            EVENING,
            Purpose::Storage,
            Purpose::Empty,
            Purpose::ReadyBy { minutes: 60 },
        ] {
            let mut asked = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), purpose);
            asked.pack.volts = Volts::Cells(cells.clone());
            // Neither does an unknown temperature hide it.
            asked.warmth.room_celsius = None;
            let Answer::Stop(words) = plan(&asked, &hand) else {
                panic!("not stopped");
            };
            assert!(words[0].starts_with(word), "{words:?}");
        }
    }
}

#[test]
fn lithium_in_series_whose_cells_nobody_sees_gets_no_plan() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let mut whole = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    whole.pack.volts = Volts::Pack(11_400);
    assert!(matches!(plan(&whole, &hand), Answer::Stop(_)));
    let mut no_lead = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    no_lead.pack.balance = None;
    assert_eq!(
        why_not(&no_lead, &hand),
        "The pack has no balance lead on record."
    );
    let mut other = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    other.pack.balance = Some("jst-ph".into());
    assert_eq!(
        why_not(&other, &hand),
        "Its balance plug is JST-XH, the pack's JST-PH."
    );
}

/// Lithium is charged from 0 to 45 °C and never below freezing: BU-410.
#[test]
fn nothing_is_charged_in_the_cold_or_the_heat_and_half_near_either() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let at = |pack_celsius: Option<i64>, room_celsius: Option<i64>| {
        let mut asked = asked(pack(Chemistry::LiPo, 2, 1_000, 3_700), EVENING);
        asked.warmth = Warmth {
            pack_celsius,
            room_celsius,
        };
        plan(&asked, &hand)
    };
    for (pack_at, room_at) in [(-1, 20), (46, 20), (20, -1), (20, 46)] {
        assert!(matches!(at(Some(pack_at), Some(room_at)), Answer::Stop(_)));
    }
    assert_eq!(at(None, Some(20)), Answer::Ask(vec!["pack_celsius"]));
    assert_eq!(
        at(None, None),
        Answer::Ask(vec!["pack_celsius", "room_celsius"])
    );
    for (celsius, ma) in [
        (0, 500),
        (4, 500),
        (5, 1_000),
        (40, 1_000),
        (41, 500),
        (45, 500),
    ] {
        let Answer::Plans { plans, .. } = at(Some(celsius), Some(20)) else {
            panic!("no plans at {celsius}");
        };
        assert_eq!(plans[0].current_ma, ma, "{celsius} °C");
    }
}

/// Nickel at 0.3C from 0 to 5 °C: BU-410.
#[test]
fn cold_nickel_is_charged_at_three_tenths_of_c() {
    let sheet = Charger {
        chemistries: vec!["nimh".into()],
        ..usb_charger()
    };
    let hand = hand(vec![charger(1, sheet)], vec![usb_supply(1, 65_000)]);
    let mut asked = asked(
        pack(Chemistry::NiMh, 6, 2_000, 1_250),
        Purpose::NoHurry { there_minutes: 600 },
    );
    assert_eq!(only(&asked, &hand).current_ma, 1_000);
    asked.warmth.room_celsius = Some(3);
    assert_eq!(only(&asked, &hand).current_ma, 600);
}

#[test]
fn chemistry_and_cells_match_exactly_or_there_is_no_plan() {
    let hand_of = |sheet| hand(vec![charger(1, sheet)], vec![usb_supply(1, 65_000)]);
    let hv = asked(pack(Chemistry::LiHv, 3, 450, 3_800), EVENING);
    let lipo_only = Charger {
        chemistries: vec!["lipo".into()],
        ..usb_charger()
    };
    assert_eq!(
        why_not(&hv, &hand_of(lipo_only)),
        "It does not charge LiHV."
    );
    let two = Charger {
        cells_from: 2,
        cells_to: 2,
        ..usb_charger()
    };
    assert_eq!(why_not(&hv, &hand_of(two)), "It takes 2S; the pack is 3S.");
}

#[test]
fn a_charger_that_needs_usb_pd_does_not_start_from_a_brick() {
    let hand = hand(
        vec![charger(1, usb_charger())],
        vec![dc_supply(1, 24_000, 200_000)],
    );
    let why = why_not(
        &asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING),
        &hand,
    );
    assert_eq!(
        why,
        "C-01 does not start without USB PD, and S-01 has none."
    );
    let five_volts = SupplyAtHand {
        id: id(2, "S"),
        sheet: Supply::UsbPd {
            ports: vec![Port {
                levels: vec![Level {
                    mv: 5_000,
                    ma: 3_000,
                }],
            }],
            shared_mw: None,
        },
    };
    let hand = AtHand {
        supplies: vec![five_volts],
        ..hand
    };
    let why = why_not(
        &asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING),
        &hand,
    );
    assert_eq!(
        why,
        "S-02 gives no more than 5 V there: C-01 does not start without USB PD."
    );
}

#[test]
fn a_port_that_shares_its_watts_gives_what_the_others_leave() {
    let two_ports = SupplyAtHand {
        id: id(1, "S"),
        sheet: Supply::UsbPd {
            ports: vec![
                Port {
                    levels: source_levels(65_000),
                },
                Port {
                    levels: source_levels(65_000),
                },
            ],
            shared_mw: Some(65_000),
        },
    };
    let busy = ChargerAtHand {
        running: vec![Running {
            output: 0,
            supply: Some(("S-01".into(), 0)),
            input_mw: 45_000,
        }],
        ..charger(1, usb_charger())
    };
    let hand = hand(vec![busy, charger(2, usb_charger())], vec![two_ports]);
    let plan = only(
        &asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING),
        &hand,
    );
    // 20 W are left: 17 W reach the pack, 1.35 A at 12.6 V.
    assert_eq!(
        (plan.charger.number.as_str(), plan.current_ma),
        ("C-02", 1_300)
    );
    assert_eq!(plan.feed.source.expect("a supply").port, Some(1));
}

#[test]
fn the_weakest_plug_or_wire_holds_the_current_back() {
    let mut hand = hand(
        vec![charger(1, usb_charger())],
        vec![usb_supply(1, 100_000)],
    );
    hand.adapters = vec![
        adapters(1, "xt60", "xt30", 15_000),
        adapters(2, "xt30", "jst-rcy", 5_000),
    ];
    let mut asked = asked(pack(Chemistry::LiPo, 2, 5_000, 3_700), EVENING);
    asked.pack.connector = "jst-rcy".into();
    let plan = only(&asked, &hand);
    // JST-RCY carries 3 A, whatever its adapter claims.
    assert_eq!(plan.current_ma, 3_000);
    assert_eq!(plan.limits, [Limit::Chain(Weakest::Plug("jst-rcy".into()))]);
    assert!(plan.cautions.contains(&Caution::TwoAdapters));
    hand.adapters[0].free = 0;
    assert_eq!(
        why_not(&asked, &hand),
        "Its output is XT60, the pack's plug JST-RCY, and no adapter between them is at hand."
    );
}

#[test]
fn a_plug_without_a_figure_counts_as_the_weakest_on_the_list() {
    let mut sheet = usb_charger();
    sheet.output_connector = "hall-plug".into();
    let hand = hand(vec![charger(1, sheet)], vec![usb_supply(1, 100_000)]);
    let mut asked = asked(pack(Chemistry::LiPo, 2, 5_000, 3_700), EVENING);
    asked.pack.connector = "hall-plug".into();
    let plan = only(&asked, &hand);
    assert_eq!(plan.current_ma, 2_000);
    assert!(plan.cautions.contains(&Caution::UnratedPlug));
}

#[test]
fn a_tiny_pack_is_kept_off_a_charger_that_cannot_go_so_low() {
    let brute = Charger {
        current_min_ma: 500,
        ..usb_charger()
    };
    let hand = hand(vec![charger(1, brute)], vec![usb_supply(1, 65_000)]);
    assert_eq!(
        why_not(&asked(pack(Chemistry::LiPo, 2, 350, 3_800), EVENING), &hand),
        "It charges with no less than 0.5 A; the club's rate of 1C allows 0.35 A."
    );
    let fixed = Charger {
        current_min_ma: 800,
        current_max_ma: 800,
        fixed_through_balance: Some(800),
        ..usb_charger()
    };
    let hand = AtHand {
        chargers: vec![charger(1, fixed)],
        ..hand
    };
    assert_eq!(
        why_not(&asked(pack(Chemistry::LiPo, 2, 350, 3_800), EVENING), &hand),
        "It charges with no less than 0.8 A; the club's rate of 1C allows 0.35 A."
    );
    assert_eq!(
        only(&asked(pack(Chemistry::LiPo, 2, 850, 3_800), EVENING), &hand).current_ma,
        800
    );
}

#[test]
fn the_card_says_first_what_the_charger_was_left_at_and_what_that_would_have_been() {
    let left = ChargerAtHand {
        left_at_ma: Some(2_200),
        ..charger(2, usb_charger())
    };
    let mut hand = hand(vec![left], vec![usb_supply(5, 45_000)]);
    hand.adapters = vec![adapters(3, "xt60", "xt30", 15_000)];
    let mut asked = asked(pack(Chemistry::LiPo, 3, 450, 3_800), EVENING);
    asked.pack.connector = "xt30".into();
    let plan = only(&asked, &hand);
    let told = Told::of(&plan, &asked.pack.build, &hand, Words::POINT);
    assert_eq!(
        told.first.as_deref(),
        Some("First turn C-02 down: it was left at 2.2 A, which is 4.9C on this pack.")
    );
    assert_eq!(
        told.steps,
        [
            "C-02 on supply S-05, port 1, 15 V, with a USB-C cable (none of the club's is at hand)",
            "Adapter A-03, XT60 to XT30, red to red, black to black",
            "Balance lead in",
        ]
    );
    assert_eq!(
        (told.current.as_str(), told.rate.as_str()),
        ("0.4 A", "0.89C")
    );
    assert_eq!(told.read_back, "3S LiPo, balance, 12.6 V, 0.4 A");
    hand.chargers[0].left_at_ma = None;
    assert_eq!(only(&asked, &hand).first, First::Read);
    hand.chargers[0].sheet.current_memory = Memory::Factory { ma: 100 };
    assert_eq!(only(&asked, &hand).first, First::Nothing);
}

/// A maker's put-back limit: 5000 mAh, 105 %, 5250 mAh.
#[test]
fn a_charge_is_cut_off_a_fifth_above_what_is_expected_and_never_above_105_percent() {
    let hand = hand(
        vec![charger(1, usb_charger())],
        vec![usb_supply(1, 100_000)],
    );
    let empty = only(
        &asked(pack(Chemistry::LiPo, 3, 5_000, 3_300), EVENING),
        &hand,
    );
    assert_eq!(empty.cutoff_mah, 5_250);
    let half = only(
        &asked(pack(Chemistry::LiPo, 3, 5_000, 4_000), EVENING),
        &hand,
    );
    assert!(half.cutoff_mah < 5_000 && half.cutoff_mah >= half.course.most_mah);
    assert!(half.cutoff_minutes > half.course.most_minutes);
}

#[test]
fn balance_is_the_rule_and_a_quick_charge_only_what_nothing_else_can_do_in_time() {
    let hand = hand(
        vec![charger(1, usb_charger())],
        vec![usb_supply(1, 100_000)],
    );
    let mut pressed = asked(
        pack(Chemistry::LiPo, 3, 2_200, 4_050),
        Purpose::ReadyBy { minutes: 200 },
    );
    let calm = only(&pressed, &hand);
    assert!(calm.is_balanced);
    // Two minutes less than balancing takes.
    pressed.purpose = Purpose::ReadyBy {
        minutes: calm.course.most_minutes - 2,
    };
    let quick = only(&pressed, &hand);
    assert!(
        !quick.is_balanced && quick.is_in_time && quick.mode == Mode::Charge,
        "{quick:?}"
    );
    assert!(quick.has_balance_lead && quick.cautions.contains(&Caution::Quick));
    let not_quick = |change: fn(&mut Asked)| {
        let mut asked = pressed.clone();
        change(&mut asked);
        let plan = only(&asked, &hand);
        assert!(plan.is_balanced && !plan.is_in_time, "{plan:?}");
    };
    not_quick(|asked| asked.pack.is_spread_known = false);
    not_quick(|asked| asked.pack.owes_balance = true);
    not_quick(|asked| asked.pack.volts = Volts::Cells(vec![4_050, 4_050, 4_081]));
}

#[test]
fn storage_goes_down_with_what_the_charger_can_get_rid_of_and_up_only_in_its_mode() {
    let hand_of = |sheet| hand(vec![charger(1, sheet)], vec![usb_supply(1, 100_000)]);
    let full = asked(pack(Chemistry::LiPo, 3, 2_200, 4_190), Purpose::Storage);
    let plan = only(&full, &hand_of(usb_charger()));
    assert_eq!((plan.mode, plan.target_cell_mv), (Mode::Storage, 3_820));
    // Five watts: more than two hours.
    assert!(plan.course.least_minutes > 90, "{plan:?}");
    let no_discharge = Charger {
        discharge_mw: 0,
        modes: vec![Mode::Balance, Mode::Storage],
        ..usb_charger()
    };
    assert_eq!(
        why_not(&full, &hand_of(no_discharge)),
        "It can't discharge."
    );
    let low = asked(pack(Chemistry::LiPo, 3, 2_200, 3_600), Purpose::Storage);
    assert!(matches!(
        only(&low, &hand_of(usb_charger())).way,
        Way::Up { target_mv: 3_820 }
    ));
    let stored = asked(pack(Chemistry::LiPo, 3, 2_200, 3_830), Purpose::Storage);
    assert!(matches!(
        super::plan(&stored, &hand_of(usb_charger())),
        Answer::Nothing(_)
    ));
}

/// A battery vendor's disposal guide: 2000 mAh at a tenth of C, 0.2 A.
#[test]
fn a_pack_to_be_disposed_of_is_emptied_at_a_tenth_of_c() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let plan = only(
        &asked(pack(Chemistry::LiPo, 2, 2_000, 3_800), Purpose::Empty),
        &hand,
    );
    assert_eq!(
        (plan.current_ma, plan.mode, plan.target_cell_mv),
        (200, Mode::Discharge, 3_000)
    );
}

#[test]
fn a_charger_from_a_brick_needs_its_volts_and_a_wire_between_them() {
    let sheet = Charger {
        input: Input::Dc {
            mv_min: 10_000,
            mv_max: 18_000,
            connector: "xt60".into(),
        },
        ..usb_charger()
    };
    let pack = pack(Chemistry::LiPo, 3, 2_200, 3_800);
    let mut hand = hand(
        vec![charger(1, sheet.clone())],
        vec![dc_supply(1, 24_000, 200_000)],
    );
    assert_eq!(
        why_not(&asked(pack.clone(), EVENING), &hand),
        "S-01 gives 24 V; C-01 takes 10 to 18 V."
    );
    hand.supplies = vec![dc_supply(2, 12_000, 60_000)];
    assert_eq!(only(&asked(pack.clone(), EVENING), &hand).current_ma, 2_200);
    hand.supplies = vec![usb_supply(3, 65_000)];
    assert_eq!(
        why_not(&asked(pack.clone(), EVENING), &hand),
        "No cable from USB-C of S-03 to XT60 of C-01 is at hand."
    );
    hand.cables = vec![CableAtHand {
        id: id(1, "K"),
        sheet: Cable {
            from: "usb-c".into(),
            to: "xt60".into(),
            limit_mw: 100_000,
        },
    }];
    // What such a cable asks for nobody knows: 20 V would be too much.
    assert_eq!(
        why_not(&asked(pack.clone(), EVENING), &hand),
        "S-03 gives 20 V; C-01 takes 10 to 18 V."
    );
    hand.supplies = vec![usb_supply(3, 45_000)];
    assert_eq!(
        only(&asked(pack, EVENING), &hand)
            .feed
            .source
            .expect("a supply")
            .mv,
        15_000
    );
}
