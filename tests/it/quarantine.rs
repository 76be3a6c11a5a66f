//! A pack in quarantine is watched: when somebody looks, what a look does, when it may be released; and how a retired pack is
//! got rid of for good.

use crate::support::*;

async fn report(who: &Browser, number: &str, seen: &str) {
    let key = sandbucket::ids::new_token();
    let fields = [("seen", seen), ("key", key.as_str())];
    who.post(&format!("/packs/{number}/condition"), &fields)
        .await
        .done();
}

async fn look(who: &Browser, number: &str, seen: &[(&str, &str)]) -> Answer {
    let page = who.get(&format!("/packs/{number}/watch")).await;
    who.submit(&page, "main form", seen).await
}

const QUIET: [(&str, &str); 1] = [("quiet", "yes")];

async fn release(who: &Browser) -> Answer {
    let key = sandbucket::ids::new_token();
    let fields = [("release_reason", "dry for a day"), ("key", key.as_str())];
    who.post("/packs/P-001/release", &fields).await
}

async fn read_dry(who: &Browser) {
    let fields = [
        ("volts_line", "3.82 3.81 3.82"),
        ("rested", "rested_an_hour"),
    ];
    who.post("/packs/P-001/volts", &fields).await.done();
}

async fn state(club: &TestClub) -> String {
    club.find("SELECT state FROM pack ORDER BY number_key")
        .await
        .remove(0)
}

async fn watches(club: &TestClub) -> Vec<String> {
    club.find("SELECT COALESCE(how, 'goes on') FROM watch ORDER BY began_ms, id")
        .await
}

/// Quinn and Rosa, signed in now: a session does not last for days.
async fn two(club: &TestClub) -> (Browser, Browser) {
    (
        club.quartermaster().await,
        club.second_quartermaster().await,
    )
}

/// P-001 was reported wet, and after its day of watching looked quiet.
async fn wet_and_quiet_for_a_day(club: &TestClub) -> (Browser, Browser) {
    club.fit_packs(1).await;
    let (quinn, _) = two(club).await;
    report(&quinn, "P-001", "wet").await;
    club.later_by_minutes(26 * 60);
    let (quinn, rosa) = two(club).await;
    look(&quinn, "P-001", &QUIET).await.done();
    (quinn, rosa)
}

const DISPOSED: [(&str, &str); 4] = [
    ("harmless", "packed"),
    ("taped", "yes"),
    ("handed_in", "The town's collection point"),
    ("disposed_on", "2026-11-25"),
];

on_both! {
    async fn a_watch_begins_with_the_quarantine_and_says_when_to_look_next(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        assert!(quinn.get("/packs/P-001/watch").await.text.contains("It is not watched"));
        assert!(quinn.get("/quarantine").await.text.contains("None."));
        report(&ada, "P-001", "wet").await;
        assert_eq!(watches(&club).await, ["goes on"], "one watch, stored with the report");
        let page = ada.get("/packs/P-001/watch").await;
        assert!(page.one(".first-do").contains("Next look: 18:45"), "{}", page.one(".first-do"));
        let facts = page.one("dl.facts");
        assert!(facts.contains("Somebody stays until19:30") && facts.contains("19:30 tomorrow (Thu 26 Nov 2026)"), "{facts}");
        let told = page.one("main");
        for line in ["Look from 3 m or more, with the wind at your back", "One pack to a container.", "the lid lies loose", "No charger and no robot.", "Nobody has looked yet."] {
            assert!(told.contains(line), "{line}");
        }
        assert!(!page.texts("form .tick").iter().any(|tick| tick.contains("hot to hold") || tick.contains("Smells")), "only what is seen from a distance");
        assert!(!quinn.get("/packs").await.text.contains("in quarantine now"));
        club.later_by_minutes(16);
        assert!(quinn.get("/packs").await.text.contains("Look at 1 pack in quarantine now"));
        assert!(ada.get("/packs/P-001/watch").await.one(".first-do").contains("Look at it now"));
        let list = quinn.get("/quarantine").await.one("tbody tr");
        assert!(list.contains("P-001") && list.contains("Now: due 18:45"), "{list}");
        assert_eq!(look(&ada, "P-001", &QUIET).await.done(), "/packs/P-001/watch");
        assert!(!quinn.get("/packs").await.text.contains("in quarantine now"));
        let page = quinn.get("/packs/P-001/watch").await;
        assert!(page.one("ol.log").contains("It lay there as it lay, by Ada"));
        let at = "SELECT pl.name FROM place pl JOIN pack k ON k.place_id = pl.id WHERE k.number = 'P-001'";
        let lay = club.find(at).await;
        look(&quinn, "P-001", &QUIET).await.done();
        assert_eq!(club.find(at).await, lay, "a look takes it nowhere");
        let pack = quinn.get("/packs/P-001").await;
        assert!(pack.texts("ol.log li span")[0].contains("looked at from a distance: it lay there as it lay"));
        assert!(pack.text.contains("Until its watch is over nobody carries it to a meter"));
        assert!(quinn.get("/packs/P-001/volts").await.one("p.stop").contains("Until its watch is over nobody carries it to a meter"));
        assert!(!quinn.get("/packs/P-002/volts").await.text.contains("its watch is over"));
    }

    async fn a_look_says_one_thing_and_danger_in_it_is_stored_and_begins_the_watch_anew(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        report(&ada, "P-001", "wet").await;
        let before = club.contents().await;
        for (ticked, words) in [(&[][..], "Tick what is there"), (&[("quiet", "yes"), ("sign", "could_not_see")], "It can't lie there as it lay and show something.")] {
            let refused = look(&quinn, "P-001", ticked).await;
            assert!(refused.problems()[0].starts_with(words), "{:?}", refused.problems());
        }
        assert_eq!(club.contents().await, before);
        club.later_by_minutes(50);
        look(&quinn, "P-001", &[("sign", "could_not_see")]).await.done();
        assert_eq!(club.ids("finding").await.len(), 1, "no look, and no finding");
        look(&quinn, "P-001", &[("sign", "bulging")]).await.done();
        assert_eq!(club.find("SELECT gravity FROM finding ORDER BY gravity").await, ["danger", "final_danger"]);
        let page = quinn.get("/packs/P-001/watch").await;
        assert!(page.one("div.stop[role=status]").contains("Danger was seen") && page.select("a[href='/book/new']").len() == 1, "{}", page.text);
        assert!(page.one("dl.facts").contains("Watched sincetoday, 19:20"), "{}", page.one("dl.facts"));
        assert!(!page.text.contains("Released after inspection") && page.text.contains("Retired, and then disposed of"));
        assert!(quinn.get("/packs/P-001").await.one("main").contains("never lets it back to use"));
    }

    async fn it_is_released_only_when_the_time_has_passed_and_somebody_who_looked_saw_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = two(&club).await;
        report(&quinn, "P-001", "wet").await;
        club.later_by_minutes(90);
        read_dry(&quinn).await;
        assert!(release(&rosa).await.problems()[0].starts_with("Its watch is not over."));
        look(&rosa, "P-001", &QUIET).await.done();
        assert!(release(&rosa).await.problems()[0].starts_with("Its watch is not over."));
        club.later_by_minutes(25 * 60);
        let (quinn, rosa) = two(&club).await;
        assert!(release(&rosa).await.problems()[0].starts_with("Its watch is not over."), "nobody looked since");
        let page = quinn.get("/packs/P-001/watch").await;
        assert!(page.one("dl.facts").contains("Looks that nobody made"));
        look(&quinn, "P-001", &QUIET).await.done();
        assert!(quinn.get("/packs/P-001/watch").await.one(".first-do").contains("The watch is over"));
        assert!(release(&quinn).await.problems()[0].starts_with("You reported it"), "the pool's own rules stay");
        assert_eq!(release(&rosa).await.status, 303);
        let next = rosa.get("/packs/P-001").await.one("p.next:has(a)");
        assert!(next.contains("No place named. Next: put it to one, or hand it out."), "{next}");
        assert_eq!((state(&club).await.as_str(), watches(&club).await), ("fit", vec!["released".to_owned()]));
        report(&rosa, "P-001", "wet").await;
        assert_eq!(watches(&club).await, ["released", "goes on"], "a new quarantine has a watch of its own");
    }

    async fn danger_that_is_reported_while_it_is_watched_begins_the_watch_anew(club: TestClub) {
        let (quinn, rosa) = wet_and_quiet_for_a_day(&club).await;
        report(&club.member("Ada").await, "P-001", "hit_or_bent").await;
        club.later_by_minutes(61);
        read_dry(&quinn).await;
        look(&quinn, "P-001", &QUIET).await.done();
        assert!(release(&rosa).await.problems()[0].starts_with("Its watch is not over."));
    }

    async fn a_pack_in_quarantine_that_smokes_by_the_book_is_watched_anew_and_never_released(club: TestClub) {
        let (quinn, rosa) = wet_and_quiet_for_a_day(&club).await;
        read_dry(&quinn).await;
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        let (day, time) = (zone.day_of(club.now()).to_string(), zone.time_words(club.now()));
        let now = [("items", "P-001"), ("day", day.as_str()), ("time", time.as_str()), ("words", "It smoked on its shelf.")];
        crate::book::opened(&club.organiser().await, &now).await.done();
        let refused = release(&rosa).await;
        assert_eq!(state(&club).await, "quarantine", "{:?}", refused.problems());
        let began = format!("SELECT CAST(COUNT(*) AS TEXT) FROM watch WHERE ended_ms IS NULL AND began_ms = {}", club.now().ms());
        assert_eq!(club.find(&began).await, ["1"], "it is watched anew");
        assert_eq!(club.find("SELECT gravity FROM finding WHERE rule = 'in_incident'").await, ["final_danger"]);
        club.later_by_minutes(1);
        read_dry(&quinn).await;
        club.watches_are_over().await;
        assert!(release(&rosa).await.is_refused());
        assert_eq!(state(&club).await, "quarantine", "what smoked is never used again");
    }

    async fn what_is_written_of_the_hour_that_a_watch_began_begins_none_anew(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, _) = two(&club).await;
        report(&quinn, "P-001", "swollen").await;
        club.later_by_minutes(90);
        let olive = club.organiser().await;
        let began = || club.find("SELECT CAST(began_ms AS TEXT) FROM watch ORDER BY began_ms");
        let before = began().await;
        crate::book::opened(&olive, &[("items", "P-001"), ("kind", "swelling"), ("words", "It swelled.")]).await.done();
        assert_eq!(began().await, before);
        // Beside another pack, or a thing that is no pack, nobody knows which did it: danger, and not for good.
        let both = [("items", "P-001, P-002"), ("kind", "fire"), ("key", "both"), ("words", "Both lay in the box.")];
        crate::book::opened(&olive, &both).await.done();
        let found = "SELECT f.gravity FROM finding f JOIN pack k ON k.id = f.pack_id WHERE f.rule = 'in_incident' AND k.number = 'P-002'";
        assert_eq!(club.find(found).await, ["danger"]);
    }

    async fn two_who_release_and_retire_at_once_leave_one_outcome_and_no_pack_with_danger_fit(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa) = two(&club).await;
        report(&club.member("Ada").await, "P-001", "wet").await;
        club.later_by_minutes(1);
        read_dry(&quinn).await;
        club.watches_are_over().await;
        let retire = [("way", "retire"), ("reason", "old"), ("key", "w")];
        let danger = [("sign", "smoke"), ("key", "l")];
        let (released, retired, seen) = tokio::join!(release(&rosa), quinn.post("/packs/P-001/way-out", &retire), quinn.post("/packs/P-001/watch", &danger));
        assert!([303, 422].contains(&released.status.as_u16()) && [303, 422].contains(&seen.status.as_u16()), "{} {}", released.status, seen.status);
        assert_eq!(retired.status, 303, "it may be retired before and after");
        assert_eq!(state(&club).await, "retired");
        if seen.status == 303 {
            let open = club.find("SELECT gravity FROM finding WHERE closed_ms IS NULL AND gravity = 'final_danger'").await;
            assert_eq!(open.len(), 1, "what was seen stands");
        }
    }

    async fn a_pack_is_disposed_of_once_it_is_retired_quiet_and_taped_and_never_in_salt_water(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, _) = two(&club).await;
        let at = "/packs/P-001/disposal";
        assert!(quinn.get(at).await.text.contains("It is not retired."));
        report(&club.member("Ada").await, "P-001", "swollen").await;
        quinn.post("/packs/P-001/way-out", &[("way", "retire"), ("reason", "swollen")]).await.done();
        assert_eq!(watches(&club).await, ["goes on"], "it lies there still");
        let page = quinn.get(at).await;
        assert!(page.text.contains("No salt bath"));
        let refused = quinn.submit(&page, "main form", &DISPOSED).await;
        assert!(refused.problems()[0].starts_with("Its watch is not over."), "{:?}", refused.problems());
        club.watches_are_over().await;
        let discharged = [("harmless", "discharged"), ("handed_in", ""), ("disposed_on", "2027-01-01"), ("mass_g", "x")];
        let refused = quinn.submit(&page, "main form", &discharged).await;
        assert_eq!(refused.problems(), ["Not discharged, but handed in as it is: Seen: Swollen or puffed.", "Tape its terminals first, and tick that they are.", "Say where it was handed in.", "Say on which day: today or before.", "Its mass is 1 to 50000 g."]);
        let asked = quinn.submit(&page, "main form", &DISPOSED).await;
        assert_eq!(asked.problems(), ["It is for good. Read it once more, and tick that it is right."]);
        assert!(asked.text.contains("A photo that you chose was not kept: choose it again."));
        assert!(club.find("SELECT harmless FROM disposal").await.is_empty());
        let done = quinn.submit(&asked, "main form", &[("for_good", "yes"), ("mass_g", "178"), ("receipt", "4711")]).await;
        let told = quinn.get(done.done()).await;
        for part in ["It is gone: disposed of on Wed 25 Nov 2026", "The town's collection point", "178 g", "4711", "LiPo 3S 2200 mAh"] {
            assert!(told.one("main").contains(part), "{part}: {}", told.one("main"));
        }
        assert_eq!(watches(&club).await, ["disposed"]);
        assert!(quinn.get("/packs/P-001").await.one(".verdict").contains("Disposed of on Wed 25 Nov 2026"));
        let page_of_it = quinn.get("/packs/P-001").await;
        assert!(!page_of_it.text.contains("What stands against it") && page_of_it.select(".stop").is_empty(), "{}", page_of_it.text);
        assert_eq!(quinn.submit(&page, "main form", &[DISPOSED[0], DISPOSED[1], DISPOSED[2], DISPOSED[3], ("for_good", "yes"), ("key", "again")]).await.problems()[0], "It was disposed of already; nothing more is recorded on it.");
        assert!(quinn.post("/packs/P-001/condition", &[("seen", "wet"), ("key", "c")]).await.problems()[0].contains("retired or gone"));
        assert_ne!(quinn.post("/packs/P-001/way-out", &[("way", "lost"), ("reason", "gone"), ("key", "l")]).await.status, 303);
        assert_eq!(club.first_break().await, None);
    }

    async fn a_pack_that_is_out_is_watched_where_it_is_and_the_book_does_not_say_it_lay_here(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let out = [("person", ada.id().to_string()), ("items", "P-001".to_owned()), ("due", "2026-11-30".to_owned()), ("key", "out".to_owned())];
        let out = out.each_ref().map(|(name, value)| (*name, value.as_str()));
        quinn.post("/hand-out", &out).await.done();
        let told = [("seen", "wet"), ("place", "the boot of the car"), ("key", "r")];
        ada.post("/packs/P-001/condition", &told).await.done();
        let where_it_is = "out: Ada, reported at “the boot of the car”";
        assert!(quinn.get("/quarantine").await.one("table").contains(where_it_is));
        let (page, queries) = club.queries_of(quinn.get("/packs/P-001/watch")).await;
        assert!(queries <= 3 && page.one("main").contains(where_it_is), "{}", page.text);
        crate::book_actions::opened(&quinn, &[("items", "P-001")]).await.done();
        let frozen = club.find("SELECT text FROM book_entry").await.remove(0);
        assert!(frozen.contains(r#""is_lent":true"#) && frozen.contains(r#""place":null"#), "{frozen}");
    }

    async fn the_label_of_a_pack_that_is_gone_says_so(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, _) = two(&club).await;
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let code = club.find("SELECT code FROM label").await.remove(0);
        quinn.post("/packs/P-001/way-out", &[("way", "retire"), ("reason", "old")]).await.done();
        let mut told = DISPOSED.to_vec();
        told.push(("for_good", "yes"));
        quinn.post("/packs/P-001/disposal", &told).await.done();
        let scanned = quinn.get(&format!("/t/{code}")).await;
        assert!(scanned.one(".verdict").contains("Disposed of on Wed 25 Nov 2026") && scanned.text.contains("LiPo 3S 2200 mAh"));
        let stranger = club.visitor().get(&format!("/t/{code}")).await;
        assert!(stranger.one("main").contains("should be gone") && stranger.one("main").contains("get away"));
        assert!(stranger.one("main").contains("What it was: LiPo 3S 2200 mAh") && !stranger.text.contains("give it back"));
        assert_eq!(club.visitor().get(stranger.select("a.first")[0].attribute("href")).await.one("h1"), "Get away now");
        assert!(!stranger.text.contains("P-001") && !stranger.text.contains("collection point"));
        assert_eq!(club.visitor().get(&format!("/t/{code}/report?now=no")).await.status, 404, "nothing more is reported on it");
        assert!(stranger.select("main a[href='/contact']").len() == 1);
    }
}
