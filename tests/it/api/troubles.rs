//! What goes wrong is told as RFC 9457 says, each kind under its own address, and nothing of the inside.

use super::program::*;
use crate::support::*;
use axum::Router;
use axum::body::Body;
use axum::http::{Method, Request};
use axum::routing::get;
use sandbucket::web::api::table;
use sandbucket::web::{self, api};
use serde_json::{Value, json};
use tower::ServiceExt;

fn is_problem(reply: &Reply, status: u16, kind: &str) -> Value {
    assert_eq!(reply.status, status, "{}", reply.text);
    assert_eq!(reply.header("content-type"), "application/problem+json");
    assert_eq!(reply.header("cache-control"), "no-store");
    assert_eq!(reply.header("x-content-type-options"), "nosniff");
    assert!(
        reply
            .header("content-security-policy")
            .contains("default-src 'none'")
    );
    let told = reply.json();
    assert_eq!(told["type"], format!("/api#{kind}"));
    assert_eq!(told["status"], status);
    let reference = reply.header("x-request-id");
    let instance = told["instance"].as_str().expect("an instance");
    assert!(
        instance.starts_with("/api/v1/") && instance.ends_with(&format!("#{reference}")),
        "{instance}"
    );
    for field in ["title", "detail"] {
        assert!(!told[field].as_str().expect("a text").is_empty(), "{field}");
    }
    told
}

on_both! {
    async fn each_kind_of_trouble_has_its_status_its_address_and_a_sentence(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let path = "/api/v1/packs/P-001/volts";
        let nobody = Program::new(&club, None).get("/api/v1/packs").await;
        is_problem(&nobody, 401, "no-token");
        assert!(nobody.header("www-authenticate").starts_with("Bearer"));
        is_problem(&quinn.get("/api/v1/packs/P-999").await, 404, "not-here");
        is_problem(&quinn.get("/api/v1/kit/no-id").await, 404, "not-here");
        for nowhere in ["/api/v1/nothing", "/api/v1/"] {
            is_problem(&quinn.get(nowhere).await, 404, "not-here");
        }
        is_problem(&quinn.get("/api/v1/packs/P%00").await, 404, "not-here");
        let ways = quinn.send(Method::DELETE, "/api/v1/packs", &[], "").await;
        is_problem(&ways, 405, "not-that-way");
        assert!(ways.header("allow").contains("GET"));
        let json = [("content-type", "application/json; charset=utf-8")];
        let broken = quinn.send(Method::POST, path, &json, "{\"volts_mv\": [").await;
        is_problem(&broken, 400, "unreadable");
        let plain = quinn.send(Method::POST, path, &[("content-type", "text/plain")], "{}").await;
        is_problem(&plain, 415, "not-json");
        let packed = [("content-type", "application/json"), ("content-encoding", "gzip")];
        is_problem(&quinn.send(Method::POST, path, &packed, "{}").await, 415, "not-json");
        let unknown = quinn.post(path, &json!({"volts_mv": [3820], "state": "fit"})).await;
        let told = is_problem(&unknown, 422, "put-right");
        assert!(told["detail"].as_str().expect("words").contains("state"));
        let large = format!("{{\"why\": \"{}\"}}", "x".repeat(300 * 1024));
        is_problem(&quinn.send(Method::POST, path, &json, &large).await, 413, "too-large");
        let ada = club.program(club.member("Ada").await.id()).await;
        is_problem(&ada.get("/api/v1/log").await, 403, "not-yours");
        is_problem(&quinn.post("/api/v1/night/close", &json!({})).await, 409, "refused");
    }

    async fn every_operation_tells_each_trouble_in_json(club: TestClub) {
        club.found().await;
        let avery = club.program(club.all_roles().await.id()).await;
        let posts = Signposts::to_nothing();
        for operation in table::table() {
            let path = format!("{BASE}{}", posts.fill(operation.path));
            let reply = match operation.method {
                Method::GET => avery.get(&format!("{path}?nobody=asks")).await,
                _ => avery.post(&path, &json!({"nobody": "sends"})).await,
            };
            assert!(matches!(reply.status, 400 | 404 | 415 | 422), "{path}: {}", reply.text);
            assert_eq!(reply.header("content-type"), "application/problem+json", "{path}");
        }
    }

    async fn without_the_database_the_api_says_so_and_when_to_come_again(club: TestClub) {
        club.found().await;
        let program = club.program(club.member("Ada").await.id()).await;
        club.app.db.close().await;
        let reply = program.get("/api/v1/packs").await;
        is_problem(&reply, 503, "unavailable");
        assert!(!reply.header("retry-after").is_empty());
    }

    async fn a_failure_inside_is_told_by_its_number_alone(club: TestClub) {
        club.fit_packs(1).await;
        let program = club.program(club.member("Ada").await.id()).await;
        club.behind_the_back("ALTER TABLE reading RENAME TO mislaid").await.expect("renamed");
        let reply = program.get("/api/v1/packs/P-001/readings").await;
        is_problem(&reply, 500, "failed");
        for inner in ["sql", "select", "mislaid", "no such table", "relation", ".rs"] {
            assert!(!reply.text.to_lowercase().contains(inner), "{inner}: {}", reply.text);
        }
        club.behind_the_back("ALTER TABLE mislaid RENAME TO reading").await.expect("renamed");
        program.get("/api/v1/packs/P-001/readings").await.done();
    }

    async fn a_panic_is_told_as_any_other_failure_by_page_and_program(club: TestClub) {
        club.found().await;
        let ada = club.member("Ada").await;
        let program = club.program(ada.id()).await;
        let boom = || Router::new().route("/boom", get(async || -> &'static str { panic!("the inner workings") }));
        let app = &club.app;
        let routes = boom().nest(BASE, api::at_the_gate(boom(), app));
        let router = web::around(routes, app);
        let asked = async |path: &str| {
            let secret = program.secret.as_deref().expect("a token");
            let request = Request::builder().uri(path).header("authorization", format!("Bearer {secret}"));
            let request = request.body(Body::empty()).expect("a request");
            router.clone().oneshot(request).await.expect("an answer")
        };
        let page = Answer::of("/boom", asked("/boom").await).await;
        assert_eq!(page.status, 500);
        assert!(page.text.starts_with("Something went wrong on our side") && !page.text.contains("inner"));
        for (name, value) in [("cache-control", "no-store"), ("x-content-type-options", "nosniff")] {
            assert_eq!(page.header(name), value);
        }
        assert!(page.header("content-security-policy").contains("default-src 'none'"));
        let told = Answer::of("/api/v1/boom", asked("/api/v1/boom").await).await;
        let reply = Reply { status: told.status.as_u16(), headers: told.headers.clone(), text: told.text.clone(), body: Vec::new() };
        is_problem(&reply, 500, "failed");
        assert!(!told.text.contains("inner"));
    }

    async fn what_is_too_much_at_once_is_refused_and_nothing_of_it_passed_over(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let nobody = sandbucket::ids::new_id();
        let line = json!({"lent_id": nobody, "look": "nothing"});
        let volts = json!({"number": "P-001", "volts_mv": [1200, 1200, 1200]});
        for (path, body, field) in [
            ("/api/v1/take-back", json!({"items": vec![line; 201]}), "items"),
            ("/api/v1/hand-out", json!({"borrower_id": nobody, "items": ["P-001"], "rested": "just_used", "volts_now": vec![volts; 51]}), "volts_now"),
            ("/api/v1/packs/P-001/condition", json!({"seen": vec!["wet"; 21]}), "seen"),
        ] {
            let told = is_problem(&quinn.post(path, &body).await, 422, "put-right");
            assert_eq!(told["problems"][0]["field"], field);
        }
        let pack = quinn.get("/api/v1/packs/P-001").await.done();
        assert_eq!(pack["pack"]["state"], "fit");
    }

    async fn who_asks_too_often_is_told_when_to_come_again(club: TestClub) {
        club.found().await;
        let program = club.program(club.member("Ada").await.id()).await;
        let mut last = program.get("/api/v1/me").await;
        for round in 0..2_000_u16 {
            let [high, low] = round.to_be_bytes();
            last = program.clone().at([10, 1, high, low]).get("/api/v1/me").await;
            if last.status != 200 {
                break;
            }
        }
        is_problem(&last, 429, "too-often");
        assert!(last.header("retry-after").parse::<u64>().expect("seconds") > 0);
        let other = club.program(club.member("Ben").await.id()).await.at([10, 2, 0, 0]);
        assert_eq!(other.get("/api/v1/me").await.status, 200, "another person is another");
        let stranger = Program::new(&club, None);
        let mut refused = stranger.get("/api/v1/me").await;
        for _ in 0..2_000 {
            if refused.status != 401 {
                break;
            }
            refused = stranger.get("/api/v1/me").await;
        }
        is_problem(&refused, 429, "too-often");
    }
}
