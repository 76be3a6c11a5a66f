//! One pack's page: since when it is as it is and who found what, how warm it may be when it is charged, and its whole
//! history, a part at a time. And its volts: how a row of digits is split into cells is shown before anything is stored.

use crate::support::*;

async fn volts(browser: &Browser, line: &str, rested: &str) -> Answer {
    let page = browser.get("/packs/P-001/volts").await;
    let fields = [("volts_line", line), ("rested", rested)];
    browser.submit(&page, "main form", &fields).await
}

fn line_of(page: &Answer) -> String {
    let input = page.select("input[name^=volts_line]");
    input[0].attribute("value").to_owned()
}

on_both! {
    async fn how_digits_alone_are_split_is_shown_before_it_is_stored(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let asked = volts(&quinn, "391387390", "rested_an_hour").await;
        assert_eq!(asked.problems(), ["P-001: this was read as 3.91 3.87 3.90. If that is right, send it again."]);
        assert!(club.ids("reading").await.is_empty());
        let again = [("volts_line", line_of(&asked)), ("rested", "rested_an_hour".to_owned()), ("key", "v-1".to_owned())];
        let fields: Vec<(&str, &str)> = again.iter().map(|(name, value)| (*name, value.as_str())).collect();
        quinn.post("/packs/P-001/volts", &fields).await.done();
        assert_eq!(club.find("SELECT volts FROM reading").await, ["c:3910,3870,3900"]);
    }

    async fn in_a_club_with_a_decimal_comma_the_split_can_be_sent_as_it_is_shown(club: TestClub) {
        club.new_packs(1).await;
        club.behind_the_back("UPDATE club SET uses_decimal_comma = TRUE").await.expect("a comma");
        let quinn = club.quartermaster().await;
        let asked = volts(&quinn, "391387390", "just_used").await;
        assert_eq!(line_of(&asked), "3,91 3,87 3,90");
        volts(&quinn, &line_of(&asked), "just_used").await.done();
        assert_eq!(club.find("SELECT volts FROM reading").await, ["c:3910,3870,3900"]);
    }

    async fn digits_typed_at_hand_out_are_shown_split_too(club: TestClub) {
        club.new_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await.id().to_string());
        let fields = [("person", ada.as_str()), ("items", "1"), ("rested", "rested_an_hour"), ("volts_line-P-001", "391390391")];
        let page = quinn.get("/hand-out").await;
        let asked = quinn.submit(&page, "main form", &fields).await;
        assert_eq!(asked.problems(), ["P-001: this was read as 3.91 3.90 3.91. If that is right, send it again."]);
        quinn.submit(&asked, "main form", &[]).await.done();
        assert_eq!(club.ids("loan").await.len(), 1);
    }

    async fn what_is_wrong_with_the_volts_and_that_rest_was_not_said_each_stand_at_their_field(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let refused = volts(&quinn, "39", "").await;
        let links: Vec<String> = refused.select("#problems a").iter().map(|link| link.attribute("href").to_owned()).collect();
        assert_eq!(links, ["#f-rested", "#f-volts_line"]);
        assert_eq!(line_of(&refused), "39");
    }

    async fn the_page_says_since_when_and_by_whom_and_the_latter_not_to_members(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        let fields = [("seen", "wet"), ("key", "k-1")];
        quinn.post("/packs/P-001/condition", &fields).await.done();
        let told = quinn.get("/packs/P-001").await.one("main");
        assert!(told.contains("Quarantine since today, 18:30, by Quinn"), "{told}");
        assert!(told.contains("Since today, 18:30, by Quinn"), "{told}");
        let told = ada.get("/packs/P-001").await.one("main");
        assert!(told.contains("Quarantine since today, 18:30.") && !told.contains("Quinn"), "{told}");
    }

    async fn a_pack_grown_unknown_is_so_since_its_reading_grew_too_old(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_days(92);
        let told = club.quartermaster().await.get("/packs/P-001").await.one("main");
        assert!(told.contains("Not known since 2 days ago"), "{told}");
    }

    async fn how_warm_it_may_be_when_charged_is_told_in_the_clubs_degrees_for_packs_that_may_be_charged(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/packs/P-001").await.one("main").contains("between 0 and 45 °C"));
        club.behind_the_back("UPDATE club SET uses_fahrenheit = TRUE").await.expect("degrees");
        assert!(quinn.get("/packs/P-001").await.one("main").contains("between 32 and 113 °F"));
        let fields = [("seen", "wet"), ("key", "k-1")];
        quinn.post("/packs/P-002/condition", &fields).await.done();
        assert!(!quinn.get("/packs/P-002").await.one("main").contains("Charge it only"));
    }

    async fn where_it_was_moved_is_told_in_the_names_the_places_had_then(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let mut ids = Vec::new();
        for name in ["Shelf", "Box B"] {
            quinn.post("/places/new", &[("name", name), ("kind", "box"), ("key", name)]).await.done();
            let form = quinn.get("/packs/P-001/details").await;
            let option = form.select("#f-place option").into_iter().find(|option| option.text == name).expect("the place");
            let value = option.attribute("value").to_owned();
            quinn.submit(&form, "main form", &[("place", value.as_str())]).await.done();
            ids.push(value);
        }
        quinn.post(&format!("/places/{}", ids[1]), &[("name", "Crate"), ("kind", "box"), ("key", "c")]).await.done();
        let history = quinn.get("/packs/P-001").await.one("#history + ol");
        assert!(history.contains("Moved from Shelf to Box B."), "{history}");
        let log = club.organiser().await.get("/log").await.one("main");
        assert!(log.contains("Moved from Shelf to Box B."), "{log}");
    }

    async fn what_may_become_of_a_dangerous_pack_is_offered_and_nothing_else(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let ways = async |number: &str| {
            let page = quinn.get(&format!("/packs/{number}/way-out")).await;
            let values = page.select("input[name=way]");
            values.iter().map(|way| way.attribute("value").to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(ways("P-001").await, ["retire", "give-away", "withdraw", "lost"]);
        quinn.post("/packs/P-001/condition", &[("seen", "wet"), ("key", "k-1")]).await.done();
        assert_eq!(ways("P-001").await, ["retire", "lost"], "danger was seen on it: it is there, and was not entered by mistake");
        assert!(quinn.get("/packs/P-001/way-out").await.one("main").contains("Danger stands against it: it is given to nobody, and was not entered by mistake."));
        let retire = [("way", "retire"), ("reason", "drowned"), ("key", "k-2")];
        quinn.post("/packs/P-001/way-out", &retire).await.done();
        assert_eq!(ways("P-001").await, ["lost"], "retired with its danger on record");
        for (way, key) in [("give-away", "k-3"), ("withdraw", "k-4")] {
            let forced = [("way", way), ("reason", "for free"), ("key", key)];
            assert!(quinn.post("/packs/P-001/way-out", &forced).await.is_refused(), "{way}");
        }
    }

    async fn a_day_that_has_not_come_is_no_day_of_first_use(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let form = quinn.get("/packs/P-001/details").await;
        let refused = quinn.submit(&form, "main form", &[("acquired", "2026-11-26"), ("first_used", "2027-01-01")]).await;
        assert_eq!(refused.problems(), ["That day has not come yet."; 2]);
        quinn.submit(&form, "main form", &[("acquired", "2026-11-25")]).await.done();
    }

    async fn the_whole_history_can_be_read_a_part_at_a_time(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        for turn in 0..60 {
            let place = [("notes", format!("turn {turn}")), ("key", format!("t-{turn}"))];
            let fields: Vec<(&str, &str)> = place.iter().map(|(name, value)| (*name, value.as_str())).collect();
            quinn.post("/packs/P-001/details", &fields).await.done();
        }
        let entries = club.find("SELECT CAST(COUNT(*) AS TEXT) FROM activity WHERE subject IN ('pack', 'details')").await;
        let newest = quinn.get("/packs/P-001").await;
        assert_eq!(newest.select("#history + ol li").len(), 50);
        let mut count = 50;
        let mut page = newest;
        while let Some(older) = page.select(".pager a").first() {
            page = quinn.get(older.attribute("href")).await;
            count += page.select("#history + ol li").len();
        }
        assert_eq!(vec![count.to_string()], entries);
    }
}
