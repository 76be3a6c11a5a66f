//! What holds of a pack whatever kit it is charged with: that it must not be, or the current that it takes at most in ordinary
//! use. For whoever looks at a pack before a charger is chosen. mA.

use super::asked::Asked;
use super::current::{Haste, Limit, of_pack};
use super::stops::{Before, before};

/// A room, and a pack, that nobody measured, where only what holds in any mild one is told.
pub const MILD_CELSIUS: i64 = 21;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AtMost {
    /// Why it must not be charged now, in sentences.
    Stop(Vec<String>),
    /// It is there already; in a sentence.
    Nothing(String),
    Ma(Most),
}

/// A current, and the rate behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Most {
    pub ma: i64,
    pub c_tenths: i64,
    pub by: By,
}

/// What holds it so low; of several, the one that is named first here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum By {
    Club,
    Label,
    Warmth,
}

const fn rate(limit: &Limit) -> Option<(By, i64)> {
    match limit {
        Limit::ClubRate { c_tenths } => Some((By::Club, *c_tenths)),
        Limit::Label { c_tenths } | Limit::LabelSilent { c_tenths } => Some((By::Label, *c_tenths)),
        Limit::Cool { c_tenths } | Limit::Warm { c_tenths } => Some((By::Warmth, *c_tenths)),
        _ => None,
    }
}

/// How warm it is has been said, or is taken as mild by whoever asks.
pub fn at_most(asked: &Asked) -> AtMost {
    match before(asked) {
        Before::Stop(words) => AtMost::Stop(words),
        Before::Nothing(words) => AtMost::Nothing(words),
        Before::Go(_) | Before::Ask(_) => {
            let rated = of_pack(asked, Haste::Usual).into_iter();
            let least = rated
                .filter_map(|(ma, limit)| rate(&limit).map(|(by, c_tenths)| (ma, by, c_tenths)))
                .min();
            least.map_or_else(
                || AtMost::Stop(Vec::new()),
                |(ma, by, c_tenths)| AtMost::Ma(Most { ma, c_tenths, by }),
            )
        }
    }
}
