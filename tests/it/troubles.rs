//! When something fails inside, the reader gets a sentence and a number, and nothing of what failed.

use crate::support::*;

on_both! {
    async fn a_failure_inside_shows_a_reference_and_nothing_else_of_it(club: TestClub) {
        let ada = club.member("Ada").await;
        club.behind_the_back("ALTER TABLE session RENAME TO mislaid").await.expect("renamed");
        let answer = ada.get("/").await;
        assert_eq!(answer.status, 500);
        let reference = answer.one("main p strong");
        assert!(reference.len() >= 8);
        assert_eq!(answer.header("x-request-id"), reference);
        let text = answer.text.to_lowercase();
        for inner in ["sql", "select", "relation", "no such table", "mislaid", "database", "panick", ".rs"] {
            assert!(!text.contains(inner), "{inner}: {text}");
        }
        let other = ada.get("/").await.one("main p strong");
        assert_ne!(reference, other, "each failure has a number of its own");
        club.behind_the_back("ALTER TABLE mislaid RENAME TO session").await.expect("renamed");
        assert!(ada.get("/").await.location.is_some(), "and it recovers by itself");
    }

    async fn without_the_database_the_server_lives_but_is_not_ready(club: TestClub) {
        let watcher = club.visitor();
        assert_eq!(watcher.get("/health/ready").await.status, 200);
        club.app.db.close().await;
        assert_eq!(watcher.get("/health/ready").await.status, 503);
        assert_eq!(watcher.get("/health/live").await.status, 200);
        let page = watcher.get("/sign-in").await;
        assert_eq!(page.status, 503);
        assert!(!page.header("retry-after").is_empty());
        assert!(page.one("main [role=alert]").contains("Nothing was changed"));
    }

    async fn a_server_told_to_stop_is_no_longer_ready_but_still_answers(club: TestClub) {
        let ada = club.member("Ada").await;
        club.app.start_draining();
        assert_eq!(ada.get("/health/ready").await.status, 503);
        assert_eq!(ada.get("/health/live").await.status, 200);
        assert_eq!(ada.get("/").await.status, 303);
    }

    async fn what_is_not_there_is_told_in_the_clubs_own_page(club: TestClub) {
        let ada = club.member("Ada").await;
        for path in ["/nowhere", "/packs/../../etc/passwd", "/%00", "/static/0/none.css"] {
            let answer = ada.get(path).await;
            assert_eq!(answer.status, 404, "{path}");
        }
        assert!(ada.get("/nowhere").await.one("h1").contains("Not here"));
    }
}
