//! USB PD levels: a charger gets one that the supply offers and that it takes itself, at what the club lets a USB-C plug carry;
//! and what is said where nobody knows.

use super::*;

fn takes(levels_mv: Option<&[i64]>) -> ChargerAtHand {
    let input = Input::UsbPd {
        mw: 100_000,
        levels_mv: levels_mv.map(<[i64]>::to_vec),
    };
    let sheet = Charger {
        input,
        ..usb_charger()
    };
    charger(2, sheet)
}

fn small() -> Asked {
    asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING)
}

/// 65 W: 5, 9, 15 and 20 V (encyclopaedic entry on USB Power Delivery).
#[test]
fn a_charger_gets_the_highest_level_that_is_offered_and_that_it_takes() {
    let level = |levels_mv: Option<&[i64]>| {
        let hand = hand(vec![takes(levels_mv)], vec![usb_supply(5, 65_000)]);
        only(&small(), &hand).feed.source.expect("a supply").mv
    };
    assert_eq!(level(None), 20_000);
    assert_eq!(level(Some(&[9_000, 12_000, 15_000])), 15_000);
    assert_eq!(level(Some(&[5_000, 9_000])), 9_000);
}

#[test]
fn a_charger_that_takes_none_of_the_levels_is_refused_and_both_are_told() {
    let refused = |levels_mv: &[i64], watts| {
        let hand = hand(vec![takes(Some(levels_mv))], vec![usb_supply(5, watts)]);
        why_not(&small(), &hand)
    };
    assert_eq!(
        refused(&[12_000, 20_000], 36_000),
        "S-05 gives it 5, 9, 15 V there; C-02 takes USB PD at 12, 20 V."
    );
    // 28 V are offered, and neither this charger nor an unmarked cable bears them.
    assert_eq!(
        refused(&[28_000], 140_000),
        "S-05 gives it 5, 9, 15, 20 V there; C-02 takes USB PD at 28 V."
    );
    assert_eq!(
        refused(&[5_000, 9_000], 15_000),
        "S-05 gives no more than 5 V there: C-02 does not start without USB PD."
    );
}

#[test]
fn each_supply_that_feeds_none_is_told_by_the_nearest_reason_and_none_is_left_out() {
    let told = |hand: &AtHand| match plan(&small(), hand) {
        Answer::Plans { refused, .. } => refused
            .into_iter()
            .map(|each| (each.number, each.why))
            .collect::<Vec<_>>(),
        other => panic!("{other:?}"),
    };
    let said = |number: &str, why: &str| (number.to_owned(), why.to_owned());
    // S-05 suits neither of them, and S-06 has the volts of C-03.
    let from_a_brick = Charger {
        input: Input::Dc {
            mv_min: 11_000,
            mv_max: 18_000,
            connector: "xt60".into(),
        },
        ..usb_charger()
    };
    let chargers = || vec![takes(Some(&[28_000])), charger(3, from_a_brick.clone())];
    let hand_of = |supplies| hand(chargers(), supplies);
    let with_both = told(&hand_of(vec![
        usb_supply(5, 65_000),
        dc_supply(6, 12_000, 60_000),
    ]));
    assert_eq!(
        with_both,
        [
            said(
                "C-02",
                "S-05 gives it 5, 9, 15, 20 V there; C-02 takes USB PD at 28 V."
            ),
            said(
                "S-05",
                "S-05 gives it 5, 9, 15, 20 V there; C-02 takes USB PD at 28 V."
            ),
        ]
    );
    // It would feed a charger that does not do this pack.
    let tiny = Charger {
        cells_to: 1,
        ..usb_charger()
    };
    let only_tiny = hand(vec![charger(4, tiny)], vec![usb_supply(5, 65_000)]);
    let told = told(&only_tiny);
    assert_eq!(
        told[1],
        said("S-05", "It could feed C-04, which does not do it.")
    );
}

#[test]
fn a_card_says_at_which_level_it_was_reckoned_where_the_charger_s_sheet_names_none() {
    let hand = |levels_mv| hand(vec![takes(levels_mv)], vec![usb_supply(5, 65_000)]);
    let told = |hand: &AtHand| {
        let plan = only(&small(), hand);
        Told::of(&plan, &small().pack.build, hand, Words::POINT).cautions
    };
    let words = "Its sheet names no USB PD levels: look that it starts at 20 V.";
    assert!(told(&hand(None)).iter().any(|each| each == words));
    let named = told(&hand(Some(&[15_000, 20_000])));
    assert!(
        !named.iter().any(|each| each.contains("USB PD levels")),
        "{named:?}"
    );
}

/// 3.25 A at 20 V; a club that lets a USB-C plug carry 1 A has 20 W of them.
#[test]
fn a_club_s_lower_figure_for_usb_c_holds_at_each_level() {
    let mut hand = hand(vec![takes(None)], vec![usb_supply(5, 65_000)]);
    let before = only(&small(), &hand);
    assert!(before.feed.mw > Some(50_000));
    let own = hand.families.iter_mut().find(|each| each.code == "usb-c");
    own.expect("a family").rating_ma = Some(1_000);
    let after = only(&small(), &hand);
    assert_eq!(after.feed.mw, Some(20_000));
    // 20 W, 85 % of them, at 12.6 V.
    assert_eq!(after.current_ma, 1_300);
}

/// A plug without a figure bounds nothing on the way in, so the card says to feel it: at a supply, at a charger, and between.
#[test]
fn a_plug_without_a_rating_is_told_wherever_it_is() {
    let is_told = |hand: &AtHand| {
        only(&small(), hand)
            .cautions
            .contains(&Caution::UnratedPlug)
    };
    let fed_by = |connector: &str| Charger {
        input: Input::Dc {
            mv_min: 9_000,
            mv_max: 24_000,
            connector: connector.into(),
        },
        ..usb_charger()
    };
    let cable = |from: &str, to: &str| CableAtHand {
        id: id(1, "K"),
        sheet: Cable {
            from: from.into(),
            to: to.into(),
            limit_mw: 60_000,
        },
    };
    const BARREL: &str = "barrel-5.5-2.1";
    let rated = hand(
        vec![charger(1, fed_by("xt60"))],
        vec![dc_supply(1, 15_000, 100_000)],
    );
    assert!(!is_told(&rated));
    let mut at_charger = hand(
        vec![charger(1, fed_by(BARREL))],
        vec![dc_supply(1, 15_000, 100_000)],
    );
    at_charger.cables = vec![cable("xt60", BARREL)];
    assert!(is_told(&at_charger));
    let mut by_usb = hand(
        vec![charger(1, fed_by(BARREL))],
        vec![usb_supply(1, 65_000)],
    );
    by_usb.cables = vec![cable("usb-c", BARREL)];
    assert!(is_told(&by_usb));
    let mut at_supply = rated.clone();
    at_supply.supplies[0].sheet = Supply::Dc {
        mv: 15_000,
        mw: 100_000,
        connector: BARREL.into(),
    };
    at_supply.cables = vec![cable(BARREL, "xt60")];
    assert!(is_told(&at_supply));
    // Between charger and pack it counts as the weakest that has a figure; a weaker adapter does not hide it.
    let mut between = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    between.chargers[0].sheet.output_connector = "hall-plug".into();
    between.adapters = vec![adapters(1, "hall-plug", "xt60", 500)];
    assert!(is_told(&between));
}
