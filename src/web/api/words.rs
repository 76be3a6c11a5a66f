//! How values travel: instants and days as text, volts in millivolts. And amounts as a form would have them typed.

use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use serde::Serialize;
use utoipa::ToSchema;

/// RFC 3339, UTC.
pub fn instant(at: Instant) -> String {
    jiff::Timestamp::from_millisecond(at.ms())
        .unwrap_or(jiff::Timestamp::UNIX_EPOCH)
        .to_string()
}

/// Volts as they were read: of each cell, or of the whole pack.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct ReadVolts {
    /// Cell 1 first; null where only the whole pack could be read.
    pub cells_mv: Option<Vec<i64>>,
    pub pack_mv: Option<i64>,
}

impl ReadVolts {
    pub fn of(volts: Volts) -> Self {
        match volts {
            Volts::Cells(cells) => Self {
                cells_mv: Some(cells),
                pack_mv: None,
            },
            Volts::Pack(mv) => Self {
                cells_mv: None,
                pack_mv: Some(mv),
            },
        }
    }

    pub fn of_text(text: Option<&str>) -> Option<Self> {
        text.and_then(Volts::from_text).map(Self::of)
    }
}

/// Thousandths as typed: `3820` as `3.820`, always with three decimals, so that it is never taken for digits alone.
pub fn thousandths(milli: i64) -> String {
    let sign = if milli < 0 { "-" } else { "" };
    let size = milli.unsigned_abs();
    format!("{sign}{}.{:03}", size / 1_000, size % 1_000)
}

/// Tenths as typed: `15` as `1.5`.
pub fn tenths(value: i64) -> String {
    let sign = if value < 0 { "-" } else { "" };
    let size = value.unsigned_abs();
    format!("{sign}{}.{}", size / 10, size % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_is_typed_with_its_decimals_however_large_it_is() {
        assert_eq!(thousandths(3_820), "3.820");
        assert_eq!(thousandths(4), "0.004");
        assert_eq!(thousandths(i64::MIN), "-9223372036854775.808");
        assert_eq!(tenths(15), "1.5");
        assert_eq!(tenths(-3), "-0.3");
    }

    #[test]
    fn an_instant_is_told_in_universal_time() {
        assert_eq!(instant(Instant(1_795_631_400_000)), "2026-11-25T18:30:00Z");
    }
}
