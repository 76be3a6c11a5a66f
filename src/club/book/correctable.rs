//! What of which entry can be put right: each kind says its own things, and a correction names one that its entry may say.

/// What an entry of this kind may say and may be wrong about, by the names of its fields.
pub fn said_by(kind: &str) -> &'static [&'static str] {
    match kind {
        "opened" => &[
            "happened_ms",
            "place",
            "items",
            "others",
            "doing",
            "charging_with",
            "lent_to",
            "words",
            "damage",
            "injuries",
            "emergency_services",
            "who_was_there",
        ],
        "timeline" => &["happened_ms", "words"],
        "item_added" => &["items", "others", "words"],
        "action_set" => &["what", "owner", "due", "works_if", "look_on"],
        "action_looked_at" => &["worked", "words"],
        "action_done" | "cause" | "lesson" | "file" | "pack_lost" => &["words"],
        "told_to" => &["whom", "told_ms", "reference", "told_by"],
        "not_told" => &["whom", "why"],
        "closed" => &["causes", "lessons"],
        "corrected" | "erased" | "reopened" => &["why"],
        _ => &[],
    }
}

/// A day and time: typed like `2026-11-27 14:05`.
pub fn is_time(field: &str) -> bool {
    matches!(field, "happened_ms" | "told_ms")
}

/// What of an entry is a day, a day and time, or yes or no: it is put right by another.
pub fn is_in_a_form(field: &str) -> bool {
    is_time(field) || matches!(field, "due" | "look_on" | "worked")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_is_put_right_in_what_it_says_and_in_nothing_else() {
        assert!(said_by("told_to").contains(&"told_ms"));
        assert!(!said_by("opened").contains(&"told_ms"));
        assert!(!said_by("cause").contains(&"damage"));
        assert!(said_by("unheard_of").is_empty());
    }
}
