//! A reading that was wrong: the form starts from what it said, what was wrong with it is kept, and a danger that came of it
//! stays without speaking as if the pack still read so.

use crate::support::*;

on_both! {
    async fn a_correction_starts_from_what_the_reading_said_and_keeps_what_was_wrong_with_it(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let wrong = [("volts_line", "3.90 2.91 3.90"), ("rested", "rested_an_hour"), ("key", "wrong")];
        quinn.post("/packs/P-001/volts", &wrong).await.done();
        let readings = quinn.get("/packs/P-001/readings").await;
        let link = readings.select("a[href*='corrects=']")[0].attribute("href").to_owned();
        let page = quinn.get(&link).await;
        assert!(page.text.contains("It said 3.90 2.91 3.90 V"), "{}", page.text);
        let (_, held) = page.form("main form[action$='/volts']");
        let typed: Vec<&str> = held.iter().filter(|(name, _)| name == "volts").map(|(_, value)| value.as_str()).collect();
        assert_eq!(typed, ["3.90", "2.91", "3.90"]);
        assert!(held.contains(&("rested".to_owned(), "rested_an_hour".to_owned())));
        let right = [("volts_line", "3.90 3.91 3.90"), ("why", "read the 9 as a 2")];
        quinn.submit(&page, "main form[action$='/volts']", &right).await.done();
        let told = quinn.get("/packs/P-001").await;
        assert!(told.one(".verdict").contains("Quarantine"), "no correction lifts it");
        assert!(told.one(".verdict").contains("A reading said so and was corrected on"), "{}", told.one(".verdict"));
        assert!(told.one(".log").contains("read the 9 as a 2"), "{}", told.one(".log"));
    }

    async fn a_correction_that_is_refused_keeps_all_that_was_typed(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let readings = quinn.get("/packs/P-001/readings").await;
        let link = readings.select("a[href*='corrects=']")[0].attribute("href").to_owned();
        let page = quinn.get(&link).await;
        let refused = quinn.submit(&page, "main form[action$='/volts']", &[("volts_line", "many"), ("why", "slipped")]).await;
        assert!(refused.is_refused());
        let (_, held) = refused.form("main form[action$='/volts']");
        for pair in [("volts_line", "many"), ("why", "slipped")] {
            assert!(held.contains(&(pair.0.to_owned(), pair.1.to_owned())), "{pair:?} in {held:?}");
        }
    }
}
