//! Which supplies feed a charger, through which port, level and cable, and the watts that are left of them; else why none
//! does. mV, mA and mW. How much of that reaches a pack is `current`'s.

use super::asked::{ChargerAtHand, Running, SupplyAtHand, Wired};
use super::feed::{At, Fed};
use super::laid_out::LaidOut;
use super::unfed::Unfed;
use super::wires::{USB_C, Wire, plugged_in, through_usb_c};
use crate::bench::charger::Input;
use crate::bench::supply::{Level, Port, Supply};

/// Above 20 V only through a cable marked for more than 100 W (a cable maker's article on the extended range).
const STANDARD_RANGE_MV: i64 = 20_000;
const STANDARD_RANGE_MW: i64 = 100_000;
/// Every port has this level, USB PD or not.
const FIVE_VOLTS_MV: i64 = 5_000;
/// A charger that can't raise its input needs this much above the pack: common practice, no source.
const HEADROOM_MV: i64 = 1_000;

/// Everything that could feed it while the pack stands at `full_mv`; else why nothing does, in a sentence.
pub fn feeds<'h>(
    charger: &'h ChargerAtHand,
    full_mv: i64,
    kit: &LaidOut<'h>,
) -> Result<Vec<Fed<'h>>, String> {
    if charger.sheet.input == Input::Mains {
        return Ok(vec![Fed::FROM_THE_MAINS]);
    }
    let (mut found, mut unfed) = (Vec::new(), Vec::new());
    for supply in &kit.hand.supplies {
        match from_supply(charger, supply, full_mv, kit) {
            Ok(feeds) => found.extend(feeds),
            Err(why) => unfed.push((supply, why)),
        }
    }
    match unfed.into_iter().min_by_key(|(_, why)| why.nearness()) {
        _ if !found.is_empty() => Ok(found),
        Some((supply, why)) => {
            let numbers = (charger.id.number.as_str(), supply.id.number.as_str());
            Err(why.words(numbers, full_mv, kit))
        }
        None => Err("No power supply is at hand.".to_owned()),
    }
}

/// How one supply feeds one charger; else why it does not.
pub fn from_supply<'h>(
    charger: &'h ChargerAtHand,
    supply: &'h SupplyAtHand,
    full_mv: i64,
    kit: &LaidOut<'h>,
) -> Result<Vec<Fed<'h>>, Unfed<'h>> {
    let fits = Fits {
        charger,
        supply,
        full_mv,
        kit,
    };
    match (&charger.sheet.input, &supply.sheet) {
        (Input::Mains, _) => Err(Unfed::FromTheMains),
        (Input::UsbPd { .. }, Supply::Dc { .. }) => Err(Unfed::NeedsPd),
        (Input::UsbPd { mw, levels_mv }, Supply::UsbPd { ports, shared_mw }) => {
            let wires = fits.wires(USB_C, USB_C);
            let takes = levels_mv.as_deref();
            fits.ports(ports, *shared_mw, |fits, port| {
                fits.pd_level(port, (*mw, takes), wires.as_deref().map_err(|why| *why)?)
            })
        }
        (
            Input::Dc {
                mv_min,
                mv_max,
                connector,
            },
            Supply::UsbPd { ports, shared_mw },
        ) => {
            let wires = fits.wires(USB_C, connector);
            fits.ports(ports, *shared_mw, |fits, port| {
                let wires = wires.as_deref().map_err(|why| *why);
                fits.triggered(port, (*mv_min, *mv_max), (connector, wires))
            })
        }
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

struct Fits<'k, 'h> {
    charger: &'h ChargerAtHand,
    supply: &'h SupplyAtHand,
    full_mv: i64,
    kit: &'k LaidOut<'h>,
}

impl<'h> Fits<'_, 'h> {
    fn plain(
        &self,
        (mv, mw, plug): (i64, i64, &'h str),
        (mv_min, mv_max): (i64, i64),
        connector: &'h str,
    ) -> Result<Vec<Fed<'h>>, Unfed<'h>> {
        self.inside(mv, (mv_min, mv_max))?;
        self.lifts(mv)?;
        let drawn = self.drawn_here(None)?;
        let wires = self.wires(plug, connector)?;
        let plugs_mw = [plug, connector]
            .iter()
            .filter_map(|code| self.kit.hand.rating_ma(code))
            .map(|ma| watts(mv, ma))
            .min()
            .unwrap_or(i64::MAX);
        let through = |wire: &Wire| mw.min(wire.limit_mw).min(plugs_mw) - drawn;
        let feed = |wire: Wire<'h>| self.fed(None, mv, &wire, through(&wire));
        let fed: Vec<Fed> = wires.into_iter().map(feed).collect();
        let fed: Vec<Fed> = fed.into_iter().filter(|feed| feed.mw > Some(0)).collect();
        if fed.is_empty() {
            return Err(Unfed::NothingLeft);
        }
        Ok(fed)
    }

    fn wires(&self, from: &'h str, to: &'h str) -> Result<Vec<Wire<'h>>, Unfed<'h>> {
        let fed_here = |running: &&Running| {
            let fed = running.supply.as_ref();
            fed.is_some_and(|(number, _)| *number == self.supply.id.number)
        };
        let wired: Option<&'h Wired> = self
            .charger
            .running
            .iter()
            .find(fed_here)
            .map(|each| &each.wired);
        plugged_in(wired, (from, to), self.kit)
    }

    /// Every port that is free, or already feeds this very charger.
    fn ports(
        &self,
        ports: &'h [Port],
        shared_mw: Option<i64>,
        through: impl Fn(&Self, &'h Port) -> Result<Vec<Through<'h>>, Unfed<'h>>,
    ) -> Result<Vec<Fed<'h>>, Unfed<'h>> {
        let (mut found, mut why) = (Vec::new(), None);
        for (index, port) in ports.iter().enumerate() {
            let here = self
                .drawn_here(Some(index))
                .and_then(|drawn| Ok((drawn, through(self, port)?)));
            match here {
                Ok((drawn, through)) => {
                    let left = self.left_together(shared_mw, index).unwrap_or(i64::MAX);
                    let feed = |(wire, mv, mw): Through<'h>| {
                        self.fed(Some(index), mv, &wire, mw.min(left) - drawn)
                    };
                    let fed = through.into_iter().map(feed);
                    found.extend(fed.filter(|feed| feed.mw > Some(0)));
                }
                Err(unfed) => why = why.or(Some(unfed)),
            }
        }
        if found.is_empty() {
            return Err(why.unwrap_or(Unfed::NothingLeft));
        }
        Ok(found)
    }

    /// A USB PD sink asks for the highest level that the source offers, that it takes itself, and that cable and charger bear.
    fn pd_level(
        &self,
        port: &'h Port,
        (charger_mw, takes): (i64, Option<&'h [i64]>),
        wires: &[Wire<'h>],
    ) -> Result<Vec<Through<'h>>, Unfed<'h>> {
        let (mut found, mut why) = (Vec::new(), None);
        for wire in wires {
            let bears_more = charger_mw.min(wire.limit_mw) > STANDARD_RANGE_MW;
            let most_mv = if bears_more {
                i64::MAX
            } else {
                STANDARD_RANGE_MV
            };
            let starts = |level: &&Level| level.mv > FIVE_VOLTS_MV && level.mv <= most_mv;
            let is_taken = |level: &&Level| takes.is_none_or(|takes| takes.contains(&level.mv));
            let offered = || port.levels.iter().filter(starts);
            let highest = offered().filter(is_taken).max_by_key(|level| level.mv);
            let why_none = match takes {
                Some(takes) if offered().next().is_some() => Unfed::NoLevel {
                    offered: &port.levels,
                    most_mv,
                    takes,
                },
                _ => Unfed::OnlyFiveVolts,
            };
            match highest.ok_or(why_none).and_then(|level| {
                self.lifts(level.mv)?;
                Ok(*level)
            }) {
                Ok(level) => {
                    let mw = through_usb_c(level, wire, self.usb_c_ma()).min(charger_mw);
                    found.push((*wire, level.mv, mw));
                }
                Err(unfed) => why = why.or(Some(unfed)),
            }
        }
        match why {
            Some(unfed) if found.is_empty() => Err(unfed),
            _ => Ok(found),
        }
    }

    /// Through a cable that asks for a level nobody has on record: none that is offered may be too high, and the weakest that
    /// starts the charger is reckoned with.
    fn triggered(
        &self,
        port: &Port,
        (mv_min, mv_max): (i64, i64),
        (connector, wires): (&str, Result<&[Wire<'h>], Unfed<'h>>),
    ) -> Result<Vec<Through<'h>>, Unfed<'h>> {
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
            return Err(Unfed::Outside {
                mv: highest.unwrap_or(0),
                takes: (mv_min, mv_max),
            });
        };
        self.lifts(lowest_mv)?;
        let plug_ma = self.kit.hand.rating_ma(connector).unwrap_or(i64::MAX);
        let weakest_mw = |wire: &Wire| {
            let of = |level: &&Level| {
                through_usb_c(**level, wire, self.usb_c_ma()).min(watts(level.mv, plug_ma))
            };
            starting.iter().map(of).min().unwrap_or(0)
        };
        // A cable is worth getting where the volts suit.
        let through = wires?
            .iter()
            .map(|wire| (*wire, lowest_mv, weakest_mw(wire)));
        Ok(through.collect())
    }

    /// What the club lets a USB-C plug carry.
    fn usb_c_ma(&self) -> i64 {
        self.kit.hand.rating_ma(USB_C).unwrap_or(i64::MAX)
    }

    fn inside(&self, mv: i64, takes: (i64, i64)) -> Result<(), Unfed<'h>> {
        if (takes.0..=takes.1).contains(&mv) {
            Ok(())
        } else {
            Err(Unfed::Outside { mv, takes })
        }
    }

    fn lifts(&self, mv: i64) -> Result<(), Unfed<'h>> {
        if self.charger.sheet.can_boost || mv >= self.full_mv.saturating_add(HEADROOM_MV) {
            Ok(())
        } else {
            Err(Unfed::CantLift { mv })
        }
    }

    /// What this charger's other outputs draw here already. A port has room for one charger, and a charger one input.
    fn drawn_here(&self, port: Option<usize>) -> Result<i64, Unfed<'h>> {
        let is_here = |running: &Running| {
            running.supply.as_ref().is_some_and(|(number, at)| {
                *number == self.supply.id.number && port.is_none_or(|port| port == *at)
            })
        };
        let own = &self.charger.running;
        let fed = own.iter().filter(|running| !is_here(running));
        if let Some((number, _)) = fed.flat_map(|running| &running.supply).next() {
            return Err(Unfed::RunsOn(number));
        }
        let mut others = self.kit.running.iter();
        let another =
            others.find(|(other, running)| **other != self.charger.id && is_here(running));
        if let Some((other, _)) = another {
            return Err(Unfed::Feeds(&other.number));
        }
        // A charger has one input: what its other outputs draw from nobody knows where, they draw here.
        let drawn = own.iter().map(|running| running.input_mw);
        Ok(drawn.fold(0, i64::saturating_add))
    }

    /// Of what all ports give together, less what the others give now.
    fn left_together(&self, shared_mw: Option<i64>, port: usize) -> Option<i64> {
        let running = self.kit.running.iter().map(|(_, each)| each);
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

    fn fed(&self, port: Option<usize>, mv: i64, wire: &Wire<'h>, mw: i64) -> Fed<'h> {
        let at = At {
            supply: self.supply,
            port,
            mv,
            cable: wire.cable,
            needs_own_cable: wire.is_own,
        };
        Fed {
            at: Some(at),
            mw: Some(mw),
        }
    }
}

pub fn watts(mv: i64, ma: i64) -> i64 {
    mv.saturating_mul(ma) / 1_000
}
