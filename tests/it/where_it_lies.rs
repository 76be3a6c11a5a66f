//! Where a dangerous pack lies is what somebody said: it stays where it was on record, with where it is to be taken, until somebody
//! says that it lies there.

use crate::book_actions::opened;
use crate::charging_now::started;
use crate::support::*;

const LIES: &str = "form:has(input[name=lies])";

async fn place(quinn: &Browser, name: &str, kind: &str) {
    let fields = [("name", name), ("kind", kind), ("key", name)];
    quinn.post("/places/new", &fields).await.done();
}

/// P-001 lies at the bench, and the sand bucket is for what is dangerous.
async fn at_the_bench(club: &TestClub) -> Browser {
    club.fit_packs(1).await;
    let quinn = club.quartermaster().await;
    place(&quinn, "Bench", "table").await;
    place(&quinn, "Sand bucket", "quarantine").await;
    let bench = club.literal(club.ids("place WHERE name = 'Bench'").await[0]);
    let sql = format!("UPDATE pack SET place_id = {bench}");
    club.behind_the_back(&sql).await.expect("at the bench");
    quinn
}

async fn lies(club: &TestClub) -> String {
    let sql = "SELECT pl.name FROM pack k JOIN place pl ON pl.id = k.place_id";
    club.find(sql).await.remove(0)
}

on_both! {
    async fn a_pack_found_dangerous_stays_where_it_was_on_record_until_somebody_says_that_it_was_carried(club: TestClub) {
        let quinn = at_the_bench(&club).await;
        let ada = club.member("Ada").await;
        quinn.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        assert_eq!(lies(&club).await, "Bench", "nobody carried it");
        let was = "It was at Bench; nobody said that it was moved. Next: cold and quiet for an hour it is to be taken to Sand bucket, and nobody carries it before 19:30.";
        for page in ["/packs/P-001", "/packs/P-001/watch"] {
            let told = quinn.get(page).await;
            assert!(told.one("main").contains(was), "{page}: {}", told.one("main"));
            assert_eq!((told.select(LIES).len(), ada.get(page).await.select(LIES).len()), (1, 0));
            assert!(ada.get(page).await.one("main").contains("It was at Bench"));
        }
        let line = quinn.get("/to-see-to").await.one("td[data-label=Why]");
        assert!(line.contains("It was at Bench and is to be taken to Sand bucket."), "{line}");
        let page = quinn.get("/packs/P-001/watch").await;
        let bucket = page.select("input[name=lies]")[0].attribute("value").to_owned();
        let refused = ada.post("/packs/P-001/watch", &[("lies", bucket.as_str()), ("key", "ada")]).await;
        assert!(refused.problems()[0].starts_with("Only a quartermaster says where it lies."), "{:?}", refused.problems());
        let bench = club.ids("place WHERE name = 'Bench'").await[0].to_string();
        let refused = quinn.post("/packs/P-001/watch", &[("lies", bench.as_str()), ("key", "bench")]).await;
        assert!(refused.problems()[0].starts_with("That is no quarantine place"), "{:?}", refused.problems());
        assert_eq!(lies(&club).await, "Bench");
        club.later_by_minutes(70);
        assert!(quinn.get("/packs/P-001").await.one("main").contains("it is to be taken to Sand bucket."), "its first hour is over");
        let page = quinn.get("/packs/P-001").await;
        let done = quinn.submit(&page, LIES, &[]).await;
        let after = quinn.get(done.done()).await;
        assert_eq!(lies(&club).await, "Sand bucket");
        assert!(after.select(LIES).is_empty() && !after.text.contains("It was at Bench") && after.texts("ol.log li span")[0].contains("carried to a quarantine place: Sand bucket"), "{}", after.one("ol.log"));
        assert!(!quinn.get("/to-see-to").await.text.contains("is to be taken to"));
        assert_eq!(club.first_break().await, None);
    }

    async fn an_incident_that_names_a_pack_takes_it_nowhere_and_it_keeps_its_place_when_it_is_released(club: TestClub) {
        let quinn = at_the_bench(&club).await;
        opened(&quinn, &[("items", "P-001"), ("kind", "short")]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"]);
        assert_eq!(lies(&club).await, "Bench");
        assert!(quinn.get("/packs/P-001").await.one("main").contains("It was at Bench; nobody said that it was moved."));
        // Whoever logs volts, notes a look or retires it carries it nowhere either.
        club.later_by_minutes(5);
        let read = [("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour"), ("key", "v")];
        quinn.post("/packs/P-001/volts", &read).await.done();
        assert_eq!(lies(&club).await, "Bench");
        club.watches_are_over().await;
        let rosa = club.second_quartermaster().await;
        rosa.post("/packs/P-001/release", &[("release_reason", "dry for a day"), ("key", "r")]).await.done();
        assert_eq!((club.find("SELECT state FROM pack").await, lies(&club).await), (vec!["fit".to_owned()], "Bench".to_owned()));
        let late = quinn.post("/packs/P-001/watch", &[("lies", club.ids("place WHERE name = 'Sand bucket'").await[0].to_string().as_str()), ("key", "late")]).await;
        assert!(late.problems()[0].starts_with("No danger stands against it any more"), "{:?}", late.problems());
    }

    async fn a_retired_pack_is_carried_too_and_one_that_is_out_is_taken_back_first(club: TestClub) {
        let quinn = at_the_bench(&club).await;
        let ada = club.borrower("Ada").await;
        let out = [("person", ada.id().to_string()), ("items", "P-001".to_owned()), ("due", "2026-11-30".to_owned()), ("key", "out".to_owned())];
        let out = out.each_ref().map(|(name, value)| (*name, value.as_str()));
        quinn.post("/hand-out", &out).await.done();
        ada.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        let bucket = club.ids("place WHERE name = 'Sand bucket'").await[0].to_string();
        assert!(quinn.get("/packs/P-001").await.select(LIES).is_empty());
        let refused = quinn.post("/packs/P-001/watch", &[("lies", bucket.as_str()), ("key", "l")]).await;
        assert!(refused.problems()[0].starts_with("It is out."), "{:?}", refused.problems());
        // Closed by the one who has it in hand, and put back to the bench on record by nobody.
        club.behind_the_back("UPDATE lent SET closed_ms = opened_ms, outcome = 'back'").await.expect("closed");
        quinn.post("/packs/P-001/way-out", &[("way", "retire"), ("reason", "swollen"), ("key", "w")]).await.done();
        assert_eq!(lies(&club).await, "Bench");
        let page = quinn.get("/packs/P-001").await;
        quinn.submit(&page, LIES, &[("carried", "yes")]).await.done();
        assert_eq!(lies(&club).await, "Sand bucket");
    }

    async fn while_nobody_carries_it_yet_a_tick_says_that_it_was_carried_all_the_same(club: TestClub) {
        let quinn = at_the_bench(&club).await;
        quinn.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        let left = "Nobody carries it while it is watched: it stays where it lies.";
        let page = quinn.get("/packs/P-001/watch").await;
        assert!(page.one("main").contains(&format!("On record: Bench. {left}")), "{}", page.one("main"));
        let page = quinn.get("/packs/P-001").await;
        let refused = quinn.submit(&page, LIES, &[]).await;
        let wanted = "Nobody carries it yet. Tick that it was carried, if somebody did so all the same.";
        assert_eq!((refused.problems(), refused.one("#f-carried .wrong")), (vec![wanted.to_owned()], wanted.to_owned()));
        assert_eq!(lies(&club).await, "Bench");
        let done = quinn.submit(&refused, LIES, &[("carried", "yes")]).await;
        assert_eq!((done.done(), lies(&club).await), ("/packs/P-001", "Sand bucket".to_owned()));
        let after = quinn.get("/packs/P-001/watch").await.one("main");
        assert!(after.contains(&format!("On record: Sand bucket. {left}")), "as on every page: {after}");
        club.later_by_minutes(61);
        assert!(!quinn.get("/packs/P-001/watch").await.one("main").contains(left), "its first hour is over");
    }

    async fn what_is_still_on_its_charger_lies_nowhere_else_before_its_charge_is_ended(club: TestClub) {
        let quinn = at_the_bench(&club).await;
        club.chargers(1).await;
        let charge = started(&club.borrower("Ada").await, "P-001").await;
        let page = quinn.get("/packs/P-001").await;
        assert!(page.select(LIES).is_empty(), "nothing stands against it yet");
        quinn.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        for page in ["/packs/P-001", "/packs/P-001/watch"] {
            let told = quinn.get(page).await;
            assert!(told.select(LIES).is_empty() && told.one("main").contains("End its charge first, then say that it lies there."), "{page}: {}", told.one("main"));
        }
        let bucket = club.ids("place WHERE name = 'Sand bucket'").await[0].to_string();
        let said = |key| [("lies", bucket.as_str()), ("carried", "yes"), ("key", key)];
        let refused = quinn.post("/packs/P-001/watch", &said("still")).await;
        let wanted = "By what is on record it is still on its charger. End its charge first.";
        assert_eq!((refused.problems(), refused.one("#f-lies")), (vec![wanted.to_owned()], wanted.to_owned()));
        assert_eq!(lies(&club).await, "Bench");
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped"), ("key", "end")]).await.done();
        quinn.post("/packs/P-001/watch", &said("over")).await.done();
        assert_eq!(lies(&club).await, "Sand bucket");
        assert_eq!(club.first_break().await, None);
    }
}
