//! What cells call by name: chemistries, connectors, kinds of kit, yes and no. Capitals, spaces and dashes don't matter.

use crate::battery::chemistry::Chemistry;
use crate::bench::connector::Family;
use crate::bench::kit::KitKind;

/// Letters and digits alone, small.
pub fn plain(text: &str) -> String {
    let letters = text.chars().filter(|letter| letter.is_alphanumeric());
    letters.flat_map(char::to_lowercase).collect()
}

pub fn chemistry(text: &str) -> Option<Chemistry> {
    let wanted = plain(text);
    let also = match wanted.as_str() {
        "lithiumpolymer" | "lip" => Some(Chemistry::LiPo),
        "lithiumion" | "lion" => Some(Chemistry::LiIon),
        "life" | "lfp" => Some(Chemistry::LiFePo4),
        "lead" | "leadacid" | "agm" => Some(Chemistry::Pb),
        _ => None,
    };
    let found = Chemistry::ALL.into_iter();
    let mut found = found.filter(|each| each.code() == wanted || plain(each.label()) == wanted);
    found.next().or(also)
}

/// Its family's code: by code, else by name.
pub fn connector<'f>(text: &str, families: &'f [Family]) -> Option<&'f str> {
    let wanted = plain(text);
    let exact = families
        .iter()
        .find(|family| family.code == text || family.name == text);
    let alike = |family: &&Family| plain(&family.code) == wanted || plain(&family.name) == wanted;
    let found = exact.or_else(|| families.iter().find(alike));
    found
        .filter(|_| !wanted.is_empty())
        .map(|family| family.code.as_str())
}

pub fn kit_kind(text: &str) -> Option<KitKind> {
    let wanted = plain(text);
    KitKind::ALL.into_iter().find(|kind| {
        let names = [kind.code(), kind.label(), kind.plural()];
        names.iter().any(|name| plain(name) == wanted)
    })
}

/// A typed running number is not larger.
pub const LARGEST_NUMBER: i64 = 999_999;

/// `14` or `014`.
pub fn running_number(digits: &str) -> Option<i64> {
    let is_plain =
        (1..=6).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    let key = digits.parse().ok().filter(|_| is_plain);
    key.filter(|key| (1..=LARGEST_NUMBER).contains(key))
}

/// None: neither.
pub fn yes_or_no(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" => Some(true),
        "" | "no" | "n" | "false" | "0" | "-" => Some(false),
        _ => None,
    }
}

pub fn is_none(text: &str) -> bool {
    matches!(text.trim().to_lowercase().as_str(), "none" | "no" | "-")
}

/// `LiPo, LiHV`: what stands between separators.
pub fn listed(text: &str) -> impl Iterator<Item = &str> {
    let parts = text.split([',', ';', '/', '\n']);
    parts.map(str::trim).filter(|part| !part.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::connector::built_in;

    #[test]
    fn names_are_found_whatever_their_capitals_spaces_and_dashes() {
        for each in Chemistry::ALL {
            assert_eq!(chemistry(each.label()), Some(each));
            assert_eq!(chemistry(&each.label().to_uppercase()), Some(each));
        }
        assert_eq!(chemistry("unobtainium"), None);
        let families = built_in();
        for family in &families {
            assert_eq!(
                connector(&family.name, &families),
                Some(family.code.as_str())
            );
            assert_eq!(
                connector(&family.code, &families),
                Some(family.code.as_str())
            );
        }
        assert_eq!(connector("xt 60", &families), Some("xt60"));
        assert_eq!(connector("XT-61", &families), None);
        assert_eq!(kit_kind("Power Supplies"), Some(KitKind::Supply));
    }

    #[test]
    fn a_running_number_has_digits_alone_and_at_most_six_of_them() {
        assert_eq!(
            ["14", "014", "999999"].map(running_number),
            [Some(14), Some(14), Some(LARGEST_NUMBER)]
        );
        for text in ["", "0", "-1", "+1", "1000000", "1.5", "x"] {
            assert_eq!(running_number(text), None, "{text}");
        }
    }

    #[test]
    fn yes_and_no_are_told_apart_from_neither() {
        assert_eq!(
            ["Yes", "no", ""].map(yes_or_no),
            [Some(true), Some(false), Some(false)]
        );
        assert_eq!(yes_or_no("perhaps"), None);
    }
}
