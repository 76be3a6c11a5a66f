//! Charge logs of a pack: the list, and bringing one in. Its file is read back before anything of it is stored: `read_back`.
//! One that is stored: `one`. What a log shows, on either: `shown`.

mod drawn;
mod one;
mod read_back;
mod shown;

pub use one::{remove, show};
pub use read_back::{choose, forget, keep, read_back};

use crate::actions::bring_in::off_the_threads;
use crate::actions::charge_logs::{self as action, ChargeLogRefusal};
use crate::app::App;
use crate::battery::log::counters::amount;
use crate::bench::typed::Words;
use crate::club::calendar::day_words;
use crate::club::charge_log::read_back::{Choices, check};
use crate::club::charge_log::which_charge::may_be_of;
use crate::club::log_file::MOST_BYTES;
use crate::ids::digest_of;
use crate::store::charges::Charge;
use crate::store::charges::logs::{self as store, Arrived, Listed};
use crate::store::{Conn, StoreError};
use crate::web::asked::{Path, Query};
use crate::web::fields::Problems;
use crate::web::pack::{again, named};
use crate::web::page::{self, Page, PageError};
use crate::web::upload::{File, Upload};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "charge_logs/list.html")]
struct ListPage {
    shell: Shell,
    number: String,
    rows: Vec<Row>,
    may_bring_in: bool,
}

struct Row {
    id: Uuid,
    when: String,
    moved: String,
    told: Vec<String>,
}

/// GET /packs/{number}/charge-logs
pub async fn list(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    let pack = named(&app, &number).await?;
    let found = store::of_pack(&mut app.db.read().await?, pack.id).await?;
    page::show(&ListPage {
        shell: who.shell(format!("Charge logs of {}", pack.number)),
        may_bring_in: who.me.roles().may_log_volts(),
        rows: found.iter().map(|log| row(log, &who)).collect(),
        number: pack.number,
    })
}

/// Logs that may be of a recorded charge: where each is, and what it says.
pub async fn of_charge(
    conn: &mut Conn,
    charge: &Charge,
    who: &SignedIn,
) -> Result<Vec<(Uuid, String)>, StoreError> {
    let found = store::of_pack(conn, charge.pack_id).await?;
    let of_it = found
        .iter()
        .filter(|log| may_be_of(log.logged(), charge.recorded(), &who.zone));
    let words = |log: &Listed| format!("{}: {}", log.name, moved(log, who.numbers()));
    Ok(of_it.map(|log| (log.id, words(log))).collect())
}

fn row(log: &Listed, who: &SignedIn) -> Row {
    let numbers = who.numbers();
    let mut told = Vec::new();
    if let Some(words) = capacity(log, numbers) {
        told.push(words);
    }
    if let Some(uohm) = log.resistance_uohm {
        let words = format!("{} a cell", shown::milliohm(uohm as f64 / 1_000.0));
        told.push(numbers.sentence(&words));
    }
    told.push(format!("{}{}", log.name, by(log, who)));
    Row {
        id: log.id,
        when: when(log, who),
        moved: moved(log, numbers),
        told,
    }
}

/// The day it was logged, as told; else when it was brought in.
fn when(log: &Listed, who: &SignedIn) -> String {
    let day = log.logged_on().map(day_words);
    day.unwrap_or_else(|| who.zone.date_words(log.added_ms))
}

/// `, by Quinn`, for those who may know.
fn by(log: &Listed, who: &SignedIn) -> String {
    match &log.added_by_name {
        Some(name) if who.me.roles().may_see_holders() => format!(", by {name}"),
        _ => String::new(),
    }
}

/// `2245 mAh out`, `22 mAh in and 22 mAh out`
fn moved(log: &Listed, numbers: Words) -> String {
    let told = [(log.charged_uah, "in"), (log.discharged_uah, "out")];
    let told = told.into_iter().filter(|(uah, _)| *uah > 0);
    let told: Vec<String> = told
        .map(|(uah, way)| format!("{} {way}", amount(ah(uah))))
        .collect();
    match told.is_empty() {
        true => "nothing flowed".to_owned(),
        false => numbers.sentence(&told.join(" and ")),
    }
}

fn ah(uah: i64) -> f64 {
    uah as f64 / 1e6
}

/// `capacity 2245 mAh`
fn capacity(log: &Listed, numbers: Words) -> Option<String> {
    let words = format!("capacity {}", amount(ah(log.capacity_uah?)));
    Some(numbers.sentence(&words))
}

#[derive(Template)]
#[template(path = "charge_logs/new.html")]
struct NewPage {
    shell: Shell,
    problems: Problems,
    number: String,
    is_forgotten: bool,
    waiting: Vec<(Uuid, String, When)>,
}

page::puts_right!(NewPage);

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    forgotten: String,
}

async fn new_page(
    app: &App,
    who: &SignedIn,
    number: &str,
    problems: Problems,
) -> Result<NewPage, PageError> {
    let pack = named(app, number).await?;
    let mut conn = app.db.read().await?;
    let waiting = store::waiting_for(&mut conn, pack.id, who.me.person_id).await?;
    let title = format!("Bring in a charge log of {}", pack.number);
    let waiting = waiting.into_iter();
    Ok(NewPage {
        shell: match problems.is_empty() {
            true => who.shell(title),
            false => who.shell_refused(title),
        },
        problems,
        number: pack.number,
        is_forgotten: false,
        waiting: waiting
            .map(|(id, name, at)| (id, name, past(at, who.now, &who.zone)))
            .collect(),
    })
}

/// GET /packs/{number}/charge-logs/new
pub async fn ask(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(told): Query<Told>,
) -> Page {
    let page = new_page(&app, &who, &number, Problems::default()).await?;
    page::show(&NewPage {
        is_forgotten: !told.forgotten.is_empty(),
        ..page
    })
}

const TOO_LARGE: &str =
    "A log has at most 10 MB. Save fewer readings a minute, or bring it in in parts.";

/// POST /packs/{number}/charge-logs/new
pub async fn send(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    upload: Upload<MOST_BYTES>,
) -> Page {
    let number = named(&app, &number).await?.number;
    let by = who.by(&upload.fields);
    let words = match split(upload.file).await? {
        Err(words) => words,
        Ok((file, digest)) => {
            let arrived = Arrived {
                name: &file.name,
                original_sha256: &digest,
                file: &file.bytes,
                choices: &Choices::default(),
            };
            return led(action::send(&app.db, &by, &number, &arrived).await);
        }
    };
    let problems = Problems::one("log", words);
    page::put_right(&new_page(&app, &who, &number, problems).await?)
}

/// A file that is a table at all, whatever its columns are, and its digest.
async fn split(file: Option<File>) -> Result<Result<(File, String), String>, PageError> {
    let Some(file) = file else {
        return Ok(Err("Choose the log's file.".to_owned()));
    };
    if file.is_too_large {
        return Ok(Err(TOO_LARGE.to_owned()));
    }
    let work = move || match check(&file.bytes, &Choices::default()) {
        Ok(_) => {
            let digest = digest_of(&file.bytes);
            Ok((file, digest))
        }
        Err(problem) => Err(problem.to_string()),
    };
    Ok(off_the_threads(work).await?)
}

/// Where a step led.
fn led(outcome: Result<String, ChargeLogRefusal>) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(ChargeLogRefusal::Repeat(repeat)) => again(&repeat),
        Err(ChargeLogRefusal::Store(error)) => Err(error.into()),
        Err(ChargeLogRefusal::NoPack | ChargeLogRefusal::NoLog) => Err(PageError::NotFound),
        Err(refusal @ (ChargeLogRefusal::NotYours | ChargeLogRefusal::NotYoursToRemove)) => {
            Err(PageError::NotYours(refusal.to_string()))
        }
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
