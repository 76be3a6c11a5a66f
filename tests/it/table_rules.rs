//! What the table must not get wrong: danger that was reported before, a spread that is overridden, a reading that is
//! corrected, who may clear and release what, and what the person at the table is told.

use crate::support::*;
use sandbucket::club::people::Roles;

async fn report(who: &Browser, number: &str, seen: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [("seen", seen), ("key", key.as_str())];
    who.post(&format!("/packs/{number}/condition"), &fields)
        .await
        .done();
}

async fn read_as(who: &Browser, line: &str, rested: &str, corrects: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [
        ("volts_line", line),
        ("rested", rested),
        ("corrects", corrects),
        ("key", key.as_str()),
    ];
    who.post("/packs/P-001/volts", &fields).await.done();
}

pub async fn state(who: &Browser, number: &str) -> String {
    who.get(&format!("/packs/{number}"))
        .await
        .one(".verdict strong")
}

pub async fn hand_out(quinn: &Browser, to: &Browser, items: &str, more: &[(&str, &str)]) -> Answer {
    let page = quinn.get("/hand-out").await;
    let to = to.id().to_string();
    let mut fields = vec![("person", to.as_str()), ("items", items)];
    fields.extend(more);
    quinn.submit(&page, "main form", &fields).await
}

/// P-001 came back with nothing to see; the page that follows.
async fn looked_at(club: &TestClub, quinn: &Browser) -> Answer {
    let line = club.ids("lent WHERE closed_ms IS NULL").await[0].to_string();
    let look = format!("look-{line}");
    let fields = [
        ("shown", line.as_str()),
        (look.as_str(), "nothing"),
        ("key", "look-1"),
    ];
    let answer = quinn.post("/take-back/items", &fields).await;
    quinn.get(answer.done()).await
}

on_both! {
    async fn a_pack_reported_swollen_while_out_is_never_asked_for_volts_at_the_table(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let place = [("name", "Sand bucket"), ("kind", "quarantine")];
        quinn.post("/places/new", &place).await.done();
        hand_out(&quinn, &ada, "1", &[]).await.done();
        report(&ada, "P-001", "swollen").await;
        let mine = ada.get("/mine").await;
        assert!(mine.one(".stop").contains("get away and call the fire service"));
        let loans = quinn.get("/loans").await.one("main");
        assert!(loans.contains("get away and call"), "{loans}");
        let told = looked_at(&club, &quinn).await;
        assert!(told.select("input[name^=volts]").is_empty());
        assert_eq!(told.texts(".verdict strong"), ["Quarantine"]);
        let place = club.find("SELECT kind FROM place WHERE id = (SELECT place_id FROM pack)").await;
        assert_eq!(place, ["quarantine"], "its take-back ends there");
    }

    async fn the_box_of_a_pack_that_shows_no_cells_takes_the_volts_of_the_whole_pack(club: TestClub) {
        club.new_packs(1).await;
        club.behind_the_back("UPDATE design SET chemistry = 'nimh', cells_series = 6, balance_connector = NULL").await.expect("NiMH");
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001/volts").await;
        assert_eq!(page.select(".volts[data-whole]").len(), 1, "the script leaves its digits alone");
        let fields = [("volts", "7.80"), ("rested", "rested_an_hour")];
        quinn.submit(&page, "main form", &fields).await.done();
        assert_eq!(club.find("SELECT last_volts FROM pack").await, ["p:7800"]);
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn a_spread_that_set_it_aside_is_not_made_smaller_by_a_reading_of_a_pack_just_used(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.behind_the_back(r#"UPDATE club SET limits = REPLACE(limits, '"spread_override_mv":200', '"spread_override_mv":160')"#).await.expect("limits");
        read_as(&quinn, "3.95 3.77 3.95", "rested_an_hour", "").await;
        read_as(&quinn, "3.90 3.75 3.90", "just_used", "").await;
        let refused = hand_out(&quinn, &ada, "1", &[("reason", "it is only practice")]).await;
        assert!(refused.is_refused(), "0.18 V can't be overridden");
        read_as(&quinn, "3.90 3.75 3.90", "rested_an_hour", "").await;
        let loan = hand_out(&quinn, &ada, "1", &[("reason", "it is only practice")]).await;
        let told = quinn.get(loan.done()).await.one("main");
        assert!(told.contains("P-001 was handed out all the same") && told.contains("it is only practice"), "{told}");
        let log = club.organiser().await.get("/log").await.texts(".log li span");
        assert!(log[0].contains("it is only practice"), "{}", log[0]);
        let seen_by_a_member = club.member("Bea").await.get("/packs/P-001").await;
        assert!(!seen_by_a_member.text.contains("only practice"), "a reason may speak of a person");
    }

    async fn a_correction_counts_for_the_moment_it_corrects_and_not_for_now(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let first = club.ids("reading").await[0].to_string();
        club.later_by_days(3);
        read_as(&quinn, "3.90 3.75 3.90", "rested_an_hour", "").await;
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", &first).await;
        assert_eq!(state(&quinn, "P-001").await, "Set aside", "Monday's reading says nothing of Thursday's");
        assert_eq!(club.find("SELECT last_volts FROM pack").await, ["c:3900,3750,3900"]);
        let newest = club.ids("reading").await[1].to_string();
        read_as(&quinn, "3.90 3.89 3.90", "rested_an_hour", &newest).await;
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        let page = quinn.get("/packs/P-001/readings").await.one("table");
        assert!(page.contains("corrects 3.90 3.75 3.90"), "{page}");
        assert_eq!(club.ids("reading").await.len(), 4, "all of them stay");
    }

    async fn a_correction_of_an_old_reading_does_not_make_a_pack_known_again(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let first = club.ids("reading").await[0].to_string();
        club.later_by_days(100);
        let quinn = club.signed_in(quinn.id()).await;
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", &first).await;
        assert_eq!(state(&quinn, "P-001").await, "Not known");
    }

    async fn a_danger_that_a_correction_shows_quarantines_and_no_correction_lifts_it(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let first = club.ids("reading").await[0].to_string();
        club.later_by_days(1);
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", "").await;
        read_as(&quinn, "3.83 2.82 3.83", "rested_an_hour", &first).await;
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        let wrong = club.ids("reading").await.last().expect("the correction").to_string();
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", &wrong).await;
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
    }

    async fn each_who_reported_a_danger_is_on_record_and_none_of_them_releases_it(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        report(&quinn, "P-001", "wet").await;
        report(&rosa, "P-001", "wet").await;
        assert_eq!(club.ids("finding").await.len(), 2);
        club.later_by_minutes(90);
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", "").await;
        for who in [&quinn, &rosa] {
            let key = sandbucket::ids::new_token();
            let fields = [("release_reason", "dry for a day"), ("key", key.as_str())];
            let refused = who.post("/packs/P-001/release", &fields).await;
            assert!(refused.problems()[0].starts_with("You reported it"), "{:?}", refused.problems());
            assert!(refused.text.contains("dry for a day"), "what was typed is kept");
        }
    }

    async fn who_reports_it_again_after_a_reading_makes_that_reading_too_old(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.member("Ada").await);
        report(&ada, "P-001", "wet").await;
        club.later_by_minutes(60);
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", "").await;
        club.later_by_minutes(60);
        report(&ada, "P-001", "wet").await;
        let fields = [("release_reason", "dry for a day"), ("key", "r-0")];
        let early = rosa.post("/packs/P-001/release", &fields).await;
        assert!(early.problems()[0].starts_with("Its watch is not over"), "nobody is sent to it with a meter: {:?}", early.problems());
        club.watches_are_over().await;
        let fields = [("release_reason", "dry for a day"), ("key", "r-1")];
        let refused = rosa.post("/packs/P-001/release", &fields).await;
        assert!(refused.problems()[0].contains("not logged since it went into quarantine"), "{:?}", refused.problems());
    }

    async fn volts_read_before_it_rested_release_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.member("Ada").await);
        report(&ada, "P-001", "wet").await;
        club.later_by_minutes(90);
        read_as(&quinn, "3.83 3.82 3.83", "just_used", "").await;
        let fields = [("release_reason", "dry for a day"), ("key", "r-1")];
        let refused = rosa.post("/packs/P-001/release", &fields).await;
        assert!(refused.problems()[0].contains("before it had rested"));
        club.later_by_minutes(60);
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", "").await;
        club.watches_are_over().await;
        let fields = [("release_reason", "dry for a day"), ("key", "r-2")];
        rosa.post("/packs/P-001/release", &fields).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn every_own_word_and_every_weak_cell_is_kept(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        for words in ["it rattles", "it smells of nothing but sits askew"] {
            let key = sandbucket::ids::new_token();
            let fields = [("seen", "something_else"), ("own_words", words), ("key", key.as_str())];
            ada.post("/packs/P-001/condition", &fields).await.done();
        }
        read_as(&quinn, "2.10 3.80 2.20", "rested_an_hour", "").await;
        let told = quinn.get("/packs/P-001").await.one(".told");
        for part in ["rattles", "askew", "Cell 1", "Cell 3"] {
            assert!(told.contains(part), "{part}: {told}");
        }
    }

    async fn who_brought_it_back_alone_does_not_clear_it_for_the_table(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = club.ids("lent").await[0];
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        let answer = ada.submit(&page, "main form", &[("look", "nothing")]).await;
        let told = ada.get(answer.done()).await;
        assert_eq!(told.texts(".verdict strong"), ["Not known"], "the page says what came of it");
        read_as(&ada, "3.83 3.82 3.83", "rested_an_hour", "").await;
        assert_eq!(state(&quinn, "P-001").await, "Not known");
        read_as(&quinn, "3.83 3.82 3.83", "rested_an_hour", "").await;
        assert_eq!(state(&quinn, "P-001").await, "Not known", "read, and looked over by nobody");
        let page = quinn.get("/packs/P-001/volts").await;
        let looked = [("volts_line", "3.83 3.82 3.83"), ("rested", "rested_an_hour"), ("looked_over", "yes")];
        quinn.submit(&page, "main form[action$='/volts']", &looked).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        assert_eq!(club.member("Bea").await.get(answer.done()).await.status, 404, "nobody else's");
    }

    async fn a_swollen_pack_brought_back_alone_tells_its_holder_to_stop(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = club.ids("lent").await[0];
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        let fields = [("look", "wrong"), ("seen", "swollen")];
        let answer = ada.submit(&page, "main form", &fields).await;
        let told = ada.get(answer.done()).await;
        assert_eq!(told.texts(".verdict strong"), ["Quarantine"]);
        assert!(told.one(".stop").contains("call the fire service"));
    }

    async fn a_forgotten_pack_goes_out_again_in_one_step_once_it_was_looked_over_and_read(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let refused = hand_out(&quinn, &bea, "1", &[]).await;
        assert!(refused.one(".refused").contains("P-001 is on loan to Ada since"), "{}", refused.one(".refused"));
        let volts = [("volts_line-P-001", "3.83 3.82 3.83"), ("rested", "rested_an_hour")];
        let still = quinn.submit(&refused, "main form", &volts).await;
        assert_eq!(still.problems(), ["P-001 counts as out: look it over and say so, or take it back."]);
        assert_eq!(still.select("input[name='volts_line-P-001']")[0].attribute("value"), "3.83 3.82 3.83", "what was typed is kept");
        let looked = [volts[0], volts[1], ("looked_at", "P-001")];
        quinn.submit(&still, "main form", &looked).await.done();
        let lines = club.find("SELECT COALESCE(outcome, 'out') FROM lent ORDER BY id").await;
        assert_eq!(lines, ["forgotten", "out"]);
    }

    async fn the_sisters_of_a_pack_quarantined_for_a_fault_are_cautioned(club: TestClub) {
        club.fit_packs(3).await;
        club.behind_the_back("UPDATE pack SET batch = 'B-7' WHERE number <> 'P-003'").await.expect("a batch");
        let ada = club.member("Ada").await;
        report(&ada, "P-001", "swollen").await;
        assert_eq!(state(&ada, "P-002").await, "Caution");
        assert_eq!(state(&ada, "P-003").await, "Fit");
    }

    async fn a_charger_that_is_out_is_refused_with_whom_and_since_when(club: TestClub) {
        club.fit_packs(1).await;
        club.adapters("A-01", 2).await;
        club.behind_the_back("UPDATE kit SET number = 'S-01', kind = 'supply', owned_count = 1").await.expect("a supply");
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "S-01", &[]).await.done();
        let refused = hand_out(&quinn, &ada, "S-01", &[]).await;
        assert!(refused.one(".refused").contains("S-01 is on loan to Ada since Wed 25 Nov 2026"), "{}", refused.one(".refused"));
    }

    async fn what_changed_on_a_packs_record_is_in_the_log_before_and_after(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let fields = [("batch", "B-9"), ("notes", "new wrap"), ("key", "d-1")];
        quinn.post("/packs/P-001/details", &fields).await.done();
        let told = quinn.get("/packs/P-001").await.one("#history + ol");
        assert!(told.contains("batch:") && told.contains("B-9") && told.contains("new wrap"), "{told}");
    }

    async fn a_way_out_of_a_pack_is_read_back_before_it_is_done(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let read_back = quinn.get("/packs/P-001/way-out?way=retire&reason=worn+out").await;
        assert!(read_back.one("main").contains("for good") && read_back.one("main").contains("worn out"));
        assert_eq!(state(&quinn, "P-001").await, "Fit", "nothing is done yet");
        let change = read_back.select("dl a")[0].attribute("href").to_owned();
        assert!(quinn.get(&change).await.text.contains("worn out"));
        quinn.submit(&read_back, "main form", &[]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Retired");
        let refused = quinn.get("/packs/P-001/way-out?way=&reason=").await;
        assert_eq!(refused.problems().len(), 2);
    }

    async fn a_refused_hand_out_leads_to_what_it_asks_for(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ben) = (club.quartermaster().await, club.member("Ben").await);
        let refused = hand_out(&quinn, &ben, "1", &[]).await;
        assert_eq!(refused.select(".refused a")[0].attribute("href"), "#f-person");
        assert!(refused.one("#w-person").contains("never shown"), "the same words stand beside the field");
        let link = refused.select(".refused a")[1].attribute("href").to_owned();
        assert_eq!(link, format!("/people/{}/induction", ben.id()));
        assert_eq!(quinn.get(&link).await.status, 200);
    }

    async fn a_state_lasts_since_it_began_though_its_words_change(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.person("Rosa", Roles { is_quartermaster: true, ..Roles::default() }).await);
        read_as(&quinn, "3.85 3.80 3.85", "rested_an_hour", "").await;
        let began = club.find("SELECT CAST(state_ms AS TEXT) FROM pack").await;
        club.later_by_minutes(60);
        read_as(&rosa, "3.86 3.80 3.86", "rested_an_hour", "").await;
        assert_eq!(club.find("SELECT CAST(state_ms AS TEXT) FROM pack").await, began);
        let told = quinn.get("/packs/P-001").await;
        assert!(told.one(".verdict").contains("0.06 V apart"), "{}", told.one(".verdict"));
        assert!(told.text.contains("by Quinn"), "{}", told.text);
        read_as(&rosa, "3.85 3.85 3.85", "rested_an_hour", "").await;
        assert_ne!(club.find("SELECT CAST(state_ms AS TEXT) FROM pack").await, began);
    }

    async fn a_refused_extension_and_a_refused_loss_keep_what_was_typed_beside_the_field(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let loan = hand_out(&quinn, &ada, "1", &[]).await.done().replace("?new=1", "");
        let refused = quinn.post(&format!("{loan}/extend"), &[("due", "2020-01-01"), ("key", "e-1")]).await;
        assert_eq!(refused.select("#problems a[href='#f-due']").len(), 1);
        assert!(refused.text.contains("2020-01-01"));
        let line = club.ids("lent").await[0];
        let refused = quinn.post(&format!("/lent/{line}/lost"), &[("reason", " "), ("key", "e-2")]).await;
        assert_eq!(refused.select("#problems a[href='#f-reason']").len(), 1);
        let refused = quinn.get("/packs/P-001/way-out?way=lose&reason=x").await;
        assert_eq!(refused.one("#w-reason"), "Write down why, in 3 letters or more.");
        let refused = quinn.post(&format!("/lent/{line}/pass-on"), &[("person", ""), ("key", "e-3")]).await;
        assert_eq!(refused.select("#problems a[href='#f-person']").len(), 1);
    }

    async fn as_it_stood_tells_any_past_hour_and_overdue_begins_at_midnight(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(30);
        hand_out(&quinn, &ada, "1", &[("due", "2026-11-25")]).await.done();
        club.later_by_minutes(60);
        report(&ada, "P-001", "wet").await;
        let stood = async |time: &str| quinn.get(&format!("/stood?day=2026-11-25&time={time}")).await.one("tbody tr");
        let (before, out, wet) = (stood("18:45").await, stood("19:30").await, stood("20:10").await);
        assert!(before.contains("Fit") && !before.contains("Ada"), "{before}");
        assert!(out.contains("Fit") && out.contains("out: Ada, due Wed 25 Nov 2026"), "{out}");
        assert!(wet.contains("Quarantine"), "{wet}");
        assert!(before.contains("3S 2200 mAh LiPo"), "{before}");
        assert!(quinn.get("/stood?day=2026-11-24&time=12:00").await.select("tbody tr").is_empty());
        for (day, time, field) in [("2026-11-26", "00:00", "day"), ("2026-11-25", "20:02", "time")] {
            let ahead = quinn.get(&format!("/stood?day={day}&time={time}")).await;
            assert_eq!(ahead.one(&format!("#w-{field}")), "That has not come yet.");
            assert!(ahead.one("main").contains("Wed 25 Nov 2026, 20:00"), "shown is how it stands now");
        }
        assert!(quinn.get("/stood?day=2026-11-25&time=20:00").await.select(".wrong").is_empty());
        club.later_by_minutes(3 * 60 + 59);
        assert!(quinn.get("/loans").await.select("tbody strong:not(.quarantine)").is_empty(), "a minute before midnight");
        club.later_by_minutes(2);
        assert!(quinn.get("/loans").await.texts("tbody strong")[0].contains("1 day overdue"));
    }

    async fn a_loan_that_cannot_be_extended_tells_everything_that_stands_against_it(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1-3", &[]).await.done();
        report(&ada, "P-002", "wet").await;
        report(&ada, "P-003", "wrap_torn").await;
        let loan = club.ids("loan").await[0];
        let refused = quinn.post(&format!("/loans/{loan}/extend"), &[("due", "2026-12-24"), ("key", "e-9")]).await;
        let told = refused.problems().join(" ");
        assert!(told.contains("P-002") && told.contains("P-003"), "{told}");
        assert!(!told.contains("P-001"), "{told}");
    }

    async fn as_it_stood_tells_by_the_limits_of_that_day(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_days(60);
        let quinn = club.quartermaster().await;
        let form = quinn.get("/settings").await;
        quinn.submit(&form, "main form", &[("reading_days", "30")]).await.done();
        club.later_by_days(1);
        let then = quinn.get("/stood?day=2027-01-15&time=12:00").await.one("tbody tr");
        assert!(then.contains("Fit"), "a reading held for 90 days then: {then}");
        let now = quinn.get("/stood").await.one("tbody tr");
        assert!(now.contains("older than 30 days"), "{now}");
        let to_see_to = quinn.get("/to-see-to").await.text;
        assert!(to_see_to.contains("It was last read 61 days ago; after 30 days its state is not known."), "no reading was needed: {to_see_to}");
    }

    async fn as_it_stood_tells_which_packs_nobody_had_read_for_long(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_days(91);
        let quinn = club.quartermaster().await;
        let stood = quinn.get("/stood").await.one("tbody tr");
        assert!(stood.contains("Not known") && stood.contains("Its last reading was older than 90 days."), "{stood}");
        assert!(!stood.contains("No known fault on record."), "{stood}");
        let then = quinn.get("/stood?day=2026-11-25&time=19:30").await.one("tbody tr");
        assert!(then.contains("Fit") && then.contains("No known fault on record."), "{then}");
    }
}
