//! What needs a person besides packs and loans: kit to mend or to look over, a place over its energy limit, a charge past its time, an
//! open storage round, an action after an incident, danger told of what is no pack of the club. Each is one line of what is to see to. Energy in mWh.

use super::book::story::ActionStands;
use super::calendar::{Day, Instant, Zone};
use super::care::due::Grave;
use super::places::over_by_mwh;
use super::reports::Thing;
use super::to_see_to::{END_ITS_CHARGE, Line, Matter, Pressing};
use super::typed_numbers::counted;
use crate::battery::pack::energy_words;

/// A thing of kit with how many of it are to mend and how many nobody looked over since they came back.
pub struct Kit<'a> {
    pub number: &'a str,
    pub to_mend: i64,
    pub unchecked: i64,
    pub why: &'a str,
    pub since: Instant,
}

/// None where all of it is in order. What is to mend leads: it may be dangerous on a charger or a pack.
pub fn of_kit(kit: &Kit<'_>) -> Option<Line> {
    let line = |matter, why, next: &str| Line {
        matter,
        grave: Grave::ThisWeek,
        since: kit.since,
        number: kit.number.to_owned(),
        why,
        next: next.to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    };
    if kit.to_mend > 0 {
        let why = match kit.why.trim_end_matches('.') {
            "" => format!("{} to mend.", kit.to_mend),
            words => format!("{} to mend: {words}.", kit.to_mend),
        };
        let next = "Mend it, or take it out of the pool.";
        return Some(line(Matter::KitToMend, why, next));
    }
    (kit.unchecked > 0).then(|| {
        let count = counted(kit.unchecked, "came", "came");
        let why = format!("{count} back and nobody looked it over.");
        line(Matter::KitUnchecked, why, "Look it over.")
    })
}

/// None up to its limit. `since`: when the last of what lies there came.
pub fn of_place(
    name: &str,
    (energy_mwh, limit_mwh): (i64, Option<i64>),
    since: Instant,
) -> Option<Line> {
    let over = over_by_mwh(energy_mwh, limit_mwh)?;
    Some(Line {
        matter: Matter::OverFull,
        grave: Grave::Today,
        since,
        number: name.to_owned(),
        why: format!(
            "{} lie at {name}, {} more than its limit.",
            energy_words(energy_mwh),
            energy_words(over)
        ),
        next: "Move packs to another place.".to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    })
}

/// A charge that runs, with the minutes it was planned to take at most, and those after which the charger was to cut off.
pub struct Charge<'a> {
    pub pack: &'a str,
    pub charger: &'a str,
    pub started: Instant,
    pub most_minutes: i64,
    pub cutoff_minutes: i64,
}

/// None in its time. Past what its charger was to cut off at, something is wrong with pack, charger or record: somebody stays
/// with a charge, and charge put back beyond the rated capacity is stopped and flagged (club and charger guides).
pub fn of_charge(charge: &Charge<'_>, (now, zone): (Instant, &Zone)) -> Option<Line> {
    let done = charge.started.plus_minutes(charge.most_minutes);
    if now <= done {
        return None;
    }
    let is_past_cutoff = now > charge.started.plus_minutes(charge.cutoff_minutes);
    let cut_off = match is_past_cutoff {
        true => " Its charger was to cut off before now.",
        false => "",
    };
    Some(Line {
        matter: Matter::ChargePastTime,
        grave: match is_past_cutoff {
            true => Grave::AtOnce,
            false => Grave::Today,
        },
        since: done,
        number: charge.pack.to_owned(),
        why: format!(
            "It charges on {} and was to be done by {} at the latest.{cut_off}",
            charge.charger,
            zone.time_words(done)
        ),
        next: "Go and look at it, then end the charge.".to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    })
}

/// `C-01 was set aside: plug melted.`
pub fn set_aside_words(number: &str, why: &str) -> String {
    match why.trim().trim_end_matches('.') {
        "" => format!("{number} was set aside."),
        words => format!("{number} was set aside: {words}."),
    }
}

/// A charge goes on with kit that somebody set aside meanwhile, each with why: nobody trusts that it ends by itself. `pack`: its number.
pub fn of_bad_kit(pack: &str, kit: &[(&str, &str)], since: Instant) -> Line {
    let each = kit.iter().map(|(number, why)| set_aside_words(number, why));
    let why = each.collect::<Vec<_>>().join(" ");
    Line {
        matter: Matter::KitSetAside,
        grave: Grave::AtOnce,
        since,
        number: pack.to_owned(),
        why,
        next: END_ITS_CHARGE.to_owned(),
        also: Vec::new(),
        pressing: Pressing::OnCharger,
    }
}

/// Danger that was told of a visitor's pack, a charger, a socket: until somebody wrote down whether it was so. `reference`: of the
/// report; `is_now`: it went on as it was told.
pub fn of_danger(reference: &str, thing: Option<Thing>, is_now: bool, came: Instant) -> Line {
    let what = thing.map_or("Something in the hall", Thing::label);
    let why = match is_now {
        true => format!("{what}: going on as it was told, and nobody looked."),
        false => format!("{what}: nobody looked."),
    };
    Line {
        matter: Matter::DangerTold,
        grave: Grave::AtOnce,
        since: came,
        number: format!("Report {reference}"),
        why,
        next: "Look from a distance, and write down whether it was so.".to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    }
}

/// A storage round that is open: what is on it came back and is put to storage today. How many packs are on it, and how many of
/// them nobody read yet.
pub fn of_round(name: &str, (packs, unread): (i64, i64), begun: Instant) -> Line {
    let packs = counted(packs, "pack", "packs");
    let (why, next) = match unread {
        0 => (
            format!("{packs}, each read."),
            "Put to storage what is left, then close the round.",
        ),
        _ => (
            format!("{packs}, {unread} to be read."),
            "Read what is left, put it to storage, close the round.",
        ),
    };
    Line {
        matter: Matter::OpenRound,
        grave: Grave::Today,
        since: begun,
        number: name.to_owned(),
        why,
        next: next.to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    }
}

/// What is to be done after an incident, on its day and from then on: it has a day, and after that one it is late. None: its day has not come, or nothing more is to be done.
pub fn of_action(
    (incident, stands): (&str, ActionStands),
    by: Day,
    (now, zone): (Instant, &Zone),
) -> Option<Line> {
    let late = by.days_until(zone.day_of(now));
    let (why, next) = match stands {
        ActionStands::ToDo => (
            "It was to be done by now.",
            "Do it, and say so in the incident book.",
        ),
        ActionStands::ToLookAt => (
            "It was done. Whether it works is to be looked at.",
            "Look, and write down what you saw.",
        ),
        ActionStands::DidNotWork => ("It was done and did not work.", "Set another action."),
        ActionStands::Worked | ActionStands::Replaced => return None,
    };
    (late >= 0).then(|| Line {
        matter: Matter::IncidentAction,
        grave: Grave::Today,
        since: zone.start_of(by),
        number: incident.to_owned(),
        why: why.to_owned(),
        next: next.to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kit(to_mend: i64, unchecked: i64) -> Option<Line> {
        of_kit(&Kit {
            number: "C-02",
            to_mend,
            unchecked,
            why: "plug melted",
            since: Instant(5),
        })
    }

    #[test]
    fn kit_to_mend_stands_before_kit_to_look_over_and_kit_in_order_nowhere() {
        assert_eq!(kit(0, 0), None);
        let to_mend = kit(1, 1).expect("a line");
        assert_eq!(to_mend.matter, Matter::KitToMend);
        assert_eq!(to_mend.why, "1 to mend: plug melted.");
        let with_a_stop = Kit {
            why: "A pin is bent.",
            number: "A-02",
            to_mend: 1,
            unchecked: 0,
            since: Instant(5),
        };
        let told = of_kit(&with_a_stop).expect("a line");
        assert_eq!(told.why, "1 to mend: A pin is bent.");
        let unchecked = kit(0, 2).expect("a line");
        assert_eq!(unchecked.matter, Matter::KitUnchecked);
        assert_eq!(unchecked.why, "2 came back and nobody looked it over.");
    }

    #[test]
    fn a_place_at_its_limit_is_in_order_and_one_over_it_is_not() {
        let told = |energy| of_place("Cabinet", (energy, Some(500_000)), Instant(5));
        assert_eq!(told(500_000), None);
        assert_eq!(of_place("Cabinet", (i64::MAX, None), Instant(5)), None);
        let over = told(520_000).expect("over");
        assert_eq!(over.grave, Grave::Today);
        assert!(
            over.why.ends_with("20.0 Wh more than its limit."),
            "{}",
            over.why
        );
    }

    #[test]
    fn a_charge_past_its_time_is_looked_at_today_and_one_past_its_cut_off_at_once() {
        let charge = Charge {
            pack: "P-001",
            charger: "C-01",
            started: Instant(0),
            most_minutes: 60,
            cutoff_minutes: 75,
        };
        let after = |minutes| of_charge(&charge, (Instant(0).plus_minutes(minutes), &Zone::utc()));
        assert_eq!(after(60), None);
        let late = after(61).expect("late");
        assert_eq!(late.grave, Grave::Today);
        assert!(
            late.why.contains("done by 01:00 at the latest."),
            "{}",
            late.why
        );
        assert_eq!(after(75).expect("late").grave, Grave::Today);
        assert_eq!(after(76).expect("late").grave, Grave::AtOnce);
    }

    #[test]
    fn a_charge_with_kit_that_was_set_aside_is_stopped_at_once_and_says_why_of_each() {
        let kit = [("C-01", "plug melted."), ("S-01", "")];
        let line = of_bad_kit("P-001", &kit, Instant(5));
        assert_eq!((line.grave, line.number.as_str()), (Grave::AtOnce, "P-001"));
        assert_eq!(
            line.why,
            "C-01 was set aside: plug melted. S-01 was set aside."
        );
        assert!(line.next.contains("at the mains or the supply"));
    }

    #[test]
    fn an_action_after_an_incident_is_seen_to_on_its_day() {
        let zone = Zone::named("Europe/London").expect("a zone");
        let day = Day::parse("2026-12-01").expect("a day");
        let told = |stands, days: i64| {
            let now = zone.start_of(day).plus_days(days);
            of_action(("I-001", stands), day, (now, &zone)).map(|line| (line.number, line.grave))
        };
        let number = || "I-001".to_owned();
        assert_eq!(told(ActionStands::ToDo, -1), None);
        assert_eq!(told(ActionStands::ToDo, 0), Some((number(), Grave::Today)));
        assert_eq!(
            told(ActionStands::ToLookAt, 7),
            Some((number(), Grave::Today))
        );
        assert_eq!(
            told(ActionStands::DidNotWork, 8),
            Some((number(), Grave::Today))
        );
        for done in [ActionStands::Worked, ActionStands::Replaced] {
            assert_eq!(told(done, 8), None);
        }
    }
}
