//! Of reports that nobody read, and of what is to be done after an incident.

use super::{At, Kind, People, Reminder, Said};
use crate::club::calendar::day_words;
use crate::club::reminders::facts::{ActionDue, Unread};

/// Its own words stay in the book: they may name somebody.
fn said(action: &ActionDue, reason: &'static str, (what, why): (&str, String)) -> Said {
    let (incident, seq) = (&action.incident, action.seq);
    Said {
        kind: Kind::Action,
        reason,
        thing: format!("action:{seq}"),
        due_on: action.by,
        title: format!("After incident {incident}: {what}"),
        why,
        next: "Look whether it works, and write that into the book.".to_owned(),
        href: format!("/book/{incident}#e-{seq}"),
    }
}

pub(super) fn of_action(action: &ActionDue, people: &People, at: &At) -> Vec<Reminder> {
    let days = at.today().days_until(action.by);
    match action.is_done {
        true if days > 0 => Vec::new(),
        true => to_look_at(action, people),
        false if days > at.rules.loan_days => Vec::new(),
        false => to_do(action, people, days < 0),
    }
}

fn to_look_at(action: &ActionDue, people: &People) -> Vec<Reminder> {
    let on = day_words(action.by);
    let why = format!("It was done, and is to be looked at on {on}.");
    let look = said(action, "action_look", ("see whether it works", why));
    let told = people.running_the_club().into_iter();
    told.map(|id| look.to(id, false)).collect()
}

/// Whose it is says on a page of their own that it is done.
fn to_do(action: &ActionDue, people: &People, is_late: bool) -> Vec<Reminder> {
    let (reason, verb) = if is_late {
        ("action_late", "was")
    } else {
        ("action_due", "is")
    };
    let why = format!("It {verb} to be done by {}.", day_words(action.by));
    let others = Said {
        next: "Ask whose it is, or set another day in the book.".to_owned(),
        ..said(action, reason, ("something is to be done", why))
    };
    let own = Said {
        next: "Do it, then say there that it is done.".to_owned(),
        href: "/mine/actions".to_owned(),
        ..others.clone()
    };
    let owner = action.owner.filter(|id| people.can_be_told(*id));
    let mut all: Vec<Reminder> = owner.iter().map(|id| own.to(*id, false)).collect();
    if is_late {
        let told = people.running_the_club().into_iter();
        let told = told.filter(|id| Some(*id) != owner);
        all.extend(told.map(|id| others.to(id, false)));
    }
    all
}

pub(super) fn of_report(report: &Unread, people: &People, at: &At) -> Vec<Reminder> {
    let said = Said {
        kind: Kind::Report,
        reason: "report_came",
        thing: format!("report:{}", report.id),
        due_on: at.zone.day_of(report.came),
        title: format!("Report {}", report.reference),
        why: format!(
            "It arrived on {} at {} and nobody has read it.",
            at.zone.date_words(report.came),
            at.zone.time_words(report.came)
        ),
        next: "Read it and look.".to_owned(),
        href: format!("/reports/{}", report.id),
    };
    let told = people.quartermasters().into_iter();
    told.map(|id| said.to(id, false)).collect()
}
