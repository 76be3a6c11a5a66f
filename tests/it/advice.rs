//! What people are told to do in the first minute, line by line as it was checked against what was published: a line that is changed
//! or added fails here until somebody has read the sources again. Each is shown with who says so.

use crate::support::*;

pub const FIRST: (&str, &[&str]) = (
    "Local rules and the fire service come first: what they say goes before all of this.",
    &["common practice, no source"],
);
const LATER: (&str, &[&str]) = (
    "Report it here, with a photo, only when everybody is away from it.",
    &["common practice, no source"],
);
const AWAY: (&str, &[&str]) = (
    "Still swelling, hot, hissing or smoking: get everybody away and call the fire service.",
    &[
        "US Fire Administration, “Batteries”",
        "OSHA SHIB 01-18-2019",
    ],
);
const DOCTOR: (&str, &[&str]) = (
    "Cough or eye pain: see a doctor. Wash skin that smoke or liquid has reached.",
    &["Swedish MSB, report 1960"],
);

/// Don't fight it, evacuate, call (US Fire Administration; the fire chiefs' council: get out, stay out); contained, it is left to burn
/// (a tournament's rules); too hot to hold is suspect (a robotics club); the smoke holds hydrogen fluoride (Scientific Reports,
/// the Swedish agency); water first, since it stops the spread (the aviation note), and it may be water since there is no
/// metallic lithium (a university); it flares up again.
const BURNING: &[(&str, &[&str])] = &[
    FIRST,
    (
        "Raise the alarm. Get everybody out, and upwind of the smoke.",
        &[
            "US Fire Administration, page for communities",
            "UK fire chiefs' council",
        ],
    ),
    (
        "Call the fire service. Say that it is a lithium battery.",
        &[
            "US Fire Administration, page for communities",
            "UK fire chiefs' council",
        ],
    ),
    (
        "Stay out. Don't try to put it out: what is contained is left to burn out.",
        &[
            "don't try to put it out, evacuate and call",
            "a burning robot is left to burn",
        ],
    ),
    (
        "Don't pick it up and don't touch it, even where it only seems hot.",
        &["60 °C or too hot for the hand is suspect"],
    ),
    (
        "Don't breathe the smoke: it is toxic.",
        &["hydrogen fluoride in the smoke", "irritant gases are real"],
    ),
    (
        "Switch the power off only where you can do so on your way out.",
        &["common practice, no source"],
    ),
    (
        "Water to cool or sand to contain: only as the club's own plan says, only while it is small and the exit is behind you. Powder only knocks down flame.",
        &[
            "cool with water, which stops it going from cell to cell",
            "hold no metallic lithium",
            "a bucket of sand beside the charger",
        ],
    ),
    (
        "It can catch fire again, hours or days later. Don't go back until the fire service or a quartermaster says so.",
        &[
            "it flares up as each cell goes",
            "common practice, no source",
        ],
    ),
    DOCTOR,
    LATER,
];

/// A maker's guide that quotes the consumer commission and a fire department: no charging, puncturing, squeezing, salt bath; 3 m;
/// no reuse even if it goes down.
const SWOLLEN: &[(&str, &[&str])] = &[
    FIRST,
    AWAY,
    (
        "Don't charge, press, puncture or cut it, and never put it in salt water.",
        &["no charging, puncturing, squeezing or salt bath"],
    ),
    (
        "Keep people away, and 3 m between it and anything that burns.",
        &["3 m (10 ft) from what burns"],
    ),
    (
        "Cold and quiet: tell a quartermaster. Where it goes is theirs to say.",
        &["common practice, no source"],
    ),
    (
        "It is never used again, even if it goes down.",
        &["no reuse even if it goes down"],
    ),
    LATER,
];

const LEAKING: &[(&str, &[&str])] = &[
    FIRST,
    AWAY,
    (
        "Keep away. Don't touch and don't breathe what comes out.",
        &["irritant gases are real"],
    ),
    (
        "Leave the room, and stay out while it airs.",
        &["Swedish MSB, report 1960"],
    ),
    (
        "Don't charge or use it. Tell a quartermaster.",
        &["stop using it at smell, heat, change of shape, leak or noise"],
    ),
    DOCTOR,
    LATER,
];

/// 30 minutes in a safe place (a model association); one on a desk burned after 25; the reaction may be delayed: outside, away from
/// building and vehicle.
const DAMAGED: &[(&str, &[&str])] = &[
    FIRST,
    AWAY,
    (
        "Keep away from it: it can catch fire later, one did after 25 minutes.",
        &["25 minutes after a crash", "the reaction may be delayed"],
    ),
    (
        "Don't charge or use it, and don't take it into a car or a building.",
        &[
            "30 minutes in a safe place",
            "away from building and vehicle",
        ],
    ),
    (
        "Tell a quartermaster. It is watched from a distance.",
        &["watch outside"],
    ),
    LATER,
];

pub fn is_as_checked(steps: &[String], checked: &[(&str, &[&str])]) {
    assert_eq!(steps.len(), checked.len(), "{steps:#?}");
    for (step, (words, sources)) in steps.iter().zip(checked) {
        let rest = step
            .strip_prefix(words)
            .unwrap_or_else(|| panic!("“{step}” was not checked: “{words}” was"));
        for source in *sources {
            assert!(
                rest.contains(source),
                "“{words}” is shown with “{rest}” and not “{source}”"
            );
        }
    }
}

on_both! {
    async fn every_line_of_advice_is_one_that_was_checked_and_is_shown_with_who_says_so(club: TestClub) {
        club.fit_packs(4).await;
        let visitor = club.visitor();
        let page = visitor.get("/offline").await;
        let all = page.texts("ol.steps li");
        let (burning, rest) = all.split_at(BURNING.len());
        let (swollen, rest) = rest.split_at(SWOLLEN.len());
        let (leaking, damaged) = rest.split_at(LEAKING.len());
        for (steps, checked) in [(burning, BURNING), (swollen, SWOLLEN), (leaking, LEAKING), (damaged, DAMAGED)] {
            is_as_checked(steps, checked);
        }
        assert_eq!(page.texts("main summary"), ["Swollen", "Leaking, or a smell like solvent", "Hit, cut, shorted or wet"]);
        let ada = club.member("Ada").await;
        is_as_checked(&ada.get("/packs/P-001/condition?now=yes").await.texts("ol.steps li"), BURNING);
        for (number, seen, checked) in [(1, "smoke_or_fire", BURNING), (2, "swollen", SWOLLEN), (3, "leak", LEAKING), (4, "in_a_crash", DAMAGED)] {
            let key = format!("key {number}");
            ada.post(&format!("/packs/P-00{number}/condition"), &[("key", &key), ("seen", seen)]).await.done();
            let token = club.find(&format!("SELECT r.token FROM report r JOIN pack k ON k.id = r.pack_id WHERE k.number_key = {number}")).await.remove(0);
            let told = visitor.get(&format!("/reported/{token}")).await;
            // It is reported by then.
            is_as_checked(&told.texts("ol.steps li"), &checked[..checked.len() - 1]);
        }
    }
}
