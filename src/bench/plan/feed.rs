//! What feeds a charger: a supply, its port and level, and the cable between, and the watts that are left of them.
//! mV, mA and mW. How much of that reaches a pack is `current`'s.

use super::asked::{AtHand, ChargerAtHand, Numbered, Running, SupplyAtHand};
use super::wires::{USB_C, Wire, through_usb_c, wires};
use crate::bench::charger::Input;
use crate::bench::supply::{Level, Port, Supply};
use crate::bench::typed::Words;

/// Above 20 V only through a cable marked for more than 100 W (a cable maker's article on the extended range).
const STANDARD_RANGE_MV: i64 = 20_000;
const STANDARD_RANGE_MW: i64 = 100_000;
/// A charger that can't raise its input needs this much above the pack: common practice, no source.
const HEADROOM_MV: i64 = 1_000;

/// Where a charger's power comes from. `cable`: None where the supply plugs straight in, and where a USB-C cable is needed
/// and the club has none of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    pub supply: Numbered,
    pub port: Option<usize>,
    pub mv: i64,
    pub cable: Option<Numbered>,
    pub needs_own_cable: bool,
}

/// `source`: None from the mains. `mw`: what is left for this charger; None: no end to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    pub source: Option<Source>,
    pub mw: Option<i64>,
}

impl Feed {
    /// Puts feeds in order where nothing else does.
    pub fn key(&self) -> (i64, i64, i64) {
        match &self.source {
            None => (-1, -1, -1),
            Some(source) => (
                source.supply.key,
                source.port.map_or(-1, |port| port as i64),
                source.cable.as_ref().map_or(-1, |cable| cable.key),
            ),
        }
    }
}

/// Everything that could feed it while the pack stands at `full_mv`; else why nothing does, in a sentence.
pub fn feeds(charger: &ChargerAtHand, full_mv: i64, hand: &AtHand) -> Result<Vec<Feed>, String> {
    if charger.sheet.input == Input::Mains {
        return Ok(vec![Feed {
            source: None,
            mw: None,
        }]);
    }
    let (mut found, mut whys) = (Vec::new(), Vec::new());
    for supply in &hand.supplies {
        match from_supply(charger, supply, full_mv, hand) {
            Ok(feeds) => found.extend(feeds),
            Err(why) => whys.push(why),
        }
    }
    if found.is_empty() {
        let first = whys.into_iter().next();
        return Err(first.unwrap_or_else(|| "No power supply is at hand.".to_owned()));
    }
    Ok(found)
}

/// How one supply feeds one charger; else why it does not.
pub fn from_supply(
    charger: &ChargerAtHand,
    supply: &SupplyAtHand,
    full_mv: i64,
    hand: &AtHand,
) -> Result<Vec<Feed>, String> {
    let fits = Fits {
        charger,
        supply,
        full_mv,
        hand,
    };
    match (&charger.sheet.input, &supply.sheet) {
        (Input::Mains, _) => Err(format!("{} runs from the mains.", charger.id.number)),
        (Input::UsbPd { .. }, Supply::Dc { .. }) => Err(format!(
            "{} does not start without USB PD, and {} has none.",
            charger.id.number, supply.id.number
        )),
        (Input::UsbPd { mw }, Supply::UsbPd { ports, shared_mw }) => {
            fits.ports(ports, *shared_mw, |fits, port| fits.pd_level(port, *mw))
        }
        (
            Input::Dc {
                mv_min,
                mv_max,
                connector,
            },
            Supply::UsbPd { ports, shared_mw },
        ) => fits.ports(ports, *shared_mw, |fits, port| {
            fits.triggered(port, (*mv_min, *mv_max), connector)
        }),
        (
            Input::Dc {
                mv_min,
                mv_max,
                connector,
            },
            Supply::Dc {
                mv,
                mw,
                connector: plug,
            },
        ) => fits.plain((*mv, *mw, plug), (*mv_min, *mv_max), connector),
    }
}

/// A wire, the volts that come through it and the watts.
type Through<'h> = (Wire<'h>, i64, i64);

struct Fits<'h> {
    charger: &'h ChargerAtHand,
    supply: &'h SupplyAtHand,
    full_mv: i64,
    hand: &'h AtHand,
}

impl<'h> Fits<'h> {
    fn plain(
        &self,
        (mv, mw, plug): (i64, i64, &str),
        (mv_min, mv_max): (i64, i64),
        connector: &str,
    ) -> Result<Vec<Feed>, String> {
        let supply = &self.supply.id.number;
        self.inside(mv, (mv_min, mv_max))?;
        self.lifts(mv)?;
        let drawn = self.drawn_here(None)?;
        let wires = self.wires(plug, connector)?;
        let left = mw - drawn;
        if left <= 0 {
            return Err(format!("{supply} has nothing left to give."));
        }
        let plugs_mw = [plug, connector]
            .iter()
            .filter_map(|code| self.hand.rating_ma(code))
            .map(|ma| watts(mv, ma))
            .min()
            .unwrap_or(i64::MAX);
        let feed = |wire: Wire| self.feed(None, mv, &wire, left.min(wire.limit_mw).min(plugs_mw));
        Ok(wires.into_iter().map(feed).collect())
    }

    /// Every port that is free, or already feeds this very charger.
    fn ports(
        &self,
        ports: &[Port],
        shared_mw: Option<i64>,
        through: impl Fn(&Self, &Port) -> Result<Vec<Through<'h>>, String>,
    ) -> Result<Vec<Feed>, String> {
        let (mut found, mut why) = (Vec::new(), None);
        for (index, port) in ports.iter().enumerate() {
            let here = self
                .drawn_here(Some(index))
                .and_then(|drawn| Ok((drawn, through(self, port)?)));
            match here {
                Ok((drawn, through)) => {
                    let left = self.left_together(shared_mw, index).unwrap_or(i64::MAX);
                    let feed = |(wire, mv, mw): Through| {
                        self.feed(Some(index), mv, &wire, mw.min(left) - drawn)
                    };
                    let fed = through.into_iter().map(feed);
                    found.extend(fed.filter(|feed| feed.mw > Some(0)));
                }
                Err(words) => why = why.or(Some(words)),
            }
        }
        if found.is_empty() {
            let nothing = || format!("{} has nothing left to give.", self.supply.id.number);
            return Err(why.unwrap_or_else(nothing));
        }
        Ok(found)
    }

    /// A USB PD sink asks for the highest level that the source offers and that cable and charger bear.
    fn pd_level(&self, port: &Port, charger_mw: i64) -> Result<Vec<Through<'h>>, String> {
        let (mut found, mut why) = (Vec::new(), None);
        for wire in self.wires(USB_C, USB_C)? {
            let bears_more = charger_mw.min(wire.limit_mw) > STANDARD_RANGE_MW;
            let is_borne = |level: &&Level| bears_more || level.mv <= STANDARD_RANGE_MV;
            let highest = port
                .levels
                .iter()
                .filter(is_borne)
                .max_by_key(|level| level.mv);
            let level = highest.filter(|level| level.mv > 5_000);
            match level.ok_or_else(|| self.no_pd()).and_then(|level| {
                self.lifts(level.mv)?;
                Ok(*level)
            }) {
                Ok(level) => {
                    let mw = through_usb_c(level, &wire).min(charger_mw);
                    found.push((wire, level.mv, mw));
                }
                Err(words) => why = why.or(Some(words)),
            }
        }
        match why {
            Some(words) if found.is_empty() => Err(words),
            _ => Ok(found),
        }
    }

    fn no_pd(&self) -> String {
        format!(
            "{} gives no more than 5 V there: {} does not start without USB PD.",
            self.supply.id.number, self.charger.id.number
        )
    }

    /// Through a cable that asks for a level nobody has on record: none that is offered may be too high, and the weakest that
    /// starts the charger is reckoned with.
    fn triggered(
        &self,
        port: &Port,
        (mv_min, mv_max): (i64, i64),
        connector: &str,
    ) -> Result<Vec<Through<'h>>, String> {
        let wires = self.wires(USB_C, connector)?;
        for level in &port.levels {
            if level.mv > mv_max {
                self.inside(level.mv, (mv_min, mv_max))?;
            }
        }
        let starting: Vec<&Level> = port
            .levels
            .iter()
            .filter(|level| level.mv >= mv_min)
            .collect();
        let Some(lowest_mv) = starting.iter().map(|level| level.mv).min() else {
            let highest = port.levels.iter().map(|level| level.mv).max();
            return Err(self.outside(highest.unwrap_or(0), (mv_min, mv_max)));
        };
        self.lifts(lowest_mv)?;
        let plug_ma = self.hand.rating_ma(connector).unwrap_or(i64::MAX);
        let weakest_mw = |wire: &Wire| {
            let of = |level: &&Level| through_usb_c(**level, wire).min(watts(level.mv, plug_ma));
            starting.iter().map(of).min().unwrap_or(0)
        };
        let through = wires.into_iter().map(|wire| {
            let mw = weakest_mw(&wire);
            (wire, lowest_mv, mw)
        });
        Ok(through.collect())
    }

    fn inside(&self, mv: i64, between: (i64, i64)) -> Result<(), String> {
        if (between.0..=between.1).contains(&mv) {
            Ok(())
        } else {
            Err(self.outside(mv, between))
        }
    }

    fn outside(&self, mv: i64, (mv_min, mv_max): (i64, i64)) -> String {
        let words = Words::POINT;
        format!(
            "{} gives {}; {} takes {} to {}.",
            self.supply.id.number,
            words.volts(mv),
            self.charger.id.number,
            words.number(mv_min),
            words.volts(mv_max)
        )
    }

    fn lifts(&self, mv: i64) -> Result<(), String> {
        if self.charger.sheet.can_boost || mv >= self.full_mv.saturating_add(HEADROOM_MV) {
            return Ok(());
        }
        let words = Words::POINT;
        Err(format!(
            "{} can't charge above its input: this pack is {} full, and {} gives {}.",
            self.charger.id.number,
            words.volts(self.full_mv),
            self.supply.id.number,
            words.volts(mv)
        ))
    }

    /// What this charger's other outputs draw here already. A port has room for one charger, and a charger one input.
    fn drawn_here(&self, port: Option<usize>) -> Result<i64, String> {
        let is_here = |running: &&Running| {
            running.supply.as_ref().is_some_and(|(number, at)| {
                *number == self.supply.id.number && port.is_none_or(|port| port == *at)
            })
        };
        let elsewhere = |running: &&Running| running.supply.is_some() && !is_here(running);
        let fed = self.charger.running.iter().find(elsewhere);
        if let Some((number, _)) = fed.and_then(|running| running.supply.as_ref()) {
            return Err(format!("{} runs on {number} now.", self.charger.id.number));
        }
        let another = |other: &&ChargerAtHand| {
            other.id != self.charger.id && other.running.iter().any(|each| is_here(&each))
        };
        if let Some(other) = self.hand.chargers.iter().find(another) {
            return Err(format!(
                "{} feeds {} now.",
                self.supply.id.number, other.id.number
            ));
        }
        // A charger has one input: what its other outputs draw from nobody knows where, they draw here.
        let drawn = self.charger.running.iter().map(|running| running.input_mw);
        Ok(drawn.fold(0, i64::saturating_add))
    }

    /// Of what all ports give together, less what the others give now.
    fn left_together(&self, shared_mw: Option<i64>, port: usize) -> Option<i64> {
        let running = self.hand.chargers.iter().flat_map(|each| &each.running);
        let others: i64 = running
            .filter(|each| {
                each.supply
                    .as_ref()
                    .is_some_and(|(number, at)| *number == self.supply.id.number && *at != port)
            })
            .map(|each| each.input_mw)
            .sum();
        shared_mw.map(|mw| mw.saturating_sub(others))
    }

    fn wires(&self, from: &str, to: &str) -> Result<Vec<Wire<'h>>, String> {
        wires(
            self.hand,
            (from, &self.supply.id.number),
            (to, &self.charger.id.number),
        )
    }

    fn feed(&self, port: Option<usize>, mv: i64, wire: &Wire, mw: i64) -> Feed {
        Feed {
            source: Some(Source {
                supply: self.supply.id.clone(),
                port,
                mv,
                cable: wire.cable.map(|cable| cable.id.clone()),
                needs_own_cable: wire.is_own,
            }),
            mw: Some(mw),
        }
    }
}

pub(super) fn watts(mv: i64, ma: i64) -> i64 {
    mv.saturating_mul(ma) / 1_000
}
