//! The program is killed (SIGKILL) again and again while it decides a day's reminders and sends them: three processes on PostgreSQL, one
//! on SQLite. Each reminder and each message is there once, each mail arrived, always under its own Message-ID, and each push, always
//! with its own topic; some arrived twice, since delivery is at least once. 20 rounds a database in every run, 1,000 with `SANDBUCKET_LONG=1`.

use crate::support::*;
use mail_parser::MessageParser;
use sandbucket::clock::Clock;
use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

const BORROWERS: [&str; 3] = ["Ada", "Ben", "Cleo"];

/// A zone in which it is about noon now, so that no round meets midnight.
fn zone_at_noon(club: &TestClub) -> String {
    let hour = club.now().ms().div_euclid(3_600_000).rem_euclid(24);
    format!("Etc/GMT{:+}", hour - 12)
}

async fn ask(borrower: &Browser, number: usize) {
    let phone = APhone::new(number as u8);
    let fields = [
        ("endpoint", format!("https://push.example/send/{number}")),
        ("p256dh", phone.p256dh()),
        ("auth", phone.auth()),
    ];
    let fields = fields
        .each_ref()
        .map(|(name, value)| (*name, value.as_str()));
    borrower.post("/me/phones", &fields).await.done();
}

/// Three loans long overdue; who has them and the quartermaster can be reached, at any hour.
async fn overdue(club: &TestClub, service: &PushService) {
    club.clock.set(Clock::System.now());
    club.fit_packs(BORROWERS.len()).await;
    let quinn = club.quartermaster().await;
    for (number, name) in (1..).zip(BORROWERS) {
        let borrower = club.borrower(name).await;
        ask(&borrower, number).await;
        let person = borrower.id().to_string();
        let (items, key) = (format!("P-{number:03}"), format!("out-{number}"));
        let form = [
            ("person", person.as_str()),
            ("items", &items),
            ("key", &key),
        ];
        quinn.post("/hand-out", &form).await.done();
    }
    let zone = zone_at_noon(club);
    for sql in [
        "UPDATE loan SET due_on = '2020-01-01'".to_owned(),
        "INSERT INTO reach (person_id, address, dead_words) SELECT id, LOWER(name) || '@millrace.example', '' FROM person".to_owned(),
        "UPDATE phone SET endpoint = REPLACE(endpoint, 'push.example', '{at}')".replace("{at}", &service.at.to_string()),
        format!(
            "UPDATE club SET time_zone = '{zone}', reminders = '{{\"hour\":\"00:00\",\"quiet_from\":\"00:00\",\"quiet_to\":\"00:00\"}}'"
        ),
    ] {
        club.behind_the_back(&sql).await.expect("set up");
    }
}

struct Replicas {
    url: String,
    post: String,
    running: Vec<Server>,
}

impl Replicas {
    fn of(club: &TestClub, post: &Post, count: usize) -> Self {
        let mut all = Self {
            url: club.url().to_owned(),
            post: post.url(),
            running: Vec::new(),
        };
        all.running = (0..count).map(|_| all.begin()).collect();
        all
    }

    fn begin(&self) -> Server {
        let more = [
            ("SANDBUCKET_SMTP_URL", self.post.as_str()),
            ("SANDBUCKET_MAIL_LEASE", "1"),
            ("SANDBUCKET_PUBLIC_URL", "https://packs.example"),
            ("SANDBUCKET_AUTHORITIES", AUTHORITY),
            ("SANDBUCKET_PUSH_NETWORKS", "127.0.0.0/8"),
        ];
        Server::begin(&self.url, free_address(), &more)
    }

    fn kill_and_begin_anew(&mut self, at: usize) {
        self.running[at].kill();
        self.running[at] = self.begin();
    }
}

async fn are_all_sent(club: &TestClub) -> bool {
    // The day first: once it is there, so is all that it came to.
    let days = club.find("SELECT day FROM reminder_day").await;
    let left = club
        .find("SELECT CAST(COUNT(*) AS TEXT) FROM mail WHERE state <> 'sent'")
        .await;
    !days.is_empty() && left == ["0"]
}

/// Message-ID and how often it arrived.
fn arrived(mails: &[Received]) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for mail in mails {
        let parsed = MessageParser::default().parse(mail.data.as_bytes());
        let parsed = parsed.expect("a mail");
        let id = parsed.message_id().expect("a Message-ID").to_owned();
        *counts.entry(id).or_insert(0) += 1;
    }
    counts
}

async fn holds(club: &TestClub, mails: &[Received]) -> usize {
    let reminders = club
        .find(
            "SELECT p.name || ' ' || r.reason || ' ' || r.thing FROM reminder r JOIN person p ON p.id = r.person_id \
             WHERE r.reason <> 'weekly_summary'",
        )
        .await;
    let once: BTreeSet<&String> = reminders.iter().collect();
    assert_eq!(once.len(), reminders.len(), "a reminder is doubled");
    assert_eq!(reminders.len(), 2 * BORROWERS.len(), "{reminders:?}");
    let rows = club
        .find("SELECT message_id FROM mail WHERE channel = 'mail'")
        .await;
    assert_eq!(
        rows.len(),
        BORROWERS.len() + 1,
        "one mail for a person and day"
    );
    assert_eq!(club.find("SELECT day FROM reminder_day").await.len(), 1);
    let arrived = arrived(mails);
    let rows: BTreeSet<&str> = rows.iter().map(String::as_str).collect();
    let ids: BTreeSet<&str> = arrived.keys().map(String::as_str).collect();
    assert_eq!(
        ids, rows,
        "each mail arrived, and none that is not in the outbox"
    );
    arrived.values().filter(|count| **count > 1).count()
}

/// Each phone has what its person was told, and no other; how many came more than once.
async fn are_pushed(club: &TestClub, pushed: &[Pushed]) -> usize {
    let mut topics: Vec<String> = pushed
        .iter()
        .map(|one| one.headers["topic"].clone())
        .collect();
    let count = topics.len();
    topics.sort();
    topics.dedup();
    let mut ids: Vec<String> = club
        .ids("mail WHERE channel = 'push'")
        .await
        .iter()
        .map(|id| id.simple().to_string())
        .collect();
    ids.sort();
    assert_eq!(
        topics, ids,
        "each message arrived, and none that is not in the outbox"
    );
    assert_eq!(ids.len(), BORROWERS.len(), "one for a person and day");
    for one in pushed {
        let number = one
            .path
            .rsplit('/')
            .next()
            .and_then(|text| text.parse().ok());
        let read = APhone::new(number.expect("a phone")).reads(one);
        assert_eq!(read["body"], "Loan overdue: 1.");
    }
    count - topics.len()
}

on_both! {
    async fn each_reminder_is_decided_once_and_each_mail_arrives_whatever_is_killed(club: TestClub) {
        let service = PushService::open().await;
        service.usually(Says::TakesSlowly);
        overdue(&club, &service).await;
        let count = if club.backend == Backend::Postgres { 3 } else { 1 };
        let post = Post::open().await;
        post.usually(Play::TakesSlowly);
        let (mut dice, mut seen, mut kills, mut twice) = (Dice::thrown(), 0, 0, 0);
        let (mut on_phones, mut again) = (0, 0);
        let mut rounds = Rounds::new("kills while reminders are sent", &club, Duration::ZERO, 1000).at_least(20);
        while rounds.go_on() {
            for table in ["mail_token", "push_done", "mail", "reminder", "reminder_day"] {
                club.behind_the_back(&format!("DELETE FROM {table}")).await.expect("a new day");
            }
            let began = Instant::now();
            let mut replicas = Replicas::of(&club, &post, count);
            while !are_all_sent(&club).await {
                assert!(began.elapsed() < Duration::from_secs(60), "the mail does not go out");
                // Early on at any moment of a start; later less and less often, so that each round ends.
                let pace = 250 + began.elapsed().as_millis() as usize / 3;
                tokio::time::sleep(Duration::from_millis(40 + dice.throw(pace) as u64)).await;
                replicas.kill_and_begin_anew(dice.throw(count));
                kills += 1;
            }
            drop(replicas);
            let mails = post.received();
            twice += holds(&club, &mails[seen..]).await;
            seen = mails.len();
            let pushed = service.pushed();
            again += are_pushed(&club, &pushed[on_phones..]).await;
            on_phones = pushed.len();
        }
        rounds.tell_with(&format!("{kills} kills, {seen} mails arrived, {twice} of them more than once; {on_phones} on phones, {again} of them again"));
    }
}
