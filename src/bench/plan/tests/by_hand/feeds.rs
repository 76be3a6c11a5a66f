//! What feeds a charger, by hand: supplies, ports, the levels that they offer, cables with their marks, input plugs, watts that
//! others draw. mV, mA, mW.

use super::*;

/// Of what a supply gives this much reaches the pack.
const REACHES_PERCENT: i64 = 85;
/// A USB-C lead without a mark: 3 A, 60 W at 20 V.
const UNMARKED_MW: i64 = 60_000;
const UNMARKED_MA: i64 = 3_000;

/// A charger's input and what comes to it.
struct Read<'j> {
    sheet: &'j Charger,
    fed: &'j FedBy<'j>,
    /// None: nothing bounds what its wire carries.
    cable_mw: Option<i64>,
    is_usb: bool,
}

pub fn misfits(joined: &Joined, full_mv: i64, hand: &AtHand) -> Vec<&'static str> {
    let sheet = &joined.charger.sheet;
    let Some(fed) = &joined.fed else {
        return told(&[(sheet.input != Input::Mains, "no supply")]);
    };
    let read = Read::of(sheet, fed);
    let mut wrong = told(&[
        (sheet.input == Input::Mains, "supply at a mains charger"),
        (!sheet.can_boost && fed.mv < full_mv + 1_000, "boost"),
        (!read.wire_fits(joined, hand), "wire"),
        (is_taken(joined, fed, hand), "supply feeds another"),
        (runs_elsewhere(joined, fed), "runs on another supply"),
        (!is_left(joined, fed, hand), "nothing left"),
    ]);
    wrong.extend(read.level_misfits());
    wrong
}

/// The supply's plug and the charger's; none from the mains.
pub fn plugs<'j>(joined: &'j Joined) -> Vec<&'j str> {
    let fed = joined.fed.iter();
    fed.flat_map(|fed| Read::of(&joined.charger.sheet, fed).plugs())
        .collect()
}

/// Some watts are left of it.
fn is_left(joined: &Joined, fed: &FedBy, hand: &AtHand) -> bool {
    let read = Read::of(&joined.charger.sheet, fed);
    read.watts(joined, hand).iter().all(|(_, mw)| *mw > 0)
}

pub fn limits(joined: &Joined, full_mv: i64, hand: &AtHand) -> Vec<(&'static str, i64)> {
    let Some(fed) = &joined.fed else {
        return Vec::new();
    };
    let watts = Read::of(&joined.charger.sheet, fed).watts(joined, hand);
    let reaches = |mw: i64| mw * REACHES_PERCENT * 10 / full_mv;
    watts
        .into_iter()
        .map(|(word, mw)| (word, reaches(mw)))
        .collect()
}

impl<'j> Read<'j> {
    fn of(sheet: &'j Charger, fed: &'j FedBy<'j>) -> Self {
        let is_usb = matches!(fed.supply.sheet, Supply::UsbPd { .. });
        let marked = fed.cable.map(|cable| cable.sheet.limit_mw);
        let unmarked = fed.is_common.then_some(UNMARKED_MW);
        Self {
            sheet,
            fed,
            cable_mw: marked.or(unmarked),
            is_usb,
        }
    }

    fn levels(&self) -> &'j [Level] {
        match (&self.fed.supply.sheet, self.fed.port) {
            (Supply::UsbPd { ports, .. }, Some(port)) => &ports[port].levels,
            _ => &[],
        }
    }

    /// A sink asks for the highest level that it takes and that it and the cable bear; above 20 V both must bear more than 100 W.
    /// Where its sheet does not say what it takes, any.
    fn level_misfits(&self) -> Vec<&'static str> {
        let mv = self.fed.mv;
        let offered = self.levels().iter().map(|level| level.mv);
        match &self.sheet.input {
            Input::Mains => Vec::new(),
            Input::UsbPd { .. } if !self.is_usb => vec!["needs USB PD"],
            Input::UsbPd { mw, levels_mv } => {
                let is_extended = *mw > 100_000 && self.cable_mw > Some(100_000);
                let takes = |mv: &i64| match levels_mv {
                    Some(takes) => takes.iter().any(|each| each == mv),
                    None => true,
                };
                let borne = offered.filter(|mv| is_extended || *mv <= 20_000);
                let borne = borne.filter(takes).max();
                told(&[(borne != Some(mv), "level"), (mv <= 5_000, "five volts")])
            }
            Input::Dc { mv_min, mv_max, .. } if self.is_usb => {
                // Which level such a cable asks for nobody knows: none may be too high.
                let lowest = offered.clone().filter(|mv| mv >= mv_min).min();
                let highest = offered.max().unwrap_or(0);
                told(&[
                    (lowest != Some(mv), "level"),
                    (highest > *mv_max, "input volts"),
                ])
            }
            Input::Dc { mv_min, mv_max, .. } => {
                told(&[(mv < *mv_min || mv > *mv_max, "input volts")])
            }
        }
    }

    fn plugs(&self) -> [&'j str; 2] {
        let from = match &self.fed.supply.sheet {
            Supply::Dc { connector, .. } => connector,
            Supply::UsbPd { .. } => "usb-c",
        };
        let to = match &self.sheet.input {
            Input::Dc { connector, .. } => connector,
            _ => "usb-c",
        };
        [from, to]
    }

    /// Its ends are the supply's plug and the charger's; one that is plugged in already is the one.
    fn wire_fits(&self, joined: &Joined, hand: &AtHand) -> bool {
        let (fed, [from, to]) = (self.fed, self.plugs());
        let is_usb_lead = from == "usb-c" && to == "usb-c";
        let leads = |cable: &CableAtHand| cable.sheet.from == from && cable.sheet.to == to;
        let number = &fed.supply.id.number;
        let mut here = joined.charger.running.iter();
        let on = here.find(|on| on.supply.as_ref().is_some_and(|(at, _)| at == number));
        let plugged = match on.map(|on| &on.wired) {
            Some(Wired::Cable(cable)) => {
                return fed.cable.is_some_and(|used| used.id == cable.id);
            }
            Some(Wired::NotTheClubs) => true,
            Some(Wired::Unknown) | None => false,
        };
        match fed.cable {
            Some(cable) => leads(cable) && !plugged && !fed.is_common,
            None if is_usb_lead => fed.is_common && (plugged || !hand.cables.iter().any(leads)),
            None => from == to && !fed.is_common,
        }
    }

    /// Watts of each part on the way in, less what this charger's other outputs draw.
    fn watts(&self, joined: &Joined, hand: &AtHand) -> Vec<(&'static str, i64)> {
        let own: i64 = joined.charger.running.iter().map(|on| on.input_mw).sum();
        let mut watts: Vec<_> = self
            .cable_mw
            .map(|mw| ("cable's mark", mw))
            .into_iter()
            .collect();
        match (&self.fed.supply.sheet, &self.sheet.input) {
            (Supply::Dc { mw, .. }, _) => watts.push(("supply's watts", *mw)),
            (Supply::UsbPd { .. }, Input::UsbPd { mw, .. }) => {
                watts.push(("charger's input watts", *mw))
            }
            _ => {}
        }
        watts.extend(self.at_levels());
        watts.extend(self.input_plugs(hand));
        if let Supply::UsbPd {
            shared_mw: Some(shared),
            ..
        } = &self.fed.supply.sheet
        {
            watts.push(("shared watts", shared - self.others_draw(hand)));
        }
        watts
            .into_iter()
            .map(|(word, mw)| (word, mw - own))
            .collect()
    }

    /// The level that is asked for; where nobody knows which, each that may be.
    fn at_levels(&self) -> Vec<(&'static str, i64)> {
        let may_be = |level: &&Level| match &self.sheet.input {
            Input::Dc { mv_min, .. } => level.mv >= *mv_min,
            _ => level.mv == self.fed.mv,
        };
        let mut watts = Vec::new();
        for level in self.levels().iter().filter(may_be) {
            watts.push(("level's amps", level.mv * level.ma / 1_000));
            // To the nearest tenth of a watt, as its label prints it.
            watts.push((
                "level's watts",
                (level.mv * level.ma + 50_000) / 100_000 * 100,
            ));
            if self.cable_mw.is_some_and(|mw| mw <= UNMARKED_MW) {
                watts.push(("cable's amps", level.mv * UNMARKED_MA / 1_000));
            }
        }
        watts
    }

    /// Those that have a figure; the watts of a device hold its own plug too.
    fn input_plugs(&self, hand: &AtHand) -> Vec<(&'static str, i64)> {
        let [from, to] = self.plugs();
        let lowest_mv = self.fed.mv;
        let rated = |code: &str| {
            let family = hand.families.iter().find(|family| family.code == code)?;
            Some(("input plug", family.rating_ma? * lowest_mv / 1_000))
        };
        [from, to].into_iter().filter_map(rated).collect()
    }

    fn others_draw(&self, hand: &AtHand) -> i64 {
        let number = &self.fed.supply.id.number;
        let here = hand.chargers.iter().flat_map(|each| &each.running);
        let all = here.chain(hand.elsewhere.iter().map(|(_, on)| on));
        let beside = all.filter(|on| {
            let at = on.supply.as_ref();
            at.is_some_and(|(at, port)| at == number && Some(*port) != self.fed.port)
        });
        beside.map(|on| on.input_mw).sum()
    }
}

/// A brick and a port have room for one charger.
fn is_taken(joined: &Joined, fed: &FedBy, hand: &AtHand) -> bool {
    let others = hand
        .chargers
        .iter()
        .filter(|other| other.id != joined.charger.id);
    let mut drawn_at = others
        .flat_map(|other| &other.running)
        .chain(hand.elsewhere.iter().map(|(_, on)| on))
        .filter_map(|on| on.supply.as_ref());
    drawn_at.any(|(number, port)| {
        *number == fed.supply.id.number && fed.port.is_none_or(|own| own == *port)
    })
}

/// A charger has one input.
fn runs_elsewhere(joined: &Joined, fed: &FedBy) -> bool {
    let mut here = joined
        .charger
        .running
        .iter()
        .filter_map(|on| on.supply.as_ref());
    here.any(|(number, port)| {
        *number != fed.supply.id.number || fed.port.is_some_and(|own| own != *port)
    })
}

/// Every supply, port, level and cable; where the supply has no levels, its volts.
pub fn every<'h>(charger: &'h ChargerAtHand, hand: &'h AtHand) -> Vec<Option<FedBy<'h>>> {
    let plugged = charger.running.iter().filter_map(|on| match &on.wired {
        Wired::Cable(cable) => Some(cable),
        _ => None,
    });
    let cables: Vec<&CableAtHand> = hand.cables.iter().chain(plugged).collect();
    let mut all = vec![None];
    for supply in &hand.supplies {
        let at: Vec<(Option<usize>, i64)> = match &supply.sheet {
            Supply::Dc { mv, .. } => vec![(None, *mv)],
            Supply::UsbPd { ports, .. } => ports
                .iter()
                .enumerate()
                .flat_map(|(port, each)| {
                    each.levels.iter().map(move |level| (Some(port), level.mv))
                })
                .collect(),
        };
        for (port, mv) in at {
            let by = |cable, is_common| {
                Some(FedBy {
                    supply,
                    port,
                    mv,
                    cable,
                    is_common,
                })
            };
            all.extend([by(None, false), by(None, true)]);
            all.extend(cables.iter().map(|cable| by(Some(*cable), false)));
        }
    }
    all
}

pub fn of_source<'h>(source: &Source, charger: &'h ChargerAtHand, hand: &'h AtHand) -> FedBy<'h> {
    let supply = hand.supplies.iter().find(|each| each.id == source.supply);
    let plugged = charger.running.iter().filter_map(|on| match &on.wired {
        Wired::Cable(cable) => Some(cable),
        _ => None,
    });
    let mut cables = hand.cables.iter().chain(plugged);
    let cable = source.cable.as_ref().map(|id| {
        let found = cables.find(|each| each.id == *id);
        found.expect("a cable of the club")
    });
    FedBy {
        supply: supply.expect("a supply of the club"),
        port: source.port,
        mv: source.mv,
        cable,
        is_common: source.needs_own_cable,
    }
}
