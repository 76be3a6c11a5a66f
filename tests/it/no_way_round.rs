//! Ways by which a doubtful pack might slip back into use, or a danger out of sight: each is closed, and the log tells.

use crate::support::*;
use crate::table_rules::{hand_out, state};

async fn report(who: &Browser, number: &str, fields: &[(&str, &str)]) {
    let page = who.get(&format!("/packs/{number}/condition?now=no")).await;
    who.submit(&page, "main form", fields).await.done();
}

async fn read(who: &Browser, number: &str, fields: &[(&str, &str)]) -> Answer {
    let page = who.get(&format!("/packs/{number}/volts")).await;
    who.submit(&page, "main form", fields).await
}

async fn lines(club: &TestClub) -> Vec<String> {
    let ids = club.ids("lent WHERE closed_ms IS NULL").await;
    ids.iter().map(ToString::to_string).collect()
}

async fn items(quinn: &Browser, numbers: &str) -> Answer {
    let query = urlencoded(&[("numbers", numbers)]);
    quinn.get(&format!("/take-back/items?{query}")).await
}

async fn history(who: &Browser, number: &str) -> String {
    let page = who.get(&format!("/packs/{number}")).await;
    page.one("#history + ol")
}

async fn sand_bucket(quinn: &Browser) {
    let place = [("name", "Sand bucket"), ("kind", "quarantine")];
    quinn.post("/places/new", &place).await.done();
}

const GOOD: &str = "3.83 3.82 3.83";

on_both! {
    async fn a_lost_pack_that_is_found_is_looked_over_before_it_is_lent(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let asked = quinn.get(&format!("/lent/{line}/change")).await;
        let back = quinn.get(&format!("/lent/{line}/lost?reason=fell+in+the+river")).await;
        assert!(asked.select("form[action$='/lost'][method=get]").len() == 1, "it is read back first");
        assert_eq!(back.one("main button"), "Record P-001 as lost");
        assert_eq!(lines(&club).await.len(), 1, "nothing is stored yet");
        quinn.submit(&back, "main form", &[]).await.done();
        let found = quinn.get("/packs/P-001/way-out?way=found&reason=fished+out").await;
        quinn.submit(&found, "main form", &[]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Not known");
        assert!(history(&quinn, "P-001").await.contains("Reason: fished out."));
        assert!(hand_out(&quinn, &ada, "1", &[]).await.is_refused());
        read(&quinn, "P-001", &[("volts_line", GOOD), ("rested", "rested_an_hour"), ("looked_over", "yes")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn who_takes_back_several_is_told_of_the_dangerous_one_before_typing_volts(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        sand_bucket(&quinn).await;
        hand_out(&quinn, &ada, "1 2", &[]).await.done();
        let lines = lines(&club).await;
        let (seen, look) = (format!("seen-{}", lines[0]), format!("look-{}", lines[1]));
        let page = items(&quinn, "1 2").await;
        let answer = quinn.submit(&page, "main form", &[(&seen, "smoke_or_fire"), (&look, "nothing")]).await;
        let volts = quinn.get(answer.done()).await;
        let told = volts.one(".stop[role=alert]");
        assert!(told.contains("P-001 is taken back and in quarantine.") && told.contains("Then, cold and quiet for an hour, it goes to Sand bucket") && told.contains("nobody carries it on while it is watched"), "{told}");
        assert_eq!(volts.texts("legend")[0], "P-002");
        let (_, queries) = club.queries_of(quinn.get(answer.done())).await;
        assert!(queries <= 3, "{queries}");
    }

    async fn what_is_still_out_and_dangerous_is_quarantined_on_its_loan(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let (look, seen) = (format!("look-{line}"), format!("seen-{line}"));
        let answer = quinn.submit(&items(&quinn, "1").await, "main form", &[(&look, "still_out"), (&seen, "swollen")]).await;
        let done = quinn.get(answer.done()).await;
        assert!(done.one("main .lead").contains("1 still out"), "{}", done.one("main .lead"));
        assert!(done.one("main").contains("It is still out: Ada. Tell them now"), "{}", done.one("main"));
        assert!(done.one(".stop").contains("Nobody carries it while it is watched"), "{}", done.one(".stop"));
        assert_eq!(lines(&club).await, [line]);
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert!(ada.get("/mine").await.one(".stop").contains("call the fire service"));
    }

    async fn a_retired_pack_that_swells_goes_to_quarantine_and_says_so(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        sand_bucket(&quinn).await;
        read(&quinn, "P-001", &[("volts_line", "3.83 3.78 3.83"), ("rested", "rested_an_hour")]).await.done();
        let retire = [("way", "retire"), ("reason", "half its capacity is gone"), ("key", "r-1")];
        quinn.post("/packs/P-001/way-out", &retire).await.done();
        report(&quinn, "P-001", &[("seen", "swollen")]).await;
        let page = quinn.get("/packs/P-001").await;
        let main = page.one("main");
        assert!(main.contains("Retired") && main.contains("half its capacity is gone. Seen: Swollen or puffed."), "{main}");
        assert!(page.texts(".stop")[0].contains("call the fire service"), "{main}");
        assert!(main.contains("Sand bucket"), "{main}");
        quinn.submit(&page, "form:has(input[name=lies])", &[("carried", "yes")]).await.done();
        let details = quinn.get("/packs/P-001/details").await;
        let refused = quinn.submit(&details, "main form", &[("place", "")]).await;
        assert_eq!(refused.problems(), ["It is in quarantine: it goes to a quarantine place and nowhere else."], "retired or not");
        assert!(!page.one("ol.told").contains("alance"), "no advice to charge it: {}", page.one("ol.told"));
    }

    async fn a_refused_hand_out_books_nothing_in_and_the_same_volts_count_once(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.member("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let first = hand_out(&quinn, &bea, "1 2", &[]).await;
        let typed = [("volts_line-P-001", GOOD), ("looked_at", "P-001"), ("rested", "rested_an_hour")];
        let before = club.ids("reading").await.len();
        let refused = quinn.submit(&first, "main form", &typed).await;
        assert!(refused.is_refused(), "Bea was never shown safe handling");
        assert_eq!(club.find("SELECT outcome FROM lent WHERE outcome IS NOT NULL").await, [""; 0]);
        assert_eq!(refused.select("[name='volts_line-P-001']")[0].attribute("value"), GOOD, "what was typed stays");
        let again = quinn.submit(&first, "main form", &typed).await;
        assert_eq!(again.texts(".refused li"), refused.texts(".refused li"), "a double click tells the same");
        assert_eq!(club.ids("reading").await.len(), before + 1);
        let cara = club.borrower("Cara").await.id().to_string();
        quinn.submit(&refused, "main form", &[("person", cara.as_str()), ("looked_at", "P-001"), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(club.find("SELECT outcome FROM lent WHERE outcome IS NOT NULL").await, ["forgotten"]);
        assert_eq!(club.ids("reading").await.len(), before + 1, "the same measurement, sent again");
    }

    async fn dangerous_volts_of_a_pack_that_counts_as_out_take_it_back_and_that_can_be_undone(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let first = hand_out(&quinn, &bea, "1", &[]).await;
        let typed = [("volts_line-P-001", "2.20 3.80 3.80"), ("looked_at", "P-001"), ("rested", "rested_an_hour")];
        let refused = quinn.submit(&first, "main form", &typed).await;
        assert!(refused.one(".stop[role=alert]").starts_with("StoredP-001"), "{}", refused.one(".stop[role=alert]"));
        assert_eq!(club.find("SELECT outcome FROM lent").await, ["back"]);
        assert!(quinn.get("/loans").await.one("main").contains("Back within a day"));
    }

    async fn volts_below_the_minimum_count_although_nobody_said_whether_the_pack_rested(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        read(&quinn, "P-002", &[("volts_line", "2.20 3.80 3.80")]).await.done();
        assert_eq!(state(&quinn, "P-002").await, "Quarantine");
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let (look, volts) = (format!("look-{line}"), format!("volts_line-{line}"));
        let answer = quinn.submit(&items(&quinn, "1").await, "main form", &[(&look, "nothing")]).await;
        let page = quinn.get(answer.done()).await;
        let done = quinn.submit(&page, "main form", &[(&volts, "2.20 3.80 3.80")]).await;
        assert!(done.done().contains("/take-back/done"));
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
    }

    async fn a_double_click_on_refused_volts_keeps_what_was_typed_and_tells_the_same(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1 2", &[]).await.done();
        let lines = lines(&club).await;
        let answer = quinn.submit(&items(&quinn, "1 2").await, "main form", &[("all", "nothing")]).await;
        let page = quinn.get(answer.done()).await;
        let names = [format!("volts_line-{}", lines[0]), format!("volts_line-{}", lines[1])];
        let typed = [(names[0].as_str(), "2.20 3.80 3.80"), (names[1].as_str(), "3.8x 3.82 3.83"), ("rested", "rested_an_hour")];
        let first = quinn.submit(&page, "main form", &typed).await;
        let second = quinn.submit(&page, "main form", &typed).await;
        for refused in [&first, &second] {
            assert!(refused.is_refused());
            assert_eq!(refused.select(&format!("[name='{}']", names[1]))[0].attribute("value"), "3.8x 3.82 3.83");
            assert!(refused.one("main").contains("P-001"), "{}", refused.one("main"));
            assert_eq!(refused.select(".stop[role=alert]").len(), 1);
        }
        let read = club.find("SELECT COALESCE(volts, '') FROM reading WHERE lent_id IS NOT NULL").await;
        assert_eq!(read.len(), 1, "{read:?}");
    }

    async fn undoing_what_a_member_brought_back_alone_leaves_the_loan_as_it_was(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Not known");
        quinn.post(&format!("/lent/{line}/reopen"), &[("key", "u-1")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        let loan = club.ids("loan").await[0];
        quinn.post(&format!("/loans/{loan}/extend"), &[("due", "2026-12-24"), ("key", "e-1")]).await.done();
    }

    async fn a_pack_is_released_only_once_it_is_back_and_not_by_who_answers_for_its_holder(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, quil) = (club.quartermaster().await, club.second_quartermaster().await);
        let ada = club.borrower("Ada").await;
        let answers = format!("UPDATE person SET responsible_id = {} WHERE id = {}", club.literal(quinn.id()), club.literal(ada.id()));
        club.behind_the_back(&answers).await.expect("Quinn answers for Ada");
        hand_out(&quil, &ada, "1", &[]).await.done();
        report(&ada, "P-001", &[("seen", "wet")]).await;
        club.later_by_minutes(1);
        read(&ada, "P-001", &[("volts_line", GOOD), ("rested", "rested_an_hour")]).await.done();
        let release = async |by: &Browser, key: &str| by.post("/packs/P-001/release", &[("release_reason", "dry, steady"), ("key", key)]).await;
        assert!(release(&quil, "r-1").await.problems()[0].starts_with("It is out on a loan."));
        let line = lines(&club).await.remove(0);
        let look = format!("look-{line}");
        quil.submit(&items(&quil, "1").await, "main form", &[(look.as_str(), "nothing")]).await.done();
        assert!(release(&quinn, "r-2").await.problems()[0].starts_with("You had it last"), "she answers for Ada");
        club.watches_are_over().await;
        release(&quil, "r-3").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn who_answers_for_a_guest_brings_back_for_them(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, kit) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Kit").await);
        let answers = format!("UPDATE person SET responsible_id = {} WHERE id = {}", club.literal(ada.id()), club.literal(kit.id()));
        club.behind_the_back(&answers).await.expect("Ada answers for Kit");
        hand_out(&quinn, &kit, "1", &[]).await.done();
        let link = ada.get("/mine").await.select("main a[href$='/bring-back']")[0].attribute("href").to_owned();
        let bea = club.borrower("Bea").await;
        assert_eq!(bea.get(&link).await.status, 404, "she answers for nobody");
        let page = ada.get(&link).await;
        let done = ada.submit(&page, "main form", &[("look", "nothing")]).await;
        assert!(ada.get(done.done()).await.one("main").contains("P-001 is off the loan."));
        assert!(lines(&club).await.is_empty());
    }

    async fn a_dangerous_pack_brought_back_alone_ends_at_the_quarantine_place(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        sand_bucket(&quinn).await;
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("seen", "wet")]).await.done();
        assert!(quinn.get("/packs/P-001").await.one("main").contains("Sand bucket"));
        let none = items(&quinn, "1").await;
        assert_eq!(none.problems(), ["None of these is out. Somebody may have taken it back already."]);
        assert_eq!(none.select("main a[href='/packs/P-001']").len(), 1, "its page is one tap away");
    }

    async fn correcting_an_older_reading_takes_back_what_it_said_unless_it_was_dangerous(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        read(&quinn, "P-001", &[("volts_line", "3.99 3.79 3.79"), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        club.later_by_minutes(1);
        read(&quinn, "P-001", &[("volts_line", "3.79 3.79 3.79"), ("rested", "just_used")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside", "a spread is not judged before it rested");
        let readings = quinn.get("/packs/P-001/readings").await;
        let links = readings.select("a[href*='corrects=']");
        let link = links[1].attribute("href").to_owned();
        let page = quinn.get(&link).await;
        quinn.submit(&page, "main form", &[("volts_line", "3.79 3.79 3.79"), ("volts", ""), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        let told = history(&quinn, "P-001").await;
        assert!(told.contains("corrected a reading: 3.79 3.79 3.79 V, in place of 3.99 3.79 3.79 V."), "{told}");
    }

    async fn a_correction_that_says_nothing_of_spread_leaves_the_spread_standing(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        read(&quinn, "P-001", &[("volts_line", "4.00 3.84 4.00"), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        let readings = quinn.get("/packs/P-001/readings").await;
        let link = readings.select("a[href*='corrects=']")[0].attribute("href").to_owned();
        let page = quinn.get(&link).await;
        let unrested = [("volts_line", "4.00 3.84 4.00"), ("volts", ""), ("rested", "just_used")];
        quinn.submit(&page, "main form", &unrested).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside", "a spread is judged on a rested pack alone");
    }

    async fn the_same_volts_count_anew_when_with_them_a_pack_is_looked_over(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        read(&quinn, "P-001", &[("volts_line", GOOD), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Not known", "nobody said it was looked over");
        let refused = hand_out(&quinn, &bea, "1", &[]).await;
        let typed = [("volts_line-P-001", GOOD), ("looked_at", "P-001"), ("rested", "rested_an_hour")];
        quinn.submit(&refused, "main form", &typed).await.done();
        assert_eq!(lines(&club).await.len(), 1);
    }

    async fn a_forgotten_pack_with_a_spread_is_asked_about_once(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let first = hand_out(&quinn, &bea, "1", &[]).await;
        let typed = [("volts_line-P-001", "3.95 3.80 3.80"), ("looked_at", "P-001"), ("rested", "rested_an_hour")];
        let refused = quinn.submit(&first, "main form", &typed).await;
        assert!(refused.is_refused());
        assert_eq!(refused.select("[name='volts_line-P-001']").len(), 1);
    }

    async fn the_reason_for_an_overridden_extension_is_kept_for_kit_too(club: TestClub) {
        club.adapters("A-01", 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "A-01x2", &[]).await.done();
        club.behind_the_back("UPDATE induction SET ends_on = '2026-11-24'").await.expect("it ran out");
        let loan = club.ids("loan").await[0];
        let page = quinn.get(&format!("/loans/{loan}")).await;
        let refused = quinn.submit(&page, "form[action$='/extend']", &[("due", "2026-12-24")]).await;
        assert!(refused.problems()[0].contains("induction ran out"), "{:?}", refused.problems());
        quinn.submit(&refused, "form[action$='/extend']", &[("why", "shown again on Friday")]).await.done();
        let told = club.organiser().await.get("/log").await.one("main");
        assert!(told.contains("reason: shown again on Friday"), "{told}");
    }

    async fn kit_is_here_with_something_to_mend_or_still_out_and_not_both(club: TestClub) {
        club.adapters("A-01", 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "A-01x2", &[]).await.done();
        let line = lines(&club).await.remove(0);
        let (look, words) = (format!("look-{line}"), format!("kit_words-{line}"));
        let refused = quinn.submit(&items(&quinn, "A-01").await, "main form", &[(&look, "still_out"), (&words, "pin bent")]).await;
        assert_eq!(refused.problems(), ["A-01: is it here with something to mend, or still out? Say one of them."]);
        assert_eq!(lines(&club).await.len(), 1);
    }

    async fn numbers_that_are_not_out_are_asked_for_at_once(club: TestClub) {
        club.fit_packs(6).await;
        let quinn = club.quartermaster().await;
        let (page, queries) = club.queries_of(items(&quinn, "1 2 3 5-7")).await;
        assert!(queries <= 3, "{queries}");
        assert_eq!(page.select("main a[href^='/packs/P-']").len(), 5);
        assert!(page.one("main").contains("There is no 7."), "{}", page.one("main"));
    }

    async fn a_spread_overridden_at_hand_out_is_overridden_again_to_extend_and_to_pass_on(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        read(&quinn, "P-001", &[("volts_line", "3.93 3.78 3.80"), ("rested", "rested_an_hour")]).await.done();
        hand_out(&quinn, &ada, "1", &[("reason", "for the pit demo")]).await.done();
        let loan = club.ids("loan").await[0];
        let page = quinn.get(&format!("/loans/{loan}")).await;
        let refused = quinn.submit(&page, "form[action$='/extend']", &[("due", "2026-12-24")]).await;
        assert!(refused.problems()[0].contains("set aside"), "{:?}", refused.problems());
        quinn.submit(&refused, "form[action$='/extend']", &[("why", "the demo goes on")]).await.done();
        assert!(history(&quinn, "P-001").await.contains("loan extended. Due Thu 24 Dec 2026. Reason: the demo goes on."), "{}", history(&quinn, "P-001").await);
        let line = lines(&club).await.remove(0);
        let to = bea.id().to_string();
        let page = quinn.get(&format!("/lent/{line}/change")).await;
        let refused = quinn.submit(&page, "form[action$='/pass-on']", &[("person", to.as_str())]).await;
        assert!(refused.is_refused());
        let done = quinn.submit(&refused, "form[action$='/pass-on']", &[("why", "her turn")]).await;
        let back = quinn.get(&format!("/lent/{line}/change")).await;
        assert!(back.status == 409 && back.text.contains("is no longer out on that loan. Nothing was changed."), "{}", back.text);
        assert!(quinn.get(done.done()).await.one("main").contains("spread 0.15 V overridden: her turn"));
    }

    async fn the_log_tells_what_was_seen_and_what_was_mended(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        report(&ada, "P-001", &[("seen", "wrap_torn"), ("seen", "something_else"), ("own_words", "kink near the plug")]).await;
        let page = quinn.get("/packs/P-001").await;
        quinn.submit(&page, "form[action$='/mended']", &[("reason", "rewrapped")]).await.done();
        report(&ada, "P-001", &[("seen", "in_a_crash"), ("crash", "untouched")]).await;
        let told = history(&ada, "P-001").await;
        assert!(told.contains("reported its condition: Outer wrap torn, foil whole; kink near the plug."), "{told}");
        assert!(told.contains("mended: "), "{told}");
        assert!(told.contains("No, the pack itself was not touched."), "{told}");
        assert!(!told.contains("rewrapped"), "a reason may speak of a person");
    }

    async fn a_member_is_told_whom_to_ask(club: TestClub) {
        club.new_packs(1).await;
        club.behind_the_back("UPDATE club SET may_members_borrow = TRUE").await.expect("a setting");
        let ada = club.borrower("Ada").await;
        let page = ada.get("/hand-out").await;
        let refused = ada.submit(&page, "main form", &[("items", "1")]).await;
        let told = refused.one(".refused");
        assert!(told.contains("Ask a quartermaster to look at it.") && !told.contains("hand it out"), "{told}");
    }
}
