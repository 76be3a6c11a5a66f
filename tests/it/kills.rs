//! The program is killed (SIGKILL) again and again while readings and hand-outs pour in, and started anew. What it had
//! acknowledged is there once, what was sent again under the same key is not there twice, the log's chain holds.
//! Five kills a database in every run, 1,000 with `SANDBUCKET_LONG=1`. A power cut is not proven here: see `database`.

use crate::support::*;
use sandbucket::clock::Clock;
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

const WRITERS: usize = 4;
/// Packs to hand out, beside the one whose volts are logged.
const TO_LEND: usize = 120;

/// What the writers are told, and what they were promised.
struct Load {
    at: SocketAddr,
    cookie: String,
    borrower: String,
    next: AtomicUsize,
    is_over: AtomicBool,
    acknowledged: Mutex<Vec<usize>>,
}

/// Every fourth write hands out a pack nobody else asks for, as long as there are any; the others log volts that no
/// other write logs.
fn pack_of(number: usize) -> Option<String> {
    let pack = number / 4 + 2;
    (number.is_multiple_of(4) && pack <= TO_LEND + 1).then(|| format!("P-{pack:03}"))
}

/// Three cells that tell the number: 3.700 to 3.889 V each.
fn cells_of(number: usize) -> [usize; 3] {
    [
        3700 + number % 190,
        3700 + number / 190 % 190,
        3700 + number / 36_100 % 190,
    ]
}

impl Load {
    fn form(&self, number: usize) -> (String, String) {
        let key = format!("load-{number}");
        match pack_of(number) {
            Some(pack) => {
                let fields = [
                    ("person", self.borrower.as_str()),
                    ("items", &pack),
                    ("purpose", "load"),
                    ("key", &key),
                ];
                ("POST /hand-out HTTP/1.1".to_owned(), urlencoded(&fields))
            }
            None => {
                let line = cells_of(number).map(|mv| mv.to_string()).join(" ");
                let fields = [
                    ("volts_line", line.as_str()),
                    ("rested", "rested_an_hour"),
                    ("key", &key),
                ];
                (
                    "POST /packs/P-001/volts HTTP/1.1".to_owned(),
                    urlencoded(&fields),
                )
            }
        }
    }

    /// Sends one write after the other, each again under its key until it is acknowledged.
    async fn write(self: Arc<Self>) {
        while !self.is_over.load(Ordering::Relaxed) {
            let number = self.next.fetch_add(1, Ordering::Relaxed);
            let (line, body) = self.form(number);
            loop {
                match send(self.at, &line, &self.cookie, &body).await {
                    Ok((303, _)) => {
                        self.acknowledged.lock().expect("a list").push(number);
                        break;
                    }
                    Ok((503, _)) | Err(_) => tokio::time::sleep(Duration::from_millis(15)).await,
                    Ok((status, answer)) => panic!("{line} {body}: {status}\n{answer}"),
                }
                if self.is_over.load(Ordering::Relaxed) {
                    return;
                }
            }
        }
    }
}

/// How often each of these stands in the register.
async fn counted(club: &TestClub, sql: &str) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for text in club.find(sql).await {
        *counts.entry(text).or_insert(0) += 1;
    }
    counts
}

/// Every acknowledged write is there, and no write is there twice.
async fn holds_its_word(club: &TestClub, load: &Load) {
    let acknowledged = load.acknowledged.lock().expect("a list").clone();
    let readings = counted(club, "SELECT volts FROM reading").await;
    let lent = counted(
        club,
        "SELECT k.number FROM lent l JOIN pack k ON k.id = l.pack_id WHERE l.closed_ms IS NULL",
    )
    .await;
    for number in acknowledged {
        let count = match pack_of(number) {
            Some(pack) => lent.get(&pack).copied(),
            None => {
                let cells = cells_of(number).map(|mv| mv.to_string()).join(",");
                readings.get(&format!("c:{cells}")).copied()
            }
        };
        assert_eq!(count, Some(1), "write {number} was acknowledged");
    }
    let logged = readings
        .iter()
        .filter(|(volts, _)| *volts != "c:3820,3810,3820");
    assert!(
        logged.clone().all(|(_, count)| *count == 1),
        "a reading is doubled"
    );
    assert!(lent.values().all(|count| *count == 1), "a loan is doubled");
    assert!(
        club.is_sound().await,
        "the database finds a fault in itself"
    );
    assert_eq!(club.first_break().await, None, "the log's chain");
}

on_both! {
    async fn what_was_acknowledged_survives_every_kill_and_is_there_once(club: TestClub) {
        club.clock.set(Clock::System.now());
        club.fit_packs(TO_LEND + 1).await;
        let ada = club.borrower("Ada").await.id();
        let quinn = club.quartermaster().await;
        let load = Arc::new(Load {
            at: free_address(),
            cookie: quinn.cookie("sandbucket").expect("a session"),
            borrower: ada.to_string(),
            next: AtomicUsize::new(0),
            is_over: AtomicBool::new(false),
            acknowledged: Mutex::default(),
        });
        let mut dice = Dice::thrown();
        let mut rounds = Rounds::new("kills under load", &club, Duration::ZERO, 1000).at_least(5);
        let mut server = Server::start(club.url(), load.at).await;
        let writers: Vec<_> = (0..WRITERS).map(|_| tokio::spawn(load.clone().write())).collect();
        while rounds.go_on() {
            let before = load.acknowledged.lock().expect("a list").len();
            tokio::time::sleep(Duration::from_millis(60 + dice.throw(400) as u64)).await;
            while load.acknowledged.lock().expect("a list").len() == before {
                tokio::time::sleep(Duration::from_millis(5)).await;
                assert!(writers.iter().all(|writer| !writer.is_finished()), "a writer gave up");
            }
            server.kill();
            server = Server::start(club.url(), load.at).await;
            if rounds.done() % 25 < 5 {
                holds_its_word(&club, &load).await;
            }
        }
        load.is_over.store(true, Ordering::Relaxed);
        for writer in writers {
            writer.await.expect("no writer fell over");
        }
        server.kill();
        holds_its_word(&club, &load).await;
        let kept = load.acknowledged.lock().expect("a list").len();
        assert!(kept >= rounds.done(), "each round wrote something");
        rounds.tell_with(&format!("{kept} acknowledged writes"));
    }
}
