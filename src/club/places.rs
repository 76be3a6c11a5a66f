//! Places where packs and kit lie: which kinds there are, what a place must be told, and when too much energy lies in one.
//! Which packs lie where is the store's. Energy in mWh.

use super::calendar::Day;
use super::reading::beside::CELSIUS;
use crate::bench::FieldProblem;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlaceKind {
    Cabinet,
    Box,
    Bag,
    Table,
    Vehicle,
    Outdoors,
    Quarantine,
}

impl PlaceKind {
    pub const ALL: [Self; 7] = [
        Self::Cabinet,
        Self::Box,
        Self::Bag,
        Self::Table,
        Self::Vehicle,
        Self::Outdoors,
        Self::Quarantine,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Cabinet => "cabinet",
            Self::Box => "box",
            Self::Bag => "bag",
            Self::Table => "table",
            Self::Vehicle => "vehicle",
            Self::Outdoors => "outdoors",
            Self::Quarantine => "quarantine",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Cabinet => "Cabinet",
            Self::Box => "Box",
            Self::Bag => "Bag",
            Self::Table => "Table",
            Self::Vehicle => "Vehicle",
            Self::Outdoors => "Outdoors",
            Self::Quarantine => "Quarantine",
        }
    }
}

/// What a person says of a place. `energy_limit_mwh` None: no limit was set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceSheet {
    pub name: String,
    pub kind: PlaceKind,
    pub room: String,
    pub energy_limit_mwh: Option<i64>,
    /// How warm it usually is; None: nobody said.
    pub warmth_celsius: Option<i64>,
    /// When its fire extinguisher, and its smoke or heat detector, are next checked; None: nobody said.
    pub extinguisher_check_due: Option<Day>,
    pub detector_check_due: Option<Day>,
    pub notes: String,
}

impl PlaceSheet {
    /// Fields: `name`, `room`, `energy_limit`, `warmth_celsius`, `notes`.
    pub fn checked(self) -> Result<Self, Vec<FieldProblem>> {
        let name_letters = self.name.chars().count();
        let has_sane_limit = self.energy_limit_mwh.is_none_or(|mwh| mwh > 0);
        let has_sane_warmth = self
            .warmth_celsius
            .is_none_or(|celsius| CELSIUS.contains(&celsius));
        let checks = [
            (
                (1..=60).contains(&name_letters),
                "name",
                "Give the place a name of at most 60 letters.",
            ),
            (
                self.room.chars().count() <= 60,
                "room",
                "Name the room in at most 60 letters.",
            ),
            (
                has_sane_limit,
                "energy_limit",
                "A limit is more than 0 Wh; leave it empty for none.",
            ),
            (
                has_sane_warmth,
                "warmth_celsius",
                "Give whole degrees Celsius, -20 to 60; leave it empty where nobody knows.",
            ),
            (
                self.notes.chars().count() <= 2_000,
                "notes",
                "Keep the notes under 2000 letters.",
            ),
        ];
        let problems: Vec<FieldProblem> = checks
            .into_iter()
            .filter(|(holds, ..)| !holds)
            .map(|(_, field, words)| FieldProblem {
                field,
                words: words.to_owned(),
            })
            .collect();
        if problems.is_empty() {
            Ok(self)
        } else {
            Err(problems)
        }
    }
}

/// By how many mWh a place holds more than its limit; None while it does not. At the limit is not over it.
pub fn over_by_mwh(energy_mwh: i64, limit_mwh: Option<i64>) -> Option<i64> {
    limit_mwh
        .map(|limit| energy_mwh.saturating_sub(limit))
        .filter(|over| *over > 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cabinet() -> PlaceSheet {
        PlaceSheet {
            name: "Battery cabinet".to_owned(),
            kind: PlaceKind::Cabinet,
            room: "Workshop".to_owned(),
            energy_limit_mwh: Some(500_000),
            warmth_celsius: Some(19),
            extinguisher_check_due: None,
            detector_check_due: None,
            notes: String::new(),
        }
    }

    #[test]
    fn a_place_at_its_limit_is_full_and_a_thousandth_more_is_over() {
        assert_eq!(over_by_mwh(500_000, Some(500_000)), None);
        assert_eq!(over_by_mwh(500_001, Some(500_000)), Some(1));
        assert_eq!(over_by_mwh(i64::MAX, None), None);
    }

    #[test]
    fn a_place_needs_a_name_and_a_limit_of_nothing_is_no_limit() {
        assert_eq!(cabinet().checked(), Ok(cabinet()));
        let wrong = PlaceSheet {
            name: String::new(),
            energy_limit_mwh: Some(0),
            ..cabinet()
        };
        let fields: Vec<_> = wrong
            .checked()
            .expect_err("refused")
            .into_iter()
            .map(|problem| problem.field)
            .collect();
        assert_eq!(fields, ["name", "energy_limit"]);
    }

    #[test]
    fn a_place_is_as_warm_as_a_hall_or_a_van_can_be_or_nobody_said() {
        let of = |warmth_celsius| {
            let place = PlaceSheet {
                warmth_celsius,
                ..cabinet()
            };
            place.checked().map_err(|found| found[0].field)
        };
        for told in [None, Some(-20), Some(60)] {
            assert!(of(told).is_ok(), "{told:?}");
        }
        for told in [Some(-21), Some(61), Some(i64::MIN)] {
            assert_eq!(of(told), Err("warmth_celsius"));
        }
    }

    #[test]
    fn kinds_of_places_are_found_by_their_codes() {
        for kind in PlaceKind::ALL {
            assert_eq!(PlaceKind::from_code(kind.code()), Some(kind));
        }
        assert_eq!(PlaceKind::from_code("shed"), None);
    }
}
