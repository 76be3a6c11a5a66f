//! What a storage round says of packs in quarantine and of those that nobody looked at, and how events are told apart as one begins.

use crate::rounds::{RESTED, begun, read};
use crate::support::*;
use crate::table_rules::hand_out;

/// The same form again, with these fields changed.
async fn again(who: &Browser, refused: &Answer, typed: &[(&str, &str)]) -> Answer {
    who.submit(refused, "form[action$='/read']", typed).await
}

on_both! {
    async fn what_is_in_quarantine_is_not_to_be_added_first(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1").await;
        club.later_by_minutes(1);
        quinn
            .post(
                "/packs/P-002/condition",
                &[("seen", "swollen"), ("key", "seen")],
            )
            .await
            .done();
        let held = "P-002 is in quarantine: no meter goes on it, and it goes on no round. Leave it where it is; its page says what is next, and once it is released it is put on.";
        let refused = read(&quinn, &round, "2", "3.82 3.82 3.82").await;
        assert_eq!(refused.problems(), [held]);
        assert_eq!(
            refused.select("#f-volts_line")[0].attribute("value"),
            "3.82 3.82 3.82"
        );
        let page = quinn.get(&round).await;
        let entered = quinn
            .submit(
                &page,
                "form[action$='/read']",
                &[("pack", "2"), ("enter", "yes"), RESTED],
            )
            .await;
        assert_eq!(quinn.get(entered.done()).await.one("#w-pack"), held);
        let before = club.ids("reading").await.len();
        let stored = read(&quinn, &round, "2", "3.82 2.80 3.82").await;
        assert_eq!(
            (stored.done(), club.ids("reading").await.len()),
            ("/packs/P-002", before + 1),
            "danger is stored"
        );
    }

    async fn what_nobody_looked_at_since_it_came_back_is_asked_about_before_its_volts_are_logged(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1-2", &[]).await.done();
        club.later_by_minutes(5);
        for lent in club.ids("lent").await {
            let back = ada.get(&format!("/mine/{lent}/bring-back")).await;
            ada.submit(&back, "main form", &[("seen", "nothing")])
                .await
                .done();
        }
        let (_, round) = begun(&club, "1-2").await;
        club.later_by_minutes(1);
        let before = club.ids("reading").await.len();
        let refused = read(&quinn, &round, "1", "3.82 3.82 3.82").await;
        assert_eq!(
            refused.problems(),
            [
                "P-001 came back and nobody has looked at it. Tick that you looked it over and saw nothing, then send its volts again; what you see is told on its page."
            ]
        );
        assert_eq!(
            refused.select(".problems a")[0].attribute("href"),
            "#f-looked_over"
        );
        let (_, kept) = refused.form("form[action$='/read']");
        for (name, value) in [("pack", "1"), ("volts_line", "3.82 3.82 3.82"), RESTED] {
            assert!(
                kept.contains(&(name.to_owned(), value.to_owned())),
                "{kept:?}"
            );
        }
        assert_eq!(club.ids("reading").await.len(), before, "nothing is stored");
        let done = again(&quinn, &refused, &[("looked_over", "yes")]).await;
        let told = quinn.get(done.done()).await;
        assert_eq!(told.one(".notice"), "P-001 is read. In the band.");
        // Danger waits for no tick; what could not be read is noted as ever.
        let page = quinn.get(&round).await;
        again(
            &quinn,
            &page,
            &[("pack", "2"), ("unread", "plug wet"), ("key", "unread")],
        )
        .await
        .done();
        read(&quinn, &round, "2", "3.82 2.80 3.82").await.done();
        assert!(
            quinn
                .get("/packs/P-002")
                .await
                .one(".verdict")
                .contains("Quarantine")
        );
    }

    async fn events_of_one_name_are_told_apart_by_their_days_and_places(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        for (first, last, place) in [
            ("2026-11-23", "2026-11-24", "Town hall"),
            ("2026-11-25", "2026-11-25", ""),
        ] {
            let event = [
                ("name", "Club bouts"),
                ("place", place),
                ("first_on", first),
                ("last_on", last),
                ("packs", "1"),
                ("key", first),
            ];
            quinn.post("/events/new", &event).await.done();
        }
        let offered = quinn
            .get("/storage-rounds/new")
            .await
            .texts("#f-event option");
        assert_eq!(
            offered[1..],
            [
                "Club bouts, Wed 25 Nov 2026",
                "Club bouts, Mon 23 Nov 2026 to Tue 24 Nov 2026, Town hall"
            ]
        );
    }
}
