//! A pack that charges looks like no other: its pages say so and hand it out to nobody; who stays with it can be handed on, and
//! taking it back is told.

use crate::support::*;
use futures_util::future::join_all;

/// The fake clock stands at some time of day; a time some hours on is always ahead.
const GENTLY: &str = "?purpose=no_hurry&at=23%3A59&room=21&pack=21";

pub async fn started(who: &Browser, pack: &str) -> String {
    let page = who.get(&format!("/packs/{pack}/charge{GENTLY}")).await;
    let answer = who.submit(&page, "main form[method='post']", &[]).await;
    answer.done().to_owned()
}

/// Packs that are fit with as many chargers, each pack with a label; gives back the labels' addresses.
pub async fn bench(club: &TestClub, count: usize) -> Vec<String> {
    club.fit_packs(count).await;
    club.chargers(i64::try_from(count).expect("few")).await;
    let quinn = club.quartermaster().await;
    let sheet = [
        ("numbers", &*format!("1-{count}")),
        ("sheet", "a4-21"),
        ("base", "http://127.0.0.1:8080"),
    ];
    quinn.post("/labels", &sheet).await.done();
    let codes = club
        .find("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id ORDER BY k.number_key")
        .await;
    codes.iter().map(|code| format!("/t/{code}")).collect()
}

fn taps(page: &Answer) -> String {
    page.texts("ul.do a, ul.do button").join(" | ")
}

async fn hand_over(who: &Browser, charge: &str, to: &Browser, handed: &str) -> Answer {
    let to = to.id().to_string();
    let sent = [
        ("watched_by", &*to),
        ("handed", handed),
        ("key", &*sandbucket::ids::new_token()),
    ];
    who.post(&format!("{charge}/hand-over"), &sent).await
}

on_both! {
    async fn a_pack_that_charges_says_so_on_its_pages_and_is_offered_to_nobody(club: TestClub) {
        let labels = bench(&club, 2).await;
        let (quinn, ada, ben) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Ben").await);
        club.behind_the_back("UPDATE club SET may_members_borrow = TRUE").await.expect("its setting");
        let charge = started(&ada, "P-001").await;
        club.later_by_minutes(5);
        let pages = ["/packs/P-001", labels[0].as_str()];
        for page in pages {
            for (who, watched) in [(&quinn, "Ada"), (&ada, "you"), (&ben, "somebody of the club")] {
                let told = who.get(page).await;
                let said = told.texts("p.next").join(" ");
                assert!(said.contains("It charges now on C-01, since today, 18:30, done by about 19:") && said.contains(&format!("With it: {watched}.")), "{said}");
                assert!(taps(&told).contains("See to its charge") && !taps(&told).contains("Hand it out") && !taps(&told).contains("Borrow it"), "{page}: {}", taps(&told));
                assert_eq!(told.select(&format!("ul.do a.first[href='{charge}']")).len(), 1, "{page}");
                assert!(told.select("main a[href$='/charge']").is_empty(), "no second charge is offered");
            }
        }
        assert!(!ben.get(pages[0]).await.text.contains("Ada"));
        let list = ben.get("/packs").await.texts("td[data-label='State']");
        assert!(list[0].contains("It charges now on C-01") && !list[1].contains("charges"), "{list:?}");
        assert!(taps(&quinn.get("/packs/P-002").await).contains("Hand it out"), "its sister lies here");
        club.later_by_minutes(600);
        assert!(ben.get(pages[0]).await.text.contains("it should be done: look at it"));
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        assert!(!quinn.get(pages[0]).await.text.contains("charges now"));
        assert!(taps(&quinn.get(pages[0]).await).contains("Hand it out"));
    }

    async fn nothing_has_rested_for_longer_than_since_its_charge_ended_or_it_was_read_just_used(club: TestClub) {
        bench(&club, 1).await;
        let ada = club.borrower("Ada").await;
        let charge = started(&ada, "P-001").await;
        club.later_by_minutes(60);
        ada.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "900")]).await.done();
        let rested = async || club.find("SELECT CAST(rested_minutes AS TEXT) FROM reading ORDER BY taken_ms DESC, id DESC LIMIT 1").await;
        let log = async |volts: &str, how: &str| {
            ada.post("/packs/P-001/volts", &[("volts_line", volts), ("rested", how)]).await.done();
        };
        club.later_by_minutes(1);
        log("3.81 3.81 3.81", "rested_an_hour").await;
        assert_eq!(rested().await, ["1"], "whatever was said");
        let later = ada.get("/packs/P-001/charge?purpose=ready_by&at=20%3A30&room=21&pack=21").await;
        assert!(!later.texts("dl.set dd").contains(&"Charge".to_owned()), "its spread is not known: no quick charge: {}", later.text);
        club.later_by_minutes(20);
        log("3.81 3.81 3.80", "rested_a_while").await;
        assert_eq!(rested().await, ["15"]);
        log("3.78 3.78 3.78", "just_used").await;
        club.later_by_minutes(4);
        log("3.80 3.80 3.80", "rested_an_hour").await;
        assert_eq!(rested().await, ["4"]);
        club.later_by_minutes(61);
        log("3.80 3.80 3.81", "rested_an_hour").await;
        assert_eq!(rested().await, ["60"]);
    }

    async fn what_is_sent_again_on_a_round_is_the_same_though_it_has_rested_for_longer_by_now(club: TestClub) {
        bench(&club, 1).await;
        let ada = club.borrower("Ada").await;
        let charge = started(&ada, "P-001").await;
        club.later_by_minutes(60);
        ada.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "900")]).await.done();
        let (quinn, round) = crate::rounds::begun(&club, "1").await;
        for _ in 0..2 {
            club.later_by_minutes(2);
            crate::rounds::read(&quinn, &round, "1", "3.81 3.81 3.81").await.done();
            let rested = club.find("SELECT CAST(rested_minutes AS TEXT) FROM reading ORDER BY taken_ms").await;
            assert_eq!(rested[1..], ["2"], "after the one it was fit by");
        }
    }

    async fn the_time_that_a_late_card_names_can_be_asked_for(club: TestClub) {
        bench(&club, 1).await;
        let ada = club.borrower("Ada").await;
        let asked = async |at: &str| {
            let at = at.replace(':', "%3A");
            ada.get(&format!("/packs/P-001/charge?purpose=ready_by&at={at}&room=21&pack=21")).await
        };
        let late = asked("18:40").await;
        assert_eq!(late.one("h1"), "Not ready by 18:40");
        let (_, named) = late.text.split_once("ask again for ").expect("a time");
        let named: String = named.trim_start_matches("today, ").chars().take_while(|letter| letter.is_ascii_digit() || *letter == ':').collect();
        club.later_by_minutes(2);
        let again = asked(&named).await;
        assert_eq!(again.one("h1"), format!("Ready by {named}"), "{}", again.text);
    }

    async fn one_of_many_outputs_is_named_and_a_discharge_is_told_as_one(club: TestClub) {
        let labels = bench(&club, 1).await;
        let ada = club.member("Ada").await;
        started(&ada, "P-001").await;
        club.find("UPDATE charge SET output = 1, drawn_mw = 0 RETURNING mode").await;
        club.find("UPDATE kit SET spec = REPLACE(spec, '\"outputs\":1', '\"outputs\":2') RETURNING number").await;
        for page in ["/packs/P-001", &labels[0]] {
            let said = ada.get(page).await.texts("p.next").join(" ");
            assert!(said.contains("It is being discharged now on C-01, output 2"), "{said}");
        }
    }

    async fn programs_read_what_charges_a_pack(club: TestClub) {
        let labels = bench(&club, 2).await;
        let (ada, ben) = (club.member("Ada").await, club.member("Ben").await);
        let charge = started(&ada, "P-001").await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let own = club.program(ada.id()).await;
        let other = club.program(ben.id()).await;
        let scanned = format!("/api/v1{}", labels[0]);
        for path in ["/api/v1/packs/P-001", &scanned] {
            let told = quinn.get(path).await.done()["pack"]["charging"].clone();
            assert_eq!(format!("/charges/{}", told["charge_id"].as_str().expect("an id")), charge);
            assert_eq!((&told["charger"], &told["output"], &told["is_over"], &told["watched_by"]), (&"C-01".into(), &1.into(), &false.into(), &"Ada".into()));
            assert_eq!(own.get(path).await.done()["pack"]["charging"]["is_watched_by_you"], true);
            let hidden = other.get(path).await.done()["pack"]["charging"].clone();
            assert!(hidden["watched_by"].is_null() && hidden["watched_by_id"].is_null() && hidden["done_at"].is_string());
        }
        assert_eq!(quinn.get(&scanned).await.done()["may"]["borrow"], false);
        let list = other.get("/api/v1/packs").await.done();
        assert!(list["packs"][0]["charging"].is_object() && list["packs"][1]["charging"].is_null());
    }

    async fn a_gathering_marks_what_charges(club: TestClub) {
        let labels = bench(&club, 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        quinn.post("/gather", &[("kind", "hand_out"), ("person", &*ada.id().to_string()), ("items", "1-2")]).await.done();
        let charge = started(&ada, "P-001").await;
        let list = quinn.get("/gather").await.texts(".gathered .wrong");
        assert_eq!(list, ["In use: C-01 works on it now. End that charge first, or leave it out."]);
        quinn.post("/gather/leave-out", &[("number", "P-001"), ("key", "out")]).await.done();
        assert!(taps(&quinn.get(&labels[0]).await).contains("It charges: it goes out to nobody now"));
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        assert!(taps(&quinn.get(&labels[0]).await).contains("Add to Ada’s hand-out") || taps(&quinn.get(&labels[0]).await).contains("Add to Ada's hand-out"));
    }

    async fn a_pack_that_is_taken_back_while_it_charges_is_told_on_both_sides(club: TestClub) {
        bench(&club, 1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        quinn.post("/hand-out", &[("person", &*ada.id().to_string()), ("items", "1")]).await.done();
        ada.post("/packs/P-001/volts", &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour")]).await;
        club.later_by_minutes(1);
        ada.post("/packs/P-001/volts", &[("volts_line", "3.82 3.81 3.82"), ("rested", "rested_an_hour"), ("key", "again")]).await.done();
        let charge = started(&ada, "P-001").await;
        assert!(!quinn.get(&charge).await.text.contains("taken back"));
        let lent = club.ids("lent").await[0];
        let own = ada.get(&format!("/mine/{lent}/bring-back")).await;
        assert!(own.one("main").contains("It charges now on C-01") && own.text.contains("Bringing it back does not end that"), "{}", own.text);
        let items = quinn.get("/take-back/items?numbers=1").await;
        assert!(items.one("main").contains("It charges now on C-01") && items.text.contains("Taking it back does not end that"), "{}", items.text);
        club.later_by_minutes(10);
        let look = format!("look-{lent}");
        let volts = quinn.post("/take-back/items", &[("shown", &*lent.to_string()), (&*look, "nothing"), ("key", "look")]).await.done().to_owned();
        let asked = quinn.get(&volts).await;
        let done = quinn.submit(&asked, "main form[method='post']", &[(&*format!("unread-{lent}"), "it is on the charger")]).await.done().to_owned();
        let done = quinn.get(&done).await;
        assert!(done.one("main").contains("Stop its charger, this pack is not fit any more: it is on C-01") && done.text.contains("It was taken back while it charged"), "{}", done.text);
        let told = ada.get(&charge).await;
        assert!(told.one("main").contains("P-001 was taken back while it charged, today, 18:41. Look whether it is still on C-01, then end this charge."), "{}", told.text);
        let program = club.program(quinn.id()).await;
        assert!(program.get(&format!("/api/v1{charge}")).await.done()["pack_back_at"].is_string());
        club.later_by_minutes(1);
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        assert!(quinn.get(&charge).await.one("main").contains("P-001 was taken back while it charged, today, 18:41."));
    }

    async fn who_stays_with_a_charge_is_handed_on_and_told_with_its_time(club: TestClub) {
        bench(&club, 1).await;
        let (quinn, ada, ben) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Ben").await);
        let charge = started(&ada, "P-001").await;
        club.later_by_minutes(12);
        let page = ben.get(&charge).await;
        ben.submit(&page, "main form[action$='/hand-over']", &[]).await.done();
        let told = quinn.get(&charge).await.one("p.what");
        assert!(told.contains("With it: Ben, handed over at 18:42."), "{told}");
        assert!(club.organiser().await.get("/log").await.one("main").contains("P-001: charge on C-01 handed over, from Ada to Ben"));
        assert!(ada.get("/packs/P-001").await.text.contains("With it: somebody of the club"));
        let choice = quinn.get(&format!("{charge}/hand-over")).await;
        let names = choice.texts("select[name='watched_by'] option");
        assert!(names.contains(&"Ada".to_owned()) && !names.contains(&"Ben".to_owned()), "{names:?}");
        quinn.submit(&choice, "main form", &[("watched_by", &*ada.id().to_string())]).await.done();
        let program = club.program(ben.id()).await;
        let told = program.get(&format!("/api/v1{charge}")).await.done();
        assert_eq!((&told["handed_over_count"], &told["watched_by"]), (&2.into(), &serde_json::Value::Null));
        assert!(told["watched_since"].as_str() > told["started_at"].as_str());
        let body = serde_json::json!({ "handed_over_count": 2 });
        program.post(&format!("/api/v1{charge}/hand-over"), &body).await.done();
        assert_eq!(program.get(&format!("/api/v1{charge}")).await.done()["is_watched_by_you"], true);
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM activity WHERE verb = 'charge handed over'").await, ["3"]);
    }

    async fn a_charge_goes_to_nobody_who_may_not_stay_with_it(club: TestClub) {
        bench(&club, 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let (new, orla) = (club.member("Nell").await, club.organiser().await);
        let charge = started(&ada, "P-001").await;
        for (who, to, told) in [
            (&quinn, &ada, "Ada stays with it already."),
            (&ada, &ada, "You stay with it already."),
            (&quinn, &new, "Nell was not shown safe charging and handling: note the induction first."),
            (&new, &new, "Nell was not shown safe charging and handling: note the induction first."),
            (&ada, &quinn, "Whoever takes it on says so themselves; only a quartermaster hands it to somebody else."),
            (&quinn, &orla, "may not stay with a charge: that is for members and quartermasters."),
        ] {
            let refused = hand_over(who, &charge, to, "0").await;
            assert!(refused.is_refused() && refused.problems()[0].contains(told), "{told}: {:?}", refused.problems());
        }
        let nobody = quinn.post(&format!("{charge}/hand-over"), &[("handed", "0"), ("key", "nobody")]).await;
        assert_eq!(nobody.problems(), ["Choose who stays with it from now on."]);
        assert_eq!(orla.get(&format!("{charge}/hand-over")).await.status, 403);
        assert_eq!(hand_over(&orla, &charge, &orla, "0").await.status, 403);
        for page in ["/packs/P-002/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21", "/charges/evening"] {
            let names = quinn.get(page).await.texts("select[name='watched_by'] option");
            assert!(names.contains(&"Ada".to_owned()) && !names.iter().any(|name| name.contains("Nell")), "{page}: {names:?}");
        }
        let program = club.program(ada.id()).await;
        let body = serde_json::json!({ "watched_by_id": quinn.id(), "handed_over_count": 0 });
        assert_eq!(program.post(&format!("/api/v1{charge}/hand-over"), &body).await.status, 403);
        ada.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        let ben = club.borrower("Ben").await;
        for who in [&quinn, &ben] {
            let late = hand_over(who, &charge, &ben, "0").await;
            assert_eq!(late.problems(), ["It has ended already."]);
        }
        assert_eq!(club.find("SELECT CAST(handed_count AS TEXT) FROM charge").await, ["0"]);
        assert_eq!(club.find("SELECT verb FROM activity WHERE verb = 'charge handed over'").await, Vec::<String>::new());
    }

    async fn of_many_who_hand_it_over_at_once_one_does(club: TestClub) {
        bench(&club, 1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let charge = started(&ada, "P-001").await;
        let mut others = Vec::new();
        for name in ["Ben", "Cleo", "Dov", "Eve"] {
            others.push(club.borrower(name).await);
        }
        for round in 0..3 {
            let seen = round.to_string();
            let both = others.iter().map(|to| hand_over(&quinn, &charge, to, &seen));
            let own = others.iter().map(|who| hand_over(who, &charge, who, &seen));
            let answers = join_all(both.chain(own).map(|one| Box::pin(one) as std::pin::Pin<Box<dyn Future<Output = Answer>>>)).await;
            let done = answers.iter().filter(|answer| answer.status == 303).count();
            assert_eq!(done, 1, "round {round}");
            for refused in answers.iter().filter(|answer| answer.status != 303) {
                let told = refused.problems().join(" ");
                assert!(told.contains("Since you looked, it was handed over") || told.contains("with it already"), "{told}");
            }
        }
        assert_eq!(club.find("SELECT CAST(handed_count AS TEXT) FROM charge").await, ["3"]);
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM activity WHERE verb = 'charge handed over'").await, ["3"]);
    }

    async fn a_charge_of_a_pack_that_turned_bad_shows_no_setting_and_is_stopped(club: TestClub) {
        bench(&club, 1).await;
        let (ada, ben) = (club.borrower("Ada").await, club.borrower("Ben").await);
        let charge = started(&ada, "P-001").await;
        let program = club.program(ada.id()).await;
        let told = async || program.get(&format!("/api/v1{charge}")).await.done();
        let fine = told().await;
        assert_eq!((&fine["current_ma"], &fine["must_stop"]), (&2_200.into(), &serde_json::Value::Null));
        ben.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        let page = ada.get(&charge).await;
        assert!(page.texts("dl.set dd").is_empty(), "{}", page.one("main"));
        let stop = page.one("p.stop");
        assert!(stop.contains("stop the charger now, then end this charge below. P-001: Quarantine."), "{stop}");
        assert!(!page.text.contains("Read it back before it goes on") && page.select("form[action$='/read-back']").is_empty());
        assert!(ada.get("/charges").await.one("main").contains("stop it: the pack is not fit any more"));
        let refused = ada.post(&format!("{charge}/read-back"), &[("key", "again")]).await;
        assert!(refused.text.contains("Its state is Quarantine: only a pack that is fit, or a caution, is charged."), "{}", refused.status);
        assert_eq!(program.post(&format!("/api/v1{charge}/read-back"), &serde_json::json!({})).await.status, 409);
        let bad = told().await;
        assert_eq!((&bad["current_ma"], &bad["read_back"], &bad["read_back_at"]), (&serde_json::Value::Null, &"".into(), &serde_json::Value::Null));
        assert!(bad["must_stop"].as_str().expect("why").contains("P-001: Quarantine."), "{bad}");
        ada.submit(&page, "form[action$='/end']", &[("outcome", "stopped")]).await.done();
        assert_eq!(told().await["must_stop"], serde_json::Value::Null);
    }

    async fn a_pack_that_turned_bad_on_its_charger_is_stopped_and_nobody_is_told_to_wait_for_it(club: TestClub) {
        let labels = bench(&club, 2).await;
        let (quinn, ada, ben) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Ben").await);
        let charge = started(&ada, "P-001").await;
        let said = async |page: &str| ada.get(page).await.texts("p.next").join(" ");
        let charger = club.find("SELECT i.number FROM charge c JOIN kit i ON i.id = c.charger_id").await.remove(0);
        let charger = club.ids(&format!("kit WHERE number = '{charger}'")).await[0];
        quinn.post(&format!("/kit/{charger}/set-aside"), &[("set_aside", "plug melted"), ("key", "aside")]).await.done();
        let scanned = ada.get(&labels[0]).await;
        assert!(scanned.one("main").contains("Stop it first: its charger was set aside."), "{}", scanned.one("main"));
        assert!(!scanned.text.contains("leave it to who stays with it") && taps(&scanned).contains("Stop and end its charge"), "{}", scanned.text);
        ben.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        let wanted = "Stop its charger, this pack is not fit any more: it is on C-0";
        for page in ["/packs/P-001", &labels[0]] {
            let told = said(page).await;
            assert!(told.contains(wanted) && told.contains("since today, 18:30. With it: you."), "{page}: {told}");
            assert!(!told.contains("charges now") && !told.contains("done by about"), "{page}: {told}");
            let first = ada.get(page).await.texts(&format!("ul.do a.first[href='{charge}']"));
            assert!(first.iter().any(|tap| tap.starts_with("Stop and end its charge")), "{page}: {first:?}");
        }
        let list = ada.get("/packs").await.texts("td[data-label='State']");
        assert!(list[0].contains(wanted) && !list[1].contains("Stop"), "{list:?}");
        club.later_by_minutes(600);
        assert!(!said("/packs/P-001").await.contains("it should be done"), "nobody waits for it");
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        assert!(!said("/packs/P-001").await.contains("Stop its charger"));
    }

    async fn what_feeds_a_charge_that_is_to_be_stopped_feeds_no_other(club: TestClub) {
        club.fit_packs(2).await;
        let chargers = club.chargers_on_one_brick(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let charge = started(&ada, "P-001").await;
        let card = "/packs/P-002/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21";
        let before = ada.get(card).await;
        assert!(before.select("dl.set").is_empty() && before.text.contains("feeds C-0"), "{}", before.one("main"));
        let runs_on = club.find("SELECT i.number FROM charge c JOIN kit i ON i.id = c.charger_id").await.remove(0);
        let at = usize::from(runs_on == "C-02");
        quinn.post(&format!("/kit/{}/set-aside", chargers[at]), &[("set_aside", "plug melted"), ("key", "aside")]).await.done();
        let after = ada.get(card).await;
        assert!(after.select("dl.set").is_empty() && after.text.contains("feeds C-0"), "it is plugged in yet: {}", after.one("main"));
        quinn.post(&format!("{charge}/end"), &[("outcome", "stopped")]).await.done();
        assert_eq!(ada.get(card).await.select("dl.set").len(), 1);
    }

    async fn every_page_counts_what_is_to_be_stopped_and_for_a_member_what_they_stay_with(club: TestClub) {
        bench(&club, 2).await;
        let (quinn, ada, ben) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Ben").await);
        let strip = async |who: &Browser, page: &str| who.get(page).await.texts("header .plain-warning a[href='/charges']").join(" ");
        let charge = started(&ada, "P-001").await;
        let other = started(&ben, "P-002").await;
        assert_eq!(strip(&quinn, "/packs").await, "", "they charge as they should");
        ben.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        for page in ["/packs", "/mine", "/to-see-to"] {
            assert_eq!(strip(&quinn, page).await, "Stop 1 charge now", "{page}");
        }
        let sets_aside = club.ids("kit WHERE id = (SELECT c.charger_id FROM charge c JOIN pack k ON k.id = c.pack_id WHERE k.number = 'P-002')").await[0];
        quinn.post(&format!("/kit/{sets_aside}/set-aside"), &[("set_aside", "plug melted"), ("key", "aside")]).await.done();
        assert_eq!(strip(&quinn, "/packs").await, "Stop 2 charges now");
        for (who, page) in [(&ada, "/packs"), (&ada, "/mine"), (&ben, "/mine")] {
            assert_eq!(strip(who, page).await, "Stop 1 charge now", "theirs alone: {page}");
        }
        let landed = ada.get("/").await;
        let first = if landed.status == 200 { landed } else { ada.get(landed.done()).await };
        assert_eq!(first.texts("header .plain-warning a[href='/charges']"), ["Stop 1 charge now"], "where they land");
        assert_eq!(strip(&club.member("Cleo").await, "/packs").await, "", "nobody else's");
        for charge in [charge, other] {
            quinn.post(&format!("{charge}/end"), &[("outcome", "stopped"), ("key", &charge)]).await.done();
        }
        assert_eq!(strip(&quinn, "/packs").await, "");
    }

    async fn a_pack_that_is_set_aside_to_mend_is_stopped_too(club: TestClub) {
        bench(&club, 1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        started(&ada, "P-001").await;
        quinn.post("/packs/P-001/condition", &[("seen", "connector_damaged"), ("key", "plug")]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["set_aside"]);
        assert!(quinn.get("/packs/P-001").await.texts("p.next").join(" ").contains("Stop its charger"));
    }
}
