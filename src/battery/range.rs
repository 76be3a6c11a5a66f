//! What is told with its doubt: a least, a likely and a most. And the middle of some values, and of all but one of them,
//! which one bad cell or one mistyped reading does not move. Knows no cell; whatever unit goes in comes out.

/// `least <= likely <= most`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    pub least: f64,
    pub likely: f64,
    pub most: f64,
}

impl Range {
    /// Spans all of these and the likely one.
    pub fn around(likely: f64, others: impl IntoIterator<Item = f64>) -> Self {
        let exact = Self {
            least: likely,
            likely,
            most: likely,
        };
        others.into_iter().fold(exact, |range, each| Self {
            least: range.least.min(each),
            likely,
            most: range.most.max(each),
        })
    }

    pub fn contains(&self, value: f64) -> bool {
        self.least <= value && value <= self.most
    }

    pub fn half_width(&self) -> f64 {
        (self.most - self.least) / 2.0
    }

    /// Nothing under zero: where there can be no less than none.
    pub fn from_zero(self) -> Self {
        Self {
            least: self.least.max(0.0),
            likely: self.likely.max(0.0),
            most: self.most.max(0.0),
        }
    }

    pub fn times(self, factor: f64) -> Self {
        let (one, other) = (self.least * factor, self.most * factor);
        Self::around(self.likely * factor, [one, other])
    }
}

/// The two that stand in the middle, lower first; one and the same where their number is odd. None of none.
fn middle_two(values: &[f64]) -> Option<(f64, f64)> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    Some((*sorted.get(last / 2)?, *sorted.get(sorted.len() / 2)?))
}

pub fn median(values: &[f64]) -> Option<f64> {
    middle_two(values).map(|(lower, upper)| (lower + upper) / 2.0)
}

/// Of an even number the lower of the two in the middle, never one between them.
pub fn lower_median(values: &[f64]) -> Option<f64> {
    middle_two(values).map(|(lower, _)| lower)
}

/// Of an even number the upper of the two in the middle.
pub fn upper_median(values: &[f64]) -> Option<f64> {
    middle_two(values).map(|(_, upper)| upper)
}

/// All but the one at `index`: what a cell is compared with, so that it does not move its own measure.
pub fn others(values: &[f64], index: usize) -> Vec<f64> {
    let others = values.iter().enumerate().filter(|(at, _)| *at != index);
    others.map(|(_, value)| *value).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_some_values_is_not_moved_by_one_of_them() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[3.0, 1.0, 200.0]), Some(3.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(lower_median(&[4.0, 1.0, 2.0, 3.0]), Some(2.0));
        assert_eq!(upper_median(&[4.0, 1.0, 2.0, 3.0]), Some(3.0));
        assert_eq!(lower_median(&[5.0]), Some(5.0));
        assert_eq!((median(&[]), lower_median(&[])), (None, None));
        assert_eq!(others(&[1.0, 2.0, 3.0], 1), [1.0, 3.0]);
    }

    #[test]
    fn a_range_spans_what_it_was_made_of_also_turned_round() {
        let range = Range::around(2.0, [1.0, 4.0, 3.0]);
        assert_eq!((range.least, range.likely, range.most), (1.0, 2.0, 4.0));
        assert_eq!(range.half_width(), 1.5);
        let turned = range.times(-1.0);
        assert_eq!((turned.least, turned.most), (-4.0, -1.0));
        assert!(range.contains(4.0) && !range.contains(4.1));
        assert_eq!(turned.from_zero(), Range::around(0.0, []));
    }
}
