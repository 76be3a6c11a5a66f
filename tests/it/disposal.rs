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
    fields.retain(|(name, _)| !more.iter().any(|(other, _)| other == name));
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
        let nothing = "Nothing on record says that it burnt. Report first that it smoked or burnt, or write the fire or the smoke into the book and name it there. Else it waits for the end of its watch, and its terminals are taped.";
        assert!(quinn.get("/packs/P-001/disposal").await.one(".first-do").contains("Its watch is not over"));
        assert!(!quinn.get("/packs/P-003/disposal").await.text.contains("Its watch is not over"), "nobody watches it");
        for number in ["P-001", "P-003"] {
            assert_eq!(dispose(&quinn, number, "burnt_out", &[]).await.problems(), [nothing], "{number}");
        }
        dispose(&quinn, "P-002", "burnt_out", &[]).await.done();
        opened(&quinn, &[("kind", "swelling"), ("items", "P-001"), ("key", "swelled")]).await.done();
        opened(&quinn, &[("items", "P-003"), ("key", "smoked")]).await.done();
        assert_eq!(dispose(&quinn, "P-001", "burnt_out", &[]).await.problems(), [nothing], "it swelled, and another was in the smoke");
        dispose(&quinn, "P-003", "burnt_out", &[]).await.done();
        assert_eq!(club.find("SELECT how FROM watch WHERE how IS NOT NULL").await, ["disposed"]);
    }
    async fn smoke_that_it_was_part_of_and_was_looked_at_since_says_nothing_of_a_pack_that_swells_later(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        opened(&quinn, &[("items", "P-001"), ("packs_now", "stay"), ("key", "smoked")]).await.done();
        club.later_by_days(8);
        report(&ada, "P-001", "swollen").await;
        report(&ada, "P-002", "swollen").await;
        club.later_by_minutes(5);
        opened(&quinn, &[("items", "P-002"), ("key", "burnt"), ("day", "2026-12-03"), ("time", "18:34")]).await.done();
        for number in ["P-001", "P-002"] {
            retire(&quinn, number).await;
        }
        let today = [("disposed_on", "2026-12-03")];
        let refused = dispose(&quinn, "P-001", "burnt_out", &today).await;
        assert!(refused.problems()[0].starts_with("Nothing on record says that it burnt."), "{:?}", refused.problems());
        dispose(&quinn, "P-002", "burnt_out", &today).await.done();
    }

    async fn only_an_undamaged_pack_inside_its_limits_is_discharged_and_each_reason_is_told(club: TestClub) {
        club.fit_packs(8).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        for (number, seen) in [(2, "lead_damaged"), (3, "wrap_torn"), (4, "in_a_crash"), (5, "wet")] {
            report(&ada, &format!("P-00{number}"), seen).await;
        }
        // Another pack took the one quarantine that a stranger's network has a day.
        for number in [5, 6] {
            let path = format!("/packs/P-00{number}/label");
            quinn.post(&path, &[("what", "make"), ("key", &path)]).await.done();
            let code = club.find("SELECT code FROM label ORDER BY made_ms DESC, code LIMIT 1").await.remove(0);
            let key = sandbucket::ids::new_token();
            club.visitor().post(&format!("/t/{code}/report"), &[("seen", "swollen"), ("key", &key)]).await.done();
            club.later_by_minutes(1);
        }
        let read = async |number: &str, line: &str| {
            let fields = [("volts_line", line), ("rested", "rested_an_hour"), ("key", line)];
            quinn.post(&format!("/packs/{number}/volts"), &fields).await.done();
        };
        read("P-007", "3.82 3.60 3.82").await;
        read("P-008", "3.82 2.80 3.82").await;
        for number in 1..=8 {
            retire(&quinn, &format!("P-00{number}")).await;
        }
        club.watches_are_over().await;
        for (number, reason) in [
            ("P-002", "Seen: Lead damaged."),
            ("P-003", "Seen: Outer wrap torn, foil whole."),
            ("P-004", "Was in a crash; nobody says whether the pack itself was hit, so it counts as hit."),
            ("P-005", "Seen: Wet."),
            ("P-006", "Reported and not yet looked at: by somebody not signed in: Swollen or puffed."),
            ("P-007", "apart; the limit is"),
            ("P-008", "minimum"),
        ] {
            let refused = dispose(&quinn, number, "discharged", &[("taped", "yes")]).await;
            let told = refused.problems();
            assert!(told.iter().all(|each| each.starts_with("Not discharged, but handed in as it is: ")), "{number}: {told:?}");
            assert!(told.iter().any(|each| each.contains(reason)), "{number}: {told:?}");
        }
        club.later_by_minutes(24 * 60 + 1);
        let (quinn, today) = (club.quartermaster().await, [("taped", "yes"), ("disposed_on", "2026-11-26")]);
        let old = "Not discharged, but handed in as it is: Its volts were not logged in the 24 hours before.";
        assert_eq!(dispose(&quinn, "P-001", "discharged", &today).await.problems(), [old]);
        let early = dispose(&quinn, "P-001", "packed", &[("taped", "yes"), ("disposed_on", "2026-11-24")]).await;
        assert!(early.problems()[0].starts_with("It was still here on Wed 25 Nov"), "{:?}", early.problems());
        dispose(&quinn, "P-001", "discharged", &[("taped", "yes")]).await.done();
        dispose(&quinn, "P-002", "packed", &today).await.done();
        assert_eq!(club.find("SELECT harmless FROM disposal ORDER BY harmless").await, ["discharged", "packed"]);
    }
}
