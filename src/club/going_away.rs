//! The club closes for a while: what must be done with each pack before, in order. Nobody looks at a pack meanwhile, so what would fall
//! due while it is closed is done first, and nothing lies full. Days of 24 hours.

use super::calendar::{Day, Instant, Zone, day_words};
use super::care::due::{OnRecord, Reason, due};
use super::care::kept::Band;
use super::care::rules::CareRules;
use super::care::seen::band_now;
use super::place_checks::Check;
use super::states::State;
use super::to_see_to::sentence;

/// The longest that is planned for; from then on packs are read anyway. A battery maker's storage note: every 3 months.
pub const MOST_DAYS: i64 = 90;

/// In the order in which they are done: danger, what takes longest, what only needs a meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    Quarantine,
    /// It charges or discharges now.
    Charging,
    /// Set aside or not known, and here: by its own next act, nothing is connected before.
    NotUsed,
    /// On a loan, or at somebody's home from a storage round.
    Out,
    Discharge,
    Charge,
    ReadVolts,
    /// What stands by at a place is to be checked while nobody is there.
    Checks,
}

impl Step {
    pub const ALL: [Self; 8] = [
        Self::Quarantine,
        Self::Charging,
        Self::NotUsed,
        Self::Out,
        Self::Discharge,
        Self::Charge,
        Self::ReadVolts,
        Self::Checks,
    ];

    /// The word that programs read; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Quarantine => "quarantine",
            Self::Charging => "charging",
            Self::NotUsed => "not_used",
            Self::Out => "out",
            Self::Discharge => "discharge",
            Self::Charge => "charge",
            Self::ReadVolts => "read_volts",
            Self::Checks => "checks",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Quarantine => "See to what is in quarantine",
            Self::Charging => "End what charges",
            Self::NotUsed => "See to what is set aside or not known",
            Self::Out => "Get back what is out, or agree who keeps it",
            Self::Discharge => "Bring down what lies above its band",
            Self::Charge => "Charge what would fall too low",
            Self::ReadVolts => "Read the volts of the rest",
            Self::Checks => "Have checked what falls due meanwhile",
        }
    }

    pub const fn next(self) -> &'static str {
        match self {
            Self::Quarantine => {
                "It does not stay alone for so long: have it disposed of, or released by a second person where its watch allows it."
            }
            Self::Charging => {
                "Nothing charges while nobody is there: end it, and take the pack off."
            }
            Self::NotUsed => {
                "Each by its own next act; until that is done nothing is connected to it."
            }
            Self::Out => {
                "Take it back, read and at storage; or extend the loan, and its holder does the same."
            }
            Self::Discharge => "Bring it to its storage volts, then log them.",
            Self::Charge => "Charge it to its storage volts, lead and NiMH full, then log them.",
            Self::ReadVolts => "Log its volts, rested. Outside of its band: bring it to storage.",
            Self::Checks => {
                "Have it checked before, then note the day of the next check at the place."
            }
        }
    }
}

/// What is to be done with a pack before the club closes, and why. None: nothing.
pub fn before_closing(
    pack: &OnRecord,
    is_out: bool,
    rules: &CareRules,
    (now, until, zone): (Instant, Instant, &Zone),
) -> Option<(Step, String)> {
    if pack.state == State::Quarantine {
        return Some((Step::Quarantine, sentence(&pack.state_why)));
    }
    if pack.state.goes_to_nobody() {
        return None;
    }
    if is_out {
        return Some((Step::Out, "It is not in the club's rooms.".to_owned()));
    }
    if !pack.state.shows_settings() && pack.story.read.is_some() {
        let why = format!("{} {}", sentence(&pack.state_why), pack.state_next);
        return Some((Step::NotUsed, why.trim().to_owned()));
    }
    match band_now(pack) {
        Some(Band::Above) => {
            let why = "It lies above its storage band.".to_owned();
            return Some((Step::Discharge, why));
        }
        None => {
            let why = "Nobody read it since it came back, or ever.".to_owned();
            return Some((Step::ReadVolts, why));
        }
        Some(Band::Under) => {
            let why = "It lies under its storage band.".to_owned();
            return Some((Step::Charge, why));
        }
        Some(Band::In) => {}
    }
    let meanwhile = due(pack, rules, until, zone);
    let of = |reason: &Reason| {
        let low = [Reason::FallsToMinimum, Reason::NotFull, Reason::NickelLow];
        low.contains(reason)
    };
    let reasons: Vec<Reason> = meanwhile.iter().map(|due| due.reason).collect();
    if reasons.iter().any(of) {
        let days = until.days_since(now);
        let why = format!(
            "It may fall too low within the {days} days, or so soon after that it is told then."
        );
        return Some((Step::Charge, why));
    }
    let is_read = [
        Reason::NotLookedAt,
        Reason::FirstCheck,
        Reason::BackNotStored,
    ];
    reasons
        .iter()
        .any(|reason| is_read.contains(reason))
        .then(|| {
            (
                Step::ReadVolts,
                "Its volts would be too old by then, or were never read.".to_owned(),
            )
        })
}

/// A charge that runs: until when it was to be done.
pub fn charging_before(charger: &str, until: Instant, (now, zone): (Instant, &Zone)) -> String {
    let at = format!("{} at {}", zone.date_words(until), zone.time_words(until));
    if until <= now {
        format!("It is on {charger}, past its time: it was to be done by {at}.")
    } else {
        format!("It is on {charger}, to be done by {at}.")
    }
}

/// None: the check is due once somebody is there again, or nobody noted a day.
pub fn check_before(check: Check, due: Option<Day>, until: Day) -> Option<String> {
    let due = due.filter(|due| *due < until)?;
    Some(format!(
        "{} is due to be checked on {}.",
        check.what(),
        day_words(due)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::range::Range;
    use crate::club::care::scenes_tests::*;
    use crate::club::care::story::{Story, What};

    fn told(pack: &OnRecord, is_out: bool, days: i64) -> Option<Step> {
        let rules = CareRules::default();
        let when = (now(), now().plus_days(days), &Zone::utc());
        before_closing(pack, is_out, &rules, when).map(|(step, _)| step)
    }

    #[test]
    fn nothing_lies_full_and_nothing_falls_low_while_nobody_looks() {
        // Six weeks. 3.75 to 3.90 V: common practice, no source; every 3 months: a battery maker's storage note.
        assert_eq!(told(&lipo(read(0, 3_820)), false, 42), None);
        assert_eq!(
            told(&lipo(read(0, 3_950)), false, 42),
            Some(Step::Discharge)
        );
        assert_eq!(told(&lipo(read(0, 3_700)), false, 42), Some(Step::Charge));
        // 52 % at 3.82 V by the Linux kernel's tables, and about 40 % at the least that 3.82 V leaves open: at 35 % a month
        // gone after 34 days, told a month before.
        let mut leaky = lipo(read(0, 3_820));
        leaky.lying.loses_percent_a_month = Some(Range::around(30.0, [25.0, 35.0]));
        assert_eq!(told(&leaky, false, 1), None);
        assert_eq!(told(&leaky, false, 7), Some(Step::Charge));
        assert_eq!(told(&leaky, false, 42), Some(Step::Charge));
        assert_eq!(
            told(&lipo(read(50, 3_820)), false, 42),
            Some(Step::ReadVolts)
        );
        assert_eq!(told(&lipo(read(47, 3_820)), false, 42), None);
        assert_eq!(
            told(&lipo(Story::default()), false, 42),
            Some(Step::ReadVolts)
        );
        let back = read(9, 3_820).then(1, What::CameBack);
        assert_eq!(told(&lipo(back), false, 42), Some(Step::ReadVolts));
    }

    #[test]
    fn danger_comes_first_and_what_is_out_is_asked_for() {
        let swollen = OnRecord {
            state: State::Quarantine,
            ..lipo(read(0, 3_820))
        };
        assert_eq!(told(&swollen, true, 14), Some(Step::Quarantine));
        let torn = OnRecord {
            state: State::SetAside,
            state_why: "Seen: balance plug damaged.".to_owned(),
            state_next: "Don't connect it until a quartermaster has mended it.".to_owned(),
            ..lipo(read(0, 4_180))
        };
        let rules = CareRules::default();
        let when = (now(), now().plus_days(14), &Zone::utc());
        let (step, why) = before_closing(&torn, false, &rules, when).expect("a step");
        assert_eq!(step, Step::NotUsed, "it is not brought down");
        assert!(why.ends_with("Don't connect it until a quartermaster has mended it."));
        assert_eq!(told(&lipo(read(0, 4_180)), true, 14), Some(Step::Out));
        let retired = OnRecord {
            state: State::Retired,
            ..lipo(read(0, 4_180))
        };
        assert_eq!(told(&retired, false, 14), None);
        assert!(Step::ALL.is_sorted());
    }

    #[test]
    fn a_check_that_falls_due_meanwhile_and_a_charge_are_seen_to_before() {
        let day = |text| Day::parse(text).expect("a day");
        let told = |due| check_before(Check::Extinguisher, Some(day(due)), day("2027-01-20"));
        let words = told("2027-01-06").expect("due");
        assert!(
            words.ends_with("is due to be checked on Wed 6 Jan 2027."),
            "{words}"
        );
        assert_eq!(told("2027-01-20"), None);
        assert_eq!(check_before(Check::Detector, None, day("2027-01-20")), None);
        let zone = Zone::utc();
        let charging = |minutes| {
            let until = now().plus_minutes(minutes);
            charging_before("C-01", until, (now(), &zone))
        };
        assert!(charging(-1).starts_with("It is on C-01, past its time: "));
        assert!(charging(30).starts_with("It is on C-01, to be done by "));
    }
}
