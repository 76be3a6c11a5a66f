//! A pack that somebody took home from a storage round: it shows with them wherever it shows who has what, goes out to nobody, and is
//! back only when a quartermaster says so.

use crate::calendar_feed::made;
use crate::rounds::{RESTED, begun, read};
use crate::support::*;
use crate::table_rules::hand_out;

/// Mo has P-001 at home from an open round; both are given.
async fn at_home(club: &TestClub) -> (Browser, Browser, String) {
    club.fit_packs(2).await;
    let quinn = club.quartermaster().await;
    quinn
        .post(
            "/places/new",
            &[
                ("name", "Battery cabinet"),
                ("kind", "box"),
                ("room", ""),
                ("notes", ""),
            ],
        )
        .await
        .done();
    club.behind_the_back(
        "UPDATE pack SET place_id = (SELECT id FROM place WHERE name = 'Battery cabinet')",
    )
    .await
    .expect("they lie there");
    club.later_by_minutes(5);
    let (_, round) = begun(club, "1-2").await;
    let mo = club.borrower("Mo").await;
    club.later_by_minutes(1);
    read(&quinn, &round, "1", "4.18 4.18 4.18").await.done();
    read(&quinn, &round, "2", "3.82 3.82 3.82").await.done();
    let person = mo.id().to_string();
    let typed = [
        ("home_pack", "P-001"),
        ("person", person.as_str()),
        ("by", "2026-11-28"),
    ];
    quinn.post(&format!("{round}/home"), &typed).await.done();
    (quinn, mo, round)
}

on_both! {
    async fn who_has_it_at_home_shows_where_it_shows_who_has_what(club: TestClub) {
        let (quinn, mo, _) = at_home(&club).await;
        let own = quinn.get("/packs/P-001").await;
        assert!(own.text.contains("At home with Mo, due"), "{}", own.one("main"));
        assert!(own.select("a[href='/hand-out?items=P-001']").is_empty() && own.select("a[href='/packs/P-001/back']").len() == 1);
        assert!(own.one(".log").contains("taken home to put to storage"), "{}", own.one(".log"));
        let list = quinn.get("/packs").await;
        assert!(list.texts("td[data-label=Where]")[0].starts_with("at home with Mo"), "{}", list.one("tbody"));
        let found = quinn.get(&format!("/packs?holder={}", mo.id())).await;
        assert_eq!(found.texts("tbody th"), ["P-001"]);
        let theirs = mo.get("/mine").await;
        assert!(theirs.one("main").contains("At home, to be put to storage") && theirs.one("main").contains("Sat 28 Nov 2026"), "{}", theirs.one("main"));
        let person = quinn.get(&format!("/people/{}", mo.id())).await;
        assert!(person.one("main").contains("At home with them") && person.one("main").contains("P-001"), "{}", person.one("main"));
        let sheet = quinn.get("/people.csv").await.text;
        assert!(sheet.lines().any(|line| line.starts_with("Mo,") && line.ends_with(",1")), "{sheet}");
        let out = quinn.get("/loans").await;
        assert!(out.one(".what").contains("Nothing is out on a loan."), "{}", out.one("main"));
        assert!(out.one("h2").contains("At home, to be put to storage"), "{}", out.one("main"));
        let row = [out.one("tbody th"), out.one("td[data-label='With whom']"), out.one("td[data-label=Due]")];
        assert_eq!(row, ["P-001", "Mo", "in 3 days (Sat 28 Nov 2026)"], "{}", out.one("main"));
        assert_eq!(out.select("tbody a[href='/packs/P-001/back']").len(), 1);
        assert!(club.organiser().await.get("/loans").await.select("a[href='/packs/P-001/back']").is_empty());
        let sheet = quinn.get("/loans.csv").await.text;
        assert!(sheet.lines().any(|line| line.starts_with("P-001,") && line.contains(",1,Mo,2026-11-28,,,\"At home, to be put to storage\",")), "{sheet}");
        assert!(!quinn.get("/loans.csv?overdue=yes").await.text.contains("P-001"));
        let card = mo.get("/packs/P-001/charge").await;
        assert!(card.one("main").contains("adapters named here are not there") && card.one("main").contains("stays with it there too"), "{}", card.one("main"));
        assert!(!mo.get("/packs/P-002/charge").await.text.contains("It is at home"));
        let other = club.member("Otto").await;
        assert!(other.get("/packs/P-001").await.one("main").contains("At somebody's home"));
        let place = club.ids("place").await[0];
        let there = quinn.get(&format!("/packs?place={place}")).await;
        assert_eq!(there.texts("tbody th"), ["P-002"]);
        let told: serde_json::Value = serde_json::from_str(&club.program(quinn.id()).await.get("/api/v1/packs/P-001").await.text).expect("JSON");
        assert_eq!((&told["pack"]["home"]["with"], &told["pack"]["home"]["by_on"]), (&"Mo".into(), &"2026-11-28".into()));
        let held = quinn.get(&format!("/places/{place}")).await;
        assert!(held.one("main").contains("1 here, 1 out on a loan or at home"), "{}", held.one("main"));
        let refused = hand_out(&quinn, &mo, "1", &[]).await;
        assert!(refused.text.contains("P-001 is at home with Mo, to be put to storage. Say first that it is back."), "{}", refused.one("main"));
        assert_eq!(refused.select("a[href='/packs/P-001/back']").len(), 1);
    }

    async fn who_has_it_too_long_at_home_is_overdue_among_what_is_out(club: TestClub) {
        let (quinn, _, _) = at_home(&club).await;
        club.later_by_days(5);
        let out = quinn.get("/loans").await;
        assert!(out.one("td[data-label=Due] strong").contains("Sat 28 Nov 2026"), "{}", out.one("main"));
        assert!(quinn.get("/loans.csv?overdue=yes").await.text.contains("P-001,"));
        let ada = club.borrower("Ada").await;
        hand_out(&quinn, &ada, "2", &[]).await.done();
        let lent = club.ids("lent").await[0];
        let out = quinn.get("/loans").await;
        assert!(out.one(".what").contains("1 out, 1 at home, 1 overdue"), "{}", out.one("main"));
        club.behind_the_back("UPDATE lent SET outcome = 'back', closed_ms = (SELECT MAX(at_ms) FROM activity)").await.expect("back");
        let out = quinn.get("/loans").await;
        assert!(out.one("main").contains("Back within a day") && out.one("ul.told").contains("P-002 back"), "{lent} {}", out.one("main"));
    }

    async fn volts_and_the_end_of_the_round_bring_it_back_not_and_a_quartermaster_does(club: TestClub) {
        let (quinn, mo, round) = at_home(&club).await;
        club.later_by_minutes(60);
        mo.post("/packs/P-001/volts", &[("volts_line", "3.82 3.82 3.82"), RESTED]).await.done();
        let page = quinn.get(&round).await;
        assert_eq!(page.select("a[href='/packs/P-001/back']").len(), 1, "on the round too");
        let to_do = quinn.get("/to-see-to").await;
        assert!(to_do.one("tbody").contains("Still at home") && to_do.one("tbody").contains("In its band, and at home with Mo."), "{}", to_do.one("tbody"));
        assert_eq!(to_do.select("tbody a[href='/packs/P-001/back']").len(), 1);
        quinn.post(&format!("{round}/close"), &[]).await.done();
        assert!(quinn.get("/packs/P-001").await.text.contains("At home with Mo"));
        assert_eq!(mo.get("/packs/P-001/back").await.status, 403);
        let page = quinn.get("/packs/P-001/back").await;
        let none = quinn.submit(&page, "main form", &[("place", "")]).await;
        assert_eq!(none.one("#w-place"), "Choose a place of the club.");
        let back = quinn.submit(&page, "main form", &[]).await;
        let own = quinn.get(back.done()).await;
        assert!(own.text.contains("Battery cabinet") && !own.text.contains("At home with"), "{}", own.one("main"));
        assert!(mo.get("/mine").await.one("main").contains("Nothing of the club's is with you."));
        assert!(!quinn.get("/to-see-to").await.text.contains("Still at home"));
        let again = quinn.submit(&page, "main form", &[("key", "again")]).await;
        assert_eq!(again.problems(), ["P-001 is at nobody's home."]);
        hand_out(&quinn, &mo, "1", &[]).await.done();
    }

    async fn the_record_of_a_round_says_of_nothing_that_was_back_that_it_is_at_home(club: TestClub) {
        let (quinn, _, round) = at_home(&club).await;
        assert!(quinn.get(&round).await.one("main").contains("At home with Mo until Sat 28 Nov 2026"));
        let place = club.ids("place WHERE name = 'Battery cabinet'").await[0].to_string();
        quinn.post("/packs/P-001/back", &[("place", place.as_str()), ("key", "back")]).await.done();
        assert!(!quinn.get(&round).await.one("main").contains("At home with"), "it is open still");
        let record = quinn.post(&format!("{round}/close"), &[]).await;
        assert!(!quinn.get(record.done()).await.one("main").contains("At home with"));
    }

    async fn what_is_lost_or_retired_is_left_out_of_a_round_and_named(club: TestClub) {
        club.fit_packs(3).await;
        club.behind_the_back("UPDATE pack SET life = 'lost', state = 'lost' WHERE number = 'P-002'").await.expect("lost");
        club.behind_the_back("UPDATE pack SET life = 'retired', state = 'retired' WHERE number = 'P-003'").await.expect("retired");
        let (quinn, round) = begun(&club, "1").await;
        let page = quinn.get(&round).await;
        let add = "form[action$='/add']";
        let none = quinn.submit(&page, add, &[("add", "2-3")]).await;
        assert!(none.problems()[0].contains("P-002, P-003 are lost, retired or gone"), "{:?}", none.problems());
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM round_pack").await, ["1"]);
    }

    async fn what_is_dangerous_stays_where_it_is_until_it_is_back(club: TestClub) {
        let (quinn, mo, _) = at_home(&club).await;
        quinn.post("/places/new", &[("name", "Steel box"), ("kind", "quarantine"), ("room", "Yard"), ("notes", "")]).await.done();
        quinn.post("/packs/P-001/condition", &[("seen", "swollen"), ("key", "seen")]).await.done();
        let own = quinn.get("/packs/P-001").await;
        assert!(own.text.contains("At home with Mo") && own.one("main").contains("Nobody carries it while it is watched"), "{}", own.one("main"));
        let days = mo.get(&made(&mo).await).await.text.replace("\r\n ", "");
        assert!(days.contains("P-001: At home\\, not to be charged") && !days.contains("To be put to storage"), "{days}");
        let erased = quinn.post(&format!("/people/{}/deactivate", mo.id()), &[]).await;
        assert!(erased.is_refused(), "who has a pack of the club does not go: {}", erased.status);
        let page = quinn.get("/packs/P-001/back").await;
        quinn.submit(&page, "main form", &[]).await.done();
        let lies = "SELECT pl.kind FROM pack k JOIN place pl ON pl.id = k.place_id WHERE k.number = 'P-001'";
        assert_eq!(club.find(lies).await, ["quarantine"]);
    }

    async fn what_is_back_from_home_is_as_warm_as_where_it_came_from_for_an_hour(club: TestClub) {
        let (quinn, _, _) = at_home(&club).await;
        club.chargers(1).await;
        club.behind_the_back("UPDATE place SET warmth_celsius = 21").await.expect("a warm place");
        let place = club.ids("place WHERE name = 'Battery cabinet'").await[0].to_string();
        let ask = async || quinn.get("/packs/P-001/charge?purpose=storage&room=&pack=").await.problems();
        let of_pack = "How warm is the pack? As warm as the room if it lay there for an hour.";
        assert_eq!(ask().await, [of_pack, "How warm is it where it is charged?"], "at home nobody knows");
        quinn.post("/packs/P-001/back", &[("place", place.as_str()), ("key", "back")]).await.done();
        club.later_by_minutes(59);
        assert_eq!(ask().await, [of_pack]);
        club.later_by_minutes(1);
        assert_eq!(ask().await, Vec::<String>::new());
    }

    async fn where_nobody_may_take_it_home_it_is_said_why_and_what_to_do(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "4.18 4.18 4.18").await.done();
        let home = format!("{round}/home");
        let page = quinn.get(&home).await;
        assert!(page.one(".first-do").contains("nobody here was shown safe charging and handling"), "{}", page.one("main"));
        assert!(page.one(".first-do").contains("note it as their induction") && page.select("main a[href='/people']").len() == 1);
        assert!(page.select("#f-person").is_empty(), "no empty choice");
        let mo = club.borrower("Mo").await;
        let page = quinn.get(&home).await;
        assert_eq!((page.select(".first-do").len(), page.texts("#f-person option").len()), (0, 2), "choose, Mo");
        // Due after three days above the band, and a week overdue then.
        quinn.post("/packs/P-002/volts", &[("volts_line", "4.18 4.18 4.18"), RESTED, ("key", "full")]).await.done();
        hand_out(&quinn, &mo, "2", &[]).await.done();
        club.later_by_days(11);
        let page = club.quartermaster().await.get(&home).await;
        assert!(page.one(".first-do").contains("more than a week overdue. That comes first"), "{}", page.one("main"));
    }
}
