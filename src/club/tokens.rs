//! What a token of the API is asked for: a name, what it may, how long it lasts. Making and keeping one is left to others.

use crate::bench::form::Problems;

/// How long one may last, in days.
pub const DAYS: [i64; 4] = [7, 30, 90, 365];
/// Of one person, at a time.
pub const MOST: usize = 20;
const LONGEST_NAME: usize = 60;

/// What a token may: look only, or whatever its person may.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum May {
    Look,
    Change,
}

impl May {
    pub const ALL: [Self; 2] = [Self::Look, Self::Change];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Look => "look",
            Self::Change => "change",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Look => "Look only",
            Self::Change => "Look and change: everything that you may",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|may| may.code() == code)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    pub name: String,
    pub may: May,
    pub days: i64,
}

/// Everything wrong is told at once.
pub fn wish(name: &str, may: &str, days: &str) -> Result<Wish, Problems> {
    let mut problems = Problems::default();
    let name = name.trim();
    if name.is_empty() || name.chars().count() > LONGEST_NAME {
        let words = format!("Give it a name of 1 to {LONGEST_NAME} letters.");
        problems.add("name", words);
    }
    let may = problems.keep("may", May::from_code(may).ok_or("Choose what it may do."));
    let days = days.parse().ok().filter(|days| DAYS.contains(days));
    let days = problems.keep("days", days.ok_or("Choose how long it lasts."));
    match (may, days) {
        (Some(may), Some(days)) if problems.is_empty() => Ok(Wish {
            name: name.to_owned(),
            may,
            days,
        }),
        _ => Err(problems),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_asked_for_by_name_by_what_it_may_and_for_one_of_four_spans() {
        let asked = wish(" shelf display ", "look", "90").expect("a wish");
        assert_eq!(
            (asked.name.as_str(), asked.may, asked.days),
            ("shelf display", May::Look, 90)
        );
        assert!(wish("x", "change", "365").is_ok());
    }

    #[test]
    fn nothing_is_taken_for_granted_and_everything_wrong_is_told_at_once() {
        let problems = wish("", "", "").expect_err("refused");
        for field in ["name", "may", "days"] {
            assert!(!problems.of(field).is_empty(), "{field}");
        }
        assert!(wish("x", "look", "8").is_err(), "no span of its own");
        assert!(wish("x", "everything", "7").is_err());
        assert!(wish(&"x".repeat(61), "look", "7").is_err());
    }
}
