//! Books that hold, and the ways in which they don't, one by one; by chance they are in `tampering_tests`. `sample` is the
//! book that these tests and others begin with.

use super::chain::{Draft, Head, Kept, Written, write};
use super::check::{Against, Book, Break, How, check};
use super::digest::Digest;
use super::entry::Attached;
use super::erasure::{self, Erased};
use super::part::{KeptPart, Part};
use crate::club::calendar::Instant;
use serde_json::json;
use std::collections::BTreeSet;

#[derive(Clone, Debug)]
pub struct Sample {
    pub entries: Vec<Kept>,
    pub parts: Vec<KeptPart>,
    pub files: BTreeSet<Digest>,
    /// The head after each entry, as it might have been printed.
    pub heads: Vec<Head>,
}

impl Sample {
    pub fn empty() -> Self {
        Self {
            entries: vec![],
            parts: vec![],
            files: BTreeSet::new(),
            heads: vec![],
        }
    }

    pub fn head(&self) -> Head {
        self.heads.last().copied().unwrap_or(Head::EMPTY)
    }

    pub fn add(&mut self, draft: Draft) {
        let Written { kept, parts, head } = write(&self.head(), draft).expect("written");
        self.entries.push(kept);
        self.parts.extend(parts);
        self.heads.push(head);
    }

    /// An entry with a part of this salt and a photo.
    pub fn tell(&mut self, words: &str, part: Option<u8>, photo: Option<&str>) {
        let attached = |bytes: &str| Attached {
            name: "photo".to_owned(),
            sha256: Digest::of(bytes.as_bytes()),
            original_sha256: None,
        };
        let attached: Vec<Attached> = photo.map(attached).into_iter().collect();
        self.files.extend(attached.iter().map(|file| file.sha256));
        self.add(Draft {
            at: Instant(1_795_600_000_000 + self.head().count * 60_000),
            kind: "timeline".to_owned(),
            body: json!({ "words": words }),
            attached,
            parts: part
                .map(|salt| Part::new("who_was_there", [salt; 16], "Ada and Mo"))
                .into_iter()
                .collect(),
        });
    }

    /// As an action erases: the words go, the entry comes.
    pub fn erase(&mut self, erased: &[Erased]) {
        for each in erased {
            match each {
                Erased::Part { seq, name } => self
                    .parts
                    .retain(|kept| (kept.seq, &kept.part.name) != (*seq, name)),
                Erased::File { sha256, .. } => {
                    self.files.remove(sha256);
                }
            }
        }
        self.say_erased(erased);
    }

    pub fn say_erased(&mut self, erased: &[Erased]) {
        let draft = erasure::draft(Instant(0), erased, "They asked for it.");
        self.add(draft.expect("a draft"));
    }

    pub fn check(&self, printed: &[Head]) -> Result<Head, Break> {
        let book = Book {
            entries: &self.entries,
            parts: &self.parts,
            files: Some(&self.files),
        };
        check(&book, &Against { end: None, printed })
    }

    fn broken(&self, printed: &[Head]) -> (Option<i64>, How) {
        let found = self.check(printed).expect_err("a break");
        (found.entry, found.how)
    }
}

/// Four entries: the second and third have a part and a photo.
pub fn sample() -> Sample {
    let mut book = Sample::empty();
    book.tell("It smoked.", None, None);
    book.tell("We left the hall.", Some(1), Some("hall"));
    book.tell("The fire service came.", Some(2), Some("engine"));
    book.tell("It was cold.", None, None);
    book
}

fn part_of(seq: i64) -> Erased {
    let name = "who_was_there".to_owned();
    Erased::Part { seq, name }
}

fn photo_of(seq: i64, bytes: &str) -> Erased {
    let sha256 = Digest::of(bytes.as_bytes());
    Erased::File { seq, sha256 }
}

#[test]
fn a_book_that_nobody_touched_holds_against_every_head_that_was_printed() {
    let book = sample();
    assert_eq!(book.check(&book.heads), Ok(book.head()));
    assert_eq!(Sample::empty().check(&[Head::EMPTY]), Ok(Head::EMPTY));
}

#[test]
fn an_edited_entry_is_named_and_one_edited_with_its_digest_by_the_next() {
    let mut book = sample();
    book.entries[1].text = book.entries[1].text.replace("left", "kept");
    assert_eq!(book.broken(&[]), (Some(2), How::Changed));
    book.entries[1].hash = Digest::of(book.entries[1].text.as_bytes()).to_string();
    assert_eq!(book.broken(&[]), (Some(3), How::NotLinked));
    let told = book.check(&[]).expect_err("a break").to_string();
    assert_eq!(
        told,
        "Entry 3: it does not name the digest of the entry before it: one of the two was changed."
    );
}

#[test]
fn deleted_moved_and_doubled_entries_are_named_by_the_place_they_left() {
    let mut book = sample();
    book.entries.remove(1);
    assert_eq!(book.broken(&[]), (Some(2), How::OutOfOrder { found: 3 }));
    let mut book = sample();
    book.entries.swap(0, 3);
    assert_eq!(book.broken(&[]), (Some(1), How::OutOfOrder { found: 4 }));
    let mut book = sample();
    book.entries.insert(1, book.entries[0].clone());
    assert_eq!(book.broken(&[]), (Some(2), How::OutOfOrder { found: 1 }));
}

#[test]
fn an_end_cut_off_is_found_against_a_printed_head_and_against_the_head_beside_it() {
    let mut book = sample();
    book.entries.truncate(3);
    assert_eq!(book.check(&book.heads[..3]), Ok(book.heads[2]));
    let cut_off = (Some(4), How::CutOff { reached: 4 });
    assert_eq!(book.broken(&[book.heads[3]]), cut_off);
    let kept = Book {
        entries: &book.entries,
        parts: &book.parts,
        files: None,
    };
    let against = |end| Against {
        end: Some(end),
        printed: &[],
    };
    let found = check(&kept, &against(&book.heads[3])).expect_err("a break");
    assert_eq!((found.entry, found.how), cut_off);
    let found = check(&kept, &against(&book.heads[1])).expect_err("a break");
    assert_eq!(
        (found.entry, found.how),
        (Some(3), How::PastItsEnd { ends: 2 })
    );
    let other = Head {
        hash: Digest::of(b"other"),
        ..book.heads[2]
    };
    let found = check(&kept, &against(&other)).expect_err("a break");
    let rewritten = How::Rewritten {
        from: 1,
        printed: 3,
    };
    assert_eq!((found.entry, found.how), (Some(3), rewritten));
}

#[test]
fn a_book_rewritten_from_a_point_holds_in_itself_and_is_found_between_two_printed_heads() {
    let book = sample();
    let mut forged = Sample::empty();
    forged.tell("It smoked.", None, None);
    forged.tell("We left the hall.", Some(1), Some("hall"));
    forged.tell("Nobody came.", Some(2), Some("engine"));
    forged.tell("It was cold.", None, None);
    assert_eq!(forged.check(&[]), Ok(forged.head()));
    let printed = [book.heads[3], book.heads[0]];
    let rewritten = How::Rewritten {
        from: 2,
        printed: 4,
    };
    assert_eq!(forged.broken(&printed), (Some(4), rewritten));
}

#[test]
fn a_seal_typed_with_another_number_or_time_is_told_as_a_mistype_and_hides_no_tampering() {
    let book = sample();
    let typed = |count| Head {
        count,
        ..book.heads[2]
    };
    let of_third = How::AnotherNumber { stands: 3 };
    for count in [1, 4, 9] {
        assert_eq!(
            book.broken(&[typed(count)]),
            (Some(count), of_third.clone())
        );
    }
    let late = Head {
        at_ms: book.heads[2].at_ms + 60_000,
        ..book.heads[2]
    };
    assert_eq!(book.broken(&[late]), (Some(3), How::AnotherTime));
    let mut without = sample();
    without.parts.clear();
    assert_eq!(
        without.broken(&[typed(4)]).0,
        Some(2),
        "what is missing first"
    );
    let mut forged = Sample::empty();
    forged.tell("Nothing smoked.", None, None);
    for words in ["Nobody left.", "Nobody came.", "It was cold."] {
        forged.tell(words, None, None);
    }
    let printed = [typed(3), typed(4), typed(9)];
    let rewritten =
        |found: (Option<i64>, How)| matches!(found.1, How::Rewritten { .. } | How::CutOff { .. });
    assert!(
        printed
            .iter()
            .all(|head| rewritten(forged.broken(&[*head])))
    );
}

#[test]
fn a_part_that_is_missing_verifies_only_with_an_entry_that_erases_it() {
    let mut book = sample();
    book.erase(&[part_of(2), photo_of(2, "hall")]);
    assert_eq!(book.check(&book.heads), Ok(book.head()));
    let name = || "who_was_there".to_owned();
    let mut without = sample();
    without.parts.remove(0);
    assert_eq!(without.broken(&[]), (Some(2), How::PartMissing(name())));
    let mut without = sample();
    without.files.remove(&Digest::of(b"engine"));
    let missing = How::FileMissing(Digest::of(b"engine"));
    assert_eq!(without.broken(&[]), (Some(3), missing));
}

#[test]
fn what_was_erased_and_is_there_all_the_same_is_told() {
    let mut book = sample();
    book.say_erased(&[part_of(2)]);
    let again = How::PartThereAgain("who_was_there".to_owned());
    assert_eq!(book.broken(&[]), (Some(2), again));
    let mut book = sample();
    book.say_erased(&[photo_of(3, "engine")]);
    let again = How::FileThereAgain(Digest::of(b"engine"));
    assert_eq!(book.broken(&[]), (Some(3), again));
}

#[test]
fn a_photo_of_two_entries_stays_while_one_of_them_needs_it() {
    let mut book = sample();
    book.tell("The same picture.", None, Some("hall"));
    book.say_erased(&[photo_of(2, "hall")]);
    assert_eq!(book.check(&[]), Ok(book.head()));
    book.files.remove(&Digest::of(b"hall"));
    let missing = How::FileMissing(Digest::of(b"hall"));
    assert_eq!(book.broken(&[]), (Some(5), missing));
}

#[test]
fn an_entry_erases_only_what_an_earlier_one_has() {
    for nothing in [part_of(1), part_of(5), part_of(9), photo_of(2, "engine")] {
        let mut book = sample();
        book.say_erased(&[nothing]);
        assert_eq!(book.broken(&[]), (Some(5), How::ErasesNothing));
    }
    let mut book = sample();
    book.add(Draft {
        at: Instant(0),
        kind: erasure::KIND.to_owned(),
        body: json!({ "gone": "all" }),
        attached: vec![],
        parts: vec![],
    });
    assert_eq!(book.broken(&[]), (Some(5), How::ErasesNothing));
}

#[test]
fn an_entry_of_another_kind_erases_nothing_whatever_it_says() {
    let mut book = sample();
    let draft = erasure::draft(Instant(0), &[part_of(2)], "Told only").expect("a draft");
    book.add(Draft {
        kind: "timeline".to_owned(),
        ..draft
    });
    book.parts.remove(0);
    let missing = How::PartMissing("who_was_there".to_owned());
    assert_eq!(book.broken(&[]), (Some(2), missing));
}

#[test]
fn an_entry_does_not_erase_what_it_says_itself() {
    let mut book = sample();
    let mut draft = erasure::draft(Instant(0), &[part_of(5)], "At once").expect("a draft");
    draft.parts = vec![Part::new("who_was_there", [5; 16], "Ada")];
    book.add(draft);
    book.parts.pop();
    assert_eq!(book.broken(&[]), (Some(5), How::ErasesNothing));
}

#[test]
fn parts_and_files_that_are_others_or_too_many_are_told() {
    let name = || "who_was_there".to_owned();
    let mut book = sample();
    book.parts[0].part.words = "Ada alone".to_owned();
    assert_eq!(book.broken(&[]), (Some(2), How::PartChanged(name())));
    let mut book = sample();
    book.parts[0].seq = 4;
    assert_eq!(book.broken(&[]), (Some(2), How::PartMissing(name())));
    for seq in [1, 2, 9] {
        let mut book = sample();
        let part = Part::new("who_was_there", [9; 16], "Nobody");
        book.parts.push(KeptPart { seq, part });
        assert_eq!(book.broken(&[]), (Some(seq), How::PartAdded(name())));
    }
    let mut book = sample();
    book.files.insert(Digest::of(b"other"));
    let added = How::FileAdded(Digest::of(b"other"));
    assert_eq!(book.broken(&[]), (None, added));
}

#[test]
fn a_text_with_one_blank_more_or_a_digest_in_capitals_is_another() {
    let mut book = sample();
    book.entries[2].text.push(' ');
    assert!(matches!(book.broken(&[]), (Some(3), How::Unreadable(_))));
    let mut book = sample();
    book.entries[2].hash = book.entries[2].hash.to_uppercase();
    assert_eq!(book.broken(&[]), (Some(3), How::Changed));
}
