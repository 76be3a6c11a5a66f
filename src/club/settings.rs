//! What a club may set, and how far: loan length, and the limits of `club::limits`, which may only be tighter than they
//! start. Hard stops are not settings.

use super::calendar::Zone;
use super::limits::{ClubLimits, LIMITS, Limit};
use crate::bench::kit::KitKind;
use crate::bench::typed::Words;

pub const LOAN_DAYS_LONGEST: i64 = 90;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    pub name: String,
    pub time_zone: String,
    pub pack_prefix: String,
    pub loan_days: i64,
    pub limits: ClubLimits,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SettingRefusal {
    #[error("Give the club a name of 2 to 80 characters.")]
    Name,
    #[error("There is no such time zone. Write it like Europe/London.")]
    TimeZone,
    #[error("Use 1 to 4 letters, like P.")]
    Prefix,
    #[error("Kit has that letter: its numbers and those of packs must not read alike.")]
    PrefixOfKit,
    #[error("A loan lasts 1 to {LOAN_DAYS_LONGEST} days.")]
    LoanDays,
    #[error("Choose {} {} {}. A club may be stricter than the start, not looser.", words(.code, *.lowest), if *.step > 1 { "or" } else { "to" }, words(.code, *.highest))]
    Limit {
        code: &'static str,
        lowest: i64,
        highest: i64,
        step: i64,
    },
}

impl SettingRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::TimeZone => "time_zone",
            Self::Prefix | Self::PrefixOfKit => "pack_prefix",
            Self::LoanDays => "loan_days",
            Self::Limit { code, .. } => code,
        }
    }
}

fn words(code: &str, value: i64) -> String {
    let limit = LIMITS.iter().find(|limit| limit.code == code);
    limit.map_or_else(
        || value.to_string(),
        |limit| limit.words(value, Words::POINT),
    )
}

/// All that is wrong, in the order of the form.
pub fn check(wanted: &Settings) -> Vec<SettingRefusal> {
    let name_length = wanted.name.chars().count();
    let prefix = &wanted.pack_prefix;
    let is_prefix =
        (1..=4).contains(&prefix.len()) && prefix.bytes().all(|b| b.is_ascii_uppercase());
    let rules = [
        ((2..=80).contains(&name_length), SettingRefusal::Name),
        (
            Zone::named(&wanted.time_zone).is_some(),
            SettingRefusal::TimeZone,
        ),
        (is_prefix, SettingRefusal::Prefix),
        (!is_of_kit(prefix), SettingRefusal::PrefixOfKit),
        (
            (1..=LOAN_DAYS_LONGEST).contains(&wanted.loan_days),
            SettingRefusal::LoanDays,
        ),
    ];
    let broken = rules
        .into_iter()
        .filter_map(|(holds, refusal)| (!holds).then_some(refusal));
    broken.chain(too_loose(wanted.limits)).collect()
}

fn is_of_kit(prefix: &str) -> bool {
    let mut of_kit = KitKind::ALL.into_iter().map(KitKind::number_prefix);
    of_kit.any(|other| other.trim_end_matches('-') == prefix)
}

fn too_loose(mut limits: ClubLimits) -> Vec<SettingRefusal> {
    let refusal = |limit: &Limit| {
        let value = *(limit.of)(&mut limits);
        // A pack is not set aside at a spread that is not yet a caution, nor charged slower in haste than usual.
        let lowest = limit.lowest_in(&limits);
        (value < lowest || !limit.allows(value)).then_some(SettingRefusal::Limit {
            code: limit.code,
            lowest,
            highest: limit.highest,
            step: limit.step,
        })
    };
    LIMITS.iter().filter_map(refusal).collect()
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
            limits: ClubLimits::default(),
        }
    }

    fn fields(wanted: &Settings) -> Vec<&'static str> {
        check(wanted).iter().map(SettingRefusal::field).collect()
    }

    #[test]
    fn limits_may_be_tightened_and_never_loosened() {
        assert_eq!(check(&hard()), vec![]);
        for limit in &LIMITS {
            let with = |value: i64| {
                let mut wanted = hard();
                // As low as they go, so that none keeps another up.
                for other in LIMITS.iter().filter(|other| other.not_under.is_none()) {
                    *(other.of)(&mut wanted.limits) = other.lowest;
                }
                *(limit.of)(&mut wanted.limits) = value;
                fields(&wanted)
            };
            assert_eq!(with(limit.lowest), Vec::<&str>::new(), "{}", limit.code);
            assert_eq!(with(limit.highest), Vec::<&str>::new(), "{}", limit.code);
            assert_eq!(with(limit.lowest - 1), [limit.code]);
            assert_eq!(with(limit.highest + 1), [limit.code]);
        }
    }

    #[test]
    fn a_pack_is_not_set_aside_at_a_spread_that_is_not_yet_a_caution() {
        let mut crossed = hard();
        crossed.limits.spread_watch_mv = 25;
        crossed.limits.spread_wide_mv = 20;
        assert_eq!(fields(&crossed), ["spread_wide_mv"]);
        assert_eq!(
            check(&crossed)[0].to_string(),
            "Choose 25 to 100. A club may be stricter than the start, not looser."
        );
    }

    #[test]
    fn in_haste_no_chemistry_is_charged_slower_than_usual() {
        let mut crossed = hard();
        crossed.limits.charge_liion_c_tenths = 4;
        crossed.limits.charge_liion_most_c_tenths = 3;
        assert_eq!(fields(&crossed), ["charge_liion_most_c_tenths"]);
        assert_eq!(
            check(&crossed)[0].to_string(),
            "Choose 0.4 to 1. A club may be stricter than the start, not looser."
        );
        crossed.limits.charge_liion_most_c_tenths = 4;
        assert_eq!(check(&crossed), vec![]);
    }

    #[test]
    fn a_rest_between_what_a_reading_can_say_is_refused_and_stored_it_counts_as_the_longer() {
        let mut between = hard();
        between.limits.rest_minutes = 30;
        assert_eq!(
            check(&between)[0].to_string(),
            "Choose 15 or 60. A club may be stricter than the start, not looser."
        );
        assert_eq!(between.limits.tightened().rest_minutes, 60);
    }

    #[test]
    fn packs_and_kit_never_read_alike() {
        for (prefix, wrong) in [("A", 1), ("C", 1), ("P", 0), ("AB", 0)] {
            let named = Settings {
                pack_prefix: prefix.to_owned(),
                ..hard()
            };
            assert_eq!(fields(&named).len(), wrong, "{prefix}");
        }
    }

    #[test]
    fn a_club_lies_in_a_time_zone_that_exists_and_its_prefix_is_letters() {
        let odd = Settings {
            time_zone: "Millrace/Hall".to_owned(),
            pack_prefix: "P-".to_owned(),
            loan_days: 0,
            ..hard()
        };
        assert_eq!(fields(&odd), ["time_zone", "pack_prefix", "loan_days"]);
    }
}
