//! When the fire extinguisher and the detector at a place are next checked: on its page, in the log, in the sheet, to programs, and
//! under what is to see to from that day on.

use crate::support::*;
use serde_json::json;

const HALL: [(&str, &str); 2] = [("name", "Hall table"), ("kind", "table")];

/// The address of a place that was just added with these days. The evening is that of 2026-11-25.
async fn hall(quinn: &Browser, days: &[(&str, &str)]) -> String {
    let answer = quinn.post("/places/new", &[&HALL[..], days].concat()).await;
    answer.done().replace("?done=added", "")
}

on_both! {
    async fn the_next_check_stands_on_the_places_page_in_the_log_and_in_the_sheet(club: TestClub) {
        let quinn = club.quartermaster().await;
        let path = hall(&quinn, &[("extinguisher_check_due", "2027-05-01")]).await;
        let page = quinn.get(&path).await;
        let facts = page.one("dl.facts");
        assert!(facts.contains("Fire extinguishernext check Sat 1 May 2027"), "{facts}");
        assert!(!facts.contains("detector"), "{facts}");
        assert_eq!(page.select("#f-extinguisher_check_due")[0].attribute("value"), "2027-05-01");
        let next = [("extinguisher_check_due", "2028-05-02"), ("detector_check_due", "2027-01-31")];
        quinn.submit(&page, &format!("main form[action='{path}']"), &next).await.done();
        let page = quinn.get(&path).await;
        assert!(page.one("dl.facts").contains("Smoke or heat detectornext check Sun 31 Jan 2027"));
        assert!(page.one("main").contains("extinguisher check due: Sat 1 May 2027 → Tue 2 May 2028"), "{}", page.one("main"));
        let sheet = quinn.get("/places.csv").await.text;
        assert!(sheet.lines().next().expect("headings").ends_with("Extinguisher check due,Detector check due"), "{sheet}");
        let row = sheet.lines().find(|line| line.starts_with("Hall table")).expect("the table");
        assert!(row.ends_with(",2028-05-02,2027-01-31"), "{row}");
    }

    async fn a_check_is_to_see_to_from_its_day_on_until_the_next_day_is_put_down(club: TestClub) {
        let quinn = club.quartermaster().await;
        let days = [("extinguisher_check_due", "2026-11-27"), ("detector_check_due", "2026-10-01")];
        let path = hall(&quinn, &days).await;
        let page = quinn.get("/to-see-to").await;
        assert_eq!(page.texts("td[data-label=Why] b"), ["Detector check"]);
        assert_eq!(page.texts("td[data-label=When]"), ["Today"], "55 days past it presses");
        assert_eq!(page.select("tbody th a")[0].attribute("href"), path);
        club.later_by_days(2);
        let page = quinn.get("/to-see-to").await;
        assert_eq!(page.texts("td[data-label=Why] b"), ["Detector check", "Extinguisher check"]);
        assert_eq!(page.texts("td[data-label=When]"), ["Today", "This week"]);
        assert!(page.text.contains("The fire extinguisher at Hall table is due to be checked today."), "{}", page.text);
        let program = club.program(quinn.id()).await;
        let told = program.get("/api/v1/to-see-to").await.json();
        assert_eq!(told["to_see_to"][1]["matter"], "extinguisher_check");
        assert_eq!(told["to_see_to"][1]["number"], "Hall table");
        let place = quinn.get(&path).await;
        let next = [("extinguisher_check_due", "2027-11-27"), ("detector_check_due", "")];
        quinn.submit(&place, &format!("main form[action='{path}']"), &next).await.done();
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
        // A place that is closed has nothing to check.
        let place = quinn.get(&path).await;
        quinn.submit(&place, &format!("main form[action='{path}']"), &days).await.done();
        assert_eq!(quinn.get("/to-see-to").await.texts("tbody th").len(), 2);
        quinn.post(&format!("{path}/close"), &[("key", "closed")]).await.done();
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
    }

    async fn a_day_that_is_none_is_refused_beside_its_field_and_kept_as_typed(club: TestClub) {
        let quinn = club.quartermaster().await;
        let before = club.contents().await;
        for field in ["extinguisher_check_due", "detector_check_due"] {
            for (typed, words) in [
                ("in May", "Give the day of the next check, like 2027-05-01, or leave it empty."),
                ("2027-02-29", "Give the day of the next check, like 2027-05-01, or leave it empty."),
                ("2126-11-25", "Give a day within 10 years."),
            ] {
                let refused = quinn.post("/places/new", &[&HALL[..], &[(field, typed)]].concat()).await;
                assert_eq!(refused.problems(), [words]);
                assert_eq!(refused.select(&format!("#f-{field}"))[0].attribute("value"), typed);
            }
        }
        assert_eq!(club.contents().await, before);
    }

    async fn a_program_reads_and_sets_the_days(club: TestClub) {
        let program = club.program(club.quartermaster().await.id()).await;
        let sheet = |day: &str| json!({"name": "Van", "kind": "vehicle", "room": "", "energy_limit_mwh": null, "warmth_celsius": null,
            "extinguisher_check_due": day, "detector_check_due": null, "notes": ""});
        let see = program.post("/api/v1/places/new", &sheet("2027-05-01")).await.done()["see"].clone();
        let place = program.get(see.as_str().expect("the place")).await.done();
        assert_eq!(place["sheet"]["extinguisher_check_due"], "2027-05-01");
        assert_eq!(place["sheet"]["detector_check_due"], json!(null));
        let refused = program.post("/api/v1/places/new", &sheet("May")).await;
        assert_eq!(refused.status, 422, "{}", refused.text);
        assert!(refused.text.contains("\"extinguisher_check_due\""), "{}", refused.text);
    }
}
