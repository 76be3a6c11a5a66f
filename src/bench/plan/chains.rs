//! Which adapters lie between a charger's output and a pack, and what the weakest plug among them carries. mA.
//! Club practice, no source: two in series at most.

use super::asked::{AdaptersAtHand, AtHand, Numbered};
use super::laid_out::{LaidOut, plug_ma};

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

/// The same before it is told: there are many, and few are.
#[derive(Clone, Copy, Debug)]
pub struct Link<'h> {
    from: &'h str,
    near: Option<&'h AdaptersAtHand>,
    far: Option<&'h AdaptersAtHand>,
    pub rating_ma: i64,
}

impl<'h> Link<'h> {
    /// Plug into plug.
    pub fn straight(plug: &'h str, hand: &AtHand) -> Self {
        Self {
            from: plug,
            near: None,
            far: None,
            rating_ma: plug_ma(plug, hand),
        }
    }

    fn adapters(&self) -> impl Iterator<Item = &'h AdaptersAtHand> {
        self.near.into_iter().chain(self.far)
    }

    pub fn length(&self) -> usize {
        self.adapters().count()
    }

    /// Puts chains in order where nothing else does.
    pub fn key(&self) -> [i64; 2] {
        [self.near, self.far].map(|each| each.map_or(-1, |adapter| adapter.id.key))
    }

    pub fn chain(&self, hand: &AtHand) -> Chain {
        let mut plugs = vec![self.from.to_owned()];
        plugs.extend(self.adapters().map(|adapter| adapter.sheet.to.clone()));
        let of_plug = |code: &String| match hand.rating_ma(code) {
            Some(ma) => (ma, Weakest::Plug(code.clone())),
            None => (UNRATED_MA, Weakest::UnratedPlug(code.clone())),
        };
        let of_adapter = |adapter: &AdaptersAtHand| {
            let number = adapter.id.number.clone();
            (adapter.sheet.rated_ma, Weakest::Adapter(number))
        };
        let rated = plugs.iter().map(of_plug);
        let (rating_ma, weakest) = rated
            .chain(self.adapters().map(of_adapter))
            .min_by_key(|(ma, _)| *ma)
            .unwrap_or((UNRATED_MA, Weakest::UnratedPlug(self.from.to_owned())));
        Chain {
            adapters: self.adapters().map(|adapter| adapter.id.clone()).collect(),
            plugs,
            rating_ma,
            weakest,
        }
    }
}

/// Every chain that is free, none longer than two adapters; empty where none joins them.
pub fn links<'h>(from: &'h str, to: &str, kit: &LaidOut<'h>) -> Vec<Link<'h>> {
    if from == to {
        return vec![Link::straight(from, kit.hand)];
    }
    let mut found = Vec::new();
    for near in kit.free.iter().filter(|near| near.stock.sheet.from == from) {
        let (middle, near_ma) = (&near.stock.sheet.to, near.carries_ma);
        let alone = Link {
            from,
            near: Some(near.stock),
            far: None,
            rating_ma: near_ma,
        };
        if middle == to {
            found.push(alone);
            continue;
        }
        let joined = kit
            .to_pack
            .iter()
            .filter(|far| far.stock.sheet.from == *middle);
        found.extend(joined.map(|far| Link {
            far: Some(far.stock),
            rating_ma: near_ma.min(far.carries_ma),
            ..alone
        }));
    }
    found
}
