//! Every route of the table: who may use it, what its answers carry, and that looking changes nothing.
//! A route without a rule can't be written down: `routes::get` and `routes::post` take a `Who`.

use crate::support::*;
use axum::http::Method;

/// The routes that need no sign-in, all of them.
const OPEN: [&str; 33] = [
    "GET /health/live",
    "GET /health/ready",
    "GET /static/{build}/{name}",
    "GET /start",
    "POST /start",
    "GET /sign-in",
    "POST /sign-in",
    "GET /confirm-address/{token}",
    "POST /confirm-address/{token}",
    "GET /unsubscribe/{token}",
    "POST /unsubscribe/{token}",
    "GET /t/{code}",
    "GET /t/{code}/report",
    "POST /t/{code}/report",
    "GET /p/{code}",
    "POST /p/{code}",
    "GET /offline",
    "POST /offline",
    "GET /worker.js",
    "GET /contact",
    "POST /contact",
    "GET /reported/{token}",
    "POST /reported/{token}",
    "GET /join/{token}",
    "POST /join/{token}",
    "GET /reset/done",
    "GET /reset/{token}",
    "POST /reset/{token}",
    "GET /table",
    "POST /table",
    "GET /calendar/{token}",
    "GET /api",
    "GET /api/openapi.json",
];

#[test]
fn only_these_routes_can_be_used_without_signing_in() {
    let open: Vec<String> = every_route()
        .into_iter()
        .filter(|(_, _, who)| may_use(*who, None) || *who == sandbucket::web::gate::Who::Newcomer)
        .map(|(method, path, _)| format!("{method} {path}"))
        .collect();
    assert_eq!(open, OPEN);
}

async fn ask(browser: &Browser, method: &Method, path: &str) -> Answer {
    match *method {
        Method::GET => browser.get(path).await,
        _ => browser.post(path, &[]).await,
    }
}

fn is_sent_away(answer: &Answer) -> bool {
    let place = answer.location.as_deref().unwrap_or_default();
    matches!(answer.status.as_u16(), 401 | 403) || place.starts_with("/sign-in?next=")
}

on_both! {
    async fn each_mixture_of_roles_may_use_what_the_table_says_and_nothing_else(club: TestClub) {
        club.in_full_swing(6).await;
        let (mut real, mut everybody) = (Signposts::real(&club).await, club.everybody().await);
        let mut is_stale = false;
        for (method, path, who) in every_route() {
            if is_stale {
                (real, everybody) = (Signposts::real(&club).await, club.everybody().await);
            }
            // What is sent may end what an address leads to, or who sends it; looking ends nothing.
            is_stale = method != Method::GET;
            let mut paths = vec![Signposts::to_nothing().fill(path), real.fill(path)];
            paths.dedup();
            for path in paths {
                for (name, roles, browser) in &everybody {
                    let answer = ask(browser, &method, &path).await;
                    let told = format!("{method} {path} by {name}: {}", answer.status);
                    if may_use(who, *roles) {
                        // A log that somebody else brought in: whose it is, is asked in `every_owner`.
                        let is_anothers = answer.text.contains("Only a quartermaster, or who brought it in, removes a log.");
                        assert!(is_anothers || !is_sent_away(&answer), "{told}");
                    } else {
                        assert!(is_sent_away(&answer) || answer.status == 404, "{told}");
                    }
                    assert!(!answer.status.is_server_error(), "{told}");
                }
            }
        }
    }

    async fn who_may_not_use_a_form_changes_nothing_with_it(club: TestClub) {
        club.in_full_swing(6).await;
        let posts = Signposts::real(&club).await;
        let everybody = club.everybody().await;
        let before = club.contents().await;
        for (_, path, who) in every_form() {
            for (name, roles, browser) in &everybody {
                if !may_use(who, *roles) {
                    browser.post(&posts.fill(path), &[("reason", "because"), ("name", "x")]).await;
                    assert_eq!(club.contents().await, before, "{path} by {name}");
                }
            }
        }
    }

    async fn looking_at_a_page_changes_nothing(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let before = club.contents().await;
        for (_, path, _) in every_page() {
            let path = posts.fill(path);
            avery.get(&path).await;
            assert_eq!(club.contents().await, before, "GET {path}");
        }
    }

    async fn every_answer_carries_the_strict_headers(club: TestClub) {
        club.in_full_swing(6).await;
        let posts = Signposts::real(&club).await;
        let mut asked: Vec<(Method, String)> = every_route()
            .into_iter()
            .map(|(method, path, _)| (method, posts.fill(path)))
            .collect();
        asked.push((Method::GET, "/nowhere".to_owned()));
        asked.push((Method::GET, sandbucket::web::assets::at("sandbucket.css")));
        for (method, path) in asked {
            for browser in [club.visitor(), club.all_roles().await] {
                let answer = ask(&browser, &method, &path).await;
                has_strict_headers(&answer);
            }
        }
    }
}

fn has_strict_headers(answer: &Answer) {
    let path = &answer.path;
    let policy = answer.header("content-security-policy");
    for part in [
        "default-src 'none'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "form-action 'self'",
    ] {
        assert!(policy.contains(part), "{path}: {policy}");
    }
    assert!(!policy.contains("unsafe"), "{path}: {policy}");
    assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
    assert_eq!(answer.header("referrer-policy"), "same-origin", "{path}");
    assert!(
        answer
            .header("permissions-policy")
            .contains("camera=(self)"),
        "{path}"
    );
    assert!(!answer.header("x-request-id").is_empty(), "{path}");
    assert_eq!(answer.header("x-answered-by"), "club", "{path}");
    let keep = answer.header("cache-control");
    let is_asset = path.starts_with("/static/");
    let may_be_alike = matches!(path.as_str(), "/sign-in" | "/reset/done");
    let is_alike = may_be_alike && keep == "private, no-cache";
    assert!(is_asset || is_alike || keep == "no-store", "{path}: {keep}");
    assert_eq!(answer.header("server"), "", "{path}");
}
