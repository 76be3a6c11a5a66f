//! What a page of kit tells and lets do, to each: that something is wrong with it, that it is in one's own hands, and what
//! happened to it.

use crate::book_actions::opened;
use crate::charging_now::{bench, started};
use crate::support::*;

/// A cable and eight adapters: their pages.
async fn stocked(quinn: &Browser) -> (String, String) {
    let cable = [
        ("kind", "cable"),
        ("from", "usb-c"),
        ("to", "usb-c"),
        ("limit_mw", "60"),
    ];
    let adapters = [
        ("kind", "adapter"),
        ("from", "xt60"),
        ("to", "xt30"),
        ("rated_ma", "12"),
        ("owned_count", "8"),
    ];
    let cable = quinn.post("/kit/new", &cable).await;
    let adapters = quinn.post("/kit/new", &adapters).await;
    let page = |answer: &Answer| answer.done().replace("?done=added", "");
    (page(&cable), page(&adapters))
}

async fn hand_out(quinn: &Browser, to: &Browser, items: &str) {
    let to = to.id().to_string();
    let form = [
        ("person", to.as_str()),
        ("items", items),
        ("due", "2026-11-27"),
    ];
    quinn.post("/hand-out", &form).await.done();
}

on_both! {
    async fn whoever_sees_that_kit_is_broken_says_so_and_a_quartermaster_mends_it(club: TestClub) {
        let quinn = club.quartermaster().await;
        let (cable, adapters) = stocked(&quinn).await;
        let (ben, olive) = (club.member("Ben").await, club.organiser().await);
        let page = ben.get(&cable).await;
        assert!(page.one("main").contains("Something wrong with it?"), "{}", page.one("main"));
        assert_eq!(page.select("main form").len(), 1, "that and nothing else");
        let form = "form[action$='/set-aside']";
        let refused = ben.submit(&page, form, &[("set_aside", "")]).await;
        assert_eq!(refused.problems(), ["Say why, in 3 to 500 letters."]);
        let done = ben.submit(&page, form, &[("set_aside", "sheath torn")]).await;
        let told = ben.get(done.done()).await;
        assert!(told.one(".verdict").contains("sheath torn"));
        assert!(told.select("main form").is_empty(), "it is said already");
        let page = olive.get(&adapters).await;
        olive.submit(&page, form, &[("set_aside", "a bent pin"), ("aside_count", "2")]).await.done();
        let aside = "SELECT CAST(aside_count AS TEXT) FROM kit ORDER BY number";
        assert_eq!(club.find(aside).await, ["2", "1"]);
        let log = olive.get("/log").await.one("main");
        assert!(log.contains("Ben: K-01: set it aside") && log.contains("Olive: A-01: set it aside"), "{log}");
        for who in [&ben, &olive] {
            for way in ["mend", "looked-over", "count", "way-out"] {
                assert_eq!(who.post(&format!("{cable}/{way}"), &[("mended", "new sheath")]).await.status, 403, "{way}");
            }
        }
        let page = quinn.get(&cable).await;
        quinn.submit(&page, "form[action$='/mend']", &[("mended", "new sheath")]).await.done();
        assert_eq!(club.find(aside).await, ["2", "0"]);
    }

    async fn kit_in_ones_own_hands_is_told_as_ones_own_with_its_day_and_the_way_back(club: TestClub) {
        let quinn = club.quartermaster().await;
        let (cable, adapters) = stocked(&quinn).await;
        let (ada, ben) = (club.borrower("Ada").await, club.borrower("Ben").await);
        hand_out(&quinn, &ada, "K-01 A-01x2").await;
        hand_out(&quinn, &ben, "A-01x3").await;
        let page = ada.get(&cable).await;
        assert!(page.one("dl.facts").contains("Outout: you"), "{}", page.one("dl.facts"));
        assert!(page.one("main").contains("You have it, due in 2 days (Fri 27 Nov 2026)."), "{}", page.one("main"));
        let counted = ada.get(&adapters).await;
        assert!(counted.one("main").contains("You have 2 of them, due in 2 days"), "{}", counted.one("main"));
        assert!(counted.one("dl.facts").contains("5 of 8 out"));
        for page in [&page, &counted] {
            let back = page.select("main a[href$='/bring-back']")[0].attribute("href").to_owned();
            assert!(ada.get(&back).await.one("main").contains(&page.one("h1")), "{back}");
        }
        let other = ben.get(&cable).await;
        assert!(other.one("dl.facts").contains("out on a loan") && other.select("main a[href$='/bring-back']").is_empty());
        let by_quinn = quinn.get(&cable).await;
        assert!(by_quinn.one("dl.facts").contains("with Ada") && by_quinn.select("main a[href$='/bring-back']").is_empty());
    }

    async fn what_happened_reads_with_who_did_it_behind_and_a_member_reads_no_name(club: TestClub) {
        let quinn = club.quartermaster().await;
        let (cable, _) = stocked(&quinn).await;
        let ada = club.borrower("Ada").await;
        hand_out(&quinn, &ada, "K-01").await;
        let line = club.ids("lent").await[0].to_string();
        let look = format!("look-{line}");
        quinn.post("/take-back/items", &[("shown", line.as_str()), (look.as_str(), "nothing")]).await.done();
        let told = quinn.get(&cable).await.texts("ol.log li > span");
        assert_eq!(told.len(), 3, "{told:?}");
        for (words, line) in ["taken back · Quinn", "handed out to Ada · Quinn", "added it · Quinn"].iter().zip(&told) {
            assert!(line.starts_with(words), "{line}");
        }
        let told = ada.get(&cable).await.texts("ol.log li > span");
        assert!(told[0].starts_with("taken back") && told[1].starts_with("handed out"), "{told:?}");
        assert!(told.iter().all(|line| !line.contains("Quinn") && !line.contains('·')), "{told:?}");
    }

    async fn the_title_tells_which_kit_is_shown(club: TestClub) {
        let quinn = club.quartermaster().await;
        for (query, title) in [
            ("", "Kit –"),
            ("?kind=charger", "Kit: Chargers –"),
            ("?gone=yes", "Kit that has left the pool –"),
            ("?see_to=yes&kind=cable", "Kit to see to: Cables –"),
        ] {
            let told = quinn.get(&format!("/kit{query}")).await.one("title");
            assert!(told.starts_with(title), "{told}");
        }
    }

    async fn what_charges_with_kit_that_was_set_aside_stands_on_its_page_and_on_its_incidents(club: TestClub) {
        bench(&club, 3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let mut charges = Vec::new();
        for pack in ["P-001", "P-002", "P-003"] {
            charges.push(started(&ada, pack).await);
        }
        let used = "SELECT i.number FROM charge c JOIN kit i ON i.id = c.charger_id JOIN pack k ON k.id = c.pack_id WHERE k.number = 'P-001'";
        let charger = club.find(used).await.remove(0);
        let id = club.ids(&format!("kit WHERE number = '{charger}'")).await[0];
        // Two of its outputs are in use; the third pack charges elsewhere.
        let second = club.literal(club.ids("pack WHERE number = 'P-002'").await[0]);
        let sql = format!("UPDATE charge SET charger_id = {}, output = 1 WHERE pack_id = {second}", club.literal(id));
        club.behind_the_back(&sql).await.expect("on one charger");
        let at = format!("/kit/{id}");
        assert!(!ada.get(&at).await.one("main").contains("now: stop"), "it is in order");
        opened(&quinn, &[("items", charger.as_str())]).await.done();
        assert_eq!(club.find("SELECT number FROM kit WHERE aside_count > 0").await, [charger.as_str()]);
        let (page, queries) = club.queries_of(quinn.get("/book/I-001")).await;
        let wanted = format!("P-001, P-002 charge with {charger} now, which was set aside: stop them, and end their charges.");
        assert!(page.one("main").contains(&wanted) && queries <= 3, "{queries}: {}", page.one("main"));
        let (page, queries) = club.queries_of(ada.get(&at)).await;
        let wanted = "P-001, P-002 charge with it now: stop them, and end their charges.";
        assert!(page.one("main").contains(wanted) && queries <= 3, "{queries}: {}", page.one("main"));
        assert_eq!(page.select("p.next a[href='/packs/P-002']").len(), 1);
        quinn.post(&format!("{}/end", charges[0]), &[("outcome", "stopped"), ("key", "one")]).await.done();
        assert!(quinn.get(&at).await.one("main").contains("P-002 charges with it now: stop it, and end its charge."));
        quinn.post(&format!("{}/end", charges[1]), &[("outcome", "stopped"), ("key", "two")]).await.done();
        for page in [at.as_str(), "/book/I-001"] {
            assert!(!quinn.get(page).await.one("main").contains("stop it"), "{page}");
        }
    }
}
