//! Where advice comes from: a line that a person reads, and beside it who says so and how sure that is. Published sheets are
//! named by who issued them; hobby guides by what they are.

/// How sure a source is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum HowSure {
    /// Read in what was published, or in who reports it.
    Published,
    /// So it is done; nobody was found who says so.
    CommonPractice,
}

impl HowSure {
    pub const fn label(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Source {
    pub named: &'static str,
    pub how_sure: HowSure,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Line {
    pub words: &'static str,
    pub sources: &'static [Source],
}

const fn published(named: &'static str) -> Source {
    Source {
        named,
        how_sure: HowSure::Published,
    }
}

pub const PRACTICE: Source = Source {
    named: "Clubs do it so",
    how_sure: HowSure::CommonPractice,
};

pub const FIRE_ADMINISTRATION: Source = published(
    "US Fire Administration, page for communities: don't try to put it out, evacuate and call",
);
pub const FIRE_ADMINISTRATION_BATTERIES: Source = published(
    "US Fire Administration, “Batteries”, after NFPA: stop using it at smell, heat, change of shape, leak or noise; away from what burns; call",
);
pub const FIRE_CHIEFS: Source = published(
    "UK fire chiefs' council as relayed by housing bodies: get out, stay out, call; not on escape routes",
);
pub const AVIATION: Source = published(
    "Training note on FAA AC 120-80A: cool with water, which stops it going from cell to cell; it flares up as each cell goes",
);
pub const UNIVERSITY: Source = published(
    "University of Virginia EHS: these packs hold no metallic lithium; water or an ABC extinguisher, class D is for metal",
);
pub const SAND: Source =
    published("A US model-flying club's charging guide: a bucket of sand beside the charger");
pub const FLUORIDE: Source =
    published("Scientific Reports 7:10018 (2017) with its erratum: hydrogen fluoride in the smoke");
pub const SWEDISH_AGENCY: Source =
    published("Swedish MSB, report 1960 (2022): irritant gases are real");
pub const WORKPLACE: Source = published(
    "OSHA SHIB 01-18-2019 as reported: bulging, hissing, leaking, smoke, heat; a dry, cool, fire-resistant container away from what burns",
);
pub const MAKER: Source = published(
    "A battery vendor's safety guide quoting CPSC and a fire department: no charging, puncturing, squeezing or salt bath; 3 m (10 ft) from what burns; metal box with sand or litter, lid loose; no reuse even if it goes down",
);
pub const MODEL_ASSOCIATION: Source = published(
    "A US model association's safety alert of 2004: after a crash 30 minutes in a safe place",
);
pub const DIARY: Source =
    published("A flyer's diary of 2010: a pack caught fire on a desk 25 minutes after a crash");
pub const GUIDANCE: Source = published(
    "A guidance on lithium polymer batteries: the reaction may be delayed; watch outside, away from building and vehicle",
);
pub const ROBOT_CLUB: Source = published(
    "A US university combat-robotics club's wiki: 60 °C or too hot for the hand is suspect",
);
pub const BROKER: Source =
    published("A UK insurance broker's note of 2024: outside, 3 m from walls");
pub const CONTAINER_TESTS: Source = published(
    "Five container tests by hobbyists, 2019: a sealed metal box is worst, its lid can blow",
);
pub const BOX_FIRE: Source = published(
    "A hobbyist's account of a fire in a storage box: neighbours in bags of their own were unharmed",
);
pub const TOURNAMENT: Source =
    published("A televised US robot tournament's rules: a burning robot is left to burn");
pub const SALT_TESTS: Source = published(
    "Tests of salt water by hobbyists: cells still charged after a summer in it, since the tabs dissolve first",
);
pub const DISPOSAL_GUIDE: Source =
    published("A hobby guide to disposal: undamaged packs only, at no more than 0.1C");
pub const WASTE_AUTHORITY: Source = published(
    "US EPA's pages on used lithium batteries: tape the terminals, never a household bin",
);
pub const WORK_UK: Source = published(
    "RIDDOR 2013 as public and trade pages tell it: work-connected deaths, injuries and dangerous occurrences",
);
pub const EMPLOYERS_US: Source =
    published("OSHA's rule on reporting by employers, as public pages tell it");
pub const NOT_READ: Source = Source {
    named: "In general; no text was read for it",
    how_sure: HowSure::CommonPractice,
};
