//! A drill of the first minute: what is written down of one, and when the next is due. Once a year where the club set no day:
//! fire-safety audits ask for an evacuation drill each year (common practice, no one source).

use crate::bench::{FieldProblem, Findings};
use crate::club::calendar::Day;

const EVERY_DAYS: i64 = 365;
const PEOPLE_MOST: i64 = 10_000;
const LETTERS_MOST: usize = 2_000;
const SECONDS_MOST: i64 = 3 * 3_600;

/// As it was. Seconds count from the alarm; None: nobody looked at the clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drill {
    pub held_on: Day,
    pub people: i64,
    pub out_s: Option<i64>,
    pub called_s: Option<i64>,
    pub counted_s: Option<i64>,
    pub went_well: String,
    pub to_change: String,
}

impl Drill {
    pub fn problems(&self, today: Day) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        found.unless(
            self.held_on <= today,
            "held_on",
            "A drill is written down once it was held.",
        );
        let is_some = (1..=PEOPLE_MOST).contains(&self.people);
        found.unless(
            is_some,
            "people",
            "Say how many people were there, like 14.",
        );
        for (field, seconds) in [
            ("out", self.out_s),
            ("called", self.called_s),
            ("counted", self.counted_s),
        ] {
            let is_told = seconds.is_none_or(|seconds| (0..=SECONDS_MOST).contains(&seconds));
            found.unless(
                is_told,
                field,
                "Give minutes and seconds, like 2:30, or leave it empty.",
            );
        }
        // The call has no order: whoever smells it may call before anybody is out.
        let are_in_order = (self.out_s.filter(|out| *out >= 0))
            .zip(self.counted_s.filter(|counted| *counted >= 0))
            .is_none_or(|(out, counted)| out <= counted);
        found.unless(
            are_in_order,
            "counted",
            "Nobody is counted before everybody is out. Each time is from the alarm: put one of the two right.",
        );
        let is_said = !self.went_well.is_empty() || !self.to_change.is_empty();
        found.unless(
            is_said,
            "went_well",
            "Say what went well or what to change.",
        );
        for (field, text) in [
            ("went_well", &self.went_well),
            ("to_change", &self.to_change),
        ] {
            let words = format!("Say it in at most {LETTERS_MOST} letters.");
            found.unless(text.chars().count() <= LETTERS_MOST, field, &words);
        }
        found.pass(()).err().unwrap_or_default()
    }
}

/// `2:30` and `2` are minutes; None: nothing typed. What is no time is below 0 and refused as such.
pub fn seconds_typed(text: &str) -> Option<i64> {
    let text = text.trim();
    if text.is_empty() {
        return None;
    }
    let (minutes, seconds) = text.split_once(':').unwrap_or((text, "0"));
    let digits = |part: &str| part.parse::<u16>().ok().map(i64::from);
    let read = digits(minutes).zip(digits(seconds).filter(|seconds| *seconds < 60));
    Some(read.map_or(-1, |(minutes, seconds)| minutes * 60 + seconds))
}

/// `2:30`
pub fn seconds_words(seconds: i64) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// By which day the next is due: the day that was set, else a year after the last; None: there was none, and none was set.
pub fn due(set: Option<Day>, last: Option<Day>) -> Option<Day> {
    set.or_else(|| last.map(|day| day.plus_days(EVERY_DAYS)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a day")
    }

    #[test]
    fn minutes_are_typed_with_and_without_seconds() {
        assert_eq!(seconds_typed("2:30"), Some(150));
        assert_eq!(seconds_typed(" 2 "), Some(120));
        assert_eq!(seconds_typed(""), None);
        for wrong in ["2:75", "soon", "-1", "2:", ":30", "1:2:3"] {
            assert_eq!(seconds_typed(wrong), Some(-1), "{wrong}");
        }
        assert_eq!(seconds_words(150), "2:30");
    }

    #[test]
    fn a_drill_was_held_with_people_and_says_something() {
        let drill = Drill {
            held_on: day("2026-11-20"),
            people: 14,
            out_s: Some(150),
            called_s: None,
            counted_s: Some(240),
            went_well: "Everybody was out.".to_owned(),
            to_change: String::new(),
        };
        let today = day("2026-11-25");
        assert_eq!(drill.problems(today), vec![]);
        let odd = Drill {
            held_on: day("2026-11-26"),
            people: 0,
            out_s: Some(-1),
            went_well: String::new(),
            ..drill
        };
        let fields: Vec<&str> = odd.problems(today).iter().map(|each| each.field).collect();
        assert_eq!(fields, ["held_on", "people", "out", "went_well"]);
    }

    #[test]
    fn nobody_is_counted_before_everybody_is_out_and_the_call_may_come_first() {
        let told = |out_s, called_s, counted_s| {
            let drill = Drill {
                held_on: day("2026-11-20"),
                people: 14,
                out_s,
                called_s,
                counted_s,
                went_well: "Everybody was out.".to_owned(),
                to_change: String::new(),
            };
            let found = drill.problems(day("2026-11-25"));
            found.iter().map(|each| each.field).collect::<Vec<_>>()
        };
        assert_eq!(told(Some(150), Some(20), Some(149)), ["counted"]);
        assert_eq!(told(Some(150), Some(300), Some(150)), [""; 0]);
        assert_eq!(told(None, Some(300), Some(10)), [""; 0]);
        assert_eq!(told(Some(-1), None, Some(10)), ["out"]);
    }

    #[test]
    fn the_next_is_due_on_the_day_that_was_set_or_a_year_after_the_last() {
        assert_eq!(due(None, None), None);
        assert_eq!(due(None, Some(day("2026-11-20"))), Some(day("2027-11-20")));
        assert_eq!(
            due(Some(day("2027-02-01")), Some(day("2026-11-20"))),
            Some(day("2027-02-01"))
        );
    }
}
