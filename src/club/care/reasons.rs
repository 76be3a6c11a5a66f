//! Each reason for which something is due, with its sentence and its next act. One function for each; those that speak of the
//! same act are thinned out by `due`.

use super::due::{Due, Grave, OnRecord, Reason};
use super::forecast::{Forecast, first_day};
use super::kept::Band;
use super::rules::{CareRules, Wait};
use super::story::Lying;
use super::told::{Told, loss_a_month};
use crate::battery::chemistry::Chemistry;
use crate::battery::curve::Curve;
use crate::battery::volts::volts_words;
use crate::club::calendar::{Instant, Zone};

/// What a reason is weighed before.
pub(super) struct Before<'a> {
    pack: &'a OnRecord,
    rules: CareRules,
    told: Option<Told>,
    now: Instant,
    zone: &'a Zone,
}

pub(super) const ALL: [fn(&Before) -> Option<Due>; 9] = [
    falls_to_minimum,
    above_band,
    event_over,
    back_not_stored,
    not_full,
    nickel_low,
    first_check,
    not_looked_at,
    balance_owed,
];

impl<'a> Before<'a> {
    pub fn new(pack: &'a OnRecord, rules: &CareRules, now: Instant, zone: &'a Zone) -> Self {
        Self {
            pack,
            rules: rules.tightened(),
            told: Told::of(&pack.lying, &pack.story),
            now,
            zone,
        }
    }

    fn chemistry(&self) -> Chemistry {
        self.pack.lying.build.chemistry
    }

    /// None before it is due.
    fn due(
        &self,
        reason: Reason,
        since: Instant,
        words: (String, String),
        grave: Grave,
    ) -> Option<Due> {
        let (why, next) = words;
        (since <= self.now).then_some(Due {
            reason,
            since,
            why,
            next,
            grave,
        })
    }

    /// What its charge and its place allow it; the harshest row where nothing tells its charge.
    fn wait(&self) -> Wait {
        let lying = &self.pack.lying;
        let percent = self.told.map_or(100.0, |told| told.highest_percent(lying));
        self.rules.storage.of(percent, lying.celsius())
    }

    /// What to do so that it lies well.
    fn store_it(&self) -> String {
        let target = volts_words(self.pack.lying.limits.storage_target_mv);
        match self.chemistry() {
            Chemistry::Pb => "Charge it full, then log its volts.".to_owned(),
            Chemistry::NiMh => "Charge it, then log its volts.".to_owned(),
            _ => format!("Bring it to {target} V per cell, then log its volts."),
        }
    }
}

/// `1 day`, `9 days`
pub(super) fn days_words(days: i64) -> String {
    match days {
        1 => "1 day".to_owned(),
        days => format!("{days} days"),
    }
}

fn volts_of(mv: f64) -> String {
    volts_words(mv.round() as i64)
}

fn falls_to_minimum(before: &Before) -> Option<Due> {
    let lying = &before.pack.lying;
    let told = before.told?;
    let Forecast::Falls(falls) = Forecast::of_told(lying, &told) else {
        return None;
    };
    let since = falls
        .earliest
        .plus_days(-before.rules.fall_days)
        .max(told.at);
    let minimum = volts_words(lying.limits.minimum_mv);
    let low = match before.chemistry() {
        Chemistry::NiMh => "Charged full".to_owned(),
        _ => format!("Its lowest cell was at {} V", volts_of(told.low_mv.likely)),
    };
    let loss = loss_a_month(lying);
    let (least, most) = (loss.least, loss.most);
    let first_day = match first_day(lying, &told) {
        0.0 => String::new(),
        most => format!(", and up to {most:.0} % on the first day,"),
    };
    let falls_by = match told.is_out_since {
        true => "it was out since, and nobody knows what it holds.".to_owned(),
        false => format!(
            "at {least:.1} to {most:.1} % lost a month{first_day} it falls to {minimum} V {}.",
            falls.words(before.zone)
        ),
    };
    let days = days_words(before.now.days_since(told.at));
    let why = format!("{low} {days} ago; {falls_by}");
    let next = format!(
        "Log its volts now. Under {minimum} V in a cell: don't charge it. Else: {}",
        lower_first(&before.store_it())
    );
    let grave = match falls.likely {
        Some(likely) if likely <= before.now => Grave::AtOnce,
        _ if falls.earliest <= before.now => Grave::Today,
        _ => Grave::ThisWeek,
    };
    before.due(Reason::FallsToMinimum, since, (why, next), grave)
}

fn lower_first(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().map(|letter| letter.to_ascii_lowercase());
    first.into_iter().chain(letters).collect()
}

fn above_band(before: &Before) -> Option<Due> {
    let lying = &before.pack.lying;
    let above_since = before.pack.kept.above_since?;
    let told = before.told?;
    let wait = before.wait();
    let days = before.now.days_since(above_since);
    let grave = match days {
        _ if days >= 2 * wait.limit_days => Grave::AtOnce,
        _ if days >= wait.limit_days => Grave::Today,
        _ => Grave::ThisWeek,
    };
    let warmth = match lying.celsius {
        Some(celsius) => format!("{celsius} °C"),
        None => format!("{} °C, which nobody measured,", lying.celsius()),
    };
    let was_out = if told.is_out_since {
        " It was out since and nobody read it."
    } else {
        ""
    };
    let why = format!(
        "Above its storage band for {}: {} V in its fullest cell, {} V is the most. So full (about {:.0} %) and at {warmth} it may lie {}, and is to be put to storage after {}.{was_out}",
        days_words(days),
        volts_of(told.highest_mv(lying)),
        volts_words(lying.limits.storage_high_mv),
        told.highest_percent(lying),
        days_words(wait.limit_days),
        wait.remind_days,
    );
    let since = above_since.plus_days(wait.remind_days);
    before.due(Reason::AboveBand, since, (why, before.store_it()), grave)
}

/// Charged for it or before it, and still above the band.
fn event_over(before: &Before) -> Option<Due> {
    let event = before.pack.event.as_ref()?;
    let above_since = before.pack.kept.above_since?;
    let told = before.told?;
    if above_since > event.ends {
        return None;
    }
    let over = match before.now.days_since(event.ends) {
        ..=0 => "just ended".to_owned(),
        days => format!("is over for {}", days_words(days)),
    };
    let why = format!(
        "{} {over}, and it is above its storage band: {} V in its fullest cell, {} V is the most.",
        event.name,
        volts_of(told.highest_mv(&before.pack.lying)),
        volts_words(before.pack.lying.limits.storage_high_mv)
    );
    let words = (why, before.store_it());
    before.due(Reason::EventOver, event.ends, words, Grave::ThisWeek)
}

/// It may be full: it is held to what a full one is allowed.
fn back_not_stored(before: &Before) -> Option<Due> {
    let kept = before.pack.kept;
    let back_since = kept.back_since.filter(|_| !before.pack.is_out)?;
    let days = before.now.days_since(back_since);
    let allowed = before.rules.storage.of(100.0, before.pack.lying.celsius());
    let after_days = back_since.plus_days(before.rules.back_days);
    let read = before.told.filter(|told| told.at >= back_since);
    let (why, next) = match &read {
        Some(told) => {
            let volts = outside_words(&before.pack.lying, told);
            let so_long = match days {
                ..=0 => "yet".to_owned(),
                days => format!("for {}", days_words(days)),
            };
            let why = format!("Not put to storage {so_long}{volts}.");
            (why, before.store_it())
        }
        None => {
            let why = format!("Back for {}, and nobody read its volts.", days_words(days));
            let next = lower_first(&before.store_it());
            let next = format!("Log its volts. Outside of its storage band: {next}");
            (why, next)
        }
    };
    let grave = if days >= allowed.limit_days {
        Grave::Today
    } else {
        Grave::ThisWeek
    };
    let since = match (kept.is_due_when_read, &read) {
        (true, read) if read.is_some() || after_days <= before.now => back_since,
        _ => after_days,
    };
    before.due(Reason::BackNotStored, since, (why, next), grave)
}

/// `: 3.68 V in its lowest cell, 3.75 V is the least`
fn outside_words(lying: &Lying, told: &Told) -> String {
    let limits = &lying.limits;
    match Band::of(lying, told) {
        Band::Above => format!(
            ": {} V in its fullest cell, {} V is the most",
            volts_of(told.highest_mv(lying)),
            volts_words(limits.storage_high_mv)
        ),
        Band::Under => format!(
            ": {} V in its lowest cell, {} V is the least",
            volts_of(told.low_mv.likely),
            volts_words(limits.storage_low_mv)
        ),
        Band::In => String::new(),
    }
}

/// Lead sulphates while it is not full. By what it is believed to rest at, or by time alone.
fn not_full(before: &Before) -> Option<Due> {
    let lying = &before.pack.lying;
    let told = before
        .told
        .filter(|_| before.chemistry() == Chemistry::Pb)?;
    let curve = Curve::of(Chemistry::Pb)?;
    let percent = |mv: f64| curve.percent_at(mv / 1_000.0);
    let at_least = lying.limits.storage_low_mv as f64;
    // Under it already: none left, since it was told.
    let left = percent(told.low_mv.likely) - percent(at_least) + told.put_in.likely;
    let by_loss = told.when_lost(left, loss_a_month(lying).likely);
    let by_time = told.at.plus_days(before.rules.lead_days);
    let since = by_loss.map_or(by_time, |by_loss| by_loss.min(by_time));
    let is_empty = told.low_mv.likely < lying.limits.empty_mv as f64;
    let why = format!(
        "Lead is kept full, at {} V per cell or more. Its lowest was at {} V {} ago and loses about {:.0} % a month.",
        volts_of(at_least),
        volts_of(told.low_mv.likely),
        days_words(before.now.days_since(told.at)),
        loss_a_month(lying).likely
    );
    let grave = if is_empty {
        Grave::Today
    } else {
        Grave::ThisWeek
    };
    before.due(Reason::NotFull, since, (why, before.store_it()), grave)
}

/// NiMH may lie at any charge but empty: 1.2 V per cell or more, from memory of cell handbooks.
fn nickel_low(before: &Before) -> Option<Due> {
    let limits = &before.pack.lying.limits;
    let told = before
        .told
        .filter(|_| before.chemistry() == Chemistry::NiMh)?;
    let low = told.low_mv.likely;
    if low >= limits.storage_low_mv as f64 {
        return None;
    }
    let why = format!(
        "Its lowest cell was at {} V; NiMH lies at {} V or more.",
        volts_of(low),
        volts_words(limits.storage_low_mv)
    );
    let grave = if low < limits.minimum_mv as f64 {
        Grave::Today
    } else {
        Grave::ThisWeek
    };
    let next = before.store_it();
    before.due(Reason::NickelLow, told.at, (why, next), grave)
}

fn first_check(before: &Before) -> Option<Due> {
    let added = before.pack.added;
    if before.pack.is_first_check_done {
        return None;
    }
    let days = days_words(before.now.days_since(added));
    let why = format!("New for {days}, and never checked.");
    let next = "Look it over and log its volts, each cell.".to_owned();
    before.due(Reason::FirstCheck, added, (why, next), Grave::ThisWeek)
}

fn not_looked_at(before: &Before) -> Option<Due> {
    let read = before.pack.story.read.as_ref().map(|read| read.at);
    let looked = read.unwrap_or(before.pack.added);
    let days = before.now.days_since(looked);
    let since = looked.plus_days(before.rules.recheck_days);
    let (never, limit) = (
        if read.is_none() {
            "Never read; on record"
        } else {
            "Last read"
        },
        before.rules.recheck_days,
    );
    let why = format!(
        "{never} {} ago; the club reads a pack every {limit}.",
        days_words(days)
    );
    let next = "Log its volts, rested.".to_owned();
    let grave = if days >= before.rules.recheck_presses_days {
        Grave::ThisWeek
    } else {
        Grave::WhenConvenient
    };
    before.due(Reason::NotLookedAt, since, (why, next), grave)
}

fn balance_owed(before: &Before) -> Option<Due> {
    let since = before.pack.balance_owed_since?;
    let days = days_words(before.now.days_since(since));
    let why = format!("Charged in haste {days} ago; its cells were not balanced since.");
    let next = "Balance it at its next charge.".to_owned();
    before.due(
        Reason::BalanceOwed,
        since,
        (why, next),
        Grave::WhenConvenient,
    )
}
