//! Places, people, what is out and the log as sheets, for those who run the pool or oversee it.

use super::{answer, at, check_limit};
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::places::{PlaceKind, over_by_mwh};
use crate::club::sheet::written::Sheet;
use crate::store::{loans, log, names, packs, people, places};
use crate::web::asked::Query;
use crate::web::loans::{HomeRow, OutRow};
use crate::web::log_page::{Before, Line};
use crate::web::page::{Page, PageError};
use crate::web::people::Wanted;
use crate::web::places::Wanted as WantedPlaces;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::Deserialize;

/// GET /places.csv
pub async fn places(
    State(app): State<App>,
    who: SignedIn,
    Query(wanted): Query<WantedPlaces>,
) -> Page {
    check_limit(&app, &who)?;
    let held = places::holdings(&mut app.db.read().await?, wanted.are_closed()).await?;
    let heads = [
        "Place",
        "Kind",
        "Room",
        "Packs here",
        "Packs out",
        "Kit",
        "Energy here (Wh)",
        "Limit (Wh)",
        "Over by (Wh)",
        "Usual warmth (°C)",
        "Extinguisher check due",
        "Detector check due",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for each in &held {
        let limit = each.place.energy_limit_mwh;
        let wh = |mwh: Option<i64>| mwh.map_or_else(String::new, |mwh| who.numbers().number(mwh));
        sheet.row([
            each.place.name.clone(),
            each.place
                .kind()
                .map_or("Place", PlaceKind::label)
                .to_owned(),
            each.place.room.clone(),
            each.packs_here.to_string(),
            each.packs_out.to_string(),
            each.kit.to_string(),
            wh(Some(each.energy_mwh)),
            wh(limit),
            wh(over_by_mwh(each.energy_mwh, limit)),
            each.place
                .warmth_celsius
                .map_or_else(String::new, |celsius| celsius.to_string()),
            each.place
                .extinguisher_check_due
                .clone()
                .unwrap_or_default(),
            each.place.detector_check_due.clone().unwrap_or_default(),
        ]);
    }
    answer(&who, "places", sheet)
}

/// GET /people.csv
pub async fn people(State(app): State<App>, who: SignedIn, Query(wanted): Query<Wanted>) -> Page {
    check_limit(&app, &who)?;
    if let Some((_, words)) = wanted.problems().list().first() {
        return Err(PageError::Unreadable(words.clone()));
    }
    let today = who.zone.day_of(who.now);
    let found = people::list(&mut app.db.read().await?, &wanted.text).await?;
    let heads = [
        "Name",
        "Roles",
        "Who answers",
        "Induction",
        "Things with them",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for person in found.iter().filter(|person| wanted.suits(person, today)) {
        sheet.row([
            person.called().to_owned(),
            person.roles().words(),
            person.responsible_name.clone().unwrap_or_default(),
            person.induction(today).words(),
            person.open_count.to_string(),
        ]);
    }
    answer(&who, "people", sheet)
}

#[derive(Default, Deserialize)]
pub struct Which {
    /// Only what is overdue.
    #[serde(default)]
    overdue: String,
}

/// GET /loans.csv
pub async fn loans(State(app): State<App>, who: SignedIn, Query(which): Query<Which>) -> Page {
    check_limit(&app, &who)?;
    let mut conn = app.db.read().await?;
    let found = loans::all_out(&mut conn).await?;
    let home = packs::at_home(&mut conn).await?;
    drop(conn);
    let heads = [
        "Number",
        "What it is",
        "How many",
        "With whom",
        "Due",
        "Overdue",
        "Out since",
        "For",
        "State",
        "Why",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    let only_overdue = !which.overdue.is_empty();
    let rows = found.into_iter().map(|out| OutRow::of(out, &who));
    for row in rows.filter(|row| row.due.is_overdue || !only_overdue) {
        let out = &row.out;
        sheet.row([
            out.number.clone(),
            out.what.clone(),
            out.count().to_string(),
            out.borrower_name
                .clone()
                .unwrap_or_else(|| "(erased)".to_owned()),
            Day::parse(&out.due_on).map_or_else(String::new, |day| day.to_string()),
            if row.due.is_overdue { "yes" } else { "" }.to_owned(),
            at(out.opened_ms, &who),
            out.purpose.clone(),
            row.state.map_or("", |state| state.label()).to_owned(),
            row.why.clone(),
        ]);
    }
    let home = home.iter().map(|pack| (pack, HomeRow::of(pack, &who)));
    for (pack, row) in home.filter(|(_, row)| row.due.is_overdue || !only_overdue) {
        sheet.row([
            pack.number.clone(),
            pack.design_name.clone(),
            "1".to_owned(),
            row.with,
            pack.home_by.clone().unwrap_or_default(),
            if row.due.is_overdue { "yes" } else { "" }.to_owned(),
            String::new(),
            "At home, to be put to storage".to_owned(),
            row.pack.label.to_owned(),
            row.pack.why,
        ]);
    }
    answer(&who, if only_overdue { "overdue" } else { "loans" }, sheet)
}

/// More than spreadsheet programs like to open at once.
const MOST_ENTRIES: i64 = 50_000;

/// GET /log.csv?before=…
pub async fn log(State(app): State<App>, who: SignedIn, Query(query): Query<Before>) -> Page {
    check_limit(&app, &who)?;
    let mut conn = app.db.read().await?;
    let entries = log::latest(&mut conn, query.seq(), MOST_ENTRIES).await?;
    let (names, _) = names::with_head(&mut conn).await?;
    drop(conn);
    let last = entries.last().map(|entry| entry.seq).filter(|seq| *seq > 1);
    let mut sheet = Sheet::new(
        who.numbers(),
        &["Entry", "When", "What was done", "What changed"],
    );
    for entry in entries {
        let (seq, when) = (entry.seq.to_string(), at(entry.at_ms, &who));
        let line = Line::told(entry, &who, Some(&names));
        sheet.row([seq, when, line.words, line.changes.join("; ")]);
    }
    if let Some(seq) = last {
        let words = format!("Older entries are in /log.csv?before={seq}");
        sheet.row(["", "", words.as_str(), ""]);
    }
    answer(&who, "log", sheet)
}
