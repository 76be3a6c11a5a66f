//! What a pack loses by lying: percent of its charge a month, for each cell, from two rested readings with nothing drawn
//! or charged between them; whether a cell sags more than its mates; and what a good one is expected to lose. Where the
//! fall is within a meter's error it cannot be told yet. Rested mV, percent of what a cell holds per month.

use super::chemistry::Chemistry;
use super::curve_sources::{METER_V, points_between};
use super::range::{Range, median, others};

/// Days.
pub const MONTH: f64 = 30.4;
/// After less, a cell still settles: it loses a percent or two in the first day after a charge, as one text has it.
const FEWEST_DAYS: f64 = 1.0;
/// A fall in volts is told once it is more than both readings may be off together.
const TOLD_MV: i64 = 10;

/// The defaults: common practice for lithium. A battery site discards a cell at 30 % in a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LossLimits {
    /// More than this a month.
    pub percent_a_month: i64,
    /// More than its mates in a month.
    pub sag_mv_a_month: i64,
    /// As much in a day is the end.
    pub discard_percent_a_day: i64,
}

impl Default for LossLimits {
    fn default() -> Self {
        Self {
            percent_a_month: 5,
            sag_mv_a_month: 20,
            discard_percent_a_day: 30,
        }
    }
}

/// Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Loss {
    /// The fall is within what a meter may be off.
    CannotTellYet,
    Fine,
    /// Likely over the limit; the least that it may be is not.
    PerhapsFast,
    /// Over the limit whatever curve and meter say.
    Fast,
    Discard,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellLoss {
    /// Cell 1 first.
    pub cell: usize,
    /// Fallen between the two readings; under zero when it rose.
    pub fallen_mv: i64,
    /// None where resting volts tell no charge.
    pub percent_a_month: Option<Range>,
    pub loss: Loss,
    /// How much more than the median of its mates it sags, mV a month; None where that is within a meter's error.
    pub sags_more_mv_a_month: Option<i64>,
    pub is_sagging: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLoss {
    #[error("the two readings are less than a day apart")]
    TooSoon,
    #[error("the two readings are not of the same number of cells")]
    OtherCells,
}

/// Two rested readings of the same cells, cell 1 first, and the days between them.
pub fn lost(
    chemistry: Chemistry,
    before_mv: &[i64],
    after_mv: &[i64],
    days: f64,
    limits: &LossLimits,
) -> Result<Vec<CellLoss>, NoLoss> {
    if days.is_nan() || days < FEWEST_DAYS {
        return Err(NoLoss::TooSoon);
    }
    if before_mv.len() != after_mv.len() {
        return Err(NoLoss::OtherCells);
    }
    let months = days / MONTH;
    let each = before_mv.iter().zip(after_mv);
    let fallen_mv: Vec<i64> = each
        .clone()
        .map(|(before, after)| before.saturating_sub(*after))
        .collect();
    let cell = |(index, (before, after)): (usize, (&i64, &i64))| {
        let change = points_between(chemistry, volts(*before), volts(*after), METER_V);
        let fallen = change.map(|change| change.times(-1.0).from_zero());
        let own_mv = before.saturating_sub(*after);
        let sags_more = sags_more_mv(&fallen_mv, index).map(|more_mv| more_mv / months);
        CellLoss {
            cell: index + 1,
            fallen_mv: own_mv,
            percent_a_month: fallen.map(|points| points.times(1.0 / months)),
            loss: loss(own_mv, fallen, days, limits),
            sags_more_mv_a_month: sags_more.map(|mv| mv.round() as i64),
            is_sagging: sags_more.is_some_and(|mv| mv > limits.sag_mv_a_month as f64),
        }
    };
    Ok(each.enumerate().map(cell).collect())
}

fn loss(fallen_mv: i64, fallen: Option<Range>, days: f64, limits: &LossLimits) -> Loss {
    let Some(fallen) = fallen.filter(|_| fallen_mv > TOLD_MV) else {
        return Loss::CannotTellYet;
    };
    let (a_day, a_month) = (fallen.least / days, fallen.times(MONTH / days));
    let limit = limits.percent_a_month as f64;
    if a_day >= limits.discard_percent_a_day as f64 {
        Loss::Discard
    } else if a_month.least > limit {
        Loss::Fast
    } else if a_month.likely > limit {
        Loss::PerhapsFast
    } else {
        Loss::Fine
    }
}

/// Than the median of its mates, where that is more than a meter's error. Each cell is read twice by the same meter, whose
/// own offset falls out of the difference.
fn sags_more_mv(fallen_mv: &[i64], index: usize) -> Option<f64> {
    let fallen: Vec<f64> = fallen_mv.iter().map(|mv| *mv as f64).collect();
    let more_mv = fallen.get(index)? - median(&others(&fallen, index))?;
    (more_mv > TOLD_MV as f64).then_some(more_mv)
}

/// What a good pack loses in a month at such a temperature: twice as much for each ten degrees more. Lithium at 20 °C: 2 %,
/// from 0.2 (Zilberman et al. 2019, J. Energy Storage 26, 100900) to 3 (an engineering handbook). BU-802b has 1 to 2, and 3 more
/// with a protection circuit: pouch packs of hobby size have none, packs of round Li-ion cells may, which is not on record, so
/// that theirs goes to 5. NiMH: 10 to 30; lead: 4 to 6 (the same handbook).
pub fn expected_percent_a_month(chemistry: Chemistry, celsius: f64) -> Range {
    let at_20 = match chemistry {
        Chemistry::NiMh => Range::around(20.0, [10.0, 30.0]),
        Chemistry::Pb => Range::around(5.0, [4.0, 6.0]),
        Chemistry::LiIon => Range::around(2.0, [0.2, 5.0]),
        _ => Range::around(2.0, [0.2, 3.0]),
    };
    at_20.times(2_f64.powf((celsius - 20.0) / 10.0))
}

/// Beside that, in the first day after a charge: of lithium about 5 % (BU-802b; another text says 1 to 2). Whether that day is over
/// for volts that were read is not on record, so that it may be nothing. That of NiMH is taken off what a full charge leaves.
pub fn first_day_percent(chemistry: Chemistry) -> Range {
    let most = if chemistry.is_lithium() { 5.0 } else { 0.0 };
    Range::around(0.0, [0.0, most])
}

/// What the two ranges cover, as pages say it; percent of its charge a month at 20 °C.
pub const LOSES_IN_WORDS: [&str; 4] = [
    "LiPo, LiHV and LiFePO4: 0.2 to 3 (laboratory cells; an engineering handbook). Pouch packs of hobby size have no protection circuit.",
    "Li-ion: 0.2 to 5. A pack of round cells may have a protection circuit, which takes up to 3 more (a battery-education site); whether one has it is not on record.",
    "All of these: up to 5 on the first day after a charge, beside it (the same site).",
    "Lead: 4 to 6. NiMH: 10 to 30, and up to 15 on the first day after a full charge (the handbook; the site).",
];

fn volts(mv: i64) -> f64 {
    mv as f64 / 1_000.0
}

#[cfg(test)]
#[path = "self_discharge_tests.rs"]
mod tests;
