//! What is to see to of packs against which danger stands: retired and lost ones too, the most dangerous first, what is still on a
//! charger before all; and a charge that runs with kit that somebody set aside.

use crate::book_actions::{opened, tell};
use crate::charging_now::{bench, started};
use crate::support::*;

/// Number, when, why, next and where it leads, in the order of the page.
async fn lines(who: &Browser) -> Vec<[String; 5]> {
    let page = who.get("/to-see-to").await;
    assert_eq!(page.status, 200, "{}", page.text);
    let of = |name: &str| page.texts(&format!("td[data-label={name}]")).into_iter();
    let links = page.select("tbody th a");
    let hrefs = links.iter().map(|link| link.attribute("href").to_owned());
    let all = page.texts("tbody th").into_iter().zip(of("When"));
    let all = all.zip(of("Why")).zip(of("Next")).zip(hrefs);
    all.map(|((((number, when), why), next), href)| [number, when, why, next, href])
        .collect()
}

async fn numbers(who: &Browser) -> Vec<String> {
    let all = lines(who).await.into_iter();
    all.map(|[number, ..]| number).collect()
}

async fn see(who: &Browser, number: &str, seen: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [("seen", seen), ("key", key.as_str())];
    let at = format!("/packs/{number}/condition");
    who.post(&at, &fields).await.done();
}

async fn way_out(who: &Browser, number: &str, way: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [("way", way), ("reason", "old"), ("key", key.as_str())];
    let at = format!("/packs/{number}/way-out");
    who.post(&at, &fields).await.done();
}

on_both! {
    async fn a_dangerous_pack_that_is_retired_is_to_see_to_until_it_was_handed_in(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        see(&quinn, "P-001", "swollen").await;
        for number in ["P-001", "P-002"] {
            way_out(&quinn, number, "retire").await;
        }
        let [number, when, why, next, href] = lines(&quinn).await.remove(0);
        assert_eq!((number.as_str(), when.as_str(), href.as_str()), ("P-001", "At once", "/packs/P-001/watch"));
        assert!(why.starts_with("Retired, dangerous, since ") && why.contains("Swollen") && next.contains("Once it is over, have it disposed of."), "{why} {next}");
        assert_eq!(numbers(&quinn).await.len(), 1, "what is merely old is nobody's danger");
        club.watches_are_over().await;
        let [number, when, _, next, href] = lines(&quinn).await.remove(0);
        assert_eq!((number.as_str(), when.as_str(), href.as_str()), ("P-001", "This week", "/packs/P-001/disposal"));
        assert_eq!(next, "Have it disposed of, and write down where it was handed in.");
        let told = club.program(quinn.id()).await.get("/api/v1/to-see-to").await.json();
        assert_eq!((&told["to_see_to"][0]["matter"], &told["to_see_to"][0]["ask"]), (&"retired_dangerous".into(), &"quartermasters".into()), "{told}");
        let page = quinn.get("/packs/P-001/disposal").await;
        let day = club.now().ms();
        let day = sandbucket::club::calendar::Zone::utc().day_of(sandbucket::club::calendar::Instant(day)).to_string();
        let done = [("harmless", "packed"), ("taped", "yes"), ("handed_in", "The town"), ("disposed_on", day.as_str()), ("for_good", "yes")];
        quinn.submit(&page, "main form", &done).await.done();
        assert_eq!(numbers(&quinn).await, Vec::<String>::new());
    }

    async fn a_dangerous_pack_that_is_lost_is_looked_for_and_never_at_once_until_it_is_found(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        see(&quinn, "P-001", "swollen").await;
        for number in ["P-001", "P-002"] {
            way_out(&quinn, number, "lost").await;
        }
        let [number, when, why, next, href] = lines(&quinn).await.remove(0);
        assert_eq!((number.as_str(), when.as_str(), href.as_str()), ("P-001", "Today", "/packs/P-001"));
        assert!(why.starts_with("Lost, dangerous, since ") && next.starts_with("Look where it was last seen"), "{why} {next}");
        assert_eq!(numbers(&quinn).await.len(), 1);
        club.later_by_minutes(26 * 60);
        let quinn = club.quartermaster().await;
        assert_eq!(lines(&quinn).await[0][1], "This week");
        club.later_by_days(30);
        let quinn = club.quartermaster().await;
        assert_eq!(lines(&quinn).await[0][1], "When convenient");
        way_out(&quinn, "P-001", "found").await;
        let [number, when, why, ..] = lines(&quinn).await.remove(0);
        assert_eq!((number.as_str(), when.as_str()), ("P-001", "At once"));
        assert!(why.starts_with("In quarantine"), "{why}");
    }

    async fn a_pack_that_an_incident_took_is_not_to_see_to_until_it_is_found_after_all(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        opened(&quinn, &[("items", "P-001"), ("packs_now", "stay")]).await.done();
        see(&quinn, "P-001", "smoke_or_fire").await;
        tell(&quinn, "lost", &[("pack", "P-001"), ("words", "nothing is left of it"), ("nothing_left", "yes")]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["lost"]);
        assert_eq!(numbers(&quinn).await, Vec::<String>::new());
        way_out(&quinn, "P-001", "found").await;
        way_out(&quinn, "P-001", "lost").await;
        assert_eq!(numbers(&quinn).await, ["P-001"], "the second time no incident took it");
    }

    async fn the_newest_danger_that_is_watched_stands_before_what_waits_for_a_way_out(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await;
        see(&quinn, "P-001", "wet").await;
        club.later_by_minutes(26 * 60);
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001/watch").await;
        quinn.submit(&page, "main form", &[("quiet", "yes")]).await.done();
        see(&quinn, "P-002", "wet").await;
        club.later_by_minutes(5);
        see(&quinn, "P-003", "wet").await;
        assert_eq!(numbers(&quinn).await, ["P-003", "P-002", "P-001"]);
        assert_eq!(quinn.get("/quarantine").await.texts("tbody th"), ["P-003", "P-002", "P-001"]);
        club.later_by_minutes(30);
        let page = quinn.get("/packs/P-002/watch").await;
        quinn.submit(&page, "main form", &[("sign", "hissing")]).await.done();
        assert_eq!(numbers(&quinn).await, ["P-002", "P-003", "P-001"], "danger was seen in it last");
        assert_eq!(quinn.get("/quarantine").await.texts("tbody th"), ["P-002", "P-003", "P-001"]);
    }

    async fn a_pack_in_quarantine_that_is_still_on_its_charger_says_so_first(club: TestClub) {
        bench(&club, 2).await;
        let quinn = club.quartermaster().await;
        let charge = started(&quinn, "P-001").await;
        see(&quinn, "P-001", "swollen").await;
        club.later_by_minutes(1);
        see(&quinn, "P-002", "swollen").await;
        let [number, when, why, next, href] = lines(&quinn).await.remove(0);
        assert_eq!((number.as_str(), when.as_str(), &href), ("P-001", "At once", &charge), "before the newer one");
        assert!(why.contains("By what is on record it is still on C-01.") && next.contains("switch its charger off at the mains or the supply, then end the charge"), "{why} {next}");
        let watch = quinn.get("/packs/P-001/watch").await;
        let stop = watch.texts("p.stop");
        assert!(stop[1].starts_with("Still on C-01") && stop[1].contains("nobody ended it") && stop[1].contains("Nobody touches the pack."), "{stop:?}");
        assert_eq!(watch.select(&format!("p.stop a[href='{charge}']")).len(), 1);
        let list = quinn.get("/quarantine").await.texts("tbody tr");
        assert!(list[0].contains("P-001") && list[0].contains("Still on C-01"), "{list:?}");
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped"), ("key", "end")]).await.done();
        assert_eq!(numbers(&quinn).await, ["P-002", "P-001"]);
        assert!(!quinn.get("/packs/P-001/watch").await.text.contains("Still on"));
        assert!(!quinn.get("/quarantine").await.text.contains("Still on"));
    }

    async fn a_charge_whose_charger_was_set_aside_is_told_everywhere_and_is_stopped(club: TestClub) {
        bench(&club, 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let charge = started(&ada, "P-001").await;
        let other = ada.get("/packs/P-002/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        let program = club.program(ada.id()).await;
        let told = async || program.get(&format!("/api/v1{charge}")).await.done();
        assert_eq!(told().await["must_stop"], serde_json::Value::Null);
        let used = club.find("SELECT i.number FROM charge c JOIN kit i ON i.id = c.charger_id").await.remove(0);
        for (index, id) in club.ids("kit").await.iter().enumerate() {
            let aside = [("set_aside", "plug melted"), ("key", ["a", "b"][index])];
            quinn.post(&format!("/kit/{id}/set-aside"), &aside).await.done();
        }
        let line = lines(&quinn).await.remove(0);
        assert_eq!((line[0].as_str(), line[1].as_str(), &line[4]), ("P-001", "At once", &charge));
        assert!(line[2].contains(&format!("{used} was set aside: plug melted.")) && line[3].contains("at the mains or the supply"), "{line:?}");
        let of_api = club.program(quinn.id()).await.get("/api/v1/to-see-to").await.json();
        assert_eq!(of_api["to_see_to"][0]["matter"], "charger_set_aside");
        assert!(ada.get("/charges").await.one("main").contains("stop it: what it charges with was set aside"));
        let page = ada.get(&charge).await;
        let stop = page.one("p.stop");
        assert!(stop.contains(&format!("{used} was set aside: plug melted.")) && stop.contains("Look at it from a distance first") && !stop.contains("P-001: "), "{stop}");
        assert!(page.texts("dl.set dd").is_empty() && page.select("form[action$='/read-back']").is_empty(), "{}", page.text);
        assert!(ada.get("/packs/P-001").await.text.contains("Stop it, its charger was set aside"));
        let bad = told().await;
        assert_eq!((&bad["current_ma"], &bad["read_back"]), (&serde_json::Value::Null, &"".into()));
        assert!(bad["must_stop"].as_str().expect("why").contains("was set aside: plug melted."), "{bad}");
        assert_eq!(program.post(&format!("/api/v1{charge}/read-back"), &serde_json::json!({})).await.status, 409);
        let refused = ada.submit(&other, "main form[method='post']", &[]).await;
        assert!(refused.is_refused() && club.ids("charge").await.len() == 1, "nothing is started with it: {}", refused.status);
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped"), ("key", "end")]).await.done();
        assert_eq!(told().await["must_stop"], serde_json::Value::Null);
        assert!(lines(&quinn).await.iter().all(|line| line[2].starts_with("Kit to mend")), "what charges nothing is to mend this week");
    }

    async fn a_supply_or_a_cable_that_was_set_aside_stops_the_charge_on_each_page_of_its_pack_too(club: TestClub) {
        let labels = bench(&club, 1).await;
        let ada = club.borrower("Ada").await;
        let charge = started(&ada, "P-001").await;
        // Whatever it is by its sheet, it feeds or wires the charger.
        let parts = club.chargers(2).await;
        for (part, id, number) in [("supply_id", parts[0], "C-02"), ("cable_id", parts[1], "C-03")] {
            let kit = club.literal(id);
            club.behind_the_back(&format!("UPDATE charge SET {part} = {kit}")).await.expect("part of it");
            assert!(!ada.get("/packs/P-001").await.text.contains("Stop"), "it may go on");
            club.behind_the_back(&format!("UPDATE kit SET aside_count = 1 WHERE id = {kit}")).await.expect("set aside");
            let wanted = format!("Stop it, {number} was set aside: it is on C-01");
            for page in ["/packs/P-001", labels[0].as_str(), "/packs"] {
                let told = ada.get(page).await;
                let said = told.one("main");
                assert!(said.contains(&wanted) && !said.contains("done by about"), "{page}: {said}");
            }
            assert!(ada.get(&labels[0]).await.one("main").contains(&format!("Stop it first: {number} was set aside.")));
            assert!(ada.get(&charge).await.one("p.stop").contains(&format!("{number} was set aside.")), "as the charge's page says");
            club.behind_the_back(&format!("UPDATE kit SET aside_count = 0 WHERE id = {kit}")).await.expect("mended");
        }
    }
}
