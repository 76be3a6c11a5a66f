//! A pack with its readings, as the tests of its health tell them: days before now, and what was read.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::limits::ClubLimits;
use crate::club::reading::Rested;
use crate::club::reading::beside::{Charge, Context};
use crate::club::states::State;
use crate::club::verdict::Gravity;

pub fn now() -> Instant {
    Zone::utc().start_of(Day::parse("2026-11-27").expect("a day"))
}

pub fn pack(chemistry: Chemistry, cells_series: i64, capacity_mah: i64) -> HealthPack {
    HealthPack {
        build: Build {
            chemistry,
            cells_series,
            groups_parallel: 1,
            capacity_mah,
            sees_cells: true,
            label: LabelVolts::default(),
        },
        label_discharge_c_tenths: None,
    }
}

/// Three cells of 2,200 mAh.
pub fn lipo() -> HealthPack {
    pack(Chemistry::LiPo, 3, 2_200)
}

/// Nothing read yet, rested for an hour.
pub fn on(days_ago: i64) -> HealthReading {
    HealthReading {
        at: now().plus_days(-days_ago),
        volts: None,
        rested: Rested::AN_HOUR,
        resistance: None,
        celsius: None,
        charge: None,
        context: None,
        used: None,
    }
}

impl HealthReading {
    pub fn cells(self, cells_mv: &[i64]) -> Self {
        let volts = Some(Volts::Cells(cells_mv.to_vec()));
        Self { volts, ..self }
    }

    /// By the club's charger at 25 °C.
    pub fn milliohm(self, cells: &[f64]) -> Self {
        let cells_uohm = cells.iter().map(|cell| (cell * 1_000.0) as i64).collect();
        let meter = Some("C-02".to_owned());
        let kind = None;
        let resistance = Some(Resistance {
            cells_uohm,
            meter,
            kind,
        });
        Self {
            resistance,
            celsius: Some(25.0),
            ..self
        }
    }

    pub fn with(self, meter: Option<&str>) -> Self {
        let meter = meter.map(str::to_owned);
        let resistance = self.resistance.map(|read| Resistance { meter, ..read });
        Self { resistance, ..self }
    }

    pub fn put_in(self, mah: i64) -> Self {
        let charge = Some(Charge::PutIn(mah));
        Self { charge, ..self }
    }

    pub fn taken_out(self, mah: i64) -> Self {
        let charge = Some(Charge::TakenOut(mah));
        Self { charge, ..self }
    }

    pub fn just_used(self) -> Self {
        let rested = Rested::JustUsed;
        Self { rested, ..self }
    }

    /// Last in use so many days ago, as far as is on record.
    pub fn used(self, days_ago: i64) -> Self {
        let used = Some(now().plus_days(-days_ago));
        Self { used, ..self }
    }

    pub fn checked(self) -> Self {
        let context = Some(Context::StorageCheck);
        Self { context, ..self }
    }
}

pub fn health_of(pack: &HealthPack, readings: &[HealthReading]) -> Health {
    health_beside(pack, readings, &[])
}

pub fn health_beside(
    pack: &HealthPack,
    readings: &[HealthReading],
    sisters: &[HealthReading],
) -> Health {
    health(&Asked {
        pack,
        readings,
        sisters,
        now: now(),
        club: &ClubLimits::default(),
        limits: &HealthLimits::default(),
        zone: Some(&Zone::utc()),
    })
}

pub fn verdict_of(pack: &HealthPack, readings: &[HealthReading]) -> Verdict {
    verdict_after(pack, readings, (&[], None))
}

/// `seen`, and when it was released.
pub fn verdict_after(
    pack: &HealthPack,
    readings: &[HealthReading],
    (seen, released): (&[crate::club::seen::Seen], Option<Instant>),
) -> Verdict {
    let asked = Asked {
        pack,
        readings,
        sisters: &[],
        now: now(),
        club: &ClubLimits::default(),
        limits: &HealthLimits::default(),
        zone: None,
    };
    verdict(&Story {
        asked,
        confirmed: &[],
        seen,
        released,
    })
}

pub fn rules(reasons: &[Reason]) -> Vec<(Rule, Gravity)> {
    let each = reasons.iter().map(|reason| &reason.finding);
    each.map(|finding| (finding.rule, finding.gravity))
        .collect()
}

pub fn of(health: &Health, rule: Rule) -> Option<&Reason> {
    let mut reasons = health.reasons.iter();
    reasons.find(|reason| reason.finding.rule == rule)
}

/// How far a state keeps a pack from use.
pub fn care(state: State) -> usize {
    let rising = [
        State::Fit,
        State::Caution,
        State::NotKnown,
        State::SetAside,
        State::Quarantine,
    ];
    let place = rising.iter().position(|each| *each == state);
    place.expect("a state that readings make")
}
