//! Whether a charger's data sheet is plausible, field by field; what the fields mean stands in `charger`.
//! mV, mA, mW. Bounds are plausibility only (common practice, no source), no rating of any product.

use super::charger::{Charger, Input, Memory, Mode};
use super::{FieldProblem, Findings};
use crate::battery::chemistry::Chemistry;

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
                .all(|code| Chemistry::from_code(code).is_some());
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
        findings.connector(&self.output_connector, "output_connector", "Output");
        if let Some(connector) = &self.balance_connector {
            findings.connector(connector, "balance_connector", "Balance");
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
                findings.connector(connector, "input", "DC");
            }
            Input::UsbPd { mw, levels_mv } => {
                findings.within(*mw, 5_000..=240_000, "input", "USB PD gives 5 to 240 W.");
                check_levels(levels_mv.as_deref(), findings)
            }
            Input::Mains => {}
        }
    }
}

/// USB PD levels lie between 5 and 48 V (encyclopaedic entry on USB Power Delivery; a cable maker's article).
fn check_levels(levels_mv: Option<&[i64]>, findings: &mut Findings) {
    let Some(levels_mv) = levels_mv else {
        return;
    };
    let is_plausible = levels_mv.iter().all(|mv| (5_000..=48_000).contains(mv))
        && levels_mv.windows(2).all(|pair| pair[0] < pair[1]);
    findings.unless(
        is_plausible,
        "input_levels",
        "USB PD levels lie between 5 and 48 V: give them from low to high, each once.",
    );
    findings.unless(
        levels_mv.iter().any(|mv| *mv > 5_000),
        "input_levels",
        "It does not start without USB PD: give a level above 5 V.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::charger::tests::usb_charger;
    use crate::bench::typed::Words;

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
}
