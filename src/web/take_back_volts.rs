//! The second step of taking back: volts of the packs without danger, and what came of it all.

use crate::actions::take_back::{self, VoltsOf};
use crate::app::App;
use crate::club::reading::Rested;
use crate::store::lent::{self, ErrandLine};
use crate::store::packs::{self, OfLine, PackView};
use crate::store::places;
use crate::web::fields::{Fields, Problems};
use crate::web::pack_row::{PackRow, what_it_is};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::volts_form::VoltsForm;
use askama::Template;
use axum::extract::{OriginalUri, State};
use std::collections::BTreeMap;
use uuid::Uuid;

use crate::web::take_back::{asked, go_on, ids};

struct VoltsItem {
    lent_id: Uuid,
    pack: PackView,
    what: String,
    suffix: String,
    form: VoltsForm,
    place: String,
    problem: String,
}

impl VoltsItem {
    fn cells(&self) -> Vec<usize> {
        let count = if self.pack.balance_connector.is_some() {
            usize::try_from(self.pack.cells_series).unwrap_or(1)
        } else {
            1
        };
        (1..=count).collect()
    }

    fn value(&self, cell: &usize) -> &str {
        self.form.boxes.get(cell - 1).map_or("", String::as_str)
    }
}

#[derive(Template)]
#[template(path = "take_back_volts.html")]
struct VoltsPage {
    shell: Shell,
    problems: Problems,
    items: Vec<VoltsItem>,
    has_decimal_comma: bool,
    places: Vec<(String, String)>,
    /// Every loan line of this errand, also those that are done.
    errand: Vec<Uuid>,
}

async fn volts_page(app: &App, who: &SignedIn, fields: &Fields) -> Result<VoltsPage, PageError> {
    let mut conn = app.db.read().await?;
    let packs = packs::lent(&mut conn).await?;
    let places = places::all_open(&mut conn).await?;
    drop(conn);
    let wanted = ids(fields, "volts");
    let items = packs
        .into_iter()
        .filter_map(|pack| Some((pack.lent_id.filter(|id| wanted.contains(id))?, pack)))
        .map(|(lent_id, pack)| {
            let suffix = format!("-{lent_id}");
            let place = fields.text(&format!("place{suffix}"));
            let place = if place.is_empty() {
                pack.place_id.map_or_else(String::new, |id| id.to_string())
            } else {
                place
            };
            VoltsItem {
                form: VoltsForm::of(fields, &suffix),
                what: who.numbers().sentence(&what_it_is(&pack)),
                lent_id,
                pack,
                suffix,
                place,
                problem: String::new(),
            }
        })
        .collect();
    Ok(VoltsPage {
        shell: who.shell("Volts"),
        problems: Problems::default(),
        items,
        has_decimal_comma: who.club.uses_decimal_comma,
        places: places
            .into_iter()
            .map(|place| (place.id.to_string(), place.name))
            .collect(),
        errand: ids(fields, "lent"),
    })
}

/// GET /take-back/volts?volts=…&lent=…
pub async fn ask_volts(
    State(app): State<App>,
    who: SignedIn,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let page = volts_page(&app, &who, &asked(&uri)).await?;
    if page.items.is_empty() {
        return Err(PageError::Refused(
            "These are not out any more; somebody took them back already.".to_owned(),
        ));
    }
    page::show(&page)
}

/// POST /take-back/volts
pub async fn take_back(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut page = volts_page(&app, &who, &fields).await?;
    let rested = Rested::from_code(&fields.text("rested"));
    let mut problems = Problems::default();
    let mut all = Vec::new();
    for item in &mut page.items {
        match item.form.measured(&item.pack, rested, who.numbers()) {
            Ok(measured) => all.push(VoltsOf {
                lent_id: item.lent_id,
                measured,
                place_id: item.place.parse().ok(),
            }),
            Err(wrong) => {
                wrong.note(&mut problems, &item.suffix);
                let field = format!("volts_line{}", item.suffix);
                problems.of(&field).clone_into(&mut item.problem);
            }
        }
    }
    if !problems.is_empty() {
        return page::refused(&VoltsPage {
            shell: who.shell_refused("Volts"),
            problems,
            ..page
        });
    }
    let every: Vec<String> = page.errand.iter().map(|id| format!("lent={id}")).collect();
    let answer = format!("/take-back/done?{}", every.join("&"));
    go_on(take_back::take_back(&app.db, &who.by(&fields), &all, &answer).await)
}

#[derive(Template)]
#[template(path = "take_back_done.html")]
struct DonePage {
    shell: Shell,
    rows: Vec<DoneRow>,
    kit: Vec<KitBack>,
    counts: Counts,
    /// A place that holds more energy than it may.
    over: Option<Uuid>,
}

/// Kit that is back: its line and `A-01 × 2`.
struct KitBack {
    lent_id: Uuid,
    words: String,
}

/// Things of all loans of the errand, each loan once.
#[derive(Default)]
struct Counts {
    in_all: i64,
    still_out: i64,
    lost: i64,
}

impl Counts {
    fn of(lines: &[ErrandLine]) -> Self {
        let loans: BTreeMap<Uuid, &ErrandLine> =
            lines.iter().map(|line| (line.loan_id, line)).collect();
        loans.values().fold(Self::default(), |sum, line| Self {
            in_all: sum.in_all + line.in_all,
            still_out: sum.still_out + line.still_out,
            lost: sum.lost + line.lost,
        })
    }

    const fn back(&self) -> i64 {
        self.in_all - self.still_out - self.lost
    }
}

struct DoneRow {
    row: PackRow,
    lent_id: Uuid,
    is_danger: bool,
    is_asked: bool,
}

/// GET /take-back/done?lent=…
pub async fn done(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let asked = asked(&uri);
    let asked_for = ids(&asked, "lent");
    let mut conn = app.db.read().await?;
    let lines = lent::errand(&mut conn, &asked_for).await?;
    let packs = packs::of_lines(&mut conn, &asked_for).await?;
    drop(conn);
    page::show(&DonePage {
        shell: who.shell("Taken back"),
        rows: packs.into_iter().map(|one| done_row(one, &who)).collect(),
        kit: lines.iter().filter_map(kit_back).collect(),
        counts: Counts::of(&lines),
        over: asked.id("over"),
    })
}

fn done_row(one: OfLine, who: &SignedIn) -> DoneRow {
    let row = PackRow::of(&one.pack, who);
    DoneRow {
        is_danger: row.code == "quarantine",
        is_asked: one.is_for_volts,
        lent_id: one.line_id,
        row,
    }
}

fn kit_back(line: &ErrandLine) -> Option<KitBack> {
    let number = line.kit_number.as_ref().filter(|_| line.is_closed)?;
    Some(KitBack {
        lent_id: line.id,
        words: line
            .counted
            .map_or_else(|| number.clone(), |count| format!("{number} × {count}")),
    })
}
