//! The day's reminders and the clock: both changes of summer time, a leap day, a hall far from the server, a clock set back, a program
//! that was down over the hour. Each day is decided once, never before its hour, and at the next tick after it.

use crate::support::*;
use sandbucket::actions::remind::{Posting, decide_day};
use sandbucket::club::calendar::{Day, Instant, Zone};

const POSTING: Posting<'static> = Posting {
    has_server: false,
    host: "packs.example",
};

fn day(text: &str) -> Day {
    Day::parse(text).expect("a day")
}

async fn hall(club: &TestClub, zone: &str, hour: &str) -> Zone {
    club.found().await;
    let sql =
        format!("UPDATE club SET time_zone = '{zone}', reminders = '{{\"hour\":\"{hour}\"}}'");
    club.behind_the_back(&sql).await.expect("a hall");
    Zone::named(zone).expect("a zone")
}

/// The day that is decided now, if one is.
async fn tick(club: &TestClub, at: Instant) -> Option<String> {
    club.clock.set(at);
    let decided = decide_day(&club.app.db, at, POSTING)
        .await
        .expect("decided");
    decided.map(|decided| decided.day.to_string())
}

/// Ticks every so many minutes through these days: each day that is decided, with the hall's time then.
async fn through(
    club: &TestClub,
    zone: &Zone,
    (from, to): (&str, &str),
    minutes: i64,
) -> Vec<String> {
    let (mut at, end) = (zone.start_of(day(from)), zone.end_of(day(to)));
    let mut told = Vec::new();
    while at < end {
        if let Some(day) = tick(club, at).await {
            told.push(format!("{day} {}", zone.time_words(at)));
        }
        at = at.plus_minutes(minutes);
    }
    told
}

on_both! {
    // IANA tz database: Europe/London, 2026-03-29 01:00 becomes 02:00; 2026-10-25 02:00 becomes 01:00.
    async fn each_day_is_decided_once_at_its_hour_also_when_that_hour_is_skipped_or_comes_twice(club: TestClub) {
        let zone = hall(&club, "Europe/London", "01:30").await;
        let spring = through(&club, &zone, ("2026-03-28", "2026-03-30"), 15).await;
        assert_eq!(spring, ["2026-03-28 01:30", "2026-03-29 02:30", "2026-03-30 01:30"]);
        let autumn = through(&club, &zone, ("2026-10-24", "2026-10-26"), 15).await;
        assert_eq!(autumn, ["2026-10-24 01:30", "2026-10-25 01:30", "2026-10-26 01:30"]);
    }

    async fn the_hour_is_the_halls_wherever_the_server_is_and_a_leap_day_is_a_day(club: TestClub) {
        // 13 hours ahead of UTC: it is another day there when its morning comes.
        let zone = hall(&club, "Pacific/Auckland", "08:00").await;
        let told = through(&club, &zone, ("2028-02-28", "2028-03-01"), 30).await;
        assert_eq!(told, ["2028-02-28 08:00", "2028-02-29 08:00", "2028-03-01 08:00"]);
        let at = zone.at(day("2028-02-29"), "08:00").expect("a time");
        assert_eq!(Zone::utc().day_of(at), day("2028-02-28"));
    }

    async fn a_clock_that_is_set_back_doubles_nothing_and_a_program_that_was_down_misses_nothing(club: TestClub) {
        let zone = hall(&club, "Europe/London", "08:00").await;
        club.fit_packs(1).await;
        let at = |text: &str, time: &str| zone.at(day(text), time).expect("a time");
        assert_eq!(tick(&club, at("2026-11-26", "07:59")).await, None, "too early");
        assert_eq!(tick(&club, at("2026-11-26", "08:05")).await.as_deref(), Some("2026-11-26"));
        assert_eq!(tick(&club, at("2026-11-26", "07:05")).await, None, "set back an hour");
        assert_eq!(tick(&club, at("2026-11-26", "08:05")).await, None, "and on again");
        assert_eq!(tick(&club, at("2026-11-25", "23:30")).await, None, "set back over midnight");
        assert_eq!(tick(&club, at("2026-11-27", "15:40")).await.as_deref(), Some("2026-11-27"), "down over its hour");
        let ada = club.borrower("Ada").await;
        let person = ada.id().to_string();
        let form = [("person", person.as_str()), ("items", "P-001"), ("due", "2026-11-28"), ("key", "out")];
        club.quartermaster().await.post("/hand-out", &form).await.done();
        // Down from the 27th to the evening of the 30th, a Monday: what fell due meanwhile comes now, and the week's summary.
        assert_eq!(tick(&club, at("2026-11-30", "22:10")).await.as_deref(), Some("2026-11-30"));
        let told = "SELECT DISTINCT reason || ' ' || due_on FROM reminder WHERE told_on = '2026-11-30' ORDER BY 1";
        assert_eq!(club.find(told).await, ["loan_overdue 2026-11-28", "weekly_summary 2026-11-30"]);
        assert_eq!(tick(&club, at("2026-12-02", "08:00")).await.as_deref(), Some("2026-12-02"));
        let doubled = "SELECT reason FROM reminder GROUP BY person_id, reason, thing, due_on HAVING COUNT(*) > 1";
        assert_eq!(club.find(doubled).await, Vec::<String>::new());
        assert_eq!(club.find("SELECT reason FROM reminder WHERE told_on = '2026-12-02'").await.len(), 1, "three days overdue: Quinn too");
    }

    async fn a_clock_that_ran_a_month_ahead_silences_no_day_and_no_week(club: TestClub) {
        let zone = hall(&club, "Europe/London", "08:00").await;
        let _olive = club.organiser().await;
        let at = |text: &str| zone.at(day(text), "08:00").expect("a time");
        assert_eq!(tick(&club, at("2026-12-27")).await.as_deref(), Some("2026-12-27"), "a month ahead");
        for text in ["2026-11-27", "2026-11-30", "2026-12-01"] {
            assert_eq!(tick(&club, at(text)).await.as_deref(), Some(text));
            assert_eq!(tick(&club, at(text)).await, None, "once");
        }
        let told = "SELECT DISTINCT told_on || ' ' || due_on FROM reminder WHERE told_on < '2026-12-27' ORDER BY 1";
        assert_eq!(club.find(told).await, ["2026-11-30 2026-11-30"], "the week's summary");
    }

    async fn a_summary_missed_on_its_monday_comes_when_it_runs_again_with_that_mondays_day(club: TestClub) {
        let zone = hall(&club, "Europe/London", "08:00").await;
        let olive = club.organiser().await;
        let at = |text: &str| zone.at(day(text), "08:00").expect("a time");
        for text in ["2026-11-26", "2026-11-29", "2026-12-02", "2026-12-03", "2026-12-07"] {
            assert_eq!(tick(&club, at(text)).await.as_deref(), Some(text));
        }
        let told = club.find(&format!("SELECT told_on || ' ' || due_on FROM reminder WHERE person_id = {} ORDER BY 1", club.literal(olive.id()))).await;
        assert_eq!(told, ["2026-12-02 2026-11-30", "2026-12-07 2026-12-07"]);
    }

    async fn a_message_waits_until_quiet_hours_are_over(club: TestClub) {
        hall(&club, "Europe/London", "06:00").await;
        club.fit_packs(1).await;
        let ada = club.borrower("Ada").await;
        let person = ada.id().to_string();
        let form = [("person", person.as_str()), ("items", "P-001"), ("due", "2026-11-26"), ("key", "out")];
        club.quartermaster().await.post("/hand-out", &form).await.done();
        let sql = format!("INSERT INTO reach (person_id, address, quiet_from, quiet_to, dead_words) VALUES ({}, 'ada@millrace.example', '22:00', '09:30', '')", club.literal(ada.id()));
        club.behind_the_back(&sql).await.expect("an address");
        let post = Post::open().await;
        let app = club.with_settings(|settings| settings.smtp_url = Some(post.url()));
        let zone = Zone::named("Europe/London").expect("a zone");
        for (time, count) in [("06:00", 0), ("09:29", 0), ("09:30", 1), ("09:40", 1)] {
            club.clock.set(zone.at(day("2026-11-27"), time).expect("a time"));
            sandbucket::tasks::remind::run(&app).await.expect("run");
            assert_eq!(post.received().len(), count, "{time}");
        }
        // Decided and put into the outbox in the morning; then nothing ran until the night.
        club.behind_the_back("UPDATE lent SET closed_ms = 1, outcome = 'back'").await.expect("back");
        let again = [("person", person.as_str()), ("items", "P-001"), ("due", "2026-11-30"), ("key", "again")];
        club.quartermaster().await.post("/hand-out", &again).await.done();
        let at = |text: &str, time: &str| zone.at(day(text), time).expect("a time");
        let morning = at("2026-12-01", "09:31");
        let with_server = Posting { has_server: true, ..POSTING };
        decide_day(&club.app.db, morning, with_server).await.expect("decided").expect("a day");
        assert_eq!(club.find("SELECT state FROM mail WHERE on_day = '2026-12-01' AND address <> ''").await, ["waiting"]);
        for (at, count) in [(at("2026-12-01", "23:00"), 1), (at("2026-12-02", "05:59"), 1), (at("2026-12-02", "09:30"), 2)] {
            club.clock.set(at);
            sandbucket::tasks::remind::run(&app).await.expect("run");
            assert_eq!(post.received().len(), count, "{}", zone.time_words(at));
        }
    }
}
