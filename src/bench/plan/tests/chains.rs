//! What supplies, ports, cables, adapters, plugs and chargers let through.

use super::*;

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
            wired: Wired::Unknown,
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
fn what_feeds_a_charger_that_was_set_aside_while_it_charges_feeds_no_other() {
    let mut hand = hand(
        vec![charger(2, usb_charger())],
        vec![usb_supply(1, 100_000)],
    );
    let asked = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    assert_eq!(plans(&asked, &hand).len(), 1);
    hand.elsewhere = vec![(
        id(1, "C"),
        Running {
            wired: Wired::Unknown,
            output: 0,
            supply: Some(("S-01".into(), 0)),
            input_mw: 45_000,
        },
    )];
    assert!(plans(&asked, &hand).is_empty());
    assert!(
        why_not(&asked, &hand).contains("C-01"),
        "{}",
        why_not(&asked, &hand)
    );
}

#[test]
fn a_discharge_that_the_hall_locks_on_takes_the_adapter_that_is_in_time() {
    let strong = Charger {
        discharge_mw: 60_000,
        ..usb_charger()
    };
    let mut hand = hand(vec![charger(1, strong)], vec![usb_supply(1, 100_000)]);
    hand.adapters = vec![
        adapters(1, "xt60", "xt30", 300),
        adapters(2, "xt60", "xt30", 15_000),
    ];
    let mut asked = asked(pack(Chemistry::LiPo, 3, 2_200, 4_150), Purpose::Storage);
    asked.pack.connector = "xt30".into();
    asked.done_within = Some(90);
    let plan = only(&asked, &hand);
    assert_eq!(plan.chain.adapters[0].number, "A-02", "{plan:?}");
    assert!(
        plan.is_in_time && plan.course.most_minutes <= 90,
        "{plan:?}"
    );
    // Where no adapter makes it, the lowest current is told, and that it is late.
    hand.adapters.truncate(1);
    let late = only(&asked, &hand);
    assert!(!late.is_in_time && late.current_ma == 300, "{late:?}");
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
    // Its shape does not keep the polarity, so that the step says what to look at.
    let words = crate::bench::typed::Words::POINT;
    let steps = Told::of(&plan, &asked.pack.build, &hand, words).steps;
    let looks: Vec<&String> = steps
        .iter()
        .filter(|step| step.contains("check polarity"))
        .collect();
    assert!(
        looks.len() == 1 && looks[0].contains("to JST-RCY, red to red"),
        "{steps:?}"
    );
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
    // No cable would help.
    assert_eq!(
        why_not(&asked(pack.clone(), EVENING), &hand),
        "S-03 gives 20 V; C-01 takes 10 to 18 V."
    );
    hand.supplies = vec![usb_supply(3, 45_000)];
    assert_eq!(
        why_not(&asked(pack.clone(), EVENING), &hand),
        "No cable from USB-C of S-03 to XT60 of C-01 is at hand."
    );
    hand.supplies = vec![usb_supply(3, 65_000)];
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
