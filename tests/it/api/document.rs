//! The OpenAPI document: it tells of every route and of no other, and it is one.

use super::program::*;
use super::schema::{KNOWN, faults, resolved};
use crate::support::*;
use sandbucket::web::api::{document, table};
use sandbucket::web::gate::Who;
use sandbucket::web::routes;
use serde_json::Value;
use std::collections::BTreeSet;

/// Address, method and what the document tells of it.
pub fn operations(document: &Value) -> Vec<(String, String, Value)> {
    let paths = document["paths"].as_object().expect("paths");
    let mut all = Vec::new();
    for (path, methods) in paths {
        for (method, told) in methods.as_object().expect("methods") {
            all.push((path.clone(), method.to_uppercase(), told.clone()));
        }
    }
    all
}

pub fn example(content: &Value) -> Option<&Value> {
    let examples = content["examples"].as_object()?;
    examples.values().next().map(|each| &each["value"])
}

#[test]
fn every_route_is_in_the_document_and_the_document_tells_of_no_other() {
    let told: BTreeSet<String> = operations(&document::document())
        .iter()
        .map(|(path, method, _)| format!("{method} {path}"))
        .collect();
    let routes: BTreeSet<String> = table::table()
        .iter()
        .map(|operation| format!("{} {BASE}{}", operation.method, operation.path))
        .collect();
    assert_eq!(told, routes);
    assert!(told.len() > 60, "only {}", told.len());
}

/// Addresses of the API are those of the pages; so who may use one can be held against the page's own rule.
#[test]
fn who_may_is_said_as_on_the_page_of_the_same_address() {
    let pages = routes::table();
    let mut compared = 0;
    for operation in table::table() {
        let same = |page: &&routes::Route| {
            (&page.method, page.path) == (&operation.method, operation.path)
        };
        if let Some(page) = pages.iter().find(same) {
            // The API knows no strangers.
            let who = match page.who {
                Who::Visitor => Who::SignedIn,
                who => who,
            };
            assert_eq!(who, operation.who, "{} {}", page.method, page.path);
            compared += 1;
        }
    }
    let others: Vec<&str> = table::table()
        .iter()
        .filter(|operation| {
            !pages
                .iter()
                .any(|page| (&page.method, page.path) == (&operation.method, operation.path))
        })
        .map(|operation| operation.path)
        .collect();
    let ours = [
        "/packs/{number}/history",
        "/take-back",
        "/kit/{id}/history",
        "/calc/charge-plan",
        "/calc/charge-time",
        "/calc/soc",
        "/calc/verdict",
    ];
    assert_eq!(others, ours, "the others have no page of that address");
    assert!(compared > 60, "only {compared}");
}

#[test]
fn the_document_is_whole() {
    let document = document::document();
    assert_eq!(document["openapi"], "3.1.0");
    for field in ["title", "version"] {
        assert!(!document["info"][field].as_str().expect("a text").is_empty());
    }
    assert_eq!(
        document["components"]["securitySchemes"]["bearer"]["scheme"],
        "bearer"
    );
    let mut ids = BTreeSet::new();
    for (path, method, told) in operations(&document) {
        let name = format!("{method} {path}");
        assert!(
            !told["summary"].as_str().expect("a summary").is_empty(),
            "{name}"
        );
        assert!(
            ids.insert(told["operationId"].to_string()),
            "{name}: an id twice"
        );
        let parameters = told["parameters"].as_array().expect("parameters");
        let in_path: Vec<String> = parameters
            .iter()
            .filter(|each| each["in"] == "path")
            .map(|each| format!("{{{}}}", each["name"].as_str().expect("a name")))
            .collect();
        let wanted: Vec<&str> = path
            .split('/')
            .filter(|part| part.starts_with('{'))
            .collect();
        assert_eq!(in_path, wanted, "{name}");
        for each in parameters {
            assert!(each["schema"].is_object(), "{name}: {each}");
            let needs_example = each["required"] == true;
            assert!(
                !needs_example || !each["example"].is_null(),
                "{name}: {each}"
            );
        }
        has_examples_of_its_schemas(&document, &name, &told);
    }
}

fn has_examples_of_its_schemas(document: &Value, name: &str, told: &Value) {
    let mut contents = Vec::new();
    let is_picture = |content: &Value| content["image/jpeg"].is_object();
    let body = &told["requestBody"]["content"];
    if name.starts_with("POST") && !is_picture(body) {
        contents.push(("body".to_owned(), &body["application/json"]));
    }
    for (status, answer) in told["responses"].as_object().expect("responses") {
        let answer = resolved(document, answer);
        assert!(
            !answer["description"].as_str().expect("words").is_empty(),
            "{name}: {status}"
        );
        let content = answer["content"].as_object().expect("content");
        if !is_picture(&answer["content"]) {
            contents.push((status.clone(), content.values().next().expect("one kind")));
        }
    }
    assert!(told["responses"]["200"]["content"].is_object(), "{name}");
    for (what, content) in contents {
        let example = example(content).unwrap_or_else(|| panic!("{name}: no example of {what}"));
        let found = faults(document, &content["schema"], example, &what);
        assert!(found.is_empty(), "{name}: {found:?}");
    }
}

#[test]
fn headers_that_tell_a_program_what_to_do_are_in_the_document() {
    let document = document::document();
    for (status, header) in [
        ("401", "WWW-Authenticate"),
        ("429", "Retry-After"),
        ("503", "Retry-After"),
    ] {
        let told = &document["components"]["responses"][status]["headers"][header];
        assert!(told["schema"]["type"].is_string(), "{status}: {header}");
        assert!(!told["description"].as_str().expect("words").is_empty());
    }
}

#[test]
fn what_is_the_browsers_alone_is_told() {
    let document = document::document();
    let words = document["info"]["description"].as_str().expect("words");
    for alone in [
        "PDF",
        "gathering",
        "bring in",
        "many packs' volts",
        "plan for many packs",
        "shutting people out",
        "roles",
        "settings",
    ] {
        assert!(words.contains(alone), "{alone}");
    }
}

fn keywords(document: &Value, schema: &Value, at: &str) {
    let Some(fields) = schema.as_object() else {
        panic!("{at}: {schema} is no schema");
    };
    for name in fields.keys() {
        assert!(
            KNOWN.contains(&name.as_str()),
            "{at}: {name} is checked by nobody"
        );
    }
    resolved(document, schema);
    for (name, each) in schema["properties"].as_object().into_iter().flatten() {
        keywords(document, each, &format!("{at}.{name}"));
    }
    if schema["items"].is_object() {
        keywords(document, &schema["items"], &format!("{at}[]"));
    }
    for each in schema["oneOf"].as_array().into_iter().flatten() {
        keywords(document, each, at);
    }
}

#[test]
fn every_schema_can_be_checked_and_names_only_what_is_there() {
    let document = document::document();
    let schemas = document["components"]["schemas"]
        .as_object()
        .expect("schemas");
    for (name, schema) in schemas {
        keywords(&document, schema, name);
        let is_sent = operations(&document).iter().any(|(_, _, told)| {
            let sent = &told["requestBody"]["content"]["application/json"]["schema"]["$ref"];
            sent.as_str()
                .is_some_and(|place| place.ends_with(&format!("/{name}")))
        });
        assert!(
            !is_sent || schema["additionalProperties"] == false,
            "{name} takes anything"
        );
    }
}

/// The schema of this field, wherever it is a component's.
fn field<'d>(document: &'d Value, schema: &str, field: &str) -> &'d Value {
    let found = &document["components"]["schemas"][schema]["properties"][field];
    assert!(found.is_object(), "{schema} has no {field}");
    found
}

#[test]
fn the_document_tells_codes_days_instants_and_lengths() {
    let document = document::document();
    let of = |schema, name| field(&document, schema, name);
    let codes = |schema, name| of(schema, name)["enum"].as_array().map_or(0, Vec::len);
    assert_eq!(codes("Pack", "state"), 9);
    assert_eq!(codes("TakenBack", "look"), 4);
    assert_eq!(
        of("Condition", "seen")["items"]["enum"]
            .as_array()
            .map_or(0, Vec::len),
        16
    );
    assert_eq!(of("Pack", "state_since")["format"], "date-time");
    assert_eq!(of("Details", "acquired_on")["format"], "date");
    assert_eq!(of("Condition", "own_words")["maxLength"], 500);
    assert_eq!(of("LogVolts", "unread")["maxLength"], 300);
    assert_eq!(of("LogVolts", "meter")["maxLength"], 60);
    // Each context, and the empty text or null for none.
    assert_eq!(codes("LogVolts", "context"), 6);
    assert_eq!(codes("Reading", "context"), 6);
    // Each order, and null for none.
    let packs = &document["paths"]["/api/v1/packs"]["get"]["parameters"];
    let order = packs
        .as_array()
        .expect("parameters")
        .iter()
        .find(|each| each["name"] == "order");
    assert_eq!(
        order.expect("an order")["schema"]["enum"]
            .as_array()
            .map_or(0, Vec::len),
        6
    );
}

#[test]
fn what_is_shown_is_shown_whole() {
    let document = document::document();
    for (path, method, told) in operations(&document) {
        let shown = &told["responses"]["200"]["content"];
        // A picture has no fields.
        if method != "GET" || shown.get("image/jpeg").is_some() {
            continue;
        }
        let schema = &shown["application/json"]["schema"];
        let schema = resolved(&document, schema);
        let needed = schema["required"].as_array().map_or(0, Vec::len);
        let fields = schema["properties"].as_object().expect("fields").len();
        assert_eq!(needed, fields, "{path}");
    }
    let finding = &document["components"]["schemas"]["OpenFinding"]["required"];
    assert!(
        finding
            .as_array()
            .expect("names")
            .contains(&"found_by".into())
    );
}

#[test]
fn what_replaces_all_is_sent_whole() {
    let document = document::document();
    for name in ["Details", "PlaceSheet", "DesignSheet", "ConnectorDetails"] {
        let schema = &document["components"]["schemas"][name];
        let needed = schema["required"].as_array().map_or(0, Vec::len);
        assert_eq!(
            needed,
            schema["properties"].as_object().expect("fields").len(),
            "{name}"
        );
    }
}

on_both! {
    async fn the_document_and_the_page_about_it_are_open_to_everybody(club: TestClub) {
        club.found().await;
        let answer = club.visitor().get("/api/openapi.json").await;
        assert_eq!(answer.header("content-type"), "application/json");
        let sent: Value = serde_json::from_str(&answer.text).expect("JSON");
        assert_eq!(sent, document::document());
        let page = club.visitor().get("/api").await;
        assert_eq!(page.status, 200);
        assert!(!page.select("a[href='/api/openapi.json']").is_empty());
        for kind in ["refused", "put-right", "no-token"] {
            assert_eq!(page.select(&format!("#{kind}")).len(), 1, "a problem's type leads here");
        }
        let ada = club.member("Ada").await.get("/api").await;
        assert!(!ada.select("a[href='/me/tokens']").is_empty());
    }
}
