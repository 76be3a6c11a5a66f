//! Packs, their readings, designs and connector families as sheets. A member reads what the pages show a member: no holder,
//! and nothing of what was noted.

use super::{answer, at, check_limit, columns_for};
use crate::app::App;
use crate::battery::milliohms::Milliohms;
use crate::battery::volts::{Volts, words};
use crate::bench::connector::called;
use crate::bench::form::Fields;
use crate::club::design_form::DesignForm;
use crate::club::reading::beside::Context;
use crate::club::register::DesignSheet;
use crate::club::sheet::Holds;
use crate::club::sheet::columns::Column;
use crate::club::sheet::shown;
use crate::club::sheet::written::Sheet;
use crate::store::designs;
use crate::store::pack_list::Found;
use crate::store::packs::{Details, PackView};
use crate::store::readings::{Corrections, Reading};
use crate::store::{connectors, pack_list, readings};
use crate::web::asked::{Path, Query};
use crate::web::connectors::pins_words;
use crate::web::draw_seen::DrawSeen;
use crate::web::pack::named;
use crate::web::pack_row::PackRow;
use crate::web::packs::Wanted;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;

fn headings<'h>(columns: &[Column], more: &[&'h str]) -> Vec<&'h str> {
    let own = columns.iter().map(|column| column.label);
    own.chain(more.iter().copied()).collect()
}

/// GET /packs.csv
pub async fn packs(State(app): State<App>, who: SignedIn, Query(wanted): Query<Wanted>) -> Page {
    check_limit(&app, &who)?;
    let mut conn = app.db.read().await?;
    let families = connectors::all(&mut conn).await?;
    let (asked, problems) = wanted.read(&who, &families);
    if let Some((_, words)) = problems.list().first() {
        return Err(PageError::Unreadable(words.clone()));
    }
    let found: Vec<(PackView, Option<DrawSeen>)> = if asked.gives_ma_min.is_some() {
        let found = pack_list::find_all_measured(&mut conn, &asked).await?;
        let seen = |one: &Found| DrawSeen::of(one, (&asked, &families), &who);
        let each = found.into_iter().map(|one| (seen(&one), one));
        each.map(|(seen, one)| (one.care.pack, seen)).collect()
    } else {
        let found = pack_list::find_all(&mut conn, &asked).await?;
        found.into_iter().map(|pack| (pack, None)).collect()
    };
    drop(conn);
    let columns = columns_for(&who, Holds::Packs, None);
    let mut more = vec![
        "State",
        "Why",
        "Where now",
        "Due",
        "Last seen",
        "Read",
        "Last volts",
    ];
    if asked.gives_ma_min.is_some() {
        more.extend([
            "Gives by its own resistance (A)",
            "Against its giving so much",
        ]);
    }
    let mut sheet = Sheet::new(who.numbers(), &headings(&columns, &more));
    for (pack, draw) in &found {
        let fields = pack_fields(pack, &who);
        let own = columns
            .iter()
            .map(|column| shown::cell(column, &fields, &families));
        let now = now_cells(pack, &who).into_iter();
        let draw = draw.iter().flat_map(|draw| draw_cells(draw, &who));
        sheet.row(own.chain(now).chain(draw));
    }
    answer(&who, "packs", sheet)
}

fn now_cells(pack: &PackView, who: &SignedIn) -> [String; 7] {
    let row = PackRow::of(pack, who);
    let due = row.due.as_ref();
    let read = pack.last_read_ms;
    let due = due.map_or_else(String::new, |due| due.day.iso.clone());
    [
        row.label.to_owned(),
        row.why,
        row.where_words,
        due,
        at(pack.seen_ms, who),
        read.map_or_else(String::new, |read| at(read, who)),
        row.volts,
    ]
}

/// What it gives on the careful side, and what stands against the draw that was asked for, as its page says it.
fn draw_cells(draw: &DrawSeen, who: &SignedIn) -> [String; 2] {
    let own = draw.own_ma.map(|ma| who.numbers().number(ma / 100 * 100));
    [own.unwrap_or_default(), draw.doubts.join(" ")]
}

/// As it would be typed: its number, its design and what is said of it. The place by name.
fn pack_fields(pack: &PackView, who: &SignedIn) -> Fields {
    let design = DesignSheet {
        name: pack.design_name.clone(),
        chemistry: pack.build().chemistry,
        cells_series: pack.cells_series,
        groups_parallel: pack.groups_parallel,
        capacity_mah: pack.capacity_mah,
        label_discharge_c_tenths: pack.label_discharge_c_tenths,
        label_charge_c_tenths: pack.label_charge_c_tenths,
        connector: pack.connector.clone(),
        balance_connector: pack.balance_connector.clone(),
        mass_g: pack.mass_g,
        size_mm: pack.size_mm.clone(),
        label: pack.build().label,
    };
    let mut fields = DesignForm::typed(&design, who.numbers()).fields();
    for (code, value) in Details::of(pack).typed().into_pairs() {
        fields.put(&code, &value);
    }
    fields.put("number", &pack.number);
    fields.put("design", &pack.design_name);
    // Where a pack that is out belongs is for those who run the pool.
    let place = pack.place_name.as_deref();
    let place = place.filter(|_| who.oversees() || !pack.is_away());
    fields.put("place", place.unwrap_or_default());
    fields
}

/// More than a pack is ever read.
const MOST_READINGS: i64 = 100_000;

/// GET /packs/{number}/readings.csv
pub async fn readings(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    check_limit(&app, &who)?;
    let pack = named(&app, &number).await?;
    let found = readings::latest(&mut app.db.read().await?, pack.id, MOST_READINGS).await?;
    let cells = usize::try_from(pack.cells_series).unwrap_or(0);
    let each = |unit| (1..=cells).map(move |cell| format!("Cell {cell} ({unit})"));
    let (volts, milliohms): (Vec<String>, Vec<String>) =
        (each("V").collect(), each("mΩ").collect());
    let mut heads = vec!["Read", "Pack (V)"];
    heads.extend(volts.iter().map(String::as_str));
    heads.extend(["Rested (min)", "Not read because"]);
    heads.extend(milliohms.iter().map(String::as_str));
    heads.extend([
        "Temperature (°C)",
        "Put in (mAh)",
        "Taken out (mAh)",
        "About",
        "Read with",
        "Works by",
        "Corrected by a later one",
        "Corrects the reading of",
    ]);
    let mut sheet = Sheet::new(who.numbers(), &heads);
    let corrections = Corrections::among(&found);
    for reading in &found {
        sheet.row(reading_cells(reading, &corrections, cells, &who));
    }
    answer(&who, &format!("readings-{}", pack.number), sheet)
}

fn reading_cells(
    reading: &Reading,
    corrections: &Corrections,
    cells: usize,
    who: &SignedIn,
) -> Vec<String> {
    let volts = reading.volts.as_deref().and_then(Volts::from_text);
    let beside = reading.beside();
    let shown = |mv: &i64| who.numbers().number(*mv);
    let (of_cells, of_pack) = match &volts {
        Some(Volts::Cells(each)) => (each.iter().map(shown).collect(), String::new()),
        Some(Volts::Pack(mv)) => (Vec::new(), shown(mv)),
        None => (Vec::new(), String::new()),
    };
    let mut row = vec![at(reading.taken_ms, who), of_pack];
    row.extend((0..cells).map(|cell| of_cells.get(cell).cloned().unwrap_or_default()));
    let wrong = corrections.wrong_of(reading);
    row.extend([
        volts.map_or_else(String::new, |_| reading.rested_minutes.to_string()),
        reading.unread_words.clone().unwrap_or_default(),
    ]);
    // A tenth of a milliohm is a hundred of what a plain number is kept in.
    let tenths = beside.resistance.as_ref().map(Milliohms::tenths);
    let milliohms = |cell: usize| tenths.and_then(|tenths| tenths.get(cell)).copied();
    let number = |value: Option<i64>| value.map_or_else(String::new, |value| value.to_string());
    row.extend((0..cells).map(|cell| {
        milliohms(cell).map_or_else(String::new, |tenths| who.numbers().number(tenths * 100))
    }));
    row.extend([
        number(reading.celsius),
        number(reading.put_in_mah),
        number(reading.taken_out_mah),
        beside.context.map_or("", Context::label).to_owned(),
        reading.meter.clone().unwrap_or_default(),
        reading.meter_kind.clone().unwrap_or_default(),
        if corrections.is_corrected(reading) {
            "yes"
        } else {
            ""
        }
        .to_owned(),
        wrong.map_or_else(String::new, |wrong| {
            match wrong.volts.as_deref().and_then(Volts::from_text) {
                Some(volts) => format!(
                    "{}: {}",
                    at(wrong.taken_ms, who),
                    who.numbers().sentence(&words(&volts))
                ),
                None => at(wrong.taken_ms, who),
            }
        }),
    ]);
    row
}

/// GET /designs.csv
pub async fn designs(State(app): State<App>, who: SignedIn) -> Page {
    check_limit(&app, &who)?;
    let mut conn = app.db.read().await?;
    let found = designs::all(&mut conn).await?;
    let own = connectors::own(&mut conn).await?;
    drop(conn);
    let columns = columns_for(&who, Holds::Designs, None);
    let mut sheet = Sheet::new(who.numbers(), &headings(&columns, &["Energy"]));
    for design in &found {
        let fields =
            DesignForm::typed(&crate::actions::register::sheet_of(design), who.numbers()).fields();
        let cells = columns
            .iter()
            .map(|column| shown::cell(column, &fields, &own));
        let energy = who.numbers().sentence(&design.build().energy_words());
        sheet.row(cells.chain([energy]));
    }
    answer(&who, "designs", sheet)
}

/// GET /connectors.csv
pub async fn connectors(State(app): State<App>, who: SignedIn) -> Page {
    check_limit(&app, &who)?;
    let families = connectors::all(&mut app.db.read().await?).await?;
    let heads = [
        "Family",
        "Code",
        "Used for",
        "Pins",
        "Carries (A)",
        "Peak (A)",
        "Kept from being turned by",
        "Says",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for family in &families {
        let amps = |ma: Option<i64>| ma.map_or_else(String::new, |ma| who.numbers().number(ma));
        sheet.row([
            called(&family.code, &families).to_owned(),
            family.code.clone(),
            family.purpose.label().to_owned(),
            pins_words(family),
            amps(family.rating_ma),
            amps(family.peak_ma),
            family.polarity.clone(),
            family.source.clone(),
        ]);
    }
    answer(&who, "connectors", sheet)
}
