//! The first day: the code on the console starts the club, once.

use crate::support::*;

/// The first form with one field typed otherwise.
fn but(form: Vec<(&'static str, String)>, field: &str, typed: &str) -> Vec<(&'static str, String)> {
    form.into_iter()
        .map(|(name, value)| {
            (
                name,
                if name == field {
                    typed.to_owned()
                } else {
                    value
                },
            )
        })
        .collect()
}

on_both! {
    async fn the_first_page_starts_the_club_and_signs_its_first_person_in(club: TestClub) {
        assert_eq!(club.visitor().get("/").await.location.as_deref(), Some("/start"));
        let quinn = club.start().await;
        assert!(quinn.get("/").await.location.is_some_and(|place| place != "/start"));
        assert_eq!(
            club.find("SELECT name FROM person WHERE is_quartermaster AND is_organiser").await,
            ["Quinn Marlow"]
        );
        assert_eq!(club.find("SELECT verb FROM activity").await, ["started the club"]);
    }

    async fn a_wrong_code_starts_nothing_and_keeps_what_was_typed(club: TestClub) {
        let before = club.contents().await;
        for code in ["", "abcd-efgh-jkmn", "0"] {
            let form = but(club.first_form(), "code", code);
            let answer = club.send_first_form(&club.visitor(), &form).await;
            assert!(answer.is_refused());
            assert_eq!(answer.problems().len(), 1);
            assert!(answer.one("title").starts_with("Error: "));
            let (_, kept) = answer.form("form[action='/start']");
            assert!(kept.contains(&("name".to_owned(), "Quinn Marlow".to_owned())));
            assert!(kept.contains(&("password".to_owned(), String::new())));
        }
        assert_eq!(club.contents().await, before);
    }

    async fn the_code_may_be_typed_in_capitals_and_without_dashes(club: TestClub) {
        let typed = club.app.set_up_code().replace('-', " ").to_uppercase();
        let form = but(club.first_form(), "code", &typed);
        assert_eq!(club.send_first_form(&club.visitor(), &form).await.done(), "/");
    }

    async fn each_wrong_field_is_named_and_nothing_is_started(club: TestClub) {
        for (field, typed) in [
            ("club", "x"),
            ("zone", "Europe/Millrace"),
            ("zone", ""),
            ("name", " "),
            ("sign_in", "quinn marlow"),
            ("password", "too short"),
            ("password", "millrace robotics club"),
        ] {
            let form = but(club.first_form(), field, typed);
            let answer = club.send_first_form(&club.visitor(), &form).await;
            assert!(answer.is_refused(), "{field}: {typed}");
            let link = format!(".problems a[href='#f-{field}']");
            assert_eq!(answer.select(&link).len(), 1, "{field}: {typed}");
        }
        assert!(club.find("SELECT name FROM club").await.is_empty());
    }

    async fn all_that_is_wrong_is_named_at_once(club: TestClub) {
        let mut form = club.first_form();
        for (field, typed) in [("code", "wrong"), ("club", "x"), ("zone", "Europe/Millrace"), ("sign_in", "a b"), ("password", "short")] {
            form = but(form, field, typed);
        }
        let answer = club.send_first_form(&club.visitor(), &form).await;
        assert_eq!(answer.problems().len(), 5, "{:?}", answer.problems());
    }

    async fn once_there_is_a_club_the_page_is_gone_even_with_the_code(club: TestClub) {
        club.start().await;
        assert_eq!(club.visitor().get("/start").await.status, 404);
        let again = club.send_first_form(&club.visitor(), &club.first_form()).await;
        assert_eq!(again.status, 404);
        assert_eq!(club.find("SELECT name FROM person").await.len(), 1);
    }

    async fn two_first_people_at_once_make_one_club(club: TestClub) {
        let (one, two) = (club.visitor(), club.visitor());
        let other = but(club.first_form(), "sign_in", "rosa");
        let form = club.first_form();
        let (a, b) = futures_util::future::join(
            club.send_first_form(&one, &form),
            club.send_first_form(&two, &other),
        )
        .await;
        let done = [&a, &b].into_iter().filter(|answer| answer.status == 303).count();
        assert_eq!(done, 1, "{} and {}", a.status, b.status);
        assert_eq!(club.find("SELECT name FROM person").await.len(), 1);
    }

    async fn guessing_the_code_is_slow(club: TestClub) {
        let form = but(club.first_form(), "code", "aaaa-aaaa-aaaa");
        let browser = club.visitor();
        for _ in 0..12 {
            assert!(club.send_first_form(&browser, &form).await.is_refused());
        }
        let late = club.send_first_form(&browser, &form).await;
        assert_eq!(late.status, 429);
        assert!(late.header("retry-after").parse::<u64>().is_ok_and(|wait_s| wait_s > 0));
        let elsewhere = club.visitor().at([198, 51, 100, 9]);
        assert_eq!(club.send_first_form(&elsewhere, &club.first_form()).await.done(), "/");
    }

    async fn no_time_zone_stands_there_beforehand(club: TestClub) {
        let page = club.visitor().get("/start").await;
        assert_eq!(page.select("#f-zone")[0].attribute("value"), "");
        assert!(page.one("#h-zone").contains("Like Europe/London"));
        let form = but(club.first_form(), "zone", "");
        let refused = club.send_first_form(&club.visitor(), &form).await;
        assert_eq!(refused.one("#w-zone"), "Give the time zone of the place where you meet, like Europe/London.");
    }

    async fn the_first_form_sent_twice_starts_one_club_and_leads_to_the_same_page(club: TestClub) {
        let page = club.visitor().get("/start").await;
        let key = page.select("form input[name=key]")[0].attribute("value").to_owned();
        let mut form = club.first_form();
        form.push(("key", key));
        let browser = club.visitor();
        for _ in 0..2 {
            assert_eq!(club.send_first_form(&browser, &form).await.done(), "/");
        }
        // Whoever never got the first answer is nobody yet, and is asked to sign in.
        let elsewhere = club.visitor();
        assert_eq!(club.send_first_form(&elsewhere, &form).await.done(), "/");
        assert_eq!(elsewhere.cookie("sandbucket"), None);
        assert!(elsewhere.get("/packs").await.done().starts_with("/sign-in"));
        assert_eq!(browser.get("/packs").await.status, 200);
        let other = but(form, "password", "seven copper kettles whistled");
        assert_eq!(club.send_first_form(&elsewhere, &other).await.status, 404);
        assert_eq!(club.find("SELECT name FROM person").await, ["Quinn Marlow"]);
    }
}
