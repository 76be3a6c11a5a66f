//! Not straight out of the robot: a pack that came from use lies before it is charged, unless somebody read its own temperature.

use crate::support::*;
use serde_json::json;

/// The fake clock stands at 18:30.
const GENTLY: &str = "?purpose=no_hurry&at=23%3A59&room=21&pack=21";
const START: &str = "main form[method='post']";

async fn card(who: &Browser, query: &str) -> Answer {
    who.get(&format!("/packs/P-001/charge{query}")).await
}

fn has_figures(page: &Answer) -> bool {
    !page.texts("dl.set dd").is_empty()
}

/// P-001 out to Ada for an hour and taken back, its volts read as it came.
async fn taken_back(club: &TestClub, rested: &str) -> (Browser, Browser) {
    club.fit_packs(1).await;
    club.chargers(1).await;
    let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
    let person = ada.id().to_string();
    quinn
        .post("/hand-out", &[("person", &*person), ("items", "1")])
        .await
        .done();
    club.later_by_minutes(60);
    let lent = club.ids("lent").await[0];
    let look = format!("look-{lent}");
    let items = [
        ("shown", &*lent.to_string()),
        (&*look, "nothing"),
        ("key", "look"),
    ];
    let volts = quinn
        .post("/take-back/items", &items)
        .await
        .done()
        .to_owned();
    let page = quinn.get(&volts).await;
    let line = format!("volts_line-{lent}");
    let read = [(&*line, "3.83 3.82 3.83"), ("rested", rested)];
    quinn
        .submit(&page, "main form[method='post']", &read)
        .await
        .done();
    (quinn, ada)
}

on_both! {
    async fn a_pack_that_was_taken_back_lies_for_a_quarter_of_an_hour(club: TestClub) {
        let (quinn, ada) = taken_back(&club, "just_used").await;
        club.later_by_minutes(6);
        let asked = card(&ada, "").await;
        assert!(asked.one("p.notice").starts_with("It came from use a short while ago: it lies until 19:45."), "{}", asked.text);
        let stop = card(&ada, GENTLY).await;
        assert_eq!(stop.one("h1"), "Don't charge P-001");
        assert!(stop.one(".stop").contains("it lies for 9 more minutes") && stop.one(".stop").contains("It has lain enough at 19:45."), "{}", stop.one(".stop"));
        assert!(!has_figures(&stop));
        let (_, form) = stop.form("main form[method='get']");
        assert!(form.contains(&("pack".to_owned(), "21".to_owned())), "it is asked again, with what was typed");
        let evening = quinn.get("/charges/evening?numbers=1&purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        assert_eq!(evening.texts("td[data-label='From']"), ["19:45"], "an evening begins once it has lain");
        club.later_by_minutes(9);
        let card = card(&ada, GENTLY).await;
        assert!(has_figures(&card) && card.select("input[name='measured'][type='checkbox']").is_empty());
    }

    async fn its_own_temperature_decides_where_somebody_measured_it(club: TestClub) {
        let (_, ada) = taken_back(&club, "just_used").await;
        let hot = card(&ada, "?purpose=no_hurry&at=23%3A59&room=21&pack=46&measured=yes").await;
        assert!(hot.one(".stop").contains("The pack has 46 °C") && !has_figures(&hot));
        let warm = card(&ada, &format!("{GENTLY}&measured=yes")).await;
        assert!(has_figures(&warm));
        // A card that says nothing of a measurement does not start.
        let refused = ada.submit(&warm, START, &[("measured", "")]).await;
        assert_eq!(refused.problems(), ["It came from use less than 15 minutes ago: let it lie, or measure how warm the pack itself is and say so."]);
        assert_eq!(club.find("SELECT mode FROM charge").await, Vec::<String>::new());
        ada.submit(&warm, START, &[("key", "measured")]).await.done();
        assert_eq!(club.find("SELECT mode FROM charge").await, ["balance"]);
    }

    async fn what_is_read_just_used_lies_too_and_a_charge_that_ended_is_no_use(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let page = card(&ada, GENTLY).await;
        let charge = ada.submit(&page, START, &[]).await.done().to_owned();
        club.later_by_minutes(20);
        let end = [("outcome", "stopped"), ("volts_line", "3.95 3.95 3.95")];
        ada.post(&format!("{charge}/end"), &end).await.done();
        assert!(has_figures(&card(&ada, GENTLY).await));
        let used = [("rested", "just_used"), ("volts_line", "3.85 3.85 3.85")];
        ada.post("/packs/P-001/volts", &used).await.done();
        assert!(card(&ada, GENTLY).await.one(".stop").contains("it lies for 15 more minutes"));
        // Said again a minute later as lying: it was read straight from use all the same.
        club.later_by_minutes(1);
        let again = [("rested", "rested_a_while"), ("volts_line", "3.85 3.85 3.85"), ("key", "again")];
        ada.post("/packs/P-001/volts", &again).await.done();
        assert!(card(&ada, GENTLY).await.one(".stop").contains("it lies for 14 more minutes"));
    }

    async fn what_had_lain_as_it_was_taken_back_is_charged_at_once(club: TestClub) {
        let (_, ada) = taken_back(&club, "rested_a_while").await;
        assert!(has_figures(&card(&ada, GENTLY).await));
    }

    async fn a_program_is_told_until_when_it_lies(club: TestClub) {
        let (_, ada) = taken_back(&club, "just_used").await;
        let ada = club.program(ada.id()).await;
        let path = "/api/v1/packs/P-001/charge";
        let asked = "?purpose=no_hurry&at=23%3A59&room_celsius=21&pack_celsius=21";
        let told = ada.get(&format!("{path}{asked}")).await.done();
        assert_eq!((told["plans"].as_array().map(Vec::len), told["stop"].as_array().map(Vec::len)), (Some(0), Some(1)));
        assert!(told["lies_until"].as_str().is_some_and(|at| at.ends_with("45:00Z")), "{told}");
        let told = ada.get(&format!("{path}{asked}&pack_is_measured=true")).await.done();
        let plan = &told["plans"][0];
        let mut body = json!({
            "purpose": "no_hurry", "room_celsius": 21, "pack_celsius": 21, "planned_at": told["planned_at"], "minutes": told["minutes"],
            "charger": plan["charger"], "mode": plan["mode"], "current_ma": plan["current_ma"], "plan": plan["plan"],
        });
        let refused = ada.post(path, &body).await;
        assert_eq!((refused.status, refused.kind().as_str()), (409, "refused"), "{}", refused.text);
        body["pack_is_measured"] = json!(true);
        ada.post(path, &body).await.done();
    }

    async fn its_label_shows_no_current_while_its_card_gives_none(club: TestClub) {
        let (quinn, ada) = taken_back(&club, "just_used").await;
        quinn.post("/packs/P-001/label", &[("what", "make"), ("key", "label")]).await.done();
        let code = club.find("SELECT code FROM label").await.remove(0);
        let program = club.program(ada.id()).await;
        let told = async || {
            let page = ada.get(&format!("/t/{code}")).await.one("main");
            let charge = program.get(&format!("/api/v1/t/{code}")).await.done()["charge"].clone();
            assert_eq!(page.contains("Current, no more than"), charge["current_ma"].is_i64(), "{page} {charge}");
            for why in charge["dont"].as_array().expect("reasons") {
                assert!(page.contains(why.as_str().expect("words")), "{why}: {page}");
            }
            charge
        };
        let charge = told().await;
        assert_eq!((&charge["current_ma"], &charge["time"]), (&json!(null), &json!(null)));
        assert!(charge["dont"][0].as_str().expect("why").contains("it lies for 15 more minutes"), "{charge}");
        club.later_by_minutes(15);
        let charge = told().await;
        assert_eq!((&charge["current_ma"], &charge["dont"]), (&json!(2_200), &json!([])));
        // In the cold it takes half.
        quinn.post("/places/new", &[("name", "Cellar"), ("kind", "table"), ("warmth_celsius", "5"), ("key", "cellar")]).await.done();
        club.find("UPDATE pack SET place_id = (SELECT id FROM place WHERE name = 'Cellar') RETURNING number").await;
        let charge = told().await;
        assert_eq!((&charge["current_ma"], &charge["rate_c_tenths"], &charge["is_by_warmth"]), (&json!(1_100), &json!(5), &json!(true)));
        let volts = async |typed: &str, key: &str| {
            ada.post("/packs/P-001/volts", &[("rested", "rested_an_hour"), ("volts_line", typed), ("confirmed", "yes"), ("key", key)]).await.done();
        };
        volts("4.19 4.19 4.19", "full").await;
        let charge = told().await;
        assert_eq!((&charge["current_ma"], &charge["dont"]), (&json!(null), &json!(["It is full."])));
    }

    async fn at_an_event_volts_of_an_hour_ago_give_no_settings_and_none_from_before_it(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        let bouts = [("name", "Bouts"), ("place", "Town hall"), ("first_on", "2026-11-26"), ("last_on", "2026-11-26"), ("packs", "1"), ("key", "bouts")];
        olive.post("/events/new", &bouts).await.done();
        assert!(has_figures(&card(&ada, GENTLY).await), "the evening before");
        // It begins at midnight.
        club.later_by_minutes(6 * 60);
        let query = "?purpose=no_hurry&at=06%3A00&room=21&pack=21";
        let none = card(&ada, query).await;
        assert!(!has_figures(&none) && none.text.contains("It was used or charged since its volts were logged"), "{}", none.one("main"));
        assert!(has_figures(&ada.get(&format!("/packs/P-002/charge{query}")).await), "it is not on the list");
        ada.post("/packs/P-001/volts", &[("rested", "rested_a_while"), ("volts_line", "3.85 3.85 3.85"), ("key", "there")]).await.done();
        club.later_by_minutes(60);
        assert!(has_figures(&card(&ada, query).await));
        club.later_by_minutes(1);
        let none = card(&ada, query).await;
        assert!(!has_figures(&none) && none.text.contains("It is at an event, and its volts were logged more than an hour ago"), "{}", none.one("main"));
        let evening = club.quartermaster().await.get("/charges/evening?numbers=1-2&purpose=no_hurry&at=06%3A00&room=21&pack=21").await;
        assert_eq!(evening.texts("tbody th"), ["P-002"]);
    }

    async fn a_pack_that_was_out_and_back_while_an_event_goes_on_is_still_at_it(club: TestClub) {
        let (_, ada) = taken_back(&club, "rested_a_while").await;
        let bouts = [("name", "Bouts"), ("place", "Town hall"), ("first_on", "2026-11-25"), ("last_on", "2026-11-27"), ("packs", "1"), ("key", "bouts")];
        club.organiser().await.post("/events/new", &bouts).await.done();
        club.later_by_minutes(60);
        assert!(has_figures(&card(&ada, GENTLY).await));
        club.later_by_minutes(1);
        let none = card(&ada, GENTLY).await;
        assert!(!has_figures(&none) && none.text.contains("It is at an event"), "{}", none.one("main"));
    }
}
