//! A bench reckoned by hand: which things may be joined, and how many mA each part of what is joined lets through. Every figure
//! is read off its sheet by rules written anew, from the trade's words; nothing of the planner is asked. mV, mA, mW.

use super::*;

pub mod feeds;

/// Things joined in one way: a charger's output, what feeds it, and the adapters from there to the pack.
#[derive(Clone)]
pub struct Joined<'h> {
    pub charger: &'h ChargerAtHand,
    pub output: i64,
    /// None: the mains.
    pub fed: Option<FedBy<'h>>,
    pub adapters: Vec<&'h AdaptersAtHand>,
}

#[derive(Clone, Copy)]
pub struct FedBy<'h> {
    pub supply: &'h SupplyAtHand,
    pub port: Option<usize>,
    pub mv: i64,
    pub cable: Option<&'h CableAtHand>,
    /// Through a USB-C lead without a mark that is none of the club's.
    pub is_common: bool,
}

/// How hard a charge may be: at the club's rate, or as hard as what must be ready by a time may be.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Hard {
    AsUsual,
    AsAsked,
}

/// What a pack is charged with where its label is silent, in tenths of C (`0.5C` for Li-ion and NiMH, `0.1C` for lead).
fn silent_label(chemistry: Chemistry) -> i64 {
    match chemistry {
        Chemistry::LiPo | Chemistry::LiHv | Chemistry::LiFePo4 => 10,
        Chemistry::LiIon | Chemistry::NiMh => 5,
        Chemistry::Pb => 1,
    }
}

/// A plug without a figure on record counts as the weakest that has one.
const NO_FIGURE_MA: i64 = 2_000;

pub fn full_mv(asked: &Asked) -> i64 {
    asked.pack.limits.full_mv * asked.pack.build.cells_series
}

/// Every setting of its current.
pub fn can_be_set(sheet: &Charger) -> Vec<i64> {
    match sheet.fixed_through_balance {
        Some(fixed) => vec![fixed],
        None => (sheet.current_min_ma..=sheet.current_max_ma)
            .step_by(sheet.current_step_ma as usize)
            .collect(),
    }
}

impl<'h> Joined<'h> {
    /// What does not fit, part by part.
    pub fn misfits(&self, asked: &Asked, hand: &AtHand) -> Vec<&'static str> {
        let mut wrong = self.charger_misfits(asked);
        wrong.extend(self.chain_misfits(&asked.pack));
        wrong.extend(feeds::misfits(self, full_mv(asked), hand));
        wrong
    }

    fn charger_misfits(&self, asked: &Asked) -> Vec<&'static str> {
        let (pack, sheet) = (&asked.pack, &self.charger.sheet);
        let (chemistry, cells) = (pack.build.chemistry, pack.build.cells_series);
        let code = chemistry.code();
        let is_blind = sheet.balance_connector.is_none() || sheet.balance_connector != pack.balance;
        let must_see = chemistry.is_lithium() && cells > 1;
        let is_busy = self
            .charger
            .running
            .iter()
            .any(|on| on.output == self.output);
        let all = [
            (
                !sheet.chemistries.iter().any(|each| each == code),
                "chemistry",
            ),
            (cells < sheet.cells_from || cells > sheet.cells_to, "cells"),
            (is_busy, "busy output"),
            (self.output < 0 || self.output >= sheet.outputs, "output"),
            (must_see && is_blind, "cells unseen"),
            (
                sheet.fixed_through_balance.is_some() && is_blind,
                "balance plug",
            ),
        ];
        told(&all)
    }

    fn chain_misfits(&self, pack: &Pack) -> Vec<&'static str> {
        let is_led = self.charger.sheet.fixed_through_balance.is_none();
        let mut plug = self.charger.sheet.output_connector.as_str();
        let is_needless = !self.adapters.is_empty() && (!is_led || plug == pack.connector);
        let mut is_broken = false;
        for (at, adapter) in self.adapters.iter().enumerate() {
            let has_arrived = at > 0 && plug == pack.connector;
            is_broken |= adapter.sheet.from != plug || has_arrived;
            plug = &adapter.sheet.to;
        }
        let used = |one: &AdaptersAtHand| {
            let alike = self.adapters.iter().filter(|each| each.id == one.id);
            alike.count() as i64
        };
        let all = [
            (is_led && plug != pack.connector, "plugs do not meet"),
            (is_broken, "adapters do not meet"),
            (is_needless, "needless adapter"),
            (self.adapters.len() > 2, "three adapters"),
            (
                self.adapters.iter().any(|each| used(each) > each.free),
                "adapter not free",
            ),
        ];
        told(&all)
    }

    /// How many mA each part lets through, the pack's label and the club's rule among them.
    pub fn limits(
        &self,
        asked: &Asked,
        hand: &AtHand,
        is_up: bool,
        hard: Hard,
    ) -> Vec<(&'static str, i64)> {
        let mut limits = of_pack(asked, hard);
        limits.extend(self.of_chain(hand));
        let sheet = &self.charger.sheet;
        limits.push(("charger's most", sheet.current_max_ma));
        if is_up {
            limits.push(("charger's watts", sheet.charge_mw * 1_000 / full_mv(asked)));
            limits.extend(feeds::limits(self, full_mv(asked), hand));
        } else {
            let now_mv = asked.pack.volts.total_mv();
            limits.push(("discharge watts", sheet.discharge_mw * 1_000 / now_mv));
        }
        limits
    }

    fn of_chain(&self, hand: &AtHand) -> Vec<(&'static str, i64)> {
        let sheet = &self.charger.sheet;
        let first = match (sheet.fixed_through_balance, &sheet.balance_connector) {
            (Some(_), Some(balance)) => balance,
            _ => &sheet.output_connector,
        };
        let rating = |code: &str| {
            let family = hand.families.iter().find(|family| family.code == code);
            family
                .and_then(|family| family.rating_ma)
                .unwrap_or(NO_FIGURE_MA)
        };
        let mut limits = vec![("plug", rating(first))];
        for adapter in &self.adapters {
            let sheet = &adapter.sheet;
            limits.push(("adapter", sheet.rated_ma));
            limits.push(("plug", rating(&sheet.from)));
            limits.push(("plug", rating(&sheet.to)));
        }
        limits
    }
}

fn of_pack(asked: &Asked, hard: Hard) -> Vec<(&'static str, i64)> {
    let build = &asked.pack.build;
    let at = |c_tenths: i64| build.capacity_mah * c_tenths / 10;
    let silent = silent_label(build.chemistry);
    let club = match hard {
        Hard::AsUsual => asked.club.usual_c_tenths,
        Hard::AsAsked => asked.club.most_c_tenths.max(asked.club.usual_c_tenths),
    };
    let both = [asked.warmth.pack_celsius, asked.warmth.room_celsius];
    let is_cold = both.iter().flatten().any(|celsius| *celsius <= 5);
    let is_hot = both.iter().flatten().any(|celsius| *celsius >= 40);
    let cold = if build.chemistry == Chemistry::NiMh {
        3
    } else {
        5
    };
    let all = [
        (
            "label",
            true,
            asked.pack.label_charge_c_tenths.unwrap_or(silent),
        ),
        ("club's rate", true, club),
        ("cold", is_cold, cold),
        ("heat", is_hot, 5),
        ("disposal", asked.purpose == Purpose::Empty, 1),
    ];
    let held = all.into_iter().filter(|(_, is_so, _)| *is_so);
    held.map(|(word, _, c_tenths)| (word, at(c_tenths)))
        .collect()
}

fn told(all: &[(bool, &'static str)]) -> Vec<&'static str> {
    all.iter()
        .filter(|(is_so, _)| *is_so)
        .map(|(_, word)| *word)
        .collect()
}

/// Every way to join one charger's free output with everything at hand, sensible or not: what does not fit is left to
/// [`Joined::misfits`].
pub fn every<'h>(charger: &'h ChargerAtHand, hand: &'h AtHand) -> Vec<Joined<'h>> {
    let is_free = |output: &i64| charger.running.iter().all(|on| on.output != *output);
    let Some(output) = (0..charger.sheet.outputs).find(is_free) else {
        return Vec::new();
    };
    let chains = every_chain(hand);
    let mut all = Vec::new();
    for fed in feeds::every(charger, hand) {
        for adapters in &chains {
            all.push(Joined {
                charger,
                output,
                fed,
                adapters: adapters.clone(),
            });
        }
    }
    all
}

fn every_chain(hand: &AtHand) -> Vec<Vec<&AdaptersAtHand>> {
    let mut chains = vec![Vec::new()];
    for near in &hand.adapters {
        chains.push(vec![near]);
        chains.extend(hand.adapters.iter().map(|far| vec![near, far]));
    }
    chains
}

/// The parts that a plan names, found among the kit.
pub fn of_plan<'h>(plan: &Plan, hand: &'h AtHand) -> Joined<'h> {
    let charger = hand.chargers.iter().find(|each| each.id == plan.charger);
    let charger = charger.expect("a charger of the club");
    let adapter = |id: &Numbered| {
        let found = hand.adapters.iter().find(|each| each.id == *id);
        found.expect("an adapter of the club")
    };
    Joined {
        charger,
        output: plan.output,
        fed: plan
            .feed
            .source
            .as_ref()
            .map(|source| feeds::of_source(source, charger, hand)),
        adapters: plan.chain.adapters.iter().map(adapter).collect(),
    }
}
