//! A pack's storage in words, for the list and for its page: band, days above it, forecast with its spread, what full days have cost.

use crate::battery::volts::volts_words;
use crate::club::care::cost::counted_words;
use crate::club::care::forecast::{Forecast, Rate};
use crate::club::care::kept::Band;
use crate::club::care::seen::{Seen, seen};
use crate::club::states::{Life, State};
use crate::store::care::InCare;
use crate::web::visit::SignedIn;

pub struct CareSeen {
    /// `Above its band for 9 days`
    pub band: String,
    pub is_above: bool,
    pub is_past_limit: bool,
    /// When its lowest cell falls to its minimum; empty: nothing tells.
    pub forecast: String,
    /// What it is believed to hold; empty: it is not known.
    pub belief: String,
    /// What to do where it is not known; else empty.
    pub not_known: &'static str,
    pub sure: &'static str,
    /// A sentence for each source; empty: it never lay above its band.
    pub cost: Vec<String>,
    /// The same, short.
    pub cost_short: String,
}

impl CareSeen {
    /// None for a pack that is not in use.
    pub fn of(one: &InCare, who: &SignedIn) -> Option<Self> {
        let seen = seen_of(one, who)?;
        let numbers = who.numbers();
        let minimum = who.club.limits().of_cell(&one.pack.build()).minimum_mv;
        let minimum = numbers.sentence(&format!("{} V", volts_words(minimum)));
        Some(Self {
            band: band(&seen),
            is_above: seen.band == Some(Band::Above),
            is_past_limit: seen.is_past_limit,
            forecast: match seen.forecast {
                Forecast::CannotTell => String::new(),
                Forecast::NotInTenYears => {
                    let rate = Rate::of(&one.lying(&who.club.limits())).words();
                    format!("Not at {minimum} in ten years, {rate}.")
                }
                // A day that is over is no forecast: the volts on record say it.
                Forecast::Falls(falls) if falls.latest.is_some_and(|latest| latest <= who.now) => {
                    format!("At {minimum} or lower by now.")
                }
                Forecast::Falls(falls) => {
                    let days = numbers.sentence(&falls.words(&who.zone));
                    format!("Falls to {minimum} {days}.")
                }
            },
            belief: seen
                .belief
                .filter(|_| seen.is_known)
                .map_or_else(String::new, |belief| {
                    let volts = belief
                        .lowest_cell_words()
                        .map_or_else(String::new, |volts| format!(", its lowest cell at {volts}"));
                    numbers.sentence(&format!("{}{volts}", belief.charge_words()))
                }),
            not_known: match one.pack.state_at(who.now, who.club.limits().reading_days) {
                _ if seen.is_known => "",
                State::Quarantine => "Not known: it is in quarantine.",
                _ => "Not known: log its volts.",
            },
            sure: seen.belief.map_or("", |belief| belief.sure().words()),
            cost_short: seen
                .cost
                .map_or_else(String::new, |cost| numbers.sentence(&cost.short_words())),
            cost: cost_words(&seen)
                .iter()
                .map(|words| numbers.sentence(words))
                .collect(),
        })
    }
}

fn cost_words(seen: &Seen) -> Vec<String> {
    let counted = counted_words(seen.above_days, seen.cost.as_ref());
    let by_source = seen
        .cost
        .map_or_else(Vec::new, |cost| cost.words().to_vec());
    by_source
        .into_iter()
        .chain(counted.map(str::to_owned))
        .collect()
}

/// As it stands now; None for a pack that is not in use.
pub fn seen_of(one: &InCare, who: &SignedIn) -> Option<Seen> {
    if one.pack.life() != Life::InUse {
        return None;
    }
    let on_record = one.on_record(&who.club.limits(), who.now);
    Some(seen(
        &on_record,
        &one.before_reading(),
        &who.club.care(),
        who.now,
    ))
}

fn band(seen: &Seen) -> String {
    match (seen.band, seen.above_days) {
        (Some(Band::Above), Some(days)) => {
            format!("{} {}", Band::Above.label(), since(days))
        }
        (Some(band), _) => band.label().to_owned(),
        (None, _) => "Not known".to_owned(),
    }
}

fn since(days: i64) -> String {
    match days {
        ..=0 => "since today".to_owned(),
        1 => "for 1 day".to_owned(),
        days => format!("for {days} days"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_above_its_band_are_told_as_people_say_them() {
        assert_eq!(
            [0, 1, 9].map(since),
            ["since today", "for 1 day", "for 9 days"]
        );
    }
}
