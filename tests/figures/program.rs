//! The program as it is shipped, on a database that exists: from its start until it says it is ready, and the memory it
//! holds once it has shown some pages and has nothing to do.

use crate::cpu::middle;
use crate::support::{Server, TestClub, free_address, send};
use crate::{Figures, IDLE_MB_MAX, READY_MS_MAX};
use std::time::{Duration, Instant};

const STARTS: usize = 9;
const PAGES: usize = 400;

pub async fn measure(club: &TestClub, figures: &mut Figures) {
    let mut starts = Vec::new();
    for _ in 0..STARTS {
        let began = Instant::now();
        let _killed_at_once = Server::start(club.url(), free_address()).await;
        starts.push(began.elapsed().as_secs_f64() * 1e3);
    }
    let worst = starts.iter().copied().fold(0.0, f64::max);
    let ready_ms = middle(starts);
    figures.hold(
        "start to ready on an existing database",
        &format!("{ready_ms:.0} ms, the middle of {STARTS} starts (worst {worst:.0}); limit {READY_MS_MAX:.0} ms"),
        ready_ms <= READY_MS_MAX,
    );
    let (fresh_mb, idle_mb) = memory(club).await;
    figures.hold(
        "memory held when idle",
        &format!("{idle_mb:.1} MB after {PAGES} pages ({fresh_mb:.1} MB just started); limit {IDLE_MB_MAX:.0} MB"),
        idle_mb.max(fresh_mb) <= IDLE_MB_MAX,
    );
}

/// Just started, and after some pages once there is nothing to do, in MB.
async fn memory(club: &TestClub) -> (f64, f64) {
    // The program has the system's clock, and the club's people were let in by a held one.
    club.clock.set(sandbucket::clock::Clock::System.now());
    let browser = club.quartermaster().await;
    let cookie = browser.cookie("sandbucket").expect("a session");
    let at = free_address();
    let server = Server::start(club.url(), at).await;
    let fresh_mb = held_mb(server.process_id());
    for number in 0..PAGES {
        let path = if number % 2 == 0 {
            "/packs"
        } else {
            "/packs/P-050"
        };
        let line = format!("GET {path} HTTP/1.1");
        let (status, _) = send(at, &line, &cookie, "").await.expect("an answer");
        assert_eq!(status, 200, "{path}");
    }
    tokio::time::sleep(Duration::from_secs(2)).await;
    (fresh_mb, held_mb(server.process_id()))
}

fn held_mb(process_id: u32) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{process_id}/status")).expect("Linux");
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kib = line.and_then(|line| line.split_whitespace().next());
    kib.expect("a size").parse::<f64>().expect("a size") * 1024.0 / 1e6
}
