//! The first minute: what is read before any form when a pack smokes, is hot, hisses or burns, is swollen, leaks or was hit.
//! Each line has its source. Local rules and the fire service come first, always. No line sends anyone to the pack. The
//! number to call, the hall's address and the club's own plan are the club's, and shown beside these.

use super::source::{
    AVIATION, DIARY, FIRE_ADMINISTRATION, FIRE_ADMINISTRATION_BATTERIES, FIRE_CHIEFS, FLUORIDE,
    GUIDANCE, Line, MAKER, MODEL_ASSOCIATION, PRACTICE, ROBOT_CLUB, SAND, SWEDISH_AGENCY,
    TOURNAMENT, UNIVERSITY, WORKPLACE,
};
use crate::club::seen::Seen;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Situation {
    /// Smoke, heat, hissing or fire.
    Burning,
    Swollen,
    Leaking,
    /// Hit, cut, shorted or wet: it may catch fire later.
    Damaged,
}

impl Situation {
    pub const ALL: [Self; 4] = [Self::Burning, Self::Swollen, Self::Leaking, Self::Damaged];

    /// What must be read for what was seen; None: nothing of it is urgent.
    pub const fn of(seen: Seen) -> Option<Self> {
        match seen {
            Seen::SmokeOrFire | Seen::TooHotToHold => Some(Self::Burning),
            Seen::Swollen => Some(Self::Swollen),
            Seen::Leak | Seen::SolventSmell => Some(Self::Leaking),
            Seen::PuncturedOrTorn
            | Seen::Wet
            | Seen::HitOrBent
            | Seen::Shorted
            | Seen::InACrash => Some(Self::Damaged),
            Seen::WrapTorn
            | Seen::LeadDamaged
            | Seen::ConnectorDamaged
            | Seen::BalancePlugDamaged
            | Seen::SomethingElse
            | Seen::Nothing => None,
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Burning => "Smoke, heat, hissing or fire",
            Self::Swollen => "Swollen",
            Self::Leaking => "Leaking, or a smell like solvent",
            Self::Damaged => "Hit, cut, shorted or wet",
        }
    }

    const fn lines(self) -> &'static [Line] {
        match self {
            Self::Burning => BURNING,
            Self::Swollen => SWOLLEN,
            Self::Leaking => LEAKING,
            Self::Damaged => DAMAGED,
        }
    }
}

/// What to do, in the order it is done.
pub fn advice(situation: Situation) -> impl Iterator<Item = Line> {
    [LOCAL_FIRST]
        .into_iter()
        .chain(situation.lines().iter().copied())
        .chain([REPORT_LATER])
}

/// The same for whoever has reported it already.
pub fn meanwhile(situation: Situation) -> impl Iterator<Item = Line> {
    [LOCAL_FIRST]
        .into_iter()
        .chain(situation.lines().iter().copied())
}

/// For smoke, heat, hissing or fire, as it hangs on the wall: nothing is reported there.
pub fn on_the_wall() -> impl Iterator<Item = Line> {
    [LOCAL_FIRST].into_iter().chain(BURNING.iter().copied())
}

pub const LOCAL_FIRST: Line = Line {
    words: "Local rules and the fire service come first: what they say goes before all of this.",
    sources: &[PRACTICE],
};

const REPORT_LATER: Line = Line {
    words: "Report it here, with a photo, only when everybody is away from it.",
    sources: &[PRACTICE],
};

const GET_AWAY: Line = Line {
    words: "Still swelling, hot, hissing or smoking: get everybody away and call the fire service.",
    sources: &[FIRE_ADMINISTRATION_BATTERIES, WORKPLACE],
};

const DOCTOR: Line = Line {
    words: "Cough or eye pain: see a doctor. Wash skin that smoke or liquid has reached.",
    sources: &[SWEDISH_AGENCY, PRACTICE],
};

const BURNING: &[Line] = &[
    Line {
        words: "Raise the alarm. Get everybody out, and upwind of the smoke.",
        sources: &[FIRE_ADMINISTRATION, FIRE_CHIEFS, PRACTICE],
    },
    Line {
        words: "Call the fire service. Say that it is a lithium battery.",
        sources: &[FIRE_ADMINISTRATION, FIRE_CHIEFS, PRACTICE],
    },
    Line {
        words: "Stay out. Don't try to put it out: what is contained is left to burn out.",
        sources: &[FIRE_ADMINISTRATION, FIRE_CHIEFS, TOURNAMENT],
    },
    Line {
        words: "Don't pick it up and don't touch it, even where it only seems hot.",
        sources: &[ROBOT_CLUB, PRACTICE],
    },
    Line {
        words: "Don't breathe the smoke: it is toxic.",
        sources: &[FLUORIDE, SWEDISH_AGENCY],
    },
    Line {
        words: "Switch the power off only where you can do so on your way out.",
        sources: &[PRACTICE],
    },
    // Older hobby sheets and one university say no water; what they warn of is metallic lithium, which these packs do not hold.
    Line {
        words: "Water to cool or sand to contain: only as the club's own plan says, only while it is small and the exit is behind you. Powder only knocks down flame.",
        sources: &[AVIATION, UNIVERSITY, SAND],
    },
    Line {
        words: "It can catch fire again, hours or days later. Don't go back until the fire service or a quartermaster says so.",
        sources: &[AVIATION, PRACTICE],
    },
    DOCTOR,
];

const SWOLLEN: &[Line] = &[
    GET_AWAY,
    Line {
        words: "Don't charge, press, puncture or cut it, and never put it in salt water.",
        sources: &[MAKER],
    },
    Line {
        words: "Keep people away, and 3 m between it and anything that burns.",
        sources: &[MAKER],
    },
    Line {
        words: "Cold and quiet: tell a quartermaster. Where it goes is theirs to say.",
        sources: &[PRACTICE],
    },
    Line {
        words: "It is never used again, even if it goes down.",
        sources: &[MAKER],
    },
];

const LEAKING: &[Line] = &[
    GET_AWAY,
    Line {
        words: "Keep away. Don't touch and don't breathe what comes out.",
        sources: &[SWEDISH_AGENCY, PRACTICE],
    },
    Line {
        words: "Leave the room, and stay out while it airs.",
        sources: &[SWEDISH_AGENCY, PRACTICE],
    },
    Line {
        words: "Don't charge or use it. Tell a quartermaster.",
        sources: &[FIRE_ADMINISTRATION_BATTERIES],
    },
    DOCTOR,
];

const DAMAGED: &[Line] = &[
    GET_AWAY,
    Line {
        words: "Keep away from it: it can catch fire later, one did after 25 minutes.",
        sources: &[DIARY, GUIDANCE, MODEL_ASSOCIATION],
    },
    Line {
        words: "Don't charge or use it, and don't take it into a car or a building.",
        sources: &[MODEL_ASSOCIATION, GUIDANCE],
    },
    Line {
        words: "Tell a quartermaster. It is watched from a distance.",
        sources: &[GUIDANCE, PRACTICE],
    },
];

/// Which words of a sentence send somebody to the pack: what is done with hands, nose or a blade and not forbidden in the same clause.
#[cfg(test)]
pub(super) fn sends_to_it(words: &str) -> Vec<String> {
    const DONE_TO_IT: [&str; 19] = [
        "pick", "lift", "carr", "grab", "hold", "breath", "smell", "sniff", "open", "punctur",
        "pierc", "press", "squeez", "touch", "cut", "feel", "measure", "unplug", "move",
    ];
    let mut found = Vec::new();
    for clause in words.to_lowercase().split(['.', ':', ';', '!', '?']) {
        let mut is_forbidden = false;
        for word in clause.split(|sign: char| !sign.is_alphabetic() && sign != '\'') {
            is_forbidden |= matches!(word, "don't" | "never" | "not" | "nobody");
            let is_done = DONE_TO_IT.iter().any(|stem| word.starts_with(stem));
            if is_done && !is_forbidden {
                found.push(word.to_owned());
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::book::source::HowSure;

    fn all() -> impl Iterator<Item = (Situation, Line)> {
        Situation::ALL
            .into_iter()
            .flat_map(|situation| advice(situation).map(move |line| (situation, line)))
    }

    #[test]
    fn every_line_has_a_source_and_each_situation_one_that_was_published() {
        for (situation, line) in all() {
            assert!(!line.sources.is_empty(), "{situation:?}: {}", line.words);
            assert!(line.sources.iter().all(|source| !source.named.is_empty()));
        }
        for situation in Situation::ALL {
            let is_published = |line: Line| {
                line.sources
                    .iter()
                    .any(|source| source.how_sure == HowSure::Published)
            };
            assert!(advice(situation).filter(|line| is_published(*line)).count() >= 3);
        }
    }

    #[test]
    fn local_rules_and_the_fire_service_come_first_in_every_situation() {
        for situation in Situation::ALL {
            let first = advice(situation).next().map(|line| line.words);
            let first = first.unwrap_or_default();
            assert!(first.starts_with("Local rules and the fire service come first"));
            let calls = advice(situation)
                .any(|line| line.words.to_lowercase().contains("call the fire service"));
            assert!(calls, "{situation:?}");
        }
    }

    #[test]
    fn no_line_sends_anyone_to_pick_it_up_breathe_it_open_it_or_puncture_it() {
        for (situation, line) in all() {
            let sent = sends_to_it(line.words);
            assert_eq!(sent, [""; 0], "{situation:?}: {}", line.words);
        }
    }

    #[test]
    fn sentences_that_send_somebody_to_it_are_told_from_those_that_forbid_it() {
        for bad in [
            "Pick it up with tongs.",
            "Don't wait: carry it outside.",
            "Open the bag and look.",
            "Puncture it under water.",
            "Smell whether it leaks.",
            "Never mind; press it flat.",
        ] {
            assert_eq!(sends_to_it(bad).len(), 1, "{bad}");
        }
        assert_eq!(
            sends_to_it("Don't pick it up, open or puncture it."),
            [""; 0]
        );
    }

    #[test]
    fn with_fire_people_and_the_call_come_before_everything_that_is_done_to_it() {
        let place =
            |word: &str| advice(Situation::Burning).position(|line| line.words.contains(word));
        let (out, call, water) = (
            place("everybody out"),
            place("Call the fire"),
            place("Water"),
        );
        assert!(
            out < call && call < water && out.is_some(),
            "{out:?} {call:?} {water:?}"
        );
        let water = advice(Situation::Burning).find(|line| line.words.starts_with("Water"));
        assert!(water.is_some_and(|line| line.words.contains("only as the club's own plan says")));
        let last = advice(Situation::Burning).last().map(|line| line.words);
        assert!(last.is_some_and(|words| words.contains("only when everybody is away")));
    }

    #[test]
    fn whatever_is_danger_has_something_to_be_read_at_once() {
        for seen in Seen::ALL {
            assert_eq!(Situation::of(seen).is_some(), seen.is_danger(), "{seen:?}");
        }
    }
}
