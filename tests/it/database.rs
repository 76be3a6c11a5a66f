//! What the databases themselves hold us to: durability, a log that can only grow, and a chain that shows tampering.

use crate::support::*;
use sandbucket::store::log::{self, Entry};
use sandbucket::store::{Db, OpenError, StoreError};
use uuid::Uuid;

on_both! {
    async fn sqlite_runs_with_a_write_ahead_log_and_syncs_each_commit(club: TestClub) {
        let durability = club.app.db.sqlite_durability().await.expect("an answer");
        let full = ("wal".to_owned(), 2);
        match club.backend {
            Backend::Sqlite => assert_eq!(durability, Some(full)),
            Backend::Postgres => {
                assert_eq!(durability, None);
                let settings = "SELECT name || ' ' || setting FROM pg_settings WHERE name IN ('fsync', 'synchronous_commit') ORDER BY name";
                assert_eq!(club.find(settings).await, ["fsync on", "synchronous_commit on"]);
            }
        }
    }

    async fn log_and_readings_refuse_to_be_changed_or_deleted(club: TestClub) {
        club.log_entries(1).await;
        let pack = club.one_pack().await;
        let pack = club.literal(pack);
        let reading = format!(
            "INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes) SELECT id, {pack}, 1, id, '3800', 60 FROM person LIMIT 1"
        );
        assert_eq!(club.behind_the_back(&reading).await.expect("a reading"), 1);
        for sql in [
            "UPDATE activity SET verb = 'did nothing'",
            "DELETE FROM activity",
            "UPDATE reading SET volts = '4200'",
            "DELETE FROM reading",
        ] {
            let refused = club.behind_the_back(sql).await.expect_err(sql).to_string();
            assert!(refused.contains("append-only"), "{sql}: {refused}");
        }
        assert_eq!(club.find("SELECT volts FROM reading").await, ["3800"]);
    }

    async fn the_guards_stand_again_after_a_restart(club: TestClub) {
        club.log_entries(1).await;
        club.lift_the_guards().await;
        Db::open(club.url(), false).await.expect("opened again").close().await;
        assert!(club.behind_the_back("DELETE FROM activity").await.is_err());
    }

    async fn an_untouched_log_holds_from_its_first_entry_to_its_last(club: TestClub) {
        assert_eq!(club.first_break().await, None, "an empty log holds");
        club.log_entries(12).await;
        assert_eq!(club.first_break().await, None);
    }

    async fn an_edited_entry_breaks_the_chain_where_it_stands(club: TestClub) {
        club.log_entries(12).await;
        club.tamper("UPDATE activity SET after = '\"fit\"' WHERE seq = 7").await;
        assert_eq!(club.first_break().await, Some(7));
    }

    async fn an_edit_of_any_field_is_found(club: TestClub) {
        club.log_entries(3).await;
        let person = "(SELECT subject_id FROM activity WHERE seq = 1)";
        for (change, back) in [
            ("at_ms = at_ms + 1".to_owned(), "at_ms = at_ms - 1"),
            (format!("by_id = {person}"), "by_id = NULL"),
            ("verb = 'counteds'".to_owned(), "verb = 'counted'"),
            ("subject = 'kit'".to_owned(), "subject = 'pack'"),
            ("before = ''".to_owned(), "before = 'null'"),
            ("before = 'nul', after = 'l1'".to_owned(), "before = 'null', after = '1'"),
        ] {
            club.tamper(&format!("UPDATE activity SET {change} WHERE seq = 2")).await;
            assert_eq!(club.first_break().await, Some(2), "{change}");
            club.tamper(&format!("UPDATE activity SET {back} WHERE seq = 2")).await;
            assert_eq!(club.first_break().await, None, "{back}");
        }
    }

    async fn a_deleted_entry_breaks_the_chain(club: TestClub) {
        club.log_entries(12).await;
        club.tamper("DELETE FROM activity WHERE seq = 5").await;
        assert_eq!(club.first_break().await, Some(5));
    }

    async fn two_entries_that_changed_places_break_the_chain(club: TestClub) {
        club.log_entries(12).await;
        club.tamper("UPDATE activity SET seq = -1 WHERE seq = 4").await;
        club.tamper("UPDATE activity SET seq = 4 WHERE seq = 5").await;
        club.tamper("UPDATE activity SET seq = 5 WHERE seq = -1").await;
        assert_eq!(club.first_break().await, Some(4));
    }

    async fn an_inserted_entry_breaks_the_chain(club: TestClub) {
        club.log_entries(3).await;
        let copy = "INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash) \
                    SELECT 4, at_ms, by_id, verb, subject, subject_id, before, after, hash FROM activity WHERE seq = 3";
        club.tamper(copy).await;
        assert_eq!(club.first_break().await, Some(4));
    }

    async fn a_log_whose_end_was_cut_off_is_found_short(club: TestClub) {
        club.log_entries(12).await;
        club.tamper("DELETE FROM activity WHERE seq > 9").await;
        assert_eq!(club.first_break().await, Some(10));
    }

    async fn opening_a_database_with_a_club_in_it_again_changes_nothing(club: TestClub) {
        club.start().await;
        club.log_entries(3).await;
        club.one_pack().await;
        let before = club.contents().await;
        for _ in 0..2 {
            Db::open(club.url(), false).await.expect("opened again").close().await;
        }
        assert_eq!(club.contents().await, before);
        assert_eq!(club.first_break().await, None);
    }

    async fn a_log_that_grows_while_it_is_looked_at_is_not_called_broken(club: TestClub) {
        let writes = async {
            for _ in 0..150 {
                club.log_entries(1).await;
            }
        };
        let looks = async {
            for _ in 0..60 {
                assert_eq!(club.first_break().await, None);
            }
        };
        futures_util::future::join(writes, looks).await;
    }

    async fn a_write_that_is_not_saved_is_undone(club: TestClub) {
        club.log_entries(1).await;
        let before = club.contents().await;
        let mut tx = club.app.db.write().await.expect("the turn to write");
        let entry = Entry {
            at: club.now(),
            by: None,
            by_token: None,
            verb: "thought better of it",
            subject: "pack",
            subject_id: Uuid::nil(),
            before: "null".to_owned(),
            after: "null".to_owned(),
        };
        log::add(&mut tx, &entry).await.expect("an entry");
        drop(tx);
        club.log_entries(0).await;
        assert_eq!(club.contents().await, before);
    }

    async fn entries_written_at_once_stand_in_one_unbroken_row(club: TestClub) {
        futures_util::future::join_all((0..24).map(|_| club.log_entries(2))).await;
        assert_eq!(club.first_break().await, None);
        assert_eq!(club.find("SELECT verb FROM activity").await.len(), 48);
    }

    async fn the_database_finds_no_fault_in_itself(club: TestClub) {
        club.start().await;
        club.log_entries(20).await;
        assert!(club.is_sound().await);
    }
}

#[tokio::test]
async fn a_mistyped_path_is_refused_and_creates_no_file() {
    let folder = new_folder();
    let file = folder.join("mistyped.db");
    let opened = Db::open(&format!("sqlite://{}", file.display()), false).await;
    assert!(matches!(
        opened.err(),
        Some(OpenError::Store(
            StoreError::Internal(_) | StoreError::Unavailable(_)
        ))
    ));
    assert_eq!(std::fs::read_dir(&folder).expect("the folder").count(), 0);
    std::fs::remove_dir_all(&folder).expect("tidied up");
}
