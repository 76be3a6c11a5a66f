//! How values travel: instants and days as text, volts in millivolts. And amounts as a form would have them typed.

use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use serde::{Deserialize, Deserializer, Serialize};
use utoipa::ToSchema;

/// RFC 3339, UTC.
pub fn instant(at: Instant) -> String {
    jiff::Timestamp::from_millisecond(at.ms())
        .unwrap_or(jiff::Timestamp::UNIX_EPOCH)
        .to_string()
}

/// For a field that may be null and may not be left out: what is kept whole is sent whole, so that nothing is emptied by
/// being forgotten.
pub fn said<'de, D: Deserializer<'de>, T: Deserialize<'de>>(
    sent: D,
) -> Result<Option<T>, D::Error> {
    Option::deserialize(sent)
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

/// The unit that a field of the program's has in its name.
fn unit_of(field: &str) -> Option<&'static str> {
    let units = [
        ("_mv", "millivolts"),
        ("_ma", "milliamps"),
        ("_mah", "milliamp hours"),
        ("_mw", "milliwatts"),
        ("_mwh", "milliwatt hours"),
        ("_c_tenths", "tenths of C"),
        ("_mohm_tenths", "tenths of a milliohm"),
    ];
    let found = units.into_iter().find(|(end, _)| field.ends_with(end));
    found.map(|(_, unit)| unit)
}

/// A sentence about this field as programs need it: a form teaches how to type an amount, and they send whole numbers.
pub fn in_its_unit(field: &str, words: String, is_below_nothing: bool) -> String {
    match unit_of(field) {
        Some(unit) if is_below_nothing => format!("This is a whole number of {unit}, from 0 on."),
        Some(unit) if words.contains(" like ") => {
            format!("{words} Here: a whole number of {unit}.")
        }
        _ => words,
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
    fn a_program_is_told_its_own_unit_and_not_how_to_type() {
        let typed = || "'-' is not a voltage. Write volts like 3.91.".to_owned();
        let told = in_its_unit("items[0].volts_mv", typed(), true);
        assert_eq!(told, "This is a whole number of millivolts, from 0 on.");
        let told = in_its_unit("capacity_mah", typed(), false);
        assert!(told.ends_with("Here: a whole number of milliamp hours."));
        assert_eq!(in_its_unit("unread", typed(), true), typed());
    }

    #[test]
    fn an_instant_is_told_in_universal_time() {
        assert_eq!(instant(Instant(1_795_631_400_000)), "2026-11-25T18:30:00Z");
    }
}
