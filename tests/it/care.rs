//! What is due for packs, told where people see it: the page of what is to see to, the holder's own page, events, the rules.

use crate::support::*;

/// Volts of a 3S pack, logged on its own page.
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

/// Matter and number of each line of the page, in its order.
async fn to_see_to(who: &Browser) -> Vec<String> {
    let page = who.get("/to-see-to").await;
    assert_eq!(page.status, 200, "{}", page.text);
    let numbers = page.texts("tbody th");
    let matters = page.texts("td[data-label=Why] b");
    numbers
        .into_iter()
        .zip(matters)
        .map(|(number, matter)| format!("{number} {matter}"))
        .collect()
}

on_both! {
    async fn the_most_dangerous_stands_first_and_each_has_its_next_act(club: TestClub) {
        club.fit_packs(4).await;
        let quinn = club.quartermaster().await;
        assert_eq!(quinn.get("/").await.location.as_deref(), Some("/to-see-to"));
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        log(&quinn, "P-004", "3.82 2.80 3.82").await;
        quinn.post("/packs/P-003/condition", &[("seen", "wrap_torn")]).await.done();
        // 3 days: common practice; 7: 'harm possible after a week full', an RC vendor's storage note.
        club.later_by_days(2);
        assert_eq!(to_see_to(&quinn).await, ["P-004 In quarantine", "P-003 Set aside"]);
        club.later_by_days(1);
        assert_eq!(to_see_to(&quinn).await, ["P-004 In quarantine", "P-001 Above its storage band", "P-003 Set aside"]);
        let page = quinn.get("/to-see-to").await;
        assert!(page.text.contains("4.18 V in its fullest cell, 3.90 V is the most"), "{}", page.text);
        assert!(page.text.contains("Bring it to 3.82 V per cell, then log its volts."), "{}", page.text);
        assert_eq!(page.select("tbody th a")[1].attribute("href"), "/packs/P-001/volts");
        assert_eq!(page.select("tbody th a")[0].attribute("href"), "/packs/P-004/watch");
        club.later_by_days(11);
        let page = quinn.get("/to-see-to").await;
        let whens = page.texts("td[data-label=When]");
        assert_eq!(whens, ["At once", "At once", "This week"], "a full pack after two weeks is dangerous");
        log(&quinn, "P-001", "3.82 3.82 3.82").await;
        assert_eq!(to_see_to(&quinn).await, ["P-004 In quarantine", "P-003 Set aside"]);
        // Every 3 months: a battery maker's storage note. 'Not looked at' comes last.
        club.later_by_days(76);
        let quinn = club.quartermaster().await;
        let all = to_see_to(&quinn).await;
        assert_eq!(all, ["P-004 In quarantine", "P-003 Set aside", "P-002 Not looked at"], "P-003 twice is one act: it is set aside");
    }

    async fn a_full_pack_read_full_again_keeps_its_first_day_and_a_corrected_reading_takes_it_away(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_days(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        club.later_by_days(5);
        log(&quinn, "P-001", "4.15 4.15 4.15").await;
        let told = quinn.get("/to-see-to").await.one("td[data-label=Why]");
        assert!(told.starts_with("Above its storage band, due since ") && told.contains(". For 5 days: 4.15 V in"), "{told}");
        // The first of the two was the pack beside it.
        let readings = quinn.get("/packs/P-001/readings").await;
        let links = readings.select("a[href*='corrects=']");
        let page = quinn.get(links[1].attribute("href")).await;
        let right = [("volts", "3.82"), ("volts", "3.82"), ("volts", "3.82"), ("why", "that was P-002")];
        quinn.submit(&page, "main form[action$='/volts']", &right).await.done();
        assert_eq!(to_see_to(&quinn).await, Vec::<String>::new());
        club.later_by_days(3);
        assert!(quinn.get("/to-see-to").await.text.contains("For 3 days: "));
    }

    async fn a_pack_that_must_not_be_connected_has_one_row_with_that_act_everywhere(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        quinn.post("/packs/P-001/condition", &[("seen", "balance_plug_damaged")]).await.done();
        club.later_by_days(12);
        assert_eq!(to_see_to(&quinn).await, ["P-001 Set aside"]);
        let act = "Don't connect it until a quartermaster has mended it.";
        let page = quinn.get("/to-see-to").await;
        assert_eq!(page.texts("td[data-label=Next]"), [act]);
        assert_eq!(page.texts("td[data-label=When]"), ["Today"]);
        let why = page.one("td[data-label=Why]");
        assert!(why.contains("Above its storage band for 12 days") && !why.contains("Also:"), "{why}");
        let away = quinn.get("/going-away?until=2027-01-20").await;
        assert_eq!(away.texts("h2"), ["1. See to what is set aside or not known: 1"]);
        assert!(away.one(".told").contains(act), "{}", away.one(".told"));
        sandbucket::tasks::remind::run(&club.app).await.expect("run");
        assert_eq!(club.find("SELECT DISTINCT next_words FROM reminder WHERE thing = 'pack:P-001'").await, [act]);
    }

    async fn who_has_it_is_asked_first_and_sees_it_on_the_own_page(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        let person = ada.id().to_string();
        let form = [("person", person.as_str()), ("items", "P-001"), ("due", "2027-01-10"), ("key", "out")];
        quinn.post("/hand-out", &form).await.done();
        club.later_by_days(3);
        let page = quinn.get("/to-see-to").await;
        assert_eq!(page.texts("td[data-label=Ask]"), ["Ada"]);
        assert!(page.text.contains("It was out since and nobody read it."), "{}", page.text);
        let mine = ada.get("/mine").await;
        assert!(mine.one("main").contains("To put right"), "{}", mine.text);
        assert!(mine.text.contains("Bring it to 3.82 V per cell, then log its volts."), "{}", mine.text);
        club.later_by_days(3);
        assert_eq!(quinn.get("/to-see-to").await.texts("td[data-label=Ask]"), ["Ada, quartermasters"]);
        log(&ada, "P-001", "3.82 3.82 3.82").await;
        assert!(!ada.get("/mine").await.text.contains("To put right"));
        // Back, and read in its band: stored. Overdue it never was.
        assert_eq!(to_see_to(&quinn).await, Vec::<String>::new());
    }

    async fn what_came_back_unread_is_due_the_day_after_and_an_overdue_loan_names_its_borrower(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(1);
        let person = ada.id().to_string();
        let form = [("person", person.as_str()), ("items", "P-001 P-002"), ("due", "2026-11-26"), ("key", "out")];
        quinn.post("/hand-out", &form).await.done();
        club.later_by_days(1);
        let lent = club.ids("lent").await;
        let back = ada.get(&format!("/mine/{}/bring-back", lent[0])).await;
        ada.submit(&back, "main form", &[("seen", "nothing")]).await.done();
        let all = to_see_to(&quinn).await;
        assert_eq!(all.len(), 1, "{all:?}");
        assert!(all[0].ends_with("Not known"), "{all:?}");
        club.later_by_days(1);
        let page = quinn.get("/to-see-to").await;
        assert!(page.text.contains("Also: Not put to storage."), "{}", page.text);
        assert!(page.text.contains("with Ada, 1 day overdue."), "{}", page.text);
    }

    async fn a_charge_to_storage_ends_it_and_a_charge_to_full_begins_it(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let by = club.by(&quinn).await;
        club.chargers(1).await;
        let charge = |purpose: &str, ended: sandbucket::club::calendar::Instant| {
            format!(
                "INSERT INTO charge (id, pack_id, charger_id, output, mode, is_balanced, purpose, current_ma, target_mv, least_minutes, \
                 most_minutes, least_mah, most_mah, cutoff_mah, cutoff_minutes, drawn_mw, started_ms, started_by, watched_by, ended_ms, \
                 ended_by, outcome) SELECT {}, k.id, i.id, 0, 'balance', TRUE, '{purpose}', 400, 12600, 30, 45, 100, 200, 240, 55, 6000, \
                 {at}, {by}, {by}, {at}, {by}, 'finished' FROM pack k, kit i",
                club.literal(sandbucket::ids::new_id()),
                at = ended.ms(),
                by = club.literal(by.actor.id)
            )
        };
        club.later_by_minutes(5);
        club.behind_the_back(&charge("no_hurry", club.now())).await.expect("charged");
        club.later_by_days(4);
        assert_eq!(to_see_to(&quinn).await, ["P-001 Above its storage band"]);
        club.behind_the_back(&charge("storage", club.now())).await.expect("stored");
        assert_eq!(to_see_to(&quinn).await, Vec::<String>::new());
    }

    async fn a_new_pack_has_its_first_check_until_each_of_its_cells_was_read(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        assert_eq!(to_see_to(&quinn).await, ["P-001 First check"]);
        let whole = [("volts_line", "11.46"), ("rested", "rested_an_hour"), ("key", "whole")];
        assert!(quinn.post("/packs/P-001/volts", &whole).await.is_refused(), "its cells can be seen");
        assert_eq!(to_see_to(&quinn).await, ["P-001 First check"]);
        club.later_by_minutes(1);
        log(&quinn, "P-001", "3.82 3.82 3.82").await;
        assert_eq!(to_see_to(&quinn).await, Vec::<String>::new());
    }

    async fn packs_read_before_anything_was_kept_are_caught_up_with(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        club.later_by_days(4);
        log(&quinn, "P-001", "4.16 4.16 4.16").await;
        let kept = club.find("SELECT above_ms || ' ' || lain FROM care WHERE above_ms IS NOT NULL").await;
        assert_eq!(kept.len(), 1, "{kept:?}");
        club.behind_the_back("DELETE FROM care").await.expect("as before");
        sandbucket::tasks::sweep::sweep(&club.app).await.expect("swept");
        assert_eq!(club.find("SELECT above_ms || ' ' || lain FROM care WHERE above_ms IS NOT NULL").await, kept);
        assert_eq!(to_see_to(&quinn).await, ["P-001 Above its storage band"]);
    }

    async fn the_list_and_the_packs_own_page_show_band_days_forecast_and_what_full_days_cost(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18 4.18 4.18").await;
        club.later_by_days(5);
        let page = quinn.get("/packs/P-001").await;
        let told = page.one("main");
        assert!(told.contains("Above its band for 5 days"), "{told}");
        // 4.18 V is 95 % and more: the Linux kernel's phone cells.
        assert!(told.contains("Rather sure: reckoned from rested volts of the last weeks."), "{told}");
        let spread = [" at the earliest, most likely about ", ", perhaps not in ten years, by the loss published of its kind."];
        assert!(told.contains("Falls to 3.00 V on ") && spread.iter().all(|words| told.contains(words)), "{told}");
        assert!(told.contains("By a battery-education site's table, 5 days above its band cost"), "{told}");
        assert!(told.contains("By laboratory cells, none of them a hobby pack's, 5 days above its band cost"), "{told}");
        let list = quinn.get("/packs").await;
        let storage = list.texts("td[data-label=Storage]");
        assert!(storage[0].starts_with("Above its band for 5 days Falls to 3.00 V on "), "{storage:?}");
        assert!(storage[0].contains("% (table), ") && storage[0].ends_with("% (laboratory)."), "{storage:?}");
        assert!(storage[1].starts_with("In its band Falls to") && !storage[1].contains("cost"), "{storage:?}");
        club.later_by_days(3);
        assert!(quinn.get("/packs/P-001").await.text.contains("past the club's limit: it goes out only after its volts are logged"));
        // Put to storage: what it cost stays, its days are over.
        log(&quinn, "P-001", "3.82 3.82 3.82").await;
        club.later_by_days(40);
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001").await.one("main");
        assert!(page.contains("In its band") && page.contains("8 days above its band cost"), "{page}");
        for order in ["number", "state", "what", "where", "seen"] {
            let list = quinn.get(&format!("/packs?order={order}")).await;
            assert_eq!(list.texts("td[data-label=Storage]").len(), 2, "{order}");
        }
        let program = club.program(quinn.id()).await;
        let pack = program.get("/api/v1/packs/P-001").await.json();
        let storage = &pack["pack"]["storage"];
        assert_eq!((storage["band"].as_str(), storage["above_days"].as_i64()), (Some("in"), None), "{storage}");
        assert_eq!(storage["cost"]["days"], 8.0);
        let range = &storage["cost"]["by_table_percent"];
        assert!(range["least"].as_f64() <= range["likely"].as_f64() && range["likely"].as_f64() <= range["most"].as_f64(), "{range}");
        let all = program.get("/api/v1/packs").await.json();
        assert_eq!(all["packs"][0]["storage"], *storage);
    }

    async fn a_forecast_from_volts_that_were_read_just_used_says_so(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(1);
        for (pack, rested) in [("P-001", "just_used"), ("P-002", "rested_an_hour")] {
            let volts = [("volts_line", "3.45 3.45 3.45"), ("rested", rested), ("key", pack)];
            quinn.post(&format!("/packs/{pack}/volts"), &volts).await.done();
        }
        let why = "(its volts were read just used: the first day is reckoned 0.05 V low)";
        let list = quinn.get("/packs").await.texts("td[data-label=Storage]");
        assert!(list[0].contains(why) && !list[1].contains("just used") && list[1].contains("Falls to"), "{list:?}");
        assert!(quinn.get("/packs/P-001").await.one("main").contains(why));
        let due = quinn.get("/to-see-to").await.one("tbody");
        assert!(due.contains("falls to 3.00 V") && due.contains(why), "{due}");
    }
}
