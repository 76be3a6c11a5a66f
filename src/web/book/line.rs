//! An entry of the book in words: what it says, what a later one put right of it. And how its actions stand.

use super::on_record::{Frozen, frozen};
use crate::club::book::chain::{Kept, Sealed};
use crate::club::book::digest::Digest;
use crate::club::book::doing::Doing;
use crate::club::book::entry::{Attached, Entry};
use crate::club::book::erasure::{self, Erased};
use crate::club::book::frozen::WORDS_OF;
use crate::club::book::incident::Kind;
use crate::club::book::part::{Commitment, KeptPart};
use crate::club::book::severity::Severity;
use crate::club::book::story::{ActionStands, Story, yes_or_no};
use crate::club::calendar::{Day, Instant, day_words};
use crate::store::book::entries::Told;
use crate::web::visit::SignedIn;
use crate::web::words::{When, due, past_at};
use serde_json::Value;

/// What a body and its parts may say, in the order in which it is told; the words, and whether a correction may be of it.
pub const FACTS: [(&str, &str, bool); 35] = [
    ("kind", "What it was", false),
    ("severity", "How grave", false),
    ("happened_ms", "When it happened", true),
    ("told_ms", "When it was told", true),
    ("place", "Where", true),
    ("items", "Which packs and kit", true),
    ("others", "What has no number", true),
    ("doing", "What was being done", true),
    ("charging_with", "Charging with", true),
    ("lent_to", "Lent to", true),
    ("corrects", "Puts right", false),
    ("instead", "What is right", false),
    ("what", "What is to be done", true),
    ("owner", "Who sees to it", true),
    ("due", "Done by", true),
    ("works_if", "It works if", true),
    ("look_on", "Looked at on", true),
    ("action", "Of the action of entry", false),
    ("worked", "Does it work", true),
    ("words", "In words", true),
    ("pack", "Pack", false),
    ("damage", "Damage", true),
    ("injuries", "Injuries", true),
    ("emergency_services", "Emergency services", true),
    ("who_was_there", "Who was there", true),
    ("whom", "Whom", true),
    ("reference", "Their reference", true),
    ("told_by", "Who of the club told them", true),
    ("causes", "Why it happened", true),
    ("lessons", "What the club takes from it", true),
    ("why", "How it is known, or why", true),
    ("reported", "Began with the report", false),
    ("erased", "Erased", false),
    ("held", "What it is held to be", false),
    ("written_by", "Written by", false),
];

/// How an instant is told: on a page `today, 18:40`, in print with its day and year.
pub type Time<'a> = &'a dyn Fn(Instant) -> String;

/// An entry in words.
pub struct Line {
    pub seq: i64,
    pub kind: &'static str,
    pub when: When,
    pub hash: String,
    pub facts: Vec<Fact>,
    pub packs: Vec<Frozen>,
    pub files: Vec<File>,
    /// What was erased of it, and by which entry of the book.
    pub erased: Vec<(String, i64)>,
}

pub struct Fact {
    pub label: String,
    pub words: String,
    /// The entry that puts it right, and how.
    pub instead: Option<(i64, String)>,
}

pub struct File {
    pub sha256: Digest,
    pub label: &'static str,
    pub is_photo: bool,
    /// It was not erased.
    pub is_here: bool,
}

pub struct ActionRow {
    pub seq: i64,
    pub what: String,
    pub owner: String,
    pub by: String,
    pub by_on: Option<Day>,
    pub is_due: bool,
    pub stands: ActionStands,
}

pub fn called(kind: &str) -> &'static str {
    match kind {
        "opened" => "Opened",
        "timeline" => "What happened",
        "item_added" => "Another thing was part of it",
        "corrected" => "Put right",
        "action_set" => "Action set",
        "action_done" => "Action done",
        "action_looked_at" => "Action looked at",
        "cause" => "Cause found",
        "lesson" => "Lesson",
        "file" => "Photo or document",
        "pack_lost" => "Pack lost",
        "told_to" => "Somebody was told",
        "not_told" => "Somebody need not be told",
        "erased" => "Erased",
        "closed" => "Closed",
        "reopened" => "Opened again",
        _ => "Entry",
    }
}

pub fn label(name: &str) -> String {
    let known = FACTS.iter().find(|(each, ..)| *each == name);
    // Names in what was on record of a pack are called by it.
    let of_pack = [
        ("lent ", "Who had"),
        ("charged ", "Who stayed while it charged:"),
    ];
    let of_pack = of_pack.iter().find_map(|(before, words)| {
        let number = name.strip_prefix(before)?;
        Some(format!("{words} {number}"))
    });
    // Words in it are numbered.
    let words_of = name
        .strip_prefix(WORDS_OF)
        .and_then(|rest| rest.rsplit_once(' '));
    let of_pack = of_pack.or(words_of.map(|(number, _)| format!("On record of {number}")));
    match (known, of_pack) {
        (Some((_, label, _)), _) => (*label).to_owned(),
        (None, Some(words)) => words,
        (None, None) => name.replace('_', " "),
    }
}

pub(super) fn part<'a>(parts: &'a [KeptPart], seq: i64, name: &str) -> Option<&'a str> {
    let is_it = |kept: &&KeptPart| kept.seq == seq && kept.part.name == name;
    parts
        .iter()
        .find(is_it)
        .map(|kept| kept.part.words.as_str())
}

/// How grave it was and could have been.
pub fn grave(severity: &Severity) -> String {
    let harm = severity
        .harm
        .map_or("Not said who was hurt", |harm| harm.label());
    format!(
        "{harm}; {}. It could have been: {}; {}.",
        severity.damage.label().to_lowercase(),
        severity.harm_could.label().to_lowercase(),
        severity.damage_could.label().to_lowercase()
    )
}

const fn whether_it_works(worked: bool) -> &'static str {
    if worked {
        "It works"
    } else {
        "It does not work"
    }
}

fn said(name: &str, value: &Value, time: Time) -> String {
    let text = value.as_str().unwrap_or_default();
    let typed = |value: &Value| serde_json::from_value::<Severity>(value.clone()).ok();
    match name {
        "kind" => Kind::from_code(text).map_or_else(String::new, |kind| kind.label().to_owned()),
        "severity" => typed(value).map_or_else(String::new, |held| grave(&held)),
        "doing" => {
            Doing::from_code(text).map_or_else(String::new, |doing| doing.label().to_owned())
        }
        "due" | "look_on" => Day::parse(text).map_or_else(|| text.to_owned(), day_words),
        "worked" => whether_it_works(value == true).to_owned(),
        "items" => listed(value, |one| one["called"].as_str().map(str::to_owned), ", "),
        "causes" => listed(value, |one| one.as_str().map(str::to_owned), "\n"),
        "reported" => reported(value, time),
        "erased" => listed(value, erased, "\n"),
        "corrects" => {
            let of = label(value["field"].as_str().unwrap_or_default());
            format!("Entry {}: {of}", value["seq"])
        }
        _ if name.ends_with("_ms") => value
            .as_i64()
            .map_or_else(String::new, |ms| time(Instant(ms))),
        _ => match value {
            Value::String(text) => text.clone(),
            Value::Null => String::new(),
            other => other.to_string(),
        },
    }
}

/// `H7K2, made Wed 25 Nov, 18:05, came Thu 26 Nov, 09:10`
fn reported(value: &Value, time: Time) -> String {
    let at = |word: &str, name: &str| {
        let at = value[name].as_i64()?;
        Some(format!(", {word} {}", time(Instant(at))))
    };
    let reference = value["reference"].as_str().unwrap_or_default();
    let times = [at("made", "made_ms"), at("came", "came_ms")];
    let times = times.into_iter().flatten().collect::<String>();
    format!("{reference}{times}")
}

/// `Entry 1: Lent to P-016`
fn erased(one: &Value) -> Option<String> {
    let what = match one["name"].as_str() {
        Some(name) => label(name),
        None => "a photo or file".to_owned(),
    };
    Some(format!("Entry {}: {what}", one["seq"].as_i64()?))
}

fn listed(value: &Value, of: impl Fn(&Value) -> Option<String>, between: &str) -> String {
    let all = value.as_array().into_iter().flatten().filter_map(of);
    all.collect::<Vec<_>>().join(between)
}

pub fn line(sealed: &Sealed, story: &Story, told: &Told, who: &SignedIn) -> Line {
    let entry = &sealed.entry;
    let time = |at| past_at(at, who.now, &who.zone).words;
    Line {
        seq: entry.seq,
        kind: called(&entry.kind),
        when: past_at(entry.at(), who.now, &who.zone),
        hash: sealed.hash.in_groups(),
        facts: facts(sealed, story, &told.parts, &time),
        packs: frozen(sealed, &told.parts, who, &time),
        files: files(entry, |sha256| told.files.contains(&(entry.seq, sha256))),
        erased: erased_of(entry.seq, told),
    }
}

fn erased_of(seq: i64, told: &Told) -> Vec<(String, i64)> {
    let read = |kept: &Kept| Entry::read(&kept.text).ok();
    let by = told.erasures.iter().filter_map(read);
    let all = by.flat_map(|entry| {
        let each = erasure::told_by(&entry).unwrap_or_default().into_iter();
        let of_it = each.filter(|one| one.seq() == seq);
        let words = of_it.map(|one| match one {
            Erased::Part { name, .. } => label(&name),
            Erased::File { .. } => "A photo or file".to_owned(),
        });
        words.map(|words| (words, entry.seq)).collect::<Vec<_>>()
    });
    all.collect()
}

/// Its photos and files; `is_here`: which of them were not erased.
pub fn files(entry: &Entry, is_here: impl Fn(Digest) -> bool) -> Vec<File> {
    let file = |file: &Attached| File {
        sha256: file.sha256,
        label: match file.name.as_str() {
            "photo" => "Photo",
            "pdf" => "PDF",
            _ => "Text",
        },
        is_photo: file.name == "photo",
        is_here: is_here(file.sha256),
    };
    entry.attached.iter().map(file).collect()
}

/// What an entry says, in its order.
pub fn facts(sealed: &Sealed, story: &Story, parts: &[KeptPart], time: Time) -> Vec<Fact> {
    let entry = &sealed.entry;
    let body = entry.body.as_object().into_iter().flatten();
    let of_body = body.filter(|(name, _)| *name != "incident" && *name != "frozen");
    let mut facts: Vec<(&str, String)> = of_body
        .map(|(name, value)| (name.as_str(), said(name, value, time)))
        .collect();
    // Words of what was on record are told there.
    let is_fact = |committed: &&Commitment| !committed.part.starts_with(WORDS_OF);
    let committed = entry.committed.iter().filter(is_fact);
    facts.extend(committed.map(|committed| {
        let words = part(parts, entry.seq, &committed.part).unwrap_or("(erased)");
        (committed.part.as_str(), words.to_owned())
    }));
    facts.retain(|(_, words)| !words.is_empty());
    // What it did not say and a later one says of it.
    for field in story.put_right(entry.seq) {
        if field != "held" && facts.iter().all(|(name, _)| *name != field) {
            facts.push((field, "Not said".to_owned()));
        }
    }
    let place = |name: &str| FACTS.iter().position(|(each, ..)| *each == name);
    facts.sort_by_key(|(name, _)| place(name).unwrap_or(FACTS.len()));
    let fact = |(name, words): (&str, String)| Fact {
        label: label(name),
        instead: story.instead_of(entry.seq, name).map(|each| {
            let words = each.instead.as_deref();
            let words = words.or_else(|| part(parts, each.by, "instead"));
            let words = words.unwrap_or("(erased)");
            let words = match yes_or_no(words) {
                Some(worked) if name == "worked" => whether_it_works(worked),
                _ => words,
            };
            (each.by, words.to_owned())
        }),
        words,
    };
    facts.into_iter().map(fact).collect()
}

/// Each action of the incident and how it stands, in their order.
pub fn actions(story: &Story, parts: &[KeptPart], who: &SignedIn) -> Vec<ActionRow> {
    let today = who.zone.day_of(who.now);
    let rows = story.actions.iter().filter_map(|(seq, action)| {
        let stands = story.stands(*seq)?;
        let by_on = action.by(stands);
        let right = |name: &str| {
            let each = story.instead_of(*seq, name)?;
            let words = each.instead.as_deref();
            words.or_else(|| part(parts, each.by, "instead"))
        };
        let what = right("what").or(action.what.as_deref());
        let what = what.or_else(|| part(parts, *seq, "what"));
        let owner = right("owner").or_else(|| part(parts, *seq, "owner"));
        Some(ActionRow {
            seq: *seq,
            what: what.unwrap_or("(erased)").to_owned(),
            owner: owner.unwrap_or("(erased)").to_owned(),
            by: by_on.map_or_else(String::new, |day| due(day, today).day.words),
            is_due: stands.waits() && by_on.is_none_or(|day| day <= today),
            by_on,
            stands,
        })
    });
    rows.collect()
}
