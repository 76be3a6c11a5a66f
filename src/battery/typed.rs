//! Reads volts as a person types them at the table: digits alone, with points, with decimal commas, in millivolts.
//! What could be read in two ways is refused with a sentence, never guessed. A wrong number of cells is no mistake of
//! writing: it is read, and the verdict asks about it. Answers in mV.

use super::volts::{CELLS_MAX, Volts};

/// The Display is the sentence beside the field.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum VoltsProblem {
    #[error("Enter the volts, or say why they could not be read.")]
    Nothing,
    #[error("Enter the volts of cell {cell}.")]
    BoxEmpty { cell: usize },
    #[error("'{found}' is not a voltage. Write volts like 3.91 3.87 3.90.")]
    NotVolts { found: String },
    #[error(
        "{digits} digits can't be split into {cells} cells. Type three digits for each cell, like 391387, or leave a space between cells."
    )]
    Digits { digits: usize, cells: i64 },
    #[error(
        "The comma in '{found}' could stand between volts and decimals or between two cells. Use a point, like 3.91, or a space between cells."
    )]
    Comma { found: String },
    #[error("Write either volts or millivolts, not both in one reading.")]
    TwoUnits,
    #[error("'{found}' in millivolts is a whole number, like 3910.")]
    NotMillivolts { found: String },
    #[error(
        "One voltage was typed; this pack has {cells} cells. Type one for each cell, like 3.91 3.87 3.90."
    )]
    OneForMany { cells: i64 },
    #[error("'{found}' needs its decimal point, like 7.92.")]
    NoPoint { found: String },
    #[error("'{found}' needs its decimals, like 3.92.")]
    NoDecimals { found: String },
    #[error("That is more voltages than a pack has cells.")]
    TooMany,
}

/// Longer than any reading; keeps pasted text out.
const TEXT_MAX: usize = 400;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Unit {
    Unsaid,
    Volt,
    Millivolt,
}

/// Reads what was typed for a pack of `cells` cells in series. `sees_cells`: it has a balance lead, so a voltage for each
/// cell is wanted; otherwise one voltage is the whole pack's.
pub fn read_typed(text: &str, cells: i64, sees_cells: bool) -> Result<Volts, VoltsProblem> {
    let (numbers, unit) = numbers_and_unit(text, cells)?;
    if numbers.len() > CELLS_MAX {
        return Err(VoltsProblem::TooMany);
    }
    match numbers.as_slice() {
        [] => Err(VoltsProblem::Nothing),
        [one] if !sees_cells => one_for_the_pack(one, cells, unit).map(Volts::Pack),
        [one] if is_digits(one) && unit == Unit::Unsaid => digits_alone(one, cells),
        many => {
            let read: Result<Vec<i64>, VoltsProblem> =
                many.iter().map(|one| one_cell(one, unit)).collect();
            read.map(Volts::Cells)
        }
    }
}

/// One box for each cell, cell 1 first; every box holds one voltage.
pub fn read_boxes(boxes: &[String]) -> Result<Volts, VoltsProblem> {
    if boxes.len() > CELLS_MAX {
        return Err(VoltsProblem::TooMany);
    }
    if boxes.iter().all(|each| each.trim().is_empty()) {
        return Err(VoltsProblem::Nothing);
    }
    let one_box = |(index, text): (usize, &String)| {
        if text.trim().is_empty() {
            return Err(VoltsProblem::BoxEmpty { cell: index + 1 });
        }
        let (numbers, unit) = numbers_and_unit(text, 1)?;
        match numbers.as_slice() {
            [one] => one_cell(one, unit),
            _ => Err(not_volts(text)),
        }
    };
    let read: Result<Vec<i64>, VoltsProblem> = boxes.iter().enumerate().map(one_box).collect();
    read.map(Volts::Cells)
}

/// The numbers with a point as decimal sign, and the one unit that was said.
fn numbers_and_unit(text: &str, cells: i64) -> Result<(Vec<String>, Unit), VoltsProblem> {
    if text.len() > TEXT_MAX {
        return Err(VoltsProblem::TooMany);
    }
    let (chunks, unit) = chunks_and_unit(text)?;
    let has_points = chunks.iter().any(|chunk| chunk.contains('.'));
    if !has_points && commas_could_be_either(&chunks, cells) {
        return Err(VoltsProblem::Comma { found: shown(text) });
    }
    let mut numbers = Vec::new();
    for chunk in &chunks {
        numbers.extend(split_at_commas(chunk, has_points)?);
    }
    Ok((numbers, unit))
}

/// A list of numbers in another unit than volts, as its words of digits, points and commas; `signs`: what may stand for the
/// unit, in small letters. Else what is found there that is no number.
pub(super) fn words_between(text: &str, signs: &[&str]) -> Result<Vec<String>, String> {
    let is_letter = |c: char| c.is_alphabetic();
    let is_sign = |word: &str| word.is_empty() || signs.contains(&word.to_lowercase().as_str());
    let mut words = text.split(|c: char| !is_letter(c));
    if let Some(strange) = words.find(|word| !is_sign(word)) {
        return Err(shown(strange));
    }
    let plain = text.replace(is_letter, " ");
    if plain.len() > TEXT_MAX {
        return Err(shown(text));
    }
    match chunks_and_unit(&plain) {
        Ok((numbers, _)) => Ok(numbers),
        Err(VoltsProblem::NotVolts { found }) => Err(found),
        Err(_) => Err(shown(text)),
    }
}

/// Runs of digits, points and commas; everything between them must be a separator or the unit.
fn chunks_and_unit(text: &str) -> Result<(Vec<String>, Unit), VoltsProblem> {
    let (mut chunks, mut unit) = (Vec::new(), Unit::Unsaid);
    let is_number = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let same = |c: char| match first {
            _ if is_number(first) => is_number(c),
            _ if first.is_alphabetic() => c.is_alphabetic(),
            _ => !is_number(c) && !c.is_alphabetic(),
        };
        let (run, after) = rest.split_at(rest.find(|c| !same(c)).unwrap_or(rest.len()));
        rest = after;
        if is_number(first) {
            let chunk = run.trim_matches(',');
            if !chunk.is_empty() {
                chunks.push(chunk.to_owned());
            }
        } else if first.is_alphabetic() {
            unit = same_unit(unit, said_unit(run)?)?;
        } else if let Some(stray) = run.chars().find(|c| !is_separator(*c)) {
            return Err(not_volts(&stray.to_string()));
        }
    }
    Ok((chunks, unit))
}

fn is_separator(c: char) -> bool {
    c.is_whitespace() || matches!(c, ';' | '/' | '|')
}

fn said_unit(word: &str) -> Result<Unit, VoltsProblem> {
    match word.to_lowercase().as_str() {
        "v" | "volt" | "volts" => Ok(Unit::Volt),
        "mv" => Ok(Unit::Millivolt),
        _ => Err(not_volts(word)),
    }
}

fn same_unit(before: Unit, now: Unit) -> Result<Unit, VoltsProblem> {
    match before {
        Unit::Unsaid => Ok(now),
        _ if before == now => Ok(now),
        _ => Err(VoltsProblem::TwoUnits),
    }
}

/// `3,4` on a 2S is 3.4 V or two cells; `3,9 4,0` on a 4S likewise.
fn commas_could_be_either(chunks: &[String], cells: i64) -> bool {
    let one_and_one = |chunk: &String| chunk.len() == 3 && chunk.as_bytes().get(1) == Some(&b',');
    let count = i64::try_from(chunks.len()).unwrap_or(i64::MAX);
    !chunks.is_empty() && chunks.iter().all(one_and_one) && count.saturating_mul(2) == cells
}

/// With points in the text a comma stands between cells. Without, `3,91` is a decimal comma and `3910,3870` two cells.
fn split_at_commas(chunk: &str, has_points: bool) -> Result<Vec<String>, VoltsProblem> {
    let parts: Vec<&str> = chunk.split(',').collect();
    let owned = || parts.iter().map(|part| (*part).to_owned()).collect();
    let all_have_points = parts.iter().all(|part| part.contains('.'));
    let all_are_long = parts.iter().all(|part| part.len() >= 3);
    match parts.as_slice() {
        [_] => Ok(owned()),
        _ if has_points && all_have_points => Ok(owned()),
        _ if !has_points && all_are_long => Ok(owned()),
        [whole, decimals] if !has_points && is_decimal_comma(whole, decimals) => {
            Ok(vec![format!("{whole}.{decimals}")])
        }
        _ => Err(VoltsProblem::Comma {
            found: shown(chunk),
        }),
    }
}

fn is_decimal_comma(whole: &str, decimals: &str) -> bool {
    (1..=2).contains(&whole.len()) && (1..=3).contains(&decimals.len())
}

/// Digits without a point on a phone's number pad: three, or four, for each cell.
fn digits_alone(run: &str, cells: i64) -> Result<Volts, VoltsProblem> {
    let digits = run.len();
    let wanted = usize::try_from(cells).unwrap_or(0).max(1);
    if wanted > 1 && digits <= 4 {
        return Err(VoltsProblem::OneForMany { cells });
    }
    let each = match (digits.is_multiple_of(3), digits.is_multiple_of(4)) {
        _ if wanted == 1 && digits <= 4 => digits,
        _ if digits == wanted.saturating_mul(3) => 3,
        _ if digits == wanted.saturating_mul(4) => 4,
        (true, false) => 3,
        (false, true) => 4,
        _ => return Err(VoltsProblem::Digits { digits, cells }),
    };
    if digits / each > CELLS_MAX {
        return Err(VoltsProblem::TooMany);
    }
    let read: Result<Vec<i64>, VoltsProblem> = run
        .as_bytes()
        .chunks(each)
        .map(|part| one_cell(&String::from_utf8_lossy(part), Unit::Unsaid))
        .collect();
    read.map(Volts::Cells)
}

/// A cell has one digit before its point, so `39`, `391` and `3910` need none.
fn one_cell(number: &str, unit: Unit) -> Result<i64, VoltsProblem> {
    match unit {
        Unit::Unsaid if is_digits(number) => match number.len() {
            // No meter shows a cell like that: its decimals are missing.
            1 if whole(number)? >= 5 => Err(VoltsProblem::NoDecimals {
                found: shown(number),
            }),
            1..=4 => Ok(whole(number)? * 10_i64.pow(4 - length(number))),
            _ => Err(not_volts(number)),
        },
        _ => with_unit(number, unit),
    }
}

/// Without a point, the one reading that puts the average cell between 0.8 and 4.6 V; there is never more than one,
/// since the two are less than ten times apart.
fn one_for_the_pack(number: &str, cells: i64, unit: Unit) -> Result<i64, VoltsProblem> {
    if unit != Unit::Unsaid || !is_digits(number) {
        return with_unit(number, unit);
    }
    let cells = cells.max(1);
    let digits = whole(number)?;
    [1_000, 100, 10, 1]
        .into_iter()
        .map(|scale| digits * scale)
        .find(|mv| *mv >= cells.saturating_mul(800) && *mv <= cells.saturating_mul(4_600))
        .or((digits == 0).then_some(0))
        .ok_or_else(|| VoltsProblem::NoPoint {
            found: shown(number),
        })
}

/// mV of `3.91`, `12` or `3910` in the unit that was said; at most 999 V and three decimals.
fn with_unit(number: &str, unit: Unit) -> Result<i64, VoltsProblem> {
    if unit == Unit::Millivolt {
        if !is_digits(number) {
            return Err(VoltsProblem::NotMillivolts {
                found: shown(number),
            });
        }
        return whole(number);
    }
    let number = number.strip_suffix('.').unwrap_or(number);
    let (volts, decimals) = number.split_once('.').unwrap_or((number, "0"));
    let is_well_formed = is_digits(volts) && is_digits(decimals);
    if !is_well_formed || volts.len() > 3 || decimals.len() > 3 {
        return Err(not_volts(number));
    }
    Ok(whole(volts)? * 1_000 + whole(decimals)? * 10_i64.pow(3 - length(decimals)))
}

/// At most six digits.
fn whole(digits: &str) -> Result<i64, VoltsProblem> {
    match digits.len() {
        1..=6 => digits.parse().map_err(|_| not_volts(digits)),
        _ => Err(not_volts(digits)),
    }
}

/// Of a number of at most four digits.
fn length(digits: &str) -> u32 {
    u32::try_from(digits.len()).unwrap_or(0)
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn not_volts(found: &str) -> VoltsProblem {
    VoltsProblem::NotVolts {
        found: shown(found),
    }
}

/// Enough of what was typed to find it again.
fn shown(text: &str) -> String {
    text.trim().chars().take(24).collect()
}

#[cfg(test)]
mod tests;
