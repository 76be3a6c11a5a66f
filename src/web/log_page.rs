//! The log of every change, for organisers; and how one entry reads on any page.

use crate::actions::charging::hand_over::Handed;
use crate::actions::night::NightTold;
use crate::actions::standing::Standing;
use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::states::State as PackState;
use crate::store::log::{self, Head, Told};
use crate::store::names::{self, Names};
use crate::web::asked::Query;
use crate::web::history;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

/// One entry in words.
pub struct Line {
    pub seq: i64,
    pub when: When,
    pub words: String,
    /// `room: Workshop → Hall`
    pub changes: Vec<String>,
}

impl Line {
    /// On a page that knows no names of places.
    pub fn of(entry: Told, who: &SignedIn) -> Self {
        Self::told(entry, who, None)
    }

    pub(super) fn told(entry: Told, who: &SignedIn, names: Option<&Names>) -> Self {
        let may_name = who.me.roles().may_see_holders();
        let by = if may_name {
            format!("{}: ", entry.by())
        } else {
            String::new()
        };
        Self {
            seq: entry.seq,
            changes: if may_name && entry.subject != "pack" {
                history::changes(&entry.before, &entry.after, who.numbers())
            } else {
                Vec::new()
            },
            when: past(entry.at_ms, who.now, &who.zone),
            words: format!(
                "{by}{}",
                who.numbers()
                    .sentence(&what_changed(&entry, may_name, names))
            ),
        }
    }
}

fn what_changed(entry: &Told, may_name: bool, names: Option<&Names>) -> String {
    let standing = |text: &str| serde_json::from_str::<Standing>(text).ok();
    let Some(after) = standing(&entry.after) else {
        let by_name = |names| night_words(entry, names).or_else(|| handed_words(entry, names));
        if let Some(words) = names.and_then(by_name) {
            return words;
        }
        let done = entry.what_was_done(may_name);
        return match (entry.called.as_deref(), entry.subject.as_str()) {
            (Some(called), _) => format!("{called}: {done}"),
            // On the page of its pack.
            (None, "pack" | "label" | "photo" | "charge_log") => done,
            (None, subject) => format!("{subject}: {done}"),
        };
    };
    let before = standing(&entry.before);
    let about = after.about.as_ref();
    let about = about.map_or_else(String::new, |about| {
        format!(": {}", about.trim_end_matches('.'))
    });
    let mut words = format!("{} {}{about}.", after.number, entry.what_was_done(may_name));
    if before
        .as_ref()
        .is_none_or(|before| before.state != after.state || before.why != after.why)
    {
        let label = PackState::from_code(&after.state).map_or("", PackState::label);
        words.push_str(&format!(" Now {label}: {}", after.why));
    }
    if let Some(before) = &before {
        words.push_str(&moved(before, &after, names));
        let due = after.due.as_deref().and_then(Day::parse);
        if let Some(due) = due.filter(|_| before.holder == after.holder && before.due != after.due)
        {
            words.push_str(&format!(" Due {}.", day_words(due)));
        }
    }
    // A reason may speak of a person.
    if let Some(reason) = after.reason.as_ref().filter(|_| may_name) {
        words.push_str(&format!(" Reason: {reason}."));
    }
    if let Some(volts) = after.volts.filter(|volts| {
        before.is_none_or(|before| {
            before.volts.as_ref() != Some(volts) || before.read_ms != after.read_ms
        })
    }) {
        let read = crate::battery::volts::Volts::from_text(&volts)
            .map(|volts| crate::battery::volts::words(&volts));
        words.push_str(&format!(" Read {}.", read.unwrap_or_default()));
    }
    words
}

/// In the names that the places had then; in those of today where the entry is too old to know them.
fn moved(before: &Standing, after: &Standing, names: Option<&Names>) -> String {
    if before.place == after.place {
        return String::new();
    }
    let of_today = |place| Some(names?.of(place).to_owned());
    let name = |of: &Standing| of.place_name.clone().or_else(|| of_today(of.place?));
    match (name(before), name(after)) {
        (Some(from), Some(to)) => format!(" Moved from {from} to {to}."),
        (None, Some(to)) => format!(" Put at {to}."),
        (Some(from), None) => format!(" No longer at {from}."),
        (None, None) => " Its place changed.".to_owned(),
    }
}

/// `opened the night at Hall, until Wed 25 Nov 2026, 21:30; on duty: Quinn Marlow`
fn night_words(entry: &Told, names: &Names) -> Option<String> {
    let night = [&entry.after, &entry.before]
        .into_iter()
        .find_map(|text| serde_json::from_str::<NightTold>(text).ok())?;
    let day = Day::parse(&night.ends_on).map_or(night.ends_on, day_words);
    Some(format!(
        "{} at {}, until {day}, {}; on duty: {}",
        entry.verb,
        names.of(night.place),
        night.ends_at,
        names.of(night.on_duty)
    ))
}

/// `P-014: charge on C-02 handed over by Ada to Ben`
fn handed_words(entry: &Told, names: &Names) -> Option<String> {
    let handed = |text: &str| serde_json::from_str::<Handed>(text).ok();
    let (from, to) = (handed(&entry.before)?, handed(&entry.after)?);
    Some(format!(
        "{}: charge on {} handed over, from {} to {}",
        entry.called.as_deref().unwrap_or("pack"),
        to.charger,
        names.of(from.watched_by),
        names.of(to.watched_by)
    ))
}

#[derive(Template)]
#[template(path = "log.html")]
struct LogPage {
    shell: Shell,
    lines: Vec<Line>,
    older: Option<i64>,
    head: Head,
}

#[derive(Deserialize)]
pub struct Before {
    #[serde(default)]
    before: String,
}

impl Before {
    /// Entries before this one; from the end where none is named.
    pub(super) fn seq(&self) -> i64 {
        self.before.parse().unwrap_or(i64::MAX)
    }
}

/// GET /log
pub async fn show(State(app): State<App>, who: SignedIn, Query(query): Query<Before>) -> Page {
    let mut conn = app.db.read().await?;
    let entries = log::latest(&mut conn, query.seq(), 100).await?;
    let (names, head) = names::with_head(&mut conn).await?;
    drop(conn);
    let older = entries.last().map(|entry| entry.seq).filter(|seq| *seq > 1);
    let lines = entries
        .into_iter()
        .map(|entry| Line::told(entry, &who, Some(&names)))
        .collect();
    page::show(&LogPage {
        shell: who.shell("Log"),
        lines,
        older,
        head,
    })
}
