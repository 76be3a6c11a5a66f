//! Whether one charger can do it at all, apart from how hard: chemistry, cells, mode, plugs, output, power. Else why not, in
//! the first sentence that holds.

use super::asked::{Asked, AtHand, ChargerAtHand, Purpose};
use super::chains::{Link, links};
use super::feed::Fed;
use super::fits::feeds;
use super::laid_out::LaidOut;
use super::stops::Way;
use super::storage::is_stored_elsewhere;
use crate::bench::charger::{Charger, Mode};
use crate::bench::connector::called;

/// A charger that suits, and everything it could be joined with. `quick`: it may charge without waiting for balance.
pub struct Ready<'h> {
    pub charger: &'h ChargerAtHand,
    pub output: i64,
    pub mode: Option<Mode>,
    pub quick: Option<Mode>,
    pub links: Vec<Link<'h>>,
    pub through_balance: bool,
    pub feeds: Vec<Fed<'h>>,
}

pub fn ready<'h>(
    asked: &'h Asked,
    way: Way,
    charger: &'h ChargerAtHand,
    kit: &LaidOut<'h>,
) -> Result<Ready<'h>, String> {
    let (pack, sheet) = (&asked.pack, &charger.sheet);
    let output = free_output(charger)?;
    suits(asked, sheet)?;
    let sees_cells = sees_cells(asked, charger, kit.hand)?;
    let (mode, quick) = modes(asked, way, sheet, sees_cells)?;
    let through_balance = sheet.fixed_through_balance.is_some();
    let links = if through_balance {
        let plug = pack.balance.as_deref().unwrap_or_default();
        vec![Link::straight(plug, kit.hand)]
    } else {
        links(&sheet.output_connector, &pack.connector, kit)
    };
    if links.is_empty() {
        let own = &kit.hand.families;
        return Err(format!(
            "Its output is {}, the pack's plug {}, and no adapter between them is at hand.",
            called(&sheet.output_connector, own),
            called(&pack.connector, own)
        ));
    }
    let full_mv = pack.limits.full_mv.saturating_mul(pack.build.cells_series);
    Ok(Ready {
        charger,
        output,
        mode,
        quick,
        links,
        through_balance,
        feeds: feeds(charger, full_mv, kit)?,
    })
}

fn free_output(charger: &ChargerAtHand) -> Result<i64, String> {
    let is_free = |output: &i64| charger.running.iter().all(|each| each.output != *output);
    (0..charger.sheet.outputs).find(is_free).ok_or_else(|| {
        if charger.sheet.outputs == 1 {
            "It charges another pack now.".to_owned()
        } else {
            "All its outputs charge packs now.".to_owned()
        }
    })
}

fn suits(asked: &Asked, sheet: &Charger) -> Result<(), String> {
    let build = &asked.pack.build;
    if !sheet
        .chemistries
        .iter()
        .any(|code| code == build.chemistry.code())
    {
        return Err(format!("It does not charge {}.", build.chemistry.label()));
    }
    let (from, to) = (sheet.cells_from, sheet.cells_to);
    if !(from..=to).contains(&build.cells_series) {
        let range = if from == to {
            format!("{from}S")
        } else {
            format!("{from} to {to}S")
        };
        return Err(format!(
            "It takes {range}; the pack is {}S.",
            build.cells_series
        ));
    }
    Ok(())
}

/// Whether the charger sees each cell: through its balance plug, or because there is one only. Lithium in series that it
/// can't see is not charged with it.
fn sees_cells(asked: &Asked, charger: &ChargerAtHand, hand: &AtHand) -> Result<bool, String> {
    let (pack, sheet) = (&asked.pack, &charger.sheet);
    let is_lithium = pack.build.chemistry.is_lithium();
    let has_plug = sheet.balance_connector.is_some() && sheet.balance_connector == pack.balance;
    let must_plug =
        sheet.fixed_through_balance.is_some() || (is_lithium && pack.build.cells_series > 1);
    if has_plug || !must_plug {
        return Ok(has_plug || (is_lithium && pack.build.cells_series == 1));
    }
    let own = &hand.families;
    Err(match (&sheet.balance_connector, &pack.balance) {
        (None, _) => "It has no balance plug, so it does not see the cells.".to_owned(),
        (Some(its), Some(packs)) => format!(
            "Its balance plug is {}, the pack's {}.",
            called(its, own),
            called(packs, own)
        ),
        (Some(_), None) => "The pack has no balance lead on record.".to_owned(),
    })
}

/// The mode that keeps to the rule, and one that does not wait for balance where that may be asked for.
fn modes(
    asked: &Asked,
    way: Way,
    sheet: &Charger,
    sees_cells: bool,
) -> Result<(Option<Mode>, Option<Mode>), String> {
    let has = |mode: Mode| sheet.modes.contains(&mode).then_some(mode);
    let build = &asked.pack.build;
    let is_stack = build.chemistry.is_lithium() && build.cells_series > 1;
    let can_discharge = sheet.discharge_mw > 0;
    let is_storage = asked.purpose == Purpose::Storage && build.chemistry.is_lithium();
    let mode = match (way, asked.purpose) {
        (Way::Down { .. }, _) if !can_discharge => {
            return Err("It can't discharge.".to_owned());
        }
        // A storage mode may end where it will: a discharge is told its end.
        (Way::Down { .. }, Purpose::Storage) if is_stored_elsewhere(asked, way) => {
            has(Mode::Discharge).or(has(Mode::Storage))
        }
        (Way::Down { .. }, Purpose::Storage) => has(Mode::Storage).or(has(Mode::Discharge)),
        (Way::Down { .. }, _) => has(Mode::Discharge),
        (Way::Up { .. }, _) if is_storage => has(Mode::Storage),
        (Way::Up { .. }, _) if is_stack && sheet.fixed_through_balance.is_none() => {
            has(Mode::Balance)
        }
        (Way::Up { .. }, _) => has(Mode::Charge).or(has(Mode::Balance).filter(|_| sees_cells)),
    };
    let may_be_quick =
        is_stack && sees_cells && sheet.fixed_through_balance.is_none() && is_even(asked);
    let is_urgent = matches!(asked.purpose, Purpose::ReadyBy { .. });
    let quick = has(Mode::Charge).filter(|_| is_urgent && may_be_quick);
    if mode.is_none() && quick.is_none() {
        let lacking = match way {
            Way::Down { .. } if asked.purpose == Purpose::Empty => "discharge",
            Way::Down { .. } => "storage or discharge",
            Way::Up { .. } if is_storage => "storage",
            Way::Up { .. } if is_stack => "balance",
            Way::Up { .. } => "charge",
        };
        return Err(format!("It has no {lacking} mode."));
    }
    Ok((mode, quick))
}

/// Its cells are known to stand together, and its last charge was balanced.
fn is_even(asked: &Asked) -> bool {
    let spread = asked.pack.volts.spread_mv();
    let is_small = spread.is_some_and(|mv| mv <= asked.club.small_spread_mv);
    is_small && asked.pack.is_spread_known && !asked.pack.owes_balance
}
