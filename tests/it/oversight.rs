//! Organisers see everything of the pool and change nothing of it: their pages carry no form for that.

use crate::support::*;

const CABLE: [(&str, &str); 4] = [
    ("kind", "cable"),
    ("from", "usb-c"),
    ("to", "usb-c"),
    ("limit_mw", "60"),
];

async fn looks(organiser: &Browser, path: &str, words: &str) {
    let page = organiser.get(path).await;
    assert_eq!(page.status, 200, "{path}");
    assert!(
        page.one("main").contains(words),
        "{path}: {}",
        page.one("main")
    );
    assert!(page.select("main form").is_empty(), "{path} offers a form");
}

on_both! {
    async fn an_organiser_looks_at_the_night_and_the_tablets_and_can_change_neither(club: TestClub) {
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        looks(&olive, "/night", "No night is open.").await;
        looks(&olive, "/tablets", "No tablet is in use.").await;
        let hall = quinn.post("/places/new", &[("name", "Hall"), ("kind", "table")]).await.done().replace("?done=added", "");
        let hall = hall.rsplit('/').next().expect("an id").to_owned();
        let on_duty = quinn.id().to_string();
        let night = [("place", hall.as_str()), ("on_duty", on_duty.as_str()), ("ends_on", "2026-11-25"), ("ends_at", "21:30")];
        quinn.post("/night", &night).await.done();
        looks(&olive, "/night", "Open at Hall until Wed 25 Nov 2026, 21:30.").await;
        quinn.again().post("/tablets", &[("name", "By the door")]).await.done();
        looks(&olive, "/tablets", "By the door").await;
        let before = club.contents().await;
        for path in ["/night", "/night/close", "/tablets"] {
            assert_eq!(olive.post(path, &night).await.status, 403, "{path}");
        }
        assert_eq!(club.contents().await, before);
        assert!(!olive.get("/people").await.select("main a[href='/tablets']").is_empty(), "there is a way to them");
    }

    async fn an_organiser_looks_at_a_design_a_connector_and_what_became_of_kit(club: TestClub) {
        let (quinn, olive, ben) = (club.quartermaster().await, club.organiser().await, club.member("Ben").await);
        club.new_packs(2).await;
        let design = format!("/designs/{}", club.ids("design").await[0]);
        let own = [("code", "hall-plug"), ("name", "Hall plug"), ("purpose", "input"), ("rating_ma", "7,5 A")];
        quinn.post("/connectors/new", &own).await.done();
        let cable = quinn.post("/kit/new", &CABLE).await.done().replace("?done=added", "");
        quinn.post(&format!("{cable}/way-out"), &[("life", "lost"), ("why", "in the river")]).await.done();
        for (path, words) in [
            (design.as_str(), "LiPo, XT60, 24.4 Wh"),
            (design.as_str(), "Mass180 g"),
            ("/connectors/hall-plug", "Carries7.5 A"),
            (format!("{cable}/gone").as_str(), "K-01: Lost"),
        ] {
            looks(&olive, path, words).await;
            assert_eq!(ben.get(path).await.status, 403, "{path}");
        }
        for (list, link) in [("/designs", design.as_str()), ("/connectors", "/connectors/hall-plug")] {
            assert_eq!(olive.get(list).await.select(&format!("main a[href='{link}']")).len(), 1, "{list}");
        }
        let before = club.contents().await;
        assert_eq!(olive.post(&design, &[("name", "mine")]).await.status, 403);
        assert_eq!(olive.post("/connectors/hall-plug", &[("name", "mine")]).await.status, 403);
        assert_eq!(club.contents().await, before);
    }
}
