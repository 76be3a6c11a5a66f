//! Kit to look at: the list, one thing with its data sheet, its history. Members read that a thing is out, not with whom,
//! and no notes. What is done about it is `kit_changes`.

use super::document;
use super::history::{BeforeAsked, History, HistoryEntry};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::bench::kit::KitKind;
use crate::store::kit as store;
use crate::web::history;
use crate::web::kit::{Row, row};
use crate::web::kit_list::{Filter, one_page_of};
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
    /// For those who run the pool; null for others.
    pub notes: Option<String>,
    /// The data sheet by its kind, units in the names; the same that adding and changing take.
    #[schema(value_type = Object)]
    pub spec: Value,
}

impl Kit {
    fn of(row: Row, who: &SignedIn) -> Result<Self, Trouble> {
        let stock = row.listed.stock();
        let kit = row.listed.kit;
        let spec = serde_json::to_value(kit.spec()?)
            .map_err(|error| PageError::Internal(error.to_string()))?;
        Ok(Self {
            id: kit.id,
            number: kit.number,
            kind: kit.kind,
            name: kit.name,
            maker: kit.maker,
            what: row.what,
            state: row.state.to_owned(),
            whereabouts: row.whereabouts,
            place_id: kit.place_id,
            owned_count: stock.owned,
            out_count: stock.out,
            aside_count: stock.aside,
            unchecked_count: stock.unchecked,
            set_aside_words: kit.set_aside_words,
            notes: who.me.roles().may_read_notes().then_some(row.notes),
            spec,
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
    /// In number, kind, name, maker and what it is; for those who run the pool in notes too.
    text: Option<String>,
    place_id: Option<Uuid>,
    /// true: what has left the pool.
    gone: Option<bool>,
    /// true: what is set aside or came back unchecked.
    see_to: Option<bool>,
    /// From 0.
    page: Option<i64>,
}

pub async fn list(call: Call<KitAsked>) -> Result<KitList, Trouble> {
    let asked = call.sent;
    let kind = asked.kind.as_deref().filter(|kind| !kind.is_empty());
    if kind.is_some_and(|kind| KitKind::from_code(kind).is_none()) {
        let words = "Ask for charger, supply, cable, adapter or board.";
        return Err((&crate::bench::form::Problems::one("kind", words)).into());
    }
    let ticked = |is_ticked: Option<bool>| match is_ticked {
        Some(true) => "yes".to_owned(),
        _ => String::new(),
    };
    let filter = Filter {
        kind: kind.unwrap_or_default().to_owned(),
        text: asked.text.unwrap_or_default(),
        place: asked.place_id.map_or_else(String::new, |id| id.to_string()),
        gone: ticked(asked.gone),
        see_to: ticked(asked.see_to),
        page: asked.page.unwrap_or(0).clamp(0, 10_000).to_string(),
    };
    let (rows, has_more) = one_page_of(&call.app, &call.who, &filter).await?;
    let kit: Result<Vec<Kit>, Trouble> = rows
        .into_iter()
        .map(|row| Kit::of(row, &call.who))
        .collect();
    let next = i64::try_from(filter.page() + 1).ok();
    Ok(KitList {
        kit: kit?,
        next_page: next.filter(|_| has_more),
    })
}

pub async fn show(call: Call<Nothing>) -> Result<Kit, Trouble> {
    let me = call.who.me.person_id;
    let seen = store::seen_by(&mut call.app.db.read().await?, call.id, me)
        .await?
        .ok_or(PageError::NotFound)?;
    let is_with_you = seen.own_lent_id.is_some() && !seen.listed.kit.is_counted();
    let kit = Kit::of(row(seen.listed, &call.who)?, &call.who)?;
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
