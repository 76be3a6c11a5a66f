//! Getting rid of a pack for good: what 'it burnt out' rests on, what keeps a pack from being discharged, and who sees the receipt.

use crate::book_actions::opened;
use crate::support::*;

async fn report(who: &Browser, number: &str, seen: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [("seen", seen), ("key", key.as_str())];
    let to = format!("/packs/{number}/condition");
    who.post(&to, &fields).await.done();
}

async fn retire(who: &Browser, number: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [("way", "retire"), ("reason", "old"), ("key", key.as_str())];
    let to = format!("/packs/{number}/way-out");
    who.post(&to, &fields).await.done();
}

async fn dispose(who: &Browser, number: &str, harmless: &str, more: &[(&str, &str)]) -> Answer {
    let key = sandbucket::ids::new_token();
    let mut fields = vec![
        ("harmless", harmless),
        ("handed_in", "The town's collection point"),
        ("disposed_on", "2026-11-25"),
        ("for_good", "yes"),
        ("key", key.as_str()),
    ];
    fields.extend(more);
    let to = format!("/packs/{number}/disposal");
    who.post(&to, &fields).await
}

on_both! {
    async fn that_it_burnt_out_rests_on_smoke_or_fire_seen_on_it_or_on_an_incident_that_names_it(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        report(&ada, "P-001", "swollen").await;
        report(&ada, "P-002", "smoke_or_fire").await;
        for number in ["P-001", "P-002", "P-003"] {
            retire(&quinn, number).await;
        }
        let nothing = "Nothing on record says that it burnt. Report first that it smoked or burnt, or write the incident in the book and name it there. Else it waits for the end of its watch, and its terminals are taped.";
        for number in ["P-001", "P-003"] {
            assert_eq!(dispose(&quinn, number, "burnt_out", &[]).await.problems(), [nothing], "{number}");
        }
        dispose(&quinn, "P-002", "burnt_out", &[]).await.done();
        opened(&quinn, &[("items", "P-003")]).await.done();
        assert_eq!(dispose(&quinn, "P-001", "burnt_out", &[]).await.problems(), [nothing], "the incident names another");
        dispose(&quinn, "P-003", "burnt_out", &[]).await.done();
        assert_eq!(club.find("SELECT how FROM watch WHERE how IS NOT NULL").await, ["disposed"]);
    }
}
