//! Bad input of storage care: volts that can't be, days that can't be, a clock that was set back. It is asked about or refused, and
//! nothing that was on record is lost.

use crate::support::*;
use crate::table_rules::hand_out;

const RESTED: (&str, &str) = ("rested", "rested_an_hour");

async fn log(who: &Browser, number: &str, cell: &str) -> Answer {
    let key = sandbucket::ids::new_token();
    let volts = format!("{cell} {cell} {cell}");
    let fields = [
        ("volts_line", volts.as_str()),
        RESTED,
        ("key", key.as_str()),
    ];
    who.post(&format!("/packs/{number}/volts"), &fields).await
}

/// As a check of what is in storage.
async fn check(who: &Browser, number: &str, cell: &str) {
    let (key, volts) = (
        sandbucket::ids::new_token(),
        format!("{cell} {cell} {cell}"),
    );
    let fields = [
        ("volts_line", volts.as_str()),
        RESTED,
        ("context", "storage_check"),
        ("key", key.as_str()),
    ];
    who.post(&format!("/packs/{number}/volts"), &fields)
        .await
        .done();
}

/// The newest reading.
async fn correct(who: &Browser, number: &str, typed: &[(&str, &str)]) {
    let page = who.get(&format!("/packs/{number}/readings")).await;
    let link = page.select("a[href*='corrects=']")[0]
        .attribute("href")
        .to_owned();
    let page = who.get(&link).await;
    who.submit(&page, "main form[action$='/volts']", typed)
        .await
        .done();
}

/// Above its band, as far as it is reckoned.
async fn lain_days(club: &TestClub) -> f64 {
    let lain = club.find("SELECT lain FROM care").await.remove(0);
    let lain: serde_json::Value = serde_json::from_str(&lain).expect("stretches");
    let each = lain.as_array().expect("stretches").iter();
    each.filter_map(|one| one["days"].as_f64())
        .sum::<f64>()
        .round()
}

async fn matters(who: &Browser) -> Vec<String> {
    who.get("/to-see-to").await.texts("td[data-label=Why] b")
}

on_both! {
    async fn volts_that_cannot_be_are_asked_about_and_said_to_be_so_end_nothing_that_is_due(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(5);
        let begun = quinn.post("/storage-rounds/new", &[("packs", "1")]).await;
        let round = begun.done().split('?').next().expect("an address").to_owned();
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.18").await.done();
        club.later_by_days(3);
        assert!(quinn.get("/to-see-to").await.text.contains("bove its storage band"));
        // 9.18 V is no lithium cell's: the Linux kernel's phone cells end at 4.35.
        let read = [("pack", "1"), ("volts_line", "9.18 9.18 9.18"), RESTED, ("key", "slip")];
        assert!(quinn.post(&format!("{round}/read"), &read).await.is_refused(), "a round asks first");
        assert_eq!(club.ids("reading").await.len(), 2);
        let refused = log(&quinn, "P-001", "9.18").await;
        assert!(refused.problems()[0].starts_with("P-001: Cell 1 with 9.18 V: hardly any cell shows less"), "{:?}", refused.problems());
        assert_eq!(refused.select("#f-volts_line")[0].attribute("value"), "9.18 9.18 9.18");
        assert_eq!(club.ids("reading").await.len(), 2, "its own page asks first too");
        let last = club.find("SELECT last_volts FROM pack").await;
        assert_eq!(last, ["c:4180,4180,4180"], "and is not what it was last read at");
        let page = quinn.get("/to-see-to").await;
        assert!(page.text.contains("bove its storage band"), "{}", page.text);
        assert!(quinn.get(&round).await.one(".lead").contains("0 of 1 in the band."));
        let few = quinn.post("/packs/P-001/volts", &[("volts_line", "3.82 3.82"), RESTED, ("key", "few")]).await;
        assert!(few.is_refused() && few.select("input[name=confirmed]").len() == 1, "{}", few.one("main"));
        // No negative volts, and no words.
        for typed in ["-3.82 3.82 3.82", "3.82 full 3.82"] {
            let read = [("pack", "1"), ("volts_line", typed), RESTED];
            let refused = quinn.post(&format!("{round}/read"), &read).await;
            assert!(refused.is_refused(), "{typed}");
            let (_, held) = refused.form("form[action$='/read']");
            assert!(held.contains(&("volts_line".to_owned(), typed.to_owned())), "{held:?}");
        }
        assert_eq!(club.ids("reading").await.len(), 2);
        club.later_by_minutes(1);
        log(&quinn, "P-001", "3.82").await.done();
        assert!(quinn.get(&round).await.one(".lead").contains("1 of 1 in the band."), "{}", quinn.get(&round).await.one("main"));
        // Said to be so, it counts: for just those volts, and as what it is.
        let other = [("confirmed", "c:9180,9180,9180"), ("volts_line", "9.20 9.18 9.18"), RESTED, ("key", "other")];
        assert!(quinn.post("/packs/P-001/volts", &other).await.is_refused(), "others are asked about anew");
        quinn.submit(&refused, "main form", &[("confirmed", "c:9180,9180,9180")]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"]);
    }

    async fn at_take_back_too_each_mistype_is_asked_about_and_danger_beside_it_waits_for_nobody(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1-3", &[]).await.done();
        let asked: Vec<String> = club.ids("lent").await.iter().map(|line| format!("volts={line}")).collect();
        let page = quinn.get(&format!("/take-back/volts?{}", asked.join("&"))).await;
        let numbers = page.texts("fieldset.item > legend");
        let lines = page.select("input[name=volts]");
        let at = |number: &str| numbers.iter().position(|one| one == number).expect("it is shown");
        let of = |number: &str| format!("volts_line-{}", lines[at(number)].attribute("value"));
        let (one, two, three) = (of("P-001"), of("P-002"), of("P-003"));
        let typed = [(one.as_str(), "38.2 3.82 3.82"), (two.as_str(), "3.82 2.80"), (three.as_str(), "3.82 3.82 3.82"), RESTED];
        let refused = quinn.submit(&page, "main form", &typed).await;
        assert_eq!(refused.problems().len(), 1, "{:?}", refused.problems());
        assert!(refused.problems()[0].contains("Was 3.82 V meant?"), "{:?}", refused.problems());
        assert_eq!(refused.select(&format!("[name='{one}']"))[0].attribute("value"), "38.2 3.82 3.82");
        assert_eq!(club.find("SELECT number FROM pack WHERE state = 'quarantine'").await, ["P-002"], "one of its cells, whichever");
        quinn.submit(&refused, "main form", &[(one.as_str(), "3.82 3.82 3.82"), RESTED]).await.done();
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM lent WHERE closed_ms IS NULL").await, ["0"]);
    }

    async fn days_that_cannot_be_are_refused_beside_their_field_and_change_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(5);
        let begun = quinn.post("/storage-rounds/new", &[("packs", "1")]).await;
        let round = begun.done().split('?').next().expect("an address").to_owned();
        club.later_by_minutes(1);
        log(&quinn, "P-001", "4.10").await.done();
        let person = ada.id().to_string();
        let before = club.contents().await;
        for by in ["", "2026-11-24", "2026-12-10", "2026-02-30", "9999-01-01", "tomorrow"] {
            let home = [("home_pack", "P-001"), ("person", person.as_str()), ("by", by)];
            let refused = quinn.post(&format!("{round}/home"), &home).await;
            assert_eq!(refused.problems(), ["Give the day by which it is done: from today on, within two weeks."], "{by}");
        }
        for (first, last) in [("2029-01-01", "2029-01-02"), ("2024-01-01", "2024-01-02"), ("2026-12-02", "2026-12-01"), ("2026-12-01", "2027-03-01")] {
            let event = [("name", "Bouts"), ("first_on", first), ("last_on", last), ("packs", "1")];
            assert!(quinn.post("/events/new", &event).await.is_refused(), "{first} {last}");
        }
        for until in ["2026-11-25", "2026-11-01", "2027-11-01", "soon"] {
            let refused = quinn.get(&format!("/going-away?until={until}")).await;
            assert_eq!(refused.problems(), ["Choose a day from tomorrow on, 90 days ahead at most."], "{until}");
        }
        assert_eq!(club.contents().await, before);
        let program = club.program(quinn.id()).await;
        let refused = program.get("/api/v1/going-away?until_on=2026-11-01").await;
        assert!(refused.text.contains("Choose a day from tomorrow on"), "{}", refused.text);
        let told = program.get("/api/v1/going-away?until_on=2026-12-20").await.done();
        assert_eq!(told["before"][0]["step"], "discharge", "{told}");
    }

    async fn a_reading_that_bears_an_older_time_than_the_last_is_kept_and_counts_as_the_newest(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(60);
        log(&quinn, "P-001", "3.82").await.done();
        // Somebody sets the clock back, as in autumn, and the pack is charged and read again.
        club.later_by_minutes(-30);
        log(&quinn, "P-001", "4.18").await.done();
        assert_eq!(club.ids("reading").await.len(), 3);
        assert_eq!(club.find("SELECT last_volts FROM pack").await, ["c:4180,4180,4180"]);
        club.later_by_days(4);
        assert_eq!(matters(&quinn).await, ["Above its storage band"]);
        log(&quinn, "P-001", "3.83").await.done();
        assert_eq!(matters(&quinn).await, Vec::<String>::new());
    }

    async fn a_clock_that_was_set_back_brings_back_nothing_that_was_put_to_storage(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(5);
        log(&quinn, "P-001", "4.18").await.done();
        club.later_by_days(10);
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.82").await.done();
        assert_eq!(matters(&quinn).await, Vec::<String>::new());
        club.later_by_minutes(-30);
        log(&quinn, "P-001", "4.10").await.done();
        assert_eq!(matters(&quinn).await, Vec::<String>::new(), "above since now, not since ten days ago");
        club.later_by_days(4);
        assert_eq!(matters(&quinn).await, ["Above its storage band"]);
        let page = quinn.get("/to-see-to").await;
        assert!(page.text.contains("For 4 days: 4.10 V in its fullest cell"), "{}", page.one("main"));
        assert_eq!(lain_days(&club).await, 10.0);
        log(&quinn, "P-001", "3.82").await.done();
        assert_eq!(lain_days(&club).await, 14.0);
    }

    async fn what_a_mistype_told_a_pack_to_lose_falls_with_it(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let loses = async || club.find("SELECT COALESCE(ca.loses, 'nothing') FROM care ca JOIN pack k ON k.id = ca.pack_id ORDER BY k.number").await;
        for number in ["P-001", "P-002"] {
            check(&quinn, number, "3.85").await;
        }
        club.later_by_days(67);
        let quinn = club.quartermaster().await;
        check(&quinn, "P-001", "3.74").await;
        check(&quinn, "P-002", "3.85").await;
        let told = loses().await;
        assert_ne!(told[0], told[1]);
        correct(&quinn, "P-001", &[("volts", "3.85"); 3]).await;
        assert_eq!(loses().await, [told[1].clone(), told[1].clone()], "as if it had never been typed");
        let blank = ("volts", "");
        correct(&quinn, "P-001", &[blank, blank, blank, ("unread", "that was P-002")]).await;
        assert_eq!(loses().await, ["nothing", told[1].as_str()]);
    }
}
