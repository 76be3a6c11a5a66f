//! Every form of the table, filled in by somebody careless or hostile: never a failure inside, never more than the role
//! may set. The dice are seeded; the seed is named when something falls over, and `SANDBUCKET_TEST_SEED` throws it again.

use crate::support::*;
use std::collections::BTreeSet;
use std::time::Duration;

/// Things that have broken forms before.
const NASTY: [&str; 34] = [
    "",
    " ",
    "0",
    "-1",
    "1",
    "3",
    "99999999999999999999",
    "9223372036854775807",
    "-9223372036854775808",
    "1e308",
    "NaN",
    "1,5",
    "0.00",
    "\0",
    "\u{202e}abc",
    "é🔋",
    "' OR 1=1 --",
    "<script>alert(1)</script>",
    "%00",
    "../../etc/passwd",
    "2026-02-30",
    "2026-11-30",
    "9999-12-31",
    "0001-01-01",
    "391387390",
    "3.91 3.87 3.90",
    "39.1 3.87",
    "14 15 17-20",
    "1-999999999",
    "A-01x999999999",
    "on",
    "true",
    "null",
    "=1+1",
];

/// Field names no page of ours has for everyone: what a hostile form would try to set.
const SMUGGLED: [&str; 12] = [
    "is_quartermaster",
    "is_organiser",
    "role",
    "roles",
    "person_id",
    "by",
    "state",
    "life",
    "created_ms",
    "is_demo",
    "id",
    "key",
];

/// Names of all fields of all forms Avery sees, and the values they come with.
async fn field_names(club: &TestClub) -> (Vec<String>, Vec<String>) {
    let avery = club.all_roles().await;
    let posts = Signposts::real(club).await;
    let mut names: BTreeSet<String> = SMUGGLED.iter().map(|name| (*name).to_owned()).collect();
    let mut values: BTreeSet<String> = NASTY.iter().map(|value| (*value).to_owned()).collect();
    for (_, path, _) in every_page() {
        let page = avery.get(&posts.fill(path)).await;
        for field in page.select("input[name], select[name], textarea[name]") {
            names.insert(field.attribute("name").to_owned());
            values.insert(field.attribute("value").to_owned());
        }
        values.extend(
            page.select("option")
                .iter()
                .map(|option| option.attribute("value").to_owned()),
        );
    }
    (names.into_iter().collect(), values.into_iter().collect())
}

/// Sent again while the server says that it is busy: on a machine full of other tests that is honest, a failure is not.
async fn posted(browser: &Browser, path: &str, fields: &[(&str, &str)]) -> Answer {
    let mut answer = browser.post(path, fields).await;
    for _ in 0..5 {
        if answer.status != 503 {
            break;
        }
        tokio::time::sleep(Duration::from_secs(1)).await;
        answer = browser.post(path, fields).await;
    }
    answer
}

on_both! {
    async fn no_form_however_filled_in_makes_the_server_fail(club: TestClub) {
        club.in_full_swing(6).await;
        let seed = seed();
        let mut dice = Dice(seed);
        let (names, values) = field_names(&club).await;
        let long = "x".repeat(5000);
        for round in 0..share(4, 400) {
            let (mut real, mut avery) = (Signposts::real(&club).await, club.all_roles().await);
            for (at, (_, path, _)) in every_form().into_iter().enumerate() {
                // A form may have ended what the signposts lead to, or who fills it in.
                if at % 5 == 0 {
                    (real, avery) = (Signposts::real(&club).await, club.all_roles().await);
                }
                let nothing = Signposts::to_nothing();
                let path = if dice.throw(3) == 0 { &nothing } else { &real }.fill(path);
                let count = dice.throw(24);
                let mut fields: Vec<(&str, &str)> = Vec::new();
                for _ in 0..count {
                    let name = dice.pick(&names);
                    let value = if dice.throw(40) == 0 { &long } else { dice.pick(&values) };
                    fields.push((name, value));
                }
                let answer = posted(&avery, &path, &fields).await;
                assert!(
                    !answer.status.is_server_error(),
                    "seed {seed}, round {round}: POST {path} {fields:?}: {}", answer.status
                );
                if answer.is_refused() && !answer.text.is_empty() {
                    assert!(answer.one("head > title").starts_with("Error: "), "POST {path} {fields:?}");
                    assert!(!answer.select(".problems[role=alert]").is_empty(), "POST {path} {fields:?}: nothing says what to put right");
                }
            }
        }
        let mut conn = club.app.db.read().await.expect("a connection");
        let broken = sandbucket::store::log::first_break(&mut conn).await.expect("the log");
        assert_eq!(broken, None, "seed {seed}");
    }

    async fn no_query_however_typed_makes_a_page_fail(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let seed = seed();
        let mut dice = Dice(seed);
        let (names, values) = field_names(&club).await;
        for _ in 0..share(2, 100) {
            for (_, path, _) in every_page() {
                let asked: Vec<(&str, &str)> = (0..4).map(|_| (dice.pick(&names), dice.pick(&values))).collect();
                let path = format!("{}?{}", posts.fill(path), urlencoded(&asked));
                let answer = avery.get(&path).await;
                assert!(!answer.status.is_server_error() || answer.status == 503, "seed {seed}: GET {path}: {}", answer.status);
            }
        }
    }

    async fn a_refused_form_is_refused_for_bytes_that_are_no_form_too(club: TestClub) {
        club.in_full_swing(3).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let headers = [("origin", "http://hall.example:8080")];
        for (_, path, _) in every_form().into_iter().filter(|(_, path, _)| *path != "/sign-out") {
            for body in ["%", "%ff=%fe", "a", "&&&=&", "a=1&a=2&a=3"] {
                let path = posts.fill(path);
                let answer = avery.send(axum::http::Method::POST, &path, &headers, Some(body.to_owned())).await;
                assert!(!answer.status.is_server_error(), "POST {path} {body:?}: {}", answer.status);
            }
        }
    }

    async fn extra_fields_give_a_member_no_role_and_touch_nobody_elses_record(club: TestClub) {
        club.in_full_swing(3).await;
        let posts = Signposts::real(&club).await;
        let roles = "SELECT CAST(is_quartermaster AS TEXT) || CAST(is_organiser AS TEXT) || COALESCE(password_hash, '-') \
                     FROM person WHERE name <> 'Mallory' ORDER BY name";
        let others = club.find(roles).await;
        let mallory = club.member("Mallory").await;
        for (_, path, _) in every_form().into_iter().filter(|(_, path, _)| *path != "/sign-out") {
            let fields: Vec<(&str, &str)> = SMUGGLED.iter().map(|name| (*name, "true")).collect();
            mallory.post(&posts.fill(path), &fields).await;
        }
        let mine = "SELECT CAST(is_quartermaster OR is_organiser AS TEXT) FROM person WHERE name = 'Mallory'";
        let held = club.find(mine).await;
        assert!(held == ["0"] || held == ["false"], "{held:?}");
        assert_eq!(club.find(roles).await, others);
    }
}
