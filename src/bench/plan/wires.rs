//! Wires between a supply and a charger, and what a USB-C cable lets through. mA and mW.

use super::asked::{CableAtHand, Wired};
use super::fits::watts;
use super::laid_out::LaidOut;
use super::unfed::Unfed;
use crate::bench::supply::Level;

pub const USB_C: &str = "usb-c";
/// A USB-C cable without a mark carries 3 A, 60 W at 20 V (encyclopaedic entry on USB Power Delivery).
const UNMARKED_MW: i64 = 60_000;
const UNMARKED_MA: i64 = 3_000;

/// A wire between a supply and a charger, or none.
#[derive(Clone, Copy)]
pub struct Wire<'h> {
    pub cable: Option<&'h CableAtHand>,
    pub limit_mw: i64,
    pub is_own: bool,
}

/// Every cable from one plug to the other; none is needed where they meet. A USB-C lead without a mark is everywhere.
fn wires<'h>(from: &'h str, to: &'h str, kit: &LaidOut<'h>) -> Result<Vec<Wire<'h>>, Unfed<'h>> {
    let cables = kit.hand.cables.iter();
    let mut wires: Vec<Wire> = cables
        .filter(|cable| cable.sheet.from == from && cable.sheet.to == to)
        .map(Wire::of)
        .collect();
    let (is_usb, is_met) = (from == USB_C && to == USB_C, from == to);
    if is_met && !is_usb {
        wires.push(Wire {
            cable: None,
            limit_mw: i64::MAX,
            is_own: false,
        });
    }
    if is_usb && wires.is_empty() {
        wires.push(Wire::UNMARKED);
    }
    if wires.is_empty() {
        return Err(Unfed::NoCable { from, to });
    }
    Ok(wires)
}

impl<'h> Wire<'h> {
    /// A cable of the club's.
    pub fn of(cable: &'h CableAtHand) -> Self {
        Self {
            cable: Some(cable),
            limit_mw: cable.sheet.limit_mw,
            is_own: false,
        }
    }

    /// A USB-C lead without a mark, of which there is one everywhere.
    pub const UNMARKED: Self = Self {
        cable: None,
        limit_mw: UNMARKED_MW,
        is_own: true,
    };
}

/// A charger that runs already has its wire: its other outputs are fed through that one.
pub fn plugged_in<'h>(
    wired: Option<&'h Wired>,
    (from, to): (&'h str, &'h str),
    kit: &LaidOut<'h>,
) -> Result<Vec<Wire<'h>>, Unfed<'h>> {
    let is_usb = from == USB_C && to == USB_C;
    match wired {
        None | Some(Wired::Unknown) => wires(from, to, kit),
        Some(Wired::Cable(cable)) => Ok(vec![Wire::of(cable)]),
        Some(Wired::NotTheClubs) if is_usb => Ok(vec![Wire::UNMARKED]),
        Some(Wired::NotTheClubs) => {
            let mut all = wires(from, to, kit)?;
            all.retain(|wire| wire.cable.is_none());
            Ok(all)
        }
    }
}

/// `plug_ma`: what the club lets a USB-C plug carry.
pub fn through_usb_c(level: Level, wire: &Wire, plug_ma: i64) -> i64 {
    let cable_ma = if wire.limit_mw <= UNMARKED_MW {
        UNMARKED_MA
    } else {
        i64::MAX
    };
    let at_level = watts(level.mv, level.ma.min(cable_ma).min(plug_ma));
    at_level.min(level.mw()).min(wire.limit_mw)
}
