//! Volts of many packs on one page: those of one place, the longest unread first. What is right is stored, what is not comes back
//! as it was typed, and dangerous volts are stored whatever is wrong beside them.

use crate::actions::By;
use crate::actions::reading::LogVoltsRefusal;
use crate::actions::reading_round::{OfPack, OnRecord, log_round};
use crate::actions::volts_now::is_danger;
use crate::app::App;
use crate::bench::form::Refusal;
use crate::club::beside_form::BesideForm;
use crate::club::states;
use crate::store::places::{self, Place};
use crate::store::readings::to_read::{self, MOST, ToRead};
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::reading_round_typed::{PackToRead, ReadOnOne, read_all};
use crate::web::stop::Stop;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(stored RoundPage);

const TITLE: &str = "Log volts of many packs";
const TOO_MANY: &str = "The form names more packs than a page shows, so nothing was changed. Open the page again and fill it in there.";

#[derive(Template)]
#[template(path = "reading_round.html")]
struct RoundPage {
    shell: Shell,
    problems: Problems,
    /// Where the packs lie; empty: wherever.
    place: String,
    places: Vec<(String, String)>,
    packs: Vec<PackToRead>,
    has_more: bool,
    rested: String,
    /// What is said once for all packs.
    shared: BesideForm,
    meters: Vec<String>,
    has_decimal_comma: bool,
    /// Numbers of packs whose reading is on record since the page was opened.
    done: Vec<String>,
    /// Those among them that are dangerous and whose form was refused.
    stored: Vec<String>,
}

impl RoundPage {
    fn of(who: &SignedIn, shell: Shell, all: &[ToRead], fields: &Fields) -> Self {
        let mut meters: Vec<String> = all.iter().filter_map(|one| one.meter.clone()).collect();
        meters.sort();
        meters.dedup();
        let packs = all.iter().map(|one| PackToRead::of(one, who, fields));
        Self {
            shell,
            problems: Problems::default(),
            place: fields.text("place"),
            places: Vec::new(),
            packs: packs.collect(),
            has_more: false,
            rested: fields.text("rested"),
            shared: BesideForm::of_one_among(fields, ""),
            meters,
            has_decimal_comma: who.club.uses_decimal_comma,
            done: Vec::new(),
            stored: Vec::new(),
        }
    }
}

fn choices(all: Vec<Place>) -> Vec<(String, String)> {
    let each = all.into_iter();
    each.map(|place| (place.id.to_string(), place.name))
        .collect()
}

#[derive(Default, Deserialize)]
#[serde(default)]
pub struct Wanted {
    place: String,
}

/// GET /readings/many
pub async fn ask(State(app): State<App>, who: SignedIn, Query(wanted): Query<Wanted>) -> Page {
    let mut conn = app.db.read().await?;
    let places = places::all_open(&mut conn).await?;
    let place = places.iter().find(|one| one.id.to_string() == wanted.place);
    let place_id = place.map(|place| place.id);
    let is_known = wanted.place.is_empty() || place_id.is_some();
    let mut all = if is_known {
        to_read::longest_unread(&mut conn, place_id).await?
    } else {
        Vec::new()
    };
    drop(conn);
    let has_more = all.len() > MOST;
    all.truncate(MOST);
    let mut fields = Fields::default();
    fields.put("place", &wanted.place);
    let page = RoundPage::of(&who, who.shell(TITLE), &all, &fields);
    page::show(&RoundPage {
        places: choices(places),
        has_more,
        ..page
    })
}

/// POST /readings/many
pub async fn log(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let (numbers, done) = (each_once(&fields, "pack"), each_once(&fields, "done"));
    if numbers.len() > MOST || done.len() > MOST {
        return Err(PageError::Unreadable(TOO_MANY.to_owned()));
    }
    let mut conn = app.db.read().await?;
    let all = to_read::with_numbers(&mut conn, &[numbers.clone(), done.clone()].concat()).await?;
    drop(conn);
    // In the order of the page.
    let of = |number: &String| all.iter().find(|one| one.pack.number == *number).cloned();
    let asked: Vec<ToRead> = numbers.iter().filter_map(of).collect();
    let mut page = RoundPage::of(&who, who.shell_refused(TITLE), &asked, &fields);
    page.done = done
        .iter()
        .filter_map(of)
        .map(|one| one.pack.number)
        .collect();
    let by = who.by(&fields);
    let read;
    (read, page.problems) = read_all(&mut page.packs, &page.rested, &by, who.numbers());
    if page.problems.is_empty() {
        return match keep(&app, &by, &mut page, &read).await? {
            Kept::All(address) => page::go_to(&address),
            Kept::Before(answer) => answer,
            Kept::NotAll => put_right(&app, &who, page).await,
        };
    }
    // Sent again, it is another form: what holds now is kept under no key.
    let keyless = who.by(&Fields::default());
    keep(&app, &keyless, &mut page, &read).await?;
    put_right(&app, &who, page).await
}

fn each_once(fields: &Fields, name: &str) -> Vec<String> {
    let mut numbers: Vec<String> = Vec::new();
    for number in fields.all(name) {
        if !numbers.contains(&number) {
            numbers.push(number);
        }
    }
    numbers
}

enum Kept {
    /// The page that tells what came of it.
    All(String),
    /// The same form was carried out before.
    Before(Page),
    NotAll,
}

/// Stores what is right and what is dangerous. What is done with leaves the page.
async fn keep(
    app: &App,
    by: &By,
    page: &mut RoundPage,
    read: &[ReadOnOne],
) -> Result<Kept, PageError> {
    let mut now = Vec::new();
    for (one, of_it) in page.packs.iter().flat_map(|one| with_read(one, read)) {
        let Some(measured) = &of_it.measured else {
            continue;
        };
        if of_it.is_right || is_danger(by, &one.pack, measured) {
            now.push(OfPack {
                pack_id: of_it.pack_id,
                logged: one.logged(measured, &of_it.beside),
            });
        }
    }
    let place_id = page.place.parse().ok();
    let round = match log_round(&app.db, by, &now, (&page.done, place_id)).await {
        Ok(round) => round,
        Err(LogVoltsRefusal::Repeat(repeat)) => return Ok(Kept::Before(again(&repeat))),
        Err(LogVoltsRefusal::Store(error)) => return Err(error.into()),
        Err(refusal) => return Err(PageError::Refused(refusal.to_string())),
    };
    for (pack_id, refusal) in &round.refused {
        let refused = page.packs.iter().find(|one| one.pack.id == *pack_id);
        if let Some(one) = refused {
            let words = format!("{}: {refusal}", one.pack.number);
            let problem = Problems::one(&one.field("volts_line"), words).by(refusal.against());
            page.problems.extend(problem);
        }
    }
    let is_all = page.problems.is_empty();
    for on_record in round.stored {
        take_off(page, read, on_record);
    }
    Ok(if is_all {
        Kept::All(round.address)
    } else {
        Kept::NotAll
    })
}

fn with_read<'a>(
    one: &'a PackToRead,
    read: &'a [ReadOnOne],
) -> Option<(&'a PackToRead, &'a ReadOnOne)> {
    let of_it = read.iter().find(|read| read.pack_id == one.pack.id)?;
    Some((one, of_it))
}

/// A pack whose reading is on record needs nothing more, unless it is a danger with something wrong beside it.
fn take_off(page: &mut RoundPage, read: &[ReadOnOne], on_record: OnRecord) {
    let is_it = |read: &ReadOnOne| read.pack_id == on_record.pack_id;
    if read.iter().any(|read| is_it(read) && read.is_right) {
        page.packs.retain(|one| one.pack.id != on_record.pack_id);
    } else {
        let left = page.packs.iter_mut();
        for one in left.filter(|one| one.pack.id == on_record.pack_id) {
            one.corrects = Some(on_record.reading_id);
        }
        page.stored.push(on_record.number.clone());
    }
    if !page.done.contains(&on_record.number) {
        page.done.push(on_record.number);
    }
}

async fn put_right(app: &App, who: &SignedIn, mut page: RoundPage) -> Page {
    let mut conn = app.db.read().await?;
    let places = places::all_open(&mut conn).await?;
    // As they stand now that their danger is on record.
    for now in to_read::with_numbers(&mut conn, &page.stored).await? {
        let left = page.packs.iter_mut();
        for one in left.filter(|one| one.pack.id == now.pack.id) {
            one.row = PackRow::of(&now.pack, who);
        }
    }
    drop(conn);
    page::put_right(&RoundPage {
        places: choices(places),
        ..page
    })
}

#[derive(Template)]
#[template(path = "reading_round_done.html")]
struct DonePage {
    shell: Shell,
    rows: Vec<PackRow>,
    /// Where the round goes on.
    next: String,
    /// A place that holds more energy than it may since.
    over: Option<Uuid>,
}

#[derive(Default, Deserialize)]
#[serde(default)]
pub struct Done {
    read: String,
    place: String,
    over: String,
}

impl DonePage {
    /// Danger was just read from it.
    fn stop(&self, row: &PackRow) -> Option<Stop> {
        let is_dangerous = row.state == states::State::Quarantine;
        is_dangerous.then(|| {
            if row.is_lent {
                Stop::out()
            } else {
                Stop::here()
            }
        })
    }
}

/// GET /readings/done
pub async fn done(State(app): State<App>, who: SignedIn, Query(done): Query<Done>) -> Page {
    let numbers = done.read.split(',').filter(|number| !number.is_empty());
    let numbers: Vec<String> = numbers.take(2 * MOST).map(str::to_owned).collect();
    let found = to_read::with_numbers(&mut app.db.read().await?, &numbers).await?;
    let place: Option<Uuid> = done.place.parse().ok();
    let place = place.map_or_else(String::new, |id| format!("?place={id}"));
    page::show(&DonePage {
        shell: who.shell("Volts logged"),
        rows: found
            .iter()
            .map(|one| PackRow::of(&one.pack, &who))
            .collect(),
        next: format!("/readings/many{place}"),
        over: done.over.parse().ok(),
    })
}
