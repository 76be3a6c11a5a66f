//! The club's rules of storage care: who sets them, how far, and that they count at once.

use crate::support::*;

on_both! {
    async fn a_stricter_rule_counts_at_once_and_a_kinder_one_is_refused(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.second_quartermaster().await;
        club.later_by_minutes(1);
        let full = [("volts_line", "4.18 4.18 4.18"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &full).await.done();
        club.later_by_days(2);
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
        let page = quinn.get("/settings/care").await;
        assert_eq!(page.select("#f-remind_2_1")[0].attribute("value"), "3");
        let stricter = [("remind_2_1", "2"), ("remind_2_2", "2"), ("recheck_days", "60")];
        let kept = quinn.submit(&page, "main form", &stricter).await;
        assert!(quinn.get(kept.done()).await.text.contains("Kept."));
        assert!(quinn.get("/to-see-to").await.text.contains("is to be put to storage after 2."));
        let page = quinn.get("/settings/care").await;
        assert_eq!(page.select("#f-recheck_days")[0].attribute("value"), "60");
        // 14 days at the longest: a University of Maryland flight lab. Reminded on the day of the limit at the latest.
        let kinder = [("limit_0_0", "15"), ("recheck_days", "91"), ("fall_days", "soon"), ("limit_2_3", "4")];
        let refused = quinn.submit(&page, "main form", &kinder).await;
        assert!(refused.is_refused());
        let fields: Vec<String> = refused.select(".problems a").iter().map(|link| link.attribute("href").to_owned()).collect();
        assert_eq!(fields, ["#f-limit_0_0", "#f-limit_2_3", "#f-recheck_days", "#f-fall_days"]);
        assert_eq!(refused.select("#f-fall_days")[0].attribute("value"), "soon");
        assert_eq!(refused.select("#f-limit_0_0")[0].attribute("value"), "15");
        assert_eq!(quinn.get("/settings/care").await.select("#f-limit_0_0")[0].attribute("value"), "14");
    }

    async fn they_are_set_with_a_password_by_those_who_run_the_club(club: TestClub) {
        club.found().await;
        assert_eq!(club.member("Mo").await.get("/settings/care").await.status, 403);
        assert_eq!(club.organiser().await.get("/settings/care").await.status, 200);
        let olive = club.organiser().await;
        let page = olive.get("/settings/care").await;
        olive.submit(&page, "main form", &[("own_care", "warn")]).await.done();
        let log = olive.get("/log").await;
        assert!(log.text.contains("changed the rules of storage care"), "{}", log.one("main"));
        let page = olive.get("/settings/care").await;
        let chosen = page.select("input[name=own_care][checked]");
        assert_eq!(chosen[0].attribute("value"), "warn");
    }
}
