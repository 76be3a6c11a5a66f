//! The six designs of the club, and what volts people read of each, mV per cell.

use crate::support::*;
use sandbucket::battery::volts::Volts;
use sandbucket::store::designs::Design;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    LiPo,
    LiHv,
    LiIon,
    LiFePo4,
    /// Six cells without a balance lead.
    NiMh,
    /// Six cells in one block.
    Lead,
}

/// How full somebody finds a pack, or leaves it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    Full,
    Part,
    Stored,
    Low,
}

impl Kind {
    /// Kind and how many of them: sixty.
    pub const ALL: [(Self, usize); 6] = [
        (Self::LiPo, 20),
        (Self::LiHv, 8),
        (Self::LiIon, 8),
        (Self::LiFePo4, 8),
        (Self::NiMh, 8),
        (Self::Lead, 8),
    ];

    /// `bought`: packs before it, so that no two designs are called alike.
    pub fn design(self, bought: usize, design: &mut Design) {
        let (name, chemistry, cells) = match self {
            Self::LiPo => ("Mill 3S", "lipo", 3),
            Self::LiHv => ("Mill 3S high", "lihv", 3),
            Self::LiIon => ("Mill 3S round", "liion", 3),
            Self::LiFePo4 => ("Mill 4S iron", "lifepo4", 4),
            Self::NiMh => ("Mill 6 nickel", "nimh", 6),
            Self::Lead => ("Mill 12 V block", "pb", 6),
        };
        design.name = format!("{name} of {bought}");
        (design.chemistry, design.cells_series) = (chemistry.to_owned(), cells);
        if self.is_read_whole() {
            design.balance_connector = None;
        }
    }

    pub const fn is_lithium(self) -> bool {
        !self.is_read_whole()
    }

    pub const fn is_read_whole(self) -> bool {
        matches!(self, Self::NiMh | Self::Lead)
    }

    /// Of its fullest cell, in steps of 10 mV: from, and how many steps.
    const fn volts_at(self, level: Level) -> (i64, usize) {
        match (self, level) {
            (Self::LiPo, Level::Full) => (4_100, 9),
            (Self::LiPo, Level::Part) => (3_910, 16),
            (Self::LiPo, Level::Stored) => (3_760, 14),
            (Self::LiPo, Level::Low) => (3_320, 41),
            (Self::LiHv, Level::Full) => (4_200, 14),
            (Self::LiHv, Level::Part) => (3_910, 28),
            (Self::LiHv, Level::Stored) => (3_800, 10),
            (Self::LiHv, Level::Low) => (3_380, 39),
            (Self::LiIon, Level::Full) => (4_060, 13),
            (Self::LiIon, Level::Part) => (3_810, 24),
            (Self::LiIon, Level::Stored) => (3_710, 9),
            (Self::LiIon, Level::Low) => (2_900, 70),
            (Self::LiFePo4, Level::Full) => (3_370, 9),
            (Self::LiFePo4, Level::Part) => (3_360, 1),
            (Self::LiFePo4, Level::Stored) => (3_260, 9),
            (Self::LiFePo4, Level::Low) => (2_850, 36),
            (Self::NiMh, Level::Full) => (1_360, 7),
            (Self::NiMh, Level::Part) => (1_290, 6),
            (Self::NiMh, Level::Stored) => (1_220, 9),
            (Self::NiMh, Level::Low) => (1_050, 15),
            (Self::Lead, Level::Full | Level::Stored) => (2_100, 6),
            (Self::Lead, Level::Part) => (2_060, 4),
            (Self::Lead, Level::Low) => (1_950, 11),
        }
    }

    /// As a person would call it who reads so much in its fullest cell.
    pub fn level(self, mv: i64) -> Level {
        let from = |level| self.volts_at(level).0;
        match mv {
            _ if self.is_lithium() && mv >= from(Level::Part) => Level::Full,
            _ if mv >= from(Level::Stored) => Level::Stored,
            _ => Level::Low,
        }
    }

    /// What is read of a pack at this level: its cells differ by as little as those of a good one do.
    pub fn read(self, level: Level, dice: &mut Dice) -> Read {
        let (from, steps) = self.volts_at(level);
        let high = from + 10 * dice.throw(steps) as i64;
        let low = match self.is_read_whole() {
            true => high,
            false => high - 10 * dice.throw(3) as i64,
        };
        Read {
            low,
            high,
            rested: 60,
        }
    }

    pub fn volts(self, read: Read) -> Volts {
        let Read { low, high, .. } = read;
        match self {
            Self::LiPo | Self::LiHv | Self::LiIon => Volts::Cells(vec![high, low, high]),
            Self::LiFePo4 => Volts::Cells(vec![high, high, low, high]),
            Self::NiMh | Self::Lead => Volts::Pack(6 * high),
        }
    }
}

/// Volts of its lowest and of its fullest cell, and the minutes that it had really lain when they were read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Read {
    pub low: i64,
    pub high: i64,
    pub rested: i64,
}
