//! Kit and the places it lies in: added with its data sheet, set aside and mended, counted, closed, out of the pool.

use crate::support::*;
use sandbucket::bench::kit::KitKind;
use sandbucket::ids;
use sandbucket::store::kit;

const ADAPTERS: [(&str, &str); 5] = [
    ("kind", "adapter"),
    ("from", "xt60"),
    ("to", "xt30"),
    ("rated_ma", "12,5"),
    ("owned_count", "8"),
];
const CABLE: [(&str, &str); 4] = [
    ("kind", "cable"),
    ("from", "usb-c"),
    ("to", "usb-c"),
    ("limit_mw", "60"),
];

/// Adds it and gives its page's address.
async fn added(quinn: &Browser, page: &str, fields: &[(&str, &str)]) -> String {
    let answer = quinn.post(page, fields).await;
    let address = answer.done().to_owned();
    address.replace("?done=added", "")
}

async fn place(quinn: &Browser, name: &str, kind: &str, limit: &str) -> String {
    let fields = [("name", name), ("kind", kind), ("energy_limit", limit)];
    added(quinn, "/places/new", &fields).await
}

fn id_in(address: &str) -> uuid::Uuid {
    let last = address.rsplit('/').next().expect("an id");
    last.parse().expect("an id")
}

/// `count` adapters (None: the numbered thing) on an open loan of Zelda's.
async fn lend(club: &TestClub, kit: &str, count: Option<i64>) {
    let zelda = club.member("Zelda").await;
    let (loan, id) = (club.literal(ids::new_id()), club.literal(id_in(kit)));
    let zelda = club.literal(zelda.id());
    let count = count.map_or("NULL".to_owned(), |count| count.to_string());
    for sql in [
        format!(
            "INSERT INTO loan (id, borrower_id, handed_by, due_on, purpose, opened_ms) VALUES ({loan}, {zelda}, {zelda}, '2026-12-01', '', 1)"
        ),
        format!(
            "INSERT INTO lent (id, loan_id, kit_id, counted, opened_ms) VALUES ({}, {loan}, {id}, {count}, 1)",
            club.literal(ids::new_id())
        ),
    ] {
        club.behind_the_back(&sql).await.expect("a loan");
    }
}

async fn lendable(club: &TestClub) -> Vec<(String, i64)> {
    let mut conn = club.app.db.read().await.expect("a connection");
    let found = kit::lendable(&mut conn).await.expect("kit");
    found
        .iter()
        .map(|each| (each.kit.number.clone(), each.free()))
        .collect()
}

async fn verbs_of(club: &TestClub, address: &str) -> Vec<String> {
    let id = club.literal(id_in(address));
    club.find(&format!(
        "SELECT verb FROM activity WHERE subject_id = {id} ORDER BY seq"
    ))
    .await
}

on_both! {
    async fn each_kind_counts_its_own_numbers_and_a_withdrawn_number_never_comes_again(club: TestClub) {
        let quinn = club.quartermaster().await;
        let first = added(&quinn, "/kit/new", &CABLE).await;
        let withdraw = [("life", "withdrawn"), ("why", "typed twice")];
        quinn.post(&format!("{first}/way-out"), &withdraw).await.done();
        let second = added(&quinn, "/kit/new", &CABLE).await;
        added(&quinn, "/kit/new", &ADAPTERS).await;
        assert_eq!(quinn.get(&second).await.one("h1"), "K-02");
        let mut conn = club.app.db.read().await.expect("a connection");
        assert_eq!(kit::next_number_key(&mut conn, KitKind::Cable).await.expect("a number"), 3);
        let found = kit::by_number(&mut conn, "A-01").await.expect("kit").expect("A-01");
        assert_eq!(found.owned_count, 8);
        drop(conn);
        assert_eq!(lendable(&club).await, [("K-02".to_owned(), 1), ("A-01".to_owned(), 8)]);
    }

    async fn a_refused_sheet_keeps_what_was_typed_and_names_every_field_to_put_right(club: TestClub) {
        let quinn = club.quartermaster().await;
        let typed = [("kind", "charger"), ("cells_to", "6"), ("charge_mw", "lots"), ("chemistries", "lihv"), ("name", "the red one")];
        let answer = quinn.post("/kit/new", &typed).await;
        assert!(answer.is_refused());
        let wrong: Vec<String> = answer.select("#problems a").iter().map(|link| link.attribute("href").to_owned()).collect();
        for field in ["#f-charge_mw", "#f-cells_from", "#f-current_max_ma", "#f-input", "#f-output_connector"] {
            assert!(wrong.iter().any(|href| href == field), "{field} in {wrong:?}");
        }
        let (_, held) = answer.form("main form");
        for pair in [("charge_mw", "lots"), ("chemistries", "lihv"), ("name", "the red one"), ("cells_to", "6")] {
            assert!(held.contains(&(pair.0.to_owned(), pair.1.to_owned())), "{pair:?}");
        }
        assert!(club.ids("kit").await.is_empty());
    }

    async fn a_form_sent_twice_adds_one_thing_and_leads_to_the_same_page(club: TestClub) {
        let quinn = club.quartermaster().await;
        let page = quinn.get("/kit/new?kind=cable").await;
        let typed = &CABLE[1..];
        let first = quinn.submit(&page, "main form", typed).await;
        let again = quinn.submit(&page, "main form", typed).await;
        assert_eq!(first.done(), again.done());
        assert_eq!(club.ids("kit").await.len(), 1);
    }

    async fn kit_set_aside_enters_no_loan_until_it_is_mended_each_with_a_reason(club: TestClub) {
        let quinn = club.quartermaster().await;
        let cable = added(&quinn, "/kit/new", &CABLE).await;
        assert!(quinn.post(&format!("{cable}/set-aside"), &[("set_aside", " ")]).await.is_refused());
        quinn.post(&format!("{cable}/set-aside"), &[("set_aside", "sheath torn")]).await.done();
        assert!(lendable(&club).await.is_empty());
        assert!(quinn.get(&cable).await.one(".verdict").contains("sheath torn"));
        assert!(quinn.post(&format!("{cable}/mend"), &[("mended", "")]).await.is_refused());
        quinn.post(&format!("{cable}/mend"), &[("mended", "new sheath")]).await.done();
        assert_eq!(lendable(&club).await, [("K-01".to_owned(), 1)]);
        assert_eq!(verbs_of(&club, &cable).await, ["added it", "set it aside", "mended it"]);
    }

    async fn of_adapters_one_bent_is_set_aside_and_the_others_are_lent_until_it_is_thrown_away(club: TestClub) {
        let quinn = club.quartermaster().await;
        let adapters = added(&quinn, "/kit/new", &ADAPTERS).await;
        let aside = |count| [("set_aside", "a bent pin"), ("aside_count", count)];
        for count in ["0", "9", "two"] {
            let refused = quinn.post(&format!("{adapters}/set-aside"), &aside(count)).await;
            assert_eq!(refused.problems(), ["Count 1 to 8 of them."], "{count}");
            assert!(refused.form("form[action$='/set-aside']").1.contains(&("set_aside".to_owned(), "a bent pin".to_owned())));
        }
        quinn.post(&format!("{adapters}/set-aside"), &aside("2")).await.done();
        assert_eq!(lendable(&club).await, [("A-01".to_owned(), 6)]);
        assert!(quinn.get("/kit").await.text.contains("8 owned, 2 set aside"));
        let thrown = [("mended", "pin broke off"), ("mended_count", "1"), ("thrown_away", "yes")];
        quinn.post(&format!("{adapters}/mend"), &thrown).await.done();
        assert_eq!(lendable(&club).await, [("A-01".to_owned(), 6)]);
        quinn.post(&format!("{adapters}/mend"), &[("mended", "straightened")]).await.done();
        assert_eq!(lendable(&club).await, [("A-01".to_owned(), 7)]);
        assert!(quinn.get(&adapters).await.select(".verdict").is_empty());
        let verbs = ["added it", "set it aside", "threw away what was set aside", "mended it"];
        assert_eq!(verbs_of(&club, &adapters).await, verbs);
    }

    async fn the_club_never_owns_fewer_adapters_than_are_out(club: TestClub) {
        let quinn = club.quartermaster().await;
        let adapters = added(&quinn, "/kit/new", &ADAPTERS).await;
        lend(&club, &adapters, Some(3)).await;
        assert_eq!(lendable(&club).await, [("A-01".to_owned(), 5)]);
        let count = format!("{adapters}/count");
        assert!(quinn.post(&count, &[("owned_count", "2")]).await.is_refused());
        quinn.post(&count, &[("owned_count", "3")]).await.done();
        assert!(lendable(&club).await.is_empty());
        let lost = [("life", "lost"), ("why", "left at the meet")];
        assert!(quinn.post(&format!("{adapters}/way-out"), &lost).await.is_refused());
        let page = quinn.get(&format!("{adapters}/way-out")).await;
        assert!(page.text.contains("3 out on a loan") && page.select("main form").is_empty());
    }

    async fn lost_kit_can_be_found_and_retired_kit_never_comes_back(club: TestClub) {
        let quinn = club.quartermaster().await;
        let life = format!("{}/way-out", added(&quinn, "/kit/new", &CABLE).await);
        let why = ("why", "a good reason");
        for (next, is_done) in [("lost", true), ("retired", false), ("in_use", true), ("retired", true), ("in_use", false)] {
            let answer = quinn.post(&life, &[("life", next), why]).await;
            assert_eq!(answer.is_refused(), !is_done, "{next}");
        }
        assert!(!quinn.get("/kit").await.text.contains("K-01"));
        assert!(quinn.get("/kit?gone=yes").await.text.contains("K-01"));
    }

    async fn kit_that_is_found_again_is_looked_over_before_it_is_lent(club: TestClub) {
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let cable = added(&quinn, "/kit/new", &CABLE).await;
        for next in ["lost", "in_use"] {
            quinn.post(&format!("{cable}/way-out"), &[("life", next), ("why", "at the meet")]).await.done();
        }
        let loan = [("person", &*ada.id().to_string()), ("items", "K-01")];
        let refused = quinn.post("/hand-out", &loan).await;
        assert!(refused.is_refused() && refused.text.contains("K-01 came back unchecked"), "{}", refused.text);
        quinn.post(&format!("{cable}/looked-over"), &[]).await.done();
        quinn.post("/hand-out", &loan).await.done();
    }

    async fn a_way_out_is_read_back_before_it_is_done_and_told_on_a_page_of_its_own(club: TestClub) {
        let quinn = club.quartermaster().await;
        let cable = added(&quinn, "/kit/new", &CABLE).await;
        let ask = quinn.get(quinn.get(&cable).await.select("main a[href$='/way-out']")[0].attribute("href")).await;
        assert_eq!(ask.one("h1"), "Take K-01 out of the pool?");
        let before = club.contents().await;
        assert_eq!(quinn.get(&format!("{cable}/way-out?life=&why=")).await.problems().len(), 2);
        assert_eq!(quinn.get(&format!("{cable}/way-out?life=in_use&why=because")).await.problems().len(), 1);
        let back = quinn.get(&format!("{cable}/way-out?life=given_away&why=to+the+school")).await;
        assert_eq!(club.contents().await, before, "looking changes nothing");
        assert!(back.text.contains("to the school") && back.one("main p.lead").contains("no more, for good"));
        assert_eq!(back.one("main button"), "Record K-01 as given away");
        let change = back.select("main dd a")[0].attribute("href").to_owned();
        let again = quinn.get(change.split('#').next().expect("an address")).await;
        assert!(again.form("main form").1.contains(&("why".to_owned(), "to the school".to_owned())), "what was typed is kept");
        let first = quinn.submit(&back, "main form", &[]).await;
        let twice = quinn.submit(&back, "main form", &[]).await;
        assert_eq!((first.done(), twice.done()), (format!("{cable}/gone").as_str(), format!("{cable}/gone").as_str()));
        let told = quinn.get(first.done()).await;
        assert!(told.one("[role=status]").contains("K-01: Given away") && told.text.contains("Quinn"), "{}", told.text);
        assert_eq!(verbs_of(&club, &cable).await, ["added it", "gave it away"]);
        assert!(quinn.get(&cable).await.select("main a[href$='/way-out']").is_empty(), "there is no way from there");
        assert_eq!(club.member("Ben").await.post(&format!("{cable}/way-out"), &[("life", "lost")]).await.status, 403);
    }

    async fn a_member_sees_that_kit_is_out_and_never_with_whom(club: TestClub) {
        let quinn = club.quartermaster().await;
        let cable = added(&quinn, "/kit/new", &CABLE).await;
        lend(&club, &cable, None).await;
        let ben = club.member("Ben").await;
        for path in ["/kit", cable.as_str()] {
            assert!(quinn.get(path).await.text.contains("with Zelda"), "{path}");
            let seen = ben.get(path).await;
            assert!(seen.text.contains("out on a loan") && !seen.text.contains("Zelda"), "{path}");
            assert!(!seen.text.contains("Quinn"), "{path}");
        }
        assert_eq!(ben.post(&format!("{cable}/mend"), &[("mended", "mine now")]).await.status, 403);
    }

    async fn a_clubs_own_connector_can_be_chosen_and_an_unknown_one_is_refused(club: TestClub) {
        let quinn = club.quartermaster().await;
        let cable = [("kind", "cable"), ("from", "usb-c"), ("to", "hall-plug"), ("limit_mw", "60")];
        assert!(quinn.post("/kit/new", &cable).await.is_refused());
        let own = [("code", "hall-plug"), ("name", "Hall plug"), ("purpose", "input"), ("rating_ma", "7,5 A")];
        quinn.post("/connectors/new", &own).await.done();
        assert!(quinn.post("/connectors/new", &own).await.is_refused(), "a code is given once");
        assert!(quinn.get("/connectors").await.text.contains("7.5 A"));
        added(&quinn, "/kit/new", &cable).await;
    }

    async fn changing_a_thing_starts_from_its_sheet_and_the_log_tells_what_was_and_is(club: TestClub) {
        let quinn = club.quartermaster().await;
        let adapters = added(&quinn, "/kit/new", &ADAPTERS).await;
        let page = quinn.get(&format!("{adapters}/change")).await;
        let (_, held) = page.form("main form");
        assert!(held.contains(&("rated_ma".to_owned(), "12.5".to_owned())));
        let answer = quinn.submit(&page, "main form", &[("rated_ma", "15")]).await;
        let told = quinn.get(answer.done()).await.one(".log");
        assert!(told.contains("XT60 to XT30, 12.5 A → XT60 to XT30, 15 A"), "{told}");
        assert_eq!(lendable(&club).await, [("A-01".to_owned(), 8)], "changing does not touch the count");
    }

    async fn a_place_warns_when_more_energy_lies_there_than_it_may_and_leaves_out_what_is_lent(club: TestClub) {
        let quinn = club.quartermaster().await;
        let sand_box = place(&quinn, "Sand box", "box", "20").await;
        club.new_packs(1).await;
        let here = club.literal(id_in(&sand_box));
        club.behind_the_back(&format!("UPDATE pack SET place_id = {here}")).await.expect("moved");
        // 3 cells of 3.7 V nominal and 2200 mAh: 24.42 Wh.
        let told = quinn.get(&sand_box).await;
        assert!(told.text.contains("24.4 Wh of at most 20 Wh") && told.text.contains("Over its limit by 4.4 Wh"));
        let pack = club.literal(club.ids("pack").await[0]);
        let cable = added(&quinn, "/kit/new", &CABLE).await;
        lend(&club, &cable, None).await;
        club.behind_the_back(&format!("UPDATE lent SET pack_id = {pack}, kit_id = NULL")).await.expect("lent");
        let told = quinn.get(&sand_box).await;
        assert!(told.text.contains("0 Wh of at most 20 Wh") && !told.text.contains("Over"));
        assert!(told.text.contains("1 out on a loan"));
    }

    async fn places_differ_by_more_than_their_capitals(club: TestClub) {
        let quinn = club.quartermaster().await;
        let first = place(&quinn, "Kühlbox", "box", "").await;
        let alike = [("name", "KÜHLBOX"), ("kind", "bag")];
        let refused = quinn.post("/places/new", &alike).await;
        assert_eq!(refused.problems(), ["There is a place of that name already. Choose another name."]);
        quinn.post(&format!("{first}/close"), &[("key", "c-1")]).await.done();
        let second = place(&quinn, "KÜHLBOX", "bag", "").await;
        let back = quinn.post(&format!("{first}/reopen"), &[("key", "o-1")]).await;
        assert!(back.status != 303 || !back.done().contains("reopened"), "an open place has its name now");
        quinn.post(&format!("{second}/close"), &[("key", "c-2")]).await.done();
        quinn.post(&format!("{first}/reopen"), &[("key", "o-2")]).await.done();
        quinn.post(&first, &[("name", "KÜHLBOX"), ("kind", "box"), ("key", "n-1")]).await.done();
    }

    async fn what_has_to_be_seen_to_can_be_listed_alone(club: TestClub) {
        let quinn = club.quartermaster().await;
        let (adapters, cable) = (added(&quinn, "/kit/new", &ADAPTERS).await, added(&quinn, "/kit/new", &CABLE).await);
        let listed = async || quinn.get("/kit?see_to=yes").await.texts("tbody th");
        assert!(listed().await.is_empty());
        quinn.post(&format!("{adapters}/set-aside"), &[("set_aside", "pin bent"), ("aside_count", "1"), ("key", "a-1")]).await.done();
        club.behind_the_back(&format!("UPDATE kit SET unchecked_count = 1 WHERE id = {}", club.literal(id_in(&cable)))).await.expect("unchecked");
        assert_eq!(listed().await.len(), 2);
        assert_eq!(quinn.get("/kit?see_to=yes&kind=cable").await.texts("tbody th").len(), 1);
    }

    async fn a_hand_out_of_kit_is_logged_with_its_due_day(club: TestClub) {
        let quinn = club.quartermaster().await;
        let cable = added(&quinn, "/kit/new", &CABLE).await;
        let ada = club.borrower("Ada").await;
        let number = quinn.get(&cable).await.one("h1").split(' ').next().expect("a number").to_owned();
        let to = ada.id().to_string();
        let page = quinn.get("/hand-out").await;
        let fields = [("person", to.as_str()), ("items", number.as_str()), ("due", "2026-11-27")];
        quinn.submit(&page, "main form", &fields).await.done();
        let told = quinn.get(&cable).await.one("main");
        assert!(told.contains("handed out to Ada") && told.contains("due: Fri 27 Nov 2026"), "{told}");
        assert!(club.organiser().await.get("/log").await.one("main").contains("due: Fri 27 Nov 2026"));
    }

    async fn a_place_closes_only_when_nothing_belongs_there_and_one_quarantine_place_stays(club: TestClub) {
        let quinn = club.quartermaster().await;
        let quarantine = place(&quinn, "Yard", "quarantine", "").await;
        let table = place(&quinn, "Table", "table", "").await;
        let id = id_in(&table).to_string();
        let cable = [CABLE.as_slice(), &[("place", id.as_str())]].concat();
        let cable = added(&quinn, "/kit/new", &cable).await;
        assert!(quinn.post(&format!("{table}/close"), &[]).await.is_refused());
        quinn.post(&format!("{cable}/change"), &CABLE[1..]).await.done();
        quinn.post(&format!("{table}/close"), &[]).await.done();
        assert!(quinn.post("/kit/new", &[CABLE.as_slice(), &[("place", id.as_str())]].concat()).await.is_refused());
        assert!(quinn.post(&format!("{quarantine}/close"), &[]).await.is_refused());
        assert!(quinn.post(&quarantine, &[("name", "Yard"), ("kind", "box")]).await.is_refused());
        place(&quinn, "Drum", "quarantine", "").await;
        quinn.post(&format!("{quarantine}/close"), &[]).await.done();
    }

    async fn two_open_places_never_share_a_name_and_a_closed_one_frees_it(club: TestClub) {
        let quinn = club.quartermaster().await;
        let first = place(&quinn, "Box B", "box", "").await;
        let again = [("name", "Box B"), ("kind", "bag")];
        let answer = quinn.post("/places/new", &again).await;
        assert!(answer.is_refused());
        assert_eq!(answer.problems().len(), 1);
        quinn.post(&format!("{first}/close"), &[]).await.done();
        quinn.post("/places/new", &again).await.done();
    }

    async fn a_closed_place_opens_again_unless_an_open_one_took_its_name(club: TestClub) {
        let quinn = club.quartermaster().await;
        let first = place(&quinn, "Box B", "box", "").await;
        assert!(quinn.post(&format!("{first}/reopen"), &[]).await.is_refused(), "it is open");
        quinn.post(&format!("{first}/close"), &[]).await.done();
        assert!(!quinn.get("/places").await.text.contains("Box B"));
        assert!(quinn.get("/places?closed=yes").await.text.contains("Box B"));
        let second = place(&quinn, "Box B", "bag", "").await;
        let refused = quinn.post(&format!("{first}/reopen"), &[]).await;
        assert_eq!(refused.problems(), ["There is a place of that name already. Choose another name."]);
        quinn.post(&format!("{second}/close"), &[]).await.done();
        let page = quinn.get(&first).await;
        for _ in 0..2 {
            let answer = quinn.submit(&page, "form[action$='/reopen']", &[]).await;
            assert_eq!(answer.done(), format!("{first}?done=reopened"));
        }
        assert_eq!(verbs_of(&club, &first).await, ["added the place", "closed the place", "reopened the place"]);
        let id = id_in(&first).to_string();
        added(&quinn, "/kit/new", &[CABLE.as_slice(), &[("place", id.as_str())]].concat()).await;
        assert_eq!(club.member("Ben").await.post(&format!("{first}/reopen"), &[]).await.status, 403);
        assert_eq!(quinn.post(&format!("/places/{}/reopen", ids::new_id()), &[]).await.status, 404);
    }

    async fn the_list_of_kit_comes_a_page_at_a_time_and_a_text_is_looked_for_in_all_of_it(club: TestClub) {
        let quinn = club.quartermaster().await;
        for number in 1..=53 {
            let maker = if number % 10 == 0 { "Tenth Works" } else { "" };
            added(&quinn, "/kit/new", &[CABLE.as_slice(), &[("maker", maker)]].concat()).await;
        }
        added(&quinn, "/kit/new", &ADAPTERS).await;
        let numbers = |page: &Answer| page.texts("table.rows tbody th");
        let first = quinn.get("/kit").await;
        assert_eq!(numbers(&first).len(), 50);
        let more = first.one("p.pager a");
        assert_eq!(more, "More");
        let second = quinn.get(first.select("p.pager a")[0].attribute("href")).await;
        assert_eq!(numbers(&second), ["K-51", "K-52", "K-53", "A-01"]);
        assert_eq!(second.texts("p.pager a"), ["Back"]);
        let tenth = quinn.get("/kit?text=tenth+usb-c&kind=cable").await;
        assert_eq!(numbers(&tenth), ["K-10", "K-20", "K-30", "K-40", "K-50"]);
        let all = quinn.get("/kit?text=usb-c&page=1").await;
        assert_eq!(numbers(&all), ["K-51", "K-52", "K-53"]);
        assert!(quinn.get("/kit?text=nothing+of+ours").await.text.contains("No kit suits that."));
        assert!(numbers(&quinn.get("/kit?page=-3&kind=lathe").await).len() == 50);
    }

    async fn every_kind_of_place_can_be_chosen(club: TestClub) {
        let quinn = club.quartermaster().await;
        let offered: Vec<String> = quinn.get("/places/new").await.texts("select[name=kind] option");
        for kind in ["Cabinet", "Box", "Bag", "Table", "Vehicle", "Outdoors", "Quarantine"] {
            assert!(offered.iter().any(|each| each == kind), "{kind} in {offered:?}");
            place(&quinn, kind, &kind.to_lowercase(), "").await;
        }
    }
}
