//! The readings of one pack: what they tell together, volts, rest, what was said beside them, and which of them were wrong.

use crate::app::App;
use crate::battery::volts::{Volts, words};
use crate::club::reading::beside::{Beside, Charge, Context};
use crate::store::readings::{self, Corrections, OnPage, Reading};
use crate::web::asked::Path;
use crate::web::pack::named;
use crate::web::page::{self, Page};
use crate::web::readings_told::ReadingsTold;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;

const MOST: usize = 500;

#[derive(Template)]
#[template(path = "readings.html")]
struct ReadingsPage {
    shell: Shell,
    number: String,
    rows: Vec<ReadingRow>,
    told: ReadingsTold,
    /// Of one of them more is on record than volts and rest.
    has_beside: bool,
    /// May correct them.
    reads: bool,
}

struct ReadingRow {
    id: uuid::Uuid,
    when: When,
    volts: String,
    rested: String,
    /// `5.1 4.9 5.3 mΩ at 21 °C`
    resistance: String,
    charge: String,
    /// What it was about, and what it was read with.
    about: String,
    is_corrected: bool,
    /// The volts that it corrects.
    corrects: String,
}

/// As a page tells it: the volts, or why nothing was read.
pub(super) fn volts_of(reading: &Reading, who: &SignedIn) -> String {
    let volts = reading.volts.as_deref().and_then(Volts::from_text);
    volts.map_or_else(
        || {
            let why = reading.unread_words.as_deref().unwrap_or_default();
            format!("not read: {why}")
        },
        |volts| who.numbers().sentence(&words(&volts)),
    )
}

fn resistance_of(beside: &Beside, who: &SignedIn) -> String {
    let cells = beside.resistance.as_ref();
    let cells = cells.map(|cells| format!("{} mΩ", who.numbers().sentence(&cells.words())));
    let celsius = beside.celsius.map(|celsius| format!("{celsius} °C"));
    match (cells, celsius) {
        (Some(cells), Some(celsius)) => format!("{cells} at {celsius}"),
        (one, other) => one.or(other).unwrap_or_default(),
    }
}

fn about(beside: &Beside) -> String {
    let context = beside.context.map(Context::label).map(str::to_owned);
    let said: Vec<String> = [context, beside.read_with()]
        .into_iter()
        .flatten()
        .collect();
    said.join(", ")
}

fn row(reading: &Reading, corrections: &Corrections, who: &SignedIn) -> ReadingRow {
    let beside = reading.beside();
    ReadingRow {
        id: reading.id,
        when: past(reading.taken_ms, who.now, &who.zone),
        volts: volts_of(reading, who),
        rested: match reading.rested_minutes {
            _ if reading.volts.is_none() => String::new(),
            0 => "just used".to_owned(),
            minutes => format!("rested {minutes} min"),
        },
        resistance: resistance_of(&beside, who),
        charge: beside.charge.map_or_else(String::new, Charge::words),
        about: about(&beside),
        is_corrected: corrections.is_corrected(reading),
        corrects: corrections
            .wrong_of(reading)
            .map_or_else(String::new, |wrong| volts_of(wrong, who)),
    }
}

/// GET /packs/{number}/readings
pub async fn all_readings(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
) -> Page {
    let pack = named(&app, &number).await?;
    let OnPage {
        latest: found,
        for_health,
        sisters,
    } = readings::on_page(&mut app.db.read().await?, (pack.id, pack.design_id), MOST).await?;
    let corrections = Corrections::among(&found);
    page::show(&ReadingsPage {
        shell: who.shell(format!("Readings of {}", pack.number)),
        told: ReadingsTold::of(&pack, (&for_health, &sisters), &who),
        number: pack.number,
        has_beside: found.iter().any(|reading| !reading.beside().is_empty()),
        rows: found
            .iter()
            .map(|reading| row(reading, &corrections, &who))
            .collect(),
        reads: who.me.roles().may_log_volts(),
    })
}
