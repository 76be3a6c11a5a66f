//! What happened: the kinds of incident, and what came of one to people and to things. How grave that is, and what it is
//! called, is `severity`.

use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    Swelling,
    Smoke,
    Fire,
    Injury,
    Short,
    OverCharge,
    OverDischarge,
    Crash,
    ChargerOrWiring,
    NearMiss,
    Hazard,
}

impl Kind {
    pub const ALL: [Self; 11] = [
        Self::Swelling,
        Self::Smoke,
        Self::Fire,
        Self::Injury,
        Self::Short,
        Self::OverCharge,
        Self::OverDischarge,
        Self::Crash,
        Self::ChargerOrWiring,
        Self::NearMiss,
        Self::Hazard,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Swelling => "swelling",
            Self::Smoke => "smoke",
            Self::Fire => "fire",
            Self::Injury => "injury",
            Self::Short => "short",
            Self::OverCharge => "over_charge",
            Self::OverDischarge => "over_discharge",
            Self::Crash => "crash",
            Self::ChargerOrWiring => "charger_or_wiring",
            Self::NearMiss => "near_miss",
            Self::Hazard => "hazard",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Swelling => "A pack swelled",
            Self::Smoke => "Smoke or venting",
            Self::Fire => "Fire",
            Self::Injury => "Burn or other injury",
            Self::Short => "Short circuit",
            Self::OverCharge => "Charged too far",
            Self::OverDischarge => "Discharged too far",
            Self::Crash => "Damaged in a crash",
            Self::ChargerOrWiring => "Fault of a charger or of wiring",
            Self::NearMiss => "Near miss: nothing came of it",
            Self::Hazard => "Hazard seen: nothing happened yet",
        }
    }
}

impl Kind {
    /// A pack that was part of it may have burnt out.
    pub const fn burns_packs(self) -> bool {
        matches!(self, Self::Smoke | Self::Fire)
    }

    /// A pack that was part of it may be dangerous whatever can be seen of it: it goes out of use until somebody looked.
    pub const fn endangers_packs(self) -> bool {
        !matches!(self, Self::ChargerOrWiring | Self::NearMiss | Self::Hazard)
    }

    /// The pack that did it is never used again, as one on which just that was seen (`club::seen`).
    pub const fn ends_a_pack(self) -> bool {
        matches!(self, Self::Swelling | Self::Smoke | Self::Fire)
    }

    /// A charger or cable that was part of it may have a fault that nobody sees: it is set aside until somebody looked.
    pub const fn endangers_kit(self) -> bool {
        !matches!(self, Self::NearMiss | Self::Hazard)
    }
}

/// What came to people, or could have. Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Harm {
    Nobody,
    FirstAid,
    Doctor,
    Hospital,
    Death,
}

impl Harm {
    pub const ALL: [Self; 5] = [
        Self::Nobody,
        Self::FirstAid,
        Self::Doctor,
        Self::Hospital,
        Self::Death,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Nobody => "nobody",
            Self::FirstAid => "first_aid",
            Self::Doctor => "doctor",
            Self::Hospital => "hospital",
            Self::Death => "death",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Nobody => "Nobody hurt",
            Self::FirstAid => "First aid",
            Self::Doctor => "Seen by a doctor",
            Self::Hospital => "Taken to hospital",
            Self::Death => "A death",
        }
    }
}

/// What came to things, or could have. Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Damage {
    Nothing,
    /// The pack or charger that it began with, and nothing else.
    ItselfOnly,
    OtherThings,
    Building,
}

impl Damage {
    pub const ALL: [Self; 4] = [
        Self::Nothing,
        Self::ItselfOnly,
        Self::OtherThings,
        Self::Building,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::ItselfOnly => "itself_only",
            Self::OtherThings => "other_things",
            Self::Building => "building",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Nothing => "Nothing damaged",
            Self::ItselfOnly => "Only the pack or charger itself",
            Self::OtherThings => "Other things too",
            Self::Building => "The room or building",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_code_is_found_again_and_is_the_word_that_is_written() {
        let word = |value: serde_json::Value| value.as_str().unwrap_or_default().to_owned();
        for each in Kind::ALL {
            assert_eq!(Kind::from_code(each.code()), Some(each));
            assert_eq!(word(serde_json::json!(each)), each.code());
        }
        for each in Harm::ALL {
            assert_eq!(Harm::from_code(each.code()), Some(each));
            assert_eq!(word(serde_json::json!(each)), each.code());
        }
        for each in Damage::ALL {
            assert_eq!(Damage::from_code(each.code()), Some(each));
            assert_eq!(word(serde_json::json!(each)), each.code());
        }
    }
}
