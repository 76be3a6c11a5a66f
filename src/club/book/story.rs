//! An incident as its entries tell it so far: whether it is open, how grave it is held to be now, what of it was put right, which
//! actions wait. Read from entries that hold; what may be told next is `asked`.

use super::chain::Sealed;
use super::digest::Digest;
use super::incident::Kind;
use super::involved::numbers;
use super::severity::{Class, Severity};
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::reminders::quiet::is_time;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Story {
    pub is_opened: bool,
    pub is_closed: bool,
    /// What it is held to be now: a correction may have said another.
    pub held: Option<(Kind, Severity)>,
    /// The entry that said so.
    pub held_by: Option<i64>,
    pub has_cause: bool,
    pub has_lesson: bool,
    /// Numbers of what was part of it, as it is held to be now, each with the entry that named it.
    pub items: BTreeMap<String, i64>,
    /// What was put right, in its order.
    pub corrections: Vec<Correction>,
    /// By the number of the entry that set it.
    pub actions: BTreeMap<i64, Action>,
    /// Number and digest of each entry.
    pub entries: BTreeMap<i64, Digest>,
    /// Number and kind of each entry.
    pub kinds: BTreeMap<i64, String>,
}

/// What of an entry is told otherwise now, and by which one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    pub by: i64,
    pub of: i64,
    pub field: String,
    /// None: it is kept as a part.
    pub instead: Option<String>,
}

/// What is to be done, and what became of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Action {
    /// None: it is kept as a part.
    pub what: Option<String>,
    pub due: Option<Day>,
    pub works_if: String,
    pub look_on: Option<Day>,
    pub is_done: bool,
    /// What the latest look at it found.
    pub looked_at: Option<Look>,
}

/// Whether an action works, as somebody saw it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    pub entry: i64,
    /// The entry that said so last: itself, or one that puts it right.
    pub said_by: i64,
    pub worked: bool,
}

/// How an action stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ActionStands {
    ToDo,
    ToLookAt,
    Worked,
    /// Something else must be done.
    DidNotWork,
    /// It did not, and another was set since.
    Replaced,
}

impl ActionStands {
    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::ToDo => "to_do",
            Self::ToLookAt => "to_look_at",
            Self::Worked => "worked",
            Self::DidNotWork => "did_not_work",
            Self::Replaced => "replaced",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        let all = [
            Self::ToDo,
            Self::ToLookAt,
            Self::Worked,
            Self::DidNotWork,
            Self::Replaced,
        ];
        all.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::ToDo => "To be done",
            Self::ToLookAt => "Done; whether it works is to be looked at",
            Self::Worked => "Done, and it works",
            Self::DidNotWork => "Did not work: set another",
            Self::Replaced => "Did not work; another was set",
        }
    }

    /// It keeps the incident from being closed.
    pub const fn waits(self) -> bool {
        !matches!(self, Self::Worked | Self::Replaced)
    }
}

impl Action {
    /// The day by which something is to happen as it stands; None: nothing more is, or at once.
    pub const fn by(&self, stands: ActionStands) -> Option<Day> {
        match stands {
            ActionStands::ToDo => self.due,
            ActionStands::ToLookAt => self.look_on,
            ActionStands::Worked | ActionStands::DidNotWork | ActionStands::Replaced => None,
        }
    }
}

impl Story {
    /// `entries`: those of one incident, in their order.
    pub fn of<'a>(entries: impl IntoIterator<Item = &'a Sealed>) -> Self {
        let mut story = Self::default();
        for sealed in entries {
            story.entries.insert(sealed.entry.seq, sealed.hash);
            let kind = sealed.entry.kind.clone();
            story.kinds.insert(sealed.entry.seq, kind);
            story.hear(sealed);
        }
        story
    }

    fn hear(&mut self, sealed: &Sealed) {
        let (seq, body) = (sealed.entry.seq, &sealed.entry.body);
        let action = body["action"].as_i64();
        match sealed.entry.kind.as_str() {
            "opened" => {
                self.is_opened = true;
                self.hold(seq, body);
                self.items.extend(items_in(body).map(|item| (item, seq)));
            }
            "item_added" => self.items.extend(items_in(body).map(|item| (item, seq))),
            "corrected" => {
                self.hold(seq, body);
                let correction = correction(seq, body);
                if let Some(correction) = &correction {
                    self.move_days(correction);
                    self.look_otherwise(correction);
                    self.leave_out(correction);
                }
                self.corrections.extend(correction);
            }
            "action_set" => {
                self.actions.insert(seq, action_in(body));
            }
            "action_done" => {
                if let Some(of) = action.and_then(|of| self.actions.get_mut(&of)) {
                    of.is_done = true;
                }
            }
            "action_looked_at" => {
                let worked = body["worked"].as_bool().unwrap_or(false);
                if let Some(of) = action.and_then(|of| self.actions.get_mut(&of)) {
                    of.looked_at = Some(Look {
                        entry: seq,
                        said_by: seq,
                        worked,
                    });
                }
            }
            "cause" => self.has_cause = true,
            "lesson" => self.has_lesson = true,
            "closed" => self.is_closed = true,
            "reopened" => self.is_closed = false,
            _ => {}
        }
    }

    /// An action is due by the day that was said last.
    fn move_days(&mut self, correction: &Correction) {
        let day = correction.instead.as_deref().and_then(Day::parse);
        let (Some(day), Some(action)) = (day, self.actions.get_mut(&correction.of)) else {
            return;
        };
        match correction.field.as_str() {
            "due" => action.due = Some(day),
            "look_on" => action.look_on = Some(day),
            _ => {}
        }
    }

    /// An action that does not work after all waits again, and so does its incident.
    fn look_otherwise(&mut self, correction: &Correction) {
        let said = correction.instead.as_deref().and_then(yes_or_no);
        let all = self.actions.values_mut();
        let look = all
            .filter_map(|action| action.looked_at.as_mut())
            .find(|look| look.entry == correction.of);
        let (true, Some(worked), Some(look)) = (correction.field == "worked", said, look) else {
            return;
        };
        look.worked = worked;
        look.said_by = correction.by;
        self.is_closed &= worked;
    }

    /// Of the things that the entry named, those that were part of it after all.
    fn leave_out(&mut self, correction: &Correction) {
        if let ("items", Some(instead)) = (correction.field.as_str(), &correction.instead) {
            let kept: BTreeSet<String> = numbers(instead).into_iter().collect();
            self.items
                .retain(|item, of| *of != correction.of || kept.contains(item));
        }
    }

    fn hold(&mut self, seq: i64, body: &Value) {
        if let Some(held) = held_in(body) {
            self.held = Some(held);
            self.held_by = Some(seq);
        }
    }

    /// Something vented or burnt in it, as it is held to be now, and this one was part of it.
    pub fn may_have_burnt(&self, number: &str) -> bool {
        self.items.contains_key(number) && self.held.is_some_and(|(kind, _)| kind.burns_packs())
    }

    /// What it is called.
    pub fn class(&self) -> Option<Class> {
        self.held.map(|(kind, severity)| severity.class(kind))
    }

    /// None: it has no such action.
    pub fn stands(&self, action: i64) -> Option<ActionStands> {
        let of = self.actions.get(&action)?;
        let is_last = |since: i64| self.actions.keys().all(|other| *other < since);
        Some(match of.looked_at {
            Some(look) if look.worked => ActionStands::Worked,
            Some(look) if is_last(look.said_by) => ActionStands::DidNotWork,
            Some(_) => ActionStands::Replaced,
            None if of.is_done => ActionStands::ToLookAt,
            None => ActionStands::ToDo,
        })
    }

    /// Actions that keep it from being closed.
    pub fn waiting(&self) -> Vec<(i64, ActionStands)> {
        let all = self
            .actions
            .keys()
            .filter_map(|seq| Some((*seq, self.stands(*seq)?)));
        all.filter(|(_, stands)| stands.waits()).collect()
    }

    /// The latest that was said in place of what this entry said there.
    pub fn instead_of(&self, seq: i64, field: &str) -> Option<&Correction> {
        let mut all = self.corrections.iter().rev();
        all.find(|each| each.of == seq && each.field == field)
    }

    /// What of this entry was put right, by the names of its fields.
    pub fn put_right(&self, seq: i64) -> impl Iterator<Item = &str> {
        let all = self.corrections.iter().filter(move |each| each.of == seq);
        all.map(|each| each.field.as_str())
    }

    /// The entry that said last who sees to this action.
    pub fn owner_said_by(&self, action: i64) -> i64 {
        self.instead_of(action, "owner")
            .map_or(action, |each| each.by)
    }

    /// A correction may make it graver than it was when it was closed.
    pub fn is_closed_too_early(&self) -> bool {
        let is_grave = self.held.is_some_and(|(_, held)| held.asks_for_action());
        self.is_closed && is_grave && self.actions.is_empty()
    }
}

/// Whether an action works, as a correction says it.
pub fn yes_or_no(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

/// `2026-11-27 14:05`
pub fn day_and_time(text: &str) -> Option<(Day, &str)> {
    let (day, time) = text.trim().split_once(' ')?;
    let time = time.trim();
    Some((Day::parse(day)?, time)).filter(|_| is_time(time))
}

fn items_in(body: &Value) -> impl Iterator<Item = String> {
    let items = body["items"].as_array().into_iter().flatten();
    items.filter_map(|item| Some(item["called"].as_str()?.to_owned()))
}

/// When it happened, as it is held to be now.
pub fn happened(all: &[Sealed], story: &Story, zone: &Zone) -> Instant {
    let first = all.first();
    let at = first.and_then(|first| held_at(first, story, "happened_ms", zone));
    at.unwrap_or(Instant(0))
}

/// The time that this entry told there, as it is held to be now.
pub fn held_at(sealed: &Sealed, story: &Story, field: &str, zone: &Zone) -> Option<Instant> {
    let told = sealed.entry.body[field].as_i64().map(Instant);
    let right = story.instead_of(sealed.entry.seq, field);
    let right = right.and_then(|correction| day_and_time(correction.instead.as_deref()?));
    right.and_then(|(day, time)| zone.at(day, time)).or(told)
}

fn held_in(body: &Value) -> Option<(Kind, Severity)> {
    let kind = serde_json::from_value(body["kind"].clone()).ok()?;
    let severity = serde_json::from_value(body["severity"].clone()).ok()?;
    Some((kind, severity))
}

fn correction(by: i64, body: &Value) -> Option<Correction> {
    Some(Correction {
        by,
        of: body["corrects"]["seq"].as_i64()?,
        field: body["corrects"]["field"].as_str()?.to_owned(),
        instead: body["instead"].as_str().map(str::to_owned),
    })
}

fn action_in(body: &Value) -> Action {
    let day = |name: &str| body[name].as_str().and_then(Day::parse);
    Action {
        what: body["what"].as_str().map(str::to_owned),
        due: day("due"),
        works_if: body["works_if"].as_str().unwrap_or_default().to_owned(),
        look_on: day("look_on"),
        ..Action::default()
    }
}
