//! The six chemistries a club owns: their codes, their names and how fast they are charged unless a label says less.
//! Leaves the volts to `limits`. C rates are in tenths: 10 is 1C.

use super::limits::{self, CellLimits};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Chemistry {
    LiPo,
    LiHv,
    LiIon,
    LiFePo4,
    NiMh,
    Pb,
}

impl Chemistry {
    pub const ALL: [Self; 6] = [
        Self::LiPo,
        Self::LiHv,
        Self::LiIon,
        Self::LiFePo4,
        Self::NiMh,
        Self::Pb,
    ];

    pub const fn is_lithium(self) -> bool {
        !matches!(self, Self::NiMh | Self::Pb)
    }

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::LiPo => "lipo",
            Self::LiHv => "lihv",
            Self::LiIon => "liion",
            Self::LiFePo4 => "lifepo4",
            Self::NiMh => "nimh",
            Self::Pb => "pb",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::LiPo => "LiPo",
            Self::LiHv => "LiHV",
            Self::LiIon => "Li-ion",
            Self::LiFePo4 => "LiFePO4",
            Self::NiMh => "NiMH",
            Self::Pb => "Pb",
        }
    }

    /// What a cell under `CellLimits::empty_mv` is called: lead is charged again long before it is empty.
    pub const fn low_word(self) -> &'static str {
        match self {
            Self::Pb => "recharge",
            _ => "empty",
        }
    }

    pub const fn limits(self) -> &'static CellLimits {
        match self {
            Self::LiPo => &limits::LIPO,
            Self::LiHv => &limits::LIHV,
            Self::LiIon => &limits::LI_ION,
            Self::LiFePo4 => &limits::LIFEPO4,
            Self::NiMh => &limits::NIMH,
            Self::Pb => &limits::PB,
        }
    }

    /// Tenths of C to charge at when neither label nor data sheet says less.
    /// LiPo, LiHV 1C: a US model-flying club's charging guide ("1C unless the pack label explicitly allows higher") and a
    /// University of Maryland flight lab ("never above 1C"). Li-ion 0.5C, LiFePO4 1C, NiMH 0.5C with full-detection:
    /// common practice, no source. Pb 0.1C: the low end of 10 to 30 % of Ah, a lead-acid question-and-answer page.
    pub const fn default_charge_c_tenths(self) -> i64 {
        match self {
            Self::LiPo | Self::LiHv | Self::LiFePo4 => 10,
            Self::LiIon | Self::NiMh => 5,
            Self::Pb => 1,
        }
    }

    /// Tenths of C to charge at when it must be quick and the label allows it.
    /// LiPo 2C: between a flight lab's "never above 1C" and labels that say 3C and more, as a hobby vendor has it. Li-ion and
    /// NiMH 1C, Pb 0.3C: the high end of 10 to 30 % of Ah, a lead-acid question-and-answer page. All of it common practice.
    pub const fn most_charge_c_tenths(self) -> i64 {
        match self {
            Self::LiPo | Self::LiHv | Self::LiFePo4 => 20,
            Self::LiIon | Self::NiMh => 10,
            Self::Pb => 3,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_chemistry_is_found_again_by_its_code_and_nothing_else_is() {
        for each in Chemistry::ALL {
            assert_eq!(Chemistry::from_code(each.code()), Some(each));
        }
        assert_eq!(Chemistry::from_code("LiPo"), None);
        assert_eq!(Chemistry::from_code(""), None);
    }

    #[test]
    fn in_haste_every_chemistry_may_be_charged_harder_than_usual() {
        for each in Chemistry::ALL {
            assert!(each.most_charge_c_tenths() > each.default_charge_c_tenths());
        }
    }
}
