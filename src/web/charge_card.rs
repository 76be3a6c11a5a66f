//! One plan as a page shows it: the card to charge by, the other chargers that do it, and packs that could go instead.

use crate::battery::chemistry::Chemistry;
use crate::battery::volts;
use crate::bench::plan::{Answer, Asked, Plan, Purpose, Told, plan, soonest};
use crate::bench::typed::Words;
use crate::club::calendar::Instant;
use crate::club::states::State;
use crate::store::charges::ToCharge;
use crate::store::charging_kit::ChargingKit;
use crate::store::packs::PackView;
use crate::web::charge_asked::Form;
use crate::web::charge_shown::kept_words;
use crate::web::visit::SignedIn;
use crate::web::words::{clock, past};

/// `, by its volts of 18:05: 3.82 3.81 3.82 V`: what a card reckons from. Empty: none were read.
pub(super) fn by_volts(who: &SignedIn, pack: &PackView) -> String {
    let (Some(volts), Some(at)) = (pack.volts(), pack.last_read_ms) else {
        return String::new();
    };
    let read = who.numbers().sentence(&volts::words(&volts));
    let time = who.zone.time_words(at);
    let day = if who.zone.day_of(at) == who.zone.day_of(who.now) {
        String::new()
    } else {
        format!("{}, ", who.zone.date_words(at))
    };
    format!(", by its volts of {day}{time}: {read} V")
}

/// One plan to charge by.
pub(super) struct Card {
    pub(super) title: String,
    /// `38 minutes from now.`
    pub(super) from_now: String,
    pub(super) told: Told,
    pub(super) charger: String,
    pub(super) current_ma: i64,
    pub(super) mode: &'static str,
    /// As the form carries them on.
    pub(super) carried: Vec<(&'static str, String)>,
    pub(super) stays: String,
    /// `Full at`, `Ends at`
    pub(super) ends: &'static str,
    pub(super) is_late: bool,
    /// In how long one could be ready, where none is in time.
    pub(super) quickest: String,
    pub(super) plan: String,
    /// Somebody is there until it ends.
    pub(super) may_run: bool,
    /// To full at about 1C, of which rules of thumb speak.
    pub(super) is_near_one_c: bool,
    pub(super) stop_if: &'static str,
    /// What is said against the pack, or differs for it, wherever a card of it is shown.
    pub(super) of_pack: Vec<String>,
    /// The same as a form for the wall.
    pub(super) on_paper: String,
    /// As it is kept for the incident book; empty where no settings are shown.
    pub(super) kept: String,
}

/// Said in place of its settings.
pub(super) const NOBODY_THERE: &str = "Nobody would be there when it ends, so it is not started, and no settings are shown: ask again with more time.";

/// Another charger that does it.
pub(super) struct Other {
    pub(super) address: String,
    pub(super) charger: String,
    pub(super) words: String,
}

/// Packs of the same design, where this one is not ready in time.
#[derive(Default)]
pub(super) struct Instead {
    pub(super) ready: Vec<String>,
    pub(super) could_be: Vec<String>,
}

pub(super) fn card(
    who: &SignedIn,
    plan: &Plan,
    (asked, kit): (&Asked, &ChargingKit),
    (form, one): (&Form, &ToCharge),
) -> Card {
    let (numbers, number) = (who.numbers(), &one.pack.number);
    let build = &asked.pack.build;
    let minutes = asked.within_minutes();
    let (title, from_now) = match asked.purpose {
        Purpose::ReadyBy { .. } if !plan.is_in_time => {
            (format!("Not ready by {}", form.at), "from now")
        }
        Purpose::ReadyBy { .. } => (format!("Ready by {}", form.at), "from now"),
        Purpose::NoHurry { .. } if !plan.is_in_time => {
            (format!("Not full before {}", form.at), "somebody is there")
        }
        Purpose::NoHurry { .. } => (format!("Full before {}", form.at), "somebody is there"),
        Purpose::Storage | Purpose::Empty if !plan.is_in_time => {
            (format!("Not done by {}", form.at), "somebody is there")
        }
        Purpose::Storage => ("Bring it to storage".to_owned(), "somebody is there"),
        Purpose::Empty => ("Empty it".to_owned(), "somebody is there"),
    };
    Card {
        title,
        from_now: minutes.map_or_else(String::new, |minutes| {
            format!("{} {from_now}. ", long(minutes))
        }),
        told: Told::of(plan, build, &kit.hand, numbers),
        charger: plan.charger.number.clone(),
        current_ma: plan.current_ma,
        mode: plan.mode.code(),
        carried: form.carried(minutes, who.now),
        stays: long(plan.course.most_minutes),
        ends: if plan.target_cell_mv == asked.pack.limits.full_mv {
            "Full at"
        } else {
            "Ends at"
        },
        is_late: !plan.is_in_time,
        quickest: soonest(asked, &kit.hand).map_or_else(String::new, |minutes| {
            let at = clock(time_to_ask_for(who.now, minutes), who.now, &who.zone);
            format!("{}: ask again for {}", long(minutes), at.words)
        }),
        plan: plan.as_one_text(),
        may_run: plan.is_attended(asked.purpose),
        is_near_one_c: plan.target_cell_mv == asked.pack.limits.full_mv
            && (8_000..=12_000).contains(&plan.c_ten_thousandths),
        stop_if: stop_if(build.chemistry),
        of_pack: of_pack(who, one),
        on_paper: form.on_paper(number, &plan.charger.number),
        kept: if plan.is_attended(asked.purpose) {
            kept_words(&form.purpose, plan, (build, &kit.hand))
        } else {
            String::new()
        },
    }
}

/// A round time by which what takes so long is still in time, asked for a few minutes from now.
fn time_to_ask_for(now: Instant, minutes: i64) -> Instant {
    const FIVE_MINUTES_MS: i64 = 5 * 60_000;
    const TO_READ_AND_TYPE: i64 = 3;
    let least = now.plus_minutes(minutes + TO_READ_AND_TYPE).ms();
    Instant((least + FIVE_MINUTES_MS - 1).div_euclid(FIVE_MINUTES_MS) * FIVE_MINUTES_MS)
}

/// What is said against a pack that may be charged all the same, and what differs where somebody has it at home.
pub(super) fn of_pack(who: &SignedIn, one: &ToCharge) -> Vec<String> {
    let both = [caution(who, one), at_home(&one.pack).to_owned()];
    both.into_iter().filter(|each| !each.is_empty()).collect()
}

fn caution(who: &SignedIn, one: &ToCharge) -> String {
    let state = one.pack.state_at(who.now, who.club.limits().reading_days);
    if state != State::Caution {
        return String::new();
    }
    let said = format!("{} {}", one.pack.state_words, one.pack.state_next);
    format!("Caution: {}", who.numbers().sentence(said.trim()))
}

/// What differs where somebody has it at home; empty where nobody has.
pub(super) fn at_home(pack: &PackView) -> &'static str {
    if pack.is_at_home() {
        "It is at home: the club's chargers, supplies and adapters named here are not there. With any other charger this card does not \
         hold: ask a quartermaster. Somebody who may charge stays with it there too, until it ends."
    } else {
        ""
    }
}

/// What is done where stopping it is not safe any more.
pub const GET_AWAY: &str = "Hot, hissing, smoking or still swelling: get away and call the fire service. Switch it off only on your way out.";

pub(super) const fn stop_if(chemistry: Chemistry) -> &'static str {
    if chemistry.is_lithium() {
        "it swells, smells, gets warm, or you must go"
    } else {
        "it gets hot, leaks, smells, or you must go"
    }
}

/// `1 h 20 min`, `38 minutes`
pub(super) fn long(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, 1) => "1 minute".to_owned(),
        (0, minutes) => format!("{minutes} minutes"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

pub(super) fn other(who: &SignedIn, plan: &Plan, form: &Form, number: &str) -> Other {
    let numbers: Words = who.numbers();
    let late = if plan.is_in_time { "" } else { ", not in time" };
    let quick = if plan.is_balanced {
        ""
    } else {
        ", without balance"
    };
    Other {
        address: form.address(number, &plan.charger.number),
        charger: plan.charger.number.clone(),
        words: format!(
            "{}, up to {}{late}{quick}",
            numbers.amps(plan.current_ma),
            long(plan.course.most_minutes)
        ),
    }
}

/// A pack within 50 mV a cell of full is ready: it has 95 % or more by the built-in curves.
const READY_WITHIN_MV: i64 = 50;

pub(super) fn instead(who: &SignedIn, kit: &ChargingKit, asked: &Asked, number: &str) -> Instead {
    let cells = asked.pack.build.cells_series.max(1);
    let mut instead = Instead::default();
    for sister in kit.sisters.iter().filter(|sister| sister.number != number) {
        if who.now.minutes_since(sister.read) > crate::club::charging::VOLTS_GOOD_FOR_HOURS * 60 {
            continue;
        }
        let spoilt = sister
            .at_event
            .and_then(|event| event.spoils(sister.read, who.now));
        if spoilt.is_some() {
            continue;
        }
        if sister.volts.total_mv() / cells >= asked.pack.limits.full_mv - READY_WITHIN_MV {
            instead.ready.push(sister.number.clone());
            continue;
        }
        let mut its = asked.clone();
        its.pack.volts = sister.volts.clone();
        its.pack.resistance_ohm = None;
        // Whether it owes a balance is not asked here: its own card does.
        its.pack.owes_balance = false;
        its.pack.rested_minutes = sister.rested_minutes;
        its.pack.is_spread_known = sister.rested_minutes >= who.club.limits().rest_minutes;
        let is_from_use = sister.rested_minutes == 0;
        its.pack.from_use_minutes = is_from_use.then(|| who.now.minutes_since(sister.read));
        its.warmth.pack_is_measured = false;
        if let Answer::Plans { plans, .. } = plan(&its, &kit.hand)
            && plans.first().is_some_and(|best| best.is_in_time)
        {
            instead.could_be.push(sister.number.clone());
        }
    }
    instead
}

/// Which resistance its time is reckoned with; empty where no resistance counts.
pub(super) fn reckoned(who: &SignedIn, one: &ToCharge) -> String {
    if !one.pack.build().chemistry.is_lithium() {
        return String::new();
    }
    let Some(measured) = one.measured() else {
        return "Its time is reckoned with a resistance that is typical of its kind. One read at 10 to 35 °C and more than half full counts instead.".to_owned();
    };
    let when = past(measured.at, who.now, &who.zone).words;
    let milliohm = measured.ohm * 1_000.0;
    let words = who.numbers().sentence(&format!("{milliohm:.1} mΩ a cell"));
    format!("Its time is reckoned with the resistance measured {when}: {words} at 25 °C.")
}

pub(super) fn purpose_words(code: &str) -> &'static str {
    match code {
        "ready_by" => "to be ready in time",
        "no_hurry" => "without hurry",
        "storage" => "for storage",
        _ => "to empty it",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::actions::charging::{PURPOSES, purpose_code};

    #[test]
    fn minutes_are_told_as_people_say_them() {
        let told = [1, 38, 60, 95].map(long);
        assert_eq!(told, ["1 minute", "38 minutes", "1 h", "1 h 35 min"]);
        let purposes = [
            Purpose::ReadyBy { minutes: 1 },
            Purpose::NoHurry { there_minutes: 1 },
            Purpose::Storage,
            Purpose::Empty,
        ];
        assert_eq!(purposes.map(purpose_code), PURPOSES);
        for purpose in purposes {
            assert!(purpose_words(purpose_code(purpose)).len() > 5);
        }
    }
}
