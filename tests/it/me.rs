//! A person's own page: name, password, sessions.

use crate::support::*;

const NEW: &str = "nine quiet herons wade";

on_both! {
    async fn a_new_password_needs_the_old_one_and_ends_the_other_sessions(club: TestClub) {
        let id = club.with_password("Ada").await;
        let (here, there) = (club.signed_in(id).await, club.signed_in(id).await);
        let wrong = [("old_password", "not the one I had"), ("new_password", NEW)];
        let answer = here.post("/me/password", &wrong).await;
        assert!(answer.is_refused());
        assert_eq!(answer.problems(), ["That is not your password."]);
        assert!(!answer.text.contains(NEW), "a password is never sent back");
        assert_eq!(there.get("/me").await.status, 200);
        let short = [("old_password", PASSWORD), ("new_password", "short")];
        assert!(here.post("/me/password", &short).await.is_refused());
        let right = [("old_password", PASSWORD), ("new_password", NEW)];
        assert_eq!(here.post("/me/password", &right).await.done(), "/me?done=password");
        assert_eq!(here.get("/me").await.status, 200);
        assert!(there.get("/me").await.done().starts_with("/sign-in"));
        let door = club.visitor();
        door.post("/sign-in", &[("sign_in", "ada"), ("password", NEW)]).await.done();
    }

    async fn a_person_sees_and_ends_their_own_sessions_and_nobody_elses(club: TestClub) {
        let id = club.with_password("Ada").await;
        let (here, there) = (club.signed_in(id).await, club.signed_in(id).await);
        let mallory = club.member("Mallory").await;
        let page = here.get("/me").await;
        assert_eq!(page.select("ol.log li").len(), 2);
        let end = page.select("ol.log form")[0].attribute("action").to_owned();
        mallory.post(&end, &[]).await.done();
        assert_eq!(there.get("/me").await.status, 200, "it was not Mallory's to end");
        here.post(&end, &[]).await.done();
        assert!(there.get("/me").await.done().starts_with("/sign-in"));
        let again = club.signed_in(id).await;
        here.post("/me/sessions/end-others", &[]).await.done();
        assert!(again.get("/me").await.done().starts_with("/sign-in"));
        assert_eq!(here.get("/me").await.status, 200);
    }

    async fn a_name_is_changed_and_the_log_does_not_tell_it(club: TestClub) {
        let ada = club.member("Ada").await;
        let answer = ada.post("/me/name", &[("name", "  Ada   Quay ")]).await;
        assert_eq!(answer.done(), "/me?done=name");
        assert_eq!(ada.get("/me").await.one("h1"), "Ada Quay");
        assert!(ada.post("/me/name", &[("name", " ")]).await.is_refused());
        let told = club.find("SELECT verb || before || after FROM activity").await.join("");
        assert!(told.contains("changed their name") && !told.contains("Quay"));
    }

    async fn guessing_ones_password_from_an_open_session_is_slowed_down(club: TestClub) {
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        let mut last = None;
        for _ in 0..9 {
            let wrong = [("old_password", "not the one I had"), ("new_password", NEW)];
            last = Some(ada.post("/me/password", &wrong).await.status.as_u16());
        }
        assert_eq!(last, Some(429));
    }
}
