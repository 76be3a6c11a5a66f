//! What the random benches meet: a proof says something only of what comes up in it.

use super::random::sampled;
use super::*;

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
            let kinds = [
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
    assert_eq!(met.len(), 18, "{met:?}");
    assert!(met.values().all(|count| *count >= 10), "{met:?}");
}
