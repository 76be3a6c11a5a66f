//! What a body may look like: an object, by name, whole where it replaces what is kept; and nothing in it is passed over.

use super::document::operations;
use super::examples::{asked, asked as asked_of};
use super::schema::resolved;
use crate::every_owner::scene::Scene;
use crate::support::*;
use axum::http::Method;
use sandbucket::web::api::document;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// The same fields in their order, without their names.
fn by_place(body: &Value) -> Value {
    let fields = body.as_object().expect("an object");
    fields.values().cloned().collect()
}

fn without(body: &Value, name: &str) -> Value {
    let mut fields: Map<String, Value> = body.as_object().expect("an object").clone();
    fields.remove(name);
    Value::Object(fields)
}

/// All that is stored but when a token was last used.
async fn kept(club: &TestClub) -> BTreeMap<String, Vec<String>> {
    let mut kept = club.contents().await;
    kept.remove("token");
    kept
}

on_both! {
    async fn no_body_is_taken_empty_by_place_or_without_what_it_needs(club: TestClub) {
        let scene = Scene::set(&club).await;
        let document = document::document();
        let avery = club.program(club.all_roles().await.id()).await;
        let owner = club.program(scene.owner_id()).await;
        let mut wrong = Vec::new();
        for (path, method, told) in operations(&document) {
            if method == "GET" {
                continue;
            }
            let asked = asked(&scene, &path, &method, &told).await;
            let program = if path.contains("/mine") { &owner } else { &avery };
            let schema = &told["requestBody"]["content"]["application/json"]["schema"];
            let schema = resolved(&document, schema);
            let has_fields = schema["properties"].as_object().is_some_and(|fields| !fields.is_empty());
            if !has_fields {
                continue;
            }
            let before = kept(&club).await;
            let bare = program.send(Method::POST, &asked.path, &[], "").await;
            let json = [("content-type", "application/json")];
            let empty = program.send(Method::POST, &asked.path, &json, "").await;
            if (bare.status, empty.status) != (415, 400) {
                wrong.push(format!("{path}: without a body {}, with an empty one {}", bare.status, empty.status));
            }
            for body in [by_place(&asked.body), json!([]), json!(null), json!("x")] {
                let reply = program.post(&asked.path, &body).await;
                if reply.status != 422 {
                    wrong.push(format!("{path} took {body}: {} {}", reply.status, reply.text));
                }
            }
            for name in schema["required"].as_array().into_iter().flatten() {
                let name = name.as_str().expect("a name");
                let reply = program.post(&asked.path, &without(&asked.body, name)).await;
                if reply.status != 422 || !reply.text.contains(name) {
                    wrong.push(format!("{path} without {name}: {} {}", reply.status, reply.text));
                }
            }
            if kept(&club).await != before {
                wrong.push(format!("{path} changed something"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    async fn where_there_is_no_field_the_body_may_be_left_away(club: TestClub) {
        let scene = Scene::set(&club).await;
        let avery = club.program(club.all_roles().await.id()).await;
        let document = document::document();
        for (path, method, told) in operations(&document) {
            let takes = &told["requestBody"]["content"]["application/json"]["schema"]["$ref"];
            if method == "POST" && takes == "#/components/schemas/Nothing" {
                let asked = asked(&scene, &path, &method, &told).await;
                assert_eq!(told["requestBody"]["required"], false, "{path}");
                if path.ends_with("/night/close") {
                    let open = &document["paths"]["/api/v1/night"]["post"];
                    let open = asked_of(&scene, "/api/v1/night", "POST", open).await;
                    avery.ask(&open).await.done();
                }
                let reply = avery.send(Method::POST, &asked.path, &[], "").await;
                assert_eq!(reply.status, 200, "{path}: {}", reply.text);
            }
        }
    }

    async fn an_empty_body_leaves_the_details_of_a_pack_as_they_are(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let path = "/api/v1/packs/P-001/details";
        let details = json!({"maker": "Millrace", "batch": "M7", "supplier": "", "price": "", "notes": "",
            "acquired_on": "2026-03-01", "first_used_on": null, "place_id": null});
        quinn.post(path, &details).await.done();
        let now = async || quinn.get("/api/v1/packs/P-001").await.done()["pack"]["details"].clone();
        let kept = now().await;
        for name in ["maker", "batch", "acquired_on"] {
            assert_eq!(kept[name], details[name], "{name}");
        }
        quinn.send(Method::POST, path, &[], "").await;
        for body in [json!({}), json!(["Maker1"]), json!({"maker": "Other"})] {
            assert_eq!(quinn.post(path, &body).await.status, 422, "{body}");
        }
        assert_eq!(now().await, kept);
    }

    async fn what_is_in_an_object_inside_is_taken_by_name_alone(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let nobody = sandbucket::ids::new_id();
        let body = json!({"items": [{"lent_id": nobody, "look": "wrong", "condition": [["swollen"], null, ""]}]});
        let reply = quinn.post("/api/v1/take-back", &body).await;
        assert_eq!((reply.status, reply.json()["problems"][0]["field"].as_str()), (422, Some("items[0].condition")), "{}", reply.text);
        let volts = json!({"borrower_id": nobody, "items": ["P-001"], "volts_now": [["P-001", [1200, 1200, 1200], false]]});
        let reply = quinn.post("/api/v1/hand-out", &volts).await;
        assert_eq!((reply.status, reply.json()["problems"][0]["field"].as_str()), (422, Some("volts_now[0]")), "{}", reply.text);
    }

    async fn a_design_says_of_its_balance_plug_that_it_has_none(club: TestClub) {
        let quinn = club.program(club.quartermaster().await.id()).await;
        let document = document::document();
        let example = &document["paths"]["/api/v1/designs"]["post"]["requestBody"]["content"]["application/json"]["examples"]["one"]["value"];
        let reply = quinn.post("/api/v1/designs", &without(example, "balance_connector")).await;
        assert_eq!(reply.status, 422, "{}", reply.text);
        assert!(reply.text.contains("balance_connector"));
        assert!(club.ids("design").await.is_empty());
        let mut none = example.clone();
        none["balance_connector"] = Value::Null;
        let see = quinn.post("/api/v1/designs", &none).await.done();
        let design = quinn.get(see["see"].as_str().expect("the design")).await.done();
        assert_eq!(design["design"]["sheet"]["balance_connector"], Value::Null);
    }

    async fn a_field_that_no_data_sheet_has_is_refused_by_its_name(club: TestClub) {
        let quinn = club.program(club.quartermaster().await.id()).await;
        for (more, field) in [(json!({"peak_ma": 99}), "spec.peak_ma"), (json!({"bogus": null}), "spec.bogus")] {
            let mut spec = json!({"kind": "adapter", "from": "xt60", "to": "xt30", "rated_ma": 12_000});
            for (name, value) in more.as_object().expect("a field") {
                spec[name] = value.clone();
            }
            let body = json!({"name": "", "maker": "", "notes": "", "place_id": null, "owned_count": 2, "spec": spec});
            let reply = quinn.post("/api/v1/kit/new", &body).await;
            assert_eq!((reply.status, reply.json()["problems"][0]["field"].as_str()), (422, Some(field)), "{}", reply.text);
        }
        assert!(club.ids("kit").await.is_empty());
    }

    async fn words_that_are_too_long_are_refused_and_never_cut(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let program = club.program(quinn.id()).await;
        let before = club.contents().await;
        let path = "/api/v1/packs/P-001";
        let long = "x".repeat(501);
        let seen = program.post(&format!("{path}/condition"), &json!({"seen": ["wet"], "own_words": long})).await;
        assert_eq!((seen.status, seen.json()["problems"][0]["field"].as_str()), (422, Some("own_words")), "{}", seen.text);
        let unread = program.post(&format!("{path}/volts"), &json!({"unread": "y".repeat(301)})).await;
        assert_eq!((unread.status, unread.json()["problems"][0]["field"].as_str()), (422, Some("unread")), "{}", unread.text);
        let page = quinn.post("/packs/P-001/condition", &[("seen", "wet"), ("own_words", &long)]).await;
        assert!(page.is_refused() && page.text.contains(&long), "what was typed is kept on the page");
        let page = quinn.post("/packs/P-001/volts", &[("unread", &"y".repeat(301))]).await;
        assert!(page.is_refused());
        assert!(club.contents().await == before);
        let whole = "x".repeat(500);
        program.post(&format!("{path}/condition"), &json!({"seen": ["something_else"], "own_words": whole})).await.done();
        assert!(program.get(path).await.text.contains(&whole));
    }
}
