//! In and out: who gets a session, how long it lasts and what ends it.

use crate::support::*;
use sandbucket::ids;
use sandbucket::store::people;
use std::time::{Duration, Instant};
use uuid::Uuid;

async fn try_as(club: &TestClub, name: &str, password: &str) -> (Browser, Answer) {
    let browser = club.visitor();
    let typed = [("sign_in", name), ("password", password)];
    let answer = browser.post("/sign-in", &typed).await;
    (browser, answer)
}

/// Is there somebody's own page behind the cookie, or the way to the sign-in?
async fn is_in(browser: &Browser) -> bool {
    let place = browser.get("/").await.location.unwrap_or_default();
    !place.starts_with("/sign-in")
}

async fn deactivate(club: &TestClub, id: Uuid) {
    let mut tx = club.app.db.write().await.expect("the turn to write");
    let person = people::by_id(&mut tx, id).await.expect("people");
    let mut person = person.expect("somebody");
    person.deactivated_ms = Some(club.now());
    people::save(&mut tx, &person).await.expect("changed");
    tx.save().await.expect("saved");
}

on_both! {
    async fn the_right_password_opens_a_session_that_is_kept_as_a_hash_only(club: TestClub) {
        club.with_password("Ada").await;
        let (ada, answer) = try_as(&club, " ADA ", PASSWORD).await;
        assert_eq!(answer.done(), "/");
        let line = answer.header("set-cookie");
        for part in ["HttpOnly", "SameSite=Lax", "Path=/"] {
            assert!(line.contains(part), "{line}");
        }
        assert!(!line.contains("Secure"), "over plain http it would be dropped: {line}");
        let token = ada.cookie("sandbucket").expect("a session");
        assert!(token.len() >= 32, "128 bits or more");
        let kept = club.find("SELECT token_hash FROM session").await;
        assert_eq!(kept, [ids::digest(&token)]);
        assert!(is_in(&ada).await);
    }

    async fn over_https_the_cookie_is_tied_to_host_and_https(club: TestClub) {
        club.with_password("Ada").await;
        let app = club.with_settings(|settings| settings.public_url = Some("https://packs.example.org".to_owned()));
        let ada = Browser::new(&app, None);
        let typed = [("sign_in", "ada"), ("password", PASSWORD)];
        let headers = [("sec-fetch-site", "same-origin")];
        let answer = ada.post_with("/sign-in", &headers, &typed).await;
        assert_eq!(answer.done(), "/");
        let line = answer.header("set-cookie");
        assert!(line.starts_with("__Host-sandbucket=") && line.contains("; Secure"), "{line}");
        assert!(answer.header("strict-transport-security").contains("max-age"));
    }

    async fn every_sign_in_gets_a_token_of_its_own(club: TestClub) {
        club.with_password("Ada").await;
        let (browser, _) = try_as(&club, "ada", PASSWORD).await;
        let first = browser.cookie("sandbucket");
        browser.post("/sign-in", &[("sign_in", "ada"), ("password", PASSWORD)]).await.done();
        assert_ne!(browser.cookie("sandbucket"), first);
    }

    async fn known_and_unknown_names_get_the_same_answer(club: TestClub) {
        club.with_password("Ada").await;
        let (_, known) = try_as(&club, "ada", "not the right one at all").await;
        let (_, unknown) = try_as(&club, "eda", "not the right one at all").await;
        assert_eq!((known.status.as_u16(), unknown.status.as_u16()), (422, 422));
        assert_eq!(known.text.replace("value=\"ada\"", ""), unknown.text.replace("value=\"eda\"", ""));
        assert!(!known.text.contains("not the right one"), "a password is never sent back");
    }

    async fn known_and_unknown_names_take_the_same_time(club: TestClub) {
        club.with_password("Ada").await;
        let mut shortest = [Duration::MAX; 2];
        for _ in 0..4 {
            for (name, shortest) in ["ada", "eda"].into_iter().zip(&mut shortest) {
                let began = Instant::now();
                try_as(&club, name, "not the right one at all").await;
                *shortest = began.elapsed().min(*shortest);
            }
        }
        let [known, unknown] = shortest;
        assert!(known < unknown * 3 && unknown < known * 3, "{known:?} and {unknown:?}");
    }

    async fn the_ninth_try_for_a_name_is_told_when_to_come_back(club: TestClub) {
        club.with_password("Ada").await;
        for _ in 0..8 {
            assert!(try_as(&club, "ada", "wrong wrong wrong wrong").await.1.is_refused());
        }
        let (_, ninth) = try_as(&club, "Ada", PASSWORD).await;
        assert_eq!(ninth.status, 429);
        let wait_s: u64 = ninth.header("retry-after").parse().expect("seconds");
        assert!((1..=120).contains(&wait_s));
        assert!(ninth.one("main [role=alert]").contains("Try again in"));
    }

    async fn a_session_nobody_used_for_two_weeks_is_over(club: TestClub) {
        let ada = club.member("Ada").await;
        club.later_by_days(13);
        assert!(is_in(&ada).await, "13 days are not too long");
        club.later_by_days(13);
        assert!(is_in(&ada).await, "the last visit counts, not the first");
        club.later_by_days(14);
        assert!(!is_in(&ada).await);
    }

    async fn a_session_in_daily_use_is_over_after_ninety_days(club: TestClub) {
        let ada = club.member("Ada").await;
        for _ in 0..89 {
            club.later_by_days(1);
            assert!(is_in(&ada).await);
        }
        club.later_by_days(1);
        assert!(!is_in(&ada).await);
    }

    async fn signing_out_ends_the_session_on_the_server(club: TestClub) {
        let ada = club.member("Ada").await;
        let phone = club.member("Ada").await;
        let token = ada.cookie("sandbucket").expect("a session");
        assert_eq!(ada.post("/sign-out", &[]).await.done(), "/sign-in");
        assert_eq!(ada.cookie("sandbucket"), None);
        ada.keep_cookie("sandbucket", &token);
        assert!(!is_in(&ada).await, "the old token is worth nothing");
        assert!(is_in(&phone).await, "the other session goes on");
    }

    async fn a_deactivated_person_is_out_at_once_and_can_not_come_back(club: TestClub) {
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        assert!(is_in(&ada).await);
        deactivate(&club, id).await;
        assert!(!is_in(&ada).await);
        assert!(try_as(&club, "ada", PASSWORD).await.1.is_refused());
    }

    async fn a_forged_token_opens_nothing(club: TestClub) {
        club.member("Ada").await;
        let hash = club.find("SELECT token_hash FROM session").await.remove(0);
        for token in [hash.as_str(), "x", "' OR '1'='1"] {
            let stranger = club.visitor();
            stranger.keep_cookie("sandbucket", token);
            assert!(!is_in(&stranger).await);
        }
    }

    async fn after_signing_in_a_person_lands_where_they_wanted_to_go(club: TestClub) {
        club.member("Ben").await;
        let sent = club.visitor().get("/?show=all").await.location.expect("the sign-in");
        assert!(sent.starts_with("/sign-in?next="));
        let id = club.with_password("Ada").await;
        assert!(club.signed_in(id).await.get(&sent).await.status == 200);
        let browser = club.visitor();
        let page = browser.get(&sent).await;
        let typed = [("sign_in", "ada"), ("password", PASSWORD)];
        let answer = browser.submit(&page, "form[action='/sign-in']", &typed).await;
        assert_eq!(answer.done(), "/?show=all");
    }

    async fn a_link_can_not_lead_a_person_who_signs_in_to_another_site(club: TestClub) {
        club.with_password("Ada").await;
        club.with_password("Ben").await;
        for (host, next) in [
            "https://evil.example/", "//evil.example/", "/\\evil.example", "\\\\evil.example", "javascript:alert(1)",
            "/\t/evil.example", "/\r\nLocation: https://evil.example", "evil.example", "",
        ].into_iter().enumerate() {
            let browser = club.visitor().at([192, 0, 2, u8::try_from(host).expect("small")]);
            let name = ["ada", "ben"][host % 2];
            let typed = [("sign_in", name), ("password", PASSWORD), ("next", next)];
            let answer = browser.post("/sign-in", &typed).await;
            let place = answer.done().to_owned();
            assert!(!place.replace(['\t', '\r', '\n'], "").starts_with("//"), "{next:?} led to {place:?}");
            assert!(place.starts_with('/') && !place.contains('\\'), "{next:?} led to {place:?}");
        }
    }
}
