//! The latest that reading or charger told of the cells, and what was moved since: what beliefs and forecasts start from.
//! mV per cell, points of charge (percent of what a cell holds).

use super::story::{Charge, Lying, Story, Toward, What};
use crate::battery::chemistry::Chemistry;
use crate::battery::curve::Curve;
use crate::battery::curve_sources::METER_V;
use crate::battery::range::Range;
use crate::battery::self_discharge::expected_percent_a_month;
use crate::battery::settling::{NEARLY_MINUTES, unsettled_v};
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::reading::Rested;

const MONTH_MS: f64 = 30.4 * 86_400_000.0;
const METER_MV: f64 = METER_V * 1_000.0;

/// Rested volts of the lowest and of the highest cell, as of `at`; `put_in`: points since, under zero where drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Told {
    pub at: Instant,
    pub low_mv: Range,
    pub high_mv: Range,
    pub put_in: Range,
    pub by: By,
    /// It was out since: used, or charged, and nobody wrote it down; or it charges now.
    pub is_out_since: bool,
    /// The cells had just been used as they were read: they may rest by `JUST_USED_MV` off.
    pub is_just_used: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    Reading(Rested),
    /// A charger that said it is done.
    Charger(Toward),
    /// A charge that was stopped before, added to what was read.
    Counted,
}

impl Told {
    /// None where neither reading nor finished charge is on record.
    pub fn of(lying: &Lying, story: &Story) -> Option<Self> {
        let read = story.read.as_ref().map(|read| {
            let (low_mv, high_mv) = cells(lying, &read.volts, read.rested);
            Self::fresh(read.at, (low_mv, high_mv), By::Reading(read.rested))
        });
        story.since.iter().fold(read, |told, dated| {
            after(lying, told, dated.at, &dated.what)
        })
    }

    fn fresh(at: Instant, (low_mv, high_mv): (Range, Range), by: By) -> Self {
        Self {
            at,
            low_mv,
            high_mv,
            put_in: Range::around(0.0, []),
            by,
            is_out_since: false,
            is_just_used: matches!(by, By::Reading(rested) if rested.minutes() < NEARLY_MINUTES),
        }
    }

    /// Of the fullest cell with what was put in since, and without what it lost by lying: lying puts no pack into its band.
    pub fn highest_mv(&self, lying: &Lying) -> f64 {
        match Curve::of(lying.build.chemistry) {
            Some(curve) => moved_mv(&curve, self.high_mv.likely, self.put_in.likely),
            None => self.high_mv.likely,
        }
    }

    pub fn highest_percent(&self, lying: &Lying) -> f64 {
        let curve = Curve::of(lying.build.chemistry);
        curve.map_or(100.0, |curve| {
            curve.percent_at(self.highest_mv(lying) / 1_000.0)
        })
    }

    /// Points lost by lying until then.
    pub fn lost(&self, lying: &Lying, then: Instant) -> Range {
        let months = then.ms().saturating_sub(self.at.ms()).max(0) as f64 / MONTH_MS;
        loss_a_month(lying).times(months)
    }

    /// When so many points are lost, at so many a month. None in more than ten years.
    pub fn when_lost(&self, points: f64, percent_a_month: f64) -> Option<Instant> {
        let months = points.max(0.0) / percent_a_month;
        (months <= LONGEST_MONTHS).then(|| Instant(self.at.ms() + (months * MONTH_MS) as i64))
    }
}

/// Further nobody looks ahead.
pub(super) const LONGEST_MONTHS: f64 = 120.0;

/// Percent a month at its place: what its kind loses, and where its own readings told, these; both count.
pub(super) fn loss_a_month(lying: &Lying) -> Range {
    let kind = expected_percent_a_month(lying.build.chemistry, lying.celsius() as f64);
    match lying.loses_percent_a_month.map(Range::from_zero) {
        Some(own) => Range::around(own.likely, [own.least, own.most, kind.least, kind.most]),
        None => kind,
    }
}

/// So many points put in at these volts. Volts outside of a curve move by as much as those at its end.
pub(super) fn moved_mv(curve: &Curve, cell_mv: f64, points: f64) -> f64 {
    let before = curve.percent_at(cell_mv / 1_000.0);
    let change_v = curve.volts_at((before + points).clamp(0.0, 100.0)) - curve.volts_at(before);
    cell_mv + change_v * 1_000.0
}

/// 'Aim 50 mV past the target', a storage page reproducing BU-702, since a pack that is looked after was mostly read some minutes
/// after its use.
pub(super) const JUST_USED_MV: f64 = 50.0;

/// How far a reading may lie from settled volts.
fn unsettled_mv(rested: Rested) -> f64 {
    if rested.minutes() < NEARLY_MINUTES {
        return JUST_USED_MV;
    }
    unsettled_v(rested.minutes()) * 1_000.0
}

/// One cell of a pack that was measured whole may lie so far from its mates: where a spread sets a pack aside. Lead has a fifth of
/// lithium's volts between empty and full, so that its cells have a fifth of that. Common practice, no source.
const fn unseen_mv(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::Pb => 20.0,
        _ => 100.0,
    }
}

fn cells(lying: &Lying, volts: &Volts, rested: Rested) -> (Range, Range) {
    let off = METER_MV + unsettled_mv(rested);
    let around = |mv: f64| Range::around(mv, [mv - off, mv + off]);
    match volts {
        Volts::Cells(cells) => {
            let of = |mv: Option<&i64>| around(mv.copied().unwrap_or_default() as f64);
            (of(cells.iter().min()), of(cells.iter().max()))
        }
        Volts::Pack(mv) => {
            let cells = lying.build.cells_series.max(1);
            let average = *mv as f64 / cells as f64;
            let unseen = if cells > 1 {
                unseen_mv(lying.build.chemistry)
            } else {
                0.0
            };
            let of = around(average);
            (
                Range::around(average, [of.least - unseen, of.most]),
                Range::around(average, [of.least, of.most + unseen]),
            )
        }
    }
}

fn after(lying: &Lying, told: Option<Told>, at: Instant, what: &What) -> Option<Told> {
    match what {
        What::Charged(charge) => after_charge(lying, told, at, charge),
        What::Lent
        | What::TakenToEvent
        | What::CameBack
        | What::BackFromEvent
        | What::PutOnRound
        | What::OnCharger => told.map(|told| Told {
            is_out_since: true,
            ..told
        }),
    }
}

fn after_charge(lying: &Lying, told: Option<Told>, at: Instant, charge: &Charge) -> Option<Told> {
    let is_as_full = charge.reached() == Some(Toward::Full) || is_counted_full(charge);
    let Some(mv) = (match charge.reached() {
        _ if is_as_full => Some(full_mv(lying)),
        Some(Toward::Storage) => Some(stored_mv(lying)),
        Some(Toward::Empty) => Some(empty_mv(lying)),
        _ => None,
    }) else {
        return told.map(|told| counted(lying, told, charge));
    };
    let by = charge.reached().map_or(By::Counted, By::Charger);
    // What a charger ends at is the pack's mean: the lowest cell may lie under it.
    let unseen_mv = unseen_mv(lying.build.chemistry);
    let low_mv = Range::around(mv.likely, [mv.least - unseen_mv, mv.most]);
    Some(Told::fresh(at, (low_mv, mv), by))
}

/// A charge to full that was stopped, and nobody noted how far it got: it counts as full for whom it makes chase.
fn is_counted_full(charge: &Charge) -> bool {
    charge.is_charge && charge.toward == Toward::Full && charge.moved_mah.is_none()
}

/// Of a capacity that is what the label says, or down to four fifths of it; a charger's count is off by some percent.
fn counted(lying: &Lying, told: Told, charge: &Charge) -> Told {
    let sign = if charge.is_charge { 1.0 } else { -1.0 };
    let points = match charge.moved_mah {
        Some(mah) => mah.max(0) as f64 * 100.0 / lying.build.capacity_mah.max(1) as f64,
        // Nobody knows how far: anywhere from nothing to all.
        None => {
            return Told {
                put_in: sum(told.put_in, Range::around(0.0, [0.0, sign * 100.0])),
                by: By::Counted,
                ..told
            };
        }
    };
    let moved = Range::around(points, [points * 0.95, points * 1.25]).times(sign);
    Told {
        put_in: sum(told.put_in, moved),
        by: By::Counted,
        ..told
    }
}

pub(super) fn sum(one: Range, other: Range) -> Range {
    Range {
        least: one.least + other.least,
        likely: one.likely + other.likely,
        most: one.most + other.most,
    }
}

/// Rested after a full charge. 4.18 V, 4.15 to 4.20: two phone cells of the Linux kernel. LiFePO4 3.40 V: a laboratory's kind
/// of table, from memory. Lead 2.13 V and NiMH 1.40 V: from memory.
fn full_mv(lying: &Lying) -> Range {
    let full = lying.limits.full_mv as f64;
    let up_to = |likely: f64, least: f64, most: f64| Range {
        least: least.min(full),
        likely: likely.min(full),
        most: most.min(full),
    };
    match lying.build.chemistry {
        Chemistry::LiFePo4 => up_to(3_400.0, 3_350.0, full),
        Chemistry::Pb => up_to(2_130.0, 2_100.0, 2_200.0),
        Chemistry::NiMh => up_to(1_400.0, 1_350.0, 1_450.0),
        _ => up_to(full - 20.0, full - 50.0, full),
    }
}

/// A charger that stops at a storage voltage under current leaves two or three points: 30 mV, common practice, no source.
fn stored_mv(lying: &Lying) -> Range {
    let target = lying.limits.storage_target_mv as f64;
    Range::around(target, [target - 30.0, target + 30.0])
}

fn empty_mv(lying: &Lying) -> Range {
    let (least, most) = (
        lying.limits.minimum_mv as f64,
        lying.limits.storage_low_mv as f64,
    );
    let likely = (lying.limits.empty_mv as f64).clamp(least, most);
    Range::around(likely, [least, most])
}
