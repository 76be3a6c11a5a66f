//! Danger that is told late, twice, or beside something that is wrong: it is stored all the same, and whoever told it is told so.

use crate::support::*;

const GENTLY: &str = "/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21";

async fn started(who: &Browser) -> String {
    let page = who.get(GENTLY).await;
    let answer = who.submit(&page, "main form[method='post']", &[]).await;
    answer.done().to_owned()
}

async fn report(who: &Browser, fields: &[(&str, &str)]) {
    let key = sandbucket::ids::new_token();
    let mut all = vec![("key", key.as_str())];
    all.extend(fields);
    who.post("/packs/P-001/condition", &all).await.done();
}

async fn state(club: &TestClub) -> String {
    club.find("SELECT state FROM pack ORDER BY number_key")
        .await
        .remove(0)
}

async fn open_findings(club: &TestClub) -> Vec<String> {
    club.find("SELECT rule || ' ' || gravity FROM finding WHERE closed_ms IS NULL ORDER BY rule, found_ms").await
}

async fn release(who: &Browser) -> Answer {
    let key = sandbucket::ids::new_token();
    who.post(
        "/packs/P-001/release",
        &[("release_reason", "dry for a day"), ("key", &key)],
    )
    .await
}

on_both! {
    async fn what_is_seen_on_a_pack_that_was_off_the_loan_meanwhile_is_stored(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, ben) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Ben").await);
        let to = ada.id().to_string();
        quinn.post("/hand-out", &[("person", &*to), ("items", "P-001"), ("key", "out")]).await.done();
        let line = club.ids("lent").await[0];
        let bring = format!("/mine/{line}/bring-back");
        let late = ada.get(&bring).await;
        ada.post(&bring, &[("seen", "nothing"), ("look", "nothing"), ("key", "first")]).await.done();
        assert_eq!(state(&club).await, "not_known");
        let swollen = [("seen", "swollen"), ("look", "wrong")];
        assert_eq!(ben.post(&bring, &swollen).await.status, 404, "it was not with him");
        assert_eq!(ada.post(&bring, &[("seen", "nothing"), ("look", "nothing"), ("key", "second")]).await.status, 404);
        assert_eq!(state(&club).await, "not_known");
        let told = ada.submit(&late, "main form", &swollen).await;
        assert_eq!(told.done(), format!("/mine/{line}/brought-back?late=yes"));
        let page = ada.get(told.done()).await;
        assert!(page.one(".lead").contains("off the loan already. What you saw on it is stored."), "{}", page.one("main"));
        assert_eq!(page.select("div.stop").len(), 1);
        assert_eq!(state(&club).await, "quarantine");
        assert_eq!(open_findings(&club).await, ["came_back_unchecked not_known", "swollen final_danger"]);
        ada.submit(&late, "main form", &swollen).await.done();
        assert_eq!(open_findings(&club).await.len(), 2, "sent twice it is stored once");
    }

    async fn what_was_wrong_with_a_charge_is_stored_though_somebody_ended_it_before(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        let charge = started(&quinn).await;
        let late = ada.get(&charge).await;
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "300")]).await.done();
        let fine = ada.submit(&late, "main form[action$='/end']", &[("outcome", "finished")]).await;
        assert!(fine.is_refused());
        assert_eq!(state(&club).await, "fit");
        let wrong = [("outcome", "wrong"), ("words", "it hisses"), ("key", "late")];
        assert_eq!(ada.submit(&late, "main form[action$='/end']", &wrong).await.done(), "/packs/P-001/condition");
        assert_ne!(state(&club).await, "fit");
        assert_eq!(open_findings(&club).await.len(), 1, "{:?}", open_findings(&club).await);
        assert_eq!(club.find("SELECT outcome FROM charge").await, ["finished"], "how it ended stays");
        // And volts that tell of danger, in the same way.
        let volts = [("outcome", "finished"), ("volts_line", "3.82 2.10 3.82"), ("key", "volts")];
        let read = ada.submit(&late, "main form[action$='/end']", &volts).await;
        assert!(read.problems().iter().any(|words| words.contains("are stored")), "{:?}", read.problems());
        assert_eq!(state(&club).await, "quarantine");
    }

    async fn what_is_seen_on_a_pack_as_its_charge_is_stopped_quarantines_it_whatever_else_was_ticked(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let charge = started(&quinn).await;
        let page = quinn.get(&charge).await;
        let seen = [("outcome", "finished"), ("seen", "swollen"), ("mah", "abc")];
        let told = quinn.submit(&page, "main form[action$='/end']", &seen).await;
        assert_eq!(told.done(), "/packs/P-001");
        assert_eq!(open_findings(&club).await, ["stopped_wrong to_mend", "swollen final_danger"]);
        assert_eq!((state(&club).await.as_str(), club.find("SELECT outcome FROM charge").await), ("quarantine", vec!["wrong".to_owned()]));
        assert_eq!(quinn.get("/packs/P-001").await.select("div.stop").len(), 1);
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM finding WHERE is_to_tell = TRUE").await, ["1"], "and it is told at once");
    }

    async fn dangerous_volts_at_the_end_of_a_charge_are_stored_whatever_else_of_it_is_wrong_and_once(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let charge = started(&quinn).await;
        let before = club.ids("reading").await.len();
        let refused = quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("volts_line", "3.82 2.10 3.82"), ("mah", "abc")]).await;
        assert!(refused.is_refused() && refused.text.contains("abc"), "what was typed beside them is kept");
        assert_eq!((state(&club).await.as_str(), club.ids("reading").await.len()), ("quarantine", before + 1));
        assert_eq!(refused.select("input[name=volts_line]")[0].attribute("value"), "");
        quinn.submit(&refused, "main form[action$='/end']", &[("mah", "300"), ("outcome", "finished")]).await.done();
        assert_eq!(club.ids("reading").await.len(), before + 1, "they are not read twice");
        let unsaid = quinn.post(&format!("{charge}/end"), &[("volts_line", "3.82 3.81 3.82")]).await;
        assert!(unsaid.is_refused());
        assert_eq!(club.ids("reading").await.len(), before + 1, "volts in order wait for the rest of the form");
    }

    async fn danger_in_a_look_is_stored_though_the_watch_is_over_or_all_quiet_was_ticked_too(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.member("Ada").await);
        report(&ada, &[("seen", "wet")]).await;
        let phone = ada.get("/packs/P-001/watch").await;
        let both = ada.submit(&phone, "main form", &[("quiet", "yes"), ("sign", "could_not_see"), ("key", "a")]).await;
        assert!(both.is_refused(), "nothing of it is danger");
        club.later_by_minutes(1);
        quinn.post("/packs/P-001/volts", &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")]).await.done();
        club.watches_are_over().await;
        release(&rosa).await.done();
        assert_eq!(state(&club).await, "fit");
        let quiet = ada.submit(&phone, "main form", &[("quiet", "yes"), ("key", "b")]).await;
        assert!(quiet.is_refused(), "it is not watched any more");
        ada.submit(&phone, "main form", &[("sign", "smoke"), ("key", "c")]).await.done();
        assert_eq!((state(&club).await, open_findings(&club).await), ("quarantine".to_owned(), vec!["smoke_or_fire final_danger".to_owned()]));
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM watch WHERE how IS NULL").await, ["1"], "and it is watched");
        let again = ada.get("/packs/P-001/watch").await;
        ada.submit(&again, "main form", &[("quiet", "yes"), ("sign", "bulging"), ("key", "d")]).await.done();
        assert_eq!(open_findings(&club).await.len(), 2);
        let told = ada.get("/packs/P-001/watch").await.one("ol.log");
        assert!(told.contains("It bulges") && !told.contains("as it lay"), "{told}");
    }

    async fn the_same_danger_told_again_by_the_same_person_begins_the_watch_anew(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.member("Ada").await);
        let hot = [("seen", "too_hot_to_hold")];
        report(&ada, &hot).await;
        let began = || club.find("SELECT CAST(began_ms AS TEXT) FROM watch");
        let first = began().await;
        club.later_by_minutes(5);
        report(&ada, &hot).await;
        assert_eq!((began().await, open_findings(&club).await.len()), (first.clone(), 1), "sent twice");
        club.later_by_minutes(55);
        report(&ada, &hot).await;
        assert_ne!(began().await, first);
        assert_eq!(open_findings(&club).await.len(), 2);
        club.later_by_minutes(24 * 60 + 30);
        let (quinn, rosa, ada) = { let _ = (quinn, rosa, ada); (club.quartermaster().await, club.second_quartermaster().await, club.member("Ada").await) };
        let quiet = ada.get("/packs/P-001/watch").await;
        ada.submit(&quiet, "main form", &[("quiet", "yes")]).await.done();
        quinn.post("/packs/P-001/volts", &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")]).await.done();
        assert!(release(&rosa).await.is_refused(), "its watch of the second time is not over");
        assert_eq!(state(&club).await, "quarantine");
    }

    async fn each_time_a_stranger_tells_of_smoke_the_watch_begins_anew_however_little_their_word_counts(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, visitor) = (club.member("Ada").await, club.visitor());
        club.quartermaster().await.post("/labels", &[("numbers", "1"), ("sheet", "a4-21"), ("base", "http://127.0.0.1:8080")]).await.done();
        let code = club.find("SELECT code FROM label").await.remove(0);
        report(&ada, &[("seen", "wet")]).await;
        let began = || club.find("SELECT CAST(began_ms AS TEXT) FROM watch WHERE how IS NULL");
        let mut before = began().await;
        for _ in 0..3 {
            club.later_by_minutes(20);
            let form = visitor.get(&format!("/t/{code}/report?now=away")).await;
            visitor.submit(&form, "main form", &[("seen", "smoke_or_fire")]).await.done();
            let now = began().await;
            assert!(now.len() == 1 && now != before, "{now:?}");
            before = now;
        }
    }

    async fn something_else_that_happens_as_it_is_told_is_quarantined_by_a_member_and_by_a_stranger(club: TestClub) {
        club.fit_packs(2).await;
        let (ada, visitor) = (club.member("Ada").await, club.visitor());
        let quinn = club.quartermaster().await;
        quinn.post("/labels", &[("numbers", "1-2"), ("sheet", "a4-21"), ("base", "http://127.0.0.1:8080")]).await.done();
        report(&ada, &[("seen", "something_else"), ("own_words", "a spot on the foil"), ("is_now", "no")]).await;
        assert_eq!(state(&club).await, "set_aside");
        report(&ada, &[("seen", "something_else"), ("own_words", "flames from the lead"), ("is_now", "yes")]).await;
        assert_eq!(state(&club).await, "quarantine");
        let code = club.find("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE k.number = 'P-002'").await.remove(0);
        let form = visitor.get(&format!("/t/{code}/report?now=away")).await;
        visitor.submit(&form, "main form", &[("seen", "something_else"), ("own_words", "it crackles")]).await.done();
        let states = club.find("SELECT state FROM pack ORDER BY number_key").await;
        assert_eq!(states, ["quarantine", "quarantine"]);
    }

    async fn dangerous_volts_sent_as_a_correction_of_what_was_corrected_meanwhile_are_a_reading_of_their_own(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let readings = quinn.get("/packs/P-001/readings").await;
        let link = readings.select("a[href*='corrects=']")[0].attribute("href").to_owned();
        let late = quinn.get(&link).await;
        let page = rosa.get(&link).await;
        let form = "main form[action$='/volts']";
        let boxes = |two: &'static str, key: &'static str| [("volts", "3.82"), ("volts", two), ("volts", "3.82"), ("rested", "rested_an_hour"), ("key", key)];
        rosa.submit(&page, form, &boxes("3.80", "first")).await.done();
        let again = quinn.submit(&late, form, &boxes("3.79", "a")).await;
        assert!(again.is_refused());
        assert_eq!(state(&club).await, "fit");
        let kept = quinn.submit(&late, form, &boxes("2.10", "b")).await;
        assert!(kept.is_refused() && kept.text.contains("corrected already"), "{:?}", kept.problems());
        assert_eq!(state(&club).await, "quarantine");
        assert_eq!(open_findings(&club).await, ["over_discharged danger", "spread_out to_mend"]);
    }
}
