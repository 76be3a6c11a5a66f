//! What is sent about things that go out and come back is never passed over: it is done, or refused under the name of the
//! field that was sent; and a request is done as a whole or not at all, danger alone excepted.

use super::program::*;
use crate::support::*;
use serde_json::{Value, json};
use uuid::Uuid;

const RESTED: &str = "rested_an_hour";

/// Fields that the answer names, in order.
pub fn named(reply: &Reply) -> Vec<String> {
    let told = reply.json();
    let problems = told["problems"].as_array().expect("problems");
    let fields = problems
        .iter()
        .map(|each| each["field"].as_str().expect("a field").to_owned());
    fields.collect()
}

async fn state(program: &Program, number: &str) -> Value {
    program.get(&format!("/api/v1/packs/{number}")).await.done()["pack"].clone()
}

async fn newest_mv(program: &Program, number: &str) -> Value {
    let path = format!("/api/v1/packs/{number}/readings");
    program.get(&path).await.done()["readings"][0]["volts"]["cells_mv"].clone()
}

/// Lends these to Ada; the ids of their lines, by number.
async fn lent(quinn: &Program, ada: Uuid, items: &[&str]) -> Vec<(String, Value)> {
    let body = json!({"borrower_id": ada, "items": items});
    let loan = quinn.post("/api/v1/hand-out", &body).await.done();
    let loan = quinn.get(loan["see"].as_str().expect("the loan")).await;
    let loan = loan.done();
    let lines = loan["lines"].as_array().expect("lines").iter();
    let pair = |line: &Value| {
        let number = line["number"].as_str().expect("a number").to_owned();
        (number, line["lent_id"].clone())
    };
    lines.map(pair).collect()
}

fn line_of(lines: &[(String, Value)], number: &str) -> Value {
    let found = lines.iter().find(|(of, _)| of == number);
    found.expect("a line").1.clone()
}

/// A supply on the club's shelf.
async fn supply(quinn: &Program) -> String {
    let spec =
        json!({"kind": "supply", "gives": "dc", "mv": 12_000, "mw": 60_000, "connector": "xt60"});
    let see = quinn.post("/api/v1/kit/new", &kit(&spec)).await;
    let see = see.done();
    let kit = quinn.get(see["see"].as_str().expect("the kit")).await;
    kit.done()["number"].as_str().expect("a number").to_owned()
}

fn kit(spec: &Value) -> Value {
    json!({"name": "", "maker": "", "notes": "", "place_id": null, "spec": spec})
}

on_both! {
    async fn volts_read_while_handing_out_count_however_the_number_is_written(club: TestClub) {
        club.fit_packs(5).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        for (writing, number) in [("1", "P-001"), ("p2", "P-002"), ("P-3", "P-003"), ("P004", "P-004"), (" P-005 ", "P-005")] {
            let volts = json!([{"number": writing, "volts_mv": [1200, 3800, 3800]}]);
            let body = json!({"borrower_id": ada, "items": [number], "volts_now": volts, "rested": RESTED});
            let reply = quinn.post("/api/v1/hand-out", &body).await;
            assert_eq!((reply.status, reply.kind().as_str()), (409, "refused"), "{writing}: {}", reply.text);
            assert_eq!(reply.json()["stored"], json!([number]), "{writing}");
            assert_eq!(state(&quinn, number).await["state"], "quarantine", "{writing}");
        }
    }

    async fn volts_read_on_a_pack_that_was_scanned_count(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let code = club.find("SELECT code FROM label").await.remove(0);
        let program = club.program(quinn.id()).await;
        let scanned = format!("http://{HOST}/t/{code}");
        let volts = json!([{"number": scanned, "volts_mv": [1200, 3800, 3800]}]);
        let body = json!({"borrower_id": quinn.id(), "items": [scanned], "volts_now": volts, "rested": RESTED});
        let reply = program.post("/api/v1/hand-out", &body).await;
        assert_eq!(reply.json()["stored"], json!(["P-001"]), "{}", reply.text);
    }

    async fn volts_of_no_pack_or_of_one_pack_twice_are_refused_and_danger_among_them_is_kept(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let good = json!([3820, 3810, 3820]);
        let body = json!({"borrower_id": ada, "items": ["1"], "rested": RESTED, "volts_now": [
            {"number": "P-001", "volts_mv": good},
            {"number": "P-9999", "volts_mv": good},
            {"number": "1", "volts_mv": [1200, 3800, 3800]},
            {"number": "1-2", "volts_mv": good},
        ]});
        let reply = quinn.post("/api/v1/hand-out", &body).await;
        assert_eq!((reply.status, reply.kind().as_str()), (422, "put-right"), "{}", reply.text);
        assert_eq!(named(&reply), ["volts_now[1].number", "volts_now[2].number", "volts_now[3].number"]);
        assert_eq!(reply.json()["stored"], json!(["P-001"]));
        assert_eq!(state(&quinn, "P-001").await["state"], "quarantine");
        assert!(club.ids("loan").await.is_empty(), "nothing was handed out");
        let nothing = json!({"borrower_id": ada, "items": ["2"], "volts_now": [{"number": "2", "volts_mv": []}]});
        assert_eq!(named(&quinn.post("/api/v1/hand-out", &nothing).await), ["volts_now[0].volts_mv"]);
    }

    async fn a_pack_that_was_looked_at_is_known_however_its_number_is_written(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        lent(&quinn, ada, &["P-001"]).await;
        let volts = json!([{"number": "1", "volts_mv": [3820, 3810, 3820], "is_looked_at": true}]);
        let body = json!({"borrower_id": ada, "items": ["1"], "volts_now": volts, "rested": RESTED});
        quinn.post("/api/v1/hand-out", &body).await.done();
        let volts = json!([{"number": "1", "volts_mv": [3820, 3810, 3820]}]);
        let body = json!({"borrower_id": ada, "items": ["1"], "volts_now": volts, "rested": RESTED});
        assert_eq!(named(&quinn.post("/api/v1/hand-out", &body).await), ["volts_now[0].volts_mv"]);
    }

    async fn volts_that_a_member_sends_with_a_hand_out_are_refused(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.borrower("Ada").await.id();
        let program = club.program(ada).await;
        let volts = json!([{"number": "P-001", "volts_mv": [1200, 3800, 3800]}]);
        let body = json!({"borrower_id": ada, "items": ["P-001"], "volts_now": volts, "rested": RESTED});
        let reply = program.post("/api/v1/hand-out", &body).await;
        assert_eq!((reply.status, named(&reply)), (422, vec!["volts_now".to_owned()]), "{}", reply.text);
        assert!(club.ids("loan").await.is_empty());
    }

    async fn what_a_thing_that_comes_back_has_no_place_for_is_refused_by_its_name(club: TestClub) {
        club.fit_packs(2).await;
        club.adapters("A-01", 4).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let supply = supply(&quinn).await;
        let ada = club.borrower("Ada").await.id();
        let lines = lent(&quinn, ada, &["P-001", "P-002", "A-01x3", &supply]).await;
        let line = |number: &str| line_of(&lines, number);
        let smoke = json!({"seen": ["smoke_or_fire"], "crash": "dont_know", "own_words": "plug melted"});
        let place = sandbucket::ids::new_id();
        let volts = json!([3820, 3810, 3820]);
        let wrong = [
            (json!({"lent_id": line(&supply), "look": "wrong", "condition": smoke}), vec!["condition.seen", "condition.crash", "condition.own_words"]),
            (json!({"lent_id": line("A-01"), "look": "nothing", "volts_mv": volts, "unread": "no", "rested": RESTED, "is_confirmed": true, "place_id": place}),
                vec!["volts_mv", "unread", "rested", "is_confirmed", "place_id"]),
            (json!({"lent_id": line(&supply), "look": "nothing", "count": 1, "to_mend": 1}), vec!["count", "to_mend"]),
            (json!({"lent_id": line("P-001"), "look": "nothing", "kit_words": "it is swollen", "count": 1, "to_mend": 1, "volts_mv": volts, "rested": RESTED}),
                vec!["kit_words", "count", "to_mend"]),
            (json!({"lent_id": sandbucket::ids::new_id(), "look": "wrong", "condition": {"seen": ["swollen"]}}), vec!["lent_id"]),
            (json!({"lent_id": line("P-001"), "look": "still_out", "volts_mv": [1200, 3800, 3800], "rested": RESTED}), vec!["volts_mv", "rested"]),
        ];
        let good = json!({"lent_id": line("P-002"), "look": "nothing", "volts_mv": volts, "rested": RESTED});
        let before = club.contents().await;
        for (item, fields) in wrong {
            let reply = quinn.post("/api/v1/take-back", &json!({"items": [good, item]})).await;
            assert_eq!((reply.status, reply.kind().as_str()), (422, "put-right"), "{item}: {}", reply.text);
            let fields: Vec<String> = fields.iter().map(|field| format!("items[1].{field}")).collect();
            assert_eq!(named(&reply), fields, "{item}");
            assert!(club.contents().await == before, "{item} left something");
        }
    }

    async fn a_line_that_comes_twice_is_refused_and_what_is_dangerous_in_it_stored(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let line = line_of(&lent(&quinn, ada, &["P-001"]).await, "P-001");
        let body = json!({"items": [
            {"lent_id": line, "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": RESTED},
            {"lent_id": line, "look": "nothing", "volts_mv": [1200, 3810, 3820], "rested": RESTED},
        ]});
        let reply = quinn.post("/api/v1/take-back", &body).await;
        assert_eq!((reply.status, named(&reply)), (422, vec!["items[1].lent_id".to_owned()]), "{}", reply.text);
        assert_eq!(reply.json()["stored"], json!(["P-001"]));
        assert_eq!(state(&quinn, "P-001").await["state"], "quarantine");
        assert_eq!(newest_mv(&quinn, "P-001").await, json!([1200, 3810, 3820]));
    }

    async fn who_brings_back_alone_is_refused_what_their_thing_has_no_place_for(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let supply = supply(&quinn).await;
        let ada = club.borrower("Ada").await.id();
        let lines = lent(&quinn, ada, &["P-001", &supply]).await;
        let program = club.program(ada).await;
        let before = club.contents().await;
        for (number, body, fields) in [
            (supply.as_str(), json!({"look": "wrong", "condition": {"seen": ["smoke_or_fire"]}}), vec!["condition.seen"]),
            (&supply, json!({"look": "nothing", "count": 2}), vec!["count"]),
            ("P-001", json!({"look": "nothing", "kit_words": "it is swollen", "count": 1}), vec!["kit_words", "count"]),
        ] {
            let line = line_of(&lines, number);
            let path = format!("/api/v1/mine/{}/bring-back", line.as_str().expect("an id"));
            let reply = program.post(&path, &body).await;
            assert_eq!(reply.status, 422, "{}", reply.text);
            assert_eq!(named(&reply), fields);
            assert!(club.contents().await == before, "{body} left something");
        }
    }

    async fn a_take_back_that_is_refused_booked_nothing_in(club: TestClub) {
        club.fit_packs(2).await;
        club.adapters("A-01", 4).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let lines = lent(&quinn, ada, &["P-001", "P-002", "A-01x2"]).await;
        let line = |number: &str| line_of(&lines, number);
        let volts = json!([3820, 3810, 3820]);
        let adapter = json!({"lent_id": line("A-01"), "look": "nothing", "count": 1});
        let other = json!({"lent_id": line("P-002"), "look": "nothing", "volts_mv": volts, "rested": RESTED});
        let before = club.contents().await;
        let nowhere = sandbucket::ids::new_id();
        for (pack, field) in [
            (json!({"volts_mv": volts}), "rested"),
            (json!({"volts_mv": [-5, 3810, 3820], "rested": RESTED}), "volts_mv"),
            (json!({}), "volts_mv"),
            (json!({"volts_mv": volts, "rested": RESTED, "place_id": nowhere}), "place_id"),
        ] {
            let mut pack = pack;
            pack["lent_id"] = line("P-001");
            pack["look"] = json!("nothing");
            let body = json!({"items": [adapter, pack, other]});
            let reply = quinn.post_once("/api/v1/take-back", &body, field).await;
            assert_eq!((reply.status, reply.kind().as_str()), (422, "put-right"), "{}", reply.text);
            assert_eq!(named(&reply), [format!("items[1].{field}")]);
            assert!(club.contents().await == before, "{pack} left something");
        }
        let right = json!({"lent_id": line("P-001"), "look": "nothing", "volts_mv": volts, "rested": RESTED});
        let body = json!({"items": [adapter, right, other]});
        let done = quinn.post_once("/api/v1/take-back", &body, "rested").await;
        done.done();
        let out = club.find("SELECT CAST(SUM(counted) AS TEXT) FROM lent WHERE kit_id IS NOT NULL AND closed_ms IS NULL").await;
        assert_eq!(out, ["1"], "one of the two adapters came");
        let after = club.contents().await;
        let again = quinn.post_once("/api/v1/take-back", &body, "rested").await;
        assert_eq!((again.status, &again.text), (200, &done.text));
        assert!(club.contents().await == after, "sent again it had a second effect");
    }

    async fn a_refused_take_back_tells_of_the_danger_that_it_stored(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let lines = lent(&quinn, ada, &["P-001", "P-002", "P-003"]).await;
        let line = |number: &str| line_of(&lines, number);
        let nowhere = sandbucket::ids::new_id();
        let body = json!({"items": [
            {"lent_id": line("P-001"), "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": RESTED, "place_id": nowhere},
            {"lent_id": line("P-002"), "look": "wrong", "condition": {"seen": ["swollen"]}, "volts_mv": [3820, 3810, 3820]},
            {"lent_id": line("P-003"), "look": "nothing", "volts_mv": [1200, 3810, 3820]},
        ]});
        let reply = quinn.post("/api/v1/take-back", &body).await;
        assert_eq!(reply.status, 422, "{}", reply.text);
        assert_eq!(named(&reply), ["items[0].place_id", "items[1].volts_mv"]);
        assert_eq!(reply.json()["stored"], json!(["P-002", "P-003"]));
        for number in ["P-002", "P-003"] {
            let pack = state(&quinn, number).await;
            assert_eq!((&pack["state"], &pack["is_lent"]), (&json!("quarantine"), &json!(false)), "{number}");
        }
        assert_eq!(state(&quinn, "P-001").await["is_lent"], true);
    }

    async fn what_is_back_already_is_told_and_only_danger_is_stored_of_it(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.borrower("Ada").await.id();
        let line = line_of(&lent(&quinn, ada, &["P-001"]).await, "P-001");
        let first = json!({"items": [{"lent_id": line, "look": "nothing", "unread": "no meter"}]});
        quinn.post("/api/v1/take-back", &first).await.done();
        club.later_by_minutes(1);
        let late = json!({"items": [{"lent_id": line, "look": "nothing", "volts_mv": [1200, 3810, 3820], "rested": RESTED}]});
        let fine = json!({"items": [{"lent_id": line, "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": RESTED}]});
        let told = quinn.post("/api/v1/take-back", &fine).await;
        assert_eq!((told.status, told.kind().as_str()), (409, "refused"), "{}", told.text);
        assert_eq!(told.json()["problems"][0]["field"], "items[0].lent_id");
        assert_eq!(newest_mv(&quinn, "P-001").await, Value::Null, "nothing is stored twice");
        let told = quinn.post("/api/v1/take-back", &late).await;
        assert_eq!((told.status, &told.json()["stored"]), (409, &json!(["P-001"])), "{}", told.text);
        assert_eq!(state(&quinn, "P-001").await["state"], "quarantine");
    }
}
