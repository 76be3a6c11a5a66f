//! Getting rid of a retired pack for good: what is asked before it is handed in. Final: nothing is recorded on it afterwards.
//! Whether its watch is over is `book::watch`'s to say.

use super::book::source::{DISPOSAL_GUIDE, Line, MAKER, PRACTICE, SALT_TESTS, WASTE_AUTHORITY};
use super::calendar::{Day, day_words};
use super::states::Life;
use crate::bench::FieldProblem;
use crate::bench::Findings;
use crate::bench::form::{Against, Refusal};

const LINE_MOST: usize = 200;
const HEAVIEST_G: i64 = 50_000;

/// How it was made harmless.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Harmless {
    /// Only what is undamaged: on a charger or a resistor, at no more than 0.1C (a hobby guide to disposal), watched.
    Discharged,
    /// Damaged or swollen: not discharged, but bagged and packed in sand or litter (a US waste authority's page; a maker's guide).
    Packed,
    /// Nothing was left to discharge.
    BurntOut,
}

impl Harmless {
    pub const ALL: [Self; 3] = [Self::Discharged, Self::Packed, Self::BurntOut];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Discharged => "discharged",
            Self::Packed => "packed",
            Self::BurntOut => "burnt_out",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Discharged => {
                "Discharged on a charger or resistor at no more than 0.1C, watched, since it was undamaged"
            }
            Self::Packed => {
                "Not discharged: bagged, in sand or litter, for a collector that takes damaged packs"
            }
            Self::BurntOut => "It burnt out in an incident",
        }
    }
}

/// Said before any of it is done.
pub const ADVICE: [Line; 4] = [
    Line {
        words: "No salt bath: the tabs dissolve first, and the cells stay charged.",
        sources: &[SALT_TESTS, MAKER],
    },
    Line {
        words: "Discharge only a pack that is undamaged, not swollen, and inside its limits: at no more than 0.1C, watched.",
        sources: &[DISPOSAL_GUIDE],
    },
    Line {
        words: "Tape each terminal. Never into a household bin.",
        sources: &[WASTE_AUTHORITY],
    },
    Line {
        words: "Hand it in where packs like it are taken; ask before you bring a damaged one. Check your local rules.",
        sources: &[PRACTICE],
    },
];

/// As it was told.
#[derive(Clone, Debug)]
pub struct Told<'a> {
    pub harmless: Option<Harmless>,
    pub are_terminals_taped: bool,
    pub handed_in: &'a str,
    pub receipt: &'a str,
    pub disposed_on: Option<Day>,
    /// None: not told.
    pub mass_g: Option<i64>,
}

impl Told<'_> {
    /// Fields: `harmless`, `taped`, `handed_in`, `receipt`, `disposed_on`, `mass_g`. `against_discharge`: every
    /// reason not to discharge the pack, of `discharge`. `seen_here`: the last day on which somebody read it or watched it.
    pub fn problems(
        &self,
        against_discharge: &[String],
        (seen_here, today): (Option<Day>, Day),
    ) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        found.unless(
            self.harmless.is_some(),
            "harmless",
            "Choose how it was made harmless.",
        );
        let is_discharged = self.harmless == Some(Harmless::Discharged);
        for reason in against_discharge.iter().filter(|_| is_discharged) {
            let words = format!("Not discharged, but handed in as it is: {reason}");
            found.add("harmless", words);
        }
        found.unless(
            self.are_terminals_taped || self.harmless == Some(Harmless::BurntOut),
            "taped",
            "Tape its terminals first, and tick that they are.",
        );
        found.unless(
            !self.handed_in.trim().is_empty(),
            "handed_in",
            "Say where it was handed in.",
        );
        for (field, text) in [("handed_in", self.handed_in), ("receipt", self.receipt)] {
            let is_short = text.chars().count() <= LINE_MOST;
            found.unless(is_short, field, "Say it in at most 200 letters.");
        }
        found.unless(
            self.disposed_on.is_some_and(|day| day <= today),
            "disposed_on",
            "Say on which day: today or before.",
        );
        if let (Some(seen), Some(day)) = (seen_here, self.disposed_on)
            && day < seen
        {
            let words = format!(
                "It was still here on {}: say that day or a later one.",
                day_words(seen)
            );
            found.add("disposed_on", words);
        }
        found.unless(
            self.mass_g
                .is_none_or(|mass| (1..=HEAVIEST_G).contains(&mass)),
            "mass_g",
            "Its mass is 1 to 50000 g.",
        );
        found.pass(()).err().unwrap_or_default()
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DisposalRefusal {
    #[error("Only a quartermaster does this. Ask one.")]
    NotAQuartermaster,
    #[error("Retire it first.")]
    NotRetired,
    #[error("It was disposed of already; nothing more is recorded on it.")]
    Already,
    #[error(
        "Its watch is not over. It stays where it lies until the time has passed and somebody who looked saw nothing."
    )]
    StillWatched,
    #[error(
        "Nothing on record says that it burnt. Report first that it smoked or burnt, or write the fire or the smoke into the book and name it there. Else it waits for the end of its watch, and its terminals are taped."
    )]
    NothingBurnt,
}

impl Refusal for DisposalRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            _ => Against::Rule,
        }
    }
}

/// A pack on its way to be handed in.
#[derive(Clone, Copy, Debug)]
pub struct Leaving {
    pub life: Life,
    pub is_disposed: bool,
    /// Its watch is not over.
    pub is_watched: bool,
    /// Smoke or fire was seen on it, or it was in one of the book. Asked of what is said to have burnt out alone.
    pub has_burnt: bool,
}

/// What burnt out is carried away by who may, and waits for no watch; but it must stand on record that it did.
pub fn may_dispose(
    pack: &Leaving,
    harmless: Option<Harmless>,
    is_quartermaster: bool,
) -> Result<(), DisposalRefusal> {
    let is_burnt_out = harmless == Some(Harmless::BurntOut);
    if !is_quartermaster {
        Err(DisposalRefusal::NotAQuartermaster)
    } else if pack.is_disposed {
        Err(DisposalRefusal::Already)
    } else if pack.life != Life::Retired {
        Err(DisposalRefusal::NotRetired)
    } else if is_burnt_out && !pack.has_burnt {
        Err(DisposalRefusal::NothingBurnt)
    } else if pack.is_watched && !is_burnt_out {
        Err(DisposalRefusal::StillWatched)
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TODAY: &str = "2026-11-25";

    fn told() -> Told<'static> {
        Told {
            harmless: Some(Harmless::Discharged),
            are_terminals_taped: true,
            handed_in: "The town's collection point",
            receipt: "",
            disposed_on: Day::parse(TODAY),
            mass_g: Some(180),
        }
    }

    fn fields(told: &Told<'_>, against: &[&str]) -> Vec<&'static str> {
        let today = Day::parse(TODAY).expect("a day");
        let against: Vec<String> = against.iter().map(|each| (*each).to_owned()).collect();
        let problems = told.problems(&against, (None, today));
        problems.iter().map(|each| each.field).collect()
    }

    #[test]
    fn a_pack_is_discharged_where_nothing_stands_against_it_and_each_reason_is_told() {
        assert_eq!(fields(&told(), &[]), [""; 0]);
        let reasons = ["Seen: Wet.", "Its volts were never logged."];
        assert_eq!(fields(&told(), &reasons), ["harmless", "harmless"]);
        let packed = Told {
            harmless: Some(Harmless::Packed),
            ..told()
        };
        assert_eq!(fields(&packed, &reasons), [""; 0]);
        for each in Harmless::ALL {
            assert_eq!(Harmless::from_code(each.code()), Some(each));
        }
    }

    #[test]
    fn what_was_read_or_watched_here_was_not_handed_in_before() {
        let on = |day: &str| Day::parse(day).expect("a day");
        let problems = told().problems(&[], (Some(on("2026-11-26")), on("2026-11-27")));
        assert_eq!(problems.len(), 1);
        assert!(
            problems[0]
                .words
                .starts_with("It was still here on Thu 26 Nov")
        );
        let that_day = (Some(on(TODAY)), on(TODAY));
        assert!(told().problems(&[], that_day).is_empty());
    }

    #[test]
    fn terminals_are_taped_a_place_is_named_and_no_day_lies_ahead() {
        let nothing = Told {
            harmless: None,
            are_terminals_taped: false,
            handed_in: " ",
            disposed_on: Day::parse("2026-11-26"),
            mass_g: Some(0),
            ..told()
        };
        let all = ["harmless", "taped", "handed_in", "disposed_on", "mass_g"];
        assert_eq!(fields(&nothing, &[]), all);
        let burnt = Told {
            harmless: Some(Harmless::BurntOut),
            are_terminals_taped: false,
            ..told()
        };
        assert_eq!(fields(&burnt, &["Seen: Swollen or puffed."]), [""; 0]);
    }

    #[test]
    fn only_a_retired_pack_that_lies_quiet_is_handed_in_and_once() {
        use DisposalRefusal::*;
        let quiet = Leaving {
            life: Life::Retired,
            is_disposed: false,
            is_watched: false,
            has_burnt: false,
        };
        let may = |pack: Leaving| may_dispose(&pack, Some(Harmless::Packed), true);
        assert_eq!(may(quiet), Ok(()));
        let watched = Leaving {
            is_watched: true,
            ..quiet
        };
        assert_eq!(may(watched), Err(StillWatched));
        let is_disposed = true;
        assert_eq!(
            may(Leaving {
                is_disposed,
                ..quiet
            }),
            Err(Already)
        );
        let life = Life::InUse;
        assert_eq!(may(Leaving { life, ..quiet }), Err(NotRetired));
        let by_member = may_dispose(&quiet, Some(Harmless::Packed), false);
        assert_eq!(by_member, Err(NotAQuartermaster));
        let burnt = |pack: Leaving| may_dispose(&pack, Some(Harmless::BurntOut), true);
        assert_eq!(
            (burnt(quiet), burnt(watched)),
            (Err(NothingBurnt), Err(NothingBurnt))
        );
        let has_burnt = true;
        assert_eq!(
            burnt(Leaving {
                has_burnt,
                ..watched
            }),
            Ok(())
        );
        assert_eq!(
            may(Leaving {
                has_burnt,
                ..watched
            }),
            Err(StillWatched)
        );
    }

    #[test]
    fn nobody_is_told_to_use_a_salt_bath() {
        assert!(ADVICE[0].words.starts_with("No salt bath"));
    }
}
