//! What it costs to decide what is due for the largest club, 10,000 packs, and that it does not grow with the readings that lie
//! behind them: 20,000 in one club, 1,000,000 in the other. The whole page, as its first hundred lines are shown.

use crate::Figures;
use crate::seed;
use crate::support::{Backend, TestClub};
use std::time::Instant;

const PACKS: u32 = 10_000;
const LIMIT_S: f64 = 1.0;
const GROWTH_MAX: f64 = 1.2;
const ROUNDS: usize = 5;

pub async fn measure(backend: Backend, figures: &mut Figures) {
    let (few_s, few) = of_club(backend, 2 * PACKS).await;
    let (many_s, many) = of_club(backend, 1_000_000).await;
    for club in [few, many] {
        club.app.db.close().await;
        club.ground.clear().await;
    }
    figures.hold(
        "what is due for 10,000 packs with 1,000,000 readings",
        &format!("{many_s:.2} s; limit {LIMIT_S:.0} s"),
        many_s < LIMIT_S,
    );
    let growth = many_s / few_s;
    figures.hold(
        "what is due, by readings",
        &format!("{few_s:.2} s with 20,000 readings, {growth:.2} times with 1,000,000; limit {GROWTH_MAX}"),
        growth <= GROWTH_MAX,
    );
}

/// The quickest of a few, in seconds.
async fn of_club(backend: Backend, readings: u32) -> (f64, TestClub) {
    let club = TestClub::new(backend).await;
    seed::fill(&club, PACKS, readings).await;
    let quinn = club.quartermaster().await;
    let mut best = f64::INFINITY;
    for _ in 0..ROUNDS {
        let began = Instant::now();
        let page = quinn.get("/to-see-to").await;
        best = best.min(began.elapsed().as_secs_f64());
        assert_eq!(page.status, 200);
    }
    (best, club)
}
