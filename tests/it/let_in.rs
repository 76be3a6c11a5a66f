//! The way back in from the console, by the real program beside a running server: `sandbucket let-in SIGN-IN`.

use crate::support::*;
use sandbucket::clock::Clock;
use std::process::{Command, Output};

const NEW: &str = "nine quiet herons wade";

fn let_in(url: &str, sign_in: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_sandbucket"))
        .env_clear()
        .args([
            "let-in",
            sign_in,
            "--database-url",
            url,
            "--public-url",
            "http://hall.example:8080",
        ])
        .output()
        .expect("the program runs")
}

/// One sentence on the error output, nothing else, and nothing printed.
fn refusal(output: &Output) -> String {
    assert!(!output.status.success() && output.stdout.is_empty());
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(told.lines().count(), 1, "{told}");
    told
}

/// The link's path, as the program printed it.
fn path_in(output: &Output) -> String {
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let line = told.lines().last().expect("a link");
    let path = line.strip_prefix("http://hall.example:8080");
    path.unwrap_or_else(|| panic!("{told}")).to_owned()
}

on_both! {
    async fn the_only_organiser_who_forgot_the_password_gets_back_in_from_the_console(club: TestClub) {
        // The program knows only the real time.
        club.clock.set(Clock::System.now());
        let quinn = club.start().await;
        let output = let_in(club.url(), " QUINN ");
        let path = path_in(&output);
        let visitor = club.visitor();
        let page = visitor.get(&path).await;
        assert_eq!(page.status, 200);
        visitor.submit(&page, "main form", &[("password", NEW)]).await.done();
        assert!(quinn.get("/me").await.done().starts_with("/sign-in"), "every session begun before has ended");
        assert_eq!(club.visitor().get(&path).await.status, 404, "it works once");
        visitor.post("/sign-in", &[("sign_in", "quinn"), ("password", NEW)]).await.done();
        let log = visitor.get("/log").await;
        assert!(log.text.contains("the console: Quinn Marlow: made a reset link at the console"), "{}", log.text);
        assert_eq!(club.find("SELECT verb FROM activity WHERE by_id IS NULL").await, ["made a reset link at the console"]);
        assert_eq!(club.first_break().await, None);
        let token = path.strip_prefix("/reset/").expect("a token");
        for (table, rows) in club.contents().await {
            assert!(!rows.join("").contains(token), "{table}");
        }
    }

    async fn a_link_from_the_console_is_too_old_after_an_hour_and_a_newer_one_takes_its_place(club: TestClub) {
        club.clock.set(Clock::System.now());
        club.start().await;
        let first = path_in(&let_in(club.url(), "quinn"));
        let second = path_in(&let_in(club.url(), "quinn"));
        assert_eq!(club.visitor().get(&first).await.status, 404);
        assert_eq!(club.visitor().get(&second).await.status, 200);
        club.later_by_minutes(62);
        assert_eq!(club.visitor().get(&second).await.status, 404);
    }

    async fn the_console_refuses_the_unknown_the_deactivated_and_the_erased_with_one_sentence(club: TestClub) {
        assert!(refusal(&let_in(club.url(), "quinn")).contains("there is no club in this database yet"));
        let quinn = club.start().await;
        let ada = club.with_password("Ada").await;
        for nobody in ["mallory", "two words", ""] {
            assert!(refusal(&let_in(club.url(), nobody)).contains("nobody signs in as"), "{nobody}");
        }
        quinn.post(&format!("/people/{ada}/deactivate"), &[]).await.done();
        assert!(refusal(&let_in(club.url(), "ada")).contains("ada is deactivated"));
        quinn.post(&format!("/people/{ada}/erase"), &[]).await.done();
        assert!(refusal(&let_in(club.url(), "ada")).contains("nobody signs in as “ada”"));
        assert!(club.ids("link").await.is_empty());
        assert!(club.find("SELECT verb FROM activity WHERE by_id IS NULL").await.is_empty());
    }
}

/// What is said beside the link when it was asked for with these settings.
fn said_beside_the_link(url: &str, settings: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_sandbucket"));
    command
        .env_clear()
        .args(["let-in", "quinn", "--database-url", url])
        .args(settings);
    let output = command.output().expect("the program runs");
    assert!(output.status.success());
    String::from_utf8_lossy(&output.stderr).into_owned()
}

async fn who_asks_without_an_address_is_told(club: TestClub) {
    club.clock.set(Clock::System.now());
    club.start().await;
    let told = said_beside_the_link(club.url(), &[]);
    assert!(
        told.contains("begins with http://127.0.0.1:8080") && told.contains("--public-url"),
        "{told}"
    );
    assert!(
        said_beside_the_link(club.url(), &["--listen", "0.0.0.0:8080"])
            .contains("only this machine")
    );
    for setting in [
        ["--listen", "192.0.2.7:8080"],
        ["--public-url", "http://hall.example"],
    ] {
        assert_eq!(
            said_beside_the_link(club.url(), &setting),
            "",
            "{setting:?}"
        );
    }
}

#[test]
fn a_link_that_only_this_machine_could_open_says_so() {
    run(Backend::Sqlite, who_asks_without_an_address_is_told);
}

#[test]
fn a_mistyped_database_is_refused_and_does_not_come_into_being() {
    let folder = new_folder();
    let url = format!("sqlite://{}", folder.join("mistyped.db").display());
    assert!(refusal(&let_in(&url, "quinn")).contains("could not be opened"));
    assert_eq!(std::fs::read_dir(&folder).expect("the folder").count(), 0);
    std::fs::remove_dir_all(&folder).expect("tidied up");
}
