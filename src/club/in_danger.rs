//! What the club settled for what goes wrong: how long a pack in quarantine is watched, and what of injuries stands in its incident
//! book. A club may watch longer and look more often than the defaults, never the other way (`book::watch::Period`).

use super::book::severity::InjuriesKept;
use super::book::watch::Period;
use crate::bench::FieldProblem;
use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct InDanger {
    pub watch: Period,
    pub injuries: InjuriesKept,
}

impl Default for InDanger {
    /// How grave, without words: enough to tell how bad it was, and nothing about a person. Common practice, no source.
    fn default() -> Self {
        Self {
            watch: Period::default(),
            injuries: InjuriesKept::HowGrave,
        }
    }
}

impl InDanger {
    pub fn problems(&self) -> Vec<FieldProblem> {
        self.watch.problems()
    }

    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// As stored. What can't be read, or was loosened behind the program's back, counts as the default.
impl From<String> for InDanger {
    fn from(text: String) -> Self {
        let read: Self = serde_json::from_str(&text).unwrap_or_default();
        if read.problems().is_empty() {
            read
        } else {
            Self {
                watch: Period::default(),
                ..read
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_read_back_as_it_was_kept_and_a_shorter_watch_counts_for_nothing() {
        let strict = InDanger {
            watch: Period {
                watched_minutes: 120,
                ..Period::default()
            },
            injuries: InjuriesKept::InWords,
        };
        assert_eq!(InDanger::from(strict.to_text()), strict);
        assert_eq!(InDanger::from(String::new()), InDanger::default());
        let loose = strict.to_text().replace("120", "5");
        let read = InDanger::from(loose);
        assert_eq!(read.watch, Period::default());
        assert_eq!(read.injuries, InjuriesKept::InWords);
    }
}
