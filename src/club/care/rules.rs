//! What a club sets for storage care, and how far each may go. How long a pack may lie above its band goes by a table of
//! charge and warmth that never allows more to the fuller or the warmer. Days.

use serde::{Deserialize, Serialize};

/// Reminded after so many days above the band; past its limit after so many.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wait {
    pub remind_days: i64,
    pub limit_days: i64,
}

/// From so many percent of charge on, in the fullest cell: the rows.
pub const FROM_PERCENT: [f64; 3] = [0.0, 70.0, 90.0];
/// Up to so many degrees: the columns; the last has no end.
pub const UP_TO_CELSIUS: [i64; 3] = [15, 25, 35];

/// Rows by charge, columns by warmth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct StorageTable {
    pub rows: [[Wait; 4]; 3],
}

/// What may be set: one day to fourteen. Longer no source lets a charged pack lie: 'not used for more than 14 days', a
/// University of Maryland flight lab.
pub const WAIT_DAYS: std::ops::RangeInclusive<i64> = 1..=14;

const fn wait(remind_days: i64, limit_days: i64) -> Wait {
    Wait {
        remind_days,
        limit_days,
    }
}

/// Full in a room: 7 days ('harm possible after a week full', an RC vendor's storage note), reminded at 3 (common practice,
/// between that and 'every run' of the same note). Just above the band: 14 (the flight lab). Warmer and colder: a full cell
/// loses about twice as much at 40 as at 25 °C and a third at 0 °C (a battery-education site's table); that this makes such
/// days of it is common practice, no source.
impl Default for StorageTable {
    fn default() -> Self {
        Self {
            rows: [
                [wait(10, 14), wait(7, 14), wait(4, 8), wait(2, 4)],
                [wait(8, 12), wait(5, 10), wait(3, 6), wait(2, 3)],
                [wait(5, 10), wait(3, 7), wait(2, 4), wait(1, 2)],
            ],
        }
    }
}

impl StorageTable {
    pub fn of(&self, percent: f64, celsius: i64) -> Wait {
        let row = FROM_PERCENT.iter().rposition(|from| percent >= *from);
        let column = UP_TO_CELSIUS.iter().position(|up_to| celsius <= *up_to);
        self.rows[row.unwrap_or(0)][column.unwrap_or(UP_TO_CELSIUS.len())]
    }

    /// Nothing beyond fourteen days, and nothing kinder to the fuller or warmer, whatever was typed.
    pub fn tightened(mut self) -> Self {
        for row in 0..self.rows.len() {
            for column in 0..self.rows[row].len() {
                let less_full = row.checked_sub(1).map(|row| self.rows[row][column]);
                let colder = column.checked_sub(1).map(|column| self.rows[row][column]);
                let own = self.rows[row][column].within();
                let beside = [less_full, colder].into_iter().flatten();
                self.rows[row][column] = beside.fold(own, Wait::no_longer_than);
            }
        }
        self
    }
}

impl Wait {
    fn within(self) -> Self {
        let of = |days: i64| days.clamp(*WAIT_DAYS.start(), *WAIT_DAYS.end());
        let limit_days = of(self.limit_days);
        wait(of(self.remind_days).min(limit_days), limit_days)
    }

    fn no_longer_than(self, other: Self) -> Self {
        let limit_days = self.limit_days.min(other.limit_days);
        let remind_days = self.remind_days.min(other.remind_days);
        wait(remind_days.min(limit_days), limit_days)
    }
}

/// What happens to somebody whose own storage care is overdue.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OwnCare {
    Off,
    Warn,
    Refuse,
}

impl OwnCare {
    pub const ALL: [Self; 3] = [Self::Refuse, Self::Warn, Self::Off];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Warn => "warn",
            Self::Refuse => "refuse",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Off => "Lend to them all the same",
            Self::Warn => "Lend, with a warning",
            Self::Refuse => "Lend nothing more until it is done",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct CareRules {
    pub storage: StorageTable,
    /// Volts are read anew after so many days; it presses after more.
    pub recheck_days: i64,
    pub recheck_presses_days: i64,
    /// Told so many days before it may be at its minimum.
    pub fall_days: i64,
    /// Back so long and not put to storage.
    pub back_days: i64,
    /// Lead is topped up after so many days.
    pub lead_days: i64,
    /// After so many days due a quartermaster is chased too, then an organiser.
    pub quartermaster_days: i64,
    pub organiser_days: i64,
    pub own_care: OwnCare,
    /// Their own storage care may be overdue by so many days.
    pub own_care_days: i64,
}

/// Recheck 90 days: a battery maker's storage note (every 3 months). Lead 180: a page reproducing BU-403 (every 6 months).
/// All else: common practice, no source.
impl Default for CareRules {
    fn default() -> Self {
        Self {
            storage: StorageTable::default(),
            recheck_days: 90,
            recheck_presses_days: 120,
            fall_days: 30,
            back_days: 1,
            lead_days: 180,
            quartermaster_days: 3,
            organiser_days: 7,
            own_care: OwnCare::Refuse,
            own_care_days: 7,
        }
    }
}

impl CareRules {
    /// What was typed or stored, within what may be set.
    pub fn tightened(self) -> Self {
        let recheck_days = self.recheck_days.clamp(1, 90);
        let quartermaster_days = self.quartermaster_days.clamp(0, 30);
        Self {
            storage: self.storage.tightened(),
            recheck_days,
            recheck_presses_days: self.recheck_presses_days.clamp(recheck_days, 120),
            fall_days: self.fall_days.clamp(7, 180),
            back_days: self.back_days.clamp(0, 7),
            lead_days: self.lead_days.clamp(30, 180),
            quartermaster_days,
            organiser_days: self.organiser_days.clamp(quartermaster_days, 60),
            own_care: self.own_care,
            own_care_days: self.own_care_days.clamp(0, 30),
        }
    }
}

impl CareRules {
    /// As they are stored.
    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_else(|_| "{}".to_owned())
    }
}

impl TryFrom<String> for CareRules {
    type Error = serde_json::Error;

    /// What is missing is as it starts; what can't be read is an error, never kinder.
    fn try_from(text: String) -> Result<Self, Self::Error> {
        serde_json::from_str(&text)
    }
}

#[cfg(test)]
#[path = "rules_tests.rs"]
mod tests;
