//! Numbers as loggers write them: with a point or a comma, as 1:02:03 for a time. Which column a cell is in is not asked here.

use super::units::Unit;

/// Between a number's whole part and its decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    Point,
    Comma,
}

/// Beyond it no number of a log is meant; a clock in milliseconds since 1970 is below.
const LARGEST: f64 = 1e15;

/// In the unit that logs are kept in; None where it is no number.
pub fn value(cell: &str, unit: Unit) -> Option<f64> {
    if unit == Unit::Clock {
        return clock(cell);
    }
    number(cell).map(|number| number * unit.factor())
}

/// What stands where there is nothing to say.
pub fn is_nothing(cell: &str) -> bool {
    let cell = cell.to_lowercase();
    ["", "-", "nan", "null", "none", "na", "n/a"].contains(&cell.as_str())
}

/// Enough of a cell to find it again.
pub fn shown(cell: &str) -> String {
    cell.chars().take(24).collect()
}

pub fn mark_of(cell: &str) -> Option<Mark> {
    match (cell.contains('.'), cell.contains(',')) {
        (true, _) => Some(Mark::Point),
        (_, true) => Some(Mark::Comma),
        _ => None,
    }
}

fn number(cell: &str) -> Option<f64> {
    let is_number = |letter: char| letter.is_ascii_digit() || "+-.,eE\u{2212}".contains(letter);
    if !cell.chars().all(is_number) {
        return None;
    }
    let plain = cell.replace(',', ".").replace('\u{2212}', "-");
    let number: f64 = plain.parse().ok()?;
    (number.abs() <= LARGEST).then_some(number)
}

/// `1:02:03` or `100:02:03.5` in seconds.
fn clock(cell: &str) -> Option<f64> {
    let parts: Vec<&str> = cell.split(':').collect();
    let [hours, minutes, seconds] = parts.as_slice() else {
        return None;
    };
    let whole = |part: &str| {
        let is_digits =
            !part.is_empty() && part.len() <= 6 && part.bytes().all(|byte| byte.is_ascii_digit());
        is_digits.then(|| part.parse::<f64>().ok()).flatten()
    };
    let (minutes, seconds) = (whole(minutes)?, number(seconds)?);
    let is_clock = minutes < 60.0 && (0.0..60.0).contains(&seconds);
    is_clock.then_some(whole(hours)? * 3_600.0 + minutes * 60.0 + seconds)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_point_or_a_comma_and_nothing_between_thousands() {
        for (cell, number) in [
            ("3.912", 3.912),
            ("3,912", 3.912),
            ("-0,5", -0.5),
            ("\u{2212}4.56", -4.56),
            ("1.5e-4", 1.5e-4),
            ("1,5E-4", 1.5e-4),
            ("+7", 7.0),
        ] {
            assert_eq!(value(cell, Unit::Volt), Some(number), "{cell}");
        }
        for cell in [
            "",
            "1.234,5",
            "1,234,567",
            "3.7 V",
            "inf",
            "NaN",
            "0x10",
            "--1",
            "e",
            "1e99",
            "1e999",
        ] {
            assert_eq!(value(cell, Unit::Volt), None, "{cell}");
        }
    }

    #[test]
    fn a_unit_brings_a_number_into_the_unit_of_logs() {
        for (cell, unit, number) in [
            ("1500", Unit::Millisecond, 1.5),
            ("1,5", Unit::Minute, 90.0),
            ("2", Unit::Hour, 7_200.0),
            ("3912", Unit::Millivolt, 3.912),
            ("-450", Unit::Milliampere, -0.45),
            ("2200", Unit::MilliampereHour, 2.2),
            ("12", Unit::Milliohm, 0.012),
        ] {
            let told = value(cell, unit).expect("a number");
            assert!((told - number).abs() < 1e-12, "{cell}: {told}");
        }
    }

    #[test]
    fn a_clock_is_read_in_hours_minutes_and_seconds() {
        assert_eq!(value("1:02:03", Unit::Clock), Some(3_723.0));
        assert_eq!(value("100:00:00,5", Unit::Clock), Some(360_000.5));
        for cell in [
            "02:03", "1:60:00", "1:00:60", "1:2:3:4", ":1:2", "1:-1:2", "90",
        ] {
            assert_eq!(value(cell, Unit::Clock), None, "{cell}");
        }
    }

    #[test]
    fn what_says_nothing_is_told_from_what_is_no_number() {
        assert!(["", "NaN", "n/a", "-"].into_iter().all(is_nothing));
        assert!(!is_nothing("CC") && !is_nothing("0"));
    }
}
