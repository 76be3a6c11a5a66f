//! What stands boxed on each page that shows a pack that may be dangerous, and at its label for whoever found it: lines with their
//! sources, chosen by where it is, by how far its watch is, and by what is known of it. One saying everywhere: while it is watched
//! nobody carries it; then, cold and quiet, outside.

use super::source::{
    BROKER, DIARY, FIRE_ADMINISTRATION, FIRE_ADMINISTRATION_BATTERIES, FLUORIDE, GUIDANCE, Line,
    MAKER, MODEL_ASSOCIATION, PRACTICE, SWEDISH_AGENCY, WORKPLACE,
};

/// Where a pack is against which danger stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    Here,
    /// With somebody, on a loan or at home.
    Out,
    /// Nobody knows where.
    Lost,
    /// It was just carried here, whatever its watch says.
    JustBrought,
}

/// How far its watch is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Watch {
    /// Somebody stays with it.
    Watched,
    /// It is left to lie.
    LeftToLie,
    /// Over, or it never was watched.
    Over,
}

/// What is known of a pack that a stranger found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    Nothing,
    /// Danger stands against it, or was told and nobody looked.
    Danger,
    /// It was disposed of.
    Gone,
}

pub const HOT: Line = Line {
    words: "Hot, hissing, smoking or still swelling: get away, keep others away and call the fire service.",
    sources: &[FIRE_ADMINISTRATION_BATTERIES, WORKPLACE],
};
const NEITHER: Line = Line {
    words: "Cold and quiet: neither charge nor use it.",
    sources: &[FIRE_ADMINISTRATION_BATTERIES, MODEL_ASSOCIATION],
};
pub const LEAVE: Line = Line {
    words: "Nobody carries it while it is watched: it stays where it lies.",
    sources: &[DIARY, MODEL_ASSOCIATION, PRACTICE],
};
const CARRY: Line = Line {
    words: "Cold and quiet for an hour, it may be carried: in tongs, to a metal container outdoors, away from buildings and vehicles.",
    sources: &[GUIDANCE, PRACTICE],
};
/// When what is dangerous may be carried, as each page says it.
pub const WHEN_CARRIED: &str = "cold and quiet for an hour";
/// And where nobody carries it yet.
pub const NOT_YET: &str =
    "Until its watch is over nobody carries it to a meter, to the bin or to a charger.";
const BELONGS: Line = Line {
    words: "It belongs alone at a quarantine place, away from what burns.",
    sources: &[MAKER, WORKPLACE],
};
const ASK: Line = Line {
    words: "Tell a quartermaster before you carry it. Where it goes is theirs to say.",
    sources: &[PRACTICE],
};
const FOUND: Line = Line {
    words: "Found? Leave it where it lies, keep others away and tell a quartermaster.",
    sources: &[GUIDANCE, PRACTICE],
};
pub const BROUGHT: Line = Line {
    words: "It is here: set it down outside, 3 m from walls and from anything that burns. Then nobody carries it on while it is watched.",
    sources: &[BROKER, MAKER, GUIDANCE],
};
const TELL: Line = Line {
    words: "Tell a quartermaster now.",
    sources: &[PRACTICE],
};

/// For people of the club, in the order in which it is done.
pub fn of_pack(lies: Lies, watch: Watch) -> Vec<Line> {
    let rest: &[Line] = match (lies, watch) {
        (Lies::JustBrought, Watch::Over) => &[BELONGS, TELL],
        (Lies::JustBrought, _) => &[BROUGHT, TELL],
        (Lies::Lost, _) => &[FOUND],
        (_, Watch::Watched) => &[LEAVE],
        (Lies::Here, Watch::LeftToLie) => &[CARRY, BELONGS],
        (Lies::Out, Watch::LeftToLie) => &[CARRY],
        (Lies::Here, Watch::Over) => &[BELONGS],
        (Lies::Out, Watch::Over) => &[ASK],
    };
    [&[HOT, NEITHER], rest].concat()
}

const SMOKES: Line = Line {
    words: "If it smokes, hisses, swells or is hot: don't touch it, get away, keep others away and call the fire service.",
    sources: &[FIRE_ADMINISTRATION, FIRE_ADMINISTRATION_BATTERIES],
};
const POISON: Line = Line {
    words: "Its smoke is poisonous.",
    sources: &[FLUORIDE, SWEDISH_AGENCY],
};
const HURT: Line = Line {
    words: "Wet, leaking, hit, cut or with a smell: don't touch it, keep others away, and report it here.",
    sources: &[
        FIRE_ADMINISTRATION_BATTERIES,
        SWEDISH_AGENCY,
        DIARY,
        GUIDANCE,
    ],
};
const WHOLE: Line = Line {
    words: "Cold, dry and whole: don't charge it, bend it or open it. Keep it dry, away from what burns, its plugs touching nothing of metal, and give it back to somebody of the club.",
    sources: &[MAKER, WORKPLACE, PRACTICE],
};
const WRONG: Line = Line {
    words: "Something is known to be wrong with this pack: don't touch it, cold and quiet too. Keep others away and tell the club.",
    sources: &[DIARY, GUIDANCE, PRACTICE],
};
const GONE: Line = Line {
    words: "It should be gone: keep away from it and write to the club.",
    sources: &[PRACTICE],
};

/// For a stranger with a label before them: with smoke or heat, and without.
pub fn of_finder(known: Known) -> (Vec<Line>, Vec<Line>) {
    let cold: &[Line] = match known {
        Known::Nothing => &[HURT, WHOLE],
        Known::Danger => &[WRONG],
        Known::Gone => &[GONE],
    };
    (vec![SMOKES, POISON], cold.to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHERE: [Lies; 4] = [Lies::Here, Lies::Out, Lies::Lost, Lies::JustBrought];
    const WATCHES: [Watch; 3] = [Watch::Watched, Watch::LeftToLie, Watch::Over];

    fn words(lines: &[Line]) -> String {
        let words: Vec<&str> = lines.iter().map(|line| line.words).collect();
        words.join(" ")
    }

    #[test]
    fn while_it_is_watched_nobody_is_told_to_carry_it_or_to_bring_it() {
        for lies in [Lies::Here, Lies::Out] {
            let told = words(&of_pack(lies, Watch::Watched));
            assert!(
                told.contains("Nobody carries it while it is watched"),
                "{told}"
            );
            assert!(
                !told.contains("may be carried") && !told.contains("bring"),
                "{told}"
            );
            let then = words(&of_pack(lies, Watch::LeftToLie));
            assert!(then.to_lowercase().contains(WHEN_CARRIED), "{then}");
            assert!(then.contains("may be carried: in tongs"), "{then}");
        }
    }

    #[test]
    fn getting_away_stands_first_everywhere_and_every_line_has_a_source() {
        for lies in WHERE {
            for watch in WATCHES {
                let lines = of_pack(lies, watch);
                assert!(lines[0].words.contains("get away") && lines[0].words.contains("call"));
                assert!(lines.iter().all(|line| !line.sources.is_empty()));
            }
        }
        for known in [Known::Nothing, Known::Danger, Known::Gone] {
            let (hot, cold) = of_finder(known);
            assert!(hot[0].words.contains("get away") && hot[0].words.contains("call"));
            assert!(hot.iter().chain(&cold).all(|line| !line.sources.is_empty()));
        }
    }

    #[test]
    fn only_a_whole_pack_of_which_nothing_is_known_is_given_back() {
        let cold = |known| words(&of_finder(known).1);
        assert!(cold(Known::Nothing).starts_with("Wet, leaking, hit, cut"));
        assert!(cold(Known::Nothing).contains("whole: don't charge"));
        for known in [Known::Danger, Known::Gone] {
            assert!(!cold(known).contains("give it back"), "{known:?}");
        }
        assert!(cold(Known::Danger).contains("don't touch it, cold and quiet too"));
    }
}
