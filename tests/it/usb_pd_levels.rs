//! USB PD levels: what a charger's data sheet tells of them, on its page and to a program, and what a card makes of that.

use crate::support::*;
use serde_json::{Value, json};

const GENTLY: &str = "?purpose=no_hurry&at=23%3A59&room=21&pack=21";

/// A charger that is fed by USB PD, with these levels typed.
fn charger(levels: &str) -> Vec<(&'static str, &str)> {
    vec![
        ("kind", "charger"),
        ("chemistries", "lipo"),
        ("cells_from", "1"),
        ("cells_to", "6"),
        ("current_min_ma", "0.1"),
        ("current_max_ma", "5"),
        ("current_step_ma", "0.1"),
        ("charge_mw", "60"),
        ("modes", "balance"),
        ("has_mah_cutoff", "yes"),
        ("has_time_cutoff", "yes"),
        ("outputs", "1"),
        ("output_connector", "xt60"),
        ("balance_connector", "jst-xh"),
        ("current_memory", "not_known"),
        ("input", "usb_pd"),
        ("input_mw", "60"),
        ("can_boost", "yes"),
        ("input_levels", levels),
    ]
}

on_both! {
    async fn a_charger_is_fed_at_a_level_it_takes_and_refused_where_none_is_offered(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        for (typed, words) in [
            ("fast", "USB PD levels: write their volts, like 9 15 20."),
            ("5", "It does not start without USB PD: give a level above 5 V."),
            ("20 9", "USB PD levels lie between 5 and 48 V: give them from low to high, each once."),
        ] {
            let refused = quinn.post("/kit/new", &charger(typed)).await;
            assert_eq!(refused.problems(), [words]);
            assert_eq!(refused.select("#f-input_levels")[0].attribute("value"), typed, "it is kept as it was typed");
        }
        let page = quinn.post("/kit/new", &charger("12 V / 20 V")).await.done().replace("?done=added", "");
        let facts = async || ada.get(&page).await.texts("main dd");
        assert!(facts().await.contains(&"12, 20 V".to_owned()), "{:?}", facts().await);
        let supply = [("kind", "supply"), ("gives", "usb_pd"), ("ports", "36 W")];
        quinn.post("/kit/new", &supply).await.done();
        let card = async || ada.get(&format!("/packs/P-001/charge{GENTLY}")).await;
        let refused = card().await;
        assert!(refused.texts("dl.set dd").is_empty());
        assert!(refused.text.contains("S-01 gives it 5, 9, 15 V there; C-01 takes USB PD at 12, 20 V."), "{}", refused.text);
        let form = quinn.get(&format!("{page}/change")).await;
        quinn.submit(&form, "main form", &[("input_levels", "9 15")]).await.done();
        let told = card().await;
        assert!(told.texts("ol.steps li")[0].starts_with("C-01 on supply S-01, port 1, 15 V"), "{:?}", told.texts("ol.steps li"));
        assert!(!told.text.contains("names no USB PD levels"));
        let form = quinn.get(&format!("{page}/change")).await;
        quinn.submit(&form, "main form", &[("input_levels", "")]).await.done();
        assert!(card().await.text.contains("Its sheet names no USB PD levels: look that it starts at 15 V."));
        assert!(facts().await.contains(&"not on record: any is reckoned with".to_owned()));
    }

    async fn a_program_reads_and_writes_the_levels_of_a_charger(club: TestClub) {
        let quinn = club.program(club.quartermaster().await.id()).await;
        let page = club.quartermaster().await.post("/kit/new", &charger("9 15")).await.done().replace("?done=added", "");
        let kit = quinn.get(&format!("/api/v1{page}")).await.done();
        let input = json!({"takes": "usb_pd", "mw": 60_000, "levels_mv": [9_000, 15_000]});
        assert_eq!(kit["spec"]["input"], input);
        let of = |levels: Value| {
            let mut spec = kit["spec"].clone();
            spec["input"]["levels_mv"] = levels;
            json!({"name": "", "maker": "", "notes": "", "place_id": null, "spec": spec})
        };
        let refused = quinn.post("/api/v1/kit/new", &of(json!([5_000]))).await;
        assert_eq!((refused.status, refused.json()["problems"][0]["field"].as_str()), (422, Some("spec.input_levels")), "{}", refused.text);
        for levels in [json!([20_000]), Value::Null] {
            let see = quinn.post("/api/v1/kit/new", &of(levels.clone())).await.done();
            let there = quinn.get(see["see"].as_str().expect("the kit")).await.done();
            assert_eq!(there["spec"]["input"]["levels_mv"], levels);
        }
    }
}
