//! Charging by a program: the figures of a card as numbers, its refusals as the page's, and a charge from start to end.

use super::program::*;
use super::returned::named;
use crate::support::*;
use serde_json::{Value, json};

const PLANS: &str = "/api/v1/packs/P-001/charge";
/// The fake clock stands at some time of day; a time some hours on is always ahead.
const GENTLY: &str = "?purpose=no_hurry&at=23%3A59&room_celsius=21&pack_celsius=21";

async fn plans(program: &Program, pack: &str) -> Value {
    let path = format!("/api/v1/packs/{pack}/charge{GENTLY}");
    program.get(&path).await.done()
}

/// The body that starts the best of these plans.
fn best(told: &Value) -> Value {
    let plan = &told["plans"][0];
    json!({
        "purpose": "no_hurry", "room_celsius": 21, "pack_celsius": 21, "planned_at": told["planned_at"],
        "minutes": told["minutes"], "charger": plan["charger"], "mode": plan["mode"], "current_ma": plan["current_ma"], "plan": plan["plan"],
    })
}

/// Where the charge is seen that was started by the best plan.
async fn started(program: &Program, pack: &str) -> String {
    let body = best(&plans(program, pack).await);
    let path = format!("/api/v1/packs/{pack}/charge");
    let see = program.post(&path, &body).await.done()["see"].clone();
    see.as_str().expect("the charge").to_owned()
}

on_both! {
    async fn plans_are_told_best_first_with_every_figure_of_the_card(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(2).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let told = plans(&ada, "P-001").await;
        assert_eq!((&told["no_settings"], &told["stop"], &told["refused"]), (&json!(null), &json!([]), &json!([])));
        let plan = &told["plans"][0];
        for (field, value) in [
            ("charger", json!("C-01")), ("output", json!(1)), ("supply", json!(null)), ("plugs", json!(["xt60"])),
            ("mode", json!("balance")), ("is_charge", json!(true)), ("current_ma", json!(2_200)),
            ("rate_c_ten_thousandths", json!(10_000)), ("target_mv", json!(12_600)), ("target_cell_mv", json!(4_200)),
            ("read_back", json!("3S LiPo, balance, 12.6 V, 2.2 A")),
            ("first", json!("First read what C-01 is set to: what it was left at is not known.")),
        ] {
            assert_eq!(plan[field], value, "{field}");
        }
        assert_eq!(plan["steps"].as_array().map(Vec::len), Some(3));
        assert_eq!(told["plans"][1]["charger"], "C-02");
        let kept = club.find("SELECT said FROM card_shown ORDER BY said").await;
        assert!(kept.len() == 2 && kept.iter().zip(["C-01", "C-02"]).all(|(said, charger)| said.contains(charger)), "{kept:?}");
        let one = ada.get(&format!("{PLANS}{GENTLY}&charger=c-02")).await.done();
        assert_eq!((one["plans"].as_array().map(Vec::len), &one["plans"][0]["charger"]), (Some(1), &json!("C-02")));
        let storage = ada.get(&format!("{PLANS}?purpose=storage&room_celsius=21&pack_celsius=21")).await.done();
        assert_eq!(storage["minutes"], json!(null));
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new(), "looking changes nothing");
    }

    async fn the_resistance_that_times_are_reckoned_with_is_told_with_its_day(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let told = plans(&ada, "P-001").await;
        assert_eq!((&told["cell_resistance_mohm_hundredths"], &told["cell_resistance_measured_at"]), (&json!(null), &json!(null)));
        let reading = json!({ "volts_mv": [3850, 3850, 3850], "rested": "rested_an_hour", "resistance_mohm_tenths": [36, 40, 45], "temperature_celsius": 25 });
        ada.post("/api/v1/packs/P-001/volts", &reading).await.done();
        let measured = plans(&ada, "P-001").await;
        assert_eq!(measured["cell_resistance_mohm_hundredths"], json!(403));
        assert_eq!(measured["cell_resistance_measured_at"], measured["planned_at"]);
        assert_ne!(measured["plans"][0]["most_minutes"], told["plans"][0]["most_minutes"]);
    }

    async fn a_pack_named_instead_is_not_reckoned_with_the_resistance_of_the_one_asked_for(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        for (pack, mv, tenths) in [("P-001", 3_850, vec![20; 3]), ("P-002", 4_100, vec![]), ("P-003", 4_100, vec![20; 3])] {
            let reading = json!({ "volts_mv": [mv, mv, mv], "rested": "rested_an_hour", "resistance_mohm_tenths": tenths, "temperature_celsius": 25 });
            ada.post(&format!("/api/v1/packs/{pack}/volts"), &reading).await.done();
        }
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        let by = async |pack: &str, minutes: i64| {
            let at = zone.time_words(club.now().plus_minutes(minutes)).replace(':', "%3A");
            let asked = format!("?purpose=ready_by&at={at}&room_celsius=21&pack_celsius=21");
            ada.get(&format!("/api/v1/packs/{pack}/charge{asked}")).await.done()
        };
        let mut parted = 0;
        for minutes in (6..40).step_by(2) {
            let [own, with_its_resistance] = [by("P-002", minutes).await, by("P-003", minutes).await].map(|told| told["plans"][0]["is_in_time"] == json!(true));
            let told = by("P-001", minutes).await;
            if told["plans"][0]["is_in_time"] == json!(true) {
                break;
            }
            let named = told["in_time_instead"].as_array().expect("names").contains(&json!("P-002"));
            assert_eq!(named, own, "{minutes} minutes");
            parted += usize::from(own != with_its_resistance);
        }
        assert!(parted > 0, "at no time does the resistance make a difference");
    }

    async fn what_gets_no_figure_on_the_page_gets_none_here(club: TestClub) {
        club.fit_packs(4).await;
        club.chargers(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.program(club.member("Ada").await.id()).await);
        let fresh = best(&plans(&ada, "P-001").await);
        for (pack, seen) in [("P-001", "swollen"), ("P-002", "wrap_torn")] {
            quinn.post(&format!("/packs/{pack}/condition"), &[("seen", seen)]).await.done();
        }
        for pack in ["P-001", "P-002"] {
            let told = plans(&ada, pack).await;
            assert_eq!((&told["plans"], &told["no_settings"]["log_volts_first"]), (&json!([]), &json!(false)), "{pack}");
        }
        let refused = ada.post(PLANS, &fresh).await;
        assert_eq!((refused.status, refused.kind().as_str()), (409, "refused"), "{}", refused.text);
        let cold = ada.get("/api/v1/packs/P-003/charge?purpose=storage&room_celsius=-2&pack_celsius=20").await.done();
        assert_eq!((&cold["plans"], cold["stop"].as_array().map(Vec::len)), (&json!([]), Some(1)));
        club.later_by_minutes(24 * 60 + 1);
        let old = plans(&ada, "P-003").await;
        assert_eq!((&old["plans"], &old["no_settings"]["log_volts_first"]), (&json!([]), &json!(true)));
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
    }

    async fn a_question_that_lacks_something_is_refused_under_its_name(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        for (query, field) in [
            ("?purpose=quickly&room_celsius=21&pack_celsius=21", "purpose"),
            ("?purpose=ready_by&room_celsius=21&pack_celsius=21", "at"),
            ("?purpose=storage&pack_celsius=21", "room_celsius"),
            ("?purpose=storage&room_celsius=300&pack_celsius=21", "room_celsius"),
            ("?purpose=storage&room_celsius=21&pack_celsius=-90", "pack_celsius"),
        ] {
            let reply = ada.get(&format!("{PLANS}{query}")).await;
            assert_eq!((reply.status, named(&reply)), (422, vec![field.to_owned()]), "{query}: {}", reply.text);
        }
        assert_eq!(ada.get(PLANS).await.status, 400);
        assert_eq!(ada.get(&format!("/api/v1/packs/P-404/charge{GENTLY}")).await.status, 404);
    }

    async fn a_charge_starts_as_it_was_planned_and_else_is_planned_anew(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let told = plans(&ada, "P-001").await;
        for (field, value, named_as) in [("planned_at", json!("soon"), "planned_at"), ("minutes", json!(0), "minutes"), ("minutes", json!(null), "minutes"), ("purpose", json!("quickly"), "purpose")] {
            let mut body = best(&told);
            body[field] = value;
            let reply = ada.post(PLANS, &body).await;
            assert_eq!((reply.status, named(&reply)), (422, vec![named_as.to_owned()]), "{field}: {}", reply.text);
        }
        for (field, value) in [("current_ma", json!(9_900)), ("mode", json!("charge")), ("plan", json!("C-01")), ("charger", json!("C-09")), ("planned_at", json!("2026-11-24T18:30:00Z"))] {
            let mut body = best(&told);
            body[field] = value;
            let reply = ada.post(PLANS, &body).await;
            assert_eq!((reply.status, named(&reply)), (409, vec!["charger".to_owned()]), "{field}: {}", reply.text);
        }
        let mut of_another = best(&told);
        of_another["watched_by_id"] = json!(club.member("Ben").await.id());
        assert_eq!(ada.post(PLANS, &of_another).await.status, 403);
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
        let first = ada.post_once(PLANS, &best(&told), "once").await;
        let again = ada.post_once(PLANS, &best(&told), "once").await;
        assert_eq!((first.done(), club.find("SELECT mode FROM charge").await.len()), (again.done(), 1));
        let busy = plans(&ada, "P-002").await;
        assert_eq!((&busy["plans"], &busy["refused"][0]["number"]), (&json!([]), &json!("C-01")));
        let see = first.done()["see"].clone();
        let id = see.as_str().and_then(|see| see.rsplit('/').next()).expect("an id").to_owned();
        assert_eq!(plans(&ada, "P-001").await["no_settings"]["charge_id"], json!(id));
    }

    async fn who_stays_with_a_charge_is_told_to_those_who_may_know(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada_id = club.member("Ada").await.id();
        let (ada, ben) = (club.program(ada_id).await, club.program(club.member("Ben").await.id()).await);
        let see = started(&ada, "P-001").await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        for path in ["/api/v1/charges", see.as_str()] {
            let text = ben.get(path).await.text;
            assert!(text.contains("\"P-001\"") && !text.contains("Ada") && !text.contains(&ada_id.to_string()), "{path}: {text}");
            assert!(quinn.get(path).await.text.contains("\"watched_by\":\"Ada\""), "{path}");
        }
        let own = ada.get(&see).await.done();
        assert_eq!((&own["is_watched_by_you"], &own["watched_by"]), (&json!(true), &json!("Ada")));
        assert_eq!((&own["output"], &own["is_over"], &own["ended_at"]), (&json!(1), &json!(false), &json!(null)));
        club.later_by_minutes(600);
        assert_eq!(ben.get("/api/v1/charges").await.done()["charges"][0]["is_over"], json!(true));
    }

    async fn a_charge_is_read_back_and_ended_as_on_its_page(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(2).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let (one, other) = (started(&ada, "P-001").await, started(&ada, "P-002").await);
        ada.post(&format!("{one}/read-back"), &json!({})).await.done();
        assert!(ada.get(&one).await.done()["read_back_at"].is_string());
        let end = format!("{one}/end");
        for (body, field) in [
            (json!({"outcome": ""}), "outcome"),
            (json!({"outcome": "finished", "moved_mah": -1}), "moved_mah"),
            (json!({"outcome": "finished", "volts_mv": [-1, 4_190, 4_190]}), "volts_mv"),
            (json!({"outcome": "wrong"}), "words"),
            (json!({"outcome": "finished", "moved_mah": 900}), "moved_mah"),
        ] {
            let reply = ada.post(&end, &body).await;
            assert_eq!(reply.status, 422, "{body}: {}", reply.text);
            assert_eq!(named(&reply), [field], "{body}: {}", reply.text);
        }
        // So much in no time is believed of who says that the charger shows it.
        let body = json!({"outcome": "finished", "moved_mah": 900, "is_moved_confirmed": true, "volts_mv": [4_190, 4_190, 4_200]});
        assert_eq!(ada.post(&end, &body).await.done()["see"], json!(one));
        let told = ada.get(&one).await.done();
        assert_eq!((&told["outcome"], &told["moved_mah"]), (&json!("finished"), &json!(900)));
        assert_eq!(ada.get("/api/v1/packs/P-001/readings").await.done()["readings"][0]["put_in_mah"], json!(900));
        assert_eq!(ada.post(&end, &body).await.status, 409, "it has ended");
        let wrong = json!({"outcome": "wrong", "words": "it got warm", "volts_mv": [1]});
        let first = ada.post_once(&format!("{other}/end"), &wrong, "once").await.done();
        assert_eq!(first["see"], "/api/v1/packs/P-002");
        assert_eq!(ada.post_once(&format!("{other}/end"), &wrong, "once").await.done(), first, "the same answer again");
        assert_eq!(ada.get("/api/v1/packs/P-002").await.done()["pack"]["state"], "set_aside");
        assert_eq!(ada.get("/api/v1/charges").await.done()["charges"], json!([]));
    }

    async fn degrees_of_a_program_are_celsius_whatever_the_club_types(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        club.behind_the_back("UPDATE club SET uses_fahrenheit = TRUE").await.expect("Fahrenheit");
        let ada = club.program(club.member("Ada").await.id()).await;
        assert_eq!(plans(&ada, "P-001").await["plans"][0]["current_ma"], json!(2_200));
        started(&ada, "P-001").await;
    }

    async fn where_nobody_would_be_there_at_its_end_there_is_no_plan_and_why_is_told(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        for (purpose, at) in [("no_hurry", "18:40"), ("ready_by", "18:40"), ("no_hurry", "23:59")] {
            let asked = format!("?purpose={purpose}&at={at}&room_celsius=21&pack_celsius=21");
            let told = ada.get(&format!("/api/v1/packs/P-001/charge{asked}")).await.done();
            let is_alone = (purpose, at) == ("no_hurry", "18:40");
            assert_eq!(told["plans"] == json!([]), is_alone, "{told}");
            let of_it = told["refused"].as_array().expect("refused").iter().find(|each| each["number"] == "C-01");
            let why = of_it.map_or("", |each| each["why"].as_str().unwrap_or_default());
            assert_eq!(why.starts_with("Nobody would be there when it ends: it may take "), is_alone, "{told}");
        }
    }
}
