//! Taking back at the table in one request: what is seen on each thing, then volts of the packs without danger, or why
//! they could not be read. These are the two forms of the pages, one after the other; danger is stored by either though
//! the rest is refused.

use super::condition::Look;
use super::document;
use super::form::{Form, Sent};
use super::loans::{Line, Lines};
use super::operation::Call;
use super::readings::typed;
use super::trouble::Trouble;
use crate::actions::volts_now::is_danger;
use crate::bench::form::{Fields, Problems};
use crate::club::reading::Rested;
use crate::store::loans;
use crate::store::packs;
use crate::web::page::{Page, PageError, ToPutRight};
use crate::web::visit::SignedIn;
use crate::web::volts_form::VoltsForm;
use crate::web::{take_back_items, take_back_volts};
use axum::extract::State;
use axum::http::header;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakenBack {
    /// The line of the loan.
    pub lent_id: Uuid,
    /// nothing or wrong; still_out: it is not here, and yet something is seen on it.
    pub look: String,
    /// Of a pack: what is seen on it.
    #[serde(default)]
    pub condition: Look,
    /// Of kit: what is wrong with it; empty: it is fine.
    #[serde(default)]
    pub kit_words: String,
    /// Of adapters: how many came back; left out: all of them.
    #[serde(default)]
    pub count: Option<i64>,
    /// Of adapters: how many of these are to mend; left out: all that came back.
    #[serde(default)]
    pub to_mend: Option<i64>,
    /// Of each cell, cell 1 first; of a pack without a balance lead the one of the whole pack. Not asked of a pack with
    /// danger seen on it.
    #[serde(default)]
    pub volts_mv: Vec<i64>,
    /// Why the volts could not be read.
    #[serde(default)]
    pub unread: String,
    /// rested_an_hour, rested_a_while or just_used.
    #[serde(default)]
    pub rested: String,
    /// It was asked about as implausible, measured again, and is so.
    #[serde(default)]
    pub is_confirmed: bool,
    /// Where it was put; left out: where it belongs.
    #[serde(default)]
    pub place_id: Option<Uuid>,
}

/// The form's fields are looked through once for each.
const MOST_ITEMS: usize = 200;

#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeBack {
    #[schema(max_items = 200)]
    pub items: Vec<TakenBack>,
}

impl Sent for TakeBack {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        let words = match self.items.len() {
            0 => "Name at least one thing that came back.",
            1..=MOST_ITEMS => "",
            _ => "Take back at most 200 things at once.",
        };
        if !words.is_empty() {
            return Err(Problems::one("items", words));
        }
        let mut problems = Problems::default();
        for (at, item) in self.items.iter().enumerate() {
            let of = format!("items[{at}].");
            let suffix = format!("-{}", item.lent_id);
            form.called(&format!("{of}lent_id"), "shown", item.lent_id);
            let mut name = |sent: &str, field: &str, value: Option<String>| {
                form.maybe(&format!("{of}{sent}"), &format!("{field}{suffix}"), value);
            };
            name("look", "look", Some(item.look.clone()));
            name("kit_words", "kit_words", Some(item.kit_words.clone()));
            name(
                "count",
                "counted",
                item.count.map(|count| count.to_string()),
            );
            name(
                "to_mend",
                "to_mend",
                item.to_mend.map(|count| count.to_string()),
            );
            if let Err(found) = item
                .condition
                .fill(form, &suffix, &format!("{of}condition."))
            {
                for (field, words) in found.list() {
                    problems.add(field, words.clone());
                }
            }
            for (sent, field) in [
                ("volts_mv", "volts_line"),
                ("rested", "rested"),
                ("place_id", "place"),
            ] {
                form.name(&format!("{of}{sent}"), &format!("{field}{suffix}"));
            }
        }
        if problems.is_empty() {
            Ok(())
        } else {
            Err(problems)
        }
    }

    fn example() -> Self {
        Self {
            items: vec![TakenBack {
                lent_id: document::LENT,
                look: "nothing".to_owned(),
                volts_mv: vec![3_820, 3_810, 3_820],
                rested: "rested_an_hour".to_owned(),
                ..TakenBack::default()
            }],
        }
    }
}

/// The second form, about the lines that the first one left open: `asked`, as the address between them names them.
fn volts_form(items: &[&TakenBack], asked: Vec<(String, String)>) -> Vec<(String, String)> {
    let mut pairs = asked;
    for item in items {
        let mut put =
            |name: &str, value: String| pairs.push((format!("{name}-{}", item.lent_id), value));
        for volts in typed(&item.volts_mv) {
            put("volts", volts);
        }
        put("unread", item.unread.replace('\0', ""));
        put("rested", item.rested.replace('\0', ""));
        if item.is_confirmed {
            put("confirmed", "yes".to_owned());
        }
        if let Some(place) = item.place_id {
            put("place", place.to_string());
        }
    }
    pairs
}

fn pairs_of(query: &str) -> Vec<(String, String)> {
    let pairs = query.split('&').filter_map(|pair| pair.split_once('='));
    pairs
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect()
}

pub async fn take_back(call: Call<TakeBack>, form: Fields) -> Page {
    let looked = take_back_items::look(State(call.app.clone()), call.who.clone(), form).await?;
    if looked.extensions().get::<ToPutRight>().is_some() {
        return keep_dangerous_volts(call, looked).await;
    }
    let place = looked.headers().get(header::LOCATION);
    let place = place
        .and_then(|place| place.to_str().ok())
        .unwrap_or_default();
    let Some(query) = place.strip_prefix("/take-back/volts?") else {
        return Ok(looked);
    };
    let asked = pairs_of(query);
    let is_asked = |item: &&TakenBack| {
        let id = item.lent_id.to_string();
        asked
            .iter()
            .any(|(name, value)| name == "volts" && *value == id)
    };
    let items: Vec<&TakenBack> = call.sent.items.iter().filter(is_asked).collect();
    let mut fields = Fields::new(volts_form(&items, asked.clone()));
    if let Some(key) = &call.key {
        fields.put("key", &format!("{key} volts"));
        fields.put("request", &call.request);
    }
    take_back_volts::take_back(State(call.app), call.who, fields).await
}

/// What was seen must be put right before the rest is taken back; a dangerous reading does not wait for that.
async fn keep_dangerous_volts(call: Call<TakeBack>, looked: axum::response::Response) -> Page {
    let by = call.who.by(&Fields::default());
    let ids: Vec<Uuid> = call.sent.items.iter().map(|item| item.lent_id).collect();
    let lines = packs::of_lines(&mut call.app.db.read().await?, &ids).await?;
    let mut dangerous = Vec::new();
    let mut numbers = Vec::new();
    for item in &call.sent.items {
        let line = lines.iter().find(|line| line.line_id == item.lent_id);
        let Some(line) = line.filter(|line| line.pack.lent_id == Some(item.lent_id)) else {
            continue;
        };
        let mut volts = VoltsForm {
            boxes: typed(&item.volts_mv),
            is_confirmed: item.is_confirmed,
            ..VoltsForm::default()
        };
        let rested = Rested::from_code(&item.rested);
        let read = volts.measured_now(&by, &line.pack, rested, call.who.numbers());
        if read.is_ok_and(|measured| is_danger(&by, &line.pack, &measured)) {
            dangerous.push(item);
            numbers.push(line.pack.number.clone());
        }
    }
    if dangerous.is_empty() {
        return Ok(looked);
    }
    let asked = dangerous
        .iter()
        .map(|item| ("volts".to_owned(), item.lent_id.to_string()));
    let fields = Fields::new(volts_form(&dangerous, asked.collect()));
    take_back_volts::take_back(State(call.app), call.who, fields).await?;
    let mut looked = looked;
    if let Some(told) = looked.extensions_mut().get_mut::<ToPutRight>() {
        told.stored.extend(numbers);
    }
    Ok(looked)
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LinesAsked {
    /// Ids of lines, with commas between them; at most 200.
    lent: String,
}

pub async fn done(call: Call<LinesAsked>) -> Result<Lines, Trouble> {
    let ids: Vec<Uuid> = call
        .sent
        .lent
        .split(',')
        .filter_map(|id| id.trim().parse().ok())
        .take(MOST_ITEMS)
        .collect();
    let mut found = loans::lines_among(&mut call.app.db.read().await?, &ids).await?;
    if found.is_empty() {
        return Err(PageError::NotFound.into());
    }
    found.sort_by_key(|line| ids.iter().position(|id| *id == line.out.lent_id));
    Ok(Lines {
        lines: found
            .into_iter()
            .map(|line| Line::of(line, &call.who))
            .collect(),
    })
}
