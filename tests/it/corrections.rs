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
        let right = [("volts", "3.90"), ("volts", "3.91"), ("volts", "3.90"), ("why", "read the 9 as a 2")];
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

    async fn what_was_last_read_is_put_right_though_what_came_since_was_put_right_as_not_read(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(10);
        log(&quinn, &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")]).await;
        let older = newest_to_correct(&quinn).await;
        club.later_by_minutes(10);
        log(&quinn, &[("volts_line", "3.80 3.80 3.80"), ("rested", "rested_an_hour")]).await;
        let page = quinn.get(&newest_to_correct(&quinn).await).await;
        let blank = ("volts", "");
        let unread = [blank, blank, blank, ("unread", "that was P-002, this one was not read")];
        quinn.submit(&page, "main form[action$='/volts']", &unread).await.done();
        let last = || club.find("SELECT last_volts FROM pack");
        assert_eq!(last().await, ["c:3820,3810,3820"]);
        let page = quinn.get(&older).await;
        let right = [("volts", "4.18"), ("volts", "4.18"), ("volts", "4.18"), ("why", "read a 4 as a 3")];
        quinn.submit(&page, "main form[action$='/volts']", &right).await.done();
        assert_eq!(last().await, ["c:4180,4180,4180"], "it lies full, and not in its band");
        assert!(quinn.get("/packs/P-001").await.one("main").contains("Above its band"));
    }

    async fn a_reading_that_was_corrected_away_releases_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        club.later_by_minutes(10);
        log(&quinn, &[("volts_line", "3.82 2.80 3.82"), ("rested", "rested_an_hour")]).await;
        club.later_by_minutes(10);
        log(&rosa, &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")]).await;
        let newest = club.find("SELECT volts FROM reading ORDER BY taken_ms DESC, id DESC LIMIT 1").await;
        let page = quinn.get(&newest_to_correct(&quinn).await).await;
        let blank = ("volts", "");
        let unread = [blank, blank, blank, ("unread", "that was P-002, this one was not read")];
        let answer = quinn.submit(&page, "main form[action$='/volts']", &unread).await;
        answer.done();
        assert_ne!(newest, club.find("SELECT COALESCE(volts, 'none') FROM reading ORDER BY taken_ms DESC, id DESC LIMIT 1").await);
        club.watches_are_over().await;
        let page = rosa.get("/packs/P-001").await;
        let refused = rosa.submit(&page, "form[action$='/release']", &[("release_reason", "it is fine now")]).await;
        assert!(refused.problems()[0].contains("were not logged since"), "{:?}", refused.problems());
        assert!(refused.one(".verdict").contains("Quarantine"));
    }

    async fn volts_and_why_they_could_not_be_read_are_never_both_taken(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get(&newest_to_correct(&quinn).await).await;
        let refused = quinn.submit(&page, "main form[action$='/volts']", &[("unread", "the meter was off")]).await;
        assert!(refused.problems()[0].contains("empty the other one"), "{:?}", refused.problems());
        assert_eq!(refused.select("#f-unread")[0].attribute("value"), "the meter was off");
        assert_eq!(club.ids("reading").await.len(), 1, "nothing was stored");
    }

    async fn volts_in_the_boxes_and_in_the_line_are_asked_about_and_a_reason_that_is_volts_too(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let boxes = [("volts", "2.50"), ("volts", "3.81"), ("volts", "3.80"), ("rested", "rested_an_hour")];
        let both = [&boxes[..], &[("volts_line", "3.80 3.80 3.80"), ("key", "both")]].concat();
        let refused = quinn.post("/packs/P-001/volts", &both).await;
        assert!(refused.problems()[0].contains("Empty one of them"), "{:?}", refused.problems());
        let reason = [("unread", "3.91 3.87 3.90"), ("key", "reason")];
        let refused = quinn.post("/packs/P-001/volts", &reason).await;
        assert!(refused.problems()[0].contains("reads like its volts"), "{:?}", refused.problems());
        for (why, key) in [("the meter was off", "k1"), ("no lead for it", "k2")] {
            quinn.post("/packs/P-001/volts", &[("unread", why), ("key", key)]).await.done();
        }
        let told = quinn.get("/packs/P-001").await.one(".verdict");
        assert!(told.contains("no lead for it") && !told.contains("the meter was off"), "{told}");
    }

    async fn a_reading_is_corrected_once_and_then_the_newer_one_is(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        log(&quinn, &[("volts_line", "3.82 2.80 3.82"), ("rested", "rested_an_hour")]).await;
        let page = quinn.get(&newest_to_correct(&quinn).await).await;
        let form = "main form[action$='/volts']";
        let same = [("volts", "3.84"), ("volts", "2.80"), ("volts", "3.82"), ("key", "once")];
        let right = |key| [("volts", "3.84"), ("volts", "3.80"), ("volts", "3.82"), ("key", key)];
        quinn.submit(&page, form, &same).await.done();
        let told = quinn.get("/packs/P-001").await.one(".verdict");
        assert!(!told.contains("A reading said so"), "the same danger is found again: {told}");
        let again = quinn.submit(&page, form, &right("twice")).await;
        assert!(again.problems()[0].contains("Correct the newer one"), "{:?}", again.problems());
        let page = quinn.get(&newest_to_correct(&quinn).await).await;
        quinn.submit(&page, form, &right("newer")).await.done();
        let told = quinn.get("/packs/P-001").await.one(".verdict");
        assert!(told.contains("Quarantine"), "{told}");
        assert!(told.matches("A reading said so").count() <= 1, "{told}");
    }
}

async fn log(who: &Browser, fields: &[(&str, &str)]) {
    let key = sandbucket::ids::new_token();
    let fields = [fields, &[("key", key.as_str())]].concat();
    who.post("/packs/P-001/volts", &fields).await.done();
}

/// Where the newest reading that can be corrected is.
async fn newest_to_correct(who: &Browser) -> String {
    let page = who.get("/packs/P-001/readings").await;
    page.select("a[href*='corrects=']")[0]
        .attribute("href")
        .to_owned()
}
