//! Links that let somebody in once: invitations for a week, resets for an hour.

use crate::support::*;
use sandbucket::ids;
use uuid::Uuid;

const NEW: &str = "nine quiet herons wade";

/// Quinn invites somebody; the path of the link, and the person's id.
async fn invite(quinn: &Browser, name: &str, roles: &[&str]) -> (String, Uuid) {
    let page = quinn.get("/people/invite").await;
    let mut typed = vec![("name", name)];
    typed.extend(roles.iter().map(|role| ("roles", *role)));
    let shown = quinn.submit(&page, "main form", &typed).await;
    let door = shown.select("main a.button")[0]
        .attribute("href")
        .to_owned();
    let id = door.strip_prefix("/people/").expect("the person's page");
    (path_of(&shown), id.parse().expect("an id"))
}

fn path_of(shown: &Answer) -> String {
    let link = shown.one("main code");
    let path = link.strip_prefix("http://127.0.0.1:8080");
    path.expect("a link to us").to_owned()
}

async fn reset_link(browser: &Browser, id: Uuid) -> Answer {
    let token = ids::new_token();
    browser
        .post(&format!("/people/{id}/link"), &[("token", token.as_str())])
        .await
}

/// What a link that does not work says, the reference of the request left out.
fn said(answer: &Answer) -> (u16, String) {
    (answer.status.as_u16(), answer.one("main"))
}

on_both! {
    async fn whoever_is_invited_chooses_a_sign_in_and_is_in(club: TestClub) {
        let quinn = club.start().await;
        let (path, id) = invite(&quinn, "Ada Quay", &["member"]).await;
        let ada = club.visitor();
        let page = ada.get(&path).await;
        assert!(page.one("p.what").starts_with("Ada Quay, welcome at Millrace Robotics Club."));
        let answer = ada.submit(&page, "main form", &[("sign_in", " ADA@example.org"), ("password", NEW)]).await;
        assert_eq!(answer.done(), "/");
        assert!(ada.get("/me").await.text.contains("Ada Quay"));
        let back = club.visitor();
        back.post("/sign-in", &[("sign_in", "ada@example.org"), ("password", NEW)]).await.done();
        assert!(!quinn.get(&format!("/people/{id}")).await.text.contains("Has not signed in yet"));
    }

    async fn a_used_an_old_and_an_unknown_link_get_the_same_answer(club: TestClub) {
        let quinn = club.start().await;
        let (used, _) = invite(&quinn, "Ada", &["member"]).await;
        let (old, _) = invite(&quinn, "Ben", &["member"]).await;
        let visitor = club.visitor();
        visitor.post(&used, &[("sign_in", "ada"), ("password", NEW)]).await.done();
        club.later_by_days(7);
        let unknown = format!("/join/{}", ids::new_token());
        let answers = [said(&visitor.get(&used).await), said(&visitor.get(&old).await), said(&visitor.get(&unknown).await)];
        assert_eq!(answers[0].0, 404);
        assert!(answers.iter().all(|answer| *answer == answers[0]), "{answers:?}");
        let again = visitor.post(&used, &[("sign_in", "mallory"), ("password", NEW)]).await;
        assert_eq!(again.status, 404);
    }

    async fn looking_at_a_link_does_not_use_it_up_and_a_refusal_neither(club: TestClub) {
        let quinn = club.start().await;
        let (path, _) = invite(&quinn, "Ada", &["member"]).await;
        let ada = club.visitor();
        for _ in 0..3 {
            assert_eq!(ada.get(&path).await.status, 200);
        }
        let weak = ada.post(&path, &[("sign_in", "ada"), ("password", "short")]).await;
        assert!(weak.is_refused());
        assert_eq!(weak.select("#f-sign_in")[0].attribute("value"), "ada");
        let taken = ada.post(&path, &[("sign_in", "Quinn"), ("password", NEW)]).await;
        assert_eq!(taken.problems(), ["That sign-in is taken. Choose another."]);
        ada.post(&path, &[("sign_in", "ada"), ("password", NEW)]).await.done();
    }

    async fn two_who_use_one_link_at_the_same_time_do_not_both_get_in(club: TestClub) {
        let quinn = club.start().await;
        let (path, _) = invite(&quinn, "Ada", &["member"]).await;
        let (one, two) = (club.visitor(), club.visitor());
        let (first, second) = ([("sign_in", "ada"), ("password", NEW)], [("sign_in", "mallory"), ("password", NEW)]);
        let (a, b) = tokio::join!(one.post(&path, &first), two.post(&path, &second));
        let mut codes = [a.status.as_u16(), b.status.as_u16()];
        codes.sort_unstable();
        assert_eq!(codes, [303, 404]);
        assert_eq!(club.find("SELECT name FROM person WHERE sign_in IN ('ada', 'mallory')").await, ["Ada"]);
    }

    async fn only_the_hash_of_a_link_is_kept(club: TestClub) {
        let quinn = club.start().await;
        let (path, _) = invite(&quinn, "Ada", &["member"]).await;
        let token = path.strip_prefix("/join/").expect("a token");
        assert!(token.len() >= 32, "128 bits or more");
        assert_eq!(club.find("SELECT token_hash FROM link").await, [ids::digest(token)]);
        for (table, rows) in club.contents().await {
            assert!(!rows.join("").contains(token), "{table}");
        }
    }

    async fn the_invitation_sent_twice_invites_once_and_shows_the_same_link(club: TestClub) {
        let quinn = club.start().await;
        let token = ids::new_token();
        let fields = [("name", "Ada"), ("roles", "member"), ("key", "one-key"), ("token", token.as_str())];
        let first = path_of(&quinn.post("/people/invite", &fields).await);
        assert_eq!(path_of(&quinn.post("/people/invite", &fields).await), first);
        assert_eq!(club.find("SELECT name FROM person WHERE name = 'Ada'").await.len(), 1);
        assert_eq!(club.visitor().get(&first).await.status, 200);
    }

    async fn a_link_needs_a_token_of_ours(club: TestClub) {
        let quinn = club.start().await;
        let fields = [("name", "Ada"), ("roles", "member"), ("token", "abc")];
        assert!(quinn.post("/people/invite", &fields).await.is_refused());
        assert_eq!(club.ids("link").await.len() + club.find("SELECT name FROM person WHERE name = 'Ada'").await.len(), 0);
    }

    async fn a_reset_works_for_an_hour_ends_all_sessions_and_the_old_password(club: TestClub) {
        let quinn = club.start().await;
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        let first = path_of(&reset_link(&quinn, id).await);
        let second = path_of(&reset_link(&quinn, id).await);
        let visitor = club.visitor();
        assert_eq!(visitor.get(&first).await.status, 404, "a newer link takes its place");
        club.later_by_minutes(59);
        let page = visitor.get(&second).await;
        assert_eq!(visitor.submit(&page, "main form", &[("password", NEW)]).await.done(), "/reset/done");
        assert_eq!(visitor.get("/reset/done").await.status, 200);
        assert!(ada.get("/me").await.done().starts_with("/sign-in"));
        assert!(visitor.post("/sign-in", &[("sign_in", "ada"), ("password", PASSWORD)]).await.is_refused());
        visitor.post("/sign-in", &[("sign_in", "ada"), ("password", NEW)]).await.done();
        let third = path_of(&reset_link(&quinn, id).await);
        club.later_by_minutes(60);
        assert_eq!(club.visitor().get(&third).await.status, 404);
    }

    async fn an_invitation_is_no_reset_and_a_reset_no_invitation(club: TestClub) {
        let quinn = club.start().await;
        let (join, _) = invite(&quinn, "Ada", &["member"]).await;
        let swapped = join.replace("/join/", "/reset/");
        assert_eq!(club.visitor().get(&swapped).await.status, 404);
    }

    async fn an_organisers_link_is_never_shown_to_a_mere_quartermaster(club: TestClub) {
        let quinn = club.start().await;
        let rosa = club.second_quartermaster().await;
        let answer = reset_link(&rosa, quinn.id()).await;
        assert!(answer.is_refused());
        assert_eq!(answer.problems(), ["Only an organiser may do this: it concerns an organiser."]);
        let (_, newcomer) = invite(&quinn, "Olga", &["organiser"]).await;
        assert!(reset_link(&rosa, newcomer).await.is_refused());
        let roles = [("name", "Mallory"), ("roles", "organiser"), ("token", &*ids::new_token())].map(|(name, value)| (name, value.to_owned()));
        let fields: Vec<(&str, &str)> = roles.iter().map(|(name, value)| (*name, value.as_str())).collect();
        assert!(rosa.post("/people/invite", &fields).await.is_refused());
        assert_eq!(club.ids("link").await.len(), 1, "Olga's own");
    }

    async fn a_link_made_before_somebody_became_an_organiser_stops_working(club: TestClub) {
        let quinn = club.start().await;
        let rosa = club.second_quartermaster().await;
        let id = club.with_password("Ada").await;
        let path = path_of(&reset_link(&rosa, id).await);
        let roles = [("roles", "member"), ("roles", "organiser")];
        quinn.post(&format!("/people/{id}/roles"), &roles).await.done();
        assert_eq!(club.visitor().get(&path).await.status, 404);
    }

    async fn guessing_links_is_slowed_down(club: TestClub) {
        club.start().await;
        let visitor = club.visitor().at([198, 51, 100, 9]);
        let mut answers = Vec::new();
        for _ in 0..14 {
            answers.push(visitor.get(&format!("/join/{}", ids::new_token())).await);
        }
        let last = answers.last().expect("an answer");
        assert_eq!(last.status, 429);
        assert!(!last.header("retry-after").is_empty());
    }

    async fn on_every_address_a_link_begins_as_the_asking_page_did(club: TestClub) {
        let token = club.quartermaster().await.cookie("sandbucket").expect("a session");
        let link = async |listen: &str, public_url: Option<&str>, host: &str| {
            let app = club.with_settings(|settings| {
                settings.listen = listen.parse().expect("an address");
                settings.public_url = public_url.map(str::to_owned);
            });
            let quinn = Browser::new(&app, None).called(host);
            quinn.keep_cookie("sandbucket", &token);
            let page = quinn.get("/people/invite").await;
            let typed = [("name", "Ada"), ("roles", "member")];
            let link = quinn.submit(&page, "main form", &typed).await.one("main code");
            link.split_once("/join/").expect("a link").0.to_owned()
        };
        for listen in ["0.0.0.0:8080", "[::]:8080"] {
            assert_eq!(link(listen, None, "192.0.2.7:8080").await, "http://192.0.2.7:8080");
            assert_eq!(link(listen, Some("http://packs.example.org"), "192.0.2.7:8080").await, "http://packs.example.org");
        }
        assert_eq!(link("0.0.0.0:8080", None, "us@evil.example").await, "http://127.0.0.1:8080");
        assert_eq!(link("[::]:8080", None, "us@evil.example").await, "http://[::1]:8080");
        assert_eq!(link("127.0.0.1:8080", None, "evil.example").await, "http://127.0.0.1:8080");
    }
}
