//! A request sent again under its key has one effect and gets the same answer; another one under that key is refused.

use super::document::operations;
use super::examples::asked;
use super::program::*;
use crate::every_owner::scene::Scene;
use crate::support::*;
use sandbucket::tasks::sweep::sweep;
use sandbucket::web::api::document;
use serde_json::{Value, json};

on_both! {
    async fn every_request_sent_again_under_its_key_gets_the_same_answer_and_changes_nothing(club: TestClub) {
        let scene = Scene::set(&club).await;
        let avery = club.program(club.all_roles().await.id()).await;
        let owner = club.program(scene.owner_id()).await;
        for (path, method, told) in operations(&document::document()) {
            if method == "GET" || computes(&path) {
                continue;
            }
            let asked = asked(&scene, &path, &method, &told).await;
            let program = if path.contains("/mine") { &owner } else { &avery };
            let key = format!("key of {path}");
            let kind = if asked.is_picture { "image/png" } else { "application/json" };
            let headers = [("content-type", kind), ("idempotency-key", key.as_str())];
            let first = program.ask_as(&asked, &headers, "").await;
            assert_eq!(first.status, 200, "{path}: {}", first.text);
            let before = club.contents().await;
            let again = program.ask_as(&asked, &headers, "").await;
            assert_eq!((again.status, &again.text), (first.status, &first.text), "{path}");
            assert!(club.contents().await == before, "{path} had a second effect");
            let other = program.ask_as(&asked, &headers, " ").await;
            assert_eq!((other.status, other.kind().as_str()), (422, "other-body"), "{path}");
            assert!(club.contents().await == before, "{path} took another body");
        }
    }

    async fn the_answer_stays_whatever_became_of_its_things_since(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let volts = json!([{"number": "P-001", "volts_mv": [3820, 3810, 3820]}]);
        let body = json!({"borrower_id": ada, "items": ["P-001"], "rested": "rested_an_hour", "volts_now": volts});
        let first = quinn.post_once("/api/v1/hand-out", &body, "a").await;
        first.done();
        let before = club.contents().await;
        let out = quinn.post_once("/api/v1/hand-out", &body, "a").await;
        assert_eq!(out.text, first.text, "the pack counts as out by now");
        club.later_by_days(1);
        let again = quinn.post_once("/api/v1/hand-out", &body, "a").await;
        assert_eq!(again.text, first.text);
        let after = club.contents().await;
        for table in ["loan", "lent", "reading", "activity"] {
            assert_eq!(before[table], after[table], "{table}");
        }
    }

    async fn the_same_key_of_two_people_is_two_keys(club: TestClub) {
        club.fit_packs(1).await;
        let body = json!({"seen": ["nothing"]});
        for name in ["Ada", "Ben"] {
            let program = club.program(club.member(name).await.id()).await;
            let reply = program.post_once("/api/v1/packs/P-001/condition", &body, "one").await;
            assert_eq!(reply.status, 200, "{name}: {}", reply.text);
        }
    }

    async fn two_at_the_same_time_have_one_effect(club: TestClub) {
        let packs = share(12, 200);
        club.fit_packs(packs).await;
        let ada = club.borrower("Ada").await.id();
        let program = club.program(club.quartermaster().await.id()).await;
        for number in 1..=packs {
            let item = format!("P-{number:03}");
            let body = json!({"borrower_id": ada, "items": [item]});
            let send = |program: Program, body: Value, key: String| {
                tokio::spawn(async move { program.post_once("/api/v1/hand-out", &body, &key).await })
            };
            let (one, other) = (
                send(program.clone(), body.clone(), item.clone()),
                send(program.clone(), body.clone(), item.clone()),
            );
            let replies = [one.await.expect("an answer"), other.await.expect("an answer")];
            let done: Vec<&Reply> = replies.iter().filter(|reply| reply.status == 200).collect();
            assert!(!done.is_empty(), "{replies:?}");
            for reply in &replies {
                let is_told_to_wait = reply.status == 409 && reply.kind() == "still-running";
                assert!(is_told_to_wait || reply.text == done[0].text, "{replies:?}");
            }
            let again = program.post_once("/api/v1/hand-out", &body, &item).await;
            assert_eq!(again.text, done[0].text, "afterwards it is the same answer");
        }
        let loans = club.find("SELECT CAST(COUNT(*) AS TEXT) FROM loan").await;
        assert_eq!(loans, [packs.to_string()]);
    }

    async fn while_a_request_is_carried_out_its_key_is_told_to_wait(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.member("Ada").await.id();
        let program = club.program(ada).await;
        let kept = format!("api {}", sandbucket::ids::digest(&format!("{ada} slow")));
        let flight = club.app.keys_in_flight.begin(&kept).expect("free");
        let send = async || program.post_once("/api/v1/packs/P-001/condition", &json!({"seen": ["nothing"]}), "slow").await;
        let before = club.contents().await;
        let waits = send().await;
        assert_eq!((waits.status, waits.kind().as_str()), (409, "still-running"));
        assert!(club.contents().await == before);
        drop(flight);
        send().await.done();
    }

    async fn a_key_belongs_to_one_request_and_is_free_again_after_a_refusal(club: TestClub) {
        club.fit_packs(2).await;
        let program = club.program(club.member("Ada").await.id()).await;
        let (first, other) = ("/api/v1/packs/P-001/condition", "/api/v1/packs/P-002/condition");
        let refused = program.post_once(first, &json!({"seen": ["smok"]}), "a").await;
        assert_eq!((refused.status, refused.kind().as_str()), (422, "put-right"));
        let body = json!({"seen": ["wet"]});
        program.post_once(first, &body, "a").await.done();
        let before = club.contents().await;
        let elsewhere = program.post_once(other, &body, "a").await;
        assert_eq!((elsewhere.status, elsewhere.kind().as_str()), (422, "other-body"));
        assert!(club.contents().await == before);
    }

    async fn a_key_is_kept_for_two_days_and_free_afterwards(club: TestClub) {
        club.fit_packs(1).await;
        let program = club.program(club.member("Ada").await.id()).await;
        let path = "/api/v1/packs/P-001/condition";
        let body = json!({"seen": ["nothing"]});
        let entries = async || club.find("SELECT CAST(COUNT(*) AS TEXT) FROM activity").await;
        program.post_once(path, &body, "a").await.done();
        let once = entries().await;
        club.later_by_minutes(2 * 24 * 60 - 1);
        sweep(&club.app).await.expect("swept");
        program.post_once(path, &body, "a").await.done();
        assert_eq!(entries().await, once, "two days have not passed");
        club.later_by_minutes(2);
        sweep(&club.app).await.expect("swept");
        program.post_once(path, &body, "a").await.done();
        assert_ne!(entries().await, once, "it is a new request by now");
    }

    async fn what_was_taken_back_stays_so_for_its_key_whatever_else_came_back_since(club: TestClub) {
        club.fit_packs(1).await;
        club.adapters("A-01", 4).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let out = json!({"borrower_id": ada, "items": ["P-001", "A-01x3"]});
        let loan = quinn.post("/api/v1/hand-out", &out).await.done();
        let lines = quinn.get(loan["see"].as_str().expect("the loan")).await.done()["lines"].clone();
        let lent = |number: &str| {
            let all = lines.as_array().expect("lines");
            let line = all.iter().find(|line| line["number"] == number);
            line.expect("a line")["lent_id"].clone()
        };
        let body = json!({"items": [
            {"lent_id": lent("A-01"), "look": "nothing", "count": 2},
            {"lent_id": lent("P-001"), "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": "rested_an_hour"},
        ]});
        let first = quinn.post_once("/api/v1/take-back", &body, "a").await;
        first.done();
        let before = club.contents().await;
        let again = quinn.post_once("/api/v1/take-back", &body, "a").await;
        assert_eq!((again.status, &again.text), (200, &first.text), "only one of them is out by now");
        assert!(club.contents().await == before);
    }

    async fn a_key_that_is_none_is_refused_and_nothing_is_done(club: TestClub) {
        club.fit_packs(1).await;
        let program = club.program(club.member("Ada").await.id()).await;
        let before = club.contents().await;
        for key in ["", &"k".repeat(201)] {
            let reply = program.post_once("/api/v1/packs/P-001/condition", &json!({"seen": ["wet"]}), key).await;
            assert_eq!((reply.status, reply.kind().as_str()), (400, "unreadable"));
        }
        assert!(club.contents().await == before);
    }
}
