//! The shared tablet at the table: one tap and a code change person; it holds no organiser's rights and no way to let
//! anybody in; five minutes untouched and nobody is there.

use crate::support::*;
use uuid::Uuid;

const CODE: &str = "482915";

/// Quinn makes a browser the table's tablet; whose hands it is in then is open.
async fn tablet(club: &TestClub) -> Browser {
    let quinn = club.start().await;
    let answer = quinn
        .post("/tablets", &[("name", "Table by the door")])
        .await;
    assert_eq!(answer.done(), "/table");
    quinn
}

async fn set_code(club: &TestClub, id: Uuid) {
    let own = club.signed_in(id).await;
    let fields = [("code_password", PASSWORD), ("code", CODE)];
    assert_eq!(
        own.post("/me/table-code", &fields).await.done(),
        "/me?done=code"
    );
}

async fn sit_down(tablet: &Browser, id: Uuid, code: &str) -> Answer {
    let id = id.to_string();
    tablet
        .post("/table", &[("who", id.as_str()), ("code", code)])
        .await
}

on_both! {
    async fn one_tap_and_a_code_change_person_and_next_person_leads_back(club: TestClub) {
        let tablet = tablet(&club).await;
        assert_eq!(tablet.get("/packs").await.done(), "/table", "the quartermaster's own session is gone");
        let ada = club.with_password("Ada").await;
        set_code(&club, ada).await;
        let page = tablet.get("/table").await;
        assert_eq!(page.texts("ul.do a"), ["Ada"], "only who has a code is shown");
        let tapped = page.select("ul.do a")[0].attribute("href").to_owned();
        let page = tablet.get(&tapped).await;
        assert_eq!(tablet.submit(&page, "main form", &[("code", CODE)]).await.done(), "/");
        assert_eq!(tablet.get("/me").await.one("h1"), "Ada");
        assert_eq!(tablet.get("/me").await.one(".who button"), "Next person");
        assert_eq!(tablet.post("/sign-out", &[]).await.done(), "/table");
        assert_eq!(tablet.get("/me").await.done(), "/table");
    }

    async fn a_code_is_worth_nothing_in_any_other_browser(club: TestClub) {
        let tablet = tablet(&club).await;
        let ada = club.with_password("Ada").await;
        set_code(&club, ada).await;
        let elsewhere = club.visitor();
        assert_eq!(sit_down(&elsewhere, ada, CODE).await.done(), "/table");
        assert!(elsewhere.get("/me").await.done().starts_with("/sign-in"));
        assert!(elsewhere.get("/table").await.texts("ul.do a").is_empty());
        assert!(club.find("SELECT token_hash FROM tablet").await[0] != tablet.cookie("sandbucket-table").expect("a cookie"));
    }

    async fn five_minutes_untouched_and_nobody_is_there(club: TestClub) {
        let tablet = tablet(&club).await;
        let ada = club.with_password("Ada").await;
        set_code(&club, ada).await;
        sit_down(&tablet, ada, CODE).await.done();
        club.later_by_minutes(4);
        assert_eq!(tablet.get("/me").await.status, 200);
        club.later_by_minutes(4);
        assert_eq!(tablet.get("/me").await.status, 200, "it was touched in between");
        club.later_by_minutes(5);
        assert_eq!(tablet.get("/me").await.done(), "/table");
    }

    async fn at_the_tablet_nobody_is_an_organiser_or_lets_anybody_in(club: TestClub) {
        let tablet = tablet(&club).await;
        let quinn = club.find("SELECT sign_in FROM person").await;
        assert_eq!(quinn, ["quinn"]);
        let id = club.ids("person").await[0];
        set_code(&club, id).await;
        sit_down(&tablet, id, CODE).await.done();
        assert_eq!(tablet.get("/log").await.status, 403, "for organisers");
        assert_eq!(tablet.get("/people").await.status, 200, "a quartermaster still hands out");
        let ada = club.member("Ada").await.id();
        for path in ["/people/invite", "/settings", "/tablets", &format!("/people/{ada}/roles"), &format!("/people/{ada}/erase")] {
            assert_eq!(tablet.get(path).await.status, 403, "{path}");
        }
        let before = club.contents().await;
        for path in ["/me/password", "/me/table-code", "/me/name", "/tablets", "/settings", &format!("/people/{ada}/link"), &format!("/people/{ada}/deactivate")] {
            assert_eq!(tablet.post(path, &[("name", "x")]).await.status, 403, "{path}");
        }
        assert_eq!(club.contents().await, before);
    }

    async fn the_sixth_wrong_code_must_wait(club: TestClub) {
        let tablet = tablet(&club).await;
        let ada = club.with_password("Ada").await;
        set_code(&club, ada).await;
        for _ in 0..5 {
            let answer = sit_down(&tablet, ada, "000001").await;
            assert!(answer.is_refused());
        }
        let answer = sit_down(&tablet, ada, CODE).await;
        assert_eq!(answer.status, 429);
        assert!(!answer.header("retry-after").is_empty());
    }

    async fn whoever_has_no_code_or_was_deactivated_gets_the_same_refusal(club: TestClub) {
        let tablet = tablet(&club).await;
        let ada = club.with_password("Ada").await;
        let ben = club.with_password("Ben").await;
        set_code(&club, ben).await;
        let quinn = club.signed_in(club.ids("person").await[0]).await;
        quinn.post(&format!("/people/{ben}/deactivate"), &[]).await.done();
        for id in [ada, ben, sandbucket::ids::new_id()] {
            let answer = sit_down(&tablet, id, CODE).await;
            assert!(answer.is_refused());
            assert_eq!(answer.problems().len(), 1);
        }
        assert!(tablet.get("/table").await.texts("ul.do a").is_empty());
    }

    async fn ending_a_tablet_ends_whoever_sits_at_it(club: TestClub) {
        let tablet = tablet(&club).await;
        let ada = club.with_password("Ada").await;
        set_code(&club, ada).await;
        sit_down(&tablet, ada, CODE).await.done();
        let quinn = club.signed_in(club.ids("person").await[0]).await;
        let page = quinn.get("/tablets").await;
        quinn.submit(&page, "table form", &[]).await.done();
        assert_eq!(tablet.get("/me").await.done(), "/table");
        assert!(tablet.get("/table").await.text.contains("not, or no longer, the table's"));
        assert_eq!(sit_down(&tablet, ada, CODE).await.done(), "/table");
        assert_eq!(tablet.get("/me").await.done(), "/table");
    }

    async fn a_code_is_kept_as_a_slow_hash_and_needs_the_password(club: TestClub) {
        let ada = club.with_password("Ada").await;
        let own = club.signed_in(ada).await;
        assert!(own.post("/me/table-code", &[("code_password", "not the one I had"), ("code", CODE)]).await.is_refused());
        let answer = own.post("/me/table-code", &[("code_password", PASSWORD), ("code", "123456")]).await;
        assert!(answer.is_refused());
        set_code(&club, ada).await;
        let kept = club.find("SELECT table_code_hash FROM person WHERE table_code_hash IS NOT NULL").await;
        assert!(kept[0].starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{kept:?}");
        own.post("/me/table-code", &[("code_password", PASSWORD), ("code", "")]).await.done();
        assert!(club.find("SELECT table_code_hash FROM person WHERE table_code_hash IS NOT NULL").await.is_empty());
    }

    async fn the_tables_page_asks_the_database_at_most_three_times(club: TestClub) {
        let tablet = tablet(&club).await;
        let ada = club.with_password("Ada").await;
        set_code(&club, ada).await;
        let (_, count) = club.queries_of(tablet.get("/table")).await;
        assert!(count <= 3, "{count}");
        sit_down(&tablet, ada, CODE).await.done();
        let (_, count) = club.queries_of(tablet.get("/table")).await;
        assert!(count <= 3, "{count}");
    }
}
