//! Log the volts of one pack, with what was read and said beside them, or put a wrong reading right. Dangerous volts are stored
//! whatever is wrong beside them; the form then comes back as a correction of what was stored.

use crate::actions::By;
use crate::actions::correction::Correction;
use crate::actions::reading::{self, LogVoltsRefusal, Logged, Measured};
use crate::actions::volts_now::is_danger;
use crate::app::App;
use crate::club::beside_form::BesideForm;
use crate::club::reading::Rested;
use crate::club::reading::beside::Beside;
use crate::club::verdict::Rule;
use crate::store::findings::{self, OnePack};
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::web::asked::{Path, Query};
use crate::web::charging_now::ChargingNow;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{again, named};
use crate::web::pack_row::what_it_is;
use crate::web::page::{self, Page, PageError};
use crate::web::readings::volts_of;
use crate::web::visit::{Shell, SignedIn};
use crate::web::volts_form::VoltsForm;
use crate::web::words::past;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(stored VoltsPage);

/// What a form is filled with.
#[derive(Clone, Default)]
struct Typed {
    volts: VoltsForm,
    rested: String,
    beside: BesideForm,
    corrects: String,
    /// What was wrong with the reading that it corrects.
    why: String,
    is_looked_over: bool,
}

impl Typed {
    fn of(fields: &Fields) -> Self {
        Self {
            volts: VoltsForm::of(fields, ""),
            rested: fields.text("rested"),
            beside: BesideForm::of(fields),
            corrects: fields.text("corrects"),
            why: fields.text("why"),
            is_looked_over: fields.is_ticked("looked_over"),
        }
    }

    /// As the wrong reading has it, to be put right.
    fn of_reading(reading: Option<&Reading>, who: &SignedIn) -> Self {
        let Some(reading) = reading else {
            return Self::default();
        };
        let rested = Rested::of_minutes(reading.rested_minutes).code();
        Self {
            volts: VoltsForm::of_reading(Some(reading), who.numbers()),
            rested: rested.to_owned(),
            beside: BesideForm::typed(&reading.beside(), who.numbers()),
            ..Self::default()
        }
    }

    fn corrects_id(&self) -> Option<Uuid> {
        self.corrects.parse().ok()
    }

    fn logged<'a>(&'a self, measured: &'a Measured, beside: &'a Beside) -> Logged<'a> {
        let why = &self.why;
        Logged {
            measured,
            beside: Some(beside),
            corrects: self.corrects_id().map(|id| Correction { id, why }),
            is_looked_over: self.is_looked_over,
        }
    }
}

#[derive(Template)]
#[template(path = "volts.html")]
struct VoltsPage {
    shell: Shell,
    number: String,
    what: String,
    cells: Vec<usize>,
    sees_cells: bool,
    /// Resistance is read cell by cell.
    has_resistance: bool,
    problems: Problems,
    typed: Typed,
    /// What the wrong reading said.
    wrong_words: String,
    /// It came back unchecked: a quartermaster says with the volts that it is looked over.
    is_unchecked: bool,
    is_watch_on: bool,
    charging: Option<ChargingNow>,
    /// More charge than its label lets one expect was typed.
    is_charge_asked: bool,
    /// What it was read with before.
    meters: Vec<String>,
    has_decimal_comma: bool,
    /// Its number, where its dangerous volts are stored though the form was refused.
    stored: Vec<String>,
}

impl VoltsPage {
    /// The form for the next reading, or of the wrong one as it stands.
    async fn to_fill(
        app: &App,
        who: &SignedIn,
        number: &str,
        corrects: String,
    ) -> Result<Self, PageError> {
        let mut conn = app.db.read().await?;
        let one = findings::with_pack(&mut conn, &number.to_uppercase()).await?;
        let OnePack { care, open, .. } = one.ok_or(PageError::NotFound)?;
        let is_watch_on = care.is_watch_on;
        let state = care.pack.told_at(who.now, &who.club.limits()).0;
        let charging = ChargingNow::of(&care.now, state, who);
        let pack = care.pack;
        let wrong_id = corrects.parse().ok();
        let (wrong, meters) = readings::to_start_from(&mut conn, pack.id, wrong_id).await?;
        drop(conn);
        let sees_cells = pack.balance_connector.is_some();
        let count = if sees_cells { pack.cells_series } else { 1 };
        let typed = Typed::of_reading(wrong.as_ref(), who);
        let has = |rule: Rule| open.iter().any(|(found, _)| found.rule() == Some(rule));
        Ok(Self {
            shell: who.shell(title(&pack, &corrects)),
            what: who.numbers().sentence(&what_it_is(&pack)),
            cells: (1..=usize::try_from(count).unwrap_or(1)).collect(),
            sees_cells,
            has_resistance: sees_cells || pack.cells_series == 1,
            problems: Problems::default(),
            wrong_words: wrong.as_ref().map_or_else(String::new, |it| said(it, who)),
            is_unchecked: who.me.is_quartermaster && has(Rule::CameBackUnchecked),
            is_watch_on,
            charging,
            is_charge_asked: typed.beside.is_charge_asked(&pack.build()),
            meters,
            has_decimal_comma: who.club.uses_decimal_comma,
            stored: Vec::new(),
            typed: Typed { corrects, ..typed },
            number: pack.number,
        })
    }

    /// The form as it was sent, with what to put right.
    async fn refused(
        app: &App,
        who: &SignedIn,
        pack: &PackView,
        (typed, problems): (Typed, Problems),
    ) -> Result<Self, PageError> {
        let page = Self::to_fill(app, who, &pack.number, typed.corrects.clone()).await?;
        Ok(Self {
            shell: who.shell_refused(page.shell.title),
            has_resistance: page.has_resistance || !typed.beside.resistance.is_empty(),
            is_charge_asked: typed.beside.is_charge_asked(&pack.build()),
            typed,
            problems,
            ..page
        })
    }

    fn value(&self, cell: &usize) -> &str {
        let boxes = &self.typed.volts.boxes;
        boxes.get(cell - 1).map_or("", String::as_str)
    }
}

#[derive(Deserialize)]
pub struct Corrects {
    #[serde(default)]
    corrects: String,
}

/// GET /packs/{number}/volts
pub async fn ask(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<Corrects>,
) -> Page {
    page::show(&VoltsPage::to_fill(&app, &who, &number, query.corrects).await?)
}

/// `3.91 3.87 3.90 V (yesterday …)`, or why nothing was read.
fn said(reading: &Reading, who: &SignedIn) -> String {
    let unit = if reading.volts.is_some() { " V" } else { "" };
    let when = past(reading.taken_ms, who.now, &who.zone).words;
    format!("{}{unit} ({when})", volts_of(reading, who))
}

fn title(pack: &PackView, corrects: &str) -> String {
    if corrects.is_empty() {
        format!("Log volts of {}", pack.number)
    } else {
        format!("Correct a reading of {}", pack.number)
    }
}

/// POST /packs/{number}/volts
pub async fn log(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let by = who.by(&fields);
    let mut typed = Typed::of(&fields);
    let rested = Rested::from_code(&typed.rested);
    let (beside, beside_problems) = typed.beside.read(&pack.build(), who.numbers());
    let mut problems = Problems::default();
    let measured = match typed.volts.read_or_ask(&by, &pack, rested, who.numbers()) {
        Ok(measured) => Some(measured),
        Err(wrong) => {
            wrong.note(&mut problems, "");
            None
        }
    };
    problems.extend(beside_problems);
    let Some(measured) = measured else {
        return page::put_right(&VoltsPage::refused(&app, &who, &pack, (typed, problems)).await?);
    };
    if !problems.is_empty() {
        let read = (measured, beside);
        return not_all_of_it(&app, &who, &pack, (typed, problems, read)).await;
    }
    match reading::log_volts(&app.db, &by, pack.id, typed.logged(&measured, &beside)).await {
        Ok(address) => page::go_to(&address),
        Err(LogVoltsRefusal::Repeat(repeat)) => again(&repeat),
        Err(LogVoltsRefusal::Store(error)) => Err(error.into()),
        // Somebody put it right meanwhile: dangerous volts are a reading of their own then.
        Err(refusal @ LogVoltsRefusal::Corrected) if is_danger(&by, &pack, &measured) => {
            let problems = Problems::refused(refusal.field(), &refusal);
            let read = (measured, beside);
            typed.corrects = String::new();
            not_all_of_it(&app, &who, &pack, (typed, problems, read)).await
        }
        Err(refusal) => {
            let problems = Problems::refused(refusal.field(), &refusal);
            page::put_right(&VoltsPage::refused(&app, &who, &pack, (typed, problems)).await?)
        }
    }
}

/// The volts are read, and something beside them is not.
async fn not_all_of_it(
    app: &App,
    who: &SignedIn,
    pack: &PackView,
    (mut typed, mut problems, (measured, beside)): (Typed, Problems, (Measured, Beside)),
) -> Page {
    let by: By = who.by(&Fields::default());
    let mut stored = Vec::new();
    if is_danger(&by, pack, &measured) {
        let logged = typed.logged(&measured, &beside);
        match reading::keep_danger(&app.db, &by, pack.id, logged).await {
            Ok(reading_id) => {
                typed.corrects = reading_id.to_string();
                stored.push(pack.number.clone());
            }
            Err(LogVoltsRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => problems.extend(Problems::refused(refusal.field(), &refusal)),
        }
    }
    let page = VoltsPage::refused(app, who, pack, (typed, problems)).await?;
    page::put_right(&VoltsPage { stored, ..page })
}
