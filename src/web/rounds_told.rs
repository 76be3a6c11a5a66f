//! What a storage round says after something was done on it: how the pack stands that was read, and what was left out as packs were
//! put on, with the round it is on.

use crate::club::storage_round::Sorted;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    pub done: String,
    #[serde(default)]
    pub pack: String,
    /// As it was answered of the pack before: the next one often rested as long.
    #[serde(default)]
    pub rested: String,
    /// The pack that is asked for is in quarantine.
    #[serde(default)]
    pub held: String,
    #[serde(default)]
    lent: String,
    #[serde(default)]
    home: String,
    #[serde(default)]
    quarantine: String,
    #[serde(default)]
    gone: String,
    #[serde(default)]
    other: String,
}

/// Numbers that were left out, why, and where to go on with them.
pub(super) struct LeftOut {
    pub numbers: String,
    pub why: &'static str,
    pub href: String,
    pub label: &'static str,
}

/// Only what reads like numbers of packs.
fn numbers(text: &str) -> Vec<String> {
    let plain = |number: &str| {
        number
            .chars()
            .all(|each| each.is_alphanumeric() || each == '-')
    };
    let all = text
        .split('.')
        .filter(|one| !one.is_empty() && one.len() <= 20 && plain(one));
    all.map(str::to_owned).collect()
}

impl Told {
    /// A pack that is to be read now, by its number or label.
    pub(super) fn is_asked(&self) -> bool {
        self.done == "ask"
    }

    pub(super) fn is_read(&self) -> bool {
        Sorted::from_code(&self.done).is_some()
    }

    /// `why`: what stands against the pack that was read.
    pub(super) fn words(&self, why: &str) -> String {
        let pack = numbers(&self.pack).join("");
        let words = match (self.done.as_str(), Sorted::from_code(&self.done)) {
            (_, Some(Sorted::NotRead)) => format!("{pack} is noted. {}.", Sorted::NotRead.label()),
            (_, Some(sorted)) => format!("{pack} is read. {}.", sorted.label()),
            // What stands against it is read first: perhaps no meter belongs on it.
            ("ask", _) if !why.is_empty() => format!("{pack}:"),
            ("ask", _) => format!("{pack}: type its volts."),
            ("began", _) => "The round is begun.".to_owned(),
            ("added", _) => "They are on the round.".to_owned(),
            ("home", _) => "That is kept. It stays due until it is done.".to_owned(),
            ("closed", _) => "The round is closed. What is not done stays due.".to_owned(),
            _ => String::new(),
        };
        format!("{words} {why}").trim().to_owned()
    }

    pub(super) fn left_out(&self) -> Vec<LeftOut> {
        let one = |text: &str, why, href: String, label| {
            let numbers = numbers(text).join(", ");
            let left = LeftOut {
                numbers,
                why,
                href,
                label,
            };
            (!left.numbers.is_empty()).then_some(left)
        };
        let on_other = self.other.split('~').filter_map(|text| {
            let (id, rest) = text.split_once('.')?;
            let id: Uuid = id.parse().ok()?;
            let href = format!("/storage-rounds/{id}");
            one(rest, "on another open round", href, "That round")
        });
        let lent = one(
            &self.lent,
            "on a loan",
            "/take-back".to_owned(),
            "Take back",
        );
        let home = one(
            &self.home,
            "at somebody's home",
            "/packs".to_owned(),
            "Packs",
        );
        let quarantined = one(
            &self.quarantine,
            "in quarantine",
            "/quarantine".to_owned(),
            "Quarantine",
        );
        let gone = one(
            &self.gone,
            "lost, retired or gone: its page says how one that was found comes back",
            "/packs".to_owned(),
            "Packs",
        );
        let all = on_other.chain(lent).chain(home);
        all.chain(quarantined).chain(gone).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_left_out_is_told_with_its_round_and_nothing_else_from_the_address() {
        let id = Uuid::from_u128(7);
        let told = Told {
            other: format!("{id}.P-006.P-008~{id}.<b>~x.P-001"),
            lent: "P-007".to_owned(),
            ..Told::default()
        };
        let left = told.left_out();
        let numbers: Vec<&str> = left.iter().map(|one| one.numbers.as_str()).collect();
        assert_eq!(numbers, ["P-006, P-008", "P-007"]);
        assert_eq!(left[0].href, format!("/storage-rounds/{id}"));
    }
}
