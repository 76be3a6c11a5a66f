//! A book filed as its entries say, with files, erasures and actions, and each way to file it otherwise.

use super::chain::{Draft, Head, Kept, write};
use super::check::{Break, How};
use super::digest::Digest;
use super::entry::Attached;
use super::erasure::{self, Erased};
use super::filed::{Action, File, Filed, Place, first_break};
use crate::club::calendar::Instant;
use serde_json::{Value, json};

const HALL: &[u8] = b"the hall";
/// 27 November 2026, 21:46 in UTC.
const WRITTEN: Instant = Instant(1_795_815_960_000);

#[derive(Clone, Debug)]
struct Shelf {
    entries: Vec<Kept>,
    places: Vec<Place>,
    files: Vec<File>,
    actions: Vec<Action>,
    head: Head,
}

impl Shelf {
    fn add(&mut self, draft: Draft) {
        let incident = draft.body["incident"].as_str().unwrap_or_default();
        let incident = incident.to_owned();
        let written = write(&self.head, draft).expect("written");
        let seq = written.head.count;
        self.places.push(Place { seq, incident });
        self.entries.push(written.kept);
        self.head = written.head;
    }

    fn tell(&mut self, kind: &str, body: Value, photo: Option<&[u8]>) {
        let attached = |bytes: &[u8]| Attached {
            name: "photo".to_owned(),
            sha256: Digest::of(bytes),
            original_sha256: None,
        };
        self.add(Draft {
            at: WRITTEN,
            kind: kind.to_owned(),
            body,
            attached: photo.map(attached).into_iter().collect(),
            parts: vec![],
        });
    }

    /// Two incidents; entries 2 and 3 had one photo, which was erased from entry 2; entry 4 sets an action that was done.
    fn sample() -> Self {
        let mut book = Self {
            entries: vec![],
            places: vec![],
            files: vec![],
            actions: vec![],
            head: Head::EMPTY,
        };
        book.tell("opened", json!({ "incident": "I-001" }), None);
        book.tell("file", json!({ "incident": "I-001" }), Some(HALL));
        book.tell("opened", json!({ "incident": "I-002" }), Some(HALL));
        let days = json!({ "incident": "I-001", "due": "2026-12-01", "look_on": "2026-12-10" });
        book.tell("action_set", days, None);
        let done = json!({ "incident": "I-001", "action": 4 });
        book.tell("action_done", done, None);
        let sha256 = Digest::of(HALL);
        let erased = [Erased::File { seq: 2, sha256 }];
        book.add(erasure::draft(WRITTEN, &erased, "They asked for it.").expect("a draft"));
        book.files.push(File {
            seq: 3,
            sha256: sha256.to_string(),
            kind: "photo".to_owned(),
            digest: sha256,
        });
        book.actions.push(Action {
            seq: 4,
            incident: "I-001".to_owned(),
            stands: "to_look_at".to_owned(),
            by_on: "2026-12-10".to_owned(),
            owner_seq: 4,
        });
        book
    }

    fn first_break(&self) -> Option<Break> {
        first_break(&Filed {
            entries: &self.entries,
            places: &self.places,
            files: &self.files,
            actions: &self.actions,
        })
    }

    /// Filed otherwise, it is told so.
    fn otherwise(change: impl Fn(&mut Self)) -> (i64, How) {
        let mut book = Self::sample();
        change(&mut book);
        let found = book.first_break().expect("a break");
        (found.entry.expect("an entry"), found.how)
    }
}

#[test]
fn a_book_that_is_filed_as_its_entries_say_has_no_break() {
    assert_eq!(Shelf::sample().first_break(), None);
}

#[test]
fn an_entry_kept_with_another_incident_or_number_is_told() {
    for kept in ["", "I-002"] {
        let found = Shelf::otherwise(|book| kept.clone_into(&mut book.places[4].incident));
        let (kept, says) = (kept.to_owned(), "I-001".to_owned());
        assert_eq!(found, (5, How::WithAnotherIncident { kept, says }));
    }
    let (_, how) = Shelf::otherwise(|book| book.places[4].incident.clear());
    assert_eq!(
        how.to_string(),
        "it is kept with no incident, but its text is of incident I-001"
    );
    let found = Shelf::otherwise(|book| "I-001".clone_into(&mut book.places[5].incident));
    assert_eq!(found.0, 6, "an erasure is kept with none");
    let found = Shelf::otherwise(|book| book.places[5].seq = 9);
    assert_eq!(found, (6, How::UnderAnotherNumber { kept: 9 }));
}

#[test]
fn each_entry_has_the_files_that_it_says_less_the_erased_and_of_the_kind_it_says() {
    let hall = Digest::of(HALL);
    let moved = Shelf::otherwise(|book| book.files[0].seq = 2);
    assert_eq!(moved, (2, How::FileThereAgain(hall)));
    let gone = Shelf::otherwise(|book| book.files.clear());
    assert_eq!(gone, (3, How::FileMissing(hall)));
    let strange = Shelf::otherwise(|book| book.files[0].seq = 1);
    assert_eq!(strange, (1, How::FileNotIts(hall)));
    let misnamed = Shelf::otherwise(|book| book.files[0].sha256 = "a digest".to_owned());
    assert_eq!(misnamed, (3, How::FileNotIts(hall)));
    let twice = Shelf::otherwise(|book| {
        let mut copy = book.files[0].clone();
        copy.sha256 = "a digest".to_owned();
        book.files.push(copy);
    });
    assert_eq!(twice, (3, How::FileNotIts(hall)));
    let (entry, how) = Shelf::otherwise(|book| book.files[0].kind = "pdf".to_owned());
    let words = format!("its file {hall} is kept as \"pdf\", but its text says \"photo\"");
    assert_eq!((entry, how.to_string()), (3, words));
}

#[test]
fn how_an_action_stands_is_what_its_entries_come_to() {
    type Change = fn(&mut Shelf);
    let changes: [Change; 7] = [
        |book| book.actions[0].stands = "worked".to_owned(),
        |book| book.actions[0].by_on = "2036-12-10".to_owned(),
        |book| book.actions[0].owner_seq = 1,
        |book| book.actions[0].incident = "I-002".to_owned(),
        |book| book.actions.clear(),
        |book| book.actions[0].stands = "to_do".to_owned(),
        |book| book.actions[0].by_on = "2026-12-01".to_owned(),
    ];
    for change in changes {
        assert_eq!(Shelf::otherwise(change), (4, How::ActionOtherwise));
    }
    let more = Shelf::otherwise(|book| {
        let mut more = book.actions[0].clone();
        more.seq = 5;
        book.actions.push(more);
    });
    assert_eq!(more, (5, How::ActionOtherwise), "it sets none");
}

#[test]
fn where_an_action_has_no_day_it_is_kept_with_one_on_which_an_entry_was_written() {
    let with_day = |day: &str| {
        let mut book = Shelf::sample();
        let no = json!({ "incident": "I-001", "action": 4, "worked": false });
        book.tell("action_looked_at", no, None);
        book.actions[0].stands = "did_not_work".to_owned();
        day.clone_into(&mut book.actions[0].by_on);
        book.first_break().is_none()
    };
    let days = [
        "2026-11-25",
        "2026-11-26",
        "2026-11-27",
        "2026-11-28",
        "2026-11-29",
    ];
    assert_eq!(days.map(with_day), [false, true, true, true, false]);
    assert!(!with_day("soon"));
}
