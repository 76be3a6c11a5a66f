//! Volts typed while handing out, reasons that override, and the night: what is kept, what is stored first, and what a loan
//! inherits.

use crate::support::*;
use crate::table_rules::{hand_out, state};

const GOOD: &str = "3.83 3.82 3.83";
const DANGEROUS: &str = "3.91 2.80 3.90";

fn typed(page: &Answer, number: &str) -> Vec<String> {
    let found = page.select(&format!("input[name='volts_line-{number}']"));
    found
        .iter()
        .map(|one| one.attribute("value").to_owned())
        .collect()
}

/// The form asks for the volts of two packs that nobody ever read.
async fn asks_for_volts(club: &TestClub) -> (Browser, Browser, Answer) {
    club.new_packs(2).await;
    let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
    let page = hand_out(&quinn, &ada, "1 2", &[]).await;
    assert!(page.is_refused());
    assert_eq!(typed(&page, "P-002"), [""]);
    (quinn, ada, page)
}

async fn night(quinn: &Browser, ends_on: &str) {
    let place = [("name", "Hall table"), ("kind", "table")];
    quinn.post("/places/new", &place).await.done();
    let page = quinn.get("/night").await;
    let first = |name: &str| {
        let options = page.select(&format!("select[name={name}] option"));
        options[1].attribute("value").to_owned()
    };
    let (place, on_duty) = (first("place"), first("on_duty"));
    let fields = [
        ("place", place.as_str()),
        ("on_duty", on_duty.as_str()),
        ("ends_on", ends_on),
        ("ends_at", "21:00"),
    ];
    quinn.submit(&page, "main form", &fields).await.done();
}

on_both! {
    async fn volts_typed_at_hand_out_are_kept_on_every_refusal_and_dangerous_ones_stored_first(club: TestClub) {
        let (quinn, _, page) = asks_for_volts(&club).await;
        let refusals = [
            [("person", "x"), ("items", "1 2"), ("due", "")],
            [("items", "1 2"), ("due", "2020-01-01"), ("purpose", "")],
            [("items", "1 2 99"), ("due", ""), ("purpose", "")],
            [("items", "1 2 ?"), ("due", ""), ("purpose", "")],
        ];
        for refusal in refusals {
            let mut fields = vec![("volts_line-P-001", GOOD), ("volts_line-P-002", ""), ("rested", "rested_an_hour")];
            fields.extend(refusal);
            let refused = quinn.submit(&page, "main form", &fields).await;
            assert_eq!(refused.problems().len(), 1, "{refusal:?}");
            assert_eq!(typed(&refused, "P-001"), [GOOD], "{refusal:?}");
            assert!(club.ids("reading").await.is_empty(), "{refusal:?}: nothing dangerous, nothing stored");
        }
        for refusal in refusals {
            let page = quinn.submit(&page, "main form", &[("items", "1 2"), ("due", "2020-01-01"), ("volts_line-P-001", "x"), ("rested", "rested_an_hour")]).await;
            let mut fields = vec![("volts_line-P-001", GOOD), ("volts_line-P-002", DANGEROUS), ("rested", "rested_an_hour")];
            fields.extend(refusal);
            let refused = quinn.submit(&page, "main form", &fields).await;
            assert!(refused.one(".stop").contains("P-002: dangerous volts, in quarantine already"), "{refusal:?}: {}", refused.text);
            assert_eq!((typed(&refused, "P-001"), typed(&refused, "P-002")), (vec![GOOD.to_owned()], vec![]), "{refusal:?}");
            assert_eq!(state(&quinn, "P-002").await, "Quarantine");
            let again = quinn.submit(&page, "main form", &fields).await;
            assert_eq!(again.one(".stop"), refused.one(".stop"), "the same form again");
            assert_eq!(club.ids("reading").await.len(), 1, "the same measurement, however often it is sent");
        }
        assert!(club.ids("loan").await.is_empty());
    }

    async fn what_a_loan_is_for_is_never_cut_short(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let (to, long) = (ada.id().to_string(), "a round ".repeat(26));
        let page = quinn.get("/hand-out").await;
        let refused = quinn.submit(&page, "main form", &[("person", to.as_str()), ("items", "1"), ("purpose", long.as_str())]).await;
        assert_eq!(refused.problems(), ["Say it in at most 200 letters."]);
        assert_eq!(refused.select("#f-purpose")[0].attribute("value"), long.trim());
    }

    async fn a_typing_mistake_in_one_pack_keeps_no_danger_of_another_back(club: TestClub) {
        let (quinn, _, page) = asks_for_volts(&club).await;
        let fields = [("items", "1 2"), ("volts_line-P-001", "3.8x"), ("volts_line-P-002", DANGEROUS), ("rested", "rested_an_hour")];
        let refused = quinn.submit(&page, "main form", &fields).await;
        assert_eq!(typed(&refused, "P-001"), ["3.8x"]);
        assert_eq!(state(&quinn, "P-002").await, "Quarantine");
    }

    async fn danger_read_on_a_pack_that_is_taken_off_the_list_is_stored(club: TestClub) {
        let (quinn, _, page) = asks_for_volts(&club).await;
        let fields = [("items", "1"), ("volts_line-P-001", GOOD), ("volts_line-P-002", DANGEROUS), ("rested", "rested_an_hour")];
        quinn.submit(&page, "main form", &fields).await.done();
        assert_eq!(state(&quinn, "P-002").await, "Quarantine");
        assert_eq!(club.ids("lent").await.len(), 1, "P-001 went out");
    }

    async fn a_pack_that_came_back_unchecked_is_looked_over_before_its_volts_count(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = club.ids("lent").await[0];
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        let refused = hand_out(&quinn, &bea, "1", &[]).await;
        let volts = [("volts_line-P-001", GOOD), ("rested", "rested_an_hour")];
        let still = quinn.submit(&refused, "main form", &volts).await;
        assert_eq!(still.problems(), ["P-001 came back unchecked: look it over and say so."]);
        assert_eq!(typed(&still, "P-001"), [GOOD]);
        assert_eq!(state(&quinn, "P-001").await, "Not known");
        assert_eq!(still.select("a[href='/packs/P-001/condition']").len(), 1, "where to say what is seen");
        quinn.submit(&still, "main form", &[volts[0], volts[1], ("looked_at", "P-001")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn danger_read_on_an_unchecked_pack_does_not_say_that_somebody_looked_it_over(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = club.ids("lent").await[0];
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        let page = hand_out(&quinn, &ada, "1", &[]).await;
        let volts = [("volts_line-P-001", DANGEROUS), ("rested", "rested_an_hour"), ("items", "1")];
        quinn.submit(&page, "main form", &volts).await;
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        let open = club.find("SELECT rule FROM finding WHERE closed_ms IS NULL ORDER BY rule").await;
        assert_eq!(open, ["came_back_unchecked", "over_discharged", "spread_out"]);
    }

    async fn danger_read_on_a_forgotten_pack_counts_though_nobody_looked_it_over(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let refused = hand_out(&quinn, &bea, "1", &[]).await;
        let volts = [("volts_line-P-001", DANGEROUS), ("rested", "rested_an_hour")];
        assert!(quinn.submit(&refused, "main form", &volts).await.is_refused());
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert_eq!(club.find("SELECT COALESCE(outcome, 'out') FROM lent").await, ["out"], "it waits to be taken back");
    }

    async fn a_reason_stands_only_where_it_overrode_something(club: TestClub) {
        club.fit_packs(2).await;
        club.adapters("A-01", 4).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let wide = [("volts_line", "3.90 3.75 3.90"), ("rested", "rested_an_hour"), ("key", "v-1")];
        quinn.post("/packs/P-001/volts", &wide).await.done();
        let reason = [("reason", "it is only practice")];
        hand_out(&quinn, &ada, "1 2 A-01", &reason).await.done();
        let kept = club.find("SELECT COALESCE(override_words, '-') FROM lent ORDER BY 1").await;
        assert_eq!(kept, ["-", "-", "spread 0.15 V overridden: it is only practice"]);
        let log = club.find("SELECT after FROM activity WHERE verb = 'handed out'").await;
        assert_eq!(log.iter().filter(|after| after.contains("only practice")).count(), 1, "{log:?}");
    }

    async fn a_reason_for_an_induction_that_ran_out_stands_on_everything_that_went_out(club: TestClub) {
        club.fit_packs(1).await;
        club.adapters("A-01", 4).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.behind_the_back("UPDATE induction SET ends_on = '2026-11-24'").await.expect("it ran out");
        hand_out(&quinn, &ada, "1 A-01", &[("reason", "shown again tomorrow")]).await.done();
        assert_eq!(club.find("SELECT override_words FROM lent").await, ["shown again tomorrow"; 2]);
        hand_out(&quinn, &ada, "A-01", &[("reason", "shown again tomorrow")]).await.done();
    }

    async fn no_night_is_opened_at_a_quarantine_place(club: TestClub) {
        let quinn = club.quartermaster().await;
        let place = [("name", "Steel box"), ("kind", "quarantine"), ("room", "Yard")];
        quinn.post("/places/new", &place).await.done();
        let (place, on_duty) = (club.ids("place").await[0].to_string(), quinn.id().to_string());
        let night = [("place", place.as_str()), ("on_duty", &on_duty), ("ends_on", "2026-11-25"), ("ends_at", "21:30")];
        let refused = quinn.post("/night", &night).await;
        assert_eq!(refused.problems(), ["That is a quarantine place; choose where the night is."]);
        assert!(club.ids("night").await.is_empty());
    }

    async fn the_caution_of_a_pack_is_read_before_it_is_ticked(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/volts", &[("volts_line", "4.15 4.11 4.15"), ("rested", "rested_an_hour")]).await.done();
        let page = quinn.get("/hand-out").await;
        let why = club.find("SELECT state_words FROM pack").await;
        assert!(why[0].contains("0.04 V"), "{why:?}");
        assert!(page.one(".to-tick .tick").contains(&why[0]), "{}", page.one(".to-tick"));
    }

    async fn a_night_that_ended_is_inherited_no_more_and_can_be_closed(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        night(&quinn, "2026-11-26").await;
        hand_out(&quinn, &ada, "1", &[]).await.done();
        assert!(quinn.get("/hand-out").await.text.contains("Tonight at Hall table"));
        // Thu 26 Nov, 21:00 in the hall: one minute before, then on the minute.
        club.later_by_minutes(24 * 60 + 149);
        assert!(quinn.get("/hand-out").await.text.contains("Tonight at Hall table"));
        club.later_by_minutes(1);
        let page = quinn.get("/hand-out").await;
        assert!(!page.text.contains("Tonight at"), "{}", page.text);
        assert!(page.one(".what").starts_with("The night at Hall table ended on Thu 26 Nov 2026, 21:00. Close it"), "{}", page.one(".what"));
        hand_out(&quinn, &ada, "2", &[]).await.done();
        let terms = "SELECT due_on || CASE WHEN night_id IS NULL THEN '' ELSE ' that night' END FROM loan ORDER BY opened_ms";
        assert_eq!(club.find(terms).await, ["2026-11-26 that night", "2026-12-03"]);
        club.behind_the_back("UPDATE club SET may_members_borrow = TRUE").await.expect("its setting");
        let (adas, words) = (ada.get("/hand-out").await, "a member closes no night and is not told to");
        assert!(adas.status == 200 && !adas.text.contains("Hall table ended"), "{words}: {}", adas.text);
        let night = quinn.get("/night").await;
        quinn.submit(&night, "form[action='/night/close']", &[]).await.done();
        assert!(!quinn.get("/hand-out").await.text.contains("ended on"));
    }
}
