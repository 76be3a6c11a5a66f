//! What the random benches meet: a proof says something only of what comes up in it.

use super::limits::never_charged;
use super::random::sampled;
use super::*;

/// What must not be charged comes up too: whatever kit is at hand, it gets no plan but a stop, and where nobody said how warm it
/// is, a question. Where there is nothing to do anyway, that is said instead of to wait until it has lain.
#[test]
fn random_benches_meet_all_that_no_pack_is_charged_at_and_give_it_no_plan() {
    let mut met = std::collections::BTreeMap::new();
    for (asked, hand) in sampled(10_000) {
        let whys = never_charged(&asked);
        let answer = plan(&asked, &hand);
        let stops = |why: &&str| !["warmth unknown", "straight from use"].contains(why);
        if whys.iter().any(stops) {
            let words = match &answer {
                Answer::Stop(words) => words.join(" "),
                other => panic!("{whys:?}: {other:?}"),
            };
            assert!(
                !words.is_empty() && !words.contains(" A"),
                "no current: {words}"
            );
        } else if whys == ["straight from use"] {
            let has_none = matches!(answer, Answer::Stop(_) | Answer::Nothing(_));
            assert!(has_none, "{answer:?}");
        } else if whys.contains(&"warmth unknown") {
            assert!(
                matches!(answer, Answer::Ask(_) | Answer::Stop(_)),
                "{answer:?}"
            );
        }
        for why in whys {
            *met.entry(why).or_insert(0) += 1;
        }
    }
    println!("{met:?}");
    let all = [
        "cell too high",
        "cell too low",
        "straight from use",
        "too cold",
        "too hot",
        "warmth unknown",
    ];
    assert_eq!(met.keys().copied().collect::<Vec<&str>>(), all);
    assert!(met.values().all(|count| *count >= 100), "{met:?}");
}

/// The random benches say something only if they meet what they are to prove.
#[test]
fn random_benches_meet_every_kind_of_plan() {
    let mut met = std::collections::BTreeMap::new();
    for (asked, hand) in sampled(10_000) {
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else {
            continue;
        };
        for each in &plans {
            let source = each.feed.source.as_ref();
            let sheet = hand.chargers.iter().find(|one| one.id == each.charger);
            let sheet = &sheet.expect("a charger of the club").sheet;
            let limits = &asked.pack.limits;
            let spread_mv = asked.pack.volts.spread_mv();
            let highest_mv = match &asked.pack.volts {
                Volts::Cells(cells) => cells.iter().copied().max().expect("cells"),
                Volts::Pack(mv) => mv / asked.pack.build.cells_series,
            };
            let kinds = [
                ("cells 200 mV apart", spread_mv.is_some_and(|mv| mv > 200)),
                ("a cell a little over full", highest_mv > limits.full_mv),
                ("no mAh cut-off", !sheet.has_mah_cutoff),
                ("no time cut-off", !sheet.has_time_cutoff),
                (
                    "turned down from the maker's current",
                    matches!(each.first, First::TurnDown { .. })
                        && matches!(sheet.current_memory, Memory::Factory { .. }),
                ),
                (
                    "what it starts from unknown",
                    sheet.current_memory == Memory::NotKnown,
                ),
                (
                    "a label's least",
                    asked.pack.build.label.lowest_mv.is_some(),
                ),
                (
                    "too late for the hall",
                    !each.is_in_time && asked.purpose.within_minutes().is_none(),
                ),
                (
                    "down in the time there is",
                    matches!(each.way, Way::Down { .. })
                        && asked.done_within.is_some()
                        && each.is_in_time,
                ),
                ("balanced", each.is_balanced),
                ("quick", !each.is_balanced),
                ("above 1C", each.c_ten_thousandths > 10_000),
                ("late", !each.is_in_time),
                (
                    "up to storage",
                    matches!(each.way, Way::Up { .. }) && asked.purpose == Purpose::Storage,
                ),
                (
                    "down to storage",
                    matches!(each.way, Way::Down { .. }) && asked.purpose == Purpose::Storage,
                ),
                ("for disposal", asked.purpose == Purpose::Empty),
                ("through the balance plug", each.through_balance),
                ("two adapters", each.chain.adapters.len() == 2),
                (
                    "held back by the supply",
                    each.limits
                        .iter()
                        .any(|limit| matches!(limit, Limit::Supply { .. })),
                ),
                (
                    "held back by a plug",
                    each.limits
                        .iter()
                        .any(|limit| matches!(limit, Limit::Chain(_))),
                ),
                (
                    "a brick",
                    source.is_some_and(|source| source.port.is_none()),
                ),
                (
                    "a port with a cable",
                    source.is_some_and(|source| source.port.is_some() && source.cable.is_some()),
                ),
                (
                    "more than 20 V",
                    source.is_some_and(|source| source.mv > 20_000),
                ),
                (
                    "a level that a label prints",
                    source.is_some_and(|source| source.mv == 12_000 && source.port.is_some()),
                ),
                (
                    "a lead of nobody's",
                    source.is_some_and(|source| source.needs_own_cable),
                ),
                (
                    "through the cable that is plugged in",
                    source.is_some_and(|source| {
                        source.cable.as_ref().is_some_and(|cable| cable.key == 90)
                    }),
                ),
                (
                    "turned down first",
                    matches!(each.first, First::TurnDown { .. }),
                ),
            ];
            for (kind, _) in kinds.into_iter().filter(|(_, is_so)| *is_so) {
                *met.entry(kind).or_insert(0) += 1;
            }
        }
    }
    println!("{met:?}");
    assert_eq!(met.len(), 27, "{met:?}");
    assert!(met.values().all(|count| *count >= 10), "{met:?}");
}
