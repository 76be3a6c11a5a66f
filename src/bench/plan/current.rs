//! The current a charger is set to: the least that pack, label, club, charger, plugs and supply allow, down to what it can
//! be set to, and which of them holds it back. mA and mW of the whole pack.

use super::asked::{Asked, Purpose};
use super::chains::{Chain, Weakest};
use super::feed::Fed;
use crate::battery::chemistry::Chemistry;
use crate::bench::charger::Charger;

/// Of what a supply gives this much reaches the pack (hobby chargers 80 to 90 %: common practice, no source).
const EFFICIENCY_PERCENT: i64 = 85;
/// In the cold and in the heat: BU-410 ("Charging at High and Low Temperatures") gives lithium a reduced rate near
/// freezing; the half is common practice, no source. Nickel 0.3C from 0 to 5: the same page.
const COOL_TO_CELSIUS: i64 = 5;
const WARM_FROM_CELSIUS: i64 = 40;
const REDUCED_C_TENTHS: i64 = 5;
const NICKEL_COOL_C_TENTHS: i64 = 3;
/// Before disposal: 2 Ah at 0.2 A (a battery vendor's disposal guide).
const EMPTYING_C_TENTHS: i64 = 1;

/// What holds a current back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Limit {
    ClubRate { c_tenths: i64 },
    ClubMost { c_tenths: i64 },
    Label { c_tenths: i64 },
    LabelSilent { c_tenths: i64 },
    Cool { c_tenths: i64 },
    Warm { c_tenths: i64 },
    Disposal { c_tenths: i64 },
    Charger,
    ChargerWatts,
    DischargeWatts,
    Chain(Weakest),
    Supply { number: String },
}

/// How hard: as the club does it, or as hard as label and cap let it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Haste {
    Usual,
    Most,
}

/// What the pack itself allows.
pub fn of_pack(asked: &Asked, haste: Haste) -> Vec<(i64, Limit)> {
    let pack = &asked.pack;
    let rated = |c_tenths: i64, limit: Limit| {
        let ma = pack.build.capacity_mah.saturating_mul(c_tenths) / 10;
        (ma, limit)
    };
    let usual = asked.club.usual_c_tenths;
    let mut limits = Vec::new();
    match haste {
        Haste::Usual => limits.push(rated(usual, Limit::ClubRate { c_tenths: usual })),
        Haste::Most => {
            let c_tenths = asked.club.most_c_tenths;
            limits.push(rated(c_tenths, Limit::ClubMost { c_tenths }));
        }
    }
    match pack.label_charge_c_tenths {
        Some(c_tenths) => limits.push(rated(c_tenths, Limit::Label { c_tenths })),
        None => {
            let c_tenths = pack.build.chemistry.default_charge_c_tenths();
            limits.push(rated(c_tenths, Limit::LabelSilent { c_tenths }));
        }
    }
    limits.extend(by_warmth(asked).map(|(c_tenths, limit)| rated(c_tenths, limit)));
    if asked.purpose == Purpose::Empty {
        let c_tenths = EMPTYING_C_TENTHS;
        limits.push(rated(c_tenths, Limit::Disposal { c_tenths }));
    }
    limits
}

pub const fn is_cold(celsius: i64) -> bool {
    celsius <= COOL_TO_CELSIUS
}

fn by_warmth(asked: &Asked) -> Option<(i64, Limit)> {
    let both = [asked.warmth.pack_celsius, asked.warmth.room_celsius];
    let is_cool = both.iter().flatten().any(|at| is_cold(*at));
    let is_warm = both.iter().flatten().any(|at| *at >= WARM_FROM_CELSIUS);
    let reduced = if asked.pack.build.chemistry == Chemistry::NiMh && is_cool {
        NICKEL_COOL_C_TENTHS
    } else {
        REDUCED_C_TENTHS
    };
    match (is_cool, is_warm) {
        (true, _) => Some((reduced, Limit::Cool { c_tenths: reduced })),
        (_, true) => Some((reduced, Limit::Warm { c_tenths: reduced })),
        _ => None,
    }
}

/// What a charger gives of its own.
pub fn of_charger(charger: &Charger, full_mv: i64) -> [(i64, Limit); 2] {
    [
        (charger.current_max_ma, Limit::Charger),
        (at_full(charger.charge_mw, full_mv), Limit::ChargerWatts),
    ]
}

/// What it can take out of a pack that stands at so many volts now: it never stands higher while it is emptied.
pub fn of_discharger(charger: &Charger, now_mv: i64) -> [(i64, Limit); 2] {
    [
        (charger.current_max_ma, Limit::Charger),
        (at_full(charger.discharge_mw, now_mv), Limit::DischargeWatts),
    ]
}

pub fn of_chain(chain: &Chain) -> (i64, Limit) {
    (chain.rating_ma, Limit::Chain(chain.weakest.clone()))
}

/// None: the mains have enough.
pub fn of_feed(feed: &Fed, full_mv: i64) -> Option<(i64, Limit)> {
    let number = feed.supply()?.number.clone();
    Some((fed_ma(feed, full_mv)?, Limit::Supply { number }))
}

/// The same without whose it is.
pub fn fed_ma(feed: &Fed, full_mv: i64) -> Option<i64> {
    let microwatts = feed.mw?.saturating_mul(EFFICIENCY_PERCENT * 10);
    Some(microwatts / full_mv.max(1))
}

/// What a charge draws from the supply at most.
pub fn drawn_mw(current_ma: i64, full_mv: i64) -> i64 {
    let into_pack = current_ma.saturating_mul(full_mv) / 1_000;
    into_pack.saturating_mul(100) / EFFICIENCY_PERCENT
}

fn at_full(mw: i64, full_mv: i64) -> i64 {
    mw.saturating_mul(1_000) / full_mv.max(1)
}

/// Down to what it can be set to; None: it can't be set so low.
pub fn settable(charger: &Charger, at_most_ma: i64) -> Option<i64> {
    if let Some(fixed) = charger.fixed_through_balance {
        return (fixed <= at_most_ma).then_some(fixed);
    }
    let (least, most) = (charger.current_min_ma, charger.current_max_ma);
    let above = at_most_ma.min(most).checked_sub(least)?;
    let step = charger.current_step_ma.max(1);
    (above >= 0).then(|| least + above / step * step)
}

pub fn least(limits: &[(i64, Limit)]) -> i64 {
    limits.iter().map(|(ma, _)| *ma).min().unwrap_or(0)
}
