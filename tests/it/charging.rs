//! Charging by a card: what is asked, what is refused, what is recorded, and what the next one is told.

use crate::support::*;

/// The fake clock stands at some time of day; a time some hours on is always ahead.
const GENTLY: &str = "?purpose=no_hurry&at=23%3A59&room=21&pack=21";

fn values(page: &Answer) -> Vec<String> {
    page.texts("dl.set dd")
}

async fn card(who: &Browser, pack: &str, query: &str) -> Answer {
    who.get(&format!("/packs/{pack}/charge{query}")).await
}

async fn started(who: &Browser, pack: &str, query: &str) -> String {
    let page = card(who, pack, query).await;
    let answer = who.submit(&page, "main form[method='post']", &[]).await;
    answer.done().to_owned()
}

/// A cell of it stands so low that it is in quarantine.
async fn quinn_reads_low(club: &TestClub) {
    let quinn = club.quartermaster().await;
    let low = [
        ("volts_line", "3.82 2.40 3.82"),
        ("rested", "rested_an_hour"),
    ];
    quinn.post("/packs/P-001/volts", &low).await.done();
}

on_both! {
    async fn a_card_says_what_to_set_and_what_to_read_back(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let about = ada.get("/packs/P-001").await;
        assert_eq!(about.select("main a[href='/packs/P-001/charge']").len(), 1, "the pack's page leads there");
        let page = card(&ada, "P-001", GENTLY).await;
        assert_eq!(page.one("h1"), "Full before 23:59");
        assert_eq!(values(&page)[..4], ["LiPo", "3S", "Balance", "2.2 A"]);
        assert_eq!(page.one(".first-do"), "First read what C-01 is set to: what it was left at is not known.");
        assert_eq!(page.texts("ol.steps li"), ["C-01, from the mains", "XT60 straight into the charger, red to red, black to black", "Balance lead in"]);
        assert!(page.text.contains("Read it back: 3S LiPo, balance, 12.6 V, 2.2 A"));
        assert!(page.one(".stop").starts_with("Stop if"));
        let at = |part: &str| page.text.find(part).unwrap_or_else(|| panic!("{part}: {}", page.text));
        let order = ["class=\"first-do\"", "class=\"steps\"", "class=\"set\"", "Read it back:", "Stop if"].map(at);
        assert!(order.is_sorted(), "first what to do first, then the steps, the settings, reading it back, when to stop: {order:?}");
    }

    async fn what_is_asked_and_not_said_is_asked_again_with_everything_else_kept(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let page = card(&ada, "P-001", "?purpose=ready_by&at=&room=warm&pack=").await;
        assert_eq!(page.problems(), ["Type a time like 14:40.", "Type degrees, like 21."]);
        assert_eq!(page.select("#f-room")[0].attribute("value"), "warm");
        let page = card(&ada, "P-001", "?purpose=no_hurry&at=23%3A59").await;
        assert_eq!(page.problems().len(), 2, "how warm the pack and the room are");
        let page = card(&ada, "P-001", "?sent=yes&at=&room=&pack=").await;
        assert_eq!(page.problems(), ["Choose what it is charged for."]);
        assert!(card(&ada, "P-001", "").await.problems().is_empty(), "who comes there first has chosen nothing wrong");
        let page = card(&ada, "P-001", "?purpose=ready_by&at=00%3A10&room=21&pack=21").await;
        assert!(page.one("main").contains("00:10 is over for today: reckoned until 00:10 tomorrow"), "{}", page.text);
        let page = card(&ada, "P-001", "?purpose=no_hurry&at=23%3A59").await;
        assert!(values(&page).is_empty(), "no figure before it is known how warm it is");
        let cold = card(&ada, "P-001", "?purpose=no_hurry&at=23%3A59&room=-2&pack=20").await;
        assert_eq!(cold.one("h1"), "Don't charge P-001");
        assert!(values(&cold).is_empty() && cold.one(".stop").contains("The room has -2 °C"));
        assert_eq!(cold.select("#f-room")[0].attribute("value"), "-2", "it is asked again, with what was typed");
        let (_, asked) = cold.form("main form[method='get']");
        assert!(asked.contains(&("at".to_owned(), "23:59".to_owned())) && asked.contains(&("purpose".to_owned(), "no_hurry".to_owned())), "{asked:?}");
        quinn_reads_low(&club).await;
        let low = card(&ada, "P-001", "?purpose=no_hurry&at=23%3A59&room=-2&pack=20").await;
        assert!(low.select("main form[method='get']").is_empty(), "nothing to ask where the pack itself stops it");
    }

    async fn without_volts_of_today_there_are_no_settings_and_nothing_starts(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let fresh = card(&ada, "P-001", GENTLY).await;
        club.later_by_minutes(24 * 60 + 1);
        let page = card(&ada, "P-001", GENTLY).await;
        assert!(values(&page).is_empty() && page.one(".stop").contains("more than 24 hours ago"), "{}", page.text);
        assert!(page.select("a[href='/packs/P-001/volts']").len() == 1);
        let refused = ada.submit(&fresh, "main form[method='post']", &[]).await;
        assert!(refused.is_refused());
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
    }

    async fn a_pack_that_is_not_fit_or_a_caution_gets_no_current(club: TestClub) {
        club.fit_packs(3).await;
        club.new_packs(1).await;
        club.chargers(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        let fresh = card(&ada, "P-001", GENTLY).await;
        for (pack, seen) in [("P-001", "swollen"), ("P-002", "wrap_torn")] {
            quinn.post(&format!("/packs/{pack}/condition"), &[("seen", seen)]).await.done();
        }
        quinn.post("/packs/P-003/volts", &[("rested", "rested_an_hour"), ("volts_line", "3.82 2.90 3.82")]).await.done();
        for pack in ["P-001", "P-002", "P-003", "P-004"] {
            let page = card(&ada, pack, GENTLY).await;
            assert!(values(&page).is_empty() && page.one(".stop").starts_with("No settings"), "{pack}");
            assert!(page.select("main form[method='post']").is_empty(), "{pack}");
            let about = ada.get(&format!("/packs/{pack}")).await;
            assert!(about.select("main a[href$='/charge']").is_empty(), "{pack}");
        }
        let refused = ada.submit(&fresh, "main form[method='post']", &[]).await;
        assert!(refused.is_refused() && refused.problems()[0].contains("Quarantine"), "{:?}", refused.problems());
    }

    async fn a_started_charge_keeps_pack_and_output_busy_and_is_remembered(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let (ada, ben) = (club.member("Ada").await, club.member("Ben").await);
        let address = started(&ada, "P-001", GENTLY).await;
        let page = ada.get(&address).await;
        assert!(page.text.contains("With it: you"));
        assert!(!ben.get("/charges").await.text.contains("Ada"), "who stays with it is the club's");
        assert!(club.quartermaster().await.get("/charges").await.text.contains("Ada"));
        let again = card(&ben, "P-001", GENTLY).await;
        assert!(again.one(".stop").contains("charging already") && values(&again).is_empty());
        let other = card(&ben, "P-002", GENTLY).await;
        assert!(other.text.contains("It charges another pack now.") && values(&other).is_empty());
        let end = [("outcome", "finished"), ("mah", "900"), ("volts_line", "4.19 4.19 4.20")];
        club.later_by_minutes(25);
        ada.post(&format!("{address}/end"), &end).await.done();
        let told = ada.get(&address).await;
        assert!(told.one("p.lead").contains("900 mAh"), "{}", told.one("p.lead"));
        assert_eq!(club.find("SELECT volts FROM reading ORDER BY taken_ms DESC, id DESC LIMIT 1").await, ["c:4190,4190,4200"]);
        // A small pack on a charger that remembers the big one.
        club.find("UPDATE design SET capacity_mah = 450 RETURNING name").await;
        let small = card(&ben, "P-002", GENTLY).await;
        assert_eq!(small.one(".first-do"), "First turn C-01 down: it was left at 2.2 A, which is 4.9C on this pack.");
        assert_eq!(values(&small)[3], "0.4 A");
    }

    async fn what_a_running_charge_holds_is_handed_to_nobody(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let charge = started(&quinn, "P-001", GENTLY).await;
        let person = ada.id().to_string();
        let refused = quinn.post("/hand-out", &[("person", &*person), ("items", "1 C-01"), ("key", "held")]).await;
        let told = refused.texts(".refused li").join(" ");
        for number in ["P-001", "C-01"] {
            assert!(told.contains(&format!("{number} is in use: C-01 works on P-001 now. End that charge first.")), "{told}");
        }
        let ticks = quinn.get("/hand-out").await.texts(".to-tick label").join(" ");
        assert!(!ticks.contains("P-001") && ticks.contains("P-002"), "{ticks}");
        quinn.post("/hand-out", &[("person", &*person), ("items", "2"), ("key", "free")]).await.done();
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped"), ("mah", "10"), ("key", "ended")]).await.done();
        quinn.post("/hand-out", &[("person", &*person), ("items", "1 C-01"), ("key", "after")]).await.done();
    }

    async fn after_a_charge_only_new_volts_give_settings(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let address = started(&ada, "P-001", GENTLY).await;
        club.later_by_minutes(40);
        ada.post(&format!("{address}/end"), &[("outcome", "stopped")]).await.done();
        let page = card(&ada, "P-001", GENTLY).await;
        assert!(page.one(".stop").contains("used or charged since"));
        ada.post("/packs/P-001/volts", &[("rested", "rested_a_while"), ("volts_line", "3.95 3.95 3.95")]).await.done();
        assert!(!values(&card(&ada, "P-001", GENTLY).await).is_empty());
    }

    async fn an_end_that_lacks_something_keeps_what_was_typed_and_what_was_wrong_is_stored_at_once(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(2).await;
        let ada = club.member("Ada").await;
        let address = started(&ada, "P-001", GENTLY).await;
        let end = format!("{address}/end");
        let refused = ada.post(&end, &[("mah", "lots"), ("words", "all well")]).await;
        assert_eq!(refused.problems()[0], "Give mAh between 0 and 1000000, as the charger shows them.");
        assert_eq!(refused.select("#f-words")[0].attribute("value"), "all well");
        assert_eq!(ada.post(&end, &[("mah", "900")]).await.problems(), ["Say how it ended."]);
        let wrong = ada.post(&end, &[("outcome", "wrong"), ("words", "it got warm"), ("mah", "lots"), ("volts_line", "x")]).await;
        assert_eq!(wrong.done(), "/packs/P-001/condition");
        assert_eq!(club.find("SELECT state FROM pack WHERE number = 'P-001'").await, ["set_aside"]);
        assert!(ada.post(&end, &[("outcome", "finished")]).await.is_refused(), "it has ended");
    }

    async fn more_mah_than_expected_is_flagged_and_beyond_the_label_sets_the_pack_aside(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(2).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        for (pack, mah, state) in [("P-001", "2000", "caution"), ("P-002", "2311", "set_aside")] {
            let address = started(&ada, pack, GENTLY).await;
            club.later_by_minutes(60);
            ada.post(&format!("{address}/end"), &[("outcome", "finished"), ("mah", mah)]).await.done();
            assert_eq!(club.find(&format!("SELECT state FROM pack WHERE number = '{pack}'")).await, [state], "{pack}");
            let page = quinn.get(&format!("/packs/{pack}")).await;
            assert!(page.text.contains("Its last charge put in"), "{}", page.text);
            let form = "main form[action$='/mended']";
            quinn.submit(&page, form, &[("reason", "looked over, it was read too early")]).await.done();
            assert_eq!(club.find(&format!("SELECT state FROM pack WHERE number = '{pack}'")).await, ["fit"], "{pack}");
        }
    }

    async fn whoever_ends_a_charge_of_a_pack_that_turned_bad_is_told_so_at_once(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(2).await;
        let ada = club.member("Ada").await;
        for (pack, volts, told) in [("P-001", "4.19 4.19 4.31", "Quarantine"), ("P-002", "4.19 4.19 4.20", "")] {
            let address = started(&ada, pack, GENTLY).await;
            // What is dangerous waits for no answer, though so much can't be in no time.
            let mah = if told.is_empty() { "400" } else { "900" };
            let ended = ada.post(&format!("{address}/end"), &[("outcome", "finished"), ("mah", mah), ("volts_line", volts)]).await;
            if told.is_empty() {
                assert_eq!(ended.done(), address);
            } else {
                assert_eq!(ended.done(), format!("/packs/{pack}"));
                assert!(ada.get(&format!("/packs/{pack}")).await.text.contains(told));
            }
        }
    }

    async fn a_charge_that_outlasts_who_is_there_is_not_started(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        // Ten minutes from now.
        let page = card(&ada, "P-001", "?purpose=no_hurry&at=18%3A40&room=21&pack=21").await;
        assert!(page.text.contains("Nobody would be there when it ends"), "{}", page.text);
        assert!(page.select("main form[method='post']").is_empty());
        assert!(values(&page).is_empty() && page.select("ol.steps").is_empty(), "{}", page.text);
        let paper = ada.get("/packs/P-001/charge.pdf?purpose=no_hurry&at=18%3A40&room=21&pack=21").await;
        assert!(paper.status == 303, "there is no form for the wall of it");
        let long = card(&ada, "P-001", GENTLY).await;
        let refused = ada.submit(&long, "main form[method='post']", &[("minutes", "10")]).await;
        assert!(refused.problems()[0].starts_with("Nobody would be there"), "{:?}", refused.problems());
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
    }

    async fn volts_logged_as_a_pack_went_out_give_no_settings(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let person = ada.id().to_string();
        let out = [("person", &*person), ("items", "P-001"), ("due", ""), ("purpose", "practice")];
        let page = quinn.post("/hand-out", &out).await;
        page.done();
        club.behind_the_back("UPDATE pack SET last_read_ms = (SELECT opened_ms FROM lent)").await.expect("read as it went out");
        let page = card(&ada, "P-001", GENTLY).await;
        assert!(values(&page).is_empty() && page.one(".stop").contains("used or charged since"), "{}", page.text);
    }

    async fn after_a_power_cut_the_settings_are_read_back_again(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let address = started(&ada, "P-001", GENTLY).await;
        assert!(ada.get(&address).await.text.contains("<strong>3S LiPo, balance, 12.6 V, 2.2 A</strong>"));
        ada.post(&format!("{address}/read-back"), &[]).await.done();
        assert!(ada.get(&address).await.text.contains("Last read back again"));
        assert_eq!(club.find("SELECT verb FROM activity WHERE verb = 'settings read back again'").await.len(), 1);
    }

    async fn a_card_that_is_old_or_does_not_hold_any_more_is_read_again(club: TestClub) {
        club.fit_packs(2).await;
        let ids = club.chargers(2).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        let page = card(&ada, "P-001", GENTLY).await;
        let form = "main form[method='post']";
        for altered in [("current_ma", "9900"), ("mode", "charge"), ("plan", "C-01"), ("charger", "C-09"), ("shown_ms", "0")] {
            let refused = ada.submit(&page, form, &[altered, ("key", altered.0)]).await;
            assert!(refused.problems()[0].starts_with("Since you looked, something changed"), "{altered:?}: {:?}", refused.problems());
            assert!(!values(&refused).is_empty(), "the plan of now is shown");
        }
        quinn.post(&format!("/kit/{}/set-aside", ids[0]), &[("set_aside", "a smell")]).await.done();
        let refused = ada.submit(&page, form, &[]).await;
        assert!(refused.is_refused() && refused.text.contains("C-02"));
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
    }

    async fn only_a_quartermaster_says_that_somebody_else_stays_with_it(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(2).await;
        let (ada, ben, quinn) = (club.member("Ada").await, club.borrower("Ben").await, club.quartermaster().await);
        let page = card(&ada, "P-001", GENTLY).await;
        let ben_id = ben.id().to_string();
        let refused = ada.submit(&page, "main form[method='post']", &[("watched_by", &ben_id)]).await;
        assert!(refused.is_refused());
        let page = card(&quinn, "P-001", GENTLY).await;
        quinn.submit(&page, "main form[method='post']", &[("watched_by", &ben_id)]).await.done();
        assert!(ben.get("/charges").await.text.contains("with it: you"));
    }

    async fn nobody_is_named_to_stay_with_a_charge_who_was_never_shown_how_or_may_not(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (quinn, cleo, olive) = (club.quartermaster().await, club.member("Cleo").await, club.organiser().await);
        for (who, words) in [(&cleo, "note the induction first"), (&olive, "may not stay with a charge")] {
            let page = card(&quinn, "P-001", GENTLY).await;
            let refused = quinn.submit(&page, "main form[method='post']", &[("watched_by", &who.id().to_string())]).await;
            assert!(refused.is_refused() && refused.problems().concat().contains(words), "{:?}", refused.problems());
        }
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
    }

    async fn an_organiser_is_told_why_there_are_no_settings_and_is_led_nowhere_she_may_not_go(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        let charge = started(&ada, "P-001", GENTLY).await;
        club.later_by_minutes(5);
        ada.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        for address in ["/packs/P-001/charge", &charge] {
            assert_eq!(ada.get(address).await.select("a[href='/packs/P-001/volts']").len(), 1, "{address}");
            let page = olive.get(address).await;
            assert!(page.select("a[href='/packs/P-001/volts']").is_empty(), "{address}");
        }
        assert!(olive.get("/packs/P-001/charge").await.one("p.stop").contains("log them first"));
    }

    async fn of_many_who_start_at_once_one_gets_the_output_and_the_others_a_sentence(club: TestClub) {
        club.fit_packs(8).await;
        club.chargers(1).await;
        let mut asking = Vec::new();
        for pack in 1..=8 {
            let who = club.member(&format!("Member {pack}")).await;
            let page = card(&who, &format!("P-00{pack}"), GENTLY).await;
            asking.push(async move { who.submit(&page, "main form[method='post']", &[]).await });
        }
        let answers = futures_util::future::join_all(asking).await;
        let refused = answers.iter().filter(|answer| answer.is_refused()).count();
        assert_eq!((refused, club.find("SELECT mode FROM charge").await.len()), (7, 1));
    }

    async fn not_in_time_names_packs_of_the_design_that_are_full_or_could_be(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        quinn.post("/packs/P-002/volts", &[("rested", "rested_an_hour"), ("volts_line", "4.19 4.19 4.19")]).await.done();
        quinn.post("/packs/P-003/volts", &[("rested", "rested_an_hour"), ("volts_line", "4.13 4.13 4.13")]).await.done();
        let soon = sandbucket::club::calendar::Zone::named("Europe/London").unwrap_or_else(sandbucket::club::calendar::Zone::utc);
        let at = soon.time_words(club.now().plus_minutes(42)).replace(':', "%3A");
        let page = card(&ada, "P-001", &format!("?purpose=ready_by&at={at}&room=21&pack=21")).await;
        assert!(page.text.contains("Not in time"), "{}", page.text);
        assert!(page.text.contains("Full now, of the same design: <a class=\"tap\" href=\"/packs/P-002\">"), "{}", page.text);
        assert!(page.text.contains("Could be ready in time: <a class=\"tap\" href=\"/packs/P-003/charge\">"), "{}", page.text);
        // At an event, volts of more than an hour ago tell nothing: neither is offered, as neither gets a card.
        let olive = club.organiser().await;
        let event = [("name", "Bouts"), ("place", "Hall"), ("first_on", "2026-11-25"), ("last_on", "2026-11-25"), ("packs", "2-3")];
        let event = olive.post("/events/new", &event).await.done().to_owned();
        assert!(card(&ada, "P-001", &format!("?purpose=ready_by&at={at}&room=21&pack=21")).await.text.contains("Full now"), "read within the hour");
        let earlier = "UPDATE pack SET last_read_ms = last_read_ms - 5400000 WHERE number <> 'P-001'";
        club.behind_the_back(earlier).await.expect("read before");
        let page = card(&ada, "P-001", &format!("?purpose=ready_by&at={at}&room=21&pack=21")).await;
        assert!(!page.text.contains("Full now") && !page.text.contains("Could be ready"), "{}", page.one("main"));
        club.behind_the_back(&earlier.replace('-', "+").replacen("P+001", "P-001", 1)).await.expect("read now");
        let form = olive.get(&event).await;
        olive.submit(&form, "form[action^='/events/']:has(textarea)", &[("packs", ""), ("key", "none")]).await.done();
        // So it is where its only charger is taken and nothing at hand does it.
        started(&ada, "P-003", GENTLY).await;
        let none = card(&ada, "P-001", &format!("?purpose=ready_by&at={at}&room=21&pack=21")).await;
        assert!(none.text.contains("Nothing at hand does that for P-001"), "{}", none.one("main"));
        assert!(none.text.contains("Full now, of the same design: <a class=\"tap\" href=\"/packs/P-002\">"), "{}", none.one("main"));
    }

    async fn what_is_said_against_a_pack_stands_on_its_card_wherever_it_is_shown(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        let volts = [("rested", "rested_an_hour"), ("volts_line", "3.85 3.85 3.81")];
        quinn.post("/packs/P-001/volts", &volts).await.done();
        let said = quinn.get("/packs/P-001").await;
        assert!(said.text.contains("Caution"), "{}", said.one("main"));
        let words = club.find("SELECT state_words FROM pack").await.remove(0);
        let page = card(&ada, "P-001", GENTLY).await;
        assert!(page.texts("p.first-do").iter().any(|each| each.starts_with("Caution: ") && each.contains(&words)), "{}", page.one("main"));
        let told = club.program(ada.id()).await.get("/api/v1/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room_celsius=21&pack_celsius=21").await.done();
        assert!(told["plans"][0]["cautions"][0].as_str().expect("a caution").contains(&words), "{told}");
        let link = page.select("a[href*='charge.pdf']")[0].attribute("href").to_owned();
        let pdf = ada.get(&link).await;
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat(&crate::charge_paper::words(pdf.body())).contains(&flat(&words)), "{words}");
        let evening = quinn.get("/charges/evening?numbers=1&purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        let row = evening.one("tbody tr");
        assert!(row.contains(&words) && row.contains("cut off at"), "{row}");
    }

    async fn many_packs_on_few_chargers_get_their_turns_and_the_rest_a_reason(club: TestClub) {
        club.fit_packs(3).await;
        club.new_packs(1).await;
        club.chargers(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        assert_eq!(ada.get("/charges/evening").await.status, 403);
        let query = "?purpose=no_hurry&at=23%3A59&room=21&pack=21";
        let page = quinn.get(&format!("/charges/evening{query}&numbers=1-4&watched_by={}", ada.id())).await;
        assert_eq!(page.texts("tbody th"), ["P-001", "P-002", "P-003"]);
        assert!(page.one("p.lead").starts_with("Ada stays for"), "{}", page.one("p.lead"));
        assert_eq!(page.texts("ul.told li"), ["P-004 Its state is Not known: only a pack that is fit, or a caution, is charged."]);
        let refused = quinn.get(&format!("/charges/evening{query}&numbers=")).await;
        assert_eq!(refused.problems(), ["Name 1 to 500 packs, like 1-9."]);
        assert!(quinn.get("/charges/evening").await.problems().is_empty());
        let empty = quinn.get("/charges/evening").await;
        let sent = empty.form("form[action='/charges/evening']").1;
        let sent: Vec<String> = sent.iter().map(|(name, value)| format!("{name}={value}")).collect();
        let empty = quinn.get(&format!("/charges/evening?{}", sent.join("&"))).await;
        assert_eq!(empty.problems()[0], "Name 1 to 500 packs, like 1-9.", "an empty form is told what it lacks");
        let refused = quinn.get("/charges/evening?numbers=1-3&purpose=no_hurry&at=&room=&pack=").await;
        assert_eq!(refused.problems(), ["Type a time like 14:40."]);
        assert_eq!(refused.select("#f-numbers")[0].attribute("value"), "1-3");
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
    }

    async fn an_evening_that_is_too_short_says_until_when_somebody_would_have_to_be_there(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let until = |at: &str| format!("/charges/evening?purpose=no_hurry&numbers=1-3&at={at}&room=21&pack=21");
        let short = quinn.get(&until("20%3A00")).await;
        assert_eq!(short.texts("tbody th").len(), 1, "{}", short.text);
        let told = short.texts("main p").into_iter().find(|each| each.starts_with("With somebody there until"));
        let told = told.expect("until when");
        let (_, end) = told.split_once("until ").expect("a time");
        assert!(end.ends_with(", 3 of 3 get their turn."), "{told}");
        let time = end.split(',').next().expect("a time");
        let enough = quinn.get(&until(&time.replace(':', "%3A"))).await;
        assert_eq!(enough.texts("tbody th").len(), 3, "{time}: {}", enough.text);
        assert!(!enough.text.contains("With somebody there until"));
    }

    async fn after_a_quick_charge_the_next_one_is_owed_a_balance(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let soon = || {
            let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
            let at = zone.time_words(club.now().plus_minutes(58)).replace(':', "%3A");
            format!("?purpose=ready_by&at={at}&room=21&pack=21")
        };
        let page = card(&ada, "P-001", &soon()).await;
        assert_eq!(values(&page)[2], "Charge");
        assert!(page.text.contains("its next charge must be a balanced one"));
        let address = started(&ada, "P-001", &soon()).await;
        let end = [("outcome", "finished"), ("volts_line", "4.19 4.19 4.19")];
        ada.post(&format!("{address}/end"), &end).await.done();
        let ended = ada.get(&address).await;
        assert!(ended.one(".lead").ends_with("Its volts then: 4.19 4.19 4.19."), "{}", ended.one(".lead"));
        let read = [("rested", "rested_an_hour"), ("volts_line", "3.82 3.81 3.82")];
        ada.post("/packs/P-001/volts", &read).await.done();
        let page = card(&ada, "P-001", &soon()).await;
        assert_eq!(values(&page)[2], "Balance");
        assert!(page.text.contains("Its last charge was a quick one") && page.text.contains("Not in time"));
        // A balance that was stopped pays nothing back; one that ended does.
        for (outcome, mode) in [("stopped", "Balance"), ("finished", "Charge")] {
            let address = started(&ada, "P-001", GENTLY).await;
            ada.post(&format!("{address}/end"), &[("outcome", outcome)]).await.done();
            club.later_by_minutes(60);
            ada.post("/packs/P-001/volts", &read).await.done();
            assert_eq!(values(&card(&ada, "P-001", &soon()).await)[2], mode, "{outcome}");
        }
    }

    async fn a_card_reckons_with_the_resistance_last_measured_and_says_when(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let measure = async |resistance: &str, celsius: &str| {
            let fields = [("rested", "rested_an_hour"), ("volts_line", "3.85 3.85 3.85"), ("resistance", resistance), ("celsius", celsius)];
            ada.post("/packs/P-001/volts", &fields).await.done();
            club.later_by_minutes(1);
        };
        let takes = async || card(&ada, "P-001", GENTLY).await.one("p.what");
        let typical = card(&ada, "P-001", GENTLY).await;
        assert!(typical.text.contains("reckoned with a resistance that is typical of its kind"), "{}", typical.one("main"));
        let by_kind = takes().await;
        measure("3.6 4.0 4.4", "25").await;
        let measured = card(&ada, "P-001", GENTLY).await;
        assert!(measured.text.contains("reckoned with the resistance measured today, "), "{}", measured.one("main"));
        assert!(measured.text.contains(": 4.0 mΩ a cell at 25 °C."), "{}", measured.one("main"));
        let by_four = takes().await;
        assert_ne!(by_four, by_kind, "other minutes");
        measure("5.0 5.0 5.0", "25").await;
        assert!(card(&ada, "P-001", GENTLY).await.text.contains(": 5.0 mΩ a cell at 25 °C."), "the latest counts");
        measure("4.0 4.0 4.0", "5").await;
        let cold = card(&ada, "P-001", GENTLY).await;
        assert!(cold.text.contains("typical of its kind"), "one read at 5 °C does not tell: {}", cold.one("main"));
    }

    async fn a_room_nobody_measured_is_as_warm_as_its_place_usually_is(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        let query = "?purpose=no_hurry&at=23%3A59&room=&pack=21";
        assert_eq!(card(&ada, "P-001", query).await.problems(), ["How warm is it where it is charged?"]);
        quinn.post("/places/new", &[("name", "Cellar"), ("kind", "table"), ("warmth_celsius", "4")]).await.done();
        club.find("UPDATE pack SET place_id = (SELECT id FROM place WHERE name = 'Cellar') RETURNING number").await;
        let page = card(&ada, "P-001", query).await;
        assert_eq!(values(&page)[3], "1.1 A", "half the rate under 5 degrees: {}", page.text);
        assert!(page.text.contains("Left empty: 4 °C, as Cellar usually is."));
        let typed = card(&ada, "P-001", "?purpose=no_hurry&at=23%3A59&room=20&pack=21").await;
        assert_eq!(values(&typed)[3], "2.2 A");
        // What lay there for an hour is as warm as it; what came back a moment ago is asked for.
        let neither = "?purpose=no_hurry&at=23%3A59&room=&pack=";
        assert_eq!(values(&card(&ada, "P-001", neither).await)[3], "1.1 A");
        let evening = quinn.get(&format!("/charges/evening{neither}&numbers=1")).await;
        assert!(evening.one("tbody tr").contains("1.1 A"), "{}", evening.one("main"));
        quinn.post("/packs/P-001/volts", &[("rested", "just_used"), ("volts_line", "3.82 3.82 3.82"), ("key", "used")]).await.done();
        club.later_by_minutes(59);
        assert_eq!(card(&ada, "P-001", neither).await.problems(), ["How warm is the pack? As warm as the room if it lay there for an hour."]);
        club.later_by_minutes(1);
        assert_eq!(values(&card(&ada, "P-001", neither).await)[3], "1.1 A");
    }
}
