//! Taking back at the table in one request: what is seen on each thing, then volts of the packs without danger, or why
//! they could not be read. These are the two forms of the pages, one after the other. All that the second would refuse is
//! weighed before the first is carried out (`take_back_check`), so that a request is done or refused as a whole; danger
//! alone is stored though the rest is refused.

use super::condition::Condition;
use super::document;
use super::form::{self, Form, Sent};
use super::loans::{Line, Lines};
use super::operation::Call;
use super::readings::typed;
use super::take_back_check::Things;
use super::trouble::Trouble;
use crate::bench::form::{Against, Fields, Problems};
use crate::store::{StoreError, keys, loans};
use crate::web::page::{self, Page, PageError, ToPutRight};
use crate::web::visit::SignedIn;
use crate::web::{take_back_items, take_back_volts};
use axum::extract::State;
use axum::http::header;
use axum::response::Response;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakenBack {
    /// The line of the loan; each once.
    pub lent_id: Uuid,
    /// nothing or wrong; still_out: it is not here, and yet something is seen on it.
    pub look: String,
    /// Of a pack: what is seen on it.
    #[serde(default)]
    pub condition: Condition,
    /// Of kit: what is wrong with it; empty: it is fine.
    #[serde(default)]
    pub kit_words: String,
    /// Of adapters: how many came back; left out: all of them.
    #[serde(default)]
    pub count: Option<i64>,
    /// Of adapters: how many of these are to mend; left out: all that came back.
    #[serde(default)]
    pub to_mend: Option<i64>,
    /// Of each cell, cell 1 first; of a pack without a balance lead the one of the whole pack. Not of a pack with danger
    /// seen on it, nor of one that is still out.
    #[serde(default)]
    pub volts_mv: Vec<i64>,
    /// Why the volts could not be read.
    #[serde(default)]
    #[schema(max_length = 300)]
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

impl TakenBack {
    pub fn says_volts(&self) -> bool {
        !self.volts_mv.is_empty() || !self.unread.trim().is_empty()
    }
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
                ("unread", "unread"),
                ("rested", "rested"),
                ("place_id", "place"),
            ] {
                form.name(&format!("{of}{sent}"), &format!("{field}{suffix}"));
            }
        }
        problems.or_none()
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

/// The second form, about these things: `errand` is what the address between the two says of it.
pub fn volts_form(items: &[&TakenBack], errand: Vec<(String, String)>) -> Vec<(String, String)> {
    let mut pairs = errand;
    for item in items {
        let asked = ("volts".to_owned(), item.lent_id.to_string());
        if !pairs.contains(&asked) {
            pairs.push(asked);
        }
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

pub async fn take_back(call: Call<TakeBack>, form: Fields) -> Page {
    // The first form was carried out when this request came before; its things are weighed no more.
    if let Some(address) = call.given.clone() {
        return go_on(call, &address).await;
    }
    let things = Things::named(&call, &form).await?;
    let problems = things.problems(&call).await?;
    if !problems.is_empty() {
        let stored = things.keep_danger(&call).await?;
        return form::refused(ToPutRight {
            stored,
            ..(&problems).into()
        });
    }
    let mut looked = take_back_items::look(State(call.app.clone()), call.who.clone(), form).await?;
    if let Some(told) = looked.extensions_mut().get_mut::<ToPutRight>() {
        // What was seen must be put right first; a dangerous reading does not wait for that.
        told.stored
            .extend(things.keep_dangerous_volts(&call).await?);
        return Ok(looked);
    }
    let address = place_of(&looked).to_owned();
    go_on(call, &address).await
}

fn place_of(response: &Response) -> &str {
    let place = response.headers().get(header::LOCATION);
    place
        .and_then(|place| place.to_str().ok())
        .unwrap_or_default()
}

/// The second form, after the first led to `address`: of the packs that are asked for there, and of those that somebody
/// else booked in meanwhile and that were read all the same.
async fn go_on(call: Call<TakeBack>, address: &str) -> Page {
    let (_, query) = address.split_once('?').unwrap_or_default();
    let errand: Vec<(String, String)> = query
        .split('&')
        .filter_map(|pair| pair.split_once('='))
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
    let is_asked = |item: &&TakenBack| {
        let asked = ("volts".to_owned(), item.lent_id.to_string());
        item.says_volts() || errand.contains(&asked)
    };
    let items: Vec<&TakenBack> = call.sent.items.iter().filter(is_asked).collect();
    if items.is_empty() {
        return page::go_to(address);
    }
    let mut fields = Fields::new(volts_form(&items, errand.clone()));
    if let Some(key) = &call.key {
        let key = format!("{key} volts");
        let given = keys::answered(&mut call.app.db.read().await?, &key).await?;
        if let Some(given) = given {
            return page::go_to(&given.answer);
        }
        fields.put("key", &key);
        fields.put("request", &call.request);
    }
    let read = take_back_volts::take_back(State(call.app.clone()), call.who.clone(), fields).await;
    match read {
        Ok(mut response) => {
            if let Some(told) = response.extensions_mut().get_mut::<ToPutRight>() {
                told.taken_back = taken_back(&call, &errand).await?;
            }
            Ok(response)
        }
        Err(PageError::Refused(words)) => form::refused(ToPutRight {
            taken_back: taken_back(&call, &errand).await?,
            ..(&Problems::one("items", words).by(Against::Rule)).into()
        }),
        Err(error) => Err(error),
    }
}

/// Numbers of what the first form booked in; the second was refused after all, for what changed between the two.
async fn taken_back(
    call: &Call<TakeBack>,
    errand: &[(String, String)],
) -> Result<Vec<String>, StoreError> {
    let ids = |wanted: &str| -> Vec<Uuid> {
        let of_it = errand.iter().filter(|(name, _)| name == wanted);
        of_it.filter_map(|(_, id)| id.parse().ok()).collect()
    };
    let (asked, mut done) = (ids("volts"), ids("lent"));
    done.retain(|id| !asked.contains(id));
    let lines = loans::lines_among(&mut call.app.db.read().await?, &done).await?;
    let closed = lines.into_iter().filter(|line| !line.is_out());
    Ok(closed.map(|line| line.out.number).collect())
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
