//! Random tamperings with the incident book, as it was given away and as it stands in the database, each held against the last
//! end that was printed: every one is found. 500 in every run, 10,000 with `SANDBUCKET_LONG=1`; the dice are seeded.

mod forged;

use crate::book_begins::in_sql;
use crate::support::*;
use forged::{ALL, Copied};
use sandbucket::actions::book;
use sandbucket::club::book::chain::{Head, Kept};
use sandbucket::paper::bundle;
use std::process::Command;
use std::time::Duration;

const SHORT: usize = 500;
const LONG: usize = 10_000;

fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "''"))
}

/// The whole book in the database becomes `copy`, past the program and its guards.
fn sql_of(club: &TestClub, copy: &Copied) -> String {
    let mut sql =
        "BEGIN; DELETE FROM book_file; DELETE FROM book_part; DELETE FROM book_entry; ".to_owned();
    for (place, kept) in copy.entries.iter().enumerate() {
        let (text, hash) = (quoted(&kept.text), quoted(&kept.hash));
        sql += &format!(
            "INSERT INTO book_entry (seq, incident, text, hash) VALUES ({}, 'I-001', {text}, {hash}); ",
            place + 1
        );
    }
    for kept in &copy.parts {
        let (name, salt, words) = (&kept.part.name, &kept.part.salt, &kept.part.words);
        sql += &format!(
            "INSERT INTO book_part (seq, name, salt, words) VALUES ({}, {}, {}, {}); ",
            kept.seq,
            quoted(name),
            quoted(salt),
            quoted(words)
        );
    }
    for file in &copy.files {
        let (sha256, bytes) = (file.sha256.to_string(), in_sql(club, &file.bytes));
        // With the entry that has it; what none has, with the first.
        let has = |kept: &Kept| kept.text.contains(&sha256);
        let seq = copy.entries.iter().position(has).map_or(1, |at| at + 1);
        sql += &format!(
            "INSERT INTO book_file (seq, sha256, kind, bytes) VALUES ({seq}, '{sha256}', 'photo', {bytes}); "
        );
    }
    let Head { count, hash, at_ms } = copy.head;
    let hash = if count == 0 {
        String::new()
    } else {
        hash.to_string()
    };
    sql + &format!(
        "UPDATE turn SET book_count = {count}, book_hash = '{hash}', book_at_ms = {at_ms}; COMMIT;"
    )
}

/// Whether it ended well, and what it said: on the output where it did, else one sentence on the error output.
fn verify(club: &TestClub, asked: &[&str]) -> (bool, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_sandbucket"))
        .env_clear()
        .args(["book", "verify", "--database-url", club.url()])
        .args(asked)
        .output()
        .expect("the program runs");
    let (said, silent) = if output.status.success() {
        (output.stdout, output.stderr)
    } else {
        (output.stderr, output.stdout)
    };
    assert!(silent.is_empty(), "{}", String::from_utf8_lossy(&silent));
    (
        output.status.success(),
        String::from_utf8_lossy(&said).into_owned(),
    )
}

#[test]
fn every_tampering_with_a_book_that_was_given_away_is_found_against_the_last_printed_end() {
    let mut dice = Dice::thrown();
    let rounds = share(SHORT, LONG);
    let (mut done, mut tried) = (0, [0; ALL.len()]);
    let began = std::time::Instant::now();
    let mut book = Copied::by_chance(&mut dice);
    while done < rounds {
        if done % 8 == 0 {
            book = Copied::by_chance(&mut dice);
            let held = bundle::check(&book.packed(), &[book.head]).expect("a book that holds");
            assert_eq!((held.head, held.files), (book.head, Some(book.files.len())));
        }
        let which = dice.throw(ALL.len());
        let Some(forged) = book.tampered(ALL[which], &mut dice) else {
            continue;
        };
        let found = bundle::check(&forged.packed(), &[book.head]);
        assert!(
            found.is_err(),
            "{:?} was not found: {forged:#?}",
            ALL[which]
        );
        tried[which] += 1;
        done += 1;
    }
    assert!(tried.iter().all(|count| *count > 0), "{tried:?}");
    let took_s = began.elapsed().as_secs();
    tell_rounds(&format!(
        "tamperings with a book given away: {done} rounds in {took_s} s (full count {LONG}); all found"
    ));
}

on_both! {
    async fn every_tampering_with_the_book_in_the_database_is_found_against_the_last_printed_end(club: TestClub) {
        let mut dice = Dice::thrown();
        club.found().await;
        club.lift_the_guards().await;
        let what = "tamperings with the book in the database";
        let mut rounds = Rounds::new(what, &club, Duration::ZERO, LONG).at_least(SHORT);
        let (mut tried, mut refused) = ([0; ALL.len()], 0);
        let mut book = Copied::by_chance(&mut dice);
        let mut fresh = 0;
        while rounds.go_on() {
            if fresh == 0 {
                book = Copied::by_chance(&mut dice);
                club.behind_the_back(&sql_of(&club, &book)).await.expect("the book");
                let held = book::verify(&club.app.db, &[book.head]).await.expect("read");
                assert_eq!(held, Ok(book.head));
                fresh = 20;
            }
            fresh -= 1;
            let (which, forged) = loop {
                let which = dice.throw(ALL.len());
                if let Some(forged) = book.tampered(ALL[which], &mut dice) {
                    break (which, forged);
                }
            };
            match club.behind_the_back(&sql_of(&club, &forged)).await {
                Ok(_) => {
                    // A text that no entry can be is an error of its own; either way it is not said to hold.
                    let found = book::verify(&club.app.db, &[book.head]).await;
                    assert!(!matches!(found, Ok(Ok(_))), "{:?} was not found: {forged:#?}", ALL[which]);
                }
                // A part or a file of an entry that is not there, or two of one name.
                Err(_) => refused += 1,
            }
            tried[which] += 1;
        }
        assert!(tried.iter().all(|count| *count > 0), "{tried:?}");
        rounds.tell_with(&format!("all found, {refused} refused by the database itself"));
    }

    async fn the_command_says_whether_the_book_in_the_database_holds_and_against_what_was_printed(club: TestClub) {
        let olive = club.organiser().await;
        for words in ["It smoked.", "It smoked again."] {
            crate::book::opened(&olive, &[("words", words), ("who_was_there", "Ada"), ("key", words)]).await.done();
        }
        let seal = olive.get("/book").await.one("p.seal code");
        let told = verify(&club, &[]);
        assert!(told.0 && told.1.starts_with("The incident book holds: 2 entries."), "{told:?}");
        assert!(told.1.contains(&seal.replace(' ', "")), "its end: {told:?}");
        let printed = ["--number", "2", "--seal", seal.as_str()];
        assert!(verify(&club, &printed).0);
        let odd = verify(&club, &["--number", "2", "--seal", "abc"]);
        assert!(!odd.0 && odd.1.contains("64 of the digits"), "{odd:?}");
        club.lift_the_guards().await;
        club.behind_the_back("UPDATE book_entry SET text = REPLACE(text, 'smoked again', 'hummed') WHERE seq = 2").await.expect("changed");
        let told = verify(&club, &[]);
        assert!(!told.0 && told.1.contains("the incident book does not hold") && told.1.contains("its text was changed"), "{told:?}");
        club.lift_the_guards().await;
        let first = club.find("SELECT hash FROM book_entry WHERE seq = 1").await.remove(0);
        for sql in ["DELETE FROM book_part_person WHERE seq = 2", "DELETE FROM book_part WHERE seq = 2", "DELETE FROM book_entry WHERE seq = 2", &format!("UPDATE turn SET book_count = 1, book_hash = '{first}'")] {
            club.behind_the_back(sql).await.expect("cut off");
        }
        assert!(verify(&club, &[]).0, "nothing in the database tells");
        let told = verify(&club, &printed);
        assert!(!told.0 && told.1.contains("its end was cut off"), "{told:?}");
    }

    async fn the_guards_refuse_to_change_or_delete_what_is_in_the_book(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        crate::book::opened(&olive, &[("words", "It smoked."), ("who_was_there", "Ada")]).await.done();
        crate::book_begins::attach(&olive, "a.txt", b"what is left of it").await.done();
        let before = club.contents().await;
        let past_the_row = match club.backend {
            Backend::Sqlite => vec![
                "INSERT OR REPLACE INTO book_entry (seq, incident, text, hash) VALUES (1, 'I-001', '{}', 'x')",
                "REPLACE INTO book_entry (rowid, seq, incident, text, hash) VALUES (1, 9, 'I-001', '{}', 'x')",
                "REPLACE INTO book_part (seq, name, salt, words) SELECT seq, name, salt, 'Ben' FROM book_part",
                "REPLACE INTO book_file (seq, sha256, kind, bytes) SELECT seq, sha256, kind, x'00' FROM book_file",
                "REPLACE INTO activity (seq, at_ms, verb, subject, subject_id, before, after, hash) SELECT seq, at_ms, 'did nothing', subject, subject_id, before, after, hash FROM activity",
                "REPLACE INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes) SELECT id, pack_id, taken_ms, by_id, 'c:1', 0 FROM reading",
            ],
            Backend::Postgres => vec![
                "TRUNCATE book_entry CASCADE",
                "TRUNCATE book_part CASCADE",
                "TRUNCATE book_file",
                "TRUNCATE activity",
                "TRUNCATE reading CASCADE",
            ],
        };
        for sql in past_the_row.into_iter().chain([
            "UPDATE book_entry SET text = '{}'",
            "UPDATE book_entry SET hash = 'x'",
            "UPDATE book_entry SET seq = seq + 1",
            "UPDATE book_entry SET incident = 'I-002'",
            "DELETE FROM book_entry",
            "UPDATE book_part SET words = 'Ben'",
            "UPDATE book_part SET salt = '00'",
            "UPDATE book_part SET name = 'injuries'",
            "UPDATE book_part SET seq = 2",
            "UPDATE book_file SET kind = 'pdf'",
            "UPDATE book_file SET seq = 1",
        ]) {
            let refused = club.behind_the_back(sql).await.expect_err(sql);
            assert!(refused.to_string().contains("append-only"), "{sql}: {refused}");
        }
        assert_eq!(club.contents().await, before);
        // Parts and files can be erased: so they go, and without an entry that says so the book does not hold.
        for sql in ["DELETE FROM book_file", "DELETE FROM book_part_person", "DELETE FROM book_part WHERE seq = 1 AND name = 'who_was_there'"] {
            club.behind_the_back(sql).await.expect(sql);
        }
        let found = book::verify(&club.app.db, &[]).await.expect("read");
        assert!(found.is_err(), "{found:?}");
    }
}
