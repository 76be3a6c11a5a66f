//! What is asked before a charge, as it stands in an address and in the form that starts one: what for, until when, how
//! warm the room is and the pack.

use crate::actions::charging::Conditions;
use crate::bench::plan::{Purpose, Warmth};
use crate::club::calendar::Instant;
use crate::store::charges::lately::Usual;
use crate::web::fields::{Fields, Problems};
use crate::web::visit::SignedIn;
use crate::web::words::{When, clock, in_address};
use serde::Deserialize;

/// A card that was looked at longer ago is looked at again before it starts: common practice, no source.
const CARD_GOOD_FOR_MINUTES: i64 = 30;
/// Nobody stays longer with a charge.
pub const MOST_MINUTES: i64 = 24 * 60;

/// As it was typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Form {
    pub purpose: String,
    /// `14:40`
    pub at: String,
    pub room: String,
    pub pack: String,
    /// Ticked: it was read off the pack itself.
    pub measured: String,
    /// The charger whose card is looked at; empty: the best.
    pub charger: String,
    /// Of a card on paper: `letter`, else A4.
    pub paper: String,
    /// The form was sent, though nothing may be chosen in it.
    pub sent: String,
}

pub enum Understood {
    NotAsked,
    Wrong(Problems),
    Asked(Conditions),
}

impl Form {
    pub fn sent(fields: &Fields) -> Self {
        Self {
            purpose: fields.text("purpose"),
            at: fields.text("at"),
            room: fields.text("room"),
            pack: fields.text("pack"),
            measured: fields.text("measured"),
            charger: fields.text("charger"),
            ..Self::default()
        }
    }

    /// `usual`: what counts where nobody typed it.
    pub fn understood(&self, who: &SignedIn, usual: Usual) -> Understood {
        if self.purpose.is_empty()
            && self.at.is_empty()
            && self.room.is_empty()
            && self.pack.is_empty()
            && self.sent.is_empty()
        {
            return Understood::NotAsked;
        }
        let minutes = self.minutes(who);
        match self.conditions(minutes, (who, usual)) {
            Ok(conditions) => Understood::Asked(conditions),
            Err(problems) => Understood::Wrong(problems),
        }
    }

    /// As the card was shown: with the minutes it then had. None: that was too long ago. Errors: what can't be understood.
    pub fn as_shown(
        &self,
        fields: &Fields,
        (who, usual): (&SignedIn, Usual),
    ) -> Result<Option<Conditions>, Problems> {
        let shown = fields.count("shown_ms").map(Instant);
        let age = shown.map(|at| who.now.minutes_since(at));
        let is_fresh = age.is_some_and(|age| (0..CARD_GOOD_FOR_MINUTES).contains(&age));
        let minutes = fields
            .count("minutes")
            .filter(|minutes| (1..=MOST_MINUTES).contains(minutes));
        self.conditions(minutes, (who, usual))
            .map(|conditions| is_fresh.then_some(conditions))
    }

    /// The time that was typed: today, else tomorrow.
    fn ahead(&self, who: &SignedIn) -> Option<Instant> {
        let today = who.zone.day_of(who.now);
        let at = |day| who.zone.at(day, self.at.trim());
        at(today)
            .filter(|at| *at > who.now)
            .or_else(|| at(today.plus_days(1)))
    }

    /// Whole minutes until then.
    pub fn minutes(&self, who: &SignedIn) -> Option<i64> {
        Some(self.ahead(who)?.minutes_since(who.now).max(1))
    }

    /// When the time that was typed is over for today: then that of tomorrow is meant.
    pub fn tomorrow(&self, who: &SignedIn) -> Option<When> {
        let at = self.ahead(who)?;
        let is_later = who.zone.day_of(at) > who.zone.day_of(who.now);
        is_later.then(|| clock(at, who.now, &who.zone))
    }

    fn conditions(
        &self,
        minutes: Option<i64>,
        (who, usual): (&SignedIn, Usual),
    ) -> Result<Conditions, Problems> {
        let mut problems = Problems::default();
        let until = "Type a time like 14:40.";
        let purpose = match (self.purpose.as_str(), minutes) {
            ("ready_by", Some(minutes)) => Some(Purpose::ReadyBy { minutes }),
            ("no_hurry", Some(there_minutes)) => Some(Purpose::NoHurry { there_minutes }),
            ("ready_by" | "no_hurry", None) => {
                problems.add("at", until);
                None
            }
            ("storage", _) => Some(Purpose::Storage),
            ("empty", _) => Some(Purpose::Empty),
            _ => {
                problems.add("purpose", "Choose what it is charged for.");
                None
            }
        };
        let mut celsius = |name: &str, text: &str| match degrees(text, who.club.uses_fahrenheit) {
            Ok(celsius) => celsius,
            Err(words) => {
                problems.add(name, words);
                None
            }
        };
        let warmth = Warmth {
            pack_celsius: celsius("pack", &self.pack)
                .or(usual.pack.filter(|_| self.pack.trim().is_empty())),
            room_celsius: celsius("room", &self.room)
                .or(usual.room.filter(|_| self.room.trim().is_empty())),
            pack_is_measured: self.is_measured(),
        };
        match purpose {
            Some(purpose) if problems.is_empty() => Ok(Conditions {
                purpose,
                done_within: minutes.filter(|_| purpose.within_minutes().is_none()),
                warmth,
            }),
            _ => Err(problems),
        }
    }

    pub fn is_measured(&self) -> bool {
        !self.measured.trim().is_empty()
    }

    /// What must be known before anything is planned.
    pub fn lacking(&self, lacking: &[&str]) -> Problems {
        let mut problems = Problems::default();
        for field in lacking {
            match *field {
                "room_celsius" => problems.add("room", "How warm is it where it is charged?"),
                _ => problems.add(
                    "pack",
                    "How warm is the pack? As warm as the room if it lay there for an hour.",
                ),
            }
        }
        problems
    }

    /// What the form that starts it carries on.
    pub fn carried(&self, minutes: Option<i64>, now: Instant) -> Vec<(&'static str, String)> {
        let mut carried = vec![
            ("purpose", self.purpose.clone()),
            ("at", self.at.clone()),
            ("room", self.room.clone()),
            ("pack", self.pack.clone()),
            (
                "minutes",
                minutes.map_or_else(String::new, |minutes| minutes.to_string()),
            ),
            ("shown_ms", now.ms().to_string()),
        ];
        if self.is_measured() {
            carried.push(("measured", self.measured.clone()));
        }
        carried
    }

    pub fn address(&self, number: &str, charger: &str) -> String {
        let mut pairs = vec![
            ("purpose", self.purpose.as_str()),
            ("at", &self.at),
            ("room", &self.room),
            ("pack", &self.pack),
            ("charger", charger),
        ];
        if self.is_measured() {
            pairs.push(("measured", &self.measured));
        }
        format!("/packs/{number}/charge?{}", in_address(&pairs))
    }

    /// Of the same card on paper.
    pub fn on_paper(&self, number: &str, charger: &str) -> String {
        self.address(number, charger)
            .replacen("/charge?", "/charge.pdf?", 1)
    }
}

/// Whole degrees, of the unit behind them, else of the club's; Fahrenheit is taken to the Celsius that is further from mild, so that no limit is missed by a half.
fn degrees(text: &str, is_fahrenheit: bool) -> Result<Option<i64>, &'static str> {
    let is_fahrenheit = match text.trim().chars().last() {
        Some('C' | 'c') => false,
        Some('F' | 'f') => true,
        _ => is_fahrenheit,
    };
    let text = text
        .trim()
        .trim_end_matches(['C', 'F', 'c', 'f'])
        .trim_end_matches('°')
        .trim();
    if text.is_empty() {
        return Ok(None);
    }
    let typed: f64 = text
        .replace(',', ".")
        .replace('\u{2212}', "-")
        .parse()
        .map_err(|_| "Type degrees, like 21.")?;
    let celsius = if is_fahrenheit {
        (typed - 32.0) / 1.8
    } else {
        typed
    };
    if !(-50.0..=100.0).contains(&celsius) {
        return Err("Type the degrees of the air or the pack.");
    }
    let further = if celsius < 20.0 {
        celsius.floor()
    } else {
        celsius.ceil()
    };
    Ok(Some(further as i64))
}

#[cfg(test)]
mod tests {
    use super::degrees;

    #[test]
    fn degrees_are_read_as_people_type_them_and_never_milder_than_they_are() {
        assert_eq!(degrees("21", false), Ok(Some(21)));
        assert_eq!(degrees(" 4,5 °C", false), Ok(Some(4)));
        assert_eq!(degrees("40.2", false), Ok(Some(41)));
        assert_eq!(degrees("\u{2212}3", false), Ok(Some(-3)));
        assert_eq!(degrees("", false), Ok(None));
        assert_eq!(degrees("70 F", true), Ok(Some(22)));
        assert_eq!(degrees("31", true), Ok(Some(-1)));
        // A fire administration's page: 32 and 105 °F, 0 and 40.6 °C (it prints 40); never milder, so 41.
        assert_eq!(degrees("32", true), Ok(Some(0)));
        assert_eq!(degrees("105", true), Ok(Some(41)));
        // Who names the unit means it.
        assert_eq!(degrees("21 C", true), Ok(Some(21)));
        assert_eq!(degrees("70 °F", false), Ok(Some(22)));
        for wrong in ["warm", "1e400", "NaN", "300", "-90", "--4"] {
            assert!(degrees(wrong, false).is_err(), "{wrong}");
        }
    }
}
