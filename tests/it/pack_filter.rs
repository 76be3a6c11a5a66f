//! The packs page: what suits a robot, where or with whom, in which state, some text, each order: all at once.

use crate::support::*;

/// Numbers of the packs a page shows, in its order.
async fn shown(browser: &Browser, query: &str) -> Vec<String> {
    let page = browser.get(&format!("/packs?{query}")).await;
    assert_eq!(page.status, 200, "{query}");
    page.texts("table.rows tbody th")
}

async fn design(
    quinn: &Browser,
    name: &str,
    cells: &str,
    capacity: &str,
    connector: &str,
) -> String {
    let fields = [
        ("name", name),
        ("chemistry", "lipo"),
        ("cells", cells),
        ("capacity", capacity),
        ("discharge_c", "30"),
        ("connector", connector),
        ("balance", "jst-xh"),
    ];
    let answer = quinn.post("/designs", &fields).await;
    answer
        .done()
        .rsplit('=')
        .next()
        .expect("a design")
        .to_owned()
}

async fn register(quinn: &Browser, design: &str, count: &str, place: &str, maker: &str) {
    let fields = [
        ("design", design),
        ("count", count),
        ("place", place),
        ("maker", maker),
    ];
    quinn.post("/packs", &fields).await.done();
}

/// P-001..003: 3S 450 XT30 in the box; 004..005: 3S 2200 XT60 in the van, of Tenth Works; 006: 4S 1300 XT60 in the box.
/// 001, 002, 004, 006 were read and are fit; 001 is with Ada; 003 and 005 were never read; 006 has its wrap torn.
async fn pool(club: &TestClub) -> (Browser, Browser, String, String) {
    let quinn = club.quartermaster().await;
    let mut places = Vec::new();
    for name in ["Box", "Van"] {
        let added = quinn
            .post("/places/new", &[("name", name), ("kind", "box")])
            .await
            .done()
            .replace("?done=added", "");
        places.push(added.rsplit('/').next().expect("an id").to_owned());
    }
    let (r#box, van) = (places[0].clone(), places[1].clone());
    let small = design(&quinn, "small", "3", "450 mAh", "xt30").await;
    let large = design(&quinn, "large", "3", "2200 mAh", "xt60").await;
    let four = design(&quinn, "four", "4", "1300 mAh", "xt60").await;
    register(&quinn, &small, "3", &r#box, "").await;
    register(&quinn, &large, "2", &van, "Tenth Works").await;
    register(&quinn, &four, "1", &r#box, "").await;
    for (number, volts) in [
        ("P-001", "3.81 3.82 3.81"),
        ("P-002", "3.83 3.82 3.83"),
        ("P-004", "3.80 3.80 3.81"),
        ("P-006", "3.80 3.81 3.80 3.80"),
    ] {
        club.later_by_minutes(10);
        quinn
            .post(
                &format!("/packs/{number}/volts"),
                &[("volts_line", volts), ("rested", "rested_an_hour")],
            )
            .await
            .done();
    }
    quinn
        .post("/packs/P-006/condition", &[("seen", "wrap_torn")])
        .await
        .done();
    let ada = club.borrower("Ada").await;
    let id = ada.id().to_string();
    quinn
        .post(
            "/hand-out",
            &[
                ("person", id.as_str()),
                ("items", "1"),
                ("purpose", "practice"),
            ],
        )
        .await
        .done();
    (quinn, ada, r#box, van)
}

on_both! {
    async fn a_text_finds_letters_beyond_ascii_whatever_their_capitals(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let form = quinn.get("/packs/P-001/details").await;
        quinn.submit(&form, "main form", &[("maker", "Özge Ärm")]).await.done();
        for text in ["Акку", "ß"] {
            let query = urlencoded(&[("text", text)]);
            assert!(quinn.get(&format!("/packs?{query}")).await.select("tbody th").is_empty(), "{text} stands nowhere");
        }
        for text in ["özge", "ÖZGE ä", "Ärm"] {
            let query = urlencoded(&[("text", text)]);
            assert_eq!(quinn.get(&format!("/packs?{query}")).await.texts("tbody th"), ["P-001"], "{text}");
        }
    }

    async fn each_filter_holds_alone_and_all_of_them_hold_together(club: TestClub) {
        let (quinn, ada, r#box, van) = pool(&club).await;
        let ada_id = ada.id();
        for (query, numbers) in [
            (String::new(), "P-001 P-002 P-003 P-004 P-005 P-006"),
            ("cells=3".to_owned(), "P-001 P-002 P-003 P-004 P-005"),
            ("mah_from=1000".to_owned(), "P-004 P-005 P-006"),
            ("mah_from=450&mah_to=1300".to_owned(), "P-001 P-002 P-003 P-006"),
            ("amps_from=30".to_owned(), "P-004 P-005 P-006"),
            ("amps_from=66".to_owned(), "P-004 P-005"),
            ("amps_from=66.1".to_owned(), ""),
            ("connector=xt60".to_owned(), "P-004 P-005 P-006"),
            (format!("place={van}"), "P-004 P-005"),
            (format!("place={}", r#box), "P-002 P-003 P-006"),
            (format!("holder={ada_id}"), "P-001"),
            ("state=fit".to_owned(), "P-001 P-002 P-004"),
            ("state=not_known".to_owned(), "P-003 P-005"),
            ("state=set_aside".to_owned(), "P-006"),
            ("text=tenth".to_owned(), "P-004 P-005"),
            (format!("cells=3&mah_from=1000&connector=xt60&place={van}&state=fit&text=TENTH"), "P-004"),
            (format!("cells=4&mah_from=1000&connector=xt60&place={van}&state=fit&text=TENTH"), ""),
            (format!("cells=3&mah_to=500&connector=xt30&holder={ada_id}&state=fit&text=p-0"), "P-001"),
            (format!("holder={ada_id}&place={}", r#box), ""),
        ] {
            assert_eq!(shown(&quinn, &query).await.join(" "), numbers, "{query}");
        }
    }

    async fn beside_a_pack_found_by_a_robot_s_draw_stands_what_speaks_against_it(club: TestClub) {
        let (quinn, _, _, _) = pool(&club).await;
        let told = async |query: &str, number: &str| {
            let page = quinn.get(&format!("/packs?{query}")).await;
            let row = page.texts("table.rows tbody tr").into_iter().find(|row| row.starts_with(number));
            row.unwrap_or_default()
        };
        let alone = "By its label alone: its own resistance is not known.";
        assert!(!told("cells=3", "P-004").await.contains("By its label"), "nothing of it where no draw is asked for");
        let well = told("amps_from=30", "P-004").await;
        assert!(well.contains(alone) && !well.contains("carries"), "{well}");
        // 66 A of its label through an XT60, which its maker rates at 30.
        let more = told("amps_from=31", "P-004").await;
        assert!(more.contains("Its plug, XT60, carries 30 A on and on."), "{more}");
        assert!(told("amps_from=30", "P-005").await.contains("Not known: it is lent to nobody now."));
        assert!(told("amps_from=30", "P-006").await.contains("Set aside: it is lent to nobody now."));
        // Its cells read 20 milliohm: of the 66 A of its label little is left.
        let read = [("volts_line", "4.19 4.19 4.19"), ("rested", "rested_an_hour"), ("resistance", "20 20 20"), ("meter", "M1"), ("meter_kind", "load"), ("celsius", "22"), ("key", "ohm")];
        quinn.post("/packs/P-004/volts", &read).await.done();
        let worn = told("amps_from=30", "P-004").await;
        assert!(worn.contains("By its own resistance it gives") && worn.contains("before a cell is down to 3.2 V") && worn.contains("By its label and its own resistance."), "{worn}");
        assert!(quinn.get("/packs?amps_from=30").await.text.contains("Found by the current that their label allows"));
        // The sheet of the same question says it too, and one that asks for no draw has no such columns.
        let sheet = quinn.get("/packs.csv?amps_from=31").await.text;
        let line = sheet.lines().find(|line| line.contains("P-005")).expect("its line");
        assert!(sheet.contains(",Gives by its own resistance (A),Against its giving so much"), "{sheet}");
        assert!(line.contains("Not known: it is lent to nobody now. Its plug, XT60, carries 30 A on and on."), "{line}");
        assert!(!quinn.get("/packs.csv?cells=3").await.text.contains("Against its giving"));
        let program = club.program(quinn.id()).await;
        let answer = program.get("/api/v1/packs?gives_ma_min=31000").await.done();
        let of = |number: &str| answer["draws"].as_array().expect("draws").iter().find(|one| one["number"] == number).expect("its draw").clone();
        let draw = of("P-004");
        assert_eq!((draw["plug_ma"].as_i64(), draw["doubts"].as_array().map(Vec::len)), (Some(30_000), Some(3)), "such a resistance sets it aside too: {draw}");
        assert!(draw["own_resistance_ma"].as_i64().is_some_and(|ma| (10_000..31_000).contains(&ma)));
        assert!(of("P-005")["own_resistance_ma"].is_null());
        assert_eq!(program.get("/api/v1/packs").await.done()["draws"], serde_json::json!([]));
    }

    async fn every_order_works_with_every_filter_and_asks_the_database_three_times_at_most(club: TestClub) {
        let (quinn, _, _, _) = pool(&club).await;
        for (order, numbers) in [
            ("number", "P-001 P-002 P-003 P-004 P-005 P-006"),
            ("state", "P-006 P-003 P-005 P-001 P-002 P-004"),
            ("what", "P-001 P-002 P-003 P-004 P-005 P-006"),
            ("where", "P-002 P-003 P-006 P-004 P-005 P-001"),
            ("seen", "P-003 P-005 P-002 P-004 P-001 P-006"),
        ] {
            assert_eq!(shown(&quinn, &format!("order={order}")).await.join(" "), numbers, "{order}");
            let narrow = shown(&quinn, &format!("order={order}&cells=3&connector=xt60&state=fit&text=works")).await;
            assert_eq!(narrow, ["P-004"], "{order}");
            let (_, count) = club.queries_of(quinn.get(&format!("/packs?order={order}&text=p&cells=3"))).await;
            assert!(count <= 3, "{order}: {count} statements");
        }
    }

    async fn a_filter_stays_in_the_form_and_a_member_finds_only_their_own_by_holder(club: TestClub) {
        let (quinn, ada, _, van) = pool(&club).await;
        let page = quinn.get(&format!("/packs?cells=3&connector=xt60&place={van}&state=fit&text=works&order=seen&mah_from=9")).await;
        let (_, held) = page.form("main form");
        for (name, value) in [("cells", "3"), ("connector", "xt60"), ("place", van.as_str()), ("state", "fit"), ("text", "works"), ("order", "seen"), ("mah_from", "9")] {
            assert!(held.contains(&(name.to_owned(), value.to_owned())), "{name}");
        }
        let ben = club.member("Ben").await;
        let ada_id = ada.id();
        assert!(shown(&ben, &format!("holder={ada_id}")).await.is_empty(), "not Ben's to ask");
        assert_eq!(shown(&ada, &format!("holder={ada_id}")).await, ["P-001"]);
    }

    async fn what_suits_is_read_as_people_write_it(club: TestClub) {
        let (quinn, ..) = pool(&club).await;
        for (query, numbers) in [
            ("cells=3S", "P-001 P-002 P-003 P-004 P-005"),
            ("cells=4+s", "P-006"),
            ("mah_from=2.2+Ah", "P-004 P-005"),
            ("mah_from=2200+mAh", "P-004 P-005"),
            ("mah_to=0,45+Ah", "P-001 P-002 P-003"),
            ("amps_from=66000+mA", "P-004 P-005"),
            ("amps_from=66+A", "P-004 P-005"),
        ] {
            assert_eq!(shown(&quinn, query).await.join(" "), numbers, "{query}");
        }
    }

    async fn what_cannot_be_read_is_told_at_its_field_and_no_pack_is_said_to_suit(club: TestClub) {
        let (quinn, ..) = pool(&club).await;
        for (field, typed, words) in [
            ("cells", "3P", "Write the cells as 3 or 3S."),
            ("amps_from", "30 W", "That unit does not belong in this field."),
            ("mah_from", "2.2 V", "That unit does not belong in this field."),
            ("mah_to", "1,500", "Leave out marks between thousands: write 1500, not 1,500."),
            ("state", "splendid", "Choose one of the list."),
            ("place", "van", "Choose one of the list."),
            ("holder", "somebody", "Choose one of the list."),
            ("connector", "xt61", "Choose one of the list."),
            ("order", "nonsense", "Choose one of the list."),
        ] {
            let query = urlencoded(&[(field, typed), ("text", "p")]);
            let page = quinn.get(&format!("/packs?{query}")).await;
            assert!(page.texts("table.rows tbody th").is_empty(), "{field}");
            assert!(page.one("p.empty").contains("can't be read"), "{field}");
            assert_eq!(page.one(&format!("#w-{field}")), words);
            assert_eq!(page.problems(), [words]);
            assert!(page.one("title").starts_with("Error: Packs"), "{field}");
            if field == "cells" {
                assert!(page.form("main form").1.contains(&(field.to_owned(), typed.to_owned())), "what was typed is kept");
            }
        }
    }

    async fn the_title_tells_which_state_is_shown(club: TestClub) {
        let (quinn, ..) = pool(&club).await;
        let title = async |query: &str| quinn.get(&format!("/packs{query}")).await.one("title");
        assert!(title("").await.starts_with("Packs –"), "{}", title("").await);
        assert!(title("?state=set_aside").await.starts_with("Packs: set aside –"), "{}", title("?state=set_aside").await);
    }
}
