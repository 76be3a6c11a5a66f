//! How columns are found, and which units their headings name.

use super::*;

fn headings(all: &[&str]) -> Vec<String> {
    all.iter().map(|heading| (*heading).to_owned()).collect()
}

#[test]
fn every_column_is_found_again_by_its_own_heading_and_no_two_have_one_code() {
    let kinds = KitKind::ALL.map(|kind| (Holds::Kit, Some(kind)));
    let sheets = [
        (Holds::Packs, None),
        (Holds::Designs, None),
        (Holds::Kit, None),
    ];
    for (holds, kind) in sheets.into_iter().chain(kinds) {
        let columns = of(holds, kind);
        let labels: Vec<String> = columns
            .iter()
            .map(|column| column.label.to_owned())
            .collect();
        let guesses = guessed(&columns, &labels);
        let own: Vec<(&str, usize)> = columns.iter().map(|column| column.code).zip(0..).collect();
        assert_eq!(guesses, own, "{holds:?} {kind:?}");
    }
}

#[test]
fn headings_are_guessed_by_their_words_and_none_twice() {
    let columns = of(Holds::Packs, None);
    let guesses = guessed(
        &columns,
        &headings(&["Pack", "Model", "mAh", "Weight", "Colour", "weight"]),
    );
    assert_eq!(
        guesses,
        [("number", 0), ("design", 1), ("capacity", 2), ("mass", 3)]
    );
}

#[test]
fn a_unit_behind_a_heading_is_known_and_other_brackets_are_none() {
    assert_eq!(unit_of("Capacity (Ah)"), Some("ah"));
    assert_eq!(unit_of("Capacity [mAh]"), Some("mah"));
    assert_eq!(unit_of("Capacity (rated)"), None);
    assert_eq!(unit_of("Capacity"), None);
}

#[test]
fn a_unit_is_known_that_stands_alone_or_as_the_last_word_and_others_than_ours_too() {
    for (heading, unit) in [
        ("Ah", "ah"),
        ("mAh", "mah"),
        ("Capacity Ah", "ah"),
        ("capacity_wh", "wh"),
        ("Capacity (Wh)", "wh"),
        ("[kW]", "kw"),
        ("Weight [kg]", "kg"),
        ("Weight (ounces)", "ounces"),
        ("Capacity (amp-hours)", "amphours"),
    ] {
        assert_eq!(unit_of(heading), Some(unit), "{heading}");
    }
    for heading in ["", "Weight", "Rated", "Discharge rate", "(new)"] {
        assert_eq!(unit_of(heading), None, "{heading}");
    }
}

#[test]
fn nothing_that_is_a_packs_state_has_a_column() {
    for holds in Holds::ALL {
        for column in of(holds, None) {
            assert!(
                !["state", "life", "verdict", "volts", "holder", "last_volts"]
                    .contains(&column.code)
            );
        }
    }
}
