//! An entry of the book in words: what it says, what a later one put right of it, what was frozen into it. And how its actions stand.

use crate::battery::volts::{self, Volts};
use crate::club::book::chain::Sealed;
use crate::club::book::digest::Digest;
use crate::club::book::doing::Doing;
use crate::club::book::entry::{Attached, Entry};
use crate::club::book::frozen::{Charged, KnownPack, Said, WORDS_OF};
use crate::club::book::incident::Kind;
use crate::club::book::part::{Commitment, KeptPart};
use crate::club::book::severity::Severity;
use crate::club::book::story::{ActionStands, Story};
use crate::club::calendar::{Day, Instant, day_words};
use crate::club::states::State;
use crate::store::book::entries::Told;
use crate::web::visit::SignedIn;
use crate::web::words::{When, due, past};
use serde_json::Value;

/// What a body and its parts may say, in the order in which it is told; the words, and whether a correction may be of it.
pub const FACTS: [(&str, &str, bool); 34] = [
    ("kind", "What it was", false),
    ("severity", "How grave", false),
    ("happened_ms", "When it happened", true),
    ("told_ms", "Told", false),
    ("place", "Where", true),
    ("items", "Which packs", true),
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
}

pub struct Fact {
    pub label: String,
    pub words: String,
    /// The entry that puts it right, and how.
    pub instead: Option<(i64, String)>,
}

/// What was on record of a pack.
pub struct Frozen {
    pub number: String,
    pub told: Vec<String>,
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

fn part<'a>(parts: &'a [KeptPart], seq: i64, name: &str) -> Option<&'a str> {
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
        "worked" => if value == true {
            "It works"
        } else {
            "It does not work"
        }
        .to_owned(),
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
    let time = |at| past(at, who.now, &who.zone).words;
    Line {
        seq: entry.seq,
        kind: called(&entry.kind),
        when: past(entry.at(), who.now, &who.zone),
        hash: sealed.hash.in_groups(),
        facts: facts(sealed, story, &told.parts, &time),
        packs: frozen(sealed, &told.parts, who, &time),
        files: files(entry, |sha256| told.files.contains(&(entry.seq, sha256))),
    }
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
    let place = |name: &str| FACTS.iter().position(|(each, ..)| *each == name);
    facts.sort_by_key(|(name, _)| place(name).unwrap_or(FACTS.len()));
    let fact = |(name, words): (&str, String)| Fact {
        label: label(name),
        instead: story.instead_of(entry.seq, name).map(|each| {
            let words = each.instead.as_deref();
            let words = words.or_else(|| part(parts, each.by, "instead"));
            (each.by, words.unwrap_or("(erased)").to_owned())
        }),
        words,
    };
    facts.into_iter().map(fact).collect()
}

/// What was on record of its packs as it was written.
pub fn frozen(sealed: &Sealed, parts: &[KeptPart], who: &SignedIn, time: Time) -> Vec<Frozen> {
    let words = |said: &Said| match said {
        Said::Here(words) => words.clone(),
        Said::Apart { part: name } => part(parts, sealed.entry.seq, name)
            .unwrap_or("(erased)")
            .to_owned(),
    };
    let packs = sealed.entry.body["frozen"]["packs"].clone();
    let all: Vec<KnownPack> = serde_json::from_value(packs).unwrap_or_default();
    all.into_iter()
        .map(|pack| Frozen {
            told: on_record(&pack, &words, who, time),
            number: pack.number,
        })
        .collect()
}

/// One sentence for each thing on record.
fn on_record(
    pack: &KnownPack,
    words: &dyn Fn(&Said) -> String,
    who: &SignedIn,
    time: Time,
) -> Vec<String> {
    let at = |ms: i64| time(Instant(ms));
    let state = |code: &str| {
        State::from_code(code).map_or_else(|| code.to_owned(), |state| state.label().to_owned())
    };
    let numbers = who.numbers();
    let mut told = vec![format!(
        "{}: {}. {}",
        words(&pack.design),
        state(&pack.state),
        words(&pack.why)
    )];
    told.extend(
        pack.place
            .iter()
            .map(|place| format!("Its place: {}.", words(place))),
    );
    if pack.is_lent {
        told.push("It was on loan.".to_owned());
    }
    told.extend(pack.against_it.iter().map(words));
    told.extend(pack.charges.iter().map(|one| charged(one, who, time)));
    told.extend(pack.loans.iter().map(|one| match one.until_ms {
        Some(until) => format!("Lent {} until {}.", at(one.from_ms), at(until)),
        None => format!("Lent since {}.", at(one.from_ms)),
    }));
    told.extend(pack.readings.iter().filter_map(|one| {
        let volts = Volts::from_text(one.volts.as_deref()?)?;
        Some(format!(
            "Read {}: {}.",
            at(one.taken_ms),
            volts::words(&volts)
        ))
    }));
    told.extend(pack.stood.iter().map(|one| {
        format!(
            "{}: {}, then {}.",
            at(one.at_ms),
            one.verb,
            state(&one.state).to_lowercase()
        )
    }));
    if !pack.more.is_empty() {
        let more = pack.more.join(", ");
        told.push(format!("More lies on record than is kept here: {more}."));
    }
    told.iter().map(|words| numbers.sentence(words)).collect()
}

fn charged(one: &Charged, who: &SignedIn, time: Time) -> String {
    let at = |ms: i64| time(Instant(ms));
    let ended = one.ended_ms.map_or_else(
        || ", not ended".to_owned(),
        |ms| format!(", ended {}", at(ms)),
    );
    format!(
        "Charged {}{ended}. {}.",
        at(one.started_ms),
        one.words(who.numbers())
    )
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
