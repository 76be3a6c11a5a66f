//! Bad input of storage care: volts that can't be, days that can't be, a clock that was set back. It is asked about or refused, and
//! nothing that was on record is lost.

use crate::support::*;

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

async fn matters(who: &Browser) -> Vec<String> {
    who.get("/to-see-to").await.texts("td[data-label=Why] b")
}

on_both! {
    async fn volts_that_cannot_be_are_kept_asked_about_and_end_nothing_that_is_due(club: TestClub) {
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
        log(&quinn, "P-001", "9.18").await.done();
        assert_eq!(club.ids("reading").await.len(), 3, "what was typed on its own page is on record");
        let last = club.find("SELECT last_volts FROM pack").await;
        assert_eq!(last, ["c:4180,4180,4180"], "and is not what it was last read at");
        let page = quinn.get("/to-see-to").await;
        assert!(page.text.contains("bove its storage band"), "{}", page.text);
        assert!(quinn.get(&round).await.one(".lead").contains("0 of 1 in the band."));
        // No negative volts, and no words.
        for typed in ["-3.82 3.82 3.82", "3.82 full 3.82"] {
            let read = [("pack", "1"), ("volts_line", typed), RESTED];
            let refused = quinn.post(&format!("{round}/read"), &read).await;
            assert!(refused.is_refused(), "{typed}");
            let (_, held) = refused.form("form[action$='/read']");
            assert!(held.contains(&("volts_line".to_owned(), typed.to_owned())), "{held:?}");
        }
        assert_eq!(club.ids("reading").await.len(), 3);
        club.later_by_minutes(1);
        log(&quinn, "P-001", "3.82").await.done();
        assert!(quinn.get(&round).await.one(".lead").contains("1 of 1 in the band."), "{}", quinn.get(&round).await.one("main"));
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
}
