//! A printed end that was typed otherwise than it was printed: its seal stands in the book, with another number or time than was typed
//! beside it. An entry's digest commits to both, so no tampering makes that.

use super::chain::{Head, Kept};
use super::check::{Against, Book, Break, How};
use super::digest::Digest;
use super::entry::Entry;

/// As `check` finds the book without what is mistyped: a mistype hides nothing.
pub(super) fn told_last(
    book: &Book<'_>,
    against: &Against<'_>,
    check: impl Fn(&Book<'_>, &Against<'_>) -> Result<Head, Break>,
) -> Result<Head, Break> {
    let (mut printed, mut mistyped) = (Vec::new(), None);
    for head in against.printed {
        match mistype(book.entries, head) {
            None => printed.push(*head),
            Some(how) => {
                let entry = Some(head.count);
                mistyped = mistyped.or(Some(Break { entry, how }));
            }
        }
    }
    let against = Against {
        end: against.end,
        printed: &printed,
    };
    let head = check(book, &against)?;
    mistyped.map_or(Ok(head), Err)
}

fn mistype(entries: &[Kept], head: &Head) -> Option<How> {
    let seal = head.hash.to_string();
    let is_its = |kept: &&Kept| kept.hash == seal && Digest::of(kept.text.as_bytes()) == head.hash;
    let entry = Entry::read(&entries.iter().find(is_its)?.text).ok()?;
    if entry.seq != head.count {
        let stands = entry.seq;
        return Some(How::AnotherNumber { stands });
    }
    let is_other_time = head.at_ms != 0 && head.at_ms / 1000 != entry.at_ms / 1000;
    is_other_time.then_some(How::AnotherTime)
}
