//! Many packs with few chargers.

use super::evening::{Evening, Waiting, evening};
use super::limits::exceeded;
use super::random::{any_asked, any_hand, is_long};
use super::set_up::usb_cable;
use super::*;
use proptest::prelude::*;

fn waiting(count: i64, asked: &Asked) -> Vec<Waiting> {
    let one = |key: i64| Waiting {
        pack: id(key, "P"),
        asked: asked.clone(),
    };
    (1..=count).map(one).collect()
}

#[test]
fn nine_packs_tonight_on_two_chargers_go_one_after_the_other() {
    let asked = asked(pack(Chemistry::LiPo, 3, 450, 3_770), EVENING);
    let mains = Charger {
        input: Input::Mains,
        ..usb_charger()
    };
    let hand = hand(
        vec![charger(1, mains.clone()), charger(2, mains)],
        Vec::new(),
    );
    let told = evening(waiting(9, &asked), &hand, 7 * 60);
    assert_eq!((told.turns.len(), told.left_over.len()), (9, 0), "{told:?}");
    let first = &told.turns[0];
    assert_eq!((first.from_minute, told.turns[1].from_minute), (0, 0));
    assert!(
        told.turns[2].from_minute > first.to_minute,
        "time to change the packs"
    );
    assert!(told.minutes() <= 7 * 60);
    // The next pack is told what the one before left on the charger.
    assert_eq!(told.turns[2].plan.first, First::Nothing);
    let short = evening(waiting(9, &asked), &hand, 2 * 60);
    assert_eq!(short.turns.len() + short.left_over.len(), 9);
    assert!(
        short
            .left_over
            .iter()
            .all(|left| left.why == "There is no time left for it on the chargers that suit.")
    );
}

#[test]
fn where_the_evening_is_too_short_for_all_the_short_ones_go_first_and_more_are_done() {
    let mains = Charger {
        input: Input::Mains,
        ..usb_charger()
    };
    let hand = hand(vec![charger(1, mains)], Vec::new());
    let of = |key, start_mv| Waiting {
        pack: id(key, "P"),
        asked: asked(pack(Chemistry::LiPo, 3, 450, start_mv), EVENING),
    };
    let alone = |start_mv| evening(vec![of(1, start_mv)], &hand, 24 * 60).minutes();
    let (long, short) = (alone(3_500), alone(3_900));
    assert!(long > short + 10, "{long}, {short}");
    let all = || vec![of(1, 3_500), of(2, 3_900), of(3, 3_900)];
    let order =
        |told: &Evening| -> Vec<i64> { told.turns.iter().map(|turn| turn.pack.key).collect() };
    // Time for both short ones and the change between them, and not for the long one beside a short one.
    let told = evening(all(), &hand, (2 * short + 5).max(long));
    assert_eq!(order(&told), [3, 2], "{told:?}");
    assert_eq!(told.left_over.len(), 1);
    assert_eq!(told.left_over[0].pack.key, 1);
    // With time for all the longest goes first.
    let night = evening(all(), &hand, long + 2 * short + 10);
    assert_eq!(order(&night), [1, 2, 3], "{night:?}");
}

#[test]
fn a_pack_that_must_not_be_charged_gets_no_turn_and_its_reason() {
    let mut low = asked(pack(Chemistry::LiPo, 3, 450, 3_750), EVENING);
    low.pack.volts = Volts::Cells(vec![3_750, 2_900, 3_750]);
    let hand = hand(vec![charger(1, usb_charger())], vec![usb_supply(1, 65_000)]);
    let told = evening(waiting(1, &low), &hand, 240);
    assert!(told.turns.is_empty() && told.left_over[0].why.contains("Cell 2 reads 2.90 V"));
    let fine = asked(pack(Chemistry::LiPo, 3, 450, 3_750), EVENING);
    let nothing = AtHand::default();
    assert_eq!(
        evening(waiting(1, &fine), &nothing, 240).left_over[0].why,
        "No charger is at hand."
    );
}

#[test]
fn what_a_slow_charger_does_not_bring_to_storage_in_time_goes_on_a_faster_one() {
    let full = asked(pack(Chemistry::LiPo, 3, 2_200, 4_190), Purpose::Storage);
    let with = |discharge_mw| Charger {
        discharge_mw,
        input: Input::Mains,
        ..usb_charger()
    };
    let hand = hand(
        vec![charger(1, with(5_000)), charger(2, with(30_000))],
        Vec::new(),
    );
    let told = evening(waiting(9, &full), &hand, 120);
    assert!(!told.turns.is_empty());
    for turn in &told.turns {
        assert_eq!(turn.plan.charger.number, "C-02");
        assert!(turn.to_minute <= 120);
    }
    // With the whole night both are used.
    let night = evening(waiting(9, &full), &hand, 12 * 60);
    let on = |number: &str| {
        night
            .turns
            .iter()
            .any(|turn| turn.plan.charger.number == number)
    };
    assert!(on("C-01") && on("C-02"));
}

/// A charger with two outputs and one input, and one cable of the club.
fn with_two_outputs() -> AtHand {
    let two = Charger {
        outputs: 2,
        ..usb_charger()
    };
    let mut hand = hand(vec![charger(1, two)], vec![usb_supply(1, 100_000)]);
    hand.cables = vec![usb_cable(1, 60_000)];
    hand
}

#[test]
fn a_second_output_goes_through_the_cable_that_the_first_took_until_both_have_ended() {
    let long = asked(pack(Chemistry::LiPo, 3, 2_200, 3_700), EVENING);
    let short = asked(pack(Chemistry::LiPo, 3, 2_200, 4_000), EVENING);
    let one = |key, asked: &Asked| Waiting {
        pack: id(key, "P"),
        asked: asked.clone(),
    };
    let told = evening(
        vec![one(1, &long), one(2, &short), one(3, &short)],
        &with_two_outputs(),
        600,
    );
    assert_eq!(told.turns.len(), 3, "{:?}", told.left_over);
    for turn in &told.turns {
        let source = turn.plan.feed.source.as_ref().expect("a supply");
        let cable = source.cable.as_ref().map(|cable| cable.number.as_str());
        assert_eq!(cable, Some("K-01"), "{turn:?}");
    }
    assert!(
        told.turns[2].from_minute < told.turns[0].to_minute,
        "the first output goes on"
    );
}

#[test]
fn what_each_output_was_left_at_is_told_of_that_output() {
    let mut hand = with_two_outputs();
    let left = |output, ma| LeftAt {
        output,
        ma,
        of: None,
    };
    hand.chargers[0].left = vec![left(0, 100), left(1, 6_000)];
    let asked = asked(pack(Chemistry::LiPo, 3, 450, 3_750), EVENING);
    let told = evening(waiting(2, &asked), &hand, 600);
    let firsts: Vec<First> = told.turns.iter().map(|turn| turn.plan.first).collect();
    assert_eq!(firsts, [First::Nothing, First::TurnDown { from_ma: 6_000 }]);
}

#[test]
fn what_a_charger_gets_rid_of_decides_how_long_an_evening_of_storage_takes() {
    let full = asked(pack(Chemistry::LiPo, 3, 2_200, 4_190), Purpose::Storage);
    let minutes = |discharge_mw| {
        let sheet = Charger {
            discharge_mw,
            input: Input::Mains,
            ..usb_charger()
        };
        let hand = hand(vec![charger(1, sheet)], Vec::new());
        let told = evening(waiting(2, &full), &hand, 48 * 60);
        assert_eq!(told.turns.len(), 2, "{told:?}");
        told.minutes()
    };
    let (five_watts, ten_watts) = (minutes(5_000), minutes(10_000));
    assert!(
        (1.7..2.3).contains(&(five_watts as f64 / ten_watts as f64)),
        "{five_watts}, {ten_watts}"
    );
}

#[test]
fn of_more_packs_than_one_evening_is_planned_for_the_fullest_are_taken() {
    let asked = asked(pack(Chemistry::LiPo, 3, 450, 4_100), Purpose::Storage);
    let mut all = waiting(61, &asked);
    all[60].asked.pack.volts = Volts::Cells(vec![4_190; 3]);
    let told = evening(all, &AtHand::default(), 240);
    let too_many = |left: &&super::evening::LeftOver| left.why.contains("planned for 60 packs");
    let later: Vec<i64> = told
        .left_over
        .iter()
        .filter(too_many)
        .map(|left| left.pack.key)
        .collect();
    assert_eq!((later, told.left_over.len()), (vec![60], 61));
}

/// What is wrong with an evening, read off anew.
fn faults(told: &Evening, hand: &AtHand, within: i64) -> Vec<String> {
    let mut faults = Vec::new();
    for (index, turn) in told.turns.iter().enumerate() {
        let together = |other: &&super::evening::Turn| {
            other.from_minute <= turn.from_minute && turn.from_minute < other.to_minute + 5
        };
        let on: Vec<_> = told.turns.iter().filter(together).collect();
        let same_output = on.iter().filter(|other| {
            other.plan.charger == turn.plan.charger && other.plan.output == turn.plan.output
        });
        if same_output.count() > 1 {
            faults.push(format!("two packs on one output: {index}"));
        }
        for stock in &hand.adapters {
            let used = on
                .iter()
                .flat_map(|other| &other.plan.chain.adapters)
                .filter(|each| **each == stock.id);
            if used.count() as i64 > stock.free {
                faults.push(format!("more of {} than there are", stock.id.number));
            }
        }
        for cable in &hand.cables {
            let used = on
                .iter()
                .filter_map(|other| other.plan.feed.source.as_ref()?.cable.as_ref());
            let users: std::collections::BTreeSet<_> = on
                .iter()
                .filter(|other| {
                    other
                        .plan
                        .feed
                        .source
                        .as_ref()
                        .and_then(|source| source.cable.as_ref())
                        == Some(&cable.id)
                })
                .map(|other| other.plan.charger.key)
                .collect();
            if used.filter(|each| **each == cable.id).count() > 1 && users.len() > 1 {
                faults.push(format!("{} at two chargers", cable.id.number));
            }
        }
        if turn.to_minute > within || !turn.plan.is_in_time {
            faults.push(format!("turn {index} ends too late"));
        }
    }
    faults
}

/// The bench as a turn begins: what began before it left its output at its current, and what is still on keeps its output, its cable,
/// its watts and its adapters.
fn as_it_begins(told: &Evening, at: usize, hand: &AtHand) -> AtHand {
    let minute = told.turns[at].from_minute;
    let before = told.turns[..at].iter();
    let mut left = hand.clone();
    for turn in before.clone() {
        let mut chargers = left.chargers.iter_mut();
        let charger = chargers.find(|each| each.id == turn.plan.charger);
        let settings = &mut charger.expect("its charger").left;
        settings.retain(|each| each.output != turn.plan.output);
        settings.push(LeftAt {
            output: turn.plan.output,
            ma: turn.plan.current_ma,
            of: None,
        });
    }
    for on in before.filter(|turn| turn.to_minute + 5 > minute) {
        let source = on.plan.feed.source.as_ref();
        let cable = source.and_then(|source| source.cable.as_ref());
        left.cables.retain(|each| Some(&each.id) != cable);
        for stock in &mut left.adapters {
            let used = on.plan.chain.adapters.iter();
            stock.free -= used.filter(|each| **each == stock.id).count() as i64;
        }
        let mut chargers = left.chargers.iter_mut();
        let charger = chargers.find(|each| each.id == on.plan.charger);
        let charger = charger.expect("its charger");
        let of_the_hand = hand.cables.iter().find(|each| Some(&each.id) == cable);
        let plugged_in = charger.running.iter().find_map(|each| match &each.wired {
            Wired::Cable(known) if Some(&known.id) == cable => Some(known),
            _ => None,
        });
        let wired = of_the_hand.or(plugged_in).cloned();
        charger.running.push(Running {
            output: on.plan.output,
            wired: wired.map_or(Wired::NotTheClubs, Wired::Cable),
            supply: source.map(|source| (source.supply.number.clone(), source.port.unwrap_or(0))),
            input_mw: on.plan.drawn_mw,
        });
    }
    left
}

/// What was asked about a pack, as many minutes later: it has lain so much longer, and so much less time is left.
fn later(asked: &Asked, minute: i64, within: i64) -> Asked {
    let mut asked = asked.clone();
    let left = within - minute;
    asked.pack.from_use_minutes = asked.pack.from_use_minutes.map(|since| since + minute);
    asked.purpose = match asked.purpose {
        Purpose::ReadyBy { .. } => Purpose::ReadyBy { minutes: left },
        Purpose::NoHurry { .. } => Purpose::NoHurry {
            there_minutes: left,
        },
        other => other,
    };
    asked
}

#[test]
fn what_runs_already_in_an_evening_is_seen_by_the_proof() {
    let mut met = 0;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let both = (proptest::collection::vec(any_asked(), 2..8), any_hand());
    for _ in 0..800 {
        use proptest::strategy::ValueTree;
        let (questions, hand) = both.new_tree(&mut runner).expect("an evening").current();
        let packs = (1..).zip(&questions).map(|(key, asked)| Waiting {
            pack: id(key, "P"),
            asked: asked.clone(),
        });
        let told = evening(packs.collect(), &hand, 600);
        for (at, turn) in told.turns.iter().enumerate() {
            let asked = later(
                &questions[turn.pack.key as usize - 1],
                turn.from_minute,
                600,
            );
            let mut bench = as_it_begins(&told, at, &hand);
            let mut chargers = bench.chargers.iter_mut();
            let own = chargers
                .find(|each| each.id == turn.plan.charger)
                .expect("its charger");
            // The same output, as if the turn before had not ended.
            own.running.push(Running {
                output: turn.plan.output,
                wired: Wired::NotTheClubs,
                supply: None,
                input_mw: 0,
            });
            assert!(exceeded(&turn.plan, &asked, &bench).contains(&"busy output"));
            met += i64::from(turn.from_minute > 0);
        }
    }
    assert!(met > 50, "{met} turns began after another");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: if is_long() { 10_000 } else { 300 }, failure_persistence: None, max_shrink_iters: 500, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_used_twice_at_once_everything_ends_in_time_and_no_turn_exceeds_a_limit_of_its_parts(
        questions in proptest::collection::vec(any_asked(), 1..8), hand in any_hand(), within in 30_i64..600,
    ) {
        let packs: Vec<Waiting> = (1..).zip(&questions).map(|(key, asked)| Waiting { pack: id(key, "P"), asked: asked.clone() }).collect();
        let count = packs.len();
        let told = evening(packs, &hand, within);
        prop_assert_eq!(told.turns.len() + told.left_over.len(), count);
        prop_assert_eq!(faults(&told, &hand, within), Vec::<String>::new());
        for (at, turn) in told.turns.iter().enumerate() {
            let asked = later(&questions[turn.pack.key as usize - 1], turn.from_minute, within);
            let bench = as_it_begins(&told, at, &hand);
            prop_assert_eq!(exceeded(&turn.plan, &asked, &bench), Vec::<&str>::new(), "turn {}: {:?}", at, turn);
        }
    }
}
