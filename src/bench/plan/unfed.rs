//! Why a supply does not feed a charger: found for every two of them, told in a sentence where somebody reads it. mV.

use super::laid_out::LaidOut;
use crate::bench::connector::called;
use crate::bench::supply::Level;
use crate::bench::typed::Words;

#[derive(Clone, Copy, Debug)]
pub enum Unfed<'h> {
    FromTheMains,
    NeedsPd,
    OnlyFiveVolts,
    /// It offers these up to so many volts, and the charger takes none of them.
    NoLevel {
        offered: &'h [Level],
        most_mv: i64,
        takes: &'h [i64],
    },
    NothingLeft,
    /// It gives `mv`, and the charger takes from and to.
    Outside {
        mv: i64,
        takes: (i64, i64),
    },
    CantLift {
        mv: i64,
    },
    /// The charger has its power from there now.
    RunsOn(&'h str),
    /// It has room for one charger, and that is another.
    Feeds(&'h str),
    NoCable {
        from: &'h str,
        to: &'h str,
    },
}

impl Unfed<'_> {
    /// How near it is to feeding it, the nearest lowest: of several reasons people are told this one.
    pub const fn nearness(&self) -> u8 {
        match self {
            Self::RunsOn(_) | Self::Feeds(_) | Self::NothingLeft => 0,
            Self::NoCable { .. } => 1,
            Self::CantLift { .. } | Self::Outside { .. } | Self::NoLevel { .. } => 2,
            Self::OnlyFiveVolts | Self::NeedsPd => 3,
            Self::FromTheMains => 4,
        }
    }

    /// `charger` and `supply` by number; the pack stands at `full_mv`.
    pub fn words(self, (charger, supply): (&str, &str), full_mv: i64, kit: &LaidOut) -> String {
        let words = Words::POINT;
        match self {
            Self::FromTheMains => format!("{charger} runs from the mains."),
            Self::NeedsPd => {
                format!("{charger} does not start without USB PD, and {supply} has none.")
            }
            Self::OnlyFiveVolts => format!(
                "{supply} gives no more than 5 V there: {charger} does not start without USB PD."
            ),
            Self::NoLevel {
                offered,
                most_mv,
                takes,
            } => {
                let offered = offered.iter().map(|level| level.mv);
                format!(
                    "{supply} gives it {} there; {charger} takes USB PD at {}.",
                    words.volts_of(offered.filter(|mv| *mv <= most_mv)),
                    words.volts_of(takes.iter().copied())
                )
            }
            Self::NothingLeft => format!("{supply} has nothing left to give."),
            Self::Outside { mv, takes } => format!(
                "{supply} gives {}; {charger} takes {} to {}.",
                words.volts(mv),
                words.number(takes.0),
                words.volts(takes.1)
            ),
            Self::CantLift { mv } => format!(
                "{charger} can't charge above its input: this pack is {} full, and {supply} gives {}.",
                words.volts(full_mv),
                words.volts(mv)
            ),
            Self::RunsOn(number) => format!("{charger} runs on {number} now."),
            Self::Feeds(number) => format!("{supply} feeds {number} now."),
            Self::NoCable { from, to } => {
                let own = &kit.hand.families;
                let (from, to) = (called(from, own), called(to, own));
                format!("No cable from {from} of {supply} to {to} of {charger} is at hand.")
            }
        }
    }
}
