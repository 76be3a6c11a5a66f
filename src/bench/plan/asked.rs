//! What a charge plan is asked: which pack, how warm it is, what for, and the kit at hand. Values only.
//! Units: mV, mA, mAh, mW, minutes, degrees Celsius, tenths of C, ohm of one cell.

use crate::battery::chemistry::Chemistry;
use crate::battery::course::Rested;
use crate::battery::limits::CellLimits;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::bench::chain::{Adapter, Cable};
use crate::bench::charger::Charger;
use crate::bench::connector::Family;
use crate::bench::supply::Supply;

/// `limits` are the club's, never looser than the build's own. `volts`: what it reads now.
#[derive(Clone, Debug)]
pub struct Pack {
    pub build: Build,
    pub limits: CellLimits,
    /// None: the label is silent, and it is charged at no more than its chemistry's default.
    pub label_charge_c_tenths: Option<i64>,
    pub connector: String,
    pub balance: Option<String>,
    pub volts: Volts,
    /// When it was read; 0: it was just used, or nobody knows.
    pub rested_minutes: i64,
    /// Of one cell, in ten seconds, at 25 degrees; None: not measured.
    pub resistance_ohm: Option<f64>,
    /// It lay long enough that the spread between its cells is known.
    pub is_spread_known: bool,
    /// Its last charge was one without balance.
    pub owes_balance: bool,
    /// Since it came from use; None: long ago, or that is not on record.
    pub from_use_minutes: Option<i64>,
}

impl Pack {
    /// As how long it takes is reckoned from it.
    pub fn rested(&self, celsius: i64) -> Rested<'_> {
        Rested {
            build: &self.build,
            volts: &self.volts,
            rested_minutes: self.rested_minutes,
            resistance_ohm: self.resistance_ohm,
            celsius,
        }
    }
}

/// None where nobody said. Both count: the pack's own and the room's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Warmth {
    pub pack_celsius: Option<i64>,
    pub room_celsius: Option<i64>,
    /// The pack's was read off the pack itself, not taken from the room's.
    pub pack_is_measured: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// As hard as it takes, within label and cap.
    ReadyBy { minutes: i64 },
    /// Somebody is there so long.
    NoHurry { there_minutes: i64 },
    /// It will sit.
    Storage,
    /// As empty as its chemistry may be, slowly, before it is disposed of.
    Empty,
}

impl Purpose {
    /// In which a plan must be done; None: it takes the time it takes.
    pub fn within_minutes(self) -> Option<i64> {
        match self {
            Self::ReadyBy { minutes } => Some(minutes),
            Self::NoHurry { there_minutes } => Some(there_minutes),
            Self::Storage | Self::Empty => None,
        }
    }
}

/// What the club set for the pack's chemistry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClubRules {
    pub usual_c_tenths: i64,
    /// The most when it must be quick, where the label allows it.
    pub most_c_tenths: i64,
    pub charge_from_celsius: i64,
    pub charge_to_celsius: i64,
    /// A spread up to this is small.
    pub small_spread_mv: i64,
}

#[derive(Clone, Debug)]
pub struct Asked {
    pub pack: Pack,
    pub warmth: Warmth,
    pub purpose: Purpose,
    /// By when what has no time of its own is done all the same: the hall locks then.
    pub done_within: Option<i64>,
    pub club: ClubRules,
}

impl Asked {
    /// In which a plan must be done; None: it takes the time it takes.
    pub fn within_minutes(&self) -> Option<i64> {
        self.purpose.within_minutes().or(self.done_within)
    }
}

/// A thing as its label names it; `key` puts numbers in order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Numbered {
    pub key: i64,
    pub number: String,
}

/// The cable between a charger that runs and its supply.
#[derive(Clone, Debug)]
pub enum Wired {
    Unknown,
    /// One of nobody's, or its own plug.
    NotTheClubs,
    Cable(CableAtHand),
}

/// An output that charges another pack now, and what that draws from which supply.
#[derive(Clone, Debug)]
pub struct Running {
    pub output: i64,
    pub wired: Wired,
    /// Its number, and its port where it has several; counted from 0.
    pub supply: Option<(String, usize)>,
    pub input_mw: i64,
}

#[derive(Clone, Debug)]
pub struct ChargerAtHand {
    pub id: Numbered,
    pub sheet: Charger,
    /// What its outputs were last set to, as far as that is on record.
    pub left: Vec<LeftAt>,
    pub running: Vec<Running>,
}

/// What an output was last set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeftAt {
    /// Counted from 0.
    pub output: i64,
    pub ma: i64,
    /// The chemistry and the count of cells, where they are known.
    pub of: Option<(Chemistry, i64)>,
}

impl ChargerAtHand {
    pub fn left(&self, output: i64) -> Option<&LeftAt> {
        self.left.iter().find(|left| left.output == output)
    }
}

#[derive(Clone, Debug)]
pub struct SupplyAtHand {
    pub id: Numbered,
    pub sheet: Supply,
}

#[derive(Clone, Debug)]
pub struct CableAtHand {
    pub id: Numbered,
    pub sheet: Cable,
}

/// Adapters are alike and counted: one kind, and how many of it are free.
#[derive(Clone, Debug)]
pub struct AdaptersAtHand {
    pub id: Numbered,
    pub sheet: Adapter,
    pub free: i64,
}

/// The club's own that works and is not lent. `families`: every connector the club knows.
#[derive(Clone, Debug, Default)]
pub struct AtHand {
    pub chargers: Vec<ChargerAtHand>,
    pub supplies: Vec<SupplyAtHand>,
    pub cables: Vec<CableAtHand>,
    pub adapters: Vec<AdaptersAtHand>,
    pub families: Vec<Family>,
    /// What charges on chargers that nobody plans with, as those that are set aside: what feeds them is in use all the same.
    pub elsewhere: Vec<(Numbered, Running)>,
}

impl AtHand {
    /// What a plug carries; None: no figure on record.
    pub fn rating_ma(&self, connector: &str) -> Option<i64> {
        self.family(connector).and_then(|family| family.rating_ma)
    }

    pub fn family(&self, connector: &str) -> Option<&Family> {
        self.families.iter().find(|family| family.code == connector)
    }
}
