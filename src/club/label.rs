//! The code on a pack's label: 26 letters of 32, 130 random bits. Among them are no i and l, which look alike in print,
//! nor y and z, which trade places on keyboards: a scanner that types like a keyboard may be set to another country's
//! than the computer it types into.

pub const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnopqrstuvwx";
pub const LENGTH: usize = 26;

/// Has the text the form of a code of ours?
pub fn is_code(text: &str) -> bool {
    text.len() == LENGTH && text.bytes().all(|letter| LETTERS.contains(&letter))
}

/// What a label's address begins with, its code left out: `http://packs.example/t/`.
pub fn address(base: &str, code: &str) -> String {
    format!("{base}/t/{code}")
}

/// The code in one word that was scanned: it alone, or at the end of a label's address, whatever a keyboard of another
/// country made of the signs before it, and in capitals or not.
pub fn code_in(word: &str) -> Option<String> {
    let letters: Vec<char> = word.chars().flat_map(char::to_lowercase).collect();
    let (before, code) = letters.split_at_checked(letters.len().checked_sub(LENGTH)?)?;
    let is_apart = before.last().is_none_or(|sign| !sign.is_alphanumeric());
    let code: String = code.iter().collect();
    (is_apart && is_code(&code)).then_some(code)
}

/// Every code in what was typed or scanned into a field for packs.
pub fn codes_in(line: &str) -> Vec<String> {
    words(line).filter_map(code_in).collect()
}

/// The words of a line; an address begins one of its own, also where a scanner left no gap before it.
fn words(line: &str) -> impl Iterator<Item = &str> {
    line.split(is_between)
        .flat_map(|word| {
            let mut ends = address_starts(word);
            ends.push(word.len());
            let mut from = 0;
            ends.into_iter()
                .map(move |to| &word[std::mem::replace(&mut from, to)..to])
        })
        .filter(|word| !word.is_empty())
}

/// Where `http` stands with a sign behind it that no code has, whatever a keyboard of another country made of it.
fn address_starts(word: &str) -> Vec<usize> {
    let small = word.to_ascii_lowercase();
    let is_start = |at: &usize| {
        let behind = &small[at + "http".len()..];
        let behind = behind.strip_prefix('s').unwrap_or(behind);
        let next = behind.chars().next();
        next.is_some_and(|sign| !sign.is_ascii_alphanumeric())
    };
    let found = small.match_indices("http").map(|(at, _)| at);
    found.filter(is_start).collect()
}

/// The same line with the numbers of packs in place of the codes that are known.
pub fn with_numbers(line: &str, number_of: impl Fn(&str) -> Option<String>) -> String {
    let word = |word: &str| {
        code_in(word)
            .and_then(|code| number_of(&code))
            .unwrap_or_else(|| word.to_owned())
    };
    let words: Vec<String> = words(line).map(word).collect();
    words.join(" ")
}

/// Whether phones are likely to open an address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// A name, which can stay when the machine moves to another network.
    Name,
    /// Bare numbers: they change with the network.
    Numbers,
    /// Only on the machine itself.
    Loopback,
}

/// `base`: `http://host:port`.
pub fn reach(base: &str) -> Reach {
    let host = base.split_once("://").map_or(base, |(_, host)| host);
    let host = match host.strip_prefix('[') {
        Some(v6) => v6.split(']').next().unwrap_or_default(),
        None => host.split(':').next().unwrap_or_default(),
    };
    match host.parse::<std::net::IpAddr>() {
        Ok(ip) if ip.is_loopback() || ip.is_unspecified() => Reach::Loopback,
        Ok(_) => Reach::Numbers,
        Err(_) if host == "localhost" => Reach::Loopback,
        Err(_) => Reach::Name,
    }
}

fn is_between(sign: char) -> bool {
    sign.is_whitespace() || sign == ',' || sign == ';'
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CODE: &str = "0123456789abcdefghjkmnopqr";

    #[test]
    fn a_code_is_found_in_what_scanners_type() {
        for typed in [
            CODE.to_owned(),
            address("https://packs.example", CODE),
            address("HTTP://10.0.0.7:8080", CODE).to_uppercase(),
            // A German keyboard's view of http://pi:8080/t/…
            format!("httpÖ--piÖ8080-t-{CODE}"),
        ] {
            assert_eq!(code_in(&typed).as_deref(), Some(CODE), "{typed}");
        }
    }

    #[test]
    fn two_addresses_that_a_scanner_typed_without_a_gap_are_two_packs() {
        let other = "zh".replace('z', "h").repeat(13);
        for base in ["http://pi:8080", "HTTPS://packs.example", "httpÖ--piÖ8080"] {
            let line = format!("{}{}14", address(base, CODE), address(base, &other));
            assert_eq!(
                codes_in(&line.replace("14", "")),
                [CODE, other.as_str()],
                "{line}"
            );
        }
        let http = format!("{}http", &CODE[..22]);
        let line = address("http://pi", &http) + &address("http://pi", CODE);
        assert_eq!(codes_in(&line), [http.as_str(), CODE], "a code may end so");
        assert_eq!(
            codes_in(&format!("P-014{}", address("http://pi", CODE))),
            [CODE]
        );
    }

    #[test]
    fn numbers_and_other_words_are_no_codes() {
        for typed in [
            "",
            "14",
            "17-20",
            "A-01x3",
            "P-014",
            "x0123456789abcdefghjkmnopqr",
            "0123456789abcdefghjkmnopqi",
        ] {
            assert_eq!(code_in(typed), None, "{typed}");
        }
    }

    #[test]
    fn codes_become_numbers_and_the_rest_stays_as_typed() {
        let line = format!("14, {} A-01x3 {CODE}", address("http://pi", CODE));
        assert_eq!(codes_in(&line), [CODE, CODE]);
        assert_eq!(
            with_numbers(&line, |_| Some("P-007".to_owned())),
            "14 P-007 A-01x3 P-007"
        );
        assert!(with_numbers(&line, |_| None).contains(CODE));
    }

    #[test]
    fn an_address_that_phones_may_not_open_is_known_for_it() {
        for (base, is) in [
            ("http://127.0.0.1:8080", Reach::Loopback),
            ("http://localhost:8080", Reach::Loopback),
            ("http://[::1]:8080", Reach::Loopback),
            ("http://192.0.2.7:8080", Reach::Numbers),
            ("http://[2001:db8::7]", Reach::Numbers),
            ("https://packs.example.org", Reach::Name),
            ("http://sandbucket.local:8080", Reach::Name),
        ] {
            assert_eq!(reach(base), is, "{base}");
        }
    }

    proptest! {
        #[test]
        fn nothing_typed_stops_it(line in ".{0,200}") {
            for code in codes_in(&line) {
                prop_assert!(is_code(&code));
            }
            let _ = with_numbers(&line, |_| None);
        }
    }
}
