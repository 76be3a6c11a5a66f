//! Numbers as people type or scan them at the table, and as they are told again. Which of them exist is not asked here.

/// Numbers as typed at the table: `14 15 17-20`, `P-014` or `p14`, `A-01x3` or `a-1 x3` for three adapters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// Running numbers of packs, both ends included.
    Packs(i64, i64),
    /// A number with its prefix, with or without the zeros on the label, and how many.
    Number(String, i64),
}

impl Typed {
    /// The running numbers it may mean.
    pub fn keys(&self) -> std::ops::Range<i64> {
        match self {
            Self::Packs(from, to) => *from..*to + 1,
            Self::Number(number, _) => key_of(number).map_or(0..0, |key| key..key + 1),
        }
    }

    /// Is this thing meant, by the number on its label?
    pub fn names(&self, number: &str, is_pack: bool) -> bool {
        match self {
            Self::Packs(..) => {
                is_pack && key_of(number).is_some_and(|key| self.keys().contains(&key))
            }
            Self::Number(typed, _) => is_same_number(number, typed),
        }
    }

    /// How many of it: 1 of whatever has a number of its own.
    pub const fn count(&self) -> i64 {
        match self {
            Self::Packs(..) => 1,
            Self::Number(_, count) => *count,
        }
    }
}

impl std::fmt::Display for Typed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Packs(from, to) => f.write_str(&in_ranges(*from..=*to)),
            Self::Number(number, _) => f.write_str(number),
        }
    }
}

/// `1 pack`, `3 packs`
pub fn counted<N: std::fmt::Display + PartialEq + From<u8>>(
    count: N,
    one: &str,
    many: &str,
) -> String {
    let word = if count == N::from(1) { one } else { many };
    format!("{count} {word}")
}

/// The longest range that is taken in one go.
const LONGEST_RANGE: i64 = 100;

/// Reads a line of numbers; gives back the first word that is none.
pub fn read_numbers(line: &str) -> Result<Vec<Typed>, String> {
    let words = line
        .split([' ', ',', ';', '\n', '\r', '\t'])
        .filter(|word| !word.is_empty());
    let mut read: Vec<Typed> = Vec::new();
    for word in words {
        // `A-01 x3`: the count of what stands before it.
        if let (Some(count), Some(Typed::Number(_, one @ 1))) = (count_of(word), read.last_mut()) {
            *one = count;
            continue;
        }
        let typed = read_number(word).ok_or_else(|| word.chars().take(40).collect::<String>())?;
        read.push(typed);
    }
    Ok(read)
}

fn read_number(word: &str) -> Option<Typed> {
    if is_digits(word) {
        let key = word.parse().ok()?;
        return Some(Typed::Packs(key, key));
    }
    if let Some((head, tail)) = word.split_once('-')
        && is_digits(head)
        && is_digits(tail)
    {
        let (from, to): (i64, i64) = (head.parse().ok()?, tail.parse().ok()?);
        return (from <= to && to - from < LONGEST_RANGE).then_some(Typed::Packs(from, to));
    }
    let letters = word.bytes().take_while(u8::is_ascii_alphabetic).count();
    let (head, rest) = word.split_at(letters);
    let rest = rest.strip_prefix('-').unwrap_or(rest);
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    let (digits, tail) = rest.split_at(digits);
    let count = if tail.is_empty() { 1 } else { count_of(tail)? };
    ((1..=6).contains(&letters) && is_digits(digits))
        .then(|| Typed::Number(format!("{}-{digits}", head.to_ascii_uppercase()), count))
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.len() <= 9 && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// `x3`
fn count_of(text: &str) -> Option<i64> {
    let digits = text.strip_prefix(['x', 'X'])?;
    is_digits(digits).then(|| digits.parse().ok())?
}

/// The line says how many of this number are meant, `A-01x1`: one said is not the same as none said.
pub fn says_how_many(line: &str, number: &str) -> bool {
    let joined = line.to_lowercase().replace(" x", "x");
    let words = joined.split([' ', ',', ';', '\n', '\r', '\t']);
    let mut counted = words.filter_map(|word| word.rsplit_once('x'));
    counted.any(|(label, count)| {
        let is_it =
            |typed| matches!(typed, Typed::Number(label, _) if is_same_number(number, &label));
        is_digits(count) && read_number(label).is_some_and(is_it)
    })
}

/// Degrees as they are typed, `21` or `-3 °C`; None where nothing is.
pub fn whole_celsius(text: &str) -> Result<Option<i64>, &'static str> {
    let number = text.trim().trim_end_matches(['C', 'c', '°', ' ']);
    match number.replace('\u{2212}', "-").as_str() {
        "" if text.trim().is_empty() => Ok(None),
        number => number
            .parse()
            .map(Some)
            .map_err(|_| "Write whole degrees Celsius, like 21."),
    }
}

/// The running number: 14 of `P-014`.
pub fn key_of(number: &str) -> Option<i64> {
    number.rsplit('-').next()?.parse().ok()
}

/// `P-14` and `P-014` name the same thing.
pub fn is_same_number(one: &str, other: &str) -> bool {
    let parts = |number: &str| {
        let (head, _) = number.rsplit_once('-')?;
        Some((head.to_ascii_uppercase(), key_of(number)?))
    };
    one == other || parts(one).is_some_and(|of_one| parts(other) == Some(of_one))
}

/// What of a range is not there, as it would be typed: `18, 20-25`; empty when nothing is missing.
pub fn missing(range: (i64, i64), there: &[i64]) -> String {
    in_ranges((range.0..=range.1).filter(|key| !there.contains(key)))
}

/// Running numbers, rising, as they would be typed: `18, 20-25`; no range longer than is read in one go.
pub fn in_ranges(keys: impl Iterator<Item = i64>) -> String {
    let mut ranges: Vec<(i64, i64)> = Vec::new();
    for key in keys {
        match ranges.last_mut() {
            Some((from, to)) if *to + 1 == key && key - *from < LONGEST_RANGE => *to = key,
            _ => ranges.push((key, key)),
        }
    }
    let words = ranges.iter().map(|(from, to)| match to - from {
        0 => from.to_string(),
        _ => format!("{from}-{to}"),
    });
    words.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_whole_and_celsius() {
        for (typed, told) in [
            ("21", Ok(Some(21))),
            (" -3 °C", Ok(Some(-3))),
            ("\u{2212}12C", Ok(Some(-12))),
            ("  ", Ok(None)),
        ] {
            assert_eq!(whole_celsius(typed), told, "{typed}");
        }
        for typed in ["21.5", "66 F", "warm", "°C", "--4"] {
            assert!(whole_celsius(typed).is_err(), "{typed}");
        }
    }
}
