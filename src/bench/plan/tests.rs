//! What a plan says about single benches, with figures from outside where there are some.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::bench::chain::{Adapter, Cable};
use crate::bench::charger::tests::usb_charger;
use crate::bench::charger::{Charger, Input, Memory};
use crate::bench::connector::{Family, built_in};
use crate::bench::supply::{Level, Port, Supply, source_levels};
use crate::bench::typed::Words;

mod brute;
mod by_hand;
mod chains;
mod cutoffs;
mod evenings;
mod falls;
mod from_use;
mod levels;
mod limits;
mod proofs;
mod random;
mod set_up;
mod storage;
mod warmth;

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
        rested_minutes: 60,
        is_spread_known: true,
        owes_balance: false,
        from_use_minutes: None,
    }
}

fn asked(pack: Pack, purpose: Purpose) -> Asked {
    let usual_c_tenths = pack.build.chemistry.default_charge_c_tenths();
    Asked {
        pack,
        warmth: Warmth {
            pack_celsius: Some(21),
            room_celsius: Some(21),
            pack_is_measured: false,
        },
        purpose,
        done_within: None,
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
        left: Vec::new(),
        running: Vec::new(),
    }
}

/// Its first output.
fn left_at(ma: i64) -> LeftAt {
    LeftAt {
        output: 0,
        ma,
        of: None,
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
        elsewhere: Vec::new(),
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
/// Worked: 6S at 5 A wants 148 W; 45 W times 0.85 over 25.2 V are 1.52 A, and 15 V are less than 25.2 V.
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
fn a_cell_over_full_within_the_tolerance_is_discharged_and_never_charged_on() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let of = |highest_mv: i64, purpose: Purpose| {
        let mut asked = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), purpose);
        asked.pack.volts = Volts::Cells(vec![highest_mv, 4_170, 4_170]);
        plan(&asked, &hand)
    };
    for purpose in [EVENING, Purpose::ReadyBy { minutes: 60 }] {
        let Answer::Stop(words) = of(4_231, purpose) else {
            panic!("charged on");
        };
        assert!(
            words[0].starts_with(
                "Its fullest cell reads 4.231 V and full is 4.20 V: it is not charged on."
            ),
            "{words:?}"
        );
        assert!(matches!(of(4_230, purpose), Answer::Plans { .. }));
    }
    assert!(matches!(of(4_231, Purpose::Storage), Answer::Plans { .. }));
}

#[test]
fn the_card_says_first_what_the_charger_was_left_at_and_what_that_would_have_been() {
    let left = ChargerAtHand {
        left: vec![left_at(2_200)],
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
    hand.chargers[0].left.clear();
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
