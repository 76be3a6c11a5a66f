//! Kit of the club: what a person says of a thing, whether it may be lent, and how it leaves the pool.
//! What it can do is its data sheet (`bench`); which loan it is on is the store's.

use super::states::Life;
use crate::bench::FieldProblem;
use crate::bench::kit::Spec;
use uuid::Uuid;

/// `owned_count` is 1 for everything that has a number of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitSheet {
    pub name: String,
    pub maker: String,
    pub notes: String,
    pub place_id: Option<Uuid>,
    pub owned_count: i64,
    pub spec: Spec,
}

impl KitSheet {
    /// Fields: those of the data sheet, and `name`, `maker`, `notes`, `owned_count`.
    pub fn checked(self) -> Result<Self, Vec<FieldProblem>> {
        let mut problems = self.spec.clone().checked().err().unwrap_or_default();
        let counts = if self.spec.kind().is_counted() {
            0..=10_000
        } else {
            1..=1
        };
        let checks = [
            (
                self.name.chars().count() <= 80,
                "name",
                "Keep the name under 80 letters.",
            ),
            (
                self.maker.chars().count() <= 80,
                "maker",
                "Keep the maker under 80 letters.",
            ),
            (
                self.notes.chars().count() <= 2_000,
                "notes",
                "Keep the notes under 2000 letters.",
            ),
            (
                counts.contains(&self.owned_count),
                "owned_count",
                "Count 0 to 10000 of them.",
            ),
        ];
        let wrong = checks.into_iter().filter(|(holds, ..)| !holds);
        problems.extend(wrong.map(|(_, field, words)| FieldProblem {
            field,
            words: words.to_owned(),
        }));
        if problems.is_empty() {
            Ok(self)
        } else {
            Err(problems)
        }
    }
}

/// A reason a person gave: 3 to 500 letters, or None.
pub fn reason(text: &str) -> Option<String> {
    let text = text.trim();
    (3..=500)
        .contains(&text.chars().count())
        .then(|| text.to_owned())
}

/// What may become of a thing: used up, lost, given away, withdrawn as entered by mistake; a lost one can be found.
pub const fn may_become(now: Life, next: Life) -> bool {
    match (now, next) {
        (Life::InUse, Life::InUse) => false,
        (Life::InUse, _) | (Life::Lost, Life::InUse) => true,
        (Life::Retired, Life::Lost | Life::GivenAway | Life::Withdrawn) => true,
        _ => false,
    }
}

/// What a thing's new life comes to, read back before it is done.
pub const fn what_follows(life: Life) -> &'static str {
    match life {
        Life::InUse => "It stands in the list of kit and can be lent.",
        Life::Retired => {
            "It is used no more and enters no loan, for good: it can only be lost, given away or withdrawn. Its number and history stay."
        }
        Life::Lost => {
            "It leaves the list and enters no loan. When it turns up it can be put back. Its number and history stay."
        }
        Life::GivenAway => {
            "It is the club's no more, for good. Its history stays; its number is never given again."
        }
        Life::Withdrawn => {
            "It counts as entered by mistake, for good. Its history stays; its number is never given again."
        }
    }
}

/// How many of them can still go out; 0 for anything set aside or gone.
pub const fn free_count(owned: i64, out: i64, life: Life, is_set_aside: bool) -> i64 {
    match life {
        Life::InUse if !is_set_aside && owned > out => owned - out,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::chain::{Adapter, Cable};

    fn adapters(owned_count: i64) -> KitSheet {
        KitSheet {
            name: String::new(),
            maker: String::new(),
            notes: String::new(),
            place_id: None,
            owned_count,
            spec: Spec::Adapter(Adapter {
                from: "xt60".into(),
                to: "xt30".into(),
                rated_ma: 15_000,
            }),
        }
    }

    #[test]
    fn kit_set_aside_or_gone_is_never_free_to_lend() {
        assert_eq!(free_count(8, 3, Life::InUse, false), 5);
        assert_eq!(free_count(8, 3, Life::InUse, true), 0);
        assert_eq!(free_count(8, 9, Life::InUse, false), 0);
        for life in Life::ALL.into_iter().filter(|life| *life != Life::InUse) {
            assert_eq!(free_count(8, 0, life, false), 0);
        }
    }

    #[test]
    fn a_lost_charger_is_found_again_and_a_retired_one_never_comes_back() {
        assert!(may_become(Life::Lost, Life::InUse));
        for gone in [Life::Retired, Life::GivenAway, Life::Withdrawn] {
            assert!(!may_become(gone, Life::InUse));
            assert!(may_become(Life::InUse, gone));
        }
    }

    #[test]
    fn only_adapters_are_owned_in_numbers() {
        assert!(adapters(12).checked().is_ok() && adapters(0).checked().is_ok());
        let cables = KitSheet {
            owned_count: 2,
            spec: Spec::Cable(Cable {
                from: "usb-c".into(),
                to: "usb-c".into(),
                limit_mw: 60_000,
            }),
            ..adapters(1)
        };
        let problems = cables.checked().expect_err("refused");
        assert_eq!(problems[0].field, "owned_count");
    }

    #[test]
    fn a_reason_says_something() {
        assert_eq!(reason("  fan dead "), Some("fan dead".to_owned()));
        assert_eq!(reason(" x "), None);
    }
}
