//! Power supplies: a DC brick or bench supply, or USB PD with the levels each port offers.
//! mV, mA and mW. What a charger may draw from them is left to the charge plan.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::connector::shown;
use super::typed::Words;
use super::{FieldProblem, Findings};

/// One level of a USB PD port: the volts it offers and up to how many amps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Level {
    pub mv: i64,
    pub ma: i64,
}

impl Level {
    /// To the nearest 0.1 W: amps are kept as whole milliamps, and 2.222 A at 9 V are the 20 W of the label.
    pub fn mw(self) -> i64 {
        (self.mv.saturating_mul(self.ma).saturating_add(50_000) / 100_000) * 100
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Port {
    #[schema(inline)]
    pub levels: Vec<Level>,
}

impl Port {
    /// The most this port gives at any of its levels.
    pub fn mw(&self) -> i64 {
        self.levels
            .iter()
            .map(|level| level.mw())
            .max()
            .unwrap_or(0)
    }
}

/// `shared_mw` is what all ports give together; `None` means each port gives its own whatever the others do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "gives", rename_all = "snake_case")]
pub enum Supply {
    Dc {
        mv: i64,
        mw: i64,
        connector: String,
    },
    UsbPd {
        #[schema(inline)]
        ports: Vec<Port>,
        shared_mw: Option<i64>,
    },
}

/// Fixed levels and the rating above which each must be offered (USB PD power rules, as in an encyclopaedic entry on
/// USB Power Delivery; the levels above 20 V from a USB-C guide and a cable maker's article).
const FIXED_LEVELS: [(i64, i64); 7] = [
    (5_000, 0),
    (9_000, 15_000),
    (15_000, 27_000),
    (20_000, 45_000),
    (28_000, 100_000),
    (36_000, 140_000),
    (48_000, 180_000),
];

/// The levels a source of this rating (up to 240 W) must offer. A source may offer more of its own accord, so a
/// level not listed here counts only when it was read off the label. There is no 12 V level.
pub fn source_levels(rating_mw: i64) -> Vec<Level> {
    let rating_mw = rating_mw.clamp(0, 240_000);
    FIXED_LEVELS
        .iter()
        .filter(|(_, above_mw)| rating_mw > *above_mw)
        .map(|(mv, _)| Level {
            mv: *mv,
            ma: level_ma(rating_mw, *mv),
        })
        .collect()
}

/// Amps a source of this rating gives at a level: the rating over the volts, at most 3 A, from 20 V on and over 60 W
/// at most 5 A (which needs a marked cable). 0 for volts that are none.
pub fn level_ma(rating_mw: i64, mv: i64) -> i64 {
    if mv <= 0 || rating_mw <= 0 {
        return 0;
    }
    let most_ma = if mv >= 20_000 && rating_mw > 60_000 {
        5_000
    } else {
        3_000
    };
    (rating_mw.saturating_mul(1_000) / mv).min(most_ma)
}

impl Supply {
    pub fn checked(self) -> Result<Supply, Vec<FieldProblem>> {
        let mut findings = Findings::default();
        match &self {
            Supply::Dc { mv, mw, connector } => {
                findings.within(*mv, 3_000..=60_000, "mv", "A supply gives 3 to 60 V.");
                findings.within(*mw, 1_000..=5_000_000, "mw", "A supply gives 1 to 5000 W.");
                findings.connector(connector, "connector", "DC");
            }
            Supply::UsbPd { ports, shared_mw } => check_ports(ports, *shared_mw, &mut findings),
        }
        findings.pass(self)
    }

    pub fn summary(&self, words: Words) -> String {
        match self {
            Supply::Dc { mv, mw, connector } => {
                format!(
                    "{} {}, {}",
                    words.volts(*mv),
                    words.watts(*mw),
                    shown(connector)
                )
            }
            Supply::UsbPd { ports, shared_mw } => {
                let each: Vec<String> = ports.iter().map(|port| words.watts(port.mw())).collect();
                let together = shared_mw
                    .map(|mw| format!(", {} together", words.watts(mw)))
                    .unwrap_or_default();
                format!("USB PD {}{together}", each.join(" + "))
            }
        }
    }
}

fn check_ports(ports: &[Port], shared_mw: Option<i64>, findings: &mut Findings) {
    findings.unless(
        (1..=12).contains(&ports.len()),
        "ports",
        "A USB PD supply has 1 to 12 ports.",
    );
    for port in ports {
        let starts_at_5_v = port.levels.first().is_some_and(|level| level.mv == 5_000);
        findings.unless(
            starts_at_5_v,
            "ports",
            "Every USB PD port offers 5 V: give that level first.",
        );
        let is_rising = port.levels.windows(2).all(|pair| pair[0].mv < pair[1].mv);
        findings.unless(
            is_rising,
            "ports",
            "Give the levels from low to high volts, each once.",
        );
        for level in &port.levels {
            findings.within(
                level.mv,
                5_000..=48_000,
                "ports",
                "A level lies between 5 and 48 V.",
            );
            findings.within(level.ma, 100..=5_000, "ports", "A level gives 0.1 to 5 A.");
        }
    }
    if let Some(shared) = shared_mw {
        findings.within(
            shared,
            5_000..=1_000_000,
            "shared_mw",
            "The ports together give 5 to 1000 W.",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn offered(rating_mw: i64) -> Vec<(i64, i64)> {
        source_levels(rating_mw)
            .into_iter()
            .map(|level| (level.mv, level.ma))
            .collect()
    }

    /// Encyclopaedic entry on USB Power Delivery, worked example.
    #[test]
    fn fifty_watts_is_three_amps_up_to_15_v_and_two_and_a_half_at_20_v() {
        assert_eq!(
            offered(50_000),
            [
                (5_000, 3_000),
                (9_000, 3_000),
                (15_000, 3_000),
                (20_000, 2_500)
            ]
        );
    }

    /// A chip maker's user guide, example 1: this source offers 20 V of its own accord.
    #[test]
    fn thirty_six_watts_is_2_4_amps_at_15_v_and_1_8_where_20_v_is_offered() {
        assert_eq!(
            offered(36_000),
            [(5_000, 3_000), (9_000, 3_000), (15_000, 2_400)]
        );
        assert_eq!(level_ma(36_000, 20_000), 1_800);
    }

    #[test]
    fn a_level_comes_only_above_the_rating_that_asks_for_it() {
        assert_eq!(offered(15_000), [(5_000, 3_000)]);
        assert_eq!(offered(27_000).last(), Some(&(9_000, 3_000)));
        assert_eq!(offered(45_000).last(), Some(&(15_000, 3_000)));
        assert_eq!(offered(60_000).last(), Some(&(20_000, 3_000)));
        assert_eq!(offered(100_000).last(), Some(&(20_000, 5_000)));
        assert_eq!(offered(140_000).last(), Some(&(28_000, 5_000)));
        assert_eq!(offered(240_000).last(), Some(&(48_000, 5_000)));
    }

    /// Levels of the extended range at 5 A: a cable maker's article.
    #[test]
    fn twenty_eight_thirty_six_and_forty_eight_volts_are_140_180_and_240_w() {
        let highest = [140_000, 180_000, 240_000].map(|rating_mw| {
            let levels = source_levels(rating_mw);
            levels.last().map(|level| (level.mv, level.mw()))
        });
        let published = [(28_000, 140_000), (36_000, 180_000), (48_000, 240_000)];
        assert_eq!(highest, published.map(Some));
    }

    #[test]
    fn no_level_gives_more_than_the_rating_and_none_is_12_v() {
        for rating_mw in (0..=260_000).step_by(700) {
            let levels = source_levels(rating_mw);
            assert!(
                levels
                    .iter()
                    .all(|level| level.mw() <= rating_mw && level.mv != 12_000)
            );
        }
        assert_eq!(source_levels(i64::MIN), []);
        assert_eq!(level_ma(i64::MAX, 0), 0);
    }

    #[test]
    fn a_port_without_5_v_or_with_levels_out_of_order_is_refused() {
        let port = |levels: &[(i64, i64)]| Port {
            levels: levels
                .iter()
                .map(|(mv, ma)| Level { mv: *mv, ma: *ma })
                .collect(),
        };
        let supply = |port| {
            Supply::UsbPd {
                ports: vec![port],
                shared_mw: Some(65_000),
            }
            .checked()
        };
        assert!(supply(port(&[(5_000, 3_000), (20_000, 3_250)])).is_ok());
        assert!(supply(port(&[(9_000, 3_000)])).is_err());
        assert!(supply(port(&[(5_000, 3_000), (5_000, 3_000)])).is_err());
        assert!(supply(port(&[])).is_err());
    }

    #[test]
    fn a_supply_is_told_in_one_line() {
        let brick = Supply::Dc {
            mv: 12_500,
            mw: 150_000,
            connector: "xt60".into(),
        };
        assert_eq!(brick.summary(Words::COMMA), "12,5 V 150 W, XT60");
        let ports = vec![
            Port {
                levels: source_levels(65_000),
            },
            Port {
                levels: source_levels(27_000),
            },
        ];
        let shared = Supply::UsbPd {
            ports,
            shared_mw: Some(65_000),
        };
        assert_eq!(
            shared.summary(Words::POINT),
            "USB PD 65 W + 27 W, 65 W together"
        );
    }
}
