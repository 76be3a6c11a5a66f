//! A pack's latest reading with a resistance, joined into queries that ask how hard the pack may be pushed. Decides nothing.

use crate::battery::milliohms::Milliohms;
use crate::battery::resistance_read::MeterKind;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::health::{HealthPack, HealthReading, Resistance, measured_ohms};
use crate::club::reading::Rested;

/// When, the cells', and what tells whether it can be compared.
#[derive(Clone, Debug, Default, sqlx::FromRow)]
pub struct MeasuredRow {
    measured_ms: Option<Instant>,
    measured_resistance: Option<String>,
    measured_kind: Option<String>,
    measured_celsius: Option<i64>,
    measured_volts: Option<String>,
    measured_rested_minutes: Option<i64>,
}

/// Resistance at 25 °C, as a load shows it: of its average cell, and of its worst.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub at: Instant,
    pub ohm: f64,
    pub worst_ohm: f64,
}

impl MeasuredRow {
    /// None: it was never read, or can't be compared.
    pub fn told(&self, pack: &HealthPack) -> Option<Measured> {
        let at = self.measured_ms?;
        let cells = Milliohms::from_text(self.measured_resistance.as_deref()?)?;
        let reading = HealthReading {
            at,
            volts: self.measured_volts.as_deref().and_then(Volts::from_text),
            rested: Rested::of_minutes(self.measured_rested_minutes.unwrap_or(0)),
            resistance: Some(Resistance {
                cells_uohm: cells.uohm(),
                meter: None,
                kind: self.measured_kind.as_deref().and_then(MeterKind::from_code),
            }),
            celsius: self.measured_celsius.map(|celsius| celsius as f64),
            charge: None,
            context: None,
            used: None,
        };
        let ohms = measured_ohms(pack, &reading)?;
        Some(Measured {
            at,
            ohm: ohms.iter().sum::<f64>() / ohms.len().max(1) as f64,
            worst_ohm: ohms.into_iter().fold(0.0, f64::max),
        })
    }
}

/// After other columns.
macro_rules! measured_columns {
    () => {
        ", mr.taken_ms AS measured_ms, mr.resistance AS measured_resistance, mr.meter_kind AS measured_kind, \
         mr.celsius AS measured_celsius, mr.volts AS measured_volts, mr.rested_minutes AS measured_rested_minutes"
    };
}

/// `$when`: a condition; where it does not hold nothing is looked up.
macro_rules! measured_join {
    ($when:literal) => {
        concat!(
            "LEFT JOIN reading mr ON ",
            $when,
            " AND mr.id = (SELECT r.id FROM reading r WHERE r.pack_id = k.id AND r.resistance IS NOT NULL \
             AND NOT EXISTS (SELECT 1 FROM reading co WHERE co.pack_id = r.pack_id AND co.corrects_id = r.id) \
             ORDER BY r.taken_ms DESC, r.id DESC LIMIT 1) "
        )
    };
}

pub(super) use {measured_columns, measured_join};
