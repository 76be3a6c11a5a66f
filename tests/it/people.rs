//! Who is in the club: guests and juniors, inductions, roles, deactivating and erasing, the club's settings.

use crate::support::*;
use sandbucket::club::people::Roles;
use sandbucket::store::people;
use uuid::Uuid;

async fn send(browser: &Browser, id: Uuid, verb: &str, fields: &[(&str, &str)]) -> Answer {
    browser.post(&format!("/people/{id}/{verb}"), fields).await
}

async fn add_junior(quinn: &Browser, name: &str, responsible: Uuid) -> Uuid {
    let responsible = responsible.to_string();
    let fields = [("name", name), ("responsible", responsible.as_str())];
    let answer = quinn.post("/people/new", &fields).await;
    let id = answer.done().strip_prefix("/people/");
    id.expect("the junior's page").parse().expect("an id")
}

async fn roles_of(club: &TestClub, id: Uuid) -> String {
    let mut conn = club.app.db.read().await.expect("a connection");
    let person = people::by_id(&mut conn, id).await.expect("people");
    person.expect("somebody").roles().words()
}

on_both! {
    async fn a_junior_without_a_sign_in_stands_in_the_list_under_whoever_answers(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.member("Ada").await.id();
        let junior = add_junior(&quinn, "Kim", ada).await;
        let list = quinn.get("/people?text=kim").await;
        assert_eq!(list.texts("tbody th"), ["Kim"]);
        assert_eq!(list.texts("tbody td[data-label=Roles]"), ["Guest; Ada answers"]);
        assert!(quinn.get(&format!("/people/{ada}")).await.text.contains("<li>Kim</li>"));
        let refused = send(&quinn, ada, "deactivate", &[]).await;
        assert!(refused.is_refused());
        assert_eq!(refused.problems(), ["They answer for 1 guest or junior. Choose somebody else for each first."]);
        send(&quinn, junior, "deactivate", &[]).await.done();
        send(&quinn, ada, "deactivate", &[]).await.done();
        let refused = send(&quinn, junior, "reactivate", &[]).await;
        assert!(refused.is_refused(), "nobody who is there answers for Kim");
    }

    async fn a_junior_with_nobody_to_answer_is_refused_and_the_name_stays_in_the_form(club: TestClub) {
        let quinn = club.start().await;
        let answer = quinn.post("/people/new", &[("name", "Kim")]).await;
        assert!(answer.is_refused());
        assert_eq!(answer.problems(), ["Choose the member who answers for them."]);
        assert_eq!(answer.select("#f-name")[0].attribute("value"), "Kim");
    }

    async fn people_are_found_whatever_capitals_are_typed_in_any_letters(club: TestClub) {
        let quinn = club.start().await;
        for name in ["Özge Ärm", "Ozan Arm", "Ævar_50%"] {
            club.member(name).await;
        }
        for (text, names) in [
            ("özge", vec!["Özge Ärm"]),
            ("ÖZGE ÄRM", vec!["Özge Ärm"]),
            ("ÄRM", vec!["Özge Ärm"]),
            ("arm", vec!["Ozan Arm"]),
            ("æVAR_50%", vec!["Ævar_50%"]),
            ("%", vec!["Ævar_50%"]),
            ("nobody", vec![]),
        ] {
            let query = urlencoded(&[("text", text)]);
            let list = quinn.get(&format!("/people?{query}")).await;
            assert_eq!(list.texts("tbody th"), names, "{text}");
        }
    }

    async fn the_same_form_sent_twice_adds_one_junior(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.member("Ada").await.id().to_string();
        let fields = [("name", "Kim"), ("responsible", ada.as_str()), ("key", "once-for-kim")];
        let first = quinn.post("/people/new", &fields).await.done().to_owned();
        assert_eq!(quinn.post("/people/new", &fields).await.done(), first);
        assert_eq!(club.find("SELECT name FROM person WHERE name = 'Kim'").await.len(), 1);
    }

    async fn an_induction_is_noted_with_who_showed_it_and_runs_out(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.member("Ada").await.id();
        let by = quinn.id().to_string();
        let today = "2026-11-25";
        let fields = [("shown_by", by.as_str()), ("shown_on", today), ("ends_on", "2026-11-26")];
        send(&quinn, ada, "induction", &fields).await.done();
        let page = quinn.get(&format!("/people/{ada}")).await;
        assert!(page.text.contains("Shown, holds until Thu 26 Nov 2026."));
        assert_eq!(page.texts("ol.log li span"), ["Shown by Quinn Marlowholds until Thu 26 Nov 2026"]);
        club.later_by_days(2);
        let list = quinn.get("/people?induction=ran_out").await;
        assert_eq!(list.texts("tbody th"), ["Ada"]);
        let mut conn = club.app.db.read().await.expect("a connection");
        let day = sandbucket::club::calendar::Day::parse("2026-11-27").expect("a day");
        let borrower = people::borrower(&mut conn, ada, day).await.expect("people").expect("Ada");
        let last = sandbucket::club::calendar::Day::parse("2026-11-26").expect("a day");
        let ran_out = sandbucket::club::induction::Induction::RanOut { on: last };
        assert_eq!((borrower.induction, borrower.open_count), (ran_out, 0));
    }

    async fn an_induction_shown_tomorrow_by_oneself_or_by_nobody_is_refused(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.member("Ada").await.id();
        let (own, by) = (ada.to_string(), quinn.id().to_string());
        for (fields, words) in [
            ([("shown_by", own.as_str()), ("shown_on", "2026-11-25"), ("ends_on", "")], "Nobody shows it to themselves. Choose who showed it."),
            ([("shown_by", by.as_str()), ("shown_on", "2026-11-26"), ("ends_on", "")], "The day lies ahead. Note it when it has been shown."),
            ([("shown_by", ""), ("shown_on", "2026-11-25"), ("ends_on", "")], "Choose who showed it."),
            ([("shown_by", by.as_str()), ("shown_on", "2026-11-25"), ("ends_on", "soon")], "Give the last day it holds, like 2027-11-25, or leave it empty."),
        ] {
            let answer = send(&quinn, ada, "induction", &fields).await;
            assert!(answer.is_refused());
            assert_eq!(answer.problems(), [words]);
        }
        assert_eq!(club.ids("induction").await.len(), 0);
    }

    async fn a_quartermaster_makes_a_quartermaster_but_no_organiser_by_whatever_field(club: TestClub) {
        let rosa = club.second_quartermaster().await;
        let ada = club.member("Ada").await.id();
        let both = [("roles", "member"), ("roles", "quartermaster")];
        send(&rosa, ada, "roles", &both).await.done();
        assert_eq!(roles_of(&club, ada).await, "Member, quartermaster");
        let smuggled = [("roles", "member"), ("roles", "organiser"), ("is_organiser", "true")];
        let answer = send(&rosa, ada, "roles", &smuggled).await;
        assert!(answer.is_refused());
        assert_eq!(answer.problems(), ["Only an organiser may do this: it concerns an organiser."]);
        assert_eq!(roles_of(&club, ada).await, "Member, quartermaster");
        let page = rosa.get(&format!("/people/{ada}/roles")).await;
        assert!(page.select("input[value=organiser]").is_empty(), "what is not hers to give is not asked");
    }

    async fn an_organiser_who_does_not_lend_gives_only_the_organisers_role(club: TestClub) {
        let olive = club.organiser().await;
        let ada = club.member("Ada").await.id();
        send(&olive, ada, "roles", &[("roles", "organiser")]).await.done();
        assert_eq!(roles_of(&club, ada).await, "Member, organiser", "the other roles stay where they are");
        let answer = send(&olive, olive.id(), "roles", &[("roles", "organiser"), ("roles", "quartermaster")]).await;
        assert!(answer.is_refused());
    }

    async fn the_last_quartermaster_can_neither_go_nor_be_erased_nor_lose_the_role(club: TestClub) {
        let quinn = club.start().await;
        let words = "This is the last quartermaster. Make another one first.";
        for verb in ["deactivate", "erase"] {
            assert_eq!(send(&quinn, quinn.id(), verb, &[]).await.problems(), [words]);
        }
        let answer = send(&quinn, quinn.id(), "roles", &[("roles", "member"), ("roles", "organiser")]).await;
        assert_eq!(answer.problems(), [words]);
        assert_eq!(roles_of(&club, quinn.id()).await, "Member, quartermaster, organiser");
    }

    async fn deactivating_ends_every_session_at_once_and_reactivating_brings_none_back(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.member("Ada").await;
        let other = club.signed_in(ada.id()).await;
        send(&quinn, ada.id(), "deactivate", &[]).await.done();
        for browser in [&ada, &other] {
            assert!(browser.get("/me").await.done().starts_with("/sign-in"));
        }
        assert_eq!(quinn.get("/people?gone=gone").await.texts("tbody th"), ["Ada"]);
        send(&quinn, ada.id(), "reactivate", &[]).await.done();
        assert!(ada.get("/me").await.done().starts_with("/sign-in"));
    }

    async fn nobody_goes_while_a_pack_is_lent_to_them(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.borrower("Ada").await.id();
        let pack = club.fit_packs(1).await[0];
        lend(&club, &quinn, ada, pack).await;
        for verb in ["deactivate", "erase"] {
            let answer = send(&quinn, ada, verb, &[]).await;
            assert_eq!(answer.problems(), ["They still have 1 on loan or at home. Take back first."]);
        }
        let page = quinn.get(&format!("/people/{ada}")).await;
        assert!(page.one("main").contains("P-001due in 2 days"), "{}", page.one("main"));
    }

    async fn erasing_takes_the_name_and_every_way_in_and_leaves_history_whole(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.borrower("Ada").await;
        let read_back = quinn.get(&format!("/people/{}/erase", ada.id())).await;
        assert_eq!(read_back.one("h1"), "Erase Ada?");
        let answer = quinn.submit(&read_back, "main form", &[]).await;
        assert_eq!(answer.done(), format!("/people/{}", ada.id()));
        assert_eq!(club.find("SELECT COALESCE(name, '-') || COALESCE(sign_in, '-') || COALESCE(password_hash, '-') || COALESCE(table_code_hash, '-') \
            FROM person WHERE erased_ms IS NOT NULL").await, ["----"]);
        assert_eq!(club.ids("induction").await.len(), 1);
        assert!(ada.get("/me").await.done().starts_with("/sign-in"));
        assert!(!quinn.get("/people").await.text.contains("Ada"));
        assert_eq!(quinn.get(&format!("/people/{}", ada.id())).await.one("h1"), "(erased)");
        let told = club.find("SELECT verb || before || after FROM activity").await.join("\n");
        assert!(!told.contains("Ada") && told.contains("erased"), "{told}");
        let mut conn = club.app.db.read().await.expect("a connection");
        assert_eq!(sandbucket::store::log::first_break(&mut conn).await.expect("the log"), None);
        assert!(send(&quinn, ada.id(), "reactivate", &[]).await.status == 404);
    }

    async fn limits_of_the_club_are_tightened_and_never_loosened(club: TestClub) {
        let quinn = club.start().await;
        let page = quinn.get("/settings").await;
        let tight = [("reading_days", "60"), ("spread_watch_mv", "20"), ("decimal", "comma"), ("may_members_borrow", "yes")];
        assert_eq!(quinn.submit(&page, "main form", &tight).await.done(), "/settings?kept=yes");
        let mut conn = club.app.db.read().await.expect("a connection");
        let kept = sandbucket::store::club::read(&mut conn).await.expect("the club").expect("a club");
        drop(conn);
        assert_eq!((kept.limits().reading_days, kept.limits().spread_watch_mv), (60, 20));
        assert!(kept.uses_decimal_comma && kept.may_members_borrow);
        let page = quinn.get("/settings").await;
        let loose = [("reading_days", "91"), ("spread_wide_mv", "150"), ("time_zone", "Millrace/Hall"), ("is_demo", "true")];
        let answer = quinn.submit(&page, "main form", &loose).await;
        assert!(answer.is_refused());
        assert_eq!(answer.problems().len(), 3, "{:?}", answer.problems());
        assert_eq!(answer.select("#f-spread_wide_mv")[0].attribute("value"), "150");
        let member = club.member("Ada").await;
        assert_eq!(member.get("/settings").await.status, 403);
    }

    async fn a_stricter_club_quarantines_sooner_and_tells_its_own_charging_temperatures(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/packs/P-001").await.text.contains("0 and 45 °C"));
        let page = quinn.get("/settings").await;
        for (field, loose) in [("above_minimum_mv", "-1"), ("over_full_by_mv", "51"), ("charge_to_celsius", "46"), ("rest_minutes", "14")] {
            let refused = quinn.submit(&page, "main form[action='/settings']", &[("key", field), (field, loose)]).await;
            assert_eq!(refused.problems().len(), 1, "{field}");
        }
        let tight = [("above_minimum_mv", "200"), ("charge_from_celsius", "5"), ("charge_to_celsius", "40")];
        quinn.submit(&page, "main form[action='/settings']", &tight).await.done();
        assert!(quinn.get("/packs/P-001").await.text.contains("5 and 40 °C"));
        let volts = [("volts_line", "3.15 3.15 3.15"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-002/volts", &volts).await.done();
        let told = quinn.get("/packs/P-002").await;
        assert!(told.one(".verdict").contains("the club's minimum is 3.20 V"), "{}", told.one(".verdict"));
        assert!(told.one(".verdict").contains("Quarantine"));
    }

    async fn how_hard_a_chemistry_is_charged_in_haste_is_a_setting_and_the_log_keeps_it(club: TestClub) {
        let quinn = club.start().await;
        let page = quinn.get("/settings").await;
        assert_eq!(page.select("#f-charge_lipo_most_c_tenths")[0].attribute("value"), "2");
        let refused = quinn.submit(&page, "main form[action='/settings']", &[("charge_lipo_most_c_tenths", "2.1"), ("charge_nimh_most_c_tenths", "0.4")]).await;
        assert_eq!(refused.problems().len(), 2, "{:?}", refused.problems());
        let page = quinn.get("/settings").await;
        quinn.submit(&page, "main form[action='/settings']", &[("charge_lipo_most_c_tenths", "1.5"), ("key", "tighter")]).await.done();
        let mut conn = club.app.db.read().await.expect("a connection");
        let kept = sandbucket::store::club::read(&mut conn).await.expect("the club").expect("a club").limits();
        drop(conn);
        assert_eq!((kept.charge_lipo_most_c_tenths, kept.charge_lihv_most_c_tenths), (15, 20));
        let told = club.find("SELECT before || ' ' || after FROM activity WHERE verb = 'changed the settings'").await.join(" ");
        assert!(told.contains("\"charge_lipo_most_c_tenths\":20") && told.contains("\"charge_lipo_most_c_tenths\":15"), "{told}");
    }

    async fn packs_read_before_are_weighed_by_the_limits_of_now(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let volts = [("volts_line", "3.15 3.15 3.15"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &volts).await.done();
        let state = async |number: &str| quinn.get(&format!("/packs/{number}")).await.one(".verdict strong");
        assert_eq!(state("P-001").await, "Caution");
        let page = quinn.get("/settings").await;
        let tight = [("above_minimum_mv", "200"), ("spread_watch_mv", "5")];
        quinn.submit(&page, "main form[action='/settings']", &tight).await.done();
        assert_eq!(state("P-001").await, "Quarantine");
        assert_eq!(state("P-002").await, "Caution", "its cells are 10 mV apart");
        let page = quinn.get("/settings").await;
        quinn.submit(&page, "main form[action='/settings']", &[("above_minimum_mv", "0"), ("key", "loose")]).await.done();
        assert_eq!(state("P-001").await, "Quarantine", "loosened again, nothing is lifted");
    }

    async fn whoever_may_borrow_is_listed_with_their_induction(club: TestClub) {
        let quinn = club.start().await;
        let ada = club.borrower("Ada").await.id();
        add_junior(&quinn, "Kim", ada).await;
        club.organiser().await;
        let nobody = Roles::default();
        club.person("Zoe", nobody).await;
        let mut conn = club.app.db.read().await.expect("a connection");
        let today = sandbucket::club::calendar::Day::parse("2026-11-25").expect("a day");
        let found = people::who_may_borrow(&mut conn, today).await.expect("people");
        let told: Vec<(String, bool)> = found.into_iter().map(|one| (one.name, one.induction.is_valid())).collect();
        let wanted = [("Ada", true), ("Kim", false), ("Quinn Marlow", false), ("Zoe", false)];
        assert_eq!(told, wanted.map(|(name, is_valid)| (name.to_owned(), is_valid)));
    }
}

/// A loan of one pack, due in two days, put into the register directly.
async fn lend(club: &TestClub, by: &Browser, to: Uuid, pack: Uuid) {
    let loan = club.literal(sandbucket::ids::new_id());
    let (to, by, now) = (club.literal(to), club.literal(by.id()), club.now().ms());
    let sql = format!(
        "INSERT INTO loan (id, borrower_id, handed_by, due_on, purpose, opened_ms) VALUES ({loan}, {to}, {by}, '2026-11-27', '', {now})"
    );
    club.behind_the_back(&sql).await.expect("a loan");
    let lent = club.literal(sandbucket::ids::new_id());
    let pack = club.literal(pack);
    let sql = format!(
        "INSERT INTO lent (id, loan_id, pack_id, opened_ms) VALUES ({lent}, {loan}, {pack}, {now})"
    );
    club.behind_the_back(&sql).await.expect("a pack on it");
}
