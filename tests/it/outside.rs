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
        ("--database-url", "mysql://club"),
        ("--database-url", "sqlite://:memory:"),
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
