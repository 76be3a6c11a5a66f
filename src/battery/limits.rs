//! One table of what a cell may read, per chemistry, in mV per cell. `over_full_mv` and `minimum_mv` are hard stops that
//! no setting loosens. The values are the starting point; a pack's own label wins where it is stricter.
//! Leaves what follows from a reading to the club's verdict.

/// All values in mV per cell. A value is past a limit when it is under a lower one or over an upper one, not when equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CellLimits {
    pub nominal_mv: i64,
    /// What a charger charges to.
    pub full_mv: i64,
    /// Above: caution.
    pub over_full_warn_mv: i64,
    /// Above: quarantine (hard stop).
    pub over_full_mv: i64,
    /// Below, resting: charge soon.
    pub empty_mv: i64,
    /// Below, resting: quarantine, do not charge (hard stop).
    pub minimum_mv: i64,
    pub storage_low_mv: i64,
    pub storage_high_mv: i64,
    pub storage_target_mv: i64,
    /// Below this nobody believes the number unasked.
    pub plausible_low_mv: i64,
    /// Above this nobody believes the number unasked.
    pub plausible_high_mv: i64,
}

/// What a pack's own label says, mV per cell; None where it is silent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LabelVolts {
    pub full_mv: Option<i64>,
    pub lowest_mv: Option<i64>,
}

impl CellLimits {
    /// The label wins where it is stricter: a lower full, a higher lowest. A looser label changes nothing. What stands
    /// above full moves down with it; the storage band and empty stay between the two.
    pub fn with_label(self, label: LabelVolts) -> Self {
        let full_mv = label
            .full_mv
            .map_or(self.full_mv, |mv| mv.min(self.full_mv));
        let minimum_mv = label
            .lowest_mv
            .map_or(self.minimum_mv, |mv| mv.max(self.minimum_mv));
        let lowered_mv = self.full_mv.saturating_sub(full_mv);
        Self {
            full_mv,
            minimum_mv,
            over_full_warn_mv: self.over_full_warn_mv.saturating_sub(lowered_mv),
            over_full_mv: self.over_full_mv.saturating_sub(lowered_mv),
            empty_mv: self.empty_mv.max(minimum_mv),
            storage_low_mv: self.storage_low_mv.max(minimum_mv),
            storage_high_mv: self.storage_high_mv.min(full_mv),
            storage_target_mv: self.storage_target_mv.min(full_mv).max(minimum_mv),
            ..self
        }
    }
}

/// Nothing is charged outside this, in degrees Celsius, whatever its chemistry and the club's settings: a hard stop.
/// BU-410 ("Charging at High and Low Temperatures"): lithium and NiMH charge from 0 to 45 C, lithium never below
/// freezing. Lead takes more; one rule for all is common practice, no source.
pub const CHARGE_CELSIUS: std::ops::RangeInclusive<i64> = 0..=45;

/// What goes into a pack of lithium is never more than this much of its label (a maker's put-back limit).
pub const PUT_BACK_PERCENT: i64 = 105;

/// Two meters that clubs have may read so far apart at one cell: common practice, no source.
pub const METERS_APART_MV: i64 = 20;

/// BU-409 ("Charging Lithium-ion") gives 4.20 V +-50 mV, hence the hard stop at +0.05 V.
pub const OVER_FULL_BY_MV: i64 = 50;
/// Common practice, no source: inside the tolerance, but a charger to look at.
const OVER_FULL_WARN_BY_MV: i64 = 30;

/// LiPo, pouch cells of the 4.20 V class.
/// Full: BU-409. Minimum 3.00: Essex County Fire and Rescue Service ("never charge or recover ... cells that are below
/// 3.0 V"), University of Washington EH&S (not below 3.0 V). Empty 3.50 and the storage band 3.75 to 3.90: common
/// practice, no source. Storage target 3.82: BU-702 (40 % = 3.82 V). Plausible 1.00 to 5.00: common practice, no source;
/// wide enough that a dead or overcharged cell counts, narrow enough that 0.39 and 39.1 are asked about.
pub const LIPO: CellLimits = CellLimits {
    nominal_mv: 3_700,
    full_mv: 4_200,
    over_full_warn_mv: 4_200 + OVER_FULL_WARN_BY_MV,
    over_full_mv: 4_200 + OVER_FULL_BY_MV,
    empty_mv: 3_500,
    minimum_mv: 3_000,
    storage_low_mv: 3_750,
    storage_high_mv: 3_900,
    storage_target_mv: 3_820,
    plausible_low_mv: 1_000,
    plausible_high_mv: 5_000,
};

/// LiHV, pouch cells of the 4.35 V class.
/// Full 4.35: Linux kernel, drivers/power/supply, phone-cell data (design maximum 4.34 to 4.35 V). Nominal 3.80: a tool
/// maker's battery-terms page. Storage 3.80 to 3.90: common practice, no source; target 3.83 is 50 % in the same kernel
/// data (3.829 V). Minimum as LiPo; empty and plausible: common practice, no source.
pub const LIHV: CellLimits = CellLimits {
    nominal_mv: 3_800,
    full_mv: 4_350,
    over_full_warn_mv: 4_350 + OVER_FULL_WARN_BY_MV,
    over_full_mv: 4_350 + OVER_FULL_BY_MV,
    empty_mv: 3_500,
    minimum_mv: 3_000,
    storage_low_mv: 3_800,
    storage_high_mv: 3_900,
    storage_target_mv: 3_830,
    plausible_low_mv: 1_000,
    plausible_high_mv: 5_000,
};

/// Li-ion, cylindrical cells.
/// Full 4.20: BU-409. Minimum 2.50: where protection circuits open, as a battery-storage page reproducing BU-702 has it.
/// Nominal 3.60, storage 3.70 to 3.80 (target its middle), empty 3.20, plausible: common practice, no source; a cell's
/// data sheet says better.
pub const LI_ION: CellLimits = CellLimits {
    nominal_mv: 3_600,
    full_mv: 4_200,
    over_full_warn_mv: 4_200 + OVER_FULL_WARN_BY_MV,
    over_full_mv: 4_200 + OVER_FULL_BY_MV,
    empty_mv: 3_200,
    minimum_mv: 2_500,
    storage_low_mv: 3_700,
    storage_high_mv: 3_800,
    storage_target_mv: 3_750,
    plausible_low_mv: 1_000,
    plausible_high_mv: 5_000,
};

/// LiFePO4. Nominal 3.20, full 3.65, minimum 2.50, storage target 3.30: several vendor charts agree (packs 14.6, 29.2,
/// 58.4 V). Storage band 3.25 to 3.35, empty 3.00 (10 % in the model curve of a 2.3 Ah cell, functions from
/// arXiv:1709.03970 and J. Electrochem. Soc. 167 080534). Plausible: common practice, no source.
pub const LIFEPO4: CellLimits = CellLimits {
    nominal_mv: 3_200,
    full_mv: 3_650,
    over_full_warn_mv: 3_650 + OVER_FULL_WARN_BY_MV,
    over_full_mv: 3_650 + OVER_FULL_BY_MV,
    empty_mv: 3_000,
    minimum_mv: 2_500,
    storage_low_mv: 3_250,
    storage_high_mv: 3_350,
    storage_target_mv: 3_300,
    plausible_low_mv: 1_000,
    plausible_high_mv: 5_000,
};

/// NiMH has no voltage limit. Full 1.60 is the top of the peak of 1.45 to 1.60 V seen while charging, so that a pack
/// just off the charger is not called overcharged; minimum 0.90 is the pack average below which a cell may have
/// reversed; empty and lower storage 1.20 (best kept partly charged, 1.2 V or more): all from memory of NiMH cell
/// handbooks and BU-408. Storage target, upper storage and plausible: common practice, no source.
pub const NIMH: CellLimits = CellLimits {
    nominal_mv: 1_200,
    full_mv: 1_600,
    over_full_warn_mv: 1_600 + OVER_FULL_WARN_BY_MV,
    over_full_mv: 1_600 + OVER_FULL_BY_MV,
    empty_mv: 1_200,
    minimum_mv: 900,
    storage_low_mv: 1_200,
    storage_high_mv: 1_400,
    storage_target_mv: 1_300,
    plausible_low_mv: 200,
    plausible_high_mv: 2_000,
};

/// Pb, sealed lead-acid. Full 2.40: a lead-acid question-and-answer page (14.40 V for 12 V). Empty 2.07: a storage guide
/// reproducing BU-702 (recharge at 12.42 V). Storage 2.10 or more: a page reproducing BU-403. Nominal 2.00: the
/// aviation regulator's example of 12 V and 6 V packs. Minimum 1.75 (the usual end of discharge), storage target 2.13
/// (rested full): from memory. Plausible: common practice, no source.
pub const PB: CellLimits = CellLimits {
    nominal_mv: 2_000,
    full_mv: 2_400,
    over_full_warn_mv: 2_400 + OVER_FULL_WARN_BY_MV,
    over_full_mv: 2_400 + OVER_FULL_BY_MV,
    empty_mv: 2_070,
    minimum_mv: 1_750,
    storage_low_mv: 2_100,
    storage_high_mv: 2_400,
    storage_target_mv: 2_130,
    plausible_low_mv: 500,
    plausible_high_mv: 3_000,
};

#[cfg(test)]
mod tests {
    use super::super::chemistry::Chemistry;
    use super::LabelVolts;

    #[test]
    fn a_stricter_label_wins_and_a_looser_one_changes_nothing() {
        for chemistry in Chemistry::ALL {
            let table = *chemistry.limits();
            let label = |full: i64, lowest: i64| LabelVolts {
                full_mv: Some(table.full_mv + full),
                lowest_mv: Some(table.minimum_mv + lowest),
            };
            assert_eq!(table.with_label(label(50, -50)), table, "{chemistry:?}");
            assert_eq!(table.with_label(LabelVolts::default()), table);
            let stricter = table.with_label(label(-40, 60));
            assert_eq!(stricter.full_mv, table.full_mv - 40);
            assert_eq!(stricter.over_full_mv - stricter.full_mv, 50);
            assert_eq!(stricter.over_full_warn_mv - stricter.full_mv, 30);
            assert_eq!(stricter.minimum_mv, table.minimum_mv + 60);
            assert!(stricter.empty_mv >= stricter.minimum_mv);
        }
    }

    #[test]
    fn the_limits_of_every_chemistry_stand_in_their_order() {
        for chemistry in Chemistry::ALL {
            let l = chemistry.limits();
            let rising = [
                l.plausible_low_mv,
                l.minimum_mv,
                l.empty_mv,
                l.full_mv,
                l.over_full_warn_mv,
                l.over_full_mv,
                l.plausible_high_mv,
            ];
            assert!(rising.is_sorted_by(|a, b| a < b), "{chemistry:?}");
            assert!(l.empty_mv <= l.storage_low_mv && l.storage_high_mv <= l.full_mv);
            assert!((l.storage_low_mv..=l.storage_high_mv).contains(&l.storage_target_mv));
            assert_eq!(l.over_full_mv - l.full_mv, 50);
            assert_eq!(l.over_full_warn_mv - l.full_mv, 30);
        }
    }

    #[test]
    fn the_published_limits_are_the_ones_in_the_table() {
        // BU-409; Essex County Fire and Rescue Service; kernel phone-cell data; vendor charts; BU-702.
        assert_eq!(Chemistry::LiPo.limits().full_mv, 4_200);
        assert_eq!(Chemistry::LiPo.limits().minimum_mv, 3_000);
        assert_eq!(Chemistry::LiPo.limits().storage_target_mv, 3_820);
        assert_eq!(Chemistry::LiHv.limits().full_mv, 4_350);
        assert_eq!(Chemistry::LiFePo4.limits().full_mv * 4, 14_600);
        assert_eq!(Chemistry::Pb.limits().full_mv * 6, 14_400);
        assert_eq!(Chemistry::Pb.limits().empty_mv * 6, 12_420);
    }
}
