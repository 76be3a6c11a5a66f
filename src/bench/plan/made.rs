//! A plan from the best way a charger has: what holds it back, where to cut off, what to do first, and what to heed.
//! mA, mAh, minutes.

use super::asked::{Asked, ChargerAtHand, Purpose};
use super::best::{Candidate, Weighing};
use super::current::{self, Haste, is_cold, least, of_pack, settable};
use super::ready::Ready;
use super::stops::Way;
use super::storage::is_stored_elsewhere;
use super::wires::USB_C;
use super::{Caution, Chain, First, Limit, Plan};
use crate::battery::chemistry::Chemistry;
use crate::battery::course::Course;
use crate::battery::limits::PUT_BACK_PERCENT;
use crate::battery::pack::c_ten_thousandths;
use crate::bench::charger::{Charger, Input, Memory, Mode};
use crate::bench::supply::Supply;

/// More than this above what was reckoned with is told: common practice, no source.
const ABOVE_EXPECTED_PERCENT: i64 = 120;
/// Of packs smaller than this ten mAh are too much to round by: common practice, no source.
const SMALL_MAH: i64 = 500;

/// What mAh are rounded to for people.
pub(super) const fn mah_step(capacity_mah: i64) -> i64 {
    if capacity_mah < SMALL_MAH { 1 } else { 10 }
}

impl Weighing<'_> {
    pub(super) fn plan_of(&self, ready: &Ready, best: &Candidate) -> Plan {
        let chain = best.link.chain(self.hand);
        let pack = &self.asked.pack;
        let haste = self.haste(best);
        let bounds = self.bounds(ready, best.feed, &chain, haste);
        let least = least(&bounds);
        // As hard as time asks for is held back by nothing.
        let is_at_bound = settable(&ready.charger.sheet, least) == Some(best.current_ma);
        let holding = bounds
            .into_iter()
            .filter(|(ma, _)| is_at_bound && *ma == least);
        let (cutoff_mah, cutoff_minutes) = self.cutoffs(&best.course);
        let target_cell_mv = self.way.target_mv();
        Plan {
            charger: ready.charger.id.clone(),
            output: ready.output,
            has_outputs: ready.charger.sheet.outputs,
            feed: best.feed.feed(),
            through_balance: ready.through_balance,
            has_balance_lead: pack.balance.is_some()
                && pack.balance == ready.charger.sheet.balance_connector,
            mode: best.mode,
            is_balanced: best.is_balanced,
            way: self.way,
            current_ma: best.current_ma,
            c_ten_thousandths: c_ten_thousandths(best.current_ma, pack.build.capacity_mah)
                .unwrap_or(0),
            target_cell_mv,
            target_mv: target_cell_mv.saturating_mul(pack.build.cells_series),
            course: best.course,
            is_in_time: best.is_in_time,
            cutoff_mah,
            cutoff_minutes,
            drawn_mw: match self.way {
                Way::Up { .. } => current::drawn_mw(best.current_ma, self.full_mv),
                Way::Down { .. } => 0,
            },
            limits: holding.map(|(_, limit)| limit).collect(),
            first: first(ready, best.current_ma),
            left_for: left_for(ready)
                .filter(|left| *left != (pack.build.chemistry, pack.build.cells_series)),
            cautions: self.cautions(ready, best, &chain),
            chain,
        }
    }

    fn haste(&self, best: &Candidate) -> Haste {
        if best.current_ma > self.usual_ma {
            Haste::Most
        } else {
            Haste::Usual
        }
    }

    /// mAh and minutes to set on the charger: a fifth above what is reckoned with, and for lithium never above 105 % of
    /// the label; tens of mAh, of small packs each, and never less than is reckoned with; fives of minutes.
    fn cutoffs(&self, course: &Course) -> (i64, i64) {
        let build = &self.asked.pack.build;
        let above = |value: i64| value.saturating_mul(ABOVE_EXPECTED_PERCENT) / 100;
        let put_back = build.capacity_mah.saturating_mul(PUT_BACK_PERCENT) / 100;
        let (mah, bound) = match build.chemistry {
            // What nickel takes has its margin in it.
            Chemistry::NiMh => (course.most_mah, i64::MAX),
            Chemistry::Pb => (above(course.most_mah), i64::MAX),
            _ => (above(course.most_mah).min(put_back), put_back),
        };
        let step = mah_step(build.capacity_mah);
        let rounded = mah / step * step;
        let is_short = rounded < course.most_mah && course.most_mah <= bound;
        let mah = if is_short {
            (course.most_mah.saturating_add(step - 1) / step * step).min(bound)
        } else {
            rounded
        };
        let minutes = match build.chemistry {
            Chemistry::NiMh => course.most_minutes,
            _ => above(course.most_minutes),
        };
        let minutes = minutes.saturating_add(4) / 5 * 5;
        (mah.max(1), minutes)
    }

    fn cautions(&self, ready: &Ready, best: &Candidate, chain: &Chain) -> Vec<Caution> {
        let (pack, sheet) = (&self.asked.pack, &ready.charger.sheet);
        let build = &pack.build;
        let is_up = matches!(self.way, Way::Up { .. });
        let is_disposed = self.asked.purpose == Purpose::Empty;
        let by_steps = self.asked.purpose == Purpose::Storage && best.mode == Mode::Discharge;
        let usual_full_mv = build.chemistry.limits().full_mv;
        let is_lowered =
            is_up && build.chemistry.is_lithium() && pack.limits.full_mv < usual_full_mv;
        let warmth = by_warmth(self.asked, self.haste(best));
        let is_unrated = |plug: &String| self.hand.rating_ma(plug).is_none();
        let is_unrated = chain.plugs.iter().any(is_unrated)
            || (is_up && self.is_fed_through_unrated(sheet, best));
        let unknown_level = unknown_level(ready.charger, best);
        let is_filled = is_up && self.asked.purpose != Purpose::Storage;
        let is_elsewhere = is_stored_elsewhere(self.asked, self.way);
        let all = [
            (!best.is_in_time, Caution::OutOfTime),
            (!best.is_balanced, Caution::Quick),
            (best.current_ma > build.capacity_mah, Caution::AboveOneC),
            (warmth.is_some(), warmth.unwrap_or(Caution::AboveOneC)),
            (chain.adapters.len() > 1, Caution::TwoAdapters),
            (is_unrated, Caution::UnratedPlug),
            (
                unknown_level.is_some(),
                Caution::LevelsUnknown {
                    mv: unknown_level.unwrap_or(0),
                },
            ),
            (
                is_lowered,
                Caution::EndsLower {
                    cell_mv: pack.limits.full_mv,
                },
            ),
            (!sheet.has_mah_cutoff, Caution::NoMahCutoff),
            (!sheet.has_time_cutoff, Caution::NoTimeCutoff),
            (build.chemistry == Chemistry::LiFePo4, Caution::TimeUnknown),
            (
                pack.owes_balance && is_filled && best.is_balanced,
                Caution::OwesBalance,
            ),
            (build.chemistry == Chemistry::NiMh && is_up, Caution::Nickel),
            (build.chemistry == Chemistry::Pb && is_up, Caution::Lead),
            (by_steps, Caution::StorageBySteps),
            (is_elsewhere, Caution::CellsApart),
            (is_disposed, Caution::ForDisposal),
            // Nickel's volts tell neither.
            (
                !pack.is_spread_known && build.chemistry != Chemistry::NiMh,
                Caution::ReadUnrested,
            ),
        ];
        all.into_iter()
            .filter(|(is_so, _)| *is_so)
            .map(|(_, caution)| caution)
            .collect()
    }
}

impl Weighing<'_> {
    /// A plug on the way in without a figure bounds nothing: the watts of supply and cable hold, and a person feels the plug.
    fn is_fed_through_unrated(&self, charger: &Charger, best: &Candidate) -> bool {
        let Some(at) = best.feed.at else {
            return false;
        };
        let from = match &at.supply.sheet {
            Supply::Dc { connector, .. } => connector.as_str(),
            Supply::UsbPd { .. } => USB_C,
        };
        let to = match &charger.input {
            Input::Dc { connector, .. } => connector.as_str(),
            Input::UsbPd { .. } | Input::Mains => USB_C,
        };
        [from, to]
            .iter()
            .any(|plug| self.hand.rating_ma(plug).is_none())
    }
}

/// In the cold or the heat, with the rate that leaves it, where it would be charged harder otherwise.
fn by_warmth(asked: &Asked, haste: Haste) -> Option<Caution> {
    let limits = of_pack(asked, haste);
    let reduced = limits.iter().find_map(|(ma, limit)| match limit {
        Limit::Cool { c_tenths } => Some((*ma, true, *c_tenths)),
        Limit::Warm { c_tenths } => Some((*ma, false, *c_tenths)),
        _ => None,
    });
    let (reduced_ma, is_cool, c_tenths) = reduced?;
    let is_least = limits
        .iter()
        .filter(|(_, limit)| !matches!(limit, Limit::Cool { .. } | Limit::Warm { .. }))
        .all(|(ma, _)| *ma > reduced_ma);
    let c_tenths = is_least.then_some(c_tenths);
    Some(if is_cool {
        Caution::Cool {
            c_tenths,
            is_room_mild: !asked.warmth.room_celsius.is_some_and(is_cold),
        }
    } else {
        Caution::Warm { c_tenths }
    })
}

/// The level that a charger is reckoned with whose sheet does not say which it takes.
fn unknown_level(charger: &ChargerAtHand, best: &Candidate) -> Option<i64> {
    let is_unknown = matches!(
        charger.sheet.input,
        Input::UsbPd {
            levels_mv: None,
            ..
        }
    );
    best.feed.at.filter(|_| is_unknown).map(|at| at.mv)
}

fn left_for(ready: &Ready) -> Option<(Chemistry, i64)> {
    let charger = ready.charger;
    let remembers = charger.sheet.current_memory == Memory::Remembers
        && charger.sheet.fixed_through_balance.is_none();
    let left = charger.left(ready.output).filter(|_| remembers)?;
    left.of
}

fn first(ready: &Ready, current_ma: i64) -> First {
    let charger = ready.charger;
    let left_at = match charger.sheet.current_memory {
        Memory::Remembers => charger.left(ready.output).map(|left| left.ma),
        Memory::Factory { ma } => Some(ma),
        Memory::NotKnown => None,
    };
    match left_at {
        _ if charger.sheet.fixed_through_balance.is_some() => First::Nothing,
        Some(from_ma) if from_ma > current_ma => First::TurnDown { from_ma },
        Some(_) => First::Nothing,
        None => First::Read,
    }
}
