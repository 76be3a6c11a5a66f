//! Where on the paper a figure stands. Drawing units, y downwards; the drawing is as wide as the cell picture, so that its
//! letters have the same size on a page.

use super::axis::Range;
use super::{Across, Chart, points};

pub const WIDTH: f64 = 360.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 322.0;
const STRIP: f64 = 20.0;
const HEADING: f64 = 24.0;
const GAP: f64 = 12.0;
const BELOW: f64 = 38.0;
/// Of the plot of one panel alone, and of one among several.
const TALL: f64 = 170.0;
const LOW: f64 = 120.0;

/// Half of it before and after a single reading.
const ONE_DAY_MS: f64 = 86_400_000.0;

pub struct Frame {
    pub time: Range,
    panels: usize,
    has_strip: bool,
}

impl Frame {
    pub fn of(chart: &Chart<'_>) -> Self {
        let lines = chart.panels.iter().flat_map(|panel| &panel.lines);
        let times = lines.flat_map(|line| points::finite(&line.points));
        let (low, high) = points::least_and_most(times.map(|point| point.0));
        let half = match chart.across {
            Across::Elapsed => 0.5,
            Across::Days(_) => ONE_DAY_MS / 2.0,
        };
        let around = if high > low { 0.0 } else { half };
        Self {
            time: Range {
                low: low - around,
                high: high + around,
            },
            panels: chart.panels.len(),
            has_strip: !chart.stretches.is_empty(),
        }
    }

    pub const fn left(&self) -> f64 {
        LEFT
    }

    pub const fn right(&self) -> f64 {
        RIGHT
    }

    pub fn x(&self, at: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * self.time.share(at)
    }

    /// Of the plot of a panel: its upper and its lower end.
    pub fn ends(&self, panel: usize) -> (f64, f64) {
        let top = self.strip() + HEADING + (self.tall() + HEADING + GAP) * panel as f64;
        (top, top + self.tall())
    }

    /// The lower end of the last plot.
    pub fn floor(&self) -> f64 {
        self.ends(self.panels.saturating_sub(1)).1
    }

    pub fn height(&self) -> f64 {
        self.floor() + BELOW
    }

    fn strip(&self) -> f64 {
        if self.has_strip { STRIP } else { 0.0 }
    }

    const fn tall(&self) -> f64 {
        if self.panels > 1 { LOW } else { TALL }
    }
}

/// Each as near as may be to where it is wanted, in the same order, at least `gap` from the next and between the ends; closer
/// together where there is no room for that.
pub fn apart(wanted: &[f64], gap: f64, (low, high): (f64, f64)) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|one, other| wanted[*one].total_cmp(&wanted[*other]));
    let gaps = wanted.len().saturating_sub(1).max(1) as f64;
    let gap = gap.min((high - low) / gaps);
    let mut placed = vec![0.0; wanted.len()];
    let mut least = low;
    for at in &order {
        placed[*at] = wanted[*at].max(least);
        least = placed[*at] + gap;
    }
    let mut most = high;
    for at in order.iter().rev() {
        placed[*at] = placed[*at].min(most).max(low);
        most = placed[*at] - gap;
    }
    placed
}
