//! Going away: what must be done before the club closes for some weeks.

use crate::support::*;

on_both! {
    async fn what_must_be_done_before_stands_in_order(club: TestClub) {
        club.fit_packs(5).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(1);
        let volts = |volts: &'static str| [("volts_line", volts), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &volts("4.18 4.18 4.18")).await.done();
        quinn.post("/packs/P-002/volts", &volts("3.82 2.80 3.82")).await.done();
        quinn.post("/packs/P-003/volts", &volts("3.70 3.70 3.70")).await.done();
        let person = ada.id().to_string();
        quinn.post("/hand-out", &[("person", person.as_str()), ("items", "P-004"), ("due", "2026-12-20")]).await.done();
        let page = quinn.get("/going-away?until=2027-02-01").await;
        let heads = page.texts("h2");
        assert_eq!(
            heads,
            [
                "1. See to what is in quarantine: 1",
                "2. Get back what is out, or agree who keeps it: 1",
                "3. Bring down what lies above its band: 1",
                "4. Charge what would fall too low: 1"
            ]
        );
        assert_eq!(page.texts(".told a"), ["P-002", "P-004", "P-001", "P-003"]);
        let told = page.one("main");
        assert!(told.contains("with Ada: It is not in the club's rooms."), "{told}");
        // Every 3 months: a battery maker's storage note.
        club.later_by_days(1);
        let longer = quinn.get("/going-away?until=2027-02-24").await;
        assert!(longer.texts("h2").contains(&"5. Read the volts of the rest: 1".to_owned()), "{:?}", longer.texts("h2"));
    }

    async fn what_is_at_an_event_that_goes_on_comes_back_first(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        let event = [("name", "Bouts"), ("place", "Hall"), ("first_on", "2026-11-24"), ("last_on", "2026-11-28"), ("packs", "1")];
        olive.post("/events/new", &event).await.done();
        let volts = [("volts_line", "3.82 3.82 3.82"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &volts).await.done();
        quinn.post("/packs/P-002/volts", &volts).await.done();
        let page = quinn.get("/going-away?until=2026-12-23").await;
        assert_eq!(page.texts("h2"), ["1. Get back what is out, or agree who keeps it: 1"], "{}", page.one("main"));
        assert_eq!(page.texts(".told a"), ["P-001"]);
    }

    async fn a_day_that_cannot_be_planned_for_is_refused_and_kept(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        for until in ["2026-11-25", "2027-02-24", "soon"] {
            let refused = olive.get(&format!("/going-away?until={until}")).await;
            assert!(refused.problems()[0].contains("from tomorrow on"), "{until}: {:?}", refused.problems());
            assert_eq!(refused.select("#f-until")[0].attribute("value"), until);
        }
        let near = olive.get("/going-away?until=2026-12-09").await;
        assert!(near.text.contains("nothing is left to do"), "{}", near.one("main"));
        assert_eq!(club.member("Mo").await.get("/going-away").await.status, 403);
    }
}
