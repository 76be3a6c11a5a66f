//! A pack that came from use lies for fifteen minutes, unless its own temperature was read; an evening lets it wait.

use super::evening::{Waiting, evening};
use super::*;

fn came(minutes: i64) -> Asked {
    let mut asked = asked(pack(Chemistry::LiPo, 3, 450, 3_800), EVENING);
    asked.pack.from_use_minutes = Some(minutes);
    asked
}

fn bench() -> AtHand {
    hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)])
}

#[test]
fn a_pack_from_use_is_planned_for_once_it_has_lain_for_fifteen_minutes() {
    let hand = bench();
    for (since, left) in [(0, 15), (6, 9), (14, 1)] {
        let Answer::Stop(words) = plan(&came(since), &hand) else {
            panic!("{since} minutes after use it is planned for");
        };
        assert!(
            words[0].contains(&format!("{left} more minute")),
            "{words:?}"
        );
        assert_eq!(rests_for(&came(since)), Some(left));
    }
    assert_eq!(plans(&came(15), &hand).len(), 1);
    assert_eq!(rests_for(&came(15)), None);
}

#[test]
fn a_temperature_read_off_the_pack_itself_decides() {
    let hand = bench();
    let mut measured = came(2);
    measured.warmth.pack_is_measured = true;
    assert_eq!(plans(&measured, &hand).len(), 1);
    measured.warmth.pack_celsius = Some(46);
    let Answer::Stop(words) = plan(&measured, &hand) else {
        panic!("charged hot");
    };
    assert_eq!(
        words,
        ["The pack has 46 °C: nothing is charged outside 0 to 45 °C."]
    );
    // Warmer than 40 it gets half.
    measured.warmth.pack_celsius = Some(42);
    assert_eq!(only(&measured, &hand).current_ma, 200);
}

#[test]
fn what_is_wrong_with_it_is_told_before_its_rest_and_what_needs_no_charge_needs_no_rest() {
    let hand = bench();
    let mut low = came(2);
    low.pack.volts = Volts::Cells(vec![3_800, 2_900, 3_800]);
    let Answer::Stop(words) = plan(&low, &hand) else {
        panic!("charged low");
    };
    assert!(words[0].starts_with("Cell 2 reads 2.90 V"), "{words:?}");
    let mut stored = came(2);
    stored.purpose = Purpose::Storage;
    assert!(matches!(plan(&stored, &hand), Answer::Nothing(_)));
}

#[test]
fn an_evening_lets_what_came_from_use_lie_and_begins_with_the_rest() {
    let one = |key: i64, asked: Asked| Waiting {
        pack: id(key, "P"),
        asked,
    };
    let rested = asked(pack(Chemistry::LiPo, 3, 450, 3_800), EVENING);
    let mut hand = bench();
    hand.chargers.push(charger(2, usb_charger()));
    hand.supplies.push(usb_supply(2, 65_000));
    let told = evening(vec![one(1, came(5)), one(2, rested)], &hand, 240);
    let begins: Vec<_> = told
        .turns
        .iter()
        .map(|turn| (turn.pack.key, turn.from_minute))
        .collect();
    assert_eq!(begins, [(2, 0), (1, 10)]);
    let late = evening(vec![one(1, came(5))], &hand, 20);
    assert!(
        late.turns.is_empty() && late.left_over.len() == 1,
        "{late:?}"
    );
}
