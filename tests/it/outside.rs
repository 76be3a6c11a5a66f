//! What comes from outside the program: settings, told by the real program in one sentence when it can't take them, and the
//! client's address, which is believed from configured proxies alone.

use crate::support::*;
use axum::http::Method;
use std::process::{Command, Output};

fn started_with(arguments: &[&str], variables: &[(&str, &str)]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_sandbucket"))
        .env_clear()
        .envs(variables.iter().copied())
        .args(arguments)
        .output()
        .expect("the program runs")
}

/// What it says when it stops at the start: the first line is the sentence.
fn stop_of(output: &Output) -> String {
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(!output.status.success(), "it started");
    assert!(output.stdout.is_empty(), "nothing was served");
    told.lines().next().unwrap_or_default().to_owned()
}

#[test]
fn a_setting_that_cannot_be_read_stops_the_start_and_names_itself() {
    for (name, value) in [
        ("--listen", "hall"),
        ("--public-url", "packs.example"),
        ("--public-url", "https://packs.example/club"),
        ("--trusted-proxies", "10.0.0.0/99"),
        ("--log", "loud"),
    ] {
        let told = stop_of(&started_with(&[name, value], &[]));
        assert!(told.contains(name) && told.contains(value), "{told}");
        let variable = format!("SANDBUCKET_{}", name[2..].replace('-', "_").to_uppercase());
        let told = stop_of(&started_with(&[], &[(&variable, value)]));
        assert!(told.contains(value), "{variable}: {told}");
    }
}

#[test]
fn a_database_url_that_cannot_be_read_is_not_repeated_since_a_password_may_stand_in_it() {
    for value in [
        "postgress://club:s3cretpw@db/x",
        "sqlite://:memory:s3cretpw",
        "postgress://club:s3cretpw\n@db/x",
        "s3cretpw",
    ] {
        for told in [
            started_with(&["--database-url", value], &[]),
            started_with(&[], &[("SANDBUCKET_DATABASE_URL", value)]),
        ] {
            let all = String::from_utf8_lossy(&told.stderr).into_owned();
            assert!(!all.contains("s3cretpw"), "{all}");
            assert_eq!(all.lines().count(), 1, "{all}");
            assert!(stop_of(&told).contains("--database-url"), "{all}");
        }
    }
}

/// Why the database could not be opened, in one sentence without the password.
fn not_opened(url: &str) -> String {
    let told = started_with(&["--database-url", url, "--listen", "127.0.0.1:0"], &[]);
    let all = String::from_utf8_lossy(&told.stderr).into_owned();
    assert!(!all.contains("s3cretpw"), "{all}");
    assert_eq!(all.lines().count(), 1, "{all}");
    assert!(
        !all.contains("SQLite") || url.starts_with("sqlite"),
        "{all}"
    );
    let sentence = stop_of(&told);
    let start = "sandbucket: the database could not be opened: ";
    sentence
        .strip_prefix(start)
        .unwrap_or_else(|| panic!("{sentence}"))
        .to_owned()
}

#[test]
fn a_database_server_that_is_not_there_is_named_by_its_host_alone() {
    let at = free_address();
    let told = not_opened(&format!("postgres://club:s3cretpw@{at}/club"));
    assert_eq!(
        told,
        "no PostgreSQL server answers at 127.0.0.1: look whether it runs, and at host and port."
    );
    let told = not_opened("postgres://club:pa/s3cretpw@db/club");
    assert!(told.starts_with("its address can't be read: "), "{told}");
}

#[test]
fn a_file_that_is_not_there_is_told_how_it_is_made() {
    let folder = new_folder();
    let told = not_opened(&format!("sqlite://{}/none.db", folder.display()));
    assert!(told.contains("--create-database"), "{told}");
    std::fs::remove_dir_all(&folder).expect("tidied up");
}

/// A server that refuses every password, as PostgreSQL does.
fn refusing_server() -> std::net::SocketAddr {
    use std::io::{Read, Write};
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let at = listener.local_addr().expect("an address");
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            let mut stream = stream.expect("a client");
            let read = stream.read(&mut [0; 1024]).expect("its greeting");
            assert!(read > 0);
            let said = b"SFATAL\0VFATAL\0C28P01\0Mpassword authentication failed\0\0";
            let length = u32::try_from(said.len() + 4).expect("short");
            let answer = [b"E".as_slice(), &length.to_be_bytes(), said].concat();
            stream.write_all(&answer).expect("answered");
        }
    });
    at
}

#[test]
fn a_refused_password_is_told_without_it() {
    let at = refusing_server();
    let told = not_opened(&format!(
        "postgres://club:s3cretpw@{at}/club?sslmode=disable"
    ));
    assert_eq!(
        told,
        "the PostgreSQL server at 127.0.0.1 refuses that user and password."
    );
}

async fn no_such_database(club: TestClub) {
    let (server, _) = club.url().split_once('?').unwrap_or((club.url(), ""));
    let (server, _) = server.rsplit_once('/').expect("a database");
    let told = not_opened(&format!("{server}/none_of_ours_s3cretpw"));
    assert!(told.ends_with("has no database of that name."), "{told}");
}

#[test]
fn a_database_that_the_server_does_not_have_is_told_of() {
    run(Backend::Postgres, no_such_database);
}

#[test]
fn an_unknown_setting_stops_the_start_and_is_named() {
    let told = stop_of(&started_with(&["--colour", "sand"], &[]));
    assert!(told.contains("--colour"), "{told}");
    let told = stop_of(&started_with(&[], &[("SANDBUCKET_COLOUR", "sand")]));
    assert!(told.contains("SANDBUCKET_COLOUR"), "{told}");
}

/// Asks for a link that does not exist, as a proxy at `peer` says it was asked by `client`.
async fn try_link(app: &sandbucket::app::App, peer: [u8; 4], client: &str) -> u16 {
    let browser = Browser::new(app, None).at(peer);
    let path = format!("/join/{}", sandbucket::ids::new_token());
    let headers = [("x-forwarded-for", client)];
    let answer = browser.send(Method::GET, &path, &headers, None).await;
    answer.status.as_u16()
}

const PROXY: [u8; 4] = [10, 0, 0, 7];
const STRANGER: [u8; 4] = [203, 0, 113, 9];

on_both! {
    async fn behind_a_trusted_proxy_each_client_has_its_own_limit(club: TestClub) {
        club.found().await;
        let app = club.with_settings(|settings| settings.trusted_proxies = vec!["10.0.0.0/8".parse().expect("a network")]);
        for _ in 0..12 {
            assert_eq!(try_link(&app, PROXY, "198.51.100.1").await, 404);
        }
        assert_eq!(try_link(&app, PROXY, "198.51.100.1").await, 429);
        assert_eq!(try_link(&app, PROXY, "198.51.100.2").await, 404);
        // What the client itself wrote before the proxy added the true address counts for nothing.
        assert_eq!(try_link(&app, PROXY, "192.0.2.77, 198.51.100.1").await, 429);
    }

    async fn who_is_no_trusted_proxy_is_not_believed(club: TestClub) {
        club.found().await;
        let app = club.with_settings(|settings| settings.trusted_proxies = vec!["10.0.0.0/8".parse().expect("a network")]);
        for last in 0..12 {
            assert_eq!(try_link(&app, STRANGER, &format!("198.51.100.{last}")).await, 404);
        }
        assert_eq!(try_link(&app, STRANGER, "198.51.100.200").await, 429);
    }
}
