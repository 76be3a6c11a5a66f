//! Where a thing was bought, for how much, and what was noted of it is for quartermasters and organisers; all else on record
//! a member reads as they do: on pages, in what a search finds, in spreadsheets and through the API.

use crate::support::*;
use serde_json::{Value, json};

const NOTED: [&str; 3] = ["39.90", "Corner shop", "bought at the fair"];
const OPEN: [&str; 4] = ["Tenth Works", "B-77", "105 x 34 x 24", "30C"];

/// P-001 and A-01 with everything said of them, and each kind of person with whether they read what was noted.
async fn said(club: &TestClub) -> [(Browser, bool); 3] {
    club.fit_packs(2).await;
    let sql = "UPDATE pack SET price = '39.90', supplier = 'Corner shop', notes = 'bought at the fair', maker = 'Tenth Works', \
        batch = 'B-77', acquired_on = '2026-02-03', first_used_on = '2026-03-04' WHERE number = 'P-001'";
    club.behind_the_back(sql).await.expect("details");
    let quinn = club.quartermaster().await;
    club.adapters("A-01", 8).await;
    let kit = "UPDATE kit SET notes = 'bought at the fair', maker = 'Tenth Works'";
    club.behind_the_back(kit).await.expect("notes");
    [
        (club.member("Ada").await, false),
        (quinn, true),
        (club.organiser().await, true),
    ]
}

fn tells(text: &str, sees: bool, told: &str) {
    for words in NOTED {
        assert_eq!(text.contains(words), sees, "{told}: {words}");
    }
    for words in OPEN {
        assert!(text.contains(words), "{told}: {words}");
    }
}

on_both! {
    async fn pages_keep_what_was_noted_from_members_and_nothing_else(club: TestClub) {
        let people = said(&club).await;
        let kit = club.ids("kit").await[0];
        for (who, sees) in &people {
            let page = who.get("/packs/P-001").await;
            tells(&page.text, *sees, "the pack's page");
            for words in ["JST-XH", "180 g", "3 Feb 2026", "4 Mar 2026"] {
                assert!(page.texts("dl.facts").join(" ").contains(words), "{words}");
            }
            let page = who.get(&format!("/kit/{kit}")).await;
            assert_eq!(page.text.contains("bought at the fair"), *sees, "the kit's page");
            assert!(page.text.contains("Tenth Works"));
        }
    }

    async fn what_changed_in_notes_of_kit_is_told_to_those_who_read_them(club: TestClub) {
        let people = said(&club).await;
        let kit = club.ids("kit").await[0];
        let (quinn, _) = &people[1];
        let form = quinn.get(&format!("/kit/{kit}/change")).await;
        quinn.submit(&form, "main form", &[("notes", "lent by the widow"), ("maker", "Mill Works")]).await.done();
        for (who, sees) in &people {
            let page = who.get(&format!("/kit/{kit}")).await;
            assert_eq!(page.text.contains("lent by the widow"), *sees);
            assert!(page.text.contains("Tenth Works → Mill Works"));
            let told = club.program(who.id()).await.get(&format!("/api/v1/kit/{kit}/history")).await;
            assert_eq!(told.text.contains("lent by the widow"), *sees);
        }
    }

    async fn a_members_search_looks_into_no_notes(club: TestClub) {
        let people = said(&club).await;
        for (who, sees) in &people {
            let program = club.program(who.id()).await;
            for (text, is_found) in [("at the fair", *sees), ("AT THE FAIR", *sees), ("tenth works", true), ("b-77", true)] {
                let query = urlencoded(&[("text", text)]);
                let wanted = usize::from(is_found);
                let page = who.get(&format!("/packs?{query}")).await;
                assert_eq!(page.texts("tbody th").len(), wanted, "{text}");
                let sheet = who.get(&format!("/packs.csv?{query}")).await;
                assert_eq!(sheet.text.lines().count(), wanted + 1, "{text}");
                let told = program.get(&format!("/api/v1/packs?{query}")).await.done();
                assert_eq!(told["packs"].as_array().expect("packs").len(), wanted, "{text}");
            }
            for (text, is_found) in [("at the fair", *sees), ("tenth works", true)] {
                let query = urlencoded(&[("text", text)]);
                let wanted = usize::from(is_found);
                assert_eq!(who.get(&format!("/kit?{query}")).await.texts("tbody th").len(), wanted, "{text}");
                assert_eq!(who.get(&format!("/kit.csv?{query}")).await.text.lines().count(), wanted + 1, "{text}");
                let told = program.get(&format!("/api/v1/kit?{query}")).await.done();
                assert_eq!(told["kit"].as_array().expect("kit").len(), wanted, "{text}");
            }
        }
    }

    async fn spreadsheets_keep_the_same_from_members(club: TestClub) {
        for (who, sees) in said(&club).await {
            let packs = who.get("/packs.csv").await.text;
            for words in NOTED {
                assert_eq!(packs.contains(words), sees, "packs.csv: {words}");
            }
            let heads = packs.lines().next().expect("headings");
            for head in ["Supplier", "Price", "Notes"] {
                assert_eq!(heads.contains(head), sees, "{head}");
            }
            for words in ["Tenth Works", "B-77", "105 x 34 x 24", "2026-02-03", "2026-03-04", "JST-XH"] {
                assert!(packs.contains(words), "packs.csv: {words}");
            }
            let kit = who.get("/kit.csv").await.text;
            assert_eq!(kit.contains("at the fair"), sees);
            assert!(kit.contains("Tenth Works"));
            let designs = who.get("/designs.csv").await.text;
            assert!(designs.contains("JST-XH") && designs.contains("105 x 34 x 24"), "{designs}");
        }
    }

    async fn the_api_keeps_the_same_from_members(club: TestClub) {
        let kit = {
            said(&club).await;
            club.ids("kit").await[0]
        };
        for (who, sees) in [(club.member("Ada").await, false), (club.quartermaster().await, true), (club.organiser().await, true)] {
            let program = club.program(who.id()).await;
            let or_null = |text: &str| if sees { json!(text) } else { Value::Null };
            let one = program.get("/api/v1/packs/P-001").await.done()["pack"].clone();
            let all = program.get("/api/v1/packs").await.done()["packs"][0].clone();
            assert_eq!(one, all);
            let details = &one["details"];
            assert_eq!(details["price"], or_null("39.90"));
            assert_eq!(details["supplier"], or_null("Corner shop"));
            assert_eq!(details["notes"], or_null("bought at the fair"));
            for (field, value) in [
                ("maker", json!("Tenth Works")), ("batch", json!("B-77")), ("size_mm", json!("105 x 34 x 24")), ("mass_g", json!(180)),
                ("label_discharge_c_tenths", json!(300)), ("label_charge_c_tenths", json!(10)), ("label_full_mv", Value::Null),
                ("acquired_on", json!("2026-02-03")), ("first_used_on", json!("2026-03-04")),
            ] {
                assert_eq!(details[field], value, "{field}");
            }
            let thing = program.get(&format!("/api/v1/kit/{kit}")).await.done();
            assert_eq!(thing["notes"], or_null("bought at the fair"));
            let designs = program.get("/api/v1/designs").await.done();
            let sheet = &designs["designs"][0]["sheet"];
            assert_eq!((&sheet["balance_connector"], &sheet["mass_g"]), (&json!("jst-xh"), &json!(180)));
        }
    }
}
