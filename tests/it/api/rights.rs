//! What the API does is what the pages do: danger is stored, rules stand, and a member reads no more than on the pages.

use crate::support::*;
use serde_json::{Value, json};

on_both! {
    async fn a_member_reads_no_holder_no_price_and_no_notes(club: TestClub) {
        club.fit_packs(2).await;
        club.behind_the_back("UPDATE pack SET price = '39.90', notes = 'from the fair'").await.expect("details");
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        quinn.post("/api/v1/hand-out", &json!({"borrower_id": ada, "items": ["P-001"]})).await.done();
        let ben = club.program(club.member("Ben").await.id()).await;
        for path in ["/api/v1/packs", "/api/v1/packs/P-001", "/api/v1/packs/P-001/history"] {
            let text = ben.get(path).await.text;
            for secret in ["Ada", "39.90", "from the fair", &ada.to_string()] {
                assert!(!text.contains(secret), "{path} tells {secret}");
            }
        }
        let pack = ben.get("/api/v1/packs/P-001").await.done();
        assert_eq!((&pack["pack"]["is_lent"], &pack["pack"]["loan"]), (&json!(true), &json!(null)));
        let seen = quinn.get("/api/v1/packs/P-001").await.done();
        assert_eq!(seen["pack"]["loan"]["holder"], "Ada");
        assert_eq!(seen["pack"]["details"]["price"], "39.90");
        let own = club.program(ada).await.get("/api/v1/packs/P-001").await.done();
        assert_eq!(own["pack"]["loan"]["due_on"], "2026-12-02");
        assert_eq!(own["pack"]["details"]["price"], json!(null));
    }

    async fn packs_are_listed_filtered_and_shown_with_their_volts(club: TestClub) {
        club.fit_packs(60).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let first = ada.get("/api/v1/packs").await.done();
        assert_eq!(first["packs"].as_array().expect("packs").len(), 50);
        assert_eq!(first["packs"][0]["volts"]["cells_mv"], json!([3820, 3810, 3820]));
        assert_eq!(first["next_page"], 1);
        let second = ada.get("/api/v1/packs?page=1").await.done();
        assert_eq!((second["packs"].as_array().expect("packs").len(), &second["next_page"]), (10, &json!(null)));
        let none = ada.get("/api/v1/packs?state=quarantine&cells_series=3").await.done();
        assert_eq!(none["packs"], json!([]));
        let wrong = ada.get("/api/v1/packs?state=great").await;
        assert_eq!((wrong.status, wrong.json()["problems"][0]["field"].as_str()), (422, Some("state")));
        assert_eq!(ada.get("/api/v1/packs?colour=red").await.status, 400);
    }

    async fn volts_are_logged_corrected_and_said_to_be_unreadable(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let path = "/api/v1/packs/P-001/volts";
        let see = quinn.post(path, &json!({"volts_mv": [3820, 3810, 3820], "rested": "rested_an_hour"})).await.done();
        assert_eq!(see["see"], "/api/v1/packs/P-001");
        let wrong = quinn.get("/api/v1/packs/P-001/readings").await.done()["readings"][0]["id"].clone();
        club.later_by_minutes(1);
        let right = json!({"volts_mv": [3850, 3840, 3850], "rested": "rested_an_hour", "corrects_id": wrong, "why": "read the wrong pack"});
        quinn.post(path, &right).await.done();
        club.later_by_minutes(1);
        quinn.post(path, &json!({"unread": "the meter is empty"})).await.done();
        let all = quinn.get("/api/v1/packs/P-001/readings").await.done();
        let all = all["readings"].as_array().expect("readings").clone();
        assert_eq!(all[0]["unread"], "the meter is empty");
        assert_eq!(all[1]["volts"]["cells_mv"], json!([3850, 3840, 3850]));
        assert_eq!((&all[1]["corrects_id"], &all[2]["is_corrected"]), (&wrong, &json!(true)));
        let both = quinn.post(path, &json!({"volts_mv": [3820], "unread": "no"})).await;
        assert_eq!((both.status, both.json()["problems"][0]["field"].as_str()), (422, Some("volts_mv")));
        let below = quinn.post(path, &json!({"volts_mv": [-5, 3820, 3820], "rested": "rested_an_hour"})).await;
        assert_eq!(below.json()["problems"][0]["detail"], "This is a whole number of millivolts, from 0 on.");
        let nothing = quinn.get("/api/v1/packs?gives_ma_min=-1").await.json();
        assert_eq!(nothing["problems"][0], json!({"field": "gives_ma_min", "detail": "This is a whole number of milliamps, from 0 on."}));
        let empty = quinn.get("/api/v1/packs?capacity_mah_min=-1").await.json();
        assert_eq!(empty["problems"][0], json!({"field": "capacity_mah_min", "detail": "This is a whole number of milliamp hours, from 0 on."}));
        let unsaid = quinn.post(path, &json!({"volts_mv": [3820, 3820, 3820]})).await;
        assert_eq!(unsaid.json()["problems"][0]["field"], "rested");
    }

    async fn a_hand_out_tells_every_rule_against_it_and_keeps_danger_read_at_the_table(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.member("Ada").await.id();
        let body = json!({
            "borrower_id": ada, "items": ["P-001", "P-002"], "rested": "rested_an_hour",
            "volts_now": [{"number": "P-002", "volts_mv": [3820, 1200, 3820]}],
        });
        let reply = quinn.post("/api/v1/hand-out", &body).await;
        assert_eq!((reply.status, reply.kind().as_str()), (409, "refused"), "{}", reply.text);
        let problems = reply.json()["problems"].as_array().expect("problems").len();
        assert!(problems >= 2, "the missing induction and the dangerous pack: {}", reply.text);
        assert_eq!(reply.json()["stored"], json!(["P-002"]));
        let pack = quinn.get("/api/v1/packs/P-002").await.done();
        assert_eq!(pack["pack"]["state"], "quarantine");
    }

    async fn a_take_back_in_one_request_sees_reads_and_keeps_danger_though_the_rest_is_refused(club: TestClub) {
        club.fit_packs(4).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let items = ["P-001", "P-002", "P-003", "P-004"];
        let loan = quinn.post("/api/v1/hand-out", &json!({"borrower_id": ada, "items": items})).await.done();
        let lines = quinn.get(loan["see"].as_str().expect("the loan")).await.done()["lines"].clone();
        let lent = |at: usize| lines[at]["lent_id"].clone();
        let refused = json!({"items": [
            {"lent_id": lent(0), "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": "rested_an_hour"},
            {"lent_id": lent(1), "look": "wrong", "condition": {"seen": ["swollen"]}},
            {"lent_id": lent(2), "look": "nothing", "volts_mv": [3820, 1200, 3820], "rested": "rested_an_hour"},
            {"lent_id": lent(3), "look": ""},
        ]});
        let reply = quinn.post("/api/v1/take-back", &refused).await;
        assert_eq!(reply.status, 422, "{}", reply.text);
        assert_eq!(reply.json()["problems"][0]["field"], "items[3].look");
        let mut stored: Vec<String> = serde_json::from_value(reply.json()["stored"].clone()).expect("numbers");
        stored.sort();
        assert_eq!(stored, ["P-002", "P-003"]);
        let state = async |number: &str| quinn.get(&format!("/api/v1/packs/{number}")).await.done()["pack"].clone();
        assert_eq!(state("P-002").await["state"], "quarantine");
        assert_eq!(state("P-003").await["state"], "quarantine");
        assert_eq!(state("P-001").await["is_lent"], true, "the rest waits to be put right");
        let good = json!({"items": [
            {"lent_id": lent(0), "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": "rested_an_hour"},
            {"lent_id": lent(3), "look": "nothing", "unread": "no meter"},
        ]});
        let done = quinn.post("/api/v1/take-back", &good).await.done();
        let lines = quinn.get(done["see"].as_str().expect("what came of it")).await.done();
        let outcomes: Vec<&str> = lines["lines"].as_array().expect("lines").iter().filter_map(|line| line["outcome"].as_str()).collect();
        assert_eq!(outcomes, ["back", "back"]);
        assert_eq!(state("P-001").await["state"], "fit");
    }

    async fn what_is_seen_under_a_mistyped_code_is_refused_and_never_taken_for_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let before = club.contents().await;
        for body in [json!({"seen": ["swolen"]}), json!({"seen": ["nothing", "smoke"]}), json!({"seen": ["wet"], "crash": "yes"})] {
            let reply = ada.post("/api/v1/packs/P-001/condition", &body).await;
            assert_eq!((reply.status, reply.kind().as_str()), (422, "put-right"), "{}", reply.text);
        }
        assert!(club.contents().await == before);
    }

    async fn kit_is_added_from_the_data_sheet_it_shows(club: TestClub) {
        let quinn = club.program(club.quartermaster().await.id()).await;
        let sheet = json!({"kind": "adapter", "from": "xt60", "to": "xt30", "rated_ma": 12_000});
        let of = |spec: &Value| json!({"name": "", "maker": "", "notes": "", "place_id": null, "owned_count": 4, "spec": spec});
        let see = quinn.post("/api/v1/kit/new", &of(&sheet)).await.done();
        let kit = quinn.get(see["see"].as_str().expect("the kit")).await.done();
        assert_eq!((&kit["spec"], &kit["owned_count"], &kit["number"]), (&sheet, &json!(4), &json!("A-01")));
        let wrong = json!({"kind": "adapter", "from": "xt60", "to": "xt30", "rated_ma": 0});
        let reply = quinn.post("/api/v1/kit/new", &of(&wrong)).await;
        assert_eq!((reply.status, reply.json()["problems"][0]["field"].as_str()), (422, Some("spec.rated_ma")));
    }
}
