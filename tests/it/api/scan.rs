//! What a scanned label tells a program: what its page tells whoever is signed in, no more and no less often.

use crate::support::*;
use serde_json::json;

async fn labelled(club: &TestClub, count: usize) -> Vec<String> {
    club.fit_packs(count).await;
    let quinn = club.quartermaster().await;
    for number in 1..=count {
        let path = format!("/packs/P-{number:03}/label");
        quinn.post(&path, &[("what", "make")]).await.done();
    }
    club.find("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id ORDER BY k.number_key")
        .await
}

on_both! {
    async fn a_label_tells_its_pack_what_may_be_done_and_how_it_is_charged(club: TestClub) {
        let codes = labelled(&club, 2).await;
        let (quinn, ada) = (club.program(club.quartermaster().await.id()).await, club.borrower("Ada").await.id());
        let address = format!("/api/v1/t/{}", codes[0]);
        let told = quinn.get(&address).await.done();
        assert_eq!(told["pack"], quinn.get("/api/v1/packs/P-001").await.done()["pack"]);
        assert_eq!(told["may"], json!({"borrow": true, "take_back_lent_id": null, "bring_back_lent_id": null, "log_volts": true, "report": true}));
        let charge = &told["charge"];
        assert_eq!((&charge["current_ma"], &charge["rate_c_tenths"], &charge["is_by_label"]), (&json!(2_200), &json!(10), &json!(false)));
        assert_eq!((&charge["from_celsius"], &charge["to_celsius"], &charge["log_volts_first"]), (&json!(0), &json!(45), &json!(false)));
        let page = club.quartermaster().await.get(&format!("/t/{}", codes[0])).await.one("dl.set");
        let time = &charge["time"];
        let words = format!("about {} to {} minutes", time["least_minutes"], time["most_minutes"]);
        assert!(page.contains(&words) && page.contains("2.2 A"), "{page}");
        assert_eq!(time["from_mv"], 3_816);
        quinn.post("/api/v1/hand-out", &json!({"borrower_id": ada, "items": ["P-001"]})).await.done();
        let of = async |id| club.program(id).await.get(&address).await.done();
        let hers = of(ada).await;
        let lent = &hers["pack"]["loan"]["lent_id"];
        assert_eq!((&hers["may"]["bring_back_lent_id"], &hers["may"]["borrow"], &hers["charge"]["log_volts_first"]), (lent, &json!(false), &json!(true)));
        assert_eq!(hers["charge"]["time"], json!(null), "she may have used it since");
        let his = of(club.member("Ben").await.id()).await;
        assert_eq!((&his["may"]["bring_back_lent_id"], &his["pack"]["loan"]), (&json!(null), &json!(null)));
        assert_eq!(&quinn.get(&address).await.done()["may"]["take_back_lent_id"], lent);
        quinn.post("/api/v1/packs/P-002/condition", &json!({"seen": ["swollen"]})).await.done();
        let bad = quinn.get(&format!("/api/v1/t/{}", codes[1])).await.done();
        assert_eq!((&bad["charge"], &bad["may"]["log_volts"], &bad["may"]["borrow"]), (&json!(null), &json!(false), &json!(false)));
    }

    async fn unknown_revoked_and_mistyped_labels_answer_alike_and_share_the_pages_limit(club: TestClub) {
        let code = labelled(&club, 2).await.remove(0);
        let quinn = club.quartermaster().await;
        let program = club.program(quinn.id()).await;
        program.post("/api/v1/packs/P-001/label", &json!({"what": "revoke"})).await.done();
        let mistyped = format!("{}{}", &code[..25], if code.ends_with('0') { '1' } else { '0' });
        let mut answers = Vec::new();
        for asked in [code.as_str(), &mistyped, "P-001", "x", &"a".repeat(500)] {
            let reply = program.get(&format!("/api/v1/t/{asked}")).await;
            let told = reply.json();
            answers.push((reply.status, told["type"].clone(), told["detail"].clone()));
        }
        answers.dedup();
        assert_eq!(answers.len(), 1, "{answers:?}");
        assert_eq!(answers[0].0, 404);
        let mut missed = 5;
        while quinn.get(&format!("/t/{mistyped}")).await.status == 404 {
            missed += 1;
            assert!(missed < 100, "there is no limit");
        }
        let refused = program.get(&format!("/api/v1/t/{mistyped}")).await;
        assert_eq!((refused.status, refused.kind().as_str()), (429, "too-often"));
        let good = club.find("SELECT code FROM label WHERE ended_ms IS NULL").await.remove(0);
        program.get(&format!("/api/v1/t/{good}")).await.done();
    }

    async fn whoever_moves_packs_is_told_of_a_place_that_holds_too_much_since(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let place = |name: &str, limit: i64| json!({"name": name, "kind": "box", "room": "Hall", "energy_limit_mwh": limit, "warmth_celsius": null, "extinguisher_check_due": null, "detector_check_due": null, "notes": ""});
        let id_of = async |name: &str, limit| {
            let see = quinn.post("/api/v1/places/new", &place(name, limit)).await.done()["see"].clone();
            see.as_str().and_then(|see| see.rsplit('/').next()).expect("an id").to_owned()
        };
        let (small, large) = (id_of("Small", 30_000).await, id_of("Large", 900_000).await);
        let put = async |number: &str, place: &str, key: &str| {
            let body = json!({"maker": "", "batch": "", "supplier": "", "price": "", "notes": "", "acquired_on": null, "first_used_on": null, "place_id": place});
            quinn.post_once(&format!("/api/v1/packs/{number}/details"), &body, key).await
        };
        assert_eq!(put("P-001", &large, "1").await.done()["place_over_limit"], json!(null));
        assert_eq!(put("P-001", &small, "2").await.done()["place_over_limit"], json!(null), "24.4 Wh of 30");
        let over = put("P-002", &small, "3").await;
        assert_eq!(over.done(), json!({"see": "/api/v1/packs/P-002", "place_over_limit": small}));
        assert_eq!(put("P-002", &small, "3").await.text, over.text, "the same answer again");
        let ada = club.borrower("Ada").await.id();
        let loan = quinn.post("/api/v1/hand-out", &json!({"borrower_id": ada, "items": ["P-003"]})).await.done();
        let lines = quinn.get(loan["see"].as_str().expect("the loan")).await.done();
        let back = json!({"items": [{"lent_id": lines["lines"][0]["lent_id"], "look": "nothing", "volts_mv": [3820, 3810, 3820], "rested": "rested_an_hour", "place_id": small}]});
        assert_eq!(quinn.post("/api/v1/take-back", &back).await.done()["place_over_limit"], json!(small));
    }
}
