//! What is asked of each thing told about an incident, and what may be told when. Each refusal names its field and says what
//! to do. Longest texts: common practice, no source.

use super::correctable::{is_time, said_by};
use super::doing::Doing;
use super::involved::{Involved, numbers};
use super::severity::InjuriesKept;
use super::story::{ActionStands, Look, Story, day_and_time, yes_or_no};
use super::telling::{ActionSet, Opened, Telling, Words};
use crate::bench::FieldProblem;
use crate::club::calendar::{Day, day_words};

const LETTERS_MOST: usize = 4_000;
const LINE_MOST: usize = 200;
const ITEMS_MOST: usize = 50;

/// All that is wrong with telling this next, in the order of the form; empty: it may be written.
pub fn problems(telling: &Telling, story: &Story, kept: InjuriesKept) -> Vec<FieldProblem> {
    let mut found = Asked(Vec::new());
    if let Some((field, words)) = out_of_turn(telling, story) {
        found.ask(false, field, words);
        return found.0;
    }
    match telling {
        Telling::Opened(opened) => {
            found.opened(opened, kept);
            found.0.extend(opened.severity.problems(opened.kind, kept));
        }
        Telling::Timeline { words, .. } => found.words("words", words, "Say what happened then."),
        Telling::ItemAdded { involved, words } => {
            found.involved(involved, story);
            let ask = "Name at least one thing, by its number or in words.";
            found.ask(!involved.is_nothing(), "items", ask);
            found.words("words", words, "Say how it was part of it.");
        }
        Telling::Cause(words) => {
            found.words("words", words, "Say what led to it, and how you know.")
        }
        Telling::PackLost { words, .. } => found.words("words", words, "Say what became of it."),
        Telling::File(words) => found.words("words", words, "Say what it shows."),
        Telling::Lesson(words) => found.words("words", words, "Say what the club takes from it."),
        Telling::Corrected { .. } => found.correction(telling, story, kept),
        Telling::ActionSet(action) => found.action(action),
        Telling::ActionDone { seq, words } => {
            let is_open = story.stands(*seq) == Some(ActionStands::ToDo);
            found.ask(
                is_open,
                "action",
                "Choose an action that is still to be done.",
            );
            found.words("words", words, "Say what was done.");
        }
        Telling::ActionLookedAt { seq, words, .. } => {
            let is_done = story.actions.get(seq).is_some_and(|action| action.is_done);
            let ask = "Choose an action that was done. Whether it works is seen afterwards.";
            found.ask(is_done, "action", ask);
            found.words("words", words, "Say how you saw whether it works.");
        }
        Telling::ToldTo {
            whom,
            reference,
            told_by,
            ..
        } => {
            found.line("whom", whom, "Say who was told.");
            found.at_most("reference", reference, LINE_MOST);
            found.at_most("told_by", told_by, LINE_MOST);
        }
        Telling::NotTold { whom, why } => {
            found.line("whom", whom, "Say who need not be told.");
            found.line("why", why, "Say why they need not be told.");
        }
        Telling::Closed { causes, lessons } => found.closing(causes, lessons, story),
        Telling::Reopened { why } => found.line("why", why, "Say why it is opened again."),
    }
    found.0
}

/// That an action works is seen on the day that was set for it, or later: what has had no time to fail says nothing. That it does not work
/// may be told at once. A day that was set too late is put right first, with how one knows.
pub fn too_early(telling: &Telling, story: &Story, today: Day) -> Vec<FieldProblem> {
    let (field, action) = match telling {
        Telling::ActionLookedAt { seq, worked, .. } if *worked => {
            ("worked", story.actions.get(seq))
        }
        Telling::Corrected {
            seq,
            field,
            instead,
            ..
        } if field == "worked" && yes_or_no(&instead.text) == Some(true) => {
            let is_of = |look: Look| look.entry == *seq;
            let mut all = story.actions.values();
            let of = all.find(|action| action.looked_at.is_some_and(is_of));
            ("instead", of)
        }
        _ => return Vec::new(),
    };
    let look_on = action.and_then(|action| action.look_on);
    let mut found = Asked(Vec::new());
    if let Some(day) = look_on.filter(|day| *day > today) {
        let day = day_words(day);
        let words = format!(
            "Whether it works is looked at on {day}. Note it then; that it does not work may be noted now. Can it be seen sooner? Put that day right first."
        );
        found.ask(false, field, &words);
    }
    found.0
}

pub const NAMED_FOR_GOOD: &str =
    "Somebody is named here, where it could never be erased. Say it without the name.";

/// Names where they could never be erased.
pub fn named_for_good(telling: &Telling, is_named: impl Fn(&str) -> bool) -> Vec<FieldProblem> {
    let mut found = Asked(Vec::new());
    for (field, text) in telling.for_good() {
        found.ask(!is_named(text), field, NAMED_FOR_GOOD);
    }
    found.0
}

/// What can't be told as things stand, whatever is typed.
fn out_of_turn(telling: &Telling, story: &Story) -> Option<(&'static str, &'static str)> {
    let is_opening = matches!(telling, Telling::Opened(_));
    let may_follow_closing = matches!(
        telling,
        Telling::Corrected { .. }
            | Telling::ToldTo { .. }
            | Telling::NotTold { .. }
            | Telling::Reopened { .. }
    );
    if is_opening && story.is_opened {
        Some((
            "incident",
            "This incident is open already. Add to its timeline.",
        ))
    } else if !is_opening && !story.is_opened {
        Some(("incident", "There is no such incident. Open one first."))
    } else if story.is_closed && !may_follow_closing {
        Some((
            "incident",
            "This incident is closed. Open it again first; corrections and who was told can be added as it is.",
        ))
    } else if matches!(telling, Telling::Reopened { .. }) && !story.is_closed {
        Some(("incident", "This incident is not closed."))
    } else {
        None
    }
}

struct Asked(Vec<FieldProblem>);

impl Asked {
    fn ask(&mut self, holds: bool, field: &'static str, words: &str) {
        if !holds {
            let words = words.to_owned();
            self.0.push(FieldProblem { field, words });
        }
    }

    fn at_most(&mut self, field: &'static str, text: &str, most: usize) {
        let is_short = text.chars().count() <= most;
        let what = match field {
            "place" => "where it was",
            "charging_with" => "what it was charged with",
            "damage" => "the damage",
            "emergency_services" => "the emergency services",
            "who_was_there" => "who was there",
            "lent_to" => "to whom it was lent",
            "injuries" => "the injuries",
            "whom" => "who is told",
            "owner" => "who sees to it",
            _ => "this",
        };
        let words = format!("Say {what} in at most {most} letters.");
        self.ask(is_short, field, &words);
    }

    /// Something said, and not too much.
    fn line(&mut self, field: &'static str, text: &str, ask: &str) {
        self.ask(!text.trim().is_empty(), field, ask);
        self.at_most(field, text, LINE_MOST);
    }

    fn words(&mut self, field: &'static str, words: &Words, ask: &str) {
        self.ask(!words.text.trim().is_empty(), field, ask);
        self.at_most(field, &words.text, LETTERS_MOST);
    }

    fn opened(&mut self, opened: &Opened, kept: InjuriesKept) {
        let is_after = opened.happened <= opened.told;
        self.ask(
            is_after,
            "happened",
            "That time is still to come. Say when it happened.",
        );
        self.line("place", &opened.place, "Say where it was.");
        self.words("words", &opened.words, "Say in a few words what happened.");
        let is_said = opened.doing != Doing::Charging || !opened.charging_with.trim().is_empty();
        let ask = "Say which charger, supply and settings; “I don't know” is an answer.";
        self.ask(is_said, "charging_with", ask);
        self.involved(&opened.involved, &Story::default());
        for (field, text) in [
            ("charging_with", &opened.charging_with),
            ("damage", &opened.damage),
            ("emergency_services", &opened.emergency_services),
            ("who_was_there", &opened.who_was_there),
            ("lent_to", &opened.lent_to),
            ("injuries", &opened.injuries),
        ] {
            self.at_most(field, text, LETTERS_MOST);
        }
        let may_tell = kept == InjuriesKept::InWords || opened.injuries.trim().is_empty();
        let ask = "The club keeps no words about injuries in its book. Leave this empty.";
        self.ask(may_tell, "injuries", ask);
    }

    fn involved(&mut self, involved: &Involved, story: &Story) {
        let has_few = involved.items.len() <= ITEMS_MOST;
        self.ask(has_few, "items", "Choose at most 50 things.");
        self.at_most("others", &involved.others.text, LETTERS_MOST);
        for item in &involved.items {
            let words = format!("{} is part of it already.", item.called);
            self.ask(!story.items.contains_key(&item.called), "items", &words);
        }
    }

    /// Fewer things, or none: what is named anew has to be frozen and set aside.
    fn fewer_items(&mut self, instead: &str, story: &Story) {
        let is_none = instead.trim().eq_ignore_ascii_case("none");
        for number in numbers(instead) {
            let words = format!(
                "{number} is not part of it yet. Write it under “Another thing was part of it”, so that what is known of it is kept. \
                 Here write those of the things named that were part of it, or none."
            );
            self.ask(
                is_none || story.items.contains_key(&number),
                "instead",
                &words,
            );
        }
    }

    fn correction(&mut self, telling: &Telling, story: &Story, kept: InjuriesKept) {
        let Telling::Corrected {
            seq,
            hash,
            field,
            instead,
            held,
            why,
        } = telling
        else {
            return;
        };
        let names_it = story.entries.get(seq) == Some(hash);
        self.ask(names_it, "corrects", "Choose an entry of this incident.");
        self.line("field", field, "Say what of it is wrong.");
        let says_it = !names_it || held.is_some() || self.says(*seq, field, story);
        self.words("instead", instead, "Say what is right.");
        self.line("why", why, "Say how you know.");
        if field == "items" {
            self.fewer_items(&instead.text, story);
        }
        let (reads, ask) = match field.as_str() {
            field if is_time(field) => (
                day_and_time(&instead.text).is_some(),
                "Write day and time like 2026-11-27 14:05.",
            ),
            "due" | "look_on" => (
                Day::parse(instead.text.trim()).is_some(),
                "Write the day like 2026-11-27.",
            ),
            "worked" => (
                yes_or_no(&instead.text).is_some(),
                "Write yes where it works, else no.",
            ),
            _ => (true, ""),
        };
        self.ask(reads, "instead", ask);
        let mut looks = story.actions.values().filter_map(|action| action.looked_at);
        let is_look = field != "worked" || !says_it || looks.any(|look| look.entry == *seq);
        let ask = "Choose the entry that says last whether the action works.";
        self.ask(is_look, "corrects", ask);
        let may_tell = field != "injuries" || kept == InjuriesKept::InWords;
        let ask = "The club keeps no words about injuries in its book.";
        self.ask(may_tell, "instead", ask);
        if let Some((kind, severity)) = held {
            self.0.extend(severity.problems(*kind, kept));
        }
    }

    /// Of the entry that says it: a correction of anything else would stand nowhere.
    fn says(&mut self, seq: i64, field: &str, story: &Story) -> bool {
        let Some(kind) = story.kinds.get(&seq).filter(|_| !field.is_empty()) else {
            return true;
        };
        let says_it = said_by(kind).contains(&field);
        let right = story.corrections.iter().find(|each| each.by == seq);
        let words = match right {
            Some(right) => format!(
                "Entry {seq} puts entry {} right itself. Choose entry {} here.",
                right.of, right.of
            ),
            None => format!("Entry {seq} says nothing of that. Choose the entry that does."),
        };
        self.ask(says_it, "corrects", &words);
        says_it
    }

    fn action(&mut self, action: &ActionSet) {
        self.words("what", &action.what, "Say what is to be done.");
        self.line("owner", &action.owner, "Say who sees to it.");
        let ask = "Say how one will see that it worked.";
        self.line("works_if", &action.works_if, ask);
        let is_later = action.look_on >= action.due;
        let ask = "Whether it worked is looked at on the day it is due, or later.";
        self.ask(is_later, "look_on", ask);
    }

    fn closing(&mut self, causes: &[String], lessons: &str, story: &Story) {
        let has_cause = story.has_cause || causes.iter().any(|cause| !cause.trim().is_empty());
        let ask = "Say why it happened; “not found” with what was looked at is an answer.";
        self.ask(has_cause, "causes", ask);
        for cause in causes {
            self.at_most("causes", cause, LETTERS_MOST);
        }
        let ask = "Say what the club takes from it.";
        let has_lesson = story.has_lesson || !lessons.trim().is_empty();
        self.ask(has_lesson, "lessons", ask);
        self.at_most("lessons", lessons, LETTERS_MOST);
        let asks_for_action = story
            .held
            .is_none_or(|(_, severity)| severity.asks_for_action());
        let ask = "It could have been worse: set at least one action before it is closed.";
        self.ask(
            !asks_for_action || !story.actions.is_empty(),
            "actions",
            ask,
        );
        let ask = "An action is not done, was not looked at, or did not work. See to that first.";
        self.ask(story.waiting().is_empty(), "actions", ask);
    }
}
