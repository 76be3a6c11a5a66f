//! GET /designs/{id}/compare: the packs of a design side by side, by the latest that is on record of each: volts, how far the
//! cells stand apart, resistance and capacity, drawn beside each other and in figures.

use crate::app::App;
use crate::battery::log::counters::amount;
use crate::battery::pack::Build;
use crate::battery::range::median;
use crate::battery::resistance_history::{ResistanceLimits, times_mates};
use crate::store::designs;
use crate::store::designs::side_by_side::{self, Beside, MOST};
use crate::web::asked::Path;
use crate::web::over_time::{capacity_rules, resistance_rules};
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::picture::chart::beside as chart;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "compare.html")]
struct ComparePage {
    shell: Shell,
    what: String,
    rows: Vec<Row>,
    /// There are more than are shown.
    is_cut: bool,
    /// Drawn; empty where none is on record.
    resistance: String,
    capacity: String,
}

struct Row {
    pack: PackRow,
    /// `40 mV`; volts that had not rested tell none.
    spread: String,
    resistance: String,
    /// `1.30 times the middle, cell 2 1.80 times the others`
    resistance_beside: String,
    capacity: String,
    /// `98 % of the label`
    capacity_beside: String,
}

/// GET /designs/{id}/compare
pub async fn show(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let mut conn = app.db.read().await?;
    let design = designs::by_id(&mut conn, id).await?;
    let design = design.ok_or(PageError::NotFound)?;
    let mut found = side_by_side::of_design(&mut conn, id).await?;
    drop(conn);
    let is_cut = found.len() > MOST;
    found.truncate(MOST);
    let middles: Vec<f64> = found.iter().filter_map(middle_milliohm).collect();
    let of_sisters = median(&middles).filter(|_| middles.len() > 1);
    page::show(&ComparePage {
        shell: who.shell(format!("{}, side by side", design.name)),
        what: who.numbers().sentence(&design.build().words()),
        is_cut,
        resistance: resistance_drawn(&found, &design.build(), &who),
        capacity: capacity_drawn(&found, &design.build(), &who),
        rows: found
            .iter()
            .map(|beside| row(beside, of_sisters, &who))
            .collect(),
    })
}

/// Of each cell as read, else of one in the middle by a charge log.
fn milliohms(beside: &Beside) -> Option<Vec<f64>> {
    let read = beside.milliohms().map(|cells| -> Vec<f64> {
        let tenths = cells.tenths().iter();
        tenths.map(|tenths| *tenths as f64 / 10.0).collect()
    });
    read.or_else(|| Some(vec![beside.last_log_uohm? as f64 / 1_000.0]))
}

fn middle_milliohm(beside: &Beside) -> Option<f64> {
    median(&milliohms(beside)?)
}

/// `cell 2 1.80 times the others`: one bad cell, which the middle hides. From where a club looks twice at it.
fn worst_cell(beside: &Beside) -> Option<String> {
    let times = times_mates(&beside.milliohms()?.uohm());
    let numbered = times.into_iter().zip(1..);
    let (worst, cell) = numbered.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let watched = ResistanceLimits::default().mates_watch_percent as f64 / 100.0;
    (worst > watched).then(|| format!("cell {cell} {worst:.2} times the others"))
}

fn resistance_drawn(found: &[Beside], build: &Build, who: &SignedIn) -> String {
    let row = |beside: &Beside| {
        let cells = milliohms(beside)?;
        Some(chart::Row {
            name: beside.pack.number.clone(),
            least: cells.iter().copied().fold(f64::INFINITY, f64::min),
            middle: median(&cells)?,
            most: cells.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        })
    };
    let read = found.iter().filter(|beside| beside.milliohms().is_some());
    let drawn = chart::Beside {
        id: "resistance",
        title: "Resistance of a cell, side by side".to_owned(),
        unit: "mΩ",
        decimals: 1,
        rows: found.iter().filter_map(row).collect(),
        rules: resistance_rules(build, read.map(Beside::meter_kind)),
        numbers: who.numbers(),
    };
    drawn.html()
}

fn capacity_drawn(found: &[Beside], build: &Build, who: &SignedIn) -> String {
    let row = |beside: &Beside| {
        let mah = beside.last_capacity_uah? as f64 / 1_000.0;
        Some(chart::Row {
            name: beside.pack.number.clone(),
            least: mah,
            middle: mah,
            most: mah,
        })
    };
    let drawn = chart::Beside {
        id: "capacity",
        title: "Capacity, side by side".to_owned(),
        unit: "mAh",
        decimals: if build.capacity_mah < 100 { 1 } else { 0 },
        rows: found.iter().filter_map(row).collect(),
        rules: capacity_rules(build, &who.club.limits()),
        numbers: who.numbers(),
    };
    drawn.html()
}

fn row(beside: &Beside, of_sisters: Option<f64>, who: &SignedIn) -> Row {
    let say = |text: String| who.numbers().sentence(&text);
    let spread_mv = beside.pack.volts().and_then(|volts| volts.spread_mv());
    let has_rested = beside.pack.last_rested_minutes >= Some(who.club.limits().rest_minutes);
    let spread = spread_mv.map(|mv| match has_rested {
        true => format!("{mv} mV"),
        false => "read before it had rested".to_owned(),
    });
    let read = beside
        .milliohms()
        .map(|cells| format!("{} mΩ", cells.words()));
    let by_log = || {
        let milliohm = beside.last_log_uohm? as f64 / 1_000.0;
        Some(format!("{milliohm:.1} mΩ, by a charge log"))
    };
    let times = middle_milliohm(beside).zip(of_sisters);
    let times = times.map(|(own, middle)| format!("{:.2} times the middle", own / middle));
    let beside_sisters = times.into_iter().chain(worst_cell(beside));
    let capacity = beside.last_capacity_uah.map(|uah| uah as f64 / 1e6);
    let label_ah = beside.pack.capacity_mah.max(1) as f64 / 1_000.0;
    let of_label = capacity.map(|ah| format!("{:.0} % of the label", 100.0 * ah / label_ah));
    Row {
        pack: PackRow::of(&beside.pack, who),
        spread: spread.unwrap_or_default(),
        resistance: say(read.or_else(by_log).unwrap_or_default()),
        resistance_beside: say(beside_sisters.collect::<Vec<_>>().join(", ")),
        capacity: say(capacity.map_or_else(String::new, amount)),
        capacity_beside: of_label.unwrap_or_default(),
    }
}
