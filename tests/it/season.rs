//! A season of storage care, looked back on: the share of packs in their band week by week, and the days to storage after an event,
//! on the page, as sheets and to programs.

use crate::rounds::{begun, read};
use crate::support::*;

/// Volts of a 3S pack, logged on its own page.
async fn log(who: &Browser, number: &str, cell: &str) {
    let key = sandbucket::ids::new_token();
    let volts = format!("{cell} {cell} {cell}");
    let fields = [
        ("volts_line", volts.as_str()),
        ("rested", "rested_an_hour"),
        ("key", key.as_str()),
    ];
    who.post(&format!("/packs/{number}/volts"), &fields)
        .await
        .done();
}

/// Three packs; two went full to an event on Thursday the 26th and were put to storage 1.8 and 4.8 days after it. It is Tuesday 1 December.
async fn after_an_event(club: &TestClub, called: &str) -> Browser {
    club.fit_packs(3).await;
    let quinn = club.quartermaster().await;
    club.later_by_days(1);
    let event = [
        ("name", called),
        ("first_on", "2026-11-26"),
        ("last_on", "2026-11-26"),
        ("packs", "1-2"),
    ];
    quinn.post("/events/new", &event).await.done();
    log(&quinn, "P-001", "4.18").await;
    log(&quinn, "P-002", "4.18").await;
    club.later_by_days(2);
    log(&quinn, "P-001", "3.82").await;
    club.later_by_days(3);
    log(&quinn, "P-002", "3.83").await;
    club.later_by_minutes(1);
    quinn
}

on_both! {
    async fn the_share_in_the_band_and_the_days_to_storage_are_drawn_with_their_figures_below(club: TestClub) {
        let quinn = after_an_event(&club, "Autumn <b>Bouts").await;
        let page = quinn.get("/season?from=2026-11-25").await;
        assert_eq!(page.status, 200, "{}", page.text);
        assert_eq!(page.select("main svg[role=img]").len(), 2, "{}", page.text);
        assert!(page.text.contains("In their band from 67 % to 100 %"), "{}", page.text);
        assert!(page.text.contains("Above it from 33 % to 0 %"), "{}", page.text);
        let row = page.texts("table.rows:last-of-type tbody tr");
        let last = row.last().expect("the event");
        assert_eq!(last, "Autumn <b>BoutsThu 26 Nov 2026223.3 days", "{row:?}");
        assert!(!page.text.contains("<b>Bouts"), "its name is text");
        let to_see_to = quinn.get("/to-see-to").await;
        assert!(to_see_to.text.contains("href=\"/season\""));
        // While half of the packs are not stored there is no median.
        log(&quinn, "P-001", "4.18").await;
        let again = [("name", "Demo day"), ("first_on", "2026-12-01"), ("last_on", "2026-12-01"), ("packs", "1 3")];
        let address = quinn.post("/events/new", &again).await.done().split('?').next().expect("an address").to_owned();
        quinn.post(&format!("{address}/end"), &[("key", "ended")]).await.done();
        club.later_by_days(1);
        log(&quinn, "P-003", "3.82").await;
        assert!(quinn.get("/season").await.text.contains("half of them or more are not put to storage yet"));
    }

    async fn sheets_and_programs_are_told_the_same_and_no_name_is_a_formula(club: TestClub) {
        let quinn = after_an_event(&club, "=2+3 Bouts").await;
        let weeks = quinn.get("/season.csv?from=2026-11-23").await.text;
        let lines: Vec<&str> = weeks.lines().collect();
        assert!(lines[0].ends_with("Week from,Packs,In band,Above band,Under band,Not known,In band (%)"), "{weeks}");
        assert_eq!(&lines[1..], ["2026-11-23,3,2,1,0,0,66.7", "2026-11-30,3,3,0,0,0,100.0"]);
        let events = quinn.get("/season/events.csv?from=2026-11-23").await.text;
        assert_eq!(events.lines().nth(1), Some("'=2+3 Bouts,2026-11-26,2,2,3.3"));
        let program = club.program(quinn.id()).await;
        let told = program.get("/api/v1/season?from_on=2026-11-23").await.done();
        assert_eq!(told["weeks"][0]["in_band"], 2);
        assert_eq!(told["weeks"].as_array().expect("weeks").len(), 2);
        assert_eq!(told["events"][0]["name"], "=2+3 Bouts");
        // One that goes on is none yet, nor is one that was over before.
        let on = [("name", "Long demo"), ("first_on", "2026-12-01"), ("last_on", "2026-12-05"), ("packs", "3"), ("key", "on")];
        quinn.post("/events/new", &on).await.done();
        for (from, count) in [("2026-11-23", 1), ("2026-11-30", 0)] {
            let told = program.get(&format!("/api/v1/season?from_on={from}")).await.done();
            assert_eq!(told["events"].as_array().expect("events").len(), count, "{from}");
        }
        assert_eq!(told["events"][0]["stored"], 2);
        let median = told["events"][0]["median_days"].as_f64().expect("a median");
        assert!((3.2..3.4).contains(&median), "{median}");
    }

    async fn it_is_for_those_who_run_the_pool_or_oversee_it_and_a_day_that_is_none_is_said(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, olive, mo) = (club.quartermaster().await, club.organiser().await, club.member("Mo").await);
        for path in ["/season", "/season.csv", "/season/events.csv"] {
            assert_eq!(club.visitor().get(path).await.status, 303, "{path}");
            assert_eq!(mo.get(path).await.status, 403, "{path}");
            assert_eq!(olive.get(path).await.status, 200, "{path}");
            for from in ["2026-11-25", "2024-11-01", "soon"] {
                let refused = quinn.get(&format!("{path}?from={from}")).await;
                assert_ne!(refused.status, 200, "{path} {from}");
                assert!(refused.text.contains("Choose a day before today, 105 weeks back at most."), "{}", refused.text);
            }
        }
        let kept = quinn.get("/season?from=soon").await;
        assert_eq!(kept.select("#f-from")[0].attribute("value"), "soon");
    }

    async fn what_came_back_and_was_read_before_the_event_was_over_took_no_day(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await;
        for (name, packs) in [("Autumn Bouts", "1-2"), ("Demo days", "3")] {
            let event = [("name", name), ("first_on", "2026-11-26"), ("last_on", "2026-11-27"), ("packs", packs), ("key", name)];
            quinn.post("/events/new", &event).await.done();
        }
        // The evening of its last day: two are put on a round and read in their band; of P-003 nobody said that it is back.
        club.later_by_days(2);
        let (_, round) = begun(&club, "1-2").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "3.82 3.82 3.82").await.done();
        read(&quinn, &round, "2", "3.83 3.83 3.83").await.done();
        log(&quinn, "P-003", "3.82").await;
        club.later_by_days(3);
        let told = quinn.get("/season/events.csv?from=2026-11-23").await.text;
        assert!(told.contains("Autumn Bouts,2026-11-27,2,2,0.0"), "{told}");
        assert!(told.contains("Demo days,2026-11-27,1,0,"), "{told}");
        let row = quinn.get("/season?from=2026-11-23").await.texts("table.rows:last-of-type tbody tr");
        assert!(row.contains(&"Autumn BoutsFri 27 Nov 2026220.0 days".to_owned()), "{row:?}");
    }
}
