//! A place that holds more energy than it may is told of at the moment packs are put there: registered, moved, taken back.

use crate::support::*;

/// A box that may hold 30 Wh; its id. A pack of the stage has 24.4 Wh.
async fn small_box(quinn: &Browser) -> String {
    let fields = [
        ("name", "Small box"),
        ("kind", "box"),
        ("energy_limit", "30"),
    ];
    let answer = quinn.post("/places/new", &fields).await;
    let address = answer.done().replace("?done=added", "");
    address.rsplit('/').next().expect("an id").to_owned()
}

async fn is_warned(quinn: &Browser, answer: &Answer, place: &str) -> bool {
    let page = quinn.get(answer.done()).await;
    let is_told = page
        .text
        .contains("that place held more energy than it may");
    assert_eq!(
        is_told,
        !page
            .select(&format!("a[href='/places/{place}']"))
            .is_empty()
    );
    is_told
}

on_both! {
    async fn registering_more_than_a_place_may_hold_says_so(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.fit_packs(1).await;
        let place = small_box(&quinn).await;
        let design = club.ids("design").await[0].to_string();
        let packs = |count: &'static str, key: &'static str| {
            vec![("design", design.clone()), ("count", count.to_owned()), ("place", place.clone()), ("key", key.to_owned())]
        };
        for (count, key, is_over) in [("1", "first", false), ("1", "second", true)] {
            let fields = packs(count, key);
            let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
            let answer = quinn.post("/packs", &fields).await;
            assert_eq!(is_warned(&quinn, &answer, &place).await, is_over, "{key}");
        }
    }

    async fn moving_a_pack_where_there_is_no_room_for_its_energy_says_so_once(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.fit_packs(2).await;
        let place = small_box(&quinn).await;
        let mut told = Vec::new();
        for number in ["P-001", "P-002", "P-002"] {
            let page = quinn.get(&format!("/packs/{number}/details")).await;
            let answer = quinn.submit(&page, "main form[action$='/details']", &[("place", place.as_str())]).await;
            told.push(is_warned(&quinn, &answer, &place).await);
        }
        assert_eq!(told, [false, true, false], "who changes something else is not told again");
    }

    async fn taking_back_to_a_full_place_says_so(club: TestClub) {
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.fit_packs(2).await;
        let place = small_box(&quinn).await;
        let page = quinn.get("/packs/P-002/details").await;
        quinn.submit(&page, "main form[action$='/details']", &[("place", place.as_str())]).await.done();
        let page = quinn.get("/hand-out").await;
        quinn.submit(&page, "main form", &[("person", &ada.id().to_string()), ("items", "1")]).await.done();
        let line = club.ids("lent").await[0].to_string();
        let look = format!("look-{line}");
        let answer = quinn.post("/take-back/items", &[("shown", line.as_str()), (look.as_str(), "nothing"), ("key", "look")]).await;
        let page = quinn.get(answer.done()).await;
        let (volts, to) = (format!("volts_line-{line}"), format!("place-{line}"));
        let fields = [("rested", "rested_an_hour"), (volts.as_str(), "3.82 3.81 3.82"), (to.as_str(), place.as_str())];
        let answer = quinn.submit(&page, "form[action='/take-back/volts']", &fields).await;
        assert!(is_warned(&quinn, &answer, &place).await);
    }

    async fn a_quarantine_place_that_holds_too_much_is_told_of_when_danger_is_seen(club: TestClub) {
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.fit_packs(2).await;
        let fields = [("name", "Sand bucket"), ("kind", "quarantine"), ("energy_limit", "30")];
        let answer = quinn.post("/places/new", &fields).await;
        let place = answer.done().replace("?done=added", "").replace("/places/", "");
        let page = quinn.get("/hand-out").await;
        quinn.submit(&page, "main form", &[("person", &*ada.id().to_string()), ("items", "1 2")]).await.done();
        let mut told = Vec::new();
        for line in club.ids("lent").await {
            let (line, key) = (line.to_string(), sandbucket::ids::new_token());
            let (look, seen) = (format!("look-{line}"), format!("seen-{line}"));
            let fields = [("shown", line.as_str()), (look.as_str(), "wrong"), (seen.as_str(), "swollen"), ("key", key.as_str())];
            let answer = quinn.post("/take-back/items", &fields).await;
            told.push(is_warned(&quinn, &answer, &place).await);
        }
        assert_eq!(told, [false, true]);
    }
}
