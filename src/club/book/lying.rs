//! Where a pack in quarantine lies, and what must not lie beside it: lines with their sources, for the page, the label of the
//! place and the card on the wall. A club may ask for more.

use super::source::{
    BOX_FIRE, BROKER, CONTAINER_TESTS, FIRE_CHIEFS, GUIDANCE, Line, MAKER, PRACTICE, WORKPLACE,
};

/// From walls and from anything that burns, and for who looks at it.
pub const METRES_AWAY: i64 = 3;

pub const LIES: [Line; 6] = [
    Line {
        words: "One pack to a container.",
        sources: &[BOX_FIRE, PRACTICE],
    },
    Line {
        words: "Metal or ceramic, with sand or clay litter, on ground that can't burn. Dry and cool.",
        sources: &[MAKER, WORKPLACE],
    },
    Line {
        words: "Vented: the lid lies loose and is never clamped or airtight.",
        sources: &[MAKER, CONTAINER_TESTS],
    },
    Line {
        words: "Outdoors or in a fire-rated place, marked as quarantine.",
        sources: &[GUIDANCE, PRACTICE],
    },
    Line {
        words: "3 m from walls and from anything that burns.",
        sources: &[BROKER, MAKER],
    },
    Line {
        words: "A tag on the container: number, date, reason.",
        sources: &[MAKER, PRACTICE],
    },
];

pub const NOT_BESIDE: [Line; 5] = [
    Line {
        words: "No pack that may still be used.",
        sources: &[PRACTICE],
    },
    Line {
        words: "No fuel, solvent, paper, wood or cloth.",
        sources: &[WORKPLACE, PRACTICE],
    },
    Line {
        words: "No charger and no robot.",
        sources: &[PRACTICE],
    },
    Line {
        words: "No vehicle.",
        sources: &[GUIDANCE],
    },
    Line {
        words: "Not on an escape route.",
        sources: &[FIRE_CHIEFS, PRACTICE],
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_line_about_the_place_has_a_source_and_the_distance_is_the_one_reckoned_with() {
        for line in LIES.iter().chain(&NOT_BESIDE) {
            assert!(!line.sources.is_empty(), "{}", line.words);
        }
        let distance = format!("{METRES_AWAY} m from walls");
        assert!(LIES.iter().any(|line| line.words.starts_with(&distance)));
    }
}
