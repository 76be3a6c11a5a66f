//! The OpenAPI 3.1 document, written from the table and from the types that its functions take and give.

use super::BASE;
use super::codes;
use super::operation::{Content, Operation, Shape};
use super::picture::FIELD;
use super::table::table;
use super::trouble::{Kind, ProblemDetails};
use axum::http::Method;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use std::sync::OnceLock;
use utoipa::{PartialSchema, ToSchema};
use uuid::Uuid;

/// What stands for an id in the examples.
pub const DESIGN: Uuid = Uuid::from_u128(0xa1);
pub const PERSON: Uuid = Uuid::from_u128(0xa2);
pub const OTHER_PERSON: Uuid = Uuid::from_u128(0xa3);
pub const PLACE: Uuid = Uuid::from_u128(0xa4);
pub const KIT: Uuid = Uuid::from_u128(0xa5);
pub const LOAN: Uuid = Uuid::from_u128(0xa6);
pub const LENT: Uuid = Uuid::from_u128(0xa7);
pub const FINDING: Uuid = Uuid::from_u128(0xa8);
pub const EVENT: Uuid = Uuid::from_u128(0xaa);
pub const ROUND: Uuid = Uuid::from_u128(0xab);
pub const PHOTO: Uuid = Uuid::from_u128(0xa9);
pub const LABEL: &str = "0123456789abcdefghjkmnopqr";

const ABOUT: &str = "What the pool's pages do, for programs. A program shows a bearer token that a person made on the page \
    /me/tokens and acts as that person, with the roles that the person has now; a token that only looks may use GET alone. \
    Cookies say nothing here. Addresses are those of the pages below /api/v1. Volts, currents, capacities and energies \
    are whole numbers with their unit in the name; instants are RFC 3339 in UTC, days YYYY-MM-DD in the hall. A body is a JSON \
    object, of 256 kB at most, or a photo of 12 MB; only where it has no field may it be left away. Fields that are not known are \
    refused. What is kept of a thing, its sheet or its details, is sent whole: every field, null or empty where there is nothing \
    to say, so that nothing is emptied by being left out. What changes something may carry an Idempotency-Key: the same request \
    under the same key has one effect and gets the same answer for two days. Invitations, resets, shutting people out and \
    letting them back in, roles, erasing, settings and tablets are not here: they need a password in a browser. Nor are \
    sheets of labels for print and other PDFs, the picture of one label, spreadsheets to take away or to bring in, gathering by \
    scanning, the page of many packs' volts, and an evening's plan for many packs: these are the browser's alone.";

/// Made once: it is the same for everybody.
pub fn text() -> &'static str {
    static TEXT: OnceLock<String> = OnceLock::new();
    TEXT.get_or_init(|| document().to_string())
}

pub fn document() -> Value {
    let (mut paths, mut schemas) = (Map::new(), Map::new());
    let mut known = vec![(
        ProblemDetails::name().into_owned(),
        ProblemDetails::schema(),
    )];
    ProblemDetails::schemas(&mut known);
    let mut shown: BTreeSet<String> = BTreeSet::new();
    for operation in table() {
        let path = format!("{BASE}{}", operation.path);
        let shape = (operation.shape)();
        let told = told(&operation, &shape);
        let place = paths.entry(path).or_insert_with(|| json!({}));
        if let Some(place) = place.as_object_mut() {
            place.insert(operation.method.as_str().to_lowercase(), told);
        }
        if operation.method == Method::GET {
            let names = shape.schemas.iter().map(|(name, _)| name.clone());
            shown.extend(names);
        }
        known.extend(shape.schemas);
    }
    for (name, schema) in known {
        let schema = serde_json::to_value(schema).unwrap_or_default();
        schemas.insert(name.clone(), codes::told(&name, schema));
    }
    for name in shown {
        whole(&mut schemas[&name]);
    }
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Sandbucket",
            "version": "1",
            "description": ABOUT,
            "license": { "name": "AGPL-3.0-or-later", "identifier": "AGPL-3.0-or-later" },
        },
        "servers": [{ "url": "/" }],
        "security": [{ "bearer": [] }],
        "paths": paths,
        "components": {
            "schemas": schemas,
            "responses": troubles(),
            "securitySchemes": { "bearer": {
                "type": "http", "scheme": "bearer", "description": "A token made on the page /me/tokens.",
            } },
        },
    })
}

/// What is shown is shown whole: a field without a value is null, and never left out.
fn whole(schema: &mut Value) {
    let fields = schema["properties"].as_object();
    let names: Vec<&String> = fields
        .into_iter()
        .flat_map(|fields| fields.keys())
        .collect();
    schema["required"] = json!(names);
}

fn told(operation: &Operation, shape: &Shape) -> Value {
    let is_look = operation.method == Method::GET;
    let mut told = json!({
        "operationId": id_of(operation),
        "summary": operation.summary,
        "tags": [tag_of(operation.path)],
        "parameters": parameters(operation, shape),
        "responses": responses(operation, shape),
    });
    if let (Some(body), false) = (&shape.body, is_look) {
        told["requestBody"] = sent(body);
    }
    told
}

fn sent(body: &Content) -> Value {
    match body {
        Content::Json(name, example) => json!({
            "required": example.as_object().is_some_and(|fields| !fields.is_empty()),
            "content": in_json(name, example),
        }),
        Content::Picture => json!({ "required": true, "content": {
            "image/jpeg": {}, "image/png": {}, "image/webp": {},
            "multipart/form-data": { "schema": {
                "type": "object", "required": [FIELD],
                "properties": { FIELD: { "description": "The file.", "type": "string", "format": "binary" } },
            } },
        } }),
    }
}

fn answered(answer: &Content) -> Value {
    match answer {
        Content::Json(name, example) => in_json(name, example),
        Content::Picture => json!({ "image/jpeg": {} }),
    }
}

fn in_json(name: &str, example: &Value) -> Value {
    json!({ "application/json": {
        "schema": reference(name), "examples": { "one": { "value": example } },
    } })
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/components/schemas/{name}") })
}

/// `post_packs_number_volts`
fn id_of(operation: &Operation) -> String {
    let words: String = operation
        .path
        .chars()
        .map(|letter| {
            if letter.is_ascii_alphanumeric() {
                letter
            } else {
                '_'
            }
        })
        .collect();
    let method = operation.method.as_str().to_lowercase();
    let words: Vec<&str> = words.split('_').filter(|word| !word.is_empty()).collect();
    format!("{method}_{}", words.join("_"))
}

fn tag_of(path: &str) -> &str {
    path.split('/').nth(1).unwrap_or_default()
}

fn parameters(operation: &Operation, shape: &Shape) -> Vec<Value> {
    let names = operation.path.split('/').filter_map(|part| {
        let inner = part.strip_prefix('{')?;
        inner.strip_suffix('}')
    });
    let mut all: Vec<Value> = names.map(|name| in_path(name, operation.path)).collect();
    if let Some((name, schema)) = &shape.query {
        let query = codes::told(name, serde_json::to_value(schema).unwrap_or_default());
        let is_needed = |name: &str| {
            let needed = query["required"].as_array();
            needed.is_some_and(|needed| needed.iter().any(|each| each == name))
        };
        for (name, schema) in query["properties"].as_object().into_iter().flatten() {
            let mut parameter = json!({
                "name": name, "in": "query", "required": is_needed(name), "schema": schema,
            });
            if let Some(words) = schema["description"].as_str() {
                parameter["description"] = json!(words);
            }
            // Of a place that nobody said how warm it is, the room's warmth is needed too.
            if is_needed(name) || name == "room_celsius" {
                parameter["example"] = example_of_query(name);
            }
            all.push(parameter);
        }
    }
    if operation.method == Method::POST {
        all.push(json!({
            "name": "Idempotency-Key", "in": "header", "required": false,
            "description": "The same request under the same key has one effect and gets the same answer.",
            "schema": { "type": "string", "minLength": 1, "maxLength": 200 },
        }));
    }
    all
}

fn in_path(name: &str, path: &str) -> Value {
    let (schema, example) = match name {
        "number" => (json!({ "type": "string" }), json!("P-001")),
        "code" if tag_of(path) == "t" => (json!({ "type": "string" }), json!(LABEL)),
        "code" => (json!({ "type": "string" }), json!("hall-plug")),
        "photo" => (json!({ "type": "string", "format": "uuid" }), json!(PHOTO)),
        _ => {
            let id = match tag_of(path) {
                "designs" => DESIGN,
                "kit" => KIT,
                "places" => PLACE,
                "people" => PERSON,
                "events" => EVENT,
                "storage-rounds" => ROUND,
                "loans" => LOAN,
                _ => LENT,
            };
            (json!({ "type": "string", "format": "uuid" }), json!(id))
        }
    };
    json!({ "name": name, "in": "path", "required": true, "schema": schema, "example": example })
}

fn example_of_query(name: &str) -> Value {
    match name {
        "lent" => json!(LENT),
        "purpose" => json!("storage"),
        "room_celsius" | "pack_celsius" => json!(21),
        "from" => json!(1),
        _ => json!(3),
    }
}

fn responses(operation: &Operation, shape: &Shape) -> Value {
    let mut all = json!({ "200": {
        "description": "Done.", "content": answered(&shape.answer),
    } });
    let is_look = operation.method == Method::GET;
    for kind in Kind::ALL {
        let is_of_changes = matches!(
            kind,
            Kind::Refused | Kind::StillRunning | Kind::TooLarge | Kind::NotJson | Kind::OtherBody
        );
        // Another method is another operation.
        if kind != Kind::NotThatWay && !(is_look && is_of_changes) {
            let status = kind.status().to_string();
            all[&status] = json!({ "$ref": format!("#/components/responses/{status}") });
        }
    }
    all
}

/// What tells a program what to do, besides the problem itself.
fn headers_of(kind: Kind) -> Value {
    let one = |name: &str, words: &str, schema: Value| json!({ name: { "description": words, "schema": schema } });
    match kind {
        Kind::NoToken => {
            let words = "How to show a token; with error=\"invalid_token\" where one was shown that does not work.";
            one("WWW-Authenticate", words, json!({ "type": "string" }))
        }
        Kind::TooOften | Kind::Unavailable => {
            let words = "In how many seconds to ask again.";
            let schema = json!({ "type": "integer", "minimum": 0 });
            one("Retry-After", words, schema)
        }
        Kind::NotThatWay => {
            let words = "The ways in which the address is asked for.";
            one("Allow", words, json!({ "type": "string" }))
        }
        _ => json!({}),
    }
}

/// What goes wrong, by status: each with an example of every kind.
fn troubles() -> Value {
    let mut all = json!({});
    for kind in Kind::ALL {
        let trouble = &mut all[kind.status().to_string()];
        if trouble.is_null() {
            *trouble = json!({
                "description": format!("{}.", kind.title()),
                "headers": headers_of(kind),
                "content": { "application/problem+json": {
                    "schema": reference(&ProblemDetails::name()), "examples": {},
                } },
            });
        } else {
            let words = trouble["description"].as_str().unwrap_or_default();
            trouble["description"] = json!(format!("{words} Or: {}.", kind.title()));
        }
        trouble["content"]["application/problem+json"]["examples"][kind.code()] = json!({ "value": {
            "type": format!("/api#{}", kind.code()), "title": kind.title(), "status": kind.status(),
            "detail": "A sentence.", "instance": format!("{BASE}/packs#3f1c0a9e77d1"),
        } });
    }
    all
}
