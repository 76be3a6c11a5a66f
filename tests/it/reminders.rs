//! Reminders on pages: what would have been sent without a mail server, one's own choices, the club's rules, and what goes when
//! somebody is erased.

use crate::support::*;
use sandbucket::club::calendar::{Day, Zone};
use sandbucket::tasks::remind;

/// Decides that day, at nine in the hall.
pub async fn decided(club: &TestClub, day: &str) {
    let zone = Zone::named("Europe/London").expect("a zone");
    let day = Day::parse(day).expect("a day");
    club.clock.set(zone.at(day, "09:00").expect("a time"));
    remind::run(&club.app).await.expect("decided");
}

/// A quartermaster hands it out until that day.
pub async fn lend(club: &TestClub, to: &Browser, items: &str, due: &str) {
    let person = to.id().to_string();
    let form = [
        ("person", person.as_str()),
        ("items", items),
        ("due", due),
        ("key", items),
    ];
    club.quartermaster()
        .await
        .post("/hand-out", &form)
        .await
        .done();
}

/// What stands in the field.
fn value(page: &Answer, name: &str) -> String {
    let fields = page.select(&format!("input[name={name}]"));
    fields[0].attribute("value").to_owned()
}

on_both! {
    async fn without_a_mail_server_the_pages_show_what_would_have_been_sent(club: TestClub) {
        club.fit_packs(2).await;
        let ada = club.borrower("Ada").await;
        lend(&club, &ada, "P-001", "2026-11-26").await;
        decided(&club, "2026-11-26").await;
        decided(&club, "2026-11-27").await;
        let ada = club.member("Ada").await;
        let mine = ada.get("/me/reminders").await;
        assert!(mine.text.contains("No mail server is set here"), "{}", mine.text);
        let links: Vec<String> = mine.select("main ol.log a").iter().map(|link| link.attribute("href").to_owned()).collect();
        assert_eq!(links.len(), 2, "due soon, then overdue");
        let latest = ada.get(&links[0]).await;
        assert!(latest.one("pre").contains("P-001: loan overdue") && latest.one("pre").contains("It was due back on Thu 26 Nov 2026."));
        assert!(latest.one("main").contains("No mail server is set."));
        let ben = club.member("Ben").await;
        assert_eq!(ben.get(&links[0]).await.status, 404, "a mail is its person's, and of those who run the pool");
        let quinn = club.quartermaster().await;
        assert_eq!(quinn.get(&links[0]).await.status, 200);
        let list = quinn.get("/mails").await;
        assert_eq!(list.texts("td[data-label=To]"), ["Ada", "Ada"]);
        assert_eq!(list.texts("td[data-label=Subject]"), ["P-001: loan overdue", "P-001: due back"]);
        let (_, queries) = club.queries_of(quinn.get("/mails")).await;
        assert!(queries <= 3, "{queries}");
        assert_eq!(list.texts("td[data-label=Stands]"), ["Not sent: No mail server is set.", "Not sent: No mail server is set."]);
        assert_eq!(ada.get("/mails").await.status, 403);
    }

    async fn one_mail_gathers_all_of_a_person_and_day(club: TestClub) {
        club.fit_packs(4).await;
        let ada = club.borrower("Ada").await;
        lend(&club, &ada, "P-001", "2026-11-26").await;
        lend(&club, &ada, "P-002 P-003", "2026-11-26").await;
        decided(&club, "2026-11-27").await;
        let reminders = club.find("SELECT title FROM reminder WHERE reason = 'loan_overdue' ORDER BY title").await;
        assert_eq!(reminders, ["P-001: loan overdue", "P-002, P-003: loan overdue"]);
        assert_eq!(club.find("SELECT on_day FROM mail").await, ["2026-11-27"]);
    }

    async fn who_is_told_grows_by_the_clubs_days_and_an_extension_is_another_due_day(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, olive) = (club.borrower("Ada").await, club.organiser().await);
        lend(&club, &ada, "P-001", "2026-11-26").await;
        for day in 26..=30 {
            decided(&club, &format!("2026-11-{day}")).await;
        }
        for day in 1..=9 {
            decided(&club, &format!("2026-12-0{day}")).await;
        }
        let told = "SELECT r.told_on || ' ' || p.name || ' ' || r.reason FROM reminder r JOIN person p ON p.id = r.person_id \
            WHERE r.reason LIKE 'loan%' ORDER BY r.told_on, p.name";
        let at_first = ["2026-11-26 Ada loan_due_soon", "2026-11-27 Ada loan_overdue", "2026-11-30 Quinn loan_overdue", "2026-12-04 Olive loan_overdue"];
        assert_eq!(club.find(told).await, at_first);
        let loan = club.ids("loan").await[0];
        let quinn = club.quartermaster().await;
        quinn.post(&format!("/loans/{loan}/extend"), &[("due", "2026-12-10")]).await.done();
        for day in 10..=11 {
            decided(&club, &format!("2026-12-{day}")).await;
        }
        let all = club.find(told).await;
        assert_eq!(all[4..], ["2026-12-10 Ada loan_due_soon".to_owned(), "2026-12-11 Ada loan_overdue".to_owned()]);
        assert_eq!(club.find(&format!("SELECT why FROM reminder WHERE reason = 'weekly_summary' AND person_id = {}", club.literal(olive.id()))).await.len(), 2);
    }

    async fn what_was_silenced_and_then_borrowed_is_mailed_once_since_it_must_be_put_right(club: TestClub) {
        club.fit_packs(1).await;
        let rosa = club.borrower("Rosa").await;
        club.behind_the_back("UPDATE person SET is_quartermaster = TRUE WHERE name = 'Rosa'").await.expect("she is one");
        let id = club.literal(rosa.id());
        for sql in [
            format!("INSERT INTO reminder_choice (person_id, kind, by_mail, by_push, in_calendar) VALUES ({id}, 'storage_overdue', FALSE, FALSE, TRUE)"),
            format!("INSERT INTO reach (person_id, address, dead_words) VALUES ({id}, 'rosa@millrace.example', '')"),
        ] {
            club.behind_the_back(&sql).await.expect("kept");
        }
        let post = Post::open().await;
        let app = club.with_settings(|settings| settings.smtp_url = Some(post.url()));
        club.later_by_minutes(1);
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/volts", &[("volts_line", "4.18 4.18 4.18"), ("rested", "rested_an_hour")]).await.done();
        let zone = Zone::named("Europe/London").expect("a zone");
        let mut mails = Vec::new();
        // Due on the 28th. She gets it that day; the weekly summary comes on the 30th.
        for day in ["2026-11-29", "2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03"] {
            club.clock.set(zone.at(Day::parse(day).expect("a day"), "09:00").expect("a time"));
            let before = post.received().len();
            remind::run(&app).await.expect("decided");
            mails.extend(post.received()[before..].iter().map(|mail| format!("{day} {}", mail.text().contains("P-001: above its storage band"))));
            if day == "2026-12-01" {
                lend(&club, &rosa, "P-001", "2026-12-20").await;
            }
        }
        assert_eq!(mails, ["2026-11-30 false", "2026-12-02 true"]);
        let kept = format!("SELECT told_on || CASE WHEN is_must THEN ' must' ELSE ' may' END FROM reminder WHERE person_id = {id} AND reason = 'above_band'");
        assert_eq!(club.find(&kept).await, ["2026-12-02 must"]);
    }

    async fn what_was_held_goes_once_when_there_is_a_server_and_an_address(club: TestClub) {
        club.fit_packs(2).await;
        let ada = club.borrower("Ada").await;
        lend(&club, &ada, "P-001", "2026-11-26").await;
        lend(&club, &ada, "P-002", "2026-11-26").await;
        decided(&club, "2026-11-27").await;
        let post = Post::open().await;
        let app = club.with_settings(|settings| settings.smtp_url = Some(post.url()));
        let zone = Zone::named("Europe/London").expect("a zone");
        let mut sent = Vec::new();
        for day in ["2026-11-28", "2026-11-29", "2026-11-30"] {
            club.clock.set(zone.at(Day::parse(day).expect("a day"), "09:00").expect("a time"));
            remind::run(&app).await.expect("decided");
            sent.push(post.received().len());
            if day == "2026-11-28" {
                let sql = format!("INSERT INTO reach (person_id, address, dead_words) VALUES ({}, 'ada@millrace.example', '')", club.literal(ada.id()));
                club.behind_the_back(&sql).await.expect("an address");
                club.behind_the_back("UPDATE lent SET closed_ms = 1, outcome = 'back' WHERE pack_id = (SELECT id FROM pack WHERE number = 'P-002')").await.expect("back");
            }
        }
        assert_eq!(sent, [0, 1, 1], "no address, then once");
        let text = post.received()[0].text();
        assert!(text.contains("P-001: loan overdue") && !text.contains("P-002"), "what is still true: {text}");
        let mails = format!("SELECT on_day || ' ' || state FROM mail WHERE person_id = {} ORDER BY 1", club.literal(ada.id()));
        assert_eq!(club.find(&mails).await, ["2026-11-27 held", "2026-11-29 sent"], "the first told of P-002 too");
    }

    async fn the_days_of_storage_care_say_when_the_next_ones_are_told(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, olive) = (club.borrower("Ada").await, club.organiser().await);
        let page = olive.get("/settings/care").await;
        let sooner = [("quartermaster_days", "1"), ("organiser_days", "2")];
        olive.submit(&page, "main form", &sooner).await.done();
        lend(&club, &ada, "P-001", "2026-11-26").await;
        for day in ["2026-11-27", "2026-11-28", "2026-11-29"] {
            decided(&club, day).await;
        }
        let told = "SELECT r.told_on || ' ' || p.name FROM reminder r JOIN person p ON p.id = r.person_id WHERE r.reason = 'loan_overdue' ORDER BY 1";
        assert_eq!(club.find(told).await, ["2026-11-27 Ada", "2026-11-28 Quinn", "2026-11-29 Olive"]);
    }

    async fn a_place_tells_who_run_the_club_that_its_extinguisher_is_to_be_checked(club: TestClub) {
        let (quinn, _olive) = (club.quartermaster().await, club.organiser().await);
        let form = [("name", "Hall"), ("kind", "table"), ("room", "Hall"), ("limit", ""), ("notes", ""), ("extinguisher_check_due", "2026-12-11")];
        quinn.post("/places/new", &form).await.done();
        decided(&club, "2026-11-26").await;
        let told = "SELECT p.name || ' ' || r.title FROM reminder r JOIN person p ON p.id = r.person_id WHERE r.kind = 'check' ORDER BY 1";
        assert_eq!(club.find(told).await, Vec::<String>::new());
        decided(&club, "2026-11-27").await;
        assert_eq!(club.find(told).await, ["Olive Extinguisher check due: Hall", "Quinn Extinguisher check due: Hall"]);
        decided(&club, "2026-11-28").await;
        assert_eq!(club.find(told).await.len(), 2);
    }

    async fn an_organisers_week_carries_the_books_end_and_an_unread_report_comes_once(club: TestClub) {
        let (_quinn, olive) = (club.quartermaster().await, club.organiser().await);
        club.fit_packs(1).await;
        let ada = club.member("Ada").await;
        ada.post("/packs/P-001/condition", &[("seen", "wrap_torn")]).await.done();
        decided(&club, "2026-11-29").await;
        decided(&club, "2026-11-30").await;
        let reports = "SELECT p.name FROM reminder r JOIN person p ON p.id = r.person_id WHERE r.kind = 'report'";
        assert_eq!(club.find(reports).await, ["Quinn"]);
        let week = club.find(&format!("SELECT why FROM reminder WHERE kind = 'summary' AND person_id = {}", club.literal(olive.id()))).await;
        assert!(week[0].ends_with("Reports that nobody has read: 1. The incident book has no entry yet."), "{week:?}");
    }

    async fn the_clubs_rules_are_kept_by_a_form_and_what_is_wrong_stands_beside_its_field(club: TestClub) {
        let quinn = club.quartermaster().await;
        let page = quinn.get("/settings/reminders").await;
        let wrong = quinn.submit(&page, "main form", &[("hour", "8 o'clock"), ("tries", "0"), ("sender", "the club")]).await;
        assert_eq!(wrong.status, 422);
        assert_eq!(wrong.texts("p.wrong").len(), 3);
        assert_eq!(value(&wrong, "hour"), "8 o'clock");
        let page = quinn.get("/settings/reminders").await;
        quinn.submit(&page, "main form", &[("hour", "09:30"), ("sender", "packs@millrace.example")]).await.done();
        let kept = club.find("SELECT reminders FROM club").await;
        assert!(kept[0].contains("\"hour\":\"09:30\"") && kept[0].contains("packs@millrace.example"), "{kept:?}");
        decided(&club, "2026-11-30").await;
        assert_eq!(club.find("SELECT day FROM reminder_day").await, Vec::<String>::new(), "nine is before half past nine");
        let quinn = club.quartermaster().await;
        assert_eq!(value(&quinn.get("/settings/reminders").await, "hour"), "09:30");
        assert!(quinn.get("/reminders").await.one("main").contains("A day is decided once."));
    }

    async fn ones_own_address_and_quiet_hours_are_checked_and_go_with_the_name(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.borrower("Ada").await;
        lend(&club, &ada, "P-001", "2026-11-26").await;
        for (fields, field) in [
            ([("address", "ada at home"), ("quiet_from", ""), ("quiet_to", "")], "address"),
            ([("address", "ada@millrace.example"), ("quiet_from", "21:00"), ("quiet_to", "25:00")], "quiet_to"),
        ] {
            let refused = ada.post("/me/reminders", &fields).await;
            assert_eq!(refused.status, 422);
            assert_eq!(refused.select(&format!("#w-{field}")).len(), 1, "{}", refused.text);
            assert_eq!(value(&refused, "address"), fields[0].1, "what was typed stays");
        }
        let both = [("address", "ada at home"), ("quiet_from", "21:00"), ("quiet_to", "25:00")];
        assert_eq!(ada.post("/me/reminders", &both).await.problems().len(), 2, "told at once");
        let fields = [("address", "ada@millrace.example"), ("quiet_from", "21:00"), ("quiet_to", "09:30"), ("key", "kept")];
        assert_eq!(ada.post("/me/reminders", &fields).await.done(), "/me/reminders?kept=yes");
        assert_eq!(value(&ada.get("/me/reminders").await, "quiet_to"), "09:30");
        assert_eq!(club.find("SELECT address FROM reach WHERE unconfirmed_ms IS NOT NULL").await, Vec::<String>::new(), "no server asks");
        decided(&club, "2026-11-27").await;
        assert_eq!(club.find("SELECT title FROM reminder").await.len(), 1);
        club.behind_the_back("UPDATE lent SET closed_ms = 1, outcome = 'back'").await.expect("back");
        let quinn = club.quartermaster().await;
        quinn.post(&format!("/people/{}/erase", ada.id()), &[]).await.done();
        for table in ["reminder", "mail", "reach", "reminder_choice"] {
            let left = club.find(&format!("SELECT CAST(COUNT(*) AS TEXT) FROM {table}")).await;
            assert_eq!(left, ["0"], "{table}");
        }
        assert_eq!(club.first_break().await, None);
        let log = club.find("SELECT after FROM activity WHERE after LIKE '%millrace.example%'").await;
        assert_eq!(log, Vec::<String>::new(), "an address is in no log");
    }
}
