//! One list of what a person may see on a pack, used everywhere a pack is looked at: how grave it is and what to do.
//! Knows no volts (`verdict`) and no records. Nothing here sends anyone to carry a hot, smoking, hissing or still
//! swelling pack: get away, call.

use super::verdict::{Finding, Gravity, Rule};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Seen {
    Swollen,
    SmokeOrFire,
    Leak,
    SolventSmell,
    PuncturedOrTorn,
    TooHotToHold,
    Wet,
    HitOrBent,
    Shorted,
    WrapTorn,
    LeadDamaged,
    ConnectorDamaged,
    BalancePlugDamaged,
    /// Asks on: was the pack itself hit, cut or bent? See [`Crash`].
    InACrash,
    /// In the person's own words; set aside until looked at.
    SomethingElse,
    Nothing,
}

/// The answer to "was the pack itself hit, cut or bent?" after a crash.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Crash {
    HitOrBent,
    CutOrTorn,
    PackUntouched,
    /// Also when nobody answered.
    DontKnow,
}

impl Crash {
    pub const ALL: [Self; 4] = [
        Self::HitOrBent,
        Self::CutOrTorn,
        Self::PackUntouched,
        Self::DontKnow,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::HitOrBent => "hit_or_bent",
            Self::CutOrTorn => "cut_or_torn",
            Self::PackUntouched => "untouched",
            Self::DontKnow => "dont_know",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::HitOrBent => "Yes, the pack was hit or bent",
            Self::CutOrTorn => "Yes, the pack was cut or torn",
            Self::PackUntouched => "No, the pack itself was not touched",
            Self::DontKnow => "I don't know",
        }
    }

    /// What the crash comes to; not knowing counts as hit.
    pub const fn comes_to(self) -> Seen {
        match self {
            Self::HitOrBent | Self::DontKnow => Seen::HitOrBent,
            Self::CutOrTorn => Seen::PuncturedOrTorn,
            Self::PackUntouched => Seen::Nothing,
        }
    }
}

impl Seen {
    pub const ALL: [Self; 16] = [
        Self::Swollen,
        Self::SmokeOrFire,
        Self::Leak,
        Self::SolventSmell,
        Self::PuncturedOrTorn,
        Self::TooHotToHold,
        Self::Wet,
        Self::HitOrBent,
        Self::Shorted,
        Self::WrapTorn,
        Self::LeadDamaged,
        Self::ConnectorDamaged,
        Self::BalancePlugDamaged,
        Self::InACrash,
        Self::SomethingElse,
        Self::Nothing,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Swollen => "swollen",
            Self::SmokeOrFire => "smoke_or_fire",
            Self::Leak => "leak",
            Self::SolventSmell => "solvent_smell",
            Self::PuncturedOrTorn => "punctured_or_torn",
            Self::TooHotToHold => "too_hot_to_hold",
            Self::Wet => "wet",
            Self::HitOrBent => "hit_or_bent",
            Self::Shorted => "shorted",
            Self::WrapTorn => "wrap_torn",
            Self::LeadDamaged => "lead_damaged",
            Self::ConnectorDamaged => "connector_damaged",
            Self::BalancePlugDamaged => "balance_plug_damaged",
            Self::InACrash => "in_a_crash",
            Self::SomethingElse => "something_else",
            Self::Nothing => "nothing",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    /// What a person reads and ticks.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Swollen => "Swollen or puffed",
            Self::SmokeOrFire => "Smoke, hissing, sparks or fire",
            Self::Leak => "Leaking",
            Self::SolventSmell => "Smells sweet, like solvent",
            Self::PuncturedOrTorn => "Punctured, or the foil torn",
            Self::TooHotToHold => "Too hot to hold",
            Self::Wet => "Wet",
            Self::HitOrBent => "The pack was hit or bent",
            Self::Shorted => "Shorted",
            Self::WrapTorn => "Outer wrap torn, foil whole",
            Self::LeadDamaged => "Lead damaged",
            Self::ConnectorDamaged => "Connector damaged",
            Self::BalancePlugDamaged => "Balance plug damaged",
            Self::InACrash => "Was in a crash",
            Self::SomethingElse => "Something else",
            Self::Nothing => "Nothing to see",
        }
    }

    /// Swollen stays out for good: a battery maker's safety guide quoting a US fire department ("no reuse even if it goes
    /// down"). Punctured and hit: hobby lists and a University of Virginia EHS page; a pack was recorded to ignite 25
    /// minutes after a crash. Too hot to hold (60 C and more) is suspect: a US university combat-robotics club's wiki.
    /// Leak, smell, noise, heat: NFPA and the US Fire Administration ("stop using"). Where the line between final and
    /// released-by-a-second-person runs, and what is only to mend: common practice, no source.
    pub const fn gravity(self) -> Gravity {
        match self {
            Self::Swollen
            | Self::SmokeOrFire
            | Self::Leak
            | Self::SolventSmell
            | Self::PuncturedOrTorn => Gravity::FinalDanger,
            Self::TooHotToHold | Self::Wet | Self::HitOrBent | Self::Shorted | Self::InACrash => {
                Gravity::Danger
            }
            Self::WrapTorn
            | Self::LeadDamaged
            | Self::ConnectorDamaged
            | Self::BalancePlugDamaged
            | Self::SomethingElse => Gravity::ToMend,
            Self::Nothing => Gravity::Note,
        }
    }

    /// Danger was seen: no volts are asked for.
    pub fn is_danger(self) -> bool {
        self.gravity() >= Gravity::Danger
    }

    /// Fire: alarm, out, call (US Fire Administration: "Don't try to put it out. Evacuate and call").
    /// Swollen, hit, shorted: do not charge, keep from what burns (a US model association's 2004 safety alert).
    pub const fn what_to_do(self) -> &'static str {
        match self {
            Self::SmokeOrFire => {
                "Get away now, get everyone out and call the fire service. Don't touch the pack."
            }
            Self::Swollen => {
                "Don't charge, press or puncture it. Still swelling, hot, hissing or smoking: get away and call the fire service. Cold and quiet: tell a quartermaster; where it goes is theirs to say."
            }
            Self::TooHotToHold => {
                "Don't touch or carry it. Get away, keep others away and call the fire service; then tell a quartermaster."
            }
            Self::Leak | Self::SolventSmell => {
                "Don't touch or breathe what comes out. Leave the room, stay out and call a quartermaster. Hot, hissing or smoking: get away and call the fire service."
            }
            Self::PuncturedOrTorn | Self::HitOrBent | Self::InACrash => {
                "Don't charge or use it: it can still catch fire later. Keep away from it and call a quartermaster. Hot, hissing, smoking or swelling: get away and call the fire service."
            }
            Self::Wet | Self::Shorted => {
                "Don't charge or use it. Keep away from it and call a quartermaster. Hot, hissing, smoking or swelling: get away and call the fire service."
            }
            Self::WrapTorn => {
                "Don't use it until a quartermaster has seen that the foil is whole and wrapped it again."
            }
            Self::LeadDamaged | Self::ConnectorDamaged | Self::BalancePlugDamaged => {
                "Don't connect it until a quartermaster has mended it."
            }
            Self::SomethingElse => "Don't use it until a quartermaster has looked at it.",
            Self::Nothing => "Nothing to do.",
        }
    }
}

/// So begins what is done about a pack that nothing is plugged into, a meter neither.
pub const DONT_CONNECT: &str = "Don't connect it";

/// The list as it is read, gravest first; the crash question stands by itself.
pub const GROUPS: [(Gravity, &str); 3] = [
    (Gravity::FinalDanger, "Danger, never used again"),
    (Gravity::Danger, "Danger"),
    (Gravity::ToMend, "To mend"),
];

/// What stands in the group of this gravity.
pub fn of_gravity(gravity: Gravity) -> impl Iterator<Item = Seen> {
    Seen::ALL
        .into_iter()
        .filter(move |each| each.gravity() == gravity && *each != Seen::InACrash)
}

/// The findings of what was ticked, gravest first. `crash` answers for [`Seen::InACrash`]; None counts as not knowing.
/// `own_words` belong to [`Seen::SomethingElse`].
pub fn findings(seen: &[Seen], crash: Option<Crash>, own_words: &str) -> Vec<Finding> {
    let come_to = |each: &Seen| match each {
        Seen::InACrash => crash.unwrap_or(Crash::DontKnow).comes_to(),
        other => *other,
    };
    let mut real: Vec<Seen> = seen.iter().map(come_to).collect();
    real.retain(|each| *each != Seen::Nothing);
    real.sort_unstable();
    real.dedup();
    let mut findings: Vec<Finding> = real.iter().map(|each| finding(*each, own_words)).collect();
    let is_guess = seen.contains(&Seen::InACrash)
        && crash.is_none_or(|crash| crash == Crash::DontKnow)
        && !seen.contains(&Seen::HitOrBent);
    let hit = findings
        .iter_mut()
        .find(|each| each.rule == Rule::Seen(Seen::HitOrBent));
    if let (true, Some(hit)) = (is_guess, hit) {
        hit.words =
            "Was in a crash; nobody says whether the pack itself was hit, so it counts as hit."
                .to_owned();
    }
    findings.sort_by_key(|each| std::cmp::Reverse(each.gravity));
    findings
}

fn finding(seen: Seen, own_words: &str) -> Finding {
    let own_words = own_words.trim();
    let words = match seen {
        Seen::SomethingElse if !own_words.is_empty() => format!("Seen: {own_words}"),
        _ => format!("Seen: {}.", seen.label()),
    };
    Finding {
        rule: Rule::Seen(seen),
        gravity: seen.gravity(),
        cell: None,
        words,
        next: seen.what_to_do().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::verdict::gravest;

    #[test]
    fn every_thing_seen_is_found_again_by_its_code() {
        for each in Seen::ALL {
            assert_eq!(Seen::from_code(each.code()), Some(each));
            assert_eq!(Rule::from_code(each.code()), Some(Rule::Seen(each)));
        }
        for each in Crash::ALL {
            assert_eq!(Crash::from_code(each.code()), Some(each));
        }
        assert_eq!(Seen::from_code("puffed"), None);
    }

    #[test]
    fn swollen_smoke_leak_smell_and_torn_foil_are_final_and_hot_wet_hit_and_shorted_are_danger() {
        use Seen::*;
        for each in [Swollen, SmokeOrFire, Leak, SolventSmell, PuncturedOrTorn] {
            assert_eq!(each.gravity(), Gravity::FinalDanger, "{each:?}");
        }
        for each in [TooHotToHold, Wet, HitOrBent, Shorted] {
            assert_eq!(each.gravity(), Gravity::Danger, "{each:?}");
        }
        for each in [
            WrapTorn,
            LeadDamaged,
            ConnectorDamaged,
            BalancePlugDamaged,
            SomethingElse,
        ] {
            assert_eq!(each.gravity(), Gravity::ToMend, "{each:?}");
            assert!(!each.is_danger());
        }
    }

    #[test]
    fn a_crash_counts_as_a_hit_unless_somebody_knows_better() {
        let after = |crash| findings(&[Seen::InACrash], crash, "");
        let rule_after = |crash| after(crash).first().map(|each| each.rule);
        assert_eq!(rule_after(None), Some(Rule::Seen(Seen::HitOrBent)));
        assert_eq!(
            rule_after(Some(Crash::DontKnow)),
            Some(Rule::Seen(Seen::HitOrBent))
        );
        assert_eq!(
            rule_after(Some(Crash::CutOrTorn)),
            Some(Rule::Seen(Seen::PuncturedOrTorn))
        );
        assert_eq!(after(Some(Crash::PackUntouched)), vec![]);
        assert!(after(None)[0].words.contains("nobody says"));
        assert_eq!(
            after(Some(Crash::HitOrBent))[0].words,
            "Seen: The pack was hit or bent."
        );
    }

    #[test]
    fn what_was_seen_is_told_gravest_first_and_once() {
        let ticked = [
            Seen::WrapTorn,
            Seen::HitOrBent,
            Seen::InACrash,
            Seen::Leak,
            Seen::Nothing,
        ];
        let told: Vec<Rule> = findings(&ticked, None, "")
            .iter()
            .map(|each| each.rule)
            .collect();
        let expected = [Seen::Leak, Seen::HitOrBent, Seen::WrapTorn].map(Rule::Seen);
        assert_eq!(told, expected);
        assert_eq!(findings(&[Seen::Nothing], None, ""), vec![]);
        assert_eq!(findings(&[], Some(Crash::HitOrBent), ""), vec![]);
    }

    #[test]
    fn something_else_is_set_aside_in_the_persons_own_words() {
        let found = findings(&[Seen::SomethingElse], None, " rattles ");
        assert_eq!(found[0].words, "Seen: rattles");
        assert_eq!(gravest(&found), Some(Gravity::ToMend));
        let unsaid = findings(&[Seen::SomethingElse], None, "  ");
        assert_eq!(unsaid[0].words, "Seen: Something else.");
    }

    #[test]
    fn each_thing_to_see_stands_in_one_group_or_is_the_crash_or_nothing() {
        let mut listed: Vec<Seen> = GROUPS
            .iter()
            .flat_map(|(each, _)| of_gravity(*each))
            .collect();
        listed.extend([Seen::InACrash, Seen::Nothing]);
        listed.sort_unstable();
        assert_eq!(listed, Seen::ALL);
    }

    #[test]
    fn nobody_is_sent_to_carry_a_dangerous_pack_and_nothing_is_called_safe() {
        for each in Seen::ALL {
            let said = each.what_to_do().to_lowercase();
            for word in ["safe", "outdoors", "outside", "carry it to", "take it"] {
                assert!(!said.contains(word), "{each:?} says {word}");
            }
            if each.is_danger() {
                assert!(
                    said.contains("get away") && said.contains("call"),
                    "{each:?}"
                );
            }
        }
    }
}
