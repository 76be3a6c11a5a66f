//! What stands on record beside the volts of a reading: resistance, the meter, the temperature, charge since the reading before,
//! and what it was about. It explains the volts and makes no state by itself. Units: tenths of a milliohm, °C, mAh.

use crate::battery::milliohms::Milliohms;
use crate::battery::resistance_read::MeterKind;

/// A pack colder or hotter than that is not measured in any hall or van.
pub const CELSIUS: std::ops::RangeInclusive<i64> = -20..=60;
/// More than any pack that can be registered takes, three times over.
pub const MAH_MAX: i64 = 999_999;
/// More than so many times the label's capacity is asked about.
const TIMES_LABEL: i64 = 3;
pub const METER_LETTERS: usize = 60;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Beside {
    pub resistance: Option<Milliohms>,
    /// What it was read with: a meter or a charger, as the club calls it.
    pub meter: Option<String>,
    /// How that finds a resistance; None: nobody said.
    pub meter_kind: Option<MeterKind>,
    /// Of the pack.
    pub celsius: Option<i64>,
    pub charge: Option<Charge>,
    pub context: Option<Context>,
}

/// What went in or out since the reading before. mAh.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Charge {
    PutIn(i64),
    TakenOut(i64),
}

/// What a reading was about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Context {
    AtHome,
    AfterUse,
    AfterCharge,
    StorageCheck,
    CapacityRun,
}

impl Context {
    pub const ALL: [Self; 5] = [
        Self::AfterUse,
        Self::AfterCharge,
        Self::StorageCheck,
        Self::CapacityRun,
        Self::AtHome,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::AtHome => "at_home",
            Self::AfterUse => "after_use",
            Self::AfterCharge => "after_charge",
            Self::StorageCheck => "storage_check",
            Self::CapacityRun => "capacity_run",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::AtHome => "At home",
            Self::AfterUse => "After use",
            Self::AfterCharge => "After a charge",
            Self::StorageCheck => "Storage check",
            Self::CapacityRun => "Capacity run",
        }
    }
}

impl Charge {
    pub const fn mah(self) -> i64 {
        match self {
            Self::PutIn(mah) | Self::TakenOut(mah) => mah,
        }
    }

    /// `1200 mAh put in`
    pub fn words(self) -> String {
        match self {
            Self::PutIn(mah) => format!("{mah} mAh put in"),
            Self::TakenOut(mah) => format!("{mah} mAh taken out"),
        }
    }
}

/// No charge by itself moves that much through a pack with this on its label: whoever typed it is asked.
pub const fn is_asked_about(mah: i64, label_mah: i64) -> bool {
    mah > label_mah.saturating_mul(TIMES_LABEL)
}

impl Beside {
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// `with C-02`, `with the red meter by alternating current`; None where neither was said.
    pub fn read_with(&self) -> Option<String> {
        let meter = self.meter.as_ref().map(|meter| format!("with {meter}"));
        let kind = self.meter_kind.map(|kind| match kind {
            MeterKind::Load => "by a load",
            MeterKind::Alternating => "by alternating current",
        });
        match (meter, kind) {
            (Some(meter), Some(kind)) => Some(format!("{meter} {kind}")),
            (meter, kind) => meter.or_else(|| kind.map(str::to_owned)),
        }
    }

    /// `5.1 4.9 5.3 mΩ, 21 °C, 1200 mAh put in, after a charge, read with C-02`; empty where nothing is said.
    pub fn words(&self) -> String {
        let resistance = self.resistance.as_ref();
        let parts = [
            resistance.map(|cells| format!("{} mΩ", cells.words())),
            self.celsius.map(|celsius| format!("{celsius} °C")),
            self.charge.map(Charge::words),
            self.context.map(|context| context.label().to_lowercase()),
            self.read_with().map(|how| format!("read {how}")),
        ];
        let said: Vec<String> = parts.into_iter().flatten().collect();
        said.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_beside_the_volts_is_told_in_one_line() {
        let beside = Beside {
            resistance: Milliohms::of_cells(vec![51, 49, 120], 3),
            meter: Some("C-02".to_owned()),
            meter_kind: Some(MeterKind::Alternating),
            celsius: Some(-3),
            charge: Some(Charge::TakenOut(1200)),
            context: Some(Context::CapacityRun),
        };
        let told = "5.1 4.9 12.0 mΩ, -3 °C, 1200 mAh taken out, capacity run, read with C-02 by alternating current";
        assert_eq!(beside.words(), told);
        assert!(!beside.is_empty());
        assert_eq!(Beside::default().words(), "");
        assert!(Beside::default().is_empty());
    }

    #[test]
    fn more_than_three_times_the_label_is_asked_about() {
        assert!(!is_asked_about(6_600, 2_200));
        assert!(is_asked_about(6_601, 2_200));
    }

    #[test]
    fn every_context_is_found_by_its_code() {
        for context in Context::ALL {
            assert_eq!(Context::from_code(context.code()), Some(context));
        }
        assert_eq!(Context::from_code(""), None);
    }
}
