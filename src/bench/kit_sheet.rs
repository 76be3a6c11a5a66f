//! A data sheet as typed into a form: amounts with units, ticks and choices to a [`Spec`]. The way back is `kit_typed`.
//! The names of fields are those the sheet's own check complains of. Units: mV, mA, mW.

use crate::bench::chain::{Adapter, Board, Cable};
use crate::bench::charger::{Charger, Input, Memory, Mode};
use crate::bench::form::{Fields, Problems};
use crate::bench::kit::{KitKind, Spec};
use crate::bench::port;
use crate::bench::supply::{Port, Supply};
use crate::bench::typed::{Unit, Words, amount_milli};

/// The sheet, unless an amount can't be read, a choice is open or the sheet is not plausible. `numbers`: as the club reads
/// them in what it is told to put right.
pub fn read(
    kind: KitKind,
    fields: &Fields,
    numbers: Words,
    problems: &mut Problems,
) -> Option<Spec> {
    let mut form = Form {
        fields,
        numbers,
        problems,
    };
    let spec = match kind {
        KitKind::Charger => form.charger().map(Spec::Charger),
        KitKind::Supply => form.supply().map(Spec::Supply),
        KitKind::Cable => form.cable().map(Spec::Cable),
        KitKind::Adapter => form.adapter().map(Spec::Adapter),
        KitKind::Board => form.board().map(Spec::Board),
    };
    note_implausible(spec.as_ref(), numbers, problems);
    spec.filter(|_| problems.is_empty())
}

/// What the sheet's own check finds, unless the field is named already: one refusal tells all that is wrong.
fn note_implausible(spec: Option<&Spec>, numbers: Words, problems: &mut Problems) {
    let found = spec.and_then(|spec| spec.clone().checked().err());
    for each in found.unwrap_or_default() {
        if problems.of(each.field).is_empty() {
            problems.add(each.field, numbers.sentence(&each.words));
        }
    }
}

/// What the form calls a number, so that the list of what is wrong tells which one.
fn called(name: &str) -> &'static str {
    match name {
        "cells_from" => "Cells, from",
        "cells_to" => "Cells, to",
        "fixed_through_balance" => "Fixed current",
        "current_min_ma" => "Least current",
        "current_max_ma" => "Most current",
        "current_step_ma" => "In steps of",
        "charge_mw" => "Charges with",
        "discharge_mw" => "Discharges with",
        "factory_ma" => "The factory's current",
        "outputs" => "Outputs",
        "input_mv_min" => "DC, from",
        "input_mv_max" => "DC, to",
        "input_mw" => "USB PD",
        "mv" => "Volts",
        "mw" => "Watts",
        "shared_mw" => "All ports together",
        "limit_mw" | "rated_ma" => "Carries",
        "positions" => "Positions",
        _ => "This number",
    }
}

/// `Most current: type a number.`
fn said_of(name: &str, words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|first| first.to_lowercase().to_string());
    let (called, first) = (called(name), first.unwrap_or_default());
    format!("{called}: {first}{}", letters.as_str())
}

struct Form<'f> {
    fields: &'f Fields,
    numbers: Words,
    problems: &'f mut Problems,
}

impl Form<'_> {
    /// Notes the problem and goes on, so that one refusal names all that is wrong.
    fn amount(&mut self, name: &str, unit: Unit) -> i64 {
        let outcome = amount_milli(&self.fields.text(name), unit);
        let outcome =
            outcome.map_err(|wrong| said_of(name, &self.numbers.sentence(&wrong.to_string())));
        self.problems.keep(name, outcome).unwrap_or_default()
    }

    fn amount_or_none(&mut self, name: &str, unit: Unit) -> Option<i64> {
        (!self.fields.text(name).is_empty()).then(|| self.amount(name, unit))
    }

    fn count(&mut self, name: &str) -> i64 {
        let typed: Option<i64> = self.fields.text(name).parse().ok();
        typed.unwrap_or_else(|| {
            self.problems
                .add(name, said_of(name, "Type a whole number."));
            0
        })
    }

    fn charger(&mut self) -> Option<Charger> {
        let fixed = self.amount_or_none("fixed_through_balance", Unit::Amps);
        let balance_connector =
            Some(self.fields.text("balance_connector")).filter(|c| !c.is_empty());
        let output_connector = match (fixed, &balance_connector) {
            (Some(_), Some(balance)) => balance.clone(),
            _ => self.fields.text("output_connector"),
        };
        // One fixed current is its own least, most and step.
        let mut current = |name: &str| match fixed {
            Some(ma) => ma,
            None => self.amount(name, Unit::Amps),
        };
        let (current_min_ma, current_max_ma, current_step_ma) = (
            current("current_min_ma"),
            current("current_max_ma"),
            current("current_step_ma"),
        );
        let modes = self.fields.all("modes");
        Some(Charger {
            chemistries: self.fields.all("chemistries"),
            cells_from: self.count("cells_from"),
            cells_to: self.count("cells_to"),
            current_min_ma,
            current_max_ma,
            current_step_ma,
            charge_mw: self.amount("charge_mw", Unit::Watts),
            discharge_mw: self
                .amount_or_none("discharge_mw", Unit::Watts)
                .unwrap_or(0),
            modes: modes
                .iter()
                .filter_map(|code| Mode::from_code(code))
                .collect(),
            has_mah_cutoff: self.fields.is_ticked("has_mah_cutoff"),
            has_time_cutoff: self.fields.is_ticked("has_time_cutoff"),
            outputs: self.count("outputs"),
            output_connector,
            balance_connector,
            current_memory: self.memory(),
            input: self.input(),
            fixed_through_balance: fixed,
            can_boost: self.fields.is_ticked("can_boost"),
        })
    }

    fn memory(&mut self) -> Memory {
        match self.fields.text("current_memory").as_str() {
            "remembers" => Memory::Remembers,
            "factory" => Memory::Factory {
                ma: self.amount("factory_ma", Unit::Amps),
            },
            "not_known" => Memory::NotKnown,
            _ => {
                let words = "Choose what its current stands at when it is switched on.";
                self.problems.add("current_memory", words);
                Memory::NotKnown
            }
        }
    }

    fn input(&mut self) -> Input {
        match self.fields.text("input").as_str() {
            "dc" => Input::Dc {
                mv_min: self.amount("input_mv_min", Unit::Volts),
                mv_max: self.amount("input_mv_max", Unit::Volts),
                connector: self.fields.text("input_connector"),
            },
            "usb_pd" => Input::UsbPd {
                mw: self.amount("input_mw", Unit::Watts),
                levels_mv: self.levels(),
            },
            "mains" => Input::Mains,
            _ => {
                self.problems.add("input", "Choose what it is fed by.");
                Input::Mains
            }
        }
    }

    /// The USB PD levels that a charger takes.
    fn levels(&mut self) -> Option<Vec<i64>> {
        let outcome = port::levels_typed(&self.fields.text("input_levels"));
        let how = "USB PD levels: write their volts, like 9 15 20.";
        let outcome = outcome.map_err(|_| how);
        self.problems.keep("input_levels", outcome).flatten()
    }

    fn supply(&mut self) -> Option<Supply> {
        match self.fields.text("gives").as_str() {
            "dc" => Some(Supply::Dc {
                mv: self.amount("mv", Unit::Volts),
                mw: self.amount("mw", Unit::Watts),
                connector: self.fields.text("connector"),
            }),
            "usb_pd" => Some(Supply::UsbPd {
                ports: self.ports(),
                shared_mw: self.amount_or_none("shared_mw", Unit::Watts),
            }),
            _ => {
                self.problems.add("gives", "Choose what it gives.");
                None
            }
        }
    }

    /// One port a line.
    fn ports(&mut self) -> Vec<Port> {
        let text = self.fields.text("ports");
        let lines = text.lines().filter(|line| !line.trim().is_empty());
        let mut ports = Vec::new();
        for line in lines {
            match port::typed(line.trim()) {
                Ok(port) => ports.push(port),
                Err(_) => {
                    let how = "write its watts (5 to 240), like 65 W, or its levels, like 5 V 3 A / 9 V 2.2 A.";
                    let how = self.numbers.sentence(how);
                    let words = format!("“{}” is no port: {how}", line.trim());
                    self.problems.add("ports", words);
                }
            }
        }
        ports
    }

    fn cable(&mut self) -> Option<Cable> {
        Some(Cable {
            from: self.fields.text("from"),
            to: self.fields.text("to"),
            limit_mw: self.amount("limit_mw", Unit::Watts),
        })
    }

    fn adapter(&mut self) -> Option<Adapter> {
        Some(Adapter {
            from: self.fields.text("from"),
            to: self.fields.text("to"),
            rated_ma: self.amount("rated_ma", Unit::Amps),
        })
    }

    fn board(&mut self) -> Option<Board> {
        Some(Board {
            connectors: self.fields.all("connectors"),
            positions: self.count("positions"),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::charger::tests::usb_charger;
    use crate::bench::kit_typed::typed;
    use crate::bench::supply::source_levels;
    use crate::bench::typed::Words;

    fn sheets() -> Vec<Spec> {
        let small = Charger {
            current_min_ma: 800,
            current_max_ma: 800,
            current_step_ma: 800,
            output_connector: "jst-xh".into(),
            fixed_through_balance: Some(800),
            current_memory: Memory::Factory { ma: 800 },
            input: Input::Dc {
                mv_min: 11_000,
                mv_max: 18_000,
                connector: "xt60".into(),
            },
            ..usb_charger()
        };
        let ports = vec![
            Port {
                levels: source_levels(100_000),
            },
            port::typed("5 V 3 A / 12 V 1.5 A").expect("a port"),
        ];
        let choosy = Charger {
            input: Input::UsbPd {
                mw: 65_000,
                levels_mv: Some(vec![9_000, 20_000]),
            },
            ..usb_charger()
        };
        vec![
            Spec::Charger(usb_charger()),
            Spec::Charger(choosy),
            Spec::Charger(small),
            Spec::Supply(Supply::UsbPd {
                ports,
                shared_mw: Some(120_000),
            }),
            Spec::Supply(Supply::Dc {
                mv: 13_800,
                mw: 360_000,
                connector: "bullet-4".into(),
            }),
            Spec::Cable(Cable {
                from: "usb-c".into(),
                to: "usb-c".into(),
                limit_mw: 60_000,
            }),
            Spec::Adapter(Adapter {
                from: "xt60".into(),
                to: "xt30".into(),
                rated_ma: 12_500,
            }),
            Spec::Board(Board {
                connectors: vec!["xt30".into(), "jst-xh".into()],
                positions: 6,
            }),
        ]
    }

    #[test]
    fn every_sheet_typed_into_its_form_is_read_as_the_same_sheet_with_point_and_comma() {
        for spec in sheets() {
            for words in [Words::POINT, Words::COMMA] {
                let fields = Fields::new(typed(&spec, words));
                let mut problems = Problems::default();
                let back = read(spec.kind(), &fields, words, &mut problems);
                assert_eq!(problems, Problems::default());
                assert_eq!(back, Some(spec.clone()));
                assert_eq!(spec.clone().checked(), Ok(spec.clone()));
            }
        }
    }

    #[test]
    fn an_empty_form_of_any_kind_is_refused_and_every_open_field_named() {
        for kind in KitKind::ALL {
            let mut problems = Problems::default();
            assert_eq!(
                read(kind, &Fields::default(), Words::POINT, &mut problems),
                None
            );
            assert!(!problems.is_empty());
        }
        let mut problems = Problems::default();
        let nothing = Fields::default();
        read(KitKind::Charger, &nothing, Words::COMMA, &mut problems);
        assert_eq!(
            problems.of("current_max_ma"),
            "Most current: type a number."
        );
        assert!(!problems.of("input").is_empty());
        assert!(!problems.of("current_memory").is_empty());
        assert!(!problems.of("output_connector").is_empty());
        let all: Vec<&String> = problems.list().iter().map(|(_, words)| words).collect();
        for (at, words) in all.iter().enumerate() {
            assert!(!all[at + 1..].contains(words), "{words} twice: of which?");
            assert!(!words.contains("This number"), "{words}");
        }
    }
}
