//! What was told last of a pack's cells, and from when on it is low, by these rules in words:
//!
//! Volts are of the lowest and of the fullest cell. A meter may be 5 mV off, and cells not settled: by 2 mV after an hour, 8 after a quarter
//! of one, 50 before. Of a pack that is read whole one cell may lie as far under the others as a spread that sets it aside: 100 mV, of
//! lead 20, whose whole range is a fifth of lithium's. A charger that says it is done leaves lithium 20 mV under full (50 at the worst), iron at 3.40 V (3.35),
//! lead at 2.13 V (2.10), nickel at 1.40 V; done with storage, at its storage volts, 30 mV more or less; one cell may lie as far under that
//! as of a pack that is read whole. A charge to full that was stopped counts as full where nobody noted how far it got. Else what was noted is added to what was read, or taken off:
//! mAh of the capacity, or a quarter more. Where nobody noted how much was let out it may be all.
//!
//! It may be at its minimum as early as the least that it may hold is lost at the most that is lost a month. The least is that of the
//! kind's curve with its doubt, or of any source's curve, above what the same curve has at the minimum. Beside that it may lose 5 points on the first
//! day after a charge, of what each source's curve leaves alone, unless it was read under its storage band. A month of 30.4 days takes of LiPo, LiHV and iron
//! 0.2 to 3 points, likely 2; of round cells up to 5, since they may have a protection circuit; of lead 4 to 6, likely 5; of nickel 10 to 30,
//! likely 20; twice as much for each ten degrees above 20. Nickel has 85 to 100 percent, likely 95, after a charger filled it, else nobody
//! knows. What is not there in 120 months is nowhere. It is low from 30 days before, and not before it was told; dangerous once it is likely there.

use super::super::life::{Charge, Kind, Read, Toward};
use super::DAY_MS;
use super::curves::Known;

/// mV per cell.
struct Limits {
    full: f64,
    minimum: f64,
    storage: [f64; 2],
    target: f64,
}

const fn limits(kind: Kind) -> Limits {
    let (full, minimum, storage, target) = match kind {
        Kind::LiPo => (4_200.0, 3_000.0, [3_750.0, 3_900.0], 3_820.0),
        Kind::LiHv => (4_350.0, 3_000.0, [3_800.0, 3_900.0], 3_830.0),
        Kind::LiIon => (4_200.0, 2_500.0, [3_700.0, 3_800.0], 3_750.0),
        Kind::LiFePo4 => (3_650.0, 2_500.0, [3_250.0, 3_350.0], 3_300.0),
        Kind::NiMh => (1_600.0, 900.0, [1_200.0, 1_400.0], 1_300.0),
        Kind::Lead => (2_400.0, 1_750.0, [2_100.0, 2_400.0], 2_130.0),
    };
    Limits {
        full,
        minimum,
        storage,
        target,
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Reading,
    /// It said that the pack is full, or at its storage volts.
    Charger(Toward),
    Counted,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Band {
    Under,
    In,
    Above,
}

/// What was told last: mV of the lowest cell at the least and likely, of the fullest; points put in since, at the least and likely.
#[derive(Clone, Copy, Debug)]
pub struct Told {
    pub at: i64,
    kind: Kind,
    low: [f64; 2],
    high: f64,
    put_in: [f64; 2],
    by: By,
}

/// From when on it is low, and dangerous.
pub struct Low {
    pub from: i64,
    pub is_there: Option<i64>,
}

/// How far one cell may lie under the others, unseen.
const fn unseen(kind: Kind) -> f64 {
    match kind {
        Kind::Lead => 20.0,
        _ => 100.0,
    }
}

/// Points a month in such a place: the likely, and the most.
fn loses(kind: Kind, celsius: f64) -> [f64; 2] {
    let at_20 = match kind {
        Kind::LiPo | Kind::LiHv | Kind::LiFePo4 => [2.0, 3.0],
        Kind::LiIon => [2.0, 5.0],
        Kind::NiMh => [20.0, 30.0],
        Kind::Lead => [5.0, 6.0],
    };
    at_20.map(|points| points * 2_f64.powf((celsius - 20.0) / 10.0))
}

impl Told {
    pub fn read(kind: Kind, at: i64, read: Read) -> Self {
        let off = 5.0
            + match read.rested {
                60.. => 2.0,
                15.. => 8.0,
                _ => 50.0,
            };
        let unseen = if kind.is_read_whole() {
            unseen(kind)
        } else {
            0.0
        };
        let low = read.low as f64;
        Self {
            at,
            kind,
            low: [low - off - unseen, low],
            high: read.high as f64,
            put_in: [0.0; 2],
            by: By::Reading,
        }
    }

    pub fn charged(before: Option<Self>, kind: Kind, at: i64, charge: Charge) -> Option<Self> {
        let is_as_full = charge.toward == Toward::Full
            && (charge.is_finished || charge.is_in && charge.mah.is_none());
        let Limits { full, target, .. } = limits(kind);
        let left = match (kind, charge.toward) {
            _ if !is_as_full && !charge.is_finished => {
                return before.map(|told| told.counted(charge));
            }
            (_, Toward::Storage) => [target - 30.0, target],
            (Kind::LiFePo4, Toward::Full) => [3_350.0, 3_400.0],
            (Kind::Lead, Toward::Full) => [2_100.0, 2_130.0],
            (Kind::NiMh, Toward::Full) => [1_350.0, 1_400.0],
            (_, Toward::Full) => [full - 50.0, full - 20.0],
        };
        Some(Self {
            at,
            kind,
            low: [left[0] - unseen(kind), left[1]],
            high: left[1],
            put_in: [0.0; 2],
            by: if charge.is_finished {
                By::Charger(charge.toward)
            } else {
                By::Counted
            },
        })
    }

    fn counted(self, charge: Charge) -> Self {
        let points = charge.mah.map(|mah| mah as f64 * 100.0 / 2_200.0);
        let [least, likely] = match (points, charge.is_in) {
            (Some(points), true) => [points * 0.95, points],
            (Some(points), false) => [-1.25 * points, -points],
            (None, true) => [0.0, 0.0],
            (None, false) => [-100.0, 0.0],
        };
        Self {
            put_in: [self.put_in[0] + least, self.put_in[1] + likely],
            by: By::Counted,
            ..self
        }
    }

    /// The fullest cell, with what was put in since: lying puts no pack into its band.
    fn fullest(&self) -> f64 {
        if self.put_in[1] == 0.0 {
            return self.high;
        }
        Known::of(self.kind).map_or(self.high, |known| {
            let curve = known.curve;
            let before = curve.percent(self.high);
            let after = (before + self.put_in[1]).clamp(0.0, 100.0);
            self.high + curve.mv(after) - curve.mv(before)
        })
    }

    pub fn fullest_percent(&self) -> f64 {
        Known::of(self.kind).map_or(100.0, |known| known.curve.percent(self.fullest()))
    }

    /// Lithium under its band by no more than the 20 mV that two meters differ is in it. Nickel and lead may lie full.
    pub fn band(&self) -> Band {
        let [from, up_to] = limits(self.kind).storage;
        let meters = if self.kind.is_lithium() { 20.0 } else { 0.0 };
        if self.kind.is_lithium() && self.fullest() > up_to {
            Band::Above
        } else if self.low[1] + meters < from {
            Band::Under
        } else {
            Band::In
        }
    }

    fn when(&self, points: f64, a_month: f64) -> Option<i64> {
        let months = points.max(0.0) / a_month;
        (months <= 120.0).then(|| self.at + (months * 30.4 * DAY_MS as f64) as i64)
    }

    pub fn low(&self, celsius: f64) -> Option<Low> {
        let [likely, most] = loses(self.kind, celsius);
        let [least_left, likely_left, after_first_day] = self.left()?;
        let whichever = [least_left, after_first_day].map(|left| self.when(left, most));
        let earliest = whichever.into_iter().flatten().min()?;
        Some(Low {
            from: (earliest - 30 * DAY_MS).max(self.at),
            is_there: self.when(likely_left, likely),
        })
    }

    /// Points above the minimum: the least, the likely, and the least after a first day.
    fn left(&self) -> Option<[f64; 3]> {
        let Some(known) = Known::of(self.kind) else {
            let is_filled = self.by == By::Charger(Toward::Full);
            return is_filled.then_some([85.0, 95.0, 85.0]);
        };
        let minimum = limits(self.kind).minimum;
        let [low, likely_low] = self.low;
        let above = |mv: f64| {
            move |curve: &super::curves::Curve| {
                (curve.percent(mv) - curve.percent(minimum)).max(0.0)
            }
        };
        let likely = above(likely_low)(&known.curve);
        let by_source = known
            .sources
            .iter()
            .map(above(low))
            .fold(f64::INFINITY, f64::min);
        let by_doubt = known.least_percent(self.kind, low) - known.curve.percent(minimum);
        let first_day = if self.has_a_first_day() { 5.0 } else { 0.0 };
        Some([
            likely.min(by_source).min(by_doubt) + self.put_in[0],
            likely + self.put_in[1],
            by_source + self.put_in[0] - first_day,
        ])
    }

    fn has_a_first_day(&self) -> bool {
        let is_under = self.fullest() < limits(self.kind).storage[0];
        self.kind.is_lithium() && !(self.by == By::Reading && is_under)
    }

    /// Lead is not full any more once it likely rests under 2.10 V, or after 180 days.
    pub fn not_full(&self, celsius: f64) -> Option<i64> {
        let known = Known::of(self.kind).filter(|_| self.kind == Kind::Lead)?;
        let percent = |mv: f64| known.curve.percent(mv);
        let left = percent(self.low[1]) - percent(2_100.0) + self.put_in[1];
        let by_time = self.at + 180 * DAY_MS;
        let by_loss = self.when(left, loses(self.kind, celsius)[0]);
        Some(by_loss.map_or(by_time, |at| at.min(by_time)))
    }

    /// Nickel lies at 1.20 V or more.
    pub fn nickel_low(&self) -> Option<i64> {
        (self.kind == Kind::NiMh && self.low[1] < 1_200.0).then_some(self.at)
    }
}
