//! What is asked about before it is stored, and what never waits for an answer.

use super::super::tests::build;
use super::*;
use crate::battery::chemistry::Chemistry;

fn asked(cells: &[i64], of: i64) -> Option<AskedFirst> {
    let build = build(Chemistry::LiPo, of, true);
    let limits = ClubLimits::default();
    asked_first(
        &build,
        &Volts::Cells(cells.to_vec()),
        Rested::AN_HOUR,
        &limits,
    )
}

#[test]
fn volts_that_hardly_any_cell_shows_are_asked_about_with_what_may_have_been_meant() {
    let words = asked(&[38_200, 3_820, 3_820], 3).expect("asked").words;
    assert!(words.contains("Cell 1 with 38.20 V"), "{words}");
    assert!(words.contains("Was 3.82 V meant?"), "{words}");
    assert!(asked(&[4_190, 4_190, 9_190], 3).is_some());
    assert_eq!(asked(&[3_820, 3_810, 3_830], 3), None);
}

#[test]
fn too_few_may_be_so_and_too_many_never_are() {
    let few = asked(&[4_190, 4_190], 6).expect("asked");
    assert!(
        few.may_be_so
            && few
                .words
                .starts_with("The number of voltages typed is 2; a 6S pack has 6 cells."),
        "{}",
        few.words
    );
    assert!(
        !asked(&[3_820, 3_820, 3_820, 3_820], 3)
            .expect("asked")
            .may_be_so
    );
}

#[test]
fn a_dangerous_cell_waits_for_nobody_where_the_number_of_volts_fits() {
    assert_eq!(asked(&[3_820, 2_800, 3_820], 3), None);
    assert_eq!(asked(&[38_200, 2_800, 3_820], 3), None);
    assert!(
        asked(&[9_900, 1_000], 4).is_some(),
        "which cell that is nobody knows"
    );
    assert_eq!(asked(&[3_820, 2_800], 3), None, "one of its cells");
    assert!(
        asked(&[3_820, 2_800, 3_820, 3_820], 3).is_some(),
        "another pack's"
    );
}

#[test]
fn the_volts_of_a_whole_pack_are_asked_about_by_its_average_cell() {
    let build = build(Chemistry::LiPo, 3, false);
    let of = |mv| {
        asked_first(
            &build,
            &Volts::Pack(mv),
            Rested::AN_HOUR,
            &ClubLimits::default(),
        )
    };
    assert_eq!(of(11_460), None);
    let words = of(114_600).expect("asked").words;
    assert!(words.contains("The average cell with 38.20 V"), "{words}");
}
