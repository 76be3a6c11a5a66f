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
