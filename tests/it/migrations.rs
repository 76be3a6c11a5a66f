//! The migrations one by one, each on a database that is not empty: after every step its sample rows are put in
//! (`samples/`, one file a step, with a row or more for every table the step makes), then comes the next. At the end each
//! table still holds its rows, and the program opens the database and shows the pack. A step without a file fails.

use crate::support::*;
use sandbucket::app::App;
use sandbucket::clock::Clock;
use std::collections::BTreeMap;
use std::path::Path;

/// A browser's token; the sample session keeps its hash.
const TOKEN: &str = "5a3d1be00000000000000000000000000000000000000000000000000000cafe";

/// Name and text of each file of SQL in `folder`, in order.
fn files(folder: &str) -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let found = std::fs::read_dir(&folder).expect("the folder");
    let paths = found.map(|entry| entry.expect("an entry").path());
    let mut files: Vec<(String, String)> = paths
        .filter(|path| path.extension().is_some_and(|end| end == "sql"))
        .map(|path| {
            let name = path.file_name().expect("a name").to_string_lossy();
            (
                name.into_owned(),
                std::fs::read_to_string(&path).expect("SQL"),
            )
        })
        .collect();
    files.sort();
    files
}

/// Ids stand in the samples as `id(7)`, instants of the evening as `now`.
fn written_for(ground: &Ground, sample: &str) -> String {
    let mut sql = sample
        .replace("{token_hash}", &sandbucket::ids::digest(TOKEN))
        .replace("{now}", &NIGHT.ms().to_string());
    while let Some(start) = sql.find("id(") {
        let end = start + sql[start..].find(')').expect("id(number)");
        let number = sql[start + 3..end].parse().expect("id(number)");
        let id = ground.literal(uuid::Uuid::from_u128(number));
        sql.replace_range(start..=end, &id);
    }
    sql
}

async fn counts(ground: &Ground) -> BTreeMap<String, usize> {
    let contents = ground.contents().await.into_iter();
    contents
        .filter(|(table, _)| table != "_sqlx_migrations")
        .map(|(table, rows)| (table, rows.len()))
        .collect()
}

/// What each table held when the next step came, and in the end.
async fn step_by_step(ground: &Ground) -> BTreeMap<String, usize> {
    let samples: BTreeMap<String, String> = files("tests/it/samples").into_iter().collect();
    let mut before: BTreeMap<String, usize> = BTreeMap::new();
    for (at, (step, _)) in files("migrations").iter().enumerate() {
        ground.migrate(&files("migrations")[..=at]).await;
        let after = counts(ground).await;
        for (table, rows) in &before {
            assert_eq!(
                after.get(table),
                Some(rows),
                "{step} and the rows of {table}"
            );
        }
        let sample = samples
            .get(step)
            .unwrap_or_else(|| panic!("tests/it/samples/{step} is missing"));
        ground.run(&written_for(ground, sample)).await.expect(step);
        before = counts(ground).await;
        let empty: Vec<&String> = before
            .iter()
            .filter(|(_, rows)| **rows == 0)
            .map(|(table, _)| table)
            .collect();
        assert!(empty.is_empty(), "{step} has no sample rows for {empty:?}");
    }
    before
}

#[test]
fn each_sample_belongs_to_a_step() {
    let names = |folder| {
        files(folder)
            .into_iter()
            .map(|(name, _)| name)
            .collect::<Vec<_>>()
    };
    assert_eq!(names("tests/it/samples"), names("migrations"));
}

/// The program on top of it, as somebody who was signed in all the while sees it.
async fn shows_the_pack(ground: &Ground) {
    let db = ground.open().await;
    let app = App::new(db.clone(), Clock::held_at(NIGHT), settings(&ground.url));
    let browser = Browser::new(&app, None);
    browser.keep_cookie("sandbucket", TOKEN);
    let page = browser.get("/packs/P-001").await;
    assert_eq!(page.status, 200, "{}", page.text);
    assert!(page.text.contains("Mill 3S 2200"), "{}", page.text);
    let seen = ground.find("SELECT CAST(seen_ms AS TEXT) FROM pack").await;
    let sample = NIGHT.plus_minutes(-20).ms().to_string();
    assert_eq!(seen, [sample], "its sample found it seen when the log says");
    for path in [
        "/packs",
        "/kit",
        "/loans",
        "/people",
        "/connectors",
        "/night",
        "/log",
    ] {
        assert_eq!(browser.get(path).await.status, 200, "{path}");
    }
    db.close().await;
}

async fn every_step_keeps_what_is_there(backend: Backend) {
    backend.must_be_here();
    let ground = Ground::bare(backend).await;
    let before = step_by_step(&ground).await;
    shows_the_pack(&ground).await;
    assert_eq!(counts(&ground).await, before, "opening it changed nothing");
    ground.clear().await;
}

#[tokio::test]
async fn on_sqlite_each_step_keeps_what_the_steps_before_it_hold() {
    every_step_keeps_what_is_there(Backend::Sqlite).await;
}

#[tokio::test]
async fn on_postgres_each_step_keeps_what_the_steps_before_it_hold() {
    every_step_keeps_what_is_there(Backend::Postgres).await;
}
