//! Events: who makes, changes and ends them, and what is due for packs that were charged for one that is over.

use crate::calendar_feed::made;
use crate::support::*;

const BOUTS: [(&str, &str); 5] = [
    ("name", "Autumn Bouts"),
    ("place", "Town hall"),
    ("first_on", "2026-11-26"),
    ("last_on", "2026-11-27"),
    ("packs", "1 P-002"),
];

fn with<'a>(fields: &[(&'a str, &'a str)], more: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = fields
        .iter()
        .filter(|(name, _)| more.iter().all(|(other, _)| other != name));
    kept.chain(more).copied().collect()
}

on_both! {
    async fn an_organiser_makes_an_event_and_a_quartermaster_changes_it(club: TestClub) {
        club.fit_packs(3).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let page = olive.get("/events/new").await;
        let made = olive.submit(&page, "main form", &BOUTS).await;
        let address = made.done().to_owned();
        let told = olive.get(&address).await;
        assert!(told.text.contains("The event is made."), "{}", told.text);
        assert!(told.one(".what").contains("Thu 26 Nov 2026 to Fri 27 Nov 2026, Town hall. To come."), "{}", told.one(".what"));
        assert_eq!(told.texts("main p a.tap"), ["P-001", "P-002"]);
        let page = quinn.get(&address).await;
        quinn.submit(&page, "form[action^='/events/']:has(textarea)", &[("packs", "2-3")]).await.done();
        let told = quinn.get(&address).await;
        assert_eq!(told.texts("main p a.tap"), ["P-002", "P-003"]);
        assert!(quinn.get("/events").await.one("tbody").contains("Autumn Bouts"));
        let log = olive.get("/log").await;
        assert!(log.text.contains("Autumn Bouts: made the event"), "{}", log.one("main"));
        assert_eq!(club.visitor().get(&address).await.status, 303);
        assert_eq!(club.member("Mo").await.get(&address).await.status, 403);
    }

    async fn what_cannot_be_is_said_beside_its_field_and_what_was_typed_is_kept(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        for (typed, field) in [
            (vec![("name", "x")], "name"),
            (vec![("first_on", "")], "first_on"),
            (vec![("last_on", "2026-11-25")], "last_on"),
            (vec![("packs", "1 77")], "packs"),
            (vec![("packs", "C-01")], "packs"),
            (vec![("packs", "many")], "packs"),
        ] {
            let sent = with(&with(&BOUTS, &[("packs", "1")]), &typed);
            let refused = olive.post("/events/new", &sent).await;
            assert!(refused.is_refused(), "{typed:?}");
            let named = refused.select(".problems a")[0].attribute("href").to_owned();
            assert_eq!(named, format!("#f-{field}"), "{typed:?}");
            let (_, held) = refused.form("main form");
            assert!(held.contains(&("place".to_owned(), "Town hall".to_owned())), "{held:?}");
        }
        for packs in ["many", "1 77"] {
            let sent = with(&BOUTS, &[("name", "x"), ("last_on", "2026-11-25"), ("packs", packs)]);
            let refused = olive.post("/events/new", &sent).await;
            assert_eq!(refused.problems().len(), 3, "told at once: {:?}", refused.problems());
        }
        assert!(club.ids("event").await.is_empty());
    }

    async fn sent_twice_an_event_is_made_once(club: TestClub) {
        club.fit_packs(2).await;
        let olive = club.organiser().await;
        let sent = with(&BOUTS, &[("key", "once")]);
        let first = olive.post("/events/new", &sent).await;
        let again = olive.post("/events/new", &sent).await;
        assert_eq!(first.done(), again.done());
        assert_eq!(club.ids("event").await.len(), 1);
        let back = olive.post("/events/new", &with(&BOUTS, &[("key", "gone back")])).await;
        assert_eq!(back.problems(), ["An event of this name is on these days already. Change that one, or say how this one differs."]);
        olive.post("/events/new", &with(&BOUTS, &[("name", "Other Bouts"), ("key", "another")])).await.done();
        assert_eq!(club.ids("event").await.len(), 2);
    }

    async fn what_was_charged_for_it_is_due_when_it_is_over(club: TestClub) {
        club.fit_packs(2).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let address = olive.post("/events/new", &with(&BOUTS, &[("packs", "1")])).await.done().to_owned();
        club.later_by_minutes(1);
        let full = [("volts_line", "4.18 4.18 4.18"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &full).await.done();
        club.later_by_days(1);
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"), "it is on");
        let page = olive.get(&address).await;
        assert!(page.one(".what").contains("On now."));
        let end = olive.submit(&page, "form[action$='/end']", &[]).await;
        assert!(olive.get(end.done()).await.text.contains("The event is ended."));
        let told = quinn.get("/to-see-to").await;
        assert_eq!(told.texts("td[data-label=Why] b"), ["Charged, and the event is over"]);
        assert!(told.text.contains("Autumn Bouts just ended, and it is above its storage band"), "{}", told.text);
        let again = olive.post(&format!("{}/end", address.split('?').next().unwrap_or_default()), &[]).await;
        assert!(again.problems()[0].contains("It is over already."), "{:?}", again.problems());
    }

    async fn volts_read_at_return_on_the_last_day_count_when_it_is_over(club: TestClub) {
        club.fit_packs(3).await;
        let (olive, quinn, ada) = (club.organiser().await, club.quartermaster().await, club.borrower("Ada").await);
        let address = olive.post("/events/new", &with(&BOUTS, &[("packs", "1-3")])).await.done().to_owned();
        let person = ada.id().to_string();
        // From the evening of the 25th to that of its last day.
        club.later_by_minutes(47 * 60);
        let given = [("person", person.as_str()), ("items", "P-001"), ("due", "2026-11-28")];
        quinn.post("/hand-out", &given).await.done();
        club.later_by_minutes(60);
        let lent = club.ids("lent").await[0].to_string();
        let line = format!("volts_line-{lent}");
        let taken = [("lent", lent.as_str()), ("volts", &lent), (&line, "3.82 3.82 3.82"), ("rested", "just_used"), ("key", "back")];
        quinn.post("/take-back/volts", &taken).await.done();
        quinn.post("/packs/P-002/volts", &[("volts_line", "3.68 3.68 3.68"), ("rested", "just_used")]).await.done();
        quinn.post("/packs/P-003/volts", &[("volts_line", "3.82 3.82 3.82"), ("rested", "rested_an_hour"), ("key", "3")]).await.done();
        let told = quinn.get("/to-see-to").await;
        assert_eq!(told.texts("tbody th"), ["P-002"], "back, and read outside of its band: {}", told.one("tbody"));
        club.later_by_days(2);
        let told = quinn.get("/to-see-to").await;
        let why = told.texts("td[data-label=Why]");
        assert_eq!(told.texts("tbody th"), ["P-002", "P-003"], "{}", told.one("main"));
        assert!(why[0].contains("at 3.68 V 2 days ago") && why[0].contains("Also: Not put to storage.") && why[1].contains("nobody read its volts"), "{why:?}");
        // The way that goes through the whole record comes to the same.
        let kept = club.find("SELECT k.number || COALESCE(CAST(c.back_ms AS TEXT), '-') FROM care c JOIN pack k ON k.id = c.pack_id ORDER BY k.number").await;
        let (_, held) = olive.get(&address).await.form("form[action^='/events/']:has(textarea)");
        let held: Vec<(&str, &str)> = held.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        olive.post(address.split('?').next().unwrap_or_default(), &held).await.done();
        assert_eq!(kept, club.find("SELECT k.number || COALESCE(CAST(c.back_ms AS TEXT), '-') FROM care c JOIN pack k ON k.id = c.pack_id ORDER BY k.number").await);
        assert_eq!(quinn.get("/to-see-to").await.texts("td[data-label=Why]"), why);
    }

    async fn an_event_that_is_over_is_seen_however_many_are_planned(club: TestClub) {
        club.fit_packs(1).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        olive.post("/events/new", &with(&BOUTS, &[("packs", "1")])).await.done();
        for month in ["01", "02", "03", "04", "05", "06", "07"] {
            let day = format!("2027-{month}-20");
            let more = [("name", "Club evening"), ("first_on", &day), ("last_on", &day), ("packs", "1"), ("key", month)];
            olive.post("/events/new", &with(&BOUTS, &more)).await.done();
        }
        club.later_by_minutes(1);
        quinn.post("/packs/P-001/volts", &[("volts_line", "4.18 4.18 4.18"), ("rested", "rested_an_hour")]).await.done();
        // From the evening of the 25th to the night after its last day.
        club.later_by_minutes(56 * 60);
        let told = quinn.get("/to-see-to").await;
        assert!(told.text.contains("Autumn Bouts just ended"), "{}", told.one("tbody"));
    }

    async fn what_was_there_and_nobody_read_is_due_the_day_after(club: TestClub) {
        club.fit_packs(2).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        olive.post("/events/new", &with(&BOUTS, &[("packs", "1")])).await.done();
        // Over at midnight of the third day.
        club.later_by_days(3);
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
        club.later_by_days(1);
        let told = quinn.get("/to-see-to").await;
        assert_eq!(told.texts("td[data-label=Why] b"), ["Not put to storage"]);
        let low = [("volts_line", "3.68 3.68 3.68"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &low).await.done();
        let told = quinn.get("/to-see-to").await.one("tbody");
        assert!(told.contains("Not put to storage, due since") && told.contains(". For 1 day: 3.68 V in its lowest cell, 3.75 V is the least."), "{told}");
        let stored = [("volts_line", "3.82 3.82 3.82"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &stored).await.done();
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
    }

    async fn what_is_in_quarantine_goes_to_no_event_and_what_is_set_aside_is_warned_of(club: TestClub) {
        club.fit_packs(4).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        quinn.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "1")]).await.done();
        quinn.post("/packs/P-002/condition", &[("seen", "wrap_torn"), ("key", "2")]).await.done();
        let refusal = "In quarantine: P-001. Such a pack goes to no event: leave it out.";
        let refused = olive.post("/events/new", &with(&BOUTS, &[("packs", "1-3")])).await;
        assert_eq!(refused.problems(), [refusal]);
        assert!(refused.one("#w-packs").contains("In quarantine") && club.ids("event").await.is_empty());
        let over = [("first_on", "2026-11-23"), ("last_on", "2026-11-24"), ("packs", "1"), ("key", "over")];
        let address = olive.post("/events/new", &with(&BOUTS, &over)).await.done().to_owned();
        assert!(olive.get(&address).await.select(".first-do").is_empty(), "one that is over is put down as it was");
        let address = olive.post("/events/new", &with(&BOUTS, &[("packs", "2-3"), ("key", "well")])).await.done().to_owned();
        let page = olive.get(&address).await;
        assert!(page.one(".first-do").contains("Set aside: P-002."), "{}", page.one("main"));
        // Nor does what is not in use: it is not there to go.
        quinn.post("/packs/P-004/way-out", &[("way", "retire"), ("reason", "worn out"), ("key", "old")]).await.done();
        let gone = olive.post("/events/new", &with(&BOUTS, &[("name", "Spring Bouts"), ("packs", "3-4"), ("key", "spring")])).await;
        assert_eq!(gone.problems(), ["Not in use: P-004. What is lost, retired or sold goes to no event: leave it out."]);
        // What goes to quarantine once it is on the list is told of, and keeps nobody from changing the rest.
        quinn.post("/packs/P-003/condition", &[("seen", "swollen"), ("key", "3")]).await.done();
        let page = olive.get(&address).await;
        assert!(page.one(".first-do.danger").contains("In quarantine: P-003."), "{}", page.one("main"));
        let form = "form[action^='/events/']:has(textarea)";
        assert_eq!(olive.submit(&page, form, &[("packs", "1-3"), ("key", "all")]).await.problems(), [refusal]);
        olive.submit(&page, form, &[("place", "Yard"), ("key", "yard")]).await.done();
        assert_eq!(olive.get(&address).await.texts("main p a.tap"), ["P-002", "P-003"]);
        olive.submit(&page, form, &[("packs", "2"), ("key", "less")]).await.done();
        assert!(olive.get(&address).await.select(".first-do.danger").is_empty());
        let program = club.program(olive.id()).await;
        let told = program.get(&format!("/api/v1{}", address.split('?').next().unwrap_or_default())).await.json();
        assert_eq!((&told["set_aside"][0], &told["is_called_off"]), (&"P-002".into(), &false.into()), "{told}");
    }

    async fn a_planned_event_is_called_off_and_nothing_tells_of_it_but_the_list_and_its_page(club: TestClub) {
        club.fit_packs(2).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let address = olive.post("/events/new", &BOUTS).await.done().split('?').next().unwrap_or_default().to_owned();
        let feed = made(&quinn).await;
        assert!(quinn.get(&feed).await.text.contains("Autumn Bouts"));
        let (page, form) = (olive.get(&address).await, "form[action$='/call-off']");
        let unsure = olive.submit(&page, form, &[]).await;
        assert_eq!(unsure.problems(), ["Tick that it does not take place."]);
        assert_eq!(unsure.select(".problems a")[0].attribute("href"), "#f-call_off");
        let off = olive.submit(&unsure, form, &[("is_sure", "yes")]).await;
        let told = olive.get(off.done()).await;
        assert!(told.text.contains("The event is called off.") && told.one(".what").contains("Called off."), "{}", told.one("main"));
        assert_eq!((told.select("main p a.tap").len(), told.select(form).len(), told.select("main textarea").len()), (0, 0, 0));
        assert!(told.one(".log").contains("called off the event"), "{}", told.one(".log"));
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM event_pack").await, ["0"]);
        assert!(!quinn.get(&feed).await.text.contains("Autumn Bouts"));
        assert!(olive.get("/events").await.one("tbody").contains("Called off"));
        for (path, fields) in [("/call-off", vec![("is_sure", "yes")]), ("", BOUTS.to_vec())] {
            let refused = olive.post(&format!("{address}{path}"), &with(&fields, &[("key", path)])).await;
            assert_eq!(refused.problems(), ["It is called off. Make another one."], "{path}");
        }
        olive.post("/events/new", &with(&BOUTS, &[("packs", ""), ("key", "anew")])).await.done();
        // Its packs were nowhere: nothing is due when it would have been over.
        club.later_by_days(4);
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
        let offered = quinn.get("/storage-rounds/new").await.texts("#f-event option");
        assert_eq!(offered.iter().filter(|one| one.starts_with("Autumn Bouts")).count(), 1, "{offered:?}");
    }

    async fn an_event_that_has_begun_is_ended_and_not_called_off(club: TestClub) {
        club.fit_packs(2).await;
        let olive = club.organiser().await;
        let address = olive.post("/events/new", &BOUTS).await.done().split('?').next().unwrap_or_default().to_owned();
        club.later_by_days(1);
        assert!(olive.get(&address).await.select("form[action$='/call-off']").is_empty());
        let refused = olive.post(&format!("{address}/call-off"), &[("is_sure", "yes")]).await;
        assert_eq!(refused.problems(), ["It has begun. End it instead."]);
        assert_eq!(olive.get(&address).await.texts("main p a.tap"), ["P-001", "P-002"]);
        let mo = club.member("Mo").await;
        assert_eq!(mo.post(&format!("{address}/call-off"), &[("is_sure", "yes")]).await.status, 403);
    }

    async fn what_full_days_cost_stays_as_warm_as_they_were_whatever_list_an_event_gets(club: TestClub) {
        club.fit_packs(1).await;
        let place = club.literal(sandbucket::ids::new_id());
        for sql in [
            format!("INSERT INTO place (id, name, kind, room, notes, created_ms, warmth_celsius) VALUES ({place}, 'Loft', 'table', 'Loft', '', 1, 12)"),
            format!("UPDATE pack SET place_id = {place}"),
        ] {
            club.behind_the_back(&sql).await.expect("it lies there");
        }
        for volts in ["4.18 4.18 4.18", "4.17 4.17 4.17"] {
            let quinn = club.quartermaster().await;
            let typed = [("volts_line", volts), ("rested", "rested_an_hour"), ("key", volts)];
            quinn.post("/packs/P-001/volts", &typed).await.done();
            club.later_by_days(30);
        }
        let lain = || club.find("SELECT lain FROM care");
        let before = lain().await;
        assert!(before[0].contains("\"celsius\":12,\"days\":30"), "{before:?}");
        club.behind_the_back("UPDATE place SET warmth_celsius = 33").await.expect("summer");
        let olive = club.organiser().await;
        let soon = [("first_on", "2027-01-28"), ("last_on", "2027-01-28"), ("packs", "1")];
        let address = olive.post("/events/new", &with(&BOUTS, &soon)).await.done().split('?').next().unwrap_or_default().to_owned();
        assert_eq!(lain().await, before);
        olive.post(&address, &with(&BOUTS, &[("packs", ""), ("key", "none")])).await.done();
        assert_eq!(lain().await, before);
    }
}
