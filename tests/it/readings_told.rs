//! What a pack's readings tell together: it opens and closes with each of them, the pack's state follows, and the page of
//! its readings says why.

use crate::support::*;
use crate::table_rules::state;
use sandbucket::battery::milliohms::Milliohms;
use sandbucket::club::reading::beside::{Beside, Charge};
use sandbucket::store::packs;
use sandbucket::store::readings::{self, Reading};

const FORM: &str = "main form[action$='/volts']";

/// Three cells of 2,200 mAh; rested, more than half full, at 21 °C with the club's charger.
async fn log(who: &Browser, number: &str, resistance: &str) -> Answer {
    log_with(
        who,
        number,
        &[
            ("resistance", resistance),
            ("celsius", "21"),
            ("meter", "C-02"),
        ],
    )
    .await
}

async fn log_with(who: &Browser, number: &str, fields: &[(&str, &str)]) -> Answer {
    let volts = [
        ("volts_line", "3.90 3.90 3.90"),
        ("rested", "rested_an_hour"),
    ];
    let page = who.get(&format!("/packs/{number}/volts")).await;
    who.submit(&page, FORM, &[&volts, fields].concat()).await
}

async fn told(who: &Browser) -> String {
    let page = who.get("/packs/P-001/readings").await;
    page.one("main section")
}

on_both! {
    async fn a_cell_that_falls_alone_while_nothing_is_on_record_makes_its_pack_a_caution(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let read = async |number: &str, volts: &str, key: &str| {
            let fields = [("volts_line", volts), ("rested", "rested_an_hour"), ("key", key)];
            club.quartermaster().await.post(&format!("/packs/{number}/volts"), &fields).await.done();
        };
        club.later_by_minutes(10);
        for number in ["P-001", "P-002"] {
            read(number, "3.850 3.850 3.850", number).await;
        }
        // One of the two is lent meanwhile: nobody knows what it did there.
        let lent = [("person", ada.id().to_string()), ("items", "P-002".to_owned()), ("due", String::new())];
        let lent: Vec<(&str, &str)> = lent.iter().map(|(name, value)| (*name, value.as_str())).collect();
        quinn.post("/hand-out", &lent).await.done();
        club.later_by_days(60);
        read("P-001", "3.848 3.848 3.790", "later 1").await;
        read("P-002", "3.848 3.848 3.790", "later 2").await;
        let said = club.quartermaster().await.get("/packs/P-001").await.one("main");
        assert!(said.contains("Caution") && said.contains("As far as is on record it only lay. Cell 3"), "{said}");
        let found = "SELECT k.number FROM finding f JOIN pack k ON k.id = f.pack_id WHERE f.rule = 'self_discharge' AND f.closed_ms IS NULL";
        assert_eq!(club.find(found).await, ["P-001"]);
        let told = club.quartermaster().await.get("/packs/P-001/readings").await.one("main");
        assert!(told.contains("somebody may have used it and not written it down"), "{told}");
        let page = club.quartermaster().await.get("/packs/P-001").await;
        assert!(page.one("ol.told").contains("Common practice: 5 % a month"), "where the limit comes from: {}", page.one("ol.told"));
    }

    async fn resistance_that_rose_is_a_caution_then_sets_aside_and_two_good_readings_lift_it(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.0 3.0 3.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        club.later_by_days(80);
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.1 4.9 4.6").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside", "more than its mates");
        log(&quinn, "P-001", "4.6 4.9 4.6").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Caution", "as its mates again, and all of them risen");
        let page = quinn.get("/packs/P-001").await;
        assert!(page.text.contains("Cell 2 has 1.6 times the resistance it had in"), "{}", page.one("main"));
        assert!(page.text.contains("Use it for practice only."));
        log(&quinn, "P-001", "3.0 3.1 3.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Caution", "one good reading lifts nothing that two before it said");
        log(&quinn, "P-001", "3.0 3.1 3.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        let closed = club.find("SELECT closed_words FROM finding WHERE rule = 'resistance_up' AND closed_ms IS NOT NULL").await;
        assert!(closed.iter().all(|words| words == "answered by a reading") && !closed.is_empty(), "{closed:?}");
    }

    async fn the_page_of_readings_says_what_they_tell_and_what_is_missing(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.0 3.0 3.0").await.done();
        club.later_by_days(80);
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.0 6.6 3.0").await.done();
        let told = told(&quinn).await;
        for words in [
            "What its readings tell",
            "Cell 2 has 2.2 times the resistance it had in",
            "One reading says so; it may be mistyped.",
            "Where the limit comes from: Common practice",
            ") in its lowest cell, today",
            "1.0 2.2 1.0 times its first readings",
            "Not enough readings: 2 that count, 4 are needed",
            "by a handbook's table",
            " Wh (",
            " at 2.2 A, in ",
            " min, until 20 % is left; if it holds what its label says",
        ] {
            assert!(told.contains(words), "{words} in {told}");
        }
        club.behind_the_back("UPDATE club SET uses_decimal_comma = (1 = 1)").await.expect("commas");
        let told = self::told(&quinn).await;
        assert!(told.contains("Cell 2 has 2,2 times") && told.contains("1,0 2,2 1,0 times"), "{told}");
    }

    async fn a_member_reads_it_too_and_a_pack_without_readings_has_nothing_to_tell(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001/readings").await;
        assert!(page.select("main section").is_empty());
        log(&quinn, "P-001", "3.0 3.0 3.0").await.done();
        let ada = club.member("Ada").await;
        assert!(told(&ada).await.contains("mΩ as at 25 °C"));
        let (_, count) = club.queries_of(ada.get("/packs/P-001/readings")).await;
        assert!(count <= 3, "{count}");
    }

    async fn a_low_capacity_a_stored_pack_that_empties_and_a_corrected_reading_count(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let read = async |who: &Browser, volts: &str, beside: &[(&str, &str)]| {
            let fields = [&[("volts_line", volts), ("rested", "rested_an_hour")], beside].concat();
            let page = who.get("/packs/P-001/volts").await;
            who.submit(&page, FORM, &fields).await.done();
        };
        read(&quinn, "3.51 3.51 3.51", &[]).await;
        club.later_by_minutes(300);
        read(&quinn, "4.19 4.19 4.19", &[("put_in_mah", "1000")]).await;
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        let told = told(&quinn).await;
        assert!(told.contains("% of the 2200 mAh on its label; the club's limit is 60 %."), "{told}");
        // 2060 was meant.
        let page = quinn.get("/packs/P-001/readings").await;
        let link = page.select("a[href*='corrects=']")[0].attribute("href").to_owned();
        let form = quinn.get(&link).await;
        let right = [("put_in_mah", "2060"), ("why", "a digit")];
        quinn.submit(&form, FORM, &right).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        club.later_by_days(1);
        read(&quinn, "3.85 3.85 3.85", &[("context", "storage_check")]).await;
        club.later_by_days(30);
        let quinn = club.quartermaster().await;
        read(&quinn, "3.84 3.84 3.75", &[("context", "storage_check")]).await;
        let rules = club.find("SELECT rule FROM finding WHERE closed_ms IS NULL ORDER BY rule").await;
        assert_eq!(rules, ["self_discharge", "spread_watch"]);
        assert_eq!(state(&quinn, "P-001").await, "Caution");
    }

    async fn a_quartermaster_closes_what_a_bad_plug_showed_and_the_next_reading_that_says_so_opens_it_again(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.0 6.6 3.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        let page = quinn.get("/packs/P-001").await;
        quinn.submit(&page, "form[action$='/mended']", &[("reason", "The plug was not home.")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        log_with(&quinn, "P-001", &[]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit", "a reading of volts says nothing new");
        log(&quinn, "P-001", "3.0 6.8 3.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
    }

    async fn logging_volts_asks_the_database_once_more_for_it_and_no_oftener_with_more_readings(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let mut counts = Vec::new();
        for _ in 0..3 {
            club.later_by_minutes(30);
            let page = quinn.get("/packs/P-001/volts").await;
            let fields = [("volts_line", "3.90 3.90 3.90"), ("rested", "rested_an_hour"), ("resistance", "3.0 3.0 3.0"), ("celsius", "21")];
            let (answer, count) = club.queries_of(quinn.submit(&page, FORM, &fields)).await;
            answer.done();
            counts.push(count);
        }
        assert_eq!(counts[1], counts[2], "{counts:?}");
    }

    async fn a_pack_is_held_against_its_sisters_and_that_is_told_and_holds_nothing(club: TestClub) {
        club.new_packs(3).await;
        let quinn = club.quartermaster().await;
        log(&quinn, "P-002", "9.0 9.0 9.0").await.done();
        club.later_by_minutes(1);
        log(&quinn, "P-002", "3.0 3.0 3.0").await.done();
        log(&quinn, "P-001", "5.0 5.0 5.0").await.done();
        let told = told(&quinn).await;
        assert!(told.contains("1.7 times the resistance of this pack's sisters; from 1.5 times on it is watched."), "{told}");
        assert_eq!(state(&quinn, "P-001").await, "Fit");
        club.behind_the_back("UPDATE pack SET life = 'retired' WHERE number = 'P-002'").await.expect("retired");
        assert!(!self::told(&quinn).await.contains("sisters"), "none of those in use was measured");
    }

    async fn limits_that_grow_stricter_weigh_what_the_newest_readings_tell(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        for number in ["P-001", "P-002"] {
            log(&quinn, number, "3.0 3.0 3.0").await.done();
        }
        club.later_by_days(20);
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "4.0 4.0 4.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit", "a third more than at first");
        let tighten = async |to: &str, key: &str| {
            let page = quinn.get("/settings").await;
            let tight = [("resistance_practice_percent", to), ("key", key)];
            quinn.submit(&page, "main form[action='/settings']", &tight).await
        };
        let refused = tighten("151", "loose").await;
        assert!(refused.problems()[0].contains("110") && refused.problems()[0].contains("150"), "{:?}", refused.problems());
        tighten("130", "tight").await.done();
        assert_eq!((state(&quinn, "P-001").await, state(&quinn, "P-002").await), ("Caution".to_owned(), "Fit".to_owned()));
        let told = quinn.get("/packs/P-001").await.one("main");
        assert!(told.contains("Cell 3 has 1.33 times the resistance it had 20 days ago; the club's limit is 1.3."), "{told}");
        tighten("150", "loosened").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Caution", "loosened again, nothing is lifted");
        log(&quinn, "P-001", "4.0 4.0 4.0").await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit", "by a reading it is");
    }

    async fn a_first_reading_that_was_mistyped_and_is_corrected_weighs_the_newest_anew(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        // 3.0 was meant both times.
        log(&quinn, "P-001", "2.0 2.0 2.0").await.done();
        log(&quinn, "P-002", "6.0 6.0 6.0").await.done();
        club.later_by_days(5);
        log(&quinn, "P-001", "4.0 4.0 4.0").await.done();
        log(&quinn, "P-002", "5.0 5.0 5.0").await.done();
        assert_eq!((state(&quinn, "P-001").await, state(&quinn, "P-002").await), ("Set aside".to_owned(), "Fit".to_owned()));
        for number in ["P-001", "P-002"] {
            let page = quinn.get(&format!("/packs/{number}/readings")).await;
            let links = page.select("a[href*='corrects=']");
            let form = quinn.get(links[1].attribute("href")).await;
            quinn.submit(&form, FORM, &[("resistance", "3.0 3.0 3.0"), ("why", "a slip")]).await.done();
        }
        assert_eq!(state(&quinn, "P-001").await, "Fit", "a third more than at first is none of the limits");
        assert_eq!(state(&quinn, "P-002").await, "Caution", "1.7 times is for practice");
        assert!(quinn.get("/packs/P-002").await.one("main").contains("Cell 3 has 1.7 times the resistance it had 5 days ago"));
    }

    async fn what_fell_with_a_corrected_reading_and_is_still_so_stands_though_the_newest_says_nothing_of_it(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        log(&quinn, "P-001", "3.0 3.0 3.0").await.done();
        club.later_by_days(5);
        log(&quinn, "P-001", "6.6 6.6 6.6").await.done();
        club.later_by_days(1);
        log_with(&quinn, "P-001", &[]).await.done();
        let newest = club.find("SELECT COALESCE(resistance, 'volts alone') FROM reading ORDER BY taken_ms DESC LIMIT 1").await;
        assert_eq!((newest, state(&quinn, "P-001").await), (vec!["volts alone".to_owned()], "Set aside".to_owned()));
        let correct = async |resistance: &str| {
            let page = quinn.get("/packs/P-001/readings").await;
            let form = quinn.get(page.select("a[href*='corrects=']")[1].attribute("href")).await;
            quinn.submit(&form, FORM, &[("resistance", resistance), ("why", "a slip")]).await.done();
        };
        correct("6.5 6.5 6.5").await;
        assert_eq!(state(&quinn, "P-001").await, "Set aside", "more than twice as before");
        assert!(quinn.get("/packs/P-001").await.one("main").contains("Cell 3 has 2.2 times the resistance it had 6 days ago"));
        correct("3.5 3.5 3.5").await;
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn of_a_pack_that_was_read_for_years_its_first_resistance_and_its_latest_readings_count(club: TestClub) {
        let pack = club.new_packs(1).await[0];
        let quinn = club.quartermaster().await;
        let volts_of = |day: i64| match day {
            0..2 => "c:3900,3900,3900",
            2..60 => "c:3500,3500,3500",
            _ => "c:4190,4190,4190",
        };
        let mut tx = club.app.db.write().await.expect("the turn");
        for day in 0..260_i64 {
            let beside = Beside {
                resistance: (day < 3).then(|| Milliohms::from_text("c:30,30,30")).flatten(),
                celsius: Some(21),
                // Nearly empty on the third day, full from the 60th on: what was charged between is left out.
                charge: (day >= 60).then_some(Charge::PutIn(60)),
                ..Beside::default()
            };
            let reading = Reading {
                id: sandbucket::ids::new_id(),
                pack_id: pack,
                taken_ms: club.now().plus_days(day - 260),
                by_id: quinn.id(),
                volts: Some(volts_of(day).to_owned()),
                rested_minutes: 60,
                unread_words: None,
                corrects_id: None,
                lent_id: None,
                resistance: None,
                meter: None,
                meter_kind: None,
                celsius: None,
                put_in_mah: None,
                taken_out_mah: None,
                context: None,
                used_ms: None,
            };
            readings::add(&mut tx, &reading.with(&beside)).await.expect("a reading");
        }
        tx.save().await.expect("saved");
        let kept = readings::for_health(&mut club.app.db.read().await.expect("a connection"), pack).await.expect("readings");
        assert_eq!(kept.len(), 203, "the latest 200, and three that tell the first resistance");
        assert!(kept.windows(2).all(|pair| pair[0].at <= pair[1].at));
        let mut conn = club.app.db.read().await.expect("a connection");
        let design = packs::by_id(&mut conn, pack).await.expect("packs").expect("it").design_id;
        let shown = readings::on_page(&mut conn, (pack, design), 210).await.expect("readings");
        drop(conn);
        assert_eq!((shown.latest.len(), shown.for_health), (210, kept), "the page tells what is stored");
        let told = told(&quinn).await;
        assert!(!told.contains("mAh"), "60 mAh from empty to full are no capacity: {told}");
        let fields = [("volts_line", "3.90 3.90 3.90"), ("rested", "rested_an_hour"), ("resistance", "6.3 6.3 6.3"), ("celsius", "21"), ("meter", "")];
        let page = quinn.get("/packs/P-001/volts").await;
        quinn.submit(&page, FORM, &fields).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Set aside", "twice its first resistance");
    }
}
