//! Books made by chance and tampered with by chance, each held against the last head that was printed: every tampering is
//! found, and what was erased with an entry of its own verifies.

use super::chain::Kept;
use super::check_tests::{Sample, sample};
use super::digest::Digest;
use super::entry::Entry;
use super::erasure::Erased;
use super::part::{KeptPart, Part};
use proptest::prelude::*;

/// For each entry: its words, whether it has a part and a photo, and whether an earlier part is erased behind it.
fn any_book() -> impl Strategy<Value = Sample> {
    let entry = (".{0,12}", any::<bool>(), any::<bool>(), any::<bool>());
    prop::collection::vec(entry, 1..12).prop_map(|entries| {
        let mut book = Sample::empty();
        for (place, (words, has_part, has_photo, erases)) in entries.into_iter().enumerate() {
            let photo = format!("photo {place}");
            let part = has_part.then_some(place as u8);
            book.tell(&words, part, has_photo.then_some(&photo));
            let first = book
                .parts
                .first()
                .map(|kept| (kept.seq, kept.part.name.clone()));
            if let (true, Some((seq, name))) = (erases, first) {
                book.erase(&[Erased::Part { seq, name }]);
            }
        }
        book
    })
}

#[derive(Clone, Copy, Debug)]
enum Tampering {
    EditText,
    EditHash,
    EditAndRehash,
    Delete,
    InsertCopy,
    InsertForged,
    Swap,
    Cut,
    RewriteFrom,
    DropPart,
    EditPart,
    SwapParts,
    AddPart,
    DropFile,
    AddFile,
}

const ALL: [Tampering; 15] = [
    Tampering::EditText,
    Tampering::EditHash,
    Tampering::EditAndRehash,
    Tampering::Delete,
    Tampering::InsertCopy,
    Tampering::InsertForged,
    Tampering::Swap,
    Tampering::Cut,
    Tampering::RewriteFrom,
    Tampering::DropPart,
    Tampering::EditPart,
    Tampering::SwapParts,
    Tampering::AddPart,
    Tampering::DropFile,
    Tampering::AddFile,
];

/// None where there is nothing of the kind to tamper with.
fn tampered(book: &Sample, how: Tampering, at: usize, other: usize) -> Option<Sample> {
    let mut book = book.clone();
    let place = at % book.entries.len();
    match how {
        Tampering::EditText => edit(&mut book.entries[place], other),
        Tampering::EditHash => {
            book.entries[place].hash = Digest::of(b"forged").to_string();
        }
        Tampering::EditAndRehash => {
            edit(&mut book.entries[place], other);
            rehash(&mut book.entries[place]);
        }
        Tampering::Delete => {
            book.entries.remove(place);
        }
        Tampering::InsertCopy => {
            let copy = book.entries[place].clone();
            book.entries.insert(other % (book.entries.len() + 1), copy);
        }
        Tampering::InsertForged => insert_forged(&mut book, place),
        Tampering::Swap => {
            let other = other % book.entries.len();
            (place != other).then(|| book.entries.swap(place, other))?;
        }
        Tampering::Cut => book.entries.truncate(place),
        Tampering::RewriteFrom => rewrite_from(&mut book, place),
        _ => tamper_beside(&mut book, how, at, other)?,
    }
    Some(book)
}

/// With parts and files.
fn tamper_beside(book: &mut Sample, how: Tampering, at: usize, other: usize) -> Option<()> {
    let parts = book.parts.len();
    match how {
        Tampering::AddPart => {
            let seq = 1 + (at % (book.entries.len() + 3)) as i64;
            let part = Part::new("who_was_there", [99; 16], "Somebody else");
            book.parts.push(KeptPart { seq, part });
        }
        Tampering::AddFile => {
            book.files.insert(Digest::of(b"forged"));
        }
        Tampering::DropFile => {
            let files: Vec<Digest> = book.files.iter().copied().collect();
            book.files.remove(files.get(at % files.len().max(1))?);
        }
        _ if parts == 0 => return None,
        Tampering::DropPart => {
            book.parts.remove(at % parts);
        }
        Tampering::EditPart => book.parts[at % parts].part.words.push('x'),
        Tampering::SwapParts => {
            let (a, b) = (at % parts, other % parts);
            let of_a = book.parts[a].seq;
            (a != b).then(|| book.parts[a].seq = book.parts[b].seq)?;
            book.parts[b].seq = of_a;
        }
        _ => return None,
    }
    Some(())
}

/// One sign of the text becomes another.
fn edit(kept: &mut Kept, at: usize) {
    let mut signs: Vec<char> = kept.text.chars().collect();
    let at = at % signs.len();
    signs[at] = if signs[at] == '7' { '8' } else { '7' };
    kept.text = signs.into_iter().collect();
}

fn rehash(kept: &mut Kept) {
    kept.hash = Digest::of(kept.text.as_bytes()).to_string();
}

/// An entry that holds with the one before it, and a chain that goes on behind it as it was.
fn insert_forged(book: &mut Sample, place: usize) {
    let mut forged = Sample::empty();
    forged
        .heads
        .extend(place.checked_sub(1).map(|before| book.heads[before]));
    forged.tell("forged", None, None);
    book.entries.insert(place, forged.entries.remove(0));
}

/// One entry says another time, and all behind it are linked anew: the book holds in itself.
fn rewrite_from(book: &mut Sample, place: usize) {
    let before = place.checked_sub(1);
    let mut previous = before.map_or(Digest::NONE_BEFORE, |before| book.heads[before].hash);
    for (at, kept) in book.entries.iter_mut().enumerate().skip(place) {
        let mut entry = Entry::read(&kept.text).expect("an entry");
        entry.previous = previous;
        entry.at_ms += i64::from(at == place);
        kept.text = entry.text().expect("a text");
        rehash(kept);
        previous = Digest::of(kept.text.as_bytes());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn every_tampering_with_a_book_is_found_against_the_last_printed_head(
        book in any_book(), at in any::<usize>(), other in any::<usize>(),
    ) {
        let printed = book.head();
        prop_assert_eq!(book.check(&book.heads), Ok(printed));
        for how in ALL {
            let Some(forged) = tampered(&book, how, at, other) else { continue };
            let found = forged.check(&[printed]);
            prop_assert!(found.is_err(), "{:?} was not found", how);
        }
    }

    #[test]
    fn what_was_erased_keeps_verifying_against_all_that_was_printed_before(
        book in any_book(), at in any::<usize>(),
    ) {
        prop_assume!(!book.parts.is_empty());
        let mut book = book;
        let printed = book.heads.clone();
        let gone = &book.parts[at % book.parts.len()];
        let gone = Erased::Part { seq: gone.seq, name: gone.part.name.clone() };
        book.erase(&[gone]);
        prop_assert_eq!(book.check(&printed), Ok(book.head()));
    }
}

/// So that no kind of tampering above is passed over in silence.
#[test]
fn each_kind_of_tampering_is_tried_on_a_book_that_has_all() {
    let book = sample();
    for how in ALL {
        let forged = tampered(&book, how, 1, 2);
        let forged = forged.unwrap_or_else(|| panic!("{how:?} was not tried"));
        assert!(forged.check(&[book.head()]).is_err(), "{how:?}");
    }
}

#[test]
fn a_book_rewritten_from_a_point_is_found_by_nothing_but_what_was_printed() {
    for place in 0..4 {
        let book = sample();
        let mut forged = book.clone();
        rewrite_from(&mut forged, place);
        assert!(forged.check(&book.heads[..place]).is_ok(), "{place}");
        assert!(forged.check(&book.heads[..=place]).is_err(), "{place}");
    }
}
