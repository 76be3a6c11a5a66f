//! That a pack which a pool would set aside for its spread gets no settings here either, but for the balance that is asked of it.

use super::*;

fn apart(cells: &[f64]) -> Value {
    and(
        with("/pack/cell_volts", json!(cells)),
        "/pack/label_charge_c",
        json!(5),
    )
}

fn whats(told: &Value) -> Vec<String> {
    let cautions = told["plans"][0]["cautions"].as_array().expect("cautions");
    let what = |each: &Value| each["what"].as_str().expect("a code").to_owned();
    cautions.iter().map(what).collect()
}

#[test]
fn cells_further_apart_than_any_reason_lends_stop_every_plan() {
    for cells in [[3.1, 4.1, 4.1], [3.6, 3.9, 3.9], [3.7, 3.901, 3.8]] {
        for purpose in [
            json!({"there_minutes": 240}),
            json!({"ready_by_minutes": 20}),
            json!("storage"),
            json!("empty"),
        ] {
            let told = told(&and(apart(&cells), "/purpose", purpose.clone()));
            assert_eq!(told["answer"], "stop", "{cells:?} {purpose}");
            assert_eq!(told["plans"], json!([]));
            let why = told["why"][0].as_str().expect("why");
            assert!(why.contains("out of service"), "{why}");
        }
    }
    let low = told(&apart(&[2.9, 4.1, 4.1]));
    assert_eq!(low["why"].as_array().map(Vec::len), Some(2));
    assert!(
        low["why"][0]
            .as_str()
            .is_some_and(|why| why.starts_with("Cell 1 reads 2.90 V"))
    );
}

#[test]
fn a_wide_spread_is_balanced_at_the_usual_rate_and_nothing_else() {
    let wide = apart(&[3.70, 3.85, 3.85]);
    let hasty = told(&and(
        wide.clone(),
        "/purpose",
        json!({"ready_by_minutes": 10}),
    ));
    let plan = &hasty["plans"][0];
    assert_eq!(
        (plan["mode"].clone(), plan["balanced"].clone()),
        (json!("balance"), json!(true))
    );
    // 450 mAh at 1C, by the charger's steps of 100 mA, though its label and the club would allow 2C.
    assert_eq!(plan["current_ma"], 400);
    assert_eq!(whats(&hasty)[0], "spread_wide");
    let words = plan["told"]["cautions"][0].as_str().expect("words");
    assert_eq!(
        words,
        "Cell 3 and cell 1 are 0.15 V apart; the limit is 0.10 V. Balance it, let it rest and log the cells again."
    );
    for purpose in ["storage", "empty"] {
        let told = told(&and(wide.clone(), "/purpose", json!(purpose)));
        assert_eq!(told["answer"], "stop", "{purpose}");
    }
    let lead = and(wide, "/pack/chemistry", json!("pb"));
    let lead = and(lead, "/pack/cell_volts", json!([2.05, 2.2, 2.2]));
    assert_eq!(told(&lead)["answer"], "stop", "no charger balances lead");
}

#[test]
fn a_spread_that_is_a_caution_is_told_and_a_small_or_unrested_one_is_not() {
    let of_spread = |given: &Value| {
        let mut all = whats(&told(given));
        all.retain(|what| what.starts_with("spread"));
        all
    };
    assert_eq!(of_spread(&apart(&[3.80, 3.86, 3.80])), ["spread_watch"]);
    assert!(of_spread(&apart(&[3.80, 3.83, 3.80])).is_empty());
    let unrested = and(apart(&[3.70, 3.85, 3.85]), "/pack/rested", json!(false));
    assert!(of_spread(&unrested).is_empty());
    // More than rest explains is balanced, and more than 0.20 V never.
    let just_used = |cells: &[f64]| told(&and(apart(cells), "/pack/rested", json!(false)));
    assert_ne!(just_used(&[3.65, 3.85, 3.85])["answer"], "stop");
    assert_eq!(just_used(&[3.62, 3.85, 3.85])["answer"], "stop");
}

#[test]
fn whatever_a_verdict_sets_aside_for_its_spread_is_planned_at_most_with_balance() {
    for low_mv in (3_500..=3_900).step_by(7) {
        let cells = [3.9, f64::from(low_mv) / 1_000.0, 3.9];
        let reading = json!({"days_ago": 0, "cell_volts": cells, "rested_minutes": 15});
        let judged = json!({"pack": {"chemistry": "lipo", "cells": 3, "capacity_mah": 450}, "readings": [reading]});
        let judged = answered(Calculation::Verdict, &judged).expect("a verdict");
        if judged["state"] == "set_aside" {
            let told = told(&apart(&cells));
            let is_balanced = told["plans"][0]["mode"] == "balance";
            assert!(told["answer"] == "stop" || is_balanced, "{cells:?} {told}");
            assert!(told["answer"] == "stop" || whats(&told).contains(&"spread_wide".to_owned()));
        }
    }
}
