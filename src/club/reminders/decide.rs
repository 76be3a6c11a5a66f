//! The reminders of a day: of what is due now, who is told. Whether somebody was told the same before is not asked here: a reminder
//! has a reason, a thing, a person and a due day, and the store keeps each once.

mod checks;
mod incidents;

use super::Kind;
use super::facts::{Facts, LoanOut, PackDue, Person};
use super::letter::{called, told_all};
use super::rules::ReminderRules;
use crate::club::book::chain::Head;
use crate::club::calendar::{Day, Instant, Zone, day_words};
use crate::club::care::chased::{Chased, chased};
use crate::club::care::rules::CareRules;
use crate::club::people::Roles;
use checks::of_check;
use incidents::{of_action, of_report};
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reminder {
    pub person: Uuid,
    pub kind: Kind,
    pub reason: &'static str,
    pub thing: String,
    pub due_on: Day,
    /// They have it, or answer for it, and must put it right.
    pub is_must: bool,
    pub title: String,
    pub why: String,
    pub next: String,
    pub href: String,
}

impl Reminder {
    fn key(&self) -> (Uuid, &'static str, &str, Day) {
        (self.person, self.reason, &self.thing, self.due_on)
    }
}

/// What a reminder says, whoever is told.
#[derive(Clone)]
struct Said {
    kind: Kind,
    reason: &'static str,
    thing: String,
    due_on: Day,
    title: String,
    why: String,
    next: String,
    href: String,
}

impl Said {
    fn to(&self, person: Uuid, is_must: bool) -> Reminder {
        let said = self.clone();
        Reminder {
            person,
            kind: said.kind,
            reason: said.reason,
            thing: said.thing,
            due_on: said.due_on,
            is_must,
            title: said.title,
            why: said.why,
            next: said.next,
            href: said.href,
        }
    }
}

/// By which rules, when.
pub struct At<'a> {
    pub rules: &'a ReminderRules,
    pub care: &'a CareRules,
    pub now: Instant,
    pub zone: &'a Zone,
}

impl At<'_> {
    fn today(&self) -> Day {
        self.zone.day_of(self.now)
    }
}

/// Each once; of one that concerns a person twice the one that they must put right.
pub fn decide(facts: &Facts, at: &At) -> Vec<Reminder> {
    let people = People::of(&facts.people);
    let mut all: Vec<Reminder> = Vec::new();
    for pack in &facts.packs {
        all.extend(of_pack(pack, &people, at));
    }
    for loan in &facts.loans {
        all.extend(of_loan(loan, &people, at));
    }
    for person in &facts.people {
        all.extend(of_induction(person, &people, at));
    }
    for check in &facts.checks {
        all.extend(of_check(check, &people, at));
    }
    for action in &facts.actions {
        all.extend(of_action(action, &people, at));
    }
    for report in &facts.reports {
        all.extend(of_report(report, &people, at));
    }
    all.extend(of_week(facts, &people, at));
    all.sort_by(|one, other| (one.key(), !one.is_must).cmp(&(other.key(), !other.is_must)));
    all.dedup_by(|one, other| one.key() == other.key());
    all
}

/// Who can be told anything: those who are in the club and hold a role.
struct People<'a> {
    told: BTreeMap<Uuid, &'a Person>,
    answers: BTreeMap<Uuid, Uuid>,
}

impl<'a> People<'a> {
    fn of(people: &'a [Person]) -> Self {
        let can_be_told = |person: &&Person| person.is_active && !person.roles.is_none();
        let told = people.iter().filter(can_be_told);
        let answered = people.iter();
        Self {
            told: told.map(|person| (person.id, person)).collect(),
            answers: answered
                .filter_map(|person| Some((person.id, person.answers?)))
                .collect(),
        }
    }

    fn can_be_told(&self, person: Uuid) -> bool {
        self.told.contains_key(&person)
    }

    /// Whoever has something and who answers for them, as far as they can be told.
    fn having(&self, person: Uuid) -> Vec<Uuid> {
        let both = std::iter::once(person).chain(self.answers.get(&person).copied());
        both.filter(|id| self.can_be_told(*id)).collect()
    }

    fn with(&self, holds: fn(&Roles) -> bool) -> Vec<Uuid> {
        let told = self.told.values();
        told.filter(|person| holds(&person.roles))
            .map(|person| person.id)
            .collect()
    }

    fn quartermasters(&self) -> Vec<Uuid> {
        self.with(|roles| roles.is_quartermaster)
    }

    fn organisers(&self) -> Vec<Uuid> {
        self.with(|roles| roles.is_organiser)
    }

    fn running_the_club(&self) -> Vec<Uuid> {
        self.with(|roles| roles.is_quartermaster || roles.is_organiser)
    }
}

fn of_pack(pack: &PackDue, people: &People, at: &At) -> Vec<Reminder> {
    // A pack of somebody who can't be told, as who left the club, is as one that nobody has.
    let holder = pack
        .holder
        .filter(|holder| !people.having(holder.person).is_empty());
    let mut all = Vec::new();
    for due in &pack.due {
        let Some(kind) = Kind::of_care(due.reason) else {
            continue;
        };
        let said = Said {
            kind,
            reason: due.reason.code(),
            thing: format!("pack:{}", pack.number),
            due_on: at.zone.day_of(due.since),
            title: format!("{}: {}", pack.number, lower_first(due.reason.label())),
            why: format!("{}{}", pack.whereabouts.words(at.today()), due.why),
            next: due.next.clone(),
            href: format!("/packs/{}", pack.number),
        };
        let others = to_ask_for(&said, pack);
        for who in chased(holder, due, at.care, at.now) {
            let (told, said, is_must) = match who {
                Chased::Holder(id) | Chased::WhoAnswers(id) => (vec![id], &said, true),
                Chased::Quartermasters => (people.quartermasters(), &others, false),
                Chased::Organisers => (people.organisers(), &others, false),
            };
            let told = told.into_iter().filter(|id| people.can_be_told(*id));
            all.extend(told.map(|id| said.to(id, is_must)));
        }
    }
    all
}

/// Of a pack that somebody has, who runs the club asks them and does not do it: mails name nobody, its page does.
fn to_ask_for(said: &Said, pack: &PackDue) -> Said {
    let mut said = said.clone();
    if pack.holder.is_some() {
        said.next = format!(
            "Ask whoever has it, as its page says. To be done: {}",
            said.next
        );
    }
    said
}

fn lower_first(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().map(|letter| letter.to_ascii_lowercase());
    first.into_iter().chain(letters).collect()
}

/// Names nobody: who has it is told on the loan's own page, and goes with an erased name.
fn of_loan(loan: &LoanOut, people: &People, at: &At) -> Vec<Reminder> {
    let things = called(&loan.things);
    let all = told_all(&loan.things);
    let said = |kind: Kind, reason, title: String, why: String, next: &str| Said {
        kind,
        reason,
        thing: format!("loan:{}", loan.id),
        due_on: loan.due_on,
        title,
        why,
        next: next.to_owned(),
        href: format!("/loans/{}", loan.id),
    };
    let (was, them) = match loan.things.len() {
        0 | 1 => ("It was", "it"),
        _ => ("They were", "them"),
    };
    let bring = format!("Bring {them} back, or ask a quartermaster to extend the loan.");
    let days = loan.due_on.days_until(at.today());
    let having = people.having(loan.borrower);
    if days <= 0 {
        if -days > at.rules.loan_days {
            return Vec::new();
        }
        let said = said(
            Kind::LoanDueSoon,
            "loan_due_soon",
            format!("{things}: due back"),
            format!("{all}Due back on {}.", day_words(loan.due_on)),
            &bring,
        );
        return having.into_iter().map(|id| said.to(id, false)).collect();
    }
    let said = said(
        Kind::LoanOverdue,
        "loan_overdue",
        format!("{things}: loan overdue"),
        format!("{all}{was} due back on {}.", day_words(loan.due_on)),
        &bring,
    );
    let others = Said {
        next: "Ask whoever has it, as the loan's page says; then take it back or extend the loan."
            .to_owned(),
        ..said.clone()
    };
    let since = at.zone.end_of(loan.due_on);
    let care = at.care.tightened();
    let after = |days: i64| at.now >= since.plus_days(days);
    let mut all: Vec<Reminder> = having.iter().map(|id| said.to(*id, true)).collect();
    if having.is_empty() || after(care.quartermaster_days) {
        let told = people.quartermasters().into_iter();
        all.extend(told.map(|id| others.to(id, false)));
    }
    if after(care.organiser_days) {
        let told = people.organisers().into_iter();
        all.extend(told.map(|id| others.to(id, false)));
    }
    all
}

/// So long after it ran out somebody is still told, where nothing ran before.
const RAN_OUT_DAYS: i64 = 14;

fn of_induction(person: &Person, people: &People, at: &At) -> Vec<Reminder> {
    let Some(ends) = person.ends.filter(|_| person.is_active) else {
        return Vec::new();
    };
    let left = at.today().days_until(ends);
    if left > at.rules.induction_days || left < -RAN_OUT_DAYS {
        return Vec::new();
    }
    let why = if left < 0 {
        format!("It ran out after {}.", day_words(ends))
    } else {
        format!("Its last day is {}.", day_words(ends))
    };
    let said = Said {
        kind: Kind::Induction,
        reason: "induction_ends",
        thing: format!("person:{}", person.id),
        due_on: ends,
        title: "Induction running out".to_owned(),
        why: format!("{why} Without it nothing is lent."),
        next: "Ask a quartermaster to show safe charging and handling again.".to_owned(),
        href: "/me".to_owned(),
    };
    let having = people.having(person.id).into_iter();
    having.map(|id| said.to(id, false)).collect()
}

fn of_week(facts: &Facts, people: &People, at: &At) -> Vec<Reminder> {
    let Some(due_on) = at.rules.summary_on(facts.last, at.today()) else {
        return Vec::new();
    };
    let of_quartermasters = Said {
        kind: Kind::Summary,
        reason: "weekly_summary",
        thing: "club:week".to_owned(),
        due_on,
        title: "The week".to_owned(),
        why: counted(facts, at),
        next: "Look at what is to see to.".to_owned(),
        href: "/to-see-to".to_owned(),
    };
    let of_organisers = Said {
        why: format!(
            "{} {}",
            of_quartermasters.why,
            book_words(&facts.book, at.zone)
        ),
        ..of_quartermasters.clone()
    };
    let told = people.told.values().filter_map(|person| {
        let said = if person.roles.is_organiser {
            &of_organisers
        } else if person.roles.is_quartermaster {
            &of_quartermasters
        } else {
            return None;
        };
        Some(said.to(person.id, false))
    });
    told.collect()
}

/// `Due now: 3 packs storage overdue, 1 low. 2 loans are overdue.`
fn counted(facts: &Facts, at: &At) -> String {
    let has = |pack: &&PackDue, kind: Option<Kind>| {
        pack.due.iter().any(|due| Kind::of_care(due.reason) == kind)
    };
    let count = |kind| facts.packs.iter().filter(|pack| has(pack, kind)).count();
    let today = at.today();
    let overdue = facts
        .loans
        .iter()
        .filter(|loan| loan.due_on < today)
        .count();
    let checks = facts.checks.iter();
    let unchecked = checks.filter(|check| check.due_on < today).count();
    format!(
        "Packs with storage overdue: {}. Low: {}. Volts to read: {}. Balance owed: {}. Loans overdue: {overdue}. Checks of extinguishers and detectors overdue: {unchecked}. Reports that nobody has read: {}.",
        count(Some(Kind::StorageOverdue)),
        count(Some(Kind::Low)),
        count(Some(Kind::Recheck)),
        count(None),
        facts.reports.len()
    )
}

fn book_words(book: &Head, zone: &Zone) -> String {
    if book.count == 0 {
        return "The incident book has no entry yet.".to_owned();
    }
    let last = Instant(book.at_ms);
    format!(
        "End of the incident book: {} entries, the last on {} at {} ({}), its seal {}. Keep this: it shows later that nothing was taken out of the book.",
        book.count,
        zone.date_words(last),
        zone.time_words(last),
        book.time(),
        book.hash
    )
}
