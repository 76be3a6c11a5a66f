//! What a person sets up by a card: what the charger was left at, the wire that is plugged in already, what a charger can take
//! out of a pack, until when somebody is there, and that another setup is another card.

use super::*;

pub fn usb_cable(key: i64, limit_mw: i64) -> CableAtHand {
    CableAtHand {
        id: id(key, "K"),
        sheet: Cable {
            from: "usb-c".into(),
            to: "usb-c".into(),
            limit_mw,
        },
    }
}

#[test]
fn a_discharge_keeps_to_the_watts_that_the_charger_takes_out_and_says_so() {
    let hand = hand(
        vec![charger(1, usb_charger())],
        vec![usb_supply(1, 100_000)],
    );
    let full = asked(pack(Chemistry::LiPo, 3, 2_200, 4_190), Purpose::Storage);
    let plan = only(&full, &hand);
    // Five watts at 12.57 V are 0.397 A.
    assert_eq!(hand.chargers[0].sheet.discharge_mw, 5_000);
    assert!(plan.current_ma * 12_570 <= 5_000 * 1_000, "{plan:?}");
    assert_eq!(plan.limits, [Limit::DischargeWatts]);
}

#[test]
fn a_second_output_is_fed_through_the_cable_that_is_plugged_in() {
    let sheet = Charger {
        outputs: 2,
        ..usb_charger()
    };
    let running = |wired| ChargerAtHand {
        running: vec![Running {
            output: 0,
            wired,
            supply: Some(("S-01".into(), 0)),
            input_mw: 10_000,
        }],
        ..charger(1, sheet.clone())
    };
    let asked = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    let planned = |wired| {
        let mut hand = hand(vec![running(wired)], vec![usb_supply(1, 100_000)]);
        hand.cables = vec![usb_cable(2, 100_000)];
        only(&asked, &hand)
    };
    let through = planned(Wired::Cable(usb_cable(1, 60_000)));
    let source = through.feed.source.expect("a supply");
    assert_eq!(
        source.cable.map(|cable| cable.number),
        Some("K-01".to_owned())
    );
    // 60 W through it, 10 of them for the other output.
    assert_eq!(through.feed.mw, Some(50_000));
    let own = planned(Wired::NotTheClubs).feed.source.expect("a supply");
    assert!(own.needs_own_cable && own.cable.is_none(), "{own:?}");
}

#[test]
fn a_charger_left_at_another_chemistry_or_count_of_cells_is_told_even_where_it_need_not_be_turned_down()
 {
    let left = |of| ChargerAtHand {
        left: vec![LeftAt {
            of: Some(of),
            ..left_at(300)
        }],
        ..charger(1, usb_charger())
    };
    let asked = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    let first = |of| {
        let hand = hand(vec![left(of)], vec![usb_supply(1, 65_000)]);
        Told::of(&only(&asked, &hand), &asked.pack.build, &hand, Words::POINT).first
    };
    assert_eq!(
        first((Chemistry::LiHv, 4)).as_deref(),
        Some("C-01 was last set to 4S LiHV: set it to 3S LiPo.")
    );
    assert!(first((Chemistry::LiPo, 2)).is_some_and(|words| words.contains("2S LiPo")));
    assert_eq!(first((Chemistry::LiPo, 3)), None);
}

#[test]
fn the_soonest_is_in_time_and_a_minute_less_is_not() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let by = |minutes| {
        asked(
            pack(Chemistry::LiPo, 3, 2_200, 3_700),
            Purpose::ReadyBy { minutes },
        )
    };
    let minutes = soonest(&by(5), &hand).expect("late with five minutes");
    assert!(minutes > 5);
    assert!(plans(&by(minutes), &hand)[0].is_in_time);
    assert!(!plans(&by(minutes - 1), &hand)[0].is_in_time);
    assert_eq!(soonest(&by(minutes), &hand), None, "nothing is late");
    assert_eq!(
        soonest(
            &asked(pack(Chemistry::LiPo, 3, 2_200, 3_700), EVENING),
            &hand
        ),
        None
    );
}

#[test]
fn somebody_who_is_there_for_a_while_is_there_until_it_ends() {
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let planned = |purpose| {
        let plan = only(
            &asked(pack(Chemistry::LiPo, 3, 2_200, 3_700), purpose),
            &hand,
        );
        (plan.is_in_time, plan.is_attended(purpose))
    };
    assert_eq!(planned(EVENING), (true, true));
    assert_eq!(
        planned(Purpose::NoHurry { there_minutes: 10 }),
        (false, false)
    );
    assert_eq!(planned(Purpose::ReadyBy { minutes: 10 }), (false, true));
}

#[test]
fn whatever_a_person_sets_up_otherwise_is_another_card() {
    let hand_of = |charger| hand(vec![charger], vec![usb_supply(1, 65_000)]);
    let asked = asked(pack(Chemistry::LiPo, 3, 2_200, 3_800), EVENING);
    let plain = only(&asked, &hand_of(charger(1, usb_charger())));
    let left = ChargerAtHand {
        left: vec![left_at(10_000)],
        ..charger(1, usb_charger())
    };
    let turned_down = only(&asked, &hand_of(left));
    assert_eq!(plain.current_ma, turned_down.current_ma);
    assert_ne!(plain.as_one_text(), turned_down.as_one_text());
    for change in [
        |plan: &mut Plan| plan.output = 1,
        |plan: &mut Plan| plan.cutoff_mah += 10,
        |plan: &mut Plan| plan.cutoff_minutes += 5,
        |plan: &mut Plan| plan.feed.source = None,
        |plan: &mut Plan| plan.target_mv -= 50,
        |plan: &mut Plan| plan.chain.adapters.push(id(3, "A")),
        |plan: &mut Plan| plan.left_for = Some((Chemistry::NiMh, 6)),
    ] {
        let mut other = plain.clone();
        change(&mut other);
        assert_ne!(plain.as_one_text(), other.as_one_text());
    }
}
