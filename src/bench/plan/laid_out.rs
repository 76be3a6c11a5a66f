//! The kit at hand laid out for one pack: what would else be looked up for each charger anew. mA.

use super::asked::{AdaptersAtHand, AtHand, Numbered, Running};
use super::chains::UNRATED_MA;

pub struct LaidOut<'h> {
    pub hand: &'h AtHand,
    /// Every output that charges a pack now, and whose it is.
    pub running: Vec<(&'h Numbered, &'h Running)>,
    /// Adapters of which one is free.
    pub free: Vec<Free<'h>>,
    /// Those of them that lead to the pack's plug.
    pub to_pack: Vec<Free<'h>>,
}

/// An adapter, and what it carries between its two plugs.
#[derive(Clone, Copy)]
pub struct Free<'h> {
    pub stock: &'h AdaptersAtHand,
    pub carries_ma: i64,
}

impl<'h> LaidOut<'h> {
    pub fn of(hand: &'h AtHand, pack_plug: &str) -> Self {
        let carries = |stock: &'h AdaptersAtHand| {
            let (from, to) = (
                plug_ma(&stock.sheet.from, hand),
                plug_ma(&stock.sheet.to, hand),
            );
            Free {
                stock,
                carries_ma: stock.sheet.rated_ma.min(from).min(to),
            }
        };
        let is_free = |stock: &&AdaptersAtHand| stock.free > 0;
        let free: Vec<Free> = hand.adapters.iter().filter(is_free).map(carries).collect();
        let to_pack = free.iter().filter(|each| each.stock.sheet.to == pack_plug);
        let chargers = hand.chargers.iter();
        Self {
            hand,
            running: chargers
                .flat_map(|charger| charger.running.iter().map(move |each| (&charger.id, each)))
                .chain(hand.elsewhere.iter().map(|(charger, each)| (charger, each)))
                .collect(),
            to_pack: to_pack.copied().collect(),
            free,
        }
    }
}

/// What a plug is reckoned with.
pub fn plug_ma(connector: &str, hand: &AtHand) -> i64 {
    hand.rating_ma(connector).unwrap_or(UNRATED_MA)
}
