//! Whether somebody is named in what was typed: their name as whole words, in any case. A part of a name is none: "May" is a month too,
//! and who is called Ada Miller is not named by "the miller's wheel".

/// Does `text` name who is called `name`?
pub fn names(text: &str, name: &str) -> bool {
    let name = words(name);
    let text = words(text);
    !name.is_empty() && text.windows(name.len()).any(|some| some == name)
}

fn words(text: &str) -> Vec<String> {
    let split = text.split(|sign: char| !sign.is_alphanumeric());
    split
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::names;

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
