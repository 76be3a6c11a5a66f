//! A charger's data sheet as a plan needs it: what it charges, how hard, with which plugs, fed by what.
//! mV, mA, mW. How long a charge takes is the battery's, which charger to take the plan's question.

use serde::{Deserialize, Serialize};

use super::typed::Words;
use super::{FieldProblem, Findings};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    Balance,
    Charge,
    Storage,
    Discharge,
}

impl Mode {
    pub const ALL: [Mode; 4] = [Mode::Balance, Mode::Charge, Mode::Storage, Mode::Discharge];

    pub fn code(self) -> &'static str {
        match self {
            Mode::Balance => "balance",
            Mode::Charge => "charge",
            Mode::Storage => "storage",
            Mode::Discharge => "discharge",
        }
    }

    pub fn from_code(code: &str) -> Option<Mode> {
        Mode::ALL.into_iter().find(|mode| mode.code() == code)
    }
}

/// What the current stands at when the charger is switched on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "wakes", rename_all = "snake_case")]
pub enum Memory {
    Remembers,
    Factory { ma: i64 },
    NotKnown,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "takes", rename_all = "snake_case")]
pub enum Input {
    Dc {
        mv_min: i64,
        mv_max: i64,
        connector: String,
    },
    /// Does not start without a USB PD source; `mw` is the most it draws.
    UsbPd {
        mw: i64,
    },
    Mains,
}

/// `chemistries` are codes (`lipo lihv liion lifepo4 nimh pb`). `charge_mw` and `discharge_mw` hold per output;
/// `discharge_mw` 0 means it can't discharge. `fixed_through_balance` is the one current of a small charger
/// that charges through the balance plug. `can_boost`: charges packs above its own input volts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Charger {
    pub chemistries: Vec<String>,
    pub cells_from: i64,
    pub cells_to: i64,
    pub current_min_ma: i64,
    pub current_max_ma: i64,
    pub current_step_ma: i64,
    pub charge_mw: i64,
    pub discharge_mw: i64,
    pub modes: Vec<Mode>,
    pub has_mah_cutoff: bool,
    pub has_time_cutoff: bool,
    pub outputs: i64,
    pub output_connector: String,
    pub balance_connector: Option<String>,
    pub current_memory: Memory,
    pub input: Input,
    pub fixed_through_balance: Option<i64>,
    pub can_boost: bool,
}

const CHEMISTRIES: [(&str, &str); 6] = [
    ("lipo", "LiPo"),
    ("lihv", "LiHV"),
    ("liion", "Li-ion"),
    ("lifepo4", "LiFePO4"),
    ("nimh", "NiMH"),
    ("pb", "Pb"),
];

fn chemistry_label(code: &str) -> Option<&'static str> {
    CHEMISTRIES
        .iter()
        .find(|(known, _)| *known == code)
        .map(|(_, label)| *label)
}

impl Charger {
    /// Refuses what no charger is: cells outside 1 to 14, a minimum above its maximum, a step that misses the maximum.
    pub fn checked(self) -> Result<Charger, Vec<FieldProblem>> {
        let mut findings = Findings::default();
        self.check_work(&mut findings);
        self.check_current(&mut findings);
        self.check_plugs(&mut findings);
        self.check_input(&mut findings);
        findings.pass(self)
    }

    fn check_work(&self, findings: &mut Findings) {
        let are_known = !self.chemistries.is_empty()
            && self
                .chemistries
                .iter()
                .all(|code| chemistry_label(code).is_some());
        findings.unless(are_known, "chemistries", "Tick the chemistries it charges.");
        findings.within(
            self.cells_from,
            1..=14,
            "cells_from",
            "A charger takes 1 to 14 cells in series.",
        );
        findings.within(
            self.cells_to,
            1..=14,
            "cells_to",
            "A charger takes 1 to 14 cells in series.",
        );
        findings.unless(
            self.cells_from <= self.cells_to,
            "cells_to",
            "The most cells are not fewer than the least.",
        );
        findings.within(
            self.charge_mw,
            100..=5_000_000,
            "charge_mw",
            "A charger charges with 0.1 to 5000 W.",
        );
        findings.within(
            self.discharge_mw,
            0..=5_000_000,
            "discharge_mw",
            "Discharging takes 0 to 5000 W.",
        );
        findings.unless(!self.modes.is_empty(), "modes", "Tick at least one mode.");
        let can_discharge = self.discharge_mw > 0 || !self.modes.contains(&Mode::Discharge);
        findings.unless(
            can_discharge,
            "discharge_mw",
            "It has a discharge mode: give its discharge watts.",
        );
    }

    fn check_current(&self, findings: &mut Findings) {
        let (min, max, step) = (
            self.current_min_ma,
            self.current_max_ma,
            self.current_step_ma,
        );
        findings.within(
            min,
            10..=100_000,
            "current_min_ma",
            "The least current lies between 0.01 and 100 A.",
        );
        findings.within(
            max,
            10..=100_000,
            "current_max_ma",
            "The most current lies between 0.01 and 100 A.",
        );
        findings.unless(
            min <= max,
            "current_max_ma",
            "The most current is not below the least.",
        );
        findings.within(
            step,
            1..=10_000,
            "current_step_ma",
            "The current moves in steps of 0.001 to 10 A.",
        );
        let step_fits = step < 1 || max.saturating_sub(min) % step == 0;
        findings.unless(
            step_fits,
            "current_step_ma",
            "Counting up from the least current, this step misses the most.",
        );
        if let Memory::Factory { ma } = self.current_memory {
            findings.within(
                ma,
                10..=100_000,
                "current_memory",
                "A factory current lies between 0.01 and 100 A.",
            );
        }
        if let Some(fixed) = self.fixed_through_balance {
            let words = "It charges at one fixed current: least and most are that current.";
            findings.unless(min == fixed && max == fixed, "fixed_through_balance", words);
            let words = "It charges through the balance plug: say which.";
            findings.unless(self.balance_connector.is_some(), "balance_connector", words);
        }
    }

    fn check_plugs(&self, findings: &mut Findings) {
        findings.within(
            self.outputs,
            1..=16,
            "outputs",
            "A charger has 1 to 16 outputs.",
        );
        findings.connector(&self.output_connector, "output_connector");
        if let Some(connector) = &self.balance_connector {
            findings.connector(connector, "balance_connector");
        }
        let sees_cells = self.balance_connector.is_some() || !self.modes.contains(&Mode::Balance);
        findings.unless(
            sees_cells,
            "balance_connector",
            "It has a balance mode: say which balance connector.",
        );
    }

    fn check_input(&self, findings: &mut Findings) {
        match &self.input {
            Input::Dc {
                mv_min,
                mv_max,
                connector,
            } => {
                let is_plausible = 3_000 <= *mv_min && mv_min <= mv_max && *mv_max <= 60_000;
                findings.unless(
                    is_plausible,
                    "input",
                    "The input range lies between 3 and 60 V, least first.",
                );
                findings.connector(connector, "input");
            }
            Input::UsbPd { mw } => {
                findings.within(*mw, 5_000..=240_000, "input", "USB PD gives 5 to 240 W.")
            }
            Input::Mains => {}
        }
    }

    /// "LiPo LiHV 1–6S, 0.1–10 A in 0.1 A steps, 120 W, XT60, USB PD 65 W".
    pub fn summary(&self, words: Words) -> String {
        let chemistries: Vec<&str> = self
            .chemistries
            .iter()
            .filter_map(|code| chemistry_label(code))
            .collect();
        let outputs = if self.outputs > 1 {
            format!("{} × ", self.outputs)
        } else {
            String::new()
        };
        let input = match &self.input {
            Input::Dc {
                mv_min,
                mv_max,
                connector,
            } => {
                format!(
                    "{}–{} in on {connector}",
                    words.number(*mv_min),
                    words.volts(*mv_max)
                )
            }
            Input::UsbPd { mw } => format!("USB PD {}", words.watts(*mw)),
            Input::Mains => "mains".to_owned(),
        };
        let (range, current) = (
            span(self.cells_from, self.cells_to),
            self.current_words(words),
        );
        let (chemistries, watts) = (chemistries.join(" "), words.watts(self.charge_mw));
        format!(
            "{chemistries} {range}S, {current}, {outputs}{watts}, {}, {input}",
            self.output_connector
        )
    }

    fn current_words(&self, words: Words) -> String {
        if let Some(fixed) = self.fixed_through_balance {
            return format!("{} through the balance plug", words.amps(fixed));
        }
        let (least, most) = (
            words.number(self.current_min_ma),
            words.amps(self.current_max_ma),
        );
        if self.current_min_ma == self.current_max_ma {
            return most;
        }
        format!(
            "{least}–{most} in {} steps",
            words.amps(self.current_step_ma)
        )
    }
}

fn span(from: i64, to: i64) -> String {
    if from == to {
        to.to_string()
    } else {
        format!("{from}–{to}")
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) fn usb_charger() -> Charger {
        Charger {
            chemistries: vec!["lipo".into(), "lihv".into()],
            cells_from: 1,
            cells_to: 6,
            current_min_ma: 100,
            current_max_ma: 10_000,
            current_step_ma: 100,
            charge_mw: 120_000,
            discharge_mw: 5_000,
            modes: Mode::ALL.to_vec(),
            has_mah_cutoff: true,
            has_time_cutoff: true,
            outputs: 1,
            output_connector: "XT60".into(),
            balance_connector: Some("JST-XH".into()),
            current_memory: Memory::Remembers,
            input: Input::UsbPd { mw: 65_000 },
            fixed_through_balance: None,
            can_boost: true,
        }
    }

    fn fields(charger: Charger) -> Vec<&'static str> {
        charger
            .checked()
            .err()
            .unwrap_or_default()
            .into_iter()
            .map(|problem| problem.field)
            .collect()
    }

    #[test]
    fn a_charger_is_told_in_one_line() {
        let line = "LiPo LiHV 1–6S, 0.1–10 A in 0.1 A steps, 120 W, XT60, USB PD 65 W";
        assert_eq!(usb_charger().summary(Words::POINT), line);
        let input = Input::Dc {
            mv_min: 10_000,
            mv_max: 30_000,
            connector: "XT60".into(),
        };
        let twin = Charger {
            outputs: 2,
            cells_from: 6,
            input,
            ..usb_charger()
        };
        let line = "LiPo LiHV 6S, 0,1–10 A in 0,1 A steps, 2 × 120 W, XT60, 10–30 V in on XT60";
        assert_eq!(twin.summary(Words::COMMA), line);
    }

    #[test]
    fn a_plausible_charger_passes_and_comes_back_unchanged() {
        assert_eq!(usb_charger().checked(), Ok(usb_charger()));
    }

    #[test]
    fn ranges_the_wrong_way_round_are_refused_at_their_field() {
        assert_eq!(
            fields(Charger {
                cells_from: 6,
                cells_to: 2,
                ..usb_charger()
            }),
            ["cells_to"]
        );
        assert_eq!(
            fields(Charger {
                cells_to: 15,
                ..usb_charger()
            }),
            ["cells_to"]
        );
        let backwards = Charger {
            current_min_ma: 5_000,
            current_max_ma: 1_000,
            ..usb_charger()
        };
        assert_eq!(fields(backwards), ["current_max_ma"]);
        assert_eq!(
            fields(Charger {
                current_step_ma: 70,
                ..usb_charger()
            }),
            ["current_step_ma"]
        );
        assert_eq!(
            fields(Charger {
                current_step_ma: 0,
                ..usb_charger()
            }),
            ["current_step_ma"]
        );
        assert_eq!(
            fields(Charger {
                charge_mw: 0,
                ..usb_charger()
            }),
            ["charge_mw"]
        );
        assert_eq!(
            fields(Charger {
                chemistries: vec!["nicd".into()],
                ..usb_charger()
            }),
            ["chemistries"]
        );
    }

    #[test]
    fn extreme_figures_are_refused_and_never_overflow() {
        let wild = Charger {
            current_min_ma: i64::MIN,
            current_max_ma: i64::MAX,
            current_step_ma: i64::MIN,
            ..usb_charger()
        };
        assert_eq!(
            fields(wild.clone()),
            ["current_min_ma", "current_max_ma", "current_step_ma"]
        );
        assert!(!wild.summary(Words::POINT).is_empty());
    }

    #[test]
    fn balancing_without_a_balance_plug_and_discharging_without_watts_are_refused() {
        assert_eq!(
            fields(Charger {
                balance_connector: None,
                ..usb_charger()
            }),
            ["balance_connector"]
        );
        assert_eq!(
            fields(Charger {
                discharge_mw: 0,
                ..usb_charger()
            }),
            ["discharge_mw"]
        );
    }

    #[test]
    fn a_small_charger_through_the_balance_plug_has_one_current() {
        let small = Charger {
            fixed_through_balance: Some(800),
            ..usb_charger()
        };
        assert_eq!(fields(small.clone()), ["fixed_through_balance"]);
        let fixed = Charger {
            current_min_ma: 800,
            current_max_ma: 800,
            ..small
        };
        assert_eq!(fields(fixed.clone()), [""; 0]);
        assert!(
            fixed
                .summary(Words::POINT)
                .contains("0.8 A through the balance plug")
        );
    }

    #[test]
    fn modes_are_found_by_their_codes() {
        assert!(
            Mode::ALL
                .into_iter()
                .all(|mode| Mode::from_code(mode.code()) == Some(mode))
        );
        assert_eq!(Mode::from_code("parallel"), None);
    }
}
