//! GET /to-see-to: what of the pool needs a person now, the most dangerous first, each with its one next act and whom to ask. A
//! quartermaster's front page.

use crate::app::App;
use crate::club::calendar::Day;
use crate::club::care::chased::{Chased, chased};
use crate::club::care::due::{Due, Grave, OnRecord, due};
use crate::club::care::rules::CareRules;
use crate::club::care::seen::in_band_since;
use crate::club::limits::ClubLimits;
use crate::club::states::Life;
use crate::club::to_see_to::{AtHome, Dangerous, Line, Matter, Pressing, Stands, of_home, of_pack};
use crate::store::StoreError;
use crate::store::care::{self, InCare};
use crate::store::to_see_to as stored;
use crate::web::asked::Query;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, in_a_list, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

mod besides;

pub const PER_PAGE: usize = 100;

/// A line with where its next act is done, and the names of whom to ask.
pub struct ToDo {
    pub line: Line,
    pub href: String,
    pub since: When,
    pub ask: String,
}

impl ToDo {
    pub fn is_danger(&self) -> bool {
        self.line.matter == Matter::Quarantine || self.line.grave == Grave::AtOnce
    }

    /// Before `since`; empty: of a loan its days overdue say it.
    pub const fn since_lead(&self) -> &'static str {
        match self.line.matter {
            Matter::LoanOverdue => "",
            Matter::Care(_) => ", due since ",
            _ => ", since ",
        }
    }

    /// Without its label, after which it stands: `For 9 days: …`.
    pub fn why(&self) -> String {
        let why = &self.line.why;
        let Some(rest) = why.strip_prefix(self.line.matter.label()) else {
            return why.clone();
        };
        let rest = rest.trim_start();
        let rest = rest.strip_prefix("yet").unwrap_or(rest);
        let mut letters = rest.trim_start_matches([':', '.', ' ']).chars();
        let first = letters.next().map(|letter| letter.to_ascii_uppercase());
        first.into_iter().chain(letters).collect()
    }

    /// What its words tell already is not said again.
    pub fn also(&self) -> String {
        let labels = self.line.also.iter().map(|reason| reason.label());
        // Within a sentence a label stands in small letters.
        let why = self.line.why.to_lowercase();
        let untold = labels.filter(|label| !why.contains(&label.to_lowercase()));
        untold.collect::<Vec<_>>().join(", ")
    }
}

#[derive(Template)]
#[template(path = "to_see_to.html")]
struct ToSeeToPage {
    shell: Shell,
    rows: Vec<ToDo>,
    in_all: usize,
    sums: Vec<(usize, &'static str)>,
    is_quartermaster: bool,
    /// What is shown first in danger and nobody has written.
    lacking: String,
    newer: Option<usize>,
    older: Option<usize>,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    page: String,
}

/// GET /to-see-to
pub async fn show(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let mut all = all(&app, &who).await?;
    let at = asked.page.parse().unwrap_or(0).min(all.len() / PER_PAGE);
    let in_all = all.len();
    let sums = [
        (Grave::AtOnce, "at once"),
        (Grave::Today, "today"),
        (Grave::ThisWeek, "this week"),
        (Grave::WhenConvenient, "when convenient"),
    ];
    let count = |grave| all.iter().filter(|one| one.line.grave == grave).count();
    let sums = sums.map(|(grave, words)| (count(grave), words)).to_vec();
    let after = (at + 1) * PER_PAGE;
    let rows = all.drain((at * PER_PAGE)..after.min(in_all)).collect();
    page::show(&ToSeeToPage {
        shell: who.shell("To see to"),
        rows,
        in_all,
        sums,
        is_quartermaster: who.me.is_quartermaster,
        lacking: who.club.hall.lacking(),
        newer: at.checked_sub(1),
        older: (after < in_all).then_some(at + 1),
    })
}

/// All of it, in its order.
pub async fn all(app: &App, who: &SignedIn) -> Result<Vec<ToDo>, StoreError> {
    let mut conn = app.db.read().await?;
    let packs = care::to_see_to(&mut conn).await?;
    let besides = stored::besides(&mut conn, who.zone.day_of(who.now), who.now).await?;
    drop(conn);
    let rules = (who.club.limits(), who.club.care());
    let of_packs = packs.iter().filter_map(|one| of_one(one, &rules, who));
    let mut all: Vec<ToDo> = of_packs.collect();
    all.extend(besides::told(&besides, who));
    all.sort_by(|one, other| one.line.cmp(&other.line));
    Ok(all)
}

/// What is due for one pack.
pub(super) fn due_of(one: &InCare, who: &SignedIn) -> Vec<Due> {
    let on_record = one.on_record(&who.club.limits(), who.now);
    due(&on_record, &who.club.care(), who.now, &who.zone)
}

fn of_one(one: &InCare, (limits, care): &(ClubLimits, CareRules), who: &SignedIn) -> Option<ToDo> {
    let pack = &one.pack;
    let on_record = one.on_record(limits, who.now);
    let is_by_age = pack.is_by_age(who.now, limits.reading_days);
    let grew_old = pack
        .last_read_ms
        .map(|read| read.plus_days(limits.reading_days));
    let charge = one.now.charge();
    let why = in_a_list(&on_record.state_why);
    let stands = Stands {
        number: &pack.number,
        state: on_record.state,
        since: grew_old.filter(|_| is_by_age).unwrap_or(pack.state_ms),
        why: &why,
        next: &on_record.state_next,
        was_read: pack.last_read_ms.is_some(),
        is_by_age,
        is_danger_told: one.is_danger_told,
        danger: Dangerous {
            watched_since: one.watched_since_ms,
            is_watch_on: one.is_watch_on,
            charger: charge.as_ref().map(|charge| charge.charger_number.as_str()),
            to_lie: one
                .is_to_lie()
                .map(|(_, to)| (pack.place_name.as_deref().unwrap_or_default(), to)),
            minutes: who.now.minutes_since(pack.state_ms),
            watch_minutes: who.club.in_danger.watch.minutes(),
        },
    };
    let due = due(&on_record, care, who.now, &who.zone);
    let first = due.first().cloned();
    let line = at_home(of_pack(&stands, due), (one, &on_record), who)?;
    Some(ToDo {
        href: act(&line, (&pack.number, charge.map(|charge| charge.id)), who),
        since: past(line.since, who.now, &who.zone),
        ask: whom(one, (first.as_ref(), care), who),
        line: worded(line, who),
    })
}

/// With who took it home, and by when it is to be done.
fn at_home(
    line: Option<Line>,
    (one, on_record): (&InCare, &OnRecord),
    who: &SignedIn,
) -> Option<Line> {
    let Some(by) = one.pack.home_by.as_deref().and_then(Day::parse) else {
        return line;
    };
    let home = AtHome {
        name: one.pack.home_name.as_deref().unwrap_or("(erased)"),
        by,
        done_since: in_band_since(on_record),
    };
    of_home(&one.pack.number, line, &home, who.zone.day_of(who.now))
}

fn worded(line: Line, who: &SignedIn) -> Line {
    Line {
        why: who.numbers().sentence(&line.why),
        next: who.numbers().sentence(&line.next),
        ..line
    }
}

/// Where its next act is done.
fn act(line: &Line, (number, charge): (&str, Option<Uuid>), who: &SignedIn) -> String {
    let reads = who.me.roles().may_log_volts();
    match (line.pressing, charge) {
        (Pressing::OnCharger, Some(charge)) => return format!("/charges/{charge}"),
        (Pressing::UnderWatch(_), _) => return format!("/packs/{number}/watch"),
        _ => {}
    }
    match line.matter {
        Matter::Quarantine => format!("/packs/{number}/watch"),
        Matter::RetiredDanger => format!("/packs/{number}/disposal"),
        Matter::StillAtHome if who.me.is_quartermaster => format!("/packs/{number}/back"),
        Matter::Care(_) | Matter::NotKnown if reads => format!("/packs/{number}/volts"),
        _ => format!("/packs/{number}"),
    }
}

fn whom(one: &InCare, (due, care): (Option<&Due>, &CareRules), who: &SignedIn) -> String {
    let erased = "(erased)";
    let holder = one.holder_name().unwrap_or(erased);
    let Some(due) = due else {
        return match one.pack.life() {
            _ if one.pack.is_away() => holder.to_owned(),
            Life::InUse => String::new(),
            _ => besides::RUNS.to_owned(),
        };
    };
    let all = chased(one.holder(), due, care, who.now);
    let names = all.into_iter().map(|each| match each {
        Chased::Holder(_) => holder,
        Chased::WhoAnswers(_) => one.answers_name.as_deref().unwrap_or(erased),
        Chased::Quartermasters => "quartermasters",
        Chased::Organisers => "organisers",
    });
    names.collect::<Vec<_>>().join(", ")
}
