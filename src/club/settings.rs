//! What a club may set, and how far: loan length, and limits that may only be tighter than the hard values of
//! `verdict::ClubLimits`. Hard stops are not settings. mV and days.

use super::calendar::Zone;
use super::verdict::ClubLimits;

pub const LOAN_DAYS_LONGEST: i64 = 90;
/// Tighter than this no pack and no meter could meet it.
pub const SPREAD_TIGHTEST_MV: i64 = 5;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    pub name: String,
    pub time_zone: String,
    pub pack_prefix: String,
    pub loan_days: i64,
    pub reading_days: i64,
    pub spread_watch_mv: i64,
    pub spread_wide_mv: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SettingRefusal {
    #[error("Give the club a name of 2 to 80 characters.")]
    Name,
    #[error("There is no such time zone. Write it like Europe/London.")]
    TimeZone,
    #[error("Use 1 to 4 letters, like P.")]
    Prefix,
    #[error("A loan lasts 1 to {LOAN_DAYS_LONGEST} days.")]
    LoanDays,
    #[error("1 to {longest} days: a reading is never good for longer.")]
    ReadingDays { longest: i64 },
    #[error("{SPREAD_TIGHTEST_MV} to {widest} mV: tighter is allowed, looser is not.")]
    SpreadWatch { widest: i64 },
    #[error("{SPREAD_TIGHTEST_MV} to {widest} mV, and not under the limit for a caution.")]
    SpreadWide { widest: i64 },
}

impl SettingRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::TimeZone => "time_zone",
            Self::Prefix => "pack_prefix",
            Self::LoanDays => "loan_days",
            Self::ReadingDays { .. } => "reading_days",
            Self::SpreadWatch { .. } => "spread_watch_mv",
            Self::SpreadWide { .. } => "spread_wide_mv",
        }
    }
}

/// All that is wrong, in the order of the form.
pub fn check(wanted: &Settings) -> Vec<SettingRefusal> {
    let loosest = ClubLimits::default();
    let name_length = wanted.name.chars().count();
    let prefix = &wanted.pack_prefix;
    let is_prefix =
        (1..=4).contains(&prefix.len()) && prefix.bytes().all(|b| b.is_ascii_uppercase());
    let days = loosest.not_known_after_days;
    let watch = loosest.spread_watch_mv;
    let wide = loosest.spread_wide_mv;
    let lowest_wide = wanted.spread_watch_mv.max(SPREAD_TIGHTEST_MV);
    let rules = [
        ((2..=80).contains(&name_length), SettingRefusal::Name),
        (
            Zone::named(&wanted.time_zone).is_some(),
            SettingRefusal::TimeZone,
        ),
        (is_prefix, SettingRefusal::Prefix),
        (
            (1..=LOAN_DAYS_LONGEST).contains(&wanted.loan_days),
            SettingRefusal::LoanDays,
        ),
        (
            (1..=days).contains(&wanted.reading_days),
            SettingRefusal::ReadingDays { longest: days },
        ),
        (
            (SPREAD_TIGHTEST_MV..=watch).contains(&wanted.spread_watch_mv),
            SettingRefusal::SpreadWatch { widest: watch },
        ),
        (
            (lowest_wide..=wide).contains(&wanted.spread_wide_mv),
            SettingRefusal::SpreadWide { widest: wide },
        ),
    ];
    rules
        .into_iter()
        .filter_map(|(holds, refusal)| (!holds).then_some(refusal))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hard() -> Settings {
        Settings {
            name: "Millrace Robotics Club".to_owned(),
            time_zone: "Europe/London".to_owned(),
            pack_prefix: "P".to_owned(),
            loan_days: 7,
            reading_days: 90,
            spread_watch_mv: 30,
            spread_wide_mv: 100,
        }
    }

    #[test]
    fn limits_may_be_tightened_and_never_loosened() {
        assert_eq!(check(&hard()), vec![]);
        let tight = Settings {
            reading_days: 30,
            spread_watch_mv: 10,
            spread_wide_mv: 40,
            ..hard()
        };
        assert_eq!(check(&tight), vec![]);
        let loose = Settings {
            reading_days: 91,
            spread_watch_mv: 31,
            spread_wide_mv: 101,
            ..hard()
        };
        assert_eq!(
            check(&loose),
            vec![
                SettingRefusal::ReadingDays { longest: 90 },
                SettingRefusal::SpreadWatch { widest: 30 },
                SettingRefusal::SpreadWide { widest: 100 },
            ]
        );
    }

    #[test]
    fn a_pack_is_not_set_aside_at_a_spread_that_is_not_yet_a_caution() {
        let crossed = Settings {
            spread_watch_mv: 25,
            spread_wide_mv: 20,
            ..hard()
        };
        assert_eq!(
            check(&crossed),
            vec![SettingRefusal::SpreadWide { widest: 100 }]
        );
    }

    #[test]
    fn a_club_lies_in_a_time_zone_that_exists_and_its_prefix_is_letters() {
        let odd = Settings {
            time_zone: "Millrace/Hall".to_owned(),
            pack_prefix: "P-".to_owned(),
            loan_days: 0,
            ..hard()
        };
        assert_eq!(
            check(&odd),
            vec![
                SettingRefusal::TimeZone,
                SettingRefusal::Prefix,
                SettingRefusal::LoanDays
            ]
        );
    }
}
