//! The demo club: looked round in before a club of one's own is started, and ended in its place.

use crate::support::*;
use sandbucket::actions::demo;

fn kind(club: &TestClub, kind: &str) -> Vec<(&'static str, String)> {
    let form = club.first_form().into_iter();
    form.map(|(name, value)| match name {
        "code" => (name, value),
        "kind" => (name, kind.to_owned()),
        _ => (name, String::new()),
    })
    .collect()
}

/// The demo's first page filled in; its sign-ins and passwords as the page shows them.
async fn look_round(club: &TestClub) -> Vec<(String, String)> {
    let answer = club
        .send_first_form(&club.visitor(), &kind(club, "demo"))
        .await;
    assert_eq!(answer.status, 200);
    let codes = answer.texts("tbody code");
    codes
        .chunks(2)
        .map(|pair| (pair[0].clone(), pair[1].clone()))
        .collect()
}

async fn sign_in(club: &TestClub, who: &(String, String)) -> Browser {
    let browser = club.visitor();
    let fields = [("sign_in", who.0.as_str()), ("password", who.1.as_str())];
    let answer = browser.post("/sign-in", &fields).await;
    assert_eq!(answer.status, 303, "{}", who.0);
    browser
}

on_both! {
    async fn the_demo_signs_in_its_three_roles_and_shows_every_state(club: TestClub) {
        let sign_ins = look_round(&club).await;
        let names: Vec<&str> = sign_ins.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["quinn", "mo", "orla"]);
        let quinn = sign_in(&club, &sign_ins[0]).await;
        let page = quinn.get("/packs").await;
        assert!(page.one("body").contains("The demo club"));
        for state in ["Fit", "Caution", "Set aside", "Quarantine", "Retired", "Not known", "Lost"] {
            assert!(page.one("body").contains(state), "no pack is {state}");
        }
        let kit = quinn.get("/kit").await.text;
        assert!(kit.contains("2 came back unchecked") && kit.contains("1 set aside"), "{kit}");
        let mo = sign_in(&club, &sign_ins[1]).await;
        assert!(mo.get("/mine").await.one("body").contains("P-007"));
        assert!(!mo.get("/mine").await.one("body").contains("End the demo"));
        let orla = sign_in(&club, &sign_ins[2]).await;
        assert_eq!(orla.get("/log").await.status, 200);
        assert_eq!(club.first_break().await, None);
    }

    async fn in_the_demo_charges_are_on_record_one_runs_and_a_charger_is_to_be_turned_down(club: TestClub) {
        let sign_ins = look_round(&club).await;
        let mo = sign_in(&club, &sign_ins[1]).await;
        let running = mo.get("/charges").await;
        assert_eq!(running.texts("main ul.do li a span"), ["P-019 on C-01, output 2"]);
        assert!(!running.text.contains("should be done"), "{}", running.text);
        let address = running.select("main ul.do a")[0].attribute("href").to_owned();
        assert!(mo.get(&address).await.one("h1").contains("P-019"));
        let ended = "SELECT k.number || ' ' || c.outcome FROM charge c JOIN pack k ON k.id = c.pack_id WHERE c.outcome IS NOT NULL ORDER BY c.started_ms";
        assert_eq!(club.find(ended).await, ["P-008 finished", "P-010 stopped", "P-017 finished"]);
        let card = mo.get("/packs/P-009/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        assert!(card.one(".first-do").starts_with("First turn C-01 down: it was left at"), "{}", card.text);
    }

    async fn in_the_demo_the_charger_wrote_down_a_charge_and_each_leads_to_the_other(club: TestClub) {
        let sign_ins = look_round(&club).await;
        let mo = sign_in(&club, &sign_ins[1]).await;
        let list = mo.get("/packs/P-008/charge-logs").await;
        let log = mo.get(list.select("ul.listed a")[0].attribute("href")).await;
        let charge = mo.get(log.select("main a[href^='/charges/']")[0].attribute("href")).await;
        assert!(charge.one("h1").starts_with("P-008 on C-01"));
        let back = charge.select("a[href^='/charge-logs/']");
        assert_eq!((back.len(), back[0].attribute("href")), (1, log.path.as_str()));
        let moved = club.find("SELECT CAST(c.moved_mah - l.charged_uah / 1000 AS TEXT) FROM charge c JOIN charge_log l ON l.pack_id = c.pack_id").await;
        let apart: i64 = moved[0].parse().expect("mAh");
        assert!(apart.abs() < 40, "recorded and logged tell the same: {apart} mAh apart");
    }

    async fn in_the_demo_what_is_dangerous_lies_at_the_quarantine_place_and_the_log_says_who_carried_it(club: TestClub) {
        let sign_ins = look_round(&club).await;
        let watched = "SELECT k.number || ': ' || COALESCE(pl.kind, 'nowhere') FROM watch w JOIN pack k ON k.id = w.pack_id \
            LEFT JOIN place pl ON pl.id = k.place_id WHERE w.ended_ms IS NULL ORDER BY k.number_key";
        let lie = club.find(watched).await;
        assert!(lie.len() >= 2 && lie.iter().all(|one| one.ends_with(": quarantine")), "{lie:?}");
        let quinn = sign_in(&club, &sign_ins[0]).await;
        assert!(!quinn.get("/to-see-to").await.text.contains("is to be taken to"));
        assert!(quinn.get("/packs/P-004").await.one("ol.log").contains("carried to a quarantine place"));
        assert_eq!(club.first_break().await, None);
    }

    async fn the_demo_goes_into_an_empty_database_only(club: TestClub) {
        club.start().await;
        let before = club.contents().await;
        let refused = demo::start(&club.app.db, &club.app.hasher, (club.now(), "http://pi")).await;
        assert!(matches!(refused, Err(demo::DemoRefusal::Exists)));
        assert_eq!(club.contents().await, before);
    }

    async fn of_two_who_start_the_demo_at_once_one_is_told_that_it_is_there(club: TestClub) {
        let (db, hasher, now) = (&club.app.db, &club.app.hasher, club.now());
        let (one, two) = futures_util::future::join(
            demo::start(db, hasher, (now, "http://pi")),
            demo::start(db, hasher, (now, "http://pi")),
        )
        .await;
        assert!(one.is_ok() != two.is_ok());
        assert_eq!(club.find("SELECT name FROM club").await, [demo::CLUB]);
        assert_eq!(club.find("SELECT number FROM pack").await.len(), 20);
    }

    async fn nothing_chosen_on_the_first_page_is_asked_about_and_starts_nothing(club: TestClub) {
        let answer = club.send_first_form(&club.visitor(), &kind(&club, "")).await;
        assert!(answer.is_refused());
        assert_eq!(answer.select(".problems a[href='#f-kind']").len(), 1);
        assert!(club.find("SELECT name FROM club").await.is_empty());
    }

    async fn an_ended_demo_leaves_nothing_and_a_club_can_start_in_its_place(club: TestClub) {
        let empty = club.contents().await;
        let sign_ins = look_round(&club).await;
        let seen_code = club.app.set_up_code();
        let mo = sign_in(&club, &sign_ins[1]).await;
        assert_eq!(mo.post("/demo/end", &[]).await.status, 403);
        let quinn = sign_in(&club, &sign_ins[0]).await;
        assert!(quinn.get("/demo/end").await.one("body").contains("no way back"));
        assert_eq!(quinn.post("/demo/end", &[]).await.done(), "/start");
        assert!(club.app.first_answer.lock().await.is_none(), "its passwords are held nowhere");
        assert_eq!(club.contents().await, empty);
        assert_ne!(club.app.set_up_code(), seen_code, "the old code lets nobody in");
        assert_eq!(quinn.get("/packs").await.location.as_deref(), Some("/start"));
        club.start().await;
        assert_eq!(club.find("SELECT verb FROM activity").await, ["started the club"]);
        assert!(club.behind_the_back("DELETE FROM activity").await.is_err(), "guarded again");
    }

    async fn a_real_club_is_never_ended(club: TestClub) {
        let quinn = club.start().await;
        assert_eq!(quinn.get("/demo/end").await.status, 404);
        let before = club.contents().await;
        assert_eq!(quinn.post("/demo/end", &[]).await.status, 404);
        assert_eq!(club.contents().await, before);
    }

    async fn the_form_that_starts_the_demo_sent_again_shows_the_same_passwords_until_somebody_signs_in(club: TestClub) {
        let mut form = kind(&club, "demo");
        form.push(("key", "the-first-page".to_owned()));
        let browser = club.visitor();
        let (one, two) = futures_util::future::join(club.send_first_form(&browser, &form), club.send_first_form(&browser, &form)).await;
        let codes = one.texts("tbody code");
        assert_eq!((one.status.as_u16(), two.status.as_u16(), codes.len()), (200, 200, 6));
        assert_eq!(two.texts("tbody code"), codes);
        assert_eq!(club.send_first_form(&browser, &form).await.texts("tbody code"), codes);
        let mut other = form.clone();
        other.pop();
        assert_eq!(club.send_first_form(&browser, &other).await.status, 404, "without its key it is another form");
        other.push(("key", "another-page".to_owned()));
        assert_eq!(club.send_first_form(&browser, &other).await.status, 404);
        for (table, rows) in club.contents().await {
            assert!(!codes.iter().skip(1).step_by(2).any(|password| rows.join("").contains(password)), "{table}");
        }
        sign_in(&club, &(codes[0].clone(), codes[1].clone())).await;
        assert_eq!(club.send_first_form(&browser, &form).await.status, 404, "they are shown no more");
    }

    async fn a_demo_whose_browser_went_away_is_told_to_its_end_and_shown_when_the_form_comes_again(club: TestClub) {
        let mut form = kind(&club, "demo");
        form.push(("key", "the-first-page".to_owned()));
        let browser = club.visitor();
        let waited = std::time::Duration::from_millis(60);
        let left = tokio::time::timeout(waited, club.send_first_form(&browser, &form)).await;
        assert!(left.is_err(), "it was done before anybody could leave");
        let again = club.send_first_form(&browser, &form).await;
        assert_eq!((again.status.as_u16(), again.texts("tbody code").len()), (200, 6));
        assert_eq!(club.find("SELECT number FROM pack").await.len(), 20);
        assert_eq!(club.first_break().await, None);
    }
}
