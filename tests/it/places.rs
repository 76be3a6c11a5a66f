//! How warm a place usually is: optional, whole degrees Celsius, told on its page, in the log, in the sheet and to programs.

use crate::support::*;
use serde_json::json;

const TABLE: [(&str, &str); 2] = [("name", "Hall table"), ("kind", "table")];

/// The address of a place that was just added with this warmth.
async fn table(quinn: &Browser, warmth: &str) -> String {
    let fields = [&TABLE[..], &[("warmth_celsius", warmth)]].concat();
    let answer = quinn.post("/places/new", &fields).await;
    answer.done().replace("?done=added", "")
}

on_both! {
    async fn how_warm_a_place_usually_is_stands_on_its_page_in_the_log_and_in_the_sheet(club: TestClub) {
        let quinn = club.quartermaster().await;
        let path = table(&quinn, "-5").await;
        let page = quinn.get(&path).await;
        assert!(page.one("dl.facts").contains("-5 °C"), "{}", page.one("dl.facts"));
        quinn.submit(&page, &format!("main form[action='{path}']"), &[("warmth_celsius", "19 °C")]).await.done();
        let page = quinn.get(&path).await;
        assert!(page.one("dl.facts").contains("19 °C"));
        assert!(page.one("main").contains("warmth: -5 °C → 19 °C"));
        let sheet = quinn.get("/places.csv").await.text;
        let heads: Vec<&str> = sheet.lines().next().expect("headings").split(',').collect();
        let row: Vec<&str> = sheet.lines().find(|line| line.starts_with("Hall table")).expect("the table").split(',').collect();
        let at = heads.iter().position(|head| *head == "Usual warmth (°C)").expect("the column");
        assert_eq!(row[at], "19");
        quinn.submit(&page, &format!("main form[action='{path}']"), &[("warmth_celsius", ""), ("key", "forgotten")]).await.done();
        let page = quinn.get(&path).await;
        assert!(!page.one("dl.facts").contains("Usually"), "it is forgotten again");
    }

    async fn a_warmth_that_is_none_is_refused_beside_its_field_and_kept_as_typed(club: TestClub) {
        let quinn = club.quartermaster().await;
        let before = club.contents().await;
        for (typed, words) in [
            ("warm", "Write whole degrees Celsius, like 21."),
            ("19.5", "Write whole degrees Celsius, like 21."),
            ("66 F", "Write whole degrees Celsius, like 21."),
            ("61", "Give whole degrees Celsius, -20 to 60; leave it empty where nobody knows."),
            ("-21", "Give whole degrees Celsius, -20 to 60; leave it empty where nobody knows."),
        ] {
            let refused = quinn.post("/places/new", &[&TABLE[..], &[("warmth_celsius", typed)]].concat()).await;
            assert_eq!(refused.problems(), [words]);
            assert_eq!(refused.select("#f-warmth_celsius")[0].attribute("value"), typed);
        }
        assert_eq!(club.contents().await, before);
    }

    async fn a_club_that_reads_fahrenheit_is_told_both_and_types_celsius_as_elsewhere(club: TestClub) {
        let quinn = club.quartermaster().await;
        let path = table(&quinn, "19").await;
        club.behind_the_back("UPDATE club SET uses_fahrenheit = TRUE").await.expect("degrees");
        let page = quinn.get(&path).await;
        assert!(page.one("dl.facts").contains("66 °F (19 °C)"), "{}", page.one("dl.facts"));
        assert!(page.one("#h-warmth_celsius").contains("-20 to 60 °C (-4 to 140 °F)"));
        assert_eq!(page.select("#f-warmth_celsius")[0].attribute("value"), "19");
    }

    async fn a_program_reads_and_sets_how_warm_a_place_usually_is(club: TestClub) {
        let program = club.program(club.quartermaster().await.id()).await;
        let sheet = |celsius: i64| json!({"name": "Van", "kind": "vehicle", "room": "", "energy_limit_mwh": null, "warmth_celsius": celsius, "extinguisher_check_due": null, "detector_check_due": null, "notes": ""});
        let see = program.post("/api/v1/places/new", &sheet(-12)).await.done()["see"].clone();
        let place = program.get(see.as_str().expect("the place")).await.done();
        assert_eq!(place["sheet"]["warmth_celsius"], json!(-12));
        let refused = program.post("/api/v1/places/new", &sheet(61)).await;
        assert_eq!(refused.status, 422, "{}", refused.text);
        assert!(refused.text.contains("\"warmth_celsius\""), "{}", refused.text);
    }
}
