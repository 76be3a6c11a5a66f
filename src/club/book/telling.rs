//! What a person tells of an incident, one entry each: that it is opened, a line of its timeline, a correction, an action and
//! what became of it, who was told, that it is closed. What is asked for each is `asked`; here is how each is written. Names
//! and injuries are parts of their own, and so are words in which somebody is named: they can be erased.

use super::chain::Draft;
use super::digest::Digest;
use super::doing::Doing;
use super::entry::Attached;
use super::incident::Kind;
use super::involved::Involved;
use super::part::Part;
use super::severity::Severity;
use crate::club::calendar::{Day, Instant};
use serde_json::{Map, Value, json};

/// What is about people whatever is typed there: a correction of it is a part too.
pub const PERSONAL: [&str; 6] = [
    "who_was_there",
    "lent_to",
    "injuries",
    "owner",
    "told_by",
    "written_by",
];

/// Words as typed. Where somebody is named they are kept as a part, and the entry only commits to them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    pub text: String,
    pub names_somebody: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opened {
    pub kind: Kind,
    pub severity: Severity,
    pub happened: Instant,
    /// When it was told, by the clock of the phone where it waited there.
    pub told: Instant,
    pub place: String,
    pub involved: Involved,
    pub doing: Doing,
    /// Charger, supply, settings and plan; asked when it was charging.
    pub charging_with: String,
    pub damage: String,
    pub emergency_services: String,
    pub words: Words,
    /// Optional, and parts.
    pub who_was_there: String,
    pub lent_to: String,
    pub injuries: String,
    /// What it began with, where somebody reported it.
    pub reported: Option<Reported>,
}

/// A report as it came: nothing of who sent it.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Reported {
    pub reference: String,
    /// By the clock of the phone that it waited on; None: it was sent as it was made.
    pub made_ms: Option<i64>,
    pub came_ms: i64,
    /// Codes of what was seen.
    pub seen: String,
    pub gravity: String,
    pub is_verified: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ActionSet {
    pub what: Words,
    /// Who sees to it: a part.
    pub owner: String,
    pub due: Day,
    /// How one will see that it worked, and when that is looked at.
    pub works_if: String,
    pub look_on: Day,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Telling {
    Opened(Box<Opened>),
    Timeline {
        happened: Instant,
        words: Words,
    },
    /// Another thing was part of it, and how one knows.
    ItemAdded {
        involved: Box<Involved>,
        words: Words,
    },
    /// Names what it corrects; that stands as it was. `held`: where kind or severity was wrong, both as they are
    /// held to be now.
    Corrected {
        seq: i64,
        hash: Digest,
        field: String,
        instead: Words,
        held: Option<(Kind, Severity)>,
        why: String,
    },
    ActionSet(ActionSet),
    ActionDone {
        seq: i64,
        words: Words,
    },
    ActionLookedAt {
        seq: i64,
        worked: bool,
        words: Words,
    },
    /// A root cause that was found, and how one knows.
    Cause(Words),
    /// What the club takes from it.
    Lesson(Words),
    /// What a photo or document shows that comes with it.
    File(Words),
    /// A pack that it took: it is recorded as lost in the same step.
    PackLost {
        called: String,
        words: Words,
    },
    ToldTo {
        whom: String,
        at: Instant,
        /// Number or name under which they keep it.
        reference: String,
        /// Who of the club told them: a part, optional.
        told_by: String,
    },
    /// Somebody on the checklist who need not be told.
    NotTold {
        whom: String,
        why: String,
    },
    /// Causes and lessons, where entries before did not tell them.
    Closed {
        causes: Vec<String>,
        lessons: String,
    },
    Reopened {
        why: String,
    },
}

impl Telling {
    /// The kind of the entry; never changes.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Opened(_) => "opened",
            Self::Timeline { .. } => "timeline",
            Self::ItemAdded { .. } => "item_added",
            Self::Corrected { .. } => "corrected",
            Self::ActionSet(_) => "action_set",
            Self::ActionDone { .. } => "action_done",
            Self::ActionLookedAt { .. } => "action_looked_at",
            Self::Cause(_) => "cause",
            Self::Lesson(_) => "lesson",
            Self::File(_) => "file",
            Self::PackLost { .. } => "pack_lost",
            Self::ToldTo { .. } => "told_to",
            Self::NotTold { .. } => "not_told",
            Self::Closed { .. } => "closed",
            Self::Reopened { .. } => "reopened",
        }
    }

    /// Words in which somebody is named, found by whoever knows the names, are kept so that they can be erased.
    pub fn keep_apart(&mut self, names_somebody: impl Fn(&str) -> bool) {
        let words = match self {
            Self::Opened(opened) => {
                opened.involved.keep_apart(&names_somebody);
                &mut opened.words
            }
            Self::ItemAdded { involved, words } => {
                involved.keep_apart(&names_somebody);
                words
            }
            Self::Corrected { field, instead, .. } => {
                instead.names_somebody |= PERSONAL.contains(&field.as_str());
                instead
            }
            Self::ActionSet(action) => &mut action.what,
            Self::Timeline { words, .. }
            | Self::PackLost { words, .. }
            | Self::ActionDone { words, .. }
            | Self::ActionLookedAt { words, .. }
            | Self::Cause(words)
            | Self::Lesson(words)
            | Self::File(words) => words,
            Self::ToldTo { .. }
            | Self::NotTold { .. }
            | Self::Closed { .. }
            | Self::Reopened { .. } => return,
        };
        words.names_somebody |= names_somebody(&words.text);
    }

    /// What is no part whatever stands in it, by field: it stays in the book for good.
    pub fn for_good(&self) -> Vec<(&'static str, &str)> {
        match self {
            Self::Opened(opened) => vec![
                ("place", &opened.place),
                ("charging_with", &opened.charging_with),
                ("damage", &opened.damage),
                ("emergency_services", &opened.emergency_services),
            ],
            Self::Corrected { why, .. } | Self::Reopened { why } => vec![("why", why)],
            Self::ActionSet(action) => vec![("works_if", &action.works_if)],
            Self::ToldTo {
                whom, reference, ..
            } => vec![("whom", whom), ("reference", reference)],
            Self::NotTold { whom, why } => vec![("whom", whom), ("why", why)],
            Self::Closed { causes, lessons } => {
                let causes = causes.iter().map(|cause| ("causes", cause.as_str()));
                causes.chain([("lessons", lessons.as_str())]).collect()
            }
            _ => Vec::new(),
        }
    }

    /// What is written for it into the book of the incident called so. A salt is drawn for each part.
    pub fn draft(
        &self,
        incident: &str,
        at: Instant,
        attached: Vec<Attached>,
        salt: impl FnMut() -> [u8; 16],
    ) -> Draft {
        let mut sheet = Sheet {
            body: Map::new(),
            parts: Vec::new(),
            salt,
        };
        sheet.put("incident", json!(incident));
        self.fill(&mut sheet);
        Draft {
            at,
            kind: self.kind().to_owned(),
            body: Value::Object(sheet.body),
            attached,
            parts: sheet.parts,
        }
    }

    fn fill<S: FnMut() -> [u8; 16]>(&self, sheet: &mut Sheet<S>) {
        match self {
            Self::Opened(opened) => opened.fill(sheet),
            Self::Timeline { happened, words } => {
                sheet.put("happened_ms", json!(happened.ms()));
                sheet.words("words", words);
            }
            Self::ItemAdded { involved, words } => {
                involved.fill(sheet);
                sheet.words("words", words);
            }
            Self::Corrected {
                seq,
                hash,
                field,
                instead,
                held,
                why,
            } => {
                sheet.put(
                    "corrects",
                    json!({ "seq": seq, "hash": hash, "field": field }),
                );
                sheet.words("instead", instead);
                sheet.put("kind", json!(held.map(|(kind, _)| kind)));
                sheet.put("severity", json!(held.map(|(_, severity)| severity)));
                sheet.text("why", why);
            }
            Self::ActionSet(action) => action.fill(sheet),
            Self::ActionDone { seq, words } => {
                sheet.put("action", json!(seq));
                sheet.words("words", words);
            }
            Self::ActionLookedAt { seq, worked, words } => {
                sheet.put("action", json!(seq));
                sheet.put("worked", json!(worked));
                sheet.words("words", words);
            }
            Self::Cause(words) | Self::Lesson(words) | Self::File(words) => {
                sheet.words("words", words);
            }
            Self::PackLost { called, words } => {
                sheet.text("pack", called);
                sheet.words("words", words);
            }
            Self::ToldTo {
                whom,
                at,
                reference,
                told_by,
            } => {
                sheet.text("whom", whom);
                sheet.put("told_ms", json!(at.ms()));
                sheet.text("reference", reference);
                sheet.part("told_by", told_by);
            }
            Self::NotTold { whom, why } => {
                sheet.text("whom", whom);
                sheet.text("why", why);
            }
            Self::Closed { causes, lessons } => {
                let said = causes.iter().map(|cause| cause.trim());
                let said: Vec<&str> = said.filter(|cause| !cause.is_empty()).collect();
                sheet.put("causes", json!(said));
                sheet.text("lessons", lessons);
            }
            Self::Reopened { why } => sheet.text("why", why),
        }
    }
}

impl Opened {
    fn fill<S: FnMut() -> [u8; 16]>(&self, sheet: &mut Sheet<S>) {
        sheet.put("kind", json!(self.kind));
        sheet.put("severity", json!(self.severity));
        sheet.put("happened_ms", json!(self.happened.ms()));
        sheet.put("told_ms", json!(self.told.ms()));
        sheet.text("place", &self.place);
        sheet.put("doing", json!(self.doing.code()));
        sheet.text("charging_with", &self.charging_with);
        sheet.text("damage", &self.damage);
        sheet.text("emergency_services", &self.emergency_services);
        sheet.words("words", &self.words);
        self.involved.fill(sheet);
        if let Some(reported) = &self.reported {
            sheet.put("reported", json!(reported));
        }
        sheet.part("who_was_there", &self.who_was_there);
        sheet.part("lent_to", &self.lent_to);
        sheet.part("injuries", &self.injuries);
    }
}

impl ActionSet {
    fn fill<S: FnMut() -> [u8; 16]>(&self, sheet: &mut Sheet<S>) {
        sheet.words("what", &self.what);
        sheet.part("owner", &self.owner);
        sheet.put("due", json!(self.due.to_string()));
        sheet.text("works_if", &self.works_if);
        sheet.put("look_on", json!(self.look_on.to_string()));
    }
}

/// A body as it is filled, and the parts beside it.
pub(super) struct Sheet<S> {
    body: Map<String, Value>,
    parts: Vec<Part>,
    salt: S,
}

impl<S: FnMut() -> [u8; 16]> Sheet<S> {
    pub(super) fn put(&mut self, name: &str, value: Value) {
        self.body.insert(name.to_owned(), value);
    }

    pub(super) fn text(&mut self, name: &str, text: &str) {
        self.put(name, json!(text.trim()));
    }

    /// Nothing said, nothing committed to.
    pub(super) fn part(&mut self, name: &str, words: &str) {
        let words = words.trim();
        if !words.is_empty() {
            let salt = (self.salt)();
            self.parts.push(Part::new(name, salt, words));
        }
    }

    /// Null where they are a part.
    pub(super) fn words(&mut self, name: &str, words: &Words) {
        if words.names_somebody {
            self.put(name, Value::Null);
            self.part(name, &words.text);
        } else {
            self.text(name, &words.text);
        }
    }
}
