//! The whole life of a token: made on a page, shown once, used, ended by its owner, by time and by what ends its person's
//! ways in.

use super::program::*;
use crate::support::*;
use sandbucket::tasks::sweep::sweep;
use serde_json::json;

/// Makes one on the page; what the page then shows.
async fn made(browser: &Browser, may: &str, days: &str) -> Answer {
    let page = browser.get("/me/tokens").await;
    let typed = [("name", "shelf display"), ("may", may), ("days", days)];
    browser
        .submit(&page, "form[action='/me/tokens']", &typed)
        .await
}

fn secret_of(shown: &Answer) -> String {
    assert_eq!(shown.status, 200, "{}", shown.text);
    shown.one("main code")
}

on_both! {
    async fn a_token_is_shown_once_kept_as_a_hash_and_stands_for_its_person(club: TestClub) {
        let ada = club.member("Ada").await;
        let secret = secret_of(&made(&ada, "look", "30").await);
        assert!(sandbucket::ids::is_token(&secret));
        for (table, rows) in club.contents().await {
            assert!(rows.iter().all(|row| !row.contains(&secret)), "{table} holds the secret");
        }
        let page = ada.get("/me/tokens").await;
        assert!(!page.text.contains(&secret));
        assert!(page.one("ol.log li").contains("shelf display"));
        assert!(page.one("ol.log li").contains("Last used: never"));
        let me = Program::new(&club, Some(&secret)).get("/api/v1/me").await.done();
        assert_eq!((&me["name"], &me["roles"]), (&json!("Ada"), &json!(["member"])));
        assert!(ada.get("/me/tokens").await.one("ol.log li").contains("Last used: today"));
        club.behind_the_back("UPDATE person SET is_quartermaster = TRUE WHERE name = 'Ada'").await.expect("a role more");
        let me = Program::new(&club, Some(&secret)).get("/api/v1/me").await.done();
        assert_eq!(me["roles"], json!(["member", "quartermaster"]), "the roles of now");
        let log = club.find("SELECT verb || after FROM activity ORDER BY seq DESC").await;
        assert!(log[0].starts_with("made a token") && !log[0].contains("shelf display"), "{log:?}");
    }

    async fn the_log_tells_which_token_acted_and_no_name_of_it_outlives_its_person(club: TestClub) {
        club.fit_packs(1).await;
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        let program = Program::new(&club, Some(&secret_of(&made(&ada, "change", "7").await)));
        program.post("/api/v1/packs/P-001/condition", &json!({"seen": ["wrap_torn"]})).await.done();
        ada.post("/packs/P-001/condition", &[("seen", "lead_damaged")]).await.done();
        let told = async || {
            let page = olive.get("/log").await.texts("ol.log li span");
            let read = club.program(olive.id()).await.get("/api/v1/log").await.done();
            assert!(page.iter().any(|line| line.starts_with(read["entries"][0]["words"].as_str().expect("words"))), "{page:?}");
            page
        };
        let lines = told().await;
        assert!(lines[0].starts_with("Ada: P-001"), "herself: {lines:?}");
        assert!(lines[1].starts_with("Ada, by token “shelf display”: P-001"), "{lines:?}");
        let page = ada.get("/me/tokens").await;
        ada.submit(&page, "ol.log form", &[]).await.done();
        assert!(told().await.iter().any(|line| line.starts_with("Ada, by token “shelf display”")), "though it has ended");
        let bea = club.member("Bea").await.get("/packs/P-001").await;
        assert!(!bea.text.contains("shelf display") && !bea.text.contains("Ada"));
        let quinn = club.quartermaster().await;
        quinn.post(&format!("/people/{}/erase", ada.id()), &[]).await.done();
        assert!(told().await.iter().any(|line| line.starts_with("(erased), by a token: P-001")));
        for (table, rows) in club.contents().await {
            assert!(rows.iter().all(|row| !row.contains("shelf display")), "{table} still holds the name");
        }
        assert_eq!(club.first_break().await, None);
        club.tamper("UPDATE activity SET by_token = NULL WHERE by_token IS NOT NULL").await;
        assert!(club.first_break().await.is_some(), "the log commits to which token it was");
    }

    async fn nothing_is_preselected_and_a_form_without_an_answer_makes_none(club: TestClub) {
        let ada = club.member("Ada").await;
        let page = ada.get("/me/tokens").await;
        assert!(page.select("input[checked]").is_empty());
        let refused = ada.submit(&page, "form[action='/me/tokens']", &[]).await;
        assert!(refused.is_refused());
        assert_eq!(refused.problems().len(), 3);
        assert!(club.ids("token").await.is_empty());
    }

    async fn a_token_that_looks_changes_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let program = Program::new(&club, Some(&secret_of(&made(&quinn, "look", "7").await)));
        program.get("/api/v1/packs").await.done();
        let reply = program.post("/api/v1/packs/P-001/condition", &json!({"seen": ["wet"]})).await;
        assert_eq!((reply.status, reply.kind().as_str()), (403, "not-yours"));
        let program = Program::new(&club, Some(&secret_of(&made(&quinn, "change", "7").await)));
        program.post("/api/v1/packs/P-001/condition", &json!({"seen": ["wet"]})).await.done();
    }

    async fn its_owner_ends_it_and_nobody_else_does(club: TestClub) {
        let ada = club.member("Ada").await;
        let program = Program::new(&club, Some(&secret_of(&made(&ada, "look", "7").await)));
        let page = ada.get("/me/tokens").await;
        let end = page.select("ol.log form")[0].attribute("action").to_owned();
        club.member("Mallory").await.post(&end, &[]).await.done();
        program.get("/api/v1/me").await.done();
        ada.post(&end, &[]).await.done();
        assert_eq!(program.get("/api/v1/me").await.status, 401);
        let log = club.find("SELECT verb FROM activity ORDER BY seq DESC").await;
        assert_eq!(log[..2], ["ended a token", "made a token"]);
    }

    async fn it_ends_by_itself_and_is_swept_away(club: TestClub) {
        let ada = club.member("Ada").await;
        for days in ["7", "30", "90", "365"] {
            made(&ada, "look", days).await;
        }
        let program = Program::new(&club, Some(&secret_of(&made(&ada, "look", "7").await)));
        club.later_by_days(6);
        program.get("/api/v1/me").await.done();
        club.later_by_days(1);
        assert_eq!(program.get("/api/v1/me").await.status, 401);
        sweep(&club.app).await.expect("swept");
        assert_eq!(club.ids("token").await.len(), 3);
        club.later_by_days(359);
        sweep(&club.app).await.expect("swept");
        assert!(club.ids("token").await.is_empty());
    }

    async fn all_of_a_person_end_with_deactivating_erasing_and_a_reset_password(club: TestClub) {
        let quinn = club.quartermaster().await;
        for way in ["deactivate", "erase"] {
            let person = club.member(way).await;
            let program = club.program(person.id()).await;
            program.get("/api/v1/me").await.done();
            quinn.post(&format!("/people/{}/{way}", person.id()), &[]).await.done();
            assert_eq!(program.get("/api/v1/me").await.status, 401, "{way}");
        }
        assert!(club.ids("token").await.is_empty(), "they are gone, not asleep");
        let ada = club.with_password("Ada").await;
        let program = club.program(ada).await;
        let token = sandbucket::ids::new_token();
        quinn.post(&format!("/people/{ada}/link"), &[("token", token.as_str())]).await;
        let door = club.visitor();
        door.post(&format!("/reset/{token}"), &[("password", "nine quiet herons wade")]).await.done();
        assert_eq!(program.get("/api/v1/me").await.status, 401);
    }

    async fn nobody_has_more_than_twenty(club: TestClub) {
        let ada = club.member("Ada").await;
        for _ in 0..20 {
            secret_of(&made(&ada, "look", "7").await);
        }
        let refused = made(&ada, "look", "7").await;
        assert!(refused.is_refused());
        assert_eq!(club.ids("token").await.len(), 20);
    }

    async fn the_form_sent_again_shows_the_same_secret_and_makes_no_second_token(club: TestClub) {
        let ada = club.member("Ada").await;
        let page = ada.get("/me/tokens").await;
        let typed = [("name", "x"), ("may", "look"), ("days", "7")];
        let first = ada.submit(&page, "form[action='/me/tokens']", &typed).await;
        let again = ada.submit(&page, "form[action='/me/tokens']", &typed).await;
        assert_eq!(secret_of(&first), secret_of(&again));
        assert_eq!(club.ids("token").await.len(), 1);
    }
}
