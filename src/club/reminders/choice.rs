//! What a person gets of each kind, and by which ways. What they must put right comes by mail whatever they chose.

use super::Kind;
use std::collections::BTreeMap;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ways {
    pub by_mail: bool,
    pub by_push: bool,
    pub in_calendar: bool,
}

impl Ways {
    pub const ALL: Self = Self {
        by_mail: true,
        by_push: true,
        in_calendar: true,
    };
    pub const NONE: Self = Self {
        by_mail: false,
        by_push: false,
        in_calendar: false,
    };
}

/// Who chose nothing gets all.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices(pub BTreeMap<Kind, Ways>);

impl Choices {
    pub fn of(&self, kind: Kind) -> Ways {
        self.0.get(&kind).copied().unwrap_or(Ways::ALL)
    }

    /// `is_must`: they have it, or answer for it, and must put it right.
    pub fn ways(&self, kind: Kind, is_must: bool) -> Ways {
        let chosen = self.of(kind);
        Ways {
            by_mail: is_must || chosen.by_mail,
            ..chosen
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_one_must_put_right_comes_by_mail_and_all_else_as_it_was_chosen() {
        let mut choices = Choices::default();
        assert_eq!(choices.ways(Kind::Low, false), Ways::ALL);
        choices.0.insert(Kind::Low, Ways::NONE);
        assert_eq!(choices.ways(Kind::Low, false), Ways::NONE);
        let must = choices.ways(Kind::Low, true);
        assert!(must.by_mail && !must.by_push && !must.in_calendar);
        assert_eq!(choices.ways(Kind::Recheck, false), Ways::ALL);
    }
}
