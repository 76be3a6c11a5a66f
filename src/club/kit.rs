//! Kit of the club: what a person says of a thing, whether it may be lent, and how it leaves the pool.
//! What it can do is its data sheet (`bench`); which loan it is on is the store's.

use super::states::Life;
use crate::bench::FieldProblem;
use crate::bench::form::{Fields, Problems};
use crate::bench::kit::{KitKind, Spec};
use crate::bench::typed::Words;
use crate::bench::{kit_sheet, kit_typed};
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
    /// Read off its form: the data sheet and what is said of the thing itself.
    pub fn typed_as(kind: KitKind, fields: &Fields, numbers: Words) -> Result<Self, Problems> {
        let mut problems = Problems::default();
        let spec = kit_sheet::read(kind, fields, numbers, &mut problems);
        let owned_count = match fields.text("owned_count").as_str() {
            _ if !kind.is_counted() => 1,
            text => text.parse().unwrap_or_else(|_| {
                // Changing leaves the count alone and does not ask for it.
                if fields.names().any(|name| name == "owned_count") {
                    problems.add("owned_count", "Type how many the club owns.");
                }
                1
            }),
        };
        match spec.filter(|_| problems.is_empty()) {
            Some(spec) => Ok(Self {
                name: fields.text("name"),
                maker: fields.text("maker"),
                notes: fields.text("notes"),
                place_id: fields.id("place"),
                owned_count,
                spec,
            }),
            None => Err(problems),
        }
    }

    /// The fields that would be typed for it, but for how many there are: what a form to change it starts with.
    pub fn typed(&self, words: Words) -> Fields {
        let mut pairs = kit_typed::typed(&self.spec, words);
        let place = self.place_id.map_or_else(String::new, |id| id.to_string());
        for (name, value) in [
            ("name", self.name.clone()),
            ("maker", self.maker.clone()),
            ("notes", self.notes.clone()),
            ("place", place),
        ] {
            pairs.push((name.to_owned(), value));
        }
        Fields::new(pairs)
    }

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

/// Of a reason that is to override something.
pub const OVERRIDE_SAYS_NOTHING: &str = "Say why in 3 to 500 letters.";

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

/// How many there are of a thing and where they stand. `owned` is 1 for everything that has a number of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stock {
    pub owned: i64,
    /// On open loans.
    pub out: i64,
    /// To mend.
    pub aside: i64,
    /// Brought back by a member alone; nobody at the table looked at them yet.
    pub unchecked: i64,
}

impl Stock {
    /// How many lie here in order.
    pub fn in_order(self) -> i64 {
        (self.owned - self.there()).max(0)
    }

    /// How many can go out: none of what left the pool.
    pub fn free(self, life: Life) -> i64 {
        match life {
            Life::InUse => self.in_order(),
            _ => 0,
        }
    }

    /// What the club owns at least: so many are out or lie here doubtful.
    pub const fn there(self) -> i64 {
        self.out + self.aside + self.unchecked
    }

    /// What keeps the rest here: `1 set aside: a bent pin; 2 came back unchecked`. `words` say why they are set aside.
    pub fn doubts(self, words: Option<&str>) -> String {
        let aside = (self.aside > 0).then(|| {
            let why = words.map_or_else(String::new, |words| format!(": {words}"));
            format!("{} set aside{why}", self.aside)
        });
        let unchecked =
            (self.unchecked > 0).then(|| format!("{} came back unchecked", self.unchecked));
        let all: Vec<String> = aside.into_iter().chain(unchecked).collect();
        all.join("; ")
    }
}

/// How many somebody meant: 1 to `most`; none typed means all of them.
pub fn counted(typed: Option<i64>, most: i64, field: &'static str) -> Result<i64, FieldProblem> {
    let count = typed.unwrap_or(most);
    if (1..=most).contains(&count) {
        return Ok(count);
    }
    let words = if most == 0 {
        "None of them lies here in order.".to_owned()
    } else {
        format!("Count 1 to {most} of them.")
    };
    Err(FieldProblem { field, words })
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
    fn kit_set_aside_unchecked_or_gone_is_never_free_to_lend() {
        let stock = |out, aside, unchecked| Stock {
            owned: 8,
            out,
            aside,
            unchecked,
        };
        assert_eq!(stock(3, 0, 0).free(Life::InUse), 5);
        assert_eq!(stock(3, 1, 2).free(Life::InUse), 2);
        assert_eq!(stock(3, 8, 0).free(Life::InUse), 0);
        for life in Life::ALL.into_iter().filter(|life| *life != Life::InUse) {
            assert_eq!(stock(0, 0, 0).free(life), 0);
        }
    }

    #[test]
    fn what_keeps_adapters_here_is_told_with_how_many() {
        let adapters = Stock {
            owned: 8,
            out: 5,
            aside: 2,
            unchecked: 1,
        };
        assert_eq!((adapters.there(), adapters.in_order()), (8, 0));
        assert_eq!(
            adapters.doubts(Some("bent")),
            "2 set aside: bent; 1 came back unchecked"
        );
        let fine = Stock {
            aside: 0,
            unchecked: 0,
            ..adapters
        };
        assert_eq!((fine.doubts(None).as_str(), fine.in_order()), ("", 3));
    }

    #[test]
    fn so_many_are_counted_as_there_are() {
        assert_eq!(counted(None, 3, "many"), Ok(3));
        assert_eq!(counted(Some(2), 3, "many"), Ok(2));
        for (typed, most) in [(Some(0), 3), (Some(4), 3), (Some(-1), 3), (None, 0)] {
            assert_eq!(
                counted(typed, most, "many").expect_err("refused").field,
                "many"
            );
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
