//! Reads `src/` and checks how the house is laid out: which room may use which, what no room may do, names and sizes.
//! A finding names file and line. `architecture_bites.rs` shows each check a bad snippet.

use crate::source::{code_of, first_word, functions, line_at, parts, places_of};
use std::path::Path;

const FILE_LINES_MAX: usize = 400;
const FUNCTION_LINES_MAX: usize = 70;
const HANDLER_ARGUMENTS_MAX: usize = 5;

/// Each room and the rooms it may use. `app` is what web and tasks are handed to work with.
const ARROWS: [(&str, &[&str]); 9] = [
    ("battery", &[]),
    ("bench", &["battery"]),
    ("club", &["bench", "battery"]),
    ("calc", &["club", "bench", "battery"]),
    ("store", &["club", "bench", "battery", "ids", "config"]),
    (
        "actions",
        &[
            "store", "club", "bench", "battery", "clock", "ids", "config",
        ],
    ),
    (
        "paper",
        &[
            "actions", "store", "club", "bench", "battery", "clock", "ids", "config",
        ],
    ),
    (
        "tasks",
        &[
            "app", "paper", "actions", "store", "club", "bench", "battery", "clock", "ids",
            "config",
        ],
    ),
    (
        "web",
        &[
            "app", "paper", "calc", "actions", "store", "club", "bench", "battery", "clock", "ids",
            "config",
        ],
    ),
];

const PURE_ROOMS: &[&str] = &["battery", "bench", "club"];
const ROOMS_WITHOUT_SQL: &[&str] = &["web", "paper", "actions", "tasks"];

/// Words that may not stand in the rooms beside them.
const STRANGERS: [(&[&str], &[&str]); 4] = [
    (
        PURE_ROOMS,
        &[
            "sqlx",
            "axum",
            "askama",
            "tokio",
            "std::fs",
            "std::env",
            "SystemTime",
            "getrandom",
            "async",
            "await",
        ],
    ),
    (&["store"], &["axum", "askama"]),
    (&["actions"], &["axum", "askama"]),
    (
        ROOMS_WITHOUT_SQL,
        &["sqlx::", "query(", "query_as(", "query_scalar("],
    ),
];

const NEVER: [&str; 7] = [
    ".unwrap()",
    ".unwrap_err()",
    ".expect(",
    "panic!",
    "todo!",
    "unimplemented!",
    "dbg!",
];

const EMPTY_NAMES: [&str; 5] = ["manager", "service", "helper", "helpers", "utils"];

/// One file below `src/`: its address there, and its text.
struct File<'a> {
    address: &'a str,
    source: &'a str,
    code: String,
}

impl<'a> File<'a> {
    fn new(address: &'a str, source: &'a str) -> Self {
        Self {
            address,
            source,
            code: code_of(source),
        }
    }

    /// `web` for `web/packs.rs`, `clock` for `clock.rs`.
    fn room(&self) -> &str {
        let first = self.address.split('/').next().unwrap_or_default();
        first.trim_end_matches(".rs")
    }

    /// A file that is there for tests alone, taken in by its neighbour under `#[cfg(test)]`.
    fn is_tests(&self) -> bool {
        self.address.ends_with("tests.rs") || self.address.contains("/tests/")
    }

    fn finding(&self, line: usize, sentence: &str) -> String {
        format!("src/{}:{line}: {sentence}", self.address)
    }

    fn at(&self, offset: usize, sentence: &str) -> String {
        self.finding(line_at(&self.code, offset), sentence)
    }
}

pub fn findings(address: &str, source: &str) -> Vec<String> {
    let file = File::new(address, source);
    let mut found = opening_and_size(&file);
    if !file.is_tests() {
        found.extend(broken_arrows(&file));
        found.extend(strangers(&file));
        found.extend(databases(&file));
        found.extend(never(&file));
        found.extend(empty_names(&file));
        found.extend(long_functions(&file));
    }
    found
}

fn opening_and_size(file: &File) -> Vec<String> {
    let mut found = Vec::new();
    if !file.source.starts_with("//!") {
        found.push(file.finding(
            1,
            "a module opens with //! lines: what it answers and what it leaves to others",
        ));
    }
    let lines = file.source.lines().count();
    if lines > FILE_LINES_MAX {
        found.push(file.finding(
            lines,
            &format!("{lines} lines; a file has at most {FILE_LINES_MAX}"),
        ));
    }
    found
}

fn broken_arrows(file: &File) -> Vec<String> {
    let room = file.room();
    let Some((_, may_use)) = ARROWS.iter().find(|(name, _)| *name == room) else {
        return Vec::new();
    };
    rooms_used(&file.code)
        .into_iter()
        .filter(|(_, used)| used != room && !may_use.contains(&used.as_str()))
        .map(|(offset, used)| file.at(offset, &format!("{room} may not use {used}")))
        .collect()
}

/// Each room named behind `crate::`, alone or in braces, and where.
fn rooms_used(code: &str) -> Vec<(usize, String)> {
    let mut used = Vec::new();
    for at in places_of(code, "crate::") {
        let behind = code[at + "crate::".len()..].trim_start();
        match behind.strip_prefix('{') {
            Some(list) => used.extend(
                parts(list)
                    .iter()
                    .map(|part| (at, first_word(part).to_owned())),
            ),
            None => used.push((at, first_word(behind).to_owned())),
        }
    }
    used
}

fn strangers(file: &File) -> Vec<String> {
    let mut found = Vec::new();
    for (rooms, words) in STRANGERS {
        if !rooms.contains(&file.room()) {
            continue;
        }
        for word in words {
            for offset in places_of(&file.code, word) {
                found.push(file.at(offset, &format!("{} does not know {word}", file.room())));
            }
        }
    }
    found
}

/// Types of one database, such as SqlitePool and PgConnection.
fn databases(file: &File) -> Vec<String> {
    if ["store/mod.rs", "store/open.rs"].contains(&file.address) {
        return Vec::new();
    }
    words(&file.code)
        .filter(|(_, word)| {
            let is_pg = word
                .strip_prefix("Pg")
                .is_some_and(|rest| rest.starts_with(char::is_uppercase));
            is_pg || word.starts_with("Sqlite") || word.starts_with("Postgres")
        })
        .map(|(offset, word)| {
            file.at(
                offset,
                &format!("{word}: only store/mod.rs and store/open.rs name a database"),
            )
        })
        .collect()
}

fn words(code: &str) -> impl Iterator<Item = (usize, &str)> {
    code.split(|letter| !crate::source::is_word(letter))
        .filter(|word| !word.is_empty())
        .map(move |word| (word.as_ptr() as usize - code.as_ptr() as usize, word))
}

fn never(file: &File) -> Vec<String> {
    NEVER
        .iter()
        .flat_map(|word| {
            places_of(&file.code, word)
                .into_iter()
                .map(move |offset| (offset, word))
        })
        .map(|(offset, word)| {
            file.at(
                offset,
                &format!("{word} outside tests: answer with an error instead"),
            )
        })
        .collect()
}

fn empty_names(file: &File) -> Vec<String> {
    let mut found = Vec::new();
    for keyword in ["struct", "enum", "trait", "type", "mod"] {
        for offset in places_of(&file.code, keyword) {
            let name = first_word(&file.code[offset + keyword.len()..]);
            if has_empty_name(name) {
                found.push(file.at(offset, &format!("{name} says nothing: use the club's noun")));
            }
        }
    }
    let stem = file
        .address
        .rsplit('/')
        .next()
        .unwrap_or_default()
        .trim_end_matches(".rs");
    if has_empty_name(stem) {
        found.push(file.finding(1, &format!("{stem} says nothing: use the club's noun")));
    }
    found
}

/// `PackManager` and `pack_utils` end in such a word; `Serviceable` does not.
fn has_empty_name(name: &str) -> bool {
    let lower = name.to_lowercase();
    EMPTY_NAMES.iter().any(|empty| {
        lower.strip_suffix(empty).is_some_and(|start| {
            let is_camel = name[start.len()..].starts_with(char::is_uppercase);
            start.is_empty() || start.ends_with('_') || is_camel
        })
    })
}

fn long_functions(file: &File) -> Vec<String> {
    let mut found = Vec::new();
    for function in functions(&file.code) {
        let name = &function.name;
        let is_handler = file.room() == "web" && function.is_async;
        if function.lines > FUNCTION_LINES_MAX {
            let sentence = format!(
                "{name} has {} lines; a function has at most {FUNCTION_LINES_MAX}",
                function.lines
            );
            found.push(file.finding(function.line, &sentence));
        }
        if is_handler && function.arguments > HANDLER_ARGUMENTS_MAX {
            let sentence = format!(
                "{name} takes {}; a handler at most {HANDLER_ARGUMENTS_MAX}",
                function.arguments
            );
            found.push(file.finding(function.line, &sentence));
        }
    }
    found
}

fn read_all(folder: &Path, top: &Path, files: &mut Vec<(String, String)>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            read_all(&path, top, files)?;
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let address = path
                .strip_prefix(top)
                .unwrap_or(&path)
                .to_string_lossy()
                .into_owned();
            files.push((address, std::fs::read_to_string(&path)?));
        }
    }
    Ok(())
}

#[test]
fn the_house_is_laid_out_as_agreed() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    read_all(&top, &top, &mut files).expect("src can be read");
    for (room, _) in ARROWS.iter().filter(|(room, _)| *room != "paper") {
        let has_files = files
            .iter()
            .any(|(address, _)| address.starts_with(&format!("{room}/")));
        assert!(has_files, "no file of {room} was read");
    }
    let found: Vec<String> = files
        .iter()
        .flat_map(|(address, source)| findings(address, source))
        .collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}
