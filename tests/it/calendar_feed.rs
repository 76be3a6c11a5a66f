//! A person's calendar: its secret address, and what stands in it: days of what they hold, and for those who run the pool checks of
//! places, rounds and events; nothing of anybody else. That it can be read is proven by a parser in the browser tests.

use crate::support::*;
use axum::http::Method;

/// The path of the address that is shown once.
pub async fn made(who: &Browser) -> String {
    let page = who.get("/me/calendar").await;
    let shown = who.submit(&page, "form[action='/me/calendar']", &[]).await;
    assert_eq!(shown.status, 200, "{}", shown.text);
    let address = shown.one("main code");
    let path = &address[address.find("/calendar/").expect("its path")..];
    assert!(
        path.len() >= "/calendar/".len() + 32,
        "128 bits or more: {path}"
    );
    path.to_owned()
}

/// Summaries with their day, in the order of the text.
fn entries(text: &str) -> Vec<String> {
    let whole = text.replace("\r\n ", "");
    let events = whole.split("BEGIN:VEVENT").skip(1);
    let of = |event: &str, name: &str| {
        let line = event.lines().find_map(|line| line.strip_prefix(name));
        line.expect(name).to_owned()
    };
    events
        .map(|event| {
            format!(
                "{} {}",
                of(event, "DTSTART;VALUE=DATE:"),
                of(event, "SUMMARY:")
            )
        })
        .collect()
}

async fn lend(club: &TestClub, quinn: &Browser, ada: &Browser, items: &str, due: &str) {
    let person = ada.id().to_string();
    let form = [
        ("person", person.as_str()),
        ("items", items),
        ("due", due),
        ("key", items),
    ];
    quinn.post("/hand-out", &form).await.done();
    club.later_by_minutes(1);
}

on_both! {
    async fn it_tells_days_of_what_one_holds_and_of_nobody_elses(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada, ben) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Ben Borrower").await);
        lend(&club, &quinn, &ada, "P-001 P-002", "2026-12-01").await;
        lend(&club, &quinn, &ben, "P-003", "2026-11-30").await;
        let feed = ada.get(&made(&ada).await).await;
        assert_eq!(feed.status, 200);
        assert_eq!(feed.header("content-type"), "text/calendar; charset=utf-8");
        let told = entries(&feed.text);
        assert_eq!(told[0], "20261201 Due back: P-001\\, P-002", "{told:?}");
        // Read on the evening itself; every 90 days: a battery maker's storage note.
        assert!(told.contains(&"20270223 P-001: Not looked at".to_owned()), "{told:?}");
        assert!(told.iter().all(|line| !line.contains("P-003")), "{told:?}");
        for name in ["Ben", "Ada", "Quinn"] {
            assert!(!feed.text.contains(name), "{name}: {}", feed.text);
        }
        // The same things keep their ids when their days change.
        let uids = |text: &str| -> Vec<String> { text.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect() };
        let loans = club.ids("loan").await;
        quinn.post(&format!("/loans/{}/extend", loans[0]), &[("due", "2026-12-10"), ("key", "longer")]).await.done();
        let later = ada.get(&made(&ada).await).await;
        assert_eq!(entries(&later.text)[0], "20261210 Due back: P-001\\, P-002");
        assert_eq!(uids(&later.text), uids(&feed.text));
    }

    async fn the_last_day_of_ones_induction_stands_in_it(club: TestClub) {
        let (ada, ben) = (club.borrower("Ada").await, club.borrower("Ben").await);
        let sql = format!("UPDATE induction SET ends_on = '2026-12-20' WHERE person_id = {}", club.literal(ada.id()));
        club.behind_the_back(&sql).await.expect("an end");
        let told = entries(&ada.get(&made(&ada).await).await.text);
        assert_eq!(told, ["20261220 Last day of your induction"]);
        assert_eq!(entries(&ben.get(&made(&ben).await).await.text), Vec::<String>::new());
    }

    async fn what_somebody_chose_not_to_have_in_it_is_left_out_and_all_else_stays(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        lend(&club, &quinn, &ada, "P-001", "2026-12-01").await;
        let address = made(&ada).await;
        let told = async || entries(&ada.get(&address).await.text);
        let (due_back, not_read) = ("20261201 Due back: P-001".to_owned(), "20270223 P-001: Not looked at".to_owned());
        assert!(told().await.contains(&due_back) && told().await.contains(&not_read));
        let choices = ada.get("/me/reminders").await;
        assert!(choices.select("[name=calendar_report]").is_empty(), "a report that arrived has no day");
        assert!(choices.select("[name^=push_]").is_empty(), "nothing goes to a phone yet");
        let all_but = |left_out: &str| -> Vec<(String, String)> {
            let kinds = ["storage_overdue", "low", "recheck", "loan_due_soon", "check"];
            let kept = kinds.into_iter().filter(|kind| *kind != left_out);
            kept.map(|kind| (format!("calendar_{kind}"), "yes".to_owned())).collect()
        };
        for (left_out, stays, goes) in [("loan_due_soon", &not_read, &due_back), ("recheck", &due_back, &not_read)] {
            let chosen = all_but(left_out);
            let mut fields: Vec<(&str, &str)> = chosen.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
            fields.push(("key", left_out));
            ada.post("/me/reminders", &fields).await.done();
            let told = told().await;
            assert!(told.contains(stays) && !told.contains(goes), "without {left_out}: {told:?}");
        }
    }

    async fn those_who_run_the_pool_read_checks_rounds_and_events_in_theirs(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, olive, ada) = (club.quartermaster().await, club.organiser().await, club.borrower("Ada").await);
        let place = [("name", "Hall; east"), ("kind", "table"), ("extinguisher_check_due", "2027-03-01"), ("detector_check_due", "2026-12-24")];
        quinn.post("/places/new", &place).await.done();
        let event = [("name", "Bouts, \\ END:VEVENT"), ("place", "Town hall"), ("first_on", "2026-12-05"), ("last_on", "2026-12-06"), ("packs", "1")];
        quinn.post("/events/new", &event).await.done();
        club.later_by_minutes(1);
        quinn.post("/storage-rounds/new", &[("packs", "2")]).await.done();
        for who in [&quinn, &olive] {
            let feed = who.get(&made(who).await).await.text;
            let told = entries(&feed);
            assert!(told.contains(&"20270301 Check of the fire extinguisher: Hall\\; east".to_owned()), "{told:?}");
            assert!(told.contains(&"20261224 Check of the smoke or heat detector: Hall\\; east".to_owned()), "{told:?}");
            assert!(told.contains(&"20261205 Bouts\\, \\\\ END:VEVENT".to_owned()), "{told:?}");
            assert!(feed.contains("DTEND;VALUE=DATE:20261207\r\n"), "{feed}");
            assert!(told.iter().any(|line| line.starts_with("20261125 Storage round: ")), "{told:?}");
        }
        let feed = ada.get(&made(&ada).await).await.text;
        assert_eq!(entries(&feed), Vec::<String>::new());
        assert!(feed.contains("BEGIN:VFREEBUSY"), "{feed}");
    }

    async fn an_address_that_was_renewed_ended_or_never_was_answers_like_any_other(club: TestClub) {
        let ada = club.borrower("Ada").await;
        let first = made(&ada).await;
        let stranger = club.visitor();
        let kept = club.find("SELECT token_hash FROM calendar").await;
        assert!(!first.contains(&kept[0]), "only its hash is stored");
        let feed = stranger.get(&first).await;
        assert_eq!(feed.status, 200, "no sign-in is asked for");
        assert_eq!(feed.header("cache-control"), "private, no-cache");
        let tag = feed.header("etag");
        let again = stranger.send(Method::GET, &first, &[("if-none-match", tag)], None).await;
        assert_eq!((again.status.as_u16(), again.text.as_str()), (304, ""));
        assert_eq!(stranger.get(&format!("{first}.ics")).await.text, feed.text);
        let mistyped = stranger.get("/calendar/0000").await;
        let second = made(&ada).await;
        assert_eq!(stranger.get(&second).await.status, 200);
        let page = ada.get("/me/calendar").await;
        let renewed = stranger.get(&first).await;
        ada.submit(&page, "form[action='/me/calendar/end']", &[]).await.done();
        let ended = stranger.get(&second).await;
        let without = |answer: &Answer| {
            let text = answer.text.clone();
            text.lines().filter(|line| !line.contains("eference")).collect::<String>()
        };
        for gone in [&mistyped, &renewed, &ended] {
            assert_eq!(gone.status, 404);
            assert_eq!(without(gone), without(&mistyped));
        }
        assert!(ada.get("/me/calendar").await.text.contains("You have none."));
    }

    async fn who_is_shut_out_reads_no_calendar_any_more(club: TestClub) {
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let path = made(&ada).await;
        assert_eq!(club.visitor().get(&path).await.status, 200);
        quinn.post(&format!("/people/{}/deactivate", ada.id()), &[("key", "out")]).await.done();
        let standing = club.find("SELECT CAST(COUNT(*) AS TEXT) FROM person WHERE deactivated_ms IS NOT NULL").await;
        assert_eq!(standing, ["1"]);
        assert_eq!(club.visitor().get(&path).await.status, 404);
        assert_eq!(club.find("SELECT token_hash FROM calendar").await, Vec::<String>::new());
    }

    async fn asking_too_often_is_told_to_wait(club: TestClub) {
        club.borrower("Ada").await;
        let stranger = club.visitor();
        let mut last = stranger.get("/calendar/0000").await;
        for _ in 0..90 {
            last = stranger.get("/calendar/0000").await;
        }
        assert_eq!(last.status, 429);
        assert!(!last.header("retry-after").is_empty());
    }
}
