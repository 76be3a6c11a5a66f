//! What a club sets of reminders: hour, days ahead, day of the summary, quiet hours, sender, tries; and how far each may go.
//! After how many days quartermasters and organisers are told too stands among the rules of storage care. All of them: common
//! practice, no source.

use super::quiet::{Quiet, is_time};
use crate::club::calendar::{Day, Instant, Zone};
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ReminderRules {
    /// `HH:MM` in the hall.
    pub hour: String,
    pub quiet_from: String,
    pub quiet_to: String,
    pub loan_days: i64,
    pub induction_days: i64,
    pub check_days: i64,
    /// 1 Monday to 7 Sunday.
    pub summary_day: i64,
    /// A mail is given up after so many tries.
    pub tries: i64,
    /// The address that mail is from; empty: the one of the mail server's sign-in.
    pub sender: String,
}

impl Default for ReminderRules {
    fn default() -> Self {
        Self {
            hour: "08:00".to_owned(),
            quiet_from: "21:00".to_owned(),
            quiet_to: "07:00".to_owned(),
            loan_days: 1,
            induction_days: 14,
            check_days: 14,
            summary_day: 1,
            tries: 8,
            sender: String::new(),
        }
    }
}

pub const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// One of the counts: field, label, hint, how far it goes.
pub struct Count {
    pub code: &'static str,
    pub label: &'static str,
    pub hint: &'static str,
    pub range: std::ops::RangeInclusive<i64>,
    pub of: fn(&mut ReminderRules) -> &mut i64,
}

pub const COUNTS: [Count; 4] = [
    Count {
        code: "loan_days",
        label: "Loan due soon: days before its last day",
        hint: "0 to 14 days.",
        range: 0..=14,
        of: |rules| &mut rules.loan_days,
    },
    Count {
        code: "induction_days",
        label: "Induction running out: days before its last day",
        hint: "0 to 60 days.",
        range: 0..=60,
        of: |rules| &mut rules.induction_days,
    },
    Count {
        code: "check_days",
        label: "Extinguisher or detector check: days before it is due",
        hint: "0 to 60 days.",
        range: 0..=60,
        of: |rules| &mut rules.check_days,
    },
    Count {
        code: "tries",
        label: "A mail is given up after so many tries",
        hint: "1 to 20. The waits between them grow up to four hours.",
        range: 1..=20,
        of: |rules| &mut rules.tries,
    },
];

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RuleRefusal {
    #[error("Write the time as 08:00.")]
    Time(&'static str),
    #[error("Choose {} to {}.", .range.start(), .range.end())]
    Count {
        code: &'static str,
        range: std::ops::RangeInclusive<i64>,
    },
    #[error("Choose a day of the week.")]
    Weekday,
    #[error("Write an address like packs@club.example, or leave it empty.")]
    Sender,
}

impl RuleRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Time(field) => field,
            Self::Count { code, .. } => code,
            Self::Weekday => "summary_day",
            Self::Sender => "sender",
        }
    }
}

/// All that is wrong, in the order of the form.
pub fn check(rules: &ReminderRules) -> Vec<RuleRefusal> {
    let mut rules = rules.clone();
    let mut refused = Vec::new();
    for (field, time) in [
        ("hour", &rules.hour),
        ("quiet_from", &rules.quiet_from),
        ("quiet_to", &rules.quiet_to),
    ] {
        if !is_time(time) {
            refused.push(RuleRefusal::Time(field));
        }
    }
    if !(1..=7).contains(&rules.summary_day) {
        refused.push(RuleRefusal::Weekday);
    }
    for count in &COUNTS {
        if !count.range.contains((count.of)(&mut rules)) {
            refused.push(RuleRefusal::Count {
                code: count.code,
                range: count.range.clone(),
            });
        }
    }
    if !rules.sender.is_empty() && !is_address(&rules.sender) {
        refused.push(RuleRefusal::Sender);
    }
    refused
}

/// Something before one @ and a host after it, in plain letters. The mail server has the last word.
pub fn is_address(text: &str) -> bool {
    let is_plain = |sign: char| sign.is_ascii_graphic() && !"<>()[]\\,;:\"@".contains(sign);
    let Some((local, host)) = text.split_once('@') else {
        return false;
    };
    let is_host = |sign: char| sign.is_ascii_alphanumeric() || matches!(sign, '.' | '-');
    (1..=64).contains(&local.len())
        && local.chars().all(is_plain)
        && !local.starts_with('.')
        && !local.ends_with('.')
        && !local.contains("..")
        && (1..=255).contains(&host.len())
        && host.chars().all(is_host)
        && host
            .split('.')
            .all(|part| !part.is_empty() && !part.starts_with('-') && !part.ends_with('-'))
}

impl ReminderRules {
    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_else(|_| "{}".to_owned())
    }

    /// What was typed or stored, within what may be set.
    pub fn tightened(mut self) -> Self {
        let usual = Self::default();
        for count in &COUNTS {
            let value = (count.of)(&mut self);
            *value = (*value).clamp(*count.range.start(), *count.range.end());
        }
        if !is_time(&self.hour) {
            self.hour = usual.hour;
        }
        if Quiet::of(&self.quiet_from, &self.quiet_to).is_none() {
            self.quiet_from = usual.quiet_from;
            self.quiet_to = usual.quiet_to;
        }
        self.summary_day = self.summary_day.clamp(1, 7);
        self
    }

    /// When `day` is decided. A time that the clock skips moves on with it.
    pub fn moment(&self, day: Day, zone: &Zone) -> Instant {
        zone.at(day, &self.hour)
            .unwrap_or_else(|| zone.start_of(day))
    }

    pub fn quiet(&self) -> Option<Quiet> {
        Quiet::of(&self.quiet_from, &self.quiet_to)
    }

    /// The day of the summary that lies in the days after `last` up to `today`, the latest; before anything was decided, today alone.
    pub fn summary_on(&self, last: Option<Day>, today: Day) -> Option<Day> {
        let weekday = i64::from(today.0.weekday().to_monday_one_offset());
        let latest = today.plus_days(-(weekday - self.summary_day).rem_euclid(7));
        let since = last.unwrap_or_else(|| today.plus_days(-1));
        (since < latest).then_some(latest)
    }
}

/// As stored; what can't be read counts as the usual.
impl From<String> for ReminderRules {
    fn from(text: String) -> Self {
        let read: Self = serde_json::from_str(&text).unwrap_or_default();
        read.tightened()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a day")
    }

    #[test]
    fn the_usual_rules_may_be_kept_and_each_goes_so_far() {
        assert_eq!(check(&ReminderRules::default()), []);
        for count in &COUNTS {
            for (value, is_fine) in [
                (*count.range.start(), true),
                (*count.range.end(), true),
                (count.range.start() - 1, false),
                (count.range.end() + 1, false),
            ] {
                let mut rules = ReminderRules::default();
                *(count.of)(&mut rules) = value;
                assert_eq!(check(&rules).is_empty(), is_fine, "{} {value}", count.code);
                assert_eq!(rules.clone().tightened() == rules, is_fine);
            }
        }
        let odd = ReminderRules {
            hour: "8".to_owned(),
            summary_day: 0,
            sender: "the club".to_owned(),
            ..ReminderRules::default()
        };
        let fields: Vec<&str> = check(&odd).iter().map(RuleRefusal::field).collect();
        assert_eq!(fields, ["hour", "summary_day", "sender"]);
    }

    #[test]
    fn an_address_has_one_at_and_a_host() {
        for good in ["a@b", "quinn@millrace.example", "a.b+c@x-y.example"] {
            assert!(is_address(good), "{good}");
        }
        for bad in [
            "",
            "a",
            "@b",
            "a@",
            "a b@c.example",
            "a@b@c",
            "a@b..c",
            "a@-b",
            "a@b\r\nBcc: c@d",
            "<a@b>",
            ".a@b",
        ] {
            assert!(!is_address(bad), "{bad:?}");
        }
    }

    #[test]
    fn a_summary_missed_on_its_day_comes_on_the_next_and_none_comes_before_its_day() {
        // 23 Nov 2026 is a Monday.
        let rules = ReminderRules::default();
        let on = |last: &str, today: &str| rules.summary_on(Some(day(last)), day(today));
        assert_eq!(on("2026-11-22", "2026-11-23"), Some(day("2026-11-23")));
        assert_eq!(on("2026-11-23", "2026-11-24"), None);
        assert_eq!(on("2026-11-21", "2026-11-26"), Some(day("2026-11-23")));
        assert_eq!(
            on("2026-11-08", "2026-11-26"),
            Some(day("2026-11-23")),
            "the latest alone"
        );
        assert_eq!(rules.summary_on(None, day("2026-11-26")), None);
        assert_eq!(
            rules.summary_on(None, day("2026-11-23")),
            Some(day("2026-11-23"))
        );
    }
}
