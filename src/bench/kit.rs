//! Kit of the club that is no pack: chargers, supplies, cables, adapters, boards. Which kinds there are, how they are
//! numbered, and the data sheet of each, kept as JSON with a `kind`. Who has a thing is left to the club.

use serde::{Deserialize, Serialize};

use super::FieldProblem;
use super::chain::{Adapter, Board, Cable};
use super::charger::Charger;
use super::connector::{Family, called};
use super::supply::Supply;
use super::typed::Words;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KitKind {
    Charger,
    Supply,
    Cable,
    Adapter,
    Board,
}

impl KitKind {
    pub const ALL: [KitKind; 5] = [
        KitKind::Charger,
        KitKind::Supply,
        KitKind::Cable,
        KitKind::Adapter,
        KitKind::Board,
    ];

    /// code, singular, plural, number prefix.
    fn names(self) -> (&'static str, &'static str, &'static str, &'static str) {
        match self {
            KitKind::Charger => ("charger", "charger", "chargers", "C-"),
            KitKind::Supply => ("supply", "power supply", "power supplies", "S-"),
            KitKind::Cable => ("cable", "cable", "cables", "K-"),
            KitKind::Adapter => ("adapter", "adapter", "adapters", "A-"),
            KitKind::Board => ("board", "parallel board", "parallel boards", "B-"),
        }
    }

    pub fn code(self) -> &'static str {
        self.names().0
    }

    pub fn from_code(code: &str) -> Option<KitKind> {
        KitKind::ALL.into_iter().find(|kind| kind.code() == code)
    }

    pub fn label(self) -> &'static str {
        self.names().1
    }

    pub fn plural(self) -> &'static str {
        self.names().2
    }

    pub fn number_prefix(self) -> &'static str {
        self.names().3
    }

    /// `C-02`
    pub fn number(self, key: i64) -> String {
        format!("{}{key:02}", self.number_prefix())
    }

    /// Adapters are alike and counted; everything else has its own number.
    pub fn is_counted(self) -> bool {
        self == KitKind::Adapter
    }

    /// Boards are listed and lent, but no plan ever charges in parallel.
    pub fn is_planned_with(self) -> bool {
        self != KitKind::Board
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Spec {
    Charger(Charger),
    Supply(Supply),
    Cable(Cable),
    Adapter(Adapter),
    Board(Board),
}

impl Spec {
    pub fn kind(&self) -> KitKind {
        match self {
            Spec::Charger(_) => KitKind::Charger,
            Spec::Supply(_) => KitKind::Supply,
            Spec::Cable(_) => KitKind::Cable,
            Spec::Adapter(_) => KitKind::Adapter,
            Spec::Board(_) => KitKind::Board,
        }
    }

    /// The same data sheet if every figure is plausible, else each field's problem.
    pub fn checked(self) -> Result<Spec, Vec<FieldProblem>> {
        match self {
            Spec::Charger(charger) => charger.checked().map(Spec::Charger),
            Spec::Supply(supply) => supply.checked().map(Spec::Supply),
            Spec::Cable(cable) => cable.checked().map(Spec::Cable),
            Spec::Adapter(adapter) => adapter.checked().map(Spec::Adapter),
            Spec::Board(board) => board.checked().map(Spec::Board),
        }
    }

    /// Codes of every connector it has, as the data sheet lists them.
    pub fn connectors(&self) -> Vec<&str> {
        match self {
            Spec::Charger(charger) => charger.connectors(),
            Spec::Supply(Supply::Dc { connector, .. }) => vec![connector],
            Spec::Supply(Supply::UsbPd { .. }) => Vec::new(),
            Spec::Cable(cable) => vec![&cable.from, &cable.to],
            Spec::Adapter(adapter) => vec![&adapter.from, &adapter.to],
            Spec::Board(board) => board.connectors.iter().map(String::as_str).collect(),
        }
    }

    /// The same sheet for reading: the club's own connectors by name instead of code.
    pub fn with_names(mut self, own: &[Family]) -> Spec {
        let codes = match &mut self {
            Spec::Charger(charger) => charger.connectors_mut(),
            Spec::Supply(Supply::Dc { connector, .. }) => vec![connector],
            Spec::Supply(Supply::UsbPd { .. }) => Vec::new(),
            Spec::Cable(cable) => vec![&mut cable.from, &mut cable.to],
            Spec::Adapter(adapter) => vec![&mut adapter.from, &mut adapter.to],
            Spec::Board(board) => board.connectors.iter_mut().collect(),
        };
        for code in codes {
            *code = called(code, own).to_owned();
        }
        self
    }

    /// What it is, in one line. A club's own connector appears by its code.
    pub fn summary(&self, words: Words) -> String {
        match self {
            Spec::Charger(charger) => charger.summary(words),
            Spec::Supply(supply) => supply.summary(words),
            Spec::Cable(cable) => cable.summary(words),
            Spec::Adapter(adapter) => adapter.summary(words),
            Spec::Board(board) => board.summary(),
        }
    }

    /// What the one line leaves out.
    pub fn facts(&self, words: Words) -> Vec<(&'static str, String)> {
        match self {
            Spec::Charger(charger) => charger.facts(words),
            _ => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::charger::tests::usb_charger;
    use crate::bench::supply::{Port, source_levels};

    fn one_of_each() -> Vec<Spec> {
        let ports = vec![Port {
            levels: source_levels(65_000),
        }];
        vec![
            Spec::Charger(usb_charger()),
            Spec::Supply(Supply::UsbPd {
                ports,
                shared_mw: None,
            }),
            Spec::Cable(Cable {
                from: "usb-c".into(),
                to: "usb-c".into(),
                limit_mw: 60_000,
            }),
            Spec::Adapter(Adapter {
                from: "xt60".into(),
                to: "xt30".into(),
                rated_ma: 15_000,
            }),
            Spec::Board(Board {
                connectors: vec!["xt30".into()],
                positions: 6,
            }),
        ]
    }

    #[test]
    fn every_kind_of_kit_survives_storing_as_json_with_its_kind_named() {
        for (spec, kind) in one_of_each().into_iter().zip(KitKind::ALL) {
            assert_eq!(spec.kind(), kind);
            assert_eq!(spec.clone().checked(), Ok(spec.clone()));
            let json = serde_json::to_value(&spec).unwrap();
            assert_eq!(json["kind"], kind.code());
            assert_eq!(serde_json::from_value::<Spec>(json).unwrap(), spec);
            assert!(!spec.summary(Words::POINT).is_empty());
        }
    }

    #[test]
    fn kinds_are_found_by_their_codes_and_number_themselves_apart() {
        let prefixes = KitKind::ALL.map(KitKind::number_prefix);
        assert_eq!(prefixes, ["C-", "S-", "K-", "A-", "B-"]);
        assert!(
            KitKind::ALL
                .into_iter()
                .all(|kind| KitKind::from_code(kind.code()) == Some(kind))
        );
        assert_eq!(KitKind::from_code("pack"), None);
    }

    #[test]
    fn only_adapters_are_counted_and_boards_are_never_planned_with() {
        assert!(KitKind::Adapter.is_counted() && !KitKind::Charger.is_counted());
        assert!(!KitKind::Board.is_planned_with() && KitKind::Cable.is_planned_with());
    }
}
