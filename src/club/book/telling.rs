//! What a person tells of an incident, one entry each: that it is opened, a line of its timeline, a correction, an action and
//! what became of it, who was told, that it is closed. What is asked for each is `asked`; here is how each is written. Names
//! and injuries are parts of their own, and so are words in which somebody is named: they can be erased.

use super::chain::Draft;
use super::digest::Digest;
use super::entry::Attached;
use super::incident::Kind;
use super::part::Part;
use super::severity::Severity;
use crate::club::calendar::{Day, Instant};
use serde_json::{Map, Value, json};

/// Words as typed. Where somebody is named they are kept as a part, and the entry only commits to them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    pub text: String,
    pub names_somebody: bool,
}

/// A thing that was part of it, called as it was then.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Item {
    /// `pack`, `charger`, `supply`, or what somebody else's was.
    pub what: String,
    pub called: String,
    pub id: Option<uuid::Uuid>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Doing {
    Charging,
    InUse,
    Lent,
    Stored,
    Carried,
    NotKnown,
}

impl Doing {
    pub const ALL: [Self; 6] = [
        Self::Charging,
        Self::InUse,
        Self::Lent,
        Self::Stored,
        Self::Carried,
        Self::NotKnown,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Charging => "charging",
            Self::InUse => "in_use",
            Self::Lent => "lent",
            Self::Stored => "stored",
            Self::Carried => "carried",
            Self::NotKnown => "not_known",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Charging => "It was charging",
            Self::InUse => "It was in use",
            Self::Lent => "It was lent",
            Self::Stored => "It lay in its place",
            Self::Carried => "It was carried or driven",
            Self::NotKnown => "I don't know",
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opened {
    pub kind: Kind,
    pub severity: Severity,
    pub happened: Instant,
    /// When it was told, by the clock of the phone where it waited there.
    pub told: Instant,
    pub place: String,
    pub items: Vec<Item>,
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
    /// What was known about the items then: readings, loans, states, charges and plans shown.
    pub frozen: Value,
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
    ToldTo {
        whom: String,
        at: Instant,
        /// Number or name under which they keep it.
        reference: String,
        /// Who of the club told them: a part, optional.
        told_by: String,
    },
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
            Self::Corrected { .. } => "corrected",
            Self::ActionSet(_) => "action_set",
            Self::ActionDone { .. } => "action_done",
            Self::ActionLookedAt { .. } => "action_looked_at",
            Self::ToldTo { .. } => "told_to",
            Self::Closed { .. } => "closed",
            Self::Reopened { .. } => "reopened",
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
            Self::Closed { causes, lessons } => {
                sheet.put("causes", json!(causes));
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
        sheet.put("items", json!(self.items));
        sheet.put("doing", json!(self.doing.code()));
        sheet.text("charging_with", &self.charging_with);
        sheet.text("damage", &self.damage);
        sheet.text("emergency_services", &self.emergency_services);
        sheet.words("words", &self.words);
        sheet.put("frozen", self.frozen.clone());
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
struct Sheet<S> {
    body: Map<String, Value>,
    parts: Vec<Part>,
    salt: S,
}

impl<S: FnMut() -> [u8; 16]> Sheet<S> {
    fn put(&mut self, name: &str, value: Value) {
        self.body.insert(name.to_owned(), value);
    }

    fn text(&mut self, name: &str, text: &str) {
        self.put(name, json!(text.trim()));
    }

    /// Nothing said, nothing committed to.
    fn part(&mut self, name: &str, words: &str) {
        let words = words.trim();
        if !words.is_empty() {
            let salt = (self.salt)();
            self.parts.push(Part::new(name, salt, words));
        }
    }

    /// Null where they are a part.
    fn words(&mut self, name: &str, words: &Words) {
        if words.names_somebody {
            self.put(name, Value::Null);
            self.part(name, &words.text);
        } else {
            self.text(name, &words.text);
        }
    }
}
