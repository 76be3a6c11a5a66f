//! What a token is not let do, and how often something may be asked: by person, however many tokens they have.

use super::program::*;
use crate::support::*;
use axum::http::Method;
use sandbucket::web::api::table;
use sandbucket::web::gate::Who;
use serde_json::json;

#[test]
fn nothing_of_the_api_asks_for_a_password() {
    let table = table::table();
    let by_password = table.iter().filter(|operation| {
        matches!(
            operation.who,
            Who::SignedInByPassword | Who::HoldsByPassword(_)
        )
    });
    let paths: Vec<&str> = by_password.map(|operation| operation.path).collect();
    assert!(paths.is_empty(), "a token would not be let in: {paths:?}");
}

on_both! {
    async fn nobody_is_shut_out_or_let_back_in_by_a_token(club: TestClub) {
        let avery = club.all_roles().await;
        let ada = club.member("Ada").await.id();
        let program = club.program(avery.id()).await;
        let before = club.contents().await;
        for way in ["deactivate", "reactivate"] {
            let reply = program.post(&format!("/api/v1/people/{ada}/{way}"), &json!({})).await;
            assert_eq!((reply.status, reply.kind().as_str()), (404, "not-here"), "{way}");
        }
        assert!(club.contents().await == before);
        avery.post(&format!("/people/{ada}/deactivate"), &[]).await.done();
    }

    async fn a_second_token_gives_its_person_no_more_requests(club: TestClub) {
        let (ada, ben) = (club.member("Ada").await.id(), club.member("Ben").await.id());
        let one = club.program(ada).await;
        let mut asked = 0_u16;
        let at = |asked: u16| {
            let [high, low] = asked.to_be_bytes();
            [10, 1, high, low]
        };
        while one.clone().at(at(asked)).get("/api/v1/me").await.status == 200 {
            asked += 1;
            assert!(asked < 2_000, "there is no limit");
        }
        let other = club.program(ada).await.at([10, 2, 0, 0]);
        let refused = (0..5).map(async |_| other.get("/api/v1/me").await.status);
        let mut statuses = Vec::new();
        for each in refused {
            statuses.push(each.await);
        }
        assert!(statuses.contains(&429), "{statuses:?}");
        assert_eq!(club.program(ben).await.at([10, 3, 0, 0]).get("/api/v1/me").await.status, 200);
    }

    async fn the_whole_log_is_not_read_without_end_by_page_or_program(club: TestClub) {
        club.fit_packs(1).await;
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let program = club.program(olive.id()).await;
        let asks = ["/stood", "/log/check", "/api/v1/stood", "/api/v1/log/check"];
        let mut asked = 0;
        'asking: loop {
            for path in asks {
                let status = match path.strip_prefix(BASE) {
                    Some(_) => program.get(path).await.status,
                    None => olive.get(path).await.status.as_u16(),
                };
                if status == 429 {
                    break 'asking;
                }
                assert_eq!(status, 200, "{path}");
                asked += 1;
                assert!(asked < 100, "there is no limit");
            }
        }
        for path in &asks[2..] {
            let refused = program.get(path).await;
            assert_eq!((refused.status, refused.kind().as_str()), (429, "too-often"), "{path}");
            assert!(refused.header("retry-after").parse::<u64>().is_ok_and(|seconds| seconds > 0));
        }
        for path in &asks[..2] {
            assert_eq!(olive.get(path).await.status, 429, "{path}");
            assert_eq!(quinn.get(path).await.status, 200, "{path}: one person's haste stops nobody else");
        }
    }

    async fn a_token_that_only_looks_is_told_of_a_way_that_there_is_not_as_any_other(club: TestClub) {
        club.fit_packs(1).await;
        let secret = club.token(club.quartermaster().await.id(), false).await;
        let program = Program::new(&club, Some(&secret));
        let put = program.send(Method::PUT, "/api/v1/packs/P-001", &[], "").await;
        assert_eq!((put.status, put.kind().as_str()), (405, "not-that-way"));
        let post = program.post("/api/v1/packs/P-001/condition", &json!({"seen": ["wet"]})).await;
        assert_eq!((post.status, post.kind().as_str()), (403, "not-yours"));
        let picture = program.send(Method::POST, "/api/v1/packs/P-001/photos", &[("content-type", "image/png")], "x").await;
        assert_eq!((picture.status, picture.kind().as_str()), (403, "not-yours"));
    }

    async fn a_token_that_does_not_work_is_told_apart_from_none(club: TestClub) {
        club.found().await;
        let none = Program::new(&club, None).get("/api/v1/me").await;
        assert_eq!((none.status, none.header("www-authenticate")), (401, "Bearer realm=\"club\""));
        for wrong in ["a".repeat(64), "mistyped".to_owned()] {
            let reply = Program::new(&club, Some(&wrong)).get("/api/v1/me").await;
            assert_eq!(reply.status, 401);
            assert_eq!(reply.header("www-authenticate"), "Bearer realm=\"club\", error=\"invalid_token\"");
        }
    }
}
