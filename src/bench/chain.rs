//! What stands between charger and pack, or supply and charger: cables, adapters, boards, and what a chain of them carries.
//! mA and mW; connectors by family code. Which chain a plan takes is left to the charge plan.

use serde::{Deserialize, Serialize};

use super::connector::{Family, shown};
use super::typed::Words;
use super::{FieldProblem, Findings};

/// A supply cable; `limit_mw` is what its marking allows (a USB-C cable without mark: 60 W).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cable {
    pub from: String,
    pub to: String,
    pub limit_mw: i64,
}

/// One kind of adapter, kept as counted stock: `from` faces the charger, `to` faces the pack.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
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

/// Continuous mA of a chain: the least of every plug and wire in it. One rating not on record makes the chain's unknown.
pub fn chain_rating_ma(ratings_ma: &[Option<i64>]) -> Option<i64> {
    let known: Option<Vec<i64>> = ratings_ma.iter().copied().collect();
    known?.into_iter().min()
}

/// Every way to get from the charger's connector to the pack's with at most two adapters in series, fewest first.
/// Matching connectors need none: one empty chain. Club practice, no source: longer chains are not built.
pub fn adapters_between<'a>(from: &str, to: &str, stock: &'a [Adapter]) -> Vec<Vec<&'a Adapter>> {
    if from == to {
        return vec![Vec::new()];
    }
    let first: Vec<&Adapter> = stock
        .iter()
        .filter(|adapter| adapter.from == from)
        .collect();
    let mut chains: Vec<Vec<&Adapter>> = first
        .iter()
        .filter(|a| a.to == to)
        .map(|a| vec![*a])
        .collect();
    for near in first.iter().filter(|near| near.to != to && near.to != from) {
        let far = stock
            .iter()
            .filter(|far| far.from == near.to && far.to == to);
        chains.extend(far.map(|far| vec![*near, far]));
    }
    chains
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
    fn a_chain_carries_what_its_weakest_plug_carries() {
        assert_eq!(
            chain_rating_ma(&[Some(30_000), Some(3_000), Some(15_000)]),
            Some(3_000)
        );
        assert_eq!(chain_rating_ma(&[Some(30_000), None]), None);
        assert_eq!(chain_rating_ma(&[]), None);
    }

    #[test]
    fn two_adapters_in_series_are_found_and_three_are_not() {
        let stock = [
            adapter("xt60", "bullet-4"),
            adapter("bullet-4", "xt30"),
            adapter("xt30", "jst-rcy"),
            adapter("xt60", "xt30"),
        ];
        let lengths: Vec<usize> = adapters_between("xt60", "xt30", &stock)
            .iter()
            .map(Vec::len)
            .collect();
        assert_eq!(lengths, [1, 2]);
        assert_eq!(
            adapters_between("xt60", "jst-rcy", &stock[..3]),
            Vec::<Vec<&Adapter>>::new()
        );
        assert_eq!(
            adapters_between("xt60", "xt60", &stock),
            [Vec::<&Adapter>::new()]
        );
    }

    #[test]
    fn an_adapter_is_not_used_backwards() {
        assert!(adapters_between("xt30", "xt60", &[adapter("xt60", "xt30")]).is_empty());
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
