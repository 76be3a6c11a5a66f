//! Danger that somebody reported, or found on a pack, is told at once to those who run the pool or oversee it, whatever the hour, and to
//! whoever stays with a charge of it; they are told too where what charges it was set aside. A flood of reports makes no flood of
//! messages: what comes in the quarter of an hour after one went goes together with the next.

use super::Kind;
use super::decide::Reminder;
use super::facts::Person;
use super::letter::Part;
use crate::battery::volts::{self, Volts};
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::reports::Thing;
use crate::club::seen::Seen;
use crate::club::to_see_to::END_ITS_CHARGE;
use crate::club::verdict::{Gravity, Rule};
use uuid::Uuid;

/// Common practice, no source: an inbox that fills by the second is read by nobody.
pub const QUARTER_MINUTES: i64 = 15;

/// Danger that nobody was told of yet.
#[derive(Clone, Debug)]
pub struct Danger {
    /// Of the report, the finding or the charge.
    pub id: Uuid,
    pub what: What,
    /// What was seen, in words that name nobody; empty: nothing was said.
    pub told: String,
    pub lies: Lies,
    /// When it came, or was found.
    pub at: Instant,
    /// Who told or found it knows of it.
    pub by: Option<Uuid>,
    /// The charge that runs on the pack, and who stays with it.
    pub charge: Option<(Uuid, Uuid)>,
}

/// Where it is, as far as that is on record.
#[derive(Clone, Debug, Default)]
pub struct Lies {
    /// By which it was told.
    pub poster: Option<String>,
    pub place: Option<String>,
    /// Somebody has it, who is not named.
    pub is_out: bool,
}

impl Lies {
    fn words(&self) -> String {
        match (&self.poster, &self.place) {
            (Some(poster), _) => format!("It was told by the poster “{poster}”."),
            _ if self.is_out => "It is out, on a loan or at home.".to_owned(),
            (_, Some(place)) => format!("On record it is at {place}."),
            _ => String::new(),
        }
    }
}

/// What somebody ticked; own words stand on its page alone, since they may name somebody.
pub fn reported_words(
    seen: &[Seen],
    thing: Option<Thing>,
    volts: Option<&Volts>,
    is_now: bool,
) -> String {
    let seen: Vec<&str> = seen.iter().map(|each| each.label()).collect();
    let all = [
        thing.map_or_else(String::new, |thing| format!("{}.", thing.label())),
        match seen.join("; ") {
            seen if seen.is_empty() => seen,
            seen => format!("Seen: {seen}."),
        },
        volts.map_or_else(String::new, |volts| {
            format!("Volts: {}.", volts::words(volts))
        }),
        if is_now {
            "It was happening as it was told.".to_owned()
        } else {
            String::new()
        },
    ];
    spaced(&all)
}

/// Between two findings: a separator that no keyboard types.
const BETWEEN: char = '\u{1e}';

/// `lines`: of each finding its rule and its words. Those of a reading are ours; what a person wrote stands on the page alone.
pub fn found_words(lines: &str) -> String {
    let told = |line: &str| {
        let (rule, words) = line.split_once(' ')?;
        Some(match Rule::from_code(rule)? {
            Rule::Seen(seen) => format!("Seen: {}.", seen.label()),
            Rule::ReportedUnlooked => "Somebody not signed in reported it.".to_owned(),
            _ => words.to_owned(),
        })
    };
    let all: Vec<String> = lines.split(BETWEEN).filter_map(told).collect();
    spaced(&all)
}

fn spaced(all: &[String]) -> String {
    let said: Vec<&str> = all.iter().map(String::as_str).collect();
    let said = said.into_iter().filter(|words| !words.is_empty());
    said.collect::<Vec<_>>().join(" ")
}

#[derive(Clone, Debug)]
pub enum What {
    Reported {
        reference: String,
        pack: Option<String>,
    },
    /// As a pack was taken back, looked at or read.
    Found { pack: String },
    /// What charges a pack, feeds that or wires it: whoever stays with the charge is to stop it.
    KitSetAside { pack: String, kit: String },
}

impl What {
    fn title(&self) -> String {
        match self {
            Self::Reported {
                pack: Some(pack), ..
            } => format!("{pack}: danger reported"),
            Self::Reported { pack: None, .. } => "Danger reported".to_owned(),
            Self::Found { pack } => format!("{pack}: danger found"),
            Self::KitSetAside { pack, kit } => format!("{pack}: charges with {kit}, set aside"),
        }
    }
}

/// Whether a danger that is found on a pack is told: unless the same, as grave, stands against it already. `open`: rule and gravity
/// of what does.
pub fn is_to_tell<'a>(
    (rule, gravity): (&str, Gravity),
    mut open: impl Iterator<Item = (&'a str, Gravity)>,
) -> bool {
    gravity >= Gravity::Danger && !open.any(|known| known.0 == rule && known.1 >= gravity)
}

const REPORTS: &str = "/reports";
const CHARGES: &str = "/charges";

/// The page that a phone opens for what is told together.
pub fn page(parts: &[Part]) -> &'static str {
    let all_below = |page: &&str| {
        let mut lines = parts.iter().flat_map(|part| &part.lines);
        lines.all(|line| line.href.starts_with(*page))
    };
    let known = [REPORTS, CHARGES].into_iter().find(all_below);
    known.unwrap_or("/to-see-to")
}

/// Of a pack its number, what was seen, and where it is, and nobody's name. What is found on a pack by one act is one danger. Who stays with a
/// charge of it is told what to do there.
pub fn reminders(danger: &Danger, people: &[Person], zone: &Zone) -> Vec<Reminder> {
    let due_on: Day = zone.day_of(danger.at);
    let (thing, why, href) = told(danger, zone);
    let who = people.iter().filter(|person| is_told(danger, person));
    let told = who.map(|person| {
        let stays = danger.charge.filter(|(_, stays)| *stays == person.id);
        Reminder {
            person: person.id,
            kind: Kind::DangerReported,
            reason: "danger_reported",
            thing: thing.clone(),
            due_on,
            is_must: false,
            title: danger.what.title(),
            why: match stays {
                Some(_) => format!("{why} You stay with its charge."),
                None => why.clone(),
            },
            next: match stays {
                Some(_) => END_ITS_CHARGE,
                None => "Read it now, and make sure that nobody is near the pack.",
            }
            .to_owned(),
            href: stays.map_or_else(|| href.clone(), |(charge, _)| format!("{CHARGES}/{charge}")),
        }
    });
    told.collect()
}

/// Those who run the pool or oversee it, and who stays with a charge of the pack: they alone where it is the kit.
fn is_told(danger: &Danger, person: &Person) -> bool {
    let runs = person.roles.is_quartermaster || person.roles.is_organiser;
    let stays = danger.charge.is_some_and(|(_, stays)| stays == person.id);
    let is_of_kit = matches!(danger.what, What::KitSetAside { .. });
    person.is_active && Some(person.id) != danger.by && (stays || runs && !is_of_kit)
}

/// What a reminder is known by, why, and where it is seen.
fn told(danger: &Danger, zone: &Zone) -> (String, String, String) {
    let (seen, lies) = (&danger.told, danger.lies.words());
    let when = format!(
        "on {} at {}.",
        zone.date_words(danger.at),
        zone.time_words(danger.at)
    );
    let (thing, why, href) = match &danger.what {
        What::Reported { reference, .. } => (
            format!("report:{}", danger.id),
            format!("Report {reference} arrived {when}"),
            format!("{REPORTS}/{}", danger.id),
        ),
        What::Found { pack } => (
            format!("found:{pack}:{}", danger.at.ms()),
            format!("It was found {when}"),
            format!("/packs/{pack}"),
        ),
        What::KitSetAside { kit, .. } => (
            format!("stop:{}:{kit}:{}", danger.id, danger.at.ms()),
            format!("{kit} was set aside {when}"),
            format!("{CHARGES}/{}", danger.id),
        ),
    };
    (thing, spaced(&[why, seen.clone(), lies]), href)
}

/// The latest of these messages to somebody, by whichever ways.
#[derive(Clone, Debug)]
pub struct Latest {
    /// What its reminders know it by.
    pub key: String,
    /// When it goes, or went.
    pub goes: Instant,
    /// Nobody has begun to send it by any way.
    pub is_untouched: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Goes {
    /// With the one that waits already, by its key, and when that goes.
    Along(String, Instant),
    At(Instant),
}

/// By which message a danger goes that is told now.
pub fn goes(latest: Option<Latest>, now: Instant) -> Goes {
    let Some(latest) = latest else {
        return Goes::At(now);
    };
    let next = latest.goes.plus_minutes(QUARTER_MINUTES);
    // A clock that was set back must not hold it.
    let is_near = latest.goes <= now.plus_minutes(QUARTER_MINUTES);
    if !is_near || next <= now {
        Goes::At(now)
    } else if latest.is_untouched {
        Goes::Along(latest.key, latest.goes)
    } else {
        Goes::At(next)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_danger_is_told_once_and_a_graver_or_another_one_again() {
        let stood = [
            ("swollen", Gravity::FinalDanger),
            ("over_discharged", Gravity::Danger),
        ];
        let told = |rule, gravity| is_to_tell((rule, gravity), stood.into_iter());
        assert!(!told("swollen", Gravity::Danger));
        assert!(!told("over_discharged", Gravity::Danger));
        assert!(told("over_discharged", Gravity::FinalDanger));
        assert!(told("leak", Gravity::Danger));
        assert!(!told("wrap_torn", Gravity::ToMend));
    }

    #[test]
    fn what_somebody_wrote_stands_in_no_message_and_what_was_ticked_and_read_does() {
        let found = "swollen Seen: Swollen or puffed.\u{1e}something_else Seen: Ada\nwet dropped it\u{1e}\
            over_discharged Cell 2 is at 2.41 V.\u{1e}reported_unlooked by somebody not signed in: Ada.";
        assert_eq!(
            found_words(found),
            "Seen: Swollen or puffed. Seen: Something else. Cell 2 is at 2.41 V. Somebody not signed in reported it."
        );
        let seen = [Seen::Wet, Seen::SomethingElse];
        let volts = Volts::Cells(vec![3_290, 1_700]);
        assert_eq!(
            reported_words(&seen, Some(Thing::Charger), Some(&volts), true),
            "A charger or power supply. Seen: Wet; Something else. Volts: 3.29 1.70. It was happening as it was told."
        );
        assert_eq!(reported_words(&[], None, None, false), "");
        let lies = |place: Option<&str>, is_out| {
            let place = place.map(str::to_owned);
            let lies = Lies {
                poster: None,
                place,
                is_out,
            };
            lies.words()
        };
        assert_eq!(lies(Some("Box A"), false), "On record it is at Box A.");
        assert_eq!(
            lies(Some("Box A"), true),
            "It is out, on a loan or at home."
        );
        assert_eq!(lies(None, false), "");
    }

    #[test]
    fn the_first_goes_now_and_what_follows_within_a_quarter_of_an_hour_goes_together() {
        let at = |minutes: i64| Instant(0).plus_minutes(minutes);
        let along = || Goes::Along("earlier".to_owned(), at(15));
        let latest = |goes, is_untouched| {
            Some(Latest {
                key: "earlier".to_owned(),
                goes: at(goes),
                is_untouched,
            })
        };
        assert_eq!(goes(None, at(0)), Goes::At(at(0)));
        assert_eq!(goes(latest(0, false), at(1)), Goes::At(at(15)));
        assert_eq!(goes(latest(15, true), at(2)), along());
        assert_eq!(goes(latest(15, true), at(14)), along());
        assert_eq!(goes(latest(15, false), at(16)), Goes::At(at(30)));
        assert_eq!(goes(latest(15, false), at(30)), Goes::At(at(30)));
        assert_eq!(goes(latest(15, false), at(31)), Goes::At(at(31)));
        assert_eq!(
            goes(latest(115, true), at(0)),
            Goes::At(at(0)),
            "the clock was set back"
        );
    }
}
