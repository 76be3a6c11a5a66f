//! What neglect of storage stops at the table: a pack past its limit goes out only on volts of now, and who is a week overdue with own
//! storage care borrows nothing more until it is done.

use crate::support::*;

async fn log(who: &Browser, number: &str, volts: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [
        ("volts_line", volts),
        ("rested", "rested_an_hour"),
        ("key", key.as_str()),
    ];
    who.post(&format!("/packs/{number}/volts"), &fields)
        .await
        .done();
}

async fn hand_out(by: &Browser, to: &Browser, items: &str, more: &[(&str, &str)]) -> Answer {
    let (person, key) = (to.id().to_string(), sandbucket::ids::new_token());
    let form = [
        ("person", person.as_str()),
        ("items", items),
        ("due", "2027-03-01"),
        ("key", key.as_str()),
    ];
    by.post("/hand-out", &[&form[..], more].concat()).await
}

/// Ada has P-001, full since before she got it, and is so many days overdue with putting it to storage.
async fn overdue_ada(club: &TestClub, days: i64) -> (Browser, Browser) {
    club.fit_packs(4).await;
    let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
    club.later_by_minutes(1);
    log(&quinn, "P-001", "4.18 4.18 4.18").await;
    hand_out(&quinn, &ada, "P-001", &[]).await.done();
    // Due after three days above the band.
    club.later_by_days(3 + days);
    (quinn, ada)
}

on_both! {
    async fn a_pack_past_its_limit_goes_out_on_volts_logged_in_the_same_form_and_the_loan_keeps_the_warning(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        club.later_by_days(6);
        // 7 days: 'harm possible after a week full', an RC vendor's storage note.
        let gone = hand_out(&quinn, &ada, "P-001", &[]).await;
        let loan = gone.done().to_owned();
        assert!(!quinn.get(&loan).await.text.contains("above its storage band"), "not past its limit yet");
        let lent = club.ids("lent").await[0];
        quinn.post(&format!("/take-back/volts?lent={lent}"), &[]).await;
        let other = club.borrower("Bea").await;
        log(&quinn, "P-002", "4.18 4.18 4.18").await;
        club.later_by_days(7);
        let refused = hand_out(&quinn, &other, "P-002", &[]).await;
        assert!(refused.is_refused());
        assert_eq!(
            refused.texts(".refused li a"),
            ["P-002 is above its storage band for 7 days and past the club's limit of 7 days. Log its volts now, then hand it out."]
        );
        assert_eq!(club.ids("loan").await.len(), 1, "nothing went out");
        let typed = [("volts_line-P-002", "4.17 4.17 4.17"), ("rested", "rested_an_hour")];
        let done = quinn.submit(&refused, "main form[action='/hand-out']", &typed).await;
        let loan = quinn.get(done.done()).await;
        assert!(loan.text.contains("P-002 is above its storage band for 7 days. Use it, or put it to storage as it comes back."), "{}", loan.text);
    }

    async fn a_pack_on_an_open_round_goes_out_on_volts_read_since_and_not_on_what_it_was_before(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(1);
        let page = quinn.get("/storage-rounds/new").await;
        let round = quinn.submit(&page, "main form", &[("packs", "1-2")]).await;
        let round = round.done().split('?').next().unwrap_or_default().to_owned();
        club.later_by_minutes(1);
        let refused = hand_out(&quinn, &ada, "P-001", &[]).await;
        assert!(refused.is_refused());
        assert_eq!(
            refused.texts(".refused li a"),
            ["P-001 is on a storage round as back, and nobody looked at it since. Log its volts now, then hand it out."]
        );
        assert!(club.ids("loan").await.is_empty(), "nothing went out");
        // Nor is it charged by volts from before.
        let card = quinn.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        assert!(card.select("dl.set").is_empty() && card.one(".stop").contains("nobody looked at it since: log its volts first"), "{}", card.text);
        let typed = [("volts_line-P-001", "3.82 3.82 3.82"), ("rested", "rested_an_hour")];
        quinn.submit(&refused, "main form[action='/hand-out']", &typed).await.done();
        // Read on the round, it goes as it is.
        let page = quinn.get(&round).await;
        let typed = [("pack", "P-002"), ("volts_line", "3.82 3.82 3.82"), ("rested", "rested_an_hour")];
        quinn.submit(&page, "form[action$='/read']", &typed).await.done();
        club.later_by_minutes(90);
        hand_out(&quinn, &ada, "P-002", &[]).await.done();
    }

    async fn a_member_who_borrows_logs_its_volts_on_its_page_first(club: TestClub) {
        club.fit_packs(1).await;
        club.behind_the_back("UPDATE club SET may_members_borrow = TRUE").await.expect("they may");
        let ada = club.borrower("Ada").await;
        club.later_by_minutes(1);
        log(&ada, "P-001", "4.18 4.18 4.18").await;
        club.later_by_days(8);
        let refused = hand_out(&ada, &ada, "P-001", &[]).await;
        let told = refused.one(".refused");
        assert!(told.contains("Log its volts on its page now, then borrow it."), "{told}");
        log(&ada, "P-001", "4.16 4.16 4.16").await;
        // As long as a hand-out at the table takes: common practice, no source.
        club.later_by_minutes(31);
        assert!(hand_out(&ada, &ada, "P-001", &[]).await.is_refused(), "that was half an hour ago");
        log(&ada, "P-001", "4.16 4.16 4.15").await;
        club.later_by_minutes(30);
        hand_out(&ada, &ada, "P-001", &[]).await.done();
    }

    async fn who_is_a_week_overdue_borrows_nothing_more_until_it_is_done(club: TestClub) {
        let (quinn, ada) = overdue_ada(&club, 6).await;
        hand_out(&quinn, &ada, "P-002", &[]).await.done();
        assert!(!ada.get("/mine").await.text.contains("Nothing more is lent"));
        club.later_by_days(1);
        let own = "You have P-001 to put to storage, due for 7 days. Nothing more is lent to you until that is done.";
        assert_eq!(club.member("Ada").await.get("/mine").await.texts(".notice"), [own], "their own page says it before they ask");
        let refused = hand_out(&quinn, &ada, "P-003", &[]).await;
        assert_eq!(
            refused.texts(".refused li a"),
            ["Ada has P-001 to put to storage, due for 7 days. Nothing more is lent to them until that is done."]
        );
        club.chargers(1).await;
        let kit_alone = hand_out(&quinn, &ada, "C-01", &[]).await;
        assert_eq!(kit_alone.texts(".refused li a"), refused.texts(".refused li a"), "nor a charger");
        let other = club.borrower("Bea").await;
        hand_out(&quinn, &other, "P-003 C-01", &[]).await.done();
        log(&ada, "P-001", "3.82 3.82 3.82").await;
        hand_out(&quinn, &ada, "P-004", &[]).await.done();
    }

    async fn the_week_counts_from_when_somebody_got_the_pack_or_from_the_day_agreed_at_home(club: TestClub) {
        club.fit_packs(7).await;
        let (quinn, bea, cy) = (club.quartermaster().await, club.borrower("Bea").await, club.borrower("Cy").await);
        club.later_by_minutes(1);
        for number in ["P-001", "P-002", "P-003"] {
            log(&quinn, number, "4.18 4.18 4.18").await;
        }
        club.later_by_days(12);
        // Above its band for 12 days on the shelf: lent on volts of now, since using it is a cure.
        let fresh = [("volts_line-P-001", "4.17 4.17 4.17"), ("rested", "rested_an_hour")];
        hand_out(&quinn, &bea, "P-001", &fresh).await.done();
        club.later_by_minutes(1);
        hand_out(&quinn, &bea, "P-004", &[]).await.done();
        let (_, round) = crate::rounds::begun(&club, "2-3").await;
        club.later_by_minutes(1);
        for number in ["P-002", "P-003"] {
            crate::rounds::read(&quinn, &round, number, "4.18 4.18 4.18").await.done();
            let person = cy.id().to_string();
            let home = [("home_pack", number), ("person", person.as_str()), ("by", "2026-12-10"), ("key", number)];
            quinn.post(&format!("{round}/home"), &home).await.done();
        }
        club.later_by_days(7);
        let told = hand_out(&quinn, &bea, "P-005", &[]).await.texts(".refused li a");
        assert_eq!(told, ["Bea has P-001 to put to storage, due for 7 days. Nothing more is lent to them until that is done."]);
        log(&quinn, "P-001", "4.17 4.17 4.17").await;
        let lent = club.ids("lent WHERE pack_id = (SELECT id FROM pack WHERE number = 'P-001')").await[0];
        let dan = club.borrower("Dan").await.id().to_string();
        quinn.post(&format!("/lent/{lent}/pass-on"), &[("person", dan.as_str())]).await.done();
        hand_out(&quinn, &bea, "P-005", &[]).await.done();
        let passed = club.ids("lent WHERE closed_ms IS NULL AND pack_id = (SELECT id FROM pack WHERE number = 'P-004')").await[0];
        quinn.post(&format!("/lent/{passed}/pass-on"), &[("person", dan.as_str()), ("key", "to Dan")]).await.done();
        // A week after the agreed day is over, in the hall.
        club.later_by_days(3);
        hand_out(&quinn, &cy, "P-006", &[]).await.done();
        club.later_by_days(1);
        let told = hand_out(&quinn, &cy, "P-007", &[]).await.one(".refused");
        assert!(told.contains("Cy has P-002, P-003 to put to storage, due for 7 days."), "{told}");
    }

    async fn a_quartermaster_lends_all_the_same_with_a_reason_that_is_kept_and_never_to_oneself(club: TestClub) {
        let (quinn, ada) = overdue_ada(&club, 8).await;
        let refused = hand_out(&quinn, &ada, "P-002", &[]).await;
        assert!(refused.one("main").contains("For the borrower's overdue storage care, an induction that ran out or a spread"));
        let refused = quinn.submit(&refused, "main form[action='/hand-out']", &[("reason", "x")]).await;
        assert_eq!(refused.texts("#w-reason"), ["Say why in 3 to 500 letters."]);
        let done = quinn.submit(&refused, "main form[action='/hand-out']", &[("reason", "her charger broke")]).await;
        let loan = quinn.get(done.done()).await;
        assert!(loan.text.contains("own storage care overdue, overridden: her charger broke"), "{}", loan.text);
        let log = club.organiser().await.get("/log").await;
        assert!(log.text.contains("Reason: own storage care overdue, overridden: her charger broke."), "{}", log.one("main"));
        // A quartermaster who is overdue asks another one.
        club.behind_the_back("UPDATE person SET is_quartermaster = TRUE WHERE name = 'Ada'").await.expect("she is one");
        let own = hand_out(&ada, &ada, "P-003", &[("reason", "I know it")]).await;
        let told = own.one(".refused");
        assert!(told.contains("Nobody overrides a refusal for an own loan"), "{told}");
    }

    async fn extending_and_passing_on_ask_the_same(club: TestClub) {
        let (quinn, _) = overdue_ada(&club, 8).await;
        let loan = club.find("SELECT CAST(due_on AS TEXT) FROM loan").await;
        assert_eq!(loan, ["2027-03-01"]);
        let id = club.ids("loan").await[0];
        let refused = quinn.post(&format!("/loans/{id}/extend"), &[("due", "2027-03-09")]).await;
        let told = refused.problems().join(" ");
        assert!(told.contains("Ada has P-001 to put to storage") && told.contains("P-001 is above its storage band"), "{told}");
        assert!(told.contains("Log its volts now, then extend the loan.") && !told.contains("hand it out"), "{told}");
        let said = quinn.post(&format!("/loans/{id}/extend"), &[("due", "2027-03-09"), ("why", " x"), ("key", "x")]).await;
        assert_eq!(said.texts("#w-why"), ["Say why in 3 to 500 letters."]);
        assert_eq!(said.select("#f-why")[0].attribute("value"), "x");
        let lent = club.ids("lent").await[0];
        let bea = club.borrower("Bea").await;
        let person = bea.id().to_string();
        let passed = quinn.post(&format!("/lent/{lent}/pass-on"), &[("person", &person)]).await;
        let told = passed.problems().join(" ");
        assert!(told.contains("past the club's limit of 7 days. Log its volts now, then pass it on."), "{told}");
        log(&quinn, "P-001", "4.17 4.17 4.17").await;
        let passed = quinn.post(&format!("/lent/{lent}/pass-on"), &[("person", &person), ("key", "again")]).await;
        let told = quinn.get(passed.done()).await;
        assert!(told.text.contains("P-001 is above its storage band for 11 days."), "{}", told.text);
        let line = club.ids("lent WHERE closed_ms IS NULL").await[0];
        let person = club.borrower("Cy").await.id().to_string();
        club.behind_the_back("UPDATE induction SET ends_on = '2026-11-26'").await.expect("it ran out");
        let said = quinn.post(&format!("/lent/{line}/pass-on"), &[("person", &person), ("why", "x"), ("key", "to Cy")]).await;
        assert_eq!(said.texts("#w-why"), ["Say why in 3 to 500 letters."], "{}", said.one("main"));
    }

    async fn a_club_may_warn_only_or_leave_it(club: TestClub) {
        let (quinn, ada) = overdue_ada(&club, 9).await;
        club.behind_the_back(r#"UPDATE club SET care = '{"own_care":"warn"}'"#).await.expect("set");
        let loan = hand_out(&quinn, &ada, "P-002", &[]).await;
        let told = quinn.get(loan.done()).await;
        assert!(told.text.contains("Ada has P-001 to put to storage, due for 9 days."), "{}", told.text);
        club.behind_the_back(r#"UPDATE club SET care = '{"own_care":"off"}'"#).await.expect("set");
        let loan = hand_out(&quinn, &ada, "P-003", &[]).await;
        assert!(!quinn.get(loan.done()).await.text.contains("to put to storage, due for"));
    }

    async fn a_program_is_refused_as_the_page_is(club: TestClub) {
        let (_, ada) = overdue_ada(&club, 8).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let body = serde_json::json!({"borrower_id": ada.id(), "items": ["P-002"]});
        let reply = quinn.post("/api/v1/hand-out", &body).await;
        assert_eq!(reply.status, 409, "{}", reply.text);
        assert!(reply.text.contains("Ada has P-001 to put to storage"), "{}", reply.text);
        let body = serde_json::json!({"borrower_id": ada.id(), "items": ["P-002"], "override_reason": "her charger broke"});
        assert_eq!(quinn.post("/api/v1/hand-out", &body).await.status, 200);
    }
}
