//! What stands between charger and pack, or supply and charger: cables, adapters, boards, and what a chain of them carries.
//! mA and mW; connectors by family code. Which chain a plan takes is left to the charge plan.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::connector::{Family, shown};
use super::typed::Words;
use super::{FieldProblem, Findings};

/// A supply cable; `limit_mw` is what its marking allows (a USB-C cable without mark: 60 W).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Cable {
    pub from: String,
    pub to: String,
    pub limit_mw: i64,
}

/// One kind of adapter, kept as counted stock: `from` faces the charger, `to` faces the pack.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Adapter {
    pub from: String,
    pub to: String,
    pub rated_ma: i64,
}

impl Adapter {
    /// It carries no more than the weaker of its plugs, as far as these have a figure on record.
    pub fn beyond_its_plugs(&self, families: &[Family]) -> Option<FieldProblem> {
        let plugs = families
            .iter()
            .filter(|family| family.code == self.from || family.code == self.to);
        let rated = plugs.filter_map(|family| Some((family.rating_ma?, &family.name)));
        let (rating_ma, name) = rated.min()?;
        (self.rated_ma > rating_ma).then(|| FieldProblem {
            field: "rated_ma",
            words: format!(
                "{name} carries {}, and an adapter no more than its weaker plug.",
                Words::POINT.amps(rating_ma)
            ),
        })
    }
}

/// A parallel charging board: listed so that it can be found and lent, never part of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Board {
    pub connectors: Vec<String>,
    pub positions: i64,
}

impl Cable {
    pub fn checked(self) -> Result<Cable, Vec<FieldProblem>> {
        let mut findings = Findings::default();
        findings.connector(&self.from, "from", "From");
        findings.connector(&self.to, "to", "To");
        findings.within(
            self.limit_mw,
            1_000..=5_000_000,
            "limit_mw",
            "A cable carries 1 to 5000 W.",
        );
        findings.pass(self)
    }

    pub fn summary(&self, words: Words) -> String {
        format!(
            "{} to {}, up to {}",
            shown(&self.from),
            shown(&self.to),
            words.watts(self.limit_mw)
        )
    }
}

impl Adapter {
    pub fn checked(self) -> Result<Adapter, Vec<FieldProblem>> {
        let mut findings = Findings::default();
        findings.connector(&self.from, "from", "From");
        findings.connector(&self.to, "to", "To");
        findings.unless(
            self.from != self.to,
            "to",
            "An adapter joins two different connectors.",
        );
        findings.within(
            self.rated_ma,
            100..=500_000,
            "rated_ma",
            "An adapter carries 0.1 to 500 A.",
        );
        findings.pass(self)
    }

    pub fn summary(&self, words: Words) -> String {
        format!(
            "{} to {}, {}",
            shown(&self.from),
            shown(&self.to),
            words.amps(self.rated_ma)
        )
    }
}

impl Board {
    pub fn checked(self) -> Result<Board, Vec<FieldProblem>> {
        let mut findings = Findings::default();
        findings.unless(
            !self.connectors.is_empty(),
            "connectors",
            "Choose at least one connector.",
        );
        for connector in &self.connectors {
            findings.connector(connector, "connectors", "Connectors");
        }
        findings.within(
            self.positions,
            2..=24,
            "positions",
            "A board has 2 to 24 positions.",
        );
        findings.pass(self)
    }

    pub fn summary(&self) -> String {
        let connectors: Vec<&str> = self.connectors.iter().map(|code| shown(code)).collect();
        format!(
            "{} positions, {}; not planned with",
            self.positions,
            connectors.join(" ")
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn adapter(from: &str, to: &str) -> Adapter {
        Adapter {
            from: from.into(),
            to: to.into(),
            rated_ma: 10_000,
        }
    }

    #[test]
    fn an_adapter_between_alike_connectors_and_a_board_of_one_are_refused() {
        assert!(adapter("xt60", "xt60").checked().is_err());
        assert!(
            Board {
                connectors: vec!["xt30".into()],
                positions: 1
            }
            .checked()
            .is_err()
        );
        assert!(
            Cable {
                from: "usb-c".into(),
                to: "".into(),
                limit_mw: 60_000
            }
            .checked()
            .is_err()
        );
    }
}
