//! A charger's data sheet as a plan needs it: what it charges, how hard, with which plugs, fed by what.
//! mV, mA, mW. How long a charge takes is the battery's, which charger to take the plan's question.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::connector::shown;
use super::typed::Words;
use crate::battery::chemistry::Chemistry;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "wakes", rename_all = "snake_case")]
pub enum Memory {
    Remembers,
    Factory { ma: i64 },
    NotKnown,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "takes", rename_all = "snake_case")]
pub enum Input {
    Dc {
        mv_min: i64,
        mv_max: i64,
        connector: String,
    },
    /// Does not start without a USB PD source; `mw` is the most it draws. `levels_mv`: the levels that it takes, rising; None
    /// where its sheet does not say: any.
    UsbPd {
        mw: i64,
        #[serde(default)]
        levels_mv: Option<Vec<i64>>,
    },
    Mains,
}

/// A charger's data sheet: mV, mA and mW.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Charger {
    /// Of lipo, lihv, liion, lifepo4, nimh, pb.
    pub chemistries: Vec<String>,
    pub cells_from: i64,
    pub cells_to: i64,
    pub current_min_ma: i64,
    pub current_max_ma: i64,
    pub current_step_ma: i64,
    /// For each output, as `discharge_mw`.
    pub charge_mw: i64,
    /// 0: it can't discharge.
    pub discharge_mw: i64,
    #[schema(inline)]
    pub modes: Vec<Mode>,
    pub has_mah_cutoff: bool,
    pub has_time_cutoff: bool,
    pub outputs: i64,
    /// A connector's code, like xt60.
    pub output_connector: String,
    /// null: it has none.
    pub balance_connector: Option<String>,
    #[schema(inline)]
    pub current_memory: Memory,
    #[schema(inline)]
    pub input: Input,
    /// mA, of a small charger that charges through the balance plug at one current.
    pub fixed_through_balance: Option<i64>,
    /// It charges packs above its own input volts.
    pub can_boost: bool,
}

impl Charger {
    pub(super) fn connectors(&self) -> Vec<&str> {
        let mut codes = vec![self.output_connector.as_str()];
        codes.extend(self.balance_connector.as_deref());
        if let Input::Dc { connector, .. } = &self.input {
            codes.push(connector);
        }
        codes
    }

    pub(super) fn connectors_mut(&mut self) -> Vec<&mut String> {
        let mut codes = vec![&mut self.output_connector];
        codes.extend(self.balance_connector.as_mut());
        if let Input::Dc { connector, .. } = &mut self.input {
            codes.push(connector);
        }
        codes
    }

    /// "LiPo LiHV 1–6S, 0.1–10 A in 0.1 A steps, 120 W, XT60, USB PD 65 W".
    pub fn summary(&self, words: Words) -> String {
        let chemistries: Vec<&str> = self
            .chemistries
            .iter()
            .filter_map(|code| Chemistry::from_code(code))
            .map(Chemistry::label)
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
                    "{}–{} in on {}",
                    words.number(*mv_min),
                    words.volts(*mv_max),
                    shown(connector)
                )
            }
            Input::UsbPd { mw, .. } => format!("USB PD {}", words.watts(*mw)),
            Input::Mains => "mains".to_owned(),
        };
        let (range, current) = (
            span(self.cells_from, self.cells_to),
            self.current_words(words),
        );
        let (chemistries, watts) = (chemistries.join(" "), words.watts(self.charge_mw));
        format!(
            "{chemistries} {range}S, {current}, {outputs}{watts}, {}, {input}",
            shown(&self.output_connector)
        )
    }

    /// What the summary leaves out, as a kit page lists it.
    pub fn facts(&self, words: Words) -> Vec<(&'static str, String)> {
        let modes: Vec<&str> = self.modes.iter().map(|mode| mode.code()).collect();
        let cut_offs = match (self.has_mah_cutoff, self.has_time_cutoff) {
            (true, true) => "by mAh and by time",
            (true, false) => "by mAh",
            (false, true) => "by time",
            (false, false) => "none",
        };
        let discharge = match self.discharge_mw {
            0 => "it can't".to_owned(),
            mw => words.watts(mw),
        };
        let wakes = match self.current_memory {
            Memory::Remembers => {
                "at the current it was last set to: read it before each pack".to_owned()
            }
            Memory::Factory { ma } => format!("at {}", words.amps(ma)),
            Memory::NotKnown => {
                "at a current that is not on record: read it before each pack".to_owned()
            }
        };
        let balance = self.balance_connector.as_deref().map_or("none", shown);
        let mut facts = vec![
            ("Modes", modes.join(", ")),
            ("Cuts off", cut_offs.to_owned()),
            ("Discharges with", discharge),
            ("Balance plug", balance.to_owned()),
            ("Wakes up", wakes),
        ];
        if let Input::UsbPd { levels_mv, .. } = &self.input {
            facts.push(("USB PD levels", levels_words(levels_mv.as_deref(), words)));
        }
        facts
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

/// `9, 15, 20 V`
fn levels_words(levels_mv: Option<&[i64]>, words: Words) -> String {
    match levels_mv {
        Some(levels_mv) => words.volts_of(levels_mv.iter().copied()),
        None => "not on record: any is reckoned with".to_owned(),
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
            output_connector: "xt60".into(),
            balance_connector: Some("jst-xh".into()),
            current_memory: Memory::Remembers,
            input: Input::UsbPd {
                mw: 65_000,
                levels_mv: None,
            },
            fixed_through_balance: None,
            can_boost: true,
        }
    }

    #[test]
    fn a_charger_is_told_in_one_line() {
        let line = "LiPo LiHV 1–6S, 0.1–10 A in 0.1 A steps, 120 W, XT60, USB PD 65 W";
        assert_eq!(usb_charger().summary(Words::POINT), line);
        let input = Input::Dc {
            mv_min: 10_000,
            mv_max: 30_000,
            connector: "xt60".into(),
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
    fn the_levels_that_a_charger_takes_are_told_and_where_nobody_knows_them_that_is_said() {
        let told = |levels_mv| {
            let input = Input::UsbPd {
                mw: 65_000,
                levels_mv,
            };
            let sheet = Charger {
                input,
                ..usb_charger()
            };
            sheet.facts(Words::POINT).pop()
        };
        assert_eq!(
            told(Some(vec![9_000, 15_000])),
            Some(("USB PD levels", "9, 15 V".to_owned()))
        );
        assert!(told(None).is_some_and(|(_, words)| words.starts_with("not on record")));
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
