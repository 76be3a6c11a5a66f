//! What those are told who have something of the club's, and what may become of it while they have it.

use crate::support::*;

async fn lend(quinn: &Browser, to: &Browser, items: &str) -> String {
    let page = quinn.get("/hand-out").await;
    let fields = [("person", &*to.id().to_string()), ("items", items)];
    quinn
        .submit(&page, "main form", &fields)
        .await
        .done()
        .to_owned()
}

async fn line_out(club: &TestClub) -> String {
    club.ids("lent WHERE closed_ms IS NULL").await[0].to_string()
}

on_both! {
    async fn a_cautioned_pack_goes_out_with_its_reason_for_both_sides_to_read(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let volts = [("volts_line", "3.82 3.76 3.82"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &volts).await.done();
        let loan = lend(&quinn, &ada, "1").await;
        for page in [quinn.get(&loan).await, ada.get("/mine").await] {
            assert!(page.text.contains("0.06 V apart") && page.text.contains("Balance it"), "{}", page.text);
        }
    }

    async fn who_answers_for_a_guest_reads_what_the_guest_has_and_that_it_must_not_be_used(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, mo, ada) = (club.quartermaster().await, club.borrower("Mo").await, club.borrower("Ada").await);
        let answers = format!(
            "UPDATE person SET responsible_id = {} WHERE id = {}",
            club.literal(mo.id()),
            club.literal(ada.id())
        );
        club.behind_the_back(&answers).await.expect("answers for Ada");
        lend(&quinn, &ada, "1").await;
        quinn.post("/packs/P-001/condition", &[("seen", "shorted"), ("key", "seen")]).await.done();
        let told = mo.get("/mine").await;
        assert!(told.text.contains("With those you answer for") && told.text.contains("with Ada"), "{}", told.text);
        assert!(told.one(".stop").contains("Don't use or charge it"));
        let line = line_out(&club).await;
        assert_eq!(mo.get(&format!("/mine/{line}/bring-back")).await.status, 200, "Mo brings it for her");
    }

    async fn of_adapters_a_member_brings_back_as_many_as_there_are_in_the_hand(club: TestClub) {
        club.adapters("A-01", 5).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        lend(&quinn, &ada, "A-01x3").await;
        let line = line_out(&club).await;
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        let refused = ada.submit(&page, "main form", &[("counted", "4"), ("kit_words", "one is bent"), ("key", "four")]).await;
        assert_eq!(refused.select("#f-counted").len(), 1);
        assert!(refused.problems()[0].contains("bring back 1 to 3"), "{:?}", refused.problems());
        assert_eq!(refused.select("#f-kit_words")[0].attribute("value"), "one is bent");
        ada.submit(&page, "main form", &[("counted", "2"), ("key", "two")]).await.done();
        assert!(ada.get("/mine").await.text.contains("A-01"), "one is with her still");
        let stock = club.find("SELECT CAST(unchecked_count AS TEXT) FROM kit").await;
        assert_eq!(stock, ["2"]);
    }

    async fn nothing_is_passed_on_to_who_has_it(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        lend(&quinn, &ada, "1").await;
        let line = line_out(&club).await;
        let refused = quinn.post(&format!("/lent/{line}/pass-on"), &[("person", &*ada.id().to_string())]).await;
        assert!(refused.text.contains("That is who has it"), "{} {}", refused.status, refused.text);
        assert_eq!(line_out(&club).await, line);
    }

    async fn a_released_pack_does_not_go_out_from_among_the_dangerous_ones(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let place = [("name", "Sand bucket"), ("kind", "quarantine")];
        quinn.post("/places/new", &place).await.done();
        quinn.post("/packs/P-001/condition", &[("seen", "wet"), ("key", "wet")]).await.done();
        assert!(quinn.get("/packs/P-001").await.text.contains("Sand bucket"));
        club.later_by_minutes(5);
        let volts = [("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &volts).await.done();
        let page = rosa.get("/packs/P-001").await;
        club.watches_are_over().await;
        rosa.submit(&page, "form[action$='/release']", &[("release_reason", "dry for a week")]).await.done();
        let told = quinn.get("/packs/P-001").await;
        assert_eq!(told.text.matches("No place named").count(), 1, "{}", told.one("main"));
    }

    async fn a_pack_that_was_reported_where_it_lies_keeps_its_place_when_it_is_released(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.member("Ada").await);
        for (name, kind) in [("Sand bucket", "quarantine"), ("Box B", "box")] {
            quinn.post("/places/new", &[("name", name), ("kind", kind), ("key", name)]).await.done();
        }
        let boxed = club.literal(club.ids("place WHERE name = 'Box B'").await[0]);
        club.behind_the_back(&format!("UPDATE pack SET place_id = {boxed}")).await.expect("in the box");
        ada.post("/packs/P-001/condition", &[("seen", "wet"), ("key", "wet")]).await.done();
        club.later_by_minutes(5);
        ada.post("/packs/P-001/volts", &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")]).await.done();
        let page = rosa.get("/packs/P-001").await;
        assert!(page.text.contains("Box B"), "who only reports it leaves it where it lies");
        club.watches_are_over().await;
        rosa.submit(&page, "form[action$='/release']", &[("release_reason", "dry for a week")]).await.done();
        assert!(quinn.get("/packs/P-001").await.text.contains("Box B"));
    }

    async fn that_a_pack_was_looked_over_stays_ticked_when_its_volts_are_refused(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        lend(&quinn, &ada, "1").await;
        let line = line_out(&club).await;
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        let page = quinn.get("/packs/P-001/volts").await;
        let refused = quinn.submit(&page, "main form[action$='/volts']", &[("looked_over", "yes"), ("volts_line", "many")]).await;
        assert!(refused.is_refused());
        assert!(refused.form("main form[action$='/volts']").1.contains(&("looked_over".to_owned(), "yes".to_owned())));
    }

    async fn a_pack_grown_unknown_says_so_and_names_nobody_after_its_notes_were_changed(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_days(100);
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001/details").await;
        quinn.submit(&page, "main form[action$='/details']", &[("notes", "new wrap")]).await.done();
        let told = quinn.get("/packs/P-001").await.one("main");
        assert!(told.contains("It was last read 100 days ago"), "{told}");
        assert!(told.contains("Not known since 10 days ago") && !told.contains("since 10 days ago (Sun 22 Feb 2026), by"), "{told}");
    }
}
