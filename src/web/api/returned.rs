//! What a program says of a thing that comes back. A form asks of packs what is seen on them and of kit what is to mend; one
//! body has room for both, so what this thing has no place for is refused and never passed over: it may be a danger.

use super::condition::Condition;
use crate::bench::form::Problems;
use crate::store::loans::Out;

/// Of what a field is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    Packs,
    Kit,
    Adapters,
}

/// A field by the program's name, of what it is told, and whether it was sent.
pub type Field = (&'static str, Of, bool);

/// The fields of what is seen.
pub fn of_condition(condition: &Condition) -> [Field; 3] {
    [
        ("condition.seen", Of::Packs, !condition.seen.is_empty()),
        ("condition.crash", Of::Packs, condition.crash.is_some()),
        (
            "condition.own_words",
            Of::Packs,
            !condition.own_words.trim().is_empty(),
        ),
    ]
}

/// What was sent and has no place; `of` begins the names of the fields.
pub fn misplaced(out: &Out, of: &str, fields: impl IntoIterator<Item = Field>) -> Problems {
    let number = &out.number;
    let mut problems = Problems::default();
    for (field, told, _) in fields.into_iter().filter(|(_, _, is_sent)| *is_sent) {
        let words = match (told, out.pack_id.is_some(), out.counted.is_some()) {
            (Of::Packs, false, _) => {
                format!("{number} is kit. Say in kit_words what is wrong with it, and no more.")
            }
            (Of::Kit | Of::Adapters, true, _) => {
                format!("{number} is a pack. Say under condition what is seen on it.")
            }
            (Of::Adapters, false, false) => format!("{number} is one thing, without a count."),
            _ => continue,
        };
        problems.add(&format!("{of}{field}"), words);
    }
    problems
}
