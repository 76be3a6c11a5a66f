//! Reminders on phones: a phone asks, is sent one message a day that it alone can read, and is left alone when its push service or its
//! person says so. Against a push service of the tests' own, read by another library.

use crate::reminders::lend;
use crate::support::*;
use sandbucket::club::calendar::{Day, Zone};
use sandbucket::tasks::{self, remind};

/// Decides that day and sends what waits, at that time in the hall.
async fn at(club: &TestClub, day: &str, time: &str) {
    let zone = Zone::named("Europe/London").expect("a zone");
    let day = Day::parse(day).expect("a day");
    club.clock.set(zone.at(day, time).expect("a time"));
    remind::run(&club.app).await.expect("reminded");
}

/// The phone of this browser asks, with keys of that number.
async fn ask(browser: &Browser, endpoint: &str, number: u8) -> Answer {
    let phone = APhone::new(number);
    let page = browser.get("/me/reminders").await;
    let (p256dh, auth) = (phone.p256dh(), phone.auth());
    let typed = [
        ("endpoint", endpoint),
        ("p256dh", p256dh.as_str()),
        ("auth", auth.as_str()),
    ];
    browser.submit(&page, "form[data-push]", &typed).await
}

/// A club whose pages come by https; Ada has P-001, due on Thu 26 Nov, and her phone asked.
async fn evening(club: TestClub) -> (TestClub, PushService, Browser) {
    let mut club = club;
    club.app = club.with_settings(may_push);
    club.fit_packs(1).await;
    let ada = club.borrower("Ada").await;
    lend(&club, &ada, "P-001", "2026-11-26").await;
    let service = PushService::open().await;
    let asked = ask(&ada, &service.endpoint("ada"), 7).await;
    assert_eq!(asked.done(), "/me/reminders?kept=phone");
    (club, service, ada)
}

/// State and tries of what went to phones, and what was answered.
async fn outbox(club: &TestClub) -> Vec<String> {
    club.find("SELECT state || ' ' || CAST(tries AS TEXT) || ' ' || answer FROM mail WHERE channel = 'push' ORDER BY on_day")
        .await
}

async fn count(club: &TestClub, what: &str) -> String {
    let sql = format!("SELECT CAST(COUNT(*) AS TEXT) FROM {what}");
    club.find(&sql).await.remove(0)
}

on_both! {
    async fn a_phone_that_asked_is_sent_one_message_a_day_which_it_alone_reads(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        at(&club, "2026-11-27", "08:00").await;
        remind::run(&club.app).await.expect("nothing more");
        let pushed = service.pushed();
        assert_eq!(pushed.len(), 1);
        let (sent, id) = (&pushed[0], club.ids("mail WHERE channel = 'push'").await[0]);
        assert_eq!(sent.path, "/send/ada");
        for (name, value) in [("ttl", "86400"), ("urgency", "normal"), ("content-encoding", "aes128gcm"), ("topic", &id.simple().to_string())] {
            assert_eq!(sent.headers[name], value, "{name}");
        }
        let public = club.find("SELECT public_key FROM push_key").await.remove(0);
        let by = &sent.headers["authorization"];
        assert!(by.starts_with("vapid t=") && by.ends_with(&format!(", k={public}")), "{by}");
        let read = APhone::new(7).reads(sent);
        assert_eq!(read["title"], "Millrace Robotics Club");
        assert_eq!(read["body"], "Loan overdue: 1.");
        assert_eq!(read["href"], format!("/mails/{id}"));
        let ada = club.signed_in(ada.id()).await;
        let page = ada.get(&format!("/mails/{id}")).await;
        assert!(page.one("pre").contains("P-001: loan overdue"), "{}", page.text);
        let (mine, queries) = club.queries_of(ada.get("/me/reminders")).await;
        assert!(queries <= 3 && mine.one("main").contains("last reminded"), "{}", mine.text);
        let private = club.find("SELECT private_key FROM push_key").await.remove(0);
        assert!(mine.text.contains(&public) && !mine.text.contains(&private));
        assert_eq!(count(&club, "activity WHERE after LIKE '%/send/%'").await, "0", "an address is in no log");
        assert_eq!(outbox(&club).await, ["sent 1 201 Created"]);
        assert_eq!(club.first_break().await, None);
    }

    async fn a_phone_whose_push_service_moved_it_is_reminded_there_and_one_that_never_asked_is_not(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        let phone = APhone::new(8);
        let (there, p256dh, auth) = (service.endpoint("moved"), phone.p256dh(), phone.auth());
        // As its browser's worker sends it by itself.
        let moved = [("endpoint", there.as_str()), ("p256dh", &p256dh), ("auth", &auth), ("moved", "yes")];
        let other = club.signed_in(ada.id()).await;
        assert_eq!(other.post("/me/phones", &moved).await.problems(), ["This phone did not ask to be reminded."]);
        ada.post("/me/phones", &moved).await.done();
        at(&club, "2026-11-27", "08:00").await;
        let pushed = service.pushed();
        assert_eq!((pushed.len(), pushed[0].path.as_str()), (1, "/send/moved"));
        assert_eq!(phone.reads(&pushed[0])["body"], "Loan overdue: 1.");
    }

    async fn a_name_that_leads_into_a_private_network_is_not_connected_to(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        let phone = APhone::new(8);
        let (p256dh, auth) = (phone.p256dh(), phone.auth());
        // Looked up as any name is, and 10.0.0.1 without asking anybody: inet_aton(3).
        let asked = [("endpoint", "https://10.0x1/send"), ("p256dh", &p256dh), ("auth", &auth)];
        ada.post("/me/phones", &asked).await.done();
        at(&club, "2026-11-27", "08:00").await;
        // Whatever a connection comes to has other words.
        assert_eq!(outbox(&club).await, ["waiting 1 The push service lies in a network that reminders may not be sent to."]);
        assert_eq!(service.pushed().len(), 0);
    }

    async fn what_was_sent_is_kept_for_two_years(club: TestClub) {
        let (club, _service, _ada) = evening(club).await;
        at(&club, "2026-11-27", "08:00").await;
        for (day, kept) in [("2028-11-25", true), ("2028-11-28", false)] {
            club.clock.set(Zone::utc().at(Day::parse(day).expect("a day"), "08:01").expect("a time"));
            tasks::sweep::sweep(&club.app).await.expect("swept");
            for table in ["mail", "push_done", "reminder"] {
                assert_eq!(count(&club, table).await != "0", kept, "{table} on {day}");
            }
        }
    }

    async fn a_phone_that_its_push_service_knows_no_more_is_ended_and_stands_on_its_person(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        service.says(&[Says::Gone]);
        at(&club, "2026-11-27", "08:00").await;
        assert_eq!(outbox(&club).await, ["dead 1 410 Gone"]);
        let quinn = club.quartermaster().await;
        let page = quinn.get(&format!("/people/{}", ada.id())).await;
        assert!(page.one("main").contains("A phone of theirs is not reminded any more. Its push service answered: 410 Gone"), "{}", page.text);
        let ada = club.signed_in(ada.id()).await;
        assert!(ada.get("/me/reminders").await.one("main").contains("Not reminded any more since"));
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-28'").await.expect("extended");
        at(&club, "2026-11-29", "08:00").await;
        assert_eq!(service.pushed().len(), 1, "nothing more goes there");
        // Asked for anew, at another address: what had ended is put right.
        assert_eq!(ask(&ada, &service.endpoint("ada-again"), 8).await.done(), "/me/reminders?kept=phone");
        assert_eq!(club.find("SELECT ended_words FROM phone").await, [""]);
        assert!(!quinn.get(&format!("/people/{}", ada.id())).await.text.contains("A phone of theirs"));
    }

    async fn a_push_service_is_left_alone_as_long_as_it_asks_and_who_has_it_gets_it_once(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        let second = club.signed_in(ada.id()).await;
        ask(&second, &service.endpoint("second"), 9).await.done();
        service.says(&[Says::NotNow("3600"), Says::Takes]);
        at(&club, "2026-11-27", "08:00").await;
        assert_eq!(service.pushed().len(), 2, "a person's phones get the same");
        assert_eq!(outbox(&club).await, ["waiting 1 429 Too Many Requests"]);
        at(&club, "2026-11-27", "08:59").await;
        assert_eq!(service.pushed().len(), 2);
        at(&club, "2026-11-27", "09:00").await;
        let paths: Vec<String> = service.pushed().into_iter().map(|one| one.path).collect();
        assert_eq!(paths, ["/send/ada", "/send/second", "/send/ada"]);
        assert_eq!(outbox(&club).await, ["sent 2 201 Created"]);
    }

    async fn what_breaks_is_tried_again_and_what_is_too_old_or_refused_is_given_up(club: TestClub) {
        let (club, service, _) = evening(club).await;
        service.says(&[Says::TakesAndBreaks, Says::Takes]);
        at(&club, "2026-11-27", "08:00").await;
        at(&club, "2026-11-27", "08:03").await;
        let read: Vec<_> = service.pushed().iter().map(|one| APhone::new(7).reads(one)).collect();
        assert_eq!(read.len(), 2, "taken, unknown to us, and sent again");
        assert_eq!(read[0]["tag"], read[1]["tag"], "on the phone it takes its own place");
        for (day, says, stands) in [("28", Says::Refuses, "dead 1 403 Forbidden"), ("29", Says::SendsOn, "dead 1 307 Temporary Redirect")] {
            club.behind_the_back(&format!("UPDATE loan SET due_on = '2026-11-{}'", day.parse::<u8>().expect("a day") - 1)).await.expect("extended");
            service.says(&[says]);
            at(&club, &format!("2026-11-{day}"), "08:00").await;
            assert_eq!(outbox(&club).await.last().map(String::as_str), Some(stands));
        }
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-29'").await.expect("extended");
        service.usually(Says::NotNow("80000"));
        at(&club, "2026-11-30", "08:00").await;
        let sent = service.pushed().len();
        club.behind_the_back("UPDATE loan SET due_on = '2026-12-31'").await.expect("extended");
        at(&club, "2026-12-01", "09:00").await;
        assert_eq!(service.pushed().len(), sent + 1);
        assert_eq!(outbox(&club).await.last().map(String::as_str), Some("dead 2 429 Too Many Requests"), "older than a day");
    }

    async fn quiet_hours_and_what_was_chosen_hold_for_phones_too(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        let ada = club.signed_in(ada.id()).await;
        let page = ada.get("/me/reminders").await;
        assert_eq!(page.select("input[name^=push_]").len(), 11);
        ada.submit(&page, "form[action='/me/reminders']", &[("quiet_from", "07:00"), ("quiet_to", "10:00")]).await.done();
        at(&club, "2026-11-27", "08:00").await;
        assert_eq!((service.pushed().len(), outbox(&club).await), (0, vec!["waiting 0 ".to_owned()]));
        at(&club, "2026-11-27", "10:00").await;
        assert_eq!(service.pushed().len(), 1);
        // Loans overdue by mail alone: phones are not asked.
        ada.post("/me/reminders", &[("has_push", "yes"), ("mail_loan_overdue", "yes"), ("key", "less")]).await.done();
        assert_eq!(count(&club, "reminder_choice WHERE by_push = TRUE").await, "0");
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-27'").await.expect("extended");
        at(&club, "2026-11-28", "10:00").await;
        assert_eq!(service.pushed().len(), 1);
        // A form that did not ask about phones leaves what was chosen.
        ada.post("/me/reminders", &[("mail_low", "yes"), ("key", "none")]).await.done();
        assert_eq!(count(&club, "reminder_choice WHERE by_push = TRUE").await, "0");
    }

    async fn signing_out_ending_deactivating_and_erasing_end_it(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        let live = || count(&club, "phone");
        ada.post("/sign-out", &[]).await;
        assert_eq!(live().await, "0", "signed out on that phone");
        let (phone, desk) = (club.signed_in(ada.id()).await, club.signed_in(ada.id()).await);
        ask(&phone, &service.endpoint("ada"), 7).await.done();
        desk.post("/sign-out", &[]).await;
        assert_eq!(live().await, "1", "another device signs out");
        let id = club.ids("phone").await[0];
        let ben = club.member("Ben").await;
        ben.post(&format!("/me/phones/{id}/end"), &[("key", "not-his")]).await.done();
        assert_eq!(live().await, "1", "somebody else's stays");
        // In the same browser somebody else signs in and asks: it is theirs from then on.
        ask(&ben, &service.endpoint("ada"), 7).await.done();
        assert_eq!(club.find("SELECT p.name FROM phone ph JOIN person p ON p.id = ph.person_id").await, ["Ben"]);
        ask(&phone, &service.endpoint("ada"), 7).await.done();
        let id = club.ids("phone").await[0];
        phone.post(&format!("/me/phones/{id}/end"), &[("key", "end")]).await.done();
        assert_eq!(live().await, "0");
        ask(&phone, &service.endpoint("ada"), 7).await.done();
        club.behind_the_back("UPDATE lent SET closed_ms = 1, outcome = 'back'").await.expect("back");
        let quinn = club.quartermaster().await;
        quinn.post(&format!("/people/{}/deactivate", ada.id()), &[]).await.done();
        assert_eq!(live().await, "0");
        ask(&ben, &service.endpoint("ben"), 9).await.done();
        quinn.post(&format!("/people/{}/erase", ben.id()), &[]).await.done();
        assert_eq!(live().await, "0");
    }

    async fn an_address_that_leads_elsewhere_keys_that_are_none_and_a_sixth_phone_are_refused(club: TestClub) {
        let (club, service, ada) = evening(club).await;
        let fine = service.endpoint("ada");
        for endpoint in ["http://push.example/x", "https://10.0.0.1/x", "https://packs.example/me", "https://localhost/x", ""] {
            let refused = ask_with(&ada, endpoint, &APhone::new(7).p256dh(), "x").await;
            assert_eq!(refused.status, 422, "{endpoint}");
            assert!(refused.one("main").contains("is not one that reminders may be sent to"), "{}", refused.text);
        }
        let refused = ask_with(&ada, &fine, "BAAA", "x").await;
        assert!(refused.status == 422 && refused.text.contains("keys can&#39;t be read") || refused.text.contains("keys can't be read"), "{}", refused.text);
        for number in 1..=5 {
            let other = club.signed_in(ada.id()).await;
            let asked = ask(&other, &service.endpoint(&number.to_string()), number).await;
            assert_eq!(asked.status, if number < 5 { 303 } else { 422 }, "{}", asked.text);
        }
        assert_eq!(count(&club, "phone").await, "5");
        // Nothing is sent where it may not be, whatever stands in the table.
        let strict = club.with_settings(|settings| settings.push_networks = Vec::new());
        let zone = Zone::named("Europe/London").expect("a zone");
        club.clock.set(zone.at(Day::parse("2026-11-27").expect("a day"), "08:00").expect("a time"));
        remind::run(&strict).await.expect("refused");
        assert_eq!(service.pushed().len(), 0);
        assert_eq!(outbox(&club).await, ["dead 1 The address of your phone's push service is not one that reminders may be sent to."]);
    }

    async fn a_push_service_whose_certificate_nobody_vouches_for_is_sent_nothing(club: TestClub) {
        let (club, service, _) = evening(club).await;
        let strict = club.with_settings(|settings| settings.authorities = None);
        let zone = Zone::named("Europe/London").expect("a zone");
        club.clock.set(zone.at(Day::parse("2026-11-27").expect("a day"), "08:00").expect("a time"));
        remind::run(&strict).await.expect("tried");
        let stands = outbox(&club).await.remove(0);
        assert!(stands.starts_with("waiting 1 ") && stands.contains("certificate"), "{stands}");
        assert_eq!(service.pushed().len(), 0);
        at(&club, "2026-11-27", "08:03").await;
        assert_eq!(service.pushed().len(), 1);
    }

    async fn without_https_the_page_says_why_it_is_not_offered(club: TestClub) {
        let mut club = club;
        club.app = club.with_settings(|settings| settings.public_url = Some("http://packs.example".to_owned()));
        let ada = club.member("Ada").await;
        let page = ada.get("/me/reminders").await;
        assert!(page.one("main").contains("only where it comes by https"), "{}", page.text);
        assert!(page.select("form[data-push]").is_empty() && page.select("input[name^=push_]").is_empty());
        club.app = club.with_settings(|settings| settings.public_url = Some("https://packs.example".to_owned()));
        let page = club.member("Ada").await.get("/me/reminders").await;
        assert!(page.one("noscript").contains("needs JavaScript"), "{}", page.text);
    }
}

async fn ask_with(browser: &Browser, endpoint: &str, p256dh: &str, key: &str) -> Answer {
    let auth = APhone::new(7).auth();
    let fields = [
        ("endpoint", endpoint),
        ("p256dh", p256dh),
        ("auth", &auth),
        ("key", key),
    ];
    browser.post("/me/phones", &fields).await
}
