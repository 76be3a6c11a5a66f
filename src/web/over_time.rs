//! GET /packs/{number}/over-time: what is on record of a pack as charts, with the figures below: its cells' volts and how far
//! they stand apart, resistance, charge put back, capacity.

use crate::app::App;
use crate::battery::pack::Build;
use crate::battery::resistance_read::{Ladder, MeterKind};
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::limits::ClubLimits;
use crate::store::packs::PackView;
use crate::store::readings::over_time::{self, OnRecord};
use crate::web::asked::Path;
use crate::web::pack::named;
use crate::web::page::{self, Page};
use crate::web::picture::chart::{Across, Chart, Line, Panel, Rule, lines_of_cells};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "over_time.html")]
struct OverTimePage {
    shell: Shell,
    number: String,
    design_id: uuid::Uuid,
    design_name: String,
    /// Empty: nothing of it is on record. So with each.
    volts: String,
    rest_minutes: i64,
    resistance: String,
    /// Its rules hold for all that is drawn.
    has_rules: bool,
    put_back: String,
    capacity: String,
    reads: bool,
}

/// So many readings are drawn; all of them stand on the page of readings.
const MOST_READINGS: i64 = 500;

/// Figures over time.
type Points = Vec<(f64, f64)>;

/// GET /packs/{number}/over-time
pub async fn show(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    let pack = named(&app, &number).await?;
    let mut conn = app.db.read().await?;
    let found = over_time::of_pack(&mut conn, pack.id, MOST_READINGS).await?;
    drop(conn);
    page::show(&OverTimePage {
        shell: who.shell(format!("{} over time", pack.number)),
        volts: volts_chart(&pack, &found, &who),
        rest_minutes: who.club.limits().rest_minutes,
        has_rules: !resistance_rules(&pack.build(), kinds(&found)).is_empty(),
        resistance: resistance_chart(&pack, &found, &who),
        put_back: put_back_chart(&pack, &found, &who),
        capacity: capacity_chart(&pack, &found, &who),
        reads: who.me.roles().may_log_volts(),
        design_id: pack.design_id,
        design_name: pack.design_name,
        number: pack.number,
    })
}

fn drawn(id: &str, title: String, panels: Vec<Panel>, who: &SignedIn) -> String {
    let chart = Chart {
        id,
        title,
        across: Across::Days(&who.zone),
        panels,
        stretches: Vec::new(),
        numbers: who.numbers(),
    };
    chart.html()
}

fn rule(at: f64, words: &str) -> Rule {
    Rule {
        at,
        words: words.to_owned(),
    }
}

fn line(letter: &str, name: &str, points: Points) -> Line {
    Line {
        letter: letter.to_owned(),
        name: name.to_owned(),
        points,
    }
}

fn volts_chart(pack: &PackView, found: &[OnRecord], who: &SignedIn) -> String {
    let limits = who.club.limits();
    let cell = limits.of_cell(&pack.build());
    let volt = |mv: i64| mv as f64 / 1_000.0;
    let read = |record: &OnRecord| match record.volts()? {
        Volts::Cells(cells) => Some(cells.into_iter().map(volt).collect()),
        Volts::Pack(_) => None,
    };
    let whole = |record: &OnRecord| match record.volts()? {
        Volts::Pack(mv) => Some(volt(mv) / pack.cells_series.max(1) as f64),
        Volts::Cells(_) => None,
    };
    let mut lines = of_cells(found, &read);
    let whole = points(found, &whole);
    if !whole.is_empty() {
        lines.push(line("P", "Whole pack, for each cell", whole));
    }
    let cells = Panel {
        name: "Cells".to_owned(),
        unit: "V",
        decimals: 3,
        lines,
        rules: vec![
            rule(volt(cell.full_mv), "full"),
            rule(volt(cell.minimum_mv), "minimum"),
        ],
        has_zero: false,
    };
    let mut panels = vec![cells];
    let rested = |record: &OnRecord| {
        let is_rested = record.rested_minutes? >= limits.rest_minutes;
        let spread_mv = record.volts()?.spread_mv()?;
        is_rested.then_some(spread_mv as f64)
    };
    let spread = points(found, &rested);
    if !spread.is_empty() {
        panels.push(Panel {
            name: "Between highest and lowest".to_owned(),
            unit: "mV",
            decimals: 0,
            lines: vec![line("S", "Apart", spread)],
            rules: vec![
                rule(limits.spread_watch_mv as f64, "caution above"),
                rule(limits.spread_wide_mv as f64, "set aside above"),
            ],
            has_zero: true,
        });
    }
    let title = format!("Cells of {} over time", pack.number);
    drawn("volts", title, panels, who)
}

fn resistance_chart(pack: &PackView, found: &[OnRecord], who: &SignedIn) -> String {
    let milliohm = |tenths: &i64| *tenths as f64 / 10.0;
    let read = |record: &OnRecord| {
        let cells = record.milliohms()?;
        Some(cells.tenths().iter().map(milliohm).collect())
    };
    let by_log = |record: &OnRecord| Some(record.log_uohm? as f64 / 1_000.0);
    let mut lines = of_cells(found, &read);
    let logs = points_of_logs(found, who, &by_log);
    if !logs.is_empty() {
        lines.push(line("C", "A cell in the middle, by charge logs", logs));
    }
    let panel = Panel {
        name: "Resistance of cells".to_owned(),
        unit: "mΩ",
        decimals: 1,
        lines,
        rules: resistance_rules(&pack.build(), kinds(found)),
        has_zero: true,
    };
    let title = format!("Resistance of {} over time", pack.number);
    drawn("resistance", title, vec![panel], who)
}

/// How each resistance that is drawn was read.
fn kinds(found: &[OnRecord]) -> impl Iterator<Item = Option<MeterKind>> {
    let read = found.iter().filter(|record| record.milliohms().is_some());
    read.map(OnRecord::meter_kind)
}

/// What the ladder of hobby packs comes to for this capacity, which is one of readings with a load; none for chemistries it does
/// not know, and none beside what was read by alternating current, which shows about half.
pub fn resistance_rules(
    build: &Build,
    mut kinds: impl Iterator<Item = Option<MeterKind>>,
) -> Vec<Rule> {
    let ladder = Ladder::default();
    let capacity_ah = build.capacity_mah.max(1) as f64 / 1_000.0;
    let is_known = ladder.grade(build.chemistry, 0.0).is_some()
        && !kinds.any(|kind| kind == Some(MeterKind::Alternating));
    let rules = [
        (ladder.used_milliohm_ah, "practice only above"),
        (ladder.practice_milliohm_ah, "set aside above"),
    ];
    let rules = rules.into_iter().filter(|_| is_known);
    rules
        .map(|(milliohm_ah, words)| rule(milliohm_ah as f64 / capacity_ah, words))
        .collect()
}

/// One charge may stand in it twice: as it was recorded or said, and as the charger wrote it down.
fn put_back_chart(pack: &PackView, found: &[OnRecord], who: &SignedIn) -> String {
    let mah = |mah: Option<i64>| mah.map(|mah| mah as f64);
    let ends: Vec<Instant> = found
        .iter()
        .filter(|record| record.charge_in_mah.is_some())
        .map(|record| record.at_ms)
        .collect();
    // What was said as a charge ended stands beside the volts of that moment too.
    let said = |record: &OnRecord| mah(record.put_in_mah.filter(|_| !ends.contains(&record.at_ms)));
    let logged =
        |record: &OnRecord| Some(record.log_in_uah.filter(|uah| *uah > 0)? as f64 / 1_000.0);
    let lines = [
        line(
            "R",
            "Recorded charges",
            points(found, &|record| mah(record.charge_in_mah)),
        ),
        line("C", "Charge logs", points_of_logs(found, who, &logged)),
        line("B", "Said beside volts", points(found, &said)),
    ];
    let panel = Panel {
        name: "Charge put back".to_owned(),
        unit: "mAh",
        decimals: if pack.capacity_mah < 100 { 1 } else { 0 },
        lines: lines
            .into_iter()
            .filter(|line| !line.points.is_empty())
            .collect(),
        rules: vec![rule(pack.capacity_mah as f64, "label")],
        has_zero: true,
    };
    let title = format!("Charge put back into {} over time", pack.number);
    drawn("put-back", title, vec![panel], who)
}

/// The label, and where the club's verdicts set in.
pub fn capacity_rules(build: &Build, limits: &ClubLimits) -> Vec<Rule> {
    let of_label = |percent: i64| build.capacity_mah as f64 * percent as f64 / 100.0;
    vec![
        rule(of_label(100), "label"),
        rule(
            of_label(limits.capacity_practice_percent),
            "practice only under",
        ),
        rule(of_label(limits.capacity_aside_percent), "set aside under"),
    ]
}

fn capacity_chart(pack: &PackView, found: &[OnRecord], who: &SignedIn) -> String {
    let by_log = |record: &OnRecord| Some(record.capacity_uah? as f64 / 1_000.0);
    let panel = Panel {
        name: "Capacity".to_owned(),
        unit: "mAh",
        decimals: if pack.capacity_mah < 100 { 1 } else { 0 },
        lines: vec![line(
            "C",
            "By charge logs",
            points_of_logs(found, who, &by_log),
        )],
        rules: capacity_rules(&pack.build(), &who.club.limits()),
        has_zero: false,
    };
    let title = format!("Capacity of {} over time", pack.number);
    drawn("capacity", title, vec![panel], who)
}

fn of_cells(found: &[OnRecord], of: &dyn Fn(&OnRecord) -> Option<Vec<f64>>) -> Vec<Line> {
    let read: Vec<(f64, Vec<f64>)> = found
        .iter()
        .filter_map(|record| Some((record.at_ms.ms() as f64, of(record)?)))
        .collect();
    lines_of_cells(&read)
}

fn points(found: &[OnRecord], of: &dyn Fn(&OnRecord) -> Option<f64>) -> Points {
    let each = found.iter();
    each.filter_map(|record| Some((record.at_ms.ms() as f64, of(record)?)))
        .collect()
}

/// At noon of the day that was told of a log, else when it was brought in; oldest first.
fn points_of_logs(
    found: &[OnRecord],
    who: &SignedIn,
    of: &dyn Fn(&OnRecord) -> Option<f64>,
) -> Points {
    let at = |record: &OnRecord| -> Instant {
        let noon = record
            .logged_on()
            .map(|day| who.zone.start_of(day).plus_hours(12));
        noon.unwrap_or(record.at_ms)
    };
    let each = found.iter();
    let each = each.filter_map(|record| Some((at(record).ms() as f64, of(record)?)));
    let mut points: Points = each.collect();
    // They may be brought in in another order than they were logged.
    points.sort_by(|one, other| one.0.total_cmp(&other.0));
    points
}
