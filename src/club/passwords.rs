//! What a password must be: long, and not one that everybody tries first.
//! Length and the absence of composition rules: NIST SP 800-63B-4, section 3.1.1.2. Hashing happens elsewhere.

pub const SHORTEST: usize = 15;
pub const LONGEST: usize = 128;

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
pub enum PasswordRefusal {
    #[error("Make it at least {SHORTEST} characters; four or five unrelated words do well.")]
    TooShort,
    #[error("Make it at most {LONGEST} characters.")]
    TooLong,
    #[error("That is among the first things anyone would try. Choose unrelated words.")]
    Guessable,
    #[error("Leave out the club's name and your own; both are easy to guess.")]
    NamesSomething,
}

/// A letter that can't be foreseen counts one, and so does each piece that can: fewer than this are soon guessed.
const LEAST_EFFORT: usize = 12;

/// Much used passwords that are words, which people lengthen; and those of 15 characters and more that follow no row of keys.
/// From the 30,000 most used ones in the crate zxcvbn 3.1.1 (MIT, `src/frequency_lists.rs`), obscene ones left out; only
/// 'administrator' is not in there.
const COMMON: [&str; 34] = [
    "administrator",
    "password",
    "dragon",
    "baseball",
    "football",
    "monkey",
    "letmein",
    "shadow",
    "master",
    "superman",
    "batman",
    "trustno1",
    "sunshine",
    "iloveyou",
    "computer",
    "starwars",
    "freedom",
    "princess",
    "welcome",
    "secret",
    "internet",
    "whatever",
    "access",
    "admin",
    "changeme",
    "mailcreated5240",
    "hd764nw5d7e1vb1",
    "23176djivanfros",
    "zqjphsyf6ctifgu",
    "lhbjkjubz2957704",
    "1qazxsw23edcvfr4",
    "nemvxyheqdd5oqxyxyzi",
    "1qa2ws3ed4rf5tg",
    "bpgjldsgjldthnf",
];

/// Keys side by side, digits and letters in their order: a hand runs along them both ways.
const ROWS: [&str; 8] = [
    "12345678901234567890",
    "abcdefghijklmnopqrstuvwxyz",
    "qwertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm",
    "qazwsxedcrfvtgbyhnujm",
    "q1w2e3r4t5y6u7i8o9p0",
];

/// `names`: the club's name, the person's name and sign-in.
pub fn check(password: &str, names: &[&str]) -> Result<(), PasswordRefusal> {
    let length = password.chars().count();
    if length < SHORTEST {
        return Err(PasswordRefusal::TooShort);
    }
    if length > LONGEST {
        return Err(PasswordRefusal::TooLong);
    }
    let plain = bare(password);
    let mut known: Vec<Vec<char>> = COMMON.iter().map(|word| bare(word)).collect();
    if effort(&plain, &known) < LEAST_EFFORT {
        return Err(PasswordRefusal::Guessable);
    }
    let words = names.iter().flat_map(|name| name.split_whitespace());
    let named = names.iter().copied().chain(words).map(bare);
    known.extend(named.filter(|name| name.len() >= 4));
    if effort(&plain, &known) < LEAST_EFFORT {
        return Err(PasswordRefusal::NamesSomething);
    }
    Ok(())
}

fn bare(text: &str) -> Vec<char> {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// In how many pieces it can be told.
fn effort(plain: &[char], known: &[Vec<char>]) -> usize {
    let (mut told, mut pieces) = (0, 0);
    while told < plain.len() {
        told += foreseen(plain, told, known).max(1);
        pieces += 1;
    }
    pieces
}

/// How many characters from `at` on are one piece: a known word, one character over and over, part of a row of keys, or
/// what was there before.
fn foreseen(plain: &[char], at: usize, known: &[Vec<char>]) -> usize {
    let rest = &plain[at..];
    let word = known
        .iter()
        .filter(|word| rest.starts_with(word))
        .map(Vec::len)
        .max();
    let same = rest.iter().take_while(|c| **c == rest[0]).count();
    let row = ROWS.iter().map(|row| along(row, rest)).max();
    let before = (0..at).map(|from| alike(&plain[from..], rest)).max();
    [
        word,
        Some(same).filter(|length| *length >= 3),
        row.filter(|length| *length >= 4),
        before.filter(|length| *length >= 4),
    ]
    .into_iter()
    .flatten()
    .max()
    .unwrap_or(0)
}

/// How far `rest` runs along the row, from anywhere in it, one way or the other.
fn along(row: &str, rest: &[char]) -> usize {
    let forth: Vec<char> = row.chars().collect();
    let back: Vec<char> = row.chars().rev().collect();
    (0..forth.len())
        .flat_map(|from| [alike(&forth[from..], rest), alike(&back[from..], rest)])
        .max()
        .unwrap_or(0)
}

fn alike(one: &[char], other: &[char]) -> usize {
    one.iter().zip(other).take_while(|(a, b)| a == b).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fourteen_characters_are_too_few_and_fifteen_will_do() {
        assert_eq!(check("tidal moss bee", &[]), Err(PasswordRefusal::TooShort));
        assert_eq!(check("tidal moss bees", &[]), Ok(()));
        assert_eq!(
            check(&"kelp ".repeat(26), &[]),
            Err(PasswordRefusal::TooLong)
        );
    }

    #[test]
    fn words_over_again_rows_of_keys_and_runs_of_digits_are_refused() {
        for guessed in [
            "password password",
            "PasswordPassword1",
            "mypasswordispassword",
            "tidal tidal tidal",
            "hunterhunterhunter99",
            "ababababababababab",
            "aaaabbbbccccdddd",
            "123456789012345",
            "987654321987654321",
            "qwertyuiopasdfgh",
            "poiuytrewq-lkjhgf",
            "abcdefghijklmnop",
            "1qaz2wsx3edc4rfv",
            "letmeinletmein12",
            "welcome to 2026 2026",
            "administrator123",
        ] {
            assert_eq!(
                check(guessed, &[]),
                Err(PasswordRefusal::Guessable),
                "{guessed}"
            );
        }
    }

    #[test]
    fn the_long_ones_of_the_public_list_are_refused() {
        for guessed in [
            "mailcreated5240",
            "123456789987654321",
            "1qaz2wsx3edc4rfv",
            "hd764nw5d7e1vb1",
            "qazwsxedcrfvtgb",
            "23176djivanfros",
            "123456789qwerty",
            "q1w2e3r4t5y6u7i8",
            "zqjphsyf6ctifgu",
            "lhbjkjubz2957704",
            "1qazxsw23edcvfr4",
            "nemvxyheqdd5oqxyxyzi",
            "1234qwerasdfzxcv",
            "passwordstandard",
            "1qa2ws3ed4rf5tg",
            "111222333444555",
            "122333444455555",
            "bpgjldsgjldthnf",
            "qwertasdfgzxcvb",
        ] {
            assert_eq!(
                check(guessed, &[]),
                Err(PasswordRefusal::Guessable),
                "{guessed}"
            );
        }
    }

    #[test]
    fn the_clubs_and_the_persons_name_with_little_else_are_refused() {
        let names = ["Millrace Robotics Club", "Quinn Marlow", "quinn.marlow"];
        for named in [
            "MillraceRoboticsClub1",
            "robotics millrace 2027",
            "Marlow.Quinn.1984.x",
        ] {
            let refused = Err(PasswordRefusal::NamesSomething);
            assert_eq!(check(named, &names), refused, "{named}");
            assert_eq!(check(named, &["Weir Street Rovers"]), Ok(()), "{named}");
        }
        assert_eq!(check("quinn paints slow copper owls", &names), Ok(()));
    }

    #[test]
    fn unrelated_words_will_do() {
        for chosen in [
            "seven copper kettles whistle",
            "nine quiet herons wade",
            "correct dragon near the old weir",
            "fog yak blue 42 rim",
        ] {
            assert_eq!(check(chosen, &[]), Ok(()), "{chosen}");
        }
    }

    #[test]
    fn letters_beyond_ascii_count_as_one_each() {
        assert_eq!(check("żółw śpi na łące", &[]), Ok(()));
    }
}
