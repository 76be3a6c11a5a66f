//! How grave an incident was, by consequence and by what could have been, and whether it is called incident, near miss or
//! hazard. Words after ISO 45001:2018 (3.19 hazard, 3.35 incident with its notes; from memory): an incident is what could
//! have hurt or did, one where nobody was hurt may be called a near miss, a hazard is a source that could hurt. Damage to
//! things counts as an incident here too, which is stricter than the standard: common practice, no source.

use super::incident::{Damage, Harm, Kind};
use crate::bench::{FieldProblem, Findings};
use serde::{Deserialize, Serialize};

/// By consequence, and by what could have been.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Severity {
    /// None: the club keeps no injuries in its book, or nobody knows.
    pub harm: Option<Harm>,
    pub damage: Damage,
    pub harm_could: Harm,
    pub damage_could: Damage,
}

/// What it is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    Hazard,
    NearMiss,
    Incident,
}

impl Class {
    pub const fn label(self) -> &'static str {
        match self {
            Self::Hazard => "Hazard",
            Self::NearMiss => "Near miss",
            Self::Incident => "Incident",
        }
    }
}

impl Severity {
    /// Whether anybody was hurt or anything damaged; not knowing counts as hurt.
    fn came_to_something(&self) -> bool {
        self.harm != Some(Harm::Nobody) || self.damage != Damage::Nothing
    }

    pub fn class(&self, kind: Kind) -> Class {
        match kind {
            Kind::Hazard => Class::Hazard,
            _ if self.came_to_something() => Class::Incident,
            _ => Class::NearMiss,
        }
    }

    /// Could have sent somebody to a doctor or spread: something must be done before it is closed. Where this line runs:
    /// common practice, no source.
    pub fn asks_for_action(&self) -> bool {
        self.harm_could >= Harm::Doctor || self.damage_could >= Damage::OtherThings
    }

    /// Fields: `kind`, `harm`, `harm_could`, `damage_could`.
    pub fn problems(&self, kind: Kind, kept: InjuriesKept) -> Vec<FieldProblem> {
        let came_to_nothing = matches!(kind, Kind::NearMiss | Kind::Hazard);
        let is_hurt = self.harm.is_some_and(|harm| harm > Harm::Nobody);
        let keeps_injuries = kept != InjuriesKept::Nothing;
        let mut found = Findings::default();
        found.unless(!(came_to_nothing && (is_hurt || self.damage > Damage::Nothing)), "kind", "Somebody was hurt or something damaged: it is no near miss and no mere hazard. Choose what happened.");
        found.unless(
            kind != Kind::Injury || self.harm != Some(Harm::Nobody),
            "harm",
            "Say how badly somebody was hurt, or choose what else happened.",
        );
        found.unless(
            keeps_injuries || self.harm.is_none() || came_to_nothing && !is_hurt,
            "harm",
            "The club keeps no injuries in its book. Leave this open.",
        );
        found.unless(
            !came_to_nothing || self.harm == Some(Harm::Nobody),
            "harm",
            "With a near miss or a hazard nobody was hurt. Say so, or choose what happened.",
        );
        found.unless(
            self.harm.is_none_or(|harm| self.harm_could >= harm),
            "harm_could",
            "It could have been at least as bad as it was.",
        );
        found.unless(
            self.damage_could >= self.damage,
            "damage_could",
            "The damage could have been at least as great as it was.",
        );
        found.pass(()).err().unwrap_or_default()
    }
}

/// The club's privacy setting: what of injuries stands in the book.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InjuriesKept {
    Nothing,
    /// How grave, and no words.
    HowGrave,
    /// Words too, as a part that can be erased.
    InWords,
}

impl InjuriesKept {
    pub const ALL: [Self; 3] = [Self::Nothing, Self::HowGrave, Self::InWords];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::HowGrave => "how_grave",
            Self::InWords => "in_words",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Nothing => "Nothing",
            Self::HowGrave => "How grave they were, without words",
            Self::InWords => "How grave, and words that can be erased",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const NOTHING: Severity = Severity {
        harm: Some(Harm::Nobody),
        damage: Damage::Nothing,
        harm_could: Harm::Nobody,
        damage_could: Damage::Nothing,
    };

    fn fields(severity: Severity, kind: Kind, kept: InjuriesKept) -> Vec<&'static str> {
        let problems = severity.problems(kind, kept);
        problems.iter().map(|each| each.field).collect()
    }

    #[test]
    fn each_privacy_setting_is_found_again_by_its_code() {
        for each in InjuriesKept::ALL {
            assert_eq!(InjuriesKept::from_code(each.code()), Some(each));
        }
    }

    /// ISO 45001:2018, 3.19 and 3.35 with its notes, from memory.
    #[test]
    fn what_hurt_is_an_incident_what_could_have_is_a_near_miss_and_a_source_is_a_hazard() {
        let burnt = Severity {
            harm: Some(Harm::FirstAid),
            ..NOTHING
        };
        let not_known = Severity {
            harm: None,
            ..NOTHING
        };
        let damaged = Severity {
            damage: Damage::ItselfOnly,
            ..NOTHING
        };
        assert_eq!(burnt.class(Kind::Fire), Class::Incident);
        assert_eq!(not_known.class(Kind::Smoke), Class::Incident);
        assert_eq!(damaged.class(Kind::Swelling), Class::Incident);
        assert_eq!(NOTHING.class(Kind::Short), Class::NearMiss);
        assert_eq!(NOTHING.class(Kind::NearMiss), Class::NearMiss);
        assert_eq!(NOTHING.class(Kind::Hazard), Class::Hazard);
    }

    #[test]
    fn a_near_miss_hurt_nobody_and_an_injury_hurt_somebody() {
        let burnt = Severity {
            harm: Some(Harm::FirstAid),
            harm_could: Harm::Doctor,
            ..NOTHING
        };
        let all = InjuriesKept::InWords;
        assert_eq!(fields(burnt, Kind::NearMiss, all), ["kind", "harm"]);
        assert_eq!(fields(burnt, Kind::Injury, all), [""; 0]);
        assert_eq!(fields(NOTHING, Kind::Injury, all), ["harm"]);
        let none = InjuriesKept::Nothing;
        assert_eq!(fields(burnt, Kind::Injury, none), ["harm"]);
        let left_open = Severity {
            harm: None,
            ..burnt
        };
        assert_eq!(fields(left_open, Kind::Injury, none), [""; 0]);
        assert_eq!(fields(left_open, Kind::Hazard, none), ["harm"]);
        assert_eq!(fields(NOTHING, Kind::NearMiss, none), [""; 0]);
    }

    #[test]
    fn what_could_have_sent_somebody_to_a_doctor_or_spread_asks_for_action() {
        let with = |harm_could, damage_could| Severity {
            harm_could,
            damage_could,
            ..NOTHING
        };
        assert!(!with(Harm::FirstAid, Damage::ItselfOnly).asks_for_action());
        assert!(with(Harm::Doctor, Damage::Nothing).asks_for_action());
        assert!(with(Harm::Nobody, Damage::OtherThings).asks_for_action());
    }

    proptest! {
        #[test]
        fn it_could_never_have_been_milder_than_it_was(
            harm in prop::sample::select(Harm::ALL.to_vec()), harm_could in prop::sample::select(Harm::ALL.to_vec()),
            damage in prop::sample::select(Damage::ALL.to_vec()), damage_could in prop::sample::select(Damage::ALL.to_vec()),
        ) {
            let severity = Severity { harm: Some(harm), damage, harm_could, damage_could };
            let found = fields(severity, Kind::Fire, InjuriesKept::InWords);
            prop_assert_eq!(found.contains(&"harm_could"), harm_could < harm);
            prop_assert_eq!(found.contains(&"damage_could"), damage_could < damage);
        }
    }
}
