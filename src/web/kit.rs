//! Kit to look at: how a thing reads, with where it is or who has it; and one thing with its history and what can be done
//! about it (`kit_seen_to`). The list is `kit_list`. Adding and changing is `kit_form`. Members see that a thing is out, not with whom.

use crate::app::App;
use crate::bench::kit::KitKind;
use crate::club::calendar::Day;
use crate::club::kit::may_become;
use crate::club::people::{NOTED, Role};
use crate::club::states::Life;
use crate::store::kit::{self as store, Listed};
use crate::store::log;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::history::{self, Before, Event};
use crate::web::page::{self, Page, PageError};
use crate::web::places::words_of;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{self, Due};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "kit/one.html")]
pub(super) struct OnePage {
    pub(super) shell: Shell,
    pub(super) done: &'static str,
    pub(super) may_change: bool,
    pub(super) row: Row,
    pub(super) set_aside: String,
    /// What charges with it though it was set aside.
    pub(super) to_stop: Vec<String>,
    pub(super) mine: Option<Mine>,
    pub(super) has_way_out: bool,
    pub(super) events: Vec<Event>,
    pub(super) older: Option<i64>,
    pub(super) typed: Fields,
    pub(super) problems: Problems,
}

/// What of a thing is in the hands of whoever looks.
pub(super) struct Mine {
    /// Of what is counted: `2 of them`.
    what: String,
    due: Option<Due>,
    /// Brings back what is due first.
    bring_back: String,
}

fn mine(seen: &store::SeenBy, who: &SignedIn) -> Option<Mine> {
    let lent_id = seen.own_lent_id?;
    let due = seen.own_due_on.as_deref().and_then(Day::parse);
    Some(Mine {
        what: if seen.listed.kit.is_counted() {
            format!("{} of them", seen.own_count)
        } else {
            "it".to_owned()
        },
        due: due.map(|day| words::due(day, who.zone.day_of(who.now))),
        bring_back: format!("/mine/{lent_id}/bring-back"),
    })
}

/// A thing in words. `state` is the mark's code.
pub(super) struct Row {
    /// Empty for those who may not read them.
    pub(super) notes: String,
    /// What the one line leaves out.
    pub(super) facts: Vec<(&'static str, String)>,
    pub listed: Listed,
    pub(super) kind: &'static str,
    pub(super) what: String,
    pub(super) state: &'static str,
    pub(super) state_words: String,
    pub(super) whereabouts: String,
}

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    done: String,
    #[serde(default)]
    before: String,
}

page::puts_right!(OnePage);

/// GET /kit/{id}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(told): Query<Told>,
) -> Page {
    let before = Before {
        before: told.before,
    };
    let page = one_page(&app, &who, id, &before).await?;
    let done = match told.done.as_str() {
        "added" => "It is added. Write its number on it.",
        "changed" => "The change is kept.",
        "counted" => "The count is kept.",
        "set-aside" => "It is set aside and enters no loan until it is mended.",
        "mended" => "It is mended and can be lent again.",
        "thrown-away" => "They are off the count.",
        "looked-over" => "It is looked over.",
        _ => "",
    };
    page::show(&OnePage { done, ..page })
}

pub(super) async fn one_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    before: &Before,
) -> Result<OnePage, PageError> {
    let mut conn = app.db.read().await?;
    let seen = store::seen_by(&mut conn, id, who.me.person_id)
        .await?
        .ok_or(PageError::NotFound)?;
    let told = history::part(&mut conn, id, before).await?;
    drop(conn);
    let (mine, to_stop) = (mine(&seen, who), seen.to_stop());
    let mut row = row(seen.listed, who)?;
    if mine.is_some() && !row.listed.kit.is_counted() {
        "out: you".clone_into(&mut row.whereabouts);
    }
    let kit = &row.listed.kit;
    let set_aside = match (&kit.set_aside_words, kit.set_aside_ms) {
        (Some(why), Some(at)) => format!("{why} ({})", words::past(at, who.now, &who.zone).words),
        _ => String::new(),
    };
    let life = kit.life();
    Ok(OnePage {
        shell: who.shell(format!("{} {}", kit.number, row.kind)),
        done: "",
        may_change: who.has(Role::Quartermaster),
        has_way_out: Life::ALL.into_iter().any(|next| may_become(life, next)),
        set_aside,
        to_stop,
        mine,
        events: events(&told.entries, who),
        older: told.older,
        typed: Fields::default(),
        problems: Problems::default(),
        row,
    })
}

/// Who did it is for those who run the pool; a member reads what happened and when.
pub(super) fn events(told: &[log::Told], who: &SignedIn) -> Vec<Event> {
    let mut events = history::events(told, who, words_of(who));
    if !who.me.roles().may_see_holders() {
        for event in &mut events {
            event.by.clear();
            // A reason may speak of a person; when something is due is between its holder and the table.
            let kept = ["reason", "due"].into_iter().chain(NOTED);
            let is_kept = |change: &String| {
                let called = change.split(':').next();
                kept.clone().any(|field| called == Some(field))
            };
            event.changes.retain(|change| !is_kept(change));
        }
    }
    events
}

pub(super) fn row(listed: Listed, who: &SignedIn) -> Result<Row, PageError> {
    let kit = &listed.kit;
    let kind = kit.kind().map_or("kit", KitKind::label);
    let (state, state_words) = standing(&listed);
    let may_read = who.me.roles().may_read_notes();
    Ok(Row {
        notes: Some(&kit.notes)
            .filter(|_| may_read)
            .cloned()
            .unwrap_or_default(),
        facts: listed.named_spec()?.facts(words_of(who)),
        what: listed.named_spec()?.summary(words_of(who)),
        state,
        state_words: state_words.to_owned(),
        whereabouts: whereabouts(&listed, who.me.roles().may_see_holders()),
        kind,
        listed,
    })
}

/// The mark and its word. Of counted kit a part can be doubtful while the rest is lent; then the numbers tell.
fn standing(listed: &Listed) -> (&'static str, &'static str) {
    let (kit, stock) = (&listed.kit, listed.stock());
    let is_whole = !kit.is_counted() || stock.in_order() + stock.out == 0;
    match kit.life() {
        Life::InUse if stock.aside > 0 && is_whole => ("set_aside", "Set aside"),
        Life::InUse if stock.unchecked > 0 && is_whole => ("not_known", "Not known"),
        life => (life.code(), life.label()),
    }
}

/// Where it is or who has it: `Box B`, `with A. Member`, `3 of 8 out, the rest: Box B`.
fn whereabouts(listed: &Listed, may_see_holders: bool) -> String {
    let place = listed.place_name.as_deref().unwrap_or("no place noted");
    let holder = listed.holder_name.as_deref().filter(|_| may_see_holders);
    match (listed.kit.life(), listed.out_count, holder) {
        (Life::InUse, 0, _) => place.to_owned(),
        (Life::InUse, out, _) if listed.kit.is_counted() && out >= listed.kit.owned_count => {
            format!("all {out} out")
        }
        (Life::InUse, out, _) if listed.kit.is_counted() => {
            format!("{out} of {} out, the rest: {place}", listed.kit.owned_count)
        }
        (Life::InUse, _, Some(holder)) => format!("with {holder}"),
        (Life::InUse, _, None) => "out on a loan".to_owned(),
        _ => String::new(),
    }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heading_starts_with_a_capital() {
        assert_eq!(capital("power supplies"), "Power supplies");
        assert_eq!(capital(""), "");
    }
}
