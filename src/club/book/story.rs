//! An incident as its entries tell it so far: whether it is open, how grave it is held to be now, which actions wait. Read
//! from entries that hold; what may be told next is `asked`.

use super::chain::Sealed;
use super::digest::Digest;
use super::incident::Kind;
use super::severity::{Class, Severity};
use serde_json::Value;
use std::collections::BTreeMap;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Story {
    pub is_opened: bool,
    pub is_closed: bool,
    /// What it is held to be now: a correction may have said another.
    pub held: Option<(Kind, Severity)>,
    /// By the number of the entry that set it.
    pub actions: BTreeMap<i64, Action>,
    /// Number and digest of each entry.
    pub entries: BTreeMap<i64, Digest>,
}

/// What became of an action.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Action {
    pub is_done: bool,
    /// What the latest look at it found, and the number of the entry that says so.
    pub looked_at: Option<(i64, bool)>,
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

impl Story {
    /// `entries`: those of one incident, in their order.
    pub fn of<'a>(entries: impl IntoIterator<Item = &'a Sealed>) -> Self {
        let mut story = Self::default();
        for sealed in entries {
            story.entries.insert(sealed.entry.seq, sealed.hash);
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
                self.held = held_in(body);
            }
            "corrected" => self.held = held_in(body).or(self.held),
            "action_set" => {
                self.actions.insert(seq, Action::default());
            }
            "action_done" => {
                if let Some(of) = action.and_then(|of| self.actions.get_mut(&of)) {
                    of.is_done = true;
                }
            }
            "action_looked_at" => {
                let worked = body["worked"].as_bool().unwrap_or(false);
                if let Some(of) = action.and_then(|of| self.actions.get_mut(&of)) {
                    of.looked_at = Some((seq, worked));
                }
            }
            "closed" => self.is_closed = true,
            "reopened" => self.is_closed = false,
            _ => {}
        }
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
            Some((_, true)) => ActionStands::Worked,
            Some((since, false)) if is_last(since) => ActionStands::DidNotWork,
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
        all.filter(|(_, stands)| !matches!(stands, ActionStands::Worked | ActionStands::Replaced))
            .collect()
    }
}

fn held_in(body: &Value) -> Option<(Kind, Severity)> {
    let kind = serde_json::from_value(body["kind"].clone()).ok()?;
    let severity = serde_json::from_value(body["severity"].clone()).ok()?;
    Some((kind, severity))
}
