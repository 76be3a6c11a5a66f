//! Changes that another site asks for in a person's name are refused; looking changes nothing.

use crate::support::*;
use axum::http::Method;
use sandbucket::store::log;

const OURS: &str = "http://hall.example:8080";

on_both! {
    async fn a_change_asked_for_by_another_site_is_refused(club: TestClub) {
        let ada = club.member("Ada").await;
        for headers in [
            &[("sec-fetch-site", "cross-site")][..],
            &[("sec-fetch-site", "same-site")],
            // What the browser says of the site counts more than an Origin that fits.
            &[("sec-fetch-site", "cross-site"), ("origin", OURS)],
            &[("origin", "http://evil.example")],
            &[("origin", "http://hall.example:8081")],
            &[("origin", "null")],
            &[],
        ] {
            let answer = ada.post_with("/sign-out", headers, &[]).await;
            assert_eq!(answer.status, 403, "{headers:?}");
            assert!(ada.get("/").await.location.is_some_and(|place| !place.starts_with("/sign-in")));
        }
    }

    async fn a_change_asked_for_by_our_own_page_is_made(club: TestClub) {
        for headers in [
            &[("sec-fetch-site", "same-origin")][..],
            &[("sec-fetch-site", "none")],
            &[("origin", OURS)],
            &[("origin", "http://127.0.0.1:8080")],
        ] {
            let ada = club.member("Ada").await;
            let answer = ada.post_with("/sign-out", headers, &[]).await;
            assert_eq!(answer.done(), "/sign-in", "{headers:?}");
        }
    }

    async fn a_program_without_a_session_needs_no_origin(club: TestClub) {
        club.found().await;
        let typed = [("sign_in", "nobody"), ("password", "nothing that is known")];
        let answer = club.visitor().post_with("/sign-in", &[], &typed).await;
        assert!(answer.is_refused(), "refused for the password, not for where it came from: {}", answer.status);
    }

    async fn putting_and_deleting_are_not_ways_round(club: TestClub) {
        let ada = club.member("Ada").await;
        for method in [Method::PUT, Method::DELETE, Method::PATCH] {
            let answer = ada.send(method, "/sign-out", &[("origin", OURS)], None).await;
            assert!(answer.status.is_client_error());
        }
        assert!(ada.get("/").await.location.is_some_and(|place| !place.starts_with("/sign-in")));
    }

    async fn a_form_larger_than_any_page_sends_is_not_read(club: TestClub) {
        let ada = club.member("Ada").await;
        let much = "x".repeat(300 * 1024);
        let answer = ada.post("/sign-in", &[("sign_in", &much)]).await;
        assert!(answer.status.is_client_error(), "{}", answer.status);
        assert!(log::first_break(&mut club.app.db.read().await.expect("a connection")).await.expect("the log").is_none());
    }
}
