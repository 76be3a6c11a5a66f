//! In the cold and in the heat.

use super::*;

/// Lithium is charged from 0 to 45 °C and never below freezing: BU-410.
#[test]
fn nothing_is_charged_in_the_cold_or_the_heat_and_half_near_either() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let at = |pack_celsius: Option<i64>, room_celsius: Option<i64>| {
        let mut asked = asked(pack(Chemistry::LiPo, 2, 1_000, 3_700), EVENING);
        asked.warmth = Warmth {
            pack_celsius,
            room_celsius,
            pack_is_measured: false,
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
        (5, 500),
        (6, 1_000),
        (39, 1_000),
        (40, 500),
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
fn nickel_takes_three_tenths_of_its_capacity_in_the_cold() {
    for (celsius, ma) in [(0, 600), (5, 600), (6, 1_000), (40, 1_000)] {
        let mut asked = asked(pack(Chemistry::NiMh, 6, 2_000, 1_200), EVENING);
        asked.club.usual_c_tenths = 5;
        asked.warmth.room_celsius = Some(celsius);
        let AtMost::Ma(most) = at_most(&asked) else {
            panic!("no current at {celsius} °C");
        };
        assert_eq!(most.ma, ma, "{celsius} °C");
    }
}

/// Section 13 of the trade's facts: 0.5C at most up to 5 and from 40 °C, and a pack near the room's warmth; Li-ion and lead are
/// charged at that or less anyway.
#[test]
fn a_card_says_the_rate_that_cold_or_heat_leave_and_sends_nobody_to_warm_a_pack_in_a_cold_room() {
    let heeded = |chemistry: Chemistry, usual: i64, (pack_at, room_at): (i64, i64)| {
        let sheet = Charger {
            chemistries: vec![chemistry.code().into()],
            ..usb_charger()
        };
        let hand = hand(vec![charger(1, sheet)], vec![usb_supply(1, 100_000)]);
        let cell_mv = chemistry.limits().nominal_mv;
        let mut asked = asked(pack(chemistry, 3, 2_000, cell_mv), EVENING);
        asked.club.usual_c_tenths = usual;
        asked.pack.label_charge_c_tenths = Some(10);
        asked.warmth = Warmth {
            pack_celsius: Some(pack_at),
            room_celsius: Some(room_at),
            pack_is_measured: true,
        };
        let plan = only(&asked, &hand);
        let told = Told::of(&plan, &asked.pack.build, &hand, Words::POINT);
        let of_warmth =
            |words: &String| words.starts_with("It is cold") || words.starts_with("It is hot");
        told.cautions
            .into_iter()
            .find(of_warmth)
            .unwrap_or_default()
    };
    let lipo = |at| heeded(Chemistry::LiPo, 10, at);
    assert_eq!(lipo((21, 21)), "");
    assert_eq!(
        lipo((3, 21)),
        "It is cold: 0.5C at most, and let the pack come to the room's warmth first."
    );
    assert_eq!(lipo((21, 3)), "It is cold: 0.5C at most.");
    assert_eq!(lipo((3, 3)), "It is cold: 0.5C at most.");
    assert_eq!(
        lipo((42, 21)),
        "It is hot: 0.5C at most, and never straight out of the robot."
    );
    assert_eq!(
        heeded(Chemistry::LiIon, 5, (21, 3)),
        "It is cold: never harder than this."
    );
    assert_eq!(
        heeded(Chemistry::NiMh, 5, (21, 3)),
        "It is cold: 0.3C at most."
    );
}

/// Section 11 of the trade's facts: on a charger or a resistor at no more than 0.1C, if it is undamaged, and watched.
#[test]
fn what_a_charger_is_too_strong_to_empty_is_told_the_other_way_to_do_it() {
    let sheet = Charger {
        current_min_ma: 100,
        ..usb_charger()
    };
    let hand = hand(vec![charger(1, sheet)], vec![usb_supply(1, 65_000)]);
    let small = asked(pack(Chemistry::LiPo, 2, 450, 3_800), Purpose::Empty);
    assert_eq!(
        why_not(&small, &hand),
        "It discharges with no less than 0.1 A; emptying it slowly: 0.1C allows 0.045 A. A resistor that draws no more than 0.1C empties it too, if it is undamaged: stay and watch it."
    );
}

/// Common practice, no source: a mode is named as the charger's own screen does.
#[test]
fn a_mode_that_lacks_is_named_once() {
    let sheet = |modes: Vec<Mode>| Charger {
        modes,
        ..usb_charger()
    };
    let why = |modes: Vec<Mode>, purpose: Purpose, cell_mv: i64| {
        let hand = hand(vec![charger(1, sheet(modes))], vec![usb_supply(1, 65_000)]);
        why_not(
            &asked(pack(Chemistry::LiPo, 3, 2_200, cell_mv), purpose),
            &hand,
        )
    };
    let only_charge = || vec![Mode::Charge];
    assert_eq!(
        why(only_charge(), EVENING, 3_700),
        "It has no balance mode."
    );
    assert_eq!(
        why(only_charge(), Purpose::Storage, 3_600),
        "It has no storage mode."
    );
    assert_eq!(
        why(only_charge(), Purpose::Storage, 4_190),
        "It has no storage or discharge mode."
    );
    assert_eq!(
        why(only_charge(), Purpose::Empty, 3_800),
        "It has no discharge mode."
    );
}
