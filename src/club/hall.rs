//! What the club wrote down for the first minute: the number to call, the hall's address, its own plan for water and sand,
//! and where people meet. All of it may be empty: then pages say that it is. Checks lengths, and that a number can be dialled.

use crate::bench::{FieldProblem, Findings};
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Hall {
    /// As it is dialled from the hall.
    pub emergency_number: String,
    /// As it is told to the fire service, in lines.
    pub address: String,
    /// Where sand, water and extinguishers are, and who uses them when.
    pub plan: String,
    pub meeting_point: String,
}

const NUMBER_MOST: usize = 20;
const ADDRESS_MOST: usize = 300;
const PLAN_MOST: usize = 1_000;

impl Hall {
    pub fn problems(&self) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        let can_be_dialled = self.emergency_number.chars().all(is_dialled)
            && self.emergency_number.chars().count() <= NUMBER_MOST;
        found.unless(
            can_be_dialled,
            "emergency_number",
            "Write the number as it is dialled, in digits, like 112.",
        );
        for (field, text, most) in [
            ("hall_address", &self.address, ADDRESS_MOST),
            ("hall_plan", &self.plan, PLAN_MOST),
            ("meeting_point", &self.meeting_point, ADDRESS_MOST),
        ] {
            let words = format!("Say it in at most {most} letters.");
            found.unless(text.chars().count() <= most, field, &words);
        }
        found.pass(()).err().unwrap_or_default()
    }

    /// What whoever reports danger is shown first and nobody has written; in words, empty where nothing lacks.
    pub fn lacking(&self) -> String {
        let wanted = [
            (&self.emergency_number, "the number to call"),
            (&self.address, "the hall’s address"),
        ];
        let lacking = wanted.iter().filter(|(text, _)| text.trim().is_empty());
        let words: Vec<&str> = lacking.map(|(_, words)| *words).collect();
        words.join(", ")
    }

    /// For a link that dials: `+44 20 1` is `+44201`.
    pub fn dialled(&self) -> String {
        let signs = self.emergency_number.chars();
        signs.filter(|sign| !sign.is_whitespace()).collect()
    }

    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// As stored; what can't be read counts as not written.
impl From<String> for Hall {
    fn from(text: String) -> Self {
        serde_json::from_str(&text).unwrap_or_default()
    }
}

const fn is_dialled(sign: char) -> bool {
    sign.is_ascii_digit() || matches!(sign, ' ' | '+' | '-' | '(' | ')' | '#' | '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_first_in_danger_and_nobody_wrote_is_asked_for() {
        let mut hall = Hall {
            emergency_number: " ".to_owned(),
            ..Hall::default()
        };
        assert_eq!(hall.lacking(), "the number to call, the hall’s address");
        hall.address = "Mill Lane 3".to_owned();
        assert_eq!(hall.lacking(), "the number to call");
        hall.emergency_number = "112".to_owned();
        assert_eq!(hall.lacking(), "");
    }

    #[test]
    fn a_club_may_leave_all_of_it_empty_and_a_number_is_digits() {
        assert_eq!(Hall::default().problems(), vec![]);
        let odd = Hall {
            emergency_number: "the brigade".to_owned(),
            plan: "x".repeat(PLAN_MOST + 1),
            ..Hall::default()
        };
        let fields: Vec<&str> = odd.problems().iter().map(|each| each.field).collect();
        assert_eq!(fields, ["emergency_number", "hall_plan"]);
    }

    #[test]
    fn it_is_read_back_as_it_was_kept_and_what_is_no_text_of_ours_counts_as_empty() {
        let hall = Hall {
            emergency_number: "+44 20 1".to_owned(),
            address: "Mill Lane\n1".to_owned(),
            ..Hall::default()
        };
        assert_eq!(Hall::from(hall.to_text()), hall);
        assert_eq!(hall.dialled(), "+44201");
        assert_eq!(Hall::from(String::new()), Hall::default());
    }
}
