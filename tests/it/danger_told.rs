//! Danger that was reported is told at once, by mail and to phones, at whatever hour: to those who run the club, once, and a flood of
//! reports makes no flood of messages. Against a mail server and a push service of the tests' own.

use crate::support::*;
use mail_parser::MessageParser;
use sandbucket::app::App;
use sandbucket::club::calendar::{Day, Zone};
use sandbucket::tasks::remind;
use std::time::Duration;

/// At night, when it is quiet for everybody.
fn night(club: &TestClub, time: &str) {
    let zone = Zone::named("Europe/London").expect("a zone");
    let day = Day::parse("2026-11-27").expect("a day");
    club.clock.set(zone.at(day, time).expect("a time"));
}

/// Quinn runs the pool, Olive oversees it, Ada is a member; all have an address, and Quinn's phone asked.
struct Night {
    club: TestClub,
    post: Post,
    phones: PushService,
    app: App,
    quinn: Browser,
    ada: Browser,
}

async fn asleep(club: TestClub) -> Night {
    let mut club = club;
    club.app = club.with_settings(may_push);
    club.fit_packs(3).await;
    let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
    club.organiser().await;
    let sql = "INSERT INTO reach (person_id, address, dead_words) SELECT id, LOWER(name) || '@millrace.example', '' FROM person";
    club.behind_the_back(sql).await.expect("addresses");
    let (post, phones) = (Post::open().await, PushService::open().await);
    let page = quinn.get("/me/reminders").await;
    let phone = APhone::new(7);
    let typed = [
        ("endpoint", phones.endpoint("quinn")),
        ("p256dh", phone.p256dh()),
        ("auth", phone.auth()),
    ];
    let typed = typed
        .each_ref()
        .map(|(name, value)| (*name, value.as_str()));
    quinn.submit(&page, "form[data-push]", &typed).await.done();
    let app = club.with_settings(|settings| {
        may_push(settings);
        settings.smtp_url = Some(post.url());
    });
    night(&club, "03:00");
    Night {
        club,
        post,
        phones,
        app,
        quinn,
        ada,
    }
}

impl Night {
    async fn tick(&self, time: &str) {
        night(&self.club, time);
        remind::run(&self.app).await.expect("told");
    }

    /// To whom mail went so far.
    fn mailed(&self) -> Vec<String> {
        let received = self.post.received();
        let mut to: Vec<String> = received.into_iter().map(|mail| mail.to).collect();
        to.sort();
        to
    }

    /// The latest mail to them, as its reader sees it: what it is about, and its words.
    fn read(&self, who: &str) -> (String, String) {
        let received = self.post.received();
        let mail = received.iter().rev().find(|mail| mail.to.starts_with(who));
        let mail = MessageParser::default().parse(mail.expect("a mail to them").data.as_bytes());
        let mail = mail.expect("a mail");
        (
            mail.subject().expect("a subject").to_owned(),
            mail.body_text(0).expect("text").into_owned(),
        )
    }
}

async fn report(who: &Browser, number: &str, seen: &str) {
    let key = sandbucket::ids::new_token();
    let typed = [("key", key.as_str()), ("seen", seen)];
    who.post(&format!("/packs/{number}/condition"), &typed)
        .await
        .done();
}

async fn log_volts(who: &Browser, number: &str, volts: &str) {
    let key = sandbucket::ids::new_token();
    let typed = [
        ("key", key.as_str()),
        ("volts_line", volts),
        ("rested", "rested_an_hour"),
    ];
    let page = format!("/packs/{number}/volts");
    who.post(&page, &typed).await.done();
}

/// Three packs come back to Quinn's table: the first swollen, a cell of the second far too low.
async fn take_back(night: &Night) {
    let quinn = &night.quinn;
    let lines = night.club.ids("lent WHERE closed_ms IS NULL").await;
    let (lent, seen) = (
        |at: usize| format!("lent={}", lines[at]),
        format!("seen-{}", lines[0]),
    );
    let page = format!("/take-back/items?{}&{}&{}", lent(0), lent(1), lent(2));
    let looks = [1, 2].map(|at| format!("look-{}", lines[at]));
    let typed = [
        (seen.as_str(), "swollen"),
        (&looks[0], "nothing"),
        (&looks[1], "nothing"),
    ];
    let answer = quinn
        .submit(&quinn.get(&page).await, "main form", &typed)
        .await;
    let volts = [1, 2].map(|at| format!("volts_line-{}", lines[at]));
    let low = (volts[0].as_str(), "3.91 2.80 3.90");
    let typed = [
        low,
        (&volts[1], "3.83 3.82 3.83"),
        ("rested", "rested_an_hour"),
    ];
    let page = quinn.get(answer.done()).await;
    quinn.submit(&page, "main form", &typed).await.done();
}

/// Within a quarter of the time that a mail may take.
async fn until<F: Future<Output = bool>>(is_so: impl Fn() -> F) {
    // Less than the half minute after which a mail is cut.
    for _ in 0..250 {
        if is_so().await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("it waits for the mail server");
}

const OLIVE_AND_QUINN: [&str; 2] = ["olive@millrace.example", "quinn@millrace.example"];

on_both! {
    async fn danger_is_told_within_seconds_at_night_to_those_who_run_the_club(club: TestClub) {
        let night = asleep(club).await;
        let key = sandbucket::ids::new_token();
        let typed = [("key", key.as_str()), ("seen", "swollen"), ("place", "Ada put it by the window")];
        night.quinn.post("/places/new", &[("name", "Box A"), ("kind", "box"), ("key", "place")]).await.done();
        night.club.behind_the_back("UPDATE pack SET place_id = (SELECT id FROM place WHERE name = 'Box A')").await.expect("there");
        night.ada.post("/packs/P-001/condition", &typed).await.done();
        night.tick("03:00").await;
        assert_eq!(night.mailed(), OLIVE_AND_QUINN, "who reported it knows of it");
        let (subject, text) = night.read("quinn");
        assert_eq!(subject, "Millrace Robotics Club: P-001: danger reported");
        let reference = night.club.find("SELECT reference FROM report").await.remove(0);
        let why = format!("Report {reference} arrived on Fri 27 Nov 2026 at 03:00.");
        assert!(text.contains(&why) && text.contains("https://packs.example/reports/"), "{text}");
        assert!(text.contains("Seen: Swollen or puffed. On record it is at Box A."), "what, and where: {text}");
        assert!(!text.contains("Ada") && !text.contains("by the window"), "nobody, and no words that may name somebody: {text}");
        let pushed = night.phones.pushed();
        assert_eq!(pushed.len(), 1);
        assert_eq!(pushed[0].headers["urgency"], "high");
        let told = APhone::new(7).reads(&pushed[0]);
        assert_eq!((told["body"].as_str(), told["href"].as_str()), (Some("Danger reported or found: 1."), Some("/reports")));
        night.tick("03:01").await;
        assert_eq!((night.mailed().len(), night.phones.pushed().len()), (2, 1), "it is told once");
        let list = night.quinn.get("/mails").await;
        assert!(list.one("table").contains("2026-11-27 to Quinn by phone"), "{}", list.text);
        assert_eq!(night.club.first_break().await, None);
    }

    async fn what_arrives_in_the_quarter_of_an_hour_after_goes_together(club: TestClub) {
        let night = asleep(club).await;
        report(&night.ada, "P-001", "swollen").await;
        night.tick("03:00").await;
        for (time, number) in [("03:01", "P-002"), ("03:09", "P-003")] {
            night.tick(time).await;
            report(&night.ada, number, "leak").await;
            night.tick(time).await;
        }
        night.tick("03:14").await;
        assert_eq!(night.mailed().len(), 2);
        night.tick("03:15").await;
        assert_eq!((night.mailed().len(), night.phones.pushed().len()), (4, 2));
        let (subject, text) = night.read("olive");
        assert_eq!(subject, "Millrace Robotics Club: P-002: danger reported, and 1 more");
        assert!(text.contains("P-003: danger reported"), "{text}");
        assert_eq!(APhone::new(7).reads(&night.phones.pushed()[1])["body"], "Danger reported or found: 2.");
    }

    async fn what_is_no_danger_waits_for_the_day_and_who_chose_not_to_be_told_is_not(club: TestClub) {
        let night = asleep(club).await;
        report(&night.ada, "P-001", "wrap_torn").await;
        night.tick("03:00").await;
        assert_eq!(night.mailed(), Vec::<String>::new());
        let mine = night.quinn.get("/me/reminders").await;
        assert!(mine.one("main").contains("Danger reported or found"), "{}", mine.text);
        let sql = "INSERT INTO reminder_choice (person_id, kind, by_mail, by_push, in_calendar) \
            SELECT id, 'danger_reported', FALSE, FALSE, FALSE FROM person WHERE name = 'Olive'";
        night.club.behind_the_back(sql).await.expect("chosen");
        report(&night.quinn, "P-002", "swollen").await;
        night.tick("03:01").await;
        assert_eq!(night.mailed(), Vec::<String>::new(), "Quinn told it, Olive does not want it");
        report(&night.ada, "P-003", "swollen").await;
        night.tick("03:02").await;
        assert_eq!(night.mailed(), ["quinn@millrace.example"]);
    }

    async fn an_address_that_nobody_confirmed_is_told_danger_and_no_link_of_its_mail_ends_that(club: TestClub) {
        let night = asleep(club).await;
        let unconfirmed = "UPDATE reach SET unconfirmed_ms = 1 WHERE address LIKE 'quinn%'";
        night.club.behind_the_back(unconfirmed).await.expect("asked about");
        report(&night.ada, "P-001", "swollen").await;
        night.tick("03:00").await;
        assert_eq!(night.mailed(), OLIVE_AND_QUINN);
        let ends = |who: &str| {
            let received = night.post.received();
            let mail = received.iter().find(|mail| mail.to.starts_with(who)).expect("a mail");
            mail.data.contains("List-Unsubscribe:") || mail.data.contains("/unsubscribe/")
        };
        assert!(ends("olive") && !ends("quinn"), "a way out where the address is confirmed");
        // A link that went out all the same.
        let (token, person) = (sandbucket::ids::new_token(), night.club.literal(night.quinn.id()));
        let link = format!(
            "INSERT INTO mail_token (token_hash, mail_id, made_ms) SELECT '{}', id, 1 FROM mail WHERE channel = 'mail' AND person_id = {person}",
            sandbucket::ids::digest(&token)
        );
        night.club.behind_the_back(&link).await.expect("a link");
        let (stranger, link) = (night.club.visitor(), format!("/unsubscribe/{token}"));
        let chosen = || night.club.find("SELECT kind FROM reminder_choice WHERE by_mail = FALSE");
        for page in [stranger.get(&link).await, stranger.post(&link, &[]).await] {
            assert!(page.one("main").contains("The address is not confirmed"), "{}", page.text);
            assert_eq!((page.select("main button").len(), chosen().await), (0, Vec::new()));
        }
        night.club.behind_the_back("UPDATE reach SET unconfirmed_ms = NULL").await.expect("confirmed");
        stranger.post(&link, &[]).await;
        assert_eq!(chosen().await, ["danger_reported"]);
    }

    async fn danger_found_as_packs_are_taken_back_is_told_once_to_those_who_did_not_find_it(club: TestClub) {
        let night = asleep(club).await;
        let typed = [("person", night.ada.id().to_string()), ("items", "1-3".to_owned())];
        let typed = typed.each_ref().map(|(name, value)| (*name, value.as_str()));
        let page = night.quinn.get("/hand-out").await;
        night.quinn.submit(&page, "main form", &typed).await.done();
        take_back(&night).await;
        let (one, other) = tokio::join!(remind::run(&night.app), remind::run(&night.app));
        one.and(other).expect("told");
        assert_eq!(night.mailed(), ["olive@millrace.example"], "Quinn found it");
        let (subject, text) = night.read("olive");
        assert_eq!(subject, "Millrace Robotics Club: P-001: danger found, and 1 more");
        assert!(text.contains("P-002: danger found") && text.contains("https://packs.example/packs/P-002"), "{text}");
        assert!(text.contains("It was found on Fri 27 Nov 2026 at 03:00.") && !text.contains("P-003"), "{text}");
        assert!(text.contains("Seen: Swollen or puffed.") && text.contains("2.80 V"), "what was found: {text}");
        night.club.later_by_minutes(20);
        log_volts(&night.ada, "P-002", "3.91 2.75 3.90").await;
        remind::run(&night.app).await.expect("run");
        assert_eq!(night.mailed().len(), 1, "the same danger, read once more");
        let key = sandbucket::ids::new_token();
        night.ada.post("/packs/P-002/watch", &[("key", &key), ("sign", "bulging")]).await.done();
        remind::run(&night.app).await.expect("run");
        assert_eq!(night.mailed().len(), 3, "another danger of the same pack");
    }

    async fn danger_that_a_member_logs_is_told_and_what_a_report_found_is_not_told_twice(club: TestClub) {
        let night = asleep(club).await;
        log_volts(&night.ada, "P-001", "3.91 2.80 3.90").await;
        night.tick("03:00").await;
        assert_eq!(night.mailed(), OLIVE_AND_QUINN);
        let told = APhone::new(7).reads(&night.phones.pushed()[0]);
        assert_eq!((told["body"].as_str(), told["href"].as_str()), (Some("Danger reported or found: 1."), Some("/to-see-to")));
        night.quinn.post("/packs/P-002/label", &[("what", "make")]).await.done();
        let label = night.club.find("SELECT code FROM label").await.remove(0);
        let (visitor, key) = (night.club.visitor(), sandbucket::ids::new_token());
        let typed = [("key", key.as_str()), ("seen", "swollen")];
        visitor.post(&format!("/t/{label}/report"), &typed).await.done();
        night.tick("03:30").await;
        assert_eq!(night.mailed().len(), 4);
        let id = night.club.ids("report").await.remove(0);
        let key = sandbucket::ids::new_token();
        let so = [("key", key.as_str()), ("what", "look"), ("was_so", "yes"), ("looked", "Swollen.")];
        night.quinn.post(&format!("/reports/{id}"), &so).await.done();
        night.tick("04:00").await;
        assert_eq!(night.mailed().len(), 4, "it was told as it was reported");
        assert_eq!(night.club.find("SELECT number FROM pack WHERE id IN (SELECT pack_id FROM finding WHERE is_to_tell = TRUE)").await, Vec::<String>::new());
    }

    async fn who_stays_with_a_charge_is_told_once_that_its_pack_turned_bad_or_that_its_charger_was_set_aside(club: TestClub) {
        let night = asleep(club).await;
        let (club, quinn, ada) = (&night.club, &night.quinn, &night.ada);
        club.chargers(2).await;
        let mut charges = Vec::new();
        for pack in ["P-001", "P-002"] {
            log_volts(ada, pack, "3.82 3.81 3.82").await;
            charges.push(crate::charging_now::started(ada, pack).await);
        }
        night.tick("03:00").await;
        assert_eq!(night.mailed(), Vec::<String>::new(), "they charge as they should");
        report(quinn, "P-001", "swollen").await;
        night.tick("03:01").await;
        assert_eq!(night.mailed(), ["ada@millrace.example", "olive@millrace.example"], "Quinn told it, Ada stays with it");
        let (subject, text) = night.read("ada");
        assert_eq!(subject, "Millrace Robotics Club: P-001: danger reported");
        assert!(text.contains("You stay with its charge.") && text.contains("switch its charger off at the mains or the supply"), "{text}");
        assert!(text.contains(&format!("https://packs.example{}", charges[0])), "{text}");
        assert!(!night.read("olive").1.contains("You stay"));
        night.tick("03:30").await;
        let kit = club.ids("kit WHERE id = (SELECT c.charger_id FROM charge c JOIN pack k ON k.id = c.pack_id WHERE k.number = 'P-002')").await[0];
        let number = club.find("SELECT i.number FROM charge c JOIN kit i ON i.id = c.charger_id JOIN pack k ON k.id = c.pack_id WHERE k.number = 'P-002'").await.remove(0);
        quinn.post(&format!("/kit/{kit}/set-aside"), &[("set_aside", "plug melted"), ("key", "aside")]).await.done();
        let (one, other) = tokio::join!(remind::run(&night.app), remind::run(&night.app));
        one.and(other).expect("told");
        assert_eq!(night.mailed(), ["ada@millrace.example", "ada@millrace.example", "olive@millrace.example"], "who stays with it alone");
        let (subject, text) = night.read("ada");
        assert_eq!(subject, format!("Millrace Robotics Club: P-002: charges with {number}, set aside"));
        assert!(text.contains(&format!("{number} was set aside on Fri 27 Nov 2026 at 03:30.")) && text.contains(&format!("https://packs.example{}", charges[1])), "{text}");
        night.tick("04:30").await;
        assert_eq!(night.mailed().len(), 3, "once");
    }

    async fn several_processes_tell_it_once_and_a_mail_that_failed_goes_again_in_quiet_hours(club: TestClub) {
        let night = asleep(club).await;
        report(&night.ada, "P-001", "swollen").await;
        night.post.plays(&[Play::NotNow, Play::NotNow]);
        let (one, other) = tokio::join!(remind::run(&night.app), remind::run(&night.app));
        one.and(other).expect("told");
        let told = "SELECT CAST(COUNT(*) AS TEXT) FROM reminder WHERE kind = 'danger_reported'";
        assert_eq!(night.club.find(told).await, ["2"]);
        assert_eq!(night.mailed(), Vec::<String>::new(), "the mail server was busy");
        night.tick("03:30").await;
        assert_eq!(night.mailed(), OLIVE_AND_QUINN);
    }

    async fn danger_is_told_and_pushed_while_a_mail_server_says_nothing(club: TestClub) {
        let night = asleep(club).await;
        night.post.usually(Play::SaysNothing);
        report(&night.ada, "P-001", "swollen").await;
        let told = "SELECT CAST(COUNT(DISTINCT thing) AS TEXT) FROM reminder WHERE kind = 'danger_reported'";
        let running = tokio::spawn(remind::keep_reminding(night.app.clone()));
        until(|| async { night.post.connections() > 0 && night.phones.pushed().len() == 1 }).await;
        night.club.later_by_minutes(16);
        report(&night.ada, "P-002", "swollen").await;
        until(|| async { night.club.find(told).await == ["2"] }).await;
        until(|| async { night.phones.pushed().len() == 2 }).await;
        assert_eq!((night.mailed(), night.post.connections()), (Vec::new(), 1), "its first mail waits for an answer all this while");
        running.abort();
    }
}
