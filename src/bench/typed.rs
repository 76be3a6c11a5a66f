//! Amounts as people type them and as pages show them: amps, milliamp-hours, watts, watt-hours, volts, C rates.
//! Point or comma is the decimal sign; marks between thousands are refused because `1,500` could be either.
//! Amounts are whole thousandths (mA, mAh, mW, mWh, mV), C rates whole tenths.

use thiserror::Error;

/// What the field asks for. A bare number is read in the field's own unit: A, mAh, W, Wh, V.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Amps,
    MilliampHours,
    Watts,
    WattHours,
    Volts,
}

impl Unit {
    /// The unit, and its thousandth.
    fn signs(self) -> (&'static str, &'static str) {
        match self {
            Unit::Amps => ("a", "ma"),
            Unit::MilliampHours => ("ah", "mah"),
            Unit::Watts => ("w", "mw"),
            Unit::WattHours => ("wh", "mwh"),
            Unit::Volts => ("v", "mv"),
        }
    }

    /// Decimal places that reach a whole thousandth; `None` for a sign that is not this unit's.
    fn places(self, sign: &str) -> Option<usize> {
        let (whole, thousandth) = self.signs();
        match sign {
            "" if self == Unit::MilliampHours => Some(0),
            "" => Some(3),
            _ if sign == whole => Some(3),
            _ if sign == thousandth => Some(0),
            _ => None,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum AmountProblem {
    #[error("Type a number.")]
    Empty,
    #[error("This is not a number with its unit, like 2.2 A or 450 mAh.")]
    NotANumber,
    #[error("That unit does not belong in this field.")]
    OtherUnit,
    #[error("Leave out marks between thousands: write 1500, not 1,500.")]
    Thousands,
    #[error(
        "That is finer than can be kept: fewer decimals, or write the larger unit (Ah) behind it."
    )]
    TooFine,
    #[error("That number is too large.")]
    TooLarge,
}

/// "2.2 A", "2,2", "2200 mA" → 2200. Never negative, at most 999 999 999 thousandths.
pub fn amount_milli(text: &str, unit: Unit) -> Result<i64, AmountProblem> {
    let (number, sign) = parted(text)?;
    let places = unit.places(&sign).ok_or(AmountProblem::OtherUnit)?;
    scaled(number, places)
}

/// A C rate in tenths: "1" → 10, "1.5" → 15, "75C" → 750.
pub fn tenths(text: &str) -> Result<i64, AmountProblem> {
    let (number, sign) = parted(text)?;
    if !sign.is_empty() && sign != "c" {
        return Err(AmountProblem::OtherUnit);
    }
    scaled(number, 1)
}

/// Cells in series: "3", "3S" or "3 s" → 3. None for anything else.
pub fn cells(text: &str) -> Option<i64> {
    let number = text.trim().trim_end_matches(['s', 'S']).trim_end();
    let is_plain = number.bytes().all(|digit| digit.is_ascii_digit());
    number.parse().ok().filter(|_| is_plain)
}

/// The number as typed and the unit's sign in lower case.
fn parted(text: &str) -> Result<(&str, String), AmountProblem> {
    let text = text.trim();
    if text.is_empty() {
        return Err(AmountProblem::Empty);
    }
    let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    let (number, sign) = text.split_at(end);
    Ok((number.trim_end(), sign.to_lowercase()))
}

fn scaled(number: &str, places: usize) -> Result<i64, AmountProblem> {
    let is_mark = |c: char| c == ',' || c == '.';
    let is_gap = |c: char| c.is_whitespace() || c == '\'' || c == '’';
    let is_known = |c: char| c.is_ascii_digit() || is_mark(c) || is_gap(c);
    if !number.contains(|c: char| c.is_ascii_digit()) || !number.chars().all(is_known) {
        return Err(AmountProblem::NotANumber);
    }
    if number.contains(is_gap) || number.matches(is_mark).count() > 1 {
        return Err(AmountProblem::Thousands);
    }
    let (whole, fraction) = number.split_once(is_mark).unwrap_or((number, ""));
    // Three digits behind the mark where no decimals belong: 1,500 mAh was meant as thousands.
    if places < 3 && fraction.len() == 3 {
        return Err(AmountProblem::Thousands);
    }
    let fraction = fraction.trim_end_matches('0');
    if fraction.len() > places {
        return Err(AmountProblem::TooFine);
    }
    let whole = whole.trim_start_matches('0');
    let digits = format!("{whole}{fraction:0<places$}");
    if digits.len() > 9 {
        return Err(AmountProblem::TooLarge);
    }
    if digits.is_empty() {
        Ok(0)
    } else {
        digits.parse().map_err(|_| AmountProblem::TooLarge)
    }
}

/// How a club writes numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    pub has_decimal_comma: bool,
}

impl Words {
    pub const POINT: Words = Words {
        has_decimal_comma: false,
    };
    pub const COMMA: Words = Words {
        has_decimal_comma: true,
    };

    /// Thousandths as a plain number without needless zeros: 400 → "0.4".
    pub fn number(self, milli: i64) -> String {
        self.decimal(milli, 1_000, 3)
    }

    pub fn amps(self, ma: i64) -> String {
        format!("{} A", self.number(ma))
    }

    pub fn mah(self, mah: i64) -> String {
        format!("{mah} mAh")
    }

    pub fn watts(self, mw: i64) -> String {
        format!("{} W", self.number(mw))
    }

    /// One decimal is enough for an energy: 4884 → "4.9 Wh".
    pub fn watt_hours(self, mwh: i64) -> String {
        let tenths = mwh.saturating_add(50).div_euclid(100);
        format!("{} Wh", self.decimal(tenths, 10, 1))
    }

    pub fn volts(self, mv: i64) -> String {
        format!("{} V", self.number(mv))
    }

    /// `9, 15, 20 V`
    pub fn volts_of(self, all_mv: impl Iterator<Item = i64>) -> String {
        let each: Vec<String> = all_mv.map(|mv| self.number(mv)).collect();
        format!("{} V", each.join(", "))
    }

    /// Tenths as a C rate: 15 → "1.5C".
    pub fn c_rate(self, tenths: i64) -> String {
        format!("{}C", self.decimal(tenths, 10, 1))
    }

    /// A sentence on record, which is kept with points, as this club reads it: `rests at 2,80 V.` Only a number with one
    /// point inside changes; a date, an address or a number on a label stays.
    pub fn sentence(self, text: &str) -> String {
        if !self.has_decimal_comma {
            return text.to_owned();
        }
        let is_in_number = |c: char| c.is_ascii_digit() || c == '.';
        let (mut told, mut rest, mut last) = (String::new(), text, ' ');
        while let Some(first) = rest.chars().next() {
            let same = |c: char| is_in_number(c) == is_in_number(first);
            let (run, after) = rest.split_at(rest.find(|c| !same(c)).unwrap_or(rest.len()));
            let is_decimal = is_in_number(first) && !last.is_alphanumeric() && has_one_point(run);
            told += &if is_decimal {
                run.replacen('.', ",", 1)
            } else {
                run.to_owned()
            };
            last = run.chars().last().unwrap_or(' ');
            rest = after;
        }
        told
    }

    fn decimal(self, value: i64, parts: u64, places: usize) -> String {
        let sign = if value < 0 { "-" } else { "" };
        let size = value.unsigned_abs();
        let fraction = format!("{:0places$}", size % parts);
        let fraction = fraction.trim_end_matches('0');
        let mark = match (fraction.is_empty(), self.has_decimal_comma) {
            (true, _) => "",
            (false, true) => ",",
            (false, false) => ".",
        };
        format!("{sign}{}{mark}{fraction}", size / parts)
    }
}

/// `3.91`, also with the full stop of its sentence behind it.
fn has_one_point(run: &str) -> bool {
    let number = run.strip_suffix('.').unwrap_or(run);
    number.split_once('.').is_some_and(|(whole, decimals)| {
        !whole.is_empty() && !decimals.is_empty() && !decimals.contains('.')
    })
}

/// 400 → "0.4 A". With a decimal point; a club's own way of writing is `Words`.
pub fn words_amps(ma: i64) -> String {
    Words::POINT.amps(ma)
}

pub fn words_mah(mah: i64) -> String {
    Words::POINT.mah(mah)
}

pub fn words_w(mw: i64) -> String {
    Words::POINT.watts(mw)
}

pub fn words_v(mv: i64) -> String {
    Words::POINT.volts(mv)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn amounts_are_read_with_point_or_comma_and_either_unit() {
        for text in ["2.2 A", "2,2", "2200 mA", "2.200A", " 2,20 a "] {
            assert_eq!(amount_milli(text, Unit::Amps), Ok(2_200), "{text}");
        }
        for text in ["450 mAh", "0.45 Ah", "450", ",45ah", "450.0"] {
            assert_eq!(amount_milli(text, Unit::MilliampHours), Ok(450), "{text}");
        }
        assert_eq!(amount_milli("45 W", Unit::Watts), Ok(45_000));
        assert_eq!(amount_milli("12.6\u{a0}V", Unit::Volts), Ok(12_600));
    }

    #[test]
    fn a_sentence_on_record_is_read_with_the_clubs_decimal_comma() {
        let kept = "Cell 2 rests at 2.80 V; the minimum for LiPo is 3.00. On 24.11.2026 P-002. v1.2 from 10.0.0.1";
        let told = "Cell 2 rests at 2,80 V; the minimum for LiPo is 3,00. On 24.11.2026 P-002. v1.2 from 10.0.0.1";
        assert_eq!(Words::COMMA.sentence(kept), told);
        assert_eq!(Words::POINT.sentence(kept), kept);
        assert_eq!(Words::COMMA.sentence("3.91 3.872"), "3,91 3,872");
    }

    #[test]
    fn what_could_be_read_two_ways_is_refused_with_a_sentence() {
        for text in ["1,500 mAh", "1.500", "1 500", "1'500", "1,234.5 Ah"] {
            assert_eq!(
                amount_milli(text, Unit::MilliampHours),
                Err(AmountProblem::Thousands),
                "{text}"
            );
        }
        assert!(AmountProblem::Thousands.to_string().contains("write 1500"));
    }

    #[test]
    fn other_units_negatives_and_empty_fields_are_refused() {
        assert_eq!(
            amount_milli("12 V", Unit::Amps),
            Err(AmountProblem::OtherUnit)
        );
        assert_eq!(
            amount_milli("-2 A", Unit::Amps),
            Err(AmountProblem::NotANumber)
        );
        assert_eq!(
            amount_milli("A", Unit::Amps),
            Err(AmountProblem::NotANumber)
        );
        assert_eq!(amount_milli("  ", Unit::Amps), Err(AmountProblem::Empty));
        assert_eq!(
            amount_milli("0.45", Unit::MilliampHours),
            Err(AmountProblem::TooFine)
        );
        assert_eq!(
            amount_milli("1000000 A", Unit::Amps),
            Err(AmountProblem::TooLarge)
        );
    }

    #[test]
    fn cells_in_series_are_read_as_people_say_them() {
        assert_eq!(
            ["3", " 3S ", "12 s"].map(cells),
            [Some(3), Some(3), Some(12)]
        );
        assert_eq!(
            ["", "S", "3P", "+3", "-3", "3.5", "three"].map(cells),
            [None; 7]
        );
    }

    #[test]
    fn c_rates_are_read_in_tenths() {
        assert_eq!(
            ["1", "1.5", "75C", "0,5 c"].map(tenths),
            [Ok(10), Ok(15), Ok(750), Ok(5)]
        );
        assert_eq!(tenths("1.25"), Err(AmountProblem::TooFine));
        assert_eq!(Words::COMMA.c_rate(15), "1,5C");
    }

    #[test]
    fn amounts_are_shown_without_needless_zeros() {
        assert_eq!(words_amps(400), "0.4 A");
        assert_eq!(words_mah(450), "450 mAh");
        assert_eq!(words_w(45_000), "45 W");
        assert_eq!(words_v(12_600), "12.6 V");
        assert_eq!(Words::COMMA.volts(-3_050), "-3,05 V");
        assert_eq!(words_amps(i64::MIN), "-9223372036854775.808 A");
    }

    proptest! {
        #[test]
        fn no_text_whatever_makes_reading_fall_over(text in any::<String>(), digits in "[0-9., 'a-zA-Z]{0,24}") {
            for unit in [Unit::Amps, Unit::MilliampHours, Unit::Watts, Unit::Volts] {
                for text in [&text, &digits] {
                    if let Ok(amount) = amount_milli(text, unit) {
                        prop_assert!((0..=999_999_999).contains(&amount));
                    }
                }
            }
            for text in [&text, &digits] {
                prop_assert!(tenths(text).is_err() || tenths(text).is_ok_and(|rate| rate >= 0));
            }
        }

        #[test]
        fn what_is_shown_reads_back_as_the_same_amount(milli in 0..=999_999_999_i64, has_decimal_comma: bool) {
            let words = Words { has_decimal_comma };
            prop_assert_eq!(amount_milli(&words.amps(milli), Unit::Amps), Ok(milli));
            prop_assert_eq!(amount_milli(&words.mah(milli), Unit::MilliampHours), Ok(milli));
            prop_assert_eq!(amount_milli(&words.watts(milli), Unit::Watts), Ok(milli));
            prop_assert_eq!(amount_milli(&words.volts(milli), Unit::Volts), Ok(milli));
            prop_assert_eq!(tenths(&words.c_rate(milli)), Ok(milli));
        }
    }
}
