//! Whether somebody is named in what was typed: their name as whole words, in any case; or their first name alone with a capital, where
//! nobody else of the club has it. Another part of a name is none: who is called Ada Miller is not named by "the miller's wheel".

/// Does `text` name who is called `name`?
pub fn names(text: &str, name: &str) -> bool {
    let name = words(name);
    let text = words(text);
    !name.is_empty() && text.windows(name.len()).any(|some| some == name)
}

/// Does `text` name the one of `all` who is called `name`, by the whole name or by a first name that they alone have?
pub fn names_one_of<'a>(text: &str, name: &str, all: impl Iterator<Item = &'a str>) -> bool {
    let is_first = |first: &&str| split(text).any(|word| word == *first);
    names(text, name)
        || first_of(name)
            .filter(is_first)
            .is_some_and(|first| all.filter(|other| first_of(other) == Some(first)).count() <= 1)
}

/// With its capital, and of three letters or more: a shorter one is too often a word.
fn first_of(name: &str) -> Option<&str> {
    let mut words = split(name);
    let first = words.next()?;
    let is_alone = words.next().is_none();
    let is_capital = first.chars().next().is_some_and(char::is_uppercase);
    (!is_alone && is_capital && first.chars().count() >= 3).then_some(first)
}

fn split(text: &str) -> impl Iterator<Item = &str> {
    let split = text.split(|sign: char| !sign.is_alphanumeric());
    split.filter(|word| !word.is_empty())
}

fn words(text: &str) -> Vec<String> {
    split(text).map(str::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::{names, names_one_of};

    #[test]
    fn a_first_name_alone_names_who_has_it_alone() {
        let all = [
            "Bram Oakes",
            "May Hill",
            "Ada Miller",
            "Ada Stone",
            "Jo Reed",
        ];
        let is_named = |text, name| names_one_of(text, name, all.into_iter());
        assert!(is_named("Bram should wear gloves.", "Bram Oakes"));
        assert!(is_named("Bram's glove", "Bram Oakes"));
        assert!(!is_named("bram", "Bram Oakes") && !is_named("It may burn.", "May Hill"));
        assert!(
            !is_named("Ada held it.", "Ada Miller"),
            "two have that name"
        );
        assert!(is_named("ada miller held it", "Ada Miller"));
        assert!(!is_named("Jo held it", "Jo Reed"), "too short to be sure");
    }

    #[test]
    fn a_name_is_found_as_whole_words_whatever_stands_around_it() {
        for text in ["Ada Miller", "with ada  MILLER, and Ben", "(Ada-Miller)"] {
            assert!(names(text, "Ada Miller"), "{text}");
        }
        for text in ["Ada", "Miller, Ada", "Adana Miller", "", "the mill"] {
            assert!(!names(text, "Ada Miller"), "{text}");
        }
        assert!(names("José went", "josé"));
        assert!(!names("anything", " - "));
    }
}
