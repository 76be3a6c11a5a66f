//! The cells of a log whose balance lead was in: how many it tells of, what they held at its end, and how far they stood apart.
//! Units: V, mV, s.

use super::{Log, Sample};

/// Between the highest and the lowest cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    pub millivolts: f64,
    pub seconds: f64,
}

/// One cell and what it held; the first is 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellAt {
    pub cell: usize,
    pub volts: f64,
}

impl Sample {
    /// Of the first `count` cells; None where one of them is not told.
    pub fn cells(&self, count: usize) -> Option<Vec<f64>> {
        let told = self.cells.get(..count)?;
        let are_all = count > 0 && told.iter().all(|volts| *volts > 0.0);
        are_all.then(|| told.iter().map(|volts| f64::from(*volts)).collect())
    }

    fn apart(&self, count: usize) -> Option<Apart> {
        let cells = self.cells(count).filter(|cells| cells.len() > 1)?;
        let highest = cells.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let lowest = cells.iter().copied().fold(f64::INFINITY, f64::min);
        Some(Apart {
            millivolts: (highest - lowest) * 1_000.0,
            seconds: self.seconds,
        })
    }
}

impl Log {
    /// The last cell that was ever told of; 0: none was.
    pub fn cell_count(&self) -> usize {
        let last = |sample: &Sample| sample.cells.iter().rposition(|volts| *volts > 0.0);
        let found = self.samples().iter().filter_map(last).max();
        found.map_or(0, |at| at + 1)
    }

    /// What they held when they were told of last.
    pub fn cells_at_end(&self) -> Option<Vec<f64>> {
        let count = self.cell_count();
        let told = self.samples().iter().rev();
        told.filter_map(|sample| sample.cells(count)).next()
    }

    pub fn highest_cell(&self) -> Option<CellAt> {
        self.told_cells()
            .max_by(|one, other| one.volts.total_cmp(&other.volts))
    }

    pub fn lowest_cell(&self) -> Option<CellAt> {
        self.told_cells()
            .min_by(|one, other| one.volts.total_cmp(&other.volts))
    }

    fn told_cells(&self) -> impl Iterator<Item = CellAt> {
        let each = self.samples().iter().flat_map(|sample| {
            sample.cells.iter().enumerate().map(|(at, volts)| CellAt {
                cell: at + 1,
                volts: f64::from(*volts),
            })
        });
        each.filter(|cell| cell.volts > 0.0)
    }

    /// The farthest that they stood apart, and where they stood at the end.
    pub fn apart(&self) -> Option<(Apart, Apart)> {
        let count = self.cell_count();
        let all = || self.samples().iter().filter_map(|each| each.apart(count));
        let farthest = all().max_by(|one, other| one.millivolts.total_cmp(&other.millivolts))?;
        Some((farthest, all().next_back()?))
    }
}

#[cfg(test)]
mod tests {
    use super::super::Recorded;
    use super::super::current_sign::CurrentSign;
    use super::*;
    use crate::battery::volts::CELLS_MAX;

    fn log(rows: &[&[f32]]) -> Log {
        let sample = |(at, told): (usize, &&[f32])| {
            let mut cells = [0.0; CELLS_MAX];
            cells[..told.len()].copy_from_slice(told);
            Sample {
                seconds: at as f64 * 10.0,
                volts: 12.0,
                amps: 1.0,
                cells,
                ..Sample::default()
            }
        };
        let samples = rows.iter().enumerate().map(sample).collect();
        let recorded = Recorded::new(samples).expect("a log");
        recorded.with_sign(CurrentSign::ChargingIsPositive)
    }

    #[test]
    fn cells_that_a_charger_writes_as_nothing_are_not_there() {
        let three = log(&[
            &[3.9, 3.8, 3.9, 0.0, 0.0, 0.0],
            &[4.0, 4.0, 4.01, 0.0, 0.0, 0.0],
        ]);
        assert_eq!(three.cell_count(), 3);
        let none = log(&[&[], &[]]);
        assert_eq!((none.cell_count(), none.cells_at_end()), (0, None));
        assert_eq!(none.apart(), None);
    }

    #[test]
    fn they_stand_apart_by_the_most_there_was_and_by_what_the_last_told_reading_shows() {
        let (farthest, last) = log(&[&[3.9, 3.8], &[3.9, 3.86], &[4.2, 4.19], &[]])
            .apart()
            .expect("two cells");
        assert!((farthest.millivolts - 100.0).abs() < 0.01 && farthest.seconds == 0.0);
        assert!((last.millivolts - 10.0).abs() < 0.01 && last.seconds == 20.0);
    }

    #[test]
    fn the_highest_and_the_lowest_are_told_by_their_number() {
        let all = log(&[&[3.9, 3.1], &[4.2, 4.25], &[4.2, 0.0]]);
        let cell =
            |told: Option<CellAt>| told.map(|told| (told.cell, (told.volts * 100.0).round()));
        assert_eq!(cell(all.highest_cell()), Some((2, 425.0)));
        assert_eq!(cell(all.lowest_cell()), Some((2, 310.0)));
    }

    #[test]
    fn one_cell_stands_apart_from_none() {
        let one = log(&[&[3.9], &[4.0]]);
        assert_eq!(one.apart(), None);
        assert_eq!(one.cells_at_end().map(|cells| cells.len()), Some(1));
    }
}
