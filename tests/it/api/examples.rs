//! Every example of the document, sent to a club where its things are: it does what it says, and the answer is as the
//! document tells.

use super::document::{example, operations};
use super::program::*;
use super::schema::faults;
use crate::every_owner::Line;
use crate::every_owner::scene::{Scene, Thing};
use crate::support::*;
use sandbucket::web::api::document::{self, *};
use serde_json::Value;

/// A request of the document, with real things put where its examples name things.
pub struct Asked {
    pub method: String,
    pub path: String,
    pub body: Value,
    /// The body is a picture.
    pub is_picture: bool,
}

/// What of the examples stands for a thing, and for what.
fn with_signs(text: &str) -> String {
    let things = [DESIGN, PLACE, KIT, LOAN, LENT, EVENT, ROUND].map(|id| (id.to_string(), "{id}"));
    let people = [
        (PERSON.to_string(), "{owner}"),
        (OTHER_PERSON.to_string(), "{other}"),
        (FINDING.to_string(), "{finding}"),
    ];
    let words = [
        ("\"P-001\"".to_owned(), "\"{id}\""),
        ("\"C-01\"".to_owned(), "\"{charger}\""),
        ("\"C-01/".to_owned(), "\"{charger}/"),
        ("\"2026-11-25T18:30:00Z\"".to_owned(), "\"{now}\""),
        ("Mill 4S 1500".to_owned(), "{new}"),
        ("Box C".to_owned(), "{new}"),
    ];
    let all = things.into_iter().chain(people).chain(words);
    all.fold(text.to_owned(), |text, (from, to)| text.replace(&from, to))
}

/// The page's route whose thing this operation is about.
fn line_of(method: &str, path: &str) -> Line {
    let route = match path {
        "/take-back" => "POST /take-back/items".to_owned(),
        "/packs/{number}/history" => "GET /packs/{number}".to_owned(),
        "/kit/{id}/history" => "GET /kit/{id}".to_owned(),
        path => format!("{method} {path}"),
    };
    Line {
        route: route.leak(),
        form: "",
        gets: "",
    }
}

pub async fn asked(scene: &Scene<'_>, path: &str, method: &str, told: &Value) -> Asked {
    let short = path.strip_prefix(BASE).expect("below the base");
    let thing: Thing = scene.thing_for(&line_of(method, short)).await;
    let mut address = scene.filled(path, &thing);
    let parameters = told["parameters"].as_array().expect("parameters");
    let query: Vec<String> = parameters
        .iter()
        .filter(|each| each["in"] == "query" && !each["example"].is_null())
        .map(|each| {
            let value = match &each["example"] {
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            let value = scene.filled(&with_signs(&value), &thing);
            format!("{}={value}", each["name"].as_str().expect("a name"))
        })
        .collect();
    if !query.is_empty() {
        address = format!("{address}?{}", query.join("&"));
    }
    let body = example(&told["requestBody"]["content"]["application/json"]);
    let body = body.map_or_else(|| "{}".to_owned(), Value::to_string);
    // On a round the id is the round's: its pack is the scene's `finding`, one that is not on it yet the `charger`.
    let signs = match short {
        "/storage-rounds/{id}/add" => with_signs(&body).replace("\"{id}\"", "\"{charger}\""),
        "/packs/{number}/back" => with_signs(&body).replace("\"{id}\"", "\"{finding}\""),
        path if path.starts_with("/storage-rounds/{id}") => {
            with_signs(&body).replace("\"{id}\"", "\"{finding}\"")
        }
        _ => with_signs(&body),
    };
    let body = scene.filled(&signs, &thing);
    Asked {
        method: method.to_owned(),
        path: address,
        body: serde_json::from_str(&body).expect("a body"),
        is_picture: told["requestBody"]["content"]["image/png"].is_object(),
    }
}

impl Program {
    pub async fn ask(&self, asked: &Asked) -> Reply {
        let kind = if asked.is_picture {
            "image/png"
        } else {
            "application/json"
        };
        self.ask_as(asked, &[("content-type", kind)], "").await
    }

    /// `before`: stands before the body.
    pub async fn ask_as(&self, asked: &Asked, headers: &[(&str, &str)], before: &str) -> Reply {
        let body = if asked.is_picture {
            a_picture(30, 20)
        } else {
            asked.body.to_string().into_bytes()
        };
        let method = asked.method.parse().expect("a method");
        match asked.method.as_str() {
            "GET" => self.get(&asked.path).await,
            _ => {
                let body = [before.as_bytes(), &body].concat();
                self.send_bytes(method, &asked.path, headers, body).await
            }
        }
    }
}

on_both! {
    async fn every_example_of_the_document_does_what_it_says(club: TestClub) {
        let scene = Scene::set(&club).await;
        let document = document::document();
        let avery = club.program(club.all_roles().await.id()).await;
        let owner = club.program(scene.owner_id()).await;
        let mut wrong = Vec::new();
        for (path, method, told) in operations(&document) {
            let asked = asked(&scene, &path, &method, &told).await;
            let program = if path.contains("/mine") { &owner } else { &avery };
            let before = scene.pulse().await;
            let (reply, count) = club.queries_of(program.ask(&asked)).await;
            if method == "GET" && count > 3 {
                wrong.push(format!("GET {} ran {count} statements", asked.path));
            }
            if reply.status != 200 {
                wrong.push(format!("{method} {} {}: {} {}", asked.path, asked.body, reply.status, reply.text));
                continue;
            }
            let content = &told["responses"]["200"]["content"]["application/json"];
            if content.is_null() {
                assert_eq!(reply.header("content-type"), "image/jpeg", "{path}");
                continue;
            }
            for fault in faults(&document, &content["schema"], &reply.json(), "answer") {
                wrong.push(format!("{method} {path}: {fault}"));
            }
            let changed = scene.pulse().await != before;
            let changes = method == "POST" && !computes(&path);
            if changed != changes {
                wrong.push(format!("{method} {path}: changed: {changed}"));
            }
            if changes {
                let see = reply.json()["see"].as_str().expect("where to see it").to_owned();
                let seen = program.get(&see).await;
                if seen.status != 200 {
                    wrong.push(format!("{method} {path} leads to {see}: {}", seen.text));
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
