//! The figures the program must meet, measured in one run on one machine: what a charge plan and a verdict cost, statements
//! per page, CPU per request beside the same statements alone, growth from 100 to 100,000 packs, what is due, memory and start. Prints
//! each with its limit and ends with an error when one is missed. SQLite always; PostgreSQL too where `SANDBUCKET_TEST_POSTGRES` names a server,
//! of which only the program's own CPU is counted.

#[macro_use]
#[allow(
    dead_code,
    unused_macros,
    reason = "a stage holds more than one play needs"
)]
#[path = "../it/support/mod.rs"]
mod support;

mod cpu;
mod due;
mod plan;
mod program;
mod requests;
mod seed;
mod verdict;

use support::{Backend, Signposts, TestClub, every_page};

const STATEMENTS_MAX: u64 = 3;
/// Of what the statements alone would allow.
const SHARE_MIN: f64 = 0.60;
const PACK_PAGE_GROWTH_MAX: f64 = 1.2;
const PACK_LIST_GROWTH_MAX: f64 = 1.5;
const IDLE_MB_MAX: f64 = 25.0;
const READY_MS_MAX: f64 = 100.0;

/// What was measured, each against its limit.
pub struct Figures {
    database: &'static str,
    missed: Vec<String>,
}

impl Figures {
    pub fn hold(&mut self, what: &str, told: &str, is_met: bool) {
        println!("{} {what}: {told}", if is_met { "pass" } else { "MISS" });
        if !is_met {
            self.missed.push(format!("{what} on {}", self.database));
        }
    }
}

fn main() {
    // cargo test --benches asks for no figures.
    if !std::env::args().any(|argument| argument == "--bench") {
        println!("run with: cargo bench --bench figures");
        return;
    }
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    println!("load of the machine before: {}", load.trim());
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime");
    let mut figures = Figures {
        database: "any database",
        missed: Vec::new(),
    };
    plan::measure(&mut figures);
    verdict::measure(&mut figures);
    for (backend, name) in [
        (Backend::Sqlite, "SQLite"),
        (Backend::Postgres, "PostgreSQL"),
    ] {
        if backend.is_here() {
            figures.database = name;
            println!("\n{name}");
            // On one of the runtime's threads, as the served program works.
            let measuring = runtime.spawn(measure(backend, figures));
            figures = runtime.block_on(measuring).expect("figures");
        }
    }
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    println!("\nload of the machine after: {}", load.trim());
    if !figures.missed.is_empty() {
        println!("missed: {}", figures.missed.join("; "));
        std::process::exit(1);
    }
    println!("every figure was met");
}

async fn measure(backend: Backend, mut figures: Figures) -> Figures {
    let told = &mut figures;
    let small = TestClub::new(backend).await;
    seed::fill(&small, 100, 1_000).await;
    let middle = TestClub::new(backend).await;
    seed::fill(&middle, 500, 5_000).await;
    let big = TestClub::new(backend).await;
    seed::fill(&big, 100_000, 1_000_000).await;
    statements(&big, told).await;
    own_cpu(&middle, told).await;
    growth(&small, &big, told).await;
    other_lists(&small, &big).await;
    program::measure(&middle, told).await;
    due::measure(backend, told).await;
    for club in [small, middle, big] {
        club.app.db.close().await;
        club.ground.clear().await;
    }
    figures
}

/// Statements for each page.
async fn statements(club: &TestClub, figures: &mut Figures) {
    let avery = club.all_roles().await;
    let posts = Signposts::real(club).await;
    let mut most = (0, String::new());
    let mut pages = 0;
    for (_, path, _) in every_page() {
        let path = posts.fill(path);
        let (_, count) = club.queries_of(avery.get(&path)).await;
        pages += 1;
        if count > most.0 {
            most = (count, path);
        }
    }
    figures.hold(
        "statements for a page, of 100,000 packs",
        &format!(
            "at most {} on {pages} pages ({}); limit {STATEMENTS_MAX}",
            most.0, most.1
        ),
        most.0 <= STATEMENTS_MAX,
    );
}

/// What is our own of a request, beside its statements.
async fn own_cpu(club: &TestClub, figures: &mut Figures) {
    for measured in [
        requests::scan_page(club).await,
        requests::pack_page(club).await,
        requests::pack_list(club).await,
        requests::hand_outs(club).await,
    ] {
        let share = measured.alone_us / measured.whole_us;
        let told = format!(
            "{:.0} µs CPU; its {} statements alone {:.0} µs; reaches {:.0} % of what they allow",
            measured.whole_us,
            measured.statements,
            measured.alone_us,
            share * 100.0
        );
        // PostgreSQL does its work in another process, so what is seen here of its statements is no floor.
        if club.backend == Backend::Sqlite {
            let told = format!("{told}, limit {:.0} %", SHARE_MIN * 100.0);
            figures.hold(
                &format!("own share of {}", measured.what),
                &told,
                share >= SHARE_MIN,
            );
        } else {
            println!("told own share of {}: {told}", measured.what);
        }
    }
}

/// What grows with the packs that are stored.
async fn growth(small: &TestClub, big: &TestClub, figures: &mut Figures) {
    for (what, path, limit) in [
        ("scan page", requests::SCANNED_PATH, PACK_PAGE_GROWTH_MAX),
        ("pack page", "/packs/P-050", PACK_PAGE_GROWTH_MAX),
        (
            "first page of the packs list",
            "/packs",
            PACK_LIST_GROWTH_MAX,
        ),
    ] {
        let (before_us, after_us) = requests::both(small, big, path).await;
        let ratio = after_us / before_us;
        figures.hold(
            &format!("growth of {what}"),
            &format!("{before_us:.0} µs CPU at 100 packs, {after_us:.0} µs at 100,000 with 1,000,000 readings: {ratio:.2} times, limit {limit}"),
            ratio <= limit,
        );
    }
}

/// Not demanded, but good to know: the other orders and filters of the list.
async fn other_lists(small: &TestClub, big: &TestClub) {
    for query in [
        "order=state",
        "order=seen",
        "order=what",
        "order=where",
        "state=quarantine",
        "state=not_known",
        "cells=3",
        "text=zebra",
    ] {
        let (before_us, after_us) =
            requests::once_each(small, big, &format!("/packs?{query}")).await;
        println!(
            "told /packs?{query}: {before_us:.0} µs at 100 packs, {after_us:.0} µs at 100,000"
        );
    }
}
