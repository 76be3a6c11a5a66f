//! Random tamperings with the incident book, as it was given away and as it stands in the database, each held against the last
//! end that was printed: every one is found. 500 in every run, 10,000 with `SANDBUCKET_LONG=1`; the dice are seeded.

mod forged;
mod refiled;

use crate::book_actions::{holds, opened, tell};
use crate::book_begins::{attach, in_sql};
use crate::support::*;
use forged::{ALL, Copied};
use sandbucket::actions::book;
use sandbucket::club::book::chain::Head;
use sandbucket::club::book::entry::Entry;
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
        "BEGIN; DELETE FROM book_action; DELETE FROM book_file; DELETE FROM book_part; DELETE FROM book_entry; ".to_owned();
    for (place, kept) in copy.entries.iter().enumerate() {
        let (text, hash) = (quoted(&kept.text), quoted(&kept.hash));
        let entry = Entry::read(&kept.text).ok();
        let incident = entry.and_then(|entry| Some(entry.body["incident"].as_str()?.to_owned()));
        sql += &format!(
            "INSERT INTO book_entry (seq, incident, text, hash) VALUES ({}, {}, {text}, {hash}); ",
            place + 1,
            quoted(&incident.unwrap_or_default())
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
    for (seq, file) in &copy.files {
        let (sha256, bytes) = (file.sha256.to_string(), in_sql(club, &file.bytes));
        let kind = match file.ending.as_str() {
            "jpg" => "photo",
            "pdf" => "pdf",
            _ => "text",
        };
        sql += &format!(
            "INSERT INTO book_file (seq, sha256, kind, bytes) VALUES ({seq}, '{sha256}', '{kind}', {bytes}); "
        );
    }
    for action in &copy.actions {
        sql += &format!(
            "INSERT INTO book_action (seq, incident, stands, by_on, owner_seq) VALUES ({}, '{}', '{}', '{}', {}); ",
            action.seq, action.incident, action.stands, action.by_on, action.owner_seq
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
    // Some can be done to few books: it goes on until each was.
    while done < rounds || tried.contains(&0) && done < 10 * rounds {
        if done % 8 == 0 {
            book = Copied::by_chance(&mut dice);
            let held = bundle::check(&book.packed(), &[book.head]).expect("a book that holds");
            assert_eq!(
                (held.head, held.files),
                (book.head, Some(book.digests().len()))
            );
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
        let (mut tried, mut refused) = ([0; ALL.len() + refiled::ALL.len()], 0);
        let mut book = Copied::by_chance(&mut dice);
        let mut fresh = 0;
        // Some can be done to few books: it goes on until each was.
        let mut more = 10 * SHORT.max(LONG);
        while rounds.go_on() || tried.contains(&0) && more > 0 {
            more -= 1;
            if fresh == 0 {
                book = Copied::by_chance(&mut dice);
                club.behind_the_back(&sql_of(&club, &book)).await.expect("the book");
                let held = book::verify(&club.app.db, &[book.head]).await.expect("read");
                assert_eq!(held, Ok(book.head));
                fresh = 20;
            }
            fresh -= 1;
            let (which, what, sql) = loop {
                let which = dice.throw(tried.len());
                let done = if which < ALL.len() {
                    let forged = book.tampered(ALL[which], &mut dice);
                    forged.map(|forged| (format!("{:?}", ALL[which]), sql_of(&club, &forged)))
                } else {
                    let how = refiled::ALL[which - ALL.len()];
                    let refiled = refiled::sql_of(&book, how, &mut dice);
                    refiled.map(|sql| (format!("{how:?}"), sql_of(&club, &book) + &sql))
                };
                if let Some((what, sql)) = done {
                    break (which, what, sql);
                }
            };
            match club.behind_the_back(&sql).await {
                Ok(_) => {
                    // A text that no entry can be is an error of its own; either way it is not said to hold.
                    let found = book::verify(&club.app.db, &[book.head]).await;
                    assert!(!matches!(found, Ok(Ok(_))), "{what} was not found: {sql}");
                }
                // A part or a file of an entry that is not there, or two of one name.
                Err(error) => {
                    assert!(which < ALL.len(), "{what}: {error}: {sql}");
                    refused += 1;
                }
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
        for count in ["--number=0", "--number=-3"] {
            let odd = verify(&club, &[count, "--seal", seal.as_str()]);
            assert!(!odd.0 && odd.1.contains("1 or more"), "{odd:?}");
        }
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

    async fn what_is_filed_otherwise_than_its_entry_says_is_told_and_what_was_erased_and_done_holds(club: TestClub) {
        let mut olive = club.organiser().await;
        opened(&olive, &[]).await.done();
        for _ in 0..2 {
            attach(&olive, "a.txt", b"what is left of it").await.done();
        }
        let page = olive.get("/book/I-001").await;
        let chosen = page.select("select[name=erased] option").iter().map(|one| one.attribute("value").to_owned()).find(|one| one.contains("file")).expect("a file");
        let erase = [("erased", chosen.as_str()), ("why", "They asked for it.")];
        tell(&olive, "erase", &erase).await.done();
        let action = [("action_what", "Tiles on the table"), ("owner", "Mo"), ("due", "2026-12-01"), ("works_if", "no wood is left"), ("look_on", "2026-12-10")];
        tell(&olive, "action_set", &action).await.done();
        tell(&olive, "correct", &[("corrects", "5"), ("field", "owner"), ("instead", "Ada"), ("why", "agreed on the phone")]).await.done();
        tell(&olive, "correct", &[("corrects", "5"), ("field", "due"), ("instead", "2026-12-03"), ("why", "agreed on the phone")]).await.done();
        assert!(holds(&olive).await, "an action to be done");
        tell(&olive, "action_done", &[("action", "5"), ("words", "laid")]).await.done();
        assert!(holds(&olive).await, "one to be looked at");
        club.later_by_days(16);
        olive = club.organiser().await;
        tell(&olive, "action_looked_at", &[("action", "5"), ("worked", "no"), ("words", "one lies loose")]).await.done();
        assert!(holds(&olive).await, "one that did not work");
        club.later_by_days(2);
        olive = club.organiser().await;
        let again: Vec<(&str, &str)> = action.iter().map(|(name, value)| (*name, if value.starts_with("2026") { "2027-02-01" } else { *value })).collect();
        tell(&olive, "action_set", &again).await.done();
        assert!(holds(&olive).await, "one in whose place another was set");
        let kept = club.find("SELECT CAST(seq AS TEXT) FROM book_file").await;
        assert_eq!(kept.len(), 1, "the other was erased: {chosen}");
        let (kept, gone) = if kept[0] == "2" { ("2", "3") } else { ("3", "2") };
        let files = format!("UPDATE book_file SET seq = {gone} WHERE seq = {kept}");
        let back = format!("UPDATE book_file SET seq = {kept} WHERE seq = {gone}");
        let moved = format!("Entry {gone}: its file");
        let of_action = "Entry 5: how its action stands is kept otherwise than the entries say";
        for (sql, back, words) in [
            ("UPDATE book_entry SET incident = '' WHERE seq = 5", "UPDATE book_entry SET incident = 'I-001' WHERE seq = 5", "Entry 5: it is kept with no incident, but its text is of incident I-001."),
            ("UPDATE book_entry SET incident = 'I-001' WHERE seq = 4", "UPDATE book_entry SET incident = '' WHERE seq = 4", "Entry 4: it is kept with incident I-001, but its text is of no incident."),
            (files.as_str(), back.as_str(), moved.as_str()),
            ("UPDATE book_file SET kind = 'pdf'", "UPDATE book_file SET kind = 'text'", "is kept as \"pdf\", but its text says \"text\"."),
            ("UPDATE book_action SET stands = 'worked' WHERE seq = 5", "UPDATE book_action SET stands = 'replaced' WHERE seq = 5", of_action),
            ("UPDATE book_action SET owner_seq = 5 WHERE seq = 5", "UPDATE book_action SET owner_seq = 6 WHERE seq = 5", of_action),
            ("UPDATE book_action SET by_on = '2027-03-01' WHERE seq = 10", "UPDATE book_action SET by_on = '2027-02-01' WHERE seq = 10", "Entry 10: how its action"),
        ] {
            club.lift_the_guards().await;
            club.behind_the_back(sql).await.expect(sql);
            let told = olive.get("/book/check").await.one(".stop");
            assert!(told.contains(words), "{sql}: {told}");
            let told = verify(&club, &[]);
            assert!(!told.0 && told.1.contains(words), "{sql}: {told:?}");
            let first = club.find("SELECT hash FROM book_entry WHERE seq = 1").await.remove(0);
            let told = verify(&club, &["--number", "2", "--seal", &first]);
            assert!(!told.0 && told.1.contains(words), "a mistype hides nothing: {told:?}");
            club.lift_the_guards().await;
            club.behind_the_back(back).await.expect(back);
            assert!(holds(&olive).await, "{back}");
        }
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
