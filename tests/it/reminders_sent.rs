//! Mail over a real conversation with a mail server, read back by another library: what goes out, what is tried again, what is given up.

use crate::book_actions::{holds, opened};
use crate::reminders::lend;
use crate::support::*;
use mail_parser::{HeaderValue, Message, MessageParser};
use sandbucket::app::App;
use sandbucket::club::calendar::{Day, Zone};
use sandbucket::tasks::remind;

/// So late in the hall on that day.
fn at(club: &TestClub, day: &str, time: &str) {
    let zone = Zone::named("Europe/London").expect("a zone");
    let day = Day::parse(day).expect("a day");
    club.clock.set(zone.at(day, time).expect("a time"));
}

/// Ada has P-001, due on Thu 26 Nov; P-002 and P-003 were never read. Everybody has an address.
async fn evening(club: &TestClub) -> Browser {
    club.fit_packs(1).await;
    club.more_packs(2).await;
    let ada = club.borrower("Ada").await;
    lend(club, &ada, "P-001", "2026-11-26").await;
    club.behind_the_back(
        "INSERT INTO reach (person_id, address, dead_words) SELECT id, LOWER(name) || '@millrace.example', '' FROM person",
    )
    .await
    .expect("addresses");
    ada
}

fn posting(club: &TestClub, post: &Post) -> App {
    club.with_settings(|settings| {
        settings.smtp_url = Some(post.url());
        settings.public_url = Some("https://packs.example".to_owned());
    })
}

fn parsed(mail: &Received) -> Message<'_> {
    MessageParser::default()
        .parse(mail.data.as_bytes())
        .expect("a mail")
}

fn header<'a>(mail: &'a Message<'_>, name: &'a str) -> Option<&'a str> {
    mail.header_raw(name).map(str::trim)
}

/// `state tries answer` of each mail, by whom it is to.
async fn outbox(club: &TestClub) -> Vec<String> {
    club.find(
        "SELECT p.name || ' ' || m.state || ' ' || CAST(m.tries AS TEXT) FROM mail m JOIN person p ON p.id = m.person_id ORDER BY m.on_day, p.name",
    )
    .await
}

const TO_CONFIRM: &str = "SELECT CAST(COUNT(*) AS TEXT) FROM mail WHERE is_to_confirm = TRUE";

on_both! {
    async fn a_mail_says_in_text_and_html_what_is_due_and_how_to_end_what_may_be_ended(club: TestClub) {
        evening(&club).await;
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-27", "08:00");
        remind::run(&app).await.expect("sent");
        let mails = post.received();
        assert_eq!(mails.len(), 2, "one for Ada, one for Quinn");
        let of = |to: &str| mails.iter().find(|mail| mail.to == to).expect("a mail to them");
        let (ada, quinn) = (of("ada@millrace.example"), of("quinn@millrace.example"));
        assert_eq!(ada.from, "sandbucket@packs.example");
        let mail = parsed(ada);
        assert_eq!(mail.subject(), Some("Millrace Robotics Club: P-001: loan overdue"));
        let to = mail.to().and_then(|to| to.first()).expect("to somebody");
        assert_eq!((to.name(), to.address()), (Some("Ada"), Some("ada@millrace.example")));
        assert!(matches!(mail.header("Date"), Some(HeaderValue::DateTime(_))));
        assert_eq!(header(&mail, "Auto-Submitted"), Some("auto-generated"));
        assert_eq!(header(&mail, "List-Unsubscribe"), None, "nothing of it may be ended");
        let text = mail.body_text(0).expect("plain text");
        assert!(text.contains("It was due back on Thu 26 Nov 2026."), "{text}");
        assert!(text.contains("https://packs.example/loans/"), "{text}");
        let html = mail.body_html(0).expect("HTML");
        assert!(html.contains("<strong>P-001: loan overdue</strong>"), "{html}");
        let mail = parsed(quinn);
        assert_eq!(mail.subject(), Some("Millrace Robotics Club: P-002: first check, and 1 more"));
        let link = header(&mail, "List-Unsubscribe").expect("a way out");
        assert_eq!(header(&mail, "List-Unsubscribe-Post"), Some("List-Unsubscribe=One-Click"));
        let link = link.trim_start_matches("<https://packs.example").trim_end_matches('>');
        assert!(mail.body_text(0).expect("text").contains(&format!("https://packs.example{link}?kind=recheck")));
        let token = link.trim_start_matches("/unsubscribe/");
        assert_eq!(token.len(), 64);
        let kept = club.find("SELECT token_hash FROM mail_token").await;
        assert!(!kept.contains(&token.to_owned()), "a digest alone is kept");
        let ids = club.find("SELECT message_id FROM mail ORDER BY message_id").await;
        let mut told: Vec<String> = mails.iter().map(|mail| parsed(mail).message_id().expect("an id").to_owned()).collect();
        told.sort();
        assert_eq!(told, ids);
        remind::run(&app).await.expect("nothing to do");
        assert_eq!(post.received().len(), 2);
    }

    async fn one_click_ends_what_may_be_ended_and_looking_ends_nothing(club: TestClub) {
        evening(&club).await;
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-27", "08:00");
        remind::run(&app).await.expect("sent");
        let mails = post.received();
        let quinn = mails.iter().find(|mail| mail.to.starts_with("quinn")).expect("a mail");
        let mail = parsed(quinn);
        let link = header(&mail, "List-Unsubscribe").expect("a way out");
        let link = link.trim_start_matches("<https://packs.example").trim_end_matches('>');
        let stranger = club.visitor();
        let chosen = || club.find("SELECT kind FROM reminder_choice WHERE by_mail = FALSE");
        let page = stranger.get(link).await;
        assert_eq!(page.status, 200, "{}", page.text);
        assert!(page.one("main").contains("Volts to read"));
        assert_eq!(chosen().await, Vec::<String>::new(), "a page that was fetched ends nothing");
        // As RFC 8058, 3.2 shows it.
        let done = stranger.post(link, &[("List-Unsubscribe", "One-Click")]).await;
        assert_eq!(done.status, 200, "{}", done.text);
        assert_eq!(chosen().await, ["recheck"]);
        stranger.post(link, &[]).await;
        assert_eq!(chosen().await, ["recheck"], "twice is as once");
        assert_eq!(stranger.post("/unsubscribe/0000", &[]).await.status, 404);
        // A mail program that is a page of another site asks from there.
        for from in [("origin", "https://mail.example"), ("origin", "null"), ("sec-fetch-site", "cross-site")] {
            assert_eq!(stranger.post_with(link, &[from], &[("List-Unsubscribe", "One-Click")]).await.status, 200, "{from:?}");
        }
        assert_eq!(stranger.post(&format!("{link}?kind=nothing"), &[]).await.status, 404);
        let of_week = stranger.get(&format!("{link}?kind=summary")).await;
        assert!(of_week.one("main").contains("There is nothing to end"), "not in this mail: {}", of_week.text);
        // A new pack: decided, kept, and not mailed.
        club.more_packs(1).await;
        at(&club, "2026-11-28", "08:00");
        remind::run(&app).await.expect("decided");
        assert_eq!(club.find("SELECT thing FROM reminder WHERE told_on = '2026-11-28' AND by_mail = FALSE").await, ["pack:P-004"]);
        assert_eq!(post.received().len(), 2);
    }

    async fn one_click_ends_all_optional_kinds_of_a_mail_a_link_one_and_neither_the_must(club: TestClub) {
        let ada = evening(&club).await;
        ada.post("/packs/P-002/condition", &[("seen", "wrap_torn")]).await.done();
        club.behind_the_back("UPDATE loan SET borrower_id = (SELECT id FROM person WHERE name = 'Quinn')").await.expect("Quinn has P-001");
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-27", "08:00");
        remind::run(&app).await.expect("sent");
        let mails = post.received();
        let mail = parsed(mails.iter().find(|mail| mail.to.starts_with("quinn")).expect("a mail"));
        let link = header(&mail, "List-Unsubscribe").expect("a way out");
        let link = link.trim_start_matches("<https://packs.example").trim_end_matches('>');
        let text = mail.body_text(0).expect("text");
        assert!(text.contains("P-001: loan overdue") && !text.contains("?kind=loan_overdue"), "{text}");
        let of_report = format!("{link}?kind=report");
        assert!(text.contains(&of_report) && text.contains("?kind=recheck"), "{text}");
        let chosen = || club.find("SELECT kind FROM reminder_choice WHERE by_mail = FALSE ORDER BY kind");
        let stranger = club.visitor();
        assert_eq!(stranger.post(&of_report, &[]).await.status, 200);
        assert_eq!(chosen().await, ["report"]);
        assert_eq!(stranger.post(link, &[("List-Unsubscribe", "One-Click")]).await.status, 200);
        assert_eq!(chosen().await, ["recheck", "report"], "not the loan");
    }

    async fn a_new_address_gets_what_may_be_ended_only_once_its_reader_said_that_it_is_theirs(club: TestClub) {
        let (mut club, post) = (club, Post::open().await);
        club.app = posting(&club, &post);
        club.fit_packs(1).await;
        club.more_packs(1).await;
        let (quinn, stranger) = (club.quartermaster().await, club.visitor());
        let keeps = async |address: &str| {
            let page = quinn.get("/me/reminders").await;
            quinn.submit(&page, "form[action='/me/reminders']", &[("address", address)]).await.done();
            remind::run(&club.app).await.expect("sent");
            let mails = post.received();
            let mail = mails.last().expect("a mail");
            assert_eq!(mail.to, address);
            let mail = parsed(mail);
            assert_eq!(mail.subject(), Some("Millrace Robotics Club: is this your address?"));
            let text = mail.body_text(0).expect("plain text").into_owned();
            let link = text.lines().find_map(|line| line.strip_prefix("https://packs.example")).expect("a link");
            link.to_owned()
        };
        let asked = || club.find("SELECT address FROM reach WHERE unconfirmed_ms IS NOT NULL");
        let first = keeps("quinn@millrace.example").await;
        at(&club, "2026-11-26", "08:00");
        remind::run(&club.app).await.expect("decided");
        assert_eq!(post.received().len(), 1, "a first check is told on pages alone");
        assert!(quinn.get("/me/reminders").await.one("main").contains("Your address is not confirmed yet."));
        let olive = club.organiser().await;
        let on_their_page = async || olive.get(&format!("/people/{}", quinn.id())).await.one("main").contains("Their address for mail is not confirmed yet.");
        assert!(on_their_page().await);
        assert!(stranger.get(&first).await.one("main").contains("Is this your address?"));
        assert_eq!(asked().await.len(), 1, "a page that was fetched confirms nothing");
        assert_eq!(stranger.post(&first, &[]).await.status, 200);
        assert_eq!(asked().await, Vec::<String>::new());
        assert!(!on_their_page().await);
        assert!(stranger.post(&first, &[]).await.one("main").contains("Confirmed"), "twice is as once");
        assert!(stranger.get(&first).await.one("main").contains("Confirmed"));
        // What came meanwhile and is still due goes now, once.
        for day in ["2026-11-27", "2026-11-28"] {
            at(&club, day, "08:00");
            remind::run(&club.app).await.expect("decided");
        }
        let mails = post.received();
        assert_eq!(mails.len(), 2);
        assert!(parsed(&mails[1]).body_text(0).expect("text").contains("P-002: first check"));
        // Another address is asked about anew, by a link of its own that ends.
        let quiet = async |address: &str| {
            let hours = [("address", address), ("quiet_from", "21:00"), ("quiet_to", "07:00"), ("key", &sandbucket::ids::new_token())];
            quinn.post("/me/reminders", &hours).await
        };
        let second = keeps("q@millrace.example").await;
        assert_eq!(asked().await, ["q@millrace.example"]);
        quiet("q@millrace.example").await.done();
        assert_eq!(club.find(TO_CONFIRM).await, ["2"], "other quiet hours ask nothing");
        assert_eq!(stranger.get(&first).await.status, 404);
        assert_eq!(stranger.get(&second).await.status, 200);
        club.later_by_days(7);
        assert_eq!(stranger.post(&second, &[]).await.status, 404);
        assert_eq!(asked().await.len(), 1);
        // At the most of a day the same address is kept all the same, and no other.
        for address in ["a@millrace.example", "b@millrace.example", "c@millrace.example", "d@millrace.example", "e@millrace.example"] {
            quiet(address).await.done();
        }
        club.later_by_minutes(61);
        quiet("e@millrace.example").await.done();
        assert!(quiet("f@millrace.example").await.is_refused());
        assert_eq!(club.find(TO_CONFIRM).await, ["7"]);
        // What asks hides no mail that was given up.
        club.behind_the_back("UPDATE mail SET state = 'dead', answer = 'box is full', address = 'e@millrace.example' WHERE is_to_confirm = FALSE").await.expect("given up");
        club.behind_the_back("UPDATE reach SET kept_ms = NULL").await.expect("kept before that");
        let page = quinn.get(&format!("/people/{}", quinn.id())).await;
        assert!(page.one("main").contains("box is full"), "{}", page.text);
    }

    async fn a_pack_is_told_once_with_each_reason_and_each_kind_keeps_its_way_out(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        club.later_by_minutes(1);
        quinn.post("/packs/P-001/volts", &[("volts_line", "4.18 4.18 4.18"), ("rested", "rested_an_hour")]).await.done();
        club.behind_the_back("INSERT INTO reach (person_id, address, dead_words) SELECT id, 'quinn@millrace.example', '' FROM person WHERE name = 'Quinn'").await.expect("an address");
        let post = Post::open().await;
        let app = posting(&club, &post);
        // Above its band, and not looked at for 90 days: a Thursday, on which no week is told.
        at(&club, "2027-02-25", "08:00");
        remind::run(&app).await.expect("sent");
        let mails = post.received();
        let mail = parsed(&mails[0]);
        let (text, html) = (mail.body_text(0).expect("text"), mail.body_html(0).expect("HTML"));
        let title = "P-001: above its storage band, not looked at";
        let html = html.split("<body>").last().expect("its body");
        for body in [&*text, html] {
            assert_eq!((body.matches("P-001: ").count(), body.matches(title).count()), (1, 1), "{body}");
            assert_eq!(body.matches("https://packs.example/packs/P-001").count(), 1, "{body}");
            for kind in ["storage_overdue", "recheck"] {
                assert_eq!(body.matches(&format!("?kind={kind}")).count(), 1, "{body}");
            }
        }
        let told = club.find("SELECT CAST(COUNT(*) AS TEXT) FROM reminder WHERE thing = 'pack:P-001'").await;
        assert_eq!((told, mails.len()), (vec!["2".to_owned()], 1), "two reminders in a mail");
        assert!(mail.subject().is_some_and(|subject| subject.contains("P-001: ")), "{:?}", mail.subject());
    }

    async fn what_one_has_and_must_put_right_comes_by_mail_whatever_was_chosen(club: TestClub) {
        let ada = evening(&club).await;
        let page = ada.get("/me/reminders").await;
        let form = page.select("input[type=checkbox]").len();
        assert_eq!(form, 17, "eleven kinds by mail, the six that have a day in the calendar");
        let address = [("address", "ada@millrace.example"), ("key", "none")];
        ada.post("/me/reminders", &address).await.done();
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-26", "08:00");
        remind::run(&app).await.expect("decided");
        assert!(!post.received().iter().any(|mail| mail.to.starts_with("ada")), "due soon may be silenced");
        at(&club, "2026-11-27", "08:00");
        remind::run(&app).await.expect("decided");
        assert!(post.received().iter().any(|mail| mail.to.starts_with("ada")), "overdue may not");
    }

    async fn what_is_refused_for_now_is_tried_again_later_and_later_under_the_same_id(club: TestClub) {
        evening(&club).await;
        club.behind_the_back("DELETE FROM reach WHERE address LIKE 'quinn%'").await.expect("Ada alone");
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-27", "08:00");
        post.plays(&[Play::NotNow, Play::BreaksInMail, Play::TurnsAway, Play::TakesAndBreaks]);
        for tries in 1..=4 {
            remind::run(&app).await.expect("tried");
            assert_eq!(post.connections(), tries);
            remind::run(&app).await.expect("too early");
            assert_eq!(post.connections(), tries, "it waits first");
            club.later_by_minutes(3 << tries);
        }
        remind::run(&app).await.expect("tried");
        assert_eq!(outbox(&club).await, ["Ada sent 5", "Quinn held 0"]);
        let mails = post.received();
        assert_eq!(mails.len(), 2, "taken, unknown to us, and taken again");
        assert_eq!(parsed(&mails[0]).message_id(), parsed(&mails[1]).message_id());
        let (first, second) = (parsed(&mails[0]), parsed(&mails[1]));
        assert_eq!(first.body_text(0), second.body_text(0));
    }

    async fn a_mail_server_that_says_nothing_is_cut_and_asked_for_one_mail_at_a_time(club: TestClub) {
        evening(&club).await;
        let post = Post::open().await;
        let app = club.with_settings(|settings| {
            settings.smtp_url = Some(post.url());
            settings.mail_lease = 1;
        });
        at(&club, "2026-11-27", "08:00");
        post.usually(Play::SaysNothing);
        for tried in 1..=2 {
            remind::run(&app).await.expect("tried");
            let tries = club.find("SELECT CAST(SUM(tries) AS TEXT) FROM mail WHERE state = 'waiting'").await;
            assert_eq!((post.connections(), tries), (tried, vec![tried.to_string()]), "the other waits for the next time");
        }
        assert_eq!(club.find("SELECT DISTINCT answer FROM mail").await, ["The mail server did not answer in time."]);
        post.usually(Play::Takes);
        club.later_by_minutes(3);
        remind::run(&app).await.expect("sent");
        assert_eq!((outbox(&club).await, post.received().len()), (vec!["Ada sent 2".to_owned(), "Quinn sent 2".to_owned()], 2));
    }

    async fn a_box_that_is_not_there_is_given_up_at_once_and_stands_on_its_person(club: TestClub) {
        let ada = evening(&club).await;
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-27", "08:00");
        post.usually(Play::NoSuchBox);
        remind::run(&app).await.expect("tried");
        assert_eq!(outbox(&club).await, ["Ada dead 1", "Quinn dead 1"]);
        let olive = club.organiser().await;
        let page = olive.get(&format!("/people/{}", ada.id())).await;
        assert!(page.one("main").contains("Mail does not reach them.") && page.text.contains("no such box"), "{}", page.text);
        let ada = club.member("Ada").await;
        assert!(ada.get("/me/reminders").await.one("main").contains("Mail does not reach you."));
        // Nothing more goes there, until the address is kept anew.
        let held = "SELECT DISTINCT state FROM mail WHERE on_day > '2026-11-27'";
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-28'").await.expect("extended");
        at(&club, "2026-11-29", "08:00");
        remind::run(&app).await.expect("decided");
        assert_eq!(club.find(held).await, ["held"]);
        post.usually(Play::Takes);
        let ada = club.member("Ada").await;
        ada.post("/me/reminders", &[("address", "ada@millrace.example"), ("key", "again")]).await.done();
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-29'").await.expect("extended");
        at(&club, "2026-11-30", "08:00");
        remind::run(&app).await.expect("sent");
        assert_eq!(post.received().last().map(|mail| mail.to.clone()).as_deref(), Some("ada@millrace.example"));
    }

    async fn a_refused_sender_or_text_is_nobodys_dead_address(club: TestClub) {
        evening(&club).await;
        let post = Post::open().await;
        let app = posting(&club, &post);
        for (day, play) in [("2026-11-27", Play::RefusesSender), ("2026-11-28", Play::RefusesMail)] {
            post.usually(play);
            at(&club, day, "08:00");
            remind::run(&app).await.expect("tried");
            assert!(outbox(&club).await.iter().all(|mail| mail.ends_with("dead 1")), "{:?}", outbox(&club).await);
            assert_eq!(club.find("SELECT address FROM reach WHERE dead_ms IS NOT NULL").await, Vec::<String>::new(), "{play:?}");
        }
        // What is still due goes the next day, once the server takes it.
        post.usually(Play::Takes);
        at(&club, "2026-11-29", "08:00");
        remind::run(&app).await.expect("sent");
        let to: Vec<String> = post.received().into_iter().map(|mail| mail.to).collect();
        assert_eq!(to.len(), 2, "{to:?}");
    }

    async fn a_mail_server_that_is_away_for_a_night_loses_no_mail_and_one_that_is_away_for_days_does(club: TestClub) {
        evening(&club).await;
        let post = Post::open().await;
        let app = posting(&club, &post);
        post.usually(Play::TurnsAway);
        at(&club, "2026-11-27", "08:00");
        for _ in 0..40 {
            remind::run(&app).await.expect("tried");
            club.later_by_minutes(30);
        }
        let tried = outbox(&club).await;
        assert!(tried.iter().all(|mail| mail.contains(" waiting ")), "after 20 hours: {tried:?}");
        post.usually(Play::Takes);
        club.later_by_minutes(300);
        remind::run(&app).await.expect("sent");
        remind::run(&app).await.expect("sent");
        assert_eq!(outbox(&club).await.iter().filter(|mail| mail.contains(" sent ")).count(), tried.len(), "{:?}", outbox(&club).await);
        post.usually(Play::TurnsAway);
        at(&club, "2026-11-30", "08:00");
        club.behind_the_back("UPDATE loan SET due_on = '2026-11-29'").await.expect("overdue");
        remind::run(&app).await.expect("decided");
        for _ in 0..60 {
            club.later_by_minutes(120);
            remind::run(&app).await.expect("tried");
        }
        let told = outbox(&club).await;
        assert!(told.iter().any(|mail| mail.contains(" dead ")), "nobody waits for ever: {told:?}");
    }

    async fn a_sign_in_that_fails_is_nobodys_dead_address_and_tries_come_to_an_end(club: TestClub) {
        evening(&club).await;
        club.behind_the_back("UPDATE club SET reminders = '{\"tries\":2}'").await.expect("two tries");
        let post = Post::open().await;
        let app = posting(&club, &post);
        post.usually(Play::RefusesSignIn);
        at(&club, "2026-11-27", "08:00");
        remind::run(&app).await.expect("tried");
        assert_eq!(outbox(&club).await, ["Ada waiting 1", "Quinn waiting 1"]);
        club.later_by_minutes(5);
        remind::run(&app).await.expect("tried");
        assert_eq!(outbox(&club).await, ["Ada dead 2", "Quinn dead 2"]);
        assert_eq!(club.find("SELECT address FROM reach WHERE dead_ms IS NOT NULL").await, Vec::<String>::new());
        // What is still due goes the next day that is decided, once the server takes it, and once only.
        post.usually(Play::Takes);
        for day in ["2026-11-28", "2026-11-29"] {
            at(&club, day, "08:00");
            remind::run(&app).await.expect("sent");
            assert_eq!(outbox(&club).await, ["Ada dead 2", "Quinn dead 2", "Ada sent 1", "Quinn sent 1"], "{day}");
        }
    }

    async fn nothing_goes_to_a_server_without_the_tls_that_was_asked_for(club: TestClub) {
        evening(&club).await;
        let post = Post::open().await;
        for url in [format!("smtps://quinn:secret@{}", post.at), format!("smtp://quinn:secret@{}?tls=required", post.at)] {
            let app = club.with_settings(|settings| settings.smtp_url = Some(url.clone()));
            club.later_by_days(2);
            remind::run(&app).await.expect("tried");
            assert!(post.connections() > 0, "{url}");
            assert_eq!(post.received(), [], "{url}");
        }
        assert_eq!(club.find("SELECT state FROM mail WHERE state = 'sent'").await, Vec::<String>::new());
    }

    async fn a_mail_server_whose_certificate_nobody_vouches_for_is_sent_nothing_until_its_authority_is_believed(club: TestClub) {
        evening(&club).await;
        let post = Post::open_tls().await;
        let url = format!("smtps://quinn:secret@{}", post.at);
        at(&club, "2026-11-27", "08:00");
        let strict = club.with_settings(|settings| settings.smtp_url = Some(url.clone()));
        remind::run(&strict).await.expect("tried");
        assert!(post.connections() > 0);
        assert_eq!((outbox(&club).await, post.received()), (vec!["Ada waiting 1".to_owned(), "Quinn waiting 1".to_owned()], Vec::new()));
        let words = club.find("SELECT answer FROM mail").await;
        assert!(words.iter().all(|words| words.contains("certificate")), "{words:?}");
        let believing = club.with_settings(|settings| {
            believe(settings);
            settings.smtp_url = Some(url.clone());
        });
        club.later_by_minutes(3);
        remind::run(&believing).await.expect("sent");
        assert_eq!((outbox(&club).await, post.received().len()), (vec!["Ada sent 2".to_owned(), "Quinn sent 2".to_owned()], 2));
    }

    async fn a_book_that_was_cut_off_is_found_by_what_stood_in_the_weekly_mail_to_an_organiser(club: TestClub) {
        let olive = club.organiser().await;
        for words in ["It smoked.", "It smoked again."] {
            opened(&olive, &[("words", words)]).await.done();
        }
        club.behind_the_back("INSERT INTO reach (person_id, address, dead_words) SELECT id, LOWER(name) || '@millrace.example', '' FROM person").await.expect("addresses");
        let post = Post::open().await;
        let app = posting(&club, &post);
        at(&club, "2026-11-30", "08:00");
        remind::run(&app).await.expect("sent");
        let mails = post.received();
        let mail = parsed(mails.iter().find(|mail| mail.to == "olive@millrace.example").expect("a mail to the organiser"));
        let text = mail.body_text(0).expect("plain text").split_whitespace().collect::<Vec<_>>().join(" ");
        let between = |after: &str, before: &str| {
            let rest = text.split_once(after).unwrap_or_else(|| panic!("no “{after}” in {text}")).1;
            rest.split_once(before).expect("its end").0.to_owned()
        };
        let told = between("End of the incident book: ", "Keep this");
        let number = between("End of the incident book: ", " entries");
        let seal = between("its seal ", ". Keep this");
        let time = told.split_once('(').and_then(|(_, rest)| rest.split_once(')')).expect("a time that can be typed").0.to_owned();
        let against = async || olive.get(&format!("/book/check?number={number}&seal={seal}&time={time}")).await;
        let page = against().await;
        assert!(number == "2" && page.one("main").contains("what was printed still stands"), "{told}: {}", page.one("main"));
        club.lift_the_guards().await;
        let first = club.find("SELECT hash FROM book_entry WHERE seq = 1").await.remove(0);
        for sql in ["DELETE FROM book_part WHERE seq = 2", "DELETE FROM book_entry WHERE seq = 2"] {
            club.behind_the_back(sql).await.expect("cut off");
        }
        club.behind_the_back(&format!("UPDATE turn SET book_count = 1, book_hash = '{first}'")).await.expect("the head too");
        assert!(holds(&olive).await, "nothing in the database tells");
        assert!(against().await.one(".stop").contains("its end was cut off"), "{}", against().await.one("main"));
    }
}
