//! How far a pack's cells stand apart: in millivolts, and in points of charge, which is what counts and what a flat part
//! of the curve hides; and which cell stands out from the others. Leaves what follows to the club's verdict.
//! Rested cells; mV in, points of charge (percent of what a cell holds) out.

use super::chemistry::Chemistry;
use super::curve_sources::{METER_V, points_between, sources};
use super::range::{Range, median, others};

/// Two cells read as far apart as this may be alike: a meter is off by up to 5 mV at each.
const ALIKE_MV: i64 = 10;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Imbalance {
    /// Highest less lowest.
    pub spread_mv: i64,
    /// Points of charge between the two. None where resting volts tell no charge.
    pub spread_percent: Option<Range>,
    /// So many points could lie between cells that read the same here.
    pub unseen_percent: Option<f64>,
    pub odd: Option<OddCell>,
}

/// The cell that stands out from the others, up or down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OddCell {
    /// Cell 1 first.
    pub cell: usize,
    /// From the median of the others; under zero when it is lower.
    pub from_others_mv: i64,
    pub from_others_percent: Option<Range>,
}

impl Imbalance {
    /// Of rested cells. None of fewer than two.
    pub fn of(chemistry: Chemistry, cells_mv: &[i64]) -> Option<Self> {
        let (high, low) = (*cells_mv.iter().max()?, *cells_mv.iter().min()?);
        if cells_mv.len() < 2 {
            return None;
        }
        let cells_v: Vec<f64> = cells_mv.iter().copied().map(volts).collect();
        let spread = points_between(chemistry, volts(low), volts(high), METER_V);
        let middle_v = median(&cells_v)?;
        Some(Self {
            spread_mv: high.saturating_sub(low),
            spread_percent: spread.map(Range::from_zero),
            unseen_percent: unseen(chemistry, middle_v),
            odd: odd(chemistry, &cells_v),
        })
    }
}

/// What could lie between two cells that read alike at these volts.
fn unseen(chemistry: Chemistry, cell_v: f64) -> Option<f64> {
    if sources(chemistry).is_empty() {
        return None;
    }
    points_between(chemistry, cell_v, cell_v, METER_V).map(|range| range.most)
}

/// None where no cell is farther from the others than a meter's error, or two are about as far: of a pair nobody can tell
/// which.
fn odd(chemistry: Chemistry, cells_v: &[f64]) -> Option<OddCell> {
    let from_others = |index: usize| {
        let middle = median(&others(cells_v, index))?;
        Some((index, cells_v.get(index)? - middle, middle))
    };
    let mut apart: Vec<_> = (0..cells_v.len()).filter_map(from_others).collect();
    apart.sort_by(|one, other| other.1.abs().total_cmp(&one.1.abs()));
    let (index, off_v, middle_v) = *apart.first()?;
    let (_, next_off_v, _) = apart.get(1)?;
    let off_mv = millivolts(off_v);
    let is_alone = off_mv.abs() - millivolts(next_off_v.abs()) > ALIKE_MV / 2;
    (off_mv.abs() > ALIKE_MV && is_alone).then(|| OddCell {
        cell: index + 1,
        from_others_mv: off_mv,
        from_others_percent: points_between(chemistry, middle_v, middle_v + off_v, METER_V),
    })
}

fn volts(mv: i64) -> f64 {
    mv as f64 / 1_000.0
}

fn millivolts(v: f64) -> i64 {
    (v * 1_000.0).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::reference::{number, rows};
    use proptest::prelude::*;

    fn lipo(cells_mv: &[i64]) -> Imbalance {
        Imbalance::of(Chemistry::LiPo, cells_mv).expect("two cells or more")
    }

    #[test]
    fn the_same_millivolts_are_many_points_where_the_curve_is_flat_and_few_where_it_is_steep() {
        // Kernel table A (ab8500): 50 % is 3.812 V, 40 % 3.787 V; 90 % is 4.068 V, 95 % 4.114 V.
        let flat = lipo(&[3_812, 3_787, 3_812]);
        let steep = lipo(&[4_068, 4_093, 4_068]);
        assert_eq!((flat.spread_mv, steep.spread_mv), (25, 25));
        let (flat_points, steep_points) = (flat.spread_percent, steep.spread_percent);
        assert!(
            flat_points.is_some_and(|points| points.contains(10.0) && points.most > 12.0),
            "{flat_points:?}"
        );
        assert!(
            steep_points.is_some_and(|points| points.contains(2.7) && points.most < 5.0),
            "{steep_points:?}"
        );
        assert!(flat.unseen_percent > steep.unseen_percent);
    }

    #[test]
    fn cells_that_read_alike_may_still_be_points_apart_and_the_flat_iron_cell_hides_most() {
        // On the kernel's tables 20 mV are five to ten points between 3.70 and 3.80 V, so 10 mV are three to five.
        let unseen = |chemistry, mv| {
            let told = Imbalance::of(chemistry, &[mv, mv]).expect("two cells");
            assert_eq!(told.spread_mv, 0);
            assert_eq!(told.spread_percent.map(|points| points.least), Some(0.0));
            told.unseen_percent.expect("points")
        };
        let pouch = unseen(Chemistry::LiPo, 3_770);
        assert!((3.0..=8.0).contains(&pouch), "{pouch}");
        assert!(unseen(Chemistry::LiFePo4, 3_270) > 20.0);
        assert!(unseen(Chemistry::LiPo, 4_100) < 2.0);
    }

    #[test]
    fn the_cell_that_stands_out_is_named_up_and_down() {
        let low = lipo(&[3_910, 3_900, 3_780, 3_905]).odd.expect("a cell");
        assert_eq!((low.cell, low.from_others_mv), (3, -125));
        assert!(
            low.from_others_percent
                .is_some_and(|points| points.most < -10.0)
        );
        let high = lipo(&[3_990, 3_900, 3_905]).odd.expect("a cell");
        // The others' median is 3.9025 V; Ai et al. 2020 hold ten points more at 3.99 V.
        assert_eq!((high.cell, high.from_others_mv), (1, 88));
        let points = high.from_others_percent.expect("points");
        assert!(points.least > 0.0 && points.contains(10.0), "{points:?}");
    }

    #[test]
    fn of_a_pair_or_of_cells_in_a_row_none_stands_out() {
        for cells in [
            [3_900, 3_700].as_slice(),
            &[3_700, 3_800, 3_900],
            &[3_700, 3_700, 3_900, 3_900],
            &[3_900, 3_891, 3_900],
            &[3_900; 6],
        ] {
            assert_eq!(lipo(cells).odd, None, "{cells:?}");
        }
    }

    #[test]
    fn one_cell_has_no_spread_and_nickel_no_points() {
        assert_eq!(Imbalance::of(Chemistry::LiPo, &[3_900]), None);
        assert_eq!(Imbalance::of(Chemistry::LiPo, &[]), None);
        let nickel = Imbalance::of(Chemistry::NiMh, &[1_300, 1_250, 1_300]).expect("cells");
        assert_eq!((nickel.spread_mv, nickel.spread_percent), (50, None));
        assert_eq!(nickel.unseen_percent, None);
        assert_eq!(
            nickel.odd.map(|odd| (odd.cell, odd.from_others_mv)),
            Some((2, -50))
        );
    }

    /// Ai et al. 2020 in PyBaMM, `ocv.csv`: every second percent, finer than the source this room holds of it.
    #[test]
    fn two_cells_of_a_physical_model_are_as_far_apart_as_told() {
        let own = rows("ocv.csv");
        let own = own.iter().filter(|row| row["parameter_set"] == "Ai2020");
        let cell: Vec<(f64, i64)> = own
            .map(|row| {
                (
                    number(row, "soc_percent"),
                    millivolts(number(row, "resting_cell_v")),
                )
            })
            .collect();
        let mut pairs = 0;
        for (low, low_mv) in &cell {
            for (high, high_mv) in cell.iter().filter(|(high, _)| high >= low) {
                let told = lipo(&[*low_mv, *high_mv]).spread_percent.expect("points");
                assert!(told.contains(high - low), "{low} and {high} %: {told:?}");
                pairs += 1;
            }
        }
        assert_eq!(pairs, 51 * 52 / 2);
    }

    proptest! {
        #[test]
        fn a_cell_farther_out_is_never_told_nearer(
            mv in 3_300_i64..4_150, off in 0_i64..300, more in 0_i64..200, up in any::<bool>(),
        ) {
            let sign = if up { 1 } else { -1 };
            let told = |off: i64| lipo(&[mv, mv + 2, mv + sign * off, mv + 1]);
            let (near, far) = (told(off), told(off + more));
            prop_assert!(far.spread_mv >= near.spread_mv.min(2 + off));
            prop_assert!(near.odd.is_none() || far.odd.is_some_and(|odd| odd.cell == 3));
            let points = |told: &Imbalance| told.spread_percent.expect("points");
            if off > 5 {
                prop_assert!(points(&far).most >= points(&near).most - 1e-9);
            }
        }
    }
}
