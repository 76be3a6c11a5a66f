//! What a pack is made of, and the energy and volts that follow. Leaves what it reads today to `volts`.
//! Units: mV, mA, mAh, mWh.

use super::chemistry::Chemistry;

/// `capacity_mah` is the whole pack's, as its label has it: parallel groups are already counted in it.
/// `sees_cells` is true when a balance lead lets each cell be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Build {
    pub chemistry: Chemistry,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    pub sees_cells: bool,
}

impl Build {
    pub const fn nominal_mv(&self) -> i64 {
        self.chemistry
            .limits()
            .nominal_mv
            .saturating_mul(self.cells_series)
    }

    pub const fn full_mv(&self) -> i64 {
        self.chemistry
            .limits()
            .full_mv
            .saturating_mul(self.cells_series)
    }

    pub const fn storage_target_mv(&self) -> i64 {
        self.chemistry
            .limits()
            .storage_target_mv
            .saturating_mul(self.cells_series)
    }

    /// Rated capacity by nominal voltage (49 CFR 171.8), in mWh.
    pub const fn energy_mwh(&self) -> i64 {
        energy_mwh(self.nominal_mv(), self.capacity_mah)
    }

    /// `5.0 Wh`
    pub fn energy_words(&self) -> String {
        energy_words(self.energy_mwh())
    }

    /// `3S 2200 mAh LiPo`, with the parallel groups where there is more than one: `4S3P`.
    pub fn words(&self) -> String {
        let groups = match self.groups_parallel {
            ..=1 => String::new(),
            many => format!("{many}P"),
        };
        let (cells, capacity) = (self.cells_series, self.capacity_mah);
        format!("{cells}S{groups} {capacity} mAh {}", self.chemistry.label())
    }
}

/// mWh from mV and mAh. A fraction of a mWh counts as a whole one: an energy is compared with limits and never read low.
pub const fn energy_mwh(nominal_mv: i64, capacity_mah: i64) -> i64 {
    let micro = nominal_mv.saturating_mul(capacity_mah);
    micro / 1_000 + (micro % 1_000 > 0) as i64
}

/// One decimal, `48.8 Wh`. For reading only; limits are compared in mWh.
pub fn energy_words(energy_mwh: i64) -> String {
    let tenths = energy_mwh.saturating_add(50) / 100;
    format!("{}.{} Wh", tenths / 10, (tenths % 10).abs())
}

/// The current in mA for a rate in thousandths of C: 1000 is 1C.
pub const fn current_ma(capacity_mah: i64, c_thousandths: i64) -> i64 {
    capacity_mah.saturating_mul(c_thousandths) / 1_000
}

/// The rate in ten-thousandths of C (10,000 is 1C, rounded down); None for a pack without capacity.
pub const fn c_ten_thousandths(current_ma: i64, capacity_mah: i64) -> Option<i64> {
    match capacity_mah {
        ..=0 => None,
        _ => Some(current_ma.saturating_mul(10_000) / capacity_mah),
    }
}
