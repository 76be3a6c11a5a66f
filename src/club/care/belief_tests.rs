//! A belief held against published tables of charge and self-discharge, and against what happened to a pack.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::volts::Volts;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::What;
use crate::club::reading::Rested;

fn belief(chemistry: Chemistry, story: &Story) -> Belief {
    Belief::of(&lying(chemistry), story, now()).expect("a belief")
}

fn covers(belief: &Belief, percents: &[f64]) {
    for percent in percents {
        let held = belief.charge_percent();
        assert!(held.contains(*percent), "{percent}: {held:?}");
    }
}

#[test]
fn a_pack_read_today_holds_what_the_published_tables_say() {
    // Linux kernel, ab8500 and a second phone cell: 3.82 V is 52 to 56 %, 3.99 V 80 %, 3.73 V 20 to 23 %.
    for (mv, percents) in [
        (3_820, [52.0, 56.0]),
        (3_990, [80.0, 81.0]),
        (3_730, [20.0, 23.0]),
    ] {
        let told = belief(Chemistry::LiPo, &read(0, mv));
        covers(&told, &percents);
        assert_eq!(told.sure(), Sure::ByReading);
        let lowest = told.lowest_mv().expect("volts");
        assert_eq!(lowest.likely, mv as f64);
        assert!(lowest.most - lowest.least <= 15.0, "{lowest:?}");
    }
}

#[test]
fn what_lies_for_a_month_has_lost_what_handbooks_and_laboratories_say() {
    // Li-ion at 20 °C: 2 to 3 % a month (an engineering handbook), 1 to 2 % (BU-802b), 0.2 to 0.4 % (Zilberman et al. 2019).
    let lipo = Belief::of(
        &lying(Chemistry::LiPo),
        &read(0, 3_820),
        now().plus_days(30),
    );
    covers(
        &lipo.expect("a belief"),
        &[52.0 - 3.0, 52.0 - 0.2, 56.0 - 3.0, 56.0 - 0.2],
    );
    // Lead: 4 to 6 % (the handbook), 5 % (BU-802b); full at 2.13 V.
    let lead = read(30, 2_140);
    covers(&belief(Chemistry::Pb, &lead), &[94.0, 95.0, 96.0]);
    // NiMH: 30 % (the handbook); 10 to 15 % on the first day, then as much a month (BU-802b).
    let nickel = |days| Story::default().then(days, done(Toward::Full));
    covers(&belief(Chemistry::NiMh, &nickel(1)), &[85.0, 90.0]);
    covers(&belief(Chemistry::NiMh, &nickel(30)), &[70.0, 80.0]);
}

#[test]
fn ten_degrees_more_lose_twice_as_much() {
    // BU-802b: the rate doubles about every 10 °C.
    let least = |celsius| {
        let lying = lying_at(Chemistry::LiPo, celsius);
        let lies = |days| Belief::of(&lying, &read(days, 4_100), now());
        let held = |days| lies(days).expect("a belief").charge_percent().likely;
        held(0) - held(100)
    };
    assert!((least(30) - 2.0 * least(20)).abs() < 1e-9);
    assert!((least(20) - 2.0 * 100.0 / 30.4).abs() < 1e-9);
}

#[test]
fn a_pack_that_loses_more_than_its_kind_is_believed_to() {
    let mut leaky = lying(Chemistry::LiPo);
    leaky.loses_percent_a_month = Some(Range::around(9.0, [7.0, 12.0]));
    let told = Belief::of(&leaky, &read(30, 3_990), now()).expect("a belief");
    covers(&told, &[80.0 - 12.0 * 30.0 / 30.4, 79.8]);
    assert!(told.charge_percent().likely < 73.0);
}

#[test]
fn after_a_charge_it_is_believed_where_the_charger_left_it() {
    let empty = read(3, 3_600);
    let full = belief(Chemistry::LiPo, &empty.clone().then(1, done(Toward::Full)));
    // 4.15 to 4.20 V: the kernel's phone cells when full.
    covers(&full, &[95.0, 100.0 - 0.1]);
    assert_eq!(full.sure(), Sure::ByCharger);
    let stored = belief(
        Chemistry::LiPo,
        &empty.clone().then(1, done(Toward::Storage)),
    );
    covers(&stored, &[52.0, 56.0]);
    // 660 of 2,200 mAh are 30 points.
    let part = empty.clone().then(1, stopped(Toward::Full, Some(660)));
    let part = belief(Chemistry::LiPo, &part);
    covers(&part, &[36.0, 37.0]);
    assert_eq!(part.sure(), Sure::Rough);
    // Of a pack with 80 % of its rating left (IEEE 450: there it is replaced) they are 37.5.
    let width = |belief: &Belief| belief.charge_percent().most - belief.charge_percent().least;
    assert!(width(&part) - width(&belief(Chemistry::LiPo, &empty)) >= 7.5);
    let drawn = read(3, 4_180).then(1, stopped(Toward::Storage, Some(660)));
    covers(&belief(Chemistry::LiPo, &drawn), &[68.0, 69.0]);
    let unsaid = read(3, 4_180).then(1, stopped(Toward::Storage, None));
    let unsaid = belief(Chemistry::LiPo, &unsaid);
    covers(&unsaid, &[1.0, 97.0]);
    assert_eq!(unsaid.sure(), Sure::Guessed);
}

#[test]
fn what_was_out_may_hold_anything() {
    for what in [What::Lent, What::TakenToEvent, What::CameBack] {
        let out = belief(Chemistry::LiPo, &read(5, 3_820).then(2, what));
        covers(&out, &[0.0, 100.0]);
        assert_eq!(out.sure(), Sure::Guessed);
        assert_eq!(out.charge_words(), "about 0 to 100 %");
        assert_eq!(out.lowest_cell_words().as_deref(), Some("3.00 to 4.20 V"));
    }
    // Until somebody charges it.
    let charged = read(5, 3_820)
        .then(2, What::CameBack)
        .then(1, done(Toward::Full));
    assert_eq!(belief(Chemistry::LiPo, &charged).sure(), Sure::ByCharger);
}

#[test]
fn an_old_reading_and_one_just_after_use_tell_roughly() {
    assert_eq!(
        belief(Chemistry::LiPo, &read(30, 3_820)).sure(),
        Sure::ByReading
    );
    assert_eq!(
        belief(Chemistry::LiPo, &read(31, 3_820)).sure(),
        Sure::Rough
    );
    let mut hot = read(0, 3_820);
    hot.read.as_mut().expect("a reading").rested = Rested::JustUsed;
    let hot = belief(Chemistry::LiPo, &hot);
    assert_eq!(hot.sure(), Sure::Rough);
    // BU-702: what ends at 3.77 V settles to about 3.82, and so from 3.87.
    let lowest = hot.lowest_mv().expect("volts");
    assert!(lowest.contains(3_770.0) && lowest.contains(3_870.0));
}

#[test]
fn a_pack_measured_whole_may_hide_a_low_cell() {
    let mut whole = read(0, 3_820);
    whole.read.as_mut().expect("a reading").volts = Volts::Pack(11_460);
    let told = belief(Chemistry::LiPo, &whole);
    assert!(told.lowest_mv().expect("volts").contains(3_720.0));
    assert!(
        !belief(Chemistry::LiPo, &read(0, 3_820))
            .lowest_mv()
            .expect("volts")
            .contains(3_720.0)
    );
}

#[test]
fn of_a_pack_never_read_nothing_is_believed_and_nickel_tells_by_its_charge_alone() {
    assert_eq!(
        Belief::of(&lying(Chemistry::LiPo), &Story::default(), now()),
        None
    );
    let nickel = belief(Chemistry::NiMh, &read(0, 1_300));
    covers(&nickel, &[0.0, 100.0]);
    assert_eq!(
        (nickel.sure(), nickel.lowest_cell_words()),
        (Sure::Guessed, None)
    );
}
