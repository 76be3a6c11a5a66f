//! Where storage leaves each cell of a pack whose cells differ, reckoned anew: a pack is brought to its mean target by the same
//! charge for every cell, found by halving.

use super::*;
use crate::battery::curve::Curve;
use crate::bench::plan::stops::before;
use proptest::prelude::*;

const LITHIUM: [Chemistry; 4] = [
    Chemistry::LiPo,
    Chemistry::LiHv,
    Chemistry::LiIon,
    Chemistry::LiFePo4,
];

fn of_cells(chemistry: Chemistry, cells_mv: &[i64]) -> Asked {
    let count = i64::try_from(cells_mv.len()).expect("a few");
    let mut pack = pack(chemistry, count, 2_200, 0);
    pack.volts = Volts::Cells(cells_mv.to_vec());
    asked(pack, Purpose::Storage)
}

/// Each cell's volts once the mean is at the target. mV of one cell.
pub fn ends_mv(chemistry: Chemistry, cells_mv: &[i64], target_mv: i64) -> Vec<f64> {
    ends_at(chemistry, cells_mv, target_mv as f64)
}

/// The same where the target is no whole millivolt.
pub fn ends_at(chemistry: Chemistry, cells_mv: &[i64], target_mv: f64) -> Vec<f64> {
    let curve = Curve::of(chemistry).expect("a curve");
    let after = |moved: f64| -> Vec<f64> {
        let percent = |mv: &i64| curve.percent_at(*mv as f64 / 1_000.0);
        let cells = cells_mv.iter().map(percent);
        cells
            .map(|held| curve.volts_at(held + moved) * 1_000.0)
            .collect()
    };
    let (mut low, mut high) = (-100.0, 100.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        let mean = after(middle).iter().sum::<f64>() / cells_mv.len() as f64;
        if mean < target_mv {
            low = middle;
        } else {
            high = middle;
        }
    }
    after(low)
}

/// By this much a whole millivolt of the target may be off at one cell.
const SLACK_MV: f64 = 3.0;

fn is_in_band(asked: &Asked, ends_mv: &[f64], slack_mv: f64) -> bool {
    let limits = &asked.pack.limits;
    let low = limits.storage_low_mv as f64 - slack_mv;
    let high = limits.storage_high_mv as f64 + slack_mv;
    ends_mv.iter().all(|mv| (low..=high).contains(mv))
}

#[test]
fn cells_alike_go_to_the_usual_volts_and_cells_apart_to_where_none_leaves_its_band() {
    let way = |cells: &[i64]| before(&of_cells(Chemistry::LiPo, cells));
    assert_eq!(way(&[4_190; 3]), Before::Go(Way::Down { target_mv: 3_820 }));
    assert_eq!(way(&[3_600; 3]), Before::Go(Way::Up { target_mv: 3_820 }));
    // Its mean is in the band, and one cell is not.
    assert!(matches!(
        way(&[3_960, 3_840, 3_840]),
        Before::Go(Way::Down { .. })
    ));
    assert!(matches!(
        way(&[3_720, 3_840, 3_840]),
        Before::Go(Way::Up { .. })
    ));
    assert!(
        matches!(way(&[3_890, 3_760, 3_800]), Before::Nothing(words) if words.contains("already"))
    );
    // At 3.82 V in the mean the one that is far ahead would stay above 3.90 V.
    let ahead = [4_050, 3_850, 3_850, 3_850];
    let Before::Go(Way::Down { target_mv }) = way(&ahead) else {
        panic!("{:?}", way(&ahead));
    };
    assert!(target_mv < 3_820, "{target_mv}");
    let Before::Nothing(words) = way(&[4_190, 3_600]) else {
        panic!("no charge moved brings both into their band");
    };
    assert!(
        words.contains("too far apart") && words.contains("balance"),
        "{words}"
    );
}

/// NiMH lies at any charge but empty, best partly charged, at 1.2 V or more: from memory of cell handbooks.
#[test]
fn nickel_is_stored_as_it_is_unless_it_is_low_then_it_is_charged() {
    let sheet = Charger {
        chemistries: vec!["nimh".into()],
        modes: vec![Mode::Charge],
        ..usb_charger()
    };
    let hand = hand(vec![charger(1, sheet)], vec![usb_supply(1, 100_000)]);
    let stored = asked(pack(Chemistry::NiMh, 6, 2_000, 1_200), Purpose::Storage);
    assert!(matches!(
        super::super::plan(&stored, &hand),
        Answer::Nothing(_)
    ));
    let low = asked(pack(Chemistry::NiMh, 6, 2_000, 1_190), Purpose::Storage);
    let plan = only(&low, &hand);
    assert_eq!(plan.mode, Mode::Charge);
    let there = asked(
        pack(Chemistry::NiMh, 6, 2_000, 1_190),
        Purpose::NoHurry { there_minutes: 600 },
    );
    let gently = only(&there, &hand);
    assert_eq!(
        (plan.current_ma, plan.way, plan.cutoff_mah),
        (gently.current_ma, gently.way, gently.cutoff_mah)
    );
}

/// Whoever is told by storage care that a pack lies in its band is not sent to charge it: twenty millivolts under it are as near as
/// two meters tell (common practice, no source); lead lies at 2.10 V a cell and above (section 3 of the trade's facts).
#[test]
fn what_storage_care_calls_stored_is_not_charged_for_storage() {
    let words = |asked: &Asked| match before(asked) {
        Before::Nothing(words) => words,
        other => format!("{other:?}"),
    };
    assert_eq!(
        words(&of_cells(Chemistry::LiPo, &[3_740, 3_730, 3_745])),
        "It is at storage volts, as near as two meters tell: between 3.75 and 3.90 V a cell."
    );
    let lower = before(&of_cells(Chemistry::LiPo, &[3_740, 3_729, 3_745]));
    assert!(matches!(lower, Before::Go(Way::Up { .. })), "{lower:?}");
    let above = before(&of_cells(Chemistry::LiPo, &[3_740, 3_901]));
    assert!(!matches!(&above, Before::Nothing(words) if words.starts_with("It is at storage")));
    let lead =
        |cell_mv: i64, purpose: Purpose| asked(pack(Chemistry::Pb, 6, 7_000, cell_mv), purpose);
    assert_eq!(
        words(&lead(2_120, Purpose::Storage)),
        "Lead may lie as it is from 2.10 V a cell on."
    );
    for asked in [lead(2_090, Purpose::Storage), lead(2_120, EVENING)] {
        assert_eq!(before(&asked), Before::Go(Way::Up { target_mv: 2_400 }));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn no_cell_ends_outside_of_its_storage_band(
        chemistry in prop::sample::select(LITHIUM.to_vec()),
        within in prop::collection::vec(0_i64..=1_000, 1..7),
        apart in 0_i64..=1_000,
    ) {
        let limits = chemistry.limits();
        let room = limits.full_mv - limits.minimum_mv;
        let near = within[0];
        let cells: Vec<i64> = within
            .iter()
            .map(|each| limits.minimum_mv + room * (near + (each - near) * apart / 1_000) / 1_000)
            .collect();
        let asked = of_cells(chemistry, &cells);
        let now: Vec<f64> = cells.iter().map(|mv| *mv as f64).collect();
        match before(&asked) {
            Before::Go(way) => {
                let ends = ends_mv(chemistry, &cells, way.target_mv());
                prop_assert!(is_in_band(&asked, &ends, SLACK_MV), "{:?} to {:?}: {:?}", cells, way, ends);
                let mean = cells.iter().sum::<i64>() / asked.pack.build.cells_series;
                let is_towards = match way {
                    Way::Up { target_mv } => target_mv >= mean,
                    Way::Down { target_mv } => target_mv <= mean + 1,
                };
                prop_assert!(is_towards, "{:?} to {:?}", cells, way);
            }
            // Under it by no more than two meters may differ.
            Before::Nothing(_) if is_in_band(&asked, &now, 0.0) => {}
            Before::Nothing(words) if words.contains("as near as two meters tell") => {
                prop_assert!(is_in_band(&asked, &now, 20.0), "{:?}", cells);
                let above = cells.iter().any(|mv| *mv > limits.storage_high_mv);
                prop_assert!(!above, "{:?}", cells);
            }
            Before::Nothing(_) => {
                let any = (limits.storage_low_mv..=limits.storage_high_mv)
                    .any(|target| is_in_band(&asked, &ends_mv(chemistry, &cells, target), -1.0));
                prop_assert!(!any, "{:?} could be stored", cells);
            }
            other => prop_assert!(false, "{:?}", other),
        }
    }
}
