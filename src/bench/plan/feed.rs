//! What feeds a charger: a supply, its port and level, and the cable between. mV and mW.

use super::asked::{CableAtHand, Numbered, SupplyAtHand};

/// Where a charger's power comes from. `cable`: None where the supply plugs straight in, and where a USB-C cable is needed
/// and the club has none of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    pub supply: Numbered,
    pub port: Option<usize>,
    pub mv: i64,
    pub cable: Option<Numbered>,
    pub needs_own_cable: bool,
}

/// `source`: None from the mains. `mw`: what is left for this charger; None: no end to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    pub source: Option<Source>,
    pub mw: Option<i64>,
}

/// The same before it is told: there are many, and few are.
#[derive(Clone, Copy, Debug)]
pub struct Fed<'h> {
    pub at: Option<At<'h>>,
    pub mw: Option<i64>,
}

#[derive(Clone, Copy, Debug)]
pub struct At<'h> {
    pub supply: &'h SupplyAtHand,
    pub port: Option<usize>,
    pub mv: i64,
    pub cable: Option<&'h CableAtHand>,
    pub needs_own_cable: bool,
}

impl<'h> Fed<'h> {
    pub const FROM_THE_MAINS: Self = Self { at: None, mw: None };

    pub fn supply(&self) -> Option<&'h Numbered> {
        self.at.map(|at| &at.supply.id)
    }

    /// Puts feeds in order where nothing else does.
    pub fn key(&self) -> (i64, i64, i64) {
        self.at.map_or((-1, -1, -1), |at| {
            (
                at.supply.id.key,
                at.port.map_or(-1, |port| port as i64),
                at.cable.map_or(-1, |cable| cable.id.key),
            )
        })
    }

    pub fn feed(&self) -> Feed {
        Feed {
            source: self.at.map(|at| Source {
                supply: at.supply.id.clone(),
                port: at.port,
                mv: at.mv,
                cable: at.cable.map(|cable| cable.id.clone()),
                needs_own_cable: at.needs_own_cable,
            }),
            mw: self.mw,
        }
    }
}
