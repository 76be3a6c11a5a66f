//! The code with which somebody changes over at the table's shared tablet: digits only, for it is typed standing up with
//! people waiting. Short, so it is good on that tablet alone, tries are limited, and it never gives an organiser's rights.

pub const SHORTEST: usize = 6;
pub const LONGEST: usize = 12;

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CodeRefusal {
    #[error("Choose {SHORTEST} to {LONGEST} digits.")]
    Length,
    #[error("That is among the first codes anyone would try. Choose digits without a pattern.")]
    Guessable,
}

/// Digits without spaces, or why not.
pub fn check(typed: &str) -> Result<String, CodeRefusal> {
    let code: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
    let is_digits = code.bytes().all(|b| b.is_ascii_digit());
    if !is_digits || !(SHORTEST..=LONGEST).contains(&code.len()) {
        return Err(CodeRefusal::Length);
    }
    if is_run(&code) || is_repeated(&code) {
        return Err(CodeRefusal::Guessable);
    }
    Ok(code)
}

/// 123456, 987654, 000000, 135790.
fn is_run(code: &str) -> bool {
    let steps: Vec<u8> = code
        .as_bytes()
        .windows(2)
        .map(|pair| (pair[1] + 10 - pair[0]) % 10)
        .collect();
    steps.windows(2).all(|pair| pair[0] == pair[1])
}

/// 121212, 123123, 1234512345: one short piece over and over.
fn is_repeated(code: &str) -> bool {
    let digits = code.as_bytes();
    (1..=digits.len() / 2).any(|piece| digits.iter().skip(piece).zip(digits).all(|(a, b)| a == b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_digits_will_do_and_spaces_between_them_do_no_harm() {
        assert_eq!(check("482 915"), Ok("482915".to_owned()));
        assert_eq!(check("48291"), Err(CodeRefusal::Length));
        assert_eq!(check("48291a"), Err(CodeRefusal::Length));
        assert_eq!(check("4829154829150"), Err(CodeRefusal::Length));
        assert_eq!(check("\u{0664}82915"), Err(CodeRefusal::Length));
    }

    #[test]
    fn codes_with_a_pattern_are_refused() {
        for code in [
            "000000", "123456", "987654", "890123", "135791", "121212", "123123", "12341234",
        ] {
            assert_eq!(check(code), Err(CodeRefusal::Guessable), "{code}");
        }
    }
}
