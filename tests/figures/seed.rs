//! Clubs of any size: packs, readings, loans and log entries put in by a few large statements, all packs alike but for
//! number, design, place and day of the last reading. Every pack has the same short history, so that only the amount
//! stored differs between clubs.

use crate::support::{Backend, TestClub};
use std::time::Instant;

/// A log entry as the program writes it for a pack.
pub const STANDING: &str = "{\"number\":\"P-001\",\"state\":\"fit\",\"why\":\"No known fault on record.\",\"life\":\"in_use\",\
    \"place\":null,\"holder\":null,\"due\":null,\"read_ms\":1795000000000,\"volts\":\"c:3820,3810,3820\"}";

/// So many packs with so many readings together; one pack in fifty in quarantine, as many set aside, a few out.
pub async fn fill(club: &TestClub, packs: u32, readings: u32) {
    let began = Instant::now();
    club.in_full_swing(12).await;
    add_packs(club, 13, packs).await;
    let each = readings / packs;
    let per_pack = format!(
        "INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes) \
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {each}) \
         SELECT {}, k.id, k.last_read_ms - n.i * CAST(86400000 AS BIGINT), {}, k.last_volts, 60 FROM pack k CROSS JOIN n",
        id_from(club, "k.number_key * 100 + n.i"),
        quinn(club).await
    );
    run(club, &per_pack).await;
    // Each pack has a label whose code ends with its number.
    let code = "SUBSTR('00000000000000000000000000', 1, 26 - LENGTH(CAST(k.number_key AS TEXT))) || CAST(k.number_key AS TEXT)";
    let quinn = quinn(club).await;
    let labels = format!(
        "INSERT INTO label (code, pack_id, made_ms, made_by, base, printed_ms) SELECT {code}, k.id, 1, {quinn}, 'http://pi', 1 FROM pack k          WHERE NOT EXISTS (SELECT 1 FROM label la WHERE la.pack_id = k.id)"
    );
    run(club, &labels).await;
    lend_some(club, packs).await;
    let by_kind = "CASE WHEN number_key % 50 = 1 THEN 'quarantine' ELSE 'set_aside' END";
    run(
        club,
        &format!(
            "UPDATE pack SET state = {by_kind} WHERE number_key > 12 AND number_key % 50 IN (1, 2)"
        ),
    )
    .await;
    if club.backend == Backend::Postgres {
        run(club, "ANALYZE").await;
    }
    println!(
        "seeded {packs} packs, {readings} readings in {:.1} s",
        began.elapsed().as_secs_f32()
    );
}

/// So many more fit packs nobody has; the running number of the first.
pub async fn more(club: &TestClub, count: u32) -> i64 {
    let last = club
        .find("SELECT CAST(MAX(number_key) AS TEXT) FROM pack")
        .await;
    let first = last[0].parse::<u32>().expect("a number") + 1;
    add_packs(club, first, first + count).await;
    i64::from(first)
}

/// Packs with the running numbers `first` to `last`, each like P-001, and three log entries for each.
async fn add_packs(club: &TestClub, first: u32, last: u32) {
    let number = "'P-' || SUBSTR('00', 1, CASE WHEN n.i < 10 THEN 2 WHEN n.i < 100 THEN 1 ELSE 0 END) || CAST(n.i AS TEXT)";
    let numbers = format!(
        "WITH RECURSIVE n(i) AS (SELECT {first} UNION ALL SELECT i + 1 FROM n WHERE i < {last})"
    );
    let packs = format!(
        "INSERT INTO pack (id, number, number_key, design_id, maker, batch, supplier, price, place_id, notes, life, state, \
         state_words, state_next, state_ms, last_volts, last_rested_minutes, last_read_ms, seen_ms, created_ms) {numbers} \
         SELECT {}, {number}, n.i, k.design_id, k.maker, 'B' || CAST(n.i / 20 AS TEXT), '', '', \
         (SELECT id FROM place WHERE name = 'Van'), '', 'in_use', 'fit', 'No known fault on record.', '', k.state_ms, \
         'c:3820,3810,3820', 60, k.created_ms - CAST(86400000 AS BIGINT) * (n.i % 80), k.created_ms - CAST(86400000 AS BIGINT) * (n.i % 80), k.created_ms FROM n CROSS JOIN pack k WHERE k.number = 'P-001'",
        id_from(club, "1000000000 + n.i")
    );
    run(club, &packs).await;
    let entries = format!(
        "INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash) \
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 3) \
         SELECT 1000000 + k.number_key * 10 + n.i, k.created_ms, {}, 'logged volts', 'pack', k.id, 'null', '{STANDING}', '' \
         FROM pack k CROSS JOIN n WHERE k.number_key BETWEEN {first} AND {last}",
        quinn(club).await
    );
    run(club, &entries).await;
    // The log goes on behind what was put in.
    let head = "UPDATE turn SET log_seq = (SELECT MAX(seq) FROM activity)";
    run(club, head).await;
}

/// Fifty packs are out, however many there are.
async fn lend_some(club: &TestClub, packs: u32) {
    let step = packs / 50;
    let lent = format!(
        "INSERT INTO lent (id, loan_id, pack_id, opened_ms) \
         SELECT {}, (SELECT loan_id FROM lent LIMIT 1), k.id, k.created_ms FROM pack k \
         WHERE k.number_key > 60 AND k.number_key % {step} = {}",
        id_from(club, "2000000000 + k.number_key"),
        3 % step
    );
    run(club, &lent).await;
}

/// An id made of a number: the large statements have no generator of ours.
fn id_from(club: &TestClub, number: &str) -> String {
    match club.backend {
        Backend::Sqlite => {
            format!("CAST(SUBSTR('0000000000000000' || CAST({number} AS TEXT), -16) AS BLOB)")
        }
        Backend::Postgres => format!("CAST(LPAD(CAST({number} AS TEXT), 32, '0') AS UUID)"),
    }
}

async fn quinn(club: &TestClub) -> String {
    club.literal(club.quartermaster().await.id())
}

async fn run(club: &TestClub, sql: &str) {
    let done = club.behind_the_back(sql).await;
    done.unwrap_or_else(|error| panic!("{error}: {sql}"));
}
