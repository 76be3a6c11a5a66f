//! What deciding what is due costs: it goes by packs, never by how many readings lie behind them. In full (`./check --long`) as many as
//! the largest club: 10,000 packs with 1,000,000 readings.

use crate::support::*;
use std::time::Duration;

/// So many packs in use, each above its band, with what is kept beside its latest reading.
async fn packs(club: &TestClub, count: usize) -> Browser {
    club.new_packs(count).await;
    let quinn = club.quartermaster().await;
    let read = club.now().plus_days(-5).ms();
    for sql in [
        format!(
            "UPDATE pack SET state = 'fit', last_volts = 'c:4180,4180,4180', last_rested_minutes = 60, last_read_ms = {read}"
        ),
        "INSERT INTO care (pack_id, lain, first_check_ms) SELECT id, '[]', 1 FROM pack".to_owned(),
    ] {
        club.behind_the_back(&sql).await.expect("packs");
    }
    quinn
}

/// So many more readings of each pack, older than its latest.
async fn older_readings(club: &TestClub, by: &Browser, each: usize, before_days: i64) {
    let id = match club.backend {
        Backend::Sqlite => "randomblob(16)",
        Backend::Postgres => "gen_random_uuid()",
    };
    let latest = club.now().plus_days(-before_days).ms();
    let sql = format!(
        "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {each}) \
         INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes) \
         SELECT {id}, k.id, {latest} - n.i * 3600000, {}, 'c:3820,3810,3820', 60 FROM pack k CROSS JOIN n",
        club.literal(by.id())
    );
    let added = club.behind_the_back(&sql).await.expect("readings");
    assert!(added > 0);
}

/// The quickest of a few.
async fn takes(who: &Browser, lines: &str) -> Duration {
    let mut best = Duration::MAX;
    for _ in 0..5 {
        let begun = std::time::Instant::now();
        let page = who.get("/to-see-to").await;
        best = best.min(begun.elapsed());
        assert!(page.text.contains(lines), "{}", page.one(".sum"));
    }
    best
}

on_both! {
    async fn deciding_what_is_due_does_not_grow_with_the_number_of_old_readings(club: TestClub) {
        let (count, few, many) = (share(600, 10_000), share(5, 10), share(50, 90));
        let quinn = packs(&club, count).await;
        older_readings(&club, &quinn, few, 10).await;
        let lines = format!("<b>{count}</b>this week");
        let with_few = takes(&quinn, &lines).await;
        older_readings(&club, &quinn, many, 100).await;
        let with_many = takes(&quinn, &lines).await;
        tell_rounds(&format!("what is due for {count} packs: {with_few:?} with {few} old readings each, {with_many:?} with {}", few + many));
        let slower = with_many.as_secs_f64() / with_few.as_secs_f64();
        // Beside other tests one half may have met a busy moment: eleven times the readings would be told all the same.
        let most = if is_long() { 1.5 } else { 3.0 };
        assert!(slower < most, "{with_few:?} became {with_many:?}");
        // Under a second for 10,000 packs, in a release build as `./check --long` makes it.
        if is_long() {
            let limit = Duration::from_secs(1) * slowness();
            assert!(with_many < limit, "{with_many:?}");
        }
    }
}
