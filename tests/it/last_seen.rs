//! When a pack was last seen: whenever somebody had it in hand or before their eyes, and not when something was done on
//! the record alone. And where it is: nowhere, once it has left the club; asked for, where nobody said.

use crate::support::*;

/// The page's words: `today, 17:30`.
async fn last_seen(browser: &Browser, number: &str) -> String {
    let told = browser.get(&format!("/packs/{number}")).await.one("main");
    let (_, seen) = told
        .split_once("Last seen: ")
        .expect("when it was last seen");
    let end = seen.find(['.', ';']).expect("an end");
    seen[..end].to_owned()
}

/// The next day, an hour earlier: within the day in which a take-back can be undone.
fn next_day(club: &TestClub) {
    club.later_by_minutes(23 * 60);
}

async fn is_seen_when(club: &TestClub, deed: &str, done: impl Future<Output = Answer>) {
    next_day(club);
    let rosa = club.second_quartermaster().await;
    let before = last_seen(&rosa, "P-001").await;
    assert!(before.starts_with("yesterday"), "{before} before {deed}");
    done.await.done();
    let after = last_seen(&rosa, "P-001").await;
    assert!(after.starts_with("today"), "{after} when {deed}");
}

async fn is_not_seen_when(club: &TestClub, deed: &str, done: impl Future<Output = Answer>) {
    next_day(club);
    let seen = "SELECT CAST(seen_ms AS TEXT) FROM pack ORDER BY number";
    let before = club.find(seen).await;
    done.await.done();
    assert_eq!(club.find(seen).await, before, "{deed}");
}

async fn hand_out(quinn: &Browser, to: &Browser) -> Answer {
    let to = to.id().to_string();
    let fields = [("person", to.as_str()), ("items", "1")];
    quinn.post("/hand-out", &fields).await
}

async fn line_out(club: &TestClub) -> String {
    club.ids("lent WHERE closed_ms IS NULL").await[0].to_string()
}

/// With nothing to see, and good volts.
async fn take_back(club: &TestClub, quinn: &Browser) -> Answer {
    let line = line_out(club).await;
    let (look, volts) = (format!("look-{line}"), format!("volts_line-{line}"));
    let looked = [("shown", line.as_str()), (look.as_str(), "nothing")];
    let asked = quinn.post("/take-back/items", &looked).await;
    let page = quinn.get(asked.done()).await;
    let read = [
        ("rested", "rested_an_hour"),
        (volts.as_str(), "3.82 3.79 3.82"),
    ];
    quinn
        .submit(&page, "form[action='/take-back/volts']", &read)
        .await
}

async fn report(browser: &Browser, number: &str, seen: &str) -> Answer {
    let path = format!("/packs/{number}/condition");
    browser.post(&path, &[("seen", seen)]).await
}

async fn log_volts(quinn: &Browser, line: &str) -> Answer {
    let fields = [("volts_line", line), ("rested", "rested_an_hour")];
    quinn.post("/packs/P-001/volts", &fields).await
}

async fn way_out(quinn: &Browser, number: &str, way: &str) -> Answer {
    let path = format!("/packs/{number}/way-out");
    let page = quinn
        .post(&path, &[("way", way), ("reason", "as it is")])
        .await;
    if page.status == 200 {
        return quinn.submit(&page, "main form", &[]).await;
    }
    page
}

async fn mend(club: &TestClub, quinn: &Browser) -> Answer {
    let finding = club.ids("finding WHERE rule = 'wrap_torn'").await[0].to_string();
    let fields = [("finding", finding.as_str()), ("reason", "taped")];
    quinn.post("/packs/P-001/mended", &fields).await
}

async fn new_place(quinn: &Browser, name: &str, kind: &str) {
    let fields = [("name", name), ("kind", kind)];
    quinn.post("/places/new", &fields).await.done();
}

on_both! {
    async fn each_time_somebody_has_a_pack_before_them_it_is_seen(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.borrower("Ada").await);
        is_seen_when(&club, "it is handed out", hand_out(&quinn, &ada)).await;
        is_seen_when(&club, "it is taken back", take_back(&club, &quinn)).await;
        is_seen_when(&club, "it is handed out again", hand_out(&quinn, &ada)).await;
        let line = line_out(&club).await;
        let path = format!("/mine/{line}/bring-back");
        is_seen_when(&club, "its borrower brings it back", ada.post(&path, &[("seen", "nothing")])).await;
        let unread = [("unread", "no meter here")];
        is_seen_when(&club, "it could not be read", quinn.post("/packs/P-001/volts", &unread)).await;
        is_seen_when(&club, "it is read", log_volts(&quinn, "3.82 3.81 3.82")).await;
        is_seen_when(&club, "something to mend is reported", report(&ada, "P-001", "wrap_torn")).await;
        is_seen_when(&club, "it is mended", mend(&club, &quinn)).await;
        is_seen_when(&club, "a danger is reported", report(&ada, "P-001", "wet")).await;
        is_seen_when(&club, "it is read in quarantine", log_volts(&quinn, "3.82 3.81 3.82")).await;
        club.watches_are_over().await;
        let reason = [("release_reason", "dry for a week")];
        is_seen_when(&club, "it is released", rosa.post("/packs/P-001/release", &reason)).await;
        next_day(&club);
        way_out(&quinn, "P-001", "lost").await.done();
        let told = last_seen(&club.quartermaster().await, "P-001").await;
        assert!(told.starts_with("yesterday"), "who records it as lost does not see it: {told}");
        next_day(&club);
        way_out(&quinn, "P-001", "found").await.done();
        assert!(last_seen(&quinn, "P-001").await.starts_with("today"), "found again");
    }

    async fn what_is_done_on_the_record_alone_shows_a_pack_to_nobody(club: TestClub) {
        club.fit_packs(3).await;
        club.behind_the_back("UPDATE pack SET batch = 'B-7'").await.expect("a batch");
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let loan = hand_out(&quinn, &ada).await.done().replace("?new=1", "");
        let due = [("due", "2026-12-20")];
        is_not_seen_when(&club, "its loan is extended", quinn.post(&format!("{loan}/extend"), &due)).await;
        is_not_seen_when(&club, "its details change", quinn.post("/packs/P-001/details", &[("notes", "blue tape")])).await;
        let corrected = async {
            let readings = quinn.get("/packs/P-001/readings").await;
            let link = readings.select("a[href*='corrects=']")[0].attribute("href").to_owned();
            let page = quinn.get(&link).await;
            let right = [("volts", "3.82"), ("volts", "3.79"), ("volts", "3.82"), ("why", "slipped")];
            quinn.submit(&page, "main form[action$='/volts']", &right).await
        };
        is_not_seen_when(&club, "a reading is corrected", corrected).await;
        let tightened = async {
            let page = quinn.get("/settings").await;
            quinn.submit(&page, "main form[action='/settings']", &[("spread_watch_mv", "20")]).await
        };
        is_not_seen_when(&club, "the club's limits grow stricter", tightened).await;
        let weighed = club.find("SELECT verb FROM activity WHERE subject = 'pack' ORDER BY seq DESC LIMIT 1").await;
        assert_eq!(weighed, ["weighed by the club's new limits"]);
        next_day(&club);
        take_back(&club, &quinn).await.done();
        let line = club.ids("lent").await[0].to_string();
        is_not_seen_when(&club, "its take-back is undone", quinn.post(&format!("/lent/{line}/reopen"), &[])).await;
        is_not_seen_when(&club, "it is lost on its loan", quinn.post(&format!("/lent/{line}/lost"), &[("reason", "over the river")])).await;
        is_not_seen_when(&club, "it was entered by mistake", way_out(&quinn, "P-003", "withdraw")).await;
        next_day(&club);
        report(&quinn, "P-002", "swollen").await.done();
        assert!(last_seen(&quinn, "P-002").await.starts_with("today"));
    }

    async fn the_caution_for_a_batch_sister_shows_it_to_nobody(club: TestClub) {
        club.fit_packs(2).await;
        club.behind_the_back("UPDATE pack SET batch = 'B-7'").await.expect("a batch");
        let quinn = club.quartermaster().await;
        next_day(&club);
        report(&quinn, "P-001", "swollen").await.done();
        let sister = quinn.get("/packs/P-002").await;
        assert_eq!(sister.one(".verdict strong"), "Caution");
        assert!(last_seen(&quinn, "P-002").await.starts_with("yesterday"));
    }

    async fn the_list_puts_first_what_nobody_saw_for_longest_and_tells_when_it_was_read(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await;
        next_day(&club);
        report(&quinn, "P-001", "wrap_torn").await.done();
        next_day(&club);
        log_volts(&quinn, "3.82 3.81 3.82").await.done();
        report(&quinn, "P-002", "wrap_torn").await.done();
        let list = quinn.get("/packs?order=seen").await;
        assert_eq!(list.texts("tbody th"), ["P-003", "P-001", "P-002"]);
        let seen = list.texts("td[data-label='Last seen']");
        assert!(seen[0].starts_with("2 days ago") && !seen[0].contains("read"), "{seen:?}");
        assert!(seen[1].starts_with("today") && !seen[1].contains("read"), "{seen:?}");
        assert!(seen[2].starts_with("today") && seen[2].contains(" read 2 days ago"), "{seen:?}");
        let told = quinn.get("/packs/P-002").await;
        assert!(told.one("main").contains("; volts read 2 days ago"), "{}", told.one("main"));
        assert!(told.one(".do").contains("last: 2 days ago"), "{}", told.one(".do"));
    }

    async fn a_pack_that_has_left_the_club_lies_nowhere(club: TestClub) {
        club.fit_packs(4).await;
        let quinn = club.quartermaster().await;
        new_place(&quinn, "Battery cabinet", "cabinet").await;
        let cabinet = club.literal(club.ids("place").await[0]);
        club.behind_the_back(&format!("UPDATE pack SET place_id = {cabinet}")).await.expect("in the cabinet");
        for (number, way, is_here) in [("P-001", "lost", false), ("P-002", "give-away", false), ("P-003", "withdraw", false), ("P-004", "retire", true)] {
            assert!(quinn.get(&format!("/packs/{number}")).await.one("main").contains("Battery cabinet. Last seen"));
            way_out(&quinn, number, way).await.done();
            let told = quinn.get(&format!("/packs/{number}")).await.one("main");
            assert_eq!(told.contains("Battery cabinet"), is_here, "{told}");
            assert!(!told.to_lowercase().contains("no place named"), "{told}");
        }
        let lost = quinn.get("/packs?state=lost").await;
        assert_eq!(lost.texts("td[data-label='Where']"), [""]);
        way_out(&quinn, "P-001", "found").await.done();
        assert!(quinn.get("/packs/P-001").await.one("main").contains("Battery cabinet"));
    }

    async fn where_a_pack_lies_is_asked_of_a_quartermaster_when_nobody_said(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.borrower("Ada").await);
        new_place(&quinn, "Sand bucket", "quarantine").await;
        let asks = async |browser: &Browser| {
            let page = browser.get("/packs/P-001").await;
            page.select(".next a[href='/packs/P-001/details#f-place']").len() == 1
        };
        assert!(asks(&quinn).await && !asks(&ada).await);
        report(&quinn, "P-001", "wet").await.done();
        assert!(!asks(&quinn).await, "it is told to be taken to the sand bucket");
        club.later_by_minutes(5);
        log_volts(&quinn, "3.82 3.81 3.82").await.done();
        club.watches_are_over().await;
        rosa.post("/packs/P-001/release", &[("release_reason", "dry for a week")]).await.done();
        assert!(asks(&rosa).await, "released, and it lies nowhere");
        let form = rosa.get("/packs/P-001/details").await;
        let place = form.select("#f-place option").into_iter().find(|option| option.text == "Sand bucket");
        let place = place.expect("the place").attribute("value").to_owned();
        hand_out(&quinn, &ada).await.done();
        assert!(!asks(&quinn).await, "it is out");
        take_back(&club, &quinn).await.done();
        rosa.submit(&form, "main form", &[("place", place.as_str())]).await.done();
        assert!(!asks(&rosa).await, "somebody said where");
    }

    async fn what_is_overdue_is_not_called_due_as_well(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let loan = hand_out(&quinn, &ada).await.done().replace("?new=1", "");
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-27'").await.expect("a due day");
        let pages = async || {
            let person = format!("/people/{}", ada.id());
            let mut told = vec![ada.get("/mine").await.one("main")];
            for path in ["/packs/P-001", "/packs", "/take-back", &loan, &person] {
                told.push(club.quartermaster().await.get(path).await.one("main"));
            }
            told
        };
        for told in pages().await {
            assert!(told.to_lowercase().contains("due in 2 days (fri 27 nov 2026)"), "{told}");
        }
        club.later_by_days(4);
        for told in pages().await {
            assert!(told.contains("2 days overdue (since Fri 27 Nov 2026)"), "{told}");
            assert!(!told.to_lowercase().contains("due 2 days"), "{told}");
        }
        let out = club.quartermaster().await.get("/loans").await;
        assert_eq!(out.texts("td[data-label='Due']"), ["2 days overdue (since Fri 27 Nov 2026)"]);
    }

    async fn kit_that_came_back_tells_how_much_of_it_is_set_aside(club: TestClub) {
        club.adapters("A-01", 9).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let ada_id = ada.id().to_string();
        for (out, wrong, to_mend, told) in [
            ("A-01x2", "", "", "Back."),
            ("A-01x2", "bent pin", "1", "Back; 1 of them set aside to mend."),
            ("A-01x2", "bent pin", "2", "Back. All of them set aside to mend."),
            ("A-01", "bent pin", "", "Back. Set aside to mend."),
        ] {
            quinn.post("/hand-out", &[("person", ada_id.as_str()), ("items", out)]).await.done();
            let line = line_out(&club).await;
            let names = ["look", "kit_words", "to_mend"].map(|name| format!("{name}-{line}"));
            let look = if wrong.is_empty() { "nothing" } else { "wrong" };
            let fields = [("shown", line.as_str()), (names[0].as_str(), look), (names[1].as_str(), wrong), (names[2].as_str(), to_mend)];
            let answer = quinn.post("/take-back/items", &fields).await;
            let page = quinn.get(answer.done()).await;
            assert_eq!(page.texts("section.item > p"), [told], "{out} {wrong} {to_mend}");
        }
    }
}
