//! From millivolts to height: where a voltage stands in a column of the cell picture, and how far it reaches out of
//! it. Drawing units, y downwards, 0 at the column's top. Judges nothing.

/// How far a drawing outside the column reaches at most, as a share of the column's height.
const MOST_OUTSIDE: f64 = 0.22;
const LEAST_OUTSIDE: f64 = 0.07;
/// What lies between empty and the minimum stays within this share; only below the minimum it reaches further.
const ABOVE_MINIMUM: f64 = 0.12;

pub struct Scale {
    pub empty_mv: i64,
    pub full_mv: i64,
    /// What lies between full and here is drawn as full.
    pub over_mv: i64,
    pub minimum_mv: i64,
    pub storage_low_mv: i64,
    pub storage_high_mv: i64,
    pub height: f64,
}

/// Where a voltage is drawn. `over` and `under` are lengths outside the column, 0 when inside.
#[derive(Debug, PartialEq)]
pub struct Level {
    pub top_y: f64,
    pub over: f64,
    pub under: f64,
    pub is_deep: bool,
}

impl Scale {
    /// The height of a voltage, held within the column.
    pub fn y(&self, mv: i64) -> f64 {
        let span_mv = (self.full_mv - self.empty_mv).max(1) as f64;
        let share = (mv - self.empty_mv) as f64 / span_mv;
        self.height * (1.0 - share.clamp(0.0, 1.0))
    }

    pub fn level(&self, mv: i64) -> Level {
        Level {
            top_y: self.y(mv),
            over: self.over(mv),
            under: self.under(mv),
            is_deep: mv < self.minimum_mv,
        }
    }

    /// A tenth of the column's range above full already reaches as far as can be drawn.
    fn over(&self, mv: i64) -> f64 {
        if mv <= self.over_mv.max(self.full_mv) {
            return 0.0;
        }
        let tenth_mv = ((self.full_mv - self.empty_mv) as f64 / 10.0).max(1.0);
        let share = (mv - self.full_mv) as f64 / tenth_mv;
        self.height * (LEAST_OUTSIDE + share.min(1.0) * (MOST_OUTSIDE - LEAST_OUTSIDE))
    }

    fn under(&self, mv: i64) -> f64 {
        if mv >= self.empty_mv {
            return 0.0;
        }
        if mv < self.minimum_mv {
            return self.height * MOST_OUTSIDE;
        }
        let reach_mv = (self.empty_mv - self.minimum_mv).max(1) as f64;
        let share = (self.empty_mv - mv) as f64 / reach_mv;
        self.height * (LEAST_OUTSIDE + share * (ABOVE_MINIMUM - LEAST_OUTSIDE))
    }
}
