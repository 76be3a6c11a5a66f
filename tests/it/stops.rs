//! The real program when it is told to stop under load, and when its database goes away for a while and comes back:
//! nothing accepted is cut, readiness tells first, and everything recovers by itself. Three seconds away in every run,
//! thirty with `SANDBUCKET_LONG=1`.

use crate::support::*;
use sandbucket::clock::Clock;
use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tokio::io::AsyncWriteExt;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;

const LOG_VOLTS: &str = "POST /packs/P-001/volts HTTP/1.1";

/// Volts that tell the number: 3.700 to 3.889 V a cell.
fn cells_of(number: usize) -> String {
    format!("{} {} 3800", 3700 + number % 190, 3700 + number / 190 % 190)
}

fn volts_form(number: usize) -> String {
    urlencoded(&[
        ("volts_line", &cells_of(number)),
        ("rested", "rested_an_hour"),
        ("key", &format!("stop-{number}")),
    ])
}

/// Logs volts nobody else logs, until the program takes no more connections; what was acknowledged.
async fn keep_logging(at: SocketAddr, cookie: String, next: Arc<AtomicUsize>) -> Vec<usize> {
    let mut acknowledged = Vec::new();
    loop {
        let number = next.fetch_add(1, Ordering::Relaxed);
        match send(at, LOG_VOLTS, &cookie, &volts_form(number)).await {
            Ok((303, _)) => acknowledged.push(number),
            Ok((status, answer)) => panic!("write {number}: {status}\n{answer}"),
            // Nobody listens any more, or nobody had taken this connection yet; the register will tell.
            Err(_) => return acknowledged,
        }
    }
}

on_both! {
    async fn told_to_stop_under_load_it_says_so_first_and_cuts_nothing_it_had_accepted(club: TestClub) {
        club.clock.set(Clock::System.now());
        club.fit_packs(1).await;
        let cookie = club.quartermaster().await.cookie("sandbucket").expect("a session");
        let at = free_address();
        let mut server = Server::start(club.url(), at).await;
        let next = Arc::new(AtomicUsize::new(1));
        let writers: Vec<_> = (0..4).map(|_| tokio::spawn(keep_logging(at, cookie.clone(), next.clone()))).collect();
        let slow = request(at, LOG_VOLTS, &cookie, &volts_form(0));
        let (sent, rest) = slow.split_at(slow.len() - 20);
        let mut half = TcpStream::connect(at).await.expect("a connection");
        half.write_all(sent.as_bytes()).await.expect("half a form");
        tokio::time::sleep(Duration::from_millis(500)).await;
        server.tell_to_stop();
        let told = Instant::now();
        while status_of(at, "/health/ready").await != 503 {
            assert!(told.elapsed() < Duration::from_millis(900), "it goes on saying that it is ready");
        }
        assert_eq!(status_of(at, "/health/live").await, 200);
        let mut acknowledged = BTreeSet::new();
        for writer in writers {
            acknowledged.extend(writer.await.expect("no writer was refused"));
        }
        assert_eq!(status_of(at, "/health/live").await, 0, "it takes no new connections");
        half.write_all(rest.as_bytes()).await.expect("the other half");
        let (status, _) = answer_on(&mut half).await.expect("an answer");
        assert_eq!(status, 303, "what was accepted is finished");
        acknowledged.insert(0);
        assert!(server.has_ended_well().await);
        assert!(acknowledged.len() > 4, "there was load");
        let kept = club.find("SELECT volts FROM reading WHERE volts <> 'c:3820,3810,3820'").await;
        let kept: BTreeSet<String> = kept.into_iter().collect();
        let told: BTreeSet<String> = acknowledged.iter().map(|number| format!("c:{}", cells_of(*number).replace(' ', ","))).collect();
        assert_eq!(kept, told, "what the register holds is what was acknowledged");
        assert!(club.is_sound().await);
        assert_eq!(club.first_break().await, None);
    }
}

/// Stands between the program and its database; can be cut and mended.
struct Line {
    at: SocketAddr,
    is_whole: watch::Sender<bool>,
}

impl Line {
    async fn to(database: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let at = listener.local_addr().expect("an address");
        let (is_whole, seen) = watch::channel(true);
        tokio::spawn(async move {
            while let Ok((near, _)) = listener.accept().await {
                if *seen.borrow() {
                    tokio::spawn(carry(near, database, seen.clone()));
                }
            }
        });
        Self { at, is_whole }
    }
}

/// Until either end hangs up or the line is cut.
async fn carry(mut near: TcpStream, database: SocketAddr, mut seen: watch::Receiver<bool>) {
    let Ok(mut far) = TcpStream::connect(database).await else {
        return;
    };
    tokio::select! {
        _ = tokio::io::copy_bidirectional(&mut near, &mut far) => {}
        _ = seen.wait_for(|is_whole| !is_whole) => {}
    }
}

/// The address in a database's URL, and the URL with another in its place.
fn host_of(url: &str) -> (usize, usize) {
    let scheme = url.find("://").expect("a URL") + 3;
    let end = url[scheme..]
        .find(['/', '?'])
        .map_or(url.len(), |at| scheme + at);
    let start = url[scheme..end]
        .find('@')
        .map_or(scheme, |at| scheme + at + 1);
    (start, end)
}

async fn becomes(at: SocketAddr, path: &str, wanted: u16) {
    let began = Instant::now();
    loop {
        let status = status_of(at, path).await;
        if status == wanted {
            return;
        }
        assert!(
            began.elapsed() < Duration::from_secs(15),
            "{path} stays {status}"
        );
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

async fn the_database_goes_away_and_comes_back(club: TestClub) {
    club.clock.set(Clock::System.now());
    club.fit_packs(1).await;
    let cookie = club
        .quartermaster()
        .await
        .cookie("sandbucket")
        .expect("a session");
    let (start, end) = host_of(club.url());
    let host = &club.url()[start..end];
    let host = if host.contains(':') {
        host.to_owned()
    } else {
        format!("{host}:5432")
    };
    let mut found = tokio::net::lookup_host(host)
        .await
        .expect("the server's address");
    let line = Line::to(found.next().expect("an address")).await;
    let url = format!("{}{}{}", &club.url()[..start], line.at, &club.url()[end..]);
    let at = free_address();
    let _server = Server::start(&url, at).await;
    let look = || send(at, "GET /packs HTTP/1.1", &cookie, "");
    assert_eq!(look().await.expect("a page").0, 200);

    line.is_whole.send(false).expect("cut");
    let cut = Instant::now();
    becomes(at, "/health/ready", 503).await;
    while cut.elapsed() < Duration::from_secs(share(3, 30) as u64) {
        assert_eq!(status_of(at, "/health/live").await, 200);
        assert_eq!(status_of(at, "/health/ready").await, 503);
        let (status, page) = look().await.expect("an answer");
        assert_eq!(status, 503, "{page}");
        assert!(
            page.contains("can&#39;t be reached just now")
                || page.contains("can't be reached just now"),
            "{page}"
        );
        let (head, body) = page.split_once("\r\n\r\n").expect("head and body");
        let reference = head
            .lines()
            .find_map(|line| line.strip_prefix("x-request-id: "))
            .expect("a reference");
        assert!(body.contains(reference), "the page tells the reference");
        assert!(head.contains("retry-after: "));
        let (status, _) = send(at, LOG_VOLTS, &cookie, &volts_form(1))
            .await
            .expect("an answer");
        assert_eq!(status, 503);
    }

    line.is_whole.send(true).expect("mended");
    becomes(at, "/health/ready", 200).await;
    assert_eq!(look().await.expect("a page").0, 200);
    let (status, _) = send(at, LOG_VOLTS, &cookie, &volts_form(1))
        .await
        .expect("an answer");
    assert_eq!(status, 303, "the same form sent again is carried out now");
    let kept = club
        .find("SELECT volts FROM reading WHERE volts <> 'c:3820,3810,3820'")
        .await;
    assert_eq!(kept.len(), 1);
    assert_eq!(club.first_break().await, None);
}

#[test]
fn while_the_database_is_away_pages_say_so_and_afterwards_all_recovers() {
    run(Backend::Postgres, the_database_goes_away_and_comes_back);
}
