//! Amounts and days as spreadsheets have them, brought into the form that the forms read. What could mean two things is
//! found out here and asked about; nothing is guessed.

use crate::club::calendar::Day;
use serde::{Deserialize, Serialize};

/// What 03/04/2026 means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DayOrder {
    DayFirst,
    MonthFirst,
}

impl DayOrder {
    pub fn from_code(code: &str) -> Option<Self> {
        match code {
            "day_first" => Some(Self::DayFirst),
            "month_first" => Some(Self::MonthFirst),
            _ => None,
        }
    }
}

/// What the mark in 1,234 or 1.234 means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    Thousands,
    Decimal,
}

impl Mark {
    pub fn from_code(code: &str) -> Option<Self> {
        match code {
            "thousands" => Some(Self::Thousands),
            "decimal" => Some(Self::Decimal),
            _ => None,
        }
    }
}

const HOW_A_DAY: &str = "Write the day as 2026-11-27.";

/// The day as `2026-11-26`. Without an order, a day that could be two is none.
pub fn day(text: &str, order: Option<DayOrder>) -> Result<String, &'static str> {
    let text = without_time(text.trim());
    if let Some(serial) = serial_of(text) {
        return serial_day(serial)
            .map(|day| day.to_string())
            .ok_or(HOW_A_DAY);
    }
    let (mark, parts) = day_parts(text).ok_or(HOW_A_DAY)?;
    let [first, second, third] = parts;
    let (year, month, day) = match (first.len(), third.len()) {
        (4, _) => (first, second, third),
        (_, 4) => match order_of(mark, [first, second], order) {
            Some(DayOrder::DayFirst) => (third, second, first),
            Some(DayOrder::MonthFirst) => (third, first, second),
            None => return Err("Day first or month first? Say so before."),
        },
        _ => return Err("Write the year with four digits."),
    };
    let iso = format!("{year:0>4}-{month:0>2}-{day:0>2}");
    Day::parse(&iso)
        .map(|day| day.to_string())
        .ok_or("There is no such day.")
}

/// 03/04/2026: two days, as long as nobody says which number is the day's.
pub fn is_doubtful_day(text: &str) -> bool {
    let parts = day_parts(without_time(text.trim()));
    parts.is_some_and(|(mark, [first, second, third])| {
        third.len() == 4 && first != second && order_of(mark, [first, second], None).is_none()
    })
}

/// `2026-11-26 00:00:00`: the day alone.
fn without_time(text: &str) -> &str {
    let Some((day, time)) = text.split_once([' ', 'T']) else {
        return text;
    };
    let is_time = time.contains(':')
        && time
            .chars()
            .all(|c| c.is_ascii_digit() || ":.Z".contains(c));
    if is_time { day } else { text }
}

fn day_parts(text: &str) -> Option<(char, [&str; 3])> {
    let mark = text.chars().find(|letter| "./-".contains(*letter))?;
    let parts: Vec<&str> = text.split(mark).map(str::trim).collect();
    let is_number =
        |part: &&str| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    let parts: [&str; 3] = parts.try_into().ok()?;
    parts.iter().all(is_number).then_some((mark, parts))
}

/// With points the day comes first everywhere. Else a number over 12 is no month.
fn order_of(mark: char, [first, second]: [&str; 2], said: Option<DayOrder>) -> Option<DayOrder> {
    let is_month = |part: &str| part.parse::<u32>().is_ok_and(|number| number <= 12);
    match (mark, said) {
        ('.', _) => Some(DayOrder::DayFirst),
        (_, Some(order)) => Some(order),
        _ if !is_month(first) => Some(DayOrder::DayFirst),
        _ if !is_month(second) => Some(DayOrder::MonthFirst),
        _ if first == second => Some(DayOrder::DayFirst),
        _ => None,
    }
}

fn serial_of(text: &str) -> Option<i64> {
    let (whole, fraction) = text.split_once(['.', ',']).unwrap_or((text, "0"));
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    // Five digits: 1927 to 2173. Days with points have two marks.
    (whole.len() == 5 && is_digits(whole) && is_digits(fraction)).then(|| whole.parse().ok())?
}

/// Days since 1899-12-30: the 1900 date system of ECMA-376 part 1 (18.17.4.1), which counts a 29th of February 1900 that
/// never was; from March 1900 on that comes to this start.
fn serial_day(serial: i64) -> Option<Day> {
    let start = jiff::civil::date(1899, 12, 30);
    Day::parse(&Day(start).plus_days(serial).to_string())
}

/// What commas and points between digits mean in this sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    pub comma: Option<Mark>,
    pub point: Option<Mark>,
}

impl Marks {
    const fn of(self, mark: char) -> Option<Mark> {
        match mark {
            ',' => self.comma,
            _ => self.point,
        }
    }
}

/// Without marks between thousands, as the forms read it: `1,234.5 mAh` is `1234.5 mAh`. What is no number stays.
pub fn amount(text: &str, marks: Marks) -> String {
    let (number, unit) = parted(text.trim());
    format!("{}{unit}", plain_number(number, marks))
}

fn parted(text: &str) -> (&str, &str) {
    let end = text.find(char::is_alphabetic).unwrap_or(text.len());
    let number = text[..end].trim_end();
    (number, &text[number.len()..])
}

fn plain_number(number: &str, marks: Marks) -> String {
    let is_gap = |c: char| c.is_whitespace() || c == '\'' || c == '’';
    if number.contains(is_gap) && are_thousands(number, is_gap) {
        return plain_number(&number.replace(is_gap, ""), marks);
    }
    let counts = [',', '.'].map(|mark| number.matches(mark).count());
    match counts {
        [0, 0] => number.to_owned(),
        [_, 1] if counts[0] > 0 && number.rfind('.') > number.rfind(',') => in_groups(number, ','),
        [1, _] if counts[1] > 0 && number.rfind(',') > number.rfind('.') => in_groups(number, '.'),
        [0 | 1, 0 | 1] => match doubtful_mark(number).map(|mark| (mark, marks.of(mark))) {
            Some((mark, Some(Mark::Thousands))) => number.replace(mark, ""),
            _ => number.to_owned(),
        },
        [_, 0] => in_groups(number, ','),
        _ => in_groups(number, '.'),
    }
}

/// Without this mark, where it stands between thousands.
fn in_groups(number: &str, mark: char) -> String {
    if are_thousands(number, |c| c == mark) {
        number.replace(mark, "")
    } else {
        number.to_owned()
    }
}

/// Behind each mark come three digits, before the first one to three.
fn are_thousands(number: &str, is_mark: impl Fn(char) -> bool) -> bool {
    let whole = number
        .split(|c: char| ",.".contains(c) && !is_mark(c))
        .next()
        .unwrap_or_default();
    let mut groups = whole.split(is_mark);
    let is_digits = |group: &str| group.bytes().all(|byte| byte.is_ascii_digit());
    let starts = groups
        .next()
        .is_some_and(|first| (1..=3).contains(&first.len()) && is_digits(first));
    starts && groups.all(|group| group.len() == 3 && is_digits(group))
}

/// The mark of `1,234`: thousands, or decimals? `0,234` and `1234,567` have decimals.
pub fn doubtful_mark(text: &str) -> Option<char> {
    let (number, _) = parted(text.trim());
    let mark = number.chars().find(|letter| matches!(letter, ',' | '.'))?;
    let (whole, behind) = number.split_once(mark)?;
    let is_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let is_doubtful = (1..=3).contains(&whole.len())
        && !whole.starts_with('0')
        && behind.len() == 3
        && is_digits(whole)
        && is_digits(behind);
    is_doubtful.then_some(mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_read_however_spreadsheets_write_it() {
        for text in [
            "2026-11-26",
            "26.11.2026",
            "26/11/2026",
            "11/26/2026",
            "2026/11/26",
            "46352",
            "46352.0",
            "2026-11-26 00:00:00",
            "2026-11-26T00:00:00Z",
        ] {
            assert_eq!(day(text, None).as_deref(), Ok("2026-11-26"), "{text}");
        }
        // ECMA-376 part 1, 18.17.4.3: the serial value of 2008-01-01 is 39448.
        assert_eq!(day("39448", None).as_deref(), Ok("2008-01-01"));
        assert_eq!(day("3.4.2026", None).as_deref(), Ok("2026-04-03"));
        assert_eq!(day("04/04/2026", None).as_deref(), Ok("2026-04-04"));
    }

    #[test]
    fn a_day_that_could_be_two_is_asked_about_and_then_read_as_was_said() {
        assert!(is_doubtful_day("03/04/2026") && day("03/04/2026", None).is_err());
        assert_eq!(
            day("03/04/2026", Some(DayOrder::DayFirst)).as_deref(),
            Ok("2026-04-03")
        );
        assert_eq!(
            day("03/04/2026", Some(DayOrder::MonthFirst)).as_deref(),
            Ok("2026-03-04")
        );
        assert!(day("26/11/2026", Some(DayOrder::MonthFirst)).is_err());
        for text in ["26/11/2026", "3.4.2026", "2026-04-03", "46352", "soon", ""] {
            assert!(!is_doubtful_day(text), "{text}");
        }
        for text in [
            "3/4/26",
            "31.2.2026",
            "yesterday",
            "2026",
            "2026-13-01",
            "1/2/3/2026",
            "99999999",
        ] {
            assert!(day(text, Some(DayOrder::DayFirst)).is_err(), "{text}");
        }
    }

    #[test]
    fn marks_between_thousands_go_and_what_could_be_either_is_asked_about() {
        let unsaid = Marks::default();
        for (text, plain) in [
            ("2,2 Ah", "2,2 Ah"),
            ("2200mAh", "2200mAh"),
            ("1,234,567", "1234567"),
            ("1.234,5", "1234,5"),
            ("1 234", "1234"),
            ("12’500 mAh", "12500 mAh"),
            ("1,234", "1,234"),
            ("many", "many"),
            ("1,23,4", "1,23,4"),
            ("", ""),
        ] {
            assert_eq!(amount(text, unsaid), plain, "{text}");
        }
        assert_eq!(doubtful_mark("1,234 mAh"), Some(','));
        assert_eq!(doubtful_mark("5.200"), Some('.'));
        for text in ["0,234", "1234,567", "2,2", "2200", "75C", ""] {
            assert_eq!(doubtful_mark(text), None, "{text}");
        }
        let said = Marks {
            comma: Some(Mark::Thousands),
            point: Some(Mark::Decimal),
        };
        assert_eq!(amount("1,234 mAh", said), "1234 mAh");
        assert_eq!(amount("1.234 A", said), "1.234 A");
    }
}
