//! What was typed wrong, what a rule stands against and what is not for this person are told apart; and what the pages guard
//! by what they show is guarded here by what the program says it saw.

use super::program::*;
use super::returned::named;
use crate::support::*;
use sandbucket::club::limits::ClubLimits;
use serde_json::json;

fn is_by(reply: &Reply, status: u16, kind: &str) {
    assert_eq!(
        (reply.status, reply.kind().as_str()),
        (status, kind),
        "{}",
        reply.text
    );
}

/// A cable or such, of its own number: its address.
async fn adapters(quinn: &Program) -> String {
    let spec = json!({"kind": "adapter", "from": "xt60", "to": "xt30", "rated_ma": 12_000});
    let body = json!({"name": "", "maker": "", "notes": "", "place_id": null, "owned_count": 4, "spec": spec});
    let see = quinn.post("/api/v1/kit/new", &body).await.done();
    see["see"].as_str().expect("the kit").to_owned()
}

on_both! {
    async fn what_a_rule_stands_against_is_told_as_such_and_of_the_whole(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await.id();
        let program = club.program(quinn).await;
        let ada = club.borrower("Ada").await.id();
        let out = json!({"borrower_id": ada, "items": ["P-001"]});
        program.post("/api/v1/hand-out", &out).await.done();
        let lost = program.post("/api/v1/packs/P-001/way-out", &json!({"way": "retire", "reason": "old"})).await;
        is_by(&lost, 409, "refused");
        let why = program.post("/api/v1/packs/P-002/way-out", &json!({"way": "retire", "reason": ""})).await;
        is_by(&why, 422, "put-right");
        program.post("/api/v1/packs/P-002/condition", &json!({"seen": ["wet"]})).await.done();
        let own = program.post("/api/v1/packs/P-002/release", &json!({"reason": "dry"})).await;
        is_by(&own, 409, "refused");
        let hall = json!({"name": "Hall table", "kind": "table", "room": "", "energy_limit_mwh": null, "warmth_celsius": null, "extinguisher_check_due": null, "detector_check_due": null, "notes": ""});
        let hall = program.post("/api/v1/places/new", &hall).await.done();
        let place = program.get(hall["see"].as_str().expect("the place")).await.done()["id"].clone();
        let night = json!({"place_id": place, "on_duty_id": quinn, "ends_on": "2026-11-25", "ends_at": "23:00"});
        program.post("/api/v1/night", &night).await.done();
        let twice = program.post("/api/v1/night", &night).await;
        is_by(&twice, 409, "refused");
        let kit = adapters(&program).await;
        let mend = json!({"aside_count": 0, "words": "new plug"});
        is_by(&program.post(&format!("{kit}/mend"), &mend).await, 409, "refused");
        let reading = program.get("/api/v1/packs/P-003/readings").await.done()["readings"][0]["id"].clone();
        club.later_by_minutes(1);
        let correct = json!({"volts_mv": [3850, 3840, 3850], "rested": "rested_an_hour", "corrects_id": reading, "why": "misread"});
        program.post("/api/v1/packs/P-003/volts", &correct).await.done();
        let twice = program.post("/api/v1/packs/P-003/volts", &correct).await;
        is_by(&twice, 409, "refused");
        assert_eq!(named(&twice), ["corrects_id"]);
    }

    async fn what_is_not_for_this_person_is_told_as_such(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        club.second_quartermaster().await;
        let can_sign_in = "UPDATE person SET password_hash = 'none' WHERE is_quartermaster OR is_organiser";
        club.behind_the_back(can_sign_in).await.expect("two quartermasters");
        quinn.post("/api/v1/packs/P-001/condition", &json!({"seen": ["wet"]})).await.done();
        club.later_by_minutes(1);
        let volts = json!({"volts_mv": [3820, 3810, 3820], "rested": "rested_an_hour"});
        quinn.post("/api/v1/packs/P-001/volts", &volts).await.done();
        let olive = club.program(club.organiser().await.id()).await;
        let release = olive.post("/api/v1/packs/P-001/release", &json!({"reason": "dry"})).await;
        is_by(&release, 403, "not-yours");
        let ben = club.borrower("Ben").await.id();
        let ada = club.program(club.borrower("Ada").await.id()).await;
        let out = json!({"borrower_id": ben, "items": ["P-001"]});
        is_by(&ada.post("/api/v1/hand-out", &out).await, 403, "not-yours");
    }

    async fn nobody_answers_for_kit_that_they_did_not_see(club: TestClub) {
        let quinn = club.program(club.quartermaster().await.id()).await;
        let kit = adapters(&quinn).await;
        club.behind_the_back("UPDATE kit SET unchecked_count = 2").await.expect("unchecked");
        let before = club.contents().await;
        let unsaid = quinn.post(&format!("{kit}/looked-over"), &json!({"wrong": ""})).await;
        is_by(&unsaid, 422, "put-right");
        let one = quinn.post(&format!("{kit}/looked-over"), &json!({"wrong": "", "unchecked_count": 1})).await;
        is_by(&one, 409, "refused");
        assert_eq!(named(&one), ["unchecked_count"]);
        assert!(club.contents().await == before);
        quinn.post(&format!("{kit}/looked-over"), &json!({"wrong": "", "unchecked_count": 2})).await.done();
        quinn.post(&format!("{kit}/set-aside"), &json!({"why": "a bent pin", "count": 3})).await.done();
        let two = quinn.post(&format!("{kit}/mend"), &json!({"words": "new plug", "aside_count": 2})).await;
        is_by(&two, 409, "refused");
        assert_eq!(named(&two), ["aside_count"]);
        quinn.post(&format!("{kit}/mend"), &json!({"words": "new plug", "aside_count": 3})).await.done();
        assert_eq!(quinn.get(&kit).await.done()["aside_count"], 0);
    }

    async fn a_pack_is_not_known_by_age_since_its_reading_grew_too_old(club: TestClub) {
        club.fit_packs(1).await;
        let read = club.now();
        let days = ClubLimits::default().reading_days;
        club.later_by_days(days + 5);
        let later = club.program(club.quartermaster().await.id()).await;
        let pack = later.get("/api/v1/packs/P-001").await.done()["pack"].clone();
        assert_eq!(pack["state"], "not_known", "{pack}");
        let since = pack["state_since"].as_str().expect("an instant");
        let grew_old = jiff::Timestamp::from_millisecond(read.plus_days(days).ms()).expect("an instant");
        assert_eq!(since, grew_old.to_string());
    }

    async fn beside_a_danger_no_lesser_finding_says_what_to_do(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        quinn.post("/api/v1/packs/P-001/condition", &json!({"seen": ["swollen", "wrap_torn"]})).await.done();
        let findings = quinn.get("/api/v1/packs/P-001").await.done()["findings"].clone();
        let next = |rule: &str| {
            let all = findings.as_array().expect("findings");
            let one = all.iter().find(|found| found["rule"] == rule).expect("a finding");
            one["next"].as_str().expect("a text").to_owned()
        };
        assert_eq!(next("wrap_torn"), "");
        assert!(!next("swollen").is_empty(), "{findings}");
    }
}
