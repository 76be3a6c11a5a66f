//! What a plan is asked about a pack: what is on record of it, and what a person says beside it. Nothing is asked about a pack
//! that may have no settings now.

use crate::bench::plan::{Asked, ClubRules, Pack, Purpose, Warmth};
use crate::club::calendar::Instant;
use crate::club::charging::{NoSettings, may_have_settings};
use crate::club::limits::ClubLimits;
use crate::store::charges::ToCharge;
use crate::store::charges::lately::Lately;
use crate::store::packs::PackView;

/// What a person says before a plan is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Conditions {
    pub purpose: Purpose,
    /// For how long somebody is there, where storage or emptying was asked for with a time.
    pub done_within: Option<i64>,
    pub warmth: Warmth,
}

/// What stands between a pack and its settings; None: nothing.
pub fn may_plan(one: &ToCharge, now: Instant, limits: &ClubLimits) -> Result<(), NoSettings> {
    let state = one.pack.state_at(now, limits.reading_days);
    let is_charging = one.running_id.is_some();
    let record = one.lately.on_record(&one.pack, (state, is_charging));
    may_have_settings(&record, now)
}

/// What a plan is asked about a pack; None without volts, and for one that may have no settings now.
pub fn asked(
    one: &ToCharge,
    conditions: Conditions,
    (now, limits): (Instant, &ClubLimits),
) -> Option<Asked> {
    may_plan(one, now, limits).ok()?;
    let question = of_pack(&one.pack, &one.lately, conditions, (now, limits))?;
    Some(Asked {
        pack: Pack {
            resistance_ohm: one.measured().map(|measured| measured.ohm),
            owes_balance: one.was_balanced == Some(false),
            ..question.pack
        },
        ..question
    })
}

/// The same from what every page has that shows how a pack is charged, with a typical cell's resistance and nothing owed; None
/// without volts.
pub fn of_pack(
    pack: &PackView,
    lately: &Lately,
    conditions: Conditions,
    (now, limits): (Instant, &ClubLimits),
) -> Option<Asked> {
    let limits = limits.tightened();
    let build = pack.build();
    let came_from_use = lately.came_from_use(pack);
    Some(Asked {
        pack: Pack {
            build,
            limits: limits.of_cell(&build),
            label_charge_c_tenths: pack.label_charge_c_tenths,
            connector: pack.connector.clone(),
            balance: pack.balance_connector.clone(),
            volts: pack.volts()?,
            resistance_ohm: None,
            rested_minutes: pack.last_rested_minutes.unwrap_or(0),
            is_spread_known: pack.last_rested_minutes >= Some(limits.rest_minutes),
            owes_balance: false,
            from_use_minutes: came_from_use.map(|at| now.minutes_since(at)),
        },
        warmth: conditions.warmth,
        purpose: conditions.purpose,
        done_within: conditions.done_within,
        club: ClubRules {
            usual_c_tenths: limits.charge_c_tenths(build.chemistry),
            most_c_tenths: limits.charge_most_c_tenths(build.chemistry),
            charge_from_celsius: limits.charge_from_celsius,
            charge_to_celsius: limits.charge_to_celsius,
            small_spread_mv: limits.spread_watch_mv,
        },
    })
}
