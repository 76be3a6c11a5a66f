//! Addresses, queries and forms that make no sense: each is told so in a page of the club's own, with a way on.

use crate::support::*;
use axum::http::Method;

const OURS: (&str, &str) = ("origin", "http://hall.example:8080");

/// A page of ours, not a bare line of text; `told` says what was asked for.
fn is_our_page(answer: &Answer, told: &str) {
    let kind = answer.header("content-type");
    assert!(
        kind.starts_with("text/html"),
        "{told}: {} {kind} {:?}",
        answer.status,
        answer.text
    );
    assert_eq!(answer.select("h1").len(), 1, "{told}");
    assert!(
        !answer.select("main a[href]").is_empty(),
        "{told}: no way on"
    );
    assert!(
        answer.one("head > title").starts_with("Error: ") || answer.status == 404,
        "{told}"
    );
    assert!(
        !answer.text.to_lowercase().contains("deserialize"),
        "{told}: {}",
        answer.text
    );
}

/// Every parameter of the address filled with `word`.
fn with_word(path: &str, word: &str) -> String {
    let parts = path.split('/');
    let filled: Vec<&str> = parts
        .map(|part| if part.starts_with('{') { word } else { part })
        .collect();
    filled.join("/")
}

on_both! {
    async fn an_address_that_names_nothing_is_not_here_on_every_route(club: TestClub) {
        club.in_full_swing(3).await;
        let avery = club.all_roles().await;
        let mut asked = 0_usize;
        for (method, path, _) in every_route().into_iter().filter(|(_, path, _)| path.contains('{')) {
            for word in ["not-a-uuid", "x", "%ff", "00000000-0000-0000-0000-00000000000g"] {
                let (told, path) = (format!("{method} {path} {word}"), with_word(path, word));
                let is_secret = ["/join", "/reset", "/confirm-address"].iter().any(|begin| path.starts_with(begin));
                let browser = if is_secret { club.visitor().at([198, 51, 100, u8::try_from(asked % 250 + 1).expect("a host")]) } else { avery.again() };
                let answer = browser.send(method.clone(), &path, &[OURS], Some("reason=because&way=lost&name=x".to_owned())).await;
                assert_eq!(answer.status, 404, "{told}");
                is_our_page(&answer, &told);
                asked += 1;
            }
        }
        assert!(asked > 100, "{asked}");
    }

    async fn a_form_that_cannot_be_read_is_told_so_and_changes_nothing_on_every_route(club: TestClub) {
        club.in_full_swing(3).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let much = format!("name={}", "x".repeat(300 * 1024));
        // A sheet may be pasted; a photo and a charge log are larger than a form.
        let more = format!("name={}", "x".repeat(13 * 1024 * 1024));
        let before = club.contents().await;
        for (_, path, _) in every_form().into_iter().filter(|(_, path, _)| *path != "/sign-out") {
            let brings_a_file = path == "/bring-in" || ["/photos", "/charge-logs/new", "/disposal", "/files"].iter().any(|end| path.ends_with(end));
            let much = if brings_a_file { &more } else { &much };
            // A label, a poster, a report and the way out of a mail have secret addresses, none of which is among the signposts; and there is a
            // club already: its first page is not here.
            let is_nowhere = path.starts_with("/t/") || path.starts_with("/p/") || path.starts_with("/reported/") || path.starts_with("/unsubscribe/") || path.starts_with("/confirm-address/") || path == "/start";
            let path = posts.fill(path);
            for (what, kind, body, status) in [
                ("too large", "application/x-www-form-urlencoded", much.as_str(), 413),
                ("JSON", "application/json", "{\"name\":\"x\"}", 400),
                ("no kind", "", "name=x", 400),
                ("no UTF-8", "application/x-www-form-urlencoded", "name=%FF%FE&key=1", 400),
            ] {
                let told = format!("POST {path} {what}");
                let answer = avery.send(Method::POST, &path, &[("content-type", kind), OURS], Some(body.to_owned())).await;
                is_our_page(&answer, &told);
                assert!(answer.status == status || (is_nowhere && answer.status == 404), "{told}: {}", answer.status);
            }
        }
        assert_eq!(club.contents().await, before);
    }

    async fn a_query_that_makes_no_sense_is_told_so(club: TestClub) {
        club.in_full_swing(3).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let twice = "done=1&done=2&text=a&text=b&kind=a&kind=b&page=x&page=y&next=a&next=b&before=x&before=y&from=a&to=b&who=1&who=2";
        let mut told_so = Vec::new();
        for (_, path, _) in every_page() {
            let path = format!("{}?{twice}", posts.fill(path));
            let answer = avery.get(&path).await;
            assert!(!answer.status.is_server_error(), "{path}");
            if answer.status.is_client_error() {
                is_our_page(&answer, &path);
            }
            if answer.status == 400 {
                told_so.push(path);
            }
        }
        assert!(told_so.len() > 8, "{told_so:?}");
    }

    async fn an_address_asked_for_in_another_way_or_from_elsewhere_is_told_so(club: TestClub) {
        club.in_full_swing(3).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        for (_, path, _) in every_route() {
            let path = posts.fill(path);
            let answer = avery.send(Method::PUT, &path, &[OURS], None).await;
            assert!(matches!(answer.status.as_u16(), 404 | 405), "PUT {path}: {}", answer.status);
            is_our_page(&answer, &path);
        }
        for (_, path, _) in every_form() {
            let path = posts.fill(path);
            let answer = avery.send(Method::POST, &path, &[("origin", "http://evil.example")], Some(String::new())).await;
            assert!(matches!(answer.status.as_u16(), 404 | 403), "POST {path}: {}", answer.status);
            is_our_page(&answer, &path);
        }
    }
}
