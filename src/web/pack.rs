//! One pack: its state and why, its cells, what may be done now, what stands against it, its whole history.

use crate::actions::once::Repeat;
use crate::app::App;
use crate::battery::volts::{Volts, words};
use crate::bench::typed::Words;
use crate::club::calendar::{Day, day_words};
use crate::club::states::{Life, State as PackState};
use crate::club::verdict::Gravity;
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::{log, readings};
use crate::web::asked::Path;
use crate::web::log_page::Line;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "pack.html")]
struct PackPage {
    shell: Shell,
    row: PackRow,
    pack: PackView,
    facts: Vec<(&'static str, String)>,
    open: Vec<OpenFinding>,
    history: Vec<Line>,
    is_quartermaster: bool,
    /// What was seen never lets it back to use: neither volts nor a release are asked for.
    is_final: bool,
    can_release: bool,
    is_in_use: bool,
    is_lost: bool,
    is_mine: bool,
    may_borrow: bool,
    /// Logs volts and handles packs; an organiser alone does not.
    reads: bool,
}

struct OpenFinding {
    id: uuid::Uuid,
    words: String,
    next: String,
    since: When,
    can_be_mended: bool,
}

/// The pack an address names, or 'not here'.
pub async fn named(app: &App, number: &str) -> Result<PackView, PageError> {
    let mut conn = app.db.read().await?;
    packs::by_number(&mut conn, &number.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)
}

/// A form sent again leads where it led the first time.
pub fn again(repeat: &Repeat) -> Page {
    match repeat {
        Repeat::Done(address) => page::go_to(address),
        Repeat::OtherBody => Err(PageError::Refused(repeat.to_string())),
    }
}

/// GET /packs/{number}
pub async fn show(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    let mut conn = app.db.read().await?;
    let (pack, open) = findings::with_pack(&mut conn, &number.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)?;
    let history = log::of_subject(&mut conn, pack.id, i64::MAX, 200).await?;
    drop(conn);
    let row = PackRow::of(&pack, &who);
    let is_quartermaster = who.me.is_quartermaster;
    let is_final = open
        .iter()
        .any(|found| found.gravity() == Gravity::FinalDanger);
    page::show(&PackPage {
        shell: who.shell(pack.number.clone()),
        facts: facts(&pack, who.numbers()),
        is_final,
        can_release: row.state == PackState::Quarantine
            && !is_final
            && (is_quartermaster || who.me.is_organiser),
        open: open.iter().map(|found| told(found, &who)).collect(),
        history: history
            .into_iter()
            .map(|entry| Line::of(entry, &who))
            .collect(),
        is_quartermaster,
        is_in_use: pack.life() == Life::InUse,
        is_lost: pack.life() == Life::Lost,
        is_mine: pack.holder_id == Some(who.me.person_id),
        reads: who.me.roles().may_log_volts(),
        may_borrow: row.state.is_lendable()
            && !pack.is_lent()
            && (is_quartermaster || who.me.is_member && who.club.may_members_borrow),
        row,
        pack,
    })
}

fn told(found: &Found, who: &SignedIn) -> OpenFinding {
    let by_person = found.rule().is_some_and(|rule| {
        crate::club::release::may_mend(rule, found.gravity(), who.me.is_quartermaster, "asked")
            .is_ok()
    });
    OpenFinding {
        id: found.id,
        words: who.numbers().sentence(&found.words),
        next: who.numbers().sentence(&found.next_words),
        since: past(found.found_ms, who.now, &who.zone),
        can_be_mended: by_person && found.gravity() < Gravity::Danger,
    }
}

fn facts(pack: &PackView, numbers: Words) -> Vec<(&'static str, String)> {
    let rate = |tenths: Option<i64>| {
        tenths.map_or_else(
            || "not on the label".to_owned(),
            |tenths| numbers.c_rate(tenths),
        )
    };
    let volts = |mv: Option<i64>| mv.map_or_else(String::new, |mv| numbers.volts(mv));
    let on = |day: &Option<String>| {
        let day = day.as_deref().and_then(Day::parse);
        day.map_or_else(String::new, day_words)
    };
    let all = [
        ("Design", pack.design_name.clone()),
        ("Label discharge rate", rate(pack.label_discharge_c_tenths)),
        ("Label charge rate", rate(pack.label_charge_c_tenths)),
        ("Label full volts per cell", volts(pack.label_full_mv)),
        ("Label lowest volts per cell", volts(pack.label_lowest_mv)),
        (
            "Balance connector",
            pack.balance_name()
                .unwrap_or_else(|| "none: cells can't be seen".to_owned()),
        ),
        (
            "Mass",
            pack.mass_g.map_or_else(String::new, |g| format!("{g} g")),
        ),
        (
            "Size",
            if pack.size_mm.is_empty() {
                String::new()
            } else {
                format!("{} mm", pack.size_mm)
            },
        ),
        ("Maker", pack.maker.clone()),
        ("Batch", pack.batch.clone()),
        ("Supplier", pack.supplier.clone()),
        ("Price", pack.price.clone()),
        ("Acquired", on(&pack.acquired_on)),
        ("First used", on(&pack.first_used_on)),
        ("Notes", pack.notes.clone()),
    ];
    all.into_iter()
        .filter(|(_, value)| !value.is_empty())
        .collect()
}

#[derive(Template)]
#[template(path = "readings.html")]
struct ReadingsPage {
    shell: Shell,
    number: String,
    rows: Vec<ReadingRow>,
    /// May correct them.
    reads: bool,
}

struct ReadingRow {
    id: uuid::Uuid,
    when: When,
    volts: String,
    rested: String,
    is_corrected: bool,
}

/// GET /packs/{number}/readings
pub async fn all_readings(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
) -> Page {
    let pack = named(&app, &number).await?;
    let found = readings::latest(&mut app.db.read().await?, pack.id, 500).await?;
    let corrected: Vec<_> = found
        .iter()
        .filter_map(|reading| reading.corrects_id)
        .collect();
    let rows = found
        .iter()
        .map(|reading| ReadingRow {
            id: reading.id,
            when: past(reading.taken_ms, who.now, &who.zone),
            volts: reading
                .volts
                .as_deref()
                .and_then(Volts::from_text)
                .map_or_else(
                    || {
                        format!(
                            "not read: {}",
                            reading.unread_words.as_deref().unwrap_or_default()
                        )
                    },
                    |volts| who.numbers().sentence(&words(&volts)),
                ),
            rested: match reading.rested_minutes {
                0 => "just used".to_owned(),
                minutes => format!("rested {minutes} min"),
            },
            is_corrected: corrected.contains(&reading.id),
        })
        .collect();
    page::show(&ReadingsPage {
        shell: who.shell(format!("Readings of {}", pack.number)),
        number: pack.number,
        rows,
        reads: who.me.roles().may_log_volts(),
    })
}
