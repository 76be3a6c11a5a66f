//! Requests made from the document by dice: bodies by their schemas and against them, numbers at every edge, texts of every
//! script, much and nothing. None makes the server fail or think for a second.

use super::document::operations;
use super::schema::resolved;
use crate::support::*;
use axum::http::Method;
use sandbucket::bench::kit::Spec;
use sandbucket::web::api::document;
use serde_json::{Map, Value, json};
use std::time::{Duration, Instant};

const TEXTS: [&str; 22] = [
    "",
    " ",
    "0",
    "P-001",
    "A-01x3",
    "A-01x999999999",
    "xt60",
    "lipo",
    "adapter",
    "nothing",
    "wrong",
    "swollen",
    "rested_an_hour",
    "make",
    "2026-11-27",
    "2026-02-30",
    "23:00",
    "\0",
    "\u{202e}é🔋",
    "' OR 1=1 --",
    "<script>alert(1)</script>",
    "../../etc/passwd",
];
const NUMBERS: [i64; 14] = [
    0,
    1,
    -1,
    2,
    3,
    50,
    51,
    3_820,
    65_536,
    i32::MAX as i64 + 1,
    i64::MAX,
    i64::MIN,
    i64::MAX - 1,
    1_000_000_000,
];
/// Some are there, in every state that the club has by then; some are not, and some are no numbers.
const PACKS: [&str; 10] = [
    "P-001", "P-002", "P-003", "P-005", "P-008", "P-012", "p-004", "P-9999", "7", "P",
];
const A_HANG: Duration = Duration::from_secs(1);

fn data_sheets() -> Vec<Value> {
    let connector = "xt60";
    vec![
        json!({"kind": "adapter", "from": connector, "to": "xt30", "rated_ma": 12_000}),
        json!({"kind": "cable", "from": connector, "to": "xt30", "limit_mw": 60_000}),
        json!({"kind": "board", "connectors": [connector, "xt30"], "positions": 6}),
        json!({"kind": "supply", "gives": "dc", "mv": 12_000, "mw": 60_000, "connector": connector}),
        json!({"kind": "supply", "gives": "usb_pd", "shared_mw": 65_000, "ports": [{"levels": [{"mv": 5_000, "ma": 3_000}]}]}),
        json!({
            "kind": "charger", "chemistries": ["lipo"], "cells_from": 1, "cells_to": 6, "current_min_ma": 100,
            "current_max_ma": 10_000, "current_step_ma": 100, "charge_mw": 100_000, "discharge_mw": 5_000,
            "modes": ["balance", "charge"], "has_mah_cutoff": true, "has_time_cutoff": true, "outputs": 2,
            "output_connector": connector, "balance_connector": "jst-xh", "current_memory": {"wakes": "factory", "ma": 1_000},
            "input": {"takes": "dc", "mv_min": 11_000, "mv_max": 18_000, "connector": connector},
            "fixed_through_balance": null, "can_boost": true,
        }),
    ]
}

#[test]
fn the_data_sheets_thrown_are_data_sheets() {
    for sheet in data_sheets() {
        let read: Result<Spec, _> = serde_json::from_value(sheet.clone());
        assert_eq!(
            serde_json::to_value(read.expect("a sheet")).expect("JSON"),
            sheet
        );
    }
}

struct Thrower<'d> {
    document: &'d Value,
    dice: Dice,
    ids: Vec<String>,
}

impl Thrower<'_> {
    fn text(&mut self) -> String {
        match self.dice.throw(12) {
            0 => "x".repeat(5_000),
            1 => self.id(),
            _ => TEXTS[self.dice.throw(TEXTS.len())].to_owned(),
        }
    }

    fn id(&mut self) -> String {
        let ids = self.ids.clone();
        self.dice.pick(&ids).to_owned()
    }

    /// Something of any shape.
    fn anything(&mut self) -> Value {
        match self.dice.throw(8) {
            0 => Value::Null,
            1 => json!(self.dice.throw(2) == 0),
            2 => json!(NUMBERS[self.dice.throw(NUMBERS.len())]),
            3 => json!(1.5e308),
            4 => json!([]),
            5 => json!([[], {}, null]),
            6 => json!({"a": {"b": [1]}}),
            _ => json!(self.text()),
        }
    }

    fn value(&mut self, schema: &Value, depth: usize) -> Value {
        let schema = resolved(self.document, schema).clone();
        if depth > 6 || self.dice.throw(14) == 0 {
            return self.anything();
        }
        if let Some(any) = schema["oneOf"].as_array() {
            let at = self.dice.throw(any.len());
            return self.value(&any[at], depth + 1);
        }
        let kind = match &schema["type"] {
            Value::Array(kinds) => kinds[self.dice.throw(kinds.len())].clone(),
            one => one.clone(),
        };
        match kind.as_str().unwrap_or("object") {
            "null" => Value::Null,
            "boolean" => json!(self.dice.throw(2) == 0),
            "integer" | "number" => json!(NUMBERS[self.dice.throw(NUMBERS.len())]),
            "array" => {
                let count = match self.dice.throw(40) {
                    0 => 3_000,
                    1 => 200,
                    _ => self.dice.throw(5),
                };
                (0..count)
                    .map(|_| self.value(&schema["items"], depth + 1))
                    .collect()
            }
            "string" if schema["format"] == "uuid" => json!(self.id()),
            "string" => json!(self.text()),
            _ => self.object(&schema, depth),
        }
    }

    fn object(&mut self, schema: &Value, depth: usize) -> Value {
        let Some(properties) = schema["properties"].as_object() else {
            return match self.dice.throw(4) {
                0 => self.anything(),
                _ => self.data_sheet(),
            };
        };
        let mut fields = Map::new();
        for (name, each) in properties {
            if self.dice.throw(12) > 0 {
                fields.insert(name.clone(), self.value(each, depth + 1));
            }
        }
        if self.dice.throw(25) == 0 {
            fields.insert("is_quartermaster".to_owned(), json!(true));
        }
        Value::Object(fields)
    }

    /// Of any kind of kit, some of its numbers changed.
    fn data_sheet(&mut self) -> Value {
        let sheets = data_sheets();
        let mut sheet = sheets[self.dice.throw(sheets.len())].clone();
        self.shake(&mut sheet);
        sheet
    }

    fn shake(&mut self, value: &mut Value) {
        match value {
            Value::Number(_) if self.dice.throw(4) == 0 => {
                *value = json!(NUMBERS[self.dice.throw(NUMBERS.len())]);
            }
            Value::Array(all) => all.iter_mut().for_each(|each| self.shake(each)),
            Value::Object(fields) => fields.values_mut().for_each(|each| self.shake(each)),
            _ => {}
        }
    }

    fn address(&mut self, path: &str, told: &Value) -> String {
        let parts: Vec<String> = path
            .split('/')
            .map(|part| match part {
                "{number}" => PACKS[self.dice.throw(PACKS.len())].to_owned(),
                "{code}" => "hall-plug".to_owned(),
                part if part.starts_with('{') => self.id(),
                part => part.to_owned(),
            })
            .collect();
        let parameters = told["parameters"].as_array().expect("parameters");
        let mut query = Vec::new();
        for each in parameters.iter().filter(|each| each["in"] == "query") {
            if self.dice.throw(3) > 0 {
                let value = match self.value(&each["schema"], 0) {
                    Value::String(text) => text,
                    other => other.to_string(),
                };
                query.push((each["name"].as_str().expect("a name").to_owned(), value));
            }
        }
        let query: Vec<(&str, &str)> = query
            .iter()
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .collect();
        format!("{}?{}", parts.join("/"), urlencoded(&query))
    }
}

async fn all_ids(club: &TestClub) -> Vec<String> {
    let mut ids = vec![
        sandbucket::ids::new_id().to_string(),
        "00000000-0000-0000-0000-000000000000".to_owned(),
    ];
    for table in [
        "pack", "person", "place", "kit", "design", "loan", "lent", "finding", "reading",
    ] {
        ids.extend(
            club.ids(table)
                .await
                .iter()
                .take(6)
                .map(ToString::to_string),
        );
    }
    ids
}

on_both! {
    async fn no_request_made_from_the_document_makes_the_server_fail_or_hang(club: TestClub) {
        club.in_full_swing(12).await;
        let document = document::document();
        let operations = operations(&document);
        let avery = club.all_roles().await.id();
        let dice = Dice::thrown();
        let seed = dice.0;
        let mut thrower = Thrower { document: &document, dice, ids: all_ids(&club).await };
        let share = Duration::from_secs(if is_long() { 60 } else { 4 });
        let (began, mut count, mut done) = (Instant::now(), 0_u32, 0_u32);
        let mut program = club.program(avery).await;
        while began.elapsed() < share || count < 300 {
            if count % 250 == 0 {
                // A token and a network of its own each, so that no limit is met.
                let [_, a, b, c] = (count / 250).to_be_bytes();
                club.behind_the_back("UPDATE person SET deactivated_ms = NULL WHERE name = 'Avery'").await.expect("active");
                program = club.program(avery).await.at([10, a, b, c]);
                thrower.ids = all_ids(&club).await;
            }
            count += 1;
            let (path, method, told) = &operations[thrower.dice.throw(operations.len())];
            let address = thrower.address(path, told);
            let address = if method == "GET" {
                address
            } else {
                address.split('?').next().unwrap_or_default().to_owned()
            };
            let schema = &told["requestBody"]["content"]["application/json"]["schema"];
            let body = match (method.as_str(), thrower.dice.throw(40)) {
                ("GET", _) => String::new(),
                (_, 0) => "{\"a\": [".to_owned(),
                _ => thrower.value(schema, 0).to_string(),
            };
            let takes_picture = told["requestBody"]["content"]["image/png"].is_object();
            let kind = if takes_picture { "image/png" } else { "application/json" };
            let mut headers = vec![("content-type", kind)];
            if thrower.dice.throw(40) == 0 {
                headers.push(("idempotency-key", "one key for all"));
            }
            let method: Method = method.parse().expect("a method");
            let told = || {
                let start: String = body.chars().take(2_000).collect();
                format!("seed {seed}: {method} {address} {start}")
            };
            let mut sent = Instant::now();
            let mut reply = program.send(method.clone(), &address, &headers, &body).await;
            if sent.elapsed() >= A_HANG {
                // This machine may have been busy with something else; what hangs hangs again.
                sent = Instant::now();
                reply = program.send(method.clone(), &address, &headers, &body).await;
            }
            let took = sent.elapsed();
            assert!(reply.status < 500, "{}: {} {}", told(), reply.status, reply.text);
            assert!(took < A_HANG, "{} took {took:?}", told());
            done += u32::from(reply.status == 200);
        }
        assert!(done > count / 50, "the dice met {done} of {count} that could be done");
        let mut conn = club.app.db.read().await.expect("a connection");
        let broken = sandbucket::store::log::first_break(&mut conn).await.expect("the log");
        assert_eq!(broken, None, "seed {seed}");
        tell_rounds(&format!("requests made from the document on {:?}: {count} in {} s, {done} done; no failure, no hang", club.backend, began.elapsed().as_secs()));
    }
}
