//! A report's seal against the log as it is now: what was printed is found again, and a log that was edited, cut off or
//! written anew is told from one that was not.

use crate::support::*;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

/// More than any part in which a database hands out rows.
const LONG: u32 = 2_600;

/// Number and seal as the report prints them.
async fn printed(reader: &Browser) -> (String, String) {
    let report = reader.get("/stood").await;
    let link = report.select("a[href^='/log/check']");
    let address = link[0].attribute("href").to_owned();
    let (_, query) = address.split_once('?').expect("a query");
    let (number, seal) = query.split_once('&').expect("two");
    let value = |pair: &str| pair.split_once('=').expect("a value").1.to_owned();
    assert_eq!(report.texts("code"), [value(seal)]);
    (value(number), value(seal))
}

async fn checked(reader: &Browser, printed: &(String, String)) -> Answer {
    let (number, seal) = printed;
    reader
        .get(&format!("/log/check?number={number}&seal={seal}"))
        .await
}

/// As if the last entry had never been written.
async fn cut_off_the_last(club: &TestClub) {
    club.tamper("DELETE FROM activity WHERE seq = (SELECT log_seq FROM turn)")
        .await;
    club.tamper("UPDATE turn SET log_seq = log_seq - 1, log_hash = (SELECT hash FROM activity WHERE seq = log_seq - 1)")
        .await;
}

/// Looks until others wrote during a look at least five times.
async fn while_written<F: Future<Output = ()>>(written: &AtomicU32, look: impl Fn() -> F) {
    let mut times = 0;
    while times < 5 {
        let before = written.load(Ordering::Relaxed);
        look().await;
        times += u32::from(written.load(Ordering::Relaxed) > before);
    }
}

/// A new place of the club; its id.
async fn place(quinn: &Browser, name: &str, kind: &str) -> String {
    let answer = quinn
        .post("/places/new", &[("name", name), ("kind", kind)])
        .await;
    let address = answer.done().replace("?done=added", "");
    address.rsplit('/').next().expect("an id").to_owned()
}

on_both! {
    async fn the_seal_of_a_printed_report_is_found_again_whatever_was_written_since(club: TestClub) {
        club.fit_packs(2).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let report = printed(&olive).await;
        let fields = [("seen", "wet"), ("key", "k-1")];
        quinn.post("/packs/P-001/condition", &fields).await.done();
        let told = checked(&olive, &report).await;
        assert!(told.one("h1 + [role=status]").starts_with("The log holds"));
        assert!(told.one("[role=status] strong").ends_with("carries the seal that was printed."));
        assert_ne!(printed(&olive).await, report, "the head moved on");
    }

    async fn a_log_that_was_cut_off_holds_by_itself_and_is_found_against_the_report(club: TestClub) {
        club.fit_packs(3).await;
        let olive = club.organiser().await;
        let report = printed(&olive).await;
        cut_off_the_last(&club).await;
        assert_eq!(club.first_break().await, None);
        let told = checked(&olive, &report).await;
        assert_eq!(told.texts("[role=alert] b"), [format!("No entry {}", report.0)]);
    }

    async fn a_log_that_was_written_anew_holds_by_itself_and_is_found_against_the_report(club: TestClub) {
        club.fit_packs(3).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let report = printed(&olive).await;
        cut_off_the_last(&club).await;
        let fields = [("seen", "wet"), ("key", "k-1")];
        quinn.post("/packs/P-001/condition", &fields).await.done();
        assert_eq!(club.first_break().await, None);
        let told = checked(&olive, &report).await;
        assert_eq!(told.texts("[role=alert] b"), ["Another seal"]);
    }

    async fn an_edited_entry_is_told_with_its_number(club: TestClub) {
        club.fit_packs(3).await;
        let olive = club.organiser().await;
        club.tamper("UPDATE activity SET verb = 'did nothing' WHERE seq = 2").await;
        let told = olive.get("/log/check").await;
        assert!(told.one("[role=alert]").contains("Entry 2 does not commit to the one before it"));
    }

    async fn a_long_log_is_checked_with_three_statements_from_its_first_entry_to_its_last(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        club.log_entries(LONG).await;
        let report = printed(&olive).await;
        let (told, count) = club.queries_of(checked(&olive, &report)).await;
        assert!(count <= 3, "{count} statements");
        assert!(told.one("h1 + [role=status]").contains(&format!("each of its {} entries", report.0)));
        assert!(told.one("[role=status] strong").contains("carries the seal"));
        let last: u32 = report.0.parse().expect("a number");
        for changed in [1, 2_000, last] {
            club.tamper(&format!("UPDATE activity SET after = after || ' ' WHERE seq = {changed}")).await;
            assert_eq!(club.first_break().await, Some(i64::from(changed)));
            club.tamper(&format!("UPDATE activity SET after = RTRIM(after) WHERE seq = {changed}")).await;
        }
        assert_eq!(club.first_break().await, None);
    }

    async fn what_is_written_while_the_log_is_checked_neither_breaks_it_nor_hides_a_break(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        club.log_entries(LONG).await;
        let (written, is_over) = (AtomicU32::new(0), AtomicBool::new(false));
        let writes = async {
            while !is_over.load(Ordering::Relaxed) {
                club.log_entries(1).await;
                written.fetch_add(1, Ordering::Relaxed);
            }
        };
        let looks = async {
            while_written(&written, async || {
                let told = olive.get("/log/check").await;
                assert!(told.one("h1 + [role=status]").starts_with("The log holds"), "{}", told.text);
            }).await;
            club.tamper("DELETE FROM activity WHERE seq = 2500").await;
            while_written(&written, async || {
                let told = olive.get("/log/check").await;
                assert!(told.one("[role=alert]").contains("Entry 2500 does not commit"), "{}", told.text);
            }).await;
            is_over.store(true, Ordering::Relaxed);
        };
        futures_util::future::join(writes, looks).await;
    }

    async fn what_is_no_number_and_no_seal_is_said_beside_its_field(club: TestClub) {
        let olive = club.organiser().await;
        let told = olive.get("/log/check?number=last&seal=mine").await;
        assert!(told.is_refused());
        assert_eq!(told.problems().len(), 2);
        assert_eq!(club.member("Ada").await.get("/log/check").await.status, 403);
    }

    async fn the_log_names_what_each_entry_is_about(club: TestClub) {
        club.fit_packs(3).await;
        club.adapters("A-01", 3).await;
        let (quinn, ada, olive) = (club.quartermaster().await, club.borrower("Ada").await, club.organiser().await);
        let to = ada.id().to_string();
        let page = quinn.get("/hand-out").await;
        let fields = [("person", to.as_str()), ("items", "1 A-01x2")];
        quinn.submit(&page, "main form", &fields).await.done();
        let log = olive.get("/log").await.texts(".log li span");
        assert!(log[0].contains("A-01: handed out to Ada: 2"), "{}", log[0]);
        assert!(log[1].contains("P-001 handed out to Ada."), "{}", log[1]);
    }

    async fn the_log_tells_how_many_adapters_came_back(club: TestClub) {
        club.adapters("A-01", 3).await;
        let (quinn, ada, olive) = (club.quartermaster().await, club.borrower("Ada").await, club.organiser().await);
        let to = ada.id().to_string();
        quinn.post("/hand-out", &[("person", to.as_str()), ("items", "A-01x3")]).await.done();
        let list = quinn.get("/take-back").await;
        let page = quinn.get(list.select("ul.do a")[0].attribute("href")).await;
        let line = page.select("input[name=shown]")[0].attribute("value").to_owned();
        let (look, counted) = (format!("look-{line}"), format!("counted-{line}"));
        club.later_by_minutes(5);
        quinn.submit(&page, "main form", &[(&look, "nothing"), (&counted, "2")]).await.done();
        let log = olive.get("/log").await.texts(".log li span");
        assert!(log[0].contains("A-01: taken back: 2"), "{}", log[0]);
        assert!(log[1].contains("A-01: handed out to Ada: 3"), "{}", log[1]);
    }

    async fn adapters_of_two_loans_that_come_back_at_once_tell_each_how_many(club: TestClub) {
        club.adapters("A-01", 5).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        for (name, items) in [("Ada", "A-01x3"), ("Ben", "A-01x2")] {
            let to = club.borrower(name).await.id().to_string();
            quinn.post("/hand-out", &[("person", to.as_str()), ("items", items), ("key", name)]).await.done();
        }
        club.later_by_minutes(5);
        let page = quinn.get("/take-back/items?numbers=A-01").await;
        quinn.submit(&page, "main form", &[("all", "nothing")]).await.done();
        let log = olive.get("/log").await.texts(".log li span").join(" ");
        assert!(log.contains("A-01: taken back: 3") && log.contains("A-01: taken back: 2"), "{log}");
    }

    async fn a_night_is_told_with_its_place_its_end_and_who_is_on_duty(club: TestClub) {
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        let hall = place(&quinn, "Hall", "table").await;
        let night = [("place", hall.as_str()), ("on_duty", &quinn.id().to_string()), ("ends_on", "2026-11-25"), ("ends_at", "21:30")];
        quinn.post("/night", &night).await.done();
        quinn.post("/night/close", &[("key", "close")]).await.done();
        let log = olive.get("/log").await.texts(".log li span");
        let told = "the night at Hall, until Wed 25 Nov 2026, 21:30; on duty: Quinn";
        assert!(log[0].contains(&format!("closed {told}")), "{}", log[0]);
        assert!(log[1].contains(&format!("opened {told}")), "{}", log[1]);
    }

    async fn a_packs_change_of_place_is_told_with_from_and_to(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        let (cabinet, sand) = (place(&quinn, "Cabinet", "cabinet").await, place(&quinn, "Sand", "box").await);
        for (to, told) in [(&cabinet, "Put at Cabinet."), (&sand, "Moved from Cabinet to Sand.")] {
            let page = quinn.get("/packs/P-001/details").await;
            quinn.submit(&page, "main form", &[("place", to)]).await.done();
            let log = olive.get("/log").await.texts(".log li span");
            assert!(log[0].contains(told), "{}", log[0]);
        }
    }
}
