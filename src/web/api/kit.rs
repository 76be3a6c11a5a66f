//! Kit to look at: the list, one thing with its data sheet, its history. Members read that a thing is out, not with whom,
//! and no notes. What is done about it is `kit_changes`.

use super::document;
use super::history::{BeforeAsked, History, HistoryEntry};
use super::operation::{Call, Nothing, Shown};

use super::trouble::Trouble;
use super::words::instant;
use crate::bench::kit::KitKind;
use crate::store::kit::{self as store, Listed, Part};
use crate::web::history;
use crate::web::kit::{Row, row};
use crate::web::page::PageError;
use crate::web::visit::SignedIn;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Kit {
    pub id: Uuid,
    pub number: String,
    /// charger, supply, cable, adapter or board.
    pub kind: String,
    pub name: String,
    pub maker: String,
    /// In one line.
    pub what: String,
    /// in_use, set_aside, not_known, retired, lost, given_away or withdrawn.
    pub state: String,
    pub whereabouts: String,
    pub place_id: Option<Uuid>,
    pub owned_count: i64,
    pub out_count: i64,
    /// To mend.
    pub aside_count: i64,
    /// Brought back and not looked over.
    pub unchecked_count: i64,
    pub set_aside_words: Option<String>,
    /// For those who run the pool.
    pub notes: Option<String>,
    /// The data sheet by its kind, units in the names; the same that adding and changing take.
    #[schema(value_type = Object)]
    pub spec: Value,
}

impl Kit {
    fn of(listed: Listed, who: &SignedIn) -> Result<Self, Trouble> {
        let row = row(listed, who)?;
        let Row {
            what,
            state,
            whereabouts,
            ..
        } = &row;
        let (kit, stock) = (&row.listed.kit, row.listed.stock());
        Ok(Self {
            id: kit.id,
            number: kit.number.clone(),
            kind: kit.kind.clone(),
            name: kit.name.clone(),
            maker: kit.maker.clone(),
            what: what.clone(),
            state: (*state).to_owned(),
            whereabouts: whereabouts.clone(),
            place_id: kit.place_id,
            owned_count: stock.owned,
            out_count: stock.out,
            aside_count: stock.aside,
            unchecked_count: stock.unchecked,
            set_aside_words: kit.set_aside_words.clone(),
            notes: who.oversees().then(|| kit.notes.clone()),
            spec: serde_json::to_value(kit.spec()?)
                .map_err(|error| PageError::Internal(error.to_string()))?,
        })
    }
}

impl Shown for Kit {
    fn example() -> Self {
        Self {
            id: document::KIT,
            number: "A-01".to_owned(),
            kind: "adapter".to_owned(),
            state: "in_use".to_owned(),
            owned_count: 8,
            spec: super::kit_changes::adapter(),
            ..Self::default()
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct KitList {
    /// At most 50.
    pub kit: Vec<Kit>,
    /// What to ask for as `page` next; null: there are no more.
    pub next_page: Option<i64>,
}

impl Shown for KitList {
    fn example() -> Self {
        Self {
            kit: vec![Kit::example()],
            next_page: None,
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KitAsked {
    /// charger, supply, cable, adapter or board.
    kind: Option<String>,
    /// In number, kind, name, maker and what it is.
    text: Option<String>,
    place_id: Option<Uuid>,
    /// true: what has left the pool.
    gone: Option<bool>,
    /// true: what is set aside or came back unchecked.
    see_to: Option<bool>,
    /// From 0.
    page: Option<i64>,
}

const PER_PAGE: usize = 50;

pub async fn list(call: Call<KitAsked>) -> Result<KitList, Trouble> {
    let asked = call.sent;
    let kind = asked.kind.as_deref().filter(|kind| !kind.is_empty());
    if kind.is_some_and(|kind| KitKind::from_code(kind).is_none()) {
        let words = "Ask for charger, supply, cable, adapter or board.";
        return Err((&crate::bench::form::Problems::one("kind", words)).into());
    }
    let text = asked.text.unwrap_or_default();
    let page = usize::try_from(asked.page.unwrap_or(0).clamp(0, 10_000)).unwrap_or(0);
    let part = Part {
        kind: kind.and_then(KitKind::from_code),
        place_id: asked.place_id,
        is_gone: asked.gone.unwrap_or(false),
        is_to_see_to: asked.see_to.unwrap_or(false),
        ..Part::ALL_IN_USE
    };
    let found = store::list(&mut call.app.db.read().await?, part).await?;
    let mut rows = Vec::new();
    for listed in found {
        let row = row(listed, &call.who)?;
        if row.suits(&text) {
            rows.push(row.listed);
        }
    }
    let has_more = rows.len() > (page + 1) * PER_PAGE;
    let shown = rows.into_iter().skip(page * PER_PAGE).take(PER_PAGE);
    let kit: Result<Vec<Kit>, Trouble> = shown.map(|listed| Kit::of(listed, &call.who)).collect();
    Ok(KitList {
        kit: kit?,
        next_page: has_more.then(|| i64::try_from(page + 1).ok()).flatten(),
    })
}

pub async fn show(call: Call<Nothing>) -> Result<Kit, Trouble> {
    let me = call.who.me.person_id;
    let seen = store::seen_by(&mut call.app.db.read().await?, call.id, me)
        .await?
        .ok_or(PageError::NotFound)?;
    let is_with_you = seen.own_lent_id.is_some() && !seen.listed.kit.is_counted();
    let kit = Kit::of(seen.listed, &call.who)?;
    Ok(if is_with_you {
        Kit {
            whereabouts: "out: you".to_owned(),
            ..kit
        }
    } else {
        kit
    })
}

pub async fn history(call: Call<BeforeAsked>) -> Result<History, Trouble> {
    let mut conn = call.app.db.read().await?;
    store::by_id(&mut conn, call.id)
        .await?
        .ok_or(PageError::NotFound)?;
    let part = history::part(&mut conn, call.id, &call.sent.as_page()).await?;
    let numbers: Vec<(i64, String)> = part
        .entries
        .iter()
        .map(|entry| (entry.seq, instant(entry.at_ms)))
        .collect();
    let events = crate::web::kit::events(&part.entries, &call.who);
    let entries = numbers.into_iter().zip(events);
    let entries = entries.map(|((seq, at), event)| HistoryEntry {
        seq,
        at,
        words: if event.by.is_empty() {
            event.verb
        } else {
            format!("{}: {}", event.by, event.verb)
        },
        changes: event.changes,
    });
    Ok(History {
        entries: entries.collect(),
        older: part.older,
    })
}
