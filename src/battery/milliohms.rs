//! Internal resistance as a meter or charger tells it, a value for each cell: how it is typed, how it is written for people
//! and for storage. What it means is left to others. Units: whole tenths of a milliohm.

use super::typed::words_between;
use super::volts::CELLS_MAX;

/// More than any cell of a hobby pack that still gives current; more is a mistyped number or a broken contact.
pub const TENTHS_MAX: i64 = 20_000;

/// Tenths of a milliohm, cell 1 first; each from 1 to `TENTHS_MAX`.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Milliohms(Vec<i64>);

/// The Display is the sentence beside the field.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MilliohmsProblem {
    #[error(
        "'{found}' is not a resistance. Write milliohms like 5.1 4.9 5.3, a space between cells."
    )]
    NotMilliohms { found: String },
    #[error(
        "The comma in '{found}' could stand before tenths or between two cells. Use a point, like 5.1, or a space between cells."
    )]
    Comma { found: String },
    #[error("'{found}' is finer than is kept: write tenths of a milliohm at most, like 5.1.")]
    TooFine { found: String },
    #[error(
        "'{found}' milliohms is no cell's resistance: it is above 0 and at most 2000. Measure it again."
    )]
    Implausible { found: String },
    #[error("Give one resistance for each cell: {cells} in all, and {count} typed.")]
    WrongCount { count: usize, cells: i64 },
}

impl Milliohms {
    /// None unless there is one for each of the cells, and each of them plausible.
    pub fn of_cells(tenths: Vec<i64>, cells: i64) -> Option<Self> {
        let is_whole = i64::try_from(tenths.len()) == Ok(cells);
        let is_plausible = tenths.iter().all(|each| (1..=TENTHS_MAX).contains(each));
        (is_whole && is_plausible).then_some(Self(tenths))
    }

    /// Tenths of a milliohm, cell 1 first.
    pub fn tenths(&self) -> &[i64] {
        &self.0
    }

    /// The same in micro-ohm.
    pub fn uohm(&self) -> Vec<i64> {
        const OF_A_TENTH: i64 = 100;
        self.0.iter().map(|tenths| tenths * OF_A_TENTH).collect()
    }

    /// `c:51,49,53`, as volts of cells are stored.
    pub fn to_text(&self) -> String {
        let list: Vec<String> = self.0.iter().map(i64::to_string).collect();
        format!("c:{}", list.join(","))
    }

    /// Reads what `to_text` wrote; anything else is None.
    pub fn from_text(text: &str) -> Option<Self> {
        let list = text.strip_prefix("c:")?.split(',');
        let tenths: Option<Vec<i64>> = list.map(stored).collect();
        let tenths = tenths.filter(|tenths| tenths.len() <= CELLS_MAX)?;
        let cells = i64::try_from(tenths.len()).ok()?;
        Self::of_cells(tenths, cells)
    }

    /// `5.1 4.9 12.0`, without a unit; `12 13 12` where no cell has tenths. Typed again, it reads as the same.
    pub fn words(&self) -> String {
        let has_tenths = self.0.iter().any(|tenths| tenths % 10 > 0);
        let one = |tenths: &i64| match (tenths / 10, tenths % 10) {
            (whole, _) if !has_tenths => whole.to_string(),
            (whole, rest) => format!("{whole}.{rest}"),
        };
        let list: Vec<String> = self.0.iter().map(one).collect();
        list.join(" ")
    }
}

fn stored(text: &str) -> Option<i64> {
    let is_number = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    is_number.then(|| text.parse().ok())?
}

/// Reads what was typed for a pack of `cells` cells in series: `5.1 4.9 5.3`, `5,1; 4,9; 5,3`, `12 13 12 mΩ`.
pub fn read_typed(text: &str, cells: i64) -> Result<Milliohms, MilliohmsProblem> {
    let words = words_between(text, &["mohm", "mohms", "milliohm", "milliohms", "mω"])
        .map_err(|found| MilliohmsProblem::NotMilliohms { found })?;
    let numbers = numbers(&words, cells)?;
    let tenths: Result<Vec<i64>, MilliohmsProblem> =
        numbers.iter().map(|number| tenths_of(number)).collect();
    let tenths = tenths?;
    let count = tenths.len();
    Milliohms::of_cells(tenths, cells).ok_or(MilliohmsProblem::WrongCount { count, cells })
}

/// With a point as decimal sign. Without points a comma stands before tenths, unless it could as well part two cells.
fn numbers(words: &[String], cells: i64) -> Result<Vec<String>, MilliohmsProblem> {
    let parted = || -> Vec<String> {
        let parts = words.iter().flat_map(|word| word.split(','));
        parts.map(str::to_owned).collect()
    };
    let has = |mark: char| words.iter().any(|word| word.contains(mark));
    if has('.') || !has(',') {
        return Ok(parted());
    }
    let is_whole = |count: usize| i64::try_from(count) == Ok(cells);
    let is_decimal = words.iter().all(|word| is_with_tenths(word));
    if is_decimal && (is_whole(words.len()) || !is_whole(parted().len())) {
        return Ok(words.iter().map(|word| word.replace(',', ".")).collect());
    }
    let unclear = words.iter().find(|word| word.contains(','));
    let found = unclear.cloned().unwrap_or_default();
    Err(MilliohmsProblem::Comma { found })
}

/// `12` or `5,1`
fn is_with_tenths(word: &str) -> bool {
    word.split_once(',')
        .is_none_or(|(_, decimals)| decimals.len() == 1)
}

fn tenths_of(number: &str) -> Result<i64, MilliohmsProblem> {
    let found = || number.to_owned();
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    let is_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || !is_digits(whole) || !is_digits(decimals) {
        return Err(MilliohmsProblem::NotMilliohms { found: found() });
    }
    let tenth = match decimals.trim_end_matches('0') {
        "" => "0",
        one if one.len() == 1 => one,
        _ => return Err(MilliohmsProblem::TooFine { found: found() }),
    };
    let tenths = format!("{whole}{tenth}").parse().ok();
    tenths
        .filter(|tenths| (1..=TENTHS_MAX).contains(tenths))
        .ok_or_else(|| MilliohmsProblem::Implausible { found: found() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(tenths: &[i64]) -> Result<Milliohms, MilliohmsProblem> {
        Ok(Milliohms(tenths.to_vec()))
    }

    #[test]
    fn three_cells_are_read_however_they_are_typed() {
        for way in [
            "5.1 4.9 12",
            "5,1 4,9 12",
            "5,1; 4,9; 12,0",
            "5,1, 4,9, 12",
            "5.1,4.9,12.0",
            "5.10/4.90/12",
            "5.1 4.9 12 mΩ",
            "5.1mohm 4.9 mOhm 12 milliohms",
        ] {
            assert_eq!(read_typed(way, 3), of(&[51, 49, 120]), "{way}");
        }
        assert_eq!(read_typed("120,5 118,2", 2), of(&[1205, 1182]));
        assert_eq!(read_typed("5,1", 1), of(&[51]));
        assert_eq!(read_typed("2000", 1), of(&[20_000]));
    }

    #[test]
    fn what_could_be_read_in_two_ways_is_refused() {
        for (way, cells) in [("5,1", 2), ("5,1 4,9", 4), ("5,1,4,9", 2), ("12,13,12", 3)] {
            let refused = read_typed(way, cells);
            let is_comma = matches!(refused, Err(MilliohmsProblem::Comma { .. }));
            assert!(is_comma, "{way}: {refused:?}");
        }
    }

    #[test]
    fn a_value_for_each_cell_is_wanted_and_no_other_number() {
        for (way, count) in [("5.1", 1), ("5 5 5 5", 4), ("5,1 4,9", 2)] {
            let wrong = MilliohmsProblem::WrongCount { count, cells: 3 };
            assert_eq!(read_typed(way, 3), Err(wrong), "{way}");
        }
    }

    #[test]
    fn nothing_and_more_than_two_ohms_are_no_cells_resistance() {
        for found in ["0", "0.0", "2000.1", "99999999999999999999"] {
            let found = found.to_owned();
            let wrong = MilliohmsProblem::Implausible {
                found: found.clone(),
            };
            assert_eq!(read_typed(&found, 1), Err(wrong));
        }
        let fine = read_typed("5.12", 1);
        assert!(matches!(fine, Err(MilliohmsProblem::TooFine { .. })));
        for text in ["-5", "5.1 V", "five", ".5", "5.1.2", ","] {
            let refused = read_typed(text, 1);
            let is_none = matches!(refused, Err(MilliohmsProblem::NotMilliohms { .. }));
            let is_empty = matches!(refused, Err(MilliohmsProblem::WrongCount { count: 0, .. }));
            assert!(is_none || text == "," && is_empty, "{text}: {refused:?}");
        }
    }

    #[test]
    fn what_is_stored_is_read_back_and_nothing_else_is() {
        let read = of(&[51, 49, 120]).expect("a resistance");
        assert_eq!(read.to_text(), "c:51,49,120");
        assert_eq!(read.words(), "5.1 4.9 12.0");
        assert_eq!(Milliohms(vec![120, 130]).words(), "12 13");
        assert_eq!(Milliohms::from_text("c:51,49,120"), Some(read));
        for text in [
            "", "c:", "51", "c:0", "c:-1", "c:20001", "p:51", "c:5,,1", "c:+1",
        ] {
            assert_eq!(Milliohms::from_text(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back_as_the_same_with_point_and_with_comma(
            tenths in prop::collection::vec(1..=TENTHS_MAX, 1..=14)
        ) {
            let cells = i64::try_from(tenths.len()).expect("few");
            let read = Milliohms::of_cells(tenths, cells).expect("plausible");
            prop_assert_eq!(read_typed(&read.words(), cells), Ok(read.clone()));
            prop_assert_eq!(read_typed(&read.words().replace('.', ","), cells), Ok(read.clone()));
            prop_assert_eq!(Milliohms::from_text(&read.to_text()), Some(read));
        }

        #[test]
        fn no_text_whatever_makes_reading_fall_over(text in ".{0,60}|[0-9., ;/]{0,60}", cells in -1_i64..=14) {
            if let Ok(read) = read_typed(&text, cells) {
                prop_assert_eq!(i64::try_from(read.tenths().len()), Ok(cells));
            }
        }
    }
}
