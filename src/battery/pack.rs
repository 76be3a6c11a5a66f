//! What a pack is made of, and the energy and volts that follow. Leaves what it reads today to `volts`.
//! Units: mV, mA, mAh, mWh.

use super::chemistry::Chemistry;
use super::limits::{CellLimits, LabelVolts};

/// `capacity_mah` is the whole pack's, as its label has it: parallel groups are already counted in it.
/// `sees_cells` is true when a balance lead lets each cell be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Build {
    pub chemistry: Chemistry,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    pub sees_cells: bool,
    pub label: LabelVolts,
}

impl Build {
    /// Of the chemistry, or of the pack's own label where that is stricter.
    pub fn limits(&self) -> CellLimits {
        self.chemistry.limits().with_label(self.label)
    }

    pub const fn nominal_mv(&self) -> i64 {
        self.chemistry
            .limits()
            .nominal_mv
            .saturating_mul(self.cells_series)
    }

    pub fn full_mv(&self) -> i64 {
        self.limits().full_mv.saturating_mul(self.cells_series)
    }

    pub fn storage_target_mv(&self) -> i64 {
        self.limits()
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

#[cfg(test)]
mod tests {
    use super::*;

    fn pack(chemistry: Chemistry, cells_series: i64, capacity_mah: i64) -> Build {
        Build {
            chemistry,
            cells_series,
            groups_parallel: 1,
            capacity_mah,
            sees_cells: true,
            label: LabelVolts::default(),
        }
    }

    #[test]
    fn the_energy_of_a_pack_is_the_published_one() {
        use Chemistry::{LiIon, LiPo, NiMh, Pb};
        // 12 V 5 Ah, 6 V 2.5 Ah: an aviation regulator's examples. 11.1 V 4.4 Ah: a battery knowledge base. 14.8 V
        // 3.3 Ah and 22.2 V 5 Ah: an aerial-photo blog. 10.8 V 2.5 Ah: a vendor's blog. 3.7 V 20, 30 Ah: package docs of
        // open code. 11.1 V and 3.7 V 10 Ah: a dangerous-goods calculator. 7.4 V 1.1 Ah: data in PHMSA 14-0218.
        let published = [
            (pack(Pb, 6, 5_000), 60_000),
            (pack(NiMh, 5, 2_500), 15_000),
            (pack(LiPo, 3, 4_400), 48_840),
            (pack(LiPo, 4, 3_300), 48_840),
            (pack(LiPo, 6, 5_000), 111_000),
            (pack(LiIon, 3, 2_500), 27_000),
            (pack(LiPo, 1, 20_000), 74_000),
            (pack(LiPo, 1, 30_000), 111_000),
            (pack(LiPo, 3, 10_000), 111_000),
            (pack(LiPo, 1, 10_000), 37_000),
            (pack(LiPo, 2, 1_100), 8_140),
        ];
        for (build, mwh) in published {
            assert_eq!(build.energy_mwh(), mwh, "{}", build.words());
        }
        // 20 V 1.3 Ah and 6 Ah: a parcel forwarder. 10.95 V 2 Ah, marked 22 Wh: a UN 38.3 test summary.
        assert_eq!(energy_mwh(20_000, 1_300), 26_000);
        assert_eq!(energy_mwh(20_000, 6_000), 120_000);
        assert_eq!(energy_mwh(10_950, 2_000), 21_900);
        // 5.29 Wh on 1430 mAh: Linux kernel, battery.yaml; 3.699 V nominal.
        assert_eq!(energy_words(energy_mwh(3_699, 1_430)), "5.3 Wh");
    }

    #[test]
    fn the_largest_packs_up_to_100_wh_are_the_published_ones() {
        // A drone blog's table of 2017, 1S to 6S at 3.7 V.
        let largest_mah = [27_027, 13_513, 9_009, 6_756, 5_405, 4_504];
        for (cells, mah) in (1..).zip(largest_mah) {
            assert!(
                pack(Chemistry::LiPo, cells, mah).energy_mwh() <= 100_000,
                "{cells}S"
            );
            assert!(
                pack(Chemistry::LiPo, cells, mah + 1).energy_mwh() > 100_000,
                "{cells}S"
            );
        }
    }

    #[test]
    fn charge_currents_are_the_published_ones() {
        // Linux kernel, battery.yaml: 128 and 900 mA on 1430 mAh. BU-808: 1500 mAh at 1C and 0.05C. An RC-car club: 700 mAh.
        assert_eq!(c_ten_thousandths(128, 1_430), Some(895));
        assert_eq!(c_ten_thousandths(900, 1_430), Some(6_293));
        assert_eq!(current_ma(1_500, 1_000), 1_500);
        assert_eq!(current_ma(1_500, 50), 75);
        assert_eq!(current_ma(700, 1_000), 700);
        assert_eq!(c_ten_thousandths(128, 0), None);
    }

    #[test]
    fn a_pack_reads_as_people_say_it_and_parallel_groups_do_not_change_its_volts() {
        let build = Build {
            groups_parallel: 3,
            ..pack(Chemistry::LiPo, 4, 10_500)
        };
        assert_eq!(build.words(), "4S3P 10500 mAh LiPo");
        // 4S3P is still 16.8 V full: a how-to page.
        assert_eq!((build.nominal_mv(), build.full_mv()), (14_800, 16_800));
        assert_eq!(pack(Chemistry::LiPo, 3, 450).energy_words(), "5.0 Wh");
        assert_eq!(pack(Chemistry::LiPo, 2, 350).energy_words(), "2.6 Wh");
    }

    #[test]
    fn a_pack_of_any_numbers_has_an_energy() {
        for extreme in [i64::MIN, -1, 0, 1, i64::MAX] {
            let build = pack(Chemistry::LiPo, extreme, extreme);
            assert!(!build.energy_words().is_empty());
        }
    }
}
