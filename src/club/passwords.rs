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

/// Long passwords from public lists of common ones, without separators (from memory, no source).
const COMMON: [&str; 16] = [
    "passwordpassword",
    "password12345678",
    "123456789012345",
    "1234567890123456",
    "qwertyuiopasdfgh",
    "qwertyuiop12345",
    "iloveyouiloveyou",
    "correcthorsebatterystaple",
    "letmeinletmein12",
    "administrator123",
    "thisismypassword",
    "changemechangeme",
    "welcomewelcome12",
    "mypasswordispassword",
    "abcdefghijklmnop",
    "onetwothreefourfive",
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
    if COMMON.contains(&plain.as_str()) || has_few_characters(&plain) {
        return Err(PasswordRefusal::Guessable);
    }
    if names.iter().any(|name| is_mostly(&plain, &bare(name))) {
        return Err(PasswordRefusal::NamesSomething);
    }
    Ok(())
}

fn bare(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

fn has_few_characters(plain: &str) -> bool {
    let mut seen: Vec<char> = plain.chars().collect();
    seen.sort_unstable();
    seen.dedup();
    seen.len() < 5
}

/// The name stands in the password and little else does.
fn is_mostly(plain: &str, name: &str) -> bool {
    name.len() >= 4 && plain.contains(name) && plain.len() - name.len() < SHORTEST - 4
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
    fn the_clubs_name_and_what_everybody_tries_are_refused() {
        let club = ["Millrace Robotics Club"];
        assert_eq!(
            check("MillraceRoboticsClub1", &club),
            Err(PasswordRefusal::NamesSomething)
        );
        assert_eq!(
            check("password password", &[]),
            Err(PasswordRefusal::Guessable)
        );
        assert_eq!(
            check("ababababababababab", &[]),
            Err(PasswordRefusal::Guessable)
        );
    }

    #[test]
    fn letters_beyond_ascii_count_as_one_each() {
        assert_eq!(check("żółw śpi na łące", &[]), Ok(()));
    }
}
