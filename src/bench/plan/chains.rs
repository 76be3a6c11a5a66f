//! Which adapters lie between a charger's output and a pack, and what the weakest plug among them carries. mA.
//! Club practice, no source: two in series at most.

use super::asked::{AdaptersAtHand, AtHand, Numbered};

/// The weakest family that has a figure: what a plug without one is reckoned with. Common practice, no source.
pub const UNRATED_MA: i64 = 2_000;

/// From the charger on to the pack. `rating_ma`: the least of every plug and wire.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chain {
    pub adapters: Vec<Numbered>,
    /// Every plug in turn, the charger's and the pack's counted in.
    pub plugs: Vec<String>,
    pub rating_ma: i64,
    /// What is weakest: a plug by its code, or an adapter by its number.
    pub weakest: Weakest,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Weakest {
    Plug(String),
    /// It has no figure on record.
    UnratedPlug(String),
    Adapter(String),
}

impl Chain {
    pub fn key(&self) -> [i64; 2] {
        let at = |index: usize| self.adapters.get(index).map_or(-1, |adapter| adapter.key);
        [at(0), at(1)]
    }
}

/// Every chain that is free, none longer than two adapters; empty where none joins them.
pub fn chains(from: &str, to: &str, hand: &AtHand) -> Vec<Chain> {
    if from == to {
        return vec![chain(&[], from, hand)];
    }
    let free = || hand.adapters.iter().filter(|adapter| adapter.free > 0);
    let mut found = Vec::new();
    for near in free().filter(|adapter| adapter.sheet.from == from) {
        if near.sheet.to == to {
            found.push(chain(&[near], from, hand));
            continue;
        }
        let far = free().filter(|far| far.sheet.from == near.sheet.to && far.sheet.to == to);
        found.extend(far.map(|far| chain(&[near, far], from, hand)));
    }
    found
}

fn chain(adapters: &[&AdaptersAtHand], from: &str, hand: &AtHand) -> Chain {
    let mut plugs = vec![from.to_owned()];
    plugs.extend(adapters.iter().map(|adapter| adapter.sheet.to.clone()));
    let of_plug = |code: &String| match hand.rating_ma(code) {
        Some(ma) => (ma, Weakest::Plug(code.clone())),
        None => (UNRATED_MA, Weakest::UnratedPlug(code.clone())),
    };
    let of_adapter = |adapter: &&AdaptersAtHand| {
        (
            adapter.sheet.rated_ma,
            Weakest::Adapter(adapter.id.number.clone()),
        )
    };
    let rated = plugs.iter().map(of_plug);
    let (rating_ma, weakest) = rated
        .chain(adapters.iter().map(of_adapter))
        .min_by_key(|(ma, _)| *ma)
        .unwrap_or((UNRATED_MA, Weakest::UnratedPlug(from.to_owned())));
    Chain {
        adapters: adapters.iter().map(|adapter| adapter.id.clone()).collect(),
        plugs,
        rating_ma,
        weakest,
    }
}
